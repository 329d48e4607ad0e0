"""Pictures of the desk for the docs, made by `python tests/desk_pictures.py`. No tests here."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT / "tests")]
PICTURES = ROOT / "docs" / "pictures"
NAMES = ("desk-board", "desk-part")
COLOURS = 64
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
            _kept(page, NAMES[0])
            block = serving.desk.files.of(folder / "bearing-block.toml")
            page.goto(f"{serving.desk.address}/sheet/{block}")
            page.wait_for_selector("#board .views")
            page.wait_for_selector("#red-pencil .mark button")
            _kept(page, NAMES[1])
            browser.close()


def _kept(page: Page, name: str) -> None:
    from PIL import Image

    page.wait_for_timeout(1500)
    file = PICTURES / f"{name}.png"
    page.screenshot(path=file)
    Image.open(file).quantize(COLOURS).save(file, optimize=True)
    print(file, file.stat().st_size)


if __name__ == "__main__":
    main()
