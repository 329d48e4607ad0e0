"""Dial sheets read back: text, csv and json here, html in `dial_page`, the lines of a PDF in `pdf`.

Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Literal

from millprep.base.units import Units, shown
from millprep.reading.pages.dial_rows import (
    DialBody,
    DialFigure,
    DialOver,
    DialRow,
    DialWords,
    DialZero,
    PrintedDials,
    read_recover,
    read_where,
)
from millprep.reading.pages.dial_zero import read_zero
from millprep.reading.pages.printed import (
    FACE_WORDS,
    NUMBER,
    OPERATIONS,
    Figure,
    FinderReading,
    PrintedRow,
    PrintedSetup,
    Setting,
    UnreadableSheet,
    decimal_of,
    figure,
    length_mm,
    tool_of,
)
from millprep.reading.pages.setting import read_setting
from millprep.reading.pages.tables import (
    Cells,
    cells_of,
    check_json_skew,
    csv_rows,
    csv_skew,
    json_looks,
    json_object,
    json_said,
    lay_of,
    object_of,
    real_of,
    strings_of,
    text_of,
    units_cell,
    whole_of,
)
from millprep.reading.pages.text import (
    at_label,
    labelled,
    read_body,
    read_heading,
    sections_of,
    setup_blocks,
)
from millprep.reading.pages.text_rows import Lines
from millprep.reading.pages.words import read_lies, read_stock

DialForm = Literal["text", "csv", "json", "html", "pdf"]

_FACE = f"(?:{FACE_WORDS})"
_HAND = "clockwise|anticlockwise"
_DIAL = re.compile(
    rf"(?P<axis>[XYZ]): (?P<lead>{NUMBER}) mm a turn, (?P<divisions>{NUMBER}) divisions; clockwise "
    rf"takes the cutter (?:to the )?(?P<to>[a-z ]+); figures grow (?P<rise>{_HAND}); "
    rf"10 turns measure (?P<measure>{NUMBER}) mm\."
    rf"(?: Come up to every (?P<again>[XY]) (?P<come_up>{_HAND}); "
    rf"where the way leads back, first past it by {NUMBER} turns or more\.)?",
    re.ASCII,
)
_CORNER = re.compile(
    rf"With zero on ({_FACE}) and ({_FACE}) all moves would wind with the figures\.", re.ASCII
)
_ALREADY = "From this zero all moves wind with the figures."
_LABELS = ("TURN", "LIES", "HOLD", "ZERO", "SKEW", "DIALS", "HEAD", "HAND")


def read_dials(data: bytes, form: DialForm) -> tuple[PrintedDials, ...]:
    """The setups of a dial sheet. Raises UnreadableSheet for anything it does not understand."""
    if form == "pdf":
        from millprep.reading.pages.pdf import pdf_setups

        return tuple(_read_setup(block) for block in pdf_setups(data))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise UnreadableSheet(f"not UTF-8 text (byte {fault.start + 1})") from None
    if form == "text":
        return tuple(_read_setup(block) for block in setup_blocks(text))
    if form == "html":
        from millprep.reading.pages.dial_page import read_page

        return read_page(text)
    return _read_json(text) if form == "json" else _read_csv(text)


def _read_setup(block: Lines) -> PrintedDials:
    heading, *rest = sections_of(block)
    title, mark, units, stock = read_heading(heading)
    number = heading[0][0]
    if len(rest) < 2:
        raise UnreadableSheet("the setup ends after its heading", block[-1][0])
    labels = labelled(rest[0], _LABELS)
    lies = at_label(labels, "LIES", read_lies, number)
    if lies.face != title["face"].lower():
        raise UnreadableSheet(f"the title says {title['face']} up, LIES {lies.face}", number)
    at_label(labels, "HOLD", str, number)
    zero = at_label(labels, "ZERO", lambda words: read_zero(words, units), number)
    words, corner = at_label(labels, "DIALS", read_words, number)
    places = read_where(rest[1], units)
    body = DialBody(units)
    done, closing = read_body(rest[2:], body, number)
    texts = {label.lower(): told for label, (_, told) in (labels | closing).items()}
    setting, recover, apart = read_setting_by_dial(texts, zero, units)
    setup = PrintedSetup(
        int(title["number"]),
        lies.face,
        lies.towards_you,
        zero[0].zero,
        zero[1].zero,
        units,
        tuple(body.rows),
        of=int(title["of"]),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=touches(zero),
        looks=tuple(body.looks),
        said=tuple(body.said),
        done=done,
        part_name=title["part"],
        part_mark=mark,
        line=number,
        setting=setting,
        stock=stock,
    )
    return PrintedDials(setup, tuple(body.dials), zero, words, corner, places, recover, apart)


def read_setting_by_dial(
    texts: Mapping[str, str], zero: Sequence[DialZero], units: Units
) -> tuple[Setting, tuple[DialOver, ...], Figure | None]:
    """What is said of setting up, by label in small letters; the lost zero is found by dial."""
    by_dial = texts.get("recover", "")
    reckoned = tuple(one.across for one in zero if one.across is not None)
    setting = read_setting({**texts, "recover": ""}, Setting(reckoned=reckoned), units)
    return (setting, *read_recover(by_dial, units))


def touches(zero: Iterable[DialZero]) -> tuple[FinderReading, ...]:
    """What the finder touches."""
    return tuple(one.touch for one in zero if one.touch is not None)


def read_words(text: str) -> tuple[tuple[DialWords, ...], tuple[str, ...]]:
    """DIALS: each dial, and the faces of the zero from which all moves wind with the figures."""
    matches = list(_DIAL.finditer(text))
    rest = text
    for match in matches:
        rest = rest.replace(match[0], "", 1)
    rest = rest.strip(" ")
    corner = _CORNER.fullmatch(rest)
    if len(matches) < 2 or (corner is None and rest != _ALREADY):
        raise UnreadableSheet(f"DIALS says {shown(rest or text)}")
    words = tuple(
        DialWords(
            match["axis"].lower(),
            length_mm(match["lead"], "mm"),
            length_mm(match["divisions"], "mm"),
            match["to"],
            match["rise"],
            figure(match["measure"], "mm"),
            match["come_up"],
        )
        for match in matches
    )
    return words, tuple(face.lower() for face in corner.groups()) if corner else ()


def _read_csv(text: str) -> tuple[PrintedDials, ...]:
    columns = ("setup", "face", "towards_you", "zero_x", "zero_y", "units")
    setups = []
    for _, run in groupby(csv_rows(text), lambda row: tuple(row[1][name] for name in columns)):
        rows = list(run)
        line, cells = rows[0]
        try:
            lay = lay_of(*(cells[name] for name in columns[1:5]))
            number, units = whole_of(cells, "setup"), units_cell(cells)
            read = []
            for row_line, row in rows:
                line = row_line
                read.append(_csv_row(row, units, line))
        except UnreadableSheet as fault:
            raise UnreadableSheet(fault.message, line) from None
        setup = PrintedSetup(
            number,
            *lay,
            units,
            tuple(row for row, _ in read),
            line=rows[0][0],
            setting=Setting(skew_deg=csv_skew(rows)),
        )
        setups.append(PrintedDials(setup, tuple(dials for _, dials in read)))
    if not setups:
        raise UnreadableSheet("the sheet has no rows", 1)
    return tuple(setups)


def _csv_row(cells: Cells, units: Units, line: int) -> tuple[PrintedRow, DialRow]:
    x, y = (_csv_figure(cells, axis) for axis in "xy")
    back_x, back_y = (
        DialFigure(
            whole_of(cells, f"{axis}_back_turns"),
            _is_yes(cells, f"{axis}_back_negative"),
            decimal_of(text_of(cells, f"{axis}_back_reading")),
        )
        if text_of(cells, f"{axis}_back_turns")
        else None
        for axis in "xy"
    )
    z = None
    if text_of(cells, "z_turns"):
        z = DialFigure(whole_of(cells, "z_turns"), True, decimal_of(text_of(cells, "z_reading")))
    return _row(cells, units, line), DialRow(x, y, back_x, back_y, z)


def _csv_figure(cells: Cells, axis: str) -> DialFigure:
    return DialFigure(
        whole_of(cells, f"{axis}_turns"),
        _is_yes(cells, f"{axis}_negative"),
        decimal_of(text_of(cells, f"{axis}_reading")),
        decimal_of(text_of(cells, f"{axis}_division")),
        real_of(cells, f"{axis}_left_over_mm"),
    )


def _is_yes(cells: Cells, name: str) -> bool:
    word = text_of(cells, name)
    if word not in ("yes", "no"):
        raise UnreadableSheet(f'"{name}" is {shown(word)}, neither yes nor no')
    return word == "yes"


def _row(cells: Cells, units: Units, line: int | None) -> PrintedRow:
    operation = text_of(cells, "operation")
    if operation not in OPERATIONS:
        raise UnreadableSheet(f"{shown(operation)} is no operation")
    return PrintedRow(
        whole_of(cells, "step"),
        text_of(cells, "hole"),
        operation,
        tool_of(text_of(cells, "tool")),
        whole_of(cells, "tool_number"),
        0.0,
        0.0,
        length_mm(text_of(cells, "z"), units),
        pecks_mm=tuple(length_mm(peck, units) for peck in text_of(cells, "pecks").split()),
        turns=real_of(cells, "turns"),
        line=line,
    )


def _read_json(text: str) -> tuple[PrintedDials, ...]:
    whole = json_object(text)
    heading, setups = cells_of(whole), whole.get("setups")
    if not isinstance(setups, list) or not setups:
        raise UnreadableSheet("the sheet has no setups")
    units = units_cell(heading)
    return tuple(_json_setup(object_of(setup, "a setup"), heading, units) for setup in setups)


def _json_setup(setup: Mapping[str, object], heading: Cells, units: Units) -> PrintedDials:
    cells, zero_cells = cells_of(setup), cells_of(object_of(setup.get("zero"), "zero"))
    number = whole_of(cells, "number")
    lay = lay_of(
        text_of(cells, "face"),
        text_of(cells, "towards_you"),
        text_of(zero_cells, "x"),
        text_of(zero_cells, "y"),
    )
    lies = read_lies(text_of(cells, "lies"))
    zero = read_zero(" ".join(strings_of(setup, "zeroing")), units)
    if (lies.face, lies.towards_you, zero[0].zero, zero[1].zero) != lay:
        raise UnreadableSheet(f"setup {number} lies one way by its fields, another by its words")
    words, corner = read_words(" ".join(strings_of(setup, "words")))
    rows, dials = [], []
    for step in _objects(setup.get("steps"), f"setup {number}, steps"):
        rows.append(_row(cells_of(step), units, None))
        dials.append(_json_dials(step))
    texts = {name: " ".join(strings_of(setup, name)) for name in ("hold", "head", "recover")}
    texts |= {name: text_of(cells, name) for name in ("turn", "skew", "hand")}
    setting, recover, apart = read_setting_by_dial(texts, zero, units)
    check_json_skew(cells, setting)
    printed = PrintedSetup(
        number,
        *lay,
        units,
        tuple(rows),
        away=lies.away,
        left_hand=lies.left_hand,
        finder_readings=touches(zero),
        looks=tuple(json_looks(setup, units)),
        said=tuple(json_said(setup, units)),
        part_name=text_of(heading, "part"),
        part_mark=text_of(heading, "part_mark"),
        setting=setting,
        stock=read_stock(text_of(heading, "stock"), units),
    )
    return PrintedDials(printed, tuple(dials), zero, words, corner, recover=recover, apart=apart)


def _objects(value: object, what: str) -> Iterator[Mapping[str, object]]:
    if not isinstance(value, list):
        raise UnreadableSheet(f"{what}: no list")
    for one in value:
        yield object_of(one, what)


def _json_dials(step: Mapping[str, object]) -> DialRow:
    x, y = (object_of(step.get(axis), axis) for axis in "xy")
    z = step.get("z_dial")
    return DialRow(
        _json_figure(x),
        _json_figure(y),
        _optional(x.get("back_off")),
        _optional(y.get("back_off")),
        _optional(z),
        tuple(_json_figure(one) for one in _objects(step.get("pecks_dial"), "pecks")),
    )


def _optional(value: object) -> DialFigure | None:
    return None if value is None else _json_figure(object_of(value, "a setting"))


def _json_figure(item: Mapping[str, object]) -> DialFigure:
    cells, is_negative = cells_of(item), item.get("negative")
    if not isinstance(is_negative, bool):
        raise UnreadableSheet('"negative" is neither true nor false')
    return DialFigure(
        whole_of(cells, "turns"),
        is_negative,
        Decimal(decimal_of(text_of(cells, "reading"))),
        decimal_of(text_of(cells, "division")),
        real_of(cells, "left_over_mm"),
    )
