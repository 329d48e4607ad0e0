"""Which hole of one part lies over which of another: for readings taken on a mate.

Layers 0 to 2.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import PurePath

import numpy as np

from millprep.assembly import Judged
from millprep.assembly.frames import Floats
from millprep.base.findings import MillprepError, stopped
from millprep.base.plain_text import some
from millprep.base.records import frozen
from millprep.model.assembled import Member
from millprep.model.part import Part
from millprep.setting.setups import outward

_IN_LINE_MM = 1.0  # nearer than two holes of a part are, farther than any that are made apart miss
_PARALLEL = 0.999


@frozen
class Mate:
    """A part that was measured, and its holes that lie over those of another.

    file  : of the measured part; own : the other's hole by its own, all of one face
    apart : readings that go with no hole, or with one of another face
    """

    file: str
    part: Part
    own: dict[str, str]
    apart: tuple[str, ...]


def mate_of(judged: Judged, own: str, readings: str, names: Collection[str]) -> Mate:
    """The part whose holes these are, and which of them lie over those of a part file.

    own      : the part file, as the assembly gives it
    readings : path of the file, whose name says which was measured where several have such holes
    Raises MillprepError where no part has them, or several do, or none lies over the other.
    """
    file = _measured_file(judged, own, readings, names)
    sides = [[m for m in judged.assembly.members if m.file == each] for each in (file, own)]
    pairs = [_over(judged, one, other, names) for one in sides[0] for other in sides[1]]
    best = max(pairs, key=len)
    part = sides[0][0].part
    if not best:
        raise stopped(
            "mate-not-found",
            f"no hole that was measured in {file} lies over one of {own}",
            "look at the joints of both",
            file=judged.assembly.path or None,
        )
    face = {hole.name: hole.face for hole in sides[1][0].part.holes}
    faces = [face[name] for name in best.values()]
    most = max(faces, key=faces.count)
    kept = {name: other for name, other in best.items() if face[other] == most}
    return Mate(file, part, kept, tuple(name for name in names if name not in kept))


def _measured_file(judged: Judged, own: str, readings: str, names: Collection[str]) -> str:
    """By the names of the holes; where several parts have those, by the name of the file."""
    having = [
        member.file
        for member in judged.assembly.members
        if {*names} <= {hole.name for hole in member.part.holes}
    ]
    files = [*dict.fromkeys(having)]
    called = [one for one in files if PurePath(one).stem == PurePath(readings).stem]
    others = called or [one for one in files if one != own]
    if len(others) == 1:
        return others[0]
    raise _unknown(judged, readings, names, others)


def _unknown(
    judged: Judged, readings: str, names: Collection[str], files: Collection[str]
) -> MillprepError:
    if files:
        message = f"{readings} may be of {some([*files])}: all have holes of these names"
        remedy = f"name it after the part: {PurePath(next(iter(files))).stem}.csv"
    else:
        message = f"no part of {judged.assembly.name} has all of {some([*names])}"
        remedy = "give the readings under the names of the part that was measured"
    return stopped("mate-not-found", message, remedy, file=readings)


def _over(judged: Judged, one: Member, other: Member, names: Collection[str]) -> dict[str, str]:
    """The hole of the other in line with each, the nearest."""
    found: dict[str, str] = {}
    if one.name == other.name:
        return found
    mine, way = _axes(judged, one)
    theirs, along = _axes(judged, other)
    for hole, place, out in zip(one.part.holes, mine.T, way.T, strict=True):
        if hole.name not in names:
            continue
        off = theirs - place[:, None]
        off -= np.outer(out, out @ off)
        apart = np.hypot.reduce(off, axis=0) if off.size else np.array([])
        apart = np.where(np.abs(out @ along) > _PARALLEL, apart, np.inf)
        if apart.size and apart.min() < _IN_LINE_MM:
            found[hole.name] = other.part.holes[int(apart.argmin())].name
    return found


def _axes(judged: Judged, member: Member) -> tuple[Floats, Floats]:
    """(3, N) places of the holes of a member in assembly axes, and the way out of each."""
    pose = judged.lays[member.name].pose
    places = np.array([hole.centre_mm for hole in member.part.holes], dtype=float).reshape(-1, 3).T
    ways = (
        np.array([outward(hole.face) for hole in member.part.holes], dtype=float).reshape(-1, 3).T
    )
    return pose.placed(places), pose.rotation @ ways
