"""What a change tried in an assembly does to it, as text and as one JSON object."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from millprep.assembly import Judged
from millprep.assembly.changing import Changed, FigureChanged
from millprep.assembly.saying import Say
from millprep.base.findings import Finding

_WIDTH = 80


def changed_json(before: Judged, words: Sequence[str], difference: Changed) -> dict[str, Any]:
    """What changes, beside the findings of the changed assembly."""
    return {
        "assembly": before.assembly.name,
        "changes": list(words),
        "holes": [
            {
                "member": each.members[0],
                "members": list(each.members),
                "file": each.file,
                "hole": each.group,
                "count": each.count,
                "what": each.words,
            }
            for each in difference.holes
        ],
        "figures": [
            {"joint": each.joint, "what": each.what, "before": each.before, "after": each.after}
            for each in difference.figures
        ],
        "gone": [finding.message for finding in difference.gone],
        "new": [finding.message for finding in difference.new],
        "checked": list(difference.checked),
    }


def changed_text(before: Judged, words: Sequence[str], difference: Changed) -> str:
    """What would change: holes by file, figures by joint, findings that come and go."""
    say = Say(before.assembly)
    lines = [f"{before.assembly.name}, if", *(f"  {each}" for each in words), ""]
    lines.append("HOLES THAT CHANGE" if difference.holes else "No hole changes.")
    for each in difference.holes:
        count = f" ({each.count} holes)" if each.count > 1 else ""
        members = ", ".join(each.members)
        lines += _wrapped(f"{each.file} ({members}): {each.group}{count}: {each.words}")
    lines += ["", "FIGURES THAT CHANGE" if difference.figures else "No figure of a joint changes."]
    lines += [line for each in difference.figures for line in _wrapped(_figure(say, each))]
    for title, findings in (("NEW FINDINGS", difference.new), ("GONE", difference.gone)):
        if findings:
            lines += ["", title]
            lines += [line for f in findings for line in _wrapped(_finding(before, f))]
    if not difference.new and not difference.gone:
        lines += ["", "The same findings as before."]
    if difference.checked:
        lines += ["", f"Checked by itself too: {', '.join(difference.checked)}."]
    lines += ["", "No file was touched."]
    return "\n".join(lines) + "\n"


def _finding(before: Judged, found: Finding) -> str:
    """With the part's file, where it is of a part by itself."""
    is_own = found.file in (None, before.assembly.path or None)
    where = "" if is_own else f"{Path(str(found.file)).name}: "
    return f"{found.severity}: {where}{found.message}"


def _figure(say: Say, each: FigureChanged) -> str:
    what = each.what.removesuffix("_mm").replace("_", " ")

    def shown(value: Any) -> str:
        if value is None:
            return "none"
        if each.what.endswith("_mm") and isinstance(value, int | float):
            return say.length(float(value), 3)
        if each.what.endswith("_mm") and isinstance(value, list):
            return ", ".join(say.length(float(one), 3) for one in value)
        if each.what.endswith("explained_by"):
            return f'"{value}"' if value else "none needed"
        return f"{value * 100:.1f} %" if each.what.endswith("share") else str(value)

    return f"{each.joint}: {what}: {shown(each.before)} becomes {shown(each.after)}"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent="  ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,
    )
