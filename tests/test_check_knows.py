"""`check` knows what the sheets and the dry run know: nothing that it passes is refused afterwards.

And a remedy that it prints works when it is written into the file.
"""

import json
import os
import random
import re
from pathlib import Path

import pytest
from checked_and_handed_over import refused
from jobs import checked, millprep, part_of, plan_of
from mistakes import random_case
from shares import share_of

from millprep.base.findings import Finding
from millprep.base.kinds import KINDS, NEVER_MEANT
from millprep.reference.materials import material_named
from millprep.reference.shared_rules import before_reamer, before_tap

SEED = int(os.environ.get("MILLPREP_SEED", "1"))
BATCHES, PER_BATCH = 10, 10


@pytest.mark.parametrize("batch", share_of(BATCHES))
def test_what_check_passes_is_handed_over(batch: int, tmp_path: Path) -> None:
    first = SEED + batch * PER_BATCH
    print(f"seeds {first} to {first + PER_BATCH - 1}; MILLPREP_SEED moves them")
    for seed in range(first, first + PER_BATCH):
        assert refused(random_case(random.Random(seed)), tmp_path) == [], f"seed {seed}"


def test_some_parts_pass_and_some_do_not(tmp_path: Path) -> None:
    """Else the test above would ask nothing."""
    statuses = []
    for seed in range(SEED, SEED + 60):
        case = random_case(random.Random(seed))
        part, shop = tmp_path / "part.toml", tmp_path / "shop.toml"
        part.write_text(case.part, encoding="utf-8")
        shop.write_text(case.shop, encoding="utf-8")
        named = str(shop) if "[" in case.shop else case.shop
        statuses.append(millprep("check", str(part), "--shop", named).status)
    assert 8 < statuses.count(0) < 52
    assert statuses.count(2) < 6  # what its reader refuses


@pytest.mark.parametrize(
    ("shop", "commands", "message"),
    [
        (
            '[control]\ncodes = ["G0", "G1"]',
            ["program"],
            "no program: the control is listed without G43, M3, M5, M6, M30",
        ),
        ("[dials]\nfitted = false", ["dials"], "no dials: the shop file has no dial for X and Y"),
        ("[readout]\nfitted = false", ["listing", "bench"], "no listing: the mill has no readout"),
    ],
)
def test_what_the_shop_cannot_have_is_a_note_once_and_refused_when_asked_for(
    shop: str, commands: list[str], message: str, in_folder: Path
) -> None:
    Path("a.toml").write_text(
        f'part = "A"\nunits = "mm"\nmaterial = "brass"\n[stock]\n{BLOCK}\n{PIN}'
    )
    Path("shop.toml").write_text(shop)
    told = json.loads(millprep("check", "a.toml", "--shop", "shop.toml", "--format", "json").out)
    (finding,) = [one for one in told["findings"] if one["kind"] == "not-to-be-had"]
    assert (finding["severity"], finding["sheets"]) == ("note", commands)
    assert finding["message"] == message
    for command in ("listing", "dials", "bench", "program", "markout"):
        into = ["-o", f"{command}.html"] if command in {"bench", "program"} else []
        ran = millprep(command, "a.toml", "--shop", "shop.toml", *into)
        assert ran.status == (2 if command in commands else 0), ran.err
        assert (f"stop: {message}" in ran.err) == (command in commands)


BLOCK = "size = [80, 50, 20]"
PIN = '[[hole]]\nname = "pin"\ndrill = 6\nat = [20, 20]\ndepth = "through"\n'
REAMED = '[[hole]]\nname = "pin"\nream = 6\nat = [20, 20]\ndepth = 10\n'
TAPPED = '[[hole]]\nname = "pin"\ntap = "M6"\nat = [20, 20]\ndepth = 8\n'
SETUP = '[[setup]]\nface = "top"\n'
CLAMP = '[[setup.obstacle]]\nname = "clamp"\nfrom = [10, 10, 0]\nto = [30, 30, 15]\n'
OVER = SETUP + "vice = { grip = 8 }\n" + CLAMP
STRIPS = SETUP + "parallels = { thickness = 4, height = 20, at = [10, 46] }\n"

