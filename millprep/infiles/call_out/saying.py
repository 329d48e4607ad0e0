"""A hole's line said as a plan says it: what, how deep, in which face, placed from where.

Works on figures as they are written, read or not: a line in pencil is said as far as it goes. What
a call-out can say is said so that it reads back to the same figures.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.infiles.call_out.marks import HALVES
from millprep.model.kinds import HOLE_KINDS

_UP = {"bottom": "up from bottom", "top": "down from top"}
_BEYOND = {"centre_x": ("right of", "left of"), "centre_y": ("behind", "in front of"),
           "centre_z": ("above", "below")}  # fmt: skip
_ORDER = "left right centre_x front back centre_y bottom top centre_z"
_PINS = {"press": "press fit for a pin", "slide": "sliding fit for a pin",
         "pivot": "running fit for a pin"}  # fmt: skip
_MOUTHS = (("counterbore", "c'bore"), ("spotface", "s'face"), ("countersink", "csk"))

_Line = Mapping[str, Any]


@frozen
class HoleWords:
    """A line of the hole schedule; each may be empty. count : holes in the pattern, as written"""

    what: str
    deep: str
    face: str
    placed: str
    count: str = ""

    @property
    def call_out(self) -> str:
        """The whole line as one call-out."""
        is_figure = re.match(rf"[\d.{HALVES}]", self.deep) is not None
        deep = f"{self.deep} deep" if is_figure else self.deep
        return ", ".join(part for part in (self.what, deep, self.placed) if part)


def as_called_out(values: Mapping[str, str], units: Units) -> HoleWords:
    """The words for a hole's line. values : dotted keys to what is written there"""
    line = _gathered(values)
    return HoleWords(
        what=", ".join(_what(line, units)),
        deep=_deep(line),
        face=line.get("face", "top").lower(),
        placed="; ".join(_placed(line)),
        count=line.get("circle.count") or line.get("arc.count") or line.get("row.count", ""),
    )


def _gathered(values: Mapping[str, str]) -> _Line:
    """The figures by their keys, and what is told a member at a time as a list: "at.0.left"."""
    line: dict[str, Any] = {}
    for key, typed in values.items():
        words = " ".join(typed.split())
        found = re.fullmatch(r"([^\d.]+(?:\.[^\d.]+)*)\.(\d{1,3})(?:\.(.+))?", key)
        if not words:
            continue
        if found is None:
            line[key] = words
            continue
        several = line.setdefault(found[1], [])
        if not isinstance(several, list):
            continue
        several += [""] * (int(found[2]) + 1 - len(several))
        if found[3] is None:
            several[int(found[2])] = words
        else:
            member = several[int(found[2])] or {}
            several[int(found[2])] = {**member, found[3]: words}
    return line


def _what(line: _Line, units: Units) -> Iterator[str]:
    before = _plural(line.get("drills", ""))
    depth = line.get("drill_depth")
    if before or depth:
        yield f"drill {before}" + (f"{' x ' if before else ''}{depth} deep" if depth else "")
    for word in HOLE_KINDS:
        if word in line:
            yield f"{word} {_size(word, line[word], units)}{_grade(line, word)}"
    for key in ("diameter", "pitch"):
        if key in line:
            yield f"{line[key]} {'dia' if key == 'diameter' else key}"
    if "fit" in line:
        yield line["fit"]
    if "pin" in line:
        yield str(_PINS.get(line["pin"], line["pin"]))
    if "limits" in line:
        yield "limits " + " to ".join(map(str, _several(line["limits"])))
    if line.get("from_both_ends") == "true":
        yield "from both ends"
    yield from _opened(line)
    here, there = dict(_mouths(line, "")), dict(_mouths(line, "far."))
    for key, _ in _MOUTHS:
        if key in here and here[key] == there.get(key):
            yield f"{here[key]} both sides"
            continue
        if key in here:
            yield here[key]
        if key in there:
            yield f"{there[key]} far side"


def _size(word: str, size: str, units: Units) -> str:
    """A whole number in inches could be a number drill's."""
    return f"{size} in" if word == "drill" and units == "inch" and size.isdecimal() else size


def _grade(line: _Line, word: str) -> str:
    grade = line.get("clearance", "") if word == "clear" else ""
    return f", {grade}" if grade else ""


def _plural(words: str) -> str:
    """Drills in turn: one, or a list of them."""
    return " then ".join(map(str, _several(words))) if words else ""


def _opened(line: _Line) -> Iterator[str]:
    if "opened" in line:
        for step in _several(line["opened"]):
            if isinstance(step, dict):
                yield from _opened({f"opened.{key}": str(value) for key, value in step.items()})
            else:
                yield f"opened out {step}"
        return
    size = line.get("opened.diameter", "")
    if "opened.clear" in line:
        size = f"clear {line['opened.clear']}"
    depth = f" x {line['opened.depth']} deep" if "opened.depth" in line else ""
    if size or depth:
        yield f"opened out {size}{depth}"


def _mouths(line: _Line, far: str) -> Iterator[tuple[str, str]]:
    for key, word in _MOUTHS:
        screw = line.get(far + key)
        size = line.get(f"{far}{key}.diameter")
        depth, angle = line.get(f"{far}{key}.depth"), line.get(f"{far}{key}.angle")
        if screw:
            yield key, f"{word} for {re.sub(' countersunk$', '', screw)}"
        elif size or depth or angle:
            said = [size] if size else []
            if depth:
                said.append(f"{depth} deep")
            elif angle:
                said.append(angle if "'" in angle or "deg" in angle else f"{angle} deg")
            only = " dia" if len(said) == 1 and size else ""
            yield key, f"{word} {' x '.join(said)}{only}"


