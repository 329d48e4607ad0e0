"""Surface speed at the diameter that cuts, and feeds so low that the tool only rubs.

Both against the table of materials, a start for a light mill: twice its speed and a tenth of its
feed lie beyond anything that is meant. Imports `cutting`, `path`, `findings`, the shop and the
reference table of materials.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np

from millprep.model.shop import Mill
from millprep.reading.simulate.cutting import REAMER_FEED_SHARE, harms_at
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.path import Flags, Floats, Path
from millprep.reading.simulate.strokes import Strokes
from millprep.reference.materials import Material, drill_feed_mm_per_rev

SPEED_EXCESS = 2.0
ROUND_FIGURES = 1.02  # the table's figures are round, and so is what is said of a tip's flat
CHATTER_KINDS = ("countersink", "counterbore")
"""Run at a third of the drilling speed lest they chatter (TC 9-524), not lest they burn."""
# Spot drills and recesses are fed at half the drill's feed, reamers at two to three times it
# (common practice). A thickness of chip under the radius of the edge, 5 to 10 um, is not cut but
# rubbed (common practice): a tenth of the table's feed comes to that, a hundredth is nothing else.
LEAST_SHARES = {
    "drill": 1.0,
    "reamer": REAMER_FEED_SHARE,
    "spot drill": 0.5,
    "countersink": 0.5,
    "counterbore": 0.5,
}
RUBS, SURELY_RUBS = 0.1, 0.01


def table_speed_m_per_min(form: Form, material: Material) -> float:
    """What the table of materials gives a tool; nan for other kinds, and taps, which bear less."""
    speeds = {
        "drill": material.drill_m_per_min,
        "spot drill": material.drill_m_per_min,
        "reamer": material.ream_m_per_min,
        **dict.fromkeys(CHATTER_KINDS, material.countersink_m_per_min),
    }
    return speeds.get(form.kind or "", math.nan) * carbide_share(form, material)


def carbide_share(form: Form, material: Material) -> float:
    """Listed for drills; other tools are taken to gain as much. Where carbide has no advantage it
    is the material that bears no more."""
    if not form.is_carbide or material.carbide_m_per_min is None:
        return 1.0
    return material.carbide_m_per_min / material.drill_m_per_min


def speed_harms(
    path: Path, cuts: Flags, strokes: Strokes, mill: Mill, material: Material | None
) -> list[Harm]:
    """Upright cuts at more than twice the table's surface speed for tool and material."""
    if material is None or not path.first.size:
        return []
    rpm = path.moves.rpm
    widest = _widest(path, strokes)
    speed = np.pi * widest * rpm / 1000
    usual = np.array([table_speed_m_per_min(form, material) for form in path.forms])[path.form]
    drilling = np.array(
        [material.drill_m_per_min * carbide_share(form, material) for form in path.forms]
    )[path.form]
    chatters = path.has_kind(*CHATTER_KINDS)
    is_slowest = rpm <= mill.slowest_rpm * (1 + 1e-9)
    with np.errstate(invalid="ignore"):
        is_over = cuts & (path.moves.spindle != 0) & (speed > SPEED_EXCESS * ROUND_FIGURES * usual)
        is_doubt = is_slowest | (chatters & (speed <= SPEED_EXCESS * drilling))

    def words(row: int) -> tuple[str, str]:
        form = path.forms[int(path.form[row])]
        metal = "carbide" if form.is_carbide else "high speed steel"
        message = (
            f"{speed[row]:.0f} m/min where the {form.kind} cuts {widest[row]:.2f} mm wide "
            f"(S{rpm[row]:g}): over twice the table's {usual[row]:.3g} for {metal} in "
            f"{material.name}"
        )
        if is_slowest[row]:
            return message, "the mill turns no slower: turn it by hand, or use another tool"
        return message, f"give S{usual[row] * 1000 / (np.pi * widest[row]):.0f}; " + (
            "it chatters above, and burns soon after" if is_doubt[row] else _STEEL_OR_CARBIDE
        )

    return [
        *harms_at(path, is_over & ~is_doubt, cuts, "stop", "speed-over-tool", words),
        *harms_at(path, is_over & is_doubt, cuts, "warning", "speed-over-tool", words),
    ]


_STEEL_OR_CARBIDE = "if the tool is solid carbide, say so in the shop file: carbide = true"


def _widest(path: Path, strokes: Strokes) -> Floats:
    """(N,) diameter of the widest ring that a move's stroke cuts; nan outside strokes."""
    return np.where(path.stroke >= 0, strokes.widest[np.maximum(path.stroke, 0)], np.nan)


def _plain(value: float) -> str:
    """Two figures, without an exponent."""
    return f"{Decimal(f'{value:.2g}'):f}"


def low_feed_harms(
    path: Path, cuts: Flags, strokes: Strokes, material: Material | None
) -> list[Harm]:
    """Upright cuts under a tenth of the table's feed a turn: a decimal point that has slipped."""
    if not path.first.size:
        return []
    moves = path.moves
    widest = _widest(path, strokes)
    shares = np.array([LEAST_SHARES.get(form.kind or "", np.nan) for form in path.forms])[path.form]
    rows = np.flatnonzero(cuts & (widest > 0) & ~np.isnan(shares) & (moves.rpm > 0))
    factor = material.feed_factor if material is not None else 1.0
    usual = np.full(len(moves), np.nan)
    sizes, which = np.unique(widest[rows], return_inverse=True)
    feeds = np.array([drill_feed_mm_per_rev(size) for size in sizes.tolist()])
    usual[rows] = feeds[which] * shares[rows] * factor
    with np.errstate(invalid="ignore", divide="ignore"):
        share = moves.feed / moves.rpm / usual

    def words(row: int) -> tuple[str, str]:
        return (
            f"{_plain(moves.feed[row] / moves.rpm[row])} mm a turn ({_plain(moves.feed[row])} "
            f"mm/min at S{moves.rpm[row]:g}): the tool rubs; the table's is {_plain(usual[row])} "
            "mm a turn",
            f"give about {_plain(usual[row] * moves.rpm[row])} mm/min: is the decimal point in its "
            "place?",
        )

    with np.errstate(invalid="ignore"):
        rubs, surely = share < RUBS * (1 - 1e-9), share < SURELY_RUBS * (1 - 1e-9)
    return [
        *harms_at(path, surely, cuts, "stop", "feed-under-tool", words),
        *harms_at(path, rubs & ~surely, cuts, "warning", "feed-under-tool", words),
    ]
