"""Every slot of what is said of setting up and beside the rows is asked: each is changed in turn.

Between them the parts here say every sentence of `base/templates/setting.txt`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, part_of, shop_of
from slot_faults import question_of, sentences_of, slots_in, with_slot_changed, without
from test_rare_slots import CASES as RARE

from millprep.base.findings import has_stop
from millprep.base.marks import sealed, sheet_mark
from millprep.base.wording import templates, wording
from millprep.proven.preparation import Askew, Prepared, prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.sheets.document import Document
from millprep.sheets.folded import folded
from millprep.witness.questions import questions_in

HOLE = '[[hole]]\nname = "a"\ndrill = 4\nat = [20, 10]\ndepth = 5\n'
THROUGH = (
    '[[hole]]\nname = "pivot"\nream = 6\nfit = "H7"\nat = [30, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "big"\ndrill = 9\nat = [45, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [10, 10]\ndepth = 4\n'
)
FLUSH = '[[setup]]\nface = "top"\nvice = { grip = 20 }\n'
TWISTED = '[[setup]]\nface = "top"\n[[setup]]\nface = "bottom"\ntowards_you = "left"\n'
STRAP = '[[setup.obstacle]]\nname = "{0}"\nfrom = [{1}]\nto = [{2}]\n'
STRAPPED = (
    HOLE
    + '[[setup]]\nface = "top"\nbacking = 6\n'
    + STRAP.format("strap no. 2", "-20, -5, -10", "5, 45, 12")
    + STRAP.format("stud", "62, -5, -10", "70, -1, -3")
)
BEHIND = (
    '[[setup]]\nface = "top"\n[[setup]]\nface = "bottom"\nbacking = 6\n'
    + STRAP.format("near strap", "-20, -50, -10", "80, -40, 12")
    + STRAP.format("far strap", "-20, 0, -10", "80, 20, 12")
)
BAR = {
    "stock": 'diameter = 25\nlength = 80\naxis = "x"',
    "datum": 'x = "left"\ny = "centre"\nz = "centre"',
}
CROSS = '[[hole]]\nname = "cross"\ndrill = 5\ndepth = "through"\nat = [40, 0]\n'
BAR_TWICE = (
    CROSS + '[[hole]]\nname = "side"\nface = "front"\ndrill = 3.5\ndepth = 5\nat = [20, 0]\n'
)
ENDS = '[[hole]]\nname = "end"\nface = "left"\ndrill = 4\ndepth = 8\nat = [[6, 0], [-6, 0]]\n'
FLAT = (
    '[[hole]]\nname = "flank"\ndrill = 5\ndepth = 6\nat = [40, 0]\n'
    '[[setup]]\nface = "left"\n[[setup]]\nface = "top"\n'
)
FRONT_FIRST = '[[setup]]\nface = "front"\n[[setup]]\nface = "top"\n'
RIM_LATE = (
    '[[hole]]\nname = "drive"\ndrill = 4\nat = [12, 0]\ndepth = "through"\n'
    '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [0, 12]\ndepth = 5\n'
)
LOSES = '[mill]\nhead_moves = "loses"\nquill_travel = {0}\n'
DISC = {"stock": 'diameter = 40\nlength = 12\naxis = "z"', "datum": 'x = "centre"\ny = "centre"'}
RIM = (
    '[[hole]]\nname = "rim"\nface = "front"\nream = 4\nat = [0, 6]\ndepth = 8\n'
    '[[hole]]\nname = "on face"\ndrill = 4\nat = [12, 0]\ndepth = 6\n'
)
SUNK = RIM.replace("drill = 4", "drill = 4\ncountersink = { diameter = 7 }").replace(
    "ream = 4", "ream = 4\ncountersink = { diameter = 6 }"
)
NO_NOSE = "[drawer]\ncountersinks = [12.7]\n"
LONG = (
    '[[hole]]\nname = "long"\nface = "left"\ndrill = 4\nfrom_both_ends = true\n'
    'row = { start = [8, 6], step = [8, 0], count = 4 }\ndepth = "through"\n'
    '[[hole]]\nname = "close"\nface = "left"\ndrill = 4\nfit = "H12"\nat = [20, 14]\ndepth = 9\n'
)
SIZES = "".join(
    f'[[hole]]\nname = "{name}"\n{made}\nat = [{6 + 8 * number}, 8]\ndepth = {8 + number}\n'
    for number, (name, made) in enumerate(
        [*(("f", 'tap = "M5"'),) * 2, *((name, "drill = 4") for name in "abcd"), ("e", "drill = 6")]
    )
).replace('"f"', '"g"', 1)
NOTED = (
    '[[hole]]\nname = "dowel"\nream = 6\nfit = "H7"\nposition = 0.05\nnote = "bush goes in flush"\n'
    'grid = { start = [10, 10], step = [10, 20], columns = 4, rows = 2 }\ndepth = "through"\n'
    '[[hole]]\nname = "pin"\nream = 6\nfit = "F8"\ntolerance = 0.02\nat = [52, 20]\ndepth = 8\n'
    '[[hole]]\nname = "rest"\nream = 6\nfit = "N7"\nat = [[52, 10], [52, 30]]\ndepth = 8\n'
)


def _case(
    holes: str, shop: str = "", order: str = "tool", given: Askew | None = None, **more: str
) -> Callable[[], Prepared]:
    return lambda: prepare(part_of(holes, **more), shop_of(shop), order, given, cures=False)


CASES: dict[str, tuple[Callable[[], Prepared], str]] = {
    "rich": (_case(RICH, "[finder]\nspeed = 800\n", stock=RICH_STOCK), "mm"),
    "sizes": (_case(SIZES), "mm"),
    "three from both ends": (_case(LONG.replace("count = 4", "count = 3")), "mm"),
    "laid as chosen": (_case(RICH, stock=RICH_STOCK, lay="chosen"), "mm"),
    "rich by hole": (_case(RICH, order="hole", stock=RICH_STOCK), "inch"),
    "made before": (_case(THROUGH + TWISTED), "mm"),
    "over a hole": (_case(THROUGH + BEHIND), "mm"),
    "bar in vee blocks": (_case(CROSS, **BAR), "mm"),
    "bar in vee jaws": (_case(CROSS + '[[setup]]\nface = "top"\nhold = "vee jaws"\n', **BAR), "mm"),
    "bar in flat jaws": (_case(CROSS + '[[setup]]\nface = "top"\nhold = "vice"\n', **BAR), "inch"),
    "by a pin": (_case(BAR_TWICE, **BAR), "mm"),
    "by pins in a row": (_case(ENDS + FLAT, **BAR), "inch"),
    "by a hole": (_case(RIM_LATE, **DISC), "mm"),
    "by a pin on end": (_case(RIM + FRONT_FIRST, **DISC), "inch"),
    "by a mark": (_case(ENDS.replace("drill = 4", 'tap = "M4"') + FLAT, **BAR), "mm"),
    "disc with holes through": (
        _case(
            '[[hole]]\nname = "ring"\ndrill = 12\ndepth = "through"\n'
            "circle = { centre = [0, 0], diameter = 50, count = 6 }\n",
            stock="diameter = 70\nlength = 10",
            datum=DISC["datum"],
        ),
        "mm",
    ),
    "disc in soft jaws": (
        _case(
            RIM, '[holding]\nchuck = { diameter = 20 }\n[vice]\njaws = ["flat", "soft"]\n', **DISC
        ),
        "mm",
    ),
    "disc on a ring": (
        _case(
            '[[hole]]\nname = "ring"\ndrill = 5\ndepth = "through"\n'
            "circle = { centre = [0, 0], diameter = 50, count = 16 }\n",
            stock="diameter = 70\nlength = 10",
            datum=DISC["datum"],
        ),
        "inch",
    ),
    "disc on nothing": (
        _case(
            '[[hole]]\nname = "ring"\ndrill = 5\ndepth = "through"\n'
            "circle = { centre = [0, 0], diameter = 25, count = 10 }\n",
            stock="diameter = 32\nlength = 10\nbore = 17",
            datum=DISC["datum"],
        ),
        "mm",
    ),
    "on the jaw": (_case(HOLE + FLUSH), "inch"),
    "on the stop": (
        _case(HOLE.replace("20, 10", "20, 5") + FLUSH, stock="size = [60, 11, 20]"),
        "mm",
    ),
    "on the stop for a centre": (
        _case(
            HOLE.replace("20, 10", "5, 5") + FLUSH,
            stock="size = [60, 11, 20]",
            datum='x = "centre"\ny = "front"',
        ),
        "mm",
    ),
    "strapped": (_case(STRAPPED), "mm"),
    "z counts the other way": (
        _case(STRAPPED, '[readout]\naxes = "xyz"\nreversed = ["z"]\n'),
        "mm",
    ),
    "disc": (_case(RIM, **DISC), "mm"),
    "ring": (_case(RIM, stock=DISC["stock"] + "\nbore = 10", datum=DISC["datum"]), "inch"),
    "rim with a nose": (_case(SUNK, **DISC), "mm"),
    "by the rim": (_case(SUNK, NO_NOSE, **DISC), "mm"),
    "by the rim, hole by hole": (_case(SUNK, NO_NOSE, order="hole", **DISC), "inch"),
    "wants another point": (_case(HOLE, material="acrylic"), "mm"),
    "bored": (
        _case(
            HOLE.replace("drill = 4", "bore = 14").replace("depth = 5", 'depth = "through"'),
            '[drawer]\nboring_head = { dial = "radius" }\n',
        ),
        "mm",
    ),
    "one height": (_case(HOLE, LOSES.format(90)), "mm"),
    "head moves": (_case(RICH, LOSES.format(52), stock=RICH_STOCK), "mm"),
    "head moves, hole by hole": (_case(THROUGH, LOSES.format(58), order="hole"), "mm"),
    "askew": (_case(HOLE, given=Askew("0,-5 50,-4.75", edge="front")), "mm"),
    "long": (_case(LONG, stock="size = [90, 40, 20]"), "mm"),
    "noted": (_case(NOTED, stock="size = [60, 40, 20]"), "mm"),
    "backed in the vice": (
        _case(HOLE + '[[setup]]\nface = "top"\nbacking = 6\nvice = { grip = 8, jaws = "x" }\n'),
        "mm",
    ),
    "low": (_case(HOLE, '[vice]\nfixed_jaw = "towards you"\n', stock="size = [60, 40, 6]"), "mm"),
}
ON_TABLE = """[table]
size = [700, 300]
slots = { width = 14, pitch = 50 }
"""
BED = (
    '[[hole]]\nname = "a"\ndrill = 6\nat = [[60, 40], [200, 160]]\ndepth = "through"\n'
    '[[setup]]\nface = "top"\n'
)
CASES |= {
    "drawn into a hole": (_case(THROUGH, material="brass"), "mm"),
    "reamed by hand": (_case(THROUGH, "[drawer]\nreamers = [{ size = 6, type = 'hand' }]\n"), "mm"),
    "under straps": (_case(BED, ON_TABLE, stock="size = [240, 200, 10]"), "mm"),
    "under two straps, not in slots": (
        _case(
            BED
            + 'hold = "straps"\npacking = 8\nstraps = [{ at = [120, 6] }, { at = [120, 194] }]\n',
            stock="size = [240, 200, 10]",
        ),
        "inch",
    ),
    "disc under straps": (
        _case(
            HOLE.replace("20, 10", "2, 3") + '[[setup]]\nface = "top"\nhold = "straps"\n',
            stock=DISC["stock"].replace("40", "110"),
            datum=DISC["datum"],
        ),
        "mm",
    ),
    "against an angle plate": (
        _case(
            BED.replace("[200, 160]", "[90, 20]") + 'hold = "angle plate"\n',
            stock="size = [110, 60, 60]",
        ),
        "mm",
    ),
}
CLOSE = (
    HOLE.replace("depth = 5", "depth = 5\ntolerance = 0.02\nspot = false")
    + '[[hole]]\nname = "b"\ndrill = 5\nspot = false\nat = [40, 10]\ndepth = 5\n'
)
PIECES = {"several": 3, "several, two drills": 40}
CASES |= {"several": (_case(THROUGH), "mm"), "several, two drills": (_case(CLOSE), "inch")}
MINE = {one.slug for group in wording("setting").values() for one in group.templates}


@cache
def laid_out(name: str, form: str = "json") -> tuple[Any, Document]:
    """The sheet of a case; but for JSON as it is printed."""
    make, units = CASES[name]
    wanted = SHEETS["listing"](make(), Asked(units=units, pieces=PIECES.get(name)))  # type: ignore[arg-type]
    document, _ = wanted.lay_out()
    return wanted, document if form == "json" else folded(document)


def is_stopped(wanted: Any, document: Document, form: str) -> bool:
    mark = sheet_mark(wanted.name, form, wanted.prepared.part.name, None)
    try:
        data = sealed(wanted.written(document, form), mark)
    except ValueError:  # one name for two values in JSON is not written
        return True
    return has_stop(wanted.disagreements(data, form, "the sheet"))


@cache
def met_first(form: str) -> dict[str, list[tuple[str, str]]]:
    """Case to the slots that none before it says."""
    seen: set[tuple[str, str]] = set()
    found = {}
    for name in CASES:
        _, document = laid_out(name, form)
        here = [one for one in slots_in(document) if one[0] in MINE and one not in seen]
        seen |= {*here}
        found[name] = here
    return found


def is_of_lines_only(slug: str, slot: str) -> bool:
    """JSON has no heads, and readings by the names of their slips."""
    kinds = {one.name: one.kind for one in templates("listing")[slug].slots}
    return slug.endswith(" head") or kinds.get(slot) == "reading"


@pytest.mark.parametrize("form", ["text", "json"])
@pytest.mark.parametrize("name", CASES)
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    wanted, document = laid_out(name, form)
    assert wanted.disagreements(sealed(wanted.written(document, form), ""), form, "sheet") == []
    handed_over = [
        (slug, slot)
        for slug, slot in met_first(form)[name]
        if not question_of(document, slug, slot).startswith("not compared")
        and not (form == "json" and is_of_lines_only(slug, slot))
        and not is_stopped(wanted, with_slot_changed(document, slug, slot), form)
    ]
    assert handed_over == []


@pytest.mark.parametrize("name", CASES)
def test_a_sentence_left_out_is_missed(name: str) -> None:
    wanted, document = laid_out(name, "text")
    slugs = {one.slug for one in sentences_of(document) if " head" not in one.slug} & MINE
    handed_over = [
        slug for slug in sorted(slugs) if not is_stopped(wanted, without(document, slug), "text")
    ]
    assert handed_over == []


def test_every_slot_is_said_here() -> None:
    seen = set()
    firsts = [*met_first("text").values(), *met_first("json").values()]
    for slug, slot in [one for here in firsts for one in here]:
        outer, _, inner = slot.partition(".")
        parts = {one.name: one.part for one in templates("listing")[slug].slots}
        seen.add((parts[outer], inner) if inner else (slug, slot))
    wanted = {
        (slug, slot.name)
        for slug in questions_in("setting").keys() - RARE.keys()
        if not slug.startswith(("stack-", "carry-", "layer", "over-pins"))  # test_stacks
        for slot in templates("setting")[slug].slots
        if not slot.counts and not slot.part
    }
    assert sorted(wanted - seen - ELSEWHERE) == []


ELSEWHERE = {
    ("turn", "_jaw"), ("turn", "_wipe"), ("place", "_zone"), ("turn", "stays"), ("touch", "_below"),
    ("check head", "one_turn"), ("check face", "one_turn"), ("check holes", "one_turn"),
    ("zero-on-centre", "finder_rpm"),
}  # fmt: skip
"""A turn of the handle is told on dial sheets. Words with one sound value in pieces that may be
left out: see the test below. And no two setups of a part lie alike."""


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("now against the fixed jaw", "now against the moving jaw"),
        ("the chuck, BOTTOM on", "the chuck, TOP on"),
        ("against the fixed jaw", "against the moving jaw"),
        ("below the jaw tops", "above the jaw tops"),
        ("below the top", "above the top"),
        ("dia 0.05", "radius 0.05"),
    ],
)
def test_a_word_that_is_never_otherwise_is_asked_too(good: str, bad: str) -> None:
    for name in ("rich", "disc", "noted", "bar in flat jaws", "bar in vee blocks"):
        wanted, document = laid_out(name)
        text = wanted.written(document, "text")
        broken, count = re.subn(re.escape(good).replace(r"\ ", r"\s+"), bad, text, count=1)
        if count:
            data = sealed(broken, "")
            assert has_stop(wanted.disagreements(data, "text", "sheet"))
            return
    raise AssertionError(f"nobody says {good}")


NAMED = [
    ("rich", '"degrees": 180', '"degrees": 90'),
    ("rich", '"from_setup": 1', '"from_setup": 2'),
    ("rich", '"down": "bottom"', '"down": "top"'),
    ("rich", '"stop_side": "left hand"', '"stop_side": "right hand"'),
    ("rich", '"height_mm": ', '"height_mm": 1'),
    ("rich", '"touch_off": "top"', '"touch_off": "rim"'),
    ("rich", '"axis": "x",\n', '"axis": "y",\n'),
    ("rich", '"radius-left-out": ', '"radius-left-out": 1'),
    ("strapped", '"from": [', '"from": [1'),
    ("strapped", '"down": "bottom"', '"down": "top"'),
    ("disc", '"with": "clock"', '"with": "finder"'),
]


@pytest.mark.parametrize(("name", "good", "bad"), NAMED)
def test_what_json_has_beyond_the_words_is_asked(name: str, good: str, bad: str) -> None:
    wanted, document = laid_out(name)
    text = wanted.written(document, "json")
    assert good in text
    data = sealed(text.replace(good, bad, 1), "")
    assert has_stop(wanted.disagreements(data, "json", "sheet"))
