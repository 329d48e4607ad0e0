"""What stands on a sheet for the mill: setups, rows, tools and figures.

Lengths are millimetres, turned from the shown figure once; signs are as shown. Of a tool as the
shop calls it, what is not said is as usual; any other is told as a tool line is:

    drill 3.3                    a point of 118 degrees
    spot drill 6, 90 deg         a flat of 0.2 mm at its tip
    reamer 5                     a machine reamer, its lead 1 mm
    M4 second tap                its pitch by the table of threads, its lead four threads
    countersink 1/2 in, 12.7 mm, 82 deg, nose 2 mm
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.model.tools import PLUG_LEAD_THREADS, REAMER_LEAD_MM, SPOT_TIP_FLAT_MM, TOOLS, Drill
from millprep.reference.threads import LEFT_HAND, thread_named

OPERATIONS: tuple[str, ...] = ("spot drill", "pilot drill", "drill", "bore")
OPERATIONS += ("counterbore", "spotface", "countersink", "ream", "tap")
FACE_WORDS = "TOP|BOTTOM|FRONT|BACK|LEFT|RIGHT"
NUMBER = r"-?\d{1,7}(?:\.\d{1,9})?"
_SIZE = r"\d{1,5}(?:\.\d{1,9})?"
_NUMBER = re.compile(NUMBER, re.ASCII)
_MM_PER_INCH = Decimal("25.4")


class UnreadableSheet(ValueError):  # noqa: N818 the sheet is what cannot be read, not a slip here
    """A sheet, or a line of it, that cannot be read.

    message : what was met; line : 1-based, None where the form has no lines to speak of
    """

    def __init__(self, message: str, line: int | None = None) -> None:
        super().__init__(message if line is None else f"line {line}: {message}")
        self.message = message
        self.line = line


@frozen
class Figure:
    """A length as printed [mm], and half of its last decimal place [mm]."""

    mm: float
    half_digit_mm: float


@frozen
class PrintedTool:
    """A tool line, understood: kind and sizes [mm, degrees].

    lead : threads of a tap, mm of a reamer
    thread : of a tap, by name: two forms may have one diameter and pitch
    is_hand : a reamer for the hand
    """

    kind: str
    diameter_mm: float
    point_angle_deg: float | None = None
    tip_flat_mm: float = 0.0
    pitch_mm: float | None = None
    lead: float | None = None
    is_left_hand: bool = False
    thread: str = ""
    is_hand: bool = False


@frozen
class PrintedPass:
    """Of a boring head: its number and how many there are, the bore before and after it, and what
    the head's dial moves [mm]."""

    number: int
    count: int
    from_mm: float
    to_mm: float
    dial_on_mm: float


@frozen
class PrintedRow:
    """One step of a listing.

    x_mm, y_mm, z_mm : as the readout shows them, in mm
    pecks_mm : Z after each bite, () for none; turns : of a tap, else None
    cone_mm  : where the form prints it; exact_mm : x, y, z before rounding, in json only
    line     : in text and csv
    boring : of a boring head, which pass it is
    rpm, feed_mm_per_min, by_hand : as said of the step's tool, or in its row; None: not said
    """

    step: int
    hole: str
    operation: str
    tool: PrintedTool
    tool_number: int
    x_mm: float
    y_mm: float
    z_mm: float
    pecks_mm: tuple[float, ...] = ()
    turns: float | None = None
    cone_mm: float | None = None
    exact_mm: tuple[float, float, float] | None = None
    line: int | None = None
    rpm: float | None = None
    feed_mm_per_min: float | None = None
    by_hand: bool | None = None
    boring: PrintedPass | None = None


@frozen
class PrintedSetup:
    """One setup of a sheet for the mill; faces in small letters, "centre" for a zero on a centre
    line.

    of : how many setups the sheet says there are, where it says so
    """

    number: int
    face: str
    towards_you: str
    zero_x: str
    zero_y: str
    units: Units
    rows: tuple[PrintedRow, ...]
    of: int | None = None
    line: int | None = None


def length_mm(text: str, units: Units) -> float:
    """A shown figure in mm. Raises UnreadableSheet."""
    return _in_mm(decimal_of(text), units)


def figure(text: str, units: Units) -> Figure:
    """A shown figure in mm with the weight of its last place. Raises UnreadableSheet."""
    value = decimal_of(text)
    exponent = value.as_tuple().exponent
    last_place = Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)
    return Figure(_in_mm(value, units), _in_mm(last_place, units) / 2)


def decimal_of(text: str) -> Decimal:
    """The number that the text shows. Raises UnreadableSheet; minus zero is no figure."""
    if _NUMBER.fullmatch(text) is None:
        raise UnreadableSheet(f"{shown(text)} is not a figure")
    value = Decimal(text)
    if value.is_signed() and not value:
        raise UnreadableSheet(f"{shown(text)}: a readout shows no minus zero")
    return value


def _in_mm(value: Decimal, units: Units) -> float:
    return float(value * _MM_PER_INCH if units == "inch" else value)


KINDS_OF_TOOL = "|".join(re.escape(kind) for kind in sorted(TOOLS, key=len, reverse=True))
_TOOL = rf"""(?xa)  # compiled where one is read: not every sheet has one
    (?P<kind>{KINDS_OF_TOOL})\ (?P<words>.+?)
    (?:,\ (?P<diameter>{_SIZE})\ mm)?
    (?:,\ point\ (?P<angle>{_SIZE})\ deg)?
    (?:,\ flat\ (?P<flat>{_SIZE})\ mm)?
    (?:,\ pitch\ (?P<pitch>{_SIZE})\ mm)?
    (?:,\ lead\ (?P<lead>{_SIZE})\ (?P<lead_unit>threads|mm))?
    (?P<left>,\ left\ hand)?
    (?P<by_hand>,\ for\ the\ hand)?
    """


