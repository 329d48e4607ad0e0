"""A bore by passes of a boring head: the cuts, how a head is set, and what a program does.

Common practice on a light mill: half a millimetre to one off the diameter, the last two cuts
alike; aluminium 1.0 and 0.2 by the table. By hand, 13 mm drilled to 26: 13 - 2 x 0.2 = 12.6 to
rough, twelve cuts of 1.0 and one of 0.6, fifteen passes in all.
"""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path

import pytest
from jobs import millprep, operations_of, plan_of

from millprep.planning import Plan

BORE = '[[hole]]\nname = "bearing"\nbore = {0}\nat = [30, 20]\ndepth = "through"\n'
RADIUS = '[drawer]\nboring_head = { dial = "radius" }\n'
PACKAGED = 'base = "metric"\n'


def _bores(plan: Plan) -> list[float]:
    passes = [one.boring for one in operations_of(plan) if one.name == "bore"]
    assert [one.number for one in passes if one] == list(range(1, len(passes) + 1))
    return [round(one.to_mm, 3) for one in passes if one]


@pytest.mark.parametrize(
    ("size", "material", "bores"),
    [
        (26, "aluminium", [13.6, *(14.6 + n for n in range(12)), 25.8, 26.0]),
        (14, "mild steel", [13.6, 13.8, 14.0]),  # 0.6 to rough, 0.8 is the most in steel
        (15, "mild steel", [13.8, 14.6, 14.8, 15.0]),  # 1.6: two whole cuts
        (14.5, "silver steel", [13.3, 13.6, 14.1, 14.3, 14.5]),  # 1.1: 0.3 and two of 0.5
        (13.5, "aluminium", [13.1, 13.3, 13.5]),  # from 12.5: 13 leaves too little
    ],
)  # fmt: skip
def test_passes_by_hand(size: float, material: str, bores: list[float]) -> None:
    plan = plan_of(BORE.format(size), "size = [60, 40, 20]", material=material)
    assert _bores(plan) == pytest.approx(bores)


def test_every_bore_comes_to_size_by_cuts_that_a_light_mill_takes() -> None:
    for tenths in range(110, 600, 7):
        plan = plan_of(BORE.format(tenths / 10), "size = [100, 90, 12]")
        drilled = max(o.tool.diameter_mm for o in operations_of(plan) if o.name == "drill")
        ends = [drilled, *_bores(plan)]
        cuts = [after - before for before, after in pairwise(ends)]
        assert ends[-1] == tenths / 10
        assert max(cuts) <= 1.0 + 1e-6
        assert min(cuts) > 0.05
        assert cuts[-1] == pytest.approx(cuts[-2], abs=1e-3)
        assert cuts[-1] <= 0.2 + 1e-6


def _files(tmp_path: Path, shop: str = PACKAGED) -> tuple[str, str]:
    part, file = tmp_path / "part.toml", tmp_path / "shop.toml"
    part.write_text(
        'part = "P"\nunits = "mm"\nmaterial = "aluminium"\n[stock]\nsize = [80, 60, 20]\n'
        f'[datum]\nx = "left"\ny = "front"\n{BORE.format(26)}'
    )
    file.write_text(shop)
    return str(part), str(file)


@pytest.mark.parametrize("order", ["tool", "hole", "row"])
@pytest.mark.parametrize(("shop", "share"), [(PACKAGED, 1.0), (RADIUS, 0.5)])
def test_a_listing_has_a_step_a_pass(order: str, shop: str, share: float, tmp_path: Path) -> None:
    part, file = _files(tmp_path, shop)
    sheet = millprep("listing", part, "--shop", file, "--order", order, "--format", "json")
    steps = [s for s in json.loads(sheet.out)["setups"][0]["steps"] if s["operation"] == "bore"]
    assert [s["pass"] for s in steps] == [f"{n} of 15" for n in range(1, 16)]
    dial = "radius" if share == 0.5 else "diameter"
    text = millprep("listing", part, "--shop", file, "--order", order).out
    assert f"dial counts on the {dial}" in " ".join(text.split())
    assert f"pass 2 of 15: from 13.600 to 14.600, the dial on by {share:.3f}" in text
    assert f"pass 15 of 15: from 25.800 to 26.000, the dial on by {0.2 * share:.3f}" in text
    # 21 mm through at 27 mm/min, fifteen times: 11.67 min
    assert "15 passes, 11.7 min of cutting" in " ".join(text.split())


