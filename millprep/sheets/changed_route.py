"""What a change tried in an assembly does to the steps of its job, as text and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from millprep.assembly.job import Visit
from millprep.assembly.saying import length_words
from millprep.assembly.spoiling import Fate, StepChange
from millprep.base.findings import Finding
from millprep.base.plain_text import some
from millprep.base.units import Units

_WIDTH = 80
_FATES: dict[Fate, str] = {
    "to be made": "still to be made",
    "to go on with": "can be taken deeper",
    "to open out": "can be opened out to the new size",
    "one too many": "is one too many",
    "lost": "is in the wrong place or too large: that piece is lost",
    "to look at": "look whether it will still do",
    "": "nothing to do to it",
}


def changed_route_json(
    name: str, words: Sequence[str], steps: Sequence[StepChange], new: Sequence[Finding]
) -> dict[str, Any]:
    """The steps that change, beside the findings of the changed assembly."""
    return {
        "assembly": name,
        "changes": list(words),
        "steps": [
            {
                "n": each.before,
                "becomes": each.after,
                "what": each.visit.what,
                **({"part": each.visit.file} if each.visit.file else {"stack": each.visit.key[1]}),
                "done": each.is_done,
                "lost": each.is_lost,
                "blank": each.is_blank,
                "holes": [
                    {
                        "hole": hole.hole,
                        "what": hole.words,
                        "moved_mm": round(hole.moved_mm, 6),
                        "fate": hole.fate or None,
                    }
                    for hole in each.holes
                ],
            }
            for each in steps
        ],
        "new": [finding.message for finding in new],
    }


def changed_route_text(
    name: str,
    units: Units,
    words: Sequence[str],
    steps: Sequence[StepChange],
    new: Sequence[Finding],
) -> str:
    """Steps by number, the done ones first, what becomes of their holes, and new findings."""
    lines = [f"{name}, if", *(f"  {each}" for each in words), ""]
    done, left = ([one for one in steps if one.is_done is is_so] for is_so in (True, False))
    if not steps:
        lines.append("No step changes.")
    if done:
        lines.append("DONE, AND CHANGED")
        lines += [line for each in done for line in _step(each, units)]
        lost = [f"{one.before}" for one in done if one.is_lost]
        doubt = [f"{one.before}" for one in done if one.is_in_doubt and not one.is_lost]
        if lost:
            lines += _wrapped(f"Spoiled: step {some(lost, 20)}. The metal cannot be saved.")
        if doubt:
            lines += _wrapped(f"Look at step {some(doubt, 20)} before you go on.")
        if not lost and not doubt:
            lines += _wrapped("No piece is spoiled.")
        lines.append("")
    if left:
        lines.append("STILL TO DO, WITH OTHER SHEETS" if done else "STEPS THAT CHANGE")
        lines += [line for each in left for line in _step(each, units)]
        lines.append("")
    if new:
        lines.append("NEW FINDINGS")
        lines += [line for f in new for line in _wrapped(f"{f.severity}: {f.message}")]
        lines.append("")
    lines.append("No file was touched.")
    return "\n".join(lines) + "\n"


def _step(each: StepChange, units: Units) -> Iterator[str]:
    n = each.before or each.after
    yield from _wrapped(f"{n}. {_called(each.visit)}: {each.visit.what}{_renumbered(each)}")
    if each.is_blank:
        yield from _wrapped("  the blank changes: look whether yours still does")
    alike: dict[tuple[str, Fate], list[tuple[str, float]]] = {}
    for hole in each.holes:
        alike.setdefault((hole.words, hole.fate), []).append((hole.hole, hole.moved_mm))
    for (words, fate), holes in alike.items():
        far = max(moved for _, moved in holes)
        moved = f" by up to {length_words(far, units, 3)}" if far else ""
        is_read = each.visit.what in ("measure", "match")
        about = f"; {'to be done again' if is_read else _FATES[fate]}" if each.is_done else ""
        yield from _wrapped(f"  {some([one for one, _ in holes])}: {words}{moved}{about}")


def _renumbered(each: StepChange) -> str:
    if each.after is None:
        return ", falls away"
    if each.before is None:
        return ", new"
    return f", now step {each.after}" if each.after != each.before else ""


def _called(visit: Visit) -> str:
    return visit.key[1] or "all parts"


def _wrapped(text: str) -> list[str]:
    indent = " " * (2 + len(text) - len(text.lstrip()))
    return textwrap.wrap(
        text.strip(),
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=f"{indent}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
