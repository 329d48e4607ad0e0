"""The boxes of a line and of the title block as their page shows them: at once, or under more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import frozen, replace
from millprep.desk.forms import Box, boxes, edges_across, form, group_labels, label_of, table_label
from millprep.desk.line_boxes import AXES, EDGES, WHAT, WHERE, edges, points_shown
from millprep.desk.pencil import TITLE
from millprep.desk.piece import Piece, ShownLine

Choices = tuple[tuple[str, str], ...]


@frozen
class ShownBox:
    """A box with what stands in it.

    edge : the box of the edge that it is measured from; unsaid : what holds where it is empty
    kept : what stood in it before it was typed in, where it still is
    """

    box: Box
    key: str
    value: str
    in_pencil: bool = False
    edge: ShownBox | None = None
    unsaid: str = ""
    kept: str | None = None


@frozen
class Group:
    """Boxes that belong together. slug : of its place on the page"""

    slug: str
    label: str
    boxes: tuple[ShownBox, ...]


@frozen
class LineForm:
    """first : shown at once; more : when asked for"""

    line: ShownLine
    first: tuple[Group, ...]
    more: tuple[Group, ...]


def line_form(piece: Piece, line: ShownLine) -> LineForm:
    if line.table == "hole":
        made = _hole_form(piece, line)
        at_once, later = (
            tuple(_with_unsaid(piece, one) for one in groups) for groups in (made.first, made.more)
        )
        return LineForm(line, at_once, later)
    first, more = _parted(line, [one for one in boxes(line.table) if _is_single(one.key)])
    return LineForm(line, (Group("first", "", first),), (Group("more", "", more),))


def _with_unsaid(piece: Piece, group: Group) -> Group:
    """The group with what all holes have unless their line says otherwise."""
    all_holes = {
        key.removeprefix("defaults."): value
        for key, value in piece.title.items()
        if key.startswith("defaults.")
    }
    unsaid = {"face": "top", **all_holes}
    if "depth" in unsaid:
        unsaid["deep"] = "thro'" if unsaid["depth"] == "through" else unsaid["depth"]
    shown = [
        replace(one, unsaid=dict(one.box.choices).get(unsaid[one.key], unsaid[one.key]))
        if one.key in unsaid
        else one
        for one in group.boxes
    ]
    return Group(group.slug, group.label, tuple(shown))


def _is_single(key: str) -> bool:
    """Not of a table that there may be several of."""
    return key.split(".")[0] not in ("obstacle", "straps")


def _hole_form(piece: Piece, line: ShownLine) -> LineForm:
    first: list[Group] = []
    more: list[Group] = []
    for slug, label in group_labels().items():
        if slug == "where":
            own = tuple(_where(piece, line))
            rest = [one for one in boxes("hole") if one.key in ("from", "skip")]
        else:
            own = tuple(_own(line, slug))
            rest = [one for one in boxes("hole") if one.group == slug and one.key not in _TAKEN]
        at_once, later = _parted(line, rest)
        if own or at_once:
            first.append(Group(slug, label, (*own, *at_once)))
        if later:
            more.append(Group(f"{slug}-more", label, later))
    return LineForm(line, tuple(first), tuple(more))


_TAKEN = {*WHAT, "depth", "depth.into", "face"}


def _parted(line: ShownLine, found: Sequence[Box]) -> tuple[tuple[ShownBox, ...], ...]:
    """Those shown at once, which have something in them or are wanted often; and the rest."""
    shown = [_shown(line, box, box.key) for box in found]
    first = tuple(one for one in shown if one.value or (one.box.at_once and line.table != "hole"))
    return first, tuple(one for one in shown if one not in first)


def _shown(line: ShownLine, box: Box, key: str, edge: ShownBox | None = None) -> ShownBox:
    kept = line.under.get(key)
    return ShownBox(box, key, line.boxes.get(key, ""), key in line.pencilled, edge, kept=kept)


def _own(line: ShownLine, group: str) -> Iterator[ShownBox]:
    """Boxes that stand for several keys of the file."""
    if group == "what":
        kinds: Choices = tuple((key, label_of("hole", key)) for key in WHAT)
        yield _shown(line, _made("what", "What", "choice", kinds), "what")
        kind = line.boxes.get("what") or WHAT[0]
        size = next(box for box in boxes("hole") if box.key == kind)
        yield _shown(line, replace(size, label=_SIZES.get(kind, "Size")), "size")
    elif group == "deep":
        depth = next(box for box in boxes("hole") if box.key == "depth")
        yield _shown(line, replace(depth, choices=()), "deep")
    elif group == "face":
        yield _shown(line, next(box for box in boxes("hole") if box.key == "face"), "face")


_SIZES = {"tap": "Thread", "clear": "For screw"}


def _made(key: str, label: str, takes: str, choices: Choices = ()) -> Box:
    return Box(key, label, "", True, takes, choices)  # type: ignore[arg-type]  # a word of Takes


def _where(piece: Piece, line: ShownLine) -> Iterator[ShownBox]:
    """How it is placed, and the boxes of that way."""
    kinds: Choices = tuple((key, label_of("hole", key)) for key in WHERE)
    yield _shown(line, _made("where", "Placed", "choice", kinds), "where")
    kind = line.boxes.get("where") or "at"
    for box in form("hole"):
        if box.key != kind and not box.key.startswith(f"{kind}."):
            continue
        if box.takes in ("place", "places") and box.key != "chain":
            yield from _point(piece, line, box)
        elif box.takes != "heading" and box.key != "pattern_from":
            yield _shown(line, box, box.key)


def _point(piece: Piece, line: ShownLine, box: Box) -> Iterator[ShownBox]:
    """Both figures of each point of a place, with what they are measured from."""
    face = line.boxes.get("face", "top")
    befores = points_shown(line.boxes, box.key)
    for number, before in enumerate(befores, 1):
        for place, axis in enumerate(AXES.get(face, AXES["top"])):
            called = "Place" if box.key == "at" else box.label
            which = f"{called} no. {number}" if len(befores) > 1 else called
            figure = replace(box, label=which if place == 0 else "and", takes="figure")
            edge = _edge(piece, line, f"{before}{place}e", face, axis)
            yield _shown(line, figure, f"{before}{place}", edge)


def _edge(piece: Piece, line: ShownLine, key: str, face: str, axis: str) -> ShownBox:
    labels = {
        value: label.partition(" (")[0] for pairs in edges_across(face) for value, label in pairs
    }
    datum = piece.title.get(f"datum.{axis}", EDGES[axis][0])
    choices: Choices = tuple(
        (value, labels[edge]) for value, edge in edges(axis, datum, line.boxes.get(key, ""))
    )
    if line.boxes.get("from"):
        choices = (("", f"from {line.boxes['from']}"), *((e, labels[e]) for e in EDGES[axis]))
    return _shown(line, _made(key, "measured from", "choice", choices), key)


_OPPOSITE = "opposite"


def title_groups(piece: Piece) -> list[tuple[Group, Group]]:
    """Of each group the boxes shown at once, and those under "more"."""
    tables = [_OPPOSITE] if piece.follows else ["part", "stock", "datum", "defaults"]
    return [_group(piece, table) for table in tables]


def _group(piece: Piece, table: str) -> tuple[Group, Group]:
    before = "" if table in ("part", _OPPOSITE) else f"{table}."
    pencilled = piece.pencil.typed.get(TITLE, {})
    settled = piece.settled_title
    is_round = "stock.diameter" in piece.title
    first: list[ShownBox] = []
    more: list[ShownBox] = []
    for box in boxes(table):
        key = f"{before}{box.key}"
        if "#" in key or (table == "defaults" and box.takes in ("place", "places")):
            continue
        kept = settled.get(key, "")
        shown = ShownBox(box, key, piece.title.get(key, ""), key in pencilled, kept=kept)
        other_blank = (
            table == "stock" and _is_of_round(box.key) != is_round and box.key != "guessed"
        )
        at_once = (box.at_once and table != "defaults" and not other_blank) or shown.value
        (first if at_once else more).append(shown)
    label = table_label(table)
    return Group(table, label, tuple(first)), Group(f"{table}-more", label, tuple(more))


def _is_of_round(key: str) -> bool:
    return key.removeprefix("measured.") in ("diameter", "length", "axis", "bore")
