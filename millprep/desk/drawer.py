"""The drawer with ticks: which sizes there are, which the shop has, and its lists after ticking."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, worst_first
from millprep.base.records import frozen
from millprep.proven.drawer import (
    Cutter,
    entries_of,
    in_drawer,
    in_toml,
    listed,
    sizes_named,
    sizes_of,
)
from millprep.proven.editing import Figure, as_written, put_down

NOT_TICKED = "your drawer has not been ticked yet"
_NOT_IN_DRAWER = "not-in-drawer"


@frozen
class Size:
    """A size of a group. name : what it is told by when it is ticked; label : on its box"""

    name: str
    label: str
    is_ticked: bool


@frozen
class Group:
    """Sizes that are ticked together. kind : the list of the shop's drawer that they are in"""

    kind: str
    label: str
    sizes: tuple[Size, ...]


def drawer(text: str) -> tuple[Group, ...]:
    """The drawer as the text of shop.toml has it, over the packaged shop that it names.

    Until `is_ticked`, what is ticked here is that of the packaged shop. Raises MillprepError: every
    fault of the text.
    """
    has = in_drawer(text)
    groups = []
    for kind, others in _data()["others"].items():
        owned = {one.name: one for one in has[kind]}
        shown: set[str] = set()
        for row, sizes in _groups(kind):
            shown |= {one.name for one in sizes}
            boxes = (Size(one.name, _label(one), one.name in owned) for one in sizes)
            groups.append(Group(kind, row["label"], tuple(boxes)))
        more = tuple(
            Size(one.name, _label(one), True) for one in has[kind] if one.name not in shown
        )
        if more:
            groups.append(Group(kind, others, more))
    return tuple(groups)


def is_ticked(text: str) -> bool:
    """Whether the shop's file says anything of the drawer itself."""
    return any(key.startswith(("drawer.", "cabinet.")) for key in as_written(text).values)


def ticked(text: str, kind: str, names: Collection[str]) -> str:
    """The text of shop.toml with these sizes, and no others, in one list of its drawer.

    Entries that stay as they are keep what is said of them: a flute, a point, a nose. A range of
    sizes that is no longer whole is written size by size. names : of `Size`, of that kind. Raises
    MillprepError for a text that cannot be read, KeyError for a size that there is not.
    """
    known = {one.name: one.words for _, sizes in _groups(kind) for one in sizes}
    known |= {one.name: one.words for one in in_drawer(text)[kind]}
    data = tomllib.loads(text)
    entries: list[str] = []
    done: set[str] = set()
    for entry in entries_of(text, kind):
        sizes = {one.name: one.words for one in sizes_of(entry, kind, data.get("units", "mm"))}
        kept = [name for name in sizes if name in names]
        whole = len(kept) == len(sizes)
        entries += [in_toml(entry)] if whole else [in_toml(sizes[name]) for name in kept]
        done |= {*kept}
    entries += [in_toml(known[name]) for name in dict.fromkeys(names) if name not in done]
    table = "cabinet" if "cabinet" in data else "drawer"
    if not {"base", table} & data.keys():  # so that the text is known for that of a shop
        text = put_down(text, Figure("shop", "base", "metric"))
    return put_down(text, Figure(table, kind, f"[{', '.join(entries)}]"))


def until_ticked(findings: Sequence[Finding], text: str) -> list[Finding]:
    """What was found, worst first; before the drawer is ticked, what it lacks is one note."""
    if is_ticked(text):
        return list(findings)
    others = [one for one in findings if one.kind != _NOT_IN_DRAWER]
    lacking = [one for one in findings if one.kind == _NOT_IN_DRAWER]
    if not lacking:
        return others
    holes = tuple(dict.fromkeys(hole for one in lacking for hole in one.holes))
    advice = "tick what you have, and what this piece lacks is said tool by tool"
    one_line = Finding(
        "note", _NOT_IN_DRAWER, NOT_TICKED, advice, holes=holes, folded=tuple(lacking)
    )
    return worst_first([*others, one_line])


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("drawer.toml").read_text(encoding="utf-8"))


@cache
def _groups(kind: str) -> tuple[tuple[dict[str, Any], tuple[Cutter, ...]], ...]:
    """The groups of one list: the row, and its sizes."""
    rows = [row for row in _data()["group"] if row["list"] == kind]
    return tuple((row, tuple(_within(row))) for row in rows)


def _within(row: dict[str, Any]) -> Iterator[Cutter]:
    sizes = listed(row["series"]) if "series" in row else sizes_named(row["sizes"])
    for one in sizes:
        if one.diameter_mm <= row.get("most", one.diameter_mm):
            yield one


def _label(one: Cutter) -> str:
    """As it is stamped on the shank: No. 27, F, 6.3, 1/4."""
    words = one.words.removesuffix(" mm").removesuffix(" in").removeprefix("letter ")
    is_number = words.startswith("#") and "-" not in words
    return ", ".join(filter(None, (f"No. {words[1:]}" if is_number else words, one.more)))
