"""ZERO against the part, the shop and HOLD: what the finder meets, what it reads, what it may say.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.reading.pages.slots import Said
from millprep.witness import from_part
from millprep.witness.compared import Due, Question, any_case, near
from millprep.witness.expected import visits
from millprep.witness.faces import FAR
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, SetUp, ruled

CLOCKED_MM = 0.02  # by which an indicator may move round a rim or bore (common practice)
FINDER_ROOM_MM = 2.0  # beside the tip where it goes down between two things (common practice)
LEAST_HOLE_MM = 3.0  # a pin or an indicator goes into it (common practice)
_LIES_ON = {"jaw": "fixed_jaw", "stop": "stop"}


def check_zero(one: SetUp) -> Iterator[Finding]:
    """The presets, an axis each; other ways to zero; the moves that try it."""
    zeros = one.all("zero-touch", "zero-over")
    if [_axis_of(said) for said in zeros] != ["x", "y"]:
        yield one.wrong("ZERO does not tell of X and of Y once each")
        return
    yield from one.count({"zero-clock": one.is_disc_on_end})
    yield from _check_on(one, zeros)
    yield from _check_otherwise(one)
    for axis, said in enumerate(zeros):
        yield from one.named(said, axis="xy"[axis], zero=one.zeros[axis])
        if said.slug == "zero-touch":
            yield from _check_touches(one, said, axis)
        else:
            yield from _check_over(one, said, axis)
        yield from check_blocked(one, said, axis)
    for said in one.all("zero-clock"):
        yield from _check_clock(one, said)
    yield from check_tries(one)


def _axis_of(said: Said) -> str:
    if said.slug == "zero-over":
        return said.axis("axis")
    axes = [touch.axis("set_axis") for touch in said.parts("touches") if touch.has("set_axis")]
    return axes[0] if len(axes) == 1 else ""


def _check_on(one: SetUp, zeros: Sequence[Said]) -> Iterator[Finding]:
    """What zero is on is told once, with the shop's finder where one is used: at its speed, and a
    metric one in inches too on a sheet of inches."""
    told = one.all("zero-on", "zero-on-centre")
    if len(told) != 1:
        yield one.wrong(f"ZERO is on {len(told)} things")
    is_found = any(zero.slug == "zero-touch" for zero in zeros)
    for said in told:
        x, y = one.zeros
        yield from one.named(said, x_zero=x, y_zero=y)
        if said.slug == "zero-on-centre":
            yield from one.says(said, {"both_zeros": any_case("centre")})
        yield from one.says(said, _finder(one, said) if is_found else {"finder_mm": None})


def _faces_read(one: SetUp) -> dict[str, list[str]]:
    """The faces that should read something: those of a zero on a centre, and of one on a face."""
    due: dict[str, list[str]] = {}
    for axis, said in enumerate(one.all("zero-touch", "zero-over")[:2]):
        slug = "mean" if one.zeros[axis] == "centre" else "size"
        for touch in said.parts("touches"):
            if touch.has("should_read"):
                due.setdefault(f"zero-{slug}", []).append(touch["on"])
    return due


def _reads(slug: str, one: SetUp) -> bool:
    return slug in _faces_read(one)


def _check_otherwise(one: SetUp) -> Iterator[Finding]:
    """What is told of them: of a centre the mean, else the size; of all setups once on paper."""
    due = _faces_read(one)
    is_of_all = one.is_folded and not one.is_alone
    for slug in ("zero-mean", "zero-size"):
        far = one.is_news(partial(_reads, slug))
        yield from one.count({slug: slug in due and not is_of_all})
        yield from one.count({slug.replace("zero", "far"): is_of_all and far})
    for said in one.all("zero-mean", "zero-size"):
        yield from one.says(said, {"faces": due.get(said.slug)})


def _check_touches(one: SetUp, said: Said, axis: int) -> Iterator[Finding]:
    """First where the axis is set; out of reach of nothing, the face opposite too: on a centre
    always, else where it is told."""
    zero, (low, high) = one.zeros[axis], one.along(axis)
    touches = said.parts("touches")
    faces = [touch.face("on") for touch in touches]
    own = [[low, high]] if zero == "centre" else [[zero], [zero, FAR[zero]]]
    is_own = not said.has("blocked") and faces in own
    if not is_own and not (said.has("blocked") and len(faces) == 1):
        yield one.wrong(f"ZERO of {'XY'[axis]} touches {', '.join(faces)}", said)
        return
    for index, touch in enumerate(touches):
        yield from _check_met(one, touch, said, axis)
        given = [touch.has("set_to"), touch.has("should_read")]
        if given != ([False, True] if index else [True, False]):
            yield one.wrong(f"ZERO of {'XY'[axis]} sets or reads it twice", said)
            continue
        yield from _check_reading(one, touch, said, axis)
    yield from _check_across(one, said, axis, is_due=said.has("blocked") and faces[0] != zero)


def _check_met(one: SetUp, touch: Said, said: Said, axis: int) -> Iterator[Finding]:
    """An upright face of that axis, where it stands; jaw and stop as HOLD has them."""
    face, kind = touch.face("on"), touch["with"]
    if face not in one.along(axis):
        yield one.wrong(f"{touch['on']} is not the face for {'XY'[axis]}", said)
    yield from one.named(touch, side=one.side_of(face))
    finder = one.shop.finder
    is_first = touch.has("set_to")
    yield from one.named(
        touch,
        finder_mm=finder.diameter_mm if is_first else None,
        finder_rpm=finder.speed_rpm if is_first else None,
    )
    if kind in _LIES_ON and not lies_on(one, kind, face):
        words = f"ZERO touches the {kind} for {touch['on']}, and HOLD has another there"
        yield one.wrong(words, said, "bad-lay")
    is_before = kind == "stop" or (kind == "jaw" and not is_jaw_free(one))
    yield from one.says(touch, {"when": "before" if is_before else None})
    for fault in tip_faults(one, touch, axis, kind == "finder"):
        yield one.wrong(f"the finder at {touch['on']} {fault}", said)


def lies_on(one: SetUp, kind: str, face: str) -> bool:
    """Whether HOLD has that face on the fixed jaw, or against the stop."""
    held = one.in_jaws if kind == "jaw" else one.at_stop
    return held is not None and held.face(_LIES_ON[kind]) == face


def is_jaw_free(one: SetUp) -> bool:
    """Whether the finder goes down beside the part, between the jaws, with the part in them."""
    room_mm = one.shop.finder.diameter_mm + FINDER_ROOM_MM
    beside_mm = one.shop.vice.jaw_width_mm - one.size_along_mm(1 - one.jaws_axis)
    return beside_mm >= room_mm - SLACK_MM and one.size_along_mm(one.jaws_axis) >= room_mm


def tip_faults(one: SetUp, touch: Said, axis: int, is_face: bool) -> Iterator[str]:
    """On the round of a bar lying down the tip hangs to where that is widest, and no deeper than
    it need."""
    is_round = is_face and axis == one.jaws_axis and one.is_bar_lying
    if touch.has("tip_below") != is_round:
        yield "hangs to a depth that is not told, or is told one that it has not"
    elif is_round:
        beyond_mm = touch.mm("tip_below") - one.height_mm / 2
        if not -HALF_SIZE_DIGIT_MM <= beyond_mm <= one.shop.finder.diameter_mm:
            yield f"hangs {touch['tip_below']} down: the bar is widest at {one.height_mm / 2:g} mm"
        if touch.slots.get("_below") != "below":
            yield "hangs above the bar"


def _check_reading(one: SetUp, touch: Said, said: Said, axis: int) -> Iterator[Finding]:
    """Outside a face the finder's axis stands half its diameter beyond it; at jaw and stop short
    of it."""
    upright = one.printed.upright.get(touch.face("on"))
    if upright is None:
        return
    beside = 0.5 if touch["with"] == "finder" else -0.5
    exact = upright.at_mm + upright.outward * beside * one.shop.finder.diameter_mm
    name = "set_to" if touch.has("set_to") else "should_read"
    right = {name: one.reads(axis, exact, HALF_SIZE_DIGIT_MM / 2)}
    if name == "set_to":
        right["set_axis"] = any_case("xy"[axis])
    yield from one.says(touch, right)


def _finder(one: SetUp, said: Said) -> Due:
    """The shop's, told again in inches where that is of any use."""
    finder, rpm = one.shop.finder, one.shop.finder.speed_rpm
    is_twice = one.printed.setup.units == "inch" and said.has("finder_mm")
    is_twice = is_twice and said["finder_mm"].endswith(" mm")
    in_inches = Question(
        f"{finder.diameter_mm:g} mm in inches",
        lambda told: (
            told.endswith(" in")
            and abs(said.mm("finder_again") - finder.diameter_mm) <= HALF_SIZE_DIGIT_MM
        ),
    )
    return {
        "finder_mm": finder.diameter_mm,
        "finder_again": in_inches if is_twice else None,
        "finder_rpm": None if rpm is None else near(rpm, 0.0, is_plain=True),
    }


