"""The boxes of the title block: the piece, its blank, and where its plan measures from."""

from __future__ import annotations

from millprep.desk.forms import boxes, table_label
from millprep.desk.line_form import Group, ShownBox
from millprep.desk.pencil import TITLE
from millprep.desk.piece import Piece

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
