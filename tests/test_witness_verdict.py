"""The second witness for verdicts: agrees as written, catches whatever is changed."""

from __future__ import annotations

import csv
import io
import os
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from jobs import shop_of
from slot_faults import bytes_of, sentences_let_through, slots_let_through

from millprep.proven.files import load
from millprep.proven.measured import Verdicts, inspection_sheet, verdicts
from millprep.sheets.document import Document
from millprep.writers import written

FORMS = ("text", "json", "html", "csv", "pdf")
BLOCK = Path("parts/port-block.toml")
PLACES = """hole,x,y,diameter
pivot,{x:.3f},{y:.3f},5.006
"""
DIAMETERS = {"pivot": 5.006, "fixing 1": 3.4}
SHIFTED = {1: 0.03, 5: -0.2, 9: 0.11, 20: 0.3, 22: 0.02}
"""By how much readings are off, by the row of the sheet [mm]."""


def filled_in(part: Path, *, tells: bool) -> str:
    """The sheet of a part with readings as expected but for some; tells : one gauge is wrong."""
    data = inspection_sheet(part, shop_of(), "csv").data
    assert data is not None
    rows = list(csv.DictReader(io.StringIO(data.decode())))
    for row in rows:
        number = int(row["check"])
        if row["expected"]:
            row["reading"] = f"{float(row['expected']) + SHIFTED.get(number, 0.0):.4f}"
        else:
            is_amiss = tells and number % 7 == 0
            row["reading"] = "yes" if ("no-go" in row["what"]) == is_amiss else "no"
            if row["what"] == "thread go" and number % 2:
                row["reading"] = "1.5"
        if number in (3, 11):
            row["reading"] = ""
    stream = io.StringIO()
    writer = csv.DictWriter(stream, rows[0])
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()


def places(part: Path) -> str:
    """Places off the readout: some off, one along one axis, some not at all."""
    from millprep.matching.measured_places import nominal_readings

    nominal = nominal_readings(load(part, shop_of())[0], frozenset())
    lines = ["hole,x,y,diameter"]
    for number, (hole, at) in enumerate(sorted(nominal.items())):
        x, y = at[0] + 0.04 * number, at[1] - 0.03
        lines.append(
            f"{hole},{x:.3f},{'' if number == 2 else f'{y:.3f}'},{DIAMETERS.get(hole, '')}"
        )
    return "\n".join([*lines[:7], *lines[8:], ""])


CASES: dict[str, dict[str, Any]] = {
    "readings": {"text": lambda: filled_in(BLOCK, tells=True)},
    "readings inch": {"text": lambda: filled_in(BLOCK, tells=False), "units": "inch"},
    "bonus": {"text": lambda: filled_in(BLOCK, tells=False), "at_mmc": True},
    "places": {"text": lambda: places(BLOCK)},
    "places one setup": {"text": lambda: places(BLOCK), "setup": 1, "at_mmc": True},
}


@cache
def case(name: str) -> Verdicts:
    given = dict(CASES[name])
    path = Path("/tmp") / f"millprep-test-{os.getpid()}-{name.replace(' ', '-')}.csv"
    path.write_text(given.pop("text")())
    try:
        return verdicts(BLOCK, path, shop_of(), piece="left, 1", date="2026-05-14", **given)
    finally:
        path.unlink()


def is_stopped(name: str, document: Document, form: str) -> bool:
    data = bytes_of(document, form)
    return data is None or bool(case(name).disagreements(data, form))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", CASES)
def test_verdicts_as_written_agree(name: str, form: str) -> None:
    handed = case(name).handed(form)
    assert handed.data is not None, [f.message for f in handed.findings if f.severity == "stop"]


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize("name", CASES)
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    def is_absent(slug: str, slot: str) -> bool:
        """Heads stand on paper only; what is usual needs a length that was read."""
        is_on_paper = form == "json" and (" head" in slug or "READINGS" in slug)
        return is_on_paper or (slot == "usual" and "places" in name)

    document, stopped = case(name).laid_out(), partial(is_stopped, name, form=form)
    assert slots_let_through(document, stopped, is_absent) == []
    assert sentences_let_through(document, stopped) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [(",in\n", ",out\n"), ("pivot,", "pivots,"), (",0.", ",1."), ("diameter,0", "round,0")],
)
def test_a_changed_cell_is_caught(old: str, new: str) -> None:
    text = str(written("verdict", case("places").laid_out(), "csv"))
    changed = text.replace(old, new, 1)
    assert changed != text
    assert case("places").disagreements(changed.encode(), "csv")
