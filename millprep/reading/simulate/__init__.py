"""The dry run: what a program's moves would do to the stock, and what they do wrong.

Given moves and a scene, never the plan that made them. The spindle goes down upright tools; what
is removed is kept hole by hole (`record`), and everything else is masks over the columns of moves.
Linear in moves and holes.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.scene import Scene
from millprep.model.shop import Control, Mill
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.milled_rooms import MilledRoom, SidewaysCuts
from millprep.reading.moves import ProgramRun, extent_mm
from millprep.reading.simulate import changes, contact, cutting, sideways, slips, taps, travel
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, capped, folded, found_at, merged
from millprep.reading.simulate.milling import cuts_of, milled_rooms
from millprep.reading.simulate.record import Record, fresh_record
from millprep.reading.simulate.strokes import run_strokes
from millprep.reading.simulate.timing import ToolTime, seconds_each, tool_times

__all__ = [
    "MadeHole",
    "MadeOperation",
    "Record",
    "Simulation",
    "ToolTime",
    "capped",
    "folded",
    "simulate",
]


@frozen
class Simulation:
    """What a dry run found.

    findings    : of the moves; those of the text are the reader's
    holes       : all that the stock has by now, those of earlier programs on it included, and
                  where a cutter went down to mill (`without_plunges` has the holes alone)
    time_s      : rapids, feeds and dwells; tool changes not counted
    tool_times  : the same for each tool, in the order of their changes
    extent_mm   : "x", "y", "z" -> [low, high] of the readings, None for an axis never moved
    not_checked : sentences
    record      : hand it to the next program on the same stock
    sideways    : the cuts below the top of the stock that do not go straight down
    milled      : the rooms that they take of the stock, the way down into them included
    """

    findings: tuple[Finding, ...]
    holes: tuple[MadeHole, ...]
    time_s: float
    extent_mm: dict[str, list[float] | None]
    not_checked: tuple[str, ...]
    record: Record
    sideways: SidewaysCuts
    milled: tuple[MilledRoom, ...] = ()
    tool_times: tuple[ToolTime, ...] = ()


def _dives(dry: DryRun) -> Iterator[Found]:
    """Upright rapids into solid material."""
    free = np.minimum(dry.path.of_stroke(dry.strokes.free), dry.before)
    depth = free - dry.path.end[2]
    for row in np.flatnonzero(dry.dives).tolist():
        stroke = int(dry.path.stroke[row])
        yield found_at(dry.path, slips.RAPID_INTO_STOCK, row, stroke, free_mm=free, depth_mm=depth)


_CHECKS = (
    cutting.spindle_faults,
    cutting.feed_faults,
    taps.tap_faults,
    taps.finishing_faults,
    cutting.peck_faults,
    cutting.speed_faults,
    cutting.low_feed_faults,
    _dives,
    travel.travel_faults,
    changes.change_faults,
    sideways.end_faults,
    sideways.first_move_faults,
)
_CHECKS_ON_STOCK = (
    sideways.sideways_faults,
    contact.contact_faults,
    sideways.units_faults,
    sideways.system_faults,
    sideways.face_faults,
    contact.home_faults,
    sideways.home_out_of_work_faults,
)


# What nobody knows is nan here, and comparing with it gives False: numpy need not warn of it.
@np.errstate(invalid="ignore", divide="ignore", over="ignore")
def simulate(
    run: ProgramRun,
    scene: Scene | None,
    mill: Mill,
    control: Control,
    *,
    file: str,
    record: Record | None = None,
    expects_spot: bool = True,
) -> Simulation:
    """Runs the moves against the stock.

    scene        : None when nothing is known of the stock: only what needs none is looked at
    record       : what earlier programs removed; it is added to
    expects_spot : no part says what is wanted: warn of drills without a spot, thin floors and walls
    """
    record = fresh_record(scene) if record is None else record
    dry = DryRun(run, scene, mill, control, file, record, expects_spot)
    run_strokes(dry)
    found = [*dry.strokes.found, *chain.from_iterable(check(dry) for check in _CHECKS)]
    if scene is not None:
        found += chain.from_iterable(check(dry, scene) for check in _CHECKS_ON_STOCK)
    seconds = seconds_each(run.moves, mill)
    return Simulation(
        merged(found, file),
        record.holes(),
        float(np.nansum(seconds)),
        extent_mm(run.moves),
        tuple(_not_checked(dry)),
        record,
        cuts_of(dry.path, dry.mills & (scene is not None)),
        _rooms(dry),
        tool_times(run, seconds),
    )


def _rooms(dry: DryRun) -> tuple[MilledRoom, ...]:
    inside = np.ones_like(dry.plunges)
    if dry.scene is not None:
        inside = dry.strokes.inside > -dry.path.radius[dry.path.first]
    plunges = np.flatnonzero(dry.plunges & inside)
    return milled_rooms(dry.path, dry.mills, plunges, dry.scene)


def _of_the_spindle(dry: DryRun) -> Iterator[str]:
    """What nobody says of a spindle that the hand sets or starts."""
    if dry.run.is_spindle_assumed:
        yield "the spindle: by hand, and no stop says when it starts, at what (START SPINDLE 1250)"
    elif np.isnan(dry.path.moves.rpm[dry.cuts]).any():
        yield "the spindle's speed: set by hand, and no stop says to what (BELT 1250)"


def _not_checked(dry: DryRun) -> Iterator[str]:
    scene, forms = dry.scene, dry.path.forms
    if scene is None:
        yield "stock and fixtures: none are given (--part, or --stock and --zero)"
    if dry.run.hole_stops:
        yield "time: what the hand takes at its stops is not counted"
    if dry.control.axes == "xy":
        yield "heights over the work: the quill is taken to be well up before each move"
    yield from _of_the_spindle(dry)
    if dry.run.tool_changes:
        yield "tool changes: where the machine moves during one"
    yield from travel.not_compared(dry)
    for one in dry.run.compensated:
        yield (
            f"where the tool is under cutter compensation, line {one.line} to {one.last_line}: up "
            f"to its radius to the {one.side} of the path as written"
        )
    if dry.run.lost:
        yield "where the tool is after a way home that nobody describes, until it is stated again"
    if scene is None:
        return
    if scene.material is None:
        yield "surface speeds: nothing says what the stock is made of"
    if not scene.fixtures:
        yield "vice, clamps and table: none are described"
    else:
        yield "whether jaws, parallels, clamps and table are where they are described"
    if not scene.underside_known:
        yield "what is under the stock"
    if not dry.is_placed and dry.path.moves.machine_only.any():
        yield (
            f"where machine positions are: the shop lists no offset for {scene.work_offset}, so "
            "the tool counts as clear of the work after a move in machine coordinates"
        )
    if any(form.use.kind is None for form in forms):
        yield "flutes, size and holder of tools that nothing describes"
    elif any(form.tool.reach_mm is None or form.tool.holder_diameter_mm is None for form in forms):
        yield "tool holders: reach and holder of some tools are not given"
    if dry.mills.any():
        yield "speed and feed of milling cutters, and whether all is milled that is to be"
        if dry.is_alone:
            yield "whether what is milled is to be kept: no part says so"
