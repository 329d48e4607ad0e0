"""The command line: one module a command group, everything imported inside the command."""

from millprep.cli.app import main

__all__ = ["main"]