def test_a_program_stops_before_each_pass(tmp_path: Path) -> None:
    part, file = _files(tmp_path, RADIUS)
    made = millprep("program", part, "--shop", file, "-o", str(tmp_path / "p.nc"))
    assert made.status == 0, made.err
    lines = (tmp_path / "p.nc").read_text().splitlines()
    stops = [number for number, line in enumerate(lines) if line.startswith("M0 (MEASURE THE BORE")]
    assert len(stops) == 15
    for number in stops:
        assert lines[number - 2] == "M5"
        assert lines[number - 4] == "G0 Z60.0"  # lengths are not known: 60 over the part
        assert "S120 M3" in lines[number + 1 : number + 6]
    assert "BORE FROM 13.6 TO 14.6 MM" in lines[stops[1] - 1]
    assert "13.6 BY NOW, DIAL ON BY 0.5 ON THE RADIUS" in lines[stops[1]]


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ("TO 14.6 MM", "TO 15.6 MM"),  # a cut of 2 mm
        ("FROM 25.8 TO 26.0 MM", "FROM 25.8 TO 26.1 MM"),
        ("FROM 25.6 TO 25.8 MM", "FROM 25.6 TO 25.7 MM"),  # the last two are not alike
    ],
)
def test_a_program_with_a_wrong_setting_is_not_handed_over(
    was: str, becomes: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from millprep.writers.program_form import Form

    part, file = _files(tmp_path)
    whole = Form.aside
    monkeypatch.setattr(Form, "aside", lambda self, text: whole(self, text).replace(was, becomes))
    made = millprep("program", part, "--shop", file, "-o", str(tmp_path / "p.nc"))
    assert made.status == 1
    assert not (tmp_path / "p.nc").exists()
    assert re.search(r"stop: bearing: (bore|a pass|the last)", made.err)


def test_no_program_for_a_head_that_cannot_be_entered_again(tmp_path: Path) -> None:
    part, file = _files(tmp_path, "[drawer]\nboring_head = { stops = false }\n")
    found = json.loads(millprep("check", part, "--shop", file, "--format", "json").out)["findings"]
    (told,) = [one for one in found if one["kind"] == "not-to-be-had"]
    assert (told["severity"], told["sheets"]) == ("note", ["program"])
    assert told["message"].startswith("no program:")
    assert millprep("program", part, "--shop", file, "-o", str(tmp_path / "p.nc")).status == 2
    assert millprep("listing", part, "--shop", file).status == 0


@pytest.mark.parametrize("head", ['"none"', "{ from = 30, to = 60 }"])
def test_a_bore_beyond_the_head_is_told(head: str) -> None:
    shop = f"[drawer]\nboring_head = {head}\n"
    plan = plan_of(BORE.format(26), "size = [80, 60, 20]", shop=shop)
    assert [f.kind for f in plan.findings] == ["not-in-drawer"]


def test_a_bench_page_by_hole_and_a_tools_list_are_handed_over(tmp_path: Path) -> None:
    """A bore beyond the head, in material that wants another point, a cone without a known nose."""
    part, file = _files(
        tmp_path, "[drawer]\ncountersinks = [35.5]\nboring_head = { from = 30, to = 60 }\n"
    )
    text = Path(part).read_text().replace("aluminium", "acrylic")
    Path(part).write_text(text + "countersink = { diameter = 30 }\n")
    for order in ("tool", "hole"):
        page = millprep(
            "bench", part, "--shop", file, "--order", order, "-o", str(tmp_path / f"{order}.html")
        )
        assert page.status == 0, page.err
        assert "let the cone touch its rim" in (tmp_path / f"{order}.html").read_text()
        sheet = millprep("listing", part, "--shop", file, "--order", order, "--format", "json")
        assert sheet.status == 0, sheet.err
    for units in ("mm", "inch"):
        sheet = millprep("dials", part, "--shop", file, "--units", units, "--format", "csv")
        assert sheet.status == 0, sheet.err
    assert "NOT IN THE DRAWER" in millprep("tools", part, "--shop", file).out
