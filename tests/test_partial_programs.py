"""Proving runs, spots alone, one tool alone, restarts, holes left out: written, judged, broken.

A restart is held against the program itself by their moves alone: what the program does up to the
place where it was interrupted, and what the restart does, are what the program does.
"""

import math
import os
import random
import re
from collections import Counter
from pathlib import Path

import pytest
from control_descriptions import NAMED, TRIAL, description
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, Ran, millprep, part_text, shop_of
from numpy.testing import assert_allclose

from millprep.base.findings import Finding, MillprepError
from millprep.infiles import read_part, read_shop
from millprep.model.part import Part
from millprep.model.partial import Partial
from millprep.model.shop import Shop
from millprep.planning import MACHINE_ORDER, Operation, Plan, SetupPlan
from millprep.planning.programs import why_by_hand
from millprep.proven.dryrun import dry_run
from millprep.proven.preparation import prepare
from millprep.proven.program import Program, programs
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate
from millprep.reading.simulate.record import fresh_record
from millprep.setting.fixtures import clamped_scene

SPLITS = int(os.environ.get("MILLPREP_SPLITS", "5"))
RING = """
[[hole]]
name = "ring"
tap = "M5"
depth = 8
row = { start = [10, 10], step = [11, 5], count = 6 }
[[hole]]
name = "pivot"
ream = "6 mm"
at = [20, 35]
depth = "through"
"""


def part_in(folder: Path, holes: str = TRIAL) -> Part:
    path = folder / "part.toml"
    path.write_text(part_text(holes, RICH_STOCK), encoding="utf-8")
    return read_part(path)[0]


def shop_in(folder: Path, control: dict[str, str]) -> Shop:
    path = folder / "shop.toml"
    path.write_text("[control]\n" + "".join(f"{key} = {value}\n" for key, value in control.items()))
    return read_shop(str(path))


def written(
    folder: Path, part: Part, shop: Shop, setup: int | None = None, **asked: object
) -> list[Program]:
    """The programs, in the folder with their cards."""
    wanted = Partial(**asked) if asked else None  # type: ignore[arg-type]
    made = programs(part, shop, setup=setup, file=folder / "out.nc", asked=wanted)
    assert not [one for one in made.findings if one.severity == "stop"], made.findings
    for one in made.files:
        for path, data in one.written().items():
            path.write_bytes(data)
    return list(made.files)


def amiss(files: list[Path], part: Part, shop: Shop, setup: int = 1) -> list[Finding]:
    report = dry_run(files, part, shop, setup=setup)
    return [one for one in report.findings if one.severity != "note"]


def powered(plan: Plan, setup_plan: SetupPlan) -> list[Operation]:
    return [one for one in setup_plan.operations if why_by_hand(one, plan) is None]


# a restart beside the program itself


Done = tuple[int, str, float]
"""Tool, hole, and the tip at its deepest."""


def strokes(texts: list[bytes], plan: Plan, setup_plan: SetupPlan) -> list[tuple[Done, int, int]]:
    """What programs do, in order: tool, place and depth, the program's number and the line."""
    control, mill = plan.shop.control, plan.shop.mill
    scene = clamped_scene(plan.part, plan.shop, setup_plan.setup, setup_plan.holding)
    tools = {number: tool for tool, number in plan.tool_numbers.items()}
    record, system = fresh_record(scene), scene.work_offset
    for index, text in enumerate(texts):
        file = str(index)
        run = read_program(text, control, file=file, plan_tools=tools, stock_system=system)
        simulate(run, scene, mill, control, file=file, record=record)
    places = {one.hole.name: (one.x_mm, one.y_mm) for one in setup_plan.operations}
    found = []
    for hole in record.holes():
        at = (hole.x_mm, hole.y_mm)
        name = min(places, key=lambda name, at=at: math.dist(places[name], at))  # type: ignore[misc]
        for one in hole.operations:
            what = (one.tool_number or 0, name, round(one.tip_mm, 3))
            found.append((what, int(one.file or 0), one.line or 0))
    return sorted(found, key=lambda each: each[1:])


NAMES = [name for name in NAMED if "card" not in name and name not in ("no comments", "few codes")]


