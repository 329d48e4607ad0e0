"""The command line: one module a command group, everything imported inside the command."""

from __future__ import annotations

import atexit
import gc
import os
import signal


def main(arguments: list[str] | None = None) -> None:
    """The command line; ends the process with the contract's exit status."""
    gc.set_threshold(1_000_000, 20, 50)  # a command lives for a second: let it begin undisturbed
    if arguments is None:
        atexit.register(gc.freeze)  # and end so: what is left is not gone through once more
    if arguments is None and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupted)  # before anything that takes its time to load
        # once all is done nothing is left to interrupt; Python's own end would give the signal back
        atexit.register(signal.signal, signal.SIGINT, signal.SIG_IGN)
    from millprep.cli.entry import main as begin

    begin(arguments)


def _interrupted(*_: object) -> None:
    """End at once: in the midst of loading an exception would be swallowed or take other names.

    While files are written the signal waits, so nothing is left half done.
    """
    try:
        os.write(2, b"interrupted\n")
    finally:
        os._exit(130)  # as shells have it: 128 and the number of the signal