# (part, kind, severity, what is said, remedy, what is written instead of what)
CURED = {
    "backing": (
        PIN.replace("= 6", "= 12") + "breakthrough = 5\n" + SETUP + "backing = 3\n",
        "hits-fixture", "stop", "12 mm drill goes 5.61 mm into the table under 3 mm of backing",
        "give backing = 8.65 or more", ("backing = 3\n", "backing = 8.65\n"),
    ),
    "breakthrough": (
        PIN + "breakthrough = 5\n" + SETUP + "backing = 5\n",
        "hits-fixture", "stop", "6 mm drill goes 1.80 mm into the table",
        "or breakthrough = 3.15 or less", ("through = 5", "through = 3.15"),
    ),
    "nothing known": (
        PIN + "breakthrough = 9\n",
        "below-underside", "stop", "goes 10.80 mm below the part, and nothing says what is there",
        "breakthrough = 5 or less, or describe", ("through = 9", "through = 5"),
    ),
    "parallels too low": (
        PIN + STRIPS.replace("20, at", "2, at"),
        "hits-fixture", "stop", "goes 0.80 mm into the vice bed under parallels 2 mm high",
        "give parallels 2.85 mm high or more", ("height = 2,", "height = 12,"),
    ),
    "clamp over it": (
        PIN + OVER,
        "hits-fixture", "stop", '"clamp", up to Z 15, is in the way of "pin": spot drill 90 deg, '
        "10 mm comes down on it",
        "or begin at X 25 mm or beyond it", ("from = [10, 10, 0]", "from = [25, 10, 0]"),
    ),
    "safe height": (
        PIN + SETUP + "vice = { grip = 8 }\nsafe_height = 12\n"
        + CLAMP.replace("[10,", "[40,").replace("[30,", "[60,"),
        "safe-height-low", "stop", 'the clear height of 12 mm is below the top of "clamp" at 15',
        "give safe_height = 20, or leave it out", ("height = 12", "height = 20"),
    ),
    "grip over the part": (
        PIN + SETUP + "vice = { grip = 30 }\n",
        "jaws-too-high", "stop",
        "a grip of 30 mm on 20 mm: the jaws would stand 10.00 mm above TOP",
        "give a grip of 18 mm or less", ("grip = 30", "grip = 18"),
    ),
    "grip of the whole part": (
        PIN + SETUP + "vice = { grip = 20 }\n",
        "jaws-too-high", "stop", "a grip of 20 mm on 20 mm: the jaws would be level with TOP",
        "give a grip of 18 mm or less", ("grip = 20", "grip = 18"),
    ),
    "grip over parallels": (
        PIN + STRIPS + "vice = { grip = 12 }\n",
        "jaws-too-high", "stop",
        "a grip of 12 mm over parallels 20 mm high: the jaws are 30 mm high",
        "give a grip of 10 mm or less", ("grip = 12", "grip = 10"),
    ),
    "parallels as high as the jaws": (
        PIN + STRIPS.replace("20, at", "30, at"),
        "jaws-too-high", "stop", "parallels 30 mm high in jaws of 30 mm: nothing is held",
        "give parallels 22 mm high or less", ("height = 30", "height = 22"),
    ),
    "jaws over a low part": (
        PIN + STRIPS.replace("20, at", "6, at"),
        "jaws-too-high", "warning", "over parallels 6 mm high the jaws, 30 mm high, stand 4.00 mm "
        "above TOP",
        "give parallels 10 mm high or more", ("height = 6", "height = 10"),
    ),
    "hardly held": (
        PIN + SETUP + "vice = { grip = 1 }\n",
        "small-grip", "warning", "only 1 of 20 mm is in the jaws, next to nothing",
        "hold 3 mm or more", ("grip = 1", "grip = 3"),
    ),
    "parallel in a jaw": (
        PIN + STRIPS.replace("46]", "48]"),
        "parallel-beside-part", "stop",
        "the parallel at Y 48 to 52 mm stands out from under the part, in a jaw: the part is "
        "from 0 to 50",
        "stand them at 0 and 46 mm", ("at = [10, 48]", "at = [0, 46]"),
    ),
    "parallel close by": (
        PIN + STRIPS.replace("[10,", "[12.95,"),
        "near-parallel", "warning",
        'hole "pin" comes through 0.05 mm beside the parallel at Y 12.95 to 16.95 mm',
        "stand them at 0 and 46 mm", ("at = [12.95, 46]", "at = [0, 46]"),
    ),
    "nothing to ream": (
        REAMED + 'drills = ["6 mm"]\n',
        "hole-wrong-for-tool", "stop", "drilled 6 mm, nothing is left to ream to 6 mm",
        "end with 5.8 mm", ('["6 mm"]', '["5.8 mm"]'),
    ),
    "over a 32nd to ream": (
        REAMED + 'drills = ["5.2 mm"]\n',
        "hole-wrong-for-tool", "stop", "drilled 5.2 mm, 0.80 mm is left to ream, over 1/32 in",
        "end with 5.8 mm", ('["5.2 mm"]', '["5.8 mm"]'),
    ),
    "much to ream": (
        REAMED + 'drills = ["5.4 mm"]\n',
        "hole-wrong-for-tool", "warning",
        "drilled 5.4 mm, 0.60 mm is left to ream, more than a reamer likes",
        "end with 5.8 mm", ('["5.4 mm"]', '["5.8 mm"]'),
    ),
    "an earlier drill too large": (
        REAMED + 'drills = ["3 mm", "5.9 mm", "6 mm"]\n',
        "hole-wrong-for-tool", "stop", "drilled 6 mm, nothing is left to ream to 6 mm",
        'drills = ["3 mm", "5.8 mm"]', ('["3 mm", "5.9 mm", "6 mm"]', '["3 mm", "5.8 mm"]'),
    ),
    "out of order and too large": (
        TAPPED + 'drills = ["6.8 mm", "3 mm"]\n',
        "wrong-drills", "stop", "after 6.8 mm comes 3 mm, which is not larger",
        'drills = ["3 mm", "5 mm"]', ('["6.8 mm", "3 mm"]', '["3 mm", "5 mm"]'),
    ),
    "parallels too high for a drill far through": (  # 17 and 3.6 of point come out: 22.6 of room
        PIN.replace("= 6", "= 12") + "breakthrough = 17\n" + STRIPS.replace("20, at", "31, at"),
        "jaws-too-high", "stop", "parallels 31 mm high in jaws of 30 mm: nothing is held",
        "give parallels 27 mm high or less", ("height = 31", "height = 27"),
    ),
    "hardly held over high parallels": (
        PIN + STRIPS.replace("20, at", "28.5, at") + "vice = { grip = 1 }\n",
        "small-grip", "warning", "only 1 of 20 mm is in the jaws, next to nothing",
        "give parallels 27 mm high or less, and hold 3 mm or more",
        ("28.5, at = [10, 46] }\nvice = { grip = 1 }", "27, at = [10, 46] }\nvice = { grip = 3 }"),
    ),
    "hundreds of pecks of the last drill": (
        PIN.replace("= 6", "= 8") + 'drills = ["5.8 mm"]\npeck = 0.06\n',
        "peck-too-small", "stop", "pecks of 0.06 mm are 390 pecks to 23.4 mm deep",
        "peck = 0.15 or more", ("peck = 0.06", "peck = 0.15"),
    ),
    "no thread": (
        TAPPED + 'drills = ["6 mm"]\n',
        "hole-wrong-for-tool", "stop", "drilled 6 mm, nothing is left for M6 to cut",
        "end with 5 mm", ('["6 mm"]', '["5 mm"]'),
    ),
    "under the core": (
        TAPPED + 'drills = ["4 mm"]\n',
        "hole-wrong-for-tool", "stop",
        "drilled 4 mm, M6 has 163 % of a thread (1.2269 P): more than the whole",
        "end with 5 mm", ('["4 mm"]', '["5 mm"]'),
    ),
    "a little left to ream": (
        REAMED + 'drills = ["5.9 mm"]\n',
        "hole-wrong-for-tool", "warning",
        "drilled 5.9 mm, 0.10 mm is left to ream, and the drill cuts over its size: the reamer",
        "end with 5.8 mm", ('["5.9 mm"]', '["5.8 mm"]'),
    ),
    "nine tenths of a thread": (
        TAPPED + 'drills = ["4.9 mm"]\n',
        "hole-wrong-for-tool", "warning",
        "drilled 4.9 mm, M6 has 90 % of a thread (1.2269 P): hard on the tap",
        "end with 5 mm", ('["4.9 mm"]', '["5 mm"]'),
    ),
    "two fifths of a thread": (
        TAPPED + 'drills = ["5.5 mm"]\n',
        "hole-wrong-for-tool", "warning", "drilled 5.5 mm, M6 has 41 % of a thread (1.2269 P)",
        "end with 5 mm", ('["5.5 mm"]', '["5 mm"]'),
    ),
    "larger than the hole": (
        PIN + 'drills = ["3 mm", "8 mm"]\n',
        "wrong-drills", "stop", "the last of its drills is 8 mm, and the hole 6 mm",
        'drills = ["3 mm"]: its own size comes last by itself', ('["3 mm", "8 mm"]', '["3 mm"]'),
    ),
    "out of order": (
        REAMED + 'drills = ["5.7 mm", "3 mm"]\n',
        "wrong-drills", "stop", "after 5.7 mm comes 3 mm, which is not larger",
        'drills = ["3 mm", "5.7 mm"]', ('["5.7 mm", "3 mm"]', '["3 mm", "5.7 mm"]'),
    ),
    "nothing to bore": (
        PIN.replace("drill = 6", "bore = 14") + 'drills = ["14 mm"]\n',
        "wrong-drills", "stop", "drilled 14 mm, nothing is left to bore to 14 mm",
        'drills = ["13 mm"]', ('["14 mm"]', '["13 mm"]'),
    ),
    "hundreds of pecks": (
        PIN + "peck = 0.06\n",
        "peck-too-small", "stop", "pecks of 0.06 mm are 380 pecks to 22.8 mm deep",
        "peck = 0.15 or more, or leave it out", ("peck = 0.06", "peck = 0.15"),
    ),
    "never lifted": (
        PIN.replace("= 6", "= 2.5") + 'peck = "none"\n',
        "deep-peck", "warning", "a bite of 21.00 mm with 2.5 mm drill; the schedule allows 5.00 mm",
        "leave peck out for the schedule", ('peck = "none"\n', ""),
    ),
}  # fmt: skip


