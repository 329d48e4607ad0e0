"""A line made ready: parsed once, however often it runs.

quick acts do what needs nothing said to anybody: they are tried first where lines are run over and
over, and raise where the line has to be run the slow way after all.
"""

from __future__ import annotations

from dataclasses import dataclass

from millprep.reading.gcode.arithmetic import Key, Number, Work
from millprep.reading.gcode.flow.flowing import Act, Flow
from millprep.reading.gcode.flow.letters import come_back, letter_act
from millprep.reading.gcode.flow.o_words import o_act
from millprep.reading.gcode.flow.sources import Place
from millprep.reading.gcode.flow.statements import Statement, may_flow, statement_of
from millprep.reading.gcode.flow.waiting import PlainLine, Waiting, is_plain
from millprep.reading.gcode.lines import bare_text, decode, raw_line
from millprep.reading.gcode.parameters import FIRST_OF_OTHERS, NAMED, AskedTooQuickly, is_reserved
from millprep.reading.gcode.recognise import Line, line_of


@dataclass(slots=True)
class KeptLine:
    """text : as it stands; after : the line below; one of statement and line, none if it is blank

    quick : its act where nothing is to be said, None where it always goes the slow way
    """

    text: str
    after: Place
    statement: Statement | None = None
    line: Line | None = None
    act: Act | None = None
    quick: Act | None = None

    @property
    def bare(self) -> str:
        return self.text.strip(" \t")


def kept_line(flow: Flow, place: Place, *, is_again: bool, instead: str | None = None) -> KeptLine:
    """The line at a place; instead : what it is taken to say.

    Raises Refused for what is no line of the language.
    """
    source = place.source
    raw, position = raw_line(source.data, place.position)
    number = place.number + 1
    after = source.place(position, number) if is_again else Place(source, position, number)
    kept = KeptLine(decode(raw) if instead is None else instead, after)
    if kept.bare and not (kept.bare == "%" and source.is_framed):
        _parse(flow, kept, place)
    return kept


def _parse(flow: Flow, kept: KeptLine, place: Place) -> None:
    is_strict = flow.state.control.strict
    bare = bare_text(kept.text, is_strict=is_strict)
    rest = bare.text
    if not is_strict and ("#" in rest or "[" in rest or may_flow(rest)):
        flow.settle_style(place.source)
        kept.statement = statement_of(rest, flow.parameters)
    if kept.statement is None:
        kept.line = line_of(bare, place.number, flow.parameters)
    elif bare.comments:
        kept.line = Line(place.number, comments=bare.comments, has_nested=bare.has_nested)


def act_of(flow: Flow, statement: Statement, place: Place) -> Act:
    """A line that flows, made ready."""
    if statement.o_word is not None:
        return o_act(flow, statement.o_word, place)
    return letter_act(flow, statement.pieces, place)


def quick_of(kept: KeptLine, place: Place, waiting: Waiting, flow: Flow) -> Act | None:
    """What is tried first where the line is run over and over."""
    line, after = kept.line, kept.after
    if kept.statement is not None:
        return None if kept.statement.is_deleted else kept.act
    if line is None:
        return None if kept.bare else (lambda: after)
    if line.has_signed and not flow.state.report.has("signed-expression"):
        return None
    if is_plain(line) and (line.words or line.late):
        return waiting.act_of(PlainLine(line, line.number), after)
    if line.m == [99] and not (line.g or line.words or line.late or line.is_deleted):
        return lambda: come_back(flow, None, place)
    is_empty = not (line.g or line.m or line.words or line.label or line.is_deleted)
    if is_empty and not line.late and not line.comments:
        return lambda: after
    if line.label is not None and not (line.is_deleted or line.comments):
        return _head(place, after, flow)
    if is_empty and line.late:
        return _setting(line, after, flow.parameters.values)
    return None


def _head(place: Place, after: Place, flow: Flow) -> Act:
    """The O line that a subprogram begins with, come to by its call."""

    def act() -> Place:
        frames = flow.running.frames
        start = frames[-1].start if frames else after
        if (start.source, start.position) != (place.source, place.position):
            raise AskedTooQuickly
        return after

    return act


def _setting(line: Line, after: Place, values: dict[Key, Number]) -> Act | None:
    """Parameters set: those of the program's own."""
    sets: list[tuple[Key, Work]] = []
    for letter, key, work, _ in line.late:
        is_own = not callable(key) and letter == "#" and not is_reserved(key) and key not in NAMED
        if not is_own or callable(key) or (isinstance(key, int) and not 0 < key < FIRST_OF_OTHERS):
            return None
        sets.append((key, work))
    if len(sets) == 1:
        ((key, work),) = sets

        def set_one() -> Place:
            values[key] = work()
            return after

        return set_one

    def set_all() -> Place:
        values.update([(key, work()) for key, work in sets])
        return after

    return set_all
