"""The dry run: what a program's moves would do to the stock, and what they do wrong.

Given moves and a scene, never the plan that made them. The spindle goes down upright tools; what
is removed is kept hole by hole (`record`), and everything else is masks over the columns of moves.
Linear in moves and holes. Imports layers 0 to 2, numpy and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.scene import Scene
from millprep.model.shop import Control, Mill
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.measure import extent_mm, path_mm
from millprep.reading.milled_rooms import MilledRoom, SidewaysCuts, rooms_of
from millprep.reading.moves import ProgramRun
from millprep.reading.simulate.approach import face_harms, first_move_harms, on_the_face
from millprep.reading.simulate.changes import change_harms
from millprep.reading.simulate.circles import circles_of
from millprep.reading.simulate.contact import contact_harms
from millprep.reading.simulate.cutting import feed_harms, peck_harms, spindle_harms
from millprep.reading.simulate.findings import Harm, capped, merged
from millprep.reading.simulate.finishing import finishing_harms
from millprep.reading.simulate.homing import home_harms
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Floats, Path, lowest_before, path_of
from millprep.reading.simulate.record import Record, fresh_record
from millprep.reading.simulate.sideways import (
    cuts_of,
    end_harms,
    milling,
    sideways_below_top,
    sideways_harms,
    system_harms,
    units_harms,
)
from millprep.reading.simulate.solid import TOUCH_MM
from millprep.reading.simulate.speeds import low_feed_harms, speed_harms
from millprep.reading.simulate.strokes import Strokes, run_strokes
from millprep.reading.simulate.taps import tap_harms
from millprep.reading.simulate.timing import ToolTime, seconds_each, tool_times
from millprep.reading.simulate.travel import Known, known_places, travel_harms
from millprep.reference.materials import material_named

__all__ = [
    "MadeHole", "MadeOperation", "Record", "Simulation", "ToolTime", "capped", "simulate",
]  # fmt: skip


@frozen
class Simulation:
    """What a dry run found.

    findings    : of the moves; those of the text are the reader's
    holes       : all that the stock has by now, those of earlier programs on it included
    time_s      : rapids, feeds and dwells; tool changes not counted
    tool_times  : the same for each tool, in the order of their changes
    extent_mm   : "x", "y", "z" -> [low, high] of the readings, None for an axis never moved
    not_checked : sentences
    record      : hand it to the next program on the same stock
    sideways    : the cuts below the top of the stock that do not go straight down
    milled      : the rooms that they take of the stock
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
    machine_place_known = scene is None or scene.work_offset in control.offsets_mm
    path = path_of(run, machine_place_known)
    record = fresh_record(scene) if record is None else record
    low, below = _below_top(path, scene)
    mills = milling(path, below)
    milled = _milled(record, path, mills, below, scene)
    before = lowest_before(path)
    rapids = np.flatnonzero(below & path.is_rapid)
    strokes = run_strokes(
        path,
        scene,
        record,
        milled,
        rapids,
        expects_spot=expects_spot,
        circles=circles_of(path, mills),
        file=file,
    )
    known = known_places(path, control, {n: tool.length_mm for n, tool in run.tools.items()})
    harms = [
        *_spindle_harms(path, before, below, strokes, scene, mill, control),
        *travel_harms(path, mill, known),
        *change_harms(path, run, scene, control, strokes),
        *end_harms(path, run, scene),
        *first_move_harms(path, run.blind_moves, _is_height_known(scene, control), scene),
    ]
    if scene is not None:
        harms += _scene_harms(path, scene, low, below, milled, strokes.clear)
        harms += face_harms(path, scene, strokes, milled)
        harms += home_harms(path, run, scene)
    seconds = seconds_each(run.moves, mill)
    sideways = cuts_of(path, mills)
    return Simulation(
        merged(harms, file),
        record.holes(),
        float(np.nansum(seconds)),
        extent_mm(run.moves),
        _not_checked(path, scene, mills, machine_place_known, known, is_alone=expects_spot),
        record,
        sideways,
        _rooms(sideways, scene),
        tool_times(run, seconds),
    )


def _spindle_harms(
    path: Path,
    before: Floats,
    below: Flags,
    strokes: Strokes,
    scene: Scene | None,
    mill: Mill,
    control: Control,
) -> Iterator[Harm]:
    """What the strokes do, in what state of the spindle, and how they go down."""
    cuts, dives = _cuts(path, before, strokes)
    all_cuts = cuts | (below & path.is_feed)
    yield from strokes.harms
    yield from _state_harms(path, all_cuts, before, strokes, scene, mill, control)
    if scene is not None:
        yield from _dive_harms(path, dives, before, strokes)


def _rooms(cuts: SidewaysCuts, scene: Scene | None) -> tuple[MilledRoom, ...]:
    if scene is None or not len(cuts):
        return ()
    stock, every = scene.stock, np.ones(len(cuts), dtype=bool)
    low, high = np.array(stock.low_mm), np.array(stock.high_mm)
    return tuple(rooms_of(cuts, every, low, high, stock.high_mm[2]))


def _scene_harms(
    path: Path, scene: Scene, low: Floats, below: Flags, milled: Milled | None, clear: list[int]
) -> list[Harm]:
    """What is wrong with where the moves go, holes apart."""
    return [
        *sideways_harms(path, scene, low, below, milled, clear),
        *contact_harms(path, scene),
        *units_harms(path, np.flatnonzero(path.is_feed & path.is_down), scene),
        *system_harms(path),
    ]


