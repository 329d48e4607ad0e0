"""One figure of a file put down, or struck out, in its text, and all else left to the letter."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import shown
from millprep.infiles.editing.taking import (
    BLANK,
    in_braces,
    in_quotes,
    in_toml,
    key_in_toml,
    kind_of,
    nested,
    order_of,
    shapes_at,
    takes_lists,
    takes_names,
    text_stands_for,
)
from millprep.infiles.editing.written import words_at
from millprep.infiles.positions import (
    BOM,
    Block,
    Entry,
    Layout,
    Member,
    Path,
    members,
    refuse_broken,
)

TOP = ("part", "assembly", "shop", "")
"""What the top of a file is called, in place of a table."""


@frozen
class Figure:
    """One figure to be put down. table : "part" for the top; key : dotted, inside the table

    value : as typed; "" or None strikes it out; index : which line, of a table with lines
    """

    table: str
    key: str
    value: str | None
    index: int | None = None


def put_down(text: str, *figures: Figure) -> str:
    """The text with these figures in it, one after the other. Raises WordError.

    A table that is emptied, and filled by none of them, goes too; one that is not there is begun.
    """
    holders: set[Path] = set()
    for figure in figures:
        layout = Layout(text)
        path = path_of(layout, figure)
        if words := (figure.value or "").strip():
            text = _put(layout, path, words)
        else:
            text = struck(layout, path)
            holders.add(path[:-1])
    for holder in sorted(holders, key=str, reverse=True):
        text = _without_empty(text, holder)
    refuse_broken(text)
    return text


def _put(layout: Layout, path: Path, words: str) -> str:
    kind = kind_of(layout.data)
    found = layout.found(path)
    if found is not None and found[1] == path:
        return _replaced(layout.text, found[0], words, kind, path)
    if any(layout.beneath(path)):
        layout = Layout(struck(layout, path))
        found = layout.found(path)
    value = in_toml(words, kind, path)
    if found is not None:
        return _put_inside(layout.text, kind, *found, path, value)
    return _put_anew(layout, kind, path, value)


def path_of(layout: Layout, figure: Figure) -> Path:
    """Where the figure stands. Raises WordError for a line that is not there."""
    kind = kind_of(layout.data)
    path: Path = () if figure.table in TOP else (figure.table,)
    if figure.index is not None:
        lines = layout.data.get(figure.table)
        if not isinstance(lines, list) or not 0 <= figure.index < len(lines):
            message = f"there is no {figure.table} {figure.index + 1} in the file"
            raise WordError(message, "look at the file again: it has been changed")
        path = (*path, figure.index)
    for part in keys_of(figure.key):
        is_index = part.isdigit() and takes_lists(shapes_at(kind, path))
        path = (*path, int(part) if is_index else part)
    return path


def keys_of(dotted: str) -> list[str]:
    """The keys of a dotted one; one in quotes may have dots in it."""
    keys, quote = [""], ""
    for letter in dotted:
        if quote or (letter in "\"'" and not keys[-1]):
            quote = "" if letter == quote else quote or letter
        elif letter == ".":
            keys.append("")
            continue
        if letter not in "\"'":
            keys[-1] += letter
    if not all(keys):
        raise WordError(f"{shown(dotted)} is not a key", "name a key of the file")
    return keys


# ------------------------------------------------------------------------------- another value


def _replaced(text: str, member: Member, words: str, kind: str, path: Path) -> str:
    if words == words_at(text, member.start, kind, path).strip():
        return text
    new = in_toml(words, kind, path)
    if text[member.start] == "[" and new[0] in "\"'" and takes_names(shapes_at(kind, path)):
        new = f"[{new}]"
    return text[: member.start] + merged(text[member.start : member.end], new) + text[member.end :]


def merged(old: str, new: str) -> str:
    """The new value, with as much of the old one's writing as says the same."""
    if old == new:
        return old
    if old[0] == new[0] and old[0] in "[{":
        before, after = list(members(old, 0)), list(members(new, 0))
        if [one.key for one in before] == [one.key for one in after]:
            for was, becomes in reversed([*zip(before, after, strict=True)]):
                value = merged(old[was.start : was.end], new[becomes.start : becomes.end])
                old = old[: was.start] + value + old[was.end :]
            return old
    if old[0] == "'" and new[0] == '"':
        return in_quotes(_content(new), "'")
    return old if old[0] == '"' and new[0] in "\"'" and _content(old) == _content(new) else new


def _content(string: str) -> str:
    return str(tomllib.loads(f"v = {string}")["v"])


