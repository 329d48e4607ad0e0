"""The page of a dry run: the views beside the program, and what is left, one self-contained file.

Choosing a line of the program shows its moves in the views, and choosing a move shows its line.
Without a script the views, the findings and the program still stand there to be read. Imports
numpy, jinja2 (here only), `views` and `outfile`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path as FilePath

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from millprep.base.bounds import MOST_LINES_SHOWN, MOST_MOVES_SHOWN
from millprep.base.findings import Finding
from millprep.base.marks import BLANK_MARK
from millprep.base.records import frozen
from millprep.canvas.dots import Dots
from millprep.canvas.sign import SIGN_MM, draw_sign
from millprep.canvas.svg import SvgPen
from millprep.model.scene import Scene, blanks_of
from millprep.reading.moves import KIND_WORDS, Moves
from millprep.reading.simulate.left import Left
from millprep.reading.simulate.path import Floats, Path
from millprep.report.layout import Table
from millprep.report.left import ISOMETRIC, SIGHT, left_about, seen_places, squares_a_dot, words_of
from millprep.report.section import draw_section, section_height_mm
from millprep.report.shades import isometric_of, plan_of
from millprep.report.tables import file_words, place_words, told
from millprep.report.views import (
    VIEWS,
    Shown,
    Spots,
    View,
    Window,
    lines_of,
    marks_of,
    outline_of,
    pieces_of,
    spots_of,
    window_of,
)

LINE_TYPES = 6  # of fixtures, in the style
STEP_SHARE = 4000.0  # lines closer than this share of the view look the same
MARKS_ACROSS = 50.0
DOTS_ACROSS = 900
SECTION_MM = (92.0, 66.0)  # at most so high
_FOLDER = FilePath(__file__).parent


@frozen
class _ViewOnPage:
    """A view as an SVG needs it: its box, and paths in millimetres with Y turned down.

    across, up : what a millimetre along each setup axis is in the view
    shade      : (address, x, y, width, height) of the picture that lies under the lines
    """

    view: View
    across: str
    up: str
    box: str
    shade: tuple[str, ...]
    stock: str
    fixtures: list[tuple[str, str, bool]]
    backing: list[str]
    rapids: str
    feeds: str
    holes: list[tuple[str, str, str]]
    marks: list[tuple[int, str, str, str]]


_AXES = ("1,0,0", "0,1,0", "0,0,1")


@frozen
class Told:
    """What the report says beside its views and its numbered findings.

    notes : findings that have no number; tables : of time, holes and what is milled
    """

    verdict: str
    notes: Sequence[Finding]
    tables: Sequence[Table]
    not_checked: Sequence[str]
    cautions: Sequence[str]


def page(shown: Shown, texts: Sequence[bytes], said: Told) -> str:
    """The page as HTML.

    texts : the programs' bytes, in the order of `shown.runs`
    """
    paths = shown.paths()
    window = window_of(shown, paths)
    programs = [
        (file, _lines(data), data.count(b"\n") + 1)
        for (file, _), data in zip(shown.runs, texts, strict=True)
    ]
    moves = _moves(paths)
    places = spots_of(shown, paths)
    left = _left(shown)
    views = [_view(shown, paths, view, window, places, left) for view in VIEWS]
    views += [_isometric(shown, left, places)] if left is not None else []
    is_all = all(lines_of(paths, view, window, _step(view, window))[2] for view in VIEWS)
    return (
        _environment()
        .get_template("page.html.j2")
        .render(
            title=shown.title,
            views=views,
            dashes=_dashes(shown),
            findings=list(enumerate(shown.findings, 1)),
            told=said,
            files=[file for file, _ in shown.runs],
            programs=programs,
            most_lines=MOST_LINES_SHOWN,
            is_cut=not is_all or len(moves) >= MOST_MOVES_SHOWN,
            sections=[Markup(one) for one in _sections(shown, places)],
            worth=words_of(shown, left) if left is not None else [],
            sign=Markup(_sign()),
            data=Markup(_script_safe({"moves": moves, "kinds": KIND_WORDS})),
            mark=BLANK_MARK,
        )
    )


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"file_words": file_words, "place_words": place_words, "said": told}
    environment.globals["file"] = lambda name: Markup((_FOLDER / name).read_text(encoding="utf-8"))
    return environment


def _dashes(shown: Shown) -> dict[str, int]:
    """The line type of each fixture, by its name."""
    names = dict.fromkeys(box.name for box in shown.scene.fixtures) if shown.scene else {}
    return {name: at % LINE_TYPES for at, name in enumerate(names)}


def _script_safe(data: object) -> str:
    """JSON that may stand inside a script element."""
    return json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")


def _lines(data: bytes) -> list[str]:
    """The program's lines as text, whatever bytes they hold."""
    text = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").decode("utf-8", "replace")
    lines = text.split("\n", MOST_LINES_SHOWN)[:MOST_LINES_SHOWN]
    return lines[:-1] if lines and not lines[-1] else lines


