"""Imports point one way only: the table is the rule, the imports are read from the source."""

import ast
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "millprep"

LOWEST = {"base"}
TABLES = LOWEST | {"reference"}
RECORDS = TABLES | {"model", "sizes"}
THIRD = RECORDS | {"infiles", "sums", "setting"}

# room -> the rooms that it may import besides itself
MAY_IMPORT: dict[str, set[str]] = {
    "base": set(),
    "reference": LOWEST,
    "canvas": LOWEST,
    "model": TABLES,
    "sizes": TABLES | {"model"},
    "infiles": RECORDS,
    "sums": RECORDS,
    "setting": RECORDS | {"sums"},
    "planning": THIRD,
    "checks": THIRD | {"planning"},
    "assembly": THIRD | {"planning", "checks"},
    "matching": THIRD | {"planning", "checks"},
    "inspection": THIRD | {"planning", "matching"},
    "lookup": RECORDS | {"sums"},
    "sheets": THIRD | {"planning", "checks", "assembly", "matching", "inspection"},
    "writers": RECORDS | {"sheets", "canvas"},
    "reading": RECORDS,
    "witness": {"base", "reading", "model", "reference"},
    "report": {"base", "model", "reading", "canvas"},
}
MAY_IMPORT["proven"] = {*MAY_IMPORT}
MAY_IMPORT["desk"] = {"base", "proven", "report"}
MAY_IMPORT["cli"] = {"base", "desk", "lookup", "proven", "report", "__version__"}
MAY_IMPORT["__main__"] = {"cli"}
MAY_IMPORT["__init__"] = {"proven"}

# a file that takes more than its room may
BORROWED: dict[str, set[str]] = {
    # a program is written from the plan itself
    "writers/program.py": {"planning"},
    "writers/program_changes.py": {"planning", "setting"},
    "writers/program_head.py": {"planning"},
    "writers/program_helix.py": {"planning"},
    "writers/program_quill.py": {"planning"},
    "writers/program_scope.py": {"planning"},
}

ARRAYS = {"sums", "setting", "planning", "checks", "assembly", "matching", "inspection", "sheets"}
THIRD_PARTY = {
    "numpy": ARRAYS | {"reading", "witness", "report", "proven"},
    "jinja2": {"writers", "report", "desk"},
    "markupsafe": {"writers", "report"},
    "pydantic": {"infiles"},
    "pydantic_core": {"infiles"},
    "pygcode": {"witness"},
    "typer": {"cli"},
    "watchfiles": {"cli", "desk"},
    "starlette": {"desk"},
    "uvicorn": {"desk"},
    "segno": {"desk"},
    "ezdxf": {"canvas", "infiles"},  # written by the one, read by the other
    "fpdf": {"canvas"},
    "PIL": {"canvas"},
    "pypdf": {"reading"},
}


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
    assert room in MAY_IMPORT, f"{room} has no layer: enter it in the table"
    borrowed = BORROWED.get(str(path.relative_to(PACKAGE)), set())
    for name in _imports(path):
        top, *rest = name.split(".")
        if top == "millprep":
            assert rest, f"{path}: imports the whole package"
            target = rest[0]
            allowed = target == room or target in MAY_IMPORT[room] | borrowed
            assert allowed, f"{path} imports {name}"
        elif top not in sys.stdlib_module_names:
            assert top in THIRD_PARTY, f"{path} imports {name}: enter it in the table"
            assert room in THIRD_PARTY[top], f"{path} imports {name}"


def test_the_tables_name_what_is_there() -> None:
    """A room, a file or a package that has gone leaves the tables too."""
    there = {_room(path) for path in _modules()}
    assert there == MAY_IMPORT.keys()
    named = set().union(*MAY_IMPORT.values(), *THIRD_PARTY.values())
    assert named <= there | {"__version__"}
    imported = {name.split(".")[0] for path in _modules() for name in _imports(path)}
    assert THIRD_PARTY.keys() <= imported
    for file, rooms in BORROWED.items():
        taken = {name.split(".")[1] for name in _imports(PACKAGE / file) if "millprep." in name}
        assert rooms <= taken, file


def test_nothing_lies_loose() -> None:
    """Every module has a room, but what starts the package and the public face."""
    loose = {path.name for path in PACKAGE.glob("*.py")}
    assert loose <= {"__init__.py", "__main__.py"}


def test_the_table_has_no_way_round() -> None:
    """What a room may import never leads back to it."""

    def reaches(room: str, target: str, seen: frozenset[str] = frozenset()) -> bool:
        return any(
            other == target or (other not in seen and reaches(other, target, seen | {other}))
            for other in MAY_IMPORT[room]
            if other in MAY_IMPORT
        )

    for room in MAY_IMPORT:
        assert not reaches(room, room, frozenset({room})), room


def test_no_module_leads_back_to_itself() -> None:
    """Imports at the top of modules make no circle, inside a room either."""
    names = {_dotted(path): path for path in _modules()}
    leads = {
        name: {_module_of(one, names) for one in _imports_at_the_top(path)} & names.keys()
        for name, path in names.items()
    }
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join((*way, name))
        if name in done:
            return
        for other in leads[name] - {name}:
            walk(other, (*way, name))
        done.add(name)

    for name in names:
        walk(name, ())


def _dotted(path: Path) -> str:
    parts = ("millprep", *path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _module_of(name: str, names: dict[str, Path]) -> str:
    """The module that a dotted name is, or lies in."""
    return name if name in names else name.rpartition(".")[0]


def _imports_at_the_top(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def test_the_witness_shares_nothing_with_the_writers() -> None:
    for room in ("witness", "reading"):
        writing = {"setting", "sums", "planning", "sheets", "writers", "infiles"}
        assert not MAY_IMPORT[room] & writing
