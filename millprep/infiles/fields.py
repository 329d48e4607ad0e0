"""The kinds of value that a file may hold, as pydantic fields that speak of lengths and words.

A reader gives the value, or raises WordError; one that asks for the file's units reads lengths,
plain numbers being in those units and what comes out millimetres.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache
from typing import Annotated, Any, ClassVar, TypeVar, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, core_schema

from millprep.base.bounds import (
    LARGEST_STOCK_MM,
    LONGEST_NAME,
    LONGEST_TEXT,
    LONGEST_TOOL_MM,
    MOST_HOLES,
)
from millprep.base.findings import WordError
from millprep.base.records import field_names
from millprep.base.units import Units, read_length, shown
from millprep.infiles.wording import UnknownWordError, accepted

Shape = dict[str, Any]
Function = TypeVar("Function", bound=Callable[..., Any])

LENGTH: Shape = {"type": ["number", "string"]}
"""A plain number, or words with their unit."""
SIZE: Shape = {**LENGTH, "exclusiveMinimum": 0}
ROOM: Shape = {**LENGTH, "minimum": 0}
ABOVE_NOTHING: Shape = {"type": "number", "exclusiveMinimum": 0}
TEXT: Shape = {"type": "string", "minLength": 1}
NAMES: Shape = {"type": "array", "items": TEXT}
HOLES: Shape = {"anyOf": [TEXT, {"type": "object"}]}
"""Holes of a member of an assembly."""


def one_of(*words: Any) -> Shape:
    return {"enum": list(words)}


def either(*shapes: Shape) -> Shape:
    return {"anyOf": list(shapes)}


def some(each: Shape, least: int = 0, most: int | None = None) -> Shape:
    """A list of so many."""
    shape: Shape = {"type": "array", "items": each}
    if least:
        shape["minItems"] = least
    if most is not None:
        shape["maxItems"] = most
    return shape


def just(count: int, each: Shape) -> Shape:
    """A list of exactly so many."""
    return some(each, count, count)


def table(properties: dict[str, Shape], least: int = 0, most: int | None = None) -> Shape:
    """A table of these keys."""
    shape: Shape = {"type": "object", "properties": properties, "additionalProperties": False}
    if least:
        shape["minProperties"] = least
    if most is not None:
        shape["maxProperties"] = most
    return shape


def whole(least: int, most: int) -> Shape:
    return {"type": "integer", "minimum": least, "maximum": most}


class Holds:
    """Stands in an annotation where its type does not say what a file may hold.

    also : beside what the type says
    """

    def __init__(self, shape: Shape, *, also: bool = False) -> None:
        self.shape, self.also = shape, also


def takes(shape: Shape, *, also: bool = False) -> Callable[[Function], Function]:
    """Marks a reader with what it takes. also : beside what the type that it makes takes itself"""

    def marked(function: Function) -> Function:
        vars(function)["holds"] = Holds(shape, also=also)
        return function

    return marked


T = TypeVar("T")
_UNIT = re.compile(r"_(mm|rpm|deg|s)(_per_\w+)?$")


class ReadBy:
    """Says in an annotation that a function reads the value: of the value, or value and units.

    pydantic's own PlainValidator does the same, but looks into the signature and into the type it
    stands beside, which no one asks for here and which took a fifth of the time to begin a command.
    """

    def __init__(self, function: Callable[..., object]) -> None:
        self.function = function
        self.reads_lengths = function.__code__.co_argcount == 2

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        function = self.function
        if self.reads_lengths:
            return core_schema.with_info_plain_validator_function(
                lambda value, info: function(value, info.context["units"])
            )
        return core_schema.no_info_plain_validator_function(function)


class OneOfItsWords:
    """Says that the value is one of the words of the type it stands beside, in capitals or not."""

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        words = words_of(source)

        def read(value: object) -> str:
            word = word_of(value)
            for known in words:
                if word == known.lower():
                    return known
            raise UnknownWordError(f"{shown(value)} is not one of them", accepted(words, word))

        return core_schema.no_info_plain_validator_function(read)


def word_of(value: object) -> str:
    """A word in small letters; empty for what is no text."""
    return value.strip().lower() if isinstance(value, str) else ""


def words_of(kind: object) -> list[str]:
    """The words of a `Literal`."""
    return (
        [kind] if isinstance(kind, str) else [w for each in get_args(kind) for w in words_of(each)]
    )


OneOf = Annotated[T, OneOfItsWords()]
"""A `Literal`; to Python two with the same words are one, so keep them in one order."""


def as_list(value: Any) -> Any:
    """One thing where a list of them may stand."""
    return value if isinstance(value, list) else [value]


Some = Annotated[tuple[T, ...], BeforeValidator(as_list)]
"""One thing, or a list of them."""


class Table(BaseModel):
    """A TOML table: unknown keys are faults."""

    tables: ClassVar[dict[str, type[Table]]] = {}
    """Those below the top of a file that are validated one by one, by their headers."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True
    )

    @classmethod
    def by_key(cls) -> dict[str, FieldInfo]:
        """Its fields by their keys in a file."""
        return {field.alias or name: field for name, field in cls.model_fields.items()}

    @classmethod
    def tables_below(cls) -> dict[str, type[Table]]:
        """The shapes of the tables in it by their keys."""
        found = {key: _table_in(field.annotation) for key, field in cls.by_key().items()}
        return {**{key: table for key, table in found.items() if table is not None}, **cls.tables}

    def given(self, *names: str) -> list[str]:
        """Those of the keys that the file gives."""
        return [name for name in names if name in self.model_fields_set]

    def fields_of(self, record: type, prefix: str = "") -> dict[str, Any]:
        """The fields of a record that are its keys, after a prefix and without their units.

        A key that is not given and has no default is left to the record's own.
        """
        found: dict[str, Any] = {}
        for name, key in _shared_by(type(self), record, prefix):
            value = getattr(self, key)
            is_known = value is not None or key in self.model_fields_set
            if is_known and not isinstance(value, Table):
                found[name] = value
        return found


