"""A change of a part from its page: put into the file where it reads, kept in pencil where not.

Each change says what stood in its box when it was typed: two windows that change different figures
both get theirs, and the later of two that change one figure is asked.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec

from millprep.base.findings import Finding, WordError, refusal_of
from millprep.base.records import frozen, replace
from millprep.desk.altered import box_label, value_label
from millprep.desk.kept import ChangedMeanwhile
from millprep.desk.line_boxes import (
    POINTS,
    half_placed,
    in_words,
    points_shown,
    title_written,
    written,
)
from millprep.desk.pencil import TABLES, TITLE
from millprep.desk.piece import Piece, figures_between, signs_in
from millprep.desk.saying import said
from millprep.proven.editing import (
    Figure,
    as_written,
    faults_in,
    line_added,
    line_moved,
    line_removed,
    put_down,
)

if TYPE_CHECKING:
    from millprep.desk.kept import KeptFile, State

_TRIES = 4
_INTO_LETTER = re.compile(r"(?:down )?(?:in)?to (?:hole )?([A-Z]{1,2})")
_ONE_AT_A_TIME = threading.RLock()
"""One person, a few windows: changes take their turn."""


@frozen
class Clash:
    """The figure was changed elsewhere since it was shown: both, and what stands there now."""

    key: str
    mine: str
    theirs: str
    called: str = "the text"


@frozen
class Changed:
    """What became of a change.

    clash : it was not made; why : it is in pencil, and why; told : what to know of one made
    """

    state: State
    line: str = TITLE
    clash: Clash | None = None
    why: tuple[str, ...] = ()
    is_new: bool = False
    told: str = ""


_Given = ParamSpec("_Given")


def _in_turn(
    change: Callable[Concatenate[Piece, _Given], Changed],
) -> Callable[Concatenate[KeptFile, _Given], Changed]:
    """The change made; again where the file was written in between by another program."""

    @wraps(change)
    def changed(kept: KeptFile, /, *given: _Given.args, **named: _Given.kwargs) -> Changed:
        with _ONE_AT_A_TIME:
            for _ in range(_TRIES - 1):
                with suppress(ChangedMeanwhile):
                    return change(Piece(kept), *given, **named)
            return change(Piece(kept), *given, **named)

    return changed


@_in_turn
def put_figures(
    piece: Piece, line: str, typed: Mapping[str, str], before: Mapping[str, str]
) -> Changed:
    """What was typed into boxes of a line, put down. before : what stood there, as was shown"""
    is_known = line == TITLE or any(line in piece.ids(table) for table in TABLES)
    if piece.is_followed and not is_known:
        return Changed(piece.state, line, why=("that line is not in the list any more",))
    for key in typed:  # letters that came before are on their way to this
        piece.pencil.put_letters(line, key, None)
    boxes = _boxes(piece, line)
    for key, old in before.items():
        now = boxes.get(key, "")
        if now not in (old, typed.get(key)):
            found = piece.line(line)
            label = box_label("part" if found is None else found.table, key, boxes)
            called = f"{_called(piece, line)}: {label}"
            return Changed(piece.state, line, Clash(key, typed.get(key, ""), now, called))
    made = _tried(piece, line, _by_name(piece, in_words(boxes, typed, piece.units)))
    if line == TITLE and "units" in typed and not made.why:
        word = "inches" if typed["units"] == "inch" else "millimetres"
        told = f"every figure without a unit is in {word} now: step back if it was not meant so"
        return replace(made, told=told)
    return made


def _by_name(piece: Piece, typed: Mapping[str, str]) -> Mapping[str, str]:
    """With the name of a hole where its letter was given: down into A."""
    into = _INTO_LETTER.fullmatch(typed.get("deep", "").strip())
    if into is None or any(line.name == into[1] for line in piece.lines()):
        return typed
    named = next((x.name for x in piece.lines() if x.letter == into[1] and x.name), None)
    return typed if named is None else {**typed, "deep": f"into {named}"}


@_in_turn
def put_letters(piece: Piece, line: str, key: str, text: str | None) -> Changed:
    """What is being typed in a box: in pencil, whatever it says, until the box is left."""
    piece.pencil.put_letters(line, key, None)
    if text != _boxes(piece, line).get(key, ""):
        piece.pencil.put_letters(line, key, text)
    said = f"{_called(piece, line)}: as it is being typed"
    return Changed(piece.kept.pencil(piece.pencil.kept(), said, is_typing=True), line)


@_in_turn
def add_line(piece: Piece, table: str, typed: Mapping[str, str]) -> Changed:
    """A new line, in pencil until it reads."""
    line = piece.pencil.new_id(table)
    piece.pencil.waiting.append((line, table))
    if not {*typed} - {"face", "where"}:  # nothing to say of it yet
        piece.pencil.write(line, typed, ())
        return Changed(_in_pencil(piece, "another line"), line, is_new=True)
    return replace(_tried(piece, line, typed), is_new=True)


@_in_turn
def another_place(piece: Piece, line: str) -> Changed:
    """Boxes for one more hole of a line of singles; empty ones are no hole."""
    found = piece.line(line)
    if found is None:
        return Changed(piece.state, line)
    typed, before = piece.pencil.on(line), points_shown(found.boxes, "at")
    if before == ["at#"]:
        ends = ("0", "0e", "1", "1e")
        typed |= {f"at#0.{end}": found.boxes.get(f"at#{end}", "") for end in ends}
    typed |= {f"at#{len(before)}.{end}": "" for end in ("0", "1")}
    piece.pencil.write(line, typed, [])
    return Changed(_in_pencil(piece, f"{_called(piece, line)}: another place"), line)


@_in_turn
def remove_line(piece: Piece, line: str) -> Changed:
    """The line cut out of the file, with the remarks above it; or struck out in pencil."""
    ink, name = piece.ink(line), _called(piece, line)
    piece.pencil.rub_out(line)
    if ink is None:
        return Changed(_in_pencil(piece, f"{name} struck out"), line)
    text = line_removed(piece.text, ink.table, ink.index)
    if faults := _new_faults(piece, text):
        return Changed(piece.state, line, why=_said(piece, faults, line))
    del piece.pencil.order[ink.table][ink.index]
    return Changed(_keep(piece, text, f"{name} taken out"), line)


@_in_turn
def move_line(piece: Piece, line: str, by: int) -> Changed:
    """The line put before or after its neighbour."""
    ink = piece.ink(line)
    to = -1 if ink is None else ink.index + by
    if ink is None or not 0 <= to < len(piece.of_table(ink.table)):
        return Changed(piece.state, line)
    order = piece.pencil.order[ink.table]
    order.insert(to, order.pop(ink.index))
    text = line_moved(piece.text, ink.table, ink.index, to)
    return Changed(_keep(piece, text, f"{_called(piece, line)} moved in the list"), line)


@_in_turn
def strike_out(piece: Piece, line: str) -> Changed:
    """What is in pencil on a line rubbed out: the file's figures stand again."""
    name = _called(piece, line)
    piece.pencil.rub_out(line)
    return Changed(_in_pencil(piece, f"pencil on {name} rubbed out"), line)


