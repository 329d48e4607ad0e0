"""millprep: one description of a part, every sheet for the mill."""

import sys

__version__ = "0.1.0"
TYPE_CHECKING = False  # as type checkers have it; `typing` is not loaded for it

# pip refuses an older Python, one that runs a clone does not. Any Python must be able to read this.
if sys.version_info < (3, 11):  # noqa: UP036  # so that it is told, not met as a fault further on
    found = sys.version.split()[0]
    sys.stderr.write("stop: millprep needs Python 3.11 or later, and this is " + found + "\n")
    sys.exit(2)

__all__ = [
    "Askew", "Finding", "MillprepError", "Partial", "assemble", "check", "drawings", "dry_run",
    "from_plan", "look_up",
    "match", "plan", "programs", "read_assembly", "read_part", "read_shop", "sheet", "verdicts",
    "write",
]  # fmt: skip

if TYPE_CHECKING:
    from millprep.proven.public import (
        Askew,
        Finding,
        MillprepError,
        Partial,
        assemble,
        check,
        drawings,
        dry_run,
        from_plan,
        look_up,
        match,
        plan,
        programs,
        read_assembly,
        read_part,
        read_shop,
        sheet,
        verdicts,
        write,
    )
else:

    def __getattr__(name):
        """A public name, loaded when it is first asked for."""
        if name not in __all__:
            raise AttributeError("millprep has no " + repr(name) + ": see millprep.__all__")
        from millprep.proven import public

        return getattr(public, name)
