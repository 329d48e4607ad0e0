"""Every reference table against a second typing of it, figure by figure.

`second_typing/NAME.csv` was typed from memory of the standard or by a rule, without sight of the
table; where a table is a choice of our own, once more from the page. Its head says which, down to
the first empty line, and what the typing agrees with outside. A cell
`3.1 (undecided: 3.2)` is one where the typings differ and nothing settled it: the table has 3.1,
and the page of sources says that 3.2 is about too. `figures of WORDS` holds what figures stand in
a column of words. `long/every_digit.py` changes each digit of each table and asks `differences`.

What else a table says it was checked against is in `checked_by.toml`, by the test that holds it.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import pytest

from millprep.base.records import replace
from millprep.reference.tables import Table, load_table, table_names

HERE = Path(__file__).parent
TYPED = HERE / "second_typing"
CHECKED_BY = tomllib.loads((HERE / "checked_by.toml").read_text("utf-8"))
UNDECIDED = re.compile(r"(.+) \(undecided: (.+)\)")
FIGURES_OF = "figures of "


def typed(name: str) -> list[list[str]]:
    """Rows of the second typing of a table, its column names first."""
    _, body = (TYPED / f"{name}.csv").read_text("utf-8").split("\n\n", 1)
    return list(csv.reader(body.splitlines()))


def differences(table: Table, second: list[list[str]]) -> Iterator[str]:
    """What a table has otherwise than its second typing."""
    heads, *rows = second
    columns = tuple(head.removeprefix(FIGURES_OF) for head in heads)
    if columns != table.columns:
        yield f"{table.name}: columns {table.columns}, typed {columns}"
    if len(rows) != len(table.rows):
        yield f"{table.name}: {len(table.rows)} rows, typed {len(rows)}"
    for number, (ours, cells) in enumerate(zip(table.rows, rows, strict=False), 1):
        for head, column, cell in zip(heads, columns, cells, strict=True):
            printed = ours.get(column)
            if head.startswith(FIGURES_OF):
                printed = " ".join(re.findall(r"\d+(?:\.\d+)?", printed))
            decided = UNDECIDED.sub(r"\1", cell)
            if not is_same(printed, decided):
                yield f"{table.name}, row {number}, {column}: {printed}, typed {decided}"


def is_same(printed: Any, decided: str) -> bool:
    """Whether a cell is what was typed: figures whatever zeros stand behind them, words exactly."""
    if isinstance(printed, bool):
        return decided == str(printed).lower()
    if isinstance(printed, list):
        return decided.split("; ") == printed
    if isinstance(printed, str):
        return decided == printed
    try:
        return Decimal(decided) == printed
    except InvalidOperation:
        return False


def test_every_table_is_typed_a_second_time() -> None:
    assert sorted(path.stem for path in TYPED.iterdir()) == list(table_names())


@pytest.mark.parametrize("name", table_names())
def test_both_typings_agree(name: str) -> None:
    assert list(differences(load_table(name), typed(name))) == []


@pytest.mark.parametrize("name", table_names())
def test_what_is_undecided_is_said_on_the_page_of_sources(name: str) -> None:
    differs = load_table(name).source.differs
    for row in typed(name)[1:]:
        for cell in row:
            if match := UNDECIDED.fullmatch(cell):
                figure = re.escape(match[2].removesuffix(" mm"))
                assert re.search(rf"(?<![\d./]){figure}(?![\d/]|\.\d)", differs), match[0]


@pytest.mark.parametrize("name", table_names())
def test_a_changed_figure_in_any_column_is_noticed(name: str) -> None:
    table = load_table(name)
    for column in table.columns:
        for number in range(len(table.rows)):
            before = table.rows[number][column]
            for changed in with_a_digit_changed(before):
                rows = [dict(row) for row in table.rows]
                rows[number][column] = changed
                other = replace(table, rows=tuple(rows))
                assert list(differences(other, typed(name))), f"{column}: {before} to {changed}"


def with_a_digit_changed(cell: Any) -> Iterator[Any]:
    """The cell with the last digit in it one up, if there is any; yes for no."""
    if isinstance(cell, bool):
        yield not cell
    elif isinstance(cell, list):
        for place, word in enumerate(cell):
            for other in with_a_digit_changed(word):
                yield [*cell[:place], other, *cell[place + 1 :]]
    elif match := re.search(r"(\d)(\D*)$", str(cell)):
        text = f"{str(cell)[: match.start()]}{(int(match[1]) + 1) % 10}{match[2]}"
        yield text if isinstance(cell, str) else Decimal(text)


@pytest.mark.parametrize("at", [0, 40, -1])
def test_a_row_too_few_or_too_many_is_noticed(at: int) -> None:
    table, second = load_table("drills-number"), typed("drills-number")
    fewer = [row for row in table.rows if row is not table.rows[at]]
    assert list(differences(replace(table, rows=tuple(fewer)), second))
    assert list(differences(replace(table, rows=(*table.rows, table.rows[at])), second))


@pytest.mark.parametrize("name", table_names())
def test_what_a_table_says_it_was_checked_against_is_held_by_a_test(name: str) -> None:
    held = {claim for tests in CHECKED_BY.values() for claims in tests.values() for claim in claims}
    assert set(load_table(name).source.checked.split("; ")) <= held


@pytest.mark.parametrize("file", CHECKED_BY)
def test_a_test_that_holds_a_claim_exists_and_the_claim_is_made(file: str) -> None:
    text = (HERE / f"{file}.py").read_text("utf-8")
    made = {each for name in table_names() for each in load_table(name).source.checked.split("; ")}
    for test, claims in CHECKED_BY[file].items():
        assert f"\ndef {test}(" in text
        assert set(claims) <= made
