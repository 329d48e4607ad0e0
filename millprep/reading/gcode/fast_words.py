"""The words of many plain lines at once, as arrays."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from millprep.base.bounds import LARGEST_NUMBER, LONGEST_LINE
from millprep.base.records import frozen
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.state import State

Numbers = NDArray[np.signedinteger[Any]]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Bytes = NDArray[np.uint8]

_MOST_DIGITS = 15  # so many fit a float without rounding, whatever they are
_TENS = np.array([10.0**power for power in range(_MOST_DIGITS + 1)])
_STRICT_DIGITS = 5  # of a line number (NISTIR 6556, section 3.3.2)
_NOUGHT, _POINT, _MINUS, _PLUS, _FIRST_LETTER, _G, _N = b"0.-+AGN"
_LINE_FEED, _RETURN = b"\n\r"
_CAPITALS = bytes(range(256)).upper()
_FIGURES = bytes((code - _NOUGHT) % 256 for code in range(256))
_NO_DIGITS = bytes(set(range(256)).difference(b"0123456789"))
_MOST_IN_ONE = 9
_AT_ONCE = 8  # digits, a byte each of one whole number, the first of them lowest
_LAST = np.array([(1 << 64) - (1 << 64 - 8 * many) for many in range(9)], dtype=np.uint64)

_TOGETHER = [
    (np.uint64(10), np.uint64(8), np.uint64(0x00FF00FF00FF00FF)),
    (np.uint64(100), np.uint64(16), np.uint64(0x0000FFFF0000FFFF)),
    (np.uint64(10_000), np.uint64(32), np.uint64(0x00000000FFFFFFFF)),
]
"""Factor, how far to move and what to keep, to put neighbours together."""


@frozen
class Words:
    """The words of whole lines, but for N: letter (capital), value, index of the line, whether the
    number has a point, each `(N,)`. The first `spelt` lines hold words and nothing else; of the
    others they mean nothing. line_ends is the place of the last byte of each line."""

    letter: Bytes
    value: Floats
    line: Numbers
    has_point: Flags
    spelt: int
    line_ends: Numbers

    def of(self, letter: str) -> tuple[Numbers, Floats]:
        """(line index, value) of each word with the letter."""
        words = np.flatnonzero(self.letter == ord(letter))
        return self.line.take(words), self.value.take(words)

    def has_letter(self, letters: str) -> Flags:
        """(N,) whether a word has one of these letters."""
        is_one = np.zeros(128, dtype=np.bool_)
        is_one[list(letters.encode())] = True
        return is_one[self.letter]


class _Marks(NamedTuple):
    """Text in capitals without blanks, a line feed before each line and behind the last.

    place, mark : of all that is no digit
    word, behind : index of the mark that is the letter of each word, and of the letter or line feed
                   that comes next
    first, end : how many digits stand before each of the two
    line : index of the line
    """

    text: bytes
    place: Numbers
    mark: Bytes
    word: Numbers
    behind: Numbers
    first: Numbers
    end: Numbers
    line: Numbers


def words_of(text: bytes, *, is_strict: bool) -> Words:
    """Of lines, each with its end, of letters, digits, signs, points and blanks."""
    line_ends = _line_ends(text)
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    marks = _marks_of(b"\n" + text.translate(_CAPITALS, b" \t"))
    letter = marks.mark.take(marks.word)
    has_point = marks.mark.take(marks.behind - 1) == _POINT
    is_number = letter == _N
    spelt = _spelt(marks, letter, is_number, line_ends.size, is_strict=is_strict)
    value = _values(marks, has_point, spelt)
    if not is_number.any():
        return Words(letter, value, marks.line, has_point, spelt, line_ends)
    kept = np.flatnonzero(~is_number)
    return Words(letter[kept], value[kept], marks.line[kept], has_point[kept], spelt, line_ends)


def _line_ends(text: bytes) -> Numbers:
    codes = np.frombuffer(text, dtype=np.uint8)
    is_end = codes == _LINE_FEED
    if b"\r" in text:
        is_return = codes == _RETURN
        is_return[:-1] &= ~is_end[1:]
        is_end |= is_return
    return np.flatnonzero(is_end)


def _marks_of(text: bytes) -> _Marks:
    codes = np.frombuffer(text, dtype=np.uint8)
    place = np.flatnonzero(codes - np.uint8(_NOUGHT) > _MOST_IN_ONE)
    mark = codes.take(place)
    heads = np.flatnonzero((mark >= _FIRST_LETTER) | (mark == _LINE_FEED))
    nth = np.flatnonzero(mark.take(heads) >= _FIRST_LETTER)  # of the heads
    word, behind = heads.take(nth), heads.take(nth + 1)
    first, end = place.take(word) - word, place.take(behind) - behind
    line = nth - np.arange(1, nth.size + 1)
    return _Marks(text, place, mark, word, behind, first, end, line)


def _spelt(marks: _Marks, letter: Bytes, is_number: Flags, lines: int, *, is_strict: bool) -> int:
    """How many lines come before the first that holds anything but words. The number of a line
    stands first on it; N and G have nothing but digits."""
    count = marks.end - marks.first
    is_whole = marks.behind - marks.word == 1
    is_amiss = (count == 0) | (~is_whole & (is_number | (letter == _G)))
    if is_number.any():
        is_amiss |= is_number & (marks.mark.take(marks.word - 1) != _LINE_FEED)
        if is_strict:
            is_amiss |= is_number & (count > _STRICT_DIGITS)
    mark, now = marks.mark[:-1], marks.mark[1:]
    is_end, has_digits = mark == _LINE_FEED, np.diff(marks.place) > 1
    is_stray = ((now == _PLUS) | (now == _MINUS)) & (has_digits | (mark < _FIRST_LETTER))
    is_stray |= (now == _POINT) & (is_end | (mark == _POINT))
    is_stray |= is_end & has_digits
    found: list[int] = marks.line[np.flatnonzero(is_amiss)[:1]].tolist()
    strays: list[int] = np.flatnonzero(is_stray)[:1].tolist()
    found += [int(np.count_nonzero(is_end[: one + 1])) - 1 for one in strays]
    return min([*found, lines])


def _values(marks: _Marks, has_point: Flags, spelt: int) -> Floats:
    """The number behind each letter.

    Its digits, taken as one whole number, are exact, and so is the power of ten that divides them:
    the quotient is the nearest float, which is what `float` gives.
    """
    figures = bytes(2 * _AT_ONCE) + marks.text.translate(_FIGURES, _NO_DIGITS)
    count = marks.end - marks.first
    value = _whole(figures, marks.end + _AT_ONCE, count)
    more = np.flatnonzero(count > _AT_ONCE)
    if more.size:
        value[more] += 1e8 * _whole(figures, marks.end[more], count[more] - _AT_ONCE)
    pointed = np.flatnonzero(has_point)
    point = marks.behind.take(pointed) - 1
    decimals = marks.end.take(pointed) - marks.place.take(point) + point
    value[pointed] /= _TENS.take(decimals, mode="clip")
    value[np.flatnonzero(marks.mark.take(marks.word + 1) == _MINUS)] *= -1.0
    long = np.flatnonzero((count > _MOST_DIGITS) & (marks.line < spelt))
    if long.size:
        ends = (marks.place[of[long]].tolist() for of in (marks.word, marks.behind))
        value[long] = [
            float(marks.text[one + 1 : behind]) for one, behind in zip(*ends, strict=True)
        ]
    return value


def _whole(figures: bytes, first: Numbers, count: Numbers) -> Floats:
    """The whole numbers that the last `count` of eight figures make; of all, where that is more.

    first : where the eight stand. Neighbours are put together: ones to pairs, to fours, to eights.
    """
    eights = np.ndarray((len(figures) - _AT_ONCE + 1,), "<u8", figures, strides=(1,))
    whole = eights.take(first)
    whole &= _LAST.take(count, mode="clip")
    for tens, bits, kept in _TOGETHER:
        above = whole >> bits
        whole *= tens
        whole += above
        whole &= kept
    return whole.astype(np.float64)


Named = Mapping[str, tuple[Numbers, Floats]]
"""Letter -> (line index, value) of each word with it."""


def unsound_lines(state: State, words: Words, named: Named) -> list[int]:
    """The first line of each kind that the slow way has something to say about; then how many there
    are of which it has nothing to say."""
    doubtful = [
        words.line[np.abs(words.value) > LARGEST_NUMBER],
        named["F"][0][named["F"][1] < 0],
        np.flatnonzero(np.diff(words.line_ends, prepend=-1) > LONGEST_LINE),
        *(lines[1:][lines[1:] == lines[:-1]] for lines, _ in named.values()),
    ]
    if sum(lines.size for lines, _ in named.values()) < words.letter.size:
        doubtful.append(words.line[~words.has_letter("".join(named))])
    if not state.report.has("no-decimal-point"):
        is_length = words.letter != ord("G")
        doubtful.append(words.line[is_length & ~words.has_point & (words.value != 0)])
    return [*(int(some[0]) for some in doubtful if some.size), words.spelt]


def axis_ends(state: State, named: Named, moving: Numbers, axis: int, factor: float) -> Floats:
    """Where each motion ends on an axis."""
    lines, values = named[AXES[axis]]
    values = values * factor
    if not state.is_incremental:
        return filled(state.position[axis], lines, values, moving)
    steps = np.zeros(moving.size + 1)
    steps[0] = state.position[axis]
    steps[np.searchsorted(moving, lines) + 1] = values
    return np.cumsum(steps)[1:]


def filled(before: float, lines: Numbers, values: Floats, moving: Numbers) -> Floats:
    """At each moving line the last value written on it or above it."""
    if np.array_equal(lines, moving):
        return values
    fresh = np.bincount(np.searchsorted(moving, lines), minlength=moving.size)[: moving.size]
    return np.concatenate([[before], values])[np.cumsum(fresh)]


def place_axes(state: State, named: Named, lines: int) -> None:
    """Notes which axes the first lines have said the place of."""
    for axis in AXES if len(state.placed_axes) < len(AXES) and not state.is_incremental else "":
        if axis in named and (named[axis][0] < lines).any():
            state.placed_axes.add(axis)
