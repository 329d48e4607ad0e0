"""The pictures under docs/pictures: which commands each shows, and how it is made. No tests here.

A picture carries the print of the sheets that it was made from, so that a test can tell a stale
one without a browser and without comparing dots. Pictures are made anew by
`MILLPREP_UPDATE_DOCS=1 pytest tests/test_pictures.py`.
"""

from __future__ import annotations

import hashlib
import html
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jobs import millprep
from PIL import Image, ImageChops, ImageOps, PngImagePlugin
from playwright.sync_api import Browser, Page

DOCS = Path(__file__).parent.parent / "docs"
PRINT_KEY = "made from"
COLOURS = 96  # of a picture: small files, and still the greens and reds of the bench page
MARGIN = 24
A4_MARGIN = 45  # 12 mm
Sheets = list[bytes]

# A sheet of paper with the letters of one width that a text sheet wants.
_PAPER = """<!DOCTYPE html><meta charset="utf-8"><style>
body {{ margin: 0; background: #fff; }}
pre {{ margin: 0; padding: 2rem; width: max-content; color: #000;
  font: 13px/1.3 "DejaVu Sans Mono", "Liberation Mono", monospace; }}
</style><pre>{0}</pre>"""


@dataclass(frozen=True)
class Picture:
    """One picture: the sheets it shows, made in a folder with parts/, and how they are drawn."""

    sheets: Callable[[], Sheets]
    drawn: Callable[[Sheets, Browser], Image.Image]


def print_of(sheets: Sheets) -> str:
    """A short hash of what a picture was made from."""
    return hashlib.sha256(b"\0".join(sheets)).hexdigest()[:16]


def write(picture: Picture, path: Path, sheets: Sheets, browser: Browser) -> None:
    """The picture, small, and with the print of its sheets."""
    image = (
        picture.drawn(sheets, browser).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    )
    about = PngImagePlugin.PngInfo()
    about.add_text(PRINT_KEY, print_of(sheets))
    image.save(path, optimize=True, pnginfo=about)


def _made(*arguments: object, to: str) -> Sheets:
    """The bytes of a file that a command writes."""
    ran = millprep(*arguments, "-o", to)
    assert ran.status == 0, ran.err
    return [Path(to).read_bytes()]


def _dry_run_of_a_slip() -> Sheets:
    """The program of the page on the dry run, with its two slips: a place and a feed."""
    (program,) = _made("program", "parts/base-plate.toml", "--setup", 1, to="base.nc")
    slips = (
        (b"Y-12.0 (COLUMN SCREW 4, DRILL)", b"Y-28.0 (COLUMN SCREW 4, DRILL)"),
        (b"F280", b"F400"),
    )
    for good, bad in slips:
        assert program.count(good) == 1
        program = program.replace(good, bad)
    Path("edited.nc").write_bytes(program)
    cut = ("--section", "column screw 1", "--section", "rubber foot 2")
    part = "parts/base-plate.toml"
    ran = millprep("dryrun", "edited.nc", "--part", part, "--picture", "e.png", *cut)
    assert ran.status == 1
    return [Path("e.png").read_bytes()]


def _page_of_a_program() -> Sheets:
    _made("program", "parts/base-plate.toml", "--setup", 1, to="base.nc")
    ran = millprep("dryrun", "base.nc", "--part", "parts/base-plate.toml", "--html", "base.html")
    assert ran.status == 0, ran.err
    return [Path("base.html").read_bytes()]


def _shot(
    browser: Browser, page_bytes: bytes, act: Callable[[Page], None] | None = None, **context: Any
) -> Image.Image:
    """A page as the browser shows it after `act`; from a file, for a page keeps ticks only then."""
    file = Path("shown.html").absolute()
    file.write_bytes(page_bytes)
    with browser.new_context(**context) as held:
        page = held.new_page()
        page.goto(file.as_uri())
        if act is not None:
            act(page)
        whole = "viewport" not in context
        return Image.open(io.BytesIO(page.screenshot(full_page=whole))).convert("RGB")


def _trimmed(image: Image.Image) -> Image.Image:
    """Without the empty paper round it, but for a margin."""
    flat = image.convert("RGB")
    box = ImageChops.invert(flat).getbbox()
    return ImageOps.expand(flat.crop(box), MARGIN, "white")


