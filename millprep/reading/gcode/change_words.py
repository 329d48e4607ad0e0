"""What the comment at a stop says of tools: which one is to be put in, if any.

Read generously, for people write it in many ways ("FIT TOOL 3", "CHANGE TO T3", "DRILL 5, TOUCH
OFF"), but a comment that only speaks of a tool ("CHECK DEPTH OF DRILL 5 MM", "T1 STILL IN") changes
none.
Imports the shop's tool only.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from millprep.model.tools import Tool, ToolKind

UNNAMED = 0
"""A tool that is put in and whose number nobody gives."""

_KINDS: dict[str, ToolKind] = {
    "SPOT DRILL": "spot drill",
    "SPOTTING DRILL": "spot drill",
    "CENTRE DRILL": "spot drill",
    "CENTER DRILL": "spot drill",
    "SLOT DRILL": "end mill",
    "DRILL": "drill",
    "REAMER": "reamer",
    "TAP": "tap",
    "COUNTERSINK": "countersink",
    "CSK": "countersink",
    "COUNTERBORE": "counterbore",
    "END MILL": "end mill",
    "ENDMILL": "end mill",
    "MILLING CUTTER": "end mill",
    "BORING HEAD": "boring head",
    "BORING BAR": "boring head",
}
_KIND = rf"(?P<kind>{'|'.join(_KINDS)})"
_SIZE = r"(?:DIA\.?\s*|M)?(?P<size>\d+/\d+|\d+\.?\d*|\.\d+)\s*(?:MM|IN|INCH)?"
_END = r"(?=\s*(?:$|[,;:.]|-\s|AND\b|THEN\b))"
_NUMBER = re.compile(
    r"(?<!BEFORE )(?<!AFTER )\b(?:TOOL\s*(?:NO\.?|NUMBER|#)?\s*|T)0*(\d{1,4})\b"
    r"(?!\.\d|/|\s*(?:MM|INCH)\b|\s*\")"
)
_VERB = r"(?:FIT|CHANGE|INSERT|LOAD|SWAP|MOUNT|PUT IN|USE)"
_ELSE = r"(?:OF|FOR|CLEAR|FROM|WITH|BEFORE|AFTER|CLAMPS?|GUARD|PART|STOP|JAWS?|BELT|SPEED)\b"
_PUT_IN = re.compile(
    rf"\b{_VERB}\s+(?:(?!{_ELSE})[^,;:\s]+\s+){{0,5}}(?:TOOL|{_KIND})\b|\bTOOL\s*CHANGE\b"
)
_BARE = (re.compile(rf"{_SIZE}\s*{_KIND}{_END}"), re.compile(rf"{_KIND}\s+{_SIZE}{_END}"))
_SIZED = (re.compile(rf"\b{_SIZE}\s*{_KIND}\b"), re.compile(rf"\b{_KIND}\s+{_SIZE}"))
_REFUSED = re.compile(
    rf"^RESTART: (?:SEE|OVER)\b|\b(?:NO|NOT|DON'?T|WITHOUT)\s+(?:TO\s+)?(?:{_VERB}|TOOL)"
    r"|\b(?:STILL|STAYS)\b"
)
_TOUCH_OFF = re.compile(
    r"\bTOUCH(?:ING)?\s*-?(?:\s*\w+){0,3}?\s*OFF\b"
    r"|\b(?:RE-?)?ZERO\s+(?:Z|ON|AT|IT|THE\s+TOOL)\b|\bSET\s+Z\b"
)

Find = Callable[[ToolKind, float], int | None]


def is_touch_off(comments: Iterable[str]) -> bool:
    """Whether the comments ask for the tool to be touched off."""
    return any(_TOUCH_OFF.search(comment.upper()) for comment in comments)


def tool_put_in(comments: Iterable[str], number: int, tool: Tool | None, find: Find) -> int | None:
    """The number of another tool that the comments put in, `UNNAMED`, or None where they do not.

    number, tool : of the tool that is in; 0 and None where nobody has said
    find         : the number of the tool of a kind and diameter [mm] that the program describes
    """
    for comment in comments:
        text = " ".join(re.sub(r"^\s*MSG\s*,", "", comment.upper()).split())
        if _REFUSED.search(text):
            continue
        numbers = [int(found) for found in _NUMBER.findall(text)]
        others = [each for each in numbers if each not in (0, number)]
        if others:
            return others[0]
        if not numbers and _names_tool(text):
            kind, diameter_mm = _sized(text)
            if tool is not None and (kind, diameter_mm) == (tool.kind, tool.diameter_mm):
                continue
            known = find(kind, diameter_mm) if kind and diameter_mm else None
            return UNNAMED if known is None else known
    return None


def _names_tool(text: str) -> bool:
    return _PUT_IN.search(text) is not None or any(form.match(text) for form in _BARE)


def _sized(text: str) -> tuple[ToolKind | None, float | None]:
    """Kind and diameter in mm that a comment names, as far as it does."""
    for form in _SIZED:
        found = form.search(text)
        if found is not None:
            is_mm = "/" not in found["size"] and not re.search(r"\d\s*IN", found[0])
            return _KINDS[found["kind"]], float(found["size"]) if is_mm else None
    return None, None
