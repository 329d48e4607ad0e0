"""SET UP, TURN and SKEW against the part: how it lies, and how it comes there from the lay before.

Rotations are worked out by this side's own code. Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.reading.pages.slots import Said
from millprep.witness import Lay, frame_of
from millprep.witness.compared import any_case
from millprep.witness.faces import AXIS, FAR
from millprep.witness.set_up import SetUp

Floats = NDArray[np.float64]

HALF_ANGLE_DIGIT_DEG = 0.00005
_AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
_QUARTERS = {
    ("x", "towards you"): 90,
    ("x", "away"): -90,
    ("y", "right hand"): 90,
    ("y", "left hand"): -90,
    ("z", "anticlockwise"): 90,
    ("z", "clockwise"): -90,
}
_HOW = {
    "roll it a quarter": ("x", True),
    "tip it a quarter": ("y", True),
    "turn it a quarter": ("z", True),
    "roll it right over": ("x", False),
    "turn it end for end": ("y", False),
    "turn it half way": ("z", False),
}


def check_lies(one: SetUp) -> Iterator[Finding]:
    """The faces at the four sides, and the lay that the part file asks for."""
    setup, part = one.printed.setup, one.printed.part
    yield from one.count({"lies": 1})
    for said in one.all("lies"):
        yield from one.says(said, {"left_hand": any_case(one.by_side["left hand"])}, "bad-lay")
        yield from one.named(said, away=one.by_side["away"])
        yield from _check_laid_for(one, said)
    asked: dict[str, str | None] = {"towards_you": one.request.towards_you}
    for axis, name in enumerate(("zero_x", "zero_y")):
        datum = part.datum[AXIS[one.along(axis)[0]]]
        asked[name] = getattr(one.request, name) or datum
    for name, right in asked.items():
        told = getattr(setup, name)
        if right not in (None, told):
            words = f"{name} is {told.upper()}; the part file asks for {right.upper()}"
            yield one.wrong(words, kind="bad-lay")


def _check_laid_for(one: SetUp, said: Said) -> Iterator[Finding]:
    """The reason is the one that it was chosen for, and what it says can be seen on this page."""
    told, chosen = said.slots.get("laid_for"), one.request.laid_for
    if not one.is_news(lambda page: page.request.laid_for == chosen):
        chosen = None  # told before
    if told != chosen:
        yield one.wrong(f"SET UP says it is set up so for {told}; it was chosen for {chosen}", said)
    elif told in _SEEN and not _SEEN[told](one):
        yield one.wrong(f"SET UP says it is set up so for {told}, and it does not", said)


def _has_no_datum_on_moving_jaw(one: SetUp) -> bool:
    held = one.only("hold-vice")
    moving = "" if held is None else FAR[held.face("fixed_jaw")]
    return moving not in ("", one.printed.part.datum[AXIS[moving or "left"]])


def _is_long_along_jaws(one: SetUp) -> bool:
    across = 1 if one.request.jaws == "y" else 0
    return one.size_along_mm(1 - across) > one.size_along_mm(across)


def _counts_up(one: SetUp) -> bool:
    """On an axis at least."""
    return any(
        sign * at_mm > 0
        for sign, at_mm in zip(one.printed.signs[:2], one.printed.middle, strict=True)
    )


_SEEN: dict[str, Callable[[SetUp], bool]] = {
    "datum": _has_no_datum_on_moving_jaw,
    "long": _is_long_along_jaws,
    "readings": _counts_up,
}


def check_turn(one: SetUp) -> Iterator[Finding]:
    """The moves bring the lay that is named into this one; it is that of the setup before."""
    number = one.printed.setup.number
    yield from one.count({"turn": int(number > 1)})
    for said in one.all("turn"):
        above, named = one.before, (said.face("face_before"), said.face("towards_you_before"))
        if above is not None:
            before = above.printed.setup
            faces = {"face_before": before.face, "towards_you_before": before.towards_you}
            due = {name: any_case(right) for name, right in faces.items()}
            yield from one.says(said, due, "bad-lay")
        is_due = one.is_news(lambda page: bool(page.all("turn")))
        yield from one.says(said, {"_wipe": "first" if is_due else None})
        yield from one.named(said, from_setup=number - 1)
        yield from _check_moves(one, said, Lay(*named, "centre", "centre"))
        yield from _check_jaw_and_stop(one, said)


def _check_moves(one: SetUp, said: Said, lay: Lay) -> Iterator[Finding]:
    moves = said.parts("moves")
    was, now = (frame_of(each, one.printed.part) for each in (lay, one.printed.lay))
    turned = np.eye(3)
    for move in moves:
        about, degrees = _HOW[move["how"]][0], _degrees(move)
        if degrees is None:
            yield one.wrong(f"TURN says {move['how']} in a way that nobody can", said, "bad-lay")
            continue
        yield from one.named(move, about=about, degrees=degrees, jaws=_beside(one, about))
        turned = _about(np.array(_AXES[about]), math.radians(degrees)) @ turned
    if not np.allclose(turned @ was.T, now.T):
        words = "TURN does not bring the part into the lay of this setup"
        yield one.wrong(words, said, "bad-lay")
    if bool(moves) == said.has("stays"):
        yield one.wrong("TURN says to leave it and to turn it, or neither", said, "bad-lay")


def _degrees(move: Said) -> int | None:
    """The right-handed angle; None where the words of the move do not go together."""
    about, is_quarter = _HOW[move["how"]]
    ways = [move[name] for name in ("up_goes", "turns") if move.has(name)]
    if not is_quarter:
        return None if ways else 180
    return _QUARTERS.get((about, ways[0])) if len(ways) == 1 else None


def _beside(one: SetUp, about: str) -> str | None:
    """How flat jaws close, to the axis that the part is turned about."""
    if not one.in_jaws or about == "z":
        return None
    return "square" if about == one.request.jaws else "along"


def _about(axis: Floats, angle: float) -> Floats:
    """(3, 3) turning about a unit vector: Rodrigues' formula."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross)


def _check_jaw_and_stop(one: SetUp, said: Said) -> Iterator[Finding]:
    """They are those of HOLD; what stays was there before; a stop that changes its side says so."""
    held, above = one.in_jaws, one.before
    was = None if above is None else above.at_stop
    right: dict[str, Any] = {"_jaw": {None, "fixed"}}
    for name, stays in (("fixed_jaw", "stays on"), ("stop", "stays at")):
        right[name] = held[name] if held else None
        if held is not None and above is not None:
            is_same = was is not None and was.slots.get(name) == held[name]
            right[f"{name}_comes"] = stays if is_same else "comes to"
    if above is not None:
        stands = one.side_of(held.face("stop")) if held else ""
        is_moved = was is not None and above.side_of(was.face("stop")) != stands
        right["stop_moved_to"] = stands if held and is_moved else None
    yield from one.says(said, right, "bad-lay")


def check_skew(one: SetUp) -> Iterator[Finding]:
    """The part lies askew as it is known to, or nothing is said of it."""
    right = one.printed.skew_deg
    yield from one.count({"skew": int(bool(right))})
    for said in one.all("skew"):
        told = float(said["degrees"]) * (1 if said["turns"] == "anticlockwise" else -1)
        if abs(told - right) > HALF_ANGLE_DIGIT_DEG + 1e-9:
            yield one.wrong(f"the part is said to lie {told:g} deg askew, not {right:g}", said)
