"""Inspection: what to measure of a finished part, and what the readings say of it.

Imports layers 0 to 3 and numpy.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from itertools import groupby

from millprep.base.records import frozen, replace
from millprep.inspection.checks import Check
from millprep.inspection.choice import PlaceChecks
from millprep.inspection.gauges import pins_of
from millprep.inspection.sizes import SizeChecks
from millprep.inspection.views import FaceView, views_of
from millprep.model.part import Part
from millprep.model.shop import Shop

__all__ = ["Check", "FaceView", "Inspection", "alike", "inspection_of"]


@frozen
class Inspection:
    """A part, the faces that it is measured from, and the checks in the order of the sheet."""

    part: Part
    shop: Shop
    views: tuple[FaceView, ...]
    checks: tuple[Check, ...]


def inspection_of(part: Part, shop: Shop) -> Inspection:
    """All that is to be measured of a part, setup by setup: places, then sizes by patterns."""
    views = views_of(part)
    numbered = (replace(check, number=n) for n, check in enumerate(_checks(part, shop, views), 1))
    return Inspection(part, shop, views, tuple(numbered))


def _checks(part: Part, shop: Shop, views: tuple[FaceView, ...]) -> Iterator[Check]:
    pins = pins_of(shop)
    for view in views:
        yield from PlaceChecks(view, shop, pins).choose()
        sizes = SizeChecks(part, shop, view.setup, pins)
        for _, holes in groupby(part.holes, key=lambda hole: hole.group):
            yield from _alike_together(c for hole in holes for c in sizes.of_hole(hole))


def _alike_together(checks: Iterable[Check]) -> Iterator[Check]:
    together: dict[Hashable, list[Check]] = {}
    for check in checks:
        together.setdefault(alike(check), []).append(check)
    for each in together.values():
        yield from each


def alike(check: Check) -> Hashable:
    """The same of checks of a pattern that are measured or tried one after the other."""
    return check.kind, check.to, check.expected_mm, check.note
