"""What may be measured of a part, by hand: distances, zones and sizes, and where each rule begins.

Holes of 6 mm in 60 x 40 x 20 mm, from the left and the front.
"""

from __future__ import annotations

import math

import pytest
from jobs import shop_of
from test_witness import CONE, SUNK, hole, part, tapped

from millprep.base.records import replace
from millprep.model.part import Datum, Hole, Opened, Part
from millprep.reference.drills import drilled_limits_mm, oversize_mm
from millprep.witness.lengths import (
    Drawn,
    Length,
    diameter_of,
    least_and_expected_mm,
    measured_by,
    place_of,
    size_of,
    sized_by,
)

OF_LEFT = Datum("left", "front", "top")
SHOP = shop_of()
INSTRUMENTS = replace(
    SHOP.instruments,
    calliper=replace(SHOP.instruments.calliper, largest_mm=150.0, uncertainty_mm=0.02),
    micrometer=replace(SHOP.instruments.micrometer, largest_mm=25.0, uncertainty_mm=0.004),
    bore_gauge=replace(SHOP.instruments.bore_gauge, largest_mm=18.0),
)
OWN = replace(SHOP, instruments=INSTRUMENTS)


def reamed(name: str, x: float, y: float, **more: object) -> Hole:
    return hole("ream", 6.0, name=name, group=name, centre_mm=(x, y, 20.0), **more)


NEAR, FAR = reamed("a", 10.0, 10.0), reamed("b", 34.0, 28.0)


def drawn(*holes: Hole, **more: object) -> Drawn:
    of: Part = replace(part(*holes), datum=OF_LEFT)
    return Drawn(replace(of, **more), OWN)


@pytest.mark.parametrize(
    ("length", "off"),
    [
        (6.0, 0.1), (6.01, 0.2), (-6.01, 0.2), (30.0, 0.2), (30.01, 0.3), (120.0, 0.3),
        (120.01, 0.5), (400.0, 0.5), (400.01, 0.8), (1000.0, 0.8), (1000.01, 1.2), (2500.0, 1.2),
    ],
)  # fmt: skip
def test_what_is_usual_of_a_length(length: float, off: float) -> None:
    """ISO 2768-1, class m."""
    assert drawn().usual_mm(length) == off


def test_where_a_centre_may_lie() -> None:
    one = drawn(NEAR, FAR)
    assert one.zone(replace(NEAR, position_mm=0.2)) == (0.1, True)
    assert one.zone(replace(NEAR, tolerance_mm=0.05)) == (0.05, False)
    assert drawn(general_tolerance_mm=0.15).zone(NEAR) == (0.15, False)
    assert drawn(general_tolerance_mm=0.15).zone(replace(NEAR, tolerance_mm=0.05)) == (0.05, False)
    assert (one.zone(NEAR), one.zone(FAR)) == ((0.2, False), (0.3, False))
    middle = drawn(datum=Datum("centre", "centre", "top"))
    assert middle.zone(reamed("c", 30.0, 20.0)) == (0.1, False)
    assert middle.zone(reamed("c", 30.0, 13.9)) == (0.2, False)
    # along 3 to 4 a square zone reaches 0.6 and 0.8 of its half, a round one its half
    assert one.reach_mm(NEAR, (0.6, -0.8)) == pytest.approx(0.28)
    assert one.reach_mm(replace(NEAR, position_mm=0.2), (0.6, 0.8)) == pytest.approx(0.1)


def test_the_hole_that_a_pin_goes_into() -> None:
    assert least_and_expected_mm(NEAR) == pytest.approx((6.0, 6.012))  # H7 of 6 mm: 0 to 12 um
    assert least_and_expected_mm(replace(NEAR, limits_um=(-8.0, 4.0))) == pytest.approx(
        (5.992, 6.004)
    )
    assert least_and_expected_mm(tapped()) == pytest.approx((5.0, 5.0 + oversize_mm(5.0)))
    assert least_and_expected_mm(hole()) == pytest.approx((5.0, 5.0 + oversize_mm(5.0)))


