"""Assembly files as cases: tests/assemblies/invalid with the whole text of what must be said; and
what is written in words: screws, pins, holes by their numbers. A new case is two files."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.base.findings import MillprepError, WordError
from millprep.infiles import assembly_schema, read_part, starter
from millprep.infiles.assembly_file import read_assembly
from millprep.infiles.fasteners import read_fastener, read_pin
from millprep.infiles.fields import Table
from millprep.model.assembled import PinJoint, ScrewJoint

CASES = Path(__file__).parent / "assemblies"
INVALID = sorted((CASES / "invalid").glob("*.toml"))
HEAD = f"""assembly = "Box"

[members]
body  = "{CASES}/parts/body.toml"
cover = "{CASES}/parts/cover.toml"

"""


def test_there_are_cases() -> None:
    assert len(INVALID) >= 10


@pytest.mark.parametrize("path", INVALID, ids=lambda path: path.stem)
def test_invalid(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(MillprepError) as caught:
        read_assembly(path.name)
    said = "".join(f"{finding}\n" for finding in caught.value.findings)
    assert said == path.with_suffix(".txt").read_text()


@pytest.mark.parametrize(
    ("words", "thread", "length_mm", "kind"),
    [
        ("M5 x 12 socket head", "M5", 12, "socket head"),
        ("M5x12 socket head", "M5", 12, "socket head"),
        ("M5x0.5 x 12 pan head", "M5x0.5", 12, "pan head"),
        ("M4 x 1/2 in cap screw", "M4", 12.7, "socket head"),
        ("#6-32 x 5/8 in socket head", "#6-32 UNC", 15.875, "socket head"),
        ("#6-32 x 5/8 socket head", "#6-32 UNC", 15.875, "socket head"),  # by the inch
        ("1/4-20 x 1 1/4 hex", "1/4-20 UNC", 31.75, "hexagon head"),
        ("2BA x 1/2 countersunk", "2BA", 12.7, "countersunk"),
    ],
)
def test_screws_in_words(words: str, thread: str, length_mm: float, kind: str) -> None:
    screw = read_fastener(words)
    assert (screw.thread.name, screw.kind) == (thread, kind)
    assert screw.length_mm == pytest.approx(length_mm)


@pytest.mark.parametrize("words", ["M5", "M5 x 0 socket head", "M5x0.5 socket head", "", 5, None])
def test_what_is_no_screw_is_refused(words: object) -> None:
    with pytest.raises(WordError):
        read_fastener(words)


def test_the_remedy_is_that_of_a_screw_not_of_a_hole() -> None:
    with pytest.raises(WordError) as caught:
        read_fastener("M5.5 x 20 socket head")
    assert "M5 x 12 socket head" in caught.value.remedy


def test_a_size_that_is_two_threads_is_refused_with_both() -> None:
    with pytest.raises(WordError, match="more than one way") as caught:
        read_fastener("#6 x 1/2 socket head")
    assert caught.value.remedy == 'say "#6-32 UNC" or "#6-40 UNF"'


@pytest.mark.parametrize(
    ("words", "diameter_mm", "shaft"),
    [
        ("4 mm dowel", 4, "m6"),
        ("5 mm f7", 5, "f7"),
        ("1/4 in h6", 6.35, "h6"),
        ("5f7", 5, "f7"),
        (5, 5, None),
        ("5 mm", 5, None),
        ("4 mm dowel pin", 4, "m6"),
    ],
)
def test_pins_in_words(words: object, diameter_mm: float, shaft: str | None) -> None:
    """A dowel is m6: ISO 2338."""
    size, found = read_pin(words, "mm")
    assert (size, found) == (pytest.approx(diameter_mm), shaft)


def _read(tmp_path: Path, text: str) -> tuple[ScrewJoint | PinJoint, ...]:
    (tmp_path / "box.toml").write_text(HEAD + text)
    return read_assembly(tmp_path / "box.toml")[0].joints


def test_holes_by_their_numbers_and_a_loose_piece(tmp_path: Path) -> None:
    (joint,) = _read(
        tmp_path,
        """[[joint]]
        screw = "M4 x 16 socket head"
        through = ["COVER: cover  screw 3, 1", "1/32 in"]
        into = "body: cover screw 1,3"
        """,
    )
    assert isinstance(joint, ScrewJoint) and joint.into is not None
    assert [hole.name for hole in joint.through[0].holes] == ["cover screw 3", "cover screw 1"]
    assert [hole.name for hole in joint.into.holes] == ["cover screw 1", "cover screw 3"]
    assert joint.through[1].loose_mm == pytest.approx(25.4 / 32)
    assert joint.name == "joint 1"


def test_capitals_make_no_difference_to_what_a_member_lies_on(tmp_path: Path) -> None:
    lies = f'{{ part = "{CASES}/parts/cover.toml", face = "bottom", on = "BODY: top" }}'
    text = HEAD.replace(f'"{CASES}/parts/cover.toml"', lies)
    (tmp_path / "box.toml").write_text(text)
    assert read_assembly(tmp_path / "box.toml")[0].member("cover").on == "body"


def test_a_measured_pin_outside_the_table_is_refused_at_its_line(tmp_path: Path) -> None:
    text = '[[joint]]\npin = "4 mm"\npress = "body: dowel"\nmeasured = { pin = 600 }\n'
    with pytest.raises(MillprepError, match=r"box\.toml:10: stop: joint 1: measured: 600 mm"):
        _read(tmp_path, text)


def test_every_key_is_in_the_reference() -> None:
    shapes = [each for each in vars(assembly_schema).values() if isinstance(each, type)]
    keys = {key for each in shapes if issubclass(each, Table) for key in each.by_key()}
    page = (Path(__file__).parent.parent / "docs" / "assembly.md").read_text()
    assert not {
        key
        for key in keys
        if f"`{key}`" not in page
        and f"`[[{key}]]`" not in page
        and f"`[{key}]`" not in page
        and f"{{ {key} =" not in page
    }


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_starter_reads_once_its_parts_are_there(units: str, tmp_path: Path) -> None:
    screw, other = ("M4", "M4 socket head") if units == "mm" else ("#8-32", "#8-32 socket head")
    for name in ("body", "cover"):
        text = (CASES / "parts" / f"{name}.toml").read_text()
        text = text.replace('tap     = "M4"', f'tap = "{screw}"')
        (tmp_path / f"{name}.toml").write_text(text.replace('= "M4"', f'= "{other[:-12]}"'))
    (tmp_path / "box.toml").write_text(starter("assembly", "mm" if units == "mm" else "inch"))
    assembly, notes = read_assembly(tmp_path / "box.toml")
    assert [member.name for member in assembly.members] == ["body", "cover"]
    assert len(assembly.joints) == 1 and not notes


def test_every_joint_line_of_the_starter_is_good(tmp_path: Path) -> None:
    """Each line that is commented out, in the joint that it stands in."""
    for line in (
        'through = ["cover: cover screw", 0.5]',
        "washers = 1",
        "may_come_out = true",
        'allow = ["short engagement"]',
    ):
        assert f"# {line}" in starter("assembly", "mm")
        keys = line.split(" ")[0]
        given = {"through": '"cover: cover screw"', "into": '"body: cover screw"'}
        text = "\n".join(f"{key} = {value}" for key, value in given.items() if key != keys)
        joint = f'[[joint]]\nscrew = "M4 x 12 socket head"\n{text}\n{line}\n'
        assert len(_read(tmp_path, joint)) == 1


def test_a_part_and_an_assembly_are_told_apart() -> None:
    with pytest.raises(MillprepError, match="this is an assembly file, not a part"):
        read_part(Path(__file__).parent.parent / "parts" / "twin-engine-assembly.toml")


@settings(max_examples=25)
@given(st.text(max_size=60), st.sampled_from(["screw", "through", "into", "pin", "press", "face"]))
def test_any_text_ends_in_findings(
    tmp_path_factory: pytest.TempPathFactory, text: str, key: str
) -> None:
    quoted = "".join(c if c.isprintable() and c not in "\\\"'" else "_" for c in text)
    path = tmp_path_factory.mktemp("any") / "box.toml"
    path.write_text(f'{HEAD}[[joint]]\n{key} = "{quoted}"\n', encoding="utf-8")
    with pytest.raises(MillprepError):
        read_assembly(path)
