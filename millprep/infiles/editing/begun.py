"""New files as texts: a part from a form, the other hand of one, a copy under another name."""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.findings import WordError
from millprep.base.plain_text import clean
from millprep.base.units import shown
from millprep.infiles.editing.lines import entries_of
from millprep.infiles.editing.putting import Figure, put_down
from millprep.infiles.editing.taking import kind_of
from millprep.infiles.positions import Layout

_NAME_KEYS = {"part": "part", "opposite hand": "part", "assembly": "assembly", "shop": "name"}


def new_part(
    top: Mapping[str, str], stock: Mapping[str, str], datum: Mapping[str, str] | None = None
) -> str:
    """The text of a part without holes, as typed into a form.

    top   : "part", "units", "material" and what else stands there, "drawing", "note"
    stock : "size.0" to "size.2" of a block; "diameter", "length", "bore", "axis" of a disc
    datum : "x", "y", "z": "left", "left edge", "centre line"; where none is given the left and the
            front edge of a block, the centre lines of a disc
    """
    values = {axis: _datum(words) for axis, words in (datum or {}).items() if words.strip()}
    lines = [
        *entries_of("part", (), top),
        "",
        "[stock]",
        *entries_of("part", ("stock",), stock),
        "",
        "[datum]",
        *entries_of("part", ("datum",), values or _usual_datum(stock)),
    ]
    return "\n".join(lines) + "\n"


def _usual_datum(stock: Mapping[str, str]) -> dict[str, str]:
    if not stock.get("diameter", "").strip():
        return {"x": "left", "y": "front"}
    along = stock.get("axis", "").strip().lower() or "z"
    return {axis: "centre" for axis in "xyz" if axis != along}


def _datum(words: str) -> str:
    """The file's word for what a plan measures from. Raises WordError."""
    word, *more = words.strip().lower().split()
    if word.startswith("cent"):
        return "centre"
    if more and more not in (["edge"], ["end"], ["face"]):
        message = f"{shown(words)} is nothing that a plan measures from"
        raise WordError(message, 'write "left edge" or "centre line"')
    return word


def other_hand(original: str, values: Mapping[str, str] | None = None) -> str:
    """The text of the opposite hand of a part. original : its file as seen from the new one

    values : "part", its name; "mirror", "drawing", "note", where they are given
    """
    given = {"opposite_hand_of": original, **(values or {})}
    remark = f"# Follows {clean(original)}: what is altered there is altered here."
    return "\n".join([remark, "", *entries_of("opposite hand", (), given)]) + "\n"


def copied(text: str, name: str) -> str:
    """The text under another name of the piece, the assembly or the shop. Raises WordError."""
    return put_down(text, Figure("", _NAME_KEYS[kind_of(Layout(text).data)], name))
