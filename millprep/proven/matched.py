"""The places that make a part fit one that is drilled already, proven; readings of its mate too."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, WordError, chosen_word, stopped, worst_first
from millprep.base.plain_text import some
from millprep.base.records import replace
from millprep.base.units import Units
from millprep.proven.files import load
from millprep.proven.handed import (
    FORMS,
    Handed,
    as_shown,
    lay_of,
    letters_to_tell,
    part_as_shown,
    proven,
    sheet_bytes,
)
from millprep.proven.measured import as_measured
from millprep.proven.preparation import length_mm

if TYPE_CHECKING:
    from millprep.matching.match import Hand, Match, Wishes
    from millprep.model.measured import Measured
    from millprep.model.part import Part
    from millprep.model.shop import Shop


def match_sheet(
    part: Part | Path | str,
    measured: Path | str,
    shop: Shop | Path | str = "metric",
    form: str = "text",
    *,
    units: Units | None = None,
    setup: int | None = None,
    hand: str | None = None,
    keep_edges: bool = False,
    play: str | None = None,
    noise: str | None = None,
    mate: Path | str | None = None,
    assembly: Path | str | None = None,
) -> Handed:
    """The coordinates that make this part fit one that is drilled already.

    hand : "as-drawn" or "mirrored", how the holes were seen; by the fit where it is not given
    mate : the assembly file by which the readings are those of another part, under its names
    play, noise : lengths in words, in the units shown
    assembly : that is asked what is left for later; None for those beside the part that name it
    Raises MillprepError or WordError for what cannot be judged.
    """
    from millprep.matching.match import Wishes, match_part
    from millprep.matching.slip_words import NOISE_MM

    chosen_word("form", form, FORMS)
    part, shop, notes = load(part, shop, assembly)
    shown = units or part.units
    noise_mm = _amount_mm("--noise", noise, shown)
    wishes = Wishes(
        setup,
        None if hand is None else _hand(hand),
        keep_edges,
        _amount_mm("--play", play, shown),
        NOISE_MM if noise_mm is None else noise_mm,
        shown,
    )
    read, told = _readings(part, shop, Path(measured), setup, mate)
    match = match_part(part, shop, read, wishes)
    if not match.drilled:
        raise stopped(
            "left-for-later",
            f"every hole of {match.setup.face.upper()} is left for later: there is none to drill",
            "--assembly none makes all of it",
            file=part.path or None,
        )
    return _sheet(match, part, shop, read, wishes, form, [*notes, *told])


def _readings(
    part: Part, shop: Shop, path: Path, setup: int | None, mate: Path | str | None
) -> tuple[Measured, list[Finding]]:
    """What was measured, of this part or of another of an assembly, and which is which."""
    from millprep.infiles.measured_file import read_measured
    from millprep.matching.measured_places import nominal_readings, readings_of_setups

    if mate is not None:
        return readings_of_mate(part, shop, path, Path(mate))
    axes = shop.readout.reversed_axes
    nominal, in_setup = nominal_readings(part, axes, setup), readings_of_setups(part, axes)
    return read_measured(path, part, nominal, in_setup), []


def _sheet(
    match: Match,
    part: Part,
    shop: Shop,
    read: Measured,
    wishes: Wishes,
    form: str,
    notes: Sequence[Finding],
) -> Handed:
    """The sheet, once the witness agrees with it."""
    from millprep.matching.doubts import match_findings
    from millprep.sheets.match import make_match_sheet
    from millprep.witness.match import Asked, check_match

    setup, told = match.setup, [_with_names(one, match) for one in notes]
    findings = tuple(worst_first([*match.findings, *match_findings(match, shop, wishes), *told]))
    document = make_match_sheet(match, shop, wishes.units, findings)
    data = sheet_bytes(document, form, "match", part.name, setup.number)
    is_mirrored = None if wishes.hand is None else wishes.hand == "mirrored"
    disagreements = check_match(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        part_as_shown(part, form),
        shop,
        as_measured(read, form),
        Asked(setup.number, lay_of(setup), is_mirrored, wishes.keep_edges, wishes.noise_mm),
        [] if form == "csv" else as_shown(findings, form),
        file=f"the match sheet of {part.name}",
    )
    found = [*letters_to_tell(part, form), *findings]
    return proven(data, found, disagreements, setup.number)


def _with_names(note: Finding, match: Match) -> Finding:
    """What is left for later is named: this sheet does not show it otherwise."""
    drilled = {one.hole.name for one in match.drilled}
    names = tuple(one.hole for one in match.part.left if one.hole not in drilled)
    if note.kind != "left-for-later" or not names:
        return note
    return replace(note, said=f"{note.message}, not drilled here: {some(names, 8)}")


def _hand(given: str) -> Hand:
    word = chosen_word("--hand", given.replace(" ", "-"), ("as-drawn", "mirrored"))
    return "mirrored" if word == "mirrored" else "as drawn"


def _amount_mm(option: str, words: str | None, units: Units) -> float | None:
    """Raises WordError for what is no length, or below 0."""
    amount_mm = length_mm(option, words, units)
    if amount_mm is not None and amount_mm < 0:
        raise WordError(f'{option}: "{words}" is below 0', "give 0 or a length above it")
    return amount_mm


def readings_of_mate(
    part: Part, shop: Shop, path: Path, assembly: Path
) -> tuple[Measured, list[Finding]]:
    """Readings of another part of an assembly under this part's names, and which is which.

    Raises MillprepError where nobody knows whose they are.
    """
    from millprep.assembly.mates import mate_of
    from millprep.infiles.csv_file import read_csv
    from millprep.infiles.measured_file import NEEDED, OPTIONAL, read_measured
    from millprep.infiles.told import Told
    from millprep.matching.measured_places import nominal_readings, readings_of_setups
    from millprep.proven.assembly import judged

    of = judged(assembly, shop)
    files = {
        member.file: (assembly.parent / member.file).resolve() for member in of.assembly.members
    }
    here = Path(part.path).resolve()
    own = next((file for file, whole in files.items() if whole == here), None)
    if own is None:
        message = f"{part.path} is no part of {of.assembly.name}"
        raise stopped(
            "mate-not-found", message, f"its parts: {', '.join(files)}", file=str(assembly)
        )
    faults = Told(str(path))
    names = [row.cells["hole"] for row in read_csv(path, NEEDED, OPTIONAL, faults).rows]
    faults.raise_if_any()
    first = mate_of(of, own, str(path), dict.fromkeys(names))
    axes = shop.readout.reversed_axes
    nominal, in_setup = nominal_readings(first.part, axes), readings_of_setups(first.part, axes)
    read = read_measured(path, first.part, nominal, in_setup)
    holes = tuple(
        replace(one, hole=first.own[one.hole], setup=None)
        for one in read.holes
        if one.hole in first.own
    )
    pairs = ", ".join(f"{name} lies over {other}" for name, other in first.own.items())
    left = f"; not used: {', '.join(first.apart)}" if first.apart else ""
    told = Finding("note", "which-is-which", f"of {first.file}: {pairs}{left}", "", str(path))
    return replace(read, holes=holes), [told]
