"""`millprep desk [FOLDER]`: parts written, seen and dry-run in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def desk(
    folder: Annotated[
        Path | None, typer.Argument(metavar="[FOLDER]", help="of the part files; default: this one")
    ] = None,
    shop: Annotated[
        str | None,
        typer.Option(metavar="NAME|FILE", help="default: shop.toml in the folder, or metric"),
    ] = None,
    port: Annotated[int | None, typer.Option(metavar="N", help="serve on this one")] = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="print the address and open nothing")
    ] = False,
    shortcut: Annotated[
        bool, typer.Option("--shortcut", help="put a picture on the desktop that starts it")
    ] = False,
) -> int:
    """Write, see and dry-run parts in a page of the browser; Ctrl-C puts it away."""
    if shortcut:
        from millprep.desk.shortcut import make_shortcut

        for line in make_shortcut(folder):
            print(line)
        return 0
    from millprep.desk.start import start

    return start(folder, shop, port, opens=not no_browser)