def check_blocked(one: SetUp, said: Said, axis: int) -> Iterator[Finding]:
    """A face out of reach is of that axis, behind the jaws or an obstacle of the part file."""
    if not said.has("blocked"):
        return
    stand = [obstacle.name for obstacle in one.request.obstacles]
    stand += [strap["name"] for strap in one.all("strap")]
    stand += ["the angle plate"] * len(one.all("hold-plate"))
    behind = {f"behind {name}" for name in stand}
    if one.in_jaws:
        behind.add("below the jaws")
    if "".join(said["why"].split()) not in {"".join(words.split()) for words in behind}:
        yield one.wrong(f"nothing lies so that a face is {said['why']}", said)
    zero, blocked = one.zeros[axis], said.face("blocked")
    if blocked not in (one.along(axis) if zero == "centre" else (zero,)):
        yield one.wrong(f"ZERO of {'XY'[axis]} would not touch {said['blocked']}", said)
    first = one.along(axis)[0] if zero == "centre" else zero
    is_below = said["why"] == "below the jaws"  # then both faces of the axis are
    for face in [t.face("on") for t in said.parts("touches") if t["with"] == "finder"]:
        is_opposite = face == FAR[blocked] and not is_below
        is_lost = face == blocked == first and (is_below or len(stand) > 1)
        if not (is_opposite or is_lost):
            yield one.wrong(f"{said['blocked']} is out of reach and touched", said)


