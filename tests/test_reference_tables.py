"""The rules that every table keeps, and the page of sources made from them."""

from __future__ import annotations

import os
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from millprep.reference.tables import (
    HOW,
    Source,
    inches_to_mm,
    load_table,
    parse_table,
    row_notes,
    screw_inches,
    table_names,
)

SOURCES = Path(__file__).parents[1] / "docs" / "developers" / "sources.md"
SOURCE = '[source]\ntitle = "t"\nedition = ""\ntable = ""\nhow = "read"\nnote = ""\nchecked = ""\n'


def test_there_are_tables() -> None:
    assert {"drills-number", "threads-metric-coarse", "fits-grades"} <= set(table_names())


@pytest.mark.parametrize("name", table_names())
def test_every_table_names_its_source_and_what_it_was_checked_against(name: str) -> None:
    table = load_table(name)
    assert table.rows
    assert table.source.title
    assert table.source.how in HOW
    assert table.source.checked
    assert set(table.key) <= set(table.columns)


@pytest.mark.parametrize("name", table_names())
def test_a_size_column_holds_inch_sizes(name: str) -> None:
    for row in load_table(name).rows:
        if "size" in row:
            assert screw_inches(row["size"]) is not None


def test_figures_stay_as_printed() -> None:
    assert load_table("drills-number").rows[4] == {"number": 5, "diameter_in": Decimal("0.2055")}


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("[[2, 1], [1, 1]]", "table t, row 2: key does not rise"),
        ("[[1, 1], [1, 2]]", "table t, row 2: key does not rise"),
        ("[[1, 1], [2]]", "table t, row 2: 1 cells, not 2"),
    ],
)
def test_a_table_out_of_order_is_refused(rows: str, fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        parse_table("t", f'columns = ["a", "b"]\nkey = ["a"]\nrows = {rows}\n{SOURCE}')


def test_a_source_says_how_it_was_come_by() -> None:
    text = f'columns = ["a"]\nkey = ["a"]\nrows = [[1]]\n{SOURCE.replace("read", "guessed")}'
    with pytest.raises(ValueError, match="guessed"):
        parse_table("t", text)


@pytest.mark.parametrize(
    ("how", "cited"),
    [
        ("read", "ISO 1:2000"),
        ("recalled", "from memory of ISO 1:2000"),
        ("formula", "ISO 1:2000, by formula"),
        ("common practice", "common practice: ISO 1:2000"),
    ],
)
def test_a_source_is_cited_in_a_phrase(how: str, cited: str) -> None:
    assert Source("ISO 1", "2000", "Table 1", "", how, "").cite == cited


@pytest.mark.parametrize(
    ("size", "inches"),
    [
        ("#0", Fraction("0.060")),  # ASME B1.1: number n is 0.060 + 0.013 n in
        ("#10", Fraction("0.190")),
        ("1/4", Fraction(1, 4)),
        ("1 3/16", Fraction(19, 16)),
        ("1", Fraction(1)),
        ("M6", None),
        ("1/0", None),
    ],
)
def test_inch_sizes(size: str, inches: Fraction | None) -> None:
    assert screw_inches(size) == inches


def test_inches_are_converted_exactly() -> None:
    assert inches_to_mm(Decimal("0.201")) == 5.1054
    assert inches_to_mm(Fraction(1, 3)) == float(Fraction(254, 30))


def sources_markdown() -> str:
    """The page `sources.md`: each table with its document, how it was come by, what checks it."""
    tables = [load_table(name) for name in table_names()]
    rows = "".join(
        f"| {table.name} | {', '.join(filter(None, (table.source.document, table.source.table)))} "
        f"| {table.source.how} | {table.source.checked} |\n"
        for table in tables
    )
    singles = "".join(
        f"- **{table.name}, {key}**: {note}.\n"
        for table in tables
        for key, note in row_notes(table).items()
    )
    disagreements = "".join(
        f"- **{table.name}**: {table.source.differs}.\n" for table in tables if table.source.differs
    )
    return f"""# Where the figures come from

Every table is a file in `millprep/reference/data/`, figures as printed, in the printed unit.
"Recalled" is from memory of the document: compare with the document before something depends on
it. Every figure is typed a second time in `tests/second_typing/`, from memory or by a rule, without
sight of the first, but for what is a choice of our own; a test compares the two. `millprep lookup
TABLE` prints a table with its note. This page is made from the tables.

| table | document, part of it | how | held against |
|---|---|---|---|
{rows}
## Single rows

{singles}
## Where published tables disagree

{disagreements}"""


def test_the_page_of_sources_is_in_step_with_the_tables() -> None:
    if os.environ.get("MILLPREP_UPDATE_DOCS") == "1":
        SOURCES.write_text(sources_markdown(), "utf-8")
    assert SOURCES.read_text("utf-8") == sources_markdown()


def test_the_page_lists_single_rows_and_disagreements() -> None:
    page = sources_markdown()
    assert "- **threads-unf, 1**: 59/64 in" in page
    assert "- **drills-centre-inch**: numbers 1 to 7 are other sizes in BS 328-2" in page


def test_a_note_stands_on_its_row_alone() -> None:
    rows = {row["size"]: row for row in load_table("threads-unf").rows}
    assert "15/16" in rows["1"]["note"]
    assert "note" not in rows["#6"]
    assert load_table("threads-unf").source.note == ""
    text = f'columns = ["a"]\nkey = ["a"]\nrows = [[1]]\n[notes]\n"2" = "x"\n{SOURCE}'
    with pytest.raises(ValueError, match="a note on '2', which is no row"):
        parse_table("t", text)
