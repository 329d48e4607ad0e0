"""The marking-out list: heights as the gauge shows them, rounded once. Imports layers 0 to 4."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal

from millprep.base.findings import Finding
from millprep.base.units import Units, in_units, round_to
from millprep.model.part import OPPOSITE, Face, Part
from millprep.model.shop import Shop
from millprep.planning.marking import (
    HALF_LINE_MM,
    Cross,
    Height,
    Standing,
    crosses_of,
    measure_first,
    standings_of,
)
from millprep.sheets.document import (
    Column,
    Document,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
)
from millprep.sheets.figures import Figures, about
from millprep.sheets.hand_words import NO_HAND, hand_sentence
from millprep.sheets.heading import heading_of, remarks_field
from millprep.sheets.left_words import left_lines

_GAUGE_COUNT = {"mm": Decimal("0.01"), "inch": Decimal("0.0005")}
"""What height gauges commonly count (common practice)."""
_RULE_COUNT = {"mm": Decimal("0.1"), "inch": Decimal("0.01")}
_LINES = (Column(11, right=True, gap=0), Column(8, gap=2), Column(22, gap=0), Column(gap=0))
_CROSSES = (Column(8, gap=2), Column(33, gap=0), Column(gap=0))
_CSV = (
    "standing",
    "face_down",
    "units",
    "gauge_offset",
    "gauge",
    "hole",
    "face",
    "from_face",
    "start",
    "end",
)

_say = Sayer("markout")


def make_mark_sheet(
    part: Part,
    shop: Shop,
    units: Units,
    *,
    wanted: tuple[Face, ...] = (),
    gauge_offset_mm: float = 0.0,
    findings: Sequence[Finding] = (),
) -> Document:
    """The marking-out list of a part in a unit.

    wanted : faces to stand it on instead of the datum faces
    gauge_offset_mm : what the gauge reads with the scriber on the plate
    """
    standings = standings_of(part, wanted)
    crosses = crosses_of(part, standings)
    found = (*findings, *measure_first(part, standings))
    offset = _gauge(gauge_offset_mm, units)
    inked = tuple(dict.fromkeys(cross.face for cross in crosses))
    count = len(standings)
    opening = (
        _say.field("INK", _say("ink", ink=inked)),
        _say.field("GAUGE", _say("gauge", gauge_offset=offset)),
    )
    stands = [
        _standing(number, count, one, units, gauge_offset_mm)
        for number, one in enumerate(standings, 1)
    ]
    page = Page(
        _say("markout-title", part=part.name, standing_count=count),
        heading_of(_say, part, Figures(units, shop.readout)),
        (Section(opening), *stands, _punch(crosses, units), _closing(part, crosses, units, found)),
    )
    also = {
        "crosses": dict(Counter(cross.face for cross in crosses)),
        "gauge_offset_mm": gauge_offset_mm,
    }
    return Document("markout", units, (page,), found, also=also, csv=("heights", _CSV))


def _gauge(value_mm: float, units: Units) -> Shown:
    return Shown(str(round_to(in_units(value_mm, units), _GAUGE_COUNT[units])), value_mm)


def _rule(value_mm: float, units: Units) -> Shown:
    return Shown(str(round_to(in_units(value_mm, units), _RULE_COUNT[units])))


def _standing(number: int, count: int, one: Standing, units: Units, offset_mm: float) -> Section:
    """The part on a face: what to mind, and the heights in rising order."""
    rows = [row for height in one.heights for row in _rows(height, units, offset_mm)]
    return Section(
        (
            _say.field(
                "STAND {number:count}", *_words(one, count, units, offset_mm), number=number
            ),
            Table(
                "lines",
                _say("lines head"),
                tuple(rows),
                _LINES,
                nested=("lines", ("height_mm", "gauge")),
            ),
        ),
        key="standings",
        also={"standing": number, "face_down": one.face, "is_datum": one.is_datum},
    )


def _words(one: Standing, count: int, units: Units, offset_mm: float) -> Iterator[Sentence]:
    face, up = one.face, OPPOSITE[one.face]
    yield _say("stand", of=count, face=face, up=up, ink=one.inked)
    if one.is_datum:
        yield _say("stand-datum", face=face)
    if one.centre_mm is not None:
        at = _gauge(one.centre_mm + offset_mm, units)
        yield _say("stand-centre", centre=at, face=face, up=up)
    elif not one.is_datum:
        yield _say("stand-far", up=up)
    if one.is_round:
        yield _say("stand-rim", face=face)


def _rows(height: Height, units: Units, offset_mm: float) -> Iterator[Row]:
    """Each line has its box; the gauge is set once for all lines of a height."""
    gauge = _gauge(height.height_mm + offset_mm, units)
    for index, line in enumerate(height.lines):
        cells = _say(
            "lines row",
            gauge=gauge if index == 0 else None,
            face=line.face,
            from_face=line.from_face,
            start=_rule(line.start_mm, units),
            end=_rule(line.end_mm, units),
            hole=line.hole,
        )
        yield Row(cells, also={"gauge": gauge, "height_mm": height.height_mm})


def _punch(crosses: Sequence[Cross], units: Units) -> Section:
    """Crosses to look at and punch, with their distances from the two faces not measured from."""
    rows = [
        Row(
            _say(
                "punch row",
                face=cross.face,
                near_face=a,
                near=_gauge(a_mm, units),
                far_face=b,
                far=_gauge(b_mm, units),
                hole=cross.hole,
            )
        )
        for cross in crosses
        for (a, a_mm), (b, b_mm) in [cross.checks_mm]
    ]
    return Section(
        (_say.field("PUNCH", _say("punch")), Table("punch", None, tuple(rows), _CROSSES))
    )


def _closing(
    part: Part, crosses: Sequence[Cross], units: Units, findings: Sequence[Finding]
) -> Section:
    counts = Counter(cross.face for cross in crosses)
    faces = [{"face": face, "count": count} for face, count in counts.items()]
    hands = [hand for face in counts if (hand := hand_sentence(part, face))]
    fields = (
        _say.field("COUNT", _say("count", counts=faces, cross_count=len(crosses))),
        _say.field("HAND", *dict(zip(map(str, hands), hands, strict=True)).values()),
        _say.field(
            "ASSUMED",
            _say(
                "assumed-gauge",
                gauge_count=_GAUGE_COUNT[units],
                half_line=about(HALF_LINE_MM, units, 0),
            ),
        ),
        _say.field("LEFT", *left_lines(_say, part)),
        remarks_field(_say, findings),
    )
    told = tuple(one for one in fields if one is not None and one.sentences)
    return Section(told, also={} if hands else {"hands": [NO_HAND]})
