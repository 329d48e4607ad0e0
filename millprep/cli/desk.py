"""`millprep desk [FOLDER]`: parts written, seen and dry-run in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millprep.base.findings import stopped
from millprep.cli import options as option


def desk(
    folder: Annotated[
        Path | None, typer.Argument(metavar="FOLDER", help="where the part files lie")
    ] = None,
    shop: option.ShopName = "metric",
    port: Annotated[int, typer.Option(metavar="N", help="of this machine, to serve on")] = 0,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="print the address and open nothing")
    ] = False,
) -> int:
    """Write, see and dry-run parts in a page of the browser; Ctrl-C puts it away."""
    from millprep.desk.serving import Serving

    try:
        serving = Serving(folder or Path.cwd(), shop, port)
    except OSError as error:
        remedy = "name another: --port 8123, or none"
        raise stopped(
            "output-refused", f"port {port} cannot be had: {error.strerror}", remedy
        ) from None
    print(serving.desk.way_in, flush=True)
    if not no_browser:
        import webbrowser

        webbrowser.open(serving.desk.way_in)
    serving.run()
    print("the desk is put away")
    return 0
