"""The shape of a shop file's [control]: what the control of a CNC mill can do."""

import re
from collections.abc import Callable
from typing import Annotated, Literal

from pydantic import StrictBool

from millprep.base.findings import WordError
from millprep.base.units import Units, shown
from millprep.infiles.fields import (
    LENGTH,
    TEXT,
    OneOf,
    PositiveNumber,
    ReadBy,
    Room,
    Seconds,
    Size,
    Table,
    either,
    just,
    one_of,
    some,
    table,
    takes,
    whole,
    whole_within,
    word_of,
)
from millprep.infiles.part_words import WORK_OFFSETS, Triple, triple
from millprep.infiles.wording import UnknownWordError
from millprep.model.shop import Control

KNOWN_CYCLES = ("G73", "G74", "G76", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89")
_LAST_NUMBER = 9999  # of a program: four figures (common practice)
KEPT_CODES = ("G10", "G52", "G92")
OTHER_MEANINGS = frozenset({*range(10), 13, 14, 19, 29, 30, 48, 49, 60, *range(96, 100), 198})
"""M codes that are read, or known to do more than switch something: no list passes them over."""
_CODE = re.compile(r"([GM])0*(\d{1,3}(?:\.\d)?)")
Place = Annotated[Triple | None, ReadBy(triple)]


def _codes(known: tuple[str, ...], what: str, remedy: str) -> Callable[[object], frozenset[str]]:
    """A list of codes, each of those known."""

    @takes(some(one_of(*known)))
    def read(value: object) -> frozenset[str]:
        given = value if isinstance(value, list) else [""]
        words = [each.strip().upper() if isinstance(each, str) else "" for each in given]
        if any(word not in known for word in words):
            raise UnknownWordError(f"{shown(value)} is no list of {what}", remedy)
        return frozenset(words)

    return read


_listed_cycles = _codes(
    KNOWN_CYCLES, "cycles", f"give true, false, or a list of {', '.join(KNOWN_CYCLES)}"
)
_kept = _codes(
    KEPT_CODES,
    "what a control keeps",
    f"give a list of {', '.join(KEPT_CODES)}; [] where it keeps nothing",
)


@takes(either({"type": "boolean"}, some(one_of(*KNOWN_CYCLES))))
def _cycles(value: object) -> frozenset[str]:
    """True stands for those that a control usually knows, false for none."""
    if isinstance(value, bool):
        return Control().cycles if value else frozenset()
    return _listed_cycles(value)


@takes(either(one_of("all"), some(TEXT)))
def _codes_there(value: object) -> frozenset[str] | None:
    """Every code of a list as it is commonly written; None for all."""
    if word_of(value) == "all":
        return None
    given = value if isinstance(value, list) else [""]
    codes = set()
    for each in given:
        match = _CODE.fullmatch(each.strip().upper()) if isinstance(each, str) else None
        if match is None:
            raise UnknownWordError(
                f"{shown(each)} is no code of a program",
                'give "all", or a list: ["G0", "G1", "M3"]',
            )
        codes.add(match[1] + match[2])
    return frozenset(codes)


@takes({"type": "object", "additionalProperties": TEXT})
def _m_codes(value: object) -> dict[int, str]:
    remedy = 'write m_codes = { M31 = "air" }: each code, and what it switches'
    if not isinstance(value, dict):
        raise UnknownWordError(f"{shown(value)} is no table of M codes", remedy)
    codes: dict[int, str] = {}
    for key, what in value.items():
        name = key.strip().upper()
        if not re.fullmatch(r"M\d{1,3}", name) or not isinstance(what, str) or not what.strip():
            raise UnknownWordError(f"{shown(key)} = {shown(what)} does not say what it is", remedy)
        if int(name[1:]) in OTHER_MEANINGS:
            raise UnknownWordError(
                f"{name} has a meaning of its own and is not passed over",
                "list codes that move nothing and turn nothing: coolant, lights, air",
            )
        codes[int(name[1:])] = what.strip()
    return codes


@takes(table({name: just(3, LENGTH) for name in WORK_OFFSETS}))
def _offsets(value: object, units: Units) -> dict[str, Triple]:
    if not isinstance(value, dict):
        raise WordError(
            f"{shown(value)} is no table of offsets", "write { G54 = [200, 100, -150] }"
        )
    unknown = [key for key in value if key.upper() not in WORK_OFFSETS]
    if unknown:
        accepted = f"accepted: {', '.join(WORK_OFFSETS)}"
        raise UnknownWordError(f"{shown(unknown[0])} is no work offset", accepted)
    return {key.upper(): triple(place, units) for key, place in value.items()}


@takes(either(one_of("none", "unknown"), just(3, LENGTH)))
def _home(value: object, units: Units) -> Triple | Literal["none"] | None:
    if word_of(value) == "none":
        return "none"
    return None if word_of(value) == "unknown" else triple(value, units)


@takes(either(one_of(False), whole(1, _LAST_NUMBER)))
def _program_number(value: object) -> int | None:
    """None for false."""
    if value is False:
        return None
    if type(value) is int and 1 <= value <= _LAST_NUMBER:
        return value
    remedy = f"give false, or the number of the first one, 1 to {_LAST_NUMBER}"
    raise WordError(f"{shown(value)} is no number of a program", remedy)


def _digits(least: int) -> ReadBy:
    """How many figures stand after the point."""
    return whole_within(least, 6, "number of decimals", f"give a whole number, {least} to 6")


class DecimalsTable(Table):
    """[control] decimals: fewer would put holes where they do not belong."""

    mm: Annotated[int, _digits(2)] = 3
    inch: Annotated[int, _digits(3)] = 5


class BacklashTable(Table):
    """[control] backlash of each driven axis."""

    x: Room = 0.0
    y: Room = 0.0
    z: Room = 0.0


@takes(one_of(True, False, "ask"))
def _zero_in_stop(value: object) -> bool | None:
    if isinstance(value, bool):
        return value
    if word_of(value) == "ask":
        return None
    raise UnknownWordError(f"{shown(value)} is not one of them", "accepted: true, false, ask")


class ControlTable(Table):
    """[control]; what it leaves out is as in `Control`."""

    start: Place = None
    home: Annotated[Triple | Literal["none"] | None, ReadBy(_home)] = None
    home_2: Place = None
    offsets: Annotated[dict[str, Triple] | None, ReadBy(_offsets)] = None
    units: OneOf[Literal["mm", "inch", "none"] | None] = None
    strict: StrictBool = False
    block_delete: StrictBool = False
    cycles: Annotated[frozenset[str] | None, ReadBy(_cycles)] = None
    comments: OneOf[Literal["( )", ";", "none"]] = "( )"
    tool_change: OneOf[Literal["M6", "stop", "files"]] = "M6"
    change_goes_up: StrictBool = False
    zero_in_stop: Annotated[bool | None, ReadBy(_zero_in_stop)] = None
    length_offset: StrictBool = True
    tapping: OneOf[
        Literal["floating", "rigid", "reversing head", "by hand at the hole", "none"]
    ] = "floating"
    tap_speed: PositiveNumber = 400.0
    spindle_up: Seconds = 3.0
    xy_feed: Size = 300.0
    quill_stop: StrictBool = False
    axes: OneOf[Literal["xy", "xyz"]] = "xyz"
    codes: Annotated[frozenset[str] | None, ReadBy(_codes_there)] = None
    m_codes: Annotated[dict[int, str] | None, ReadBy(_m_codes)] = None
    keeps: Annotated[frozenset[str], ReadBy(_kept)] = frozenset({"G10"})
    flow: OneOf[Literal["either", "O words", "letters", "none"]] = "either"
    missing_arguments: OneOf[Literal["as before", "zero"]] | None = None
    tool_numbers: StrictBool = True
    backlash: BacklashTable = BacklashTable()
    backlash_compensated: StrictBool = False
    spindle: OneOf[Literal["driven", "switched", "by hand"]] = "driven"
    peck_retract: OneOf[Literal["r", "clear"]] = "r"
    dwell: OneOf[Literal["s", "ms"]] = "s"
    line_numbers: StrictBool = False
    program_number: Annotated[int | None, ReadBy(_program_number)] = None
    stop_message: OneOf[Literal["same line", "line before", "(MSG, )"]] = "same line"
    coolant: OneOf[Literal["none", "M7", "M8"]] = "none"
    arcs: OneOf[Literal["centre", "absolute centre", "radius"]] = "centre"
    decimals: DecimalsTable = DecimalsTable()
    line_end: OneOf[Literal["lf", "crlf"]] = "lf"

    @property
    def taps_by_power(self) -> bool:
        return self.tapping in ("floating", "rigid", "reversing head")


def with_quill(control: ControlTable) -> ControlTable:
    """The same; where the quill is worked by hand with what follows from that and is left out."""
    if control.axes == "xyz":
        return control
    quill = {
        "cycles": frozenset(),
        "length_offset": False,
        "tapping": "by hand at the hole",
        "tool_change": "stop",
    }
    left_out = {key: quill[key] for key in quill if key not in control.model_fields_set}
    return control.model_copy(update=left_out)