def _moves(paths: Sequence[Path]) -> list[list[object]]:
    """A row a motion: program, line, kind, feed, tool and the places it passes, flat."""
    rows: list[list[object]] = []
    for program, path in enumerate(paths):
        count = min(len(path.moves), MOST_MOVES_SHOWN - len(rows))
        places: dict[int, list[float]] = {}
        for owner, start, end in pieces_of(path, np.arange(count)):
            begins = np.round(start.T, 3).tolist()
            ends = np.round(end.T, 3).tolist()
            for row, first, last in zip(owner.tolist(), begins, ends, strict=True):
                places.setdefault(row, list(first)).extend(last)
        rows += [[program, *_facts(path.moves, row), places[row]] for row in sorted(places)]
    return rows


def _facts(moves: Moves, row: int) -> list[object]:
    feed = float(moves.feed[row])
    return [
        int(moves.line[row]),
        int(moves.kind[row]),
        None if feed != feed else round(feed, 3),
        int(moves.tool[row]),
    ]


def _step(view: View, window: Window) -> float:
    return max(window.size(view.across), window.size(view.up)) / STEP_SHARE


def _left(shown: Shown) -> Left | None:
    """What is left of the stock, where it is known."""
    if shown.scene is None or shown.record is None:
        return None
    return left_about(
        shown, _dot_mm(shown.scene) / squares_a_dot(shown.scene, _dot_mm(shown.scene))
    )


def _dot_mm(scene: Scene) -> float:
    low, high = scene.stock.low_mm, scene.stock.high_mm
    return max(high[0] - low[0], high[1] - low[1]) / DOTS_ACROSS


def _shade(dots: Dots, low: tuple[float, float], high: tuple[float, float]) -> tuple[str, ...]:
    figures = low[0], -high[1], high[0] - low[0], high[1] - low[1]
    return dots.address(), *(f"{one:.3f}" for one in figures)


def _plan_shade(shown: Shown, left: Left) -> tuple[str, ...]:
    assert shown.scene is not None
    squares = squares_a_dot(shown.scene, _dot_mm(shown.scene))
    dots, (x, y), dot_mm = plan_of(left, squares), left.low_mm, squares * left.square_mm
    return _shade(dots, (x, y), (x + dots.across * dot_mm, y + dots.down * dot_mm))


def _isometric(shown: Shown, left: Left, places: Spots) -> _ViewOnPage:
    """What is left, from the right; over it only the findings and what is chosen."""
    assert shown.scene is not None
    assert shown.record is not None
    seen = isometric_of(left, shown.record.across, _dot_mm(shown.scene))
    margin = max(high - low for low, high in zip(seen.low, seen.high, strict=True)) / 25
    window = Window(
        (seen.low[0] - margin, seen.low[1] - margin, 0.0),
        (seen.high[0] + margin, seen.high[1] + margin, 0.0),
    )
    marks = _marks([*seen_places(shown.scene, places)], ISOMETRIC, window)
    across, up = (
        ",".join(f"{SIGHT.way(axis)[n]:.6f}" for axis in ((1, 0, 0), (0, 1, 0), (0, 0, 1)))
        for n in (0, 1)
    )
    shade = _shade(seen.dots, seen.low, seen.high)
    box = _box(ISOMETRIC, window)
    return _ViewOnPage(ISOMETRIC, across, up, box, shade, "", [], [], "", "", [], marks)