@pytest.mark.parametrize("index", range(len(EXAMPLE_PARTS)))
def test_what_came_before_and_the_restart_are_the_whole(tmp_path: Path, index: int) -> None:
    """Cut off before the line of the operation at which the restart begins."""
    part = read_part(EXAMPLE_PARTS[index])[0]
    shop = shop_in(tmp_path, NAMED[NAMES[index % len(NAMES)]])
    plan = prepare(part, shop, MACHINE_ORDER, cures=False).plan
    setup_plan = max(plan.setups, key=lambda one: len(powered(plan, one)))
    setup, made = setup_plan.setup.number, powered(plan, setup_plan)
    whole = [one.data for one in written(tmp_path, part, shop, setup)]
    all_done = strokes(whole, plan, setup_plan)
    first = made[1] if index % 2 else made[len(made) // 2]
    tool, name = plan.tool_numbers[first.tool], first.hole.name
    files = written(tmp_path, part, shop, setup, from_tool=tool, from_hole=name)
    begins = min(each for (its, hole, _), *each in all_done if (its, hole) == (tool, name))
    before = [at for at, *each in all_done if each < begins]
    after = [at for at, _, _ in strokes([one.data for one in files], plan, setup_plan)]
    assert before and after
    assert Counter(before) + Counter(after) == Counter(at for at, _, _ in all_done)
    assert not amiss([one.path for one in files], part, shop, setup)


@pytest.mark.parametrize("seed", range(SPLITS))
def test_a_part_of_it_under_a_control_at_random(tmp_path: Path, seed: int) -> None:
    """Any place to go on from, any holes left out, any of the other kinds: judged without a stop or
    warning, or told as not to be had."""
    chance = random.Random(seed)
    part = part_in(tmp_path, chance.choice([TRIAL, RING]))
    try:
        shop = shop_in(tmp_path, description(seed + 40))
    except MillprepError:
        return
    plan = prepare(part, shop, MACHINE_ORDER, cures=False).plan
    made = powered(plan, plan.setups[0])
    first = chance.choice(made[1:])
    tool, name = plan.tool_numbers[first.tool], first.hole.name
    ways: list[dict[str, object]] = [
        {"from_tool": tool, "from_hole": name},
        {"tool": tool},
        {"spots_only": True},
        {"prove_mm": 40.0, "is_turning": chance.random() < 0.5},
        {"from_tool": tool, "from_hole": name, "prove_mm": 40.0},
    ]
    others = [one.hole.name for one in made if one.hole.name != name]
    for asked in chance.sample(ways, 2):
        if chance.random() < 0.5:
            asked["leave_out"] = (chance.choice(others),)
        try:
            files = written(tmp_path, part, shop, **asked)
        except MillprepError as error:
            assert {one.kind for one in error.findings} <= {"not-to-be-had", "contradiction"}
            continue
        assert not amiss([one.path for one in files], part, shop), asked


# what the files say of themselves


def test_heads_and_names(tmp_path: Path) -> None:
    part, shop = part_in(tmp_path, RING), read_shop("metric")
    (proving,) = written(tmp_path, part, shop, prove_mm=30.0)
    assert proving.path.name == "out-prove30.nc"
    assert b"\n(PROVING RUN, 30 MM UP, CUTS NOTHING)\n(THE SPINDLE STAYS OFF)\n" in proving.data
    assert not re.search(rb"\bM3\b|\bG84\b", proving.data)
    (rest,) = written(tmp_path, part, shop, from_tool=2, from_hole="Ring 4")
    assert rest.path.name == "out-from-t02-ring-4.nc"
    assert b"\n(RESTART: MADE BEFORE: T1 ALL, T2 RING 1 TO RING 3)\n" in rest.data
    (spots,) = written(tmp_path, part, shop, spots_only=True)
    assert spots.path.name == "out-spots.nc"
    assert re.findall(rb"^T\d+", spots.data, re.M) == [b"T1"]
    (alone,) = written(tmp_path, part, shop, tool=3, leave_out=("ring 2", "ring 3"))
    assert alone.path.name == "out-only-t03-without-ring-2-without-ring-3.nc"
    assert b"(TOOL 3 ALONE: MADE BEFORE: T1 ALL, T2 ALL)\n" in alone.data
    assert b"(LEFT OUT, NOT MADE: RING 2, RING 3)\n" in alone.data


ROUND = """
[[hole]]
name = "sunk"
bore = 17.61
at = [25, 25]
depth = "through"
countersink = { diameter = 26, angle = 90 }
[[hole]]
name = "pin"
drill = 5
at = [60, 25]
depth = 10
"""
ROUND_SHOP = """[drawer]
countersinks = [{ diameter = 12.4, tip_flat = 2.8 }]
end_mills = [{ diameter = 12, flute = 40, centre_cutting = true, teeth = 2 }]
[control]
backlash = { x = 0.01, y = 0.01 }
"""


@pytest.mark.parametrize(("holes", "shop_text"), [(TRIAL, ""), (ROUND, ROUND_SHOP)])
def test_a_proving_run_is_the_program_so_much_higher(
    tmp_path: Path, holes: str, shop_text: str
) -> None:
    """Every Z and R of the lines behind the head, with the spindle turning all the same lines."""
    part, shop = part_in(tmp_path, holes), shop_of(shop_text)
    (whole,) = written(tmp_path, part, shop)
    (raised,) = written(tmp_path, part, shop, prove_mm=35.5, is_turning=True)
    assert not amiss([raised.path], part, shop)

    height, texts = (
        re.compile(r"\b([ZR])(-?[\d.]+)"),
        [one.data.decode().split("G17 ", 1)[1] for one in (whole, raised)],
    )
    lines, higher = ([height.sub(r"\1", line) for line in text.splitlines()] for text in texts)
    assert lines == higher
    heights, above = ([float(at) for _, at in height.findall(text)] for text in texts)
    assert_allclose(above, [at + 35.5 for at in heights], atol=0.0011)  # a digit of rounding


def test_a_restart_where_a_tool_goes_round(tmp_path: Path) -> None:
    part, shop = part_in(tmp_path, ROUND), shop_of(ROUND_SHOP)
    plan = prepare(part, shop, MACHINE_ORDER, cures=False).plan
    round_ones = [one for one in plan.setups[0].operations if one.helix is not None]
    assert [one.name for one in round_ones] == ["bore", "countersink"]
    for one in round_ones:
        (rest,) = written(tmp_path, part, shop, from_tool=plan.tool_numbers[one.tool])
        assert not amiss([rest.path], part, shop)
    (spots,) = written(tmp_path, part, shop, spots_only=True)
    assert not amiss([spots.path], part, shop)


def test_a_restart_stops_twice_before_anything_turns(tmp_path: Path) -> None:
    part, shop = part_in(tmp_path), read_shop("metric")
    (rest,) = written(tmp_path, part, shop, from_tool=6)
    opening = rest.data.decode().split("G54\n", 1)[1].split("S400 M3")[0]
    assert re.findall(r"G0 [^\n]*|M0 [^\n]*", opening) == [
        "G0 Z60.0",
        "M0 (RESTART: SEE THAT TOOL 6 REAMER 6 MM IS IN)",
        "G0 X48.0 Y12.0",
        "G0 Z10.0",
        "M0 (RESTART: OVER CAP, COUNTERBORED: SEE THAT THE TOOL STANDS OVER IT)",
        "G0 X30.0 Y20.0",
        "G0 Z10.0",
        "M0 (RESTART: OVER PIVOT: GO ON ONLY IF NO REAMER HAS BEEN IN IT)",
        "G0 Z10.0",
    ]


@pytest.mark.parametrize("name", ["quill by hand", "quill and spindle by hand"])
def test_a_proving_run_of_the_quill_by_hand_cuts_nothing(tmp_path: Path, name: str) -> None:
    part, shop = part_in(tmp_path), shop_in(tmp_path, NAMED[name])
    (whole,) = written(tmp_path, part, shop)
    (proving,) = written(tmp_path, part, shop, prove_mm=5.0)
    assert b"(PROVING RUN, QUILL STAYS UP, CUTS NOTHING)" in proving.data
    assert whole.data.count(b"M0") == proving.data.count(b"M0")
    stops = re.findall(rb"M0 \((.*DEPTH STOP.*|.*END AT.*)\)", proving.data)
    assert stops and all(one.startswith(b"PROVING, CUT NOTHING: ") for one in stops)
    assert not dry_run([proving.path], part, shop).report.holes


@pytest.mark.parametrize("name", ["nothing said", "quill by hand, a card"])
def test_a_proving_run_of_a_bore(tmp_path: Path, name: str) -> None:
    """Setup 3 of the cylinder block is bored in three passes."""
    part = read_part(next(path for path in EXAMPLE_PARTS if path.stem == "cylinder-block"))[0]
    shop = shop_in(tmp_path, NAMED[name])
    (proving,) = written(tmp_path, part, shop, 3, prove_mm=40.0)
    assert not amiss([proving.path], part, shop, 3)


def test_without_comments_the_card_tells(tmp_path: Path) -> None:
    part, shop = part_in(tmp_path, RING), shop_in(tmp_path, NAMED["no comments"])
    (rest,) = written(tmp_path, part, shop, from_tool=2, from_hole="ring 4")
    assert rest.card is not None and b"RESTART: MADE BEFORE: T1 ALL, T2 RING 1" in rest.card
    assert not amiss([rest.path], part, shop)
    assert rest.card_path is not None
    rest.card_path.unlink()
    assert amiss([rest.path], part, shop)  # taken for the whole program


def test_a_file_a_tool(tmp_path: Path) -> None:
    part, shop = part_in(tmp_path, RING), shop_in(tmp_path, NAMED["a file a tool"])
    files = written(tmp_path, part, shop, from_tool=3)
    assert [one.path.name for one in files] == [
        f"out-from-t03-setup1-tool{tool:02d}.nc" for tool in (3, 4, 5)
    ]
    assert [b"RESTART: OVER" in one.data for one in files] == [True, False, False]
    alone = written(tmp_path, part, shop, tool=2)
    told = amiss([alone[0].path, files[0].path], part, shop)
    assert "heads-differ" in {one.kind for one in told}


# what is found in them


def faults_of(
    folder: Path, old: str, new: str, control: dict[str, str], **asked: object
) -> set[str]:
    """The kinds of what is found once some text of the file is changed."""
    part, shop = part_in(folder, RING), shop_in(folder, control)
    (made,) = written(folder, part, shop, **asked)
    text = made.data.decode()
    changed = re.sub(old, new, text, count=1, flags=re.M)
    assert changed != text, old
    made.path.write_text(changed)
    return {one.kind for one in amiss([made.path], part, shop)}


_REST: dict[str, object] = {"from_tool": 2, "from_hole": "ring 4"}
_LOOK = r"^M0 \(RESTART: OVER.*\n"
BROKEN: list[tuple[str, str, str, dict[str, object]]] = [
    (r"RING 1 TO RING 3", "RING 1 TO RING 4", "made-again", _REST),
    (r"RING 1 TO RING 3", "RING 1, RING 2", "operation-missing", _REST),
    (r"T1 ALL, ", "", "operation-missing", _REST),
    (r"RING 1 TO RING 3", "RING 1 TO WING 3", "head-unclear", _REST),
    (r"^\(RESTART: MADE.*\n", "", "operation-missing", _REST),
    (_LOOK, "", "restart-unproven", _REST),
    (r"^(G0 X\S+) Y\S+\nG0 Z10.0\nM0 \(RESTART: OVER", r"\1 Y1.0\nG0 Z10.0\nM0 (RESTART: OVER",
     "restart-unproven", _REST),
    (r"^G0 Z10.0\nM0 \(RESTART: OVER", "G0 Z8.0\nM0 (RESTART: OVER", "restart-unproven", _REST),
    (_LOOK, r"M3 S2000\n\g<0>", "restart-unproven", _REST),
    (r"^G0 X\S+ Y\S+\nG0 Z10.0\nM0 \(RESTART: OVER RING 1: GO ON.*\n", "", "restart-unproven",
     {"from_tool": 5}),
    (r"RING 2\)$", "RING 3)", "left-out-entered", {"leave_out": ("ring 2",)}),
    (r"^\(LEFT OUT.*\n", "", "hole-missing", {"leave_out": ("ring 2",)}),
    (r"^G0 Z10.0\nS", r"G0 Z10.0\nG0 X10.0 Y35.0\nG0 Z3.0\nG0 X45.0 Y35.0\nG0 Z10.0\nS",
     "left-out-entered", {"leave_out": ("pivot",)}),
    (r" Z[\d.]+ R32.0", " Z-1.0 R32.0", "proving-cuts", {"prove_mm": 30.0}),
    (r" Z[\d.]+ R32.0 Q", " Z25.0 R32.0 Q", "too-shallow", {"prove_mm": 30.0}),
    (r"30 MM UP", "29 MM UP", "too-shallow", {"prove_mm": 30.0}),
    (r"^\(PROVING RUN.*\n", "", "hole-missing", {"prove_mm": 30.0}),
    (r"^\(SPOTS ONLY.*\n", "", "operation-missing", {"spots_only": True}),
    (r"TOOL 2 ALONE", "TOOL 3 ALONE", "operation-missing", {"tool": 2}),
]  # fmt: skip


@pytest.mark.parametrize("number", range(len(BROKEN)))
def test_what_is_broken_is_found(tmp_path: Path, number: int) -> None:
    old, new, kind, asked = BROKEN[number]
    assert kind in faults_of(tmp_path, old, new, {}, **asked)


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        ("PROVING, CUT NOTHING: RING 1, TOOL 2", "RING 1, TOOL 2", "proving-cuts"),
        ("NOTHING: RING 1, TOOL 2", "NOTHING: RING 2, TOOL 2", "quill-hole"),
        (r"(TOOL 2 DRILL 4.2 MM), DEPTH STOP [\d.]+", r"\1, DEPTH STOP 9.00", "too-shallow"),
        (r"^M0 \(PROVING, CUT NOTHING: RING 1, TOOL 2.*\n", "", "operation-missing"),
    ],
)
def test_a_proving_run_of_the_quill_by_hand_is_compared(
    tmp_path: Path, old: str, new: str, kind: str
) -> None:
    assert kind in faults_of(tmp_path, old, new, NAMED["quill by hand"], prove_mm=5.0)


