"""A hole's line as boxes, and back to the keys of its file.

Most keys are a box of their own. What a person says in two boxes, or in another way than the file
has it, is taken apart here: `what` and `size` for the key that says how the hole is made, `deep`
for a depth, `where` for the kind of place, and for each coordinate of a point its figure and the
edge that it is measured from (`at#0`, `at#0e`, of several points `at#2.0`; no edge is that of the
plan).
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from millprep.base.units import Units
from millprep.proven.forms import in_boxes

Values = dict[str, str]

WHAT = ("drill", "clear", "tap", "ream", "bore")
WHERE = ("at", "circle", "arc", "row", "grid", "corners", "chain", "polar", "pattern_from")
POINTS = (
    "at",
    "circle.centre",
    "arc.centre",
    "row.start",
    "row.end",
    "grid.start",
    "pattern_from.middle",
)
"""Keys that hold a point, or several."""

LISTS = {"row.step": 2, "grid.step": 2, "limits": 2, "between": 2, "stock.size": 3}
"""Keys that hold so many figures, a box each: `row.step.0`."""

AXES: dict[str, tuple[str, str]] = {
    "top": ("x", "y"), "bottom": ("x", "y"), "front": ("x", "z"), "back": ("x", "z"),
    "left": ("y", "z"), "right": ("y", "z"),
}  # fmt: skip
EDGES: dict[str, tuple[str, str, str]] = {
    "x": ("left", "right", "centre_x"),
    "y": ("front", "back", "centre_y"),
    "z": ("bottom", "top", "centre_z"),
}
_PLAIN = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")


def edges(axis: str, datum: str, now: str) -> list[tuple[str, str]]:
    """What a coordinate may be measured from: value, "" for the plan's own edge, and edge.

    datum : the word of the plan's own; now : the value that the box has
    """
    own = f"centre_{axis}" if datum == "centre" else datum
    return [("" if edge == own and now != own else edge, edge) for edge in EDGES[axis]]


def shown(values: Mapping[str, str]) -> Values:
    """The text of every box of a hole's line. values : its keys as written"""
    boxes = plain_boxes(values)
    boxes["what"] = next((key for key in WHAT if key in values), "")
    boxes["size"] = values.get(boxes["what"], "")
    boxes["deep"] = _deep(values)
    boxes["where"] = where(values)
    for key in POINTS:
        raw = raw_of(values, key)
        if raw is not None:
            boxes |= _point_boxes(key, raw, values)
    return boxes


def written(values: Mapping[str, str], typed: Mapping[str, str]) -> Values:
    """The keys of the line with what was typed in its boxes; what was not typed in stays."""
    boxes = {**shown(values), **typed}
    out = dict(values)
    if {"what", "size"} & typed.keys():
        _put(out, WHAT, {boxes["what"]: boxes["size"]} if boxes["what"] else {})
    if "deep" in typed:
        _put(out, ("depth",), _depth(boxes["deep"]))
    if "where" in typed:
        _put(out, [key for key in WHERE if key != boxes["where"]], {})
    face = boxes.get("face", "top")
    for key in POINTS:
        own = {box for box in typed if box.startswith(f"{key}#")}
        if own and key.split(".")[0] == (boxes["where"] or "at"):
            _put(out, (key,), {key: _point_text(key, boxes, face)})
    return _with_plain(out, boxes, typed)


def plain_boxes(values: Mapping[str, str]) -> Values:
    """Of keys that are a box each, or a box for each figure of a list."""
    boxes = {key: _in_words(value) for key, value in values.items() if not _is_taken_apart(key)}
    for key in LISTS:
        raw = raw_of(values, key)
        if isinstance(raw, list):
            boxes.pop(key, None)
            boxes |= {f"{key}.{place}": str(one) for place, one in enumerate(raw)}
    return boxes


def _with_plain(out: Values, boxes: Mapping[str, str], typed: Mapping[str, str]) -> Values:
    """The keys with what was typed in such boxes."""
    lists = {key for key in LISTS if any(one.startswith(f"{key}.") for one in typed)}
    for key in lists:
        figures = [boxes.get(f"{key}.{place}", "") for place in range(LISTS[key])]
        whole = f"[{', '.join(_figure(one) for one in figures)}]" if any(figures) else ""
        _put(out, (key,), {key: whole})
    for key, value in typed.items():
        is_in_list = key.rpartition(".")[0] in lists
        if not (_is_taken_apart(key) or "#" in key or is_in_list):
            _put(out, (), {key: _pairs(value) if key == "chain" else value})
    return {key: value for key, value in out.items() if value != ""}


