"""Whole lines of a file, a hole or a setup each, added, removed and moved as blocks; new files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from millprep.base.findings import WordError
from millprep.base.plain_text import clean
from millprep.base.units import shown
from millprep.infiles.editing.putting import (
    Figure,
    keys_of,
    place_of,
    put_down,
    with_block,
    with_block_after,
    without_block,
)
from millprep.infiles.editing.taking import (
    BLANK,
    in_braces,
    in_brackets,
    in_toml,
    key_in_toml,
    kind_of,
    order_of,
)
from millprep.infiles.positions import Layout, Path, refuse_broken

Tree = dict[str, "str | Tree"]


def line_added(text: str, table: str, values: Mapping[str, str], at: int | None = None) -> str:
    """The text with one more line. values : by dotted key, as typed; at : its index, or the last.

    Raises WordError.
    """
    layout = Layout(text)
    lines = _lines(layout, table)
    where = len(lines) if at is None else at
    if not 0 <= where <= len(lines):
        raise _no_line(table, where)
    block = [f"[[{key_in_toml(table)}]]", *entries_of(kind_of(layout.data), (table, 0), values)]
    if lines and where == len(lines):
        made = with_block_after(layout, lines[-1][1], block)
    else:
        before = lines[where][0] if lines else place_of(layout, kind_of(layout.data), table)
        made = with_block(layout, before, block)
    refuse_broken(made)
    return made


def line_removed(text: str, table: str, index: int) -> str:
    """The text without a line, the remarks directly above it and the tables in it.

    Raises WordError.
    """
    layout = Layout(text)
    lines = _lines(layout, table)
    if not 0 <= index < len(lines):
        raise _no_line(table, index)
    return without_block(text, *lines[index])


def line_moved(text: str, table: str, index: int, to: int) -> str:
    """The text with a line at another place among those of its table. Raises WordError.

    What stands between the lines and belongs to none of them stays where it is.
    """
    layout = Layout(text)
    lines = _lines(layout, table)
    for one in (index, to):
        if not 0 <= one < len(lines):
            raise _no_line(table, one)
    order = [*range(len(lines))]
    order.insert(to, order.pop(index))
    blocks = [text[start:end] for start, end in lines]
    is_open = not blocks[-1].endswith("\n")
    if is_open:
        blocks[-1] += layout.end_of_line
    for (start, end), number in reversed([*zip(lines, order, strict=True)]):
        block = blocks[number]
        if is_open and end == len(layout.text):
            block = block.removesuffix(layout.end_of_line)
        text = text[:start] + block + text[end:]
    return text


def lines_set_aside(text: str, lines: Iterable[tuple[str, int]]) -> str:
    """The text with these lines, (table, index), as remarks, so that the rest can be read.

    Every line of the text keeps its number. Raises WordError.
    """
    layout = Layout(text)
    spans = [_lines(layout, table)[index] for table, index in lines]
    for start, end in sorted(spans, reverse=True):
        whole = text[start:end].split("\n")
        aside = [f"# {line}" if line.strip() else line for line in whole]
        text = text[:start] + "\n".join(aside) + text[end:]
    return text


def _lines(layout: Layout, table: str) -> list[tuple[int, int]]:
    lines = layout.lines(table)
    if not lines and layout.data.get(table):
        message = f"the {table}s stand in one list"
        raise WordError(message, f"write each under [[{table}]] in the text of the file")
    return lines


def _no_line(table: str, index: int) -> WordError:
    message = f"there is no {table} {index + 1} in the file"
    return WordError(message, "look at the file again: it has been changed")


def entries_of(kind: str, path: Path, values: Mapping[str, str]) -> list[str]:
    """The lines of a table of these values, as typed, in the order of the models."""
    tree: Tree = {}
    for dotted, words in values.items():
        if not words.strip():
            continue
        keys = keys_of(dotted)
        holder = tree
        for key in keys[:-1]:
            inner = holder.setdefault(key, {})
            if not isinstance(inner, dict):
                inner = holder[key] = {}
            holder = inner
        holder[keys[-1]] = in_toml(words, kind, (*path, *map(_index, keys)))
    keys = _in_order(tree, kind, path)
    width = max((len(key_in_toml(key)) for key in keys), default=0)
    return [
        f"{key_in_toml(key):<{width}} = {_value(tree[key], kind, (*path, key))}" for key in keys
    ]


def _in_order(tree: Tree, kind: str, path: Path) -> list[str]:
    order = order_of(kind, path)
    return sorted(tree, key=lambda key: order.get(key, len(order)))


def _index(key: str) -> str | int:
    return int(key) if key.isdigit() else key


def _value(tree: str | Tree, kind: str, path: Path) -> str:
    if isinstance(tree, str):
        return tree
    keys = _in_order(tree, kind, path)
    inside = {key: _value(tree[key], kind, (*path, key)) for key in keys}
    if all(key.isdigit() for key in inside):
        last = max(map(int, inside))
        return in_brackets(inside.get(str(n), BLANK) for n in range(last + 1))
    return in_braces(inside)


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