def told(holes: str, kind: str, **more: str) -> list[Finding]:
    plan = plan_of(holes, more.pop("stock", BLOCK), **more)
    return [one for one in checked(plan) if one.kind == kind]


@pytest.mark.parametrize("case", CURED.values(), ids=list(CURED))
def test_what_is_said_and_that_its_remedy_works(
    case: tuple[str, str, str, str, str, tuple[str, str]],
) -> None:
    holes, kind, severity, words, remedy, (wrong, right) = case
    (found,) = told(holes, kind)
    assert found.severity == severity
    assert words in found.message
    assert remedy in found.remedy
    assert holes.count(wrong) == 1
    cured = [
        one
        for one in checked(plan_of(holes.replace(wrong, right), BLOCK))
        if one.kind == kind or one.severity == "stop"
    ]
    assert cured == []


def test_figures_of_a_remedy_are_in_the_units_of_the_file() -> None:
    holes = '[[hole]]\ndrill = "12 mm"\nat = [1, 1]\ndepth = "through"\nbreakthrough = 0.2\n'
    (found,) = told(
        holes + SETUP + "backing = 0.12\n",
        "hits-fixture",
        units="inch",
        stock="size = [3, 2, 0.75]",
    )
    (figure,) = re.findall(r"backing = ([\d.]+) or more", found.remedy)
    assert (
        told(
            holes + SETUP + f"backing = {figure}\n",
            "hits-fixture",
            units="inch",
            stock="size = [3, 2, 0.75]",
        )
        == []
    )