def _deep(line: _Line) -> str:
    if "depth.into" in line:
        return f"into {line['depth.into']}"
    depth = line.get("depth", "")
    return "thro'" if depth.lower() in ("through", "thro", "thru") else depth


def _placed(line: _Line) -> Iterator[str]:
    if "at" in line:
        yield _points(_several(line["at"]))
    yield from _point(line, "at")
    yield from _round(line)
    yield from _in_lines(line)
    if inset := line.get("corners.inset"):
        each = " and ".join(map(str, _several(inset)))
        yield f"one in each corner, {each} from the edges"
    if "chain" in line:
        yield f"{_points(_several(line['chain']))}, each from the one before"
    if "polar.radius" in line or "polar.angle" in line:
        yield f"at {line.get('polar.radius', '')} and {_angle(line.get('polar.angle', ''))}"
    if pattern := line.get("pattern_from") or line.get("pattern_from.holes"):
        yield f"as {pattern}"
    if "from" in line:
        yield f"from hole {line['from']}"
    if "skip" in line:
        yield "no. " + ", ".join(map(str, _several(line["skip"]))) + " left out"


def _round(line: _Line) -> Iterator[str]:
    for key in ("circle", "arc"):
        given = {name.partition(".")[2]: one for name, one in line.items() if name.startswith(key)}
        if not given:
            continue
        said = [given["count"]] if "count" in given else []
        if "diameter" in given:
            said.append(f"on {given['diameter']} P.C.D.")
        elif "radius" in given:
            said.append(f"on {given['radius']} pitch circle radius")
        elif "chord" in given:
            said.append(f"on a circle, {given['chord']} from hole to hole")
        else:
            said.append("on a pitch circle")
        if key == "circle" and "start" in given:
            said[-1] += f", first at {_angle(given['start'])}"
        elif key == "arc":
            ends = _angle(given.get("start", "")), _angle(given.get("end", ""))
            said.append(f"from {ends[0]} to {ends[1]}")
        if given.get("clockwise") == "true":
            said[-1] += ", clockwise"
        yield " ".join(said)
        if "centre" in given:
            yield f"centre {_points(_several(given['centre']))}"
        centre = "; ".join(_point(line, f"{key}.centre"))
        if centre:
            yield "centre " + (f"on {centre}" if "centre line" in centre[:19] else centre)


def _in_lines(line: _Line) -> Iterator[str]:
    if any(key.startswith("row.") for key in line):
        start, end = (_points(_several(line.get(f"row.{key}", ""))) for key in ("start", "end"))
        step = " by ".join(map(str, _several(line.get("row.step", ""))))
        said = f"{line.get('row.count', '')} in a line".strip()
        start = start and f" from {start}"
        yield said + start + (f" to {end}" if end else "") + (f", {step} apart" if step else "")
    if any(key.startswith("grid.") for key in line):
        start = _points(_several(line.get("grid.start", "")))
        step = " by ".join(map(str, _several(line.get("grid.step", ""))))
        said = f"{line.get('grid.rows', '')} rows of {line.get('grid.columns', '')}"
        yield said + (f" from {start}" if start else "") + (f", {step} apart" if step else "")


def _angle(words: str) -> str:
    return f"{words} deg" if re.fullmatch(r"[+-]?\d+(\.\d+)?", words) else words


def _point(line: _Line, key: str) -> Iterator[str]:
    """A point from named edges and centre lines: the lines first, as a plan has them."""
    named = {name[len(key) + 1 :]: one for name, one in line.items() if name.startswith(key + ".")}
    yield from _distances(named)


def _distances(named: Mapping[str, Any]) -> Iterator[str]:
    on = [name for name, one in named.items() if name in _BEYOND and _is_nothing(str(one))]
    if on:
        yield "both centre lines" if len(on) == 2 else "centre line"
    for name in sorted(named.keys() - on, key=lambda name: (_ORDER.find(name), name)):
        one = named[name]
        if name in _BEYOND:
            side = _BEYOND[name][str(one).startswith("-")]
            yield f"{str(one).lstrip('+-')} {side} centre line"
        else:
            yield f"{one} {_UP.get(name, f'from {name}')}"


def _is_nothing(words: str) -> bool:
    return re.fullmatch(r"[+-]?0*\.?0*", words) is not None and "0" in words


def _points(points: list[Any]) -> str:
    """Points of a list, or the one that it is."""
    ends = _each_end(points)
    if ends:
        return ends
    is_pair = len(points) == 2 and not any(isinstance(one, list) for one in points)
    if is_pair and not all(isinstance(one, dict) and len(one) > 1 for one in points):
        return f"({', '.join(map(_coordinate, points))})"
    return ", ".join(_points(one) if isinstance(one, list) else _coordinate(one) for one in points)


def _each_end(points: list[Any]) -> str:
    """Two holes, as far from the left as from the right."""
    if len(points) != 2 or not all(isinstance(one, dict) and len(one) == 2 for one in points):
        return ""
    left, right = ({**one} for one in points)
    ends = left.pop("left", None), right.pop("right", None)
    if ends[0] is None or ends[0] != ends[1] or left != right:
        return ""
    return "; ".join([f"{ends[0]} from each end", *_distances(left)])


def _coordinate(one: Any) -> str:
    return "; ".join(_distances(one)) if isinstance(one, dict) else str(one)


def _several(words: Any) -> list[Any]:
    """What stands in a list of a file, figures as they are written; one thing is a list of it."""
    found = words
    if isinstance(words, str) and words[:1] in ("[", "{"):
        with suppress(tomllib.TOMLDecodeError, RecursionError):
            found = tomllib.loads(f"it = {words}", parse_float=str)["it"]
    return found if isinstance(found, list) else [found] if found != "" else []
