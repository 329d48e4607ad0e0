"""The second witness for reports of assemblies: agrees as written, catches whatever is changed."""

from __future__ import annotations

import json
import tempfile
from functools import cache, partial
from pathlib import Path
from typing import Any, cast

import pytest
from slot_faults import bytes_of, sentences_let_through, sentences_of, slots_let_through
from test_assembly import CASES, DOWELS, ENGINE, HEAD, PLANTED, SCREWS, SHAFT, WINCH, box, judged
from test_slots_asked import is_absent

from millprep.assembly import Judged
from millprep.base.findings import has_stop
from millprep.base.wording import wording
from millprep.proven.assembly import FORMS, places_of, report
from millprep.sheets.assembly import make_assembly_report
from millprep.sheets.document import Document
from millprep.witness.assembly import check_assembly
from millprep.writers import written

OFF = ("[[30, 8], [20, 32]]", "[[30, 8], [20, 32.03]]")
ASKEW = (
    'pin   = "slide"\nat    = [[30, 8], [20, 32]]',
    'pin = "slide"\nface = "left"\nat = [[10, 3]]',
)
NUT = SCREWS.format(length=20, more="nut = true\n").replace('into    = "body: cover screw"', "")
PIN = '[[joint]]\nname = "pin"\npin = "4 mm h6"\nslide = ["body: dowel 1", "cover: dowel 1"]\n'
BOXES: dict[str, tuple[str, dict[str, tuple[str, str]]]] = {
    "held": (SCREWS.format(length=20, more="") + DOWELS, {}),
    "far": (SCREWS.format(length=16, more="") + PIN.replace("dowel 1", "dowel 2"), {"cover": OFF}),
    "askew": (
        SCREWS.format(length=16, more="") + PIN.replace('"cover: dowel 1"', '"cover: dowel"'),
        {"cover": ASKEW},
    ),
    "nut": (NUT, {}),
    "stack": ('[[reamed_together]]\nholes = ["cover: dowel", "body: dowel"]\n', {}),
}


@cache
def case(name: str) -> Judged:
    """One of the boxes, or an example."""
    if name in ("engine", "planted"):
        return judged(ENGINE if name == "engine" else PLANTED)
    if name in SHAFTS:
        with tempfile.TemporaryDirectory() as folder:
            return box(Path(folder), "", SHAFT.format(**SHAFTS[name]))
    text, parts = BOXES[name]
    head = HEAD
    if name == "stack":
        parts = {"body": ("depth = 10", 'depth = "through"')}
        head = 'note = "Ream it by hand."\n' + HEAD
    with tempfile.TemporaryDirectory() as folder:
        return box(Path(folder), text, head, **parts)


SHAFTS = {
    "float": {"drum": f"{WINCH.parent}/drum.toml", "more": "length = 70"},
    "long": {"drum": f"{CASES}/parts/long-drum.toml", "more": ""},
}
NAMES = ("engine", "planted", *BOXES, *SHAFTS)


def is_stopped(of: Judged, document: Document, form: str) -> bool:
    """Whether the witness keeps such a document back."""
    data, read_as = bytes_of(document, form), cast("Any", "report" if form == "text" else form)
    return data is None or has_stop(
        check_assembly(data, read_as, of.assembly, of.findings, places_of(of), file="the report")
    )


def laid_out(name: str, form: str) -> Document:
    return make_assembly_report(case(name), with_remarks=form != "text")


def cases() -> list[tuple[str, str]]:
    """Pages to print for one box only: they take long."""
    return [(name, form) for name in NAMES for form in FORMS if form != "pdf" or name == "held"]


@pytest.mark.parametrize(("name", "form"), cases())
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    of, document = case(name), laid_out(name, form)
    stopped, absent = partial(is_stopped, of, form=form), partial(is_absent, "assembly", form)
    assert not stopped(document)
    assert slots_let_through(document, stopped, absent) == []
    assert sentences_let_through(document, stopped) == []


def test_every_template_is_said_somewhere() -> None:
    said = {one.slug for name in NAMES for one in sentences_of(laid_out(name, "html"))}
    wanted = {one.slug for group in wording("assembly").values() for one in group.templates}
    assert sorted(wanted - said) == []


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("path", [ENGINE, PLANTED], ids=["engine", "planted"])
def test_the_examples_are_handed_over(path: Path, form: str) -> None:
    assert report(judged(path), form).data is not None


def test_letters_that_a_page_to_print_lacks_keep_nothing_back(tmp_path: Path) -> None:
    found = box(
        tmp_path, SCREWS.format(length=16, more=""), HEAD.replace("Box", "Dob\u00f6z \u0142\u0151")
    )
    assert report(found, "pdf").data is not None


def test_a_member_that_is_said_to_lie_elsewhere_is_caught() -> None:
    """In JSON: its holes would not lie over those of the member below."""
    of = case("held")
    whole = json.loads(str(written("assembly", laid_out("held", "json"), "json")))

    def is_caught() -> bool:
        data = json.dumps(whole).encode()
        return has_stop(
            check_assembly(data, "json", of.assembly, of.findings, places_of(of), file="it")
        )

    cover = whole["members"][1]
    assert cover["name"] == "cover" and not is_caught()
    cover["origin_mm"][0] += 0.1
    assert is_caught()
    cover["origin_mm"][0] -= 0.1
    cover["rotation"][0] = [-one for one in cover["rotation"][0]]
    assert is_caught()