@cache
def _shared_by(table: type[Table], record: type, prefix: str) -> list[tuple[str, str]]:
    """The fields of a record that are keys of a table, each with its key."""
    keys = {name: _UNIT.sub("", name).removeprefix(prefix) for name in field_names(record)}
    return [
        (name, key)
        for name, key in keys.items()
        if name.startswith(prefix) and key in table.model_fields
    ]


def _table_in(annotation: Any) -> type[Table] | None:
    """The first table that an annotation holds."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next(filter(None, map(_table_in, get_args(annotation))), None)


@takes(LENGTH)
def length_mm(value: object, units: Units) -> float:
    return float(read_length(value, units))


def lengths_mm(
    value: object, count: int, units: Units, refused: str, remedy: str
) -> tuple[float, ...]:
    """A list of just so many lengths. Raises WordError with those words for what is none."""
    if not isinstance(value, list) or len(value) != count:
        raise WordError(f"{shown(value)} {refused}", remedy)
    return tuple(length_mm(item, units) for item in value)


def _bounded(*, is_above: bool, most_mm: float = math.inf, whose: str = "") -> ReadBy:
    """A length above nothing, or nothing or more, that nothing of that sort exceeds."""

    @takes(SIZE if is_above else ROOM)
    def read(value: object, units: Units) -> float:
        length = length_mm(value, units)
        if is_above and length <= 0:
            raise WordError(f"{shown(value)} is not above 0", "give a length above 0")
        if length < 0:
            raise WordError(f"{shown(value)} is below 0", "give 0 or a length above it")
        if length > most_mm:
            raise WordError(f"{shown(value)} is beyond any {whose}", f"at most {most_mm:,} mm")
        return length

    return ReadBy(read)


Length = Annotated[float, ReadBy(length_mm)]
Size = Annotated[float, _bounded(is_above=True)]
Room = Annotated[float, _bounded(is_above=False)]
ToolLength = Annotated[float, _bounded(is_above=True, most_mm=LONGEST_TOOL_MM, whose="tool")]
ToolRoom = Annotated[float, _bounded(is_above=False, most_mm=LONGEST_TOOL_MM, whose="tool")]
StockSize = Annotated[float, _bounded(is_above=True, most_mm=LARGEST_STOCK_MM, whose="mill")]


def is_number(value: object) -> bool:
    """Whether it is a figure; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def is_whole(value: object, least: int, most: int) -> bool:
    """Whether it is a whole number from `least` to `most`."""
    return type(value) is int and least <= value <= most


