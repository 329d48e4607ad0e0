"""Options that several commands take, each said once; those that go together as one record.

A parameter of a command that is such a record stands for the options of its fields
(`gathering`). Imports typer, the records, and what each is handed on to inside.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millprep.base.records import frozen

if TYPE_CHECKING:
    from millprep.base.units import Units as Unit
    from millprep.proven.preparation import Askew, ToFit
    from millprep.proven.stacks import PartOrFile

PartFile = Annotated[Path, typer.Argument(metavar="PART", help="the part file (TOML)")]
ShopName = Annotated[
    str, typer.Option("--shop", metavar="NAME|FILE", help="metric, inch, or a shop file")
]
Units = Annotated[
    str | None, typer.Option("--units", metavar="mm|inch", help="figures in mm or inch")
]
Setup = Annotated[int | None, typer.Option("--setup", metavar="N", help="one setup only")]
Order = Annotated[
    str, typer.Option(metavar="tool|hole|row", help="by tool, hole by hole, or row by row")
]
Only = Annotated[str | None, typer.Option(metavar="HOLE", help="the steps of one hole or pattern")]
Pieces = Annotated[
    int | None, typer.Option("--pieces", metavar="N", help="how many are made in one go")
]
Places = Annotated[
    str | None,
    typer.Option("--places", metavar="'X,Y ...'|FILE.csv", help="zeros of several pieces"),
]
Format = Annotated[
    str | None, typer.Option("--format", metavar="text|json|csv", help="default: by the ending")
]
PageFormat = Annotated[
    str | None,
    typer.Option("--format", metavar="text|json|csv|html|pdf", help="default: by the ending"),
]
ReportFormat = Annotated[str | None, typer.Option("--format", metavar="text|json")]
Day = Annotated[
    str | None, typer.Option("--date", metavar="DAY", help="as 2026-05-14; default: today")
]
Force = Annotated[bool, typer.Option("--force", help="replace a file that is not millprep's own")]
Stack = Annotated[
    str | None,
    typer.Option("--stack", metavar="NAME", help="PART is an assembly: this stack of it"),
]


@frozen
class OfPart:
    """The part file that something is made of, or a stack of an assembly."""

    part: PartFile
    shop: ShopName = "metric"
    stack: Stack = None

    @property
    def made_of(self) -> PartOrFile:
        """Raises MillprepError where there is no such stack."""
        from millprep.proven.stacks import part_or_stack

        return part_or_stack(self.part, self.stack, self.shop)

    @property
    def called(self) -> Path | str:
        """As a command line says it."""
        return self.part if self.stack is None else f'{self.part} --stack "{self.stack}"'


Assembly = Annotated[
    str | None,
    typer.Option(
        "--assembly",
        metavar="FILE|none",
        help="what is left for later; default: assemblies beside the part",
    ),
]


@frozen
class Left:
    """What of a part is left for later, and what of it is drilled already."""

    assembly: Assembly = None
    as_measured: Annotated[
        Path | None,
        typer.Option(
            "--as-measured",
            metavar="FILE.csv",
            help="holes drilled and measured: the rest is moved",
        ),
    ] = None
    most_move: Annotated[
        str | None,
        typer.Option(
            "--most-move", metavar="LENGTH", help="so far may holes be moved; default: 0.5 mm"
        ),
    ] = None

    def to_fit(self, setup: int | None = None) -> ToFit | None:
        """The readings that holes are moved to fit. Raises WordError for a bound of none."""
        from millprep.base.findings import WordError
        from millprep.proven.preparation import ToFit

        if self.as_measured is not None:
            return ToFit(self.as_measured, self.most_move, setup)
        if self.most_move is not None:
            raise WordError("--most-move without --as-measured", "name the file of readings too")
        return None


@frozen
class Touched:
    """What was touched of a part that lies askew."""

    skew: Annotated[
        str | None,
        typer.Option("--skew", metavar="'X1,Y1 X2,Y2'", help="finder at two places of an edge"),
    ] = None
    skew_edge: Annotated[
        str | None,
        typer.Option("--skew-edge", metavar="FACE", help="the face touched; default: towards you"),
    ] = None

    def askew(self, setup: int | None, units: Unit | None) -> Askew | None:
        """As it is given on; units : of the sheet. Raises MillprepError for an edge alone."""
        from millprep.base.findings import stopped
        from millprep.proven.preparation import Askew

        if self.skew is not None:
            return Askew(self.skew, self.skew_edge, setup, units)
        if self.skew_edge is not None:
            remedy = 'give the two points touched: --skew "0,-5 80,-4.6"'
            raise stopped("bad-skew", "--skew-edge without --skew", remedy)
        return None


@frozen
class Out:
    """Where what is made goes to."""

    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="write to a file")
    ] = None
    force: Force = False
