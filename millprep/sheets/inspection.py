"""The inspection sheet and its verdicts, each figure rounded once. Imports layers 0 to 4.

Expected readings are shown as their instrument shows them; limits are rounded inwards, so that no
reading that the sheet lets pass is outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import chain, groupby

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units, in_units, round_to
from millprep.inspection import Check, Inspection, alike
from millprep.inspection.gauges import COARSE_SHARE, InstrumentName
from millprep.inspection.judging import Judged
from millprep.inspection.limits import USUAL, Decision, Limits
from millprep.inspection.verdicts import CheckVerdict, HoleVerdict
from millprep.model.part import Face
from millprep.model.readings import WALL_KINDS
from millprep.model.shop import Shop
from millprep.sheets.figures import Figures
from millprep.sheets.words import stock_words

_COARSER = {"mm": Decimal("0.01"), "inch": Decimal("0.0005")}
_FINER = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
"""Counts of callipers, and of micrometers and what is read by them (common practice)."""


@frozen
class CheckLine:
    """A check as printed; the exact figures stay with `check`, in millimetres."""

    check: Check
    group: str
    pins: tuple[str, ...]
    expect: Decimal | None
    least: Decimal | None
    greatest: Decimal | None


@frozen
class InspectionFace:
    """What is measured with one face before you."""

    setup: int
    face: Face
    places: tuple[CheckLine, ...]
    sizes: tuple[tuple[CheckLine, ...], ...]
    """Lines of one kind and one pattern together."""


@frozen
class InspectionSheet:
    """The sheet without measurements."""

    part: str
    drawing: str
    mark: str
    units: Units
    stock: str
    instruments: tuple[str, ...]
    pins: tuple[str, ...]
    faces: tuple[InspectionFace, ...]
    assumed: tuple[str, ...]
    findings: tuple[Finding, ...]
    note: str = ""


@frozen
class HoleLine:
    """A hole judged, as printed; allowed is the zone's diameter or plus and minus, in words."""

    judged: HoleVerdict
    dx: Decimal | None
    dy: Decimal | None
    true_position: Decimal | None
    allowed: str
    size: Decimal | None
    size_limits: str


@frozen
class ReadingLine:
    """A reading judged, as printed."""

    judged: CheckVerdict
    reading: str
    limits: str


@frozen
class VerdictSheet:
    """The sheet with measurements."""

    part: str
    drawing: str
    mark: str
    units: Units
    piece: str
    date: str
    source: str
    holes: tuple[HoleLine, ...]
    readings: tuple[ReadingLine, ...]
    assumed: tuple[str, ...]
    findings: tuple[Finding, ...]

    def count(self, verdict: Decision) -> int:
        return sum(line.judged.verdict == verdict for line in self.holes)


def _count_of(instrument: InstrumentName, units: Units) -> Decimal:
    return (_COARSER if instrument == "calliper" else _FINER)[units]


def inwards(value_mm: float | None, count: Decimal, units: Units, up: bool) -> Decimal | None:
    """A limit rounded to the side on which readings are good."""
    if value_mm is None:
        return None
    counts = round(Decimal(repr(in_units(value_mm, units))) / count, 9)
    whole = counts.quantize(Decimal(1), rounding=ROUND_CEILING if up else ROUND_FLOOR)
    return whole * count


def make_inspection_sheet(
    inspection: Inspection, units: Units, findings: Sequence[Finding], setup: int | None = None
) -> InspectionSheet:
    """The sheet in a unit; setup: that one alone."""
    part, shop = inspection.part, inspection.shop
    groups = {hole.name: hole.group for hole in part.holes}
    faces = []
    for view in inspection.views:
        if setup not in (None, view.setup.number):
            continue
        checks = [c for c in inspection.checks if c.setup == view.setup.number]
        if not checks and setup is None:
            continue
        lines = [_line(check, groups[check.hole], units) for check in checks]
        faces.append(
            InspectionFace(
                view.setup.number,
                view.setup.face,
                tuple(line for line in lines if line.check.is_place),
                _sizes(lines),
            )
        )
    used = [c for face in faces for c in _checks(face)]
    figures = Figures(units, shop.readout)
    return InspectionSheet(
        part.name,
        part.drawing,
        part.mark,
        units,
        stock_words(part, figures),
        _instruments(shop, used, units),
        _pins(used),
        tuple(faces),
        _assumed(inspection, used),
        tuple(findings),
        part.note,
    )


def _checks(face: InspectionFace) -> list[Check]:
    return [line.check for line in (*face.places, *chain.from_iterable(face.sizes))]