@pytest.mark.parametrize("kind", ["wrong drills", "hole wrong for tool", "hits fixture"])
def test_no_allow_takes_back_what_the_dry_run_would_refuse(kind: str) -> None:
    allow = f'allow = ["{kind}"]\n'
    holes = {
        "wrong drills": PIN + 'drills = ["8 mm"]\n' + allow,
        "hole wrong for tool": REAMED + 'drills = ["6 mm"]\n' + allow,
        "hits fixture": PIN + allow + OVER,
    }[kind]
    assert [one.severity for one in told(holes, kind.replace(" ", "-"))] == ["stop"]


def test_a_warning_may_be_meant() -> None:
    holes = TAPPED + 'drills = ["5.5 mm"]\nallow = ["hole wrong for tool"]\n'
    assert [one.severity for one in told(holes, "hole-wrong-for-tool")] == ["note"]


def test_kinds_that_are_never_meant_are_kinds() -> None:
    assert set(KINDS) >= NEVER_MEANT


def test_a_key_of_the_defaults_is_the_line_that_is_named() -> None:
    text = "[defaults]\nbreakthrough = 9\n" + PIN
    hole = part_of(text, BLOCK).holes[0]
    (found,) = told(text, "below-underside")
    assert found.line == hole.lines["breakthrough"] != hole.line


