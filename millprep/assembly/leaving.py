"""What an assembly leaves for later of its members' holes, and whether it says so of one twice.

Layers 0 to 2, and how it is said.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.assembled import Assembly, Carried, PinJoint, Place, ScrewJoint, Stack
from millprep.model.carrying import DRILLED, CarriedBy, Leave, Left

_WORDS: dict[CarriedBy, str] = {
    "spotted through": "spotted through {0}",
    "transfer punch": "punched through {0}",
    "transfer screw": "marked by transfer screws in {0}",
    "jig": "spotted with {0} as its jig",
    "readings": "spotted at the readings of {0}",
}
_SPOTS: tuple[CarriedBy, ...] = ("spotted through", "jig", "readings")
_LED: tuple[CarriedBy, ...] = ("spotted through", "transfer punch", "jig")
"""Ways in which what comes through the hole above would follow one that is there."""

Joint = ScrewJoint | PinJoint


def left_by(assembly: Assembly, member: str) -> Iterator[Left]:
    """The holes of a member that the assembly leaves for later."""
    for stack in assembly.stacks:
        made = dict(stack.leave)
        for place in stack.places:
            if place.member == member:
                later = f'reamed in stack "{stack.stack or stack.name}"'
                word, pilot_mm = made.get(member, "undrilled"), stack.pilot_mm
                name = stack.stack or stack.name
                yield from _left(place, word, later, assembly.path, pilot_mm, name)
    for joint in assembly.joints:
        carried = joint.carried
        for place in joint.places if carried is not None else ():
            if carried is not None and place.member == member != carried.source:
                word = dict(carried.leave).get(member, "undrilled")
                for one in _left(
                    place, word, later_of(carried), assembly.path, carried.pilot_mm, ""
                ):
                    yield replace(one, is_spotted=carried.by in _SPOTS)


def _left(
    place: Place, word: Leave, later: str, file: str, pilot_mm: float | None, stack: str
) -> Iterator[Left]:
    for hole in place.holes:
        yield Left(hole.name, word, later, file, pilot_mm if word == "pilot" else None, stack)


def later_of(carried: Carried) -> str:
    """The step that carries holes over, in words."""
    after = f', after stack "{carried.after}"' if carried.after else ""
    return _WORDS[carried.by].format(carried.source) + after


def following_findings(say: Say, row: Stack | Joint) -> Iterator[Finding]:
    """A spot or a pilot below the topmost member, which the drill from above would follow."""
    if isinstance(row, Stack):
        top, left = row.places[0].member, row.leave
        how, best = "of the stack", "pilot" if row.pilot_mm else "spotted"
        remedy = f'leave = {{ "{top}" = "{best}" }}'
    elif row.carried is not None and row.carried.by in _LED:
        yield from _bore_findings(say, row, row.carried)
        top, left, how = row.carried.source, row.carried.leave, "of the two"
        remedy = f"take leave{' and pilot' if row.carried.pilot_mm else ''} out"
    else:
        return
    for member, word in left:
        if member != top and word != "undrilled":
            what = "with a pilot" if word == "pilot" else word
            yield say.finding(
                "warning",
                "drill-follows",
                row,
                f"{member} is left {what} below {top}, the top one {how}: the drill follows what "
                "it finds there",
                remedy,
            )


def _bore_findings(say: Say, row: Joint, carried: Carried) -> Iterator[Finding]:
    """No drill goes into a bore that is to size."""
    holes = [h for place in row.places if place.member == carried.source for h in place.holes]
    done = next((h for h in holes if h.kind.is_true or h.fit or h.limits_um is not None), None)
    if done is not None and carried.by in DRILLED:
        yield say.finding(
            "stop",
            "drill-in-bore",
            row,
            f"{carried.by}: a drill would run in {done.name} of {carried.source}, which is "
            f"{done.kind.done} to size",
            'by = "transfer punch", or by = "readings"',
        )


def each_table(assembly: Assembly) -> list[Stack | Joint]:
    """Every table that may leave something, once: a joint may be several courses of screws."""
    joints = {joint.line: joint for joint in assembly.joints}
    return [*assembly.stacks, *joints.values()]
