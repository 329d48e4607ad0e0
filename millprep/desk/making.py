"""The sheets that the desk hands over: each asked for, proven and named as on the command line."""

from __future__ import annotations

import os
import shlex
import subprocess
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, WordError, refusal_of
from millprep.base.records import field_names, frozen
from millprep.base.units import Units
from millprep.proven import assembly, sheets
from millprep.proven.handed import Handed
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.stacks import part_or_stack

_UNITS: dict[str, Units] = {"mm": "mm", "inch": "inch"}


@frozen
class Paper:
    """A kind of sheet.

    called  : as a link says it; command : the words of the command line
    forms   : the first is shown; takes : options of `Wanted`
    whose   : "part" of a part or a stack, "assembly" of an assembly
    """

    called: str
    command: tuple[str, ...]
    forms: tuple[str, ...]
    takes: tuple[str, ...] = ()
    whose: str = "part"


_PAGE = ("html", "pdf", "text", "csv", "json")
PAPERS = {
    "listing": Paper(
        "at the mill, by the readout", ("listing",), _PAGE, ("units", "setup", "pieces", "short")
    ),
    "dials": Paper(
        "at the mill, by the dials", ("dials",), _PAGE, ("units", "setup", "pieces", "short")
    ),
    "markout": Paper("marking out", ("markout",), _PAGE, ("units",)),
    "tools": Paper("tools from the drawer", ("tools",), _PAGE, ("setup",)),
    "drawing": Paper(
        "drawing", ("drawing",), ("svg", "pdf", "png", "dxf"), ("units", "setup", "paper")
    ),
    "template": Paper(
        "template, full size",
        ("drawing", "--template"),
        ("pdf",),
        ("units", "setup", "paper", "measured_bars"),
    ),
    "inspect": Paper("inspection", ("inspect",), _PAGE, ("units", "setup", "pieces")),
    "program": Paper("program", ("program",), ("nc",), ("setup", "pieces")),
    "bench": Paper("page for the bench", ("bench",), ("html",), ("units", "setup", "pieces")),
    "assembly": Paper(
        "whether it goes together", ("assembly",), ("html", "pdf", "text", "json"), (), "assembly"
    ),
    "route": Paper(
        "the whole job in order", ("route",), ("html", "pdf", "text", "json"), (), "assembly"
    ),
}
"""By the word that an address has."""
ENDINGS = {"text": ".txt"}
MEDIA = {
    "html": "text/html; charset=utf-8",
    "pdf": "application/pdf",
    "text": "text/plain; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "svg": "image/svg+xml",
    "png": "image/png",
    "dxf": "image/vnd.dxf",
    "nc": "text/plain; charset=utf-8",
}


@frozen
class Wanted:
    """How a sheet is wanted, in the words of the address; "" for what is not asked."""

    units: str = ""
    setup: str = ""
    pieces: str = ""
    short: str = ""
    paper: str = ""
    measured_bars: str = ""
    stack: str = ""

    @classmethod
    def of(cls, query: Mapping[str, str]) -> Wanted:
        """What an address asks."""
        return cls(**{name: query.get(name, "").strip() for name in field_names(cls)})

    def words(self, paper: Paper) -> dict[str, str]:
        """What is asked that this sheet takes."""
        taken = (*paper.takes, "stack")
        named = {name: str(getattr(self, name)) for name in field_names(self) if name in taken}
        return {name: words for name, words in named.items() if words}

    def number(self, name: str) -> int | None:
        """Raises WordError for what is no whole number."""
        words = getattr(self, name)
        if not words:
            return None
        if not (words.isascii() and words.isdigit() and len(words) < 6):
            raise WordError(f"“{words}” is not a whole number", "give it as 1, 2 or 12")
        return int(words)


@frozen
class Source:
    """What sheets are made of. path : whole, of a part or an assembly; shop : as for the command
    line; folder : of the desk

    A sheet that names a command has its files as they were given. A desk works in its folder, as
    the command line would: there they are given by their names from it.
    """

    path: Path
    shop: str
    folder: Path

    @property
    def given(self) -> Path:
        """The file as it is given to what makes sheets."""
        return Path(self._from_here(self.path))

    @property
    def given_shop(self) -> str:
        return str(self._from_here(self.shop))

    def _from_here(self, file: Path | str) -> Path | str:
        with suppress(OSError, ValueError):
            if Path.cwd() == self.folder:
                return Path(file).relative_to(self.folder)
        return file


@frozen
class Made:
    """Sheets ready to be handed over, by their names; none where a stop keeps them back."""

    files: Mapping[str, bytes]
    findings: tuple[Finding, ...]

    @property
    def is_kept_back(self) -> bool:
        return not self.files


