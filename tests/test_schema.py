"""The JSON Schema of part, shop and assembly files, held by a validator from outside.

Reference: jsonschema's validator of Draft 2020-12. The files under docs/schema are made by the
command; with MILLPREP_UPDATE_DOCS=1 they are made anew.
"""

from __future__ import annotations

import json
import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep
from jsonschema import Draft202012Validator

from millprep.infiles.fields import ReadBy, Table
from millprep.infiles.json_schema import schema_of
from millprep.infiles.part_schema import HoleTable, PartTable
from millprep.infiles.part_words import DrillWord

ROOT = Path(__file__).parent.parent
KINDS = ("part", "shop", "assembly")
BLOCK = 'part = "P"\nunits = "mm"\nmaterial = "brass"\n[stock]\nsize = [60, 40, 10]\n'
HOLE = BLOCK + '[[hole]]\ndepth = "through"\n'
JOINED = 'assembly = "A"\n[members]\na = "a.toml"\n'


def validator(kind: str) -> Draft202012Validator:
    return Draft202012Validator(schema_of(kind))


def faults(kind: str, text: str) -> list[str]:
    return [error.message for error in validator(kind).iter_errors(tomllib.loads(text))]


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_a_schema_of_its_draft(kind: str) -> None:
    Draft202012Validator.check_schema(schema_of(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_the_file_in_docs_is_what_the_command_gives(kind: str) -> None:
    ran = millprep("schema", kind)
    kept = ROOT / "docs" / "schema" / f"{kind}.schema.json"
    if os.environ.get("MILLPREP_UPDATE_DOCS") == "1":
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(ran.out)
    assert ran.status == 0
    assert kept.read_text() == ran.out
    assert json.loads(ran.out)["$schema"].endswith("draft/2020-12/schema")


def good_files() -> list[Any]:
    """Every example, starter, packaged shop and valid case, with its kind."""
    found = [
        ("assembly" if path.stem.endswith("-assembly") else "part", path)
        for folder in ("parts", "tests/parts/valid", "tests/assemblies/planted")
        for path in sorted((ROOT / folder).glob("*.toml"))
    ]
    starters = sorted((ROOT / "millprep" / "infiles" / "starters").glob("*.toml"))
    found += [(path.stem.split("-")[0], path) for path in starters]
    found += [("shop", path) for path in sorted((ROOT / "millprep/infiles/shops").glob("*.toml"))]
    assert len(found) > 30
    assert {kind for kind, _ in found} == set(KINDS)
    return [pytest.param(*one, id=f"{one[1].parent.name}/{one[1].name}") for one in found]


@pytest.mark.parametrize(("kind", "path"), good_files())
def test_every_file_that_is_read_agrees_with_it(kind: str, path: Path) -> None:
    assert faults(kind, path.read_text()) == []


def commented_lines(path: Path) -> list[str]:
    """What a starter shows as a comment, with the commented tables that it stands in."""
    lines = []
    for line in path.read_text().splitlines():
        bare = line.removeprefix("# ").split("   #")[0].rstrip()
        if line.startswith("# ") and " = " in bare and bare.split(" = ")[0].isidentifier():
            lines.append(bare)
    return lines


@pytest.mark.parametrize("line", commented_lines(ROOT / "millprep/infiles/starters/part-mm.toml"))
def test_every_line_of_the_starter_is_known(line: str) -> None:
    """As a key of some table of a part."""
    key, value = next(iter(tomllib.loads(line).items()))
    tables = schema_of("part")["$defs"].values()
    shapes = [table["properties"][key] for table in tables if key in table.get("properties", {})]
    whole = {"$defs": schema_of("part")["$defs"]}
    assert any(Draft202012Validator({**shape, **whole}).is_valid(value) for shape in shapes)


# (what, kind, text): each is a slip that a person makes; `check` or `assembly` refuses all of them
WRONG = [
    ("a key that is not known", "part", HOLE + 'dril = 5\nat = [1, 2]\n'),
    ("a key at the top that is not known", "part", 'prat = "x"\n' + BLOCK),
    ("no units", "part", BLOCK.replace('units = "mm"\n', "")),
    ("no stock", "part", 'part = "P"\nunits = "mm"\nmaterial = "brass"\n'),
    ("other units", "part", BLOCK.replace('"mm"', '"cm"')),
    ("two lengths of a block", "part", BLOCK.replace("[60, 40, 10]", "[60, 40]")),
    ("a size below nothing", "part", BLOCK.replace("60", "-60")),
    ("a face that is none", "part", HOLE + 'face = "upper"\ndrill = 5\nat = [1, 2]\n'),
    ("a point of three", "part", HOLE + "drill = 5\nat = [1, 2, 3]\n"),
    ("a point from a face that is none", "part", HOLE + "drill = 5\nat = { up = 1, front = 2 }\n"),
    ("two kinds of hole", "part", HOLE + 'drill = 5\ntap = "M6"\nat = [1, 2]\n'),
    ("two places", "part", HOLE + "drill = 5\nat = [1, 2]\ncorners = { inset = 8 }\n"),
    ("a circle without its count", "part", HOLE + "drill = 5\ncircle = { diameter = 20 }\n"),
    ("half a hole", "part", HOLE + "drill = 5\ngrid = { columns = 2.5 }\n"),
    ("a thread without quotes", "part", HOLE + "tap = 6\nat = [1, 2]\n"),
    ("true in quotes", "part", HOLE + 'drill = 5\nspot = "false"\nat = [1, 2]\n'),
    ("a hole in single brackets", "part", BLOCK + "[hole]\ndrill = 5\n"),
    ("a name for all holes", "part", BLOCK + '[defaults]\nname = "all"\n'),
    ("a mirror about no axis", "part", 'opposite_hand_of = "a.toml"\nmirror = "left"\n'),
    ("more than a mirror takes", "part", 'opposite_hand_of = "a.toml"\nunits = "mm"\n'),
    ("a table of a mill that is not known", "shop", "[mil]\nrapid = 2000\n"),
    ("half a travel", "shop", "[mill]\ntravel = { x = [0] }\n"),
    ("speeds in words", "shop", '[mill]\nspindle = { speeds = ["fast"] }\n'),
    ("a way of tapping that is none", "shop", '[control]\ntapping = "solid"\n'),
    ("a work offset that is none", "shop", "[control]\noffsets = { G53 = [0, 0, 0] }\n"),
    ("a tool without a number", "shop", '[[tool]]\nkind = "drill"\ndiameter = 5\n'),
    ("an assembly without members", "assembly", 'assembly = "A"\n'),
    ("a member without a file", "assembly", 'assembly = "A"\n[members]\na = { face = "top" }\n'),
    ("a pair of one", "assembly", JOINED + "[[handed_pair]]\n"),
    ("a face of an edge", "assembly", JOINED + 'b = { part = "b.toml", edges = { up = "left" } }'),
]  # fmt: skip


@pytest.mark.parametrize(("what", "kind", "text"), WRONG, ids=[case[0] for case in WRONG])
def test_what_is_wrong_is_refused_as_it_is_when_it_is_read(
    in_folder: Path, what: str, kind: str, text: str
) -> None:
    assert faults(kind, text), what
    Path("wrong.toml").write_text(text)
    Path("good.toml").write_text(HOLE + "drill = 5\nat = [10, 10]\n")
    command = {
        "part": ("check", "wrong.toml"),
        "assembly": ("assembly", "wrong.toml"),
        "shop": ("check", "good.toml", "--shop", "wrong.toml"),
    }[kind]
    assert millprep(*command).status == 2, what


def test_words_that_are_read_in_several_ways_are_taken_in_each() -> None:
    """Figures and words; one or a list; a word or a table."""
    good = [
        'drill = "#7"', "drill = 5", 'tap = "M6"', 'clear = "M5"',
        'counterbore = "M4 socket head"', "counterbore = { diameter = 8, depth = 4 }",
        'depth = { into = "a" }', 'depth = "1/2 in"', "peck = 2", "peck = [2, 1]", 'peck = "none"',
        "skip = 2", "skip = [1, 2]", 'meets = "a"', 'meets = ["a", "b"]',
        "at = [[1, 2], { left = 1, front = 2 }, [3, { centre_y = 0 }]]",
        'pattern_from = "c.toml: x"', 'pattern_from = { holes = "c.toml: x", turned = 45 }',
    ]  # fmt: skip
    for line in good:
        assert faults("part", BLOCK + f"[[hole]]\n{line}\n") == [], line


def test_no_key_is_without_a_shape() -> None:
    """A reader that does not say what it takes would let an editor take anything."""

    def shapeless(shape: Any, path: str) -> list[str]:
        if isinstance(shape, list):
            return [one for i, each in enumerate(shape) for one in shapeless(each, f"{path}/{i}")]
        if not isinstance(shape, dict):
            return []
        if not shape:
            return [path]
        return [one for key, inner in shape.items() for one in shapeless(inner, f"{path}/{key}")]

    for kind in KINDS:
        assert shapeless(schema_of(kind), kind) == []


def test_every_key_of_the_models_is_in_it() -> None:
    def tables(table: type[Table], seen: set[type[Table]]) -> set[type[Table]]:
        if table not in seen:
            seen.add(table)
            for inner in table.tables_below().values():
                tables(inner, seen)
        return seen

    definitions = schema_of("part")["$defs"]
    for table in tables(PartTable, set()):
        assert definitions[table.__name__]["properties"].keys() == table.by_key().keys()


def test_a_reader_keeps_what_it_takes() -> None:
    (reader,) = (mark for mark in DrillWord.__metadata__ if isinstance(mark, ReadBy))
    assert reader.function.holds.shape["type"] == ["number", "string"]
    assert HoleTable.model_fields["depth"].annotation is not None


@pytest.mark.parametrize(
    ("arguments", "words"), [((), "of which kind of file?"), (("parts",), 'no such word "parts"')]
)
def test_a_kind_that_there_is_not(arguments: tuple[str, ...], words: str) -> None:
    ran = millprep("schema", *arguments)
    assert (ran.status, words in ran.err) == (2, True)
