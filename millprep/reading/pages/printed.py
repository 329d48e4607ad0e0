"""What stands on a sheet for the mill: setups, rows, tools and figures.

Lengths are millimetres, turned from the shown figure once; signs are as shown. Imports layers 0
to 2.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.model.tools import TOOLS

OPERATIONS = (
    "spot drill", "pilot drill", "drill", "bore", "counterbore", "spotface", "countersink", "ream",
    "tap",
)  # fmt: skip
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