# what is refused


def command(folder: Path, *options: object, part: Path | None = None, shop: str = "") -> Ran:
    part_in(folder, RING)
    (folder / "shop.toml").write_text(f"# as the metric shop\n{shop}")
    file = part or folder / "part.toml"
    return millprep(
        "program", file, "-o", folder / "x.nc", "--shop", folder / "shop.toml", *options
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ("--spots-only --tool 2", "--spots-only and --tool"),
        ("--tool 2 --from-tool 3", "--tool and --from-tool"),
        ("--spots-only --from-hole pivot", "--spots-only and --from-hole"),
        ("--spindle", "--spindle without --prove"),
        ("--units inch", "--units without --prove"),
        ("--prove 0", "above 0"),
        ("--prove high", '"high" is not a length'),
        ("--from-hole nowhere", 'no hole "nowhere"'),
        ("--from-hole pivot", "pivot is made by tool 1 (spot drill 10 mm), tool 3"),
        ("--from-tool 9", "tool 9 makes nothing here"),
        ("--from-tool 2 --from-hole pivot", "tool 2 does nothing at pivot"),
        ("--from-tool 1", "nothing comes before that"),
        ("--from-tool 3 --from-hole pivot --leave-out pivot", "--leave-out leaves it out"),
        ("--leave-out wing", 'no hole "wing"'),
        ("--leave-out ring --leave-out pivot", "nothing is left to make"),
    ],
)
def test_options_that_contradict(tmp_path: Path, options: str, words: str) -> None:
    ran = command(tmp_path, *options.split())
    assert ran.status == 2
    assert ran.err.count("stop:") == 1 and words in ran.err, ran.err
    assert not list(tmp_path.glob("*.nc"))


