"""The part as a file of readings moves its holes, by arithmetic of this side's own.

Places come from this side's frames, as complex numbers; the turn is that of the vectors from the
middle of the holes. Imports the part and what was measured.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.measured import AsMeasured, Measured, Moved
from millprep.model.part import Part
from millprep.witness import Lay, from_part, to_part
from millprep.witness.compared import near
from millprep.witness.expected import visits
from millprep.witness.set_up import SetUp

_LEAST_MM = 0.0005
_SLACK_MM = 1e-6
_MIRROR_SHARE = 10.0  # times less left, or it is the part's own hand


def as_moved(part: Part, lay: Lay, measured: Measured, reversed_axes: Collection[str]) -> Part:
    """The part that a sheet is held against; what it names stays, but of the other hand."""
    sign_x, sign_y = (-1 if axis in reversed_axes else 1 for axis in "xy")
    centres = np.array([hole.centre_mm for hole in part.holes]).T
    x, y, z = from_part(lay, part, centres).tolist()
    drawn = {h.name: complex(a, b) for h, a, b in zip(part.holes, x, y, strict=True)}
    level = {h.name: c for h, c in zip(part.holes, z, strict=True)}
    here = {one.hole: one for one in measured.holes if one.setup in (None, lay.number)}
    read = {
        name: complex((one.x_mm or 0.0) * sign_x, (one.y_mm or 0.0) * sign_y)
        for name, one in here.items()
        if one.x_mm is not None and one.y_mm is not None
    }
    names = [*read]
    faces = {hole.name: hole.face for hole in part.holes}
    made = _made(part, lay)
    p, q = [drawn[n] for n in names], [read[n] for n in names]
    turned, left = _laid(p, q)
    glass, left_there = _laid([-one.conjugate() for one in p], q)
    new: dict[str, complex] = {}
    told = AsMeasured(measured.path)
    middle = sum(q) / len(q) - sum(p) / len(p)
    if len(names) > 2 and left_there * _MIRROR_SHARE < left:
        at = sum(q) / len(q) + glass * sum(one.conjugate() for one in p) / len(p)
        new = {n: -((read[n] - at) / glass).conjugate() for n in names}
    else:
        own = all(n in made and faces[n] == lay.face.lower() for n in names)
        by_turn = own and len(names) > 1
        at = sum(q) / len(q) - turned * sum(p) / len(p)
        bores = {one.hole for one in part.left if one.stack}
        sides = {faces[n] for n in names}
        for name, place in drawn.items():
            if faces[name] in sides and name not in bores and measured.named(name) is None:
                new[name] = at + turned * place if by_turn and name in made else place + middle
        degrees = None if by_turn else float(np.degrees(np.angle(turned)))
        drilled = tuple(h.name for h in part.holes if measured.named(h.name) is not None)
        told = AsMeasured(measured.path, (), drilled, degrees, not own)
    new = {n: at for n, at in new.items() if abs(at - drawn[n]) >= _LEAST_MM}
    if new:
        spots = np.array([(at.real, at.imag, level[n]) for n, at in new.items()]).T
        back = dict(zip(new, to_part(lay, part, spots).T.tolist(), strict=True))
        holes = (
            replace(h, centre_mm=tuple(back[h.name])) if h.name in back else h for h in part.holes
        )
        part = replace(part, holes=tuple(holes))
    steps = ((n, at - drawn[n]) for n, at in new.items())
    moved = tuple(Moved(n, step.real, step.imag) for n, step in steps)
    return replace(part, as_measured=replace(told, moved=moved))


def _made(part: Part, lay: Lay) -> frozenset[str]:
    """What is worked in that setup."""
    return visits(part)[(lay.number or 1) - 1][1]


def _laid(p: list[complex], q: list[complex]) -> tuple[complex, float]:
    """The turn that lays one on the other, a number of length 1, and the squares that it leaves."""
    mean_p, mean_q = sum(p) / len(p), sum(q) / len(q)
    pairs = [(a - mean_p, b - mean_q) for a, b in zip(p, q, strict=True)]
    along = sum(a.conjugate() * b for a, b in pairs)
    turn = along / abs(along) if abs(along) > _SLACK_MM else 1 + 0j
    return turn, sum(abs(b - turn * a) ** 2 for a, b in pairs)


def check_moved(body: SetUp) -> Iterator[Finding]:
    """SHIFTED has every hole of the setup that is moved, with by how much, and what is drilled."""
    printed, said = body.printed, body.page.whole
    due = printed.part.as_measured
    told = {one["hole"]: one for one in said.all("shifted-hole")}
    steps = {one.hole: one for one in due.moved} if due is not None else {}
    steps = {name: one for name, one in steps.items() if name in printed.expected}
    count = len(said.all("shifted-hole"))
    if told.keys() != steps.keys() or count != len(steps):
        yield body.wrong(f"SHIFTED has {count} holes of {len(steps)}, or others")
        return
    signs = printed.signs
    for name, step in steps.items():
        one = told[name]
        right = step.x_mm * signs[0], step.y_mm * signs[1]
        off = max(abs(one.mm("x") - right[0]), abs(one.mm("y") - right[1]))
        if off > printed.half_count_mm:
            yield body.wrong(f"{one.text}: it is moved by {right[0]:.4f} {right[1]:.4f}", one)
    drilled = () if due is None else due.drilled
    turn_deg = None if due is None else due.turn_deg
    yield from body.count({"shifted-drilled": bool(drilled), "shifted-turn": turn_deg is not None})
    if due is None:
        return
    for one in said.all("shifted-drilled"):
        yield from body.says(one, {"holes": drilled, "by": _name(due.file)})
    for one in said.all("shifted-turn"):
        why = "another setup" if due.is_elsewhere else "few"
        degrees = near(turn_deg or 0.0, _LEAST_MM + _SLACK_MM, is_plain=True)
        yield from body.says(one, {"why": why, "degrees": degrees})


def _name(file: str) -> str:
    return file.replace("\\", "/").rpartition("/")[2]
