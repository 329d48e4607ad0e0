"""The public names of millprep: what `import millprep` offers, from a file to bytes and findings.

Each takes a part and a shop as they were read, or as the names of their files; each raises
MillprepError, and no other error, for what cannot be judged. Documented in docs/from-python.md.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

from millprep.base.findings import Finding as Finding
from millprep.base.findings import MillprepError as MillprepError
from millprep.base.findings import WordError, refusal_of
from millprep.base.units import Units
from millprep.model.partial import Partial as Partial
from millprep.proven import (
    assembly,
    dryrun,
    files,
    handed,
    matched,
    measured,
    plans,
    preparation,
    program,
    sheets,
)
from millprep.proven.preparation import Askew as Askew

if TYPE_CHECKING:
    from millprep.lookup import Reading
    from millprep.model.assembled import Assembly
    from millprep.model.part import Part
    from millprep.model.shop import Shop

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")


def _public(call: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """The call with one kind of error."""

    @wraps(call)
    def public(*given: _Given.args, **named: _Given.kwargs) -> _Made:
        try:
            return call(*given, **named)
        except WordError as error:
            raise refusal_of(error) from None

    return public


@_public
def read_part(file: Path | str) -> tuple[Part, tuple[Finding, ...]]:
    """The part that a file describes, and notes of what was assumed."""
    from millprep.infiles import read_part

    return read_part(file)


@_public
def read_assembly(file: Path | str) -> tuple[Assembly, tuple[Finding, ...]]:
    """The assembly that a file describes, and notes of what its files had to say."""
    from millprep.infiles.assembly_file import read_assembly

    return read_assembly(file)


@_public
def from_plan(
    file: Path | str,
    name: str = "",
    *,
    units: Units | None = None,
    stock: str | None = None,
    zero: str | None = None,
    columns: str | None = None,
) -> plans.PartFile:
    """A part file made of a table of holes or of a DXF: its `text`, and what was not understood.

    name  : of the part; that of the file where none is given
    units : of a plan that does not say; stock, zero, columns : as `new --from` takes them
    """
    wishes = plans.Wishes(units, stock, zero, columns)
    return plans.part_file(file, name or Path(file).stem, wishes)


@_public
def plan(
    part: Part | Path | str,
    shop: Shop | Path | str = "metric",
    order: str = "tool",
    given: Askew | None = None,
) -> preparation.Prepared:
    """The part planned and checked: its `plan`, and `findings`, worst first.

    order : "tool", "hole" or "row"; given : what was touched, of a part that is askew
    """
    return preparation.prepare(part, shop, order, given)


@_public
def check(
    part: Part | Path | str, shop: Shop | Path | str = "metric", *, cures: bool = False
) -> tuple[Finding, ...]:
    """What would go wrong, worst first.

    cures : whether each fault is told with the nearest change that cures it, which takes longer
    """
    return preparation.prepare(part, shop, cures=cures).findings


@_public
def sheet(
    name: str,
    part: Part | Path | str | preparation.Prepared,
    shop: Shop | Path | str = "metric",
    form: str | None = None,
    *,
    units: Units | None = None,
    setup: int | None = None,
    only: str | None = None,
    from_step: int | None = None,
    stand: str | None = None,
    gauge_offset: str | None = None,
    pieces: int | None = None,
) -> handed.Handed:
    """A sheet that agrees with its part, as the bytes of a file.

    name : "listing", "dials", "bench", "markout", "tools" or "inspect"
    part : also as `plan` gives it, which saves planning it again, and keeps its order
    form : "text", "json", "csv", "html" or "pdf", where there is one; the first that there is
    only, from_step : of listing and dials: the steps of one hole or pattern, those from one on
    stand, gauge_offset : of markout: faces on the plate ("left,front"), a length in words
    pieces : of bench: how many are made, with ticks for each
    """
    if name == "inspect":
        one = part.part if isinstance(part, preparation.Prepared) else part
        return measured.inspection_sheet(one, shop, form or "text", units=units, setup=setup)
    order = sheets.order_of(name, "tool")
    prepared = (
        part if isinstance(part, preparation.Prepared) else preparation.prepare(part, shop, order)
    )
    asked = sheets.Asked(
        units, setup, only, from_step, stand=stand, gauge_offset=gauge_offset, pieces=pieces
    )
    return sheets.prove(name, prepared, form, asked)


@_public
def drawings(
    part: Part | Path | str,
    shop: Shop | Path | str = "metric",
    ending: str = ".svg",
    *,
    units: Units | None = None,
    setup: int | None = None,
    template: bool = False,
    paper: str | None = None,
    date: str = "",
) -> list[handed.Handed]:
    """A drawing: one .pdf of all setups, or .svg, .png, .dxf for each; full size for a template.

    paper : "a4", "a3" or "letter"; what the shop says, or fits A4 and Letter, where none is given
    date  : as the title line shows it
    """
    from millprep.proven import drawing

    drawing.refuse_no_drawing(ending)
    prepared = preparation.prepare(part, shop)
    shown = units or prepared.part.units
    purpose = drawing.purpose_of(
        ending, drawing.Wishes(template, paper=paper), shown, None, prepared.shop.paper
    )
    return drawing.drawings(
        prepared, ending.lower(), units=shown, setup=setup, purpose=purpose, date=date
    )


@_public
def look_up(
    words: str, shop: Shop | Path | str | None = None, units: Units = "mm"
) -> list[Reading]:
    """What the tables say of a thread, drill, fit, screw or material, likeliest first.

    shop : whose drills, speeds, screws and plates count; units : of bare numbers
    """
    from millprep.lookup import lookup

    if shop is None:
        return lookup(words, None, units)
    known = files.shop_of(shop)
    return lookup(words, files.drills_of(known), units, lambda: known)


read_shop = _public(files.shop_of)
assemble = _public(assembly.judged)
programs = _public(program.programs)
dry_run = _public(dryrun.dry_run)
verdicts = _public(measured.verdicts)
match = _public(matched.match_sheet)


@_public
def write(
    made: handed.Handed | program.Programs | Sequence[handed.Handed],
    file: Path | str = "",
    *,
    force: bool = False,
) -> list[Path]:
    """Finished files written, all of them or none; gives those that changed.

    file  : several drawings are numbered after it; programs have their names already
    force : replace a file that is not millprep's own, or was edited since
    Raises MillprepError where a stop keeps a file back, or one may not be replaced.
    """
    from millprep.base.outfile import write_files

    contents: dict[Path, bytes] = {}
    several = made if isinstance(made, Sequence) else [made]
    for one in several:
        if isinstance(one, program.Programs) and one.files:
            for each in one.files:
                contents |= each.written()
        elif isinstance(one, handed.Handed) and one.data is not None:
            number = one.setup if len(several) > 1 else None
            contents[preparation.numbered_path(Path(file), number, sheet=one.sheet)] = one.data
        else:
            raise MillprepError(*one.findings)
    return write_files(contents, force=force)
