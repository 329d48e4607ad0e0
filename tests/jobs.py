"""Parts and plans for tests, from the text of a part file. No tests here."""

import io
import json
import tempfile
import tomllib
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding
from millprep.base.units import Units
from millprep.checks import run_checks, told_once, with_cures
from millprep.cli import main
from millprep.infiles import read_part, read_shop
from millprep.model.part import FACES, OPPOSITE, Part
from millprep.model.shop import Shop
from millprep.planning import Operation, Plan, make_plan
from millprep.setting.setups import default_towards_you
from millprep.sheets.listing import make_listing
from millprep.writers import written

EXAMPLE_PARTS = sorted(
    path
    for path in (Path(__file__).parent.parent / "parts").glob("*.toml")
    if not path.stem.endswith("-assembly")
)
BLOCK = "size = [60, 40, 20]"


# Every kind of hole on five faces; nothing in it gives a stop.
RICH_STOCK = "size = [80, 50, 25]"
RICH = """
[[hole]]
name = "screw"
tap = "M5"
depth = 8
circle = { centre = [25, 25], diameter = 30, count = 6, start = 15 }
[[hole]]
name = "pivot"
ream = "1/4 in"
at = [25, 25]
depth = "through"
[[hole]]
name = "cap"
clear = "M4"
counterbore = "M4 socket head"
at = [[60, 10], [60, 40]]
depth = "through"
[[hole]]
name = "sunk"
clear = "M4"
countersink = "M4 countersunk"
at = [72, 10]
depth = "through"
[[hole]]
name = "faced"
drill = 5
spotface = { diameter = 10, depth = 0.6 }
at = [72, 40]
depth = 12
[[hole]]
name = "left"
tap = "M6 left hand"
at = [52, 25]
depth = "through"
[[hole]]
name = "bored"
bore = 16
at = [67, 25]
depth = 9
[[hole]]
name = "cross"
face = "left"
drill = 4
from_both_ends = true
at = [45, 6]
depth = "through"
[[hole]]
name = "pinch"
face = "front"
drill = 3.3
opened = { clear = "M4", depth = 6 }
far = { counterbore = { diameter = 8, depth = 3 } }
from_both_ends = true
at = [45, 19]
depth = "through"
[[hole]]
name = "tiny"
face = "bottom"
drill = 0.9
at = [40, 6]
depth = 3
"""


def part_text(
    holes: str,
    stock: str = BLOCK,
    *,
    units: str = "mm",
    material: str = "mild steel",
    more: str = "",
    datum: str = 'x = "left"\ny = "front"',
    lay: str = "view",
) -> str:
    """A part file around some [[hole]] tables; `more` stands before [stock].

    lay : "view": each face without a [[setup]] gets one that lies as it is drawn, so that figures
          in a test are those of the drawing; "chosen" leaves it open
    """
    text = (
        f'part = "Trial"\nunits = "{units}"\nmaterial = "{material}"\n{more}\n'
        f"[stock]\n{stock}\n[datum]\n{datum}\n{holes}\n"
    )
    return as_drawn(text) if lay == "view" else text


def as_drawn(text: str) -> str:
    """A part file with a setup in the plain view for each face that has work and none yet."""
    try:
        file = tomllib.loads(text)
        listed = {one["face"] for one in file.get("setup", ())}
        worked = {face for hole in file.get("hole", ()) for face in _faces_of(hole)}
    except (tomllib.TOMLDecodeError, AttributeError, KeyError, TypeError):
        return text  # not for the writer of these lines to say what is wrong
    tables = [
        f'[[setup]]\nface = "{face}"\ntowards_you = "{default_towards_you(face)}"\n'
        for face in FACES
        if face in worked - listed
    ]
    return "\n".join([text, *tables])


def _faces_of(hole: dict[str, Any]) -> set[Any]:
    face = hole.get("face", "top")
    both = "far" in hole or hole.get("from_both_ends")
    return {face, OPPOSITE[face]} if both else {face}


def part_of(holes: str, stock: str = BLOCK, **more: str) -> Part:
    return read_text(part_text(holes, stock, **more))


def read_text(text: str) -> Part:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trial.toml"
        path.write_text(text, encoding="utf-8")
        return read_part(path)[0]


def shop_of(text: str = "") -> Shop:
    """The metric shop with the keys of the text laid over it."""
    if not text:
        return read_shop("metric")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.toml"
        path.write_text(text, encoding="utf-8")
        return read_shop(str(path))


def plan_of(
    holes: str, stock: str = BLOCK, *, shop: str = "", order: str = "tool", **more: str
) -> Plan:
    return make_plan(part_of(holes, stock, **more), shop_of(shop), order)


def operations_of(plan: Plan, setup: int = 1) -> tuple[Operation, ...]:
    return plan.setups[setup - 1].operations


def named(plan: Plan, name: str, hole: str | None = None) -> Operation:
    """The one operation of that name (at that hole)."""
    found = [
        operation
        for setup in plan.setups
        for operation in setup.operations
        if operation.name == name and (hole is None or operation.hole.name == hole)
    ]
    assert len(found) == 1, [o.name for o in found]
    return found[0]


@dataclass(frozen=True)
class Ran:
    """A command that was run in this process."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def millprep(*arguments: object) -> Ran:
    """Runs the command line here; any exception but the exit is a bug and comes through."""
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with redirect_stdout(out), redirect_stderr(err):
        try:
            main([str(argument) for argument in arguments])
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else 1
    return Ran(status, out.getvalue(), err.getvalue())


def setups_of(plan: Plan, units: Units = "mm") -> Any:
    """The setups of the plan's listing, as JSON has them; "said" : sentences by their label."""
    return json.loads(written("listing", make_listing(plan, units), "json"))["setups"]


def checked(plan: Plan) -> list[Finding]:
    """The findings of a plan as a person is shown them."""
    return told_once(plan.part, with_cures(plan, run_checks(plan)))
