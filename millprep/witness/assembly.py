"""The second witness for reports of assemblies: each joint against the parts that it joins.

Imports the assembly, the tables and `reading`; never what judged it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.model.assembled import Assembly
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness.asked import REPORT
from millprep.witness.assembly_bodies import Places
from millprep.witness.assembly_joints import Case, Shows, joint_faults
from millprep.witness.assembly_meets import meets_faults
from millprep.witness.assembly_parts import bought
from millprep.witness.assembly_stacks import stack_disagreements
from millprep.witness.assembly_sums import joined_of, linked
from millprep.witness.compared import Fault, once, report_findings
from millprep.witness.faces import AXIS

_PAIR = "{both:text}: {verdict:each other's opposite hand/NO handed pair}"


def check_assembly(
    data: bytes,
    form: SheetForm,
    assembly: Assembly,
    findings: Sequence[Finding],
    places: Places,
    *,
    file: str,
    shows: Shows = str,
) -> list[Finding]:
    """How a finished report differs from its assembly; empty when they agree.

    form : "report" for text; findings : all that was found; places : where the members lie
    shows : as the form's letters show it
    """
    words = [place.words for joint, _ in joined_of(assembly) for place in joint.places]
    names = names_by_letters(
        member=[shows(member.name) for member in assembly.members], place=[*map(shows, words)]
    )

    def faults(sheet: ReadSheet) -> list[Fault]:
        case = Case(sheet, assembly, findings, shows, places)
        found = [*_around(case), *_members(case), *joint_faults(case), *_bought(case)]
        found += _remarks(case) if form != "report" else ()
        return [*found, *(_laid(case) if sheet.whole and not found else ())]

    table, what = "members", "the report"
    return report_findings(data, "assembly", form, names, faults, table=table, file=file, what=what)


def check_bodies(
    assembly: Assembly, findings: Sequence[Finding], places: Places, *, file: str
) -> list[Finding]:
    """Bodies that meet, of which nothing was found; and what was found of such that do not."""
    told = dict.fromkeys(meets_faults(assembly, findings, places))
    return [Finding("stop", "wrong-figure", words, REPORT, file) for words in told]


def _around(case: Case) -> Iterator[Fault]:
    """Title, note, how many were found, what is said once; a pair is none where that was found."""
    assembly, shows = case.assembly, case.shows
    counts = Counter(finding.severity for finding in case.findings)
    yield from case.unlike(case.title, {"assembly": shows(assembly.name), "mark": assembly.mark})
    pairs = []
    for first, second in (pair.members for pair in assembly.pairs):
        begins = (f"{first} and {second} are of the same", f"{first} and {second} are not each")
        is_none = any(finding.message.startswith(begins) for finding in case.findings)
        verdict = "NO handed pair" if is_none else "each other's opposite hand"
        pairs.append({"both": shows(f"{first} and {second}".upper()), "verdict": verdict})
    yield from case.sentences(
        {
            "assembly-note": once(assembly.note, note=shows(assembly.note)),
            "verdict": once(
                True, stops=counts["stop"], warnings=counts["warning"], notes=counts["note"] or None
            ),
            "unlooked": once(True),
            "chances": once(case.whole.all("enter")),
            _PAIR: pairs,
        }
    )


def _remarks(case: Case) -> Iterator[Fault]:
    def plain(severity: str, words: str) -> tuple[str, str]:
        return severity, "".join(case.shows(words).split())

    told = Counter(plain(one["severity"], one["message"]) for one in case.whole.all("remark"))
    if told != Counter(plain(one.severity, one.message) for one in case.findings):
        yield f"{told.total()} remarks of {len(case.findings)}, or others", case.title


def _members(case: Case) -> Iterator[Fault]:
    """Each member once, with its file; one lies on each other that hangs together with it."""
    rows = [row.said for row in case.whole.rows if row.table == "members"]
    members = case.assembly.members
    if len(rows) != len(members):
        yield f"{len(rows)} members of {len(members)}", case.title
        return
    firsts = [said["name"] for said in rows if not said.has("on")]
    for said, member in zip(rows, members, strict=True):
        shown = {"name": member.name, "file": member.file, "made_by": member.made_by}
        due = {name: case.shows(words) for name, words in shown.items()}
        beside = {None, *map(case.shows, _beside(case.assembly, member.name))}
        yield from case.unlike(said, {**due, "mark": member.part.mark, "on": beside})
    if len(firsts) != _groups(case.assembly):
        yield f"{' and '.join(firsts)} lie on nothing", case.title


def _bought(case: Case) -> Iterator[Fault]:
    """Every row of what is bought: what, how many, how long."""
    rows = [row.said for row in case.whole.rows if row.table == "buy"]
    due = bought(case.assembly, case.places)
    if len(rows) != len(due):
        yield f"{len(rows)} things to buy, not {len(due)}", case.title
        return
    told = sorted(rows, key=_key)
    for said, ((what, long, words), count) in zip(told, sorted(due.items()), strict=True):
        length = long if words else None
        yield from case.unlike(
            said,
            {"what": case.shows(what), "count": count, "long_mm": length, "long": words or None},
        )


def _key(said: Said) -> tuple[str, float]:
    long = said.mm("long_mm") if said.has("long_mm") else 0.0
    return str(said.slots.get("what")), round(long, 2)


def _beside(assembly: Assembly, name: str) -> set[str]:
    """The members that a joint, or what is said of how it lies, puts next to one."""
    pairs = [{a.member, b.member} for j, _ in joined_of(assembly) for a, b in linked(j)]
    said = (one for one in assembly.members if one.on and one.face and one.on_face)
    pairs += [{one.name, one.on or ""} for one in said]
    return {other for pair in pairs if name in pair for other in pair} - {name}


def _groups(assembly: Assembly) -> int:
    """How many heaps of members there are that nothing joins."""
    left, count = {member.name for member in assembly.members}, 0
    while left:
        count += 1
        heap = [left.pop()]
        while heap:
            near = _beside(assembly, heap.pop()) & left
            left -= near
            heap += near
    return count


def _laid(case: Case) -> Iterator[Fault]:
    """In JSON: holes that lie over each other do so where the members are said to lie."""
    lays = {
        str(one["name"]): (
            np.array([[float(cell) for cell in row] for row in one["rotation"]]),
            np.array([float(value) for value in one["origin_mm"]]),
        )
        for one in case.sheet.whole["members"]
    }
    for name, (turn, _) in lays.items():
        if abs(np.linalg.det(turn) - 1) > 1e-4 or np.abs(turn @ turn.T - np.eye(3)).max() > 1e-4:
            yield f"{name} is not turned but bent or mirrored", case.title
    for words in stack_disagreements(case.assembly, case.sheet.whole["stacks"], lays):
        yield words, case.title
    places = {
        (member.name, hole.name): np.array(hole.centre_mm)
        for member in case.assembly.members
        for hole in member.part.holes
    }
    joints = zip(case.sheet.whole["joints"], joined_of(case.assembly), strict=True)
    for told, (joint, _) in joints:
        for pattern, (one, other) in zip(told["patterns"], linked(joint), strict=True):
            if pattern["explained_by"] == "nothing" and "same way" in pattern["words"]:
                continue
            along = lays[one.member][0][:, AXIS[one.holes[0].face]]
            worst = 0.0
            for names in pattern["pairs"]:
                a, b = (
                    lays[place.member][0] @ places[place.member, name] + lays[place.member][1]
                    for place, name in zip((one, other), names, strict=True)
                )
                worst = max(worst, float(np.linalg.norm((b - a) - along * (along @ (b - a)))))
            if abs(worst - float(pattern["worst_mm"])) > 1e-3:
                yield f"{joint.name}: {one.words} and {other.words} are {worst:.4f} off", case.title
