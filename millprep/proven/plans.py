"""The one way from a plan to a part file: read, written, read back as a part file, compared."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.model.kinds import HOLE_KINDS
from millprep.proven.stock_words import read_stock

if TYPE_CHECKING:
    from millprep.infiles.plans.blanks import Blank
    from millprep.infiles.plans.record import Outline, Plan

PASTED = "-"
_TABLES = (".csv", ".tsv", ".txt")
_PASTED_NAME = "pasted"
_THICK_MM = 5000.0
"""What stands in for a thickness while the file is read back: nothing comes out below."""


@frozen
class Wishes:
    """What is said beside a plan: units of its figures, blank, faces of zero, names of columns."""

    units: Units | None = None
    stock: str | None = None
    zero: str | None = None
    columns: str | None = None


@frozen
class PartFile:
    """A part file made of a plan. findings : what was taken as what, and what was not understood"""

    text: str
    findings: tuple[Finding, ...]
    read: int
    total: int
    noun: str


def part_file(
    plan: Path | str, name: str, wishes: Wishes | None = None, pasted: bytes = b""
) -> PartFile:
    """The part file of a table (.csv, .tsv, .txt), a drawing (.dxf), or what was pasted ("-").

    name : of the part
    Raises MillprepError or WordError where units, columns or most of the plan cannot be known.
    """
    from millprep.infiles.plans.blanks import blank_of
    from millprep.infiles.plans.part_text import part_text

    asked = wishes or Wishes()
    read = _read(str(plan), asked, pasted)
    blank = blank_of(read, _given_blank(asked.stock, read.units), asked.zero)
    made = part_text(read, blank, name)
    differing = list(_disagreements(made.text, read, blank))
    if differing:
        raise MillprepError(*differing)
    said = [Finding("note", "taken-as", words, "", read.path) for words in made.taken]
    unread = read.faults.findings
    return PartFile(made.text, (*unread, *said), read.read, read.total, read.noun)


def _read(path: str, asked: Wishes, pasted: bytes) -> Plan:
    from millprep.infiles.csv_file import CSV
    from millprep.infiles.file_bytes import read_bytes, text_of
    from millprep.infiles.plans.tables import read_table

    ending = Path(path).suffix.lower()
    if path != PASTED and ending not in (*_TABLES, ".dxf"):
        accepted = ", ".join((*_TABLES, ".dxf"))
        message = f'a plan that ends in "{ending}" is not read'
        raise stopped("unknown-word", message, f"read: {accepted}, and - for what is pasted", path)
    if ending == ".dxf":
        return _drawn(path, asked)
    if path != PASTED:
        text = text_of(read_bytes(Path(path), path, CSV), path, CSV)
        return read_table(text, path, asked.units, asked.columns)
    if len(pasted) > LARGEST_FILE_BYTES:
        what = f"more than {LARGEST_FILE_BYTES // 1_000_000} MB was pasted"
        raise stopped("unreadable-file", what, "save it as a file, and name that")
    text = text_of(pasted, _PASTED_NAME, CSV)
    return read_table(text, _PASTED_NAME, asked.units, asked.columns)


def _drawn(path: str, asked: Wishes) -> Plan:
    """The plan of a drawing; what reads it takes its time to load."""
    from millprep.infiles.plans.drawings import plan_of_shapes
    from millprep.infiles.plans.shapes import read_shapes

    if asked.columns is not None:
        raise stopped("unknown-word", "--columns is for a table", "leave it out", path)

    def given(units: Units) -> Outline | None:
        return _given_blank(asked.stock, units)

    return plan_of_shapes(read_shapes(Path(path)), path, asked.units, given)


def _given_blank(stock: str | None, units: Units) -> Outline | None:
    """The blank that --stock names, by its size alone; plain figures are in the plan's units."""
    from millprep.infiles.plans.record import Outline

    if stock is None:
        return None
    read = read_stock(stock, units)
    x, y, z = read.sizes_mm
    return Outline((0.0, 0.0), (x, y), read.is_round, thickness_mm=z)


def _disagreements(text: str, plan: Plan, blank: Blank) -> Iterator[Finding]:
    """What differs between the plan and its part file, read as any part file is."""
    from millprep.infiles import read_part
    from millprep.infiles.plans.record import SAME_MM, Near
    from millprep.infiles.positions import Layout
    from millprep.infiles.text import Document

    data = _filled_in(text)
    document = Document("the file made of it", data, Layout(text, data), "000000")
    try:
        part, _ = read_part(document.path, lambda _: document)
    except MillprepError as error:  # of a plan that makes no part: a hole beside the blank, say
        raise MillprepError(
            *(replace(one, file=plan.path, line=None) for one in error.findings)
        ) from None
    low = blank.outline.low_mm
    due = [blank.seen(hole) for hole in plan.holes]
    there = Near(
        ((hole.centre_mm[0] + low[0], hole.centre_mm[1] + low[1]), hole) for hole in part.holes
    )
    if len(part.holes) != len(due):
        yield _differs(plan, f"{len(due)} holes became {len(part.holes)}")
    for hole in due:
        made = there.first(hole.place)
        if made is None:
            yield _differs(plan, f"{hole.where} is not where it was")
        elif (
            hole.diameter_mm
            and abs(made.diameter_mm - hole.diameter_mm) > SAME_MM
            and (any(key in ("drill", "ream", "bore") for key, _ in hole.keys))
        ):
            yield _differs(plan, f"{hole.where} has another size")


def _differs(plan: Plan, what: str) -> Finding:
    message = f"{what}: the part file does not agree with the plan"
    return Finding("stop", "readers-disagree", message, "please report it", plan.path)


def _filled_in(text: str) -> dict[str, Any]:
    """What the file says, with something in the place of what it asks for."""
    data = tomllib.loads(text)
    data.setdefault("material", "mild steel")
    stock = data["stock"]
    if "size" in stock:
        stock["size"] = [*stock["size"][:2], f"{_THICK_MM:g} mm"]
    else:
        stock["length"] = f"{_THICK_MM:g} mm"
    for hole in data["hole"]:
        hole.setdefault("depth", "through")
        if "counterbore" in hole:
            hole["counterbore"].setdefault("depth", "0.1 mm")
        if not HOLE_KINDS.keys() & hole.keys():
            hole["drill"] = "0.2 mm"
    return data