def _in_words(text: str) -> str:
    """A list without its brackets: 5 mm, 6 mm; and one of pairs: 10, 10; 20, 0."""
    raw = _parsed(text)
    if not isinstance(raw, list) or any(isinstance(one, dict) for one in raw):
        return text
    if raw and all(isinstance(one, list) for one in raw):
        return "; ".join(", ".join(map(str, one)) for one in raw)
    return text if any(isinstance(one, list) for one in raw) else ", ".join(map(str, raw))


def _pairs(words: str) -> str:
    """The list of pairs that stands in a box as 10, 10; 20, 0."""
    if not words.strip() or words.lstrip().startswith("["):
        return words
    pairs = [", ".join(_figure(one) for one in pair.split(",")) for pair in words.split(";")]
    return f"[{', '.join(f'[{pair}]' for pair in pairs)}]"


def where(values: Mapping[str, str]) -> str:
    """The kind of place that the line has, "" where none is said yet."""
    tops = {key.split(".")[0] for key in values}
    return next((key for key in WHERE if key in tops), "")


def points_shown(boxes: Mapping[str, str], key: str) -> list[str]:
    """What stands before `0` and `1` in the names of the boxes of each point of a key."""
    found = {box.rpartition("#")[2] for box in boxes if box.startswith(f"{key}#")}
    numbers = sorted({int(one.partition(".")[0]) for one in found if "." in one})
    if numbers:
        return [f"{key}#{number}." for number in numbers]
    return [f"{key}#"]


def raw_of(values: Mapping[str, str], key: str) -> Any:
    """The value of a key that may stand in one piece or key by key; None where there is none."""
    if key in values:
        return _parsed(values[key])
    tree: dict[str, Any] = {}
    for name, value in values.items():
        if name.startswith(f"{key}."):
            *way, last = name.removeprefix(f"{key}.").split(".")
            inner = tree
            for part in way:
                inner = inner.setdefault(part, {})
            inner[last] = _parsed(value)
    return _listed(tree) or None


def _listed(tree: Any) -> Any:
    """Tables whose keys are numbers as the lists that they are."""
    if not isinstance(tree, dict):
        return tree
    if tree and all(name.isdigit() for name in tree):
        return [_listed(tree[name]) for name in sorted(tree, key=int)]
    return {name: _listed(one) for name, one in tree.items()}


def _is_taken_apart(key: str) -> bool:
    is_point = any(key == one or key.startswith(f"{one}.") for one in POINTS)
    return (
        is_point
        or key in (*WHAT, "what", "size", "deep", "where", "depth")
        or key.startswith("depth.")
    )


def _put(out: Values, old: Any, new: Mapping[str, str]) -> None:
    """New values in place of everything that stands under the old keys and under the new ones."""
    for key in (*old, *new):
        for name in [name for name in out if name == key or name.startswith(f"{key}.")]:
            del out[name]
    out.update(new)


def _parsed(text: str) -> Any:
    """What a text as written means; itself where it is a word or a figure."""
    if not text.strip().startswith(("[", "{")):
        return text.strip()
    try:
        return tomllib.loads(f"value = {text}", parse_float=str)["value"]
    except ValueError:
        return text


def _deep(values: Mapping[str, str]) -> str:
    raw = raw_of(values, "depth")
    if isinstance(raw, dict):
        return f"into {raw.get('into', '')}"
    return "thro'" if raw == "through" else str(raw or "")


def _depth(words: str) -> Values:
    text = " ".join(words.split())
    if text.casefold().rstrip(".") in ("thro'", "thro", "thru", "through", "right through"):
        return {"depth": "through"}
    if text.casefold().startswith(("into ", "down into ")):
        return {"depth.into": text.partition("into ")[2] or text[5:]}
    return {"depth": text} if text else {}


def _point_boxes(key: str, raw: Any, values: Mapping[str, str]) -> Values:
    face = values.get("face", "top")
    several = isinstance(raw, list) and bool(raw) and isinstance(raw[0], (list, dict))
    several = several and not (len(raw) == 2 and _is_point(raw))
    points = raw if several else [raw]
    axes = AXES.get(face, AXES["top"])
    boxes: Values = {}
    for number, point in enumerate(points):
        before = f"{key}#{number}." if several else f"{key}#"
        for place, (edge, figure) in enumerate(_coordinates(point, axes)):
            boxes |= {f"{before}{place}": figure, f"{before}{place}e": edge}
    return boxes