def _put_inside(text: str, kind: str, member: Member, path: Path, wanted: Path, value: str) -> str:
    """Into a value on the way to it: a table in braces, a list, or one figure, which makes way."""
    rest = wanted[len(path) :]
    inside = list(members(text, member.start))
    if text[member.start] == "[" and isinstance(rest[0], int):
        blanks = [BLANK] * (rest[0] - len(inside))
        added = ", ".join([*blanks, nested(rest[1:], value)])
    elif text[member.start] == "{":
        dotted = [one for one in inside if len(one.key) > 1 and one.key[0] == rest[0]]
        added = (
            f"{'.'.join(key_in_toml(part) for part in rest)} = {value}"
            if dotted
            else f"{key_in_toml(rest[0])} = {nested(rest[1:], value)}"
        )
    else:
        old, key = text[member.start : member.end], text_stands_for(shapes_at(kind, path))
        if key is None or old[0] not in "\"'":
            new = nested(rest, value)
        elif rest == (key,):
            new = merged(old, value)
        else:
            new = in_braces({key: old, str(rest[0]): nested(rest[1:], value)})
        return text[: member.start] + new + text[member.end :]
    if inside:
        last = inside[-1].end
        return f"{text[:last]}, {added}{text[last:]}"
    whole = f"[{added}]" if text[member.start] == "[" else f"{{ {added} }}"
    return text[: member.start] + whole + text[member.end :]


# ------------------------------------------------------------------------------------ a new key


def _put_anew(layout: Layout, kind: str, path: Path, value: str) -> str:
    block = max(
        (block for block in layout.blocks if block.path == path[: len(block.path)]),
        key=lambda block: len(block.path),
    )
    rest = path[len(block.path) :]
    entries, blocks = layout.beneath((*block.path, rest[0]))
    if not block.path and len(rest) > 1 and not entries:
        return _with_table(layout, kind, rest, value, blocks)
    if blocks and isinstance(rest[1], int):  # one more [[setup.obstacle]]
        keys = ".".join(key_in_toml(part) for part in blocks[-1].path if isinstance(part, str))
        entry = f"{key_in_toml(rest[2])} = {nested(rest[3:], value)}"
        return with_block_after(layout, blocks[-1].end, [f"[[{keys}]]", entry])
    if len(rest) > 1 and (entries or blocks):
        key = ".".join(key_in_toml(part) for part in rest)
    else:
        key, value = key_in_toml(rest[0]), nested(rest[1:], value)
    after = entries[-1] if entries else _before_in_order(block, kind, rest[0])
    return _with_entry(layout, block, after, key, value)


def _with_table(layout: Layout, kind: str, rest: Path, value: str, blocks: list[Block]) -> str:
    """With a new table at the top of the file."""
    entry = f"{key_in_toml(rest[1])} = {nested(rest[2:], value)}"
    lines = [f"[{key_in_toml(rest[0])}]", entry]
    if blocks:
        return with_block(layout, blocks[0].start, lines)
    return with_block(layout, place_of(layout, kind, str(rest[0])), lines)


def place_of(layout: Layout, kind: str, table: str) -> int:
    """Where a table that is not there yet begins: before the first that comes after it."""
    order = order_of(kind, ())
    rank = order.get(table, len(order))
    for block in layout.blocks[1:]:
        if order.get(str(block.path[0]), len(order)) > rank:
            return block.start
    return len(layout.text)


def with_block(layout: Layout, at: int, lines: Sequence[str]) -> str:
    """The text with these lines put in before a block, or at its end, an empty line between."""
    text, end = layout.text, layout.end_of_line
    block = end.join(lines)
    if at < len(text):
        above = text[:at]
        gap = "" if above in ("", BOM) or above.endswith((end + end, "\n\n")) else end
        return f"{above}{gap}{block}{end}{end}{text[at:]}"
    is_ended = text.endswith("\n")
    body = text.rstrip("\r\n \t")
    rest = text[len(body) :] if is_ended else ""
    if not body.removeprefix(BOM):
        return f"{text}{block}{end}"
    return f"{body}{end}{end}{block}{rest}"


def with_block_after(layout: Layout, end: int, lines: Sequence[str]) -> str:
    """The text with these lines put in after a block, an empty line between."""
    text, new_line = layout.text, layout.end_of_line
    gap = "" if text[:end].endswith("\n") else new_line
    added = f"{gap}{new_line}{new_line.join(lines)}{new_line}"
    return text[:end] + (added.removesuffix(new_line) if gap else added) + text[end:]


def _before_in_order(block: Block, kind: str, key: str | int) -> Entry | None:
    """The entry of a block that the new key comes after, in the order of the models."""
    order = order_of(kind, block.path)
    rank = order.get(str(key), len(order))
    depth = len(block.path)
    before = [one for one in block.entries if order.get(str(one.path[depth]), len(order)) <= rank]
    return before[-1] if before else None


