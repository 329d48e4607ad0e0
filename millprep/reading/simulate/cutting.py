"""Spindle, speed, feed and pecks of the moves that cut: masks over columns."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.records import replace
from millprep.model.scene import Scene
from millprep.reading.moves import BY_HAND
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Figure, Found, found_at, runs_of
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, distinct
from millprep.reference.materials import Material, drill_feed_mm_per_rev
from millprep.reference.shared_rules import (
    DEEP_FROM_DIAMETERS,
    DEEP_PECK_DIAMETERS,
    NEXT_PECK_DIAMETERS,
    PECK_SLACK,
    PECK_SLACK_MM,
    SMALL_BELOW_MM,
    SMALL_PECK_DIAMETERS,
    SOLID_SHARE,
    TOUCH_MM,
)

FEED_EXCESS = 2.0
SAME_SPEED_RPM = 0.5  # speeds are listed to whole turns
TAPPING, LEFT_TAPPING = 84, 74  # cycles
USUAL_FIRST_PECK = 3.0  # diameters, where no material is named


def spindle_faults(dry: DryRun) -> Iterator[Found]:
    """Cutting with the spindle stopped, turning the wrong way, or at a speed it has not got."""
    path, moves, mill = dry.path, dry.path.moves, dry.mill
    by_hand = path.uses(lambda use: use.is_threading) & (moves.cycle == BY_HAND)
    cuts, turned = dry.cuts & ~by_hand, dry.cuts & by_hand & (moves.spindle != 0)
    if not dry.run.is_spindle_assumed:
        yield from runs_of(path, slips.SPINDLE_BY_HAND, turned, turned)
    is_still = (moves.spindle == 0) | (moves.rpm <= 0)
    turns = tool_turns(path)
    is_backwards = ~is_still & (moves.spindle == -turns)
    is_outside = ~is_still & ((moves.rpm < mill.slowest_rpm) | (moves.rpm > mill.fastest_rpm))

    def way(row: int) -> str:
        spindle, cycle = (
            ("M3, clockwise", TAPPING) if turns[row] > 0 else ("M4, anticlockwise", LEFT_TAPPING)
        )
        is_tapping = moves.cycle[row] in (LEFT_TAPPING, TAPPING)
        return spindle + (f", and its tapping cycle is G{cycle}" if is_tapping else "")

    is_unset = is_still & (moves.spindle != 0)
    yield from runs_of(path, slips.SPINDLE_STOPPED, is_still & ~is_unset & cuts, cuts)
    yield from _without_speed(dry, is_unset & cuts)
    yield from runs_of(path, slips.SPINDLE_BACKWARDS, is_backwards & cuts, cuts, way=way)
    limits = {"least": mill.slowest_rpm, "most": mill.fastest_rpm}
    yield from runs_of(path, slips.SPEED_OUTSIDE, is_outside & cuts, cuts, rpm=moves.rpm, **limits)
    yield from _between_steps(dry, cuts & ~is_still & ~is_outside)


def _without_speed(dry: DryRun, bad: Flags) -> Iterator[Found]:
    """Each start of the spindle with no speed given before the tool cuts, at the line of the M3."""
    starts, lines = np.array(dry.run.starts_without_speed or [(0, 0)]).T
    rows = np.flatnonzero(bad)
    of_each = np.maximum(np.searchsorted(starts, rows, side="right") - 1, 0)
    for start, at in zip(*np.unique(of_each, return_index=True), strict=True):
        found = found_at(dry.path, slips.SPEED_UNSTATED, int(rows[at]), start)
        line = int(lines[start]) or found.finding.line
        yield replace(found, finding=replace(found.finding, line=line, about=""))


def _between_steps(dry: DryRun, turns: Flags) -> Iterator[Found]:
    """Speeds that a spindle with listed ones does not have, each once: the belt gives another."""
    steps = np.array(sorted(dry.mill.speeds_rpm))
    rpm = dry.path.moves.rpm
    if dry.mill.speed_range_rpm or not steps.size:
        return
    for speed in distinct(rpm[turns]):
        if np.abs(steps - speed).min() > SAME_SPEED_RPM:
            at_it = turns & (rpm == speed)
            above = int(np.searchsorted(steps, speed))
            low, high = steps[above - 1 : above + 1].tolist()
            figures = {"rpm": speed, "low": low, "high": high}
            times = {"low_times": speed / low, "high_times": speed / high}
            yield from runs_of(dry.path, slips.SPEED_BETWEEN, at_it, at_it, **figures, **times)


def tool_turns(path: Path) -> Ints:
    """(N,) which way the tool in the spindle cuts: 1 clockwise, -1 anticlockwise.

    Of a tool that nothing describes only G74 says that it is a left-hand tap.
    """
    taps = [form.tap is not None and form.tap.is_left_hand for form in path.forms]
    is_left = path.is_unknown & (path.moves.cycle == LEFT_TAPPING)
    return np.where(np.array(taps)[path.form] | is_left, -1, 1)


def feed_faults(dry: DryRun) -> Iterator[Found]:
    """Feeds that are none, over the mill's, or more than the tool bears; taps apart."""
    path, moves = dry.path, dry.path.moves
    fed = path.is_feed & (moves.cycle != BY_HAND)
    material, mill_most = dry.material, dry.mill.max_feed_mm_per_min
    per_rev = moves.feed / moves.rpm
    most = path.each(lambda form: _most_per_rev(form, material))
    drills = dry.cuts & ~path.uses(lambda use: use.is_threading) & (moves.rpm > 0)
    is_coarse = drills & (per_rev > most * (1 + 1e-9))
    is_fast = fed & (moves.feed > mill_most + 1e-6)
    yield from runs_of(path, slips.NO_FEED, fed & ~(moves.feed > 0), fed)
    yield from runs_of(
        path, slips.FEED_OVER_MILL, is_fast, fed, feed_mm=moves.feed, most_mm=mill_most
    )
    yield from runs_of(
        path,
        slips.FEED_OVER_TOOL,
        is_coarse,
        drills,
        per_rev_mm=per_rev,
        feed_mm=moves.feed,
        rpm=moves.rpm,
        in_what=f" in {material.name}" if material is not None else "",
        most_mm=most / FEED_EXCESS * moves.rpm,
    )


