"""Printed listings: a setup of up to a dozen holes is one page, read back as it is seen."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import pytest
from jobs import part_of, shop_of
from pdf_pages import Change, Operations, changed, moved, swap, without
from pypdf import PdfReader

from millprep.base.marks import sealed
from millprep.proven.preparation import prepare
from millprep.proven.sheets import Asked, Listing
from millprep.reading.pages.ink import BaseLine, pages_of
from millprep.reading.pages.pdf_lines import pdf_lines

PARTS = [one for one in sorted(Path("parts").glob("*.toml")) if "assembly" not in one.stem]
A4_MM, LETTER_MM = 297.0, 279.4  # ISO 216, ANSI Y14.1: heights of a page held upright
MOST_HOLES = 12
LEAST_PT = 8.0


@cache
def printed(part: Path) -> tuple[Listing, bytes]:
    wanted = Listing(prepare(part), Asked())
    return wanted, sealed(wanted.written(wanted.lay_out()[0], "pdf"), "")


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.stem)
def test_a_setup_of_a_dozen_holes_is_one_page(part: Path) -> None:
    wanted, data = printed(part)
    setups = wanted.prepared.plan.setups
    holes = [len({one.hole.name for one in setup.operations}) for setup in setups]
    assert max(holes) <= MOST_HOLES
    assert len(PdfReader(io.BytesIO(data)).pages) == len(setups)
    assert wanted.disagreements(data, "pdf", "x") == []


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.stem)
def test_the_first_step_stands_in_the_first_third_and_nothing_is_small(part: Path) -> None:
    beyond_mm = (A4_MM - LETTER_MM) / 2  # what a printer that centres it leaves out on Letter
    for ink in pages_of(printed(part)[1]):
        lines = [one for one in ink if isinstance(one, BaseLine)]
        assert max(one.y_mm for one in lines if one.has_box) > A4_MM * 2 / 3
        assert min(one.size_pt for line in lines for one in line.words) >= LEAST_PT
        for one in lines:
            assert beyond_mm + 6 < one.y_mm < A4_MM - beyond_mm - 6


def ungutted(operations: Operations) -> bool:
    """Without the line between the columns."""
    for index in range(len(operations) - 1, 0, -1):
        if operations[index][1] == b"S" and operations[index - 1][1] == b"l":
            end, start = operations[index - 1][0], operations[index - 2][0]
            if abs(float(end[0]) - float(start[0])) < 0.01:
                del operations[index - 2 : index + 1]
                return True
    return False


CHANGES: dict[str, Change] = {
    "no gutter": ungutted,
    "a figure": swap("^–31.400$", "–31.405"),
    "a depth": swap("^–2.050$", "–2.060"),
    "a row missing": without("rubber foot 3"),
    "a preset": swap("X = –69.800", "X = –68.800"),
    "a step of the other column": moved("^9$", -230.0, 0.0),
    "words on the gutter": moved("check with a rule", 40.0, 0.0),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_changed_page_is_kept_back(what: str) -> None:
    wanted, data = printed(Path("parts/base-plate.toml"))
    assert wanted.disagreements(changed(data, CHANGES[what]), "pdf", "x")


def test_columns_are_read_one_after_the_other_and_what_ends_the_sheet_last() -> None:
    lines = [line for _, line in pdf_lines(printed(Path("parts/flywheel.toml"))[1])]
    begins = [line[:8].strip() for line in lines if line[:1].strip() and line[0] not in "[-"]
    labels = [one for one in begins if one.isupper() and one != "TOOL"]
    assert labels == ["SET UP", "HOLD", "ZERO", "CHECK", "DONE", "ASSUMED", "TAKE CAR"]


def test_what_ends_a_sheet_never_stands_alone_on_its_last_page() -> None:
    """Of a sheet that goes on over pages, wherever its last page begins."""
    hole = '[[hole]]\nname = "a"\ndrill = 2\ndepth = 5\n'
    row = hole + "row = {{ start = [5, 5], step = [3.2, 0], count = {} }}\n"
    for count in range(30, 48, 3):
        prepared = prepare(
            part_of(row.format(count), "size = [160, 20, 12]"), shop_of(""), cures=False
        )
        wanted = Listing(prepared, Asked())
        data = sealed(wanted.written(wanted.lay_out()[0], "pdf"), "")
        *_, last = pages_of(data)
        said = [one.words for line in last if isinstance(line, BaseLine) for one in line.words]
        assert "TAKE CARE" in said and "DONE" in said
        assert wanted.disagreements(data, "pdf", "x") == []