@lru_cache(maxsize=1024)
def tool_of(words: str) -> PrintedTool:
    """The tool that a tool line describes. Raises UnreadableSheet."""
    match = re.fullmatch(_TOOL, words)
    if match is None:
        raise UnreadableSheet(f"{shown(words)} is not a tool line")
    size = match["diameter"]
    if size is None:
        plain = re.fullmatch(rf"({_SIZE}) mm", match["words"], re.ASCII)
        if plain is None:
            raise UnreadableSheet(f"the tool line {shown(words)} names no diameter")
        size = plain[1]
    unit = match["lead_unit"]
    if unit is not None and (unit, match["kind"]) not in (("threads", "tap"), ("mm", "reamer")):
        raise UnreadableSheet(f"{match['kind']} with a lead in {unit}")
    if match["kind"] == "tap" and match["pitch"] is None:
        raise UnreadableSheet(f"the tap {shown(words)} has no pitch")
    if match["by_hand"] is not None and match["kind"] != "reamer":
        raise UnreadableSheet(f"{match['kind']} for the hand")
    return PrintedTool(
        match["kind"],
        float(size),
        point_angle_deg=_optional(match["angle"]),
        tip_flat_mm=_optional(match["flat"]) or 0.0,
        pitch_mm=_optional(match["pitch"]),
        lead=_optional(match["lead"]),
        is_left_hand=match["left"] is not None,
        thread=match["words"] if match["kind"] == "tap" else "",
        is_hand=match["by_hand"] is not None,
    )


def _optional(text: str | None) -> float | None:
    return None if text is None else float(text)


# a tool as the shop calls it

USUAL_OPERATIONS = {
    **{kind: kind for kind in ("spot drill", "drill", "counterbore", "countersink", "tap")},
    "boring head": "bore",
    "reamer": "ream",
}
"""What a tool does where nothing else is said of it."""
_CALLED = re.compile(
    rf"""
    (?P<kind>{KINDS_OF_TOOL})\ (?P<words>.+?)
    (?:,\ (?P<diameter>{_SIZE}\ (?:mm|in)))?
    (?:,\ (?P<angle>{_SIZE})\ deg)?
    (?:,\ (?:flat|nose)\ (?P<flat>{_SIZE})\ mm)?
    (?:,\ lead\ (?P<lead>{_SIZE})\ mm)?
    (?P<by_hand>,\ for\ the\ hand)?
    """,
    re.VERBOSE | re.ASCII,
)
_TAP = re.compile(r"(?P<thread>.+?) (?P<form>second|plug \(bottoming\)) tap", re.ASCII)
_PLAIN = re.compile(
    rf"(?:(?P<whole>\d{{1,3}}) )?(?P<size>{_SIZE})(?:/(?P<of>[1-9]\d{{0,2}}))?(?P<unit> mm| in)?",
    re.ASCII,
)
_LEADS = {"second": PLUG_LEAD_THREADS, "plug (bottoming)": 1.5}


@lru_cache(maxsize=1024)
def called_tool(words: str, units: Units) -> PrintedTool:
    """The tool that is called so on a sheet in those units. Raises UnreadableSheet."""
    if words.startswith("tap "):
        return tool_of(words)
    if (tap := _TAP.fullmatch(words)) is not None:
        return _tap(tap["thread"], _LEADS[tap["form"]])
    match = _CALLED.fullmatch(words)
    if match is None or match["kind"] == "tap":
        raise UnreadableSheet(f"{shown(words)} is no tool")
    kind, is_hand = match["kind"], match["by_hand"] is not None
    flat, angle = match["flat"], match["angle"]
    usual_angle = Drill.usual_point_deg if kind == "drill" else None
    usual_flat = SPOT_TIP_FLAT_MM if kind == "spot drill" else 0.0
    lead = None if match["lead"] is None else float(match["lead"])
    if kind != "reamer" and (is_hand or lead is not None):
        raise UnreadableSheet(f"{shown(words)}: a {kind} with a lead, or for the hand")
    if kind == "reamer" and lead is None:
        lead = REAMER_LEAD_MM
    return PrintedTool(
        kind,
        _diameter_mm(match["diameter"], match["words"], units),
        point_angle_deg=usual_angle if angle is None else float(angle),
        tip_flat_mm=usual_flat if flat is None else float(flat),
        lead=lead,
        is_hand=is_hand,
    )


def _diameter_mm(told: str | None, words: str, units: Units) -> float:
    """A plain figure is in mm, and has its unit where the sheet has another."""
    plain = _PLAIN.fullmatch(told or words)
    is_bare = plain is not None and plain["unit"] is None and units == "mm" and not plain["of"]
    if plain is None or not (plain["unit"] or is_bare):
        raise UnreadableSheet(f"the tool {shown(words)} has no diameter")
    size = Fraction(plain["whole"] or 0) + Fraction(plain["size"]) / Fraction(plain["of"] or 1)
    return round(float(size * Fraction("25.4")), 3) if plain["unit"] == " in" else float(size)


def _tap(name: str, lead: float) -> PrintedTool:
    thread = thread_named(name)
    if thread is None:
        raise UnreadableSheet(f"no table has the thread {shown(name)}")
    return PrintedTool(
        "tap",
        round(thread.major_mm, 3),
        pitch_mm=round(thread.pitch_mm, 4),
        lead=lead,
        is_left_hand=name.endswith(LEFT_HAND),
        thread=name,
    )
