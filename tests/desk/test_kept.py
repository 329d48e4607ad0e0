"""Nothing lost: states, pencil and the writing of files, with other programs about and after kills.

What a kill leaves is made in two ways: by a fault at each step of a change, and, in
`test_kept_killed.py`, by killing a process.
"""

from __future__ import annotations

import errno
import os
import random
import sqlite3
import stat
import threading
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from millprep.base.bounds import MOST_STATES
from millprep.base.findings import MillprepError
from millprep.desk import held_folder
from millprep.desk.held_folder import HeldFolder, _Place, is_conflicted_copy, mark_of, new_name
from millprep.desk.kept import ChangedMeanwhile, Gone, Kept, KeptFile, State
from millprep.desk.looking import Looking
from millprep.desk.places import own_file

FIRST = b'\xef\xbb\xbfpart = "left"\r\n# a remark, no last newline'
SECOND, THIRD = b"part = 'left' # 2\n", b"part = 'left' # 3\n"


def names_in(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


class Place:
    """A folder with one file, and what is kept of it."""

    def __init__(self, tmp_path: Path) -> None:
        self.folder, self.home = tmp_path / "sheets", tmp_path / "home"
        self.folder.mkdir()
        self.path = self.folder / "left.toml"
        self.path.write_bytes(FIRST)
        self.kept = Kept(self.folder, self.home)

    @property
    def file(self) -> KeptFile:
        return self.kept.of(self.path)

    def change(self, data: bytes, said: str = "a change") -> State:
        now = self.file.now
        return self.file.keep(now.mark, data, now.pencil, said)

    def start_again(self) -> list[str]:
        self.kept.close()
        self.kept = Kept(self.folder, self.home)
        return self.kept.told

    def database(self) -> Path:
        return own_file(self.folder.resolve(), ".states", self.home)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    made = Place(tmp_path)
    yield made
    made.kept.close()


@pytest.mark.parametrize("has_handles", [True, False])
def test_steps_lead_back_to_the_first_bytes_and_forward_over_restarts(
    place: Place, monkeypatch: pytest.MonkeyPatch, has_handles: bool
) -> None:
    if not has_handles:  # as on Windows
        monkeypatch.setattr(held_folder, "_HAS_HANDLES", False)
        place.start_again()
    first = place.file.now
    assert (first.data, first.by, first.pencil) == (FIRST, "elsewhere", {})
    assert first.mark == mark_of(FIRST) and place.file.would_take_back() is None
    place.change(SECOND, "pivot: 3/8 from left, was 5/8")
    third = place.change(THIRD, "pivot: 7/16 from left, was 3/8")
    assert (third.number > first.number, third.by, len(third.clock)) == (True, "desk", 5)
    assert place.start_again() == []
    assert place.file.now == third
    assert place.file.would_take_back() == "pivot: 7/16 from left, was 3/8"
    assert place.file.would_bring_back() is None
    assert place.file.step_back().data == SECOND == place.path.read_bytes()
    assert place.start_again() == []
    assert place.file.would_bring_back() == "pivot: 7/16 from left, was 3/8"
    assert place.file.step_back() == first
    assert place.path.read_bytes() == FIRST
    assert place.file.step_back() == first  # there is nothing before it
    assert place.file.step_forward().data == SECOND
    assert place.file.step_forward() == third == place.file.step_forward()
    assert place.path.read_bytes() == THIRD
    assert names_in(place.folder) == ["left.toml"]


def test_a_change_after_a_step_back_gives_up_what_was_ahead(place: Place) -> None:
    place.change(SECOND)
    place.change(THIRD)
    place.file.step_back()
    place.change(b"other", "the other way")
    assert place.file.would_bring_back() is None
    assert place.file.step_back().data == SECOND
    assert place.file.would_bring_back() == "the other way"


def test_pencil_is_kept_outside_the_file_and_letters_are_no_steps(place: Place) -> None:
    for typed in ("t", "ta", "tap 2B~~"):
        place.file.pencil({"F": {"size": typed}}, "hole F, being typed", is_typing=True)
    place.start_again()
    assert place.path.read_bytes() == FIRST
    assert place.file.now.pencil == {"F": {"size": "tap 2B~~"}}
    now = place.file.pencil({"F": {"size": "tap 2B~~"}, "why": 1}, "hole F in pencil")
    place.file.pencil({**now.pencil, "G": [1, None, "½"]}, "hole G, being typed", is_typing=True)
    place.file.pencil(now.pencil, "hole G, being typed", is_typing=True)  # and rubbed out again
    assert place.file.now == now
    place.file.pencil({"G": "x"}, "hole G, being typed", is_typing=True)
    kept = place.file.keep(now.mark, SECOND, {}, "hole F: tap 2BA")
    assert (kept.pencil, place.path.read_bytes()) == ({}, SECOND)
    assert place.file.step_back() == now
    assert place.file.step_back().pencil == {}
    assert place.file.would_take_back() is None
    assert place.file.step_forward() == now


def test_a_change_based_on_other_bytes_is_not_made(place: Place) -> None:
    first = place.change(SECOND)
    with pytest.raises(ChangedMeanwhile, match="changed meanwhile") as caught:
        place.file.keep(mark_of(FIRST), THIRD, {}, "stale")
    assert caught.value.now == first
    place.path.write_bytes(b"by an editor")
    with pytest.raises(ChangedMeanwhile) as caught:
        place.file.keep(first.mark, THIRD, {}, "stale")
    now = caught.value.now
    assert (now.data, now.by, now.said) == (b"by an editor", "elsewhere", "changed elsewhere")
    assert place.path.read_bytes() == b"by an editor"
    place.file.keep(now.mark, THIRD, {}, "with its words in it")
    assert [place.file.step_back().data for _ in range(3)] == [b"by an editor", SECOND, FIRST]


def test_a_change_sent_twice_is_made_once(place: Place) -> None:
    kept = place.change(SECOND)
    assert place.file.keep(mark_of(FIRST), SECOND, {}, "sent again after sleep") == kept
    place.file.step_back()
    assert place.file.now.data == FIRST


def test_a_step_never_takes_back_what_the_person_has_not_seen(place: Place) -> None:
    seen = place.change(SECOND)
    place.change(THIRD)
    with pytest.raises(ChangedMeanwhile):  # another window is ahead
        place.file.step_back(seen.number)
    place.path.write_bytes(b"by an editor")
    with pytest.raises(ChangedMeanwhile):
        place.file.step_back()
    assert place.path.read_bytes() == b"by an editor"
    assert place.file.step_back().data == THIRD


def test_a_file_that_was_renamed_is_asked_about(place: Place) -> None:
    (place.folder / "copy.toml").write_bytes(SECOND)
    (place.folder / "a (conflicted copy).toml").write_bytes(SECOND)
    assert place.kept.of(Path("copy.toml")).now.data == SECOND  # here before: it is no new name
    place.change(SECOND)
    place.file.pencil({"F": "2B"}, "hole F in pencil")
    new = place.folder / "right.toml"
    place.path.rename(new)
    for attempt in (
        lambda: place.file.keep(mark_of(SECOND), THIRD, {}, "a save"),
        lambda: place.file.step_back(),
        lambda: place.file.pencil({}, "struck out"),
        lambda: place.file.now,
    ):
        with pytest.raises(Gone, match=r"the same text stands in right\.toml") as caught:
            attempt()
        assert caught.value.same_bytes_in == new
        assert not place.path.exists()
    gone_on = place.file.goes_on_as(new)
    assert gone_on.now.pencil == {"F": "2B"}
    assert [gone_on.step_back().data for _ in range(2)] == [SECOND, FIRST]
    assert new.read_bytes() == FIRST


def test_a_folder_that_was_moved_is_written_nowhere(place: Place, tmp_path: Path) -> None:
    first = place.file.now
    place.folder.rename(tmp_path / "moved")
    place.folder.mkdir()
    with pytest.raises(Gone):
        place.file.keep(first.mark, SECOND, {}, "a save")
    assert names_in(place.folder) == []
    assert (tmp_path / "moved" / "left.toml").read_bytes() == FIRST


def test_a_file_that_was_removed_is_made_again_only_when_asked(place: Place) -> None:
    place.change(SECOND)
    place.path.unlink()
    with pytest.raises(Gone) as caught:
        place.file.keep(mark_of(SECOND), THIRD, {}, "a save")
    assert caught.value.same_bytes_in is None and not place.path.exists()
    assert place.file.make_again().data == SECOND == place.path.read_bytes()
    with pytest.raises(MillprepError, match="is there already"):
        place.kept.make(place.path, THIRD, "once more")
    assert place.path.read_bytes() == SECOND
    assert place.start_again() == []


def test_a_file_taken_away_is_kept(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    place.change(SECOND)
    now = place.file.pencil({"F": "2B"}, "hole F in pencil")
    with pytest.raises(ChangedMeanwhile):
        place.file.take_away(mark_of(FIRST))
    place.file.take_away(now.mark)
    assert names_in(place.folder) == []
    made = place.file.make_again()
    assert (made.data, made.pencil, place.path.read_bytes()) == (SECOND, {"F": "2B"}, SECOND)
    assert place.file.step_back() == now
    real = _Place.take_away

    def late(*given: Any) -> None:
        place.path.write_bytes(b"by an editor")
        real(*given)

    monkeypatch.setattr(_Place, "take_away", late)
    with pytest.raises(ChangedMeanwhile):
        place.file.take_away(now.mark)
    assert place.path.read_bytes() == b"by an editor"
    assert names_in(place.folder) == ["left.toml"]
    with pytest.raises(MillprepError, match="nothing is kept of it"):
        place.kept.of(Path("other.toml")).make_again()


def test_a_name_that_is_no_text_is_kept_like_others(place: Place) -> None:
    path = place.folder / os.fsdecode(b"r\xe9glage.toml")
    try:
        path.write_bytes(FIRST)
    except OSError:
        pytest.skip("this disk takes names of text alone")
    now = place.kept.of(path).now
    place.kept.of(path).keep(now.mark, SECOND, {}, "a change")
    path.rename(place.path)
    with pytest.raises(Gone) as caught:
        place.kept.of(path).step_back()
    str(caught.value).encode()
    assert place.kept.of(path).goes_on_as(place.path).step_back().data == FIRST


def test_mode_links_and_what_lies_outside(place: Place, tmp_path: Path) -> None:
    place.path.chmod(0o640)
    link, below = place.folder / "link.toml", place.folder / "sub"
    below.mkdir()
    link.symlink_to("left.toml")
    assert place.kept.of(link).path == place.path
    first = place.kept.of(link).now
    place.kept.of(link).keep(first.mark, SECOND, {}, "through the link")
    assert link.is_symlink() and place.path.read_bytes() == SECOND
    assert stat.S_IMODE(place.path.stat().st_mode) == 0o640
    assert place.kept.make(below / "peg.toml", THIRD, "new").data == THIRD
    outside = tmp_path / "outside.toml"
    outside.write_bytes(THIRD)
    (place.folder / "out.toml").symlink_to(outside)
    for path in (place.folder / "out.toml", outside, Path("../outside.toml"), place.folder):
        with pytest.raises(MillprepError, match="outside the folder"):
            place.kept.of(path)
    # a link put in the place of a file, or of its folder, after it was resolved
    peg = place.kept.of(below / "peg.toml")
    below.rename(tmp_path / "sub")
    below.symlink_to(tmp_path / "sub")
    with pytest.raises(Gone):
        peg.keep(mark_of(THIRD), SECOND, {}, "a save")
    file = place.file
    place.path.unlink()
    place.path.symlink_to(outside)
    with pytest.raises(Gone):
        file.keep(mark_of(SECOND), FIRST, {}, "a save")
    assert outside.read_bytes() == THIRD == (tmp_path / "sub" / "peg.toml").read_bytes()


def test_a_folder_that_is_itself_a_link_has_the_same_states(place: Place, tmp_path: Path) -> None:
    place.change(SECOND)
    place.kept.close()
    link = tmp_path / "link"
    link.symlink_to(place.folder)
    place.kept = Kept(link, place.home)
    assert place.kept.of(link / "left.toml").step_back().data == FIRST


def test_states_by_chance_are_as_a_list_would_have_them(place: Place) -> None:
    """Against a list with a place in it, 400 changes in every way that there is."""
    place.kept.store._db.execute("PRAGMA synchronous = OFF")
    chance, file = random.Random(19), place.file
    first = file.now
    listed: list[tuple[bytes, dict[str, object]]] = [(first.data, first.pencil)]
    at = 0
    for number in range(400):
        data, pencil = listed[at]
        match chance.choice(["keep", "keep", "pencil", "elsewhere", "back", "back", "forward"]):
            case "back":
                at = max(at - 1, 0)
                state = file.step_back()
            case "forward":
                at = min(at + 1, len(listed) - 1)
                state = file.step_forward()
            case way:
                if way == "pencil":
                    pencil = {"F": number}
                    state = file.pencil(pencil, f"{number}")
                else:
                    data = b"%d" % number
                    if way == "keep":
                        pencil = {"F": number} if chance.random() < 0.5 else {}
                        state = file.keep(file.now.mark, data, pencil, f"{number}")
                    else:
                        place.path.write_bytes(data)
                        state = file.now
                listed = [*listed[: at + 1], (data, pencil)][-MOST_STATES:]
                at = len(listed) - 1
        assert (state.data, state.pencil) == listed[at], number
        assert (place.path.read_bytes(), state) == (state.data, file.now), number
        assert (file.would_take_back() is None) == (at == 0), number
        assert (file.would_bring_back() is None) == (at == len(listed) - 1), number


def test_what_is_kept_is_for_the_user_alone_and_bounded(place: Place, tmp_path: Path) -> None:
    place.kept.store._db.execute("PRAGMA synchronous = OFF")  # no power fails here
    block = b"".join(b"[[hole]]\nname = 'H%d'\n" % n for n in range(300))
    for number in range(2_000):
        place.kept.store.add(
            "left.toml", b"%d\n" % number + block, {"text": block.decode()}, f"{number}", "desk"
        )
        if number == 199:
            early = place.database().stat().st_size
    assert place.database().stat().st_size <= 1.1 * early < 2_000 * len(block) / 10
    count = "SELECT (SELECT count(*) FROM state), (SELECT count(*) FROM content)"
    assert place.kept.store._db.execute(count).fetchone() == (MOST_STATES, MOST_STATES)
    assert place.kept.store.now("left.toml").said == "1999"  # type: ignore[union-attr]
    own = place.home / "millprep"
    assert stat.S_IMODE(own.stat().st_mode) == 0o700
    assert {stat.S_IMODE(one.stat().st_mode) for one in own.iterdir()} == {0o600}
    assert names_in(place.folder) == ["left.toml"]


class KilledError(BaseException):
    """The process ends here."""


def _ends(*_: object, **__: object) -> None:
    raise KilledError


STEPS: dict[str, tuple[object, str, bool]] = {
    "before the bytes wait": (_Place, "make", False),
    "before the rename": (_Place, "replace", False),
    "after the rename": (_Place, "settle", True),
}


@pytest.mark.parametrize("does", ["keep", "step back"])
@pytest.mark.parametrize("when", STEPS)
def test_a_kill_leaves_the_file_whole_and_the_change_is_finished(
    place: Place, monkeypatch: pytest.MonkeyPatch, when: str, does: str
) -> None:
    owner, name, is_written = STEPS[when]
    place.change(SECOND, "the first change")
    place.file.pencil({"F": "2B"}, "hole F in pencil")
    new: Callable[[], State] = {
        "keep": lambda: place.change(THIRD, "the change"),
        "step back": lambda: (place.file.step_back(), place.file.step_back())[1],
    }[does]
    expected = {"keep": (THIRD, {"F": "2B"}), "step back": (FIRST, {})}[does]
    with monkeypatch.context() as patched:
        patched.setattr(owner, name, _ends)
        patched.setattr(_Place, "remove", lambda _: None)  # nor is anything cleared
        with pytest.raises(KilledError):
            new()
    assert place.path.read_bytes() == (expected[0] if is_written else SECOND)
    told = place.start_again()
    assert len(told) == 1 and told[0].startswith("left.toml: finished what was begun: ")
    assert (place.file.now.data, place.file.now.pencil) == expected
    assert place.path.read_bytes() == expected[0]
    assert names_in(place.folder) == ["left.toml"]
    assert place.start_again() == []


def test_after_a_kill_what_others_did_meanwhile_stays(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed() -> None:
        with monkeypatch.context() as patched, pytest.raises(KilledError):
            patched.setattr(_Place, "replace", _ends)
            place.change(THIRD, "the change")

    place.change(SECOND)
    killed()
    place.path.write_bytes(b"by an editor")
    assert "changed elsewhere since this was begun" in place.start_again()[0]
    assert place.file.now.data == b"by an editor"
    assert [place.file.step_back().data for _ in range(2)] == [THIRD, SECOND]
    killed()
    place.path.unlink()
    assert "this was begun and is not in it" in place.start_again()[0]
    assert not place.path.exists()
    assert place.file.make_again().data == SECOND


def test_a_change_that_cannot_be_finished_is_one_step_forward(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    place.change(SECOND)
    with monkeypatch.context() as patched:
        patched.setattr(_Place, "replace", _ends)
        with pytest.raises(KilledError):
            place.change(THIRD, "the change")
        patched.setattr(os, "fsync", full)
        assert "a step forward brings it: the change" in place.start_again()[0]
    assert place.path.read_bytes() == SECOND == place.file.now.data
    assert place.file.would_bring_back() == "the change"
    assert place.file.step_forward().data == THIRD == place.path.read_bytes()


def test_what_was_saved_in_the_moment_of_the_kill_comes_back(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.change(SECOND)
    real = held_folder.swapped
    if not real(place.path, place.path):
        pytest.skip("this disk exchanges no names")

    def late(*given: Any, **named: Any) -> None:
        place.path.write_bytes(b"by an editor")
        real(*given, **named)
        raise KilledError

    with monkeypatch.context() as patched, pytest.raises(KilledError):
        patched.setattr(held_folder, "swapped", late)
        patched.setattr(_Place, "remove", lambda _: None)
        place.change(THIRD, "the change")
    assert place.path.read_bytes() == THIRD
    assert "changed elsewhere since this was begun" in place.start_again()[0]
    assert place.path.read_bytes() == b"by an editor" == place.file.now.data
    assert [place.file.step_back().data for _ in range(2)] == [THIRD, SECOND]
    assert names_in(place.folder) == ["left.toml"]


def test_a_new_file_that_was_removed_after_a_kill_does_not_come_back(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched, pytest.raises(KilledError):
        patched.setattr(_Place, "settle", _ends)
        place.kept.make(Path("new.toml"), SECOND, "a new sheet")
    (place.folder / "new.toml").unlink()
    assert "begun and is not in it" in place.start_again()[0]
    assert names_in(place.folder) == ["left.toml"]


@pytest.mark.parametrize("has_swap", [True, False])
def test_what_is_saved_in_the_last_moment_stays(
    place: Place, monkeypatch: pytest.MonkeyPatch, has_swap: bool
) -> None:
    if not has_swap:  # nor handles of folders
        monkeypatch.setattr(held_folder, "_HAS_HANDLES", False)
        place.start_again()
    place.change(SECOND)
    real_make, real_swap = _Place.make, held_folder.swapped

    def meanwhile(act: Callable[[], object]) -> Callable[..., object]:
        def acting(*given: object, **named: object) -> object:
            if has_swap:
                act()
                return real_swap(*given, **named)  # type: ignore[arg-type]
            made = real_make(*given, **named)  # type: ignore[arg-type,func-returns-value]
            act()
            return made

        return acting

    for act, error in (
        (lambda: place.path.write_bytes(b"by an editor"), ChangedMeanwhile),
        (lambda: place.path.rename(place.folder / "new.toml"), Gone),
    ):
        with monkeypatch.context() as patched, pytest.raises(error):
            if has_swap:
                patched.setattr(held_folder, "swapped", meanwhile(act))
            else:
                patched.setattr(_Place, "make", meanwhile(act))
                patched.setattr(held_folder, "swapped", lambda *_, **__: False)
            place.change(THIRD)
        if error is ChangedMeanwhile:
            assert place.path.read_bytes() == b"by an editor"
    assert names_in(place.folder) == ["new.toml"]
    assert place.start_again() == []


@pytest.mark.parametrize(
    ("number", "words"),
    [(errno.ENOSPC, "no room left on the disk"), (errno.EACCES, "may not be written")],
)
def test_a_disk_that_takes_nothing_is_said_and_nothing_is_lost(
    place: Place, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    def fails(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    before = place.change(SECOND)
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", fails)
        with pytest.raises(MillprepError, match=words):
            place.change(THIRD)
    assert place.file.now == before and place.path.read_bytes() == SECOND
    assert place.file.would_bring_back() is None
    assert names_in(place.folder) == ["left.toml"]
    assert place.start_again() == []


def test_a_state_folder_that_takes_nothing_is_said(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = place.change(SECOND)
    place.kept.store._db.execute("PRAGMA query_only = ON")
    with pytest.raises(MillprepError, match="what is kept for you cannot be written"):
        place.change(THIRD)
    place.kept.store._db.execute("PRAGMA query_only = OFF")
    assert place.path.read_bytes() == SECOND and place.file.now == before

    # written, and then no room to note it: the next look does
    real = place.kept.store.done
    monkeypatch.setattr(
        place.kept.store, "done", lambda _: (_ for _ in ()).throw(sqlite3.OperationalError("full"))
    )
    with pytest.raises(MillprepError, match="full"):
        place.change(THIRD, "the change")
    monkeypatch.setattr(place.kept.store, "done", real)
    assert (place.file.now.data, place.file.now.said) == (THIRD, "the change")
    assert place.file.step_back() == before


def test_a_database_that_cannot_be_read_is_put_aside(place: Place) -> None:
    place.change(SECOND)
    place.kept.close()
    place.database().write_bytes(b"no database " * 400)
    place.kept = Kept(place.folder, place.home)
    assert "put aside" in place.kept.told[0] and "not touched" in place.kept.told[0]
    assert place.file.now.data == SECOND
    assert len(list((place.home / "millprep").glob("*.damaged"))) == 1


def test_changes_of_several_threads_stand_one_after_the_other(place: Place) -> None:
    def adding(letter: str) -> None:
        for number in range(10):
            with place.kept.alone():
                now = place.file.now
                data = now.data + f"{letter}{number} ".encode()
                place.file.keep(now.mark, data, {}, letter)

    threads = [threading.Thread(target=adding, args=(letter,)) for letter in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    words = place.path.read_bytes().removeprefix(FIRST).split()
    assert sorted(words) == sorted(f"{x}{n}".encode() for x in "abc" for n in range(10))


def test_a_folder_is_looked_at_by_its_bytes(place: Place) -> None:
    told: list[frozenset[str]] = []
    folder = HeldFolder(place.folder)
    looking = Looking(folder, told.append)
    times = place.path.stat().st_mtime_ns
    place.path.write_bytes(FIRST.replace(b"left", b"lefT"))
    os.utime(place.path, ns=(times, times))  # neither time nor size tells
    (place.folder / "note.txt").write_bytes(b"no part")
    assert looking.look() == {"left.toml"} and looking.look() == frozenset()
    (place.folder / "left.nc").write_bytes(b"G0 X1\n")
    assert looking.look() == {"left.nc"}
    (place.folder / "left.nc").unlink()
    looking.look()
    place.path.rename(place.folder / "right.toml")
    assert looking.look() == {"left.toml", "right.toml"}
    assert (looking.number, looking.number_of("right.toml"), looking.number_of("x")) == (4, 4, 0)
    assert told[::3] == [{"left.toml"}, {"left.toml", "right.toml"}]
    assert looking.marks == {"right.toml": mark_of((place.folder / "right.toml").read_bytes())}
    assert looking.wait(4, 0) == 4 == looking.wait(3, 60)
    folder.close()


@pytest.mark.parametrize("is_announced", [True, False])
def test_a_change_elsewhere_is_told_announced_or_not(
    place: Place, monkeypatch: pytest.MonkeyPatch, is_announced: bool
) -> None:
    import watchfiles

    def none_left(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "too many folders are watched")

    if not is_announced:
        monkeypatch.setattr(watchfiles, "watch", none_left)
    with Looking(place.kept.folder, every_s=0.05) as looking:
        place.path.write_bytes(SECOND)
        assert looking.wait(0, 60) >= 1
        assert looking.number_of("left.toml") >= 1


def test_typed_names_make_safe_file_names(tmp_path: Path) -> None:
    for words, name in {
        "Bearing block 1/2": "bearing-block-1-2.toml",
        "  -5° Bracket.. ": "5-bracket.toml",
        'a#b?%2e "x".toml': "a-b-2e-x-toml.toml",
        "<img onerror>": "img-onerror.toml",
        "../../etc": "etc.toml",
        "Hebel ½": "hebel-1-2.toml",
        "Bu\N{COMBINING DIAERESIS}chse": "b\N{LATIN SMALL LETTER U WITH DIAERESIS}chse.toml",
    }.items():
        assert new_name(tmp_path, words) == tmp_path / name
    assert new_name(tmp_path, "Con rod", ".nc").name == "con-rod.nc"
    for words, why in {
        "": "no letter", " .- ": "no letter", "CON": "for a device", "lpt1": "for a device",
        "a\x00b": r"U\+0000", "a\nb": r"U\+000A", "a\u202eb": r"U\+202E", "a\u200bb": "not seen",
        "x" * 61: "longer than 60",
    }.items():  # fmt: skip
        with pytest.raises(MillprepError, match=why):
            new_name(tmp_path, words)


def test_names_that_some_system_takes_for_one_are_refused(tmp_path: Path) -> None:
    decomposed = unicodedata.normalize("NFD", "Büchse.toml")
    for name in ("Left.TOML", decomposed):
        (tmp_path / name).touch()
    for words in ("left", "LEFT", "büchse"):
        with pytest.raises(MillprepError, match="is there already"):
            new_name(tmp_path, words)


def test_conflicted_copies_are_known_by_their_names() -> None:
    for name in (
        "left (conflicted copy 2026-03-01).toml", "left (PC's conflicted copy).toml",
        "left.sync-conflict-20260301-101010-ABC.toml", "left_conflict.toml",
        "sub/left (case conflict).toml",
    ):  # fmt: skip
        assert is_conflicted_copy(name), name
    for name in ("left.toml", "conflict.toml", "conflicting-rods.toml", "copy-of-left.toml"):
        assert not is_conflicted_copy(name), name
