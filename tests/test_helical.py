"""Holes that a program has an end mill go round in: what comes of the moves, by sums of this file.

Closed form: a hole of diameter D, h deep, is pi / 4 D^2 h of metal, whatever was drilled in it
before. Its moves are read back, and the metal counted slice by slice along spokes from its axis.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from control_descriptions import NAMED, judged
from jobs import millprep, part_text, shop_of

from millprep.base.findings import Finding, MillprepError
from millprep.infiles import read_part, read_shop
from millprep.model.shop import Shop
from millprep.planning import helical
from millprep.proven.dryrun import dry_run
from millprep.proven.program import Programs, programs
from millprep.reading.gcode import read_program
from millprep.reading.moves import ARC_CCW, ARC_CW, FEED, RAPID, Floats, Moves
from millprep.writers import program_helix

STOCK = "size = [100, 80, 20]"
BORE = """
[[hole]]
name = "bearing"
bore = 32
counterbore = { diameter = 40, depth = 5 }
at = [50, 40]
depth = "through"
"""
MILLS = """end_mills = [
    { diameter = 12, flute = 26, centre_cutting = true, teeth = 2 },
    { diameter = 20, flute = 38 },
    { diameter = 25, flute = 45, teeth = 3 },
]"""
MEASURED = "backlash = { x = 0.01, y = 0.01 }"  # nothing to feel: with the cut
LOOSE = "backlash = { x = 0.06, y = 0.05 }"


def made(
    folder: Path, holes: str, control: str = "", drawer: str = MILLS, **part: str
) -> tuple[Programs, Shop]:
    """The programs of a part that lies as it is drawn."""
    (folder / "part.toml").write_text(part_text(holes, STOCK, material="aluminium", **part))
    (folder / "shop.toml").write_text(f"[drawer]\n{drawer}\n[control]\n{control}\n")
    shop = read_shop(str(folder / "shop.toml"))
    return programs(read_part(folder / "part.toml")[0], shop, file=folder / "out.nc"), shop


def moves_of(given: tuple[Programs, Shop]) -> tuple[Moves, dict[int, float]]:
    """The moves of a part's one program, and the diameters of its end mills."""
    found, shop = given
    assert not [one for one in found.findings if one.severity == "stop"], found.findings
    (one,) = found.files
    run = read_program(one.data, shop.control, file=str(one.path))
    assert not [each for each in run.findings if each.severity != "note"]
    mills = {n: tool.diameter_mm or 0.0 for n, tool in run.tools.items() if tool.kind == "end mill"}
    return run.moves, mills


def volume_mm3(
    moves: Moves, mills: dict[int, float], x: float, y: float, drilled_mm: float, deep_mm: float
) -> float:
    """What end mills and a drill take about an axis, from the face down to a depth.

    Slice by slice: along each of 24 spokes what some place of a tool that is deeper covers.
    """
    places = [np.array([[0, 0, -deep_mm, drilled_mm / 2]])]
    for row in range(len(moves)):
        wide = mills.get(int(moves.tool[row]))
        if wide is None or min(moves.start[2, row], moves.end[2, row]) > 0:
            continue
        steps = np.linspace(0, 1, 120)[:, None]
        start, end = moves.start[:, row], moves.end[:, row]
        along = start + (end - start) * steps
        if moves.kind[row] in (ARC_CW, ARC_CCW):
            centre, sweep = moves.centre[:2, row], np.radians(moves.sweep_deg[row])
            sense = 1 if moves.kind[row] == ARC_CCW else -1
            first = math.atan2(*(start[:2] - centre)[::-1])
            angle = first + sense * sweep * steps[:, 0]
            radius = math.dist(start[:2], centre)
            along[:, 0] = centre[0] + radius * np.cos(angle)
            along[:, 1] = centre[1] + radius * np.sin(angle)
        places.append(np.column_stack([along[:, :2] - (x, y), along[:, 2], np.full(120, wide / 2)]))
    at, total = np.vstack(places), 0.0
    for z in -deep_mm * (np.arange(8) + 0.5) / 8:
        deep = at[at[:, 2] <= z]
        for spoke in np.linspace(0, math.tau, 24, endpoint=False):
            along = deep[:, 0] * math.cos(spoke) + deep[:, 1] * math.sin(spoke)
            aside = deep[:, 1] * math.cos(spoke) - deep[:, 0] * math.sin(spoke)
            half = np.sqrt(np.maximum(deep[:, 3] ** 2 - aside**2, 0.0))
            is_met = half > 0
            total += _covered((along - half)[is_met], (along + half)[is_met]) * math.tau / 24
    return total * deep_mm / 8


