"""Letter style made ready to act: GOTO, IF, WHILE, DO, END, G65; and the calls of M97, M98."""

from __future__ import annotations

from collections.abc import Callable

from millprep.reading.gcode.arithmetic import Key, Number, as_work
from millprep.reading.gcode.flow.arguments import MacroCall
from millprep.reading.gcode.flow.flowing import Act, Flow, whole
from millprep.reading.gcode.flow.running import Frame
from millprep.reading.gcode.flow.sources import LONGEST_LABEL, Place, Source
from millprep.reading.gcode.flow.statements import Choice, End, Go, Loop, Piece, Words
from millprep.reading.gcode.lines import Bare
from millprep.reading.gcode.modal import Call
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line, line_of
from millprep.reading.gcode.report import bad_jump, bad_loop, bad_subprogram, bad_value
from millprep.reading.gcode.state import State

MOST_TIMES = 9999
_LARGEST_PROGRAM = 9999
Part = Callable[[], Place | None]
"""What a piece of a line does; None, and the next piece has its turn."""


def letter_act(flow: Flow, pieces: tuple[Piece, ...], place: Place) -> Act:
    """The act of a line in letter style."""
    flow.need_style("letters", place.source)
    after = flow.after(place)
    parts = [_part(flow, piece, place, after, is_last=piece is pieces[-1]) for piece in pieces]
    if len(parts) == 1:
        (only,) = parts
        return lambda: only() or after

    def act() -> Place:
        flow.ask_slowly()
        return next((target for part in parts if (target := part()) is not None), after)

    return act


def _part(flow: Flow, piece: Piece, place: Place, after: Place, *, is_last: bool) -> Part:
    if isinstance(piece, Words):
        return _words(flow, piece, place, is_last=is_last)
    if isinstance(piece, Go):
        return _go(flow, piece, place)
    if isinstance(piece, Choice):
        return _choice(flow, piece, place, after)
    if isinstance(piece, Loop):
        return _loop(flow, piece, place)
    if isinstance(piece, End):
        return _end(flow, piece, place)
    return _macro(flow, piece, place, after)


def _words(flow: Flow, piece: Words, place: Place, *, is_last: bool) -> Part:
    line = line_of(Bare(piece.text), place.number, flow.parameters)
    is_setting = not (line.g or line.m or line.words) and all(
        late.letter == "#" for late in line.late
    )
    if not is_setting and not is_last:
        raise bad_jump(
            f"{piece.text} before a jump or condition on one line",
            "write them on lines of their own: controls differ on which comes first",
        )

    def part() -> None:
        flow.ask_slowly()
        flow.carry_out(line)

    return part


def _go(flow: Flow, piece: Go, place: Place) -> Part:
    target = as_work(piece.target)
    known: dict[Number, Place] = {}

    def part() -> Place:
        value = target()
        found = known.get(value)
        if found is None:
            number = whole(value, "a line number")
            found = known[value] = flow.jump(place, number, f"GOTO {number}")
        return found

    return part


def _choice(flow: Flow, piece: Choice, place: Place, after: Place) -> Part:
    condition = piece.condition
    then = [_part(flow, one, place, after, is_last=one is piece.then[-1]) for one in piece.then]
    if len(then) == 1:
        (only,) = then
        return lambda: only() if condition() else None

    def part() -> Place | None:
        if not condition():
            return None
        flow.ask_slowly()
        return next((target for one in then if (target := one()) is not None), None)

    return part


def _loop(flow: Flow, piece: Loop, place: Place) -> Part:
    block = flow.loops(place.source, place.position).of.get(place.position)
    what = f"DO{piece.number}"
    if block is None:
        raise bad_loop(f"{what} behind a / or other words", "put it first on its line")
    flow.need_sound(block, what)
    out, condition = flow.after(block.last), piece.condition
    if condition is None:
        return lambda: None
    return lambda: None if condition() else out


def _end(flow: Flow, piece: End, place: Place) -> Part:
    block = flow.loops(place.source, place.position).of.get(place.position)
    is_own = block is not None and block.last.position == place.position
    if block is None or not is_own or block.label != str(piece.number):
        raise bad_loop(
            f"END{piece.number} without its DO{piece.number}",
            "end the inner loop first, with the number of its DO",
        )
    first = block.first
    return lambda: first


# calls


def _macro(flow: Flow, piece: MacroCall, place: Place, after: Place) -> Part:
    program, times = as_work(piece.program), as_work(piece.times)
    arguments = [(number, as_work(value)) for number, value in piece.arguments]

    def part() -> Place:
        report = flow.state.report
        if piece.pointless and not report.has("no-decimal-point"):
            flow.ask_slowly()
            report.warn(
                "no-decimal-point",
                f"{piece.pointless} has no decimal point: read as written, here and after",
                f"write {piece.pointless}. : some controls count such a number in their least "
                "increment",
            )
        label, count = whole(program(), "a subprogram"), whole(times(), "a count")
        given: dict[Key, Number] = {}
        for number, work in arguments:
            value = work()
            if value is not None:
                given[number] = value
        start = _program(flow, label, place.source)
        _judge_times(count)
        frame = Frame("G65", f"O{label}", start, count, after, place.number)
        flow.running.enter(frame)
        flow.running.set_aside(frame, given)
        return start

    return part


