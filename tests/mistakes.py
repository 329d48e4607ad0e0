"""Parts made at random, with slips in how they are held and made. No tests here.

Everything is a valid part file; what is in it may be anything that a person writes by mistake: a
breakthrough longer than the backing, a clamp over a hole, jaws higher than the part, drills that
leave nothing to ream, hundreds of pecks. Some are near what is right, on either side of it. The
shops have gaps: a drawer of a few drills, a mill without readout or dials, a control that has not
got what another has.
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
SHOP_TABLES = {
    "mill": (
        'head_moves = "loses"\nquill_travel = QUILL\n',
        "spindle = { speeds = [350, 900, 1600] }\n",
        "spindle = { min = 600, max = 5000 }\n",
        "travel = { x = [0, 120], y = [0, 60], z = [-120, 0] }\n",
        "max_feed = 40\n",
    ),
    "readout": ("resolution = 0.05\n", 'axes = "xyz"\n', 'reversed = ["y"]\n', "fitted = false\n"),
    "dials": (
        "fitted = false\n",
        'z = { lead = 2, divisions = 40, clockwise = "-" }\n',
        'x = { lead = "0.1 in", divisions = 62.5, numbers_rise = "anticlockwise" }\n',
    ),
    "vice": (
        "jaw = { width = 100, height = 12, thickness = 12 }\n",
        'fixed_jaw = "towards you"\n',
        "jaw = { width = 60, height = 40, thickness = 10 }\n",
    ),
    "parallels": ("thickness = 3\nheights = [20]\n", "thickness = 8\nheights = []\n"),
    "control": (
        'tool_change = "files"\ntapping = "none"\n',
        'axes = "xy"\n',
        'tool_change = "stop"\nlength_offset = false\nzero_in_stop = true\n',
        'tool_change = "stop"\nlength_offset = false\nzero_in_stop = false\n',
        'cycles = false\ntapping = "rigid"\n',
        'cycles = ["G81"]\ncomments = "none"\n',
        'comments = ";"\ntapping = "reversing head"\nunits = "inch"\n',
        "strict = true\n",
    ),
    "drawer": (
        "spot_drills = [{ diameter = 10, point_angle = 90, tip_flat = FLAT }]\n",
        'drills = [{ from = 1, to = 10, step = 1 }]\nreamers = []\ntaps = ["M3"]\n',
        "drills = [1, 3.3, 5.3, 10.5, 12]\n",
        "drills = []\n",
        "spot_drills = []\ncountersinks = [{ diameter = 12.4, tip_flat = FLAT }]\n",
        'drills = [{ diameter = 5, flute = 30 }, { diameter = "1/4 in", point_angle = 135 }]\n',
        "countersinks = []\ncounterbores = []\nend_mills = []\n",
    ),
    "[tool]": (
        'number = 1\nkind = "spot drill"\ndiameter = 10\npoint_angle = 90\ntip_flat = FLAT\n'
        "reach = REACH\nholder = { diameter = 30, length = 40 }\n",
        'number = 2\nkind = "drill"\ndiameter = SIZE\nflute = REACH\nlength = 90\n'
        "reach = REACH\nholder = { diameter = 40, length = 40 }\n",
        'number = 5\nkind = "reamer"\ndiameter = 6\nlead = LEAD\nlength = 90\n',
    ),
}
MOUTHS = (
    "countersink = { diameter = WIDE }\n",
    "counterbore = { diameter = WIDE, depth = 3 }\n",
    "spotface = { diameter = WIDE, depth = 0.5 }\n",
    "far = { countersink = { diameter = WIDE } }\n",
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
    slips = dice.choice((0, 1))
    size = dice.choice((50, 60, 90)), dice.choice((30, 40, 60)), dice.choice((10, 20, 45))
    material = dice.choice(("mild steel", "aluminium", "brass", "acetal", "cast iron"))
    text = f'part = "Trial"\nunits = "mm"\nmaterial = "{material}"\n[stock]\n'
    if dice.random() < 0.2:
        return Case(text + _round(dice, slips), _shop(dice))
    face = dice.choice(("top", "top", "bottom", "front", "left"))
    if size[2] < 20 and face in ("front", "left"):
        face = "top"
    text += f"size = [{size[0]}, {size[1]}, {size[2]}]\n"
    if dice.random() < 0.1:
        text += f"measured = {{ z = {size[2] + dice.choice((-0.3, 0.2))} }}\n"
    text += '[datum]\nx = "left"\ny = "front"\n'
    places = _places(dice, size, face)
    for number, place in enumerate(places):
        text += _hole(dice, f"h{number}", place, face, size, slips)
    if dice.random() < 0.3:
        other = dice.choice([one for one in ("top", "bottom", "back") if one != face])
        if other != "back" or size[2] >= 20:
            text += _hole(dice, "other", _places(dice, size, other)[0], other, size, slips)
    text += _setup(dice, face, size, places) if dice.random() < 0.7 * slips else ""
    return Case(_in_inches(text) if dice.random() < 0.2 else text, _shop(dice))


def _round(dice: random.Random, slips: float) -> str:
    """A disc with holes in its end, or a bar with one across, or in its end."""
    width, length = dice.choice((18, 25, 60)), dice.choice((10, 40, 90))
    axis = dice.choice("zzx")
    text = f'diameter = {width}\nlength = {length}\naxis = "{axis}"\n'
    if axis == "z":
        size, face, at = (width, width, length), "top", (width * 0.3, 0.0)
    else:
        size, face = (length, width, width), dice.choice(("top", "left"))
        at = (0.0, 0.0)
    text += '[datum]\nx = "centre"\ny = "centre"\n' + ('z = "bottom"\n' if axis == "x" else "")
    return text + _hole(dice, "h0", at, face, size, slips)


def _in_inches(text: str) -> str:
    """The same part in a file of inches: every plain length says that it is mm."""
    lines = text.replace('units = "mm"', 'units = "inch"').split("\n")
    return "\n".join(_LENGTH.sub(r'"\1 mm"', line) for line in lines)


def _height(size: Size, face: str) -> int:
    return {"front": size[1], "back": size[1], "left": size[0]}.get(face, size[2])


def _places(dice: random.Random, size: Size, face: str) -> list[Place]:
    """Places on the face far enough from each other and from its edges."""
    along = size[1] if face == "left" else size[0]
    up = size[1] if face in ("top", "bottom") else size[2]
    cells = [
        (round(along * share, 2), round(up / 2 + dice.uniform(-0.5, 0.5), 2))
        for share in (0.25, 0.75)
    ]
    return dice.sample(cells, dice.choice((1, 2)))


def _hole(dice: random.Random, name: str, place: Place, face: str, size: Size, slips: float) -> str:
    """slips : 0 for a careful hand, 1 for one that is not"""
    height = _height(size, face)
    small = height < 20
    kind = dice.choice(("drill", "drill", "ream", "tap", "clear", "bore"))
    sizes = SIZES[kind]
    word = dice.choice(sizes if height <= 30 else sizes[len(sizes) // 2 :])
    is_through = dice.random() < 0.6 or small
    depth = '"through"' if is_through else f"{round(height * dice.choice((0.25, 0.4)), 1)}"
    text = f'[[hole]]\nname = "{name}"\nface = "{face}"\n{kind} = {word}\n'
    text += f"at = [{place[0]}, {place[1]}]\ndepth = {depth}\n"
    if dice.random() < 0.2:
        mouth = dice.choice(MOUTHS if is_through else MOUTHS[:3])
        text += mouth.replace("WIDE", str(dice.choice((12, 16, 20, 25))))
    elif is_through and dice.random() < 0.1:
        text += "from_both_ends = true\n"
    if dice.random() < 0.25 * slips:
        drills = dice.sample(DRILLS, dice.choice((1, 2, 3)))
        if dice.random() < 0.8:
            drills.sort(key=lambda one: float(one.split()[0]))
        text += "drills = [" + ", ".join(f'"{one}"' for one in drills) + "]\n"
    if dice.random() < 0.25 * slips:
        text += f"peck = {dice.choice(PECKS)}\n"
    if is_through and dice.random() < 0.25 * slips:
        text += f"breakthrough = {dice.choice((0.5, 1.5, 2, 5, 9))}\n"
    if dice.random() < 0.1:
        text += "spot = false\n"
    if dice.random() < 0.2 * slips:
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
    """A packaged shop, or one with a few tables that differ from it."""
    if dice.random() < 0.4:
        return dice.choice(("metric", "metric", "inch"))
    text = 'base = "inch"\n' if dice.random() < 0.2 else ""
    for table in dice.sample(sorted(SHOP_TABLES), dice.choice((1, 1, 2, 3))):
        text += f"[{table}]\n{dice.choice(SHOP_TABLES[table])}"
    figures = {"FLAT": (0, 0.2, 1, 4), "REACH": (8, 25, 60), "SIZE": (5, 8, 3.3), "LEAD": (1, 3)}
    figures["QUILL"] = (40, 80)
    for name, values in figures.items():
        text = text.replace(name, str(dice.choice(values)))
    return text