def _covered(low: Floats, high: Floats) -> float:
    """Half the squares of the ends of what stretches along a spoke cover together."""
    order = np.argsort(np.maximum(low, 0.0))
    low, high = np.maximum(low, 0.0)[order], np.maximum(high, 0.0)[order]
    behind = np.concatenate([[0.0], np.maximum.accumulate(high)[:-1]])
    low = np.maximum(low, behind)
    return float((np.maximum(high, low) ** 2 - low**2).sum() / 2)


CASES = [
    (32.0, 20.0, MEASURED),
    (32.0, 9.0, 'arcs = "radius"'),
    (23.5, 20.0, 'arcs = "absolute centre"\nunits = "inch"\ndecimals = { inch = 4 }'),
    (18.0, 6.0, f'units = "inch"\narcs = "radius"\n{LOOSE}'),
    (30.48, 12.0, "cycles = false\ndecimals = { mm = 4 }"),
]


@pytest.mark.parametrize(("size_mm", "deep_mm", "control"), CASES)
def test_what_is_milled_is_the_closed_form(
    tmp_path: Path, size_mm: float, deep_mm: float, control: str
) -> None:
    depth = '"through"' if deep_mm == 20 else deep_mm
    hole = f'[[hole]]\nname = "b"\nbore = {size_mm}\nat = [50, 40]\ndepth = {depth}\n'
    moves, mills = moves_of(made(tmp_path, hole, control))
    assert mills
    x, y = moves.end[:2, moves.tool == next(iter(mills))][:, -1]
    assert (x, y) == pytest.approx((50, 40), abs=2e-3)
    rows = np.isin(moves.tool, list(mills)) & np.isin(moves.kind, (ARC_CW, ARC_CCW))
    level = rows & (moves.start[2] == moves.end[2])
    about = np.hypot(moves.centre[0] - x, moves.centre[1] - y) < 0.01
    radius = np.hypot(*(moves.end - moves.centre)[:2])[level & about]
    wide = 2 * radius.max() + next(iter(mills.values()))
    assert wide == pytest.approx(size_mm, abs=0.003)
    end = moves.end[2, level & about].min()
    assert -end == pytest.approx(deep_mm + (deep_mm == 20), abs=2e-3)
    got = volume_mm3(moves, mills, x, y, 13.0 if deep_mm == 20 else 0.0, deep_mm)
    assert got == pytest.approx(math.pi / 4 * size_mm**2 * deep_mm, rel=0.006)


@pytest.mark.parametrize("control", ["", MEASURED, LOOSE, 'arcs = "radius"'])
def test_no_end_mill_goes_straight_down_into_the_work(tmp_path: Path, control: str) -> None:
    blind = '[[hole]]\nname = "blind"\ndrill = 18\nat = [15, 15]\ndepth = 10\n'
    moves, mills = moves_of(made(tmp_path, BORE + blind, control))
    own = np.isin(moves.tool, list(mills))
    straight = own & np.isin(moves.kind, (FEED, RAPID))
    assert (moves.end[2, straight & (moves.end[2] < moves.start[2])] > 0).all()
    arcs = own & np.isin(moves.kind, (ARC_CW, ARC_CCW))
    wanted = ARC_CCW if control == MEASURED else ARC_CW
    assert (moves.kind[arcs] == wanted).all()
    down = (moves.start - moves.end)[2, arcs] * 360 / moves.sweep_deg[arcs]
    round_mm = math.tau * np.hypot(*(moves.end - moves.centre)[:2, arcs])
    centre_cutting = np.array([mills[n] == 12 for n in moves.tool[arcs].tolist()])
    steep = np.degrees(np.arctan2(down, round_mm))
    assert steep[centre_cutting].max() <= 3.02
    assert steep.max() <= 3.02
    assert down.max() <= 1.501
    up = own & (moves.end[2] > moves.start[2] + 1e-6) & (moves.start[2] < 0)
    at = moves.end[:2, up]
    assert all(min(math.dist(p, (50, 40)), math.dist(p, (15, 15))) < 1e-3 for p in at.T)


def test_whole_turns_by_radius_are_four_quarters(tmp_path: Path) -> None:
    found, _ = made(tmp_path, BORE, 'arcs = "radius"')
    text = found.files[0].data.decode()
    arcs = [line for line in text.splitlines() if line.startswith("G2 ")]
    assert arcs
    assert all(" R" in line and " I" not in line for line in arcs)
    assert "G3 " not in text


