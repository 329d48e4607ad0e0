"""Options that several commands take, each said once. Imports typer only."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

PartFile = Annotated[Path, typer.Argument(metavar="PART", help="the part file (TOML)")]
ShopName = Annotated[
    str, typer.Option("--shop", metavar="NAME|FILE", help="metric, inch, or a shop file")
]
Units = Annotated[
    str | None, typer.Option("--units", metavar="mm|inch", help="figures in mm or inch")
]
Setup = Annotated[int | None, typer.Option("--setup", metavar="N", help="one setup only")]
Stack = Annotated[
    str | None,
    typer.Option("--stack", metavar="NAME", help="PART is an assembly: this stack of it"),
]
Order = Annotated[
    str, typer.Option(metavar="tool|hole|row", help="by tool, hole by hole, or row by row")
]
Skew = Annotated[
    str | None,
    typer.Option("--skew", metavar="'X1,Y1 X2,Y2'", help="finder at two places of an edge"),
]
SkewEdge = Annotated[
    str | None,
    typer.Option("--skew-edge", metavar="FACE", help="the face touched; default: towards you"),
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
Output = Annotated[
    Path | None, typer.Option("-o", "--output", metavar="FILE", help="write to a file")
]
Force = Annotated[bool, typer.Option("--force", help="replace a file that is not millprep's own")]
Day = Annotated[
    str | None, typer.Option("--date", metavar="DAY", help="as 2026-05-14; default: today")
]
Assembly = Annotated[
    str | None,
    typer.Option(
        "--assembly",
        metavar="FILE|none",
        help="what is left for later; default: assemblies beside the part",
    ),
]
AsMeasured = Annotated[
    Path | None,
    typer.Option(
        "--as-measured", metavar="FILE.csv", help="holes drilled and measured: the rest is moved"
    ),
]
MostMove = Annotated[
    str | None,
    typer.Option(
        "--most-move", metavar="LENGTH", help="so far may holes be moved; default: 0.5 mm"
    ),
]
