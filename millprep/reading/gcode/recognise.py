"""From a line to its words: recognises and does nothing else.

A line is an optional `/`, an optional line number, then words, parameter settings and comments in
any order; space and tab mean nothing outside comments, even inside a number (NISTIR 6556, section
3.3). What else a line holds is refused here, with the piece of text in question.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from millprep.base.bounds import LARGEST_NUMBER
from millprep.base.units import shown
from millprep.reading.gcode.arithmetic import (
    Environment,
    Key,
    Number,
    Unset,
    Value,
    Work,
    as_work,
    differ,
    key_words,
    round_half_away,
)
from millprep.reading.gcode.codes import FLOW_WORDS, LENGTH_LETTERS, LETTER_MEANINGS
from millprep.reading.gcode.expressions import WHOLE_TOLERANCE, Values, is_function, starts_value
from millprep.reading.gcode.lines import Bare, bare_text
from millprep.reading.gcode.report import (
    Refused,
    bad_character,
    bad_number,
    bad_parameter,
    missing_word,
    refused_word,
    repeated_word,
)

_ORDINARY_LETTERS = frozenset("ABCDFHIJKLPQRSTXYZ")
_ONLY_M_WORDS = 4  # NISTIR 6556, section 3.3.5

_START = re.compile(r"(?P<deleted>/)?(?:N(?P<number>[^A-Z(#\[]*))?")
_WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")
_NAME = re.compile(r"(?:O?(?:\d+|<[^>]*>))?([A-Z]{2,})")
_ROUNDS = re.compile(r"[+-]?\[*ROUND(?=\[)")


class Word(NamedTuple):
    """A letter and its value; `text` is the value as written."""

    letter: str
    value: float
    text: str

    def __str__(self) -> str:
        return self.letter + self.text


class Late(NamedTuple):
    """A value to be worked out: behind a letter, or what a parameter is set to."""

    letter: str
    key: Key | Work
    work: Work
    text: str


@dataclass(slots=True)
class Line:
    """One line, recognised.

    g, m       : codes in the order written, G times ten
    words      : other letter -> Word
    label      : number after O on a line of its own
    comments   : texts between ( and ), or after ;
    settings   : (parameter, value) in the order written
    has_signed : a sign stood before something other than a number
    has_nested : a comment held another
    late       : what is worked out each time the line runs
    """

    number: int
    is_deleted: bool = False
    g: list[int] = field(default_factory=list)
    m: list[int] = field(default_factory=list)
    words: dict[str, Word] = field(default_factory=dict)
    label: str | None = None
    comments: tuple[str, ...] = ()
    settings: list[tuple[Key, Number]] = field(default_factory=list)
    has_signed: bool = False
    has_nested: bool = False
    late: list[Late] = field(default_factory=list)

    def has(self, letters: str) -> bool:
        """Whether the line holds any of the letters."""
        return any(letter in self.words for letter in letters)

    def needed(self, letter: str, code: str, remedy: str) -> Word:
        """The word with the letter; refused without."""
        if letter not in self.words:
            raise missing_word(f"{code} without {letter}", remedy)
        return self.words[letter]


def recognise(text: str, number: int, environment: Environment | None = None) -> Line:
    """The line's words, codes, settings and comments, with the values that they have now.

    environment : the values of parameters before the line, and whether the reading is strict: only
                  what NISTIR 6556 defines, no `;` comment, no O label, N of at most 5 digits
    Raises Refused for anything that is not a line of the language.
    """
    environment = environment or Environment()
    bare = bare_text(text, is_strict=environment.is_strict)
    return worked_out(line_of(bare, number, environment))


def line_of(bare: Bare, number: int, environment: Environment) -> Line:
    """A line of bare text, with what hangs on parameters yet to be worked out."""
    rest = bare.text
    line = Line(number, comments=bare.comments, has_nested=bare.has_nested)
    is_strict = environment.is_strict
    position = 0
    if rest[:1] in ("/", "N"):
        position = _line_start(rest, line, is_strict)
    while position < len(rest):
        match = _WORD.match(rest, position)
        if match is not None:
            _take(line, match[1], float(match[2]), match[2])
            position = match.end()
        elif rest[position] == "(":
            position += 1
        else:
            position = _take_value(line, rest, position, environment)
    if line.label is not None and (is_strict or line.g or line.m or line.words or line.late):
        raise refused_word(
            f"O{line.label} is not read here",
            "the number of a program or subprogram goes on a line of its own",
        )
    return line


def worked_out(line: Line) -> Line:
    """The line with every value as it is now."""
    if not line.late:
        return line
    now = Line(
        line.number,
        line.is_deleted,
        [*line.g],
        [*line.m],
        {**line.words},
        comments=line.comments,
        has_signed=line.has_signed,
        has_nested=line.has_nested,
    )
    for letter, key, work, text in line.late:
        value = work()
        if letter == "#":
            now.settings.append((key() if callable(key) else key, value))  # type: ignore[arg-type]
        elif value.__class__ is Unset:
            raise bad_parameter(
                f"{letter}{text}: not set, which is 0 on some controls and no word on others",
                "set it in the program first, or give it with the call",
            )
        elif value is not None:
            _take(now, letter, value, text)
    return now


def _take_value(line: Line, rest: str, position: int, environment: Environment) -> int:
    """A parameter setting, or a word whose value is worked out; gives the place after it."""
    is_setting = rest[position] == "#"
    is_word = rest[position].isalpha() and rest[position].isascii()
    if not is_setting and not (is_word and starts_value(rest, position + 1)):
        raise _fault(rest, position)
    if is_word and not is_function(rest, position + 1) and _flow_word(rest, position):
        raise _fault(rest, position)
    values = Values(rest, environment)
    if is_setting:
        key, after = values.key(position)
        if not rest.startswith("=", after):
            raise bad_parameter(
                f"{shown(rest[position:])}: a parameter goes after a letter or is set with =",
                "write X#1, or #1=2.5",
            )
        value, end = values.sum(after + 1)
        line.late.append(Late("#", key, as_work(value), rest[position:end]))
    else:
        value, end = values.value(position + 1)
        _take_late(line, rest[position], value, rest[position + 1 : end], environment)
    line.has_signed = line.has_signed or values.has_signed
    _judge_order(line, values, environment, is_setting=is_setting)
    return end


def _judge_order(line: Line, values: Values, environment: Environment, *, is_setting: bool) -> None:
    """In letter style a value set on the line may count at once, or from the next line on."""
    if not values.keys and not values.has_computed:
        return
    before = line.late[:-1] if is_setting else line.late
    for letter, key, _, text in before:
        if letter == "#" and (key in values.keys or values.has_computed or callable(key)):
            name = text.partition("=")[0] if callable(key) else key_words(key)
            message = f"{name} is set and used on one line: the old value or the new, by control"
            remedy = "write the setting on the line above"
            if environment.style == "letters":
                raise bad_parameter(message, remedy)
            if environment.is_either and not environment.style:
                environment.doubt(f"{message}; read as the old", remedy, "set and used")
            return


def _take_late(line: Line, letter: str, value: Value, text: str, environment: Environment) -> None:
    """A word whose value is not a plain number."""
    rounds = _ROUNDS.match(text) if environment.style != "O words" else None
    if rounds is not None:
        argument = as_work(Values(text, environment).value(rounds.end())[0])
        value = _rounded_alike(letter + text, as_work(value), argument, environment)
    if callable(value):
        line.late.append(Late(letter, "", value, text))
    else:
        _take(line, letter, value, text)


def _rounded_alike(word: str, rounded: Work, argument: Work, environment: Environment) -> Work:
    """In letter style ROUND of a word may round to the control's least increment instead."""

    def work() -> Number:
        exact = argument() or 0.0
        if exact != round_half_away(exact):
            differ(
                environment,
                f"{word}: rounds to a whole number, or on some controls to their least increment",
                "round in a line before: #1=ROUND[#2], then X#1",
                "ROUND",
            )
        return rounded()

    return work


