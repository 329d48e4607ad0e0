"""What is asked of a program beside the program itself: from options, to names of files.

A proving run, the spots, one tool, the rest of what was interrupted, holes left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.proven.preparation import Prepared

if TYPE_CHECKING:
    from millprep.model.partial import Partial
    from millprep.planning import SetupPlan


def called(asked: Partial, setups: Sequence[SetupPlan]) -> str:
    """What the name of a file says of it: "prove20", "from-t02-ring-4"."""
    words = []
    if asked.spots_only:
        words.append("spots")
    if asked.tool is not None:
        words.append(f"only-t{asked.tool:02d}")
    if asked.is_restart:
        words.append(f"from-t{setups[0].scope.tool:02d}")
        words += [] if asked.from_hole is None else [asked.from_hole]
    words += [f"without {name}" for name in asked.leave_out]
    if asked.prove_mm is not None:
        words.append(asked.prove_words)
    return re.sub(r"[^\w.]+", "-", " ".join(words).lower()).strip("-.")


def running_into(
    prepared: Prepared, left_out: Sequence[str], chosen: Sequence[SetupPlan]
) -> Iterator[Finding]:
    """Holes to be made that run into one that is left out, in which a tool may stand."""
    made = {one.hole.name for each in chosen for one in each.operations}
    for finding in prepared.findings:
        met = [name for name in finding.holes if name in left_out]
        others = [name for name in finding.holes if name in made]
        if finding.kind == "meeting" and met and others:
            yield replace(
                finding,
                severity="stop",
                kind="left-out-entered",
                said=f"{met[0]} is left out, and {others[0]} runs into it",
                advice=f'leave that out too: --leave-out "{others[0]}"',
                cure=None,
            )
