"""The report of an assembly and of a change tried in it, as text and as one JSON object."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from millprep.assembly import Judged
from millprep.assembly.chances import Likely, share_words
from millprep.assembly.changing import Changed, FigureChanged
from millprep.assembly.coinciding import Over
from millprep.assembly.figures import joints_json, members_json, pairs_json
from millprep.assembly.links import entered_by
from millprep.assembly.pinned import Pinned, clearance_words
from millprep.assembly.saying import Say
from millprep.assembly.screws import Screwed, ends_words
from millprep.base.findings import SEVERITIES, Finding
from millprep.model.assembled import ScrewJoint

WIDTH = 80
VERDICT = (
    "What was not looked at: each part by itself (check does that), forces, wear, heat, how the "
    "parts are held while they are put together. Nothing found is no promise that they fit: try "
    "them before the last cut."
)


def assembly_json(judged: Judged) -> dict[str, Any]:
    """Everything but the findings."""
    assembly = judged.assembly
    return {
        "assembly": assembly.name,
        "mark": assembly.mark,
        "units": assembly.units,
        "members": members_json(judged),
        "joints": joints_json(judged),
        "pairs": pairs_json(judged),
    }


def assembly_text(judged: Judged) -> str:
    """The members, every joint with its figures, the verdict."""
    assembly = judged.assembly
    say = Say(assembly)
    lines = [f"{assembly.name}   file {assembly.mark}", ""]
    lines += _wrapped(assembly.note) if assembly.note else []
    lines += ["MEMBERS", *_members(judged), ""]
    screws = {row.joint.name: row for row in judged.screws}
    for joint in assembly.joints:
        count = len(joint.places[0].holes)
        lines.append(f"{joint.name.upper()}: {count} x {joint.words}")
        lines += _wrapped(" > ".join(place.words for place in joint.places))
        if isinstance(joint, ScrewJoint):
            lines += _wrapped(_screw_words(say, screws[joint.name]))
        lines += [line for row in judged.pins if row.joint is joint for line in _pin(say, row)]
        lines += _tail(say, judged, joint)
    for shared in assembly.shared:
        lines.append(f"{shared.name.upper()}: shared pattern")
        lines += _wrapped(" > ".join(place.words for place in shared.places))
        lines += _tail(say, judged, shared)
    for stack in judged.stacks:
        lines.append(f"{stack.stack.name.upper()}: reamed together")
        lines += _wrapped(" > ".join(place.words for place in stack.stack.places))
        lines += _wrapped(
            f"stack {say.length(stack.height_mm)} high, "
            f"{say.length(stack.needed_mm)} of flutes needed"
        )
        lines += _tail(say, judged, stack.stack)
    for pair in judged.pairs:
        verdict = "each other's opposite hand" if pair.is_pair else "NO handed pair"
        lines += [f"{' AND '.join(pair.pair.members).upper()}: {verdict}", ""]
    lines += _seed(judged)
    return "\n".join([*lines, _verdict(judged.findings), *_wrapped(VERDICT, "")]) + "\n"


def _seed(judged: Judged) -> list[str]:
    """How the chances were found."""
    chances = [row.chance for row in judged.chances if row.chance is not None]
    if not chances:
        return []
    words = (
        f"Chances: {chances[0].trials} trials each, seed {chances[0].seed}; parts free to shift "
        "and turn where nothing is said of pins or edges; +/- is one standard error."
    )
    return [*_wrapped(words, ""), ""]


def _members(judged: Judged) -> Iterator[str]:
    width = max(len(member.name) for member in judged.assembly.members)
    for member in judged.assembly.members:
        on = judged.lays[member.name].on
        lies = f"on {on}" if on else ""
        line = f"  {member.name:{width}}  {member.file} ({member.part.mark}), by {member.made_by}"
        yield f"{line}; {lies}" if lies else line


def _tail(say: Say, judged: Judged, joint: object) -> list[str]:
    """How the holes of a joint lie over each other, the chances, and an empty line."""
    lines = [line for o in judged.overs if o.link.joint is joint for line in _over(say, o)]
    for row in judged.chances:
        if row.joint is joint and row.chance is not None:
            lines += _wrapped(_chance_words(say, row))
    return [*lines, ""]


def _over(say: Say, over: Over) -> list[str]:
    if not over.are_square or not over.explained_by:
        words = over.words or "lie over each other"
        words = words if len(over.off_mm.T) > 1 or not over.are_square else "in line"
    else:
        words = f"{say.length(over.worst_mm, 3)} off; {over.words}"
        words = words if len(over.off_mm.T) > 1 else f"{say.length(over.worst_mm, 3)} out of line"
    return _wrapped(f"{over.link.first.member} and {over.link.second.member}: {words}")


def _screw_words(say: Say, row: Screwed) -> str:
    plays = [play for play in row.play_mm if play != float("inf")]
    words = [f"passes with {' and '.join(say.length(play) for play in plays)} of play"]
    figures = row.figures
    words.append(f"grip {say.length(row.grip_mm)}")
    if figures is None:
        words.append(ends_words(say, row.ends_mm))
        return "; ".join(words)
    words.append(
        f"holds by {say.length(figures.engagement_mm)} of thread "
        f"({figures.engagement_diameters:.1f} D; {say.length(figures.wanted_mm)} wanted)"
    )
    if figures.room_mm is not None:
        words.append(
            f"{say.length(figures.room_mm)} of thread left below it"
            if figures.room_mm >= 0
            else f"goes {say.length(-figures.room_mm)} deeper than its thread"
        )
    if figures.comes_out_mm is not None:
        way = "out of" if figures.comes_out_mm > 0 else "inside"
        words.append(f"ends {say.length(abs(figures.comes_out_mm))} {way} the far side")
    if figures.head_mm is not None:
        way = "above" if figures.head_mm > 0 else "below"
        first = next((each for each in row.joint.places if not each.is_loose), None)
        face = entered_by(row.joint, first).upper() if first is not None else "the face"
        words.append(f"head {say.length(abs(figures.head_mm))} {way} {face}")
    return "; ".join(words)


def _pin(say: Say, row: Pinned) -> list[str]:
    words = f"{row.fit.words}, {row.fit.word}: {clearance_words(say, row.fit)}"
    if row.how == "clear":
        words = f"clears by {say.length(row.fit.least_mm)} at least"
    return _wrapped(f"{row.how} in {row.place.words}: {words}")


def _chance_words(say: Say, row: Likely) -> str:
    assert row.chance is not None
    how = " and ".join(dict.fromkeys(row.made_by))
    words = f"all screws enter: {share_words(row)}, made by {how}"
    words += ", held by pins or edges" if row.is_held else ""
    if row.zone_mm is not None and row.allowed_mm is not None:
        verdict = "within" if row.zone_mm <= row.allowed_mm + 1e-9 else "more than"
        words += (
            f"; at the worst the drawings allow zones of {say.length(row.zone_mm)} together, "
            f"{verdict} the {say.length(row.allowed_mm)} that the screws leave"
        )
    return words


def _verdict(findings: Sequence[Finding]) -> str:
    counts = [
        f"{count} {severity}{'' if count == 1 else 's'}"
        for severity in SEVERITIES
        if (count := sum(f.severity == severity for f in findings)) or severity != "note"
    ]
    return f"In what was checked: {', '.join(counts)}."


def changed_json(before: Judged, words: Sequence[str], difference: Changed) -> dict[str, Any]:
    """What changes, beside the findings of the changed assembly."""
    return {
        "assembly": before.assembly.name,
        "changes": list(words),
        "holes": [
            {
                "member": each.member,
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
    }


def changed_text(before: Judged, words: Sequence[str], difference: Changed) -> str:
    """What would change: holes by file, figures by joint, findings that come and go."""
    say = Say(before.assembly)
    lines = [f"{before.assembly.name}, if", *(f"  {each}" for each in words), ""]
    lines.append("HOLES THAT CHANGE" if difference.holes else "No hole changes.")
    for each in difference.holes:
        count = f" ({each.count} holes)" if each.count > 1 else ""
        lines += _wrapped(f"{each.file}: {each.group}{count}: {each.words}")
    lines += ["", "FIGURES THAT CHANGE" if difference.figures else "No figure of a joint changes."]
    lines += [line for each in difference.figures for line in _wrapped(_figure(say, each))]
    for title, findings in (("NEW FINDINGS", difference.new), ("GONE", difference.gone)):
        if findings:
            lines += ["", title]
            lines += [line for f in findings for line in _wrapped(f"{f.severity}: {f.message}")]
    if not difference.new and not difference.gone:
        lines += ["", "The same findings as before."]
    lines += ["", "No file was touched."]
    return "\n".join(lines) + "\n"


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


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=f"{indent}  " if indent else "",
        break_long_words=False,
        break_on_hyphens=False,
    )
