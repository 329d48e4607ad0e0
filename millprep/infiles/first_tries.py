"""What people write the first time, and how it is written here, with the figures of their file.

x = 20, y = 25 in a hole     at = [20, 25]
corners = 8                  corners = { inset = 8 }
depth = { length = 8 }       depth = 8
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from millprep.base.records import frozen
from millprep.infiles.points import AXIS_LETTERS, AXIS_OF_NAME
from millprep.model.part import FACES, plane_axes

_PLACE_WORDS = (
    *("at", "centre", "center", "coordinates", "location", "place", "point", "points", "pos"),
    *("position", "positions", "xy"),
)
_TABLES = {
    "arc": "{{ centre = [30, 20], radius = {it}, count = 3, start = 0, end = 90 }}",
    "circle": "{{ centre = [30, 20], diameter = {it}, count = 4 }}",
    "corners": "{{ inset = {it} }}",
    "counterbore": "{{ diameter = {it}, depth = 4.4 }}",
    "countersink": "{{ diameter = {it} }}",
    "grid": "{{ start = [10, 10], step = [{it}, 15], columns = 3, rows = 2 }}",
    "polar": "{{ radius = {it}, angle = 30 }}",
    "row": "{{ start = [10, 10], step = [{it}, 0], count = 3 }}",
    "spotface": "{{ diameter = {it} }}",
    "vice": "{{ grip = {it} }}",
}
"""How a table is written that somebody gave one figure."""
_TABLES_OF_LISTS = {
    "arc": "{{ centre = {it}, radius = 9, count = 3, start = 0, end = 90 }}",
    "circle": "{{ centre = {it}, diameter = 18, count = 4 }}",
    "corners": "{{ inset = {it} }}",
    "grid": "{{ start = {it}, step = [20, 15], columns = 3, rows = 2 }}",
    "row": "{{ start = {it}, step = [20, 0], count = 3 }}",
    "stock": "{{ size = {it} }}",
}
"""The same of a list."""


@frozen
class FirstTry:
    """keys : of the table, that are judged by this; the first is where it is told"""

    keys: tuple[str, ...]
    message: str
    remedy: str


def first_tries(table: str | int, data: Any) -> Iterator[FirstTry]:
    """What stands in a table of the file that people write at first. table : its header"""
    if not isinstance(data, dict):
        return
    if table == "hole":
        yield from _places(data)
    elif table == "stock" and "size" not in data:
        keys = [key for key in data if key.lower() in AXIS_LETTERS]
        if len(keys) == len(AXIS_LETTERS):
            values = {key.lower(): data[key] for key in keys}
            size = [values[letter] for letter in AXIS_LETTERS]
            said = f"{_listed(keys)} are not keys of the stock"
            yield FirstTry(tuple(keys), said, f"write size = {toml_words(size)}")


def _places(hole: dict[str, Any]) -> Iterator[FirstTry]:
    """A place under other keys than `at`."""
    face = hole.get("face", "top")
    if face not in FACES:
        return
    inside = hole.get("at")
    if isinstance(inside, dict) and any(key.lower() in AXIS_LETTERS for key in inside):
        yield FirstTry(("at",), "at: a pair of figures has no letters", _at(inside, face))
        return
    if inside is not None:
        return
    for key, value in hole.items():
        if key.lower() in _PLACE_WORDS and isinstance(value, list | dict):
            said = f"{key} is not the key for a hole's position"
            yield FirstTry((key,), said, f"write at = {toml_words(value)}")
            return
    keys = [key for key in hole if key.lower() in AXIS_LETTERS or key in AXIS_OF_NAME]
    if keys:
        are = "is not a key" if len(keys) == 1 else "are not keys"
        remedy = _at({key: hole[key] for key in keys}, face)
        yield FirstTry(tuple(keys), f"{_listed(keys)} {are} of a hole", remedy)


def _at(given: dict[str, Any], face: Any) -> str:
    """How the place is written that those keys give."""
    letters = {key.lower(): value for key, value in given.items()}
    first, second = (AXIS_LETTERS[axis] for axis in plane_axes(face))
    if not set(letters) <= {*AXIS_LETTERS}:
        more = ", ..." if len(given) == 1 else ""
        inside = ", ".join(f"{key} = {toml_words(value)}" for key, value in given.items())
        return f"write at = {{ {inside}{more} }}"
    pair = [letters[one] for one in (first, second) if one in letters]
    if len(pair) < 2 <= len(letters):
        order = f"on {face} a pair runs {first} then {second}: "
        return f"{order}write at = {toml_words([*letters.values()][:2])}"
    if len(letters) == 1:
        words = toml_words(*letters.values())
        return f"write at = [{words}, ...], along {first} and then along {second}"
    deep = ""
    if len(letters) > 2:
        deep = f"; {next(one for one in letters if one not in (first, second))} is depth"
    return f"write at = {toml_words(pair)}{deep}"


def as_table(key: str, value: Any) -> str:
    """How the table is written that was given as one figure or a list; empty where none is known"""
    is_plain = isinstance(value, str | int | float) and not isinstance(value, bool)
    forms = _TABLES_OF_LISTS if isinstance(value, list) else _TABLES if is_plain else {}
    form = forms.get(key)
    return "" if form is None else f"write {key} = {form.format(it=toml_words(value))}"


def as_value(key: str, value: Any) -> str:
    """How a value is written that was given as a table of one; empty where it is no such."""
    if not isinstance(value, dict) or len(value) != 1:
        return ""
    ((name, inside),) = value.items()
    is_other = isinstance(inside, dict | list) or name == "into" or name in AXIS_OF_NAME
    return "" if is_other else f"write {key} = {toml_words(inside)}"


def toml_words(value: Any) -> str:
    """A value as it stands in a file."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(toml_words, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {toml_words(one)}' for key, one in value.items())} }}"
    if isinstance(value, str):
        return f"'{value}'" if '"' in value else f'"{value}"'
    return str(getattr(value, "text", value))


def _listed(keys: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(keys[:-1]), keys[-1])))
