"""Every slot of every sheet is asked by the witness, or said not to be: each is changed in turn."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from slot_faults import kind_of, question_of, sentences_of, slots_in, with_slot_changed, without

from millprep.base.findings import has_stop
from millprep.base.marks import sealed, sheet_mark
from millprep.base.wording import FOLDER, Slot, templates, wording
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.sheets.document import Document
from millprep.sheets.folded import folded
from millprep.witness.questions import COVERAGE, FILES, all_questions, questions_in

PARTS = ("port-block", "crank-disc", "base-plate", "column-left")
BETWEEN_SETUPS = frozenset({"turn", "tool", "tool-by-hand"})
"""Templates of which something is held against another setup of the sheet."""
MAY_BE_LEFT_OUT = frozenset({"hand-by-holes"})
"""Sentences of which one does for several."""


@cache
def laid_out(sheet: str, part: str, form: str, setup: int | None = None) -> tuple[Any, Document]:
    """A sheet and its document, as the form has it. setup : that one alone"""
    wanted = SHEETS[sheet](prepared(part), Asked(setup=setup))
    document = wanted.lay_out()[0]
    return wanted, document if form == "json" or sheet == "bench" else folded(document)


@cache
def prepared(part: str) -> Prepared:
    return prepare(Path(f"parts/{part}.toml"))


def sheets_of(sheet: str, form: str) -> Iterator[tuple[str, int | None]]:
    """The parts, setup by setup where the sheet may have one alone, which takes a quarter of the
    time; then whole. A listing on screen is asked whole."""
    is_short = "setup" in SHEETS[sheet].takes and (sheet, form) != ("listing", "html")
    parts = PARTS if form in ("text", "json") else PARTS[:1]
    if is_short:
        yield from ((part, number) for part in parts for number in prepared(part).setup_numbers)
    yield from ((part, None) for part in parts)


def is_stopped(wanted: Any, document: Document, form: str) -> bool:
    """Whether the witness keeps such a document back."""
    mark = sheet_mark(wanted.name, form, wanted.prepared.part.name, None)
    try:
        data = sealed(wanted.written(document, form), mark)
    except ValueError:  # the writer of JSON has one value for a name
        return True
    return has_stop(wanted.disagreements(data, form, "the sheet"))


def cases(*forms: str) -> list[tuple[str, str]]:
    return [(sheet, form) for sheet, kind in SHEETS.items() for form in forms if form in kind.forms]


def slots_to_change(sheet: str, form: str) -> Iterator[tuple[tuple[str, int | None], str, str]]:
    """A part and setup, a template and a slot: each once over all parts, in text and JSON; in the
    other forms, which come down to the lines of text, one of each kind."""
    done: set[object] = set()
    for where in sheets_of(sheet, form):
        part, setup = where
        _, document = laid_out(sheet, part, form, setup)
        for slug, name in slots_in(document):
            if question_of(document, slug, name).startswith("not compared"):
                continue
            is_each = form in ("text", "json")
            kind = (slug, name) if is_each else kind_of(document, slug, name)
            is_asked = setup is None or slug not in BETWEEN_SETUPS
            if is_asked and kind not in done and not is_absent(sheet, form, slug, name):
                done.add(kind)
                yield where, slug, name


def is_absent(sheet: str, form: str, slug: str, name: str) -> bool:
    """JSON has no heads of tables, nor the sound words of a title, and readings by the names of
    slips; the bench page no heads. The places of a dial sheet JSON has all, whichever of them are
    printed: see test_witness_dials."""
    if form == "json" and any(one.kind == "reading" and one.name == name for one in slots_of(slug)):
        return True
    if slug == "where row" and form == "json":
        return True
    if slug.endswith(" head"):
        return form == "json" or sheet == "bench"
    return form == "json" and "title" in slug and name.startswith("_")


def slots_of(slug: str) -> tuple[Slot, ...]:
    known = templates("setting")
    return known[slug].slots if slug in known else ()


@pytest.mark.parametrize(("sheet", "form"), cases("text", "json", "html", "pdf"))
def test_a_changed_slot_is_stopped(sheet: str, form: str) -> None:
    for part, setup in sheets_of(sheet, form):
        assert not is_stopped(*laid_out(sheet, part, form, setup), form)
    handed_over = [
        (part, slug, name)
        for (part, setup), slug, name in slots_to_change(sheet, form)
        for wanted, document in [laid_out(sheet, part, form, setup)]
        if not is_stopped(wanted, with_slot_changed(document, slug, name), form)
    ]
    assert handed_over == []


@pytest.mark.parametrize(("sheet", "form"), cases("text", "json"))
def test_a_sentence_left_out_is_missed(sheet: str, form: str) -> None:
    handed_over, done = [], set(MAY_BE_LEFT_OUT)
    for part in PARTS:
        wanted, document = laid_out(sheet, part, form)
        groups = wording(document.sheet)
        done |= {one.label.slug for one in groups.values()}
        done |= {one.slug for one in groups["title"].templates}
        slugs = {one.slug for one in sentences_of(document) if " head" not in one.slug}
        for slug in sorted(slugs - done):
            done.add(slug)
            if is_absent(sheet, form, slug, ""):
                continue
            if not is_stopped(wanted, without(document, slug), form):
                handed_over.append((part, slug))
    assert handed_over == []


@pytest.mark.parametrize("sheet", sorted(path.stem for path in FOLDER.glob("*.txt")))
def test_every_slot_has_its_question_and_every_question_its_slot(sheet: str) -> None:
    for group in wording(sheet).values():
        for template in (group.label, *group.templates):
            names = {slot.name for slot in template.slots if not slot.counts}
            assert names == all_questions().get(template.slug, {}).keys(), template.slug


def test_every_question_is_of_a_template_and_stands_in_one_file() -> None:
    known = {
        template.slug
        for path in FOLDER.glob("*.txt")
        for group in wording(path.stem).values()
        for template in (group.label, *group.templates)
    }
    asked = [slug for name in FILES for slug in questions_in(name)]
    assert sorted(asked) == sorted(set(asked))
    assert set(asked) - known == set()


def test_no_file_of_questions_is_left_unread() -> None:
    assert {path.stem for path in COVERAGE.glob("*")} == set(FILES)
