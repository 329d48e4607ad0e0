"""Surface speed at the diameter that cuts, and feeds so low that the tool only rubs.

Both against the table of materials, a start for a light mill: twice its speed and a tenth of its
feed lie beyond anything that is meant. Imports `dry_run`, `findings`, `slips` and the reference
table of materials.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.records import replace
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Figure, Found, runs_of
from millprep.reading.simulate.form import Form
from millprep.reference.materials import Material, drill_feed_mm_per_rev

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

    figures: dict[str, Figure] = {"speed": speed, "widest_mm": widest, "rpm": rpm, "usual": usual}
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
