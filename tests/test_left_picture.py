"""The sheet of what is left: what it shows of the stock, and where the findings stand on it."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from pens import Bounds
from test_dryrun import HEAD, PART, WHOLE, dryrun
from test_dryrun_report import SCENE, shown
from test_left import WINDOW, left, tool

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.canvas.dots import Dots
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Box, Disc, Drilled, Scene
from millprep.report.left import draw_left
from millprep.report.paper import PAGE_MM
from millprep.report.picture import pdf, sheets_of
from millprep.report.shades import Seen, isometric_of, plan_of
from millprep.report.views import Shown

COS, SIN = math.sqrt(3) / 2, 0.5  # of 30 degrees (ISO 5456-3)
AROUND = (-0.2, -0.2, 60.2, 40.2)


def table_of(dots: Dots) -> tuple[Any, Any]:
    """(down, across) grey and cover."""
    pairs = np.frombuffer(dots.pairs, dtype=np.uint8).reshape(dots.down, dots.across, 2)
    return pairs[..., 0], pairs[..., 1]


def isometric(x: float, y: float, z: float) -> tuple[float, float]:
    """Looked at from the right: X runs down to the right, Y up to the right."""
    return COS * (x + y), SIN * (y - x) + z


def dot_at(seen: Seen, x: float, y: float, z: float) -> tuple[int, int]:
    """(grey, cover) where a place comes."""
    across, up = isometric(x, y, z)
    dot = (seen.high[0] - seen.low[0]) / seen.dots.across
    column, row = int((across - seen.low[0]) / dot), int((seen.high[1] - up) / dot)
    grey, cover = table_of(seen.dots)
    return int(grey[row, column]), int(cover[row, column])


def seen_of(*programs: str, scene: Scene = SCENE, across: tuple[Drilled, ...] = ()) -> Seen:
    return isometric_of(left(*programs, scene=scene, window=AROUND, square_mm=0.1), across, 0.1)


def test_a_blank_is_the_outline_of_its_box() -> None:
    seen = seen_of()
    cover = table_of(seen.dots)[1]
    corners = [
        isometric(*one)
        for one in (
            (0.0, 0.0, 0.0), (0.0, 0.0, -20.0), (60.0, 0.0, -20.0), (60.0, 40.0, -20.0),
            (60.0, 40.0, 0.0), (0.0, 40.0, 0.0),
        )
    ]  # fmt: skip
    area = 0.5 * abs(
        sum(
            x0 * y1 - x1 * y0
            for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True)
        )
    )
    assert_allclose((cover > 0).sum() * 0.1**2, area, rtol=0.005)
    top, front, right = (
        dot_at(seen, *place)[0] for place in ((30, 20, 0), (30, 0, -10), (60, 20, -10))
    )
    assert top - 15 > front > right + 30  # three shades that a grey print keeps apart


RIDGE = [f"G0 X-10. Y{y}. Z1.\nG1 Z-12. F100.\nX70.\nG0 Z1." for y in (14, 20, 26, 32, 38, 44)]


def test_what_stands_before_a_hole_hides_it() -> None:
    """A hole in a floor 12 mm down, just behind a ridge 12 mm high that is nearer to the eye."""
    drill = tool(2, "G98 G81 X30. Y16. Z-18. R1. F80.", "X30. Y35.", "G80")
    whole = seen_of(drill)
    hidden = seen_of(drill + tool(5, *RIDGE))
    level = dot_at(whole, 10, 35, 0)[0]
    inside = (29.2, 36.5)  # its far wall, as far as it is seen
    assert dot_at(hidden, *inside, -13)[0] < level - 10  # far enough behind the ridge
    assert dot_at(hidden, 29.2, 17.5, -13)[0] == level  # the ridge's own top


def test_a_through_hole_shows_the_paper_and_a_pocket_its_floor() -> None:
    through = tool(5, "G0 X30. Y20. Z1.", "G1 Z-21. F100.")
    thin = replace(SCENE, stock=Box((0.0, 0.0, -2.0), (60.0, 40.0, 0.0)))
    _, cover = dot_at(seen_of(through, scene=thin), 30, 20, -2)
    assert cover == 0
    assert dot_at(seen_of(tool(5, "G0 X30. Y20. Z1.", "G1 Z-1. F100.")), 30, 20, -1)[1] == 255
    _, cover = table_of(plan_of(left(through)))
    assert cover[250, 375] == 0  # in squares of 0.08 mm, row by row from the back
    assert cover[10, 10] == 255


def test_a_hole_in_a_side_is_seen_in_that_side() -> None:
    holes = (Drilled((60.0, 20.0, -10.0), (40.0, 20.0, -10.0), 8.0),)
    seen = seen_of(across=holes)
    wall = dot_at(seen, 60, 30, -10)[0]
    assert dot_at(seen, 60, 20, -10)[0] < wall - 20
    assert dot_at(seen, 60, 23.5, -10)[0] < wall - 20
    assert dot_at(seen, 60, 24.5, -10)[0] == wall
    assert dot_at(seen, 30, 0, -10)[0] > wall  # not in the others


def test_a_slope_has_a_shade_of_its_own() -> None:
    """A spot's cone: darker where it looks away from the light, lighter where towards it."""
    one = left(tool(4, "G98 G81 X30. Y20. Z-3. R1. F80.", "G80"), window=WINDOW)
    grey, _ = table_of(plan_of(one))
    level = grey[10, 10]

    def at(x: float, y: float) -> int:
        return int(grey[int((40 - y) / 0.08), int(x / 0.08)])

    to_light, from_light = at(30 + 1.4, 20 - 1.4), at(30 - 1.4, 20 + 1.4)
    assert from_light < level - 40
    assert from_light < to_light - 40


