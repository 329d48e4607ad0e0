"""The kinds of value that a file may hold, as pydantic fields that speak of lengths and words.

A field that cannot be read raises an error of one of the project's kinds with a `remedy`. Plain
numbers are in the file's units, given as `context = {"units": ...}`; what comes out is millimetres.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from millprep.base.bounds import (
    LARGEST_STOCK_MM,
    LONGEST_NAME,
    LONGEST_TEXT,
    LONGEST_TOOL_MM,
    MOST_HOLES,
)
from millprep.base.findings import WordError
from millprep.base.units import Units, read_length, shown
from millprep.infiles.wording import accepted


class ReadBy:
    """Says in an annotation that a function reads the value: of the value, or value and info.

    pydantic's own PlainValidator does the same, but looks into the signature and into the type it
    stands beside, which no one asks for here and which took a fifth of the time to begin a command.
    """

    def __init__(self, function: Callable[..., object]) -> None:
        self.function = function

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        if self.function.__code__.co_argcount == 2:
            return core_schema.with_info_plain_validator_function(self.function)
        return core_schema.no_info_plain_validator_function(self.function)


class Table(BaseModel):
    """A TOML table: unknown keys are faults."""

    tables: ClassVar[dict[str, type[Table]]] = {}
    """The tables that a file of this shape has below its top, by their headers."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True
    )

    def given(self, *names: str) -> list[str]:
        """Those of the keys that the file gives."""
        return [name for name in names if name in self.model_fields_set]


def fault(
    message: str, remedy: str = "", kind: str = "bad-value", inside: tuple[int, ...] = ()
) -> PydanticCustomError:
    """What is wrong with a value, or with a member of it: `inside` leads to that."""
    context = {"message": message, "remedy": remedy, "inside": inside}
    return PydanticCustomError(kind, "{message}", context)


def word_fault(error: WordError) -> PydanticCustomError:
    return fault(error.message, error.remedy, "unknown-word")


def units_of(info: ValidationInfo) -> Units:
    units: Units = (info.context or {}).get("units", "mm")
    return units


def length_mm(value: object, info: ValidationInfo) -> float:
    try:
        return float(read_length(value, units_of(info)))
    except WordError as error:
        raise fault(error.message, error.remedy) from None


def _above_nothing(value: object, info: ValidationInfo) -> float:
    length = length_mm(value, info)
    if length <= 0:
        raise fault(f"{shown(value)} is not above 0", "give a length above 0")
    return length


def _nothing_or_more(value: object, info: ValidationInfo) -> float:
    length = length_mm(value, info)
    if length < 0:
        raise fault(f"{shown(value)} is below 0", "give 0 or a length above it")
    return length


def _up_to(most_mm: float, whose: str, read: Callable[[object, ValidationInfo], float]) -> ReadBy:
    """A length that nothing of that sort exceeds."""

    def bounded(value: object, info: ValidationInfo) -> float:
        length = read(value, info)
        if length > most_mm:
            raise fault(f"{shown(value)} is beyond any {whose}", f"at most {most_mm:,} mm")
        return length

    return ReadBy(bounded)


Length = Annotated[float, ReadBy(length_mm)]
Size = Annotated[float, ReadBy(_above_nothing)]
Room = Annotated[float, ReadBy(_nothing_or_more)]
ToolLength = Annotated[float, _up_to(LONGEST_TOOL_MM, "tool", _above_nothing)]
ToolRoom = Annotated[float, _up_to(LONGEST_TOOL_MM, "tool", _nothing_or_more)]
StockSize = Annotated[float, _up_to(LARGEST_STOCK_MM, "mill", _above_nothing)]


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise fault(f"{shown(value)} is not a number", "give a plain number")
    return float(value)


def _positive_number(value: object) -> float:
    number = _number(value)
    if number <= 0:
        raise fault(f"{shown(value)} is not above 0", "give a number above 0")
    return number


_ANGLE = re.compile(
    r"""(?P<sign>[+-]?)(?P<degrees>\d{1,4}(\.\d{1,12})?)\s*(deg|degrees|°)?
        (\s*(?P<minutes>\d{1,2})\s*['′])?""",
    re.VERBOSE,
)


def angle_deg(value: object) -> float:
    """An angle in degrees: 22.5, "22.5 deg", "22.5°" or "22°30'"."""
    if isinstance(value, str):
        found = _ANGLE.fullmatch(value.strip())
        if found is None:
            raise fault(f"{shown(value)} is not an angle", 'write degrees: 22.5 or "22°30\'"')
        degrees = float(found["degrees"]) + int(found["minutes"] or 0) / 60
        return -degrees if found["sign"] == "-" else degrees
    number = _number(value)
    if abs(number) > 3600:
        raise fault(f"{shown(value)} degrees is over ten turns", "give degrees, 0 to 360")
    return number


def _cone_deg(value: object) -> float:
    angle = angle_deg(value)
    if not 30 <= angle <= 180:
        raise fault(f"{shown(value)} is no point or cone angle", "give degrees from 30 to 180")
    return angle


Number = Annotated[float, ReadBy(_number)]
PositiveNumber = Annotated[float, ReadBy(_positive_number)]
Angle = Annotated[float, ReadBy(angle_deg)]
ConeAngle = Annotated[float, ReadBy(_cone_deg)]


def count_from(least: int) -> ReadBy:
    """A whole number from `least` on."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise fault(
                f"{shown(value)} is not a whole number", f"give a whole number from {least} on"
            )
        if not least <= value <= MOST_HOLES:
            raise fault(
                f"{value} is out of range", f"give a whole number from {least} to {MOST_HOLES}"
            )
        return value

    return ReadBy(read)


Count = Annotated[int, count_from(1)]
CircleCount = Annotated[int, count_from(2)]


def one_of(*words: str) -> ReadBy:
    """One of some words, in capitals or not."""

    def read(value: object) -> str:
        word = value.strip().lower() if isinstance(value, str) else None
        for known in words:
            if word == known.lower():
                return known
        raise fault(
            f"{shown(value)} is not one of them", accepted(words, word or ""), "unknown-word"
        )

    return ReadBy(read)


def _text_up_to(longest: int) -> Callable[[object], str]:
    def read(value: object) -> str:
        if not isinstance(value, str):
            is_plain = isinstance(value, int | float)
            remedy = f'write it in quotes: "{value}"' if is_plain else "give words in quotes"
            raise fault(f"{shown(value)} is not text", remedy)
        words = " ".join(value.split())
        if not words or not words.isprintable():
            raise fault(f"{shown(value)} is no readable text", "write letters and figures")
        if len(words) > longest:
            raise fault(f"{shown(value)} has {len(words)} letters", f"give at most {longest}")
        return words

    return read


Text = Annotated[str, ReadBy(_text_up_to(LONGEST_TEXT))]
Name = Annotated[str, ReadBy(_text_up_to(LONGEST_NAME))]


def as_list(value: Any) -> Any:
    """One thing where a list of them may stand."""
    return value if isinstance(value, list) else [value]
