"""The shape of a shop file's [control]: what the control of a CNC mill can do."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import StrictBool, ValidationInfo

from millprep.base.units import Units, shown
from millprep.infiles.fields import PositiveNumber, ReadBy, Table, fault, one_of
from millprep.infiles.part_schema import WORK_OFFSETS
from millprep.infiles.part_words import Triple, triple

KNOWN_CYCLES = ("G73", "G74", "G76", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89")
KEPT_CODES = ("G10", "G52", "G92")
Place = Annotated[Triple | None, ReadBy(triple)]


def _control_units(value: object) -> Units | None:
    word = value.strip().lower() if isinstance(value, str) else None
    if word == "none":
        return None
    if word == "mm" or word == "inch":
        return "mm" if word == "mm" else "inch"
    raise fault(f"{shown(value)} is not one of them", "accepted: mm, inch, none", "unknown-word")


def _cycles(value: object) -> frozenset[str] | bool:
    if isinstance(value, bool):
        return value
    given = value if isinstance(value, list) else [""]
    words = [each.strip().upper() if isinstance(each, str) else "" for each in given]
    if any(word not in KNOWN_CYCLES for word in words):
        raise fault(
            f"{shown(value)} is no list of cycles",
            f"give true, false, or a list of {', '.join(KNOWN_CYCLES)}",
            "unknown-word",
        )
    return frozenset(words)


def _kept(value: object) -> frozenset[str]:
    given = value if isinstance(value, list) else [""]
    words = [each.strip().upper() if isinstance(each, str) else "" for each in given]
    if any(word not in KEPT_CODES for word in words):
        raise fault(
            f"{shown(value)} is no list of what a control keeps",
            f"give a list of {', '.join(KEPT_CODES)}; [] where it keeps nothing",
            "unknown-word",
        )
    return frozenset(words)


def _offsets(value: object, info: ValidationInfo) -> dict[str, Triple]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} is no table of offsets", "write { G54 = [200, 100, -150] }")
    unknown = [key for key in value if key.upper() not in WORK_OFFSETS]
    if unknown:
        raise fault(
            f"{shown(unknown[0])} is no work offset",
            f"accepted: {', '.join(WORK_OFFSETS)}",
            "unknown-word",
        )
    return {key.upper(): triple(place, info) for key, place in value.items()}


def _zero_in_stop(value: object) -> bool | None:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.strip().lower() == "ask":
        return None
    raise fault(f"{shown(value)} is not one of them", "accepted: true, false, ask", "unknown-word")


ToolChange = Literal["M6", "stop", "files"]
Tapping = Literal["floating", "rigid", "reversing head", "none"]
TAPPING_WORDS = ("floating", "rigid", "reversing head", "none")
Comments = Literal["( )", ";", "none"]


class ControlTable(Table):
    start: Place = None
    home: Place = None
    home_2: Place = None
    offsets: Annotated[dict[str, Triple] | None, ReadBy(_offsets)] = None
    units: Annotated[Units | None, ReadBy(_control_units)] = None
    strict: StrictBool = False
    block_delete: StrictBool = False
    cycles: Annotated[frozenset[str] | bool, ReadBy(_cycles)] = True
    comments: Annotated[Comments, one_of("( )", ";", "none")] = "( )"
    tool_change: Annotated[ToolChange, one_of("M6", "stop", "files")] = "M6"
    change_goes_up: StrictBool = False
    zero_in_stop: Annotated[bool | None, ReadBy(_zero_in_stop)] = None
    length_offset: StrictBool = True
    tapping: Annotated[Tapping, one_of(*TAPPING_WORDS)] = "floating"
    tap_speed: PositiveNumber = 400.0
    axes: Annotated[Literal["xyz", "xy"], one_of("xyz", "xy")] = "xyz"
    keeps: Annotated[frozenset[str], ReadBy(_kept)] = frozenset({"G10"})
