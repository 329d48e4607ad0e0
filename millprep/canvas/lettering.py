"""Lettering: the room that words take, and the letters that a typeface has. Imports nothing.

Heights are those of a capital, as drawings give them (ISO 3098-1: 1.8, 2.5, 3.5, 5 mm).
"""

from __future__ import annotations

import math
import unicodedata

CAPITAL_OVER_SIZE = 0.718
"""Height of a capital over the size of the typeface. Source: Adobe's metrics of Helvetica."""
DESCENT_OVER_CAPITAL = 0.3
"""How far p and y reach below the base line."""
SPARE = 1.14
"""Viewers put other typefaces in place of the one asked for; the usual ones are this much wider."""

# Source: Adobe's metrics of Helvetica, thousandths of the size, from the blank to the tilde.
_WIDTHS = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip
_OTHER_WIDTH, _SQUARE_WIDTH = 722, 1000
_PLAIN = {
    "Ø": "dia ", "⌀": "Ø", "×": "x", "±": "+/-", "°": " deg", "–": "-", "—": "-", "’": "'",
    "‘": "'", "“": '"', "”": '"', "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "ø": "o", "ł": "l",
    "Ł": "L", "đ": "d", "µ": "u", "…": "...", "½": "1/2", "¼": "1/4", "¾": "3/4",
}  # fmt: skip


def width_mm(words: str, height_mm: float) -> float:
    """How long words of that height come out in Helvetica [mm]."""
    thousandths = sum(_width(letter) for letter in words)
    return thousandths / 1000 * height_mm / CAPITAL_OVER_SIZE


def _width(letter: str) -> int:
    place = ord(letter) - ord(" ")
    if 0 <= place < len(_WIDTHS):
        return _WIDTHS[place]
    if letter == "Ø":  # the sign of a diameter
        return _WIDTHS[ord("O") - ord(" ")]
    is_square = unicodedata.east_asian_width(letter) in "WF"
    return _SQUARE_WIDTH if is_square else _OTHER_WIDTH


def room_mm(words: str, height_mm: float) -> float:
    """How much room to keep for them, whatever typeface they are shown in [mm]."""
    return SPARE * width_mm(words, height_mm)


def corners_of(
    at: tuple[float, float], words: str, height_mm: float, anchor: str, turn_deg: float
) -> list[tuple[float, float]]:
    """The four corners of the box that the words keep, descenders included."""
    length = room_mm(words, height_mm)
    begin = -length * {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor]
    turn = math.radians(turn_deg)
    return [
        (
            at[0] + along * math.cos(turn) - up * math.sin(turn),
            at[1] + along * math.sin(turn) + up * math.cos(turn),
        )
        for along in (begin, begin + length)
        for up in (-DESCENT_OVER_CAPITAL * height_mm, height_mm)
    ]


def printable(words: str) -> str:
    """The words with every character that is no letter or mark as a blank."""
    return "".join(letter if letter.isprintable() else " " for letter in words)


def in_letters(words: str, encoding: str) -> str:
    """The words in the letters of an encoding: else without accents, else a question mark."""
    if words.isprintable() and _fits(words, encoding):
        return words
    return "".join(_in_letters(letter, encoding) for letter in printable(words))


def _in_letters(letter: str, encoding: str) -> str:
    bare = unicodedata.normalize("NFKD", letter)
    without_accents = "".join(c for c in bare if not unicodedata.combining(c))
    for attempt in (letter, _PLAIN.get(letter, ""), without_accents):
        if attempt and _fits(attempt, encoding):
            return attempt
    return "?"


def _fits(words: str, encoding: str) -> bool:
    try:
        words.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
