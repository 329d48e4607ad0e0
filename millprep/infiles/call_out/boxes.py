"""What a single box of a form takes in words: "thro'", "1 1/4 P.C.D.", "dia 5/16", "45 deg".

What is not surely the figure with the words of its box round it is left as it was typed, so that
the reader of the file says what is wrong with it.
"""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length
from millprep.infiles.call_out.making import GRADES, PINS, THROUGH
from millprep.infiles.call_out.marks import (
    ANGLE,
    DEEP,
    DIA,
    EDGES,
    FIGURE,
    THREAD_OR_SIZE,
    plain,
    small,
    thread_words,
)
from millprep.infiles.call_out.mouths import degrees
from millprep.infiles.call_out.places import NUMBER_WORDS
from millprep.infiles.call_out.reader import read_call_out
from millprep.model.part import Face

_ANGLES = {"circle.start", "arc.start", "arc.end", "polar.angle", "pattern_from.turned"}
_LENGTHS = {
    *("diameter", "depth", "drill_depth", "radius", "chord", "inset", "tolerance", "position"),
    *("pitch", "breakthrough", "peck", "centre_x", "centre_y", "centre_z", "x", "y", "z", "length"),
    *("is", "general_tolerance", "grip", "thickness", "height", "safe_height", "packing"),
    *("backing",),
    *EDGES,
}
_COUNTS = {"count", "columns", "rows"}
_SIZES = {
    "drill": "drill(?:ed)?",
    "ream": "ream(?:ed)?",
    "bore": "bor(?:e|ed)",
    "tap": "tap(?:ped)?|thread(?:ed)?",
    "clear": "clear(?:ance|ing)?",
}
_ROUND_A_LENGTH = (
    rf"(?:{DIA}|{DEEP}|p\.?\s?c\.?\s?d\b\.?|(?:pitch|bolt)\s+circle|pitch|circle|rad(?:ius)?\b\.?"
    r"|c['/]?\s?bore\b|counter-?bore\b|c['/]?\s?sk\b|countersink\b|s'\s?face\b|spot\s?face\b"
    r"|thick\b|long\b|wide\b|high\b|up\b|down\b|across\b|inset\b|apart\b|centres\b"
    r"|from\s+(?:the\s+)?(?:each\s+)?(?:left|right|front|back|top|bottom|base|edges?)(?:[\s-]hand)?"
    r"(?:\s+(?:edge|end|side|face))?\b|\+\s?/\s?-|±|depth\b|deep\b|in\b|to\b|an?\b|on\b|of\b|x\b"
    r"|the\b|within\b|full\b|[\s,.:=])*"
)
_LEADS = {
    "counterbore": "c'bore ",
    "countersink": "csk ",
    "spotface": "s'face ",
    "circle": "on ",
    "opened": "open out ",
}


def in_box(key: str, words: str, units: Units) -> str:
    """What of the words belongs in the box of that key; the words themselves where that is not
    sure."""
    typed = plain(words).strip()
    low = small(typed)
    last = key.rsplit(".", 1)[-1]
    if key in _ANGLES or last == "angle":
        found = re.fullmatch(rf"(?:(?:first\s+)?at\s+)?(?P<it>{ANGLE})(?:\s+incl\w*\.?)?", low)
        return degrees(typed[slice(*found.span("it"))]) if found else words
    if last in _COUNTS:
        return _count(low) or words
    if last == "face":
        return _face(low) or words
    if last == "pin":
        return next((pin for word, pin in PINS.items() if _is_fit(word, low)), words)
    if last == "clearance":
        return next((grade for word, grade in GRADES.items() if _is_fit(word, low)), words)
    if key == "depth" and re.fullmatch(rf"{THROUGH}\.?", low):
        return "through"
    if last in _SIZES:
        return _size(last, typed, low) or words
    is_length = last in _LENGTHS or last.isdigit()
    return (_length(typed, low, units) if is_length else "") or words


def in_boxes(key: str, words: str, units: Units, face: Face = "top") -> dict[str, str]:
    """The same where one box was given the figures of several: "c'bore 5/16 x 3/16 deep" gives
    diameter and depth, "ream 1/2 H7" size and fit. All of it is understood, or it is left."""
    alone = in_box(key, words, units)
    if alone != words or _is_one_figure(words, units):
        return {key: alone}
    first = key.removeprefix("far.").partition(".")[0]
    for lead in ("", _LEADS.get(first, f"{first} " if first in _SIZES else "")):
        read = read_call_out(lead + words, units, face)
        asked = [one for one in read.values if one == key or one.startswith(first)]
        if not read.left and asked and (len(read.values) > 1 or key in read.values):
            values = {one: said for one, said in read.values.items() if one != key or said != words}
            if key.startswith("far."):
                return {f"far.{one}": said for one, said in values.items()}
            return values or {key: words}
    return {key: words}


def _is_one_figure(words: str, units: Units) -> bool:
    try:
        read_length(words, units)
    except WordError:
        return False
    return True


def _count(low: str) -> str:
    found = re.fullmatch(r"(\w+)\s*(?:off|holes?|no\.?s?|x|columns?|rows?|places)?\.?", low)
    if not found:
        return ""
    word = found[1]
    return (
        str(NUMBER_WORDS.index(word) + 1)
        if word in NUMBER_WORDS
        else word
        if word.isdecimal()
        else ""
    )


def _face(low: str) -> str:
    found = re.fullmatch(
        r"(?:(?:in|on|from)\s+)?(?:the\s+)?(?P<edge>[a-z]+\.?[a-z]*\.?)(?:[\s-]hand)?"
        r"(?:\s+(?:face|end|side))?",
        low,
    )
    return EDGES.get(found["edge"].replace(".", ""), "") if found else ""


def _is_fit(word: str, low: str) -> bool:
    return re.fullmatch(rf"{word}(?:\s+fit)?(?:\s+(?:for\s+)?(?:an?\s+)?pin)?", low) is not None


def _size(word: str, typed: str, low: str) -> str:
    """A size without its own word: "No. 27 drill", "dia 5/16", "tap 4BA", "F"."""
    own = _SIZES[word]
    found = re.fullmatch(
        rf"(?:(?:{own})\b\s*(?:for\s+)?)?(?:{DIA}\s*)?(?P<it>.+?)(?:\s*{DIA})?"
        rf"(?:\s*\b(?:{own}))?(?:\s+holes?)?\.?",
        low,
    )
    if found is None:
        return ""
    it = typed[slice(*found.span("it"))]
    if word == "drill" and re.fullmatch(r"[a-zA-Z]", it):
        return f"letter {it.upper()}"
    if word in ("tap", "clear"):
        return thread_words(it) if re.fullmatch(THREAD_OR_SIZE, small(it)) else ""
    return it if re.fullmatch(rf"{FIGURE}|(?:#|no\.?|number|letter)\s*\w+", small(it)) else ""


def _length(typed: str, low: str, units: Units) -> str:
    figures = list(re.finditer(FIGURE, low))
    if len(figures) != 1:
        return ""
    found = figures[0]
    if units == "mm" and re.match(r"\s*in\s+from\b", low[found.end() :]):
        return ""  # inches, or so much in from an edge?
    around = low[: found.start()], low[found.end() :]
    if all(re.fullmatch(_ROUND_A_LENGTH, words) for words in around) and "," not in found[0]:
        return typed[slice(*found.span())]
    return ""
