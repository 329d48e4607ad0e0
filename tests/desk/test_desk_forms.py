"""The desk's forms: every key of the part file once, in the words of the workshop."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from millprep.base.findings import SEVERITIES
from millprep.desk import forms
from millprep.infiles.part_schema import HoleTable, OppositeTable, PartTable
from millprep.proven.editing import Figure, as_written, put_down
from millprep.proven.forms import entries_of, offered, one_of_these
from millprep.sizes import read_clear, read_drill, read_fit, read_material, read_screw, read_thread

TABLES = ("part", "opposite", *PartTable.tables)
# the list of what a newcomer did not understand on a form, with what he would: typed from it
UNDERSTOOD = {
    ("part", "part"): "Name of the piece",
    ("stock", "measured"): "My blank really measures",
    ("part", "general_tolerance"): "Hole positions, unless stated: within +/-",
    ("hole", "clear"): "Clearance hole for a ... screw",
    ("hole", "opened"): "Opened out from this face",
    ("hole", "far"): "On the other end of the hole",
    ("hole", "from_both_ends"): "Drill from both ends",
    ("hole", "drill_depth"): "Drill to",
    ("hole", "circle"): "On a pitch circle (P.C.D.)",
    ("hole", "chain"): "Each measured from the one before",
    ("hole", "polar"): "At a distance and an angle from hole ...",
    ("hole", "from"): "Measured from hole",
    ("hole", "skip"): "Leave out no.",
    ("hole", "pattern_from"): "Same holes as on another piece",
    ("hole", "meets"): "Meant to run into hole ...",
    ("hole", "allow"): "I know about this and mean it",
    ("setup", "face"): "This side up",
    ("setup", "towards_you"): "Facing me",
    ("setup", "zero"): "Readout zero at",
    ("setup", "safe_height"): "Clear height",
    ("setup", "obstacle"): "In the way",
    ("opposite", "opposite_hand_of"): "Other hand of",
}


@pytest.mark.parametrize("table", TABLES)
def test_every_key_has_a_row_and_every_row_a_key(table: str) -> None:
    keys = {entry.key for entry in entries_of(table)}
    rows = set(forms.words()["hole" if table == "defaults" else table])
    there = {key for key in keys if not key.startswith("far.")}
    assert rows - {"name"} == there - {"name"}
    assert [box.key for box in forms.boxes(table)] == list(
        dict.fromkeys(box.key for box in forms.form(table) if box.takes != "heading")
    )
    assert {box.key for box in forms.form(table)} == keys


@pytest.mark.parametrize("table", TABLES)
def test_what_may_be_chosen_has_words(table: str) -> None:
    for entry, box in (
        (e, b) for e in entries_of(table) for b in forms.form(table) if b.key == e.key
    ):
        if entry.takes == "choice":
            assert {value for value, _ in box.choices} == set(entry.choices), entry.key
        assert box.label and box.sentence.endswith("."), entry.key
        assert all(label for _, label in box.choices)


def test_the_keys_are_those_of_the_models() -> None:
    """The entries at the top of each table against the models themselves, not their schema."""
    for table, model in (*PartTable.tables.items(), ("opposite", OppositeTable)):
        first = {entry.key.partition(".")[0] for entry in entries_of(table)}
        left = {"name"} if table == "defaults" else {"hole"} if table == "opposite" else set()
        assert first == set(model.by_key()) - left, table
    assert {entry.key for entry in entries_of("part")} == set(PartTable.by_key()) - {
        *PartTable.tables
    }
    assert set().union(*one_of_these()) <= set(HoleTable.by_key())


def test_a_form_says_what_was_understood() -> None:
    for (table, key), label in UNDERSTOOD.items():
        assert forms.label_of(table, key) == label
    assert "P.C.D." in forms.label_of("hole", "circle.diameter")
    assert [forms.severity_label(one) for one in SEVERITIES] == [
        "Will spoil the work",
        "Look at this",
        "For your information",
    ]


def test_no_label_is_a_key() -> None:
    """Nothing that a form shows has the spelling of a key that is no word of the trade."""
    shown = " ".join(
        f"{box.label} {box.sentence} {' '.join(label for _, label in box.choices)}"
        for table in TABLES
        for box in forms.form(table)
        if box.offers != "kinds"
    )
    assert not re.search(r"\w_\w|[{}=]|[a-z]\.[a-z]|\bTOML\b|\bkey\b|\bdatum\b|\bstock\b", shown)
    labels = {box.label.lower() for box in forms.form("hole")}
    assert not labels & {"clear", "opened", "far", "pin", "at", "polar", "chain", "meets", "allow"}


def test_the_words_of_a_key_wherever_it_stands() -> None:
    said = forms.label_of
    assert said("part", "stock.size.0") == said("stock", "size.0") == "Left to right"
    assert said("stock", "size") == "Left to right, Front to back, Bottom to top"
    assert said("part", "datum") == "The plan measures from"
    assert said("hole", "at.left") == "One hole, or several singles, from left end"
    assert said("hole", "at.1.centre_y").endswith("from centre line (front to back)")
    assert said("setup", "obstacle.0.from.2") == "one corner of it, height"
    assert said("hole", "far.countersink.diameter") == (
        "On the other end of the hole: Csk, dia at the top"
    )
    assert said("hole", "colour") == ""


def test_the_edges_run_across_the_face() -> None:
    """As the part file has it: a and b along the two axes of the face, in the order x, y, z."""
    for face, first, second in (
        ("top", "left", "front"),
        ("bottom", "right", "back"),
        ("front", "left", "bottom"),
        ("back", "centre_x", "top"),
        ("left", "front", "centre_z"),
        ("right", "centre_y", "bottom"),
    ):
        along, up = (dict(edges) for edges in forms.edges_across(face))
        assert first in along and second in up
        assert face not in along and face not in up


def test_a_hole_is_asked_for_in_groups() -> None:
    groups = forms.group_labels()
    assert list(groups) == ["what", "deep", "face", "where", "good", "made"]
    for box in forms.form("hole"):
        assert box.group in groups, box.key
    at_once = {box.key for box in forms.form("hole") if box.at_once}
    assert {"drill", "tap", "ream", "clear", "depth", "face", "at", "circle"} <= at_once
    assert not {"spot", "peck", "allow", "from_both_ends", "far.countersink"} & at_once


def test_every_picture_is_drawn_and_every_drawing_used() -> None:
    signs = Path(forms.__file__).with_name("static") / "signs.svg"
    names = [one.get("id") for one in ElementTree.parse(signs).getroot()]
    used = {box.picture for table in TABLES for box in forms.form(table)} - {""}
    shown = used | {picture for _, picture in forms.pictures_of_choices().items()}
    assert len(names) == len(set(names))
    assert shown <= set(names)
    assert set(names) - shown <= {"block", "through"}  # of the buttons that begin a sheet, a depth
    assert "style=" not in signs.read_text(encoding="utf-8")


def test_every_box_has_what_the_file_has() -> None:
    """Put down box by box, a file has in each box what was typed there."""
    text = 'part = "a"\n[[hole]]\nname = "x"\n[[dimension]]\n[[setup]]\n'
    put = {
        ("hole", "row.step.0"): "10",
        ("hole", "row.step.1"): "0.50",
        ("hole", "limits.0"): "6 mm",
        ("hole", "limits.1"): "6.012 mm",
        ("hole", "far.countersink.diameter"): "3/16 in",
        ("dimension", "between.0"): "left",
        ("dimension", "between.1"): "cover screw 1",
        ("setup", "zero.x"): "centre",
    }
    for (table, key), value in put.items():
        text = put_down(text, Figure(table, key, value, 0))
    lines = {line.table: line.values for line in as_written(text).lines}
    assert {each: forms.typed(lines[each[0]], each[1]) for each in put} == put
    assert forms.typed(lines["hole"], "circle.count") == ""
    assert forms.typed({"limits": "[1]"}, "limits.1") == ""


def test_what_completes_a_box_reads_there() -> None:
    """Every word that is offered, by the reader of the box that it is offered in."""
    readers: dict[str, Callable[[str], object]] = {
        "sizes": lambda words: read_drill(words, "mm"),
        "threads": read_thread,
        "screws": lambda words: read_clear(words, "mm"),
        "cap screws": read_screw,
        "countersunk screws": read_screw,
        "materials": read_material,
        "fits": lambda words: read_fit(words, 6.0),
    }
    asked = {box.offers for table in TABLES for box in forms.form(table)}
    assert asked - {"", "holes", "pieces", "kinds"} == set(readers)
    for what, reader in readers.items():
        words = offered(what)
        assert len(words) == len(set(words)) > 5
        for one in words:
            reader(one)
    assert {"No. 27", "letter F", "1/4 in", "6.3 mm"} <= set(offered("sizes"))
    assert offered("holes") == ()
