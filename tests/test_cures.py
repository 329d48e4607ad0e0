"""Every cure that is told cures: exactly, not by one per cent less, and as it is printed."""

import copy
import random
import re

import pytest
from jobs import checked, part_of, shop_of

from millprep.base.findings import Cure, Finding
from millprep.base.records import replace
from millprep.checks.faults import MILDER, Key, key_of
from millprep.checks.rules import meant_faults, pair_faults, single_faults
from millprep.checks.space import Space
from millprep.model.part import Hole, Part
from millprep.planning import make_plan

METRIC = shop_of()
EDGES = ("LEFT", "RIGHT", "FRONT", "BACK", "TOP", "BOTTOM")
SIZE = {"x": 60, "y": 44, "z": 30}
FACES = {"top": "xy", "bottom": "xy", "front": "xz", "back": "xz", "left": "yz", "right": "yz"}
TOWARDS = {
    "LEFT": ("x", -1), "RIGHT": ("x", 1), "FRONT": ("y", -1), "BACK": ("y", 1),
    "BOTTOM": ("z", -1), "TOP": ("z", 1),
}  # fmt: skip
SIZES = [
    "drill = 3", "drill = 6.5", 'tap = "M4"', 'tap = "M6"', 'ream = "8 mm"', 'clear = "M5"',
    'clear = "M4"\ncounterbore = "M4 socket head"', 'clear = "M4"\ncountersink = "M4 countersunk"',
    "bore = 12", "drill = 5\nfar = { counterbore = { diameter = 9, depth = 3 } }",
]  # fmt: skip
Table = dict[str, object]


def text_of(tables: list[Table]) -> str:
    """[[hole]] tables as a part file has them."""
    return "\n".join(
        "[[hole]]\n"
        + "\n".join(
            f"{key} = {value}" if key != "what" else str(value) for key, value in table.items()
        )
        for table in tables
    )


def any_hole(rng: random.Random, number: int) -> Table:
    face = rng.choice(list(FACES) if number else ["top"])
    what = rng.choice(SIZES)
    table: Table = {"name": f'"h{number}"', "face": f'"{face}"', "what": what}
    deep = SIZE[next(iter({*"xyz"} - {*FACES[face]}))]
    table["depth"] = (
        '"through"' if "far" in what or rng.random() < 0.4 else rng.randint(5, deep - 2)
    )
    a, b = (round(rng.uniform(3, SIZE[axis] - 3), 1) for axis in FACES[face])
    place = rng.random()
    if place < 0.6:
        table["at"] = [a, b]
    elif place < 0.75:
        centre = [SIZE[axis] / 2 for axis in FACES[face]]
        table["circle"] = f"{{ centre = {centre}, diameter = {rng.randint(8, 30)}, count = 5 }}"
    elif place < 0.9:
        table["corners"] = f"{{ inset = {rng.randint(1, 8)} }}"
    else:
        table["row"] = f"{{ start = [6, 15], step = [{rng.uniform(4, 9):.1f}, 0], count = 4 }}"
    return table


def wrong_with(part: Part) -> dict[Key, float]:
    """What each stop and warning about room lacks [mm]."""
    space = Space(make_plan(part, METRIC))
    found = [fault for placed in space.placed.values() for fault in single_faults(space, placed)]
    found += [fault for pair in space.pairs for fault in pair_faults(space, *pair)]
    found += meant_faults(space)
    lacking: dict[Key, float] = {}
    for fault in found:
        if fault.severity != "note":
            key = key_of(fault)
            lacking[key] = max(fault.lacking_mm, lacking.get(key, 0.0))
    return lacking


def apply_cure(part: Part, cure: Cure) -> Part:
    """The part with the change made."""
    moves = dict(zip(cure.holes, cure.by_mm, strict=True)) if cure.by_mm else {}

    def after(hole: Hole) -> Hole:
        if hole.name not in cure.holes:
            return hole
        if moves:
            x, y, z = (at + by for at, by in zip(hole.centre_mm, moves[hole.name], strict=True))
            return replace(hole, centre_mm=(x, y, z))
        depth, drilled = cure.depth_mm, cure.drill_depth_mm
        hole = hole if depth is None else replace(hole, depth_mm=depth)
        return hole if drilled is None else replace(hole, drill_depth_mm=drilled)

    return replace(part, holes=tuple(after(hole) for hole in part.holes))


def changed_less(part: Part, cure: Cure, share: float) -> Part:
    if cure.by_mm:
        moves = tuple((x * share, y * share, z * share) for x, y, z in cure.by_mm)
        return apply_cure(part, replace(cure, by_mm=moves))
    hole = next(hole for hole in part.holes if hole.name == cure.holes[0])
    assert cure.depth_mm is not None
    change = (cure.depth_mm - hole.depth_mm) * share
    return apply_cure(part, replace(cure, depth_mm=hole.depth_mm + change))


