"""Zero by dial where the zero's own face is out of reach: words, a screw with play, the witness.

The screw is followed by a model of its own: a nut with play, which moves only when a flank pushes.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
from jobs import plan_of
from outside_readers.dial_rows import DialFigure, DialZero
from outside_readers.dial_zero import read_zero

from millprep.base.findings import Finding
from millprep.model.shop import Dial
from millprep.planning import Plan, make_plan
from millprep.setting.skew import Skew
from millprep.sheets.dials import make_dial_sheet
from millprep.sheets.listing import make_listing
from millprep.witness.dials import check_dials
from millprep.writers import written

HOLE = '[[hole]]\nname = "a"\ndrill = 4\nat = [20, 5]\ndepth = 5\n'
MIDDLE = HOLE.replace("20, 5", "5, 5")
TOP = '[[setup]]\nface = "top"\n'
STRAP = '[[setup.obstacle]]\nname = "strap no. 2"\nfrom = [{0}, -5, -10]\nto = [{1}, 45, 12]\n'
FLUSH = TOP + "vice = { grip = 20 }\n"
THROUGH = (
    '[[hole]]\nname = "pivot"\nream = 6\nat = [30, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "under"\nface = "bottom"\ndrill = 3\nat = [10, 10]\ndepth = 4\n'
    f'{TOP}[[setup]]\nface = "bottom"\nbacking = 6\n'
)
BESIDE = '[[setup.obstacle]]\nname = "{0}"\nfrom = [-20, {1}, -10]\nto = [80, {2}, 12]\n'
BETWEEN = BESIDE.format("near strap", -60, -40) + BESIDE.format("far strap", 0, 20)
BLOCK, NARROW = "size = [60, 40, 20]", "size = [60, 11, 20]"
RIGHT, BACK, CENTRE = (
    f'x = "{x}"\ny = "{y}"' for x, y in (("right", "front"), ("left", "back"), ("centre", "front"))
)
ODD = """
[dials]
x = { lead = 2, divisions = 62.5, backlash = 0.9, clockwise = "-" }
y = { lead = "0.1 in", divisions = 100, numbers_rise = "anticlockwise", correction_ppm = 67 }
[readout]
reversed = ["y"]
"""
PARTS = {
    "opposite face": (HOLE + TOP + STRAP.format(-20, 5), BLOCK, ""),
    "one side of a centre": (MIDDLE + TOP + STRAP.format(-50, -25), BLOCK, CENTRE),
    "jaw opposite": (HOLE + FLUSH, BLOCK, ""),
    "jaw": (HOLE + FLUSH, BLOCK, BACK),
    "stop": (HOLE + FLUSH, NARROW, ""),
    "stop at the right": (HOLE + FLUSH, NARROW, RIGHT),
    "stop for a centre": (MIDDLE + FLUSH, NARROW, CENTRE),
    "empty vice": (HOLE + FLUSH, "size = [100, 40, 20]", BACK),
    "hole": (THROUGH + BETWEEN, BLOCK, ""),
    "nothing": (HOLE.replace("20, 5", "20, 35") + TOP + "backing = 6\n" + BETWEEN, BLOCK, BACK),
}


@cache
def plan(name: str, shop: str = "", skew_deg: float = 0.0) -> Plan:
    holes, stock, datum = PARTS[name]
    made = plan_of(holes, stock, shop=shop, **({"datum": datum} if datum else {}))
    number = len(made.setups)
    return make_plan(made.part, made.shop, skew=Skew(number, skew_deg)) if skew_deg else made


def check(made: Plan, data: str | bytes, form: Any) -> list[Finding]:
    return check_dials(
        data.encode() if isinstance(data, str) else data,
        form,
        made.part,
        made.shop,
        file="sheet",
        skews={one.setup.number: one.skew_deg for one in made.setups},
    )


def zero_of(made: Plan) -> list[str]:
    """What the last setup's ZERO says."""
    sheet = json.loads(written("dials", make_dial_sheet(made, "mm"), "json"))
    said: list[str] = sheet["setups"][-1]["said"]["ZERO"]
    return said


@cache
def text(name: str) -> str:
    return str(written("dials", make_dial_sheet(plan(name), "mm"), "text"))


