"""A bore by passes of a boring head: from the drilled hole to size. Imports layers 0 to 3.

    drilled |--- first ---|--- most ---|--- most ---| last | last | bore      (on the diameter)

The first cut takes what does not go evenly into the others, so that the head is set to round
figures; the last two are alike, so that the bar springs alike in both (common practice).
"""

from __future__ import annotations

import math
from itertools import pairwise

from millprep.model.tools import BoringHead
from millprep.planning.plan import BoringPass
from millprep.reference.cutters import boring_cuts_mm
from millprep.reference.materials import Material

_SAME_MM = 1e-6
_LEAST_SHARE = 0.3  # of a full cut: a thinner first one would rub in a hole that runs out


def passes_of(drilled_mm: float, bore_mm: float, material: Material) -> list[BoringPass]:
    """The passes that open a drilled hole to a bore, in order."""
    most_mm, last_mm = boring_cuts_mm(material)
    last_mm = min(last_mm, (bore_mm - drilled_mm) / 2)
    rough_mm = bore_mm - 2 * last_mm - drilled_mm
    full = math.floor(rough_mm / most_mm + _SAME_MM)
    rest_mm = rough_mm - full * most_mm
    cuts = [rest_mm] if rest_mm > _SAME_MM else []
    cuts += [most_mm] * full
    if full and _SAME_MM < rest_mm < _LEAST_SHARE * most_mm:
        cuts[:2] = [(rest_mm + most_mm) / 2] * 2
    cuts += [last_mm, last_mm]
    bores = [bore_mm - sum(cuts[number:]) for number in range(len(cuts))] + [bore_mm]
    return [
        BoringPass(number, len(cuts), before, after)
        for number, (before, after) in enumerate(pairwise(bores), 1)
    ]


def dial_on_mm(head: BoringHead, one: BoringPass) -> float:
    """By how much the head's dial moves for a pass."""
    return (one.to_mm - one.from_mm) / (2 if head.dial == "radius" else 1)
