"""The command line: one module a command group, everything imported inside the command."""

from millprep.cli.entry import main

__all__ = ["main"]
