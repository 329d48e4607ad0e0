"""Pictures of the desk for the docs, made by `python tests/desk_pictures.py`. No tests here."""

from __future__ import annotations

import io
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from playwright.sync_api import Page, sync_playwright

if TYPE_CHECKING:
    from PIL import Image

    from millprep.desk.serving import Serving

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT / "tests")]
PICTURES = ROOT / "docs" / "pictures"
NAMES = ("desk-board", "desk-part", "desk-phone", "phone")
COLOURS = 64
GAP = 14
NOBODY = "http://192.168.1.20:31234"
BLOCK = """part     = "Bearing block"
drawing  = "sheet 1"
units    = "inch"
material = "mild steel"

[stock]
size = ["2 1/2", "1 1/4", "1 1/2"]

[datum]
x = "left"
y = "front"

[[hole]]
name  = "shaft"
face  = "front"
ream  = "1/2"
depth = "through"
at    = { centre_x = 0, bottom = "7/8" }

[[hole]]
name  = "oil"
drill = "3/32"
depth = { into = "shaft" }
at    = { centre_x = 0, centre_y = 0 }
countersink = { diameter = "3/16", angle = 90 }

[[hole]]
name  = "cap screw"
tap   = "4BA"
depth = "3/8"
at    = [{ left = "3/8", centre_y = 0 }, { right = "3/8", centre_y = 0 }]

[[hole]]
name  = "base screw"
face  = "bottom"
tap   = "2BA"
depth = "1/2"
at    = [{ left = "3/8", centre_y = 0 }, { right = "3/8", centre_y = 0 }]

[[hole]]
name  = "end screw"
face  = "left"
tap   = "4BA"
depth = "5/16"
at    = { centre_y = 0, bottom = "3/8" }
"""


def main() -> None:
    with tempfile.TemporaryDirectory() as place:
        os.environ |= {"HOME": place, "XDG_STATE_HOME": f"{place}/state"}
        folder = Path(place) / "Documents" / "Mill sheets"
        folder.mkdir(parents=True)
        (folder / "bearing-block.toml").write_text(BLOCK)
        for name in ("column-left", "column-right", "cylinder-cover", "port-block", "tie-bar"):
            shutil.copy(ROOT / "parts" / f"{name}.toml", folder)
        from asking import served

        with served(folder) as serving, sync_playwright() as player:
            browser = player.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox"]
            )
            page = browser.new_page(viewport={"width": 1280, "height": 860})
            page.goto(serving.desk.way_in)
            page.wait_for_url(f"{serving.desk.address}/")
            page.wait_for_function(
                "document.querySelectorAll('.stands').length > 5", timeout=90_000
            )
            _kept(page, NAMES[0])
            block = serving.desk.files.of(folder / "bearing-block.toml")
            page.goto(f"{serving.desk.address}/sheet/{block}")
            page.wait_for_selector("#board .views")
            page.wait_for_selector("#red-pencil .mark button")
            _kept(page, NAMES[1])
            _of_phones(page, serving, folder / "port-block.toml")
            browser.close()


def _of_phones(page: Page, serving: Serving, part: Path) -> None:
    """The code, of an address that is nobody's, and two phones that came by the real one."""
    from PIL import Image

    page.set_viewport_size({"width": 1000, "height": 860})
    page.goto(f"{serving.desk.address}/sheet/{serving.desk.files.of(part)}/phone")
    page.click("#hand-it")
    page.wait_for_selector(".code svg")
    address = page.inner_text(".address")
    phones = [_come(page, address) for _ in range(2)]
    with patch("millprep.desk.phones.Phones.address", NOBODY):
        page.reload()
        page.get_by_role("button", name="Show the code again").click()
        page.wait_for_selector(".code svg")
        _kept(page, NAMES[2])
    phones[0].context.set_offline(True)
    for _ in range(2):
        phones[0].wait_for_timeout(600)
        phones[0].click("#done")
    phones[0].click("#waiting summary")
    part.write_text(part.read_text().replace("= [8, 0]", "= [8.5, 0]"))
    phones[1].wait_for_selector("#newer:not([hidden])")
    phones[1].click("#newer summary")
    shots = [Image.open(io.BytesIO(one.screenshot())) for one in phones]
    board = Image.new("RGB", (3 * GAP + 2 * shots[0].width, 2 * GAP + shots[0].height), "#8a8377")
    for place, shot in enumerate(shots):
        board.paste(shot, (GAP + place * (shot.width + GAP), GAP))
    _written(board, NAMES[3])


def _come(page: Page, address: str) -> Page:
    """A phone at a step of the part."""
    context = page.context.browser.new_context(  # type: ignore[union-attr]
        viewport={"width": 390, "height": 844}, device_scale_factor=0.8
    )
    phone = context.new_page()
    phone.goto(address)
    phone.click("#accept")
    while phone.query_selector('.card.shown [data-field="step"]:text-is("2")') is None:
        phone.wait_for_timeout(600)
        phone.click("#done")
    return phone


def _kept(page: Page, name: str) -> None:
    from PIL import Image

    page.wait_for_timeout(1500)
    _written(Image.open(io.BytesIO(page.screenshot())), name)


def _written(image: Image.Image, name: str) -> None:
    file = PICTURES / f"{name}.png"
    image.quantize(COLOURS).save(file, optimize=True)
    print(file, file.stat().st_size)


if __name__ == "__main__":
    main()