def _paper(sheets: Sheets, browser: Browser) -> Image.Image:
    """A text sheet as it lies beside the mill."""
    page = _PAPER.format(html.escape(sheets[0].decode())).encode()
    return _trimmed(_shot(browser, page))


def _printed(sheets: Sheets, browser: Browser) -> Image.Image:
    """The upper part of the first sheet of A4, 96 dots to the inch and its margins round it."""
    shown = _shot(
        browser,
        sheets[0],
        lambda page: page.emulate_media(media="print"),
        viewport={"width": 794 - 2 * A4_MARGIN, "height": 960},
    )
    return ImageOps.expand(shown, A4_MARGIN, "white")


def _wide(sheets: Sheets, browser: Browser) -> Image.Image:
    return _shot(browser, sheets[0], viewport={"width": 1180, "height": 660})


def _drawing(sheets: Sheets, browser: Browser) -> Image.Image:
    """A drawing of 200 dots to the inch, at half of that."""
    image = Image.open(io.BytesIO(sheets[0])).convert("L")
    return _trimmed(image.resize((image.width // 2, image.height // 2), Image.Resampling.LANCZOS))


def _bench(sheets: Sheets, browser: Browser) -> Image.Image:
    """A step by day, by night in the other unit, and the list of all steps, side by side."""

    def to_a_step(page: Page) -> None:
        page.click("#accept")
        while page.query_selector('.card.shown [data-field="step"]:text-is("2")') is None:
            page.click("#done")

    def by_night(page: Page) -> None:
        to_a_step(page)
        page.click("#units")

    def listed(page: Page) -> None:
        to_a_step(page)
        page.click("#all")

    phone: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 0.6}
    looks = (("light", to_a_step), ("dark", by_night), ("light", listed))
    shots = [_shot(browser, sheets[0], act, color_scheme=look, **phone) for look, act in looks]
    gap = 14
    width = sum(shot.width + gap for shot in shots) + gap
    board = Image.new("RGB", (width, shots[0].height + 2 * gap), "#8a8377")
    for place, shot in enumerate(shots):
        board.paste(shot, (gap + place * (shot.width + gap), gap))
    return board


def _text(*arguments: object) -> Callable[[], Sheets]:
    return lambda: _made(*arguments, to="sheet.txt")


def _matched() -> Sheets:
    """The cover of the page on parts as drilled."""
    page = (DOCS / "as-drilled.md").read_text()
    Path("cover.csv").write_text(page.split("```csv cover.csv\n")[1].split("```")[0])
    return _made("match", "parts/cylinder-cover.toml", "cover.csv", to="sheet.txt")


PICTURES = {
    "tools": Picture(_text("tools", "parts/flywheel-hub.toml"), _paper),
    "markout": Picture(_text("markout", "parts/port-block.toml"), _paper),
    "dials": Picture(_text("dials", "parts/guard-panel.toml", "--order", "row"), _paper),
    "listing": Picture(
        lambda: _made("listing", "parts/port-block.toml", "--setup", 5, to="listing.html"), _printed
    ),
    "drawing": Picture(
        lambda: _made(
            "drawing",
            "parts/column-left.toml",
            "--setup",
            4,
            "--date",
            "2026-05-14",
            to="drawing.png",
        ),
        _drawing,
    ),
    "bench": Picture(
        lambda: _made("bench", "parts/port-block.toml", "--setup", 5, to="bench.html"), _bench
    ),
    "program": Picture(_page_of_a_program, _wide),
    "inspection": Picture(_text("inspect", "parts/trunnion-plate.toml"), _paper),
    "as-drilled": Picture(_matched, _paper),
    "dryrun": Picture(_dry_run_of_a_slip, _drawing),
}


def shown_print(path: Path) -> str:
    """The print that a picture carries; "" where it carries none."""
    with Image.open(path) as image:
        return str(image.info.get(PRINT_KEY, ""))


def images_of(page: str) -> list[str]:
    """Targets of the pictures on a page in Markdown."""
    return re.findall(r"!\[[^\]]+\]\(([^)]+)\)", page)
