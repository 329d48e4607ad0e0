"""Where the command line begins: streams, the one command asked for, words that are none."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from itertools import pairwise
from types import ModuleType
from typing import Any

from millprep.cli.asked import answered, plainly_asked
from millprep.cli.running import as_command, not_printed


class _Findings(io.TextIOWrapper):
    """What is said beside the sheets: where it cannot be written, the command goes on without."""

    def write(self, text: str) -> int:
        with contextlib.suppress(OSError):
            super().write(text)
        return len(text)

    def flush(self) -> None:
        with contextlib.suppress(OSError):
            super().flush()


def _prepare_streams() -> None:
    """Sheets are UTF-8 wherever they go; a stream that the shell has closed takes nothing."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115, PTH123  # lives to the end
        elif name == "stderr" and sys.__stderr__ is not None and stream is sys.__stderr__:
            sys.stderr = _Findings(
                stream.buffer, encoding="utf-8", errors="backslashreplace", line_buffering=True
            )
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def main(arguments: list[str] | None = None) -> None:
    """The command line; ends the process with the contract's exit status."""
    given = sys.argv[1:] if arguments is None else arguments
    _prepare_streams()
    _without_plug_ins()
    # Nor threads for large matrices: there are none, and starting them takes as long as numpy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        status = _status(given)
        sys.stdout.flush()
    except OSError as error:
        status = not_printed(error)
    sys.exit(status if isinstance(status, int) else 0)


def _status(given: list[str]) -> object:
    """The exit status of the command that was asked for."""
    if question := plainly_asked(given):
        return as_command(answered)(**question)
    from millprep.cli.app import MODULES, app

    if given[:1] == ["help"]:
        given = [*given[1:], "--help"]
    elif given == ["version"]:
        given = ["--version"]
    try:
        names = given[:1] if given and given[0] in MODULES else MODULES
        return app(names)(args=given, prog_name="millprep", standalone_mode=False)
    except SystemExit:  # the libraries of the help end so where its reader has gone
        return 0
    except OSError:
        raise
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        return _usage(error, given)


def _without_plug_ins() -> None:
    """No plug-in of pydantic is wanted: looking for some reads every package that is installed,
    and what looks for them takes its time to load."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    finds_none: Any = ModuleType("pydantic.plugin._loader")
    finds_none.get_plugins = tuple
    sys.modules.setdefault(finds_none.__name__, finds_none)


def _usage(error: Any, given: list[str]) -> int:
    """An unknown command or option, in the same form as every other finding."""
    from millprep.base.findings import MillprepError
    from millprep.cli.common import refused
    from millprep.cli.usage import usage_finding

    if not error.format_message():  # no arguments: the help has been shown
        return 2
    wants_json = "--format=json" in given or ("--format", "json") in pairwise(given)
    return refused(MillprepError(usage_finding(error, given)), "json" if wants_json else None)