@pytest.mark.parametrize(
    ("kind", "length", "shake", "finest", "wanted"),
    [
        ("between pins", 10.0, 0.0, 1.0, ("calliper", True)),
        ("edge to hole", 10.0, 1.0, 1.0, ("calliper", False)),
        ("rim to hole", 10.0, 1.0, 1.0, ("calliper", False)),
        # a quarter of the narrower zone
        ("over pins", 10.0, 0.0, 0.08, ("calliper", False)),
        ("over pins", 10.0, 0.001, 0.08, ("calliper", True)),
        ("over pins", 150.0, 0.001, 0.09, ("calliper", False)),
        ("over pins", 25.0, 0.01, 0.0799, ("micrometer", False)),
        ("over pins", 25.0, 0.017, 0.0799, ("micrometer", True)),
        ("over pins", 25.01, 0.0049, 0.0799, ("calliper", False)),  # nothing is fine enough
        ("over pins", 25.01, 0.0051, 0.0799, ("calliper", True)),
        ("over pins", 25.0, 0.0009, 0.0159, ("micrometer", False)),
        ("over pins", 25.0, 0.0011, 0.0159, ("micrometer", True)),
        ("over pins", 150.01, 0.0, 1.0, ("none", False)),
        ("over pins", 150.01, 0.1, 1.0, ("none", True)),
    ],
)
def test_by_what_a_place_is_measured(
    kind: str, length: float, shake: float, finest: float, wanted: tuple[str, bool]
) -> None:
    assert measured_by(OWN, kind, (length, 0.0, 0.0, shake, finest)) == wanted


@pytest.mark.parametrize(
    ("size", "limits", "by"),
    [
        (5.0, None, "calliper"),
        (4.99, None, "bore gauge"),
        (150.0, None, "calliper"),
        (16.0, (0.0, 80.0), "calliper"),
        (16.0, (-10.0, 70.0), "calliper"),
        (16.0, (0.0, 79.0), "bore gauge"),
        (18.0, (0.0, 18.0), "bore gauge"),
        (18.01, (0.0, 18.0), "calliper"),
        (150.01, None, "calliper"),
    ],
)
def test_by_what_a_size_is_measured(
    size: float, limits: tuple[float, float] | None, by: str
) -> None:
    one = hole("bore", size, limits_um=limits)
    assert sized_by(OWN, "size", one) == by
    assert sized_by(OWN, "depth", one) == "calliper"


def length(kind: str, to: str, *pins: float) -> Length:
    return Length(kind, "a", to, pins, "top")


@pytest.mark.parametrize(
    ("what", "right"),
    [
        (length("edge to pin", "LEFT", 6.0), (13.0, 12.8, 13.2, 0.006, 0.4)),
        (length("edge to pin", "front", 6.0), (13.0, 12.8, 13.2, 0.006, 0.4)),
        (length("edge to pin", "RIGHT", 5.5), (52.75, 52.55, 52.95, 0.256, 0.4)),
        (length("edge to pin", "BACK", 6.0), (33.0, 32.8, 33.2, 0.006, 0.4)),
        (length("edge to hole", "LEFT"), (6.997, 6.797, 7.197, 0.006, 0.4)),
        # 24 and 18 apart are 30; along them the zones reach 1.4 of 0.2 and of 0.3
        (length("over pins", "b", 6.0, 6.0), (36.0, 35.3, 36.7, 0.012, 0.56)),
        (length("over pins", "b", 6.0, 5.6), (35.8, 35.1, 36.5, 0.212, 0.56)),
        (length("between pins", "b", 6.0, 6.0), (24.0, 23.3, 24.7, 0.012, 0.56)),
        (length("edge to pin", "TOP", 6.0), None),
        (length("edge to pin", "lid", 6.0), None),
        (length("edge to pin", "LEFT"), None),
        (length("edge to pin", "LEFT", 6.0, 6.0), None),
        (length("over pins", "c", 6.0, 6.0), None),
        (length("over pins", "a", 6.0, 6.0), None),
        (length("over pins", "side", 6.0, 6.0), None),
        (length("over pins", "same", 6.0, 6.0), None),
        (length("rim to pin", "", 6.0), None),
        # a pin is half a millimetre thinner at the most
        (length("edge to pin", "LEFT", 5.4998), None),
        (length("edge to pin", "LEFT", 5.49995), (12.749975, 12.549975, 12.949975, 0.256025, 0.4)),
        (length("edge to pin", "LEFT", 6.0001), (13.00005, 12.80005, 13.20005, 0.00595, 0.4)),
        (length("edge to pin", "LEFT", 6.0002), None),
    ],
)
def test_where_a_hole_is_by_what_is_read(what: Length, right: tuple[float, ...] | None) -> None:
    aside = replace(reamed("side", 10.0, 0.0), face="front", centre_mm=(30.0, 0.0, 10.0))
    same = reamed("same", 10.0, 10.0)
    found = place_of(drawn(NEAR, FAR, aside, same), what, NEAR)
    assert found == (None if right is None else pytest.approx(right))


