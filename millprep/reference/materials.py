"""Materials: how fast, how much a turn, how long a chip. High speed steel unless carbide is named.

Speeds are a start for a light mill, not a limit of the tool. Imports the standard library and
layer 0.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache

from millprep.base.records import frozen
from millprep.reference.drills import SAME_SIZE_MM, interpolated, oversize_mm
from millprep.reference.tables import Row, Source, load_table

# Shares of the drilling speed. Source: TC 9-524, reaming at half the drilling speed,
# countersinking and counterboring at a quarter to a third; common practice.
REAM_SHARE = 0.5
COUNTERSINK_SHARE = 0.3
HAND_REAM_STOCK_MM = (0.05, 0.1)  # in the drilled hole: 0.002 to 0.004 in (common practice)
SNATCHING = frozenset({"brass", "gunmetal", "phosphor bronze", "acrylic"})
"""They draw a drill with hooked lips into a smaller hole, or crack there (common practice)."""
TAP_SPEED_EXCESS = 1.5  # over the table's speed that a tap still bears (common practice)


@frozen
class Material:
    """One kind of material.

    *_m_per_min          : cutting speeds; feed_factor multiplies `drill_feed_mm_per_rev`
    carbide_m_per_min    : of a solid carbide drill; None where it has no advantage
    first_peck_diameters : depth of the first peck, in drill diameters
    long_chips           : clear the flutes wholly at every peck
    work_hardens         : never dwell
    burns                : its fine swarf does: what to mind stands on every sheet
    """

    name: str
    aliases: tuple[str, ...]
    group: str
    drill_m_per_min: float
    ream_m_per_min: float
    tap_m_per_min: float
    countersink_m_per_min: float
    feed_factor: float
    first_peck_diameters: float
    long_chips: bool
    work_hardens: bool
    burns: bool
    lubricant: str
    advice: str
    source: Source
    carbide_m_per_min: float | None = None

    @property
    def snatches(self) -> bool:
        """Whether a drill that opens out a hole wants its lips dulled."""
        return self.name in SNATCHING

    def most_tap_rpm(self, major_mm: float) -> float:
        """The speed beyond which a tap of that diameter is run too fast [rev/min]."""
        return TAP_SPEED_EXCESS * 1000 * self.tap_m_per_min / (math.pi * major_mm)


@cache
def materials() -> tuple[Material, ...]:
    """Every material, in alphabetical order."""
    table = load_table("materials")
    return tuple(_material(row, table.source) for row in table.rows)


def _material(row: Row, source: Source) -> Material:
    speed, carbide = float(row["drill_m_per_min"]), row["carbide_m_per_min"]
    return Material(
        name=row["name"],
        aliases=tuple(row["aliases"]),
        group=row["group"],
        drill_m_per_min=speed,
        ream_m_per_min=speed * REAM_SHARE,
        tap_m_per_min=float(row["tap_m_per_min"]),
        countersink_m_per_min=speed * COUNTERSINK_SHARE,
        feed_factor=float(row["feed_factor"]),
        first_peck_diameters=float(row["first_peck_diameters"]),
        long_chips=row["long_chips"],
        work_hardens=row["work_hardens"],
        burns=row["burns"],
        lubricant=row["lubricant"],
        advice=row["advice"],
        source=source,
        carbide_m_per_min=None if carbide == "" else float(carbide),
    )


def _plain(words: str) -> str:
    """Lower case, one blank between words; "EN 1A" and "EN-1A" as "en1a"."""
    text = " ".join(words.casefold().replace("_", " ").split())
    return re.sub(r"\b(en|cz|pb|sae|lm|he|lg|bs|aisi)[ -]?(?=\d)", r"\1", text)


@cache
def _aliases() -> tuple[tuple[str, Material], ...]:
    """Every alias with its material, the longest first so that the closest description wins."""
    pairs = [(_plain(alias), material) for material in materials() for alias in material.aliases]
    return tuple(sorted(pairs, key=lambda pair: (-len(pair[0]), pair[0])))


def whole_material(words: str) -> Material | None:
    """The material whose name or alias the words are, in any case, and nothing beside it."""
    text = _plain(words)
    return next((material for alias, material in _aliases() if alias == text), None)


@lru_cache(maxsize=256)  # asked for at every hole of a part
def material_named(words: str) -> Material | None:
    """The material that the words name, in any case: a whole alias, else one inside, or None.

    "aluminium 6082" and "6082-T6 plate" are aluminium; the longest alias found decides.
    """
    text = _plain(words)
    for alias, material in _aliases():
        if _stands_alone(alias, text):
            return material
    return None


def _stands_alone(alias: str, text: str) -> bool:
    """Whether the alias is in the text as words of its own, not as a part of longer ones."""
    start = text.find(alias)
    while start >= 0:
        end = start + len(alias)
        beside = text[max(start - 1, 0) : start] + text[end : end + 1]
        if not any(letter.isalnum() or letter in "_." for letter in beside):
            return True
        start = text.find(alias, start + 1)
    return False


def drill_feed_mm_per_rev(diameter_mm: float) -> float:
    """Feed of a drill [mm a turn] before the material's factor; level beyond 0.5 and 25 mm."""
    points = [
        (float(row["diameter_mm"]), float(row["feed_mm_per_rev"]))
        for row in load_table("feeds-drill").rows
    ]
    return interpolated(points, diameter_mm)


def ream_stock_mm(
    diameter_mm: float, material: Material | None = None, is_hand: bool = False
) -> tuple[float, float]:
    """Least and most of reamer less drill [mm], by material.

    A hand reamer's little stock counts in the hole as the drill leaves it, which is a little wider.
    """
    if is_hand:
        over_mm = oversize_mm(diameter_mm)
        return HAND_REAM_STOCK_MM[0] + over_mm, HAND_REAM_STOCK_MM[1] + over_mm
    rows = load_table("ream-stock").rows
    for row in rows:
        if diameter_mm <= float(row["up_to_mm"]) + SAME_SIZE_MM:
            break
    share = _ream_share(material) if material is not None else 1.0
    return round(float(row["least_mm"]) * share, 4), round(float(row["most_mm"]) * share, 4)


def _ream_share(material: Material) -> float:
    shares = load_table("ream-stock-shares").rows
    return next((float(row["share"]) for row in shares if row["group"] == material.group), 1.0)
