"""What a cure writes into the file takes its finding away, and brings none as bad.

The text is edited, read, planned and checked again. Places are written in every way that a file
has: from the left edge or the right, in points, patterns and chains, in millimetres and inches.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from jobs import EXAMPLE_PARTS

from millprep.base.findings import SEVERITIES, Finding, MillprepError, finding_json
from millprep.base.kinds import KINDS
from millprep.base.waiting import Dropped, unless
from millprep.checks.faults import key_of
from millprep.proven.curing import cures_of, with_cure
from millprep.proven.editing import read_text
from millprep.proven.preparation import Prepared, prepare

HERE = Path(__file__).parent
OF_KINDS = tomllib.loads((HERE / "cures_of_kinds.toml").read_text(encoding="utf-8"))
HEAD = """part = "Block"
units = "{units}"
material = "aluminium"
[stock]
size = [{x}, {y}, {z}]
[datum]
x = "{from_x}"
y = "{from_y}"
"""
SIZES = ('tap = "M5"', "drill = {six}", 'clear = "M4"\ncounterbore = "M4 socket head"')


def test_every_kind_has_a_cure_or_a_reason_for_none() -> None:
    without = [kind for row in OF_KINDS["none"] for kind in row["kinds"]]
    told = [*OF_KINDS["making"], *OF_KINDS["drawing"], *without]
    assert sorted(told) == sorted(KINDS)
    assert all(row["why"] for row in OF_KINDS["none"])


# ------------------------------------------------------------- the finding goes, none as bad comes


def grade(finding: Finding) -> int:
    return SEVERITIES.index(finding.severity)


def of_same_kind(finding: Finding, prepared: Prepared) -> tuple[object, ...]:
    """What stays the same of a finding in another state of the file: its patterns, or its setup."""
    groups = {hole.name: hole.group for hole in prepared.whole.part.holes}
    said = finding.said if isinstance(finding.said, str) else finding.said.template
    faces = {one.setup.number: one.setup.face for one in prepared.plan.setups}
    up = "" if finding.holes else faces.get(finding.setup or 0, "")
    named = frozenset(groups[name] for name in finding.holes)
    return finding.kind, said, finding.about, named, up


def worst(prepared: Prepared) -> dict[object, int]:
    """How bad each finding is, even where it has another kind at another size."""
    found: dict[object, int] = {}
    for one in prepared.faults:
        key = (key_of(one), of_same_kind(one, prepared)[-1])
        found[key] = min(grade(one), found.get(key, grade(one)))
    return found


def wrong_after(finding: Finding, before: Prepared, text: str, shop: Path | str) -> Iterator[str]:
    """What is wrong with the text in which the cure of the finding stands."""
    assert finding.cure is not None
    path = Path(before.whole.part.path)
    after = read_text(with_cure(text, finding.cure), path, shop).prepared
    if after is None:
        yield f"refused: {finding}"
        return
    like, holes = of_same_kind(finding, before), {*finding.holes}
    for one in after.faults:
        is_as_bad = grade(one) <= grade(finding)
        if is_as_bad and of_same_kind(one, after) == like and {*one.holes} <= holes:
            is_other = len(one.holes) == 2 and one.holes not in said_of(finding, before)
            if not is_other:
                yield f"still there: {one}"
    known = worst(before)
    for key, now in worst(after).items():
        if now <= grade(finding) and now < known.get(key, len(SEVERITIES)):
            yield f"brought {key} for {finding}"


def said_of(finding: Finding, before: Prepared) -> set[tuple[str, ...]]:
    """The holes of each of those that a finding told once stands for."""
    groups = {hole.name: hole.group for hole in before.whole.part.holes}
    alike = finding.alike(tuple(groups[name] for name in finding.holes[:2]))
    return {
        one.holes
        for one in before.faults
        if one.kind == finding.kind and one.alike(tuple(groups[n] for n in one.holes)) == alike
    }


def troubles(path: Path, shop: Path | str) -> tuple[list[str], list[Finding]]:
    """What is wrong with what is written for a part; and its findings that have a cure."""
    try:
        before = prepare(path, shop)
    except MillprepError:
        return [], []
    cured = [one for one in before.findings if one.cure is not None]
    text, wrong = path.read_text(encoding="utf-8"), []
    for finding in cured:
        cure = finding.cure
        assert cure is not None
        if bool(cure.edits) == bool(cure.no_edits):
            wrong.append(f"neither edits nor a reason, or both: {finding}")
        if finding.kind not in OF_KINDS[cure.changes]:
            wrong.append(f"the table says otherwise of what it changes: {finding}")
        if cure.edits:
            wrong += wrong_after(finding, before, text, shop)
    return wrong, cured


# ----------------------------------------------------------------- places in the words of the file


def any_part(rng: random.Random) -> str:
    """A crowded block whose holes are placed in the many ways of a file."""
    units = rng.choice(["mm", "inch"])
    unit = 1.0 if units == "mm" else 25.4
    head = HEAD.format(
        units=units,
        **{axis: round(size / unit, 3) for axis, size in (("x", 62), ("y", 46), ("z", 18))},
        from_x=rng.choice(["left", "right", "centre"]),
        from_y=rng.choice(["front", "back"]),
    )
    holes = [any_hole(rng, number, unit, 'x = "centre"' in head) for number in range(3)]
    return head + "".join(holes)


def any_hole(rng: random.Random, number: int, unit: float, is_centred: bool) -> str:
    def far(least: float, most: float) -> str:
        value = rng.uniform(least, most)
        return rng.choice([f"{value / unit:.3f}", f'"{value:.1f} mm"', f'"{value / 25.4:.2f} in"'])

    def along() -> str:
        return far(-24, 24) if is_centred else far(4, 58)

    point = rng.choice(
        [
            f"[{along()}, {far(4, 42)}]",
            f"{{ right = {far(4, 50)}, front = {far(4, 40)} }}",
            f"{{ back = {far(4, 40)}, left = {far(4, 50)} }}",
            f"[{{ right = {far(4, 50)} }}, {far(4, 42)}]",
            f"{{ centre_x = {far(-20, 20)}, centre_y = {far(-15, 15)} }}",
        ]
    )
    middle = f"{{ centre_x = {far(-8, 8)}, front = {far(18, 26)} }}"
    size = rng.choice(["diameter", "radius", "chord"])
    wide = far(9, 20) if size != "radius" else far(6, 10)
    start, step = f"{{ right = {far(40, 56)}, front = {far(6, 12)} }}", far(5, 9)
    near = "-4" if is_centred else far(5, 12)
    place = rng.choice(
        [
            f"at = {point}",
            f"at = [{point}, [{along()}, {far(4, 42)}]]",
            f"circle = {{ centre = {middle}, {size} = {wide}, count = 4 }}",
            f"arc = {{ centre = {middle}, diameter = {far(9, 20)}, count = 3, start = 0, "
            "end = 140 }",
            f"row = {{ start = [{near}, {far(8, 30)}], step = [{step}, 0], count = 3 }}",
            f"row = {{ start = {start}, end = {{ right = {far(18, 30)}, back = {far(6, 12)} }}, "
            "count = 3 }",
            f"grid = {{ start = [{near}, {far(6, 9)}], step = [{step}, {far(5, 9)}], columns = 2, "
            "rows = 3 }",
            f"corners = {{ inset = {far(2, 8)} }}",
            f"corners = {{ inset = [{far(2, 8)}, {far(2, 8)}] }}",
            f"chain = [[{near}, {far(6, 20)}], [{far(5, 9)}, 0], [0, {far(5, 9)}]]",
        ]
    )
    what = rng.choice(SIZES).format(six='"6 mm"')
    depth = rng.choice(['"through"', f'"{rng.randint(8, 16)} mm"'])
    return f'[[hole]]\nname = "h{number}"\n{what}\ndepth = {depth}\n{place}\n'


SEEDS = (33, 41, 4, 25, 6, 100, 10, 14, 20, 54, 127)
WRITTEN = {
    "arc.centre.centre_x", "arc.centre.front", "arc.diameter", "at", "at.back", "at.centre_x",
    "at.centre_y", "at.front", "at.right", "chain", "circle.centre.centre_x",
    "circle.centre.front", "circle.chord", "circle.diameter", "circle.radius", "corners.inset",
    "depth", "grid.start", "grid.step", "row.end.back", "row.end.right", "row.start",
    "row.start.front", "row.start.right", "row.step",
}  # fmt: skip
"""Every way in which a place is written, and what of it a cure alters in these parts."""


def test_a_cure_is_written_as_its_place_is(tmp_path: Path) -> None:
    path, wrong, written = tmp_path / "block.toml", [], set()
    for seed in SEEDS:
        path.write_text(any_part(random.Random(seed)), encoding="utf-8")
        found, findings = troubles(path, "metric")
        wrong += [f"seed {seed}: {one}" for one in found]
        written |= {edit.key for one in findings if one.cure for edit in one.cure.edits}
    assert not wrong, "\n".join(wrong)
    assert written == WRITTEN, WRITTEN ^ written


BLOCK = HEAD.format(units="mm", x=60, y=40, z=20, from_x="left", from_y="front")
SIZE = "[60, 40, 20]"


def cured_in(
    folder: Path, holes: str, shop: Path | str = "metric", size: str = SIZE
) -> dict[str, Finding]:
    """The findings of a block that have a cure, by kind; each cure does what it says."""
    path = folder / "block.toml"
    path.write_text(BLOCK.replace(SIZE, size) + holes, encoding="utf-8")
    wrong, found = troubles(path, shop)
    assert not wrong, wrong
    return {finding.kind: finding for finding in found}


def edits_in(finding: Finding) -> list[tuple[str, int | None, str, str, str | None]]:
    assert finding.cure is not None
    return [(e.table, e.index, e.name, e.key, e.value) for e in finding.cure.edits]


NEAR = '[[hole]]\nname = "near"\ntap = "M6"\ndepth = 10\nat = { right = "1/8 in", front = 20 }\n'


def test_a_hole_written_from_the_right_stays_so(tmp_path: Path) -> None:
    """3.175 mm from RIGHT, with 2.25 mm of wall wanted beside 6.0: 3 + 2.25 = 5.25 from there."""
    found = cured_in(tmp_path, NEAR)["thin-wall"]
    ((table, index, name, key, value),) = edits_in(found)
    assert (table, index, name, key) == ("hole", 0, "near", "at.right")
    cure = finding_json(found)["cure"]
    assert cure["changes"] == "drawing"
    assert cure["edits"][0] | {"value": value} == {
        "file": str(tmp_path / "block.toml"),
        "table": "hole",
        "index": 0,
        "name": "near",
        "key": "at.right",
        "value": value,
    }
    assert float(value or 0) == pytest.approx(3.175 - cure["by_mm"][0][0], abs=0.011)


def test_what_cannot_be_written_says_why(tmp_path: Path) -> None:
    follower = '[[hole]]\nname = "next"\ndrill = 3\ndepth = 5\nfrom = "near"\nat = [-20, 0]\n'
    cure = cured_in(tmp_path, NEAR + follower)["thin-wall"].cure
    assert cure is not None and cure.no_edits == '"next" counts from it'
    polar = (
        '[[hole]]\nname = "base"\ndrill = 4\ndepth = 5\nat = [45, 20]\n[[hole]]\nname = "near"\n'
    )
    polar += 'tap = "M6"\ndepth = 10\nfrom = "base"\npolar = { radius = 11.9, angle = 0 }\n'
    cure = cured_in(tmp_path, polar)["thin-wall"].cure
    assert cure is not None and cure.no_edits == "its place is written as an angle and a radius"
    cured_in(tmp_path, NEAR)
    hand = tmp_path / "hand.toml"
    hand.write_text('opposite_hand_of = "block.toml"\n', encoding="utf-8")
    (found,) = (one for one in prepare(hand).findings if one.cure)
    assert found.cure is not None and not found.cure.edits
    assert found.cure.no_edits == "this part is the opposite hand of block.toml: change that one"


def test_a_cure_is_of_the_text_that_was_read(tmp_path: Path) -> None:
    """Of a text that is not on the disk too, after it has been read."""
    path = tmp_path / "block.toml"
    path.write_text(BLOCK, encoding="utf-8")
    prepared = read_text(BLOCK + NEAR, path).prepared
    assert prepared is not None
    (found,) = (one for one in cures_of(prepared) if one.cure)
    assert edits_in(found)[0][3] == "at.right"
    assert found.message in [one.message for one in prepared.findings]


def test_a_reading_that_nobody_waits_for_is_given_up(tmp_path: Path) -> None:
    with unless(lambda: True), pytest.raises(Dropped):
        read_text(BLOCK + NEAR, tmp_path / "block.toml")


def test_cures_are_dropped_when_nobody_waits(tmp_path: Path) -> None:
    asked = 0

    def is_dropped() -> bool:
        nonlocal asked
        asked += 1
        return asked > 10

    path = tmp_path / "block.toml"
    path.write_text(BLOCK + NEAR, encoding="utf-8")
    assert list(cures_of(prepare(path, cures=False), is_dropped)) == []
    assert asked == 11


# ------------------------------------------------------------------------------------- the making

DEEP = 'name = "a"\nat = [30, 20]\ndepth = "through"\n'
MAKING: list[tuple[str, str, list[tuple[str, str | None]]]] = [
    (f"[[hole]]\n{DEEP}drill = 5\npeck = 0.05", "peck-too-small", [("peck", "0.15")]),
    (f"[[hole]]\n{DEEP}drill = 5\npeck = 15", "deep-peck", [("peck", None)]),
    (f'[[hole]]\n{DEEP}ream = 6\ndrills = ["5.8 mm", "5 mm"]', "wrong-drills",
     [("drills", '["5 mm", "5.8 mm"]')]),
    (f'[[hole]]\n{DEEP}tap = "M6"\ndrills = ["5.9 mm"]', "hole-wrong-for-tool",
     [("drills", '["5 mm"]')]),
    ('[[hole]]\nname = "a"\nat = [30, 20]\ntap = "M6"\ndepth = 10\ndrill_depth = 11',
     "tap-bottoms", [("drill_depth", "13")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nvice = {{ grip = 21 }}',
     "jaws-too-high", [("vice.grip", "18")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nvice = {{ grip = 1 }}',
     "small-grip", [("vice.grip", "3")]),
    (f'[[hole]]\n{DEEP}drill = 5\nbreakthrough = 9\n[[setup]]\nface = "top"\nbacking = 6',
     "hits-fixture", [("backing", "10.55")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\n'
     "parallels = { thickness = 4, height = 10, at = [18, 30] }",
     "hole-over-parallel", [("parallels.at", "[0, 36]")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nsafe_height = 12\n'
     '[[setup.obstacle]]\nname = "stop"\nfrom = [-30, 0, -20]\nto = [-10, 10, 16]',
     "safe-height-low", [("safe_height", "21")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nhold = "straps"\n'
     "straps = [{ at = [5, 5] }]", "too-few-straps", [("straps", None)]),
    (f'[[hole]]\n{DEEP}ream = 8\n[[hole]]\nname = "b"\nface = "front"\nat = [30, 10]\n'
     'drill = 4\ndepth = { into = "a" }\n# of the pivot\n[[setup]]\nface = "top"\n'
     '[[setup]]\nface = "front"', "reamed-too-early", [("", "0")]),
    (f'[[hole]]\n{DEEP}drill = 5\nfar = {{ counterbore = {{ diameter = 9, depth = 3 }} }}\n'
     '[[setup]]\nface = "bottom"', "recess-before-hole", [("face", '"top"'), ("", "0")]),
    (f'[[hole]]\n{DEEP}drill = 1.5', "beyond-flutes",
     [("from_both_ends", "true")]),
    (f"[[hole]]\n{DEEP}drill = 3", "spot-too-wide", [("spot", "false")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nhold = "straps"\n'
     "straps = [{ at = [5, 5] }, { at = [90, 5] }]", "strap-beside-part", [("straps", None)]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nhold = "vice"',
     "cannot-be-held", [("hold", '"straps"')]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\nhold = "vice"',
     "bows-in-vice", [("hold", '"straps"')]),
    (f"[[hole]]\n{DEEP}drill = 5\nbreakthrough = 30", "below-underside",
     [("breakthrough", "5")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\n'
     "parallels = { thickness = 4, height = 10, at = [-2, 30] }",
     "parallel-beside-part", [("parallels.at", "[0, 36]")]),
    (f'[[hole]]\n{DEEP}drill = 5\n[[setup]]\nface = "top"\n'
     "parallels = { thickness = 4, height = 10, at = [13.2, 30] }",
     "near-parallel", [("parallels.at", "[0, 36]")]),
    ('[[hole]]\nname = "a"\nat = [20, 20]\ndepth = 5\nbore = 34\n'
     '[[hole]]\nface = "bottom"\nname = "b"\ndrill = 3\ndepth = 4\nat = [8, 8]',
     "face-cut-away", [("face", '"bottom"'), ("face", '"top"')]),
]  # fmt: skip


BLOCKS = {
    "cannot-be-held": "[160, 150, 20]",
    "bows-in-vice": "[100, 80, 3]",
    "face-cut-away": "[40, 40, 20]",
}
WIDE_SPOT = '[drawer]\ndrills = ["3 mm"]\nspot_drills = [{ diameter = 10, tip_flat = 4 }]\n'


def test_every_making_that_cures_is_tried_here() -> None:
    told = {kind for _, kind, _ in MAKING} - {"tap-bottoms"}
    assert told == {*OF_KINDS["making"]}


@pytest.mark.parametrize(("holes", "kind", "written"), MAKING, ids=[kind for _, kind, _ in MAKING])
def test_a_remedy_of_the_making_is_written(
    holes: str, kind: str, written: list[tuple[str, str | None]], tmp_path: Path
) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(WIDE_SPOT, encoding="utf-8")
    named = shop if kind == "spot-too-wide" else "metric"
    found = cured_in(tmp_path, holes, named, BLOCKS.get(kind, SIZE))[kind]
    assert [(key, value) for *_, key, value in edits_in(found)] == written
    assert found.cure is not None
    assert found.cure.changes == ("drawing" if kind == "tap-bottoms" else "making")


# ------------------------------------------------------------------------ the examples of the tests

_EXAMPLES = [
    *sorted((HERE / "parts" / "valid").glob("*.toml")),
    *sorted(
        path
        for case in (HERE / "look_alikes").glob("*/case.toml")
        if '"check", "FILE"' in case.read_text(encoding="utf-8")
        for path in case.parent.glob("*.toml")
        if path.name in ("danger.toml", "sound.toml")
    ),
    *EXAMPLE_PARTS,
]


def test_cures_of_the_examples_do(tmp_path: Path) -> None:
    wrong: list[str] = []
    kinds: set[str] = set()
    for path in _EXAMPLES:
        shop = path.parent / "shop.toml"
        found, cured = troubles(path, shop if shop.exists() else "metric")
        wrong += [f"{path}: {one}" for one in found]
        kinds |= {one.kind for one in cured}
    assert not wrong, "\n".join(wrong)
    assert {"thin-wall", "small-grip", "jaws-too-high", "hole-wrong-for-tool"} <= kinds
