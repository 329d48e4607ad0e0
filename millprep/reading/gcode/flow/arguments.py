"""G65: the letters of a call and the parameters that they fill. Common practice.

    A B C   D E F  H   I J K   M   Q  R  S  T  U  V  W  X  Y  Z
    1 2 3   7 8 9  11  4 5 6   13  17 18 19 20 21 22 23 24 25 26

Where I, J, K stand more than once, each further set fills the next three: 4 5 6, 7 8 9 and so on up
to 31 32 33, and beside them only A, B and C.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from millprep.base.units import shown
from millprep.reading.gcode.arithmetic import Environment, Value
from millprep.reading.gcode.expressions import Values, starts_value
from millprep.reading.gcode.report import bad_subprogram, missing_word, repeated_word

PARAMETER_OF: dict[str, int] = {
    "A": 1, "B": 2, "C": 3, "I": 4, "J": 5, "K": 6, "D": 7, "E": 8, "F": 9, "H": 11, "M": 13,
    "Q": 17, "R": 18, "S": 19, "T": 20, "U": 21, "V": 22, "W": 23, "X": 24, "Y": 25, "Z": 26,
}  # fmt: skip
_OFFSETS = "IJK"
_MOST_SETS = 10
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_WHOLE_LETTERS = frozenset("DHMSTLP")  # counted in ones everywhere: common practice


class MacroCall(NamedTuple):
    """program, times : behind P and L; arguments : (parameter, value)

    pointless : the first length without a decimal point, as written; empty: there is none
    """

    program: Value
    times: Value
    arguments: tuple[tuple[int, Value], ...]
    pointless: str


def macro_call(rest: str, position: int, environment: Environment) -> MacroCall:
    """What stands behind G65."""
    words = _words(rest, position, environment)
    programs = [value for letter, value, _ in words if letter == "P"]
    times = [value for letter, value, _ in words if letter == "L"]
    if len(programs) != 1 or len(times) > 1:
        raise missing_word("G65 needs one P, and takes one L", "write G65 P with the subprogram")
    given = [(letter, value) for letter, value, _ in words if letter not in "PL"]
    pointless = next(
        (
            letter + text
            for letter, value, text in words
            if letter not in _WHOLE_LETTERS and text.lstrip("+-").isdecimal() and value != 0
        ),
        "",
    )
    return MacroCall(programs[0], times[0] if times else 1.0, _filled(given), pointless)


def _words(rest: str, position: int, environment: Environment) -> list[tuple[str, Value, str]]:
    """(letter, value, text) of each word."""
    words: list[tuple[str, Value, str]] = []
    while position < len(rest):
        letter = rest[position]
        begin, position = position, position + 1
        if letter == "(":
            continue
        is_value = _NUMBER.match(rest, position) or starts_value(rest, position)
        if not is_value or not (letter in PARAMETER_OF or letter in "PL"):
            raise bad_subprogram(
                f"{shown(rest[begin:])}: not among what a G65 can hand over",
                "letters: " + " ".join(PARAMETER_OF) + "; P the subprogram, L how often",
            )
        value, after = Values(rest, environment).value(position)
        words.append((letter, value, rest[position:after]))
        position = after
    return words


def _filled(given: list[tuple[str, Value]]) -> tuple[tuple[int, Value], ...]:
    letters = [letter for letter, _ in given]
    offsets = [letter for letter in letters if letter in _OFFSETS]
    if offsets != sorted(offsets) or len(set(offsets)) < len(offsets):
        return _filled_by_sets(given)
    if len(set(letters)) < len(letters):
        raise repeated_word("a letter is twice in a G65", "give each letter once")
    return tuple((PARAMETER_OF[letter], value) for letter, value in given)


def _filled_by_sets(given: list[tuple[str, Value]]) -> tuple[tuple[int, Value], ...]:
    """I, J and K more than once, in sets of three."""
    letters = [letter for letter, _ in given]
    others = [letter for letter in letters if letter not in _OFFSETS]
    is_repeated = any(letters.count(letter) > 1 for letter in _OFFSETS)
    if not is_repeated or not set(others) <= set("ABC") or len(set(others)) < len(others):
        raise bad_subprogram(
            f"G65 with {' '.join(letters)}: controls differ on which parameters these fill",
            "I, J and K once each and in this order; or in sets of three beside A, B, C alone",
        )
    filled: list[tuple[int, Value]] = []
    number, last = 0, -1
    for letter, value in given:
        if letter not in _OFFSETS:
            filled.append((PARAMETER_OF[letter], value))
            continue
        place = _OFFSETS.index(letter)
        number += place <= last
        last = place
        if number >= _MOST_SETS:
            raise bad_subprogram(f"more than {_MOST_SETS} sets of I, J, K in a G65")
        filled.append((4 + 3 * number + place, value))
    return tuple(filled)