def _line_start(rest: str, line: Line, is_strict: bool) -> int:
    match = _START.match(rest)
    if match is None:
        return 0
    line.is_deleted = match["deleted"] is not None
    digits = match["number"]
    if digits is None:
        return match.end()
    whole = re.match(r"\d+", digits)
    if whole is None or whole.end() != len(digits) or (is_strict and len(digits) > 5):
        raise bad_number(
            f"N{shown(digits)[1:-1]} is no line number",
            "a line number is N and digits" + (", 1 to 5 of them" if is_strict else ""),
        )
    return match.end()


def _take(line: Line, letter: str, value: float, text: str) -> None:
    if abs(value) > LARGEST_NUMBER and letter != "O":
        raise bad_number(
            f"{letter}{shown(text)[1:-1]} is beyond any machine", "is a point missing?"
        )
    if letter == "G":
        line.g.append(_whole(letter, text, 10 * value))
    elif letter == "M":
        line.m.append(_whole(letter, text, value))
        if len(line.m) > _ONLY_M_WORDS:
            raise repeated_word("more than four M words on a line", "use more lines")
    elif letter in line.words:
        raise repeated_word(
            f"{letter} is twice on the line: {line.words[letter]} and {letter}{text}",
            "give each letter once a line",
        )
    elif letter in _ORDINARY_LETTERS:
        line.words[letter] = Word(letter, value, text)
    elif letter == "O" and text.isdecimal() and line.label is None:
        line.label = text
    elif letter == "N":
        raise bad_number(f"the line number N{text} is not at the start", "put it first on the line")
    else:
        meaning = LETTER_MEANINGS.get(letter, "no meaning")
        raise refused_word(
            f"{letter}{text} is not read ({meaning})",
            "words read: " + " ".join(sorted(_ORDINARY_LETTERS | {"G", "M", "N", "O"})),
        )


