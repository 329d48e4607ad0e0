"""Whether parts made to their files go together, and what a change of one figure does to that."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, chosen_word, findings_json, worst_first
from millprep.base.plain_text import json_text
from millprep.base.records import frozen, replace
from millprep.proven.files import with_shop
from millprep.proven.handed import Handed, proven, sheet_bytes, shown_in
from millprep.proven.preparation import prepare

if TYPE_CHECKING:
    from millprep.assembly import Judged
    from millprep.assembly.changing import Changed
    from millprep.model.part import Part
    from millprep.model.shop import Shop
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
