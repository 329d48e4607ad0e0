"""The form of a program's lines, as its control takes them: lengths, feeds, comments, stops.

What every line of a program goes through; what the lines say is decided elsewhere. Imports layers 0
to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal

from millprep.base.units import Units, format_length
from millprep.model.shop import Control

_COMMENT_LENGTH = 100
_STOP_LENGTH = 200  # of 256 on a line (NISTIR 6556, section 3.3.1)
_QUILL_DECIMALS = {"mm": 2, "inch": 4}  # what a quill scale or a depth stop is set to
_SIZE_DECIMALS = {"mm": 3, "inch": 4}
_FEED_DECIMALS = 4
_LINE_STEP, _LAST_LINE = 10, 99_999  # N of five figures at most (NISTIR 6556, section 3.3.1)
# What controls take for an order where it begins a comment, blanks left out: MSG is NIST
# RS274/NGC 3.3.4; the others are common practice.
_ACTED_ON = re.compile(
    r"MSG|MESSAGE|PRINT|DEBUG|LOG(OPEN|APPEND|CLOSE)?|PROBE(OPEN|CLOSE)?|AXIS|PY|EXEC|SYSTEM|ABORT"
)


class Form:
    """Lines for a control, in units.

    card : where it takes no comments, what stands beside the program: kind and words
    """

    def __init__(self, control: Control, units: Units) -> None:
        self.control, self.units = control, units
        digits = control.decimals_inch if units == "inch" else control.decimals_mm
        self.card: list[tuple[str, str]] = []
        self._aside: list[str] = []
        self._step, self._feed_digits = Decimal(1).scaleb(-digits), min(digits, _FEED_DECIMALS)

    def length(self, value_mm: float) -> str:
        """A length with the control's decimals, always with a point."""
        return _with_point(format_length(value_mm, self._step, self.units))

    def size(self, value_mm: float) -> str:
        """A diameter, or by how much a dial is moved: words for the hand, of the control's decimals
        no fewer than these."""
        step = min(self._step, Decimal(1).scaleb(-_SIZE_DECIMALS[self.units]))
        return _with_point(format_length(value_mm, step, self.units))

    def feed(self, feed_mm_per_min: float) -> str:
        value = feed_mm_per_min / 25.4 if self.units == "inch" else feed_mm_per_min
        return _with_point(f"{value:.{self._feed_digits}f}")

    def time(self, seconds: float) -> str:
        """P of a dwell, as the control counts it: whole milliseconds, or seconds."""
        return f"P{seconds * 1000:.0f}" if self.control.dwell == "ms" else f"P{seconds}"

    def quill(self, depth_mm: float) -> str:
        """A depth as the quill's scale or stop is set to it."""
        step = Decimal(1).scaleb(-_QUILL_DECIMALS[self.units])
        return format_length(depth_mm, step, self.units)

    def comment(self, text: str, longest: int = _COMMENT_LENGTH) -> str:
        """A comment in the control's form, plain capitals, or nothing where it takes none."""
        plain = plain_words(text)
        plain = f"NAMED {plain}" if _is_acted_on(plain) else plain
        return self._commented(plain[:longest].strip())

    def headed(self, kind: str, text: str) -> str:
        """A comment of the head; where there are none, of that kind on the card."""
        if not self.has_comments:
            self.card.append((kind, plain_words(text)))
        return self.comment(text)

    def aside(self, text: str) -> str:
        """A comment that has to be read at the next stop; where there are none, on the card with
        that."""
        if not self.has_comments:
            self._aside.append(plain_words(text))
        return self.comment(text)

    def stop(self, text: str, before: str = "") -> Iterator[str]:
        """A stop M0 with its message; `before`: words on its line."""
        stop, where = f"{before} M0".strip(), self.control.stop_message
        if not self.has_comments:
            self.card.append(("stop", ", ".join([*self._aside, plain_words(text)])))
            self._aside.clear()
        if where == "(MSG, )":
            yield self._commented(f"MSG, {plain_words(text)[:_STOP_LENGTH].strip()}")
            yield stop
        elif where == "line before":
            yield self.comment(text, _STOP_LENGTH)
            yield stop
        else:
            yield f"{stop} {self.comment(text, _STOP_LENGTH)}".strip()

    @property
    def has_comments(self) -> bool:
        return self.control.comments != "none"

    def _commented(self, plain: str) -> str:
        if not (self.has_comments and plain):
            return ""
        return f"; {plain}" if self.control.comments == ";" else f"({plain})"

    def text(self, lines: Sequence[str], place: int) -> str:
        """The whole program; place : of the file among those of the part, from 1."""
        whole = [line for line in lines if line]
        if self.control.line_numbers:
            whole = _numbered(whole)
        if (first := self.control.program_number) is not None:
            whole.insert(0, f"O{first + place - 1:04d}")
        end = "\r\n" if self.control.line_end == "crlf" else "\n"
        return end.join(whole) + end


def _numbered(lines: Sequence[str]) -> list[str]:
    """N before each line that is no comment alone."""
    step = _LINE_STEP if len(lines) * _LINE_STEP <= _LAST_LINE else 1
    out, number = [], 0
    for line in lines:
        if line[0] in "(;":
            out.append(line)
        else:
            number = number % _LAST_LINE + step
            out.append(f"N{number} {line}")
    return out


def plain_words(text: str) -> str:
    """Capitals of ASCII, one blank between words, nothing that ends a comment."""
    plain = "".join(each if each.isascii() else " " for each in text.upper())
    return re.sub(r"[();%\s]+", " ", plain).strip()


def _with_point(figures: str) -> str:
    text = figures.rstrip("0")
    return text if not text.endswith(".") else text + "0"


def _is_acted_on(comment: str) -> bool:
    """Whether the first word of a comment, or its letters up to the first sign, are an order."""
    word, sign = re.match(r"[A-Z]*", comment), re.match(r"[A-Z ]*", comment)
    assert word is not None and sign is not None
    return any(_ACTED_ON.fullmatch(each.replace(" ", "")) for each in (word[0], sign[0]))