def test_from_the_rim_of_a_disc() -> None:
    """40 mm across, a hole 12 and 5 from its middle: 13 away, 7 from the rim."""
    disc = replace(part().stock, size_mm=(40.0, 40.0, 20.0), nominal_mm=(40.0, 40.0, 20.0), axis=2)
    one = reamed("a", 32.0, 25.0, tolerance_mm=0.1)
    of = drawn(one, stock=disc)
    reach = 0.1 * (12 + 5) / 13
    for kind, pins, added in (("rim to pin", (6.0,), 3.0), ("rim to hole", (), -3.003)):
        found = place_of(of, length(kind, "", *pins), one)
        assert found is not None
        assert found == pytest.approx(
            (7 + added, 7 + added - reach, 7 + added + reach, 0.006, 2 * reach)
        )
    middle = reamed("a", 20.0, 20.0)
    assert place_of(of, length("rim to pin", "", 6.0), middle) is None


@pytest.mark.parametrize(
    ("one", "kind", "to", "size"),
    [
        (hole(), "depth", "", 12.0),
        (hole(is_through=True), "depth", "", None),
        (hole(opened=(Opened(6.6, 6.0, "M6"),)), "opened", "M6", 6.6),
        (hole(opened=(Opened(6.6, 6.0, "M6"),)), "opened", "M8", None),
        (hole(mouth=SUNK), "counterbore", "", 8.0),
        (hole(mouth=SUNK), "counterbore depth", "", 4.4),
        (hole(mouth=CONE), "countersink", "", 8.96),
        (hole(mouth=CONE), "counterbore", "", None),
        (hole(mouth=CONE), "spotface", "", None),
        (hole(mouth=SUNK), "countersink", "", None),
        (hole(far=CONE), "countersink", "", None),
        (tapped(), "size", "", None),
    ],
)
def test_sizes_and_depths(one: Hole, kind: str, to: str, size: float | None) -> None:
    found = size_of(drawn(one), length(kind, to), one)
    if size is None:
        assert found is None
    else:
        off = 0.1 if size <= 6 else 0.2
        assert found == pytest.approx((size, size - off, size + off, 0.0, 0.0))


def test_diameters_as_drawn_as_a_drill_leaves_them_and_as_is_usual() -> None:
    close = replace(NEAR, limits_um=(-8.0, 4.0))
    assert diameter_of(drawn(), close) == pytest.approx((5.998, 5.992, 6.004))
    drilled = drilled_limits_mm(5.0)
    assert drilled is not None
    assert diameter_of(drawn(), hole()) == (5.0, *drilled)
    assert diameter_of(drawn(), NEAR) == pytest.approx((6.0, 5.9, 6.1))
    far = size_of(drawn(close), length("size", ""), close)
    assert far == pytest.approx((5.998, 5.992, 6.004, 0.0, 0.0))


def test_the_pin_that_a_figure_tells() -> None:
    own = drawn()
    sizes = sorted(own.pins.values())
    assert own.nearest_pin_mm(sizes[0] + 1e-4) == sizes[0]
    assert own.nearest_pin_mm(1000.0) == sizes[-1]
    bare = replace(OWN, instruments=replace(INSTRUMENTS, pins=()),
                   cabinet=replace(OWN.cabinet, drills=()))  # fmt: skip
    assert math.isnan(Drawn(part(), bare).nearest_pin_mm(6.0))