def as_printed(tables: list[Table], remedy: str) -> list[Table]:
    """The part file with the change made by hand, from the words of the remedy alone."""
    tables = copy.deepcopy(tables)

    def table(name: str) -> Table:
        group = name if any(t["name"] == f'"{name}"' for t in tables) else name.rsplit(" ", 1)[0]
        return next(t for t in tables if t["name"] == f'"{group}"')

    words = remedy.split(", or ")[0]
    if match := re.fullmatch(r'move "([^"]+)" (?:\(all \d+\) )?([\d.]+) mm towards (\w+)', words):
        hole, (axis, sign) = table(match[1]), TOWARDS[match[3]]
        index = FACES[str(hole["face"]).strip('"')].index(axis)
        _move(hole, index, sign * float(match[2]))
    elif match := re.fullmatch(r'make the circle of "(\w+)" ([\d.]+) mm or \w+ in diameter', words):
        _set(table(match[1]), "circle", r"diameter = [\d.]+", f"diameter = {match[2]}")
    elif match := re.fullmatch(r'give "(\w+)" an inset of ([\d.]+) mm or \w+', words):
        _set(table(match[1]), "corners", r"inset = .*(?= })", f"inset = {match[2]}")
    elif match := re.fullmatch(r'give "(\w+)" an inset of ([\d.]+) mm or \w+ along (\w)', words):
        hole = table(match[1])
        old = re.findall(r"[\d.]+", str(hole["corners"]))
        insets = (old * 2)[:2]
        insets[FACES[str(hole["face"]).strip('"')].index(match[3])] = match[2]
        hole["corners"] = f"{{ inset = [{', '.join(insets)}] }}"
    elif match := re.fullmatch(r'space "(\w+)" ([\d.]+) mm or \w+ apart', words):
        _set(table(match[1]), "row", r"step = \[[\d.]+", f"step = [{match[2]}")
    elif match := re.fullmatch(r'give "([^"]+)" a depth of ([\d.]+) mm or \w+', words):
        table(match[1])["depth"] = match[2]
    else:
        raise AssertionError(remedy)
    return tables


def _move(hole: Table, index: int, by: float) -> None:
    if isinstance(at := hole.get("at"), list):
        at[index] = round(at[index] + by, 6)
        return
    key, point = ("row", "start") if "row" in hole else ("circle", "centre")
    assert key in hole, "corners move by their inset"
    found = re.search(rf"{point} = \[([\d.]+), ([\d.]+)\]", str(hole[key]))
    assert found is not None
    place = [float(found[1]), float(found[2])]
    place[index] = round(place[index] + by, 6)
    hole[key] = str(hole[key]).replace(found[0], f"{point} = {place}")


def _set(hole: Table, key: str, old: str, new: str) -> None:
    text, count = re.subn(old, new, str(hole[key]))
    assert count == 1
    hole[key] = text


STOCK = f"size = {list(SIZE.values())}"
kinds_seen: dict[str, int] = {}


@pytest.mark.parametrize("seed", range(6))
def test_every_cure_cures_and_no_less_does(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(10):
        tables = [any_hole(rng, number) for number in range(rng.randint(2, 4))]
        plan = make_plan(part_of(text_of(tables), STOCK), METRIC)
        before = wrong_with(plan.part)
        for finding in checked(plan):
            if finding.cure is not None:
                kinds_seen[finding.cure.kind] = kinds_seen.get(finding.cure.kind, 0) + 1
                _try(tables, plan.part, finding, before)


def _try(tables: list[Table], part: Part, finding: Finding, before: dict[Key, float]) -> None:
    cure = finding.cure
    assert cure is not None
    about = next(word for word in (*EDGES, "") if word in finding.message)
    named = frozenset(re.findall(r'"([^"]+)"', finding.message))
    kind = MILDER.get(finding.kind, finding.kind)
    told = [key for key in before if key[0] == kind and key[2] == named]
    told = [key for key in told if key[1] == about] or told
    assert told, finding

    def passes(after_cure: Part) -> bool:
        """The finding is gone, none has come and none is worse."""
        after = wrong_with(after_cure)
        worse = [key for key in after if after[key] > before.get(key, 0.0) + 1e-6]
        return told[0] not in after and not worse

    assert passes(apply_cure(part, cure)), (text_of(tables), finding)
    assert not passes(changed_less(part, cure, 0.99)), (text_of(tables), finding)
    printed = part_of(text_of(as_printed(tables, finding.remedy)), STOCK)
    assert passes(printed), (text_of(tables), finding)


def test_all_sorts_of_cures_were_tried() -> None:
    """Runs after the others; with a few of them only it has nothing to say."""
    if sum(kinds_seen.values()) > 150:
        assert min(kinds_seen[kind] for kind in ("move", "pattern", "depth")) > 10