@_in_turn
def put_text(piece: Piece, text: str, based_on: str) -> Changed:
    """The whole text of the file, as edited; in pencil where it does not read."""
    if piece.state.mark != based_on and text != piece.text:
        return Changed(piece.state, TITLE, Clash("", text, piece.text))
    faults = faults_in(text, piece.path)
    if not faults:
        piece.pencil.text, piece.pencil.text_on = None, ""
        return Changed(_keep(piece, text, "the text edited", is_own=False))
    piece.pencil.text, piece.pencil.text_on = text, piece.state.mark
    state = _in_pencil(piece, "the text edited, in pencil")
    return Changed(state, why=_said(piece, faults, TITLE))


@_in_turn
def put_edits(piece: Piece, make: Callable[[str], str], said: str) -> Changed:
    """A text made of the file's by `make`, a cure say."""
    text = make(piece.text)
    if faults := _new_faults(piece, text):
        return Changed(piece.state, why=_said(piece, faults, TITLE))
    return Changed(_keep(piece, text, said))


def _in_pencil(piece: Piece, said: str) -> State:
    """What is in pencil now, kept beside the file."""
    return piece.kept.pencil(piece.pencil.kept(), said)


def _tried(piece: Piece, line: str, new: Mapping[str, str]) -> Changed:
    """The line with all its pencil and the new figures; else the new figures alone; else pencil."""
    pencil, is_new = piece.pencil, piece.ink(line) is None and line != TITLE
    typed = {**pencil.typed.get(line, {}), **new}
    faults: Sequence[Finding] = ()
    if wanted := _still_wanted(piece, line, typed):
        pencil.write(line, typed, wanted)
        state = _in_pencil(piece, _what_changed(piece, line, new))
        return Changed(state, line, why=wanted)
    for trial in [typed] if is_new or typed == new else [typed, dict(new)]:
        text, found = _read(piece, line, trial)
        if not found and (trial == typed or text != piece.text):  # alone it may say nothing yet
            return _inked(piece, line, text, trial, typed)
        faults = faults or found
    why = _said(piece, faults, line)
    pencil.write(line, typed, why)
    state = _in_pencil(piece, _what_changed(piece, line, new))
    return Changed(state, line, why=why)


