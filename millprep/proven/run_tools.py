"""The tools of a dry run: of what metal the drawer says they are, and those that nobody describes.

What an unknown tool has made is not confirmed, whatever it looks like; nor is what any tool has
made off its written path. With it, what a program may leave to the hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from millprep.base.findings import Finding, Severity, Words, words
from millprep.base.records import replace
from millprep.model.shop import Cabinet
from millprep.model.tools import Tool, UnknownTool
from millprep.reading.gcode.toolbook import TOOL_LINE
from millprep.reading.made import MadeHole
from millprep.reading.moves import BY_HAND, DWELL, RAPID, ProgramRun

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.reference.threads import Thread


SAME_SIZE_MM = 0.005  # tool lines give three decimals; listed drills lie farther apart
_KINDS = {"unknown-tool", "tool-not-named"}
_OFF_PATH = "compensation-not-followed"
_CODES = {"left": "G41", "right": "G42"}


def of_the_drawer(tools: Mapping[int, Tool], cabinet: Cabinet) -> dict[int, Tool]:
    """A tool whose size the drawer has in carbide only is that one."""
    drawer = [
        *cabinet.drills,
        *cabinet.reamers,
        *cabinet.taps,
        *cabinet.spot_drills,
        *cabinet.countersinks,
        *cabinet.counterbores,
        *cabinet.end_mills,
    ]
    metals: dict[tuple[str, int | None], set[bool]] = {}
    for tool in drawer:
        metals.setdefault(_likeness(tool), set()).add(tool.is_carbide)
    return {
        number: replace(tool, is_carbide=True) if metals.get(_likeness(tool)) == {True} else tool
        for number, tool in tools.items()
    }


def _likeness(tool: Tool) -> tuple[str, int | None]:
    size_mm = tool.diameter_mm
    return tool.kind, None if size_mm is None else round(size_mm / SAME_SIZE_MM)


def with_unconfirmed(
    run: ProgramRun, holes: Sequence[MadeHole], file: str, *, has_part: bool
) -> list[Finding]:
    """The reader's findings with those of tools that cut and are not known.

    has_part : the holes ought to be a part's: what cannot be confirmed is then a stop
    """
    severity: Severity = "stop" if has_part else "warning"
    found = list(_unconfirmed(run, holes, file, severity))
    kinds = _KINDS
    if off_path := list(_off_their_path(run, holes, file, severity)):
        kinds = {*_KINDS, _OFF_PATH}
        found += off_path
    is_told = len(off_path) == len(run.compensated)  # each of them, by what it cuts
    told = [
        replace(one, severity=severity) if one.kind in kinds and one.severity != "note" else one
        for one in run.findings
        if not (any(other.kind in _KINDS for other in found) and one.kind == "unknown-tool")
        and not (one.kind == _OFF_PATH and is_told)
    ]
    return [*told, *found]


def _unconfirmed(
    run: ProgramRun, holes: Sequence[MadeHole], file: str, severity: Severity
) -> Iterator[Finding]:
    moves = run.moves
    is_cut = (moves.kind != RAPID) & (moves.kind != DWELL)
    cuts = np.flatnonzero(is_cut & (moves.cycle == BY_HAND) if run.is_quill_by_hand else is_cut)
    numbers, first = np.unique(moves.tool[cuts], return_index=True)
    for number, line in zip(numbers.tolist(), moves.line[cuts[first]].tolist(), strict=True):
        tool = run.tools.get(number)
        if tool is not None and not isinstance(tool, UnknownTool):
            continue
        what = f"nothing says what T{number} is" if number else "no tool is named and put in"
        made = [
            hole
            for hole in holes
            if any(
                one.tool_number == number and one.tool_kind is None and one.file in (None, file)
                for one in hole.operations
            )
        ]
        example = TOOL_LINE if made else "TOOL {number} END MILL {size_mm:3}"
        comment = f"write a comment such as {example}"
        yield Finding(
            severity,
            "unknown-tool" if number else "tool-not-named",
            words(f"{what}, and it cuts: {{left}} not confirmed", left=_named(made)),
            words(
                f"list it in the shop file, or {comment}"
                if number
                else f"write T and the change before it cuts, and {comment}",
                number=number or 1,
                size_mm=5.0 if made else 8.0,
            ),
            file=file,
            line=line,
        )


def _off_their_path(
    run: ProgramRun, holes: Sequence[MadeHole], file: str, severity: Severity
) -> Iterator[Finding]:
    """What is cut under cutter compensation is off its path by nobody knows how much."""
    moves = run.moves
    for one in run.compensated:
        rows = np.arange(one.first, one.behind)
        cuts = rows[(moves.kind[rows] != RAPID) & (moves.kind[rows] != DWELL)]
        if not cuts.size:
            continue
        lines = set(moves.line[rows].tolist())
        made = [
            hole
            for hole in holes
            if any(each.line in lines and each.file in (None, file) for each in hole.operations)
        ]
        yield Finding(
            severity,
            _OFF_PATH,
            words(
                f"cut under {_CODES[one.side]}, up to a tool's radius to the {one.side} of what is "
                "written: {left} not confirmed",
                left=_named(made),
            ),
            "write the path of the tool's centre, without G41 and G42; else allow a tool's radius, "
            "and try it in the air",
            file=file,
            line=int(moves.line[cuts[0]]),
        )


def _named(made: Sequence[MadeHole]) -> Words:
    if not made:
        return words("what it leaves is")
    more = f" and {len(made) - 1} more are" if len(made) > 1 else " is"
    x_mm, y_mm = made[0].x_mm, made[0].y_mm
    return words(f"the hole at X{{x_mm:3bare}} Y{{y_mm:3bare}}{more}", x_mm=x_mm, y_mm=y_mm)


SAME_REAMER_MM = 0.003


def hands_of(shop: Shop, part: Part) -> frozenset[str]:
    """Operations that a program for this shop may leave to the hand."""
    return _taps_by_hand(shop, part) | _reamers_by_hand(shop, part)


def _reamers_by_hand(shop: Shop, part: Part) -> frozenset[str]:
    """Of sizes for which the drawer has a hand reamer; it is never turned by the spindle."""
    by_hand = [reamer.diameter_mm for reamer in shop.cabinet.reamers if reamer.is_hand]
    reamed = [hole.diameter_mm for hole in part.holes if hole.kind.is_reamed]
    is_so = any(abs(size - one) < SAME_REAMER_MM for size in reamed for one in by_hand)
    return frozenset({"ream"}) if is_so else frozenset()


def _taps_by_hand(shop: Shop, part: Part) -> frozenset[str]:
    control, threads = shop.control, [hole.thread for hole in part.holes if hole.thread is not None]
    if control.tapping == "by hand at the hole":
        return frozenset()
    has_head = control.tapping == "reversing head"
    taps = has_head or (control.tapping != "none" and "G84" in control.cycles)
    if taps and not any(
        thread.is_left_hand or _is_too_fast(shop, part, thread) for thread in threads
    ):
        return frozenset()
    return frozenset({"tap"})


def _is_too_fast(shop: Shop, part: Part, thread: Thread) -> bool:
    """Whether the spindle cannot turn as slowly as the tap wants it."""
    from millprep.reference.materials import material_named

    material = material_named(part.material)
    most = material.most_tap_rpm(thread.major_mm) if material is not None else math.inf
    return shop.mill.slowest_rpm > min(shop.control.tap_speed_rpm, most)
