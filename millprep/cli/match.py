"""`millprep match PART MEASURED.csv`: where to drill a part that has to fit one drilled already."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import WordError
from millprep.cli import options as option
from millprep.cli.common import chosen_units, form_of, hand_over
from millprep.proven.handed import FORMS
from millprep.proven.matched import match_sheet

_Hand = Annotated[
    str | None,
    typer.Option(metavar="as-drawn|mirrored", help="how the holes were seen; default: by fit"),
]
_Mate = Annotated[
    Path | None,
    typer.Option(metavar="ASSEMBLY", help="the readings are of another part of this assembly"),
]


def match(
    part: option.PartFile,
    *,
    measured: Annotated[
        Path, typer.Argument(metavar="MEASURED.csv", help="holes as measured: hole,x,y")
    ],
    shop: option.ShopName = "metric",
    units: option.Units = None,
    setup: option.Setup = None,
    hand: _Hand = None,
    keep_edges: Annotated[
        bool, typer.Option("--keep-edges", help="undo the fit: this part's own zero stays true")
    ] = False,
    play: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="by how much mating centres may be apart")
    ] = None,
    noise: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="how far a reading may be wrong: 0.02 mm")
    ] = None,
    mate: _Mate = None,
    assembly: option.Assembly = None,
    format: option.PageFormat = None,
    out: option.Out,
) -> int:
    """The coordinates that make this part fit one that is drilled already."""
    form = form_of(format, out.output, FORMS)
    if measured.suffix.lower() == ".toml" != part.suffix.lower():
        raise WordError(
            f"{part} is given as the part file, and {measured} as the readings",
            f"the part file comes first: millprep match {measured} {part}",
        )
    handed = match_sheet(
        part,
        measured,
        shop,
        form,
        units=chosen_units(units),
        setup=setup,
        hand=hand,
        keep_edges=keep_edges,
        play=play,
        noise=noise,
        mate=mate,
        assembly=assembly,
    )
    return hand_over(handed, form, out, called="match sheet")