@pytest.mark.parametrize(
    ("control", "lacking", "most"),
    [
        # 280 mm of Z less the clear height of 10
        ("", "270.0 mm", 270),
        # the table's 0 is 150 over the work, of which 60 are the tool, 10 the clear height
        ("[control]\noffsets = { G54 = [200, 100, -150] }\n" + "".join(
            f'[[tool]]\nnumber = {number}\nlength = 60\n{tool}\n' for number, tool in enumerate(
                ['kind = "spot drill"\ndiameter = 10', 'kind = "drill"\ndiameter = 4.2',
                 'kind = "drill"\ndiameter = 5.8', 'kind = "reamer"\ndiameter = 6',
                 'kind = "tap"\nthread = "M5"'], 1)), "80.0 mm", 80),
    ],
)  # fmt: skip
def test_the_highest_that_goes(tmp_path: Path, control: str, lacking: str, most: int) -> None:
    ran = command(tmp_path, "--prove", 900, shop=control)
    assert ran.status == 2 and f"goes up by {lacking} at most" in ran.err
    assert command(tmp_path, "--prove", most, shop=control).status == 0
    assert command(tmp_path, "--prove", most + 1, shop=control).status == 2


def test_the_lowest_that_cuts_nothing(tmp_path: Path) -> None:
    """The pivot goes 25 + 1 deep, and 1.74 for the point of a 5.8 mm drill; 2 are to spare."""
    ran = command(tmp_path, "--prove", "1", "--units", "inch")
    assert ran.status == 2 and "--prove: 1.00 in is too low: pivot" in ran.err
    least = re.search(r"give ([\d.]+ in) or more", ran.err)
    assert least is not None
    assert command(tmp_path, "--prove", least[1]).status == 0
    ran = command(tmp_path, "--prove", "29")
    assert ran.status == 2 and "give 30.0 mm or more, up to 270.0 mm" in ran.err


