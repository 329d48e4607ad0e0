"""A third opinion: readers with patterns of their own find the same figures on text sheets."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jobs import EXAMPLE_PARTS
from outside_readers.dials import read_dials
from outside_readers.markout import read_markout
from outside_readers.text import read_text

from millprep.proven.preparation import prepare
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.listing import make_listing
from millprep.sheets.markout import make_mark_sheet
from millprep.writers import written


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_settings_of_dial_sheets(path: Path, order: str) -> None:
    sheet = make_dial_sheet(prepare(path, order=order, cures=False).plan, "mm")
    data = json.loads(written("dials", sheet, "json"))
    text = str(written("dials", sheet, "text")).encode()
    for setup, read in zip(data["setups"], read_dials(text), strict=True):
        assert (setup["face"], setup["towards_you"]) == (read.setup.face, read.setup.towards_you)
        rows = zip(setup["steps"], read.setup.rows, read.dials, strict=True)
        for step, row, dials in rows:
            assert (step["step"], step["hole"], step["z"]) == (row.step, row.hole, row.z_mm)
            assert (step["operation"], step["pecks"]) == (row.operation, list(row.pecks_mm))
            for axis, figure, back in (("x", dials.x, dials.back_x), ("y", dials.y, dials.back_y)):
                at, past = step[axis], step[axis]["back_off"]
                shown = (figure.turns, figure.is_negative, float(figure.reading))
                assert shown == (at["turns"], at["negative"], at["reading"])
                assert (past is None) == (back is None)
                if back is not None:
                    assert (back.turns, float(back.reading)) == (past["turns"], past["reading"])


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_steps_of_listings(path: Path, order: str) -> None:
    sheet = make_listing(prepare(path, order=order, cures=False).plan, "mm")
    data = json.loads(written("listing", sheet, "json"))
    text = str(written("listing", sheet, "text"))
    for setup, read in zip(data["setups"], read_text(text), strict=True):
        zero = setup["zero"]
        assert (setup["face"], setup["towards_you"]) == (read.face, read.towards_you)
        assert (zero["x"], zero["y"], setup["left_hand"]) == (
            read.zero_x, read.zero_y, read.left_hand,
        )  # fmt: skip
        for step, row in zip(setup["steps"], read.rows, strict=True):
            assert [step[axis] for axis in "xyz"] == [row.x_mm, row.y_mm, row.z_mm]
            for name in ("step", "hole", "operation", "tool_number", "turns"):
                assert step[name] == getattr(row, name)
            assert step["pecks"] == list(row.pecks_mm)
        assert read.done == (setup["done_count"], setup["hole_count"], setup["step_count"])
        assert [[one.mm for one, _, _ in place.distances] for place in read.places] == [
            [one["at"] or 0.0 for one in place["distances"]] for place in setup["places"]
        ]
        looks = setup.get("looks", [])
        assert [look.count for look in read.looks] == [look["count"] for look in looks]
        readings = [
            one["should_read"] if one["set_to"] is None else one["set_to"]
            for one in setup["zeroing"]
            if one["with"] in ("finder", "jaw", "stop")
        ]
        assert [one.reading.mm for one in read.finder_readings] == readings


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_lines_of_marking_out_lists(path: Path) -> None:
    prepared = prepare(path, cures=False)
    sheet = make_mark_sheet(prepared.part, prepared.shop, "mm")
    data = json.loads(written("markout", sheet, "json"))
    read = read_markout(str(written("markout", sheet, "text")))
    assert (read.counts, read.standing_count) == (data["crosses"], len(data["standings"]))
    for standing, shown in zip(data["standings"], read.standings, strict=True):
        assert (standing["face"], standing["up"]) == (shown.face, shown.up)
        lines = [
            (height["gauge"], line["hole"], line["face"], line["from_face"], line["start"])
            for height in standing["heights"]
            for line in height["lines"]
        ]
        assert lines == [
            (one.gauge_mm, one.hole, one.face, one.from_face, one.start_mm) for one in shown.lines
        ]
    punched = [(one["hole"], one["near"], one["far"]) for one in data["punch"]]
    assert read.crosses is not None
    assert punched == [(one.hole, *(mm for _, mm in one.checks)) for one in read.crosses]
