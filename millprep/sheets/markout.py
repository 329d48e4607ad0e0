"""The marking-out list: heights as the gauge shows them, rounded once. Imports layers 0 to 4."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units, in_units, round_to
from millprep.model.part import OPPOSITE, Face, Part
from millprep.model.shop import Shop
from millprep.planning.marking import Cross, Standing, crosses_of, measure_first, standings_of
from millprep.sheets.figures import Figures
from millprep.sheets.hand_words import hand_line
from millprep.sheets.words import stock_words

_GAUGE_COUNT = {"mm": Decimal("0.01"), "inch": Decimal("0.0005")}
"""What height gauges commonly count (common practice)."""
_RULE_COUNT = {"mm": Decimal("0.1"), "inch": Decimal("0.01")}


@frozen
class MarkLine:
    """A line to scribe: hole, face, and from where to where, as a rule shows it."""

    hole: str
    face: Face
    from_face: Face
    start: Decimal
    end: Decimal


@frozen
class MarkHeight:
    """A setting of the gauge, as it shows it, with its lines; height_mm above the plate, exact."""

    height_mm: float
    gauge: Decimal
    lines: tuple[MarkLine, ...]

    @property
    def holes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(line.hole for line in self.lines))


@frozen
class MarkStanding:
    """The part on a face: what to mind, and the heights in rising order."""

    number: int
    face: Face
    up: Face
    is_datum: bool
    words: tuple[str, ...]
    inked: tuple[Face, ...]
    heights: tuple[MarkHeight, ...]


@frozen
class MarkCross:
    """A cross to look at and punch, with its distances from the two faces not measured from."""

    hole: str
    face: Face
    checks: tuple[tuple[Face, Decimal], tuple[Face, Decimal]]


@frozen
class MarkSheet:
    """The whole list. gauge_offset is what the gauge reads with the scriber on the plate."""

    part: str
    drawing: str
    mark: str
    units: Units
    stock: str
    count: Decimal
    gauge_offset: Decimal
    standings: tuple[MarkStanding, ...]
    crosses: tuple[MarkCross, ...]
    findings: tuple[Finding, ...]
    note: str = ""
    hand: tuple[str, ...] = ()

    @property
    def crosses_on(self) -> dict[str, int]:
        """How many crosses each face gets."""
        return dict(Counter(cross.face for cross in self.crosses))


def make_mark_sheet(
    part: Part,
    shop: Shop,
    units: Units,
    *,
    wanted: tuple[Face, ...] = (),
    gauge_offset_mm: float = 0.0,
    findings: Sequence[Finding] = (),
) -> MarkSheet:
    """The marking-out list of a part in a unit.

    wanted : faces to stand it on instead of the datum faces
    gauge_offset_mm : what the gauge reads with the scriber on the plate
    """
    standings = standings_of(part, wanted)
    figures = Figures(units, shop.readout)
    made = tuple(
        _standing(number, one, units, gauge_offset_mm) for number, one in enumerate(standings, 1)
    )
    made_crosses = crosses_of(part, standings)
    faces = dict.fromkeys(cross.face for cross in made_crosses)
    return MarkSheet(
        part.name,
        part.drawing,
        part.mark,
        units,
        stock_words(part, figures),
        _GAUGE_COUNT[units],
        _gauge(gauge_offset_mm, units),
        made,
        tuple(_cross(cross, units) for cross in made_crosses),
        (*findings, *measure_first(part, standings)),
        part.note,
        tuple(filter(None, dict.fromkeys(hand_line(part, face) for face in faces))),
    )


def _gauge(value_mm: float, units: Units) -> Decimal:
    return round_to(in_units(value_mm, units), _GAUGE_COUNT[units])


def _rule(value_mm: float, units: Units) -> Decimal:
    return round_to(in_units(value_mm, units), _RULE_COUNT[units])


def _standing(number: int, one: Standing, units: Units, offset_mm: float) -> MarkStanding:
    heights = tuple(
        MarkHeight(
            height.height_mm,
            _gauge(height.height_mm + offset_mm, units),
            tuple(
                MarkLine(
                    line.hole,
                    line.face,
                    line.from_face,
                    _rule(line.start_mm, units),
                    _rule(line.end_mm, units),
                )
                for line in height.lines
            ),
        )
        for height in one.heights
    )
    return MarkStanding(
        number,
        one.face,
        OPPOSITE[one.face],
        one.is_datum,
        _words(one, units, offset_mm),
        one.inked,
        heights,
    )


def _words(one: Standing, units: Units, offset_mm: float) -> tuple[str, ...]:
    face, up = one.face.upper(), OPPOSITE[one.face].upper()
    words = []
    if one.is_datum:
        words.append(f"the drawing measures from {face}: wipe it and the plate, feel for burrs")
    if one.centre_mm is not None:
        at = _gauge(one.centre_mm + offset_mm, units)
        words.append(
            f"the centre line stands at {at}, half the measured size: scribe it with {face} and "
            f"with {up} on the plate; the two lines must be one"
        )
    elif not one.is_datum:
        words.append(f"the drawing measures from {up}, which is up: heights use the measured size")
    if one.is_round:
        words.append(
            f"{face} is on the rim: clamp the disc to an angle plate with its lowest point on the "
            "plate, and turn it by a square for the next standing"
        )
    return tuple(words)


def _cross(cross: Cross, units: Units) -> MarkCross:
    (a, a_mm), (b, b_mm) = cross.checks_mm
    return MarkCross(cross.hole, cross.face, ((a, _gauge(a_mm, units)), (b, _gauge(b_mm, units))))