def _is_height_known(scene: Scene | None, control: Control) -> bool:
    """Whether the shop says where the tool stands before the first line, or a hand minds Z."""
    if control.axes == "xy":
        return True
    return bool(control.offsets_mm) if scene is None else scene.work_offset in control.offsets_mm


def _below_top(path: Path, scene: Scene | None) -> tuple[Floats, Flags]:
    if scene is not None:
        return sideways_below_top(path, scene)
    return np.full(len(path.moves), np.nan), np.zeros(len(path.moves), dtype=bool)


def _milled(
    record: Record, path: Path, mills: Flags, below: Flags, scene: Scene | None
) -> Milled | None:
    """What sideways cuts have left so far, this program's to come; None when there are none."""
    if scene is None or (record.milled is None and not mills.any()):
        return None
    if record.milled is None:
        record.milled = Milled(scene.stock, path_mm(path.moves)[mills], path.radius[mills])
    rapids = (below & path.is_rapid) | on_the_face(path, scene)
    record.milled.begin(path, mills, np.flatnonzero(rapids))
    return record.milled


def _cuts(path: Path, before: Floats, strokes: Strokes) -> tuple[Flags, Flags]:
    """(N,) upright feeds that cut, and upright rapids that go into solid material."""
    if not path.first.size:
        none = np.zeros(len(path.moves), dtype=bool)
        return none, none
    stroke = np.maximum(path.stroke, 0)
    down = path.is_down & (path.stroke >= 0)
    with np.errstate(invalid="ignore"):
        solid = np.fmin(strokes.solid[stroke], before)
        free = np.fmin(strokes.free[stroke], before)
        knows_solid = ~np.isnan(strokes.solid[stroke])
        cuts = down & path.is_feed & knows_solid & (path.end[2] < solid - TOUCH_MM)
        dives = down & path.is_rapid & ~np.isnan(strokes.free[stroke])
        dives &= path.end[2] < free - TOUCH_MM
    return cuts, dives


def _dive_harms(path: Path, dives: Flags, before: Floats, strokes: Strokes) -> list[Harm]:
    harms = []
    for row in np.flatnonzero(dives).tolist():
        x, y, z = path.end[:, row]
        stroke = int(path.stroke[row])
        free = min(float(strokes.free[stroke]), float(before[row]))
        harms.append(
            Harm(
                row,
                "stop",
                "rapid-into-stock",
                int(path.moves.line[row]),
                f"a rapid goes down to Z{z:.3f} at X{x:.3f} Y{y:.3f}, {free - z:.3f} mm into solid "
                f"material (free down to Z{free:.3f})",
                f"rapid to Z{free:.3f} or above, and feed from there",
                run=stroke,
            )
        )
    return harms


def _state_harms(
    path: Path,
    cuts: Flags,
    before: Floats,
    strokes: Strokes,
    scene: Scene | None,
    mill: Mill,
    control: Control,
) -> list[Harm]:
    """What is wrong with spindle, feed and pecks, and with taps, reamers and boring tools."""
    material = material_named(scene.material) if scene is not None and scene.material else None
    return [
        *spindle_harms(path, cuts, mill),
        *feed_harms(path, cuts, mill, material),
        *tap_harms(path, cuts, before, strokes, control, material),
        *finishing_harms(path, cuts, before, strokes),
        *peck_harms(path, cuts, before, strokes, material),
        *speed_harms(path, cuts, strokes, mill, material),
        *low_feed_harms(path, cuts, strokes, material),
    ]


def _not_checked(
    path: Path,
    scene: Scene | None,
    mills: Flags,
    machine_place_known: bool,
    known: Known,
    *,
    is_alone: bool,
) -> tuple[str, ...]:
    said = ["tool changes: where the machine moves during one", *_travel_words(path, known)]
    if scene is None:
        said.insert(0, "stock and fixtures: none are given (--part, or --stock and --zero)")
        return tuple(said)
    if scene.material is None:
        said.append("surface speeds: nothing says what the stock is made of")
    if not scene.fixtures:
        said.append("vice, clamps and table: none are described")
    else:
        said.append("whether jaws, parallels, clamps and table stand where they are described")
    if not scene.underside_known:
        said.append("what lies under the stock")
    if not machine_place_known:
        said.append(
            f"where machine positions lie: the shop lists no offset for {scene.work_offset}, so "
            "the tool counts as clear of the work after a move in machine coordinates"
        )
    if any(form.kind is None for form in path.forms):
        said.append("flutes, size and holder of tools that nothing describes")
    elif any(form.reach_mm is None or form.holder_radius_mm is None for form in path.forms):
        said.append("tool holders: reach and holder of some tools are not given")
    if mills.any():
        said.append("speed and feed of milling cutters, and whether all is milled that is to be")
        if is_alone:
            said.append("whether what is milled is to be kept: no part says so")
    return tuple(said)


def _travel_words(path: Path, known: Known) -> list[str]:
    """Where the mill's travel could be compared by its length only."""
    in_work = ~path.moves.machine_only
    if not (in_work & ~known.height).any():
        return []
    if not (in_work & ~known.across).any():
        return ["travel in Z, but for its length: the lengths of some tools are not listed"]
    return ["travel, but for its length: the shop does not list where the work stands (offsets)"]
