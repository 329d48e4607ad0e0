"""The second witness for reports of assemblies: each joint against the parts that it joins.

Imports the assembly, the tables and `reading`; never what judged it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.model.assembled import Assembly
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import names_by_letters
from millprep.witness.asked import check_sound_words, complaint, same_words, unreadable
from millprep.witness.assembly_joints import Case, Fault, Shows, joint_faults
from millprep.witness.assembly_sums import AXES, joined_of, linked

_PAIR = "{both:text}: {verdict:each other's opposite hand/NO handed pair}"


def check_assembly(
    data: bytes,
    form: SheetForm,
    assembly: Assembly,
    findings: Sequence[Finding],
    *,
    file: str,
    shows: Shows = str,
) -> list[Finding]:
    """How a finished report differs from its assembly; empty when they agree.

    form : "report" for text; findings : all that was found; shows : as the form's letters show it
    """
    complain = complaint(file)
    places = [place.words for joint, _ in joined_of(assembly) for place in joint.places]
    names = names_by_letters(
        member=[shows(member.name) for member in assembly.members], place=[*map(shows, places)]
    )
    try:
        case = Case(
            read_sheet(data, "assembly", form, names, table="members"), assembly, findings, shows
        )
    except UnreadableSheet as fault:
        return [unreadable("the report", fault, file)]
    faults = [*_around(case), *_members(case), *joint_faults(case), *_pairs(case)]
    if form != "report":
        faults += _remarks(case)
    if case.sheet.whole and not faults:
        faults += _laid(case)
    found = [complain(words, said) for words, said in faults]
    return [*found, *check_sound_words(case.whole, complain)]


def _around(case: Case) -> Iterator[Fault]:
    """Title, note, how many were found, what is said once."""
    title, whole, assembly = case.title, case.whole, case.assembly
    if not same_words(title["assembly"], case.shows(assembly.name)):
        yield f"the assembly is called {title['assembly']}", title
    if title["mark"] != assembly.mark:
        yield f"the mark is {title['mark']}", title
    notes = [one["note"] for one in whole.all("assembly-note")]
    wanted = [case.shows(assembly.note)] if assembly.note else []
    if len(notes) != len(wanted) or not all(map(same_words, notes, wanted)):
        yield "the note is another", title
    trials = int(bool(whole.all("enter")))
    for slug, count in {"verdict": 1, "unlooked": 1, "chances": trials}.items():
        if len(whole.all(slug)) != count:
            yield f"{len(whole.all(slug))} sentences of {slug}", title
    counts = Counter(finding.severity for finding in case.findings)
    for said in whole.all("verdict"):
        told = [int(said[name] or 0) for name in ("stops", "warnings", "notes")]
        if told != [counts["stop"], counts["warning"], counts["note"]]:
            yield f"{said.text}: {dict(counts)} were found", said


def _remarks(case: Case) -> Iterator[Fault]:
    def plain(severity: str, words: str) -> tuple[str, str]:
        return severity, "".join(case.shows(words).split())

    told = Counter(plain(one["severity"], one["message"]) for one in case.whole.all("remark"))
    if told != Counter(plain(one.severity, one.message) for one in case.findings):
        yield f"{told.total()} remarks of {len(case.findings)}, or others", case.title


def _members(case: Case) -> Iterator[Fault]:
    """Each member once, with its file; one lies on each other that hangs together with it."""
    rows, members = [row.said for row in case.whole.rows], case.assembly.members
    if len(rows) != len(members):
        yield f"{len(rows)} members of {len(members)}", case.title
        return
    firsts = [said["name"] for said in rows if not said.has("on")]
    for said, member in zip(rows, members, strict=True):
        right = {"name": member.name, "file": member.file, "made_by": member.made_by}
        for name, words in right.items():
            if not same_words(said[name], case.shows(words)):
                yield f"{said.text}: {name} is {words}", said
        if said["mark"] != member.part.mark:
            yield f"{said.text}: the mark is {member.part.mark}", said
        beside = {case.shows(name) for name in _beside(case.assembly, member.name)}
        if said.has("on") and said["on"] not in beside:
            yield f"{said.text}: nothing joins it to {said['on']}", said
    if len(firsts) != _groups(case.assembly):
        yield f"{' and '.join(firsts)} lie on nothing", case.title


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


def _pairs(case: Case) -> Iterator[Fault]:
    """A pair is none where that was found."""
    told, pairs = case.whole.all(_PAIR), case.assembly.pairs
    if len(told) != len(pairs):
        yield f"{len(told)} handed pairs of {len(pairs)}", case.title
        return
    for said, pair in zip(told, pairs, strict=True):
        first, second = pair.members
        begins = (f"{first} and {second} are of the same", f"{first} and {second} are not each")
        is_none = any(finding.message.startswith(begins) for finding in case.findings)
        if not same_words(said["both"], case.shows(f"{first} and {second}".upper())):
            yield f"{said['both']} is {first} and {second}", said
        if (said["verdict"] == "NO handed pair") != is_none:
            yield f"{said['both']}: {said['verdict']}", said


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
            along = lays[one.member][0][:, AXES[one.holes[0].face]]
            worst = 0.0
            for names in pattern["pairs"]:
                a, b = (
                    lays[place.member][0] @ places[place.member, name] + lays[place.member][1]
                    for place, name in zip((one, other), names, strict=True)
                )
                worst = max(worst, float(np.linalg.norm((b - a) - along * (along @ (b - a)))))
            if abs(worst - float(pattern["worst_mm"])) > 1e-3:
                yield f"{joint.name}: {one.words} and {other.words} are {worst:.4f} off", case.title
