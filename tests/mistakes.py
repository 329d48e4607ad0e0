"""Parts made at random, with slips in how they are held and made. No tests here.

Everything is a valid part file; what is in it may be anything that a person writes by mistake: a
breakthrough longer than the backing, a clamp over a hole, jaws higher than the part, drills that
leave nothing to ream, hundreds of pecks. Some are near what is right, on either side of it.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass

SIZES = {
    "drill": ("2", "3.3", "5", "8", '"1/4 in"', "12"),
    "ream": ("3", "6", '"1/4 in"', "8"),
    "tap": ('"M3"', '"M6"', '"1/4-20"', '"2BA"', '"M8"', '"1/4 BSW"'),
    "clear": ('"M4"', '"M6"'),
    "bore": ("14",),
}
DRILLS = (
    "2 mm",
    "3 mm",
    "4 mm",
    "5 mm",
    "5.2 mm",
    "5.5 mm",
    "5.8 mm",
    "5.98 mm",
    "6 mm",
    "6.8 mm",
    "7.8 mm",
    "13 mm",
)
PECKS = ("0.05", "0.06", "0.3", "2", "20", "[4, 2, 1]", "[4, 0.06]", '"none"')
ALLOWED = (
    "hits fixture",
    "hole wrong for tool",
    "wrong drills",
    "chuck near",
    "peck too small",
    "beyond flutes",
    "tap bottoms",
    "flutes full",
)
SHOPS = (
    "[cabinet]\nspot_drills = [{ diameter = 10, point_angle = 90, tip_flat = FLAT }]\n",
    '[[tool]]\nnumber = 1\nkind = "spot drill"\ndiameter = 10\npoint_angle = 90\n'
    "tip_flat = FLAT\nreach = REACH\nholder = { diameter = 30, length = 40 }\n",
    '[[tool]]\nnumber = 2\nkind = "drill"\ndiameter = SIZE\nflute = REACH\nlength = 90\n'
    "reach = REACH\nholder = { diameter = 40, length = 40 }\n",
    '[[tool]]\nnumber = 5\nkind = "reamer"\ndiameter = 6\nlead = LEAD\nlength = 90\n',
    '[control]\ntool_change = "files"\ntapping = "none"\n',
    "[vice]\njaw = { width = 100, height = 12, thickness = 12 }\n",
    "[readout]\nresolution = 0.05\n",
)  # fmt: skip
_LENGTH = re.compile(r"(?<=[=\[, ])(-?\d+(?:\.\d+)?)(?=[,\] }]|$)")
Place = tuple[float, float]
Size = tuple[int, int, int]


@dataclass(frozen=True)
class Case:
    """A part file, and a shop file or the name of a packaged shop."""

    part: str
    shop: str


def random_case(dice: random.Random) -> Case:
    """One part with none, one or several slips."""
    size = dice.choice((50, 60, 90)), dice.choice((30, 40, 60)), dice.choice((10, 20, 45))
    face = dice.choice(("top", "top", "bottom", "front"))
    if size[2] < 20 and face == "front":
        face = "top"
    places = _places(dice, size, face)
    material = dice.choice(("mild steel", "aluminium", "brass", "acetal"))
    text = f'part = "Trial"\nunits = "mm"\nmaterial = "{material}"\n[stock]\n'
    text += f"size = [{size[0]}, {size[1]}, {size[2]}]\n"
    if dice.random() < 0.1:
        text += f"measured = {{ z = {size[2] + dice.choice((-0.3, 0.2))} }}\n"
    text += '[datum]\nx = "left"\ny = "front"\n'
    for number, place in enumerate(places):
        text += _hole(dice, f"h{number}", place, face, size)
    text += _setup(dice, face, size, places)
    return Case(_in_inches(text) if dice.random() < 0.2 else text, _shop(dice))


def _in_inches(text: str) -> str:
    """The same part in a file of inches: every plain length says that it is mm."""
    lines = text.replace('units = "mm"', 'units = "inch"').split("\n")
    return "\n".join(_LENGTH.sub(r'"\1 mm"', line) for line in lines)


def _height(size: Size, face: str) -> int:
    return size[1] if face == "front" else size[2]


def _places(dice: random.Random, size: Size, face: str) -> list[Place]:
    """Places on the face far enough from each other and from its edges."""
    up = size[2] if face == "front" else size[1]
    cells = [
        (round(size[0] * share, 2), round(up / 2 + dice.uniform(-0.5, 0.5), 2))
        for share in (0.25, 0.75)
    ]
    return dice.sample(cells, dice.choice((1, 2)))


def _hole(dice: random.Random, name: str, place: Place, face: str, size: Size) -> str:
    height = _height(size, face)
    small = height < 20
    kind = dice.choice(("drill", "drill", "ream", "tap", "clear", "bore"))
    sizes = SIZES[kind]
    word = dice.choice(sizes if height <= 30 else sizes[len(sizes) // 2 :])
    is_through = dice.random() < 0.6 or small
    depth = '"through"' if is_through else f"{round(height * dice.choice((0.25, 0.4)), 1)}"
    text = f'[[hole]]\nname = "{name}"\nface = "{face}"\n{kind} = {word}\n'
    text += f"at = [{place[0]}, {place[1]}]\ndepth = {depth}\n"
    if dice.random() < 0.25:
        drills = dice.sample(DRILLS, dice.choice((1, 2, 3)))
        if dice.random() < 0.8:
            drills.sort(key=lambda one: float(one.split()[0]))
        text += "drills = [" + ", ".join(f'"{one}"' for one in drills) + "]\n"
    if dice.random() < 0.25:
        text += f"peck = {dice.choice(PECKS)}\n"
    if is_through and dice.random() < 0.25:
        text += f"breakthrough = {dice.choice((0.5, 1.5, 2, 5, 9))}\n"
    if dice.random() < 0.1:
        text += "spot = false\n"
    if dice.random() < 0.2:
        text += f'allow = ["{dice.choice(ALLOWED)}"]\n'
    return text


def _setup(dice: random.Random, face: str, size: Size, places: list[Place]) -> str:
    height = _height(size, face)
    text = f'[[setup]]\nface = "{face}"\n'
    if dice.random() < 0.4:
        grip = dice.choice((0.3, 2, 6, 8, height / 2, height - 0.5, height, height + 5, 45))
        text += f'vice = {{ grip = {grip}, jaws = "{dice.choice("yyx")}" }}\n'
    if dice.random() < 0.25:
        text += _parallels(dice, size[2] if face == "front" else size[1], is_down=face == "bottom")
    if dice.random() < 0.25:
        text += f"backing = {dice.choice((0, 2, 3, 8, 15))}\n"
    if dice.random() < 0.25:
        text += f"safe_height = {dice.choice((1, 6, 12, 30))}\n"
    if dice.random() < 0.3:
        x, y = dice.choice(places)
        x += dice.choice((0, 8, 15, -25, 40))
        y = (-y if face == "bottom" else y) + dice.choice((0, 9, -14))
        text += (
            f'[[setup.obstacle]]\nname = "clamp"\nfrom = [{x - 6:.2f}, {y - 6:.2f}, -12]\n'
            f"to = [{x + 6:.2f}, {y + 6:.2f}, {dice.choice((-1, 2, 8, 25, 60))}]\n"
        )
    return text


def _parallels(dice: random.Random, across: int, *, is_down: bool) -> str:
    """Two strips: at the edges, under the part's middle, beside the part."""
    at = [dice.choice((0, 0, 2, 5.03, -6)), across - dice.choice((3, 3, 5.03, across / 2, -2))]
    if is_down:  # Y runs down from the front face there
        at = [-one - 3 for one in at]
    height = dice.choice((3, 10, 22, 22, 31))
    return f"parallels = {{ thickness = 3, height = {height}, at = [{at[0]:.2f}, {at[1]:.2f}] }}\n"


def _shop(dice: random.Random) -> str:
    if dice.random() < 0.5:
        return dice.choice(("metric", "metric", "inch"))
    text = dice.choice(SHOPS).replace("FLAT", str(dice.choice((0, 0.2, 1, 4))))
    text = text.replace("REACH", str(dice.choice((8, 25, 60))))
    return text.replace("SIZE", dice.choice(("5", "8", "3.3"))).replace(
        "LEAD", str(dice.choice((1, 3)))
    )
