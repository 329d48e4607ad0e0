"""Files that people write: read with every fault of all of them, and begun."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from millprep.base.findings import Finding, MillprepError, chosen_word
from millprep.base.units import Units

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop

_Read = TypeVar("_Read")
KINDS = ("part", "shop", "assembly")


def load(
    part: Part | Path | str,
    shop: Shop | Path | str,
    assembly: Path | str | None = None,
    *,
    says_all: bool = False,
) -> tuple[Part, Shop, list[Finding]]:
    """A part, laid as is best in that shop, and the shop, with what their files had to say.

    assembly : that is asked what is left for later; of a part's file, those beside it that name it
    says_all : which were asked is said where nothing is left, too
    Raises MillprepError: every fault.
    """
    from millprep.infiles import read_part
    from millprep.proven.leaving import with_left

    if not isinstance(part, Path | str):
        found = shop_of(shop)
        told: list[Finding] = []
        if assembly is not None:
            part, told = with_left(part, assembly)
        return _laid(part, found), found, told
    (read, notes), found = with_shop(lambda: read_part(Path(part)), shop)
    read, told = with_left(read, assembly)
    if not (read.left or says_all):
        told = [one for one in told if one.kind != "left-for-later"]
    return _laid(read, found), found, [*notes, *told]


def _laid(part: Part, shop: Shop) -> Part:
    """The part with every lay chosen. Raises MillprepError where that keeps not to its file."""
    from millprep.planning.lays import laid
    from millprep.witness.choice import broken_by_choice

    chosen = laid(part, shop)
    broken = [
        Finding(
            "stop",
            "bad-lay",
            f"{words}: the choice of lays does not agree with the part file",
            "please report it",
            part.path or None,
        )
        for words in broken_by_choice(part, chosen)
    ]
    if broken:
        raise MillprepError(*broken)
    return chosen


def shop_of(shop: Shop | Path | str = "metric") -> Shop:
    """The packaged shop of that name (metric, inch), or the one that a file describes."""
    from millprep.infiles import read_shop

    return read_shop(str(shop)) if isinstance(shop, Path | str) else shop


def with_shop(read: Callable[[], _Read], shop: Shop | Path | str) -> tuple[_Read, Shop]:
    """What is read, and the shop. Raises MillprepError with the faults of both."""
    faults: list[Finding] = []
    made = found = None
    try:
        made = read()
    except MillprepError as error:
        faults += error.findings
    try:
        found = shop_of(shop)
    except MillprepError as error:
        faults += error.findings
    if made is None or found is None:
        raise MillprepError(*faults)
    return made, found


def drills_of(shop: Shop | Path | str) -> list[tuple[str, float]]:
    """The drills of a shop's drawer: designation and diameter [mm]."""
    drills = shop_of(shop).cabinet.drills
    return [(drill.words, drill.diameter_mm) for drill in drills if drill.diameter_mm is not None]


def starter(kind: str = "part", units: Units = "mm") -> str:
    """A commented file to begin with, of one of KINDS."""
    from millprep.infiles import starter as starter_of

    return starter_of(chosen_word("--kind", kind, KINDS), units)


def packaged_shop(name: str) -> str:
    """The text of a packaged shop: metric or inch."""
    from millprep.infiles.shop_file import SHOPS

    name = chosen_word("shop", name, ("metric", "inch"))
    return (SHOPS / f"{name}.toml").read_text(encoding="utf-8")


def schema(kind: str) -> str:
    """The JSON Schema of part, shop or assembly files, one of KINDS, as a file."""
    from millprep.base.plain_text import json_text
    from millprep.infiles.json_schema import schema_of

    return json_text(schema_of(chosen_word("schema", kind, KINDS)))
