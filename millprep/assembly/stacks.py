"""Stacks: members clamped together and bored in one setting, as they stand then.

A stack has all the tables of its name. Depths count from the top face of the first member of
`holes`, downwards. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, product

import numpy as np

from millprep.assembly.frames import Floats, Pose, centres, out_of
from millprep.assembly.links import Link
from millprep.assembly.placing import Lay
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, Gap, Member, Place, ScrewJoint, Stack
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole
from millprep.setting.setups import outward

SAME_HEIGHT_MM = 0.001
_PARALLEL = 0.999


@frozen
class Layer:
    """One member along the bores: how far below the top face it begins and ends [mm]."""

    member: str
    from_mm: float
    to_mm: float


@frozen
class Bored:
    """One bore: as the stack's sheets call it, the hole of each member, and what it passes.

    holes  : by member, of those whose file has it; layers : members that it is cut in, top first
    """

    name: str
    table: Stack
    holes: dict[str, Hole]
    layers: tuple[Layer, ...]


@frozen
class Stacked:
    """A stack as it stands.

    top    : the first of `holes`; face : its face that is up
    pieces : every member in it, top first; layers : those that a bore passes
    """

    name: str
    tables: tuple[Stack, ...]
    top: str
    face: Face
    pieces: tuple[Layer, ...]
    layers: tuple[Layer, ...]
    bores: tuple[Bored, ...]

    @property
    def members(self) -> tuple[str, ...]:
        return tuple(piece.member for piece in self.pieces)

    @property
    def height_mm(self) -> float:
        return max(layer.to_mm for layer in self.layers)

    @property
    def gap(self) -> Gap | None:
        """What the file fills the gaps with."""
        return next((table.gap for table in self.tables if table.gap is not None), None)

    @property
    def gaps(self) -> tuple[tuple[float, float], ...]:
        """Between layers that do not touch: from where to where."""
        return gaps_of(self.layers)


def gaps_of(layers: Sequence[Layer]) -> tuple[tuple[float, float], ...]:
    return tuple(
        (one.to_mm, other.from_mm)
        for one, other in pairwise(layers)
        if other.from_mm - one.to_mm > SAME_HEIGHT_MM
    )


def stacked_all(
    assembly: Assembly, links: Sequence[Link], lays: Mapping[str, Lay]
) -> tuple[Stacked, ...]:
    """The stacks in the order of the file."""
    tables: dict[str, list[Stack]] = {}
    for one in assembly.stacks:
        tables.setdefault(one.stack.casefold(), []).append(one)
    return tuple(stacked(assembly, links, lays, tuple(each)) for each in tables.values())


def stacked(
    assembly: Assembly, links: Sequence[Link], lays: Mapping[str, Lay], tables: tuple[Stack, ...]
) -> Stacked:
    """One clamping, of all the tables that have its name."""
    first = tables[0].places[0]
    under = lays[first.member].pose
    inside = {name: lay.pose.seen_from(under) for name, lay in lays.items()}
    bored = tuple(dict.fromkeys(place.member for one in tables for place in one.places))
    face = _up(assembly, first, bored, inside)
    names = tables[0].members or _between(links, tables, bored, lays)
    pieces = sorted(
        (_layer(assembly, face, first.member, name, inside[name]) for name in names),
        key=lambda layer: (round(layer.from_mm, 3), layer.to_mm, layer.member not in bored),
    )
    bores = tuple(bore for one in tables for bore in _bores(assembly, one, face, pieces, inside))
    passed = {layer.member for bore in bores for layer in bore.layers} | {*bored}
    layers = tuple(layer for layer in pieces if layer.member in passed)
    return Stacked(tables[0].stack, tables, first.member, face, tuple(pieces), layers, bores)


def _up(assembly: Assembly, first: Place, bored: Sequence[str], inside: Mapping[str, Pose]) -> Face:
    """The face of the first member that is up: the file's, or that away from the other members."""
    if first.face is not None:
        return first.face
    face = first.holes[0].face
    middles = {
        name: float(outward(face) @ _middle(assembly.member(name), inside[name])) for name in bored
    }
    others = [at for name, at in middles.items() if name != first.member]
    is_over = sum(others) / len(others) > middles[first.member] if others else False
    return OPPOSITE[face] if is_over else face


def _middle(member: Member, pose: Pose) -> Floats:
    """(3,) the middle of a member's blank."""
    middle: Floats = pose.placed(np.array([member.part.stock.size_mm]).T / 2)[:, 0]
    return middle


def _corners(member: Member, pose: Pose) -> Floats:
    """(3, 8) of its blank."""
    box = ((0.0, length) for length in member.part.stock.size_mm)
    return pose.placed(np.array([*product(*box)]).T)


def _layer(assembly: Assembly, face: Face, top: str, name: str, pose: Pose) -> Layer:
    up = outward(face) @ _corners(assembly.member(name), pose)
    top_mm = out_of(assembly.member(top).part, face)
    return Layer(name, float(top_mm - up.max()) + 0.0, float(top_mm - up.min()) + 0.0)