TOOL = '[[tool]]\nnumber = 3\nkind = "drill"\ndiameter = 6\nlength = 90\n'


def test_flutes_and_holder_of_the_tool_table_count() -> None:
    (found,) = told(PIN, "deeper-than-flutes", shop=TOOL + "flute = 20\n")
    assert "tool 3 of the tool table, 6 mm drill, needs 22.8 of flute" in found.message
    held = TOOL + "reach = 15\nholder = { diameter = 30, length = 40 }\n"
    (found,) = told(PIN, "holder-hits", shop=held)
    assert "goes 7.80 mm into the part" in found.message
    assert told(PIN, "holder-hits", shop=held.replace("reach = 15", "reach = 23")) == []


def test_a_holder_that_is_known_meets_the_clamp_beside_the_hole() -> None:
    beside = OVER.replace("[10, 10", "[30, 10").replace("[30, 30", "[50, 30")
    held = TOOL + "reach = 30\nholder = { diameter = 40, length = 40 }\n"
    (found,) = told(PIN + beside, "holder-hits", shop=held)
    assert "the holder of tool 3, 6 mm drill, goes 7.80 mm into clamp" in found.message


def test_stock_before_a_reamer() -> None:
    """Over 1/32 in never (Applied Science for Metal-Workers); the table's 0.3 mm by 1.5."""
    before = before_reamer(6.0)
    assert before.least_mm == pytest.approx(6 - 0.79375)
    assert before.usual_least_mm == pytest.approx(5.55)
    assert before_reamer(6.0, material_named("aluminium")).usual_least_mm == pytest.approx(5.325)


def test_hole_before_a_tap_of_any_form() -> None:
    """M6: half of 1.2269 P leaves 5.387 mm (ISO 68-1 gives the thread's depth)."""
    before = before_tap(6.0, 1.0)
    assert before.usual_most_mm == pytest.approx(5.387, abs=0.001)
    assert before.most_mm == pytest.approx(5.6)