CODES = ["G0", "G1", "G3", "G4", "G21", "G43", "G54", "G90", "M0", "M3", "M5", "M6", "M30"]


def kinds(findings: tuple[Finding, ...]) -> list[str]:
    return [str(one.message) for one in findings if one.kind == "helical-bore"]


FIT = '[[hole]]\nname = "seat"\nbore = 22\nfit = "H7"\nat = [50, 40]\ndepth = "through"\n'


def test_a_fit_is_left_to_the_boring_head(tmp_path: Path) -> None:
    """H7 at 22 mm is 21 um (ISO 286): a quarter of it 5.25."""
    found, _ = made(tmp_path, FIT, MEASURED)
    assert [one for one in kinds(found.findings) if "to 21.6" in one]
    text = found.files[0].data.decode()
    assert "(ROUND TO 21.6, SEAT, DRILL)" in text
    assert "(SEAT IS MILLED 0.4 UNDER, THE BORING HEAD FINISHES IT)" in text
    assert "PASS 1 OF 2: BORE FROM 21.6 TO 21.8 MM, SEAT" in text
    found, _ = made(tmp_path, FIT, "backlash = { x = 0.005, y = 0.005 }")
    assert not kinds(found.findings)
    text = found.files[0].data.decode()
    assert "(ROUND TO 22.0, SEAT, BORE)" in text
    assert "BORING HEAD" not in text


def test_backlash_that_is_felt_is_told_and_too_much_left_under(tmp_path: Path) -> None:
    (told,) = [one for one in kinds(made(tmp_path, BORE, LOOSE)[0].findings) if "carry" in one]
    assert "0.06 narrower" in told
    found, _ = made(tmp_path, BORE, "backlash = { x = 0.25, y = 0.2 }")
    assert [one for one in kinds(found.findings) if "too much for a round hole" in one]
    assert "(ROUND TO 31.6, BEARING, DRILL)" in found.files[0].data.decode()


@pytest.mark.parametrize(
    ("control", "why"), [(f"codes = {CODES}", "listed without G2"), ('axes = "xy"', "")]
)
def test_a_control_that_cannot_go_round_bores_as_before(
    tmp_path: Path, control: str, why: str
) -> None:
    hole = BORE.replace("counterbore", "# counterbore")
    try:
        found = made(tmp_path, hole, control, MILLS + "\nboring_head = { to = 30, from = 10 }")[0]
        assert "ROUND TO" not in found.files[0].data.decode()
        findings = found.findings
    except MillprepError as error:
        findings = error.findings
    assert bool(why) == any(why in one for one in kinds(findings)) or not why


def test_listing_and_dials_bore_by_hand(tmp_path: Path) -> None:
    made(tmp_path, BORE)
    args = (tmp_path / "part.toml", "--shop", tmp_path / "shop.toml", "--format", "json")
    (setup,) = json.loads(millprep("listing", *args).out)["setups"]
    tools = {step["operation"]: step["tool"] for step in setup["steps"]}
    assert "boring head" in tools["bore"]
    assert not [tool for tool in tools.values() if "end mill" in tool]
    found = millprep("check", tmp_path / "part.toml", "--shop", tmp_path / "shop.toml").out
    assert "no tool of the drawer makes its counterbore by hand; a program goes round in it" in (
        " ".join(found.split())
    )