def _between(
    links: Sequence[Link], tables: Sequence[Stack], bored: Sequence[str], lays: Mapping[str, Lay]
) -> tuple[str, ...]:
    """The bored members and those that screws and studs along the bores join to two of them, or
    to one another on the way from one to the next; what hangs on one alone is not in it."""
    first = tables[0].places[0]
    along = lays[first.member].pose.rotation @ outward(first.holes[0].face)
    near: dict[str, set[str]] = {name: set() for name in bored}
    for link in links:
        one, other = link.first.member, link.second.member
        way = lays[one].pose.rotation @ outward(link.first_face)
        if not isinstance(link.joint, ScrewJoint) or _waits(link.joint, tables):
            continue
        if abs(float(along @ way)) > _PARALLEL:
            near.setdefault(one, set()).add(other)
            near.setdefault(other, set()).add(one)
    while loose := [name for name, by in near.items() if name not in bored and len(by) < 2]:
        for name in loose:
            for other in near.pop(name):
                near.get(other, set()).discard(name)
    reached, heap = {*bored}, [*bored]
    while heap:
        new = near[heap.pop()] - reached
        reached |= new
        heap += new
    return tuple(name for name in lays if name in reached)


def _waits(joint: ScrewJoint, tables: Sequence[Stack]) -> bool:
    """Whether it is made only after the stack."""
    after = joint.carried.after if joint.carried is not None else None
    return after is not None and after.casefold() == tables[0].stack.casefold()


def _bores(
    assembly: Assembly,
    table: Stack,
    face: Face,
    pieces: Sequence[Layer],
    inside: Mapping[str, Pose],
) -> Iterator[Bored]:
    """Each hole of the first place, with the holes of the others that lie nearest to it."""
    axis = FACE_AXIS[face]
    several = len(table.places[0].holes) > 1
    for number, hole in enumerate(table.places[0].holes, 1):
        at = inside[table.places[0].member].placed(centres([hole]))
        holes = {}
        for place in table.places:
            there = np.delete(inside[place.member].placed(centres(place.holes)) - at, axis, axis=0)
            holes[place.member] = place.holes[int(np.argmin(np.hypot(*there)))]
        name = f"{table.name} {hole.member or number}" if several else table.name
        ends = _ends_mm(holes, pieces)
        layers = tuple(
            Layer(piece.member, piece.from_mm, min(piece.to_mm, ends))
            for piece in pieces
            if piece.from_mm < ends
            and (piece.member in holes or _is_met(assembly, piece.member, inside, at, axis, hole))
        )
        yield Bored(name, table, holes, layers)


def _ends_mm(holes: Mapping[str, Hole], pieces: Sequence[Layer]) -> float:
    """Where the bore ends: through the last member that has it, or so deep into that."""
    last = max((piece for piece in pieces if piece.member in holes), key=lambda one: one.to_mm)
    hole = holes[last.member]
    return last.to_mm if hole.is_through else last.from_mm + hole.depth_mm


def _is_met(
    assembly: Assembly, name: str, inside: Mapping[str, Pose], at: Floats, axis: int, hole: Hole
) -> bool:
    """Whether a bore meets a member whose file says nothing of it: its blank, no clear hole."""
    member, pose = assembly.member(name), inside[name]
    corners = np.delete(_corners(member, pose), axis, axis=0)
    place = np.delete(at, axis, axis=0)[:, 0]
    radius = hole.diameter_mm / 2
    stock = member.part.stock
    if stock.axis is not None and abs(pose.rotation[axis, stock.axis]) > _PARALLEL:
        middle = corners.mean(axis=1)
        if float(np.hypot(*(place - middle))) >= stock.size_mm[(stock.axis + 1) % 3] / 2 + radius:
            return False
    elif any(corners.min(axis=1) >= place + radius) or any(corners.max(axis=1) <= place - radius):
        return False
    for other in member.part.holes:
        off = np.delete(pose.placed(centres([other])) - at, axis, axis=0)[:, 0]
        room = (other.diameter_mm - hole.diameter_mm) / 2
        if other.is_through and room >= 0 and float(np.hypot(*off)) <= room + SAME_HEIGHT_MM:
            return False
    return True


def stack_findings(say: Say, row: Stacked) -> Iterator[Finding]:
    """What is wrong with a stack as it stands."""
    for table in row.tables:
        yield from _size_findings(say, table)
        yield from _order_findings(say, row, table)


def _size_findings(say: Say, table: Stack) -> Iterator[Finding]:
    sizes = {place.holes[0].diameter_mm for place in table.places}
    if len(sizes) > 1:
        listed = ", ".join(f"{place.words} {place.holes[0].words}" for place in table.places)
        yield say.finding(
            "stop",
            "contradiction",
            table,
            f"reamed together, and of several sizes: {listed}",
            "one reamer goes through all of them",
        )
    blind = [place for place in table.places[:-1] if not place.holes[0].is_through]
    for place in blind:
        yield say.finding(
            "stop",
            "screw-does-not-pass",
            table,
            f"{place.words} is not through, and the reamer has to go on",
            'give depth = "through"',
        )


def _order_findings(say: Say, row: Stacked, table: Stack) -> Iterator[Finding]:
    """Members lie in the order of `holes`, the first on top, and open towards it."""
    at = {piece.member: piece for piece in row.pieces}
    for one, other in pairwise(table.places):
        if at[other.member].from_mm < at[one.member].to_mm - SAME_HEIGHT_MM:
            yield say.finding(
                "stop",
                "stack-order",
                table,
                f"{other.member} does not lie below {one.member}",
                "list holes from the top down; if they are, a member lies upside down: look at "
                "the face that its screws enter by, or that it sits on",
            )
            return
