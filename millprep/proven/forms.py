"""What the keys of a part file take, one by one, as a form asks for them, and what completes them.

From the models and the tables; with them the call-outs that boxes take.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, Literal

from millprep.base.records import frozen
from millprep.infiles.call_out.boxes import in_box as in_box
from millprep.infiles.call_out.boxes import in_boxes as in_boxes
from millprep.infiles.call_out.reader import read_call_out as read_call_out
from millprep.model.part import FACES as FACES
from millprep.sizes.likely import SizeKind as SizeKind
from millprep.sizes.likely import sizes_like as sizes_like

Takes = Literal["figure", "count", "words", "choice", "tick", "several", "place", "places", "keys"]
_LENGTHS = ("Length", "Size", "Room")


@frozen
class Entry:
    """A key of a table of the part file.

    key       : dotted inside its table; "size.0" is the first figure of a list of three
    takes     : "several" of a list as long as wanted; "place" of a point, "places" of several;
                "keys" where only the keys below it have values
    choices   : the words that may be chosen
    is_needed : its own table cannot do without it
    """

    key: str
    takes: Takes
    choices: tuple[str, ...] = ()
    is_needed: bool = False


@cache
def entries_of(table: str) -> tuple[Entry, ...]:
    """The keys of "part" (the top), "opposite" (the top of another hand) or a table below them.

    Raises KeyError for a table that there is not.
    """
    from millprep.infiles.json_schema import schema_of

    shapes: dict[str, Any] = schema_of("part")["$defs"]
    top = shapes["PartTable"]["properties"]
    tables = {key for key in top if _table_in(top[key], shapes)}
    if table in ("part", "opposite"):
        shape = shapes["PartTable" if table == "part" else "OppositeTable"]
    else:
        shape = _table_in(top[table], shapes)
    return tuple(_of_table(shape, shapes, without=() if table in tables else tuple(tables)))


def one_of_these() -> tuple[tuple[str, ...], ...]:
    """Keys of which a hole has one: what it is, where it is placed, its fit, how far off."""
    from millprep.infiles.holes import EXCLUSIVE

    return EXCLUSIVE


def _of_table(
    table: dict[str, Any], shapes: dict[str, Any], before: str = "", without: tuple[str, ...] = ()
) -> Iterator[Entry]:
    needed = table.get("required", ())
    for key, shape in table["properties"].items():
        if key not in without:
            yield from _of_key(before + key, shape, shapes, is_needed=key in needed)


def _of_key(
    key: str, shape: dict[str, Any], shapes: dict[str, Any], *, is_needed: bool
) -> Iterator[Entry]:
    """The key, and those below it; a list of a fixed length as its members."""
    count = shape.get("minItems", 0)
    if count > 1 and count == shape.get("maxItems"):
        for at in range(count):
            yield from _of_key(f"{key}.{at}", shape["items"], shapes, is_needed=is_needed)
        return
    below = _table_in(shape, shapes)
    takes, choices = _taken(shape)
    yield Entry(key, takes, choices, is_needed)
    if below is not None:
        yield from _of_table(below, shapes, f"{key}.")


def _taken(shape: dict[str, Any]) -> tuple[Takes, tuple[str, ...]]:
    """What stands at the key itself, of all that may stand there."""
    forms = shape.get("anyOf", [shape])
    lists = [form["items"] for form in forms if form.get("type") == "array"]
    if any(_name(each) == "Point" for each in lists):
        return "places", ()
    for form in forms:
        if (name := _name(form)) == "Point":
            return "place", ()
        if "enum" in form:
            return "choice", tuple(form["enum"])
        if name in _LENGTHS or form.get("type") in ("string", "integer"):
            if lists:
                return "several", ()
            return {"string": "words", "integer": "count"}.get(form.get("type"), "figure"), ()  # type: ignore[return-value]
        if form.get("type") == "boolean":
            return "tick", ()
    return ("several" if any(_is_plain(each) for each in lists) else "keys"), ()


def _is_plain(shape: dict[str, Any]) -> bool:
    return _name(shape) in _LENGTHS or "type" in shape


def _name(shape: dict[str, Any]) -> str:
    """The name of a shape that is defined once for all; else ""."""
    return str(shape.get("$ref", "")).rpartition("/")[2]


def _table_in(shape: dict[str, Any], shapes: dict[str, Any]) -> dict[str, Any] | None:
    """The table that may stand there, alone or in a list."""
    for form in shape.get("anyOf", [shape]):
        inner = form.get("items", form)
        found = shapes[_name(inner)] if _name(inner) else inner
        if "properties" in found:
            return dict(found)
    return None


@cache
def offered(what: str) -> tuple[str, ...]:
    """Words from the tables, in the order in which they are looked through.

    what : "sizes" (of drills), "threads", "screws" (by their thread), "cap screws", "countersunk
           screws", "materials" or "fits". Empty for what no table has: the holes of a part, say.
    """
    maker = {
        "sizes": _sizes,
        "threads": _threads,
        "screws": _threads_with_clearance,
        "cap screws": lambda: _with_head("socket head"),
        "countersunk screws": lambda: _with_head("countersunk"),
        "materials": _materials,
        "fits": _fits,
    }.get(what)
    return () if maker is None else maker()


def _sizes() -> tuple[str, ...]:
    """A number as it is called at the bench: "No. 27"."""
    from millprep.reference.drills import DRILL_SERIES, drills

    words = (drill.designation for series in DRILL_SERIES for drill in drills(series))
    return tuple(f"No. {word[1:]}" if word.startswith("#") else word for word in words)


def _threads() -> tuple[str, ...]:
    from millprep.reference.threads import threads

    return tuple(thread.designation for thread in threads())


def _threads_with_clearance() -> tuple[str, ...]:
    """Those whose name alone says what hole clears the screw."""
    from millprep.base.findings import WordError
    from millprep.sizes import read_clear

    found = []
    for words in _threads():
        try:
            read_clear(words, "mm")
        except WordError:
            continue
        found.append(words)
    return tuple(found)


def _with_head(kind: str) -> tuple[str, ...]:
    """Screws of one kind of head, where a table has it whole."""
    from millprep.reference.heads import HEAD_KINDS, head_for
    from millprep.reference.threads import threads

    of = next(each for each in HEAD_KINDS if each == kind)
    heads = [head_for(thread, of) for thread in threads()]
    return tuple(
        dict.fromkeys(
            head.screw
            for head in heads
            if head and (kind != "socket head" or head.counterbore_depth_mm is not None)
        )
    )


def _materials() -> tuple[str, ...]:
    from millprep.reference.materials import materials

    return tuple(one.name for one in materials())


def _fits() -> tuple[str, ...]:
    """The hole's side of the fits that are common practice, and the usual holes beside them."""
    from millprep.reference.fits import recommended_fits

    purposes = ("locate", "press", "slide", "pivot")
    holes = [fit.hole for purpose in purposes for fit in recommended_fits(purpose)]
    return tuple(dict.fromkeys(holes))
