"""The card beside a program without comments: its tools, and what each of its stops asks for.

    "what","number","words"
    "program","","3f0a9b1c52d8e774"      a hash of the program that it goes with
    "note","","TRIAL, SETUP 1 OF 1"
    "tool","1","TOOL 1 SPOT DRILL 10.000 MM POINT 90 FLAT 0.2"
    "stop","1","FIT TOOL 1 SPOT DRILL 10 MM"

Stops are counted as the control comes to them. Imports the standard library, the errors and what
`reading` takes.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.inputs import note_input
from millprep.base.marks import BLANK_MARK, sealed

if TYPE_CHECKING:
    from millprep.reading.gcode.modal import ToolCard

_HEADER = ["what", "number", "words"]
_DIGITS = 16
_REMEDY = "write the program again, which writes its card too"


def card_path(program: Path) -> Path:
    """NAME-tools.csv beside NAME.nc."""
    return program.with_name(f"{program.stem}-tools.csv")


def hash_of(program: bytes) -> str:
    return hashlib.sha256(program).hexdigest()[:_DIGITS]


def card_bytes(said: Sequence[tuple[str, str]], program: bytes, what: str) -> bytes:
    """said : "note", "tool" or "stop" and its words, in order; what : the card, as its mark says"""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    rows.writerow(_HEADER)
    rows.writerow(["program", "", hash_of(program)])
    counts = {"tool": 0, "stop": 0}
    for kind, words in said:
        if kind in counts:
            counts[kind] += 1
        rows.writerow([kind, counts.get(kind, ""), BLANK_MARK if kind == "mark" else words])
    return sealed(out.getvalue().encode(), what)


def read_card(path: Path) -> tuple[ToolCard, str]:
    """The card in a file, and the hash of its program. Raises MillprepError for what is none."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE_BYTES)
        note_input(path)
    except OSError as error:
        raise stopped("unreadable-file", "cannot be read", _REMEDY, str(path)) from error
    return card_of(data, str(path))


def card_of(data: bytes, path: str) -> tuple[ToolCard, str]:
    """The card, and the hash of its program. Raises MillprepError for what is none."""
    from millprep.reading.gcode.modal import ToolCard

    try:
        text = data.decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text), delimiter=";" if ";" in text[:40] else ","))
    except (UnicodeDecodeError, csv.Error):
        rows = []
    if not rows or rows[0] != _HEADER or any(len(row) != len(_HEADER) for row in rows if row):
        raise stopped("unreadable-file", "is no card of a program's tools", _REMEDY, path)
    said = [(row[0], row[2]) for row in rows[1:] if row]
    kinds = ("tool", "stop", "note")
    of = {kind: tuple(words for each, words in said if each == kind) for kind in kinds}
    its = next((words for kind, words in said if kind == "program"), "")
    return ToolCard(of["tool"], of["stop"], of["note"]), its


def cards_for(
    programs: Sequence[tuple[str, bytes]], given: Sequence[Path]
) -> tuple[dict[str, ToolCard], list[Finding]]:
    """The card of each program that has one: beside it with its hash, or given.

    given : of `--tools`; one for the only program is taken whatever its hash
    Raises MillprepError for a file given that is no card.
    """
    cards: dict[str, ToolCard] = {}
    notes: list[Finding] = []
    asked = [(path, *read_card(path)) for path in given]
    for name, data in programs:
        own = hash_of(data) if asked else ""
        for path, card, its in asked:
            if its == own or len(programs) == len(given) == 1:
                cards[name] = card
                notes.append(_taken(name, path, is_its=its == own))
        if name not in cards and not given:
            notes += _beside(name, data, cards)
    return cards, notes


def _beside(name: str, data: bytes, cards: dict[str, ToolCard]) -> list[Finding]:
    path = card_path(Path(name))
    if not path.is_file():
        return []
    try:
        card, its = read_card(path)
    except MillprepError:
        return []
    if its == hash_of(data):
        cards[name] = card
        return [_taken(name, path, is_its=True)]
    if b"(" in data or b";" in data:
        return []  # it speaks for itself: the card is left over from a program that did not
    message = f"the card {path} goes with another state of this program, and was not taken"
    remedy = f"{_REMEDY}; --tools {path} takes it all the same"
    return [Finding("warning", "tool-card", message, remedy, name)]


def _taken(name: str, path: Path, *, is_its: bool) -> Finding:
    taken = f"tools, and what each stop asks for, are taken from {path}"
    if is_its:
        return Finding("note", "tool-card", taken, file=name)
    return Finding(
        "warning", "tool-card", f"{taken}, which goes with another state of it", _REMEDY, name
    )


def as_spoken(program: str, card: ToolCard | None) -> str:
    """The program with the card's words beside its stops."""
    if card is None:
        return program
    stops = iter(card.stops)
    lines = program.splitlines()
    return "\n".join(
        f"{line} ({next(stops, '')})" if line.split()[-1:] == ["M0"] else line for line in lines
    )