def _most_per_rev(form: Form, material: Material | None) -> float | None:
    """Twice the highest feed of the tool [mm/rev]; None where nothing is known of it."""
    if form.tool.diameter_mm is None or form.use.most_feed is None:
        return None
    factor = material.feed_factor if material is not None else 1.0
    return FEED_EXCESS * form.use.most_feed * factor * drill_feed_mm_per_rev(form.tool.diameter_mm)


def peck_faults(dry: DryRun) -> Iterator[Found]:
    """Pecks deeper than the schedule: the first by material, then 1 d, below 5 d half of one."""
    path, strokes = dry.path, dry.strokes
    is_drilled = path.uses(lambda use: use.cuts_solid) & (path.stroke >= 0) & (path.radius > 0)
    rows = np.flatnonzero(dry.cuts & is_drilled)
    before = dry.before[rows]
    if dry.scene is not None and dry.scene.bodies:  # eased in and out, a bite is of several feeds
        is_on = (np.diff(rows) == 1) & (np.diff(path.stroke[rows]) == 0)
        before = before[np.flatnonzero(np.append(True, ~is_on))] if rows.size else before
        rows = rows[np.append(~is_on, True)] if rows.size else rows
    stroke, tip = path.stroke[rows], path.end[2, rows]
    diameter = 2 * path.radius[rows]
    point = path.each(lambda form: form.lead_mm)[rows]
    top, solid = strokes.top[stroke], strokes.solid[stroke]
    if dry.scene is not None and dry.scene.bodies:  # in each body of a stack they begin anew
        top = np.minimum(top, _top_of_body(dry.scene, tip))
        solid = np.minimum(solid, top)
    is_first = ~np.isfinite(before) | (before >= solid - TOUCH_MM)
    start = np.where(is_first, solid, before)
    bite = np.where(is_first, np.minimum(top - tip - point, start - tip), start - tip)
    done = np.where(is_first, 0.0, top - before - point)
    allowed = diameter * _peck_diameters(dry, is_first, done, diameter)
    is_solid = strokes.pilot[stroke] < SOLID_SHARE * diameter
    is_deep = is_solid & (bite > allowed * PECK_SLACK + PECK_SLACK_MM)
    for nth in np.flatnonzero(is_deep).tolist():
        of_it = {"bite_mm": bite[nth], "diameter_mm": diameter[nth], "allowed_mm": allowed[nth]}
        own = int(stroke[nth])
        yield found_at(path, slips.DEEP_PECK, int(rows[nth]), own, own, **of_it)


def _top_of_body(scene: Scene, tip: Floats) -> Floats:
    """(P,) Z at which the body begins that a tip is in, or has come out of."""
    tops = np.array([high for high, _ in scene.bodies])
    over: Floats = tops[np.maximum((tops[:, None] > tip + TOUCH_MM).sum(axis=0) - 1, 0)]
    return over


