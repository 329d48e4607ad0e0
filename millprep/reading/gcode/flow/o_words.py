"""O words made ready to act: sub, call, if, while, do, repeat and what belongs to them."""

from __future__ import annotations

from collections.abc import Callable

from millprep.reading.gcode.arithmetic import Key, Number, as_work
from millprep.reading.gcode.flow.blocks import Block, statement_at
from millprep.reading.gcode.flow.flowing import Act, Flow, whole, worked
from millprep.reading.gcode.flow.running import Frame
from millprep.reading.gcode.flow.sources import Place, Source
from millprep.reading.gcode.flow.statements import OWord
from millprep.reading.gcode.report import bad_loop, bad_subprogram

_GOES_ON = frozenset({"DO", "ENDIF"})


def o_act(flow: Flow, o_word: OWord, place: Place) -> Act:
    """The act of a line of O words."""
    flow.need_style("O words", place.source)
    after = flow.after(place)
    if o_word.word == "CALL":
        return _call(flow, o_word, place, after)
    what = f"o{str(o_word.label).lower()} {o_word.word.lower()}"
    block = flow.o_blocks(place.source).of.get(place.position)
    if block is None:
        raise bad_loop(
            f"{what} without what it belongs to, or not the first on its line",
            "an end has the number of its beginning, and a loop belongs to its subprogram",
        )
    flow.need_sound(block, what)
    if o_word.word in ("ENDSUB", "RETURN"):
        return _come_back(flow, o_word, block)
    if o_word.word == "IF":
        return _choose(flow, o_word, block, after)
    if o_word.word == "REPEAT":
        return _repeat(flow, o_word, block, after)
    if o_word.word == "ENDREPEAT":
        return _repeat_again(flow, block, after)
    if o_word.word == "WHILE":
        return _while(flow, o_word, block, place, after)
    target = _target(flow, o_word.word, block, after)
    return lambda: target


def _target(flow: Flow, word: str, block: Block, after: Place) -> Place:
    """Where a word leads that always leads to one place."""
    if word in _GOES_ON:
        return after
    if word == "ENDWHILE" or (word == "CONTINUE" and block.kind == "while"):
        return block.first
    if word == "CONTINUE":
        return block.last
    return flow.after(block.last)  # sub, else, elseif, break


def _choose(flow: Flow, o_word: OWord, block: Block, after: Place) -> Act:
    condition = as_work(o_word.values[0])
    ways: list[tuple[Callable[[], Number], Place]] = []

    def other_ways() -> list[tuple[Callable[[], Number], Place]]:
        for place, word in zip(block.lines[1:], block.words[1:], strict=True):
            statement = (
                statement_at(place.source, place, flow.parameters) if word == "ELSEIF" else None
            )
            found = statement.o_word if statement is not None else None
            ways.append((as_work(found.values[0] if found else 1.0), flow.after(place)))
        return ways

    def act() -> Place:
        if condition():
            return after
        return next(way for holds, way in ways or other_ways() if holds())

    return act


def _while(flow: Flow, o_word: OWord, block: Block, place: Place, after: Place) -> Act:
    condition = as_work(o_word.values[0])
    is_end = block.kind == "do"
    again = flow.after(block.first) if is_end else after
    out = after if is_end else flow.after(block.last)
    return lambda: again if condition() else out


def _repeat(flow: Flow, o_word: OWord, block: Block, after: Place) -> Act:
    count = as_work(o_word.values[0])
    out = flow.after(block.last)
    begin = block.first.position

    def act() -> Place:
        times = whole(max(count() or 0.0, 0.0), "a count of repeats")
        flow.running.repeats[begin] = times
        return after if times else out

    return act


def _repeat_again(flow: Flow, block: Block, after: Place) -> Act:
    running, begin, again = flow.running, block.first.position, flow.after(block.first)

    def act() -> Place:
        left = running.repeats.get(begin, 0) - 1
        running.repeats[begin] = left
        return again if left > 0 else after

    return act


def _come_back(flow: Flow, o_word: OWord, block: Block) -> Act:
    running, values = flow.running, flow.parameters.values
    result = as_work(o_word.values[0]) if o_word.values else None
    start = flow.after(block.first)

    def act() -> Place:
        frame = running.frames[-1] if running.frames else None
        if frame is None or frame.start.position != start.position:
            raise bad_subprogram(
                f"{o_word.word.lower()} of o{block.label.lower()}, which is not running",
                "it belongs between sub and endsub",
            )
        value = result() if result is not None else 0.0
        place = running.leave()
        values["_VALUE"], values["_VALUE_RETURNED"] = value, float(result is not None)
        return place

    return act


# calls


def _call(flow: Flow, o_word: OWord, place: Place, after: Place) -> Act:
    arguments = worked(o_word.values)
    named = o_word.label
    running, missing = flow.running, flow.state.control.missing_arguments

    def label() -> str:
        return named if isinstance(named, str) else str(whole(named(), "a subprogram's number"))

    known = _sub_of(flow, named, place) if isinstance(named, str) else None

    def act() -> Place:
        found = known or _sub_of(flow, label(), place)
        if found.first.source.is_main and found.first.position >= flow.main.furthest:
            flow.ask_slowly()
            _doubt_late(flow, found)
        given: dict[Key, Number] = {nth: work() for nth, work in enumerate(arguments, 1)}
        name = f"o{found.label.lower()}"
        frame = Frame("O", name, flow.after(found.first), 1, after, place.number)
        start = running.enter(frame)
        running.set_aside(frame, given, missing)
        flow.called.add(found.first.position if found.first.source.is_main else -1)
        return start

    return act


def _doubt_late(flow: Flow, found: Block) -> None:
    flow.state.report.warn(
        "subprogram-form",
        f"o{found.label.lower()} is called on a line above it: read all the same",
        "put the subprogram above its first call: some controls only know those they have passed",
        about=found.label,
    )


def _sub_of(flow: Flow, label: str, place: Place) -> Block:
    """The subprogram of that label, in the same file or in one beside it."""
    source: Source | None = place.source
    found = flow.o_blocks(place.source).subs.get(label, [])
    name = label.strip("<>").lower()
    if not found:
        source = flow.other(name)
        found = flow.o_blocks(source).subs.get(label, []) if source is not None else []
    shown = f"o{label.lower()}"
    if not found:
        raise bad_subprogram(
            f"there is no {shown} sub in the file"
            + (f", nor in {source.file}" if source is not None else ", and no file of that name"),
            f"put it above the call, or into {name}.ngc beside the program",
        )
    if len(found) > 1:
        raise bad_subprogram(f"{shown} is {len(found)} times in the file", "give each its own name")
    flow.need_sound(found[0], f"{shown} sub")
    return found[0]