# The sheet


def finding(line: int) -> Finding:
    return Finding("stop", "hits-fixture", "it does", file="plate.nc", line=line)


def strokes_of(one: Shown) -> list[tuple[str, tuple[Any, ...]]]:
    pen = RecordingPen()
    draw_left(pen, one)
    return pen.strokes


def test_each_finding_stands_at_its_place_in_plan_and_isometric() -> None:
    line = WHOLE.splitlines().index("X30. Y10.") + 1
    strokes = strokes_of(shown(WHOLE, SCENE, finding(line)))
    (low, _, _), (seen_low, seen_high, _) = (a for verb, a in strokes if verb == "tint")
    spots = [a[0] for verb, a in strokes if verb == "spot"]
    box = next(a[0] for verb, a in strokes if verb == "outline" and a[1] == "edge")
    scale = (box[2][0] - box[0][0]) / 60
    assert_allclose(spots[0], (box[0][0] + 30 * scale, box[0][1] + 10 * scale))
    assert low[0] <= box[0][0] <= low[0] + scale  # the shade lies under the stock's outline
    factor = (seen_high[0] - seen_low[0]) / (COS * 100)
    across, up = isometric(30, 10, 0)  # the mouth of the hole
    lowest = isometric(60, 0, -20)
    assert_allclose(
        spots[1],
        (seen_low[0] + factor * across, seen_low[1] + factor * (up - lowest[1])),
        atol=0.4,  # a square more on each side
    )
    assert len([a for verb, a in strokes if verb == "text" and a[1] == "1"]) == 2


def test_the_sheet_says_how_exact_it_is_and_what_it_leaves_out() -> None:
    words = [a[1] for verb, a in strokes_of(shown()) if verb == "text"]
    said = next(one for one in words if one.startswith("Worked out in squares"))
    square, error = map(float, re.findall(r"([\d.]+) mm", said))
    assert 0.03 < square < 0.2
    assert 1.5 * square <= error <= 1.5 * square + 0.01  # rounded up
    assert "Not shown: threads, what a crash would tear off." in words
    assert {"plan", "isometric, from the right"} <= set(words)
    lines = WHOLE.replace("X30. Y10.\nG80", "X30. Y10.\nG80\nG41 D1\nG40")
    assert lines != WHOLE
    words = [a[1] for verb, a in strokes_of(shown(lines)) if verb == "text"]
    assert any(one.endswith("tear off, how far cutter compensation moves a cut.") for one in words)
    assert any(one.startswith("WHAT IS LEFT") for one in words)


def test_what_lies_under_the_stock_is_hidden_in_the_plan() -> None:
    under = Box((5.0, 5.0, -40.0), (10.0, 35.0, -20.0), "a parallel")
    beside = Box((-20.0, 0.0, -30.0), (0.0, 40.0, -5.0), "jaw")
    strokes = strokes_of(shown(WHOLE, replace(SCENE, fixtures=(under, beside))))
    letters = [a[1] for verb, a in strokes if verb == "text" and len(a[1]) == 1]
    assert letters == ["B"]  # as the first sheet letters it


