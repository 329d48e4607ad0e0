"""Every slot of every sheet is asked by the witness, or said not to be: each is changed in turn."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from slot_faults import question_of, sentences_of, slots_in, with_slot_changed, without

from millprep.base.findings import has_stop
from millprep.base.outfile import sealed, sheet_mark
from millprep.base.wording import FOLDER, wording
from millprep.proven.preparation import prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.sheets.document import Document
from millprep.witness.questions import QUESTIONS

PARTS = ("port-block", "crank-disc", "base-plate", "column-left")
MAY_BE_LEFT_OUT = frozenset({"hand-by-holes"})
"""Sentences of which one does for several."""


@cache
def laid_out(sheet: str, part: str) -> tuple[Any, Document] | None:
    """A sheet and its document; None where it is not one yet."""
    wanted = SHEETS[sheet](prepare(Path(f"parts/{part}.toml")), Asked())
    document, _ = wanted.lay_out()
    return (wanted, document) if isinstance(document, Document) else None


def is_stopped(wanted: Any, document: Document, form: str) -> bool:
    """Whether the witness keeps such a document back."""
    mark = sheet_mark(wanted.name, form, wanted.prepared.part.name, None)
    try:
        data = sealed(wanted.written(document, form), mark)
    except ValueError:  # the writer of JSON has one value for a name
        return True
    return has_stop(wanted.disagreements(data, form, "the sheet"))


def cases() -> list[tuple[str, str, str]]:
    """Pages to print for one part only: they take ten times as long."""
    forms = {
        part: ("text", "json", "html", "pdf")[: 4 if part == PARTS[0] else 3] for part in PARTS
    }
    return [
        (sheet, part, form)
        for sheet, kind in SHEETS.items()
        for part in PARTS
        for form in forms[part]
        if form in kind.forms
    ]


def is_absent(sheet: str, form: str, slug: str, name: str) -> bool:
    """JSON has no heads of tables, nor the sound words of a title; the bench page no heads."""
    if slug.endswith(" head"):
        return form == "json" or sheet == "bench"
    return form == "json" and "title" in slug and name.startswith("_")


@pytest.mark.parametrize(("sheet", "part", "form"), cases())
def test_a_changed_slot_is_stopped(sheet: str, part: str, form: str) -> None:
    found = laid_out(sheet, part)
    if found is None:
        pytest.skip("not a document yet")
    wanted, document = found
    assert not is_stopped(wanted, document, form)
    handed_over = [
        (slug, name)
        for slug, name in slots_in(document)
        if not question_of(document, slug, name).startswith("not compared")
        and not is_absent(sheet, form, slug, name)
        and not is_stopped(wanted, with_slot_changed(document, slug, name), form)
    ]
    assert handed_over == []


@pytest.mark.parametrize(("sheet", "part", "form"), cases())
def test_a_sentence_left_out_is_missed(sheet: str, part: str, form: str) -> None:
    found = laid_out(sheet, part)
    if found is None:
        pytest.skip("not a document yet")
    wanted, document = found
    slugs = {one.slug for one in sentences_of(document) if " head" not in one.slug}
    groups = wording(document.sheet)
    labels = {one.label.slug for one in groups.values()} | {
        t.slug for t in groups["title"].templates
    }
    handed_over = [
        slug
        for slug in sorted(slugs - labels - MAY_BE_LEFT_OUT)
        if not is_stopped(wanted, without(document, slug), form)
    ]
    assert handed_over == []


@pytest.mark.parametrize("sheet", sorted(path.stem for path in FOLDER.glob("*.txt")))
def test_every_slot_has_its_question_and_every_question_its_slot(sheet: str) -> None:
    for group in wording(sheet).values():
        for template in (group.label, *group.templates):
            names = {slot.name for slot in template.slots if not slot.counts}
            assert names == QUESTIONS.get(template.slug, {}).keys(), template.slug