def _check_across(one: SetUp, said: Said, axis: int, *, is_due: bool) -> Iterator[Finding]:
    """A size across the part is told where it goes into the figure."""
    right: dict[str, Any] = {"across": None}
    if is_due:
        low, high = one.along(axis)
        size = near(one.size_along_mm(axis), one.printed.half_count_mm)
        right = {"low": any_case(low), "high": any_case(high), "across": size}
    yield from one.says(said, right)


def _check_over(one: SetUp, said: Said, axis: int) -> Iterator[Finding]:
    """Where nothing can be touched an axis is set over a hole that is there already."""
    places = [one.printed.on_machine(_place(one, hole)) for hole in _made(one, said["on"])]
    if not any(one.reads(axis, place[axis])(said["set_to"]) for place in places):
        yield one.wrong(f"over {said['on']} {'XY'[axis]} is set to {said['set_to']}", said)
    if not said.has("blocked"):
        yield one.wrong("ZERO goes over a hole where a face can be touched", said)


def _made(one: SetUp, name: str) -> list[Hole]:
    """The holes of that name that an earlier setup has made, and that are open here."""
    return [hole for hole in _open_holes(one) if hole.name == name]


def _open_holes(one: SetUp) -> list[Hole]:
    """Those that an earlier setup has made and that are wide enough for an indicator."""
    part, setup = one.printed.part, one.printed.setup
    made = {
        (name, request.face)
        for request, names in visits(part)[: setup.number - 1]
        for name in names
    }
    return [
        hole
        for hole in part.holes
        if (hole.name, hole.face) in made
        and (hole.face == setup.face or (hole.face == FAR[setup.face] and hole.is_through))
        and not hole.from_both_ends
        and hole.thread is None
        and hole.diameter_mm >= LEAST_HOLE_MM
    ]


