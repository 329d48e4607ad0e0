"""What differs between two texts of a part file, figure by figure, in the words of the form."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from millprep.base.records import frozen
from millprep.desk.forms import Box, edges_across, label_of
from millprep.desk.forms import boxes as boxes_of
from millprep.desk.line_boxes import AXES, plain_boxes, shown
from millprep.proven.editing import Line, as_written, same_lines
from millprep.proven.elevations import letter_of_line


@frozen
class Altered:
    """One figure. who : the line that it is of; was, becomes : "" where there is none"""

    who: str
    label: str
    was: str
    becomes: str


def figures_altered(old: str, new: str) -> list[Altered]:
    """Every figure that the texts have otherwise. Raises MillprepError where one is no TOML."""
    before, after = as_written(old), as_written(new)
    found = list(
        _of_boxes("the piece", "part", plain_boxes(before.values), plain_boxes(after.values))
    )
    for table in ("hole", "setup", "dimension"):
        was = [line for line in before.lines if line.table == table]
        now = [line for line in after.lines if line.table == table]
        same = same_lines(old, new, table)
        for line, place in zip(now, same, strict=True):
            old_boxes = {} if place is None else _boxes(was[place])
            found += _of_boxes(_called(line), table, old_boxes, _boxes(line))
        for place, line in enumerate(was):
            if place not in same:
                found.append(Altered(_called(line), "", "in the list", "taken out"))
    return found


def _called(line: Line) -> str:
    return line.name or f"line {letter_of_line(line.index)}"


def _boxes(line: Line) -> dict[str, str]:
    return shown(line.values) if line.table == "hole" else plain_boxes(line.values)


def _of_boxes(
    who: str, table: str, was: Mapping[str, str], now: Mapping[str, str]
) -> Iterator[Altered]:
    for key in dict.fromkeys([*was, *now]):
        if was.get(key, "") != now.get(key, "") and not re.search(r"#.*e$", key):
            label = box_label(table, key, now or was)
            yield Altered(who, label, was.get(key, ""), now.get(key, ""))


def box_label(table: str, key: str, boxes: Mapping[str, str]) -> str:
    """What a box is called on the form."""
    if "#" in key:
        return _place_label(key, boxes)
    own = {"what": "what it is", "size": "size", "deep": "deep", "where": "placed"}
    return own.get(key) or label_of(table, key)


def value_label(table: str, key: str, value: str, boxes: Mapping[str, str]) -> str:
    """What stands in a box, as the form has it: a choice by its words."""
    if "#" in key and key.endswith("e"):
        edges = {v: w for pairs in edges_across(boxes.get("face", "top")) for v, w in pairs}
        return edges.get(value, "from the plan's own edge").partition(" (")[0]
    if key in ("what", "where"):
        return label_of("hole", value) or value
    found = next((box for box in form_boxes(table) if box.key == key), None)
    return dict(found.choices).get(value, value) if found is not None else value


def form_boxes(table: str) -> tuple[Box, ...]:
    return boxes_of(table) if table in ("hole", "setup", "dimension", "part") else ()


def _place_label(key: str, boxes: Mapping[str, str]) -> str:
    """Of a coordinate: its place, and the edge that it is measured from."""
    place, _, end = key.partition("#")
    number = end.rpartition(".")[0]
    labels = {
        value: words for pairs in edges_across(boxes.get("face", "top")) for value, words in pairs
    }
    edge = labels.get(boxes.get(f"{key.rstrip('e')}e", ""), "")
    axis = AXES.get(boxes.get("face", "top"), AXES["top"])[int(end.rstrip("e")[-1])]
    along = {"x": "left to right", "y": "front to back", "z": "bottom to top"}[axis]
    which = f" no. {int(number) + 1}" if number else ""
    return f"{label_of('hole', place)}{which}, {edge.partition(' (')[0] or along}"
