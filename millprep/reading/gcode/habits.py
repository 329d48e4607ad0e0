"""Habits of programs that have one meaning wherever they are taken: read, and doubted once.

NISTIR 6556 forbids them or does not know them, so strict mode refuses each. Every control that
takes one does the same with it; what some control could turn into another move is refused by
whoever meets it.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from millprep.reading.gcode.codes import LETTER_MEANINGS, ROTARY
from millprep.reading.gcode.motion import set_motion
from millprep.reading.gcode.recognise import Line, Word
from millprep.reading.gcode.report import Refused, Report, refused_word, unused_word
from millprep.reading.gcode.state import State
from millprep.reading.moves import RAPID


class Habit(NamedTuple):
    """What is said of one, the first time that it is met; {word} is the word in question."""

    kind: str
    said: str
    advice: str


HABITS = {
    "end with rapid": Habit(
        "read-by-habit",
        "G80 and G0 on one line: read as the end of the cycle, then G0",
        "write them on lines of their own: both are of one group (NISTIR 6556, section 3.3.5)",
    ),
    "rapid beside home": Habit(
        "read-by-habit",
        "G0 on the line of a way home in G91: read as the way home, with G0 in force after it",
        "write G0 on a line of its own",
    ),
    "rise after cycle": Habit(
        "read-by-habit",
        "{word} alone after G80: read as G0, straight up",
        "write G0 on the line: no motion is in force after G80 (NISTIR 6556, section 3.5.15)",
    ),
    "zero outside the plane": Habit(
        "read-by-habit",
        "{word} is outside the plane of the arc: passed over, as it is 0",
        "take it out: the centre is given by the two words of the plane",
    ),
    "comment in a comment": Habit(
        "read-by-habit",
        "a comment within a comment: read as text up to the ) that closes the first (",
        "give a comment no brackets of its own (NISTIR 6556, section 3.3.4)",
    ),
    "percent": Habit(
        "read-by-habit",
        "the first % has a name or comments beside it: read as a line of only %",
        "put the % first in the file and on a line of its own (NISTIR 6556, section 3.1)",
    ),
    "D": Habit(
        "passed-over",
        "{word} chooses an offset for cutter compensation, and none is on: passed over",
        "take it out: some controls count a tool's length by D too",
    ),
    "Q": Habit(
        "passed-over",
        "{word} belongs to no code on its line: passed over",
        "take it out: a peck is G83 or G73",
    ),
    "rotary": Habit(
        "passed-over",
        "{word}: a rotary axis that is only sent to 0 is taken to stand there",
        "take it out: the dry run knows no rotary axis",
    ),
}


def doubt_once(report: Report, habit: str, word: Word | None = None) -> None:
    """Says a habit the first time that it is met."""
    kind, said, advice = HABITS[habit]
    if not report.has(kind, habit):
        report.warn(kind, said.format(word=word), advice, about=habit)


def doubt(state: State, line: Line, value: str | int) -> None:
    """A habit of the line that moves nothing; `value` is its name in `HABITS`."""
    habit = str(value)
    words = [line.words[letter] for letter in _LETTERS.get(habit, "") if letter in line.words]
    if habit == "rotary":
        _need_zero(words)
    if habit == "D" and state.compensation:
        raise unused_word(
            f"{words[0]} chooses another offset while cutter compensation is on",
            "write G40 before it",
        )
    doubt_once(state.report, habit, words[0] if words else None)


_LETTERS = {"D": "D", "Q": "Q", "rotary": ROTARY}


def _need_zero(words: list[Word]) -> None:
    for word in words:
        if word.value:
            raise refused_word(
                f"{word} is not read ({LETTER_MEANINGS[word.letter]})",
                "only 0 is passed over: a part that is turned on the way cannot be judged",
            )


def rapid_beside_home(state: State, line: Line, value: str | int) -> None:
    """The G0 of `G0 G91 G28 Z0`, whose axis words are those of G28."""
    doubt_once(state.report, "rapid beside home")
    set_motion(state, 0)


_LEAVES_IT_THERE = frozenset({"drill", "cancel_motion", "rise_after_cycle", "set_distance"})
_LEAVES_IT_THERE |= {"set_feed", "set_speed", "turn_spindle", "set_coolant"}
_LEAVES_IT_THERE |= {"accept", "doubt", "pass_over"}


def note_cycle(state: State, verb: str) -> None:
    """Keeps whether the tool still stands where a cycle has left it, and reads as it did then."""
    is_there = state.is_out_of_cycle or verb == "drill"
    state.is_out_of_cycle = is_there and verb in _LEAVES_IT_THERE


def rise_after_cycle(state: State, line: Line, value: str | int) -> None:
    """Z alone after G80: straight up, whichever motion a control has in force then."""
    target, word = state.target(line), line.words["Z"]
    if target[2] < state.position[2] or not state.is_out_of_cycle:
        raise Refused(
            "no-motion",
            f"{word} after G80: no motion is in force, and it is not straight up out of a cycle",
            "write G0 or G1 on the line",
        )
    doubt_once(state.report, "rise after cycle", word)
    state.begin_motion()
    state.emit(RAPID, target)


def pass_over(state: State, line: Line, value: str | int) -> None:
    """An M code that the shop file lists as moving nothing."""
    name, what = f"M{value}", state.control.m_codes[int(value)]
    if not state.report.has("passed-over", name):
        state.report.note(
            "passed-over", f"{name} ({what}) is listed as moving nothing: passed over", about=name
        )


def lack(state: State, line: Line, value: str | int) -> None:
    """A code that the shop file does not list: a stop, and its published meaning."""
    name = str(value)
    state.report.lacks(name, "the list of codes in the shop file does not have it", "take it out")


def beside_percent(bare: str) -> str | None:
    """The comment beside a % that has a name or none; None where it is no such line.

    Words of the language are no name: what a control makes of `%G0X10` nobody knows.
    """
    match = _PERCENT.fullmatch(bare)
    if match is None or _WORDS.fullmatch(match["name"]):
        return None
    return match["comment"] or ""


def is_comment(bare: str) -> bool:
    """Whether nothing but comments stands on the line, or nothing at all."""
    return _COMMENTS.fullmatch(bare) is not None


_PERCENT = re.compile(r"%[ \t]*(?P<name>[\w.-]*)[ \t]*(?P<comment>\([^()]*\)|;.*)?", re.ASCII)
_WORDS = re.compile(r"(?:[A-NP-Za-np-z][+-]?[\d.]+)+")
_COMMENTS = re.compile(r"(?:\([^()]*\)[ \t]*)*(?:;.*)?")