def _sections(shown: Shown, places: Spots) -> Iterator[str]:
    """Each as SVG elements."""
    for number, one in enumerate(shown.sections):
        high = section_height_mm(shown, number, SECTION_MM)
        pen = SvgPen(SECTION_MM[0], high, f"section {one.words}")
        room = 1.0, 1.0, SECTION_MM[0] - 2, high - 2
        draw_section(pen, shown, number, room, places, is_to_scale=False)
        yield pen.figure()


def _sign() -> str:
    wide, high = SIGN_MM
    pen = SvgPen(wide, high, "sign of third angle")
    draw_sign(pen, (wide / 2, high / 2), is_first=False)
    return pen.figure()


def _box(view: View, window: Window) -> str:
    low, high = window.low[view.across], window.high[view.up]
    return f"{low:.3f} {-high:.3f} {window.size(view.across):.3f} {window.size(view.up):.3f}"


def _marks(places: Spots, view: View, window: Window) -> list[tuple[int, str, str, str]]:
    apart = max(window.size(view.across), window.size(view.up)) / MARKS_ACROSS
    return [
        (mark.numbers[0], mark.words, f"{mark.across_mm:.3f}", f"{-mark.up_mm:.3f}")
        for mark in marks_of(places, view, window, apart)
    ]


def _view(
    shown: Shown,
    paths: Sequence[Path],
    view: View,
    window: Window,
    places: Spots,
    left: Left | None,
) -> _ViewOnPage:
    scene = shown.scene
    rapids, feeds, _ = lines_of(paths, view, window, _step(view, window))
    holes = [
        (f"{hole.x_mm:.3f}", f"{-hole.y_mm:.3f}", f"{hole.diameter_mm / 2:.3f}")
        for hole in shown.holes
        if hole.diameter_mm and view.name == "above"
    ]
    return _ViewOnPage(
        view,
        _AXES[view.across],
        _AXES[view.up],
        _box(view, window),
        _plan_shade(shown, left) if left is not None and view.name == "above" else (),
        "".join(_outline(one, view, window) for one in blanks_of(scene.stock)) if scene else "",
        _fixtures(scene, view, window) if scene is not None else [],
        [_outline(box, view, window) for box in scene.backing] if scene else [],
        _path(rapids),
        _path(feeds),
        holes,
        _marks(places, view, window),
    )


def _fixtures(scene: Scene, view: View, window: Window) -> list[tuple[str, str, bool]]:
    """(name, path, whether the stock lies over it)."""
    return [
        (
            box.name,
            _outline(box, view, window),
            view.name == "above" and box.high_mm[2] <= scene.stock.low_mm[2],
        )
        for box in scene.fixtures
    ]


def _outline(solid: object, view: View, window: Window) -> str:
    """A closed SVG path."""
    kind, figures = outline_of(solid, view, window)  # type: ignore[arg-type]
    if kind == "circle":
        x, y, radius = figures
        arc = f"a{radius:.3f} {radius:.3f} 0 1 0"
        return f"M{x - radius:.3f} {-y:.3f}{arc} {2 * radius:.3f} 0{arc} {-2 * radius:.3f} 0z"
    x1, y1, x2, y2 = figures
    return f"M{x1:.3f} {-y1:.3f}H{x2:.3f}V{-y2:.3f}H{x1:.3f}z"


def _path(lines: Floats) -> str:
    """Straight pieces as one SVG path; a piece that goes on from the one before needs no move."""
    words = []
    before = None
    for x1, y1, x2, y2 in np.round(lines, 3).T.tolist():
        if before != (x1, y1):
            words.append(f"M{x1:g} {-y1:g}")
        words.append(f"L{x2:g} {-y2:g}")
        before = (x2, y2)
    return "".join(words)
