"""Findings are fields: merged by them, and made into sentences in the units of their file."""

import re

import pytest
from jobs import checked, plan_of

from millprep.base.findings import Cure, Finding, once_over_setups, warning, words
from millprep.base.records import replace
from millprep.checks import run_checks, told_once, with_cures
from millprep.planning import Plan

SHOP = 'base = "inch"'
BLOCK = "size = [60, 40, 20]"
INCH_BLOCK = "size = [2.5, 1.5, 0.75]"
ROW = (
    '[[hole]]\nname = "h"\ndrill = 6\ndepth = 8\n'
    "row = { start = [10, 3.5], step = [12, 0], count = 3 }\n"
)


def of_kind(plan: Plan, kind: str) -> list[Finding]:
    return [one for one in checked(plan) if one.kind == kind]


def test_findings_come_without_cures_and_get_them_on_request() -> None:
    plan = plan_of(ROW, BLOCK)
    alone = run_checks(plan)
    walls = [one for one in alone if one.kind == "thin-wall"]
    assert [one.holes for one in walls] == [("h 1",), ("h 2",), ("h 3",)]
    assert {one.cure for one in alone} == {None}
    assert walls[0].remedy == 'write allow = ["thin wall"]'
    cured = with_cures(plan, walls)
    assert all(one.cure is not None for one in cured)
    (told,) = told_once(plan.part, cured)
    assert (told.holes, told.count) == (("h 1", "h 2", "h 3"), 3)
    assert told.message == 'hole "h 1": wall to FRONT 0.50, should be 1.50 mm'
    assert told.remedy == 'move "h" (all 3) 1.00 mm towards BACK, or write allow = ["thin wall"]'


def test_like_findings_are_one_without_cures_too() -> None:
    plan = plan_of(ROW, BLOCK)
    (told,) = [one for one in told_once(plan.part, run_checks(plan)) if one.kind == "thin-wall"]
    assert (told.holes, told.count) == (("h 1", "h 2", "h 3"), 3)


INCH_CASES = [
    (
        "drill = 0.25\nat = [0.5, 0.15]\ndepth = 0.25",
        'hole "a": wall to FRONT 0.025, should be 0.062 in',
        'move "a" 0.038 in towards BACK, or write allow = ["thin wall"]',
    ),
    (
        "tap = '1/4-20'\nat = [1.0, 0.75]\ndepth = 0.5\ndrill_depth = 0.5",
        'hole "a": drilled 0.500 in deep; for 0.500 in of full thread the tap goes to 0.600 in',
        "drill 0.650 in deep, or ask for 0.350 in of thread",
    ),
    (
        "drill = 0.25\nat = [1.0, 0.75]\ndepth = 0.5\npeck = 0.002",
        'hole "a": pecks of 0.002 in are 287 pecks to 0.58 in deep',
        "peck = 0.004 or more, or leave it out for the schedule",
    ),
]


@pytest.mark.parametrize(("hole", "message", "remedy"), INCH_CASES)
def test_an_inch_file_is_spoken_of_in_inches(hole: str, message: str, remedy: str) -> None:
    plan = plan_of(f'[[hole]]\nname = "a"\n{hole}\n', INCH_BLOCK, units="inch", shop=SHOP)
    assert (message, remedy) in [(one.message, one.remedy) for one in checked(plan)]


def test_no_millimetres_are_left_in_what_is_said_of_an_inch_file() -> None:
    """Jaws, parallels, obstacles and flutes of the shop are spoken of in the file's units too."""
    setup = (
        '[[setup]]\nface = "top"\nvice = { grip = 0.9 }\n[[setup.obstacle]]\nname = "clamp"\n'
        "from = [0.4, 0.4, -1]\nto = [0.6, 0.6, 0.5]\n"
    )
    hole = '[[hole]]\nname = "a"\ndrill = 0.25\nat = [0.5, 0.5]\ndepth = "through"\n'
    said = [
        f"{one.message} {one.remedy}"
        for one in checked(plan_of(hole + setup, INCH_BLOCK, units="inch", shop=SHOP))
    ]
    assert any("a grip of 0.9 in on 0.75 in" in words for words in said)
    assert any('"clamp", up to Z 0.5, is in the way' in words for words in said)
    assert not [words for words in said if re.search(r"\d mm\b", words)]


def test_moves_that_are_alike_name_their_holes() -> None:
    """Six holes moved alike: four by name, and how many more."""
    names = tuple(f"h {n}" for n in range(1, 7))
    said = words("move {who} {figure_mm} towards {side}", figure_mm=1.5, side="BACK")
    cure = Cure("move", names, ((0.0, 1.5, 0.0),) * 6, said=said)
    assert cure.shown("mm") == (
        'move "h 1", "h 2", "h 3", "h 4" and 2 more each 1.50 mm towards BACK'
    )


def test_names_with_braces_are_shown_as_they_are() -> None:
    finding = Finding("stop", "thin-wall", words("hole {0}: {x}", x="{0}"), holes=("{a}",))
    assert finding.message == 'hole "{a}": {0}'


def test_what_is_said_of_several_setups_is_read_once() -> None:
    low = warning("small-grip", "setup {setup}: the jaws hold {grip_mm}", "hold more")
    one, two, other = (
        replace(low.of(setup=number, grip_mm=grip), setup=number)
        for number, grip in ((1, 2.0), (2, 2.0), (3, 4.0))
    )
    told = once_over_setups([one, other, two])
    assert [each.message for each in told] == [
        "setups 1, 2: the jaws hold 2.00 mm",
        "setup 3: the jaws hold 4.00 mm",
    ]
    assert told[0].remedy == "hold more"
    lost = Finding("stop", "unknown-word", "there is no such hole")
    assert once_over_setups([lost, lost]) == [lost]  # of no setup
