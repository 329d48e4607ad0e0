"""The inspection sheet, each figure rounded once. Imports layers 0 to 4.

Expected readings are shown as their instrument shows them; limits are rounded inwards, so that no
reading that the sheet lets pass is outside.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.base.units import Units, in_units, round_to
from millprep.inspection import Check, Inspection, alike
from millprep.inspection.gauges import COARSE_SHARE, InstrumentName
from millprep.model.part import Part
from millprep.model.readings import PAIR_KINDS, WALL_KINDS
from millprep.model.shop import Shop
from millprep.setting.setups import Setup
from millprep.sheets.document import (
    Column,
    Document,
    Field,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Table,
)
from millprep.sheets.figures import Figures
from millprep.sheets.heading import heading_of, remarks_field
from millprep.sheets.left_words import measured_after
from millprep.sheets.words import stock_words

if TYPE_CHECKING:
    from millprep.sheets.picture import Pictures

SHEET_COLUMNS = (
    "check", "setup", "face", "what", "hole", "to", "pin", "to_pin", "reading", "unit",
    "expected", "least", "greatest", "instrument", "mean", "part_mark", "note",
)  # fmt: skip
_PLACES = (
    Column(4, right=True, gap=0), Column(gap=2), Column(25, right=True, gap=0),
    Column(9, right=True, gap=0), Column(9, right=True, gap=0), Column(24, gap=2), Column(gap=1),
)  # fmt: skip
_TRIED = (Column(4, right=True, gap=0), Column(gap=1), Column(gap=1))
_DIGITS = {"mm": 4, "inch": 6}
_EXACT_DECIMALS = 6
_say = Sayer("inspection")

_COARSER = {"mm": Decimal("0.01"), "inch": Decimal("0.0005")}
FINER = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
"""Counts of callipers, and of micrometers and what is read by them (common practice)."""


def _count_of(instrument: InstrumentName, units: Units) -> Decimal:
    return (_COARSER if instrument == "calliper" else FINER)[units]


def inwards(value_mm: float | None, count: Decimal, units: Units, up: bool) -> Decimal | None:
    """A limit rounded to the side on which readings are good."""
    if value_mm is None:
        return None
    counts = round(Decimal(repr(in_units(value_mm, units))) / count, 9)
    whole = counts.quantize(Decimal(1), rounding=ROUND_CEILING if up else ROUND_FLOOR)
    return whole * count


def make_inspection_sheet(
    inspection: Inspection,
    units: Units,
    findings: Sequence[Finding],
    setup: int | None = None,
    *,
    is_pictured: bool = False,
    pieces: int = 1,
) -> Document:
    """The sheet in a unit; setup: that one alone; is_pictured : with the part as each face lies;
    pieces : how many are made, a sheet each."""
    part, figures = inspection.part, Figures(units, inspection.shop.readout)
    own = [
        (view.setup, [check for check in inspection.checks if check.setup == view.setup.number])
        for view in inspection.views
        if setup in (None, view.setup.number)
    ]
    shown = [(one, checks) for one, checks in own if checks or setup is not None]
    faces = [_face_section(one, part, checks, units) for one, checks in shown]
    if is_pictured:
        faces = [
            replace(face, pictures=_pictures(part, one, figures))
            for face, (one, _) in zip(faces, shown, strict=True)
        ]
    used = [check for _, checks in shown for check in checks]
    pins, instruments = _pins(used), _instruments(inspection.shop, used, units)
    inspected = _say("inspected", piece_count=pieces if pieces > 1 else None)
    closing = tuple(_closing(inspection, used, findings))
    page = Page(
        _say("inspection-title", part=part.name),
        (*heading_of(_say, part, figures), inspected),
        (Section(tuple(_opening(instruments, pins))), *faces, Section(closing)),
    )
    also = {
        "part_mark": part.mark,
        "stock": stock_words(part, figures),
        "drawing": part.drawing,
        "instruments": [_instrument_words(one) for one in instruments],
        "pins": list(pins),
        "assumed": list(assumed_words(inspection, used)),
        **({} if used else {"checks": []}),
    }
    also = {name: value for name, value in also.items() if value is not None}
    return Document(
        "inspection", units, (page,), tuple(findings), also=also, csv=("checks", SHEET_COLUMNS)
    )


def _closing(
    inspection: Inspection, used: Sequence[Check], findings: Sequence[Finding]
) -> Iterator[Field]:
    """What comes behind the last reading."""
    yield _say.field("OR", _say("or"))
    yield _say.field("THEN", _say("then"))
    if inspection.part.left:
        yield _say.field("LEFT", *measured_after(_say, inspection.part))
    yield _say.field("ASSUMED", assumed_sentence(_say, inspection, used))
    if (remarks := remarks_field(_say, findings)) is not None:
        yield remarks


def _pictures(part: Part, setup: Setup, figures: Figures) -> Pictures:
    """The part with a face up."""
    from millprep.sheets.picture import looked_at

    return looked_at(part, setup, figures)


def _opening(instruments: Sequence[Any], pins: Sequence[str]) -> Iterator[Field]:
    """What comes before the first reading."""
    yield _say.field("FIRST", *map(_say, ("first-deburr", "first-warm", "first-square")))
    yield _say.field("WITH", _say("instruments-used", with_instruments=instruments))
    if pins:
        more = map(_say, ("pins-largest", "pins-half", "pins-mean"))
        yield _say.field("PINS", _say("pins", pins=pins), *more)


def _face_section(setup: Setup, part: Part, checks: Sequence[Check], units: Units) -> Section:
    """What is measured with one face before you: places, then pattern by pattern what is alike."""
    items: list[Field | Table] = [
        _say.field("{face:face} (setup {setup:count})", face=setup.face, setup=setup.number)
    ]
    places = tuple(_place_row(check, units, part.mark) for check in checks if check.is_place)
    if places:
        items.append(_say.field("PLACES"))
        items.append(Table("places", _say("places head"), places, _PLACES, folds=2))
    groups = {hole.name: hole.group for hole in part.holes}
    others = [check for check in checks if not check.is_place]
    if others:
        items.append(_say.field("SIZES"))
    for _, run in groupby(others, key=lambda check: (groups[check.hole], alike(check))):
        alike_ones = list(run)
        rows = tuple(_tried_row(check, units, part.mark) for check in alike_ones)
        head = _tried_head(alike_ones[0], units)
        items.append(Table("tried", head, rows, _TRIED, boxes=False))
    return Section(tuple(items), key="faces")


def _shown(check: Check, units: Units) -> dict[str, Decimal | None]:
    """Expected, least and greatest reading, as the instrument shows them; limits inwards."""
    if check.expected_mm is None:
        return {"expected": None, "least": None, "greatest": None}
    count, limits = _count_of(check.instrument, units), check.limits
    return {
        "expected": round_to(in_units(check.expected_mm, units), count),
        "least": inwards(limits.least_mm if limits else None, count, units, up=True),
        "greatest": inwards(limits.greatest_mm if limits else None, count, units, up=False),
    }


_SLUGS: dict[str, str] = {
    "over pins": "pins-apart",
    "between pins": "pins-apart",
    "edge to pin": "edge-to-pin",
    "edge to hole": "edge-to-hole",
    "rim to hole": "rim-to-hole",
    "rim to pin": "rim-to-pin",
}


def _place_row(check: Check, units: Units, mark: str) -> Row:
    slots: dict[str, Any] = {
        "check": check.number,
        "hole": check.hole,
        "to": check.to,
        "pin_words": [pin.words for pin in check.pins],
        "instrument": check.instrument,
        "mean": ", mean" if check.takes_mean else "",
        "coarse": " COARSE" if check.is_coarse else "",
        **_shown(check, units),
    }
    if check.kind in PAIR_KINDS:
        slots["what"] = check.kind
    cells = _say(f"places {_SLUGS[check.kind]}", **slots)
    return _row(cells, check, units, mark)


def _tried_row(check: Check, units: Units, mark: str) -> Row:
    box = "[ ]" if check.expected_mm is None else "________"
    cells = _say("tried each", check=check.number, hole=check.hole, box=box)
    return _row(cells, check, units, mark)


def _row(cells: Sentence, check: Check, units: Units, mark: str) -> Row:
    named = {slot.name for slot in cells.template.slots}
    also = {name: one for name, one in _check_json(check, units).items() if name not in named}
    return Row(cells, also=also, csv=_check_csv(check, units, mark))


def _tried_head(check: Check, units: Units) -> Sentence:
    """What is measured or tried of holes by themselves."""
    if check.expected_mm is None:
        return _say("tried answer", what=check.kind, note=check.note)
    shown = {name: value for name, value in _shown(check, units).items() if name != "expected"}
    slots: dict[str, Any] = {
        "instrument": check.instrument,
        "coarse": " COARSE" if check.is_coarse else "",
        "note": check.note or None,
        **shown,
    }
    if check.kind == "opened":
        return _say("tried opened", opened=check.to, **slots)
    return _say("tried width", what=check.kind, **slots)


def _check_json(check: Check, units: Units) -> dict[str, Any]:
    limits, shown = check.limits, _shown(check, units)
    return {
        "setup": check.setup,
        "face": check.face,
        "what": check.kind,
        "to": check.to,
        "pins": [{"pin": p.words, "diameter_mm": exact_mm(p.diameter_mm)} for p in check.pins],
        "shake_mm": [exact_mm(pin.shake_mm) for pin in check.pins],
        "expected_mm": exact_mm(check.expected_mm),
        "least_mm": exact_mm(limits.least_mm if limits else None),
        "greatest_mm": exact_mm(limits.greatest_mm if limits else None),
        **{name: None if value is None else float(value) for name, value in shown.items()},
        "instrument": check.instrument,
        "uncertainty_mm": exact_mm(check.uncertainty_mm),
        "is_coarse": check.is_coarse,
        "takes_mean": check.takes_mean,
        "turns": check.turns,
        "tolerance_from": check.basis,
        "note": check.note,
    }


def _check_csv(check: Check, units: Units, mark: str) -> dict[str, object]:
    """Figures in full, in the unit of the row; the reading is left empty."""
    pins = [_plain(pin.diameter_mm, units) for pin in check.pins] + ["", ""]
    limits = check.limits if check.expected_mm is not None else None
    return {
        "pin": pins[0],
        "to_pin": pins[1],
        "unit": units,
        "expected": _plain(check.expected_mm, units),
        "least": _plain(limits.least_mm if limits else None, units),
        "greatest": _plain(limits.greatest_mm if limits else None, units),
        "mean": "mean" if check.takes_mean else "",
        "part_mark": mark,
    }


def exact_mm(value_mm: float | None) -> float | None:
    """A length as JSON has it."""
    return None if value_mm is None else round(value_mm, _EXACT_DECIMALS) + 0.0


def _plain(value_mm: float | None, units: Units) -> str:
    """A figure in a cell, as short as it goes."""
    if value_mm is None:
        return ""
    text = f"{in_units(value_mm, units):.{_DIGITS[units]}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _instruments(shop: Shop, checks: Sequence[Check], units: Units) -> list[dict[str, Any]]:
    tools = shop.instruments
    known = {
        "calliper": tools.calliper,
        "micrometer": tools.micrometer,
        "bore gauge": tools.bore_gauge,
    }
    found: list[dict[str, Any]] = []
    for name in dict.fromkeys(check.instrument for check in checks):
        off = None
        if name in known:
            off = round_to(in_units(known[name].uncertainty_mm, units), FINER[units])
        if name != "pins":
            found.append({"name": name, "off": off})
    return found


def _instrument_words(one: Mapping[str, Any]) -> str:
    return str(one["name"]) if one["off"] is None else f"{one['name']} +/- {one['off']}"


def _pins(checks: Sequence[Check]) -> tuple[str, ...]:
    pinned = [check for check in checks if check.kind not in WALL_KINDS]
    sizes = {pin.words: pin.diameter_mm for check in pinned for pin in check.pins}
    return tuple(sorted(sizes, key=lambda words: sizes[words]))


def assumed_words(inspection: Inspection, checks: Sequence[Check]) -> tuple[str, ...]:
    """What is taken for granted, an entry each."""
    said = str(assumed_sentence(_say, inspection, checks)).removesuffix(".").split("; ")
    return (*said[:-2], "; ".join(said[-2:]))


def assumed_sentence(say: Sayer, inspection: Inspection, checks: Sequence[Check]) -> Sentence:
    """What is taken for granted where these readings are judged."""
    slots = {"usual": "", "disc": ""}
    words = {slot.name: slot.words for slot in say("assumed-inspection").template.slots}
    if any(check.basis == "usual" and check.expected_mm is not None for check in checks):
        slots["usual"] = words["usual"][1]
    if any(view.is_round and view.holes for view in inspection.views):
        slots["disc"] = words["disc"][1]
    return say("assumed-inspection", _share=f"1/{round(1 / COARSE_SHARE)}", **slots)