def _peck_diameters(dry: DryRun, is_first: Flags, done: Floats, diameter: Floats) -> Floats:
    """(P,) how many diameters deep each peck may be, where so much of the hole is done."""
    first = dry.material.first_peck_diameters if dry.material is not None else USUAL_FIRST_PECK
    deep = done >= DEEP_FROM_DIAMETERS * diameter - TOUCH_MM
    following = np.where(deep, DEEP_PECK_DIAMETERS, NEXT_PECK_DIAMETERS)
    usual = np.where(is_first, first, following)
    return np.where(diameter < SMALL_BELOW_MM, SMALL_PECK_DIAMETERS, usual)


SPEED_EXCESS = 2.0
ROUND_FIGURES = 1.02  # the table's figures are round, and so is what is said of a tip's flat
# A thickness of chip under the radius of the edge, 5 to 10 um, is not cut but rubbed (common
# practice): a tenth of the table's feed comes to that, a hundredth is nothing else.
RUBS, SURELY_RUBS = 0.1, 0.01
_STEEL_OR_CARBIDE = "if the tool is solid carbide, say so in the shop file: carbide = true"


def table_speed_m_per_min(form: Form, material: Material) -> float | None:
    """What the table of materials gives a tool; None for other kinds, and taps, which bear less."""
    usual = form.use.speed_m_per_min
    return None if usual is None else usual(material) * carbide_share(form, material)


def carbide_share(form: Form, material: Material) -> float:
    """Listed for drills; other tools are taken to gain as much. Where carbide has no advantage it
    is the material that bears no more."""
    if not form.tool.is_carbide or material.carbide_m_per_min is None:
        return 1.0
    return material.carbide_m_per_min / material.drill_m_per_min


def speed_faults(dry: DryRun) -> Iterator[Found]:
    """Upright cuts at more than twice the table's surface speed for tool and material."""
    path, cuts, material, rpm = dry.path, dry.cuts, dry.material, dry.path.moves.rpm
    if material is None:
        return
    widest = path.of_stroke(dry.strokes.widest)
    speed = np.pi * widest * rpm / 1000
    usual = path.each(lambda form: table_speed_m_per_min(form, material))
    drilling = path.each(lambda form: material.drill_m_per_min * carbide_share(form, material))
    is_slowest = rpm <= dry.mill.slowest_rpm * (1 + 1e-9)
    is_over = cuts & (path.moves.spindle != 0) & (speed > SPEED_EXCESS * ROUND_FIGURES * usual)
    chatters = path.uses(lambda use: use.chatters) & (speed <= SPEED_EXCESS * drilling)

    def advice(row: int) -> str:
        if is_slowest[row]:
            return "the mill turns no slower: turn it by hand, or use another tool"
        return f"give S{usual[row] * 1000 / (np.pi * widest[row]):.0f}; " + (
            "it chatters above, and burns soon after" if chatters[row] else _STEEL_OR_CARBIDE
        )

    def metal(row: int) -> str:
        return "carbide" if path.tool(row).is_carbide else "high speed steel"

    figures: dict[str, Figure] = {"speed_m_per_min": speed, "usual_m_per_min": usual}
    figures |= {"widest_mm": widest, "rpm": rpm}
    figures |= {"tool": lambda row: path.tool(row).kind, "material": material.name}
    is_doubt, template = is_slowest | chatters, slips.SPEED_OVER_TOOL
    doubt = replace(template, severity="warning")
    for slip, bad in ((template, is_over & ~is_doubt), (doubt, is_over & is_doubt)):
        yield from runs_of(path, slip, bad, cuts, metal=metal, advice=advice, **figures)


def low_feed_faults(dry: DryRun) -> Iterator[Found]:
    """Upright cuts under a tenth of the table's feed a turn: a decimal point that has slipped."""
    path, cuts, moves = dry.path, dry.cuts, dry.path.moves
    widest, share = path.of_stroke(dry.strokes.widest), path.each(lambda form: form.use.least_feed)
    rows = np.flatnonzero(cuts & (widest > 0) & ~np.isnan(share) & (moves.rpm > 0))
    factor = dry.material.feed_factor if dry.material is not None else 1.0
    usual = np.full(len(moves), np.nan)
    sizes, which = np.unique(widest[rows], return_inverse=True)
    feeds = np.array([drill_feed_mm_per_rev(size) for size in sizes.tolist()])
    usual[rows] = feeds[which] * share[rows] * factor
    per_rev = moves.feed / moves.rpm
    rubs, surely = (per_rev / usual < limit * (1 - 1e-9) for limit in (RUBS, SURELY_RUBS))
    stop = replace(slips.FEED_UNDER_TOOL, severity="stop")
    for template, bad in ((stop, surely), (slips.FEED_UNDER_TOOL, rubs & ~surely)):
        yield from runs_of(
            path,
            template,
            bad,
            cuts,
            per_rev_mm=per_rev,
            feed_mm=moves.feed,
            rpm=moves.rpm,
            usual_mm=usual,
            wanted_mm=usual * moves.rpm,
        )
