"""Files that people write: read with every fault of all of them, and begun."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast

from millprep.base.findings import Finding, MillprepError, chosen_word
from millprep.base.units import Units

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop

_Read = TypeVar("_Read")
KINDS = ("part", "shop", "assembly")


def load(part: Part | Path | str, shop: Shop | Path | str) -> tuple[Part, Shop, list[Finding]]:
    """A part and a shop, with what their files had to say. Raises MillprepError: every fault."""
    from millprep.infiles import read_part

    if not isinstance(part, Path | str):
        return part, with_shop(lambda: None, shop)[1], []
    (read, notes), found = with_shop(lambda: read_part(Path(part)), shop)
    return read, found, list(notes)


def with_shop(read: Callable[[], _Read], shop: Shop | Path | str) -> tuple[_Read, Shop]:
    """What is read, and the shop. Raises MillprepError with the faults of both."""
    from millprep.infiles import read_shop

    faults: list[Finding] = []
    results: list[object] = []
    named = str(shop) if isinstance(shop, Path | str) else None
    for each in (read, lambda: shop if named is None else read_shop(named)):
        try:
            results.append(each())
        except MillprepError as error:
            faults += error.findings
    if faults:
        raise MillprepError(*faults)
    made, found = results
    return cast("_Read", made), cast("Shop", found)


def drills_of(shop: Shop | Path | str) -> list[tuple[str, float]]:
    """The drills of a shop's cabinet: designation and diameter [mm]."""
    drills = with_shop(lambda: None, shop)[1].cabinet.drills
    return [(drill.words, drill.diameter_mm) for drill in drills if drill.diameter_mm is not None]


def starter(kind: str = "part", units: Units = "mm") -> str:
    """A commented file to begin with, of one of KINDS."""
    from millprep.infiles import starter as starter_of

    return starter_of(chosen_word("--kind", kind, KINDS), units)
