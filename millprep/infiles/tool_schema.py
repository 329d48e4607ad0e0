"""The shape of a shop file's tools: the drawer, and the tools that the control knows."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    ABOVE_NOTHING,
    SIZE,
    TEXT,
    ConeAngle,
    Count,
    OneOf,
    ReadBy,
    Size,
    Table,
    ToolLength,
    ToolRoom,
    either,
    is_number,
    length_mm,
    one_of,
    takes,
    word_of,
)
from millprep.infiles.part_words import DrillWord, ThreadWord
from millprep.model.tools import ToolKind

LEADS_THREADS = {"taper": 8.0, "second": 4.0, "bottoming": 2.0}
"""Chamfered threads of hand taps: taper 7-10, plug 3-5, bottoming 1-2, the deeper end of the last.
Source: Machinery's Handbook, "Taps and Dies", chamfer of taps. Its plug tap is a second tap in
Britain, where a plug tap is the bottoming one: the word is refused with both readings."""


def _keyed(key: str) -> BeforeValidator:
    """A bare size where a table with that key may stand."""

    @takes(SIZE if key == "diameter" else TEXT, also=True)
    def as_table(value: object) -> object:
        return value if isinstance(value, dict) else {key: value}

    return BeforeValidator(as_table)


class CutterTable(Table):
    """A drill, reamer, countersink, counterbore or end mill of the drawer, or a range of sizes.

    size : another word for diameter; type : of a reamer; teeth, centre_cutting : of an end mill
    """

    diameter: DrillWord | None = None
    size: DrillWord | None = None
    type: OneOf[Literal["hand", "machine"]] | None = None
    from_: Annotated[DrillWord | None, Field(alias="from")] = None
    to: DrillWord | None = None
    step: Size | None = None
    point_angle: ConeAngle | None = None
    tip_flat: ToolRoom | None = None
    lead: ToolLength | None = None
    flute: ToolLength | None = None
    length: ToolLength | None = None
    carbide: StrictBool = False
    teeth: Count | None = None
    centre_cutting: StrictBool | None = None


@takes(either(ABOVE_NOTHING, one_of(*LEADS_THREADS)))
def _lead_threads(value: Any) -> float:
    word = word_of(value)
    if word == "plug":
        remedy = 'write "second" for 4 threads, or "bottoming" for 2 (a plug tap in Britain)'
        raise WordError('"plug" is the second tap to some and the bottoming one to others', remedy)
    if word in LEADS_THREADS:
        return LEADS_THREADS[word]
    if not is_number(value) or not 0 < value <= 20:
        known = ", ".join(LEADS_THREADS)
        raise WordError(f"{shown(value)} is no tap's lead", f"give {known}, or a number of threads")
    return float(value)


@frozen
class Lead:
    """A lead before the kind of tool is known: threads of a tap, a length of a reamer."""

    threads: float | None = None
    length_mm: float | None = None


@takes(SIZE)
def _lead(value: object, units: Units) -> Lead:
    if isinstance(value, str) and value.strip().lower() not in (*LEADS_THREADS, "plug"):
        return Lead(length_mm=length_mm(value, units))
    threads = _lead_threads(value)
    return Lead(threads, None if isinstance(value, str) else length_mm(value, units))


class TapTable(Table):
    thread: ThreadWord
    lead: Annotated[float | None, ReadBy(_lead_threads)] = None
    flute: ToolLength | None = None
    length: ToolLength | None = None
    carbide: StrictBool = False


Cutters = tuple[Annotated[CutterTable, _keyed("diameter")], ...]


class BoringHeadTable(Table):
    from_: Annotated[Size | None, Field(alias="from")] = None
    to: Size | None = None
    dial: OneOf[Literal["diameter", "radius"]] = "diameter"
    stops: StrictBool = True


@takes(one_of("none"), also=True)
def _not_there(value: object) -> object:
    """The word "none" strikes out what the packaged shop has."""
    return None if word_of(value) == "none" else value


class DrawerTable(Table):
    drills: Cutters = ()
    reamers: Cutters = ()
    taps: tuple[Annotated[TapTable, _keyed("thread")], ...] = ()
    spot_drills: Cutters = ()
    countersinks: Cutters = ()
    counterbores: Cutters = ()
    end_mills: Cutters = ()
    transfer_punches: Cutters = ()
    pilot_from: Size | None = None
    boring_head: Annotated[BoringHeadTable | None, BeforeValidator(_not_there)] = None


class HolderTable(Table):
    diameter: ToolLength
    length: ToolLength


class ToolTable(Table):
    number: Count
    kind: OneOf[ToolKind]
    diameter: DrillWord | None = None
    thread: ThreadWord | None = None
    point_angle: ConeAngle | None = None
    tip_flat: ToolRoom | None = None
    lead: Annotated[Lead | None, ReadBy(_lead)] = None
    length: ToolRoom = 0.0
    flute: ToolLength | None = None
    reach: ToolLength | None = None
    holder: HolderTable | None = None
    carbide: StrictBool = False