def test_ways_that_would_hide_the_shade_are_left_out() -> None:
    drawn = []
    for count in (480, 40):
        rows = "".join(f"G1 X{60 * (n % 2)}. Y{40 * n / count:.3f} F100.\n" for n in range(count))
        drawn.append(strokes_of(shown(HEAD + "G0 X0. Y0. Z1.\n" + rows + "M30\n")))
    counts = [sum(verb == "line" for verb, _ in strokes) for strokes in drawn]
    assert counts[0] < 5
    assert counts[1] > 35
    words = [a[1] for verb, a in drawn[0] if verb == "text"]
    assert "plan, without the ways of the tool: they would hide it" in words


SHAPES = {
    "long": Box((0.0, 0.0, -5.0), (2000.0, 12.0, 0.0)),
    "large": Box((0.0, 0.0, -300.0), (9000.0, 9000.0, 0.0)),
    "tall": Box((0.0, 0.0, -400.0), (8.0, 8.0, 0.0)),
    "tiny": Box((0.0, 0.0, -0.5), (1.5, 1.0, 0.0)),
    "round": Disc((-20.0, -20.0, -6.0), (20.0, 20.0, 0.0), 2, 10.0),
    "lying": Disc((0.0, -10.0, -20.0), (50.0, 10.0, 0.0), 0),
}


@pytest.mark.parametrize("stock", SHAPES.values(), ids=SHAPES)
def test_everything_lies_on_the_sheet_and_is_of_bounded_size(stock: Box | Disc) -> None:
    pen = RecordingPen()
    draw_left(pen, shown(WHOLE, replace(SCENE, stock=stock), *[finding(12)] * 30))
    dots = [a[2] for verb, a in pen.strokes if verb == "tint"]
    assert all(one.across * one.down < 2_500_000 for one in dots)
    bounds = Bounds()
    for verb, arguments in pen.strokes:
        if verb == "tint":
            bounds._take(*arguments[:2])
        else:
            getattr(bounds, verb)(*arguments)
    assert bounds.low is not None
    assert bounds.high is not None
    assert min(bounds.low) >= 0
    assert bounds.high[0] <= PAGE_MM[0]
    assert bounds.high[1] <= PAGE_MM[1]


def test_without_stock_there_is_one_sheet_of_views() -> None:
    assert len([*sheets_of(shown(WHOLE, None))]) == 1
    assert len([*sheets_of(shown(WHOLE))]) == 2
    assert len([*sheets_of(shown(HEAD))]) == 2  # nothing cut: the blank


def test_the_views_are_signed_as_third_angle() -> None:
    pen = RecordingPen()
    next(sheets_of(shown()))(pen)
    words = [a[1] for verb, a in pen.strokes if verb == "text"]
    assert "third angle: plan above, right-hand end at the right" in words
    rings = [a for verb, a in pen.strokes if verb == "arc" and a[1] in (1.0, 2.0)]
    cone = [a[0] for verb, a in pen.strokes if verb == "outline" and len(a[0]) == 4][-1]
    assert len(rings) == 2
    # the end looked at from the left stands at the left of the cone, whose narrow end is there
    assert rings[0][0][0] < min(x for x, _ in cone)
    heights = {x: abs(y - rings[0][0][1]) for x, y in cone}
    assert heights[min(heights)] < heights[max(heights)]


@pytest.mark.parametrize("ending", [".svg", ".pdf"])
def test_files_hold_the_shades(tmp_path: Path, ending: str) -> None:
    (tmp_path / "plate.toml").write_text(PART)
    (tmp_path / "plate.nc").write_text(WHOLE)
    picture = tmp_path / f"left{ending}"
    assert dryrun(tmp_path / "plate.nc", part=tmp_path / "plate.toml", picture=picture) == 0
    data = picture.read_bytes()
    if ending == ".svg":
        assert data.count(b'href="data:image/png;base64,') == 2
        assert b'width="297mm" height="420mm"' in data
    else:
        assert data.count(b"/Subtype /Image") >= 2
        assert len(re.findall(rb"/Type /Page\b", data)) == 2
    assert len(data) < 400_000


def test_a_pdf_of_the_views_alone_is_one_page() -> None:
    assert len(re.findall(rb"/Type /Page\b", pdf(shown(WHOLE, None)))) == 1
