"""Values that part and shop files share: points, depths, sizes and threads, as pydantic fields."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal, get_args

from millprep.base.bounds import LARGEST_STOCK_MM, LEAST_PECK_MM
from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    LENGTH,
    SIZE,
    TEXT,
    Name,
    OneOf,
    ReadBy,
    Some,
    as_list,
    either,
    just,
    length_mm,
    lengths_mm,
    some,
    table,
    takes,
    word_of,
)
from millprep.infiles.points import Places, PointWords, as_places, as_point, as_points
from millprep.infiles.wording import UnknownWordError
from millprep.model.part import Face
from millprep.reference.clearance import Grade
from millprep.reference.drills import Drill
from millprep.reference.threads import Thread
from millprep.sizes import read_drill, read_thread

Triple = tuple[float, float, float]
FaceWord = OneOf[Face]
AxisWord = OneOf[Literal["x", "y", "z"]]
GradeWord = OneOf[Grade]
WorkOffset = Literal["G54", "G55", "G56", "G57", "G58", "G59"]
WORK_OFFSETS: tuple[WorkOffset, ...] = get_args(WorkOffset)


@takes(just(2, LENGTH))
def _pair(value: object, units: Units) -> tuple[float, float]:
    remedy = "give two lengths in brackets: [10, 0]"
    a, b = lengths_mm(value, 2, units, "is not a pair", remedy)
    return a, b


@takes(either(LENGTH, just(2, LENGTH)))
def _inset(value: object, units: Units) -> tuple[float, float]:
    a, b = _pair(value if isinstance(value, list) else [value, value], units)
    if a <= 0 or b <= 0:
        raise WordError(f"{shown(value)} is not inside the edges", "give lengths above 0")
    return a, b


@frozen
class Depth:
    """A length, through, or to the axis of a hole; exactly one is set."""

    length_mm: float | None = None
    into: str | None = None

    @property
    def is_through(self) -> bool:
        return self.length_mm is None and self.into is None


@takes(either(SIZE, table({"into": TEXT}, 1)))
def _depth(value: object, units: Units) -> Depth:
    if word_of(value) in ("through", "thro", "thru"):
        return Depth()
    if isinstance(value, dict):
        if set(value) == {"into"} and isinstance(value["into"], str):
            return Depth(into=" ".join(value["into"].split()))
        raise WordError("a table that is not understood", 'write { into = "name of a hole" }')
    try:
        length = length_mm(value, units)
    except WordError:
        if isinstance(value, str) and any(letter.isdigit() for letter in value):
            raise
        raise WordError(
            f"{shown(value)} is not a depth",
            'give a length, "through", or { into = "name of a hole" }',
        ) from None
    if length <= 0:
        raise WordError(
            f"{shown(value)} is not above 0", "depths count from the face into the part"
        )
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


@takes(SIZE)
def _drill(value: object, units: Units) -> Drill:
    if not isinstance(value, str | int | float):
        raise WordError(f"{shown(value)} is not a size", 'write 5, "5 mm", "1/4 in" or "#7"')
    found = _drill_or_error(value, units)
    if isinstance(found, WordError):
        raise UnknownWordError(found.message, found.remedy)
    return found


@takes(TEXT)
def _thread(value: object) -> Thread:
    if not isinstance(value, str):
        raise UnknownWordError(f"{shown(value)} is not a thread", 'write it in quotes: "M6"')
    found = _thread_or_error(value)
    if isinstance(found, WordError):
        raise UnknownWordError(found.message, found.remedy)
    return found


@takes(either(SIZE, some(SIZE, 1)))
def _pecks(value: object, units: Units) -> tuple[float, ...]:
    if word_of(value) == "none":
        return ()
    pecks = tuple(length_mm(item, units) for item in as_list(value))
    if not pecks or min(pecks) <= 0:
        remedy = 'give lengths above 0, or "none"'
        raise WordError(f"{shown(value)} holds no depths of peck", remedy)
    if min(pecks) < LEAST_PECK_MM:
        raise WordError(f"a peck of {min(pecks):g} mm", f"give {LEAST_PECK_MM:g} mm or more")
    return pecks


@takes(just(2, LENGTH))
def _limits(value: object, units: Units) -> tuple[float, float]:
    lower, upper = _pair(value, units)
    if lower >= upper:
        raise WordError(f"{shown(value)} leaves no room", "give the lower limit, then the upper")
    return lower, upper


@takes(just(3, LENGTH))
def triple(value: object, units: Units) -> Triple:
    x, y, z = lengths_mm(value, 3, units, "is not three lengths", "give x, y, z in brackets")
    return x, y, z


@takes(just(3, SIZE))
def _sizes(value: object, units: Units) -> Triple:
    sizes = triple(value, units)
    if min(sizes) <= 0:
        raise WordError(f"{shown(value)} holds a size that is not above 0", "give lengths above 0")
    if max(sizes) > LARGEST_STOCK_MM:
        raise WordError(f"{shown(value)} is beyond any mill", f"at most {LARGEST_STOCK_MM:,} mm")
    return sizes


@takes(just(2, TEXT))
def _ends(value: object) -> tuple[str, str]:
    named = isinstance(value, list) and all(isinstance(name, str) for name in value)
    names = [" ".join(name.split()) for name in value] if isinstance(value, list) and named else []
    if len(names) != 2 or not all(names):
        raise WordError(f"{shown(value)} is not two names", 'write between = ["left", "pivot"]')
    return names[0], names[1]


Point = Annotated[PointWords, ReadBy(as_point)]
Points = Annotated[tuple[PointWords, ...], ReadBy(as_points)]
PlaceWords = Annotated[Places | None, ReadBy(as_places)]
Pair = Annotated[tuple[float, float], ReadBy(_pair)]
Inset = Annotated[tuple[float, float], ReadBy(_inset)]
DepthWord = Annotated[Depth, ReadBy(_depth)]
DrillWord = Annotated[Drill, ReadBy(_drill)]
ThreadWord = Annotated[Thread, ReadBy(_thread)]
Names = Some[Name]
Ends = Annotated[tuple[str, str], ReadBy(_ends)]
Pecks = Annotated[tuple[float, ...] | None, ReadBy(_pecks)]
Limits = Annotated[tuple[float, float] | None, ReadBy(_limits)]
Corner = Annotated[Triple, ReadBy(triple)]
BlockSize = Annotated[Triple | None, ReadBy(_sizes)]