def whole_within(least: int, most: int, what: str, remedy: str) -> ReadBy:
    """A whole number from `least` to `most`."""

    @takes(whole(least, most))
    def read(value: object) -> object:
        if not is_whole(value, least, most):
            raise WordError(f"{shown(value)} is no {what}", remedy)
        return value

    return ReadBy(read)


def number_within(low: float, high: float, what: str, remedy: str) -> ReadBy:
    """A plain number from `low` to `high`."""

    @takes({"type": "number", "minimum": low, "maximum": high})
    def read(value: Any) -> float:
        if not is_number(value) or not low <= value <= high:
            raise WordError(f"{shown(value)} is no {what}", remedy)
        return float(value)

    return ReadBy(read)


@takes(ABOVE_NOTHING)
def _positive_number(value: object) -> float:
    number = _number(value)
    if number <= 0:
        raise WordError(f"{shown(value)} is not above 0", "give a number above 0")
    return number


def _number(value: Any) -> float:
    if not is_number(value) or not math.isfinite(value):
        raise WordError(f"{shown(value)} is not a number", "give a plain number")
    return float(value)


_ANGLE = (
    r"(?P<sign>[+-]?)(?P<degrees>\d{1,4}(\.\d{1,12})?)\s*(deg|degrees|°)?"
    r"(\s*(?P<minutes>\d{1,2})\s*['′])?"
)


@takes(LENGTH)
def angle_deg(value: object) -> float:
    """An angle in degrees: 22.5, "22.5 deg", "22.5°" or "22°30'"."""
    if isinstance(value, str):
        found = re.fullmatch(_ANGLE, value.strip())
        if found is None:
            raise WordError(f"{shown(value)} is not an angle", 'write degrees: 22.5 or "22°30\'"')
        degrees = float(found["degrees"]) + int(found["minutes"] or 0) / 60
        return -degrees if found["sign"] == "-" else degrees
    number = _number(value)
    if abs(number) > 3600:
        raise WordError(f"{shown(value)} degrees is over ten turns", "give degrees, 0 to 360")
    return number


@takes(LENGTH)
def _cone_deg(value: object) -> float:
    angle = angle_deg(value)
    if not 30 <= angle <= 180:
        raise WordError(f"{shown(value)} is no point or cone angle", "give degrees from 30 to 180")
    return angle


PositiveNumber = Annotated[float, ReadBy(_positive_number)]
Seconds = Annotated[float, number_within(0, 3600, "time in seconds", "give seconds, 0 to 3600")]
Angle = Annotated[float, ReadBy(angle_deg)]
ConeAngle = Annotated[float, ReadBy(_cone_deg)]


def _count_from(least: int) -> ReadBy:
    """A whole number from `least` on."""
    wanted = f"give a whole number from {least}"

    @takes(whole(least, MOST_HOLES))
    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise WordError(f"{shown(value)} is not a whole number", f"{wanted} on")
        if not least <= value <= MOST_HOLES:
            raise WordError(f"{value} is out of range", f"{wanted} to {MOST_HOLES}")
        return value

    return ReadBy(read)


AnyCount = Annotated[int, _count_from(0)]
Count = Annotated[int, _count_from(1)]
CircleCount = Annotated[int, _count_from(2)]


def _text_up_to(longest: int) -> ReadBy:
    @takes(TEXT)
    def read(value: object) -> str:
        if not isinstance(value, str):
            is_plain = isinstance(value, int | float)
            remedy = f'write it in quotes: "{value}"' if is_plain else "give words in quotes"
            raise WordError(f"{shown(value)} is not text", remedy)
        words = " ".join(value.split())
        if not words or not words.isprintable():
            raise WordError(f"{shown(value)} is no readable text", "write letters and figures")
        if len(words) > longest:
            raise WordError(f"{shown(value)} has {len(words)} letters", f"give at most {longest}")
        return words

    return ReadBy(read)


Text = Annotated[str, _text_up_to(LONGEST_TEXT)]
Name = Annotated[str, _text_up_to(LONGEST_NAME)]
