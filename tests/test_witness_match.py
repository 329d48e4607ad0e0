"""The second witness for as-drilled sheets: agrees as written, catches whatever is changed."""

from __future__ import annotations

from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from jobs import part_of, shop_of
from slot_faults import bytes_of, sentences_let_through, slots_let_through
from test_match import PLATE, STOCK, put

from millprep.infiles.measured_file import read_measured
from millprep.matching.doubts import match_findings
from millprep.matching.match import Wishes, match_part
from millprep.matching.measured_places import nominal_readings
from millprep.model.measured import Measured
from millprep.sheets.document import Document
from millprep.sheets.match import make_match_sheet
from millprep.witness import Lay
from millprep.witness.match import Asked, check_match
from millprep.writers import written

PART = part_of(PLATE, STOCK)
PLACES = {"screw 1": 10 + 8j, "screw 2": 70 + 8j, "screw 3": 70 + 42j, "odd": 28 + 17j}
WANDER = {"screw 1": 0.01, "screw 2": 0.02j, "screw 3": -0.015, "odd": 0.01 - 0.01j}
SHOPS = {"": shop_of(), "reversed": shop_of('[readout]\nreversed = ["y"]\n')}
CASES: dict[str, dict[str, Any]] = {
    "turned": {},
    "mirrored": {"mirror": True},
    "straight": {"turn": 0.0, "wander": 0.0},
    "edges kept": {"wishes": Wishes(keep_edges=True, units="inch")},
    "reversed": {"shop": "reversed"},
    "far off": {"odd": 3.0},
    "does not fit": {"odd": 0.5, "wishes": Wishes(play_mm=0.1)},
    "open": {"odd": 0.26, "wishes": Wishes(play_mm=0.12, noise_mm=0.1)},
    "one hole": {"only": "odd"},
}


@cache
def case(name: str) -> tuple[Document, Any, Measured, Asked, Any]:
    given = CASES[name]
    shop, wishes = SHOPS[given.get("shop", "")], given.get("wishes", Wishes())
    read = {
        hole: put(place, given.get("turn", 0.4), 0.3 - 0.2j, mirror=given.get("mirror", False))
        + WANDER[hole] * given.get("wander", 1.0)
        + (given.get("odd", 0.0) if hole == "odd" else 0.0)
        for hole, place in PLACES.items()
        if given.get("only", hole) == hole
    }
    sign = -1 if shop.readout.reversed_axes else 1
    path = Path("/tmp") / f"millprep-test-{name.replace(' ', '-')}.csv"
    lines = [f"{hole},{p.real:.4f},{sign * p.imag:.4f}" for hole, p in read.items()]
    path.write_text("\n".join(["hole,x,y", *lines, ""]))
    try:
        nominal = nominal_readings(PART, shop.readout.reversed_axes, None)
        measured = read_measured(path, PART, nominal)
    finally:
        path.unlink()
    match = match_part(PART, shop, measured, wishes)
    findings = (*match.findings, *match_findings(match, shop, wishes))
    setup = match.setup
    asked = Asked(
        setup.number,
        Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y),
        None,
        wishes.keep_edges,
        wishes.noise_mm,
    )
    return make_match_sheet(match, shop, wishes.units, findings), shop, measured, asked, findings


def is_stopped(name: str, document: Document, form: Any) -> bool:
    _, shop, measured, asked, findings = case(name)
    data = bytes_of(document, form)
    return data is None or bool(
        check_match(data, form, PART, shop, measured, asked, findings, file="sheet")
    )


@pytest.mark.parametrize("form", ["text", "json", "html", "csv", "pdf"])
@pytest.mark.parametrize("name", CASES)
def test_a_sheet_as_written_agrees(name: str, form: str) -> None:
    assert not is_stopped(name, case(name)[0], form)


@pytest.mark.parametrize("form", ["text", "json", "html"])
@pytest.mark.parametrize("name", CASES)
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    def is_on_paper_only(slug: str, slot: str) -> bool:
        return form == "json" and (" head" in slug or slot == "_where")

    document, stopped = case(name)[0], partial(is_stopped, name, form=form)
    assert slots_let_through(document, stopped, is_on_paper_only) == []
    assert sentences_let_through(document, stopped) == []


@pytest.mark.parametrize(
    ("old", "new"), [("odd,", "even,"), ("measured", "by the fit"), (".", "1.")]
)
def test_a_changed_cell_is_caught(old: str, new: str) -> None:
    document, shop, measured, asked, _ = case("turned")
    text = str(written("match", document, "csv"))
    assert old in text
    changed = text.replace(old, new, 1).encode()
    assert check_match(changed, "csv", PART, shop, measured, asked, (), file="sheet")
