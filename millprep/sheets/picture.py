"""The part as it is held, as plain shapes in setup axes: what a picture shows, not how it is drawn.

Seen from the operator's place above: the part with its faces, the holes that open on them, what
holds it, and where zero is. Millimetres. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Literal

import numpy as np

from millprep.base.records import frozen, replace
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole, Part, SetupRequest
from millprep.model.scene import Point
from millprep.planning import Plan, SetupPlan
from millprep.setting.setups import Setup, setup_of
from millprep.setting.turning import moves_between
from millprep.sheets.cut import Cut, cuts_of
from millprep.sheets.document import Document
from millprep.sheets.figures import Figures
from millprep.sheets.holders import holders_of
from millprep.sheets.solids import Solid, block, rod
from millprep.sheets.view import View, steps_by_hole, view_of

Made = Literal["now", "made", "later"]
Hand = Literal["left", "right"]


@frozen
class Opening:
    """Where a hole opens on a face: its centre, and the circle that is seen there.

    made : in this setup, in an earlier one, in a later one
    """

    face: Face
    hole: str
    centre_mm: Point
    radius_mm: float
    made: Made
    is_thread: bool = False


@frozen
class InkedFace:
    """A face that can be seen: its lower left corner, and its whole way to the right and up.

    is_round : only the disc inside it is there
    mark_mm  : on the round of a bar or disc the line inked on it, from end to end; else None
    """

    face: Face
    corner_mm: Point
    right_mm: Point
    up_mm: Point
    is_round: bool = False
    mark_mm: tuple[Point, Point] | None = None


@frozen
class Picture:
    """One setup: the part, what holds it (back to front where boxes around them overlap).

    seen_from : the hand at whose side it is looked at
    centre_mm : lines on the face that is up, where zero lies on a centre
    zero_mm   : where the flag stands; None for no flag
    """

    setup_number: int
    seen_from: Hand
    part: Solid
    behind: tuple[Solid, ...]
    before: tuple[Solid, ...]
    faces: tuple[InkedFace, ...]
    openings: tuple[Opening, ...]
    zero_mm: Point | None = (0.0, 0.0, 0.0)
    centre_mm: tuple[tuple[Point, Point], ...] = ()
    title: str = ""


@frozen
class Pictures:
    """What stands beside the words of a setup.

    turn : the part before and after the turn into it; None where it is simply turned over
    plan : the face that is up; steps : the numbers of the steps at each of its holes, by name
    cuts : sections through what is more than drilled
    is_band : they stand side by side above the words, for there are several setups on a page
    """

    held: Picture
    turn: tuple[Picture, Picture] | None
    plan: View
    steps: Mapping[str, tuple[int, ...]]
    cuts: tuple[Cut, ...] = ()
    is_band: bool = False


def pictured(document: Document, plan: Plan) -> Document:
    """A sheet of a page a setup with its pictures, beside what each page begins with."""
    plans = {one.setup.number: one for one in plan.setups}
    pages = []
    for page in document.pages:
        setup_plan = plans[page.title.slots["number"]]
        beside = pictures_of(plan, setup_plan, Figures(document.units, plan.shop.readout))
        first, *others = page.sections
        pages.append(replace(page, sections=(replace(first, pictures=beside), *others)))
    return replace(document, pages=tuple(pages))


def pictures_of(plan: Plan, setup_plan: SetupPlan, figures: Figures) -> Pictures:
    """All pictures of a setup."""
    return Pictures(
        picture_of(plan, setup_plan),
        turn_pictures(plan, setup_plan),
        view_of(plan.part, setup_plan.setup, setup_plan.square, figures),
        steps_by_hole(setup_plan.operations),
        cuts_of(setup_plan, figures),
    )


def picture_of(plan: Plan, setup_plan: SetupPlan) -> Picture:
    """The part as a setup holds it."""
    part, setup, holding = plan.part, setup_plan.setup, setup_plan.holding
    seen_from = _seen_from(setup, holding.stop)
    behind, before = holders_of(part, plan.shop, setup, holding, seen_from)
    return Picture(
        setup.number,
        seen_from,
        _part(part, setup),
        behind,
        before,
        tuple(_faces(part, setup, seen_from)),
        tuple(_openings(plan, setup, seen_from)),
        centre_mm=tuple(_centre_lines(setup)),
        title=f"setup {setup.number}: {setup.face.upper()} up, "
        f"{setup.towards_you.upper()} towards you, {setup.left_hand.upper()} to your left",
    )


def turn_pictures(plan: Plan, setup_plan: SetupPlan) -> tuple[Picture, Picture] | None:
    """The part before and after the turn into a setup; None where it is simply turned over."""
    for before, after in pairwise(plan.setups):
        if after is setup_plan:
            moves = moves_between(before.setup, after.setup)
            if all(degrees == 180 for _, degrees in moves) and len(moves) < 2:
                return None
            return _alone(plan, before.setup, after.setup), _alone(plan, after.setup, after.setup)
    return None


def _alone(plan: Plan, setup: Setup, now: Setup) -> Picture:
    """The part without what holds it, with what is made before a setup."""
    openings = (one for one in _openings(plan, setup, "left", now.number) if one.made == "made")
    return _bare(plan.part, setup, tuple(openings), None)


def _bare(
    part: Part, setup: Setup, openings: tuple[Opening, ...], zero_mm: Point | None
) -> Picture:
    """The part as it lies, and nothing that holds it."""
    return Picture(
        setup.number,
        "left",
        _part(part, setup),
        (),
        (),
        tuple(_faces(part, setup, "left")),
        openings,
        zero_mm,
        title=f"{setup.face.upper()} up, {setup.towards_you.upper()} towards you",
    )


@frozen
class _Placed:
    """A hole in a setup."""

    hole: Hole
    x_mm: float
    y_mm: float


def looked_at(part: Part, setup: Setup, figures: Figures) -> Pictures:
    """The finished part as it lies with a face up."""
    openings = [
        _opening(part, setup, hole, face, "now" if face == setup.face else "made")
        for hole, face in _ends(part, setup, "left")
    ]
    zero = (0.0, 0.0, 0.0)
    bare = _bare(part, setup, (*openings, *_bores(part, setup, "left")), zero)
    places = [
        _Placed(one, *map(float, setup.from_part(np.array([one.centre_mm]).T)[:2, 0]))
        for one in part.holes
        if one.face == setup.face
    ]
    view = view_of(part, setup, places, figures)
    return Pictures(bare, None, view, {}, is_band=True)


def standing(part: Part, seen_from: Hand | None = None) -> Picture:
    """The finished part as it stands on the bench, top up and front towards you, from the side on
    which more holes open where none is given."""
    setup = setup_of(part, SetupRequest("top"), 1)
    if seen_from is None:
        aside = [face for hole in part.holes for face in hole.worked_from]
        seen_from = "right" if aside.count("right") > aside.count("left") else "left"
    openings = (_opening(part, setup, *end, "now") for end in _ends(part, setup, seen_from))
    faces = (replace(face, mark_mm=None) for face in _faces(part, setup, seen_from))
    return Picture(
        setup.number,
        seen_from,
        _part(part, setup),
        (),
        (),
        tuple(faces),
        (*openings, *_bores(part, setup, seen_from)),
        None,
        title=part.name,
    )


def _seen_from(setup: Setup, stop: Face | None) -> Hand:
    """The side of the stop, or else of the zero, so that these are in view."""
    beside = stop if stop in (setup.left_hand, setup.right_hand) else setup.zero_x
    return "right" if beside == setup.right_hand else "left"


def _part(part: Part, setup: Setup) -> Solid:
    axis = part.stock.axis
    if axis is None:
        return block("part", setup.low_mm, setup.high_mm)
    lies_along = int(np.argmax(np.abs(setup.rotation[:, axis])))
    return rod("part", setup.low_mm, setup.high_mm, lies_along)


def _visible(setup: Setup, seen_from: Hand) -> dict[Face, int]:
    """The faces in view, and the setup axis that each is square to."""
    beside = setup.left_hand if seen_from == "left" else setup.right_hand
    return {setup.face: 2, setup.towards_you: 1, beside: 0}


def _faces(part: Part, setup: Setup, seen_from: Hand) -> Iterator[InkedFace]:
    (x0, y0, z0), (x1, y1, z1) = setup.low_mm, setup.high_mm
    x = x0 if seen_from == "left" else x1
    way = -1.0 if seen_from == "left" else 1.0
    planes: dict[int, tuple[Point, Point, Point]] = {
        2: ((x0, y0, z1), (x1 - x0, 0.0, 0.0), (0.0, y1 - y0, 0.0)),
        1: ((x0, y0, z0), (x1 - x0, 0.0, 0.0), (0.0, 0.0, z1 - z0)),
        0: ((x, y1 if way < 0 else y0, z0), (0.0, way * (y1 - y0), 0.0), (0.0, 0.0, z1 - z0)),
    }
    axis = part.stock.axis
    along = None if axis is None else int(np.argmax(np.abs(setup.rotation[:, axis])))
    for face, square in _visible(setup, seen_from).items():
        corner, right, up = planes[square]
        if along is None or along == square:
            yield InkedFace(face, corner, right, up, is_round=along is not None)
            continue
        middle = [(low + high) / 2 for low, high in zip(setup.low_mm, setup.high_mm, strict=True)]
        middle[square] = corner[square]
        ends = []
        for end in (setup.low_mm[along], setup.high_mm[along]):
            middle[along] = end
            ends.append((middle[0], middle[1], middle[2]))
        yield InkedFace(face, corner, right, up, mark_mm=(ends[0], ends[1]))


def _openings(
    plan: Plan, setup: Setup, seen_from: Hand, number: int | None = None
) -> Iterator[Opening]:
    """What opens on the faces in view, bores of the blank among them.

    number : of the setup that is begun, where it is not this one
    """
    part, now = plan.part, number or setup.number
    made_in = {
        (hole.name, one.setup.face): one.setup.number
        for one in plan.setups
        for hole in part.holes
        if one.setup.works(hole)
    }
    for hole, face in _ends(part, setup, seen_from):
        first = min((n for (name, _), n in made_in.items() if name == hole.name), default=now)
        at = made_in.get((hole.name, face), first)
        at = at if hole.from_both_ends or at == now else first
        yield _opening(
            part, setup, hole, face, "now" if at == now else "made" if at < now else "later"
        )
    yield from _bores(part, setup, seen_from)


def _ends(part: Part, setup: Setup, seen_from: Hand) -> Iterator[tuple[Hole, Face]]:
    """Holes, and each face in view that they open on."""
    faces = _visible(setup, seen_from)
    for hole in part.holes:
        for face in (hole.face, OPPOSITE[hole.face]):
            if face in faces and (face == hole.face or hole.is_through):
                yield hole, face


def _opening(part: Part, setup: Setup, hole: Hole, face: Face, made: Made) -> Opening:
    centre, radius = _on(part, setup, hole, face), _seen_radius_mm(hole, face)
    return Opening(face, hole.name, centre, radius, made, hole.thread is not None)


def _bores(part: Part, setup: Setup, seen_from: Hand) -> Iterator[Opening]:
    faces, bore = _visible(setup, seen_from), part.stock.bore_mm
    for face, square in faces.items():
        if bore is not None and FACE_AXIS[face] == part.stock.axis:
            yield Opening(face, "", _middle_of(setup, square, seen_from), bore / 2, "made")


def _on(part: Part, setup: Setup, hole: Hole, face: Face) -> Point:
    centre = list(hole.centre_mm)
    centre[FACE_AXIS[face]] = part.stock.face_at_mm(face)
    x, y, z = setup.from_part(np.array([centre]).T)[:, 0]
    return float(x), float(y), float(z)


def _middle_of(setup: Setup, square: int, seen_from: Hand) -> Point:
    middle = [(low + high) / 2 for low, high in zip(setup.low_mm, setup.high_mm, strict=True)]
    sides = (setup.low_mm if seen_from == "left" else setup.high_mm, setup.low_mm, setup.high_mm)
    middle[square] = sides[square][square]
    return middle[0], middle[1], middle[2]


def _seen_radius_mm(hole: Hole, face: Face) -> float:
    """Of the widest that is cut round that end."""
    mouth = hole.mouth if face == hole.face else hole.far
    cuts = (mouth.counterbore, mouth.countersink, mouth.spotface)
    wide = [hole.diameter_mm, *(one.diameter_mm for one in cuts if one is not None)]
    if face == hole.face:
        wide += [one.diameter_mm for one in hole.opened]
    return max(wide) / 2


def _centre_lines(setup: Setup) -> Iterator[tuple[Point, Point]]:
    (x0, y0, _), (x1, y1, top) = setup.low_mm, setup.high_mm
    if setup.zero_x == "centre":
        yield (0.0, y0, top), (0.0, y1, top)
    if setup.zero_y == "centre":
        yield (x0, 0.0, top), (x1, 0.0, top)
