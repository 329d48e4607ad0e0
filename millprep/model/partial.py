"""What is asked for of a program: a proving run, the spots, one tool, the rest."""

from __future__ import annotations

from millprep.base.findings import stopped
from millprep.base.records import frozen
from millprep.base.units import Units, in_units


@frozen
class Partial:
    """A proving run, or part of a program, as the command line asks for it; all where it does not.

    prove_mm   : so far above the part; is_turning : with the spindle on
    units      : in which the height is told, and stands in the name of the file
    spots_only : a dimple at each hole; tool : what that one does alone
    from_tool, from_hole : the rest of what was interrupted, from there on
    leave_out  : names of holes, or of patterns, that nothing enters
    """

    prove_mm: float | None = None
    units: Units = "mm"
    is_turning: bool = False
    spots_only: bool = False
    tool: int | None = None
    from_tool: int | None = None
    from_hole: str | None = None
    leave_out: tuple[str, ...] = ()

    @property
    def prove_words(self) -> str:
        """ "prove20", "prove0.75in"."""
        in_inches = self.units == "inch"
        return f"prove{in_units(self.prove_mm or 0.0, self.units):g}{'in' if in_inches else ''}"

    @property
    def is_restart(self) -> bool:
        return self.from_tool is not None or self.from_hole is not None


def check_asked(asked: Partial) -> None:
    """Raises MillprepError for options that contradict each other."""
    ways = {
        "--spots-only": asked.spots_only,
        "--tool": asked.tool is not None,
        "--from-tool" if asked.from_tool is not None else "--from-hole": asked.is_restart,
    }
    given = [way for way, is_given in ways.items() if is_given]
    if len(given) > 1:
        message = f"{given[0]} and {given[1]}: a program has one of them"
        raise stopped("contradiction", message, "leave one out, or write a program for each")
    if asked.is_turning and asked.prove_mm is None:
        raise stopped(
            "contradiction",
            "--spindle without --prove: every program that cuts has the spindle on",
            "leave it out, or give the height: --prove 20",
        )
    if asked.prove_mm is not None and asked.prove_mm <= 0:
        remedy = 'give a height: --prove 20, --prove "1 in"'
        raise stopped("unknown-word", "--prove: the height is over the part, above 0", remedy)