def _place(one: SetUp, hole: Hole) -> tuple[float, float]:
    centre = np.array([hole.centre_mm]).T
    x, y, _ = from_part(one.printed.lay, one.printed.part, centre).ravel()
    return float(x), float(y)


def _check_clock(one: SetUp, said: Said) -> Iterator[Finding]:
    """Round the bore or the rim, to so much, and then the middle of the disc."""
    on = "rim" if one.printed.part.stock.bore_mm is None else "bore"
    clocked = "straps" if on == "rim" and one.all("hold-straps") else "turn"
    yield from one.says(said, {"on": on, "within_mm": CLOCKED_MM, "clocked": clocked})
    yield from one.named(said, **{"with": "clock"})
    middle, touches = one.printed.on_machine(one.printed.middle), said.parts("touches")
    if len(touches) != len(middle):
        yield one.wrong(f"the middle of the disc lies along X and Y: {said.text}", said)
    for axis, (touch, at_mm) in enumerate(zip(touches, middle, strict=False)):
        right = {"axis": any_case("xy"[axis]), "set_to": one.reads(axis, at_mm)}
        yield from one.says(touch, right)


def check_tries(one: SetUp) -> Iterator[Finding]:
    """Over the zero, over a hole made before, over the first hole, which a rule finds too."""
    yield from one.count({"try-zero": 1, "try-first": bool(one.rows)})
    centres = [zero == "centre" for zero in one.zeros]
    over = "centre" if all(centres) else "edge" if any(centres) else "corner"
    for said in one.all("try-zero"):
        nought = near(0.0, 0.0)
        yield from one.says(said, {"x": nought, "y": nought, "over": over})
    yield from _check_made(one)
    for said in one.all("try-first"):
        hole = one.hole_here(said["hole"])
        place = one.printed.places.get(said["hole"])
        if hole is None or place is None or hole.name != one.rows[0].hole:
            yield one.wrong(f"that is not the first hole: {said.text}", said)
        else:
            yield from one.says(said, one.place(place))
            for axis, name in enumerate("xy"):
                yield from _check_ruled(one, said, axis, name, place)


def _check_made(one: SetUp) -> Iterator[Finding]:
    """Over a hole made before; one that gave an axis its zero would prove nothing."""
    told = one.all("try-made")
    for said in told:
        places = [_place(one, hole) for hole in _made(one, said["hole"])]
        if not any(one.is_place(said, place) for place in places):
            yield one.wrong(f"no hole made before is there: {said.text}", said)
    gave_zero = {said["on"] for said in one.all("zero-over")}
    if any(said["hole"] in gave_zero for said in told):
        yield one.wrong("a hole that gave zero is tried against itself")
    others = [hole for hole in _open_holes(one) if hole.name not in gave_zero]
    if len(told) != bool(others):
        yield one.wrong(f"{len(told)} holes made before are tried")


def _check_ruled(
    one: SetUp, said: Said, axis: int, name: str, place: tuple[float, float]
) -> Iterator[Finding]:
    """From the nearer of the two faces along the axis; of two that are as near, the low one."""
    face, distance = said.face(f"{name}_face"), ruled(said[f"{name}_rule"])
    away = {each: abs(place[axis] - one.printed.upright[each].at_mm) for each in one.along(axis)}
    low, high = one.along(axis)
    nearest = low if away[low] <= away[high] + SLACK_MM else high
    if face != nearest or abs(away[face] - distance.mm) > distance.half_digit_mm + SLACK_MM:
        words = f"{said['hole']} is said to lie {said[f'{name}_rule']} from {face.upper()} by rule"
        yield one.wrong(words, said)
