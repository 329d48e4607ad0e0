"""Files are written whole or not at all, and never over somebody else's work."""

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.base.findings import MillprepError
from millprep.base.marks import BLANK_MARK, is_own_unedited, sealed
from millprep.base.outfile import write_files

TEXT = f"G21\n({BLANK_MARK})\nM30\n"
WHAT = "program nc, Port block, setup 2"


def refusal(contents: dict[Path, bytes], **options: bool) -> tuple[str, str, str | None]:
    with pytest.raises(MillprepError) as caught:
        write_files(contents, **options)
    (finding,) = caught.value.findings
    assert (finding.severity, finding.kind) == ("stop", "output-refused")
    return finding.message, finding.remedy, finding.file


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@given(st.text(), st.text())
def test_mark_fits_until_a_byte_changes(before: str, after: str) -> None:
    data = sealed(f"{before}\n{BLANK_MARK}\n{after}")
    if before.lower().count("millprep mark "):  # somebody's own mark came first
        return
    assert is_own_unedited(data)
    assert not is_own_unedited(data + b" ")
    assert not is_own_unedited(b" " + data)


def test_capitals_carry_the_mark_too() -> None:
    """Programs are written in capitals."""
    assert is_own_unedited(sealed(TEXT.upper()))


def test_text_without_a_mark_is_left_as_it_is() -> None:
    assert sealed("hole,x,y\n") == b"hole,x,y\n"
    assert not is_own_unedited(b"hole,x,y\n")


def test_a_mark_with_another_hash_is_not_own() -> None:
    assert not is_own_unedited(b"millprep mark 0123456789abcdef\n")
    assert not is_own_unedited(TEXT.encode())


def test_written_then_replaced_by_its_own_successor(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    assert write_files({path: sealed(TEXT, WHAT)}) == [path]
    newer = sealed(TEXT.replace("M30", "M2"), WHAT)
    assert write_files({path: newer}) == [path]
    assert path.read_bytes() == newer
    assert left(tmp_path) == ["a.nc"]


def test_identical_content_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(b"theirs, and just the same")
    os.utime(path, ns=(1_000_000_000, 1_000_000_000))
    before = path.stat()
    assert write_files({path: b"theirs, and just the same"}) == []
    after = path.stat()
    assert (after.st_mtime_ns, after.st_ino) == (before.st_mtime_ns, before.st_ino)


def test_edited_since_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(sealed(TEXT, WHAT).replace(b"G21", b"G20"))
    message, remedy, file = refusal({path: sealed(TEXT, WHAT)})
    assert message == "was edited since millprep wrote it"
    assert remedy == "nothing was written; name another file, or add --force to replace it"
    assert file == str(path)
    assert b"G20" in path.read_bytes()


def test_somebody_elses_file_is_refused_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(b"mine\n")
    assert refusal({path: sealed(TEXT, WHAT)})[0] == "exists already"
    assert path.read_bytes() == b"mine\n"
    write_files({path: sealed(TEXT, WHAT)}, force=True)
    assert path.read_bytes() == sealed(TEXT, WHAT)
    assert left(tmp_path) == ["a.nc"]


def test_folder_missing(tmp_path: Path) -> None:
    message, remedy, _ = refusal({tmp_path / "no" / "a.nc": b"x"}, force=True)
    assert message == "the folder does not exist"
    assert remedy == f"make the folder {tmp_path / 'no'} first"
    assert left(tmp_path) == []


def test_a_folder_of_that_name(tmp_path: Path) -> None:
    (tmp_path / "a.nc").mkdir()
    assert refusal({tmp_path / "a.nc": b"x"}, force=True)[0] == "is a folder"


def test_a_path_under_a_file(tmp_path: Path) -> None:
    """No one may write there, whoever they are."""
    (tmp_path / "file").write_bytes(b"x")
    assert refusal({tmp_path / "file" / "a.nc": b"x"})[0] == "the folder does not exist"
    assert (tmp_path / "file").read_bytes() == b"x"


def test_something_that_is_no_plain_file() -> None:
    assert refusal({Path(os.devnull): b"x"}, force=True)[0] == "is not a plain file"


def test_a_name_too_long_for_the_disk(tmp_path: Path) -> None:
    message, _, _ = refusal({tmp_path / ("a" * 300): b"x"})
    assert message.startswith("cannot be ")
    assert left(tmp_path) == []


def test_a_name_as_long_as_the_disk_takes(tmp_path: Path) -> None:
    path = tmp_path / ("a" * 250 + ".nc")
    assert write_files({path: b"x"}) == [path]
    assert left(tmp_path) == [path.name]


def test_of_several_files_all_or_none(tmp_path: Path) -> None:
    first, second, third = (tmp_path / name for name in ("1.nc", "2.nc", "3.nc"))
    second.write_bytes(b"mine\n")
    third.write_bytes(b"mine too\n")
    with pytest.raises(MillprepError) as caught:
        write_files({first: b"new", second: b"new", third: b"new"})
    assert [f.file for f in caught.value.findings] == [str(second), str(third)]
    assert left(tmp_path) == ["2.nc", "3.nc"]
    assert second.read_bytes() == b"mine\n"


def test_a_disk_that_fails_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = tmp_path / "1.nc", tmp_path / "2.nc"
    first.write_bytes(sealed(TEXT, WHAT))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    message, _, _ = refusal({first: sealed(TEXT + "\n", WHAT), second: b"x"})
    assert message == "cannot be written: No space left on device"
    assert left(tmp_path) == ["1.nc"]
    assert first.read_bytes() == sealed(TEXT, WHAT)


def test_a_link_keeps_pointing(tmp_path: Path) -> None:
    """Written through a link, the file it points to changes and the link stays."""
    real, link = tmp_path / "real.nc", tmp_path / "link.nc"
    real.write_bytes(sealed(TEXT, WHAT))
    link.symlink_to(real)
    newer = sealed(TEXT + "\n", WHAT)
    write_files({link: newer})
    assert link.is_symlink()
    assert real.read_bytes() == newer


def test_permissions_of_the_old_file_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    path.write_bytes(sealed(TEXT, WHAT))
    path.chmod(0o640)
    write_files({path: sealed(TEXT + "\n", WHAT)})
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