def _whole(letter: str, text: str, value: float) -> int:
    """A code's number; within 0.0001 of a whole one (NISTIR 6556, section 3.3.2.1)."""
    if text[0] in "+-" or value < -WHOLE_TOLERANCE or abs(value - round(value)) > WHOLE_TOLERANCE:
        raise refused_word(f"{letter}{text} is not a code that is read")
    return round(value)


def _flow_word(rest: str, position: int) -> str | None:
    """The flow word at the place, with or without a label before it."""
    match = _NAME.match(rest, position)
    if match is None:
        return None
    return next((word for word in FLOW_WORDS if match[1].startswith(word)), None)


def _fault(rest: str, position: int) -> Refused:
    """What is wrong with the text at the place, in words."""
    here = rest[position]
    after = rest[position + 1 : position + 2]
    if not here.isascii() or not here.isprintable():
        return bad_character(
            f"a character outside the language: {here!a}",
            "only comments may hold other than plain ASCII; is this a program in plain text?",
        )
    flow_word = _flow_word(rest, position)
    if flow_word is not None:
        return refused_word(
            f"{shown(rest[position:])}: flow words ({flow_word}) are not read",
            "write it as IF [..] GOTO 10, IF [..] THEN #1=2, WHILE [..] DO1 or o1 if [..]; strict "
            "mode reads none of them",
        )
    if here.isalpha() and after.isalpha():
        return refused_word(
            f"{shown(rest[position:])}: letters that are neither words nor a function",
            "write a letter and a number, such as X12.5",
        )
    if here == "/":
        return bad_character("a / inside the line", "block delete goes first")
    if here.isalpha():
        return bad_number(
            f"{shown(rest[position:])}: no number after {here}",
            "sign, digits and at most one point, such as -12.5",
        )
    if here in "+-.0123456789":
        return bad_number(
            f"{shown(rest[max(0, position - 8) :])} is not a word",
            "a word is one letter and one number with at most one point",
        )
    return bad_character(f"the character {here} is not read here", "letters, numbers and comments")


def point_missing(line: Line) -> Word | None:
    """The first length or feed word, a plain number other than zero, without a decimal point."""
    for word in line.words.values():
        if word.letter not in LENGTH_LETTERS or not word.value or "." in word.text:
            continue
        if word.text.lstrip("+-").isdecimal():
            return word
    return None