GO_ON = "set the dial to 0 again: you should be over"
INDICATOR = (
    "set an indicator at the table to 0; raise it, go on 0.5 turns, come up {} until the indicator "
    "is at 0 again, set the dial to 0;"
)
WITH = "with the 10 mm edge finder, handle"
WORDS = {
    # RIGHT at 60, the finder's axis 5 beyond: 65 mm back are 26 turns of 2.5 mm, and half one more.
    "opposite face": f"X on LEFT: pick up RIGHT {WITH} anticlockwise, "
    f"{INDICATOR.format('clockwise')} go back to 26 turns, figure 50, come up to 26 turns, figure "
    f"0, {GO_ON} LEFT; LEFT is out of reach, behind strap no. 2; measure LEFT to RIGHT: taken "
    "as 60.000.",
    # BACK at 40 lies on the fixed jaw; the axis stands at 35 when the finder comes up to the jaw.
    "jaw opposite": f"Y on FRONT: pick up the fixed jaw beside BACK {WITH} clockwise, "
    "set the dial to 0; raise it, go back to 14 turns, figure 50, come up to 14 turns, "
    f"figure 0, {GO_ON} FRONT; FRONT is out of reach, below the jaws; measure FRONT to BACK: "
    "taken as 40.000.",
    # The stop for LEFT at 0, the axis at 5, or 25 from a zero in the middle.
    "stop": f"X on LEFT: before the part goes in, pick up the stop for LEFT {WITH} anticlockwise, "
    f"{INDICATOR.format('clockwise')} go back to 2 turns, figure 50, "
    f"come up to 2 turns, figure 0, {GO_ON} LEFT; LEFT is out of reach, below the jaws.",
    "stop for a centre": "X on the centre: before the part goes in, pick up the stop for LEFT "
    f"{WITH} anticlockwise, {INDICATOR.format('clockwise')} go on "
    f"10 turns, figure 0, {GO_ON} the centre line; LEFT is out of reach, below the jaws; measure "
    "LEFT to RIGHT: taken as 60.000.",
    # BOTTOM up, pivot 20 mm from FRONT, which is away: 8 turns.
    "hole": "Y on FRONT: clock pivot (already made), handle anticlockwise, set the dial "
    f"to 0; raise it, go back to 8 turns, figure 50, come up to 8 turns, figure 0, {GO_ON} FRONT; "
    "FRONT is out of reach, behind far strap.",
    # Zero is 5 mm on, the finder's radius: 2 turns.
    "nothing": f"Y on BACK: pick up BACK {WITH} anticlockwise, set the dial "
    f"to 0; raise it, go on 2 turns, figure 0, {GO_ON} BACK; BACK is out of reach, behind far "
    "strap.",
    # A part as long as the jaws: nothing of them is free but before it goes in. The part lies at
    # minus Y, towards which its steps are wound: the jaw is met from the far side.
    "empty vice": "Y on BACK: before the part goes in, pick up the fixed jaw beside BACK "
    f"{WITH} clockwise, {INDICATOR.format('anticlockwise')} go back to 2 turns, figure "
    f"50, come up to 2 turns, figure 0, {GO_ON} BACK; BACK is out of reach, below the jaws.",
}


@pytest.mark.parametrize("name", WORDS)
def test_what_is_told_where_the_face_of_zero_is_out_of_reach(name: str) -> None:
    assert WORDS[name] in zero_of(plan(name))


@dataclass
class Screw:
    """A handwheel at `at` mm, and a table that follows when the play is taken up."""

    dial: Dial
    play: float
    at: float = 0.0
    table: float = 0.0
    nought: float = 0.0

    def turn_to(self, at: float) -> None:
        """The nut follows upwards at once, downwards when its play is taken up."""
        self.at = at
        self.table = min(max(self.table, at), at + self.play)

    def bring(self, table: float, way: int) -> None:
        """Turn one way until the table is there, from well before it."""
        self.turn_to(table - way * 20)
        self.turn_to(table if way > 0 else table - self.play)

    def set(self, figure: DialFigure, side: int) -> None:
        """To turns and figure counted from the dial's own 0."""
        dial = self.dial
        grows = 1 if (dial.clockwise == "+") == (dial.numbers_rise == "clockwise") else -1
        shown = float(figure.reading)
        away = shown if side == grows else (dial.divisions - shown) % dial.divisions
        lead = dial.lead_mm * (1 + dial.correction_ppm / 1e6)
        self.turn_to(self.nought + side * lead * (figure.turns + away / dial.divisions))


@pytest.mark.parametrize("shop", ["", ODD], ids=["plain", "odd"])
@pytest.mark.parametrize("play", [0.0, 0.25])
@pytest.mark.parametrize("name", PARTS)
def test_a_screw_with_play_comes_to_stand_over_zero(name: str, play: float, shop: str) -> None:
    made = plan(name, shop)
    setup = made.setups[-1].setup
    for axis, zero in enumerate(read_zero(" ".join(zero_of(made)), "mm")):
        dial = made.shop.dials["xy"[axis]]
        ends = (setup.low_mm[axis], setup.high_mm[axis])
        low = (
            zero.touch is not None and zero.touch.face == (setup.left_hand, setup.towards_you)[axis]
        )
        where = followed(zero, Screw(dial, play), ends, is_low=low)
        assert abs(where) <= dial.lead_mm / dial.divisions / 2 + 1e-6


def followed(zero: DialZero, screw: Screw, ends: tuple[float, float], *, is_low: bool) -> float:
    """Where the table stands after all that ZERO says of an axis. is_low : which end is met"""

    def way(hand: str) -> int:
        return 1 if (hand == "clockwise") == (screw.dial.clockwise == "+") else -1

    usual = met = way(zero.hand)
    at = -20.0  # of the hole in the part that has one
    if zero.touch is not None:
        outward = -1 if is_low else 1
        beside = outward if zero.touch.against == "face" else -outward
        assert met == -beside, "the handle leads away from what is to be met"
        at = (ends[0] if is_low else ends[1]) + beside * 5.0  # finder of 10 mm
    screw.bring(at, met)
    if zero.by_indicator is not None:
        turns, hand = zero.by_indicator
        screw.turn_to(screw.at + met * turns * screw.dial.lead_mm)
        usual = way(hand)
        assert (at - screw.table) * usual > screw.play
        screw.turn_to(at if usual > 0 else at - screw.play)
    screw.nought = screw.at
    if zero.back is not None:
        screw.set(zero.back, -usual)
    screw.set(zero.go_on, usual if zero.back is None else -usual)
    assert screw.table == pytest.approx(screw.at + (0 if usual > 0 else screw.play))
    return screw.table