def _still_wanted(piece: Piece, line: str, typed: Mapping[str, str]) -> tuple[str, ...]:
    """What a place still wants before it can be read, in a word."""
    found = piece.line(line)
    boxes = {**(found.boxes if found is not None else {}), **typed}
    keys = {key.partition("#")[0] for key in typed if "#" in key}
    if any(half_placed(boxes, key) for key in keys if key in POINTS):
        return ("its place wants both figures: one along, one across",)
    return ()


def _read(piece: Piece, line: str, typed: Mapping[str, str]) -> tuple[str, Sequence[Finding]]:
    """The text with what was typed, and what keeps it from being read."""
    try:
        text = _with(piece, line, typed)
    except WordError as error:
        return piece.text, refusal_of(error).findings
    return text, _new_faults(piece, text)


def _inked(
    piece: Piece, line: str, text: str, trial: Mapping[str, str], typed: Mapping[str, str]
) -> Changed:
    pencil, said = piece.pencil, _what_changed(piece, line, trial)
    table = next((t for one, t in pencil.waiting if one == line), "")
    left = {key: value for key, value in typed.items() if key not in trial}
    letters = pencil.letters.pop(line, {})
    pencil.rub_out(line)
    if letters:
        pencil.letters[line] = letters
    if left:
        pencil.write(line, left, pencil.why.get(line, ()))
    if table:
        pencil.order.setdefault(table, []).append((line, ""))
    if text == piece.text:
        return Changed(_in_pencil(piece, said), line)
    return Changed(_keep(piece, text, said), line)


def _with(piece: Piece, line: str, typed: Mapping[str, str]) -> str:
    """The file's text with what was typed on a line. Raises WordError where it cannot be put."""
    ink = piece.ink(line)
    if line == TITLE:
        values = {} if piece.written is None else piece.written.values
        between = figures_between(values, title_written(values, typed))
        return put_down(piece.text, *(_title_figure(key, value) for key, value in between))
    if ink is None and not piece.is_followed and line not in dict(piece.pencil.waiting):
        raise WordError("the text of the file does not read just now", "see the text of the file")
    table = ink.table if ink is not None else dict(piece.pencil.waiting)[line]
    make = written if table == "hole" else title_written
    if ink is None:
        return line_added(piece.text, table, make({}, typed))
    between = figures_between(ink.values, make(ink.values, typed))
    figures = [Figure(table, key, value or None, ink.index) for key, value in between]
    return put_down(piece.text, *figures)


def _title_figure(key: str, value: str) -> Figure:
    table, dot, rest = key.partition(".")
    return Figure(table, rest, value or None) if dot else Figure("part", key, value or None)


def _new_faults(piece: Piece, text: str) -> list[Finding]:
    """What keeps the text from being read and did not keep the file from it before."""
    faults = faults_in(text, piece.path)
    if not faults:
        return []
    before = {(one.kind, one.message) for one in faults_in(piece.text, piece.path)}
    return [one for one in faults if (one.kind, one.message) not in before]


def _keep(piece: Piece, text: str, said: str, *, is_own: bool = True) -> State:
    """The text put into the file. is_own : its lines stand in the order that the desk knows"""
    written = as_written(text)
    for table in TABLES:
        signs = signs_in([line for line in written.lines if line.table == table])
        if is_own and len(signs) == len(piece.pencil.order.get(table, [])):
            piece.pencil.knows(table, signs)
        else:
            piece.pencil.follow(table, signs)
    data = text.encode("utf-8", "surrogateescape")
    return piece.kept.keep(piece.state.mark, data, piece.pencil.kept(), said)


def _boxes(piece: Piece, line: str) -> dict[str, str]:
    if line == TITLE:
        return piece.title
    found = piece.line(line)
    return {} if found is None else found.boxes


def _said(piece: Piece, faults: Sequence[Finding], line: str) -> tuple[str, ...]:
    names = [one.name for one in piece.of_table("hole")]
    told = [said(one, names) for one in faults if one.severity == "stop"]
    return tuple(dict.fromkeys(": ".join(filter(None, (one.sentence, one.do))) for one in told))[:3]


def _called(piece: Piece, line: str) -> str:
    found = piece.line(line)
    if line != TITLE and found is None:
        return "a line"
    return "the title block" if found is None else found.name or f"line {found.letter}"


def _what_changed(piece: Piece, line: str, typed: Mapping[str, str]) -> str:
    """pivot: deep 3/8, was 1/2."""
    old, who, found = _boxes(piece, line), _called(piece, line), piece.line(line)
    table = "part" if found is None else found.table
    boxes = {**old, **typed}

    def shown(key: str, value: str) -> str:
        return value_label(table, key, value, boxes) if value else "struck out"

    parts = [
        f"{box_label(table, key, boxes)} {shown(key, value)}"
        + (f", was {shown(key, old[key])}" if old.get(key) and old[key] != value else "")
        for key, value in typed.items()
        if value or old.get(key)
    ]
    return f"{who}: {'; '.join(parts)}" if parts else f"{who} begun"