def made(source: Source, name: str, form: str, wanted: Wanted) -> Made:
    """The sheet proven. What cannot be judged comes back as what was found."""
    try:
        return _made(source, PAPERS[name], form, wanted)
    except (MillprepError, WordError) as error:
        return Made({}, tuple(refusal_of(error).findings))


def _made(source: Source, paper: Paper, form: str, wanted: Wanted) -> Made:
    command = paper.command[0]
    file = Path(file_name(source, paper, form, wanted))
    if paper.whose == "assembly":
        return _of_assembly(source, command, form, file)
    setup, pieces = wanted.number("setup"), wanted.number("pieces")
    units = _UNITS.get(wanted.units)
    made_of = part_or_stack(source.given, wanted.stack or None, source.given_shop)
    if command == "program":
        from millprep.proven.program import programs

        whole = programs(made_of, source.given_shop, setup=setup, file=file, pieces=pieces)
        files = {str(path): data for one in whole.files for path, data in one.written().items()}
        return Made(files, whole.findings)
    if command == "inspect":
        from millprep.proven.measured import inspection_sheet

        handed = inspection_sheet(
            made_of, source.given_shop, form, units=units, setup=setup, pieces=pieces
        )
        return _one(file, handed)
    if command == "drawing":
        return _drawn(prepare(made_of, source.given_shop), paper, file, wanted)
    asked = sheets.Asked(units, setup, short=True if wanted.short else None, pieces=pieces)
    prepared = prepare(made_of, source.given_shop, sheets.order_of(command, "tool"))
    return _one(file, sheets.prove(command, prepared, form, asked, str(file)))


def _one(file: Path, handed: Handed) -> Made:
    return Made({} if handed.data is None else {str(file): handed.data}, handed.findings)


def _of_assembly(source: Source, command: str, form: str, file: Path) -> Made:
    if command == "route":
        return _one(file, assembly.route(source.given, source.given_shop, form))
    return _one(file, assembly.report(assembly.judged(source.given, source.given_shop), form))


def _drawn(prepared: Prepared, paper: Paper, file: Path, wanted: Wanted) -> Made:
    from millprep.proven.drawing import Wishes, drawn_files
    from millprep.proven.measured import day_of

    asked = _UNITS.get(wanted.units)
    is_template = "--template" in paper.command
    wishes = Wishes(is_template, wanted.measured_bars or None, wanted.paper or None, asked or "mm")
    setup, day = wanted.number("setup"), day_of(None)
    files, found = drawn_files(prepared, file, wishes, units=asked, setup=setup, date=day)
    return Made({str(path): data for path, data in files.items()}, found)


def file_name(source: Source, paper: Paper, form: str, wanted: Wanted) -> str:
    """What the sheet is called, beside its part: "bracket-listing.pdf", "bracket.nc".

    Of one setup and of a stack it has a name of its own: there it is another sheet by its mark.
    """
    words = [source.path.stem, wanted.stack]
    if "--template" in paper.command:
        words.append("template")
    elif paper.command[0] != "program":
        words.append(paper.command[0])
    words += [f"setup{wanted.setup}" if wanted.setup else ""]
    name = "-".join(filter(None, words))
    return name.replace("/", "-").replace("\\", "-") + ENDINGS.get(form, f".{form}")


def command_of(source: Source, name: str, form: str, wanted: Wanted) -> str:
    """The command that writes the same sheet, said in the folder of the desk."""
    paper = PAPERS[name]
    words = wanted.words(paper)
    options = [f"--{key.replace('_', '-')}" for key in words]
    given = [
        part
        for option, value in zip(options, words.values(), strict=True)
        for part in ((option,) if option == "--short" else (option, value))
    ]
    place = _relative(source.path.parent / file_name(source, paper, form, wanted), source.folder)
    shop = [] if source.shop == "metric" else ["--shop", _relative(source.shop, source.folder)]
    command, *more = paper.command
    said = ["millprep", command, _relative(source.path, source.folder), *more, *given, *shop]
    return quoted([*said, "-o", place])


def _relative(path: Path | str, folder: Path) -> str:
    """As it is named in the folder; never like an option."""
    if Path(path).is_absolute() and Path(path).is_relative_to(folder):
        name = str(Path(path).relative_to(folder))
        return f".{os.sep}{name}" if name.startswith("-") else name
    return str(path)


def quoted(words: Sequence[str]) -> str:
    """Words as they are typed at a prompt of this machine."""
    return subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
