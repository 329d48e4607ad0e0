"""The commands: the module of each is read when it is asked for, and holds its options."""

from __future__ import annotations

from collections.abc import Collection
from importlib import import_module
from typing import Annotated

import typer

from millprep import __version__
from millprep.cli.gathering import gathering
from millprep.cli.running import as_command

MODULES = {
    "new": "new",
    "check": "check",
    "tools": "sheets",
    "listing": "sheets",
    "dials": "sheets",
    "markout": "sheets",
    "drawing": "sheets",
    "bench": "sheets",
    "program": "program",
    "dryrun": "dryrun",
    "inspect": "inspect",
    "match": "match",
    "assembly": "assembly",
    "route": "route",
    "lookup": "lookup",
    "schema": "schema",
    "watch": "watch",
    "desk": "desk",
}
"""Each command, in the order of the help, and the module that holds a function of its name."""


def app(names: Collection[str] = MODULES) -> typer.Typer:
    """The command line with these commands: reading the options of all takes its time."""
    group = typer.Typer(
        add_completion=len(names) > 1,  # not with the one command that is to be run
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["--help", "-h"]},
        help="One description of a part, every sheet for the mill.",
    )
    group.callback()(_whole)  # so that it stays a group with one command in it
    for name in names:
        module = import_module(f"millprep.cli.{MODULES[name]}")
        group.command()(as_command(gathering(getattr(module, name))))
    return group


def _say_version(is_asked: bool) -> None:
    if is_asked:
        typer.echo(f"millprep {__version__}")
        raise typer.Exit


def _whole(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="which this is")
    ] = False,
) -> None:
    """What stands before the command."""
