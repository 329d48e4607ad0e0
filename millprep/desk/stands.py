"""How the files of a folder stand on the board: hands side by side, folder by folder.

Imports `desk`, `files`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import PurePosixPath

from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.files import Filed, shown
from millprep.desk.refusals import RefusedError

_FOLLOWS = re.compile(rb"""^\s*opposite_hand_of\s*=\s*["']([^"'\n]+)["']""", re.MULTILINE)
ON_THE_BOARD = ("part", "assembly")


@frozen
class Board:
    """What lies in the folder or in one below it. within : its name, "" for the folder itself

    stands : a piece with its other hands, as they stand side by side; then the assemblies
    others : files that are neither part nor assembly
    """

    within: str
    stands: tuple[tuple[Filed, ...], ...]
    others: tuple[Filed, ...]


def boards(desk: Desk) -> list[Board]:
    """The folder, then those below it."""
    files = desk.files.listing()
    by_name = {one.name: one for one in files if one.kind == "part"}
    leads = {name: lead for name, lead in _leads(desk, by_name.values()) if lead in by_name}
    places = dict.fromkeys(str(PurePosixPath(one.name).parent) for one in files)
    return [_board(place, files, leads) for place in places]


def _board(place: str, files: Iterable[Filed], leads: Mapping[str, str]) -> Board:
    here = [one for one in files if str(PurePosixPath(one.name).parent) == place]
    hands: dict[str, list[Filed]] = {}
    for one in here:
        if one.kind == "part":
            hands.setdefault(_first_hand(one.name, leads), []).append(one)
    stands = [tuple(sorted(each, key=_from_left)) for each in hands.values()]
    stands += [(one,) for one in here if one.kind == "assembly"]
    others = tuple(one for one in here if one.kind not in ON_THE_BOARD)
    return Board("" if place == "." else shown(place), tuple(stands), others)


def _leads(desk: Desk, parts: Iterable[Filed]) -> Iterator[tuple[str, str]]:
    """Of each piece that is another hand: its file, and that of the piece which it follows."""
    for one in parts:
        try:
            found = _FOLLOWS.search(desk.files.read(one.id))
        except RefusedError:
            continue
        if found is not None:
            lead = PurePosixPath(one.name).parent / found[1].decode("utf-8", "replace")
            yield one.name, str(lead)


def _first_hand(name: str, leads: Mapping[str, str]) -> str:
    """The piece that a hand follows in the end; a ring of them is broken anywhere."""
    seen = {name}
    while name in leads and leads[name] not in seen:
        name = leads[name]
        seen.add(name)
    return name


def _from_left(one: Filed) -> tuple[bool, str]:
    """What its name calls the right hand stands to the right."""
    return bool(re.search(r"right|\br\.?h\b", one.name, re.IGNORECASE)), one.name
