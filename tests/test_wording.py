"""The templates of sheets: nothing that can be wrong stands among their letters."""

from __future__ import annotations

import re

import pytest

from millprep.base.wording import FOLDER, Template, templates, wording

SHEETS = sorted(path.stem for path in FOLDER.glob("*.txt"))

DANGERS = {
    "a figure": r"\d",
    "an axis": r"\b[XYZ]\b",
    "a face": r"\b(?:TOP|BOTTOM|FRONT|BACK|LEFT|RIGHT)\b",
    "a side": r"left hand|right hand|towards you|\baway\b|nearest you",
    "a unit": r"\bmm\b|\binch\b|\{\} ?in\b(?! the jaws)",
    "a way": r"(?<!\b[Cc]ome )(?<!\b[Pp]ick )(?<!\b(?:line|them) )\bup\b(?! against)|"
    r"\b(?:down|upper|lower|inside|outside)\b",
    "a turn": r"\b(?:anti)?clockwise\b",
    "a jaw": r"\b(?:fixed|moving)\b",
    "an order": r"\b(?:before|after|first|last|earlier|later)\b",
    "power": r"by hand|under power",
    "a not": r"\b(?:not|no|none|never|cannot|without)\b|n't\b",
    "a number": r"\b(?:one|two|three|four|half|quarter|once|twice|double)\b",
}
"""What a sheet can say wrongly: each is a slot, that a witness can ask."""


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("danger", DANGERS)
def test_nothing_that_can_be_wrong_stands_among_the_letters(sheet: str, danger: str) -> None:
    pattern = re.compile(DANGERS[danger])
    assert [t.slug for t in own(sheet) if pattern.search(t.letters)] == []


def own(sheet: str) -> list[Template]:
    """The templates of a file, its labels aside: those are known by heart to the readers."""
    return [one for group in wording(sheet).values() for one in group.templates]


@pytest.mark.parametrize("sheet", SHEETS)
def test_slots_that_count_and_parts_are_there(sheet: str) -> None:
    known = templates(sheet)
    for template in own(sheet):
        names = {slot.name for slot in template.slots if not slot.counts}
        for slot in template.slots:
            assert not slot.counts or slot.name in names, template.slug
            assert not slot.part or slot.part in known, template.slug


@pytest.mark.parametrize("sheet", SHEETS)
def test_no_two_templates_have_one_slug(sheet: str) -> None:
    slugs = [one.slug for one in own(sheet)]
    assert len(slugs) == len({*slugs})


@pytest.mark.parametrize(
    "letters",
    ["set X to {}", "{} on the fixed jaw", "{} mm", "{} in grip", "do not {}", "a quarter {}"],
)
def test_the_refusal_bites(letters: str) -> None:
    assert any(re.search(pattern, letters) for pattern in DANGERS.values())
