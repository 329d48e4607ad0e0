"""Imports point one way only: the table is the rule, the imports are read from the source."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "millprep"

# name of a module or package -> (layer, what it may import of the project beyond lower layers)
READING = {
    "bounds",
    "errors",
    "kinds",
    "units",
    "reference",
    "geometry",
    "shop",
    "scene",
    "sizes",
    "part",
    "plain_text",
}
MAY_IMPORT: dict[str, set[str]] = {
    "bounds": set(),
    "kinds": set(),
    "plain_text": set(),
    "errors": {"kinds", "plain_text"},
    "units": {"bounds", "errors", "plain_text"},
    "marks": {"plain_text"},
    "workplace": set(),
    "outfile": {"errors", "marks", "workplace"},
    "record": {"errors", "outfile", "plain_text"},
    "reference": {"bounds", "errors", "units"},
    "geometry": set(),
    "canvas": {"bounds", "errors", "units", "outfile"},
    "scene": set(),
    "part": {"errors", "units", "reference"},
    "shop": {"errors", "units", "reference"},
    "measured": set(),
    "readings": set(),
    "sizes": {"errors", "units", "reference", "part", "shop"},
    "assembled": {"errors", "units", "reference", "part", "shop"},
}
LOW = {*MAY_IMPORT}
MAY_IMPORT |= {
    "infiles": LOW,
    "setups": LOW,
    "cutting": LOW,
    "fastening": LOW,
    "pins": LOW,
    "position_tolerance": set(),
    "least_play": set(),
    "chance": LOW | {"least_play"},
    "hands": set(),
    "fitting": set(),
}
MAY_IMPORT |= {
    "turning": LOW | {"setups"},
    "holding": LOW | {"setups"},
    "skew": LOW | {"setups"},
    "zeroing": LOW | {"setups", "holding"},
    "fixtures": LOW | {"setups", "holding"},
    "measured_places": LOW | {"setups"},
    "slip_words": LOW | {"fitting"},
    "slips": LOW | {"fitting", "slip_words"},
    "own_mirror": {"part", "hands"},
    "hand_words": {"part", "hands", "own_mirror", "setups"},
}
MIDDLE = {*MAY_IMPORT}
MAY_IMPORT |= {
    "planning": MIDDLE,
    "checks": MIDDLE | {"planning"},
    "assembly": MIDDLE | {"planning"},
    "inspection": MIDDLE | {"fitting", "slip_words", "slips"},
    "matching": MIDDLE,
    "match_findings": MIDDLE | {"planning", "checks", "matching"},
    "lookup": MIDDLE,
    "figures": LOW,
    "setting_words": MIDDLE | {"planning", "figures"},
}
PLANNED = {*MAY_IMPORT}
MAY_IMPORT |= {
    "sheet_words": PLANNED,
    "sheet_view": PLANNED,
    "sheet": PLANNED | {"sheet_words", "sheet_view", "setting_words"},
    "sheet_dials": PLANNED | {"sheet", "sheet_words", "setting_words"},
    "sheet_markout": PLANNED | {"sheet_words"},
    "sheet_inspection": PLANNED | {"sheet_words", "inspection"},
    "sheet_match": PLANNED | {"matching"},
    "reading": READING,
}
MAY_IMPORT |= {
    "writers": LOW
    | {"sheet", "sheet_words", "sheet_view", "sheet_dials", "sheet_markout", "sheet_inspection"}
    | {"inspection"}
    | {"sheet_match", "figures", "canvas"}
    | {"planning", "setups", "cutting"},
    "witness": READING | {"reading"},
    "second_reader": READING | {"reading"},
    "report": READING | {"reading", "canvas", "outfile"},
}
MAY_IMPORT["cli"] = {*MAY_IMPORT, "__version__"}
MAY_IMPORT["__main__"] = {"cli"}

THIRD_PARTY = {
    "numpy": {"geometry", "fitting", "slips", "measured_places", "matching", "match_findings",
              "least_play", "chance", "hands", "own_mirror", "hand_words", "setups",
              "turning", "holding", "zeroing", "planning", "checks", "assembly",
              "reading", "witness", "inspection", "sheet_words",
              "sheet_view",
              "report", "second_reader", "cli"},
    "jinja2": {"writers", "report"},
    "markupsafe": {"writers", "report"},
    "pydantic": {"infiles"},
    "pygcode": {"second_reader"},
    "typer": {"cli"},
    "ezdxf": {"canvas"},
    "fpdf": {"canvas"},
    "pypdf": {"reading"},
    "PIL": {"canvas"},
}  # fmt: skip


def _modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _room(path: Path) -> str:
    """The entry of the table that a source file belongs to."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path) -> set[str]:
    """Every dotted name that a file imports, inside functions too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", _modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_follow_the_layers(path: Path) -> None:
    room = _room(path)
    if room == "__init__":
        return
    assert room in MAY_IMPORT, f"{room} has no layer: enter it in the table"
    for name in _imports(path):
        top, *rest = name.split(".")
        if top == "millprep":
            assert rest, f"{path}: imports the whole package"
            target = rest[0]
            assert target == room or target in MAY_IMPORT[room], f"{path} imports {name}"
        elif top in THIRD_PARTY:
            assert room in THIRD_PARTY[top], f"{path} imports {name}"


def test_the_table_has_no_way_round() -> None:
    """What a module may import never leads back to it."""

    def reaches(room: str, target: str, seen: frozenset[str] = frozenset()) -> bool:
        return any(
            other == target or (other not in seen and reaches(other, target, seen | {other}))
            for other in MAY_IMPORT[room]
            if other in MAY_IMPORT
        )

    for room in MAY_IMPORT:
        assert not reaches(room, room, frozenset({room})), room


def test_the_witness_shares_nothing_with_the_writers() -> None:
    for room in ("witness", "second_reader", "reading"):
        assert not MAY_IMPORT[room] & {
            "setups",
            "cutting",
            "planning",
            "sheet",
            "writers",
            "infiles",
        }
