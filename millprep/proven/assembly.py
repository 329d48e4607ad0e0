"""Whether parts made to their files go together, what a change does to that, the job in order."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    findings_json,
    has_stop,
    worst_first,
)
from millprep.base.plain_text import json_text
from millprep.base.records import frozen, replace
from millprep.proven.files import with_shop
from millprep.proven.handed import Handed, proven, sheet_bytes, shown_in
from millprep.proven.preparation import prepare

if TYPE_CHECKING:
    from millprep.assembly import Judged
    from millprep.assembly.changing import Changed
    from millprep.assembly.job_order import Route
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.planning import Plan
    from millprep.witness.assembly_bodies import Places


FORMS = ("text", "json", "html", "pdf")
TRIAL_FORMS = ("text", "json")
PICTURE_ENDINGS = (".svg", ".pdf", ".png")


def judged(file: Path | str, shop: Shop | Path | str = "metric") -> Judged:
    """Whether parts made to their files go together: every joint with its figures, and findings.

    Raises MillprepError with the faults of all the files.
    """
    return _judged(Path(file), shop)[0]


def _judged(file: Path, shop: Shop | Path | str) -> tuple[Judged, Shop]:
    from millprep.assembly import judge
    from millprep.infiles.assembly_file import read_assembly

    (assembly, notes), found = with_shop(lambda: read_assembly(file), shop)
    return judge(assembly, found, notes), found


def report(of: Judged, form: str = "text") -> Handed:
    """Every joint with its figures, read back and asked by the second witness."""
    from millprep.sheets.assembly import make_assembly_report
    from millprep.witness.assembly import check_assembly, check_bodies

    chosen_word("form", form, FORMS)
    places = places_of(of)
    document = make_assembly_report(of, with_remarks=form != "text")
    name = of.assembly.name
    data = sheet_bytes(document, form, "assembly", name)
    disagreements = check_assembly(
        data,
        "report" if form == "text" else form,  # type: ignore[arg-type]  # one of FORMS
        of.assembly,
        of.findings,
        places,
        file=f"the report of {name}",
        shows=lambda words: shown_in(words, form),
    )
    disagreements += check_bodies(of.assembly, of.findings, places, file=f"the report of {name}")
    return proven(data, of.findings, disagreements, None)


def drawn(of: Judged, ending: str) -> bytes:
    """Boxes and discs from the back to the front, members lettered, as a file with that ending."""
    from millprep.sheets.assembled import make_assembled
    from millprep.writers.pictures.assembled import written_assembled

    chosen_word("ending", ending, PICTURE_ENDINGS)
    return written_assembled(make_assembled(of), ending)


def places_of(of: Judged) -> Places:
    """Where each member lies, for the witness."""
    return {name: (lay.pose.rotation, lay.pose.shift_mm) for name, lay in of.lays.items()}


@frozen
class Trial:
    """An assembly before and after a change of figures, and what that changes.

    findings : of the changed assembly, and of each changed part by itself
    """

    words: tuple[str, ...]
    before: Judged
    after: Judged
    changed: Changed
    findings: tuple[Finding, ...]

    def report(self, form: str = "text") -> str:
        """What changes with it."""
        from millprep.sheets.changed_assembly import changed_json, changed_text

        if chosen_word("form", form, TRIAL_FORMS) == "text":
            return changed_text(self.before, self.words, self.changed)
        data = changed_json(self.before, self.words, self.changed)
        return json_text({**data, "findings": findings_json(self.findings)})


def _fault_of_change(changes: Sequence[str], error: MillprepError) -> MillprepError:
    """What a changed file cannot be read for, as the fault of the change."""
    stops = [one for one in error.findings if one.severity == "stop"]
    own = [one for one in stops if one.kind != "unreadable-file"] or stops
    said = " and ".join(f"--change '{change}'" for change in changes)
    return MillprepError(
        *(
            replace(
                one,
                said=f"{said}: {one.message.removeprefix('--change: ')}",
                advice=one.remedy,
                cure=None,
                file=None,
                line=None,
            )
            for one in own
        )
    )


def tried(file: Path | str, changes: Sequence[str], shop: Shop | Path | str = "metric") -> Trial:
    """One figure changed, or several; the files are left alone. Each changed part is checked.

    changes : as 'MEMBER: HOLE: KEY = VALUE'
    """
    from millprep.assembly import judge
    from millprep.assembly.changing import changed, changed_parts
    from millprep.infiles.assembly_file import read_assembly
    from millprep.infiles.changes import read_change, with_change
    from millprep.infiles.text import Reader, read_document

    path = Path(file)
    before, found = _judged(path, shop)
    files = {member.name: path.parent / member.file for member in before.assembly.members}
    files["assembly"] = path
    read: Reader = read_document
    for each in changes:
        read = with_change(read_change(each, files), read)
    try:
        assembly, notes = read_assembly(path, read)
    except MillprepError as error:  # it can be read without the change
        raise _fault_of_change(changes, error) from None
    after = judge(assembly, found, notes)
    checks = {
        name: (_found(was, found), _found(now, found))
        for name, (was, now) in changed_parts(before, after).items()
    }
    told = dict.fromkeys([*after.findings, *(one for _, each in checks.values() for one in each)])
    difference = changed(before, after, checks)
    return Trial(tuple(changes), before, after, difference, tuple(worst_first(told)))


def _found(part: Part, shop: Shop) -> tuple[Finding, ...]:
    """What `check` finds in a part by itself, without its notes; or why it cannot be judged."""
    try:
        found = prepare(part, shop, cures=False).findings
    except MillprepError as error:
        found = tuple(error.findings)
    return tuple(one for one in found if one.severity != "note")


def route(file: Path | str, shop: Shop | Path | str = "metric", form: str = "text") -> Handed:
    """Which part first, which holes now and which later, and every sheet's command.

    Nothing is handed over where steps wait for each other, or the parts do not go together.
    Raises MillprepError with the faults of all the files.
    """
    from millprep.assembly.job_order import route_of
    from millprep.proven.files import shop_of
    from millprep.sheets.route import make_route
    from millprep.witness.route import check_route

    chosen_word("form", form, FORMS)
    found = shop_of(shop)
    of = judged(file, found)
    ordered = route_of(of)
    findings = tuple(worst_first([*ordered.findings, *of.findings]))
    if has_stop(findings):
        return Handed(None, findings, None)
    name = of.assembly.name
    document = make_route(ordered, plans_of(ordered, found), findings, with_remarks=form != "text")
    data = sheet_bytes(document, form, "route", name)
    disagreements = check_route(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        of.assembly,
        findings,
        file=f"the route of {name}",
        shows=lambda words: shown_in(words, form),
    )
    return proven(data, findings, disagreements, None)


def plans_of(ordered: Route, shop: Shop) -> dict[str, Plan]:
    """Of each part file and each stack, by its name, and each table whose holes are carried over; a
    part is planned once."""
    from millprep.assembly.carrying import carried_joints, carried_part
    from millprep.assembly.stack_part import stack_part
    from millprep.planning import make_plan

    job = ordered.job
    parts = {file: members[0].part for file, members in job.pieces.items()}
    for row in job.judged.stacks:
        with contextlib.suppress(MillprepError):  # told among what was found in the assembly
            parts[row.name] = stack_part(job.judged, row.name)
    for visit in ordered.visits:
        if visit.what == "carry":
            with contextlib.suppress(MillprepError):
                joints = carried_joints(job.judged, visit.key[1])
                parts[visit.key[1]] = carried_part(job.judged, joints, shop)
    return {name: make_plan(part, shop) for name, part in parts.items()}


def changed_route(
    file: Path | str,
    changes: Sequence[str],
    done: str | None = None,
    shop: Shop | Path | str = "metric",
    form: str = "text",
) -> tuple[str, tuple[Finding, ...]]:
    """Which steps a change alters, and which done ones it spoils; what was found in the changed.

    changes : as 'MEMBER: HOLE: KEY = VALUE'; done : numbers of steps, "1-7, 9"
    Raises MillprepError for files that cannot be read, WordError for steps that there are not.
    """
    from millprep.assembly.job_order import route_of
    from millprep.assembly.spoiling import step_changes
    from millprep.proven.files import shop_of
    from millprep.sheets.changed_route import changed_route_json, changed_route_text

    chosen_word("form", form, TRIAL_FORMS)
    found = shop_of(shop)
    trial = tried(file, changes, found)
    before, after = route_of(trial.before), route_of(trial.after)
    made = numbers_of(done or "", len(before.visits))
    steps = step_changes(before, after, (plans_of(before, found), plans_of(after, found)), made)
    assembly = trial.before.assembly
    old = {(one.kind, one.message) for one in before.findings}
    new = [*trial.changed.new, *(o for o in after.findings if (o.kind, o.message) not in old)]
    findings = tuple(worst_first([*after.findings, *trial.findings]))
    if form == "text":
        return changed_route_text(assembly.name, assembly.units, changes, steps, new), findings
    data = changed_route_json(assembly.name, changes, steps, new)
    return json_text({**data, "findings": findings_json(findings)}), findings


def numbers_of(words: str, most: int) -> frozenset[int]:
    """The steps of "1-7, 9". Raises WordError for what is no such list."""
    numbers: set[int] = set()
    for word in filter(None, re.split(r"[,\s]+", words)):
        span = re.fullmatch(r"(\d{1,4})(?:-(\d{1,4}))?", word)
        first, last = (int(one or span[1]) for one in span.groups()) if span else (0, 0)
        if not 1 <= first <= last <= most:
            raise WordError(
                f"--done {words}: {word} is no step of this route",
                f"steps are 1 to {most}: --done 1-{min(most, 3)}",
            )
        numbers.update(range(first, last + 1))
    return frozenset(numbers)