def _steeper(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical._helix
    monkeypatch.setattr(
        program_helix._Helical, "_helix", lambda self, wide, turn: whole(self, wide, 3 * turn)
    )


def _with_the_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(program_helix, "arc_code", lambda control: "G3")


def _wider(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical._last
    monkeypatch.setattr(
        program_helix._Helical, "_last", lambda self, wide: whole(self, wide + 0.05)
    )


def _beside(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical.__init__

    def aside(self: program_helix._Helical, of: object, one: object) -> None:
        whole(self, of, one)  # type: ignore[arg-type]
        self.centre = self.centre[0] + 0.02, self.centre[1]

    monkeypatch.setattr(program_helix._Helical, "__init__", aside)


def _text(monkeypatch: pytest.MonkeyPatch, was: str, becomes: str) -> None:
    """Of the lines of a hole that is milled."""
    whole = program_helix.helical_lines

    def changed(of: object, one: object) -> list[str]:
        text = "\n".join(whole(of, one))  # type: ignore[arg-type]
        assert was in text
        return text.replace(was, becomes, 1).split("\n")

    monkeypatch.setattr("millprep.writers.program.helical_lines", changed)


def _plunges(monkeypatch: pytest.MonkeyPatch) -> None:
    _text(monkeypatch, "G0 Z1.0\n", "G0 Z1.0\nG1 Z-5.0 F20.0\nG1 Z1.0\n")


def _up_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    _text(monkeypatch, "G1 X50.0 Y40.0\nG0 Z10.0", "G0 Z10.0")


def _no_run_in(monkeypatch: pytest.MonkeyPatch) -> None:
    _text(monkeypatch, "G1 X53.0 Y43.0 F", "G1 X56.0 Y40.0\nG1 X53.0 Y43.0 F")
    whole = program_helix._Helical._last

    def straight(self: program_helix._Helical, wide: float) -> object:
        lines = list(whole(self, wide))
        return [lines[0].replace("X53.0 Y43.0", "X56.0 Y40.0"), *lines[2:]]

    monkeypatch.undo()
    monkeypatch.setattr(program_helix._Helical, "_last", straight)


def _fast(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical._feed
    monkeypatch.setattr(
        program_helix._Helical, "_feed", lambda self, wide: f"F{3 * float(whole(self, wide)[1:])}"
    )


def _less_deep(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical._turn
    monkeypatch.setattr(
        program_helix._Helical,
        "_turn",
        lambda self, r, a, b: whole(self, r, max(a, -20.9), max(b, -20.9)),
    )


def _no_last(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = program_helix._Helical._helix
    monkeypatch.setattr(
        program_helix._Helical, "_helix", lambda self, wide, turn: whole(self, wide - 1.4, turn)
    )


@pytest.mark.parametrize(
    ("plant", "kind", "said"),
    [
        (_steeper, "milled-amiss", "deg steep; 1 is the most"),
        (_with_the_cut, "milled-amiss", "with the cut"),
        (_wider, "wrong-diameter", "bore 32.050"),
        (_beside, "hole-off", "X by +0.02"),
        (_plunges, "milled-amiss", "straight down into the work"),
        (_up_beside, "milled-amiss", "up beside the middle"),
        (_no_run_in, "milled-amiss", "not run in and out on an arc"),
        (_fast, "milled-amiss", "its edge is fed"),
        (_less_deep, "too-shallow", "20.900"),
        (_no_last, "milled-amiss", "off the radius"),
    ],
)
def test_a_planted_fault_keeps_the_program_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, plant: object, kind: str, said: str
) -> None:
    hole = BORE.replace("counterbore", "# counterbore")
    plant(monkeypatch)  # type: ignore[operator]
    found, _ = made(tmp_path, hole, "", "end_mills = [{ diameter = 20, flute = 38 }]")
    assert not found.files
    assert [one for one in found.findings if one.kind == kind and said in one.message]


SUNK = """
[[hole]]
name = "sunk"
bore = 17.61
at = [50.005, 40.015]
depth = "through"
countersink = { diameter = 26, angle = 90 }
"""
SINKS = "countersinks = [{ diameter = 12.4, tip_flat = 2.8 }]\n" + MILLS


@pytest.mark.parametrize("control", [MEASURED, 'arcs = "radius"'])
@pytest.mark.parametrize("angle_deg", [60, 90, 120])
def test_a_countersink_goes_round_in_a_mouth_too_wide_for_it(
    tmp_path: Path, control: str, angle_deg: int
) -> None:
    """A cone is as wide at the face as the axis is out, and as its flank is at the tip's depth,
    and the flat: 2 r + 2 z tan(angle / 2) + 2.8 = 26."""
    sinks = SINKS.replace("tip_flat", f"point_angle = {angle_deg}, tip_flat")
    found, shop = made(tmp_path, SUNK.replace("= 90", f"= {angle_deg}"), control, sinks)
    moves, _ = moves_of((found, shop))
    rows = np.isin(moves.kind, (ARC_CW, ARC_CCW)) & (moves.tool == moves.tool[-1])
    about = rows & (np.hypot(*(moves.centre[:2] - [[50.005], [40.015]])) < 0.01)
    radius = np.hypot(*(moves.end - moves.centre)[:2])[about]
    flank_mm = -moves.end[2, about].min() * math.tan(math.radians(angle_deg / 2))
    assert 2 * radius.max() + 2 * flank_mm + 2.8 == pytest.approx(26, abs=0.004)
    # from 0.1 mm past the rim to 0.1 mm past the edge: the nose and the wall stand clear
    assert flank_mm == pytest.approx((26 - 17.61) / 2 + 0.2, abs=0.004)
    assert np.diff(np.unique(radius.round(2))).max() <= 1.0


def test_a_mouth_sunk_too_wide_is_kept_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = program_helix._Helical._last
    monkeypatch.setattr(
        program_helix._Helical,
        "_last",
        lambda self, wide: whole(self, wide + 0.3 * (self.one.name == "countersink")),
    )
    found, _ = made(tmp_path, SUNK, "", SINKS)
    assert not found.files
    assert [one for one in found.findings if "countersink is 26.300 mm wide" in one.message]


@pytest.mark.parametrize(("wide", "is_extra"), [(18.4, False), (26, True)])
def test_an_edge_that_is_broken_all_round_is_no_countersink(
    tmp_path: Path, wide: float, is_extra: bool
) -> None:
    found, shop = made(tmp_path, SUNK.replace("26", str(wide)), "", SINKS)
    (program,) = found.files
    program.path.write_bytes(program.data)
    plain = "\n".join(line for line in SUNK.splitlines() if not line.startswith("countersink"))
    (tmp_path / "part.toml").write_text(part_text(plain, STOCK, material="aluminium"))
    part, _ = read_part(tmp_path / "part.toml")
    report = dry_run([program.path], part, shop, setup=1)
    assert ("operation-extra" in [one.kind for one in report.findings]) == is_extra


@pytest.mark.parametrize("name", ["no cycles, by stops", "a file a tool", "inches", "few cycles"])
def test_a_bore_and_its_counterbore_under_controls_as_there_are(tmp_path: Path, name: str) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(BORE, STOCK, material="aluminium"))
    assert judged(part, NAMED[name], tmp_path, f"[drawer]\n{MILLS}\n") == "made"
    text = "".join(path.read_text() for path in tmp_path.glob("*.nc"))
    assert text.count("ROUND TO") == 2


def test_a_mill_that_does_not_cut_on_centre_wants_room(tmp_path: Path) -> None:
    """16 of 18 mm: the axis goes round on 0.9 mm, and 4.8 mm of the mill's middle cuts nothing."""
    hole = '[[hole]]\nname = "b"\nbore = 18\nat = [50, 40]\ndepth = 12\n'
    for cutting, is_milled in (("true", True), ("false", False)):
        drawer = f"end_mills = [{{ diameter = 16, flute = 30, centre_cutting = {cutting} }}]"
        found, _ = made(tmp_path, hole, "", drawer)
        assert ("ROUND TO" in found.files[0].data.decode()) == is_milled


@pytest.mark.parametrize(
    ("mills", "wanted"),
    [
        ([12, 16, 20, 25, 28], 20),  # 0.62 of 32: nearest to 0.65
        ([16, 25, 28], 25),  # 0.78; 16 is 0.5
        ([6, 16, 30], 16),  # under half it leaves a core, over 0.9 it has no room
        ([6, 30], None),
    ],
)
def test_which_end_mill_goes_round(mills: list[int], wanted: int | None) -> None:
    listed = ", ".join(f"{{ diameter = {one}, flute = 50 }}" for one in mills)
    shop = shop_of(f"[drawer]\nend_mills = [{listed}]\n")
    found = [one.diameter_mm for one in helical._fitting(shop.cabinet, 32.0, 20.0, 0.001)]
    assert found[:1] == ([] if wanted is None else [wanted])


def test_teeth_are_an_end_mills_own(tmp_path: Path) -> None:
    with pytest.raises(MillprepError, match="a drill with a teeth"):
        made(tmp_path, BORE, "", "drills = [{ diameter = 5, teeth = 2 }]")


@pytest.mark.parametrize("option", ["--from-tool", "--tool"])
def test_a_restart_goes_round_where_the_first_tools_have_been(tmp_path: Path, option: str) -> None:
    found, _ = made(tmp_path, BORE)
    (mill,) = [
        line.split()[1]
        for line in found.files[0].data.decode().splitlines()
        if "END MILL 20." in line
    ]
    args = (tmp_path / "part.toml", "--shop", tmp_path / "shop.toml", option, mill)
    ran = millprep("program", *args, "-o", tmp_path / "again.nc")
    assert ran.status == 0, ran.err
    (again,) = tmp_path.glob("again*.nc")
    assert "(ROUND TO 32.0, BEARING, BORE)" in again.read_text()
