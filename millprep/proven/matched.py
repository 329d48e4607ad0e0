"""The places that make a part fit one that is drilled already, proven."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, WordError, chosen_word, stopped, worst_first
from millprep.base.marks import sealed, sheet_mark
from millprep.base.plain_text import some
from millprep.base.records import replace
from millprep.base.units import Units
from millprep.proven.files import load
from millprep.proven.letters import as_shown, letters_to_tell, part_as_shown
from millprep.proven.measured import FORMS, as_measured, proven
from millprep.proven.preparation import length_mm
from millprep.proven.sheets import Handed

if TYPE_CHECKING:
    from millprep.matching.match import Hand, Match, Wishes
    from millprep.model.measured import Measured
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.setting.setups import Setup


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
    from millprep.infiles.measured_file import read_measured
    from millprep.matching.doubts import match_findings
    from millprep.matching.match import Wishes, match_part
    from millprep.matching.measured_places import nominal_readings, readings_of_setups
    from millprep.matching.slip_words import NOISE_MM
    from millprep.proven.mates import readings_of_mate
    from millprep.sheets.match import make_match_sheet
    from millprep.writers import written

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
    axes = shop.readout.reversed_axes
    if mate is None:
        nominal, in_setup = nominal_readings(part, axes, setup), readings_of_setups(part, axes)
        read = read_measured(Path(measured), part, nominal, in_setup)
    else:
        read, told = readings_of_mate(part, shop, Path(measured), Path(mate))
        notes = [*notes, *told]
    match = match_part(part, shop, read, wishes)
    if not match.drilled:
        raise stopped(
            "left-for-later",
            f"every hole of {match.setup.face.upper()} is left for later: there is none to drill",
            "--assembly none makes all of it",
            file=part.path or None,
        )
    notes = [_with_names(one, match) for one in notes]
    findings = tuple(worst_first([*match.findings, *match_findings(match, shop, wishes), *notes]))
    document, lay = make_match_sheet(match, shop, shown, findings), match.setup
    text = written("match", document, form)
    data = sealed(text, sheet_mark("match", form, part.name, lay.number))
    told = [] if form == "csv" else as_shown(findings, form)
    disagreements = _match_disagreements(data, form, part, shop, read, lay, wishes, told)
    return proven(data, [*letters_to_tell(part, form), *findings], disagreements, lay.number)


def _with_names(note: Finding, match: Match) -> Finding:
    """What is left for later is named: this sheet does not show it otherwise."""
    drilled = {one.hole.name for one in match.drilled}
    names = tuple(one.hole for one in match.part.left if one.hole not in drilled)
    if note.kind != "left-for-later" or not names:
        return note
    return replace(note, said=f"{note.message}, not drilled here: {some(names, 8)}")


def _match_disagreements(
    data: bytes,
    form: str,
    part: Part,
    shop: Shop,
    read: Measured,
    setup: Setup,
    wishes: Wishes,
    told: Sequence[Finding],
) -> list[Finding]:
    """What the witness finds on a finished match sheet."""
    from millprep.witness import Lay
    from millprep.witness.match import Asked, check_match

    asked = Asked(
        setup.number,
        Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y, setup.number),
        None if wishes.hand is None else wishes.hand == "mirrored",
        wishes.keep_edges,
        wishes.noise_mm,
    )
    return check_match(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        part_as_shown(part, form),
        shop,
        as_measured(read, form),
        asked,
        told,
        file=f"the match sheet of {part.name}",
    )


def _hand(given: str) -> Hand:
    word = chosen_word("--hand", given.replace(" ", "-"), ("as-drawn", "mirrored"))
    return "mirrored" if word == "mirrored" else "as drawn"


def _amount_mm(option: str, words: str | None, units: Units) -> float | None:
    """Raises WordError for what is no length, or below 0."""
    amount_mm = length_mm(option, words, units)
    if amount_mm is not None and amount_mm < 0:
        raise WordError(f'{option}: "{words}" is below 0', "give 0 or a length above it")
    return amount_mm