def test_a_restart_is_of_one_setup(tmp_path: Path) -> None:
    path = tmp_path / "rich.toml"
    path.write_text(part_text(RICH, RICH_STOCK), encoding="utf-8")
    ran = command(tmp_path, "--from-tool", 1, "--from-hole", "screw 2", part=path)
    assert ran.status == 0, ran.err
    ran = command(tmp_path, "--from-tool", 2, part=path)
    assert ran.status == 2 and "a restart is of one" in ran.err
    named = re.search(r"name it: (--setup \d)", ran.err)
    assert named is not None
    assert command(tmp_path, "--from-tool", 2, *named[1].split(), part=path).status == 0


def test_what_runs_into_a_hole_that_is_left_out_is_left_out_too(tmp_path: Path) -> None:
    path = tmp_path / "meet.toml"
    holes = """
[[hole]]
name = "bore"
drill = 8
at = [25, 25]
depth = "through"
[[hole]]
name = "grub"
tap = "M5"
face = "front"
at = { left = 25, top = 12 }
depth = { into = "bore" }
"""
    path.write_text(part_text(holes, RICH_STOCK), encoding="utf-8")
    ran = command(tmp_path, "--leave-out", "bore", part=path)
    assert ran.status == 1 and "bore is left out, and grub runs into it" in ran.err
    ran = command(tmp_path, "--leave-out", "bore", "--leave-out", "grub", part=path)
    assert ran.status == 2 and "nothing is left to make" in ran.err
    assert command(tmp_path, "--leave-out", "grub", part=path).status == 1


def test_json_says_what_is_taken_as_made(tmp_path: Path) -> None:
    ran = command(tmp_path, "--from-tool", 2, "--from-hole", "ring 3", "--leave-out", "ring 2",
                  "--format", "json")  # fmt: skip
    (one,) = ran.json["files"]
    assert one["scope"] == {
        "kind": "restart",
        "tool": None,
        "proving": False,
        "raised_mm": 0.0,
        "made_before": {"1": "all", "2": ["ring 1"]},
        "left_out": ["ring 2"],
    }


def test_it_is_told_which_holes_are_not_made(tmp_path: Path) -> None:
    ran = command(tmp_path, "--leave-out", "ring 2")
    assert "not made: ring 2" in ran.out
    ran = millprep("dryrun", tmp_path / "x-without-ring-2.nc", "--part", tmp_path / "part.toml")
    assert ran.status == 0 and "left out, so not made: ring 2" in " ".join(ran.out.split())