@pytest.mark.parametrize(
    ("form", "units", "shop", "skew_deg"),
    [
        ("text", "mm", ODD, 0.0),
        ("text", "inch", "", 1.5),
        ("html", "mm", "", -2.0),
        ("json", "inch", ODD, 0.0),
        ("csv", "mm", ODD, 1.5),
        ("pdf", "mm", ODD, 1.5),
    ],
)
@pytest.mark.parametrize("name", PARTS)
def test_the_witness_agrees(name: str, form: str, units: str, shop: str, skew_deg: float) -> None:
    made = plan(name, shop, skew_deg)
    sheet = written("dials", make_dial_sheet(made, units), form)  # type: ignore[arg-type]
    assert check(made, sheet, form) == []


SLIPS = [
    ("opposite face", "finder, handle anticlockwise", "finder, handle clockwise"),
    ("opposite face", "pick up RIGHT", "pick up LEFT"),
    ("opposite face", "go on 0.5 turns", "go on 0.2 turns"),
    ("opposite face", "come up clockwise until", "come up anticlockwise until"),
    ("opposite face", "go back to 26 turns, figure 50, come up to", "go on"),
    ("opposite face", "to 26 turns, figure 50,", "to 25 turns, figure 50,"),
    ("opposite face", "to 26 turns, figure 0,", "to 27 turns, figure 0,"),
    ("opposite face", "to 26 turns, figure 0,", "to 26 turns, figure 1,"),
    ("opposite face", "taken as 60.000", "taken as 60.010"),
    ("opposite face", "; measure LEFT to RIGHT: taken as 60.000", ""),
    ("opposite face", "; LEFT is out of reach", "; TOP is out of reach"),
    ("opposite face", INDICATOR.format("clockwise"), "set the dial to 0; raise it,"),
    ("jaw opposite", "the fixed jaw beside BACK", "BACK"),
    ("jaw opposite", "the fixed jaw beside BACK", "the stop for BACK"),
    ("stop", "before the part goes in, ", ""),
    ("stop", "the stop for LEFT", "the fixed jaw beside LEFT"),
    ("hole", "clock pivot", "clock under"),
    ("hole", "to 8 turns, figure 0,", "to 9 turns, figure 0,"),
    ("hole", "made), handle anticlockwise", "made), handle clockwise"),
    ("nothing", "; BACK is out of reach, behind far strap", "; BACK is far"),
    ("empty vice", "before the part goes in, ", ""),
]


@pytest.mark.parametrize(("name", "good", "bad"), SLIPS)
def test_the_witness_notices(name: str, good: str, bad: str) -> None:
    found = check(plan(name), with_zero(text(name), good, bad), "text")
    assert {one.kind for one in found} & {"wrong-figure", "unreadable-sheet", "bad-lay"}


def with_zero(whole: str, good: str, bad: str) -> str:
    """The last ZERO of a text with its words changed, in one long line."""
    start = whole.rindex("\nZERO    ") + 1
    end = re.compile(r"\n(?=\S| {8}(Each|Touch) )").search(whole, start).start()  # type: ignore[union-attr]
    words = " ".join(whole[start + 8 : end].split())
    assert good in words
    lines = words.replace(good, bad, 1).replace(" Y on ", "\n        Y on ")
    return f"{whole[:start]}ZERO    {lines}{whole[end:]}"


@pytest.mark.parametrize("name", PARTS)
def test_words_in_one_line_agree_as_they_stand(name: str) -> None:
    assert check(plan(name), with_zero(text(name), "set the dial", "set the dial"), "text") == []


def test_a_listing_that_takes_its_zero_from_a_hole_turns_it_with_the_part() -> None:
    """Pivot at X 30, Y -20 turned by 1.5 degrees: 30 sin 1.5 - 20 cos 1.5 = -19.208 (geometry)."""
    made = plan("hole", "", 1.5)
    listing = written("listing", make_listing(made, "mm"), "text")
    assert "pick up pivot (already made), set Y = -19.210" in " ".join(str(listing).split())


def test_the_finders_speed_is_said_and_held() -> None:
    made = plan("nothing", "[finder]\nspeed = 777\n")
    whole = str(written("dials", make_dial_sheet(made, "mm"), "text"))
    assert "10 mm edge finder at 777 rev/min, handle clockwise" in " ".join(whole.split())
    assert check(made, whole, "text") == []
    for other in (whole.replace("777", "77"), whole.replace(" at 777 rev/min", "")):
        assert check(made, other, "text")