def _with_entry(layout: Layout, block: Block, after: Entry | None, key: str, value: str) -> str:
    text, end = layout.text, layout.end_of_line
    near = after or (block.entries[0] if block.entries else None)
    columns = {one.equals - one.line for one in block.entries}
    indent = text[near.line : near.key] if near else ""
    width = columns.pop() - len(indent) - 1 if len(columns) == 1 else 0
    line = f"{indent}{key:<{max(width, 0)}} = {value}"
    if after is None:
        if block.path:
            at = block.body
        else:
            at = block.entries[0].line if block.entries else block.end
            gap = end if not block.entries and text[at:].strip() else ""
            if text[:at].removeprefix(BOM) and not text[:at].endswith("\n"):
                return f"{text}{end}{line}"
            return f"{text[:at]}{line}{end}{gap}{text[at:]}"
        is_ended = text[:at].endswith("\n")
    else:
        at, is_ended = after.stop, text[: after.stop].endswith("\n")
    if is_ended:
        return f"{text[:at]}{line}{end}{text[at:]}"
    return f"{text[:at]}{end}{line}{text[at:]}"


# ---------------------------------------------------------------------------------- striking out


def struck(layout: Layout, path: Path) -> str:
    """The text without what stands at a path; what it stood in stays, be it empty."""
    text = layout.text
    found = layout.found(path)
    if found is not None:
        return text if found[1] != path else _without_value(layout, found[0], path)
    entries, blocks = layout.beneath(path)
    for entry in reversed(entries):
        text = without_lines(text, entry.line, entry.stop)
    if blocks:
        for block in reversed(Layout(text).beneath(path)[1]):
            text = without_block(text, block.start, block.end)
    return text


def _without_value(layout: Layout, member: Member, path: Path) -> str:
    text = layout.text
    entry = layout.entry(path)
    if entry is not None:
        return without_lines(text, entry.line, entry.stop)
    holder = layout.way(path)[-2][0]
    inside = list(members(text, holder.start))
    if len(inside) == 1:
        return text[: holder.start] + text[holder.start] + text[holder.end - 1 :]
    if text[holder.start] == "[" and text[member.start] != "{":  # those behind it keep their places
        return text[: member.start] + BLANK + text[member.end :]
    return _without_member(text, inside, member)


def _without_member(text: str, inside: list[Member], member: Member) -> str:
    number = next(n for n, one in enumerate(inside) if one.start == member.start)
    if number:
        before = inside[number - 1]
        between = text[before.end : inside[number].first]
        comma = before.end + between.index(",")
        if between.strip(" \t") == ",":
            return text[: before.end] + text[member.end :]
        return text[:comma] + text[comma + 1 : inside[number].first] + text[member.end :]
    comma = text.index(",", member.end)
    rest = text[comma + 1 :]
    return text[: inside[0].first] + rest.lstrip(" \t")


def _without_empty(text: str, path: Path) -> str:
    """Without what stands at a path and has nothing in it any more; a line of its own stays."""
    while path and not (len(path) == 2 and isinstance(path[1], int)):
        layout = Layout(text)
        found = layout.found(path)
        entries, blocks = layout.beneath(path)
        if found is not None and found[1] == path:
            start = found[0].start
            inside = [text[one.start : one.end] for one in members(text, start)]
            if text[start] not in "[{" or {*inside} - {BLANK}:
                return text
            text = struck(layout, path)
        elif entries or any(block.entries for block in blocks):
            return text
        for block in reversed(blocks):
            text = without_block(text, block.start, block.end)
        path = path[:-1]
    return text


def without_lines(text: str, start: int, end: int) -> str:
    """Without whole lines; a text that does not end its last line does not do so afterwards."""
    if end == len(text) and not text.endswith("\n"):
        return text[:start].rstrip("\r\n")
    return text[:start] + text[end:]


def without_block(text: str, start: int, end: int) -> str:
    """Without a block, and without the empty lines below it, or above the last of the file."""
    stop = end
    while stop < len(text) and (line := text[stop:].split("\n", 1)[0] + "\n").isspace():
        stop = min(stop + len(line), len(text))
    if stop < len(text):
        return text[:start] + text[stop:]
    above = text[:start].rstrip("\r\n \t")
    first_end = text[len(above) : start].find("\n") + 1
    kept = text[: len(above) + first_end] if above else text[:start]
    if not text.endswith("\n"):
        return kept.removesuffix("\n").removesuffix("\r")
    return kept + text[end:]
