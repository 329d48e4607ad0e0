"""The words of many plain lines at once, as arrays. Imports numpy only."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen

Numbers = NDArray[np.signedinteger[Any]]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_NUMBER = re.compile(rb"[-+.0-9]*")
_MOST_DIGITS = 15  # so many fit a float without rounding, whatever they are
_TENS = np.array([10.0**power for power in range(_MOST_DIGITS + 1)])
_NOUGHT, _NINE, _POINT, _MINUS, _PLUS, _FIRST_LETTER = b"09.-+A"
_LINE_FEED, _RETURN, _BLANK = b"\n\r "


@frozen
class Words:
    """The words of whole lines: letter (capital), value, index of the line, whether the number has
    a point, whether it is no plain number behind its letter (its value means nothing then), each
    `(N,)`; line_ends is the place of the last byte of each line."""

    letter: NDArray[np.uint8]
    value: Floats
    line: Numbers
    has_point: Flags
    is_misspelt: Flags
    line_ends: Numbers

    def of(self, letter: str) -> tuple[Numbers, Floats]:
        """(line index, value) of each word with the letter."""
        words = np.flatnonzero(self.letter == ord(letter))
        return self.line[words], self.value[words]

    def has_letter(self, letters: str) -> Flags:
        """(N,) whether a word has one of these letters."""
        is_one = np.zeros(128, dtype=np.bool_)
        is_one[list(letters.encode())] = True
        return is_one[self.letter]


def words_of(text: bytes) -> Words:
    """Of lines, each with its end: letters, digits, signs, points and blanks; on each line a letter
    stands first."""
    codes = np.frombuffer(text, dtype=np.uint8)
    is_end = codes == _LINE_FEED
    if b"\r" in text:
        is_return = codes == _RETURN
        is_return[:-1] &= ~is_end[1:]
        is_end |= is_return
    places = np.flatnonzero(codes >= _FIRST_LETTER)
    value, has_point, is_misspelt = _values(text, codes, places)
    line_ends = np.flatnonzero(is_end)
    words = np.diff(np.searchsorted(places, line_ends), prepend=0)
    line = np.repeat(np.arange(line_ends.size, dtype=np.int32), words)
    letter = codes[places] & np.uint8(0xDF)
    return Words(letter, value, line, has_point, is_misspelt, line_ends)


def _counted(flags: Flags) -> NDArray[np.int32]:
    """How many are set up to each place. As bytes: numpy adds up those ten times as fast."""
    return np.cumsum(flags.view(np.int8), dtype=np.int32)


def _values(text: bytes, codes: NDArray[np.uint8], places: Numbers) -> tuple[Floats, Flags, Flags]:
    """(value, whether it has a point, whether it is misspelt) of the number behind each letter.

    The digits of a number, taken as one whole number, are exact, and so is the power of ten that
    divides them: the quotient is the nearest float, which is what `float` gives.
    """
    is_digit = (codes >= _NOUGHT) & (codes <= _NINE)
    digits = np.zeros(np.count_nonzero(is_digit) + _MOST_DIGITS, dtype=np.uint8)
    digits[:-_MOST_DIGITS] = np.compress(is_digit, codes) - _NOUGHT
    counted = _counted(is_digit)
    first = counted[places]
    count = np.diff(first, append=counted[-1:])
    whole = np.zeros(places.size)
    for many in range(1, min(int(count.max(initial=0)), _MOST_DIGITS) + 1):
        such = np.flatnonzero(count == many)
        at, so_far = first[such], np.zeros(such.size)
        for place in range(many):
            so_far *= 10
            so_far += digits[at + place]
        whole[such] = so_far
    points = np.flatnonzero(codes == _POINT)
    pointed = np.searchsorted(places, points) - 1  # the word of each
    has_point = np.zeros(places.size, dtype=np.bool_)
    has_point[pointed] = True
    decimals = np.zeros(places.size, dtype=np.int32)
    decimals[pointed] = (first + count)[pointed] - counted[points]
    value = whole / _TENS[np.minimum(decimals, _MOST_DIGITS)]
    value[codes[places + 1] == _MINUS] *= -1.0
    is_misspelt = count == 0
    is_misspelt[pointed[1:][pointed[1:] == pointed[:-1]]] = True
    is_misspelt[np.searchsorted(places, _strays(codes)) - 1] = True
    for long in np.flatnonzero((count > _MOST_DIGITS) & ~is_misspelt).tolist():
        number = _NUMBER.match(text, int(places[long]) + 1)
        value[long] = float(number[0]) if number else 0.0
    return value, has_point, is_misspelt


def _strays(codes: NDArray[np.uint8]) -> Numbers:
    """The places of figures behind a blank, and of signs behind a figure."""
    is_figure = (codes >= _PLUS) & (codes <= _NINE)
    is_stray = (codes[:-1] <= _BLANK) | (is_figure[:-1] & (codes[1:] < _POINT))
    return np.flatnonzero(is_figure[1:] & is_stray) + 1