def _line(check: Check, group: str, units: Units) -> CheckLine:
    count = _count_of(check.instrument, units)
    expect = least = greatest = None
    if check.expected_mm is not None:
        limits = check.limits
        expect = round_to(in_units(check.expected_mm, units), count)
        least = inwards(limits.least_mm if limits else None, count, units, up=True)
        greatest = inwards(limits.greatest_mm if limits else None, count, units, up=False)
    return CheckLine(check, group, tuple(pin.words for pin in check.pins), expect, least, greatest)


def _sizes(lines: Sequence[CheckLine]) -> tuple[tuple[CheckLine, ...], ...]:
    """Pattern by pattern in the order of the sheet, what is alike together."""
    others = [line for line in lines if not line.check.is_place]
    runs = groupby(others, key=lambda line: (line.group, alike(line.check)))
    return tuple(tuple(run) for _, run in runs)


def _instruments(shop: Shop, checks: Sequence[Check], units: Units) -> tuple[str, ...]:
    tools = shop.instruments
    known = {
        "calliper": tools.calliper,
        "micrometer": tools.micrometer,
        "bore gauge": tools.bore_gauge,
    }
    words = []
    for name in dict.fromkeys(check.instrument for check in checks):
        if name in known:
            off = round_to(in_units(known[name].uncertainty_mm, units), _FINER[units])
            words.append(f"{name} +/- {off}")
        elif name != "pins":
            words.append(name)
    return tuple(words)


def _pins(checks: Sequence[Check]) -> tuple[str, ...]:
    pinned = [check for check in checks if check.kind not in WALL_KINDS]
    sizes = {pin.words: pin.diameter_mm for check in pinned for pin in check.pins}
    return tuple(sorted(sizes, key=lambda words: sizes[words]))


def _assumed(inspection: Inspection, checks: Sequence[Check]) -> tuple[str, ...]:
    words = []
    if any(check.basis == "usual" and check.expected_mm is not None for check in checks):
        words.append(f"where the drawing gives no tolerance, {USUAL} (or what a drill leaves)")
    if any(view.is_round and view.holes for view in inspection.views):
        words.append("a disc is turned as fits its holes best: nothing on it says where 0 deg is")
    words.append(
        f"a reading is in or out only beyond its own uncertainty (ISO 14253-1); an instrument is "
        f"coarse above 1/{round(1 / COARSE_SHARE)} of the tolerance"
    )
    return tuple(words)


# with measurements


def make_verdict_sheet(
    inspection: Inspection,
    judged: Judged,
    units: Units,
    findings: Sequence[Finding],
    *,
    piece: str,
    date: str,
    source: str,
) -> VerdictSheet:
    """The verdicts in a unit; source says how the part was measured."""
    part = inspection.part
    return VerdictSheet(
        part.name,
        part.drawing,
        part.mark,
        units,
        piece,
        date,
        source,
        tuple(_hole_line(one, units) for one in judged.holes),
        tuple(_reading_line(one, units) for one in judged.readings),
        _assumed(inspection, inspection.checks),
        tuple(findings),
    )


def shown_mm(value_mm: float | None, units: Units) -> Decimal | None:
    """To the micron, or the ten thousandth of an inch."""
    return None if value_mm is None else round_to(in_units(value_mm, units), _FINER[units])


def _hole_line(one: HoleVerdict, units: Units) -> HoleLine:
    place, zone = one.place, one.place.zone
    if zone.is_round:
        allowed = f"dia {shown_mm(zone.width_mm + place.bonus_mm, units)}"
    else:
        allowed = f"+/- {shown_mm(zone.half_mm, units)}"
    return HoleLine(
        one,
        shown_mm(place.dx_mm, units),
        shown_mm(place.dy_mm, units),
        shown_mm(place.true_position_mm, units),
        allowed,
        shown_mm(one.size.size_mm, units),
        _limits_words(one.size.limits, units),
    )


def _limits_words(limits: Limits | None, units: Units) -> str:
    if limits is None:
        return ""
    ends = [shown_mm(end, units) for end in (limits.least_mm, limits.greatest_mm)]
    return " to ".join(str(end) for end in ends if end is not None)


def _reading_line(one: CheckVerdict, units: Units) -> ReadingLine:
    reading = one.reading
    if reading.value_mm is not None:
        shown = str(shown_mm(reading.value_mm, units))
    elif reading.turns is not None:
        shown = f"{reading.turns:g} turns"
    else:
        shown = "yes" if reading.answer else "no"
    limits = one.check.limits if reading.value_mm is not None else None
    return ReadingLine(one, shown, _limits_words(limits, units))