def _is_point(raw: list[Any]) -> bool:
    """Two coordinates, of which one or both may be a table of one edge."""
    return any(not isinstance(one, (list, dict)) for one in raw) or all(
        isinstance(one, dict) and len(one) == 1 for one in raw
    )


def _coordinates(point: Any, axes: tuple[str, str]) -> list[tuple[str, str]]:
    """Edge, "" for the datum's, and figure of both coordinates, in the order of the axes."""
    if isinstance(point, dict):
        of_axis = dict.fromkeys(axes, ("", ""))
        for edge, figure in point.items():
            axis = next((axis for axis in axes if edge in EDGES[axis]), None)
            if axis is not None:
                of_axis[axis] = (edge, str(figure))
        return [of_axis[axis] for axis in axes]
    if not isinstance(point, list):
        return [("", str(point or "")), ("", "")]
    pairs = [
        next(((str(k), str(v)) for k, v in one.items()), ("", ""))
        if isinstance(one, dict)
        else ("", str(one))
        for one in point[:2]
    ]
    return [*pairs, ("", ""), ("", "")][:2]


def _point_text(key: str, boxes: Mapping[str, str], face: str) -> str:
    """The point of a key, or the list of them, as its file has it."""
    points = [
        _one_point(before, boxes, face)
        for before in points_shown(boxes, key)
        if any(_is_placed(boxes, f"{before}{place}") for place in (0, 1))
    ]
    if points_shown(boxes, key) == [f"{key}#"]:
        return points[0] if points else ""
    return f"[{', '.join(points)}]" if points else ""


def _is_placed(boxes: Mapping[str, str], box: str) -> bool:
    return bool(boxes.get(box, "").strip() or boxes.get(f"{box}e", "").startswith("centre"))


def half_placed(boxes: Mapping[str, str], key: str) -> bool:
    """Whether a point of a key has one of its two figures, or an edge and no figure."""
    for before in points_shown(boxes, key):
        placed = [_is_placed(boxes, f"{before}{place}") for place in (0, 1)]
        has_edge = any(boxes.get(f"{before}{place}e") for place in (0, 1))
        if placed[0] != placed[1] or (has_edge and not any(placed)):
            return True
    return False


def _one_point(before: str, boxes: Mapping[str, str], face: str) -> str:
    named: list[tuple[str, str]] = []
    for place, axis in enumerate(AXES.get(face, ("x", "y"))):
        edge = boxes.get(f"{before}{place}e", "")
        if edge not in EDGES[axis]:  # of the face that the hole was in before
            edge = ""
        figure = boxes.get(f"{before}{place}", "")
        if not figure.strip() and edge.startswith("centre"):
            figure = "0"  # on that line
        named.append((edge, _figure(figure)))
    if all(edge for edge, _ in named):
        return "{ " + ", ".join(f"{edge} = {figure}" for edge, figure in named) + " }"
    return (
        "["
        + ", ".join(f"{{ {edge} = {figure} }}" if edge else figure for edge, figure in named)
        + "]"
    )


def _figure(text: str) -> str:
    """A figure as TOML has it: a number, or words in quotes."""
    text = " ".join(text.split())
    if not _PLAIN.fullmatch(text):
        return json.dumps(text, ensure_ascii=False)
    sign = "-" if text.startswith("-") else ""
    whole, dot, rest = text.lstrip("+-").partition(".")
    return f"{sign}{whole.lstrip('0') or '0'}" + (f".{rest or '0'}" if dot else "")


def title_written(values: Mapping[str, str], typed: Mapping[str, str]) -> Values:
    """The keys of the top of a file with what was typed in the boxes of its title block."""
    return _with_plain(dict(values), plain_boxes(values) | dict(typed), typed)


def in_words(boxes: Mapping[str, str], typed: Mapping[str, str], units: Units) -> dict[str, str]:
    """What was typed in boxes, with the words that plans put round a figure taken off it."""
    out: dict[str, str] = {}
    kind = typed.get("what") or boxes.get("what", "")
    face = boxes.get("face") or "top"
    for key, text in typed.items():
        real = {"deep": "depth", "size": kind}.get(key, key)
        found: Mapping[str, str] = {}
        if real and "#" not in real and text.strip():
            found = in_boxes(real.removeprefix("stock."), text, units, face)  # type: ignore[arg-type]  # a face, or refused there
        if not found or any(name.startswith("at") for name in found):
            out[key] = text
        elif len(found) == 1:
            out[key] = next(iter(found.values()))
        else:
            names = {"depth": "deep", kind: "size"}
            out |= {names.get(name, name): value for name, value in found.items()}
    return out
