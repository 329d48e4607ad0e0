"""Values that part and shop files share: points, depths, sizes and threads, as pydantic fields.

Imports layers 0 to 2.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from millprep.base.bounds import LARGEST_STOCK_MM, LEAST_PECK_MM
from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    Name,
    ReadBy,
    as_list,
    fault,
    length_mm,
    one_of,
    units_of,
    word_fault,
)
from millprep.infiles.points import Places, PointWords, as_places, as_point, as_points
from millprep.model.part import FACES, Face
from millprep.reference.drills import Drill
from millprep.reference.threads import Thread
from millprep.sizes import read_drill, read_thread

Triple = tuple[float, float, float]
FaceWord = Annotated[Face, one_of(*FACES)]
AxisWord = Annotated[Literal["x", "y", "z"], one_of("x", "y", "z")]
Grade = Annotated[Literal["close", "normal", "loose"], one_of("close", "normal", "loose")]


def _point(value: object, info: ValidationInfo) -> PointWords:
    return as_point(value, units_of(info))


def _points(value: object, info: ValidationInfo) -> tuple[PointWords, ...]:
    return as_points(value, units_of(info))


def _places(value: object, info: ValidationInfo) -> Places:
    return as_places(value, units_of(info))


Point = Annotated[PointWords, ReadBy(_point)]
Points = Annotated[tuple[PointWords, ...], ReadBy(_points)]


def _pair(value: object, info: ValidationInfo) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise fault(f"{shown(value)} is not a pair", "give two lengths in brackets: [10, 0]")
    return length_mm(value[0], info), length_mm(value[1], info)


def _inset(value: object, info: ValidationInfo) -> tuple[float, float]:
    a, b = _pair(value if isinstance(value, list) else [value, value], info)
    if a <= 0 or b <= 0:
        raise fault(f"{shown(value)} is not inside the edges", "give lengths above 0")
    return a, b


Pair = Annotated[tuple[float, float], ReadBy(_pair)]
Inset = Annotated[tuple[float, float], ReadBy(_inset)]


@frozen
class Depth:
    """A length, through, or to the axis of a hole; exactly one is set."""

    length_mm: float | None = None
    into: str | None = None

    @property
    def is_through(self) -> bool:
        return self.length_mm is None and self.into is None


def _depth(value: object, info: ValidationInfo) -> Depth:
    if isinstance(value, str) and value.strip().lower() in ("through", "thro", "thru"):
        return Depth()
    if isinstance(value, dict):
        if set(value) == {"into"} and isinstance(value["into"], str):
            return Depth(into=" ".join(value["into"].split()))
        raise fault("a table that is not understood", 'write { into = "name of a hole" }')
    try:
        length = length_mm(value, info)
    except PydanticCustomError:
        if isinstance(value, str) and any(letter.isdigit() for letter in value):
            raise
        raise fault(
            f"{shown(value)} is not a depth",
            'give a length, "through", or { into = "name of a hole" }',
        ) from None
    if length <= 0:
        raise fault(f"{shown(value)} is not above 0", "depths count from the face into the part")
    return Depth(length)


@lru_cache(maxsize=1024, typed=True)
def _drill_or_error(value: str | float, units: Units) -> Drill | WordError:
    """Kept, because a part names few sizes and many holes; so is what is wrong with one."""
    try:
        return read_drill(value, units)
    except WordError as error:
        return error


@lru_cache(maxsize=1024)
def _thread_or_error(words: str) -> Thread | WordError:
    try:
        return read_thread(words)
    except WordError as error:
        return error


def _drill(value: object, info: ValidationInfo) -> Drill:
    if not isinstance(value, str | int | float):
        raise fault(f"{shown(value)} is not a size", 'write 5, "5 mm", "1/4 in" or "#7"')
    found = _drill_or_error(value, units_of(info))
    if isinstance(found, WordError):
        raise word_fault(found)
    return found


def _thread(value: object) -> Thread:
    if not isinstance(value, str):
        raise fault(f"{shown(value)} is not a thread", 'write it in quotes: "M6"', "unknown-word")
    found = _thread_or_error(value)
    if isinstance(found, WordError):
        raise word_fault(found)
    return found


DepthWord = Annotated[Depth, ReadBy(_depth)]
DrillWord = Annotated[Drill, ReadBy(_drill)]
ThreadWord = Annotated[Thread, ReadBy(_thread)]
Drills = Annotated[tuple[DrillWord, ...], BeforeValidator(as_list)]
Names = Annotated[tuple[Name, ...], BeforeValidator(as_list)]


def _pecks(value: object, info: ValidationInfo) -> tuple[float, ...]:
    if isinstance(value, str) and value.strip().lower() == "none":
        return ()
    pecks = tuple(length_mm(item, info) for item in as_list(value))
    if not pecks or min(pecks) <= 0:
        raise fault(f"{shown(value)} holds no depths of peck", 'give lengths above 0, or "none"')
    if min(pecks) < LEAST_PECK_MM:
        raise fault(f"a peck of {min(pecks):g} mm", f"give {LEAST_PECK_MM:g} mm or more")
    return pecks


def _limits(value: object, info: ValidationInfo) -> tuple[float, float]:
    lower, upper = _pair(value, info)
    if lower >= upper:
        raise fault(f"{shown(value)} leaves no room", "give the lower limit, then the upper")
    return lower, upper


def triple(value: object, info: ValidationInfo) -> Triple:
    if not isinstance(value, list) or len(value) != 3:
        raise fault(f"{shown(value)} is not three lengths", "give x, y, z in brackets")
    x, y, z = (length_mm(item, info) for item in value)
    return x, y, z


def _sizes(value: object, info: ValidationInfo) -> Triple:
    sizes = triple(value, info)
    if min(sizes) <= 0:
        raise fault(f"{shown(value)} holds a size that is not above 0", "give lengths above 0")
    if max(sizes) > LARGEST_STOCK_MM:
        raise fault(f"{shown(value)} is beyond any mill", f"at most {LARGEST_STOCK_MM:,} mm")
    return sizes


def _ends(value: object) -> tuple[str, str]:
    if not isinstance(value, list) or not all(isinstance(name, str) for name in value):
        raise fault(f"{shown(value)} is not two names", 'write between = ["left", "pivot"]')
    names = [" ".join(name.split()) for name in value]
    if len(names) != 2 or not all(names):
        raise fault(f"{shown(value)} is not two names", 'write between = ["left", "pivot"]')
    return names[0], names[1]


Ends = Annotated[tuple[str, str], ReadBy(_ends)]
PlaceWords = Annotated[Places | None, ReadBy(_places)]
Pecks = Annotated[tuple[float, ...] | None, ReadBy(_pecks)]
Limits = Annotated[tuple[float, float] | None, ReadBy(_limits)]
Corner = Annotated[Triple, ReadBy(triple)]
BlockSize = Annotated[Triple | None, ReadBy(_sizes)]
