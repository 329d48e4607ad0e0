"""Programs as they are named, and what lies beside them: subprograms, cards of their tools.

Subprograms are looked for in the program's own folder, never by a link that leads elsewhere. A card
goes with a program without comments: its tools, and what each of its stops asks for, which are
counted as the control comes to them.

    "what","number","words"
    "program","","3f0a9b1c52d8e774"      a hash of the program that it goes with
    "note","","TRIAL, SETUP 1 OF 1"
    "tool","1","TOOL 1 SPOT DRILL 10.000 MM POINT 90 FLAT 0.2"
    "stop","1","FIT TOOL 1 SPOT DRILL 10 MM"
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_FILE_BYTES, LARGEST_PROGRAM_BYTES, LARGEST_SUBPROGRAM_BYTES
from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.inputs import note_input
from millprep.base.marks import BLANK_MARK, sealed

if TYPE_CHECKING:
    from millprep.reading.gcode.modal import ToolCard


_PROGRAM_ENDINGS = (".nc", ".ngc", ".tap", ".gcode")
Programs = Sequence[Path | str | tuple[str, bytes]]
"""Paths, or (name, bytes)."""


def programs_read(programs: Programs) -> list[tuple[str, bytes]]:
    """(name, bytes) of programs; files are read."""
    return [
        one if isinstance(one, tuple) else (str(one), _program_bytes(Path(one))) for one in programs
    ]


def folders_of(programs: Programs) -> dict[str, Path]:
    """Where each program that is a file lies."""
    return {str(one): Path(one).parent for one in programs if not isinstance(one, tuple)}


def _program_bytes(path: Path) -> bytes:
    """The file's bytes, where they can be a program at all."""
    from millprep.infiles.file_bytes import MISSING, nearby

    if path.suffix.lower() == ".toml":
        remedy = f"give the program: millprep dryrun {path.stem}.nc --part {path}"
        raise stopped("unreadable-file", "this is a part file", remedy, str(path))
    try:
        if not path.exists():
            remedy = nearby(path, *_PROGRAM_ENDINGS)
            raise stopped("unreadable-file", MISSING, remedy, str(path))
        if path.stat().st_size > LARGEST_PROGRAM_BYTES:
            largest = f"at most {LARGEST_PROGRAM_BYTES // 1_000_000} MB: name a G-code file"
            raise stopped("unreadable-file", "is too large for a program", largest, str(path))
        data = path.read_bytes()
        note_input(path)
    except OSError as error:
        is_folder = isinstance(error, IsADirectoryError)
        why = "is a folder" if is_folder else f"cannot be read: {error.strerror}"
        raise stopped("unreadable-file", why, "name a G-code file", str(path)) from error
    if b"\0" in data:
        raise stopped("unreadable-file", "is not text", "name a G-code file", str(path))
    if not data or data.isspace():
        raise stopped("unreadable-file", "is empty", "name a G-code file", str(path))
    return data


_ENDINGS = (".nc", ".ngc")


def beside(folder: Path) -> Callable[[str], tuple[str, bytes] | str | None]:
    """Finds a subprogram by its name or number in a folder.

    What it gives takes a name and gives (path, bytes), why the file cannot be read, or None where
    there is none. Of "100" the file is O100.nc or 100.nc, of "hole" it is hole.ngc or hole.nc, in
    capitals or not.
    """

    def find(name: str) -> tuple[str, bytes] | str | None:
        named = rf"o?0*{name}" if name.isdecimal() else re.escape(name)
        wanted = re.compile(named, re.IGNORECASE)
        try:
            there = [
                path
                for path in sorted(folder.iterdir())
                if path.suffix.lower() in _ENDINGS and wanted.fullmatch(path.stem)
            ]
            found = [path for path in there if _is_in(folder, path)]
            return _content(found, name)
        except OSError as error:
            return f"the file of {name} cannot be read: {error.strerror}"

    return find


def _is_in(folder: Path, path: Path) -> bool:
    return path.is_file() and path.resolve().parent == folder.resolve()


def _content(found: list[Path], name: str) -> tuple[str, bytes] | str | None:
    if not found:
        return None
    if len(found) > 1:
        return f"{name} could be {' or '.join(path.name for path in found)}"
    (path,) = found
    if path.stat().st_size > LARGEST_SUBPROGRAM_BYTES:
        most = LARGEST_SUBPROGRAM_BYTES // 1_000_000
        return f"{path.name} is too large for a subprogram: at most {most} MB"
    data = path.read_bytes()
    note_input(path)
    return str(path), data


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
