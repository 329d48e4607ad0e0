"""What a key of a file takes, as the models say it, and typed words as the TOML value of it."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from itertools import accumulate
from typing import Any

from millprep.base.bounds import MOST_LEVELS
from millprep.infiles.fields import Shape
from millprep.infiles.json_schema import schema_of
from millprep.infiles.positions import Path, value_end

_FIGURE = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?:\.(?P<part>\d*))?")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+\S*")
_LONGEST_FIGURE = 30
_TRUTHS = {"true": "true", "yes": "true", "false": "false", "no": "false"}
BLANK = '""'
"""What holds the place of a figure in a list that is not given yet."""
KINDS = ("part", "opposite hand", "assembly", "shop")


def kind_of(data: Mapping[str, Any]) -> str:
    """Which of KINDS a file with those keys at its top is."""
    if "opposite_hand_of" in data:
        return "opposite hand"
    known = {kind: len(data.keys() & order_of(kind, ()).keys()) for kind in KINDS}
    return max(KINDS, key=lambda kind: known[kind])


@lru_cache
def _schema(kind: str) -> tuple[Shape, Shape]:
    """The shape of the top, and those that it refers to."""
    if kind in ("part", "opposite hand"):
        whole = schema_of("part")
        return whole["else" if kind == "part" else "then"], whole["$defs"]
    whole = schema_of(kind)
    return whole, whole["$defs"]


@lru_cache(maxsize=4096)
def shapes_at(kind: str, path: Path) -> tuple[Shape, ...]:
    """The shapes of what may stand at a path of a file of that kind; none where it is not known."""
    top, known = _schema(kind)
    shapes = list(_flat(top, known))
    for part in path:
        inner = [found for shape in shapes if (found := _within(shape, part)) is not None]
        shapes = [flat for shape in inner for flat in _flat(shape, known)]
    return tuple(shapes)


def _flat(shape: Shape, known: Shape) -> Iterator[Shape]:
    """Its alternatives."""
    if "$ref" in shape:
        yield from _flat(known[shape["$ref"].rpartition("/")[2]], known)
    elif "anyOf" in shape:
        for one in shape["anyOf"]:
            yield from _flat(one, known)
    else:
        yield shape


def _within(shape: Shape, part: str | int) -> Shape | None:
    if isinstance(part, int):
        items: Shape | None = shape.get("items")
        return items
    others = shape.get("additionalProperties")
    inner: Shape | None = shape.get("properties", {}).get(part)
    return inner if inner is not None or not isinstance(others, dict) else others


@lru_cache(maxsize=4096)
def order_of(kind: str, path: Path) -> dict[str, int]:
    """The keys of the table at a path, numbered as the models have them."""
    keys = [key for shape in shapes_at(kind, path) for key in shape.get("properties", {})]
    return {key: number for number, key in enumerate(dict.fromkeys(keys))}


def takes_lists(shapes: tuple[Shape, ...]) -> bool:
    return any(shape.get("type") == "array" for shape in shapes)


def takes_names(shapes: tuple[Shape, ...]) -> bool:
    """Whether one or several texts, and nothing else, may stand there."""
    lists = [shape for shape in shapes if shape.get("type") == "array"]
    return bool(lists) and all(shape["items"].get("type") == "string" for shape in lists)


def is_of_fixed_length(shapes: tuple[Shape, ...]) -> bool:
    """Whether a list of so many, each of which has a box of its own, and nothing else stands there:
    the sizes of a blank, two limits; a point is no such list."""
    least = shapes[0].get("minItems", 0) if len(shapes) == 1 else 0
    return bool(least > 1 and least == shapes[0].get("maxItems"))


def text_stands_for(shapes: tuple[Shape, ...]) -> str | None:
    """The key of a table that a text alone may be written for; None where there is no such.

    pattern_from = "cover.toml: screw" stands for { holes = "cover.toml: screw" }.
    """
    if "string" not in _types(shapes):
        return None
    needed = [shape["required"] for shape in shapes if len(shape.get("required", ())) == 1]
    keys = [key for shape in shapes for (key,) in needed if _is_text(shape, key)]
    return str(keys[0]) if keys else None


def _is_text(shape: Shape, key: str) -> bool:
    return bool(shape.get("properties", {}).get(key, {}).get("type") == "string")


def in_toml(words: str, kind: str, path: Path) -> str:
    """What was typed as the value that stands at that path of a file of that kind."""
    words = " ".join(words.split()) if "\n" not in words else words.strip()
    shapes = shapes_at(kind, path)
    if (takes_lists(shapes) and _is_in(words, "[]")) or _is_in(words, "{}"):
        return _bracketed(words, kind, path)
    if _is_several(words, kind, shapes):
        return in_brackets(in_toml(one, kind, (*path, 0)) for one in split(words))
    types = _types(shapes)
    if "boolean" in types or not types:
        truth = _TRUTHS.get(words.lower())
        if truth is not None and (types or words in ("true", "false")):
            return truth
    if (types & {"number", "integer"} or not types) and (figure := as_figure(words)):
        return figure
    return in_quotes(words)


def _types(shapes: tuple[Shape, ...]) -> set[str]:
    types: set[str] = set()
    for shape in shapes:
        if "enum" in shape:
            types |= {
                "number" if isinstance(one, int | float) else "string" for one in shape["enum"]
            }
        elif "type" in shape:
            types |= {shape["type"]} if isinstance(shape["type"], str) else {*shape["type"]}
    return types


def _is_in(words: str, brackets: str) -> bool:
    """Whether the words stand as a whole in these brackets."""
    if not (words.startswith(brackets[0]) and words.endswith(brackets[1])):
        return False
    return len(split(words)) == 1 and _depth(words) <= MOST_LEVELS


def _depth(words: str) -> int:
    """How deep brackets stand in brackets, at most."""
    steps = (1 if letter in "[{" else -1 if letter in "]}" else 0 for letter in words)
    return max(accumulate(steps), default=0)


def _is_several(words: str, kind: str, shapes: tuple[Shape, ...]) -> bool:
    """Whether several things are typed where a list may stand."""
    if not takes_lists(shapes) or not words:
        return False
    types = _types(shapes)
    if types <= {"array", "object"}:
        return len(split(words)) > 1 or _takes_one(kind, shapes)
    if any(shape.get("type") == "string" for shape in shapes) and not takes_names(shapes):
        return False  # "foot: screw 3, 4" is one text
    is_one_length = "number" in types and _DECIMAL_COMMA.fullmatch(words) is not None
    return len(split(words)) > 1 and not is_one_length


def _takes_one(kind: str, shapes: tuple[Shape, ...]) -> bool:
    """Whether a list of one figure or word may stand there."""
    known = _schema(kind)[1]
    return any(
        shape.get("type") == "array"
        and shape.get("minItems", 0) < 2
        and not _types(tuple(_flat(shape["items"], known))) <= {"array", "object"}
        for shape in shapes
    )


def _bracketed(words: str, kind: str, path: Path) -> str:
    """A list or a table: as it is where it is TOML, else each thing in it by itself."""
    if is_value(words):
        return words
    inside = split(words[1:-1])
    if words[0] == "[":
        return in_brackets(in_toml(one, kind, (*path, 0)) for one in inside)
    pairs = [one.partition("=") for one in inside]
    if not all(equals for _, equals, _ in pairs):
        return in_quotes(words)
    return in_braces(
        {key.strip(): in_toml(one, kind, (*path, key.strip())) for key, _, one in pairs}
    )


def is_value(words: str) -> bool:
    """Whether the words are one value of a TOML text, and nothing beside it."""
    try:
        tomllib.loads(f"v = {words}")
    except (ValueError, RecursionError):
        return False
    return bool(words) and value_end(words, 0) == len(words)


def split(words: str) -> list[str]:
    """The words between the commas that stand in no bracket and in no quotes."""
    parts, depth, quote = [""], 0, ""
    for letter in words:
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'" and not parts[-1].strip():
            quote = letter
        elif letter in "[{":
            depth += 1
        elif letter in "]}":
            depth -= 1
        elif letter == "," and depth <= 0:
            parts.append("")
            continue
        parts[-1] += letter
    return [part.strip() for part in parts if part.strip()]


def as_figure(words: str) -> str:
    """A plain figure as TOML writes it: .375 is 0.375, 12. is 12; empty for what is none."""
    found = _FIGURE.fullmatch(words.replace("\N{MINUS SIGN}", "-"))
    if found is None or not (found["whole"] or found["part"]):
        return ""
    if len(words) > _LONGEST_FIGURE:
        return ""
    whole = found["whole"].lstrip("0") or "0"
    return found["sign"] + whole + (f".{found['part']}" if found["part"] else "")


def in_quotes(words: str, quote: str = '"') -> str:
    """A text as TOML writes it, in the quotes wanted where it can stand in them."""
    is_plain = words.isprintable() and "'" not in words
    if is_plain and (quote == "'" or ('"' in words and "\\" not in words)):
        return f"'{words}'"
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007f")


def key_in_toml(key: str | int) -> str:
    return str(key) if _BARE_KEY.fullmatch(str(key)) else in_quotes(str(key))


def in_brackets(values: Iterable[str]) -> str:
    """A list of values, which are TOML already."""
    return f"[{', '.join(values)}]"


def in_braces(values: Mapping[str, str]) -> str:
    """A table in braces of keys and their values, which are TOML already."""
    return f"{{ {', '.join(f'{key_in_toml(key)} = {one}' for key, one in values.items())} }}"


def nested(path: Path, value: str) -> str:
    """A value at the end of a path as the value of what the path begins at."""
    for part in reversed(path):
        if isinstance(part, int):
            value = in_brackets([*[BLANK] * part, value])
        else:
            value = in_braces({part: value})
    return value