def _judge_times(times: int) -> None:
    if not 1 <= times <= MOST_TIMES:
        raise bad_value(f"L{times}: a count is 1 to {MOST_TIMES}")


def call(flow: Flow, asked: Call, place: Place) -> Place:
    """M98 and M97: the first line of what is called."""
    if "O words" in place.source.styles:
        flow.need_style("letters", place.source)
    if asked.code == "M97":
        flow.need_style("letters", place.source)
        start, name = flow.jump(place, asked.label, f"M97 P{asked.label}"), f"N{asked.label}"
        if flow.loops(place.source, place.position).around(start.position):
            raise bad_jump(f"{name} stands in a loop", "call what stands by itself")
    else:
        name = f"O{asked.label}"
        if any(frame.name == name for frame in flow.running.frames):
            raise bad_subprogram(f"{name} calls itself", "write the repeats as M98 P L")
        start = _program(flow, asked.label, place.source)
    after = flow.after(place)
    frame = Frame(asked.code, name, start, asked.times, after, place.number)
    return flow.running.enter(frame)


def come_back(flow: Flow, back_to: int | None, place: Place) -> Place:
    """M99, and M99 P to another line of the caller."""
    running = flow.running
    if "O words" in place.source.styles:
        flow.need_style("letters", place.source)
    if back_to is not None:
        flow.need_style("letters", place.source)
    if not running.frames:
        if back_to is not None:
            return flow.jump(place, back_to, f"M99 P{back_to}")
        raise bad_subprogram(
            "M99 in the main program, where it repeats it without end", "end the program with M30"
        )
    frame = running.frames[-1]
    if back_to is None:
        return running.leave()
    if frame.times_left > 1:
        raise bad_subprogram(
            f"M99 P{back_to} in a subprogram that is to run again by L",
            "controls differ on whether it still does: write the calls one by one",
        )
    return running.leave(flow.jump(frame.back, back_to, f"M99 P{back_to}"))


def _program(flow: Flow, label: int, source: Source) -> Place:
    """The program of that number: in the file, in the main program's, in one beside it."""
    if not 0 < label <= _LARGEST_PROGRAM:
        raise bad_subprogram(f"P{label}: a subprogram is 1 to {_LARGEST_PROGRAM}")
    for one in dict.fromkeys((source, flow.main)):
        places = one.labels.get(label, [])
        if len(places) > 1:
            raise bad_subprogram(f"O{label} is {len(places)} times in the file")
        if places:
            return one.place_at(places[0])
    other = flow.other(str(label))
    places = [] if other is None else other.labels.get(label, [])
    if other is not None and len(places) == 1:
        return other.place_at(places[0])
    known = ", ".join(f"O{each}" for each in sorted(source.labels)[:8]) or "none"
    beside = "" if other is None else f", nor in {other.file}"
    raise bad_subprogram(
        f"there is no O{label} behind the end of the main program{beside}",
        f"labels there: {known}; a subprogram is in the same file, behind M30, or in a file "
        f"O{label}.nc beside it",
    )


# M98 P L, M97 P L and M99: common practice, not in NISTIR 6556; forms differ by control, and only
# the plainest is read


def call_subprogram(state: State, line: Line, value: str | int) -> None:
    word = line.needed("P", "M98", "write M98 P with the subprogram's number")
    label = whole_number(word, "a subprogram")
    digits = word.text.rstrip(".") if word.text[0].isdecimal() else ""
    if label >= 10**LONGEST_LABEL or len(digits) > LONGEST_LABEL:
        raise bad_subprogram(
            f"M98 {word}: more than {LONGEST_LABEL} digits, which hold a count on some controls",
            "write the count apart: M98 P100 L3",
        )
    state.call = Call(label, _times(line))
    state.report.note(
        "subprogram-form", "M98 is read as P the subprogram's number and L how often it runs"
    )


def call_lines(state: State, line: Line, value: str | int) -> None:
    """M97 P L: the lines from that N to M99."""
    word = line.needed("P", "M97", "write M97 P with a line number")
    state.call = Call(whole_number(word, "a line number"), _times(line), "M97")
    state.report.note(
        "subprogram-form",
        "M97 is read as P the line number of a subprogram and L how often it runs",
        about="M97",
    )


def _times(line: Line) -> int:
    times = whole_number(line.words["L"], "a count") if "L" in line.words else 1
    if not 1 <= times <= MOST_TIMES:
        raise bad_value(f"{line.words['L']}: a count is 1 to {MOST_TIMES}")
    return times


def return_from_subprogram(state: State, line: Line, value: str | int) -> None:
    word = line.words.get("P")
    state.back_to = None if word is None else whole_number(word, "a line number")
    state.is_returning = True
