"""Lines that jump, repeat, decide or call: recognised, and nothing done.

A line of O words holds one statement and nothing else. A line in letter style may hold several, one
behind the other: `WHILE [#1 GT #3] DO1 #1=#1-#3`. Plain words between them stay text.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from millprep.base.units import shown
from millprep.reading.gcode.arithmetic import Environment, Value, Work, as_work, condition_of
from millprep.reading.gcode.expressions import Values, starts_value
from millprep.reading.gcode.flow.arguments import MacroCall, macro_call
from millprep.reading.gcode.report import (
    bad_expression,
    bad_jump,
    bad_loop,
    bad_subprogram,
    refused_word,
)

O_WORDS = (
    "SUB", "ENDSUB", "RETURN", "CALL", "IF", "ELSEIF", "ELSE", "ENDIF", "WHILE", "ENDWHILE",
    "DO", "REPEAT", "ENDREPEAT", "BREAK", "CONTINUE",
)  # fmt: skip
_ONE_VALUE = frozenset({"IF", "ELSEIF", "WHILE", "REPEAT"})
_CONDITIONS = _ONE_VALUE - {"REPEAT"}
_MAY_HAVE_ONE = frozenset({"RETURN", "ENDSUB"})
_HIGHEST_LOOP = 3  # DO 1 to DO 3: common practice
_MOST_ARGUMENTS = 30

_MAY = re.compile(
    r"O(?:\d+[(]*[A-Z]|[<#\[])|IF\(*\[|WH(?:ILE)?\(*\[|DO[\d#\[]|END\d|GOTO|THEN|G0*65(?![\d.])"
)
_START = re.compile(r"(/?)\(*(?:N\d+)?\(*")
_LABEL = re.compile(r"\d+|<[^<>\[\]#]+>")
_O_WORD = re.compile("|".join(sorted(O_WORDS, key=len, reverse=True)))
_KEY = re.compile(r"IF(?=\(*\[)|WH(?:ILE)?(?=\(*\[)|DO(?=[\d#\[])|END(?=\d)|GOTO|THEN")
_MACRO = re.compile(r"G0*65(?![\d.])")
_DIGITS = re.compile(r"\d+")
_NAME = re.compile(r"(?<=<)[^<>]*(?=>)")


class OWord(NamedTuple):
    """label : "100" or "<HOLE>", or what works it out; values : of conditions or arguments."""

    label: str | Work
    word: str
    values: tuple[Value, ...] = ()


class Words(NamedTuple):
    """Plain words and settings."""

    text: str


class Go(NamedTuple):
    """GOTO: the line number."""

    target: Value


class Choice(NamedTuple):
    """IF: what is done where the condition holds."""

    condition: Work
    then: tuple[Words | Go | Choice, ...]


class Loop(NamedTuple):
    """DO, with the condition of its WHILE if it has one."""

    number: int
    condition: Work | None


class End(NamedTuple):
    """END of the loop of that number."""

    number: int


Piece = Words | Go | Choice | Loop | End | MacroCall


class Statement(NamedTuple):
    """A line: one O word, or pieces in letter style."""

    is_deleted: bool
    o_word: OWord | None
    pieces: tuple[Piece, ...]


def may_flow(rest: str) -> bool:
    """Whether bare text may be a line that flows; most are not, and this is quick."""
    return _MAY.search(_without_names(rest)) is not None


def _without_names(rest: str) -> str:
    """The text with every name of a parameter blanked out: `#<end1>` ends no loop."""
    return _NAME.sub(lambda name: " " * len(name[0]), rest) if "<" in rest else rest


def statement_of(rest: str, environment: Environment) -> Statement | None:
    """The statement that a line of bare text is; None for a line of plain words."""
    if not may_flow(rest):
        return None
    start = _START.match(rest)
    begin = start.end() if start is not None else 0
    is_deleted = rest.startswith("/")
    if rest.startswith("O", begin):
        o_word = _o_word(rest, begin + 1, environment)
        return None if o_word is None else Statement(is_deleted, o_word, ())
    unnamed = _without_names(rest)
    macro = _MACRO.match(unnamed, begin)
    if macro is not None:
        return Statement(is_deleted, None, (macro_call(rest, macro.end(), environment),))
    if _MACRO.search(unnamed, begin) is not None:
        raise bad_subprogram(
            "G65 behind other words",
            "write it on a line of its own: what follows G65 goes to the subprogram",
        )
    pieces = _Pieces(rest, environment).read(begin)
    return Statement(is_deleted, None, tuple(pieces)) if pieces else None


# O words


def _o_word(rest: str, position: int, environment: Environment) -> OWord | None:
    """None for a bare label, the number of a program."""
    label: str | Work
    found = _LABEL.match(rest, position)
    if found is not None:
        label, after = found[0].lstrip("0") or "0", found.end()
    else:
        value, after = Values(rest, environment).value(position)
        label = as_work(value)
    after = _skip(rest, after)
    if after == len(rest) and found is not None and found[0].isdecimal():
        return None
    word = _O_WORD.match(rest, after)
    if word is None:
        raise refused_word(
            f"{shown(rest[position - 1 :])}: no word that goes with O",
            "words read: " + " ".join(one.lower() for one in O_WORDS),
        )
    if not isinstance(label, str) and word[0] != "CALL":
        raise bad_subprogram(f"a computed number before {word[0].lower()}", "only a call takes one")
    return OWord(label, word[0], _values_of(word[0], rest, word.end(), environment))


def _values_of(word: str, rest: str, position: int, environment: Environment) -> tuple[Value, ...]:
    values: list[Value] = []
    position = _skip(rest, position)
    while rest.startswith("[", position):
        value, position = Values(rest, environment).value(position)
        values.append(value)
        position = _skip(rest, position)
    if position < len(rest):
        raise bad_expression(
            f"{shown(rest[position:])} behind {word.lower()}",
            "values stand in [ ], and nothing else on the line",
        )
    least = 1 if word in _ONE_VALUE else 0
    most = _MOST_ARGUMENTS if word == "CALL" else 1 if word in _ONE_VALUE | _MAY_HAVE_ONE else 0
    if not least <= len(values) <= most:
        takes = {0: "none", 1: "one" if least else "at most one"}.get(most, f"at most {most}")
        raise bad_expression(
            f"{word.lower()} has {len(values)} values", f"it takes {takes}, each in [ ]"
        )
    if word in _CONDITIONS:
        return tuple(condition_of(value, environment) for value in values)
    return tuple(values)


# letter style


class _Pieces:
    """Reads the pieces of one line."""

    def __init__(self, rest: str, environment: Environment) -> None:
        self._rest = rest
        self._unnamed = _without_names(rest)
        self._environment = environment

    def read(self, position: int) -> list[Piece]:
        """All of them, from the place to the end of the line; none where only words stand there."""
        rest = self._rest
        pieces: list[Piece] = []
        while position < len(rest):
            key = _KEY.search(self._unnamed, position)
            if key is None and not pieces:
                return []
            words = rest[position : len(rest) if key is None else key.start()].strip("(")
            if words:
                pieces.append(Words(words))
            if key is None:
                break
            piece, position = self._piece(key[0], key.end())
            pieces.append(piece)
            position = _skip(rest, position)
        self._judge_order(pieces)
        return pieces

    def _piece(self, key: str, position: int) -> tuple[Piece, int]:
        if key == "GOTO":
            return self._go(position)
        if key == "IF":
            return self._choice(position)
        if key == "END":
            number, position = self._loop_number(position)
            return End(number), position
        if key == "DO":
            number, position = self._loop_number(position)
            return Loop(number, None), position
        if key == "THEN":
            raise bad_expression("THEN without its IF", "write IF [..] THEN")
        condition, position = self._condition(position)
        if not self._rest.startswith("DO", position):
            raise bad_loop("WHILE without DO", "write WHILE [..] DO1")
        number, position = self._loop_number(position + 2)
        return Loop(number, condition), position

    def _loop_number(self, position: int) -> tuple[int, int]:
        digits = _DIGITS.match(self._rest, position)
        if digits is None or not 1 <= int(digits[0]) <= _HIGHEST_LOOP:
            raise bad_loop(
                f"{shown(self._rest[position:])} is no number of a loop",
                f"DO 1 to DO {_HIGHEST_LOOP}, and END with the same number",
            )
        return int(digits[0]), digits.end()

    def _condition(self, position: int) -> tuple[Work, int]:
        value, position = Values(self._rest, self._environment).value(_skip(self._rest, position))
        return condition_of(value, self._environment), _skip(self._rest, position)

    def _go(self, position: int) -> tuple[Go, int]:
        digits = _DIGITS.match(self._rest, position)
        if digits is not None:
            return Go(float(digits[0])), digits.end()
        if not starts_value(self._rest, position):
            raise bad_jump("GOTO without a line number", "write GOTO 100, GOTO #1 or GOTO [#1+10]")
        value, position = Values(self._rest, self._environment).value(position)
        return Go(value), position

    def _choice(self, position: int) -> tuple[Choice, int]:
        condition, position = self._condition(position)
        if self._rest.startswith("GOTO", position):
            go, position = self._go(position + 4)
            return Choice(condition, (go,)), position
        if not self._rest.startswith("THEN", position):
            raise bad_expression(
                "IF without GOTO or THEN", "write IF [..] GOTO 100, or IF [..] THEN #1=2"
            )
        then = self.read(_skip(self._rest, position + 4)) or [Words(self._rest[position + 4 :])]
        kept = tuple(one for one in then if isinstance(one, Words | Go | Choice))
        if len(kept) < len(then) or kept == (Words(""),):
            raise bad_loop(
                "behind THEN stands nothing, or the beginning or end of a loop",
                "write the loop on lines of its own, and jump round it with IF [..] GOTO",
            )
        return Choice(condition, kept), len(self._rest)

    @staticmethod
    def _judge_order(pieces: list[Piece]) -> None:
        """A loop begins where its line begins, and nothing stands behind what always jumps."""
        for place, piece in enumerate(pieces):
            is_last = place == len(pieces) - 1
            if isinstance(piece, Loop) and place:
                raise bad_loop("words before a loop on its line", "put them above")
            if isinstance(piece, Go | End) and not is_last:
                raise bad_jump("words behind a jump or the end of a loop", "put them below")
            if isinstance(piece, Words) and not is_last and not piece.text.startswith("#"):
                raise bad_jump(
                    f"{shown(piece.text)} before a jump or condition on one line",
                    "write them on lines of their own: controls differ on which comes first",
                )


def _skip(rest: str, position: int) -> int:
    """Over what is left of comments."""
    while rest.startswith("(", position):
        position += 1
    return position
