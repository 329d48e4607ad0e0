"""A screw through some members into a thread or a nut: what passes, grips, engages, bottoms.

      head |=========|      ^ head_mm above the face
    -------+--+   +--+------+--  face
      recess  |   |  ^
     members  |   |  | grip_mm: under the head to the mating face
    ----------+   +--v---------  mating face
      opened  |   |  ^  starts_mm: to the first thread
      thread  {   }  | penetration_mm: to the screw's end
      thread  {   }--v
      thread  {   }  room_mm of full thread left below the end
              |   |  drilled_mm: to the drill's shoulder

Lengths mm. A screw's point counts as thread, as the lengths of the standards do; the one pitch that
it may lack is in the room wanted below it. Pure sums, layers 0 to 2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen, replace
from millprep.model.part import Countersink
from millprep.reference.heads import Head, HeadKind, head_for, washer_for
from millprep.reference.lengths import screw_lengths_mm, wanted_engagement_mm
from millprep.reference.threads import Thread

END_ROOM_PITCHES = 1.0  # of full thread below the end of a screw, or of screw beyond a nut
SAME_LENGTH_MM = 1e-6
_COUNTERSUNK: tuple[HeadKind, ...] = ("countersunk", "slotted countersunk")


@frozen
class Screw:
    """A screw as it is bought.

    length_mm : under the head; of a countersunk screw the whole length, as it is sold
    washer_mm : thickness of all washers under the head
    """

    thread: Thread
    length_mm: float
    kind: HeadKind
    washer_mm: float = 0.0

    @property
    def head(self) -> Head | None:
        """The head in the tables, or None where no table has it."""
        return head_for(self.thread, self.kind)

    @property
    def is_countersunk(self) -> bool:
        return self.kind in _COUNTERSUNK


@frozen
class Through:
    """A member that the screw passes, from the head on.

    hole_mm     : the narrowest that the screw meets there; infinite for something loose
    recess_mm, recess_diameter_mm : counterbore or spotface under the head
    countersink : under a countersunk head; this and the recess count in the first member alone
    """

    name: str
    thickness_mm: float
    hole_mm: float
    recess_mm: float = 0.0
    recess_diameter_mm: float | None = None
    countersink: Countersink | None = None


@frozen
class Tapped:
    """The tapped hole that the screw ends in; depths from the face that it enters by.

    full_thread_mm : where the full thread ends; of a through hole the thickness there
    drilled_mm     : to the drill's shoulder; None for a through hole
    starts_mm      : where the thread begins (a clear or opened length before it)
    material       : as the part file has it
    """

    name: str
    thread: Thread
    full_thread_mm: float
    drilled_mm: float | None
    material: str = ""
    starts_mm: float = 0.0


@frozen
class Nutted:
    """A nut on the far side, with the thickness of the washers under it."""

    thread: Thread
    height_mm: float
    washer_mm: float = 0.0


@frozen
class Fastened:
    """The figures of one screw in its holes.

    play_mm        : hole less major diameter, of each member it passes; 0 or less does not pass
    same_thread    : whether screw and thread are of one designation, hand included
    grip_mm        : from under the head (countersunk: from its top), washers left out, to the face
                     where thread or nut begins
    penetration_mm : of the screw's end beyond that face; 0 or less never reaches it
    engagement_mm, wanted_mm, most_mm : of thread: had, wanted, and to be had with any length
    room_mm        : full thread left below the end in a blind hole; None for a through hole or nut
    comes_out_mm   : beyond the far face of a through hole or nut, negative inside; None for blind
    head_mm        : top of the head above the face, negative below; None where no table has it
    recess_play_mm : recess less head, or less washer where there is one; None without a recess
    angle_off_deg  : countersink less head; None where either is not there
    cure_mm        : the standard length nearest to this one with nothing wrong; its own length
                     where nothing is wrong with it, None where every length is wrong
    """

    screw: Screw
    into: Tapped | Nutted
    play_mm: tuple[float, ...]
    same_thread: bool
    grip_mm: float
    penetration_mm: float
    engagement_mm: float
    wanted_mm: float
    most_mm: float
    room_mm: float | None
    comes_out_mm: float | None
    head_mm: float | None
    recess_play_mm: float | None
    angle_off_deg: float | None
    cure_mm: float | None = None

    @property
    def engagement_diameters(self) -> float:
        """Thread engaged, in diameters of the screw."""
        return self.engagement_mm / self.screw.thread.major_mm

    @property
    def end_room_mm(self) -> float:
        """One pitch: full thread wanted below the end of a screw, screw wanted beyond a nut."""
        return END_ROOM_PITCHES * self.screw.thread.pitch_mm

    @property
    def passes(self) -> bool:
        """Whether the screw goes through every member."""
        return all(play > 0 for play in self.play_mm)

    @property
    def is_engaged(self) -> bool:
        """Whether it has the thread that is wanted; of a nut all of it, and a pitch beyond."""
        if isinstance(self.into, Nutted):
            assert self.comes_out_mm is not None  # a nut is not blind
            if self.comes_out_mm < self.end_room_mm - SAME_LENGTH_MM:
                return False
        return self.engagement_mm >= self.wanted_mm - SAME_LENGTH_MM

    @property
    def bottoms(self) -> bool:
        """Whether less than one pitch of full thread is left below its end in a blind hole."""
        return self.room_mm is not None and self.room_mm < self.end_room_mm - SAME_LENGTH_MM

    @property
    def comes_out(self) -> bool:
        """Whether it stands out of a through tapped hole. Of a nut it must."""
        return (
            isinstance(self.into, Tapped)
            and self.comes_out_mm is not None
            and self.comes_out_mm > SAME_LENGTH_MM
        )


def fastened(
    screw: Screw, through: Sequence[Through], into: Tapped | Nutted, *, may_come_out: bool = True
) -> Fastened:
    """The figures of a screw in its holes, the first of `through` under its head.

    may_come_out : whether a length that stands out of a through tapped hole may be the cure
    """
    as_it_is = _figures(screw, through, into)

    def is_right(figures: Fastened) -> bool:
        out = figures.comes_out and not may_come_out
        return figures.is_engaged and not figures.bottoms and not out

    if is_right(as_it_is):
        return replace(as_it_is, cure_mm=screw.length_mm)
    lengths = sorted(
        screw_lengths_mm(screw.thread), key=lambda each: (abs(each - screw.length_mm), each)
    )
    others = (_figures(replace(screw, length_mm=each), through, into) for each in lengths)
    cure_mm = next((each.screw.length_mm for each in others if is_right(each)), None)
    return replace(as_it_is, cure_mm=cure_mm)


def _figures(screw: Screw, through: Sequence[Through], into: Tapped | Nutted) -> Fastened:
    first = through[0] if through else None
    grip_mm = sum(member.thickness_mm for member in through) - _seat_mm(screw, first)
    penetration_mm = screw.length_mm - screw.washer_mm - grip_mm
    if isinstance(into, Nutted):
        starts_mm, ends_mm = into.washer_mm, into.washer_mm + into.height_mm
        wanted_mm, is_blind = into.height_mm, False
    else:
        starts_mm, ends_mm = into.starts_mm, into.full_thread_mm
        wanted_mm = wanted_engagement_mm(into.thread, into.material)
        is_blind = into.drilled_mm is not None
    kept_mm = END_ROOM_PITCHES * into.thread.pitch_mm if is_blind else 0.0
    return Fastened(
        screw=screw,
        into=into,
        play_mm=tuple(member.hole_mm - screw.thread.major_mm for member in through),
        same_thread=screw.thread.designation == into.thread.designation,
        grip_mm=grip_mm,
        penetration_mm=penetration_mm,
        engagement_mm=max(min(penetration_mm, ends_mm) - starts_mm, 0.0),
        wanted_mm=wanted_mm,
        most_mm=max(ends_mm - kept_mm - starts_mm, 0.0),
        room_mm=ends_mm - penetration_mm if is_blind else None,
        comes_out_mm=None if is_blind else penetration_mm - ends_mm,
        head_mm=_head_mm(screw, first),
        recess_play_mm=_recess_play_mm(screw, first),
        angle_off_deg=_angle_off_deg(screw, first),
    )


def _seat_mm(screw: Screw, first: Through | None) -> float:
    """How far below the face the head is measured from: its underside, or a countersunk top."""
    if first is None:
        return 0.0
    return first.recess_mm + (_sunk_mm(screw, first) if screw.is_countersunk else 0.0)


def _sunk_mm(screw: Screw, first: Through) -> float:
    """How far the top of a countersunk head lies below the mouth of its cone; negative above.

    Without a countersink the cone sits on the edge of the hole. On something loose, which has a
    hole without end, the head is taken as level.
    """
    head = screw.head
    if head is None or head.angle_deg is None or math.isinf(first.hole_mm):
        return 0.0
    hole_mm, wide_mm, angle_deg = first.hole_mm, first.hole_mm, head.angle_deg
    if first.countersink is not None and first.countersink.diameter_mm > hole_mm:
        wide_mm, angle_deg = first.countersink.diameter_mm, first.countersink.angle_deg
    of_hole = math.tan(math.radians(angle_deg / 2))
    of_head = math.tan(math.radians(head.angle_deg / 2))
    if of_hole >= of_head:  # the head's cone rests where the hole's ends
        return ((wide_mm - hole_mm) / of_hole - (head.head_diameter_mm - hole_mm) / of_head) / 2
    over_mm = wide_mm - head.head_diameter_mm  # the head rests on its rim, or on the mouth's edge
    return over_mm / 2 / (of_hole if over_mm > 0 else of_head)


def _head_mm(screw: Screw, first: Through | None) -> float | None:
    head = screw.head
    if head is None:
        return None
    if screw.is_countersunk:
        return screw.washer_mm - _seat_mm(screw, first)
    return screw.washer_mm + head.head_height_mm - _seat_mm(screw, first)


def _recess_play_mm(screw: Screw, first: Through | None) -> float | None:
    if first is None or first.recess_diameter_mm is None or screw.head is None:
        return None
    washer = washer_for(screw.thread) if screw.washer_mm > 0 else None
    widest_mm = max(screw.head.head_diameter_mm, washer.outside_mm if washer else 0.0)
    return first.recess_diameter_mm - widest_mm


def _angle_off_deg(screw: Screw, first: Through | None) -> float | None:
    head = screw.head if screw.is_countersunk else None
    if head is None or head.angle_deg is None or first is None or first.countersink is None:
        return None
    return first.countersink.angle_deg - head.angle_deg
