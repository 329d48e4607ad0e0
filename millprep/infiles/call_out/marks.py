"""The marks that plans print: figures, diameters, depths, threads, as pieces of patterns.

Patterns meet a text that `plain` has made plain without moving a letter, so that what is found
stands in the same place of what was typed.
"""

from __future__ import annotations

import re

from millprep.model.part import FACES, Face

_PLAIN = str.maketrans(
    {
        **dict.fromkeys("’‘`´′", "'"),
        **dict.fromkeys("“”″", '"'),
        **dict.fromkeys("⌀φΦ∅", "ø"),
        **dict.fromkeys("–—−‐‑", "-"),
        **dict.fromkeys("\t\n\r\v\f\xa0\u2009\u202f\x00\x01", " "),
        "×": "x",
        "⁄": "/",
        "º": "°",
        "˚": "°",
    }
)
GONE, GONE_HERE = "\x00", "\x01"
"""Stand for letters that were understood; the second lets a size meet its word across it."""


def plain(words: str) -> str:
    """The words with one sign for each mark and every letter in its old place."""
    return words.translate(_PLAIN)


def small(words: str) -> str:
    """The same in small letters, none of which becomes two."""
    return "".join(low if len(low := letter.lower()) == 1 else letter for letter in words)


HALVES = "½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚"
_BARE = (
    rf"(?:\d+(?:[ ]+|-)\d+[ ]?/[ ]?\d+|\d+[ ]?[{HALVES}]|\d+/\d+|[{HALVES}]"
    r"|\d*\.\d+|\d+,\d+|\d+)(?![\d/])"
)
_GOES_ON = (
    r"\s+(?!(?:x|by|deep|dp|dia|diam|diameter|depth|full|thro|through|thru|p|pcd|pitch|bolt|circle|rad"
    r"|radius|drill|drilled|ream|reamed|bore|bored|tap|tapped|holes?|c|csk|cbore|counterbore|apart"
    r"|countersink|spotface|s|bs[wf]|whit|whitworth|me|and|to|up|down|in|on|at)\b)[a-z]"
)
"""Words before which "in" is no inch: "6 in centre", "3/8 in from"."""
_UNIT = rf"(?:\s*(?:mm\b|inch(?:es)?\b|ins?\b(?!{_GOES_ON})|''|\"))?"
FIGURE = rf"(?<!no\. )(?<!no )(?<!no\.)(?<!#)(?<!# )(?<![a-wyz\d_./,-])(?:{_BARE}{_UNIT})"
"""A length as it is typed: "1 1/4", "½", ".375", '3/8"', "9.5 mm"."""

DIA = r"(?:dia(?:m|meter)?\b\.?|ø)"
DEEP = r"(?:deep\b|dp\b\.?|in\s+depth\b|full\s+thread\b)(?:,?\s+(?:of\s+)?full\s+thread\b)?"
ANGLE = r"(?:\d+(?:\.\d+)?\s*(?:deg(?:rees)?\b\.?|°)(?:\s*\d+')?)"
NUMBERED = r"(?:(?:#|\bno\b\.?|\bnumber\b)\s*\d{1,3}\b(?!\s*[-/])|\bletter\s+[a-z]\b)"
SUITS = r"(?:for|to\s+suit|to\s+take|to\s+clear)"
AND = r"(?:\s*(?:,|x|by|to|and)\s*|\s+)"

_FORM = (
    r"(?:un[efc]{1,2}|bs[wf]|b\.\s?s\.\s?[wf]\.?|whit(?:worth)?\b\.?|me\b|m\.e\.|bsp|bsc|cei"
    r"|cycle|ba\b|b\.\s?a\b\.?)"
)
_HAND = r"(?:\s*\(?(?:left[\s-]hand(?:ed)?|right[\s-]hand(?:ed)?|l\.?h\b\.?|r\.?h\b\.?)\)?)?"
_SIZE = r"(?:\d+[ -]\d+/\d+|\d+/\d+|#\s?\d+|no\.?\s?\d+|\d*\.\d+|\d+)"
THREAD = (
    r"(?<![\w./#-])(?:"
    rf"m\s?\d+(?:\.\d+)?(?:\s*x\s*(?:\d+\.\d+|\.\d+|\d+)(?![\d./])(?!\s*(?:{DEEP}|mm|in\b|\")))?(?:\s*-\s*6[hg])?\b"
    rf"|{_SIZE}\s*(?:in\b|\")?\s*[-x]\s*\d\d(?:\s*(?:tpi|t\.p\.i\.?|t\b))?(?:\s*{_FORM})"
    rf"|{_SIZE}\s*(?:in\b|\")?\s*x\s*\d\d\s*(?:tpi\b|t\.p\.i\.?|t\b)"
    rf"|{_SIZE}\s?-\s?\d\d\b(?!\s*/)"
    rf"|{_SIZE}\s*(?:in\b|\")?\s*{_FORM}(?:\s*\d\d\s*(?:tpi|t\.p\.i\.?))?"
    r"|g\s?\d+/\d+|ba\s?\d+"
    rf"){_HAND}"
)
"""A thread that is known for one by its letters, or by a dash before its threads to the inch."""
THREAD_OR_SIZE = (
    rf"(?:{THREAD}|(?<![\w./#-]){_SIZE}\s*x\s*\d\d\b(?!\s*(?:{DEEP}|/|\.)){_HAND}"
    rf"|(?<![\w./#-]){_SIZE}(?![\w/]|\.\d){_HAND})"
)
"""What may follow the word tap or clear."""

EDGES: dict[str, Face] = {face: face for face in FACES}
EDGES |= {"lh": "left", "rh": "right", "rear": "back", "base": "bottom", "underside": "bottom"}
EDGE = (
    r"(?:the\s+)?(?P<edge>left|right|front|back|rear|top|bottom|base|underside|l\.?h\b\.?|r\.?h\b\.?)"
    r"(?:[\s-]+hand)?(?:\s+(?:edge|end|side|face))?\b"
)


def edge_of(word: str) -> Face:
    """The face that an edge's word means."""
    return EDGES[word.replace(".", "")]


def thread_words(typed: str) -> str:
    """A thread as the reader of threads takes it: without full stops, "T" for threads an inch."""
    words = " ".join(typed.split())
    words = re.sub(r"(?i)\bt\.p\.i\.?|(?<=\d)\s*t$", " tpi", words)
    words = re.sub(r"(?i)\b(b|m)\.\s?(?:(s)\.\s?)?([awfe])\b\.?", r"\1\2\3", words)
    words = re.sub(r"(?i)(?<=\d)\s+b\s?a$", "BA", words) if "." in typed else words
    return re.sub(r"(?i)\bwhit\.", "whit", words).strip()
