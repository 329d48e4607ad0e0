"""What the page readers take from a printed sentence is what a person takes from it.

`tests/sentences` has a sentence for every template, and its slots typed by hand; `holes` are names
that the reader has to know to tell where they end.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from millprep.base.wording import FOLDER, templates, wording
from millprep.reading.pages.slots import names_by_letters, slots_of

TYPED = Path(__file__).parent / "sentences"
FILES = sorted(path.stem for path in TYPED.glob("*.toml"))


def typed(file: str) -> dict[str, Any]:
    return tomllib.loads((TYPED / f"{file}.toml").read_text())


@pytest.mark.parametrize(("file", "slug"), [(file, slug) for file in FILES for slug in typed(file)])
def test_slots_are_those_that_a_person_reads(file: str, slug: str) -> None:
    template, sentence = templates(file)[slug], typed(file)[slug]
    holes = sentence.get("holes")
    names = names_by_letters(hole=holes, member=holes) if holes else {}
    assert given(slots_of(file, template, sentence["text"], names)) == sentence["says"]


def given(slots: Any) -> Any:
    """The slots that say something, those of parts as well."""
    if isinstance(slots, list):
        return [given(one) for one in slots]
    if not isinstance(slots, dict):
        return slots
    return {name: given(one) for name, one in slots.items() if one is not None}


def test_every_template_has_a_sentence() -> None:
    """So has every label with a slot; what a file takes in with `with` is typed once."""
    known = {templates(file)[slug] for file in FILES for slug in typed(file)}
    wanted = {
        f"{path.name}: {one.slug}": one
        for path in FOLDER.glob("*.txt")
        for group in wording(path.stem).values()
        for one in (*group.templates, *((group.label,) if group.label.slots else ()))
    }
    assert [name for name, one in wanted.items() if one not in known] == []


def test_a_list_of_many_holes_broken_off_in_a_name_has_no_end_of_ways() -> None:
    """Each name stands once in the pattern: twice, and 60 holes were two to the sixtieth ways."""
    names = [f"cover screw {number}" for number in range(1, 61)]
    text = f"spot drill; setup 1; needs 4.2 mm of flute: {', '.join(names)}"
    template, known = templates("tools")["tool-use"], names_by_letters(hole=names)
    slots = slots_of("tools", template, text, known)
    assert slots is not None and slots["holes"] == names
    assert slots_of("tools", template, text.removesuffix("screw 60"), known) is None
