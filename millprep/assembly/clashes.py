"""Bodies that meet, in words: what meets what, by how much, and what would clear it.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from millprep.assembly.bodies import Body, Standing
from millprep.assembly.meeting import NEAR_MM, TOUCH_MM, Meeting, apart_of
from millprep.assembly.saying import Say
from millprep.assembly.screws import screw_length_words, screwed
from millprep.base.findings import Finding, Severity
from millprep.base.plain_text import some
from millprep.base.records import frozen, replace
from millprep.model.assembled import Member, PinJoint, ScrewJoint
from millprep.reference.lengths import screw_lengths_mm

_CORE = np.array([0.1, 0.1, 1.0])  # of a screw, which tells that its end meets, not its side
_MOST_ENDS = 12  # of screws of one joint that are looked at one by one
_HALVINGS = 24  # of the length of a screw, to find where it begins to meet


@frozen
class _Table:
    """The tables that two bodies are of, as one."""

    allow: tuple[str, ...]
    line: int | None


@frozen
class Clash:
    """Meetings of the like parts of two bodies."""

    meetings: tuple[Meeting, ...]

    @property
    def worst(self) -> Meeting:
        return min(self.meetings, key=lambda one: one.apart_mm)


def clashes_of(meetings: Sequence[Meeting]) -> list[Clash]:
    """Those of one kind between the same two as one."""
    alike: dict[tuple[object, ...], list[Meeting]] = {}
    for one in meetings:
        first, second = one.first, one.second
        pin = None if one.turning is None else one.turning.joint.name
        key = (first.what, first.name, second.what, second.name, pin, one.is_into)
        alike.setdefault(key, []).append(one)
    return [Clash(tuple(each)) for each in alike.values()]


def clash_findings(say: Say, standing: Standing, clash: Clash) -> Iterator[Finding]:
    """What meets, and what would clear it."""
    worst = clash.worst
    first, second = worst.first, worst.second
    joints = {joint.name: joint for joint in say.assembly.joints}
    tables: list[Member | ScrewJoint | PinJoint] = [
        say.assembly.member(body.name) if body.is_member else joints[body.name]
        for body in (first, second)
    ]
    joint = joints.get(first.name) if not first.is_member else None
    tables += [] if worst.turning is None else [worst.turning.joint]
    table = _Table(tuple(kind for each in tables for kind in each.allow), tables[0].line)
    holes = tuple(dict.fromkeys(one.first.hole for one in clash.meetings if one.first.hole))
    subject, other = _words(first, holes), _words(second, (second.hole,) if second.hole else ())
    if worst.turning is not None:
        subject += f", turning on {worst.turning.joint.name},"
    ends = [_end_in_mm(one) for one in clash.meetings[:_MOST_ENDS]]
    deep = max((end for end in ends if end is not None), default=None)
    if not worst.is_into:
        is_are = "are" if len(holes) > 1 else "is"
        words = f"{subject} {is_are} {say.length(max(worst.apart_mm, 0.0))} from {other}"
        words += ", and nothing joins them"
    elif worst.turning is not None:
        words = f"{subject} strike{'' if len(holes) > 1 else 's'} {other}"
    elif deep is not None:
        words = f"{subject} run{'' if len(holes) > 1 else 's'} {say.length(deep)} into {other}"
    else:
        words = f"{subject} and {other} are {say.length(-worst.apart_mm)} into each other"
    cure = _length_cure(standing, worst, joint) if isinstance(joint, ScrewJoint) else ""
    loose = _free_to_turn(standing, worst)
    if loose:
        cure = f"as {loose} is drawn here; say how it is turned about its one hole: on and edges"
    severity: Severity = "stop" if worst.is_into and not loose else "warning"
    kind = "bodies-meet" if worst.is_into else "bodies-near"
    yield say.at(severity, kind, table, words, cure or _remedy(worst, kind), *holes)


def _free_to_turn(standing: Standing, meeting: Meeting) -> str:
    """A member of the two that one hole holds, so that nobody knows how it is turned; one that
    turns right round comes into every place."""
    if meeting.turning is not None and meeting.turning.joint.swing_deg is None:
        return ""
    free = (
        body.name
        for body in (meeting.first, meeting.second)
        if body.is_member
        and standing.lays[body.name].is_free_to_turn
        and not body.shape.is_round
        and body.name not in standing.turn_right_round
    )
    return next(free, "")


def _words(body: Body, holes: Sequence[str]) -> str:
    """ "drum", "bench bolts: the nuts on bench bolt 1 and bench bolt 2" """
    if body.is_member:
        return body.name
    many = "s" if len(holes) > 1 else ""
    return f"{body.name}: the {body.what}{many} in {some(holes)}"


def _end_in_mm(meeting: Meeting) -> float | None:
    """How far the end of a screw or pin has gone into what it meets; None where it meets that with
    its side."""
    first, second = meeting.first, meeting.second
    if (
        not meeting.is_into
        or meeting.turning
        or first.what not in ("screw", "pin")
        or not first.pieces
    ):
        return None
    end = max(first.pieces, key=lambda piece: piece.span_mm(2)[1])
    low, high = end.span_mm(2)
    tip = end.along(2, max(low, high - 3 * TOUCH_MM), high)
    core = replace(tip, half_mm=tip.half_mm * _CORE)
    if apart_of(replace(first, pieces=(core,)), second) > -TOUCH_MM:
        return None
    clear, meets = low, high
    for _ in range(_HALVINGS):
        middle = (clear + meets) / 2
        if apart_of(replace(first, pieces=(end.along(2, low, middle),)), second) > -TOUCH_MM:
            clear = middle
        else:
            meets = middle
    return min(high - meets + TOUCH_MM, high - low)


def _length_cure(standing: Standing, meeting: Meeting, joint: ScrewJoint) -> str:
    """The longest screw that is made, holds, and keeps clear."""
    if meeting.first.what != "screw" or joint.kind is None or meeting.turning is not None:
        return ""
    lengths = sorted(screw_lengths_mm(joint.thread), reverse=True)
    for length_mm in (each for each in lengths if each < joint.length_mm - TOUCH_MM):
        row = screwed(standing.assembly, replace(joint, length_mm=length_mm))
        figures = row.figures
        if figures is None or not figures.is_engaged or figures.bottoms:
            continue
        if figures.comes_out and not joint.may_come_out:
            continue
        bodies = [one for one in standing.screw(row) if one.what == "screw"]
        if all(apart_of(one, meeting.second) >= NEAR_MM for one in bodies):
            return f"a screw {screw_length_words(joint.thread, length_mm)} long keeps clear of it"
    return ""


def _remedy(meeting: Meeting, kind: str) -> str:
    allow = f'if the blank is cut away there, allow = ["{kind.replace("-", " ")}"]'
    if meeting.turning is not None:
        swing = (
            ""
            if meeting.turning.joint.swing_deg is not None
            else (f", or say how far it swings: swing = 30 in {meeting.turning.joint.name}")
        )
        return f"move the hole or change the size{swing}; {allow}"
    return f"look at the sizes of both and at where their holes are; {allow}"
