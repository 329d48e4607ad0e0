"""A part read, planned and checked as its page asks for it: once for each state of its files."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, worst_first
from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.piece import Piece
from millprep.proven.curing import cures_of
from millprep.proven.editing import Judged, read_text

if TYPE_CHECKING:
    from pathlib import Path

_MOST = 12
_Key = tuple[str, str, str]
_SIGHTS: OrderedDict[_Key, Sight] = OrderedDict()
_LOCK = threading.Lock()
_MAKING: dict[str, threading.Lock] = {}
"""Of a part's file: held while it is judged, so that nobody else does the same beside."""
_NEWEST: dict[str, str] = {}
"""Of a part's file the mark that was asked for last: cures for another are dropped."""


@frozen
class Sight:
    """What a text makes: judged, or None with the faults that keep it from being read."""

    mark: str
    judged: Judged | None
    findings: tuple[Finding, ...] = ()
    faults: tuple[Finding, ...] = ()

    @property
    def is_read(self) -> bool:
        return self.judged is not None


def looked_at(desk: Desk, piece: Piece) -> Sight:
    """The part as its file has it, judged in the shop of the folder."""
    numbers = desk.numbers()  # of the other files too, which this one may be taken from
    numbers.pop(desk.files.of(piece.path), None)
    key = (str(piece.path), piece.state.mark, str(sorted(numbers.items())))
    with _LOCK:
        _NEWEST[key[0]] = piece.state.mark
        alone = _MAKING.setdefault(key[0], threading.Lock())
    with alone:  # drawing and margin are asked for in the same moment
        if (sight := _known(key)) is None:
            sight = _made(desk, piece.path, piece)
            with _LOCK:
                _SIGHTS[key] = sight
                while len(_SIGHTS) > _MOST:
                    _SIGHTS.popitem(last=False)
    return sight


def _known(key: _Key) -> Sight | None:
    with _LOCK:
        if key in _SIGHTS:
            _SIGHTS.move_to_end(key)
        return _SIGHTS.get(key)


def _made(desk: Desk, path: Path, piece: Piece) -> Sight:
    try:
        judged = read_text(piece.state.data, path, desk.shop)
        if not judged.faults:
            return Sight(piece.state.mark, judged, judged.findings)
        rest = read_text(piece.state.data, path, desk.shop, sets_aside=True)
    except MillprepError as error:
        return Sight(piece.state.mark, None, faults=error.findings)
    return Sight(piece.state.mark, rest, rest.findings, judged.faults)


def letters(piece: Piece, sight: Sight) -> dict[str, str]:
    """Of holes of lines that nobody named: what the reader calls them, and their letter."""
    part = None if sight.judged is None else sight.judged.part
    if part is None or piece.follows:
        return {}
    lines = piece.lines()
    found: dict[str, str] = {}
    for hole in part.holes:
        if hole.file or not hole.key.startswith("hole["):
            continue
        index = int(hole.key[5 : hole.key.index("]")]) - 1
        if index < len(lines) and not lines[index].name:
            letter = lines[index].letter
            found[hole.group or hole.name] = letter
            number = hole.name.removeprefix(hole.group).strip() if hole.group else ""
            found[hole.name] = f"{letter} {number}".strip()
    return found


def with_letters(text: str, known: dict[str, str]) -> str:
    """The text with letters in place of the names that nobody gave."""
    for name in sorted(known, key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", known[name], text)
    return text


def cured(piece: Piece, sight: Sight) -> tuple[Finding, ...] | None:
    """The findings with their cures, worst first; None where the part was changed meanwhile."""
    prepared = None if sight.judged is None else sight.judged.prepared
    if prepared is None:
        return sight.findings

    def is_dropped() -> bool:
        return _NEWEST.get(str(piece.path)) != sight.mark

    found = worst_first([*cures_of(prepared, is_dropped), *prepared.said])
    return None if is_dropped() else tuple(found)
