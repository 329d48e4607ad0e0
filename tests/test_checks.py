"""What the checks find before anything is cut: each sentence once, all sorts of edges and walls."""

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import BLOCK, checked, plan_of

from millprep.base.findings import Finding
from millprep.checks.faults import nearest_of
from millprep.checks.registry import Job
from millprep.checks.space import near_pairs

POINT = 0.5 / math.tan(math.radians(59))
DISC = 'diameter = 40\nlength = 10\naxis = "z"\nbore = 8'
CENTRED = 'x = "centre"\ny = "centre"'


OF_THE_LAY = {"long-across-jaws"}


def findings_of(holes: str, stock: str = BLOCK, **more: str) -> list[Finding]:
    """What the checks say of a part's holes; notes on how it is held and read are left out."""
    found = checked(plan_of(holes, stock, **more))
    return [finding for finding in found if finding.kind not in OF_THE_LAY]


def hole(what: str, at: str, depth: str = "5", name: str = "a", face: str = "top") -> str:
    return f'[[hole]]\nname = "{name}"\nface = "{face}"\n{what}\nat = {at}\ndepth = {depth}\n'


def only(found: list[Finding], kind: str) -> Finding:
    matching = [finding for finding in found if finding.kind == kind]
    assert len(matching) == 1, [(f.kind, f.message) for f in found]
    return matching[0]


def kinds(found: list[Finding]) -> list[str]:
    return [finding.kind for finding in found]


def test_a_sound_part_has_nothing_to_say() -> None:
    assert findings_of(hole('tap = "M5"', "[30, 20]", "8")) == []


def test_over_an_edge() -> None:
    finding = only(findings_of(hole("drill = 6", "[2, 20]")), "over-edge")
    assert finding.severity == "stop"
    assert finding.message == 'hole "a": 6.00 wide, it breaks out through LEFT by 1.00 mm'
    assert finding.remedy == 'move "a" 2.50 mm towards RIGHT'
    assert (finding.holes, finding.key) == (("a",), "hole[1]")
    assert finding.line is not None


def test_thin_wall_to_an_edge() -> None:
    finding = only(findings_of(hole("drill = 6", "[30, 36.5]")), "thin-wall")
    assert finding.severity == "warning"
    assert finding.message == 'hole "a": wall to BACK 0.50, should be 1.50 mm'
    assert finding.remedy == 'move "a" 1.00 mm towards FRONT, or write allow = ["thin wall"]'


@pytest.mark.parametrize(
    ("what", "at_mm", "severity"),
    [
        ("drill = 6", 3.29, "stop"),  # 0.29 is left; a fifth of 6 were 1.2
        ("drill = 6", 3.3, "warning"),
        ("drill = 6", 3.0, "stop"),  # nothing is left, and nothing goes over the edge
        ("drill = 1.5", 1.04, "stop"),  # 0.29 again: a fifth of 1.5 is the same 0.3
        ("drill = 1.5", 1.06, "warning"),
        ("drill = 1", 0.69, "stop"),  # 0.19; a fifth of 1 is 0.2
        ("drill = 1", 0.71, "warning"),
        ('tap = "M6"', 3.29, "stop"),  # from the 6 of the thread, not from the 5 of its drill
        ('tap = "M6"', 3.31, "warning"),
        ("drill = 3\ncounterbore = { diameter = 8, depth = 2 }", 4.29, "stop"),
        ("drill = 3\ncounterbore = { diameter = 8, depth = 2 }", 4.31, "warning"),
    ],
)
def test_a_wall_that_no_tool_leaves_standing(what: str, at_mm: float, severity: str) -> None:
    """Under 0.3 mm, or a fifth of the diameter where that is less."""
    text = hole(what, f"[{at_mm}, 20]", "6")
    found = [one for one in findings_of(text) if one.kind == "thin-wall"]
    assert [one.severity for one in found] == [severity]
    assert ("the tool breaks out of the side" in found[0].message) is (severity == "stop")
    allowed = hole(what + '\nallow = ["thin wall"]', f"[{at_mm}, 20]", "6")
    meant = [one for one in findings_of(allowed) if one.kind == "thin-wall"]
    assert [one.severity for one in meant] == ["note"]


@pytest.mark.parametrize(
    ("face", "at", "edge"),
    [
        ("top", "[2, 20]", "LEFT"),
        ("top", "[58, 20]", "RIGHT"),
        ("top", "[30, 2]", "FRONT"),
        ("top", "[30, 38]", "BACK"),
        ("front", "[30, 2]", "BOTTOM"),
        ("front", "[30, 18]", "TOP"),
        ("left", "[2, 10]", "FRONT"),
        ("left", "[38, 10]", "BACK"),
        ("bottom", "[2, 20]", "LEFT"),
        ("back", "[58, 10]", "RIGHT"),
        ("right", "[20, 2]", "BOTTOM"),
    ],
)
def test_every_edge_by_its_name(face: str, at: str, edge: str) -> None:
    finding = only(findings_of(hole("drill = 6", at, face=face)), "over-edge")
    assert finding.message.endswith(f"it breaks out through {edge} by 1.00 mm")


def test_recess_and_countersink_count_at_the_edge() -> None:
    bored = hole('clear = "M5"\ncounterbore = { diameter = 14, depth = 4 }', "[6, 20]", '"through"')
    assert (
        "14.00 wide, it breaks out through LEFT by 1.00 mm"
        in only(findings_of(bored), "over-edge").message
    )
    sunk = hole('clear = "M5"\ncountersink = { diameter = 14 }', "[6, 20]", '"through"')
    assert (
        "14.00 wide, it breaks out through LEFT by 1.00 mm"
        in only(findings_of(sunk), "over-edge").message
    )


def test_far_recess_counts_at_the_edge() -> None:
    far = hole(
        'clear = "M5"\nfar = { counterbore = { diameter = 14, depth = 4 } }', "[6, 20]", '"through"'
    )
    assert "14.00 wide, it breaks out" in only(findings_of(far), "over-edge").message


def test_rim_and_bore_of_a_disc() -> None:
    over = findings_of(hole("drill = 6", "[18, 0]"), DISC, datum=CENTRED)
    assert only(over, "over-edge").message.endswith("it breaks out through the rim by 1.00 mm")
    into = findings_of(hole("drill = 6", "[0, 6]"), DISC, datum=CENTRED)
    assert only(into, "over-edge").message.endswith("it breaks out through the bore by 1.00 mm")
    thin = findings_of(hole("drill = 6", "[12, 12]"), DISC, datum=CENTRED)
    # sqrt(2) x 12 = 16.97 from the middle, 3.03 from the rim.
    assert only(thin, "thin-wall").message == (
        'hole "a": wall to the rim 0.03, needs 0.30 mm: the tool breaks out of the side'
    )
    assert findings_of(hole("drill = 6", "[0, 12]"), DISC, datum=CENTRED) == []


def test_opening_the_bore_itself_is_no_fault() -> None:
    bore = findings_of(hole("bore = 14", "[0, 0]", '"through"'), DISC, datum=CENTRED)
    assert "over-edge" not in kinds(bore)


def test_thin_wall_between_holes() -> None:
    found = findings_of(hole("drill = 6", "[20, 20]") + hole("drill = 6", "[26.5, 20]", name="b"))
    finding = only(found, "thin-wall")
    assert finding.severity == "warning"
    assert finding.message == ('holes "a" and "b": 0.50 of wall between them, should be 1.50 mm')
    assert finding.remedy == 'move "b" 1.00 mm towards RIGHT, or write allow = ["thin wall"]'
    assert finding.holes == ("a", "b")


def test_overlapping_holes() -> None:
    found = findings_of(hole("drill = 6", "[20, 20]") + hole("drill = 6", "[25, 20]", name="b"))
    finding = only(found, "holes-overlap")
    assert finding.severity == "stop"
    assert finding.message == 'holes "a" and "b" overlap by 1.00 mm'
    assert finding.remedy == 'move "b" 2.50 mm towards RIGHT, or write meets where it is meant'


def test_holes_through_a_thin_plate_overlap_across_it() -> None:
    """10 wide and 2 apart: 8 over each other, however thin the plate."""
    text = hole("drill = 10", "[20, 20]", '"through"') + hole(
        "drill = 10", "[22, 20]", '"through"', "b"
    )
    finding = only(findings_of(text, "size = [60, 40, 3]"), "holes-overlap")
    assert finding.message == 'holes "a" and "b" overlap by 8.00 mm'


def test_two_holes_at_one_place() -> None:
    found = findings_of(hole("drill = 6", "[20, 20]") + hole("drill = 4", "[20, 20]", name="b"))
    assert only(found, "holes-overlap").message == 'holes "a" and "b" are in the same place'


def test_holes_that_are_meant_to_meet() -> None:
    found = findings_of(
        hole("drill = 6", "[20, 20]") + hole('drill = 6\nmeets = "a"', "[25, 20]", name="b")
    )
    finding = only(found, "meeting")
    assert (finding.severity, finding.message) == ("note", 'holes "a" and "b" meet (as drawn)')
    assert "holes-overlap" not in kinds(found)


def test_walls_between_holes_from_opposite_faces() -> None:
    """12 deep from TOP and 12 deep from BOTTOM of 20 mm stand side by side for 4 mm."""
    deep = hole("drill = 6", "[20, 20]", "12") + hole(
        "drill = 6", "[26.5, 20]", "12", name="b", face="bottom"
    )
    assert only(findings_of(deep), "thin-wall").message.startswith('holes "a" and "b": 0.50 of')
    short = deep.replace("depth = 12", "depth = 8")
    assert findings_of(short) == []


def test_holes_across_each_other_are_no_parallel_pair() -> None:
    found = findings_of(
        hole("drill = 4", "[20, 20]", "12") + hole("drill = 4", "[20, 10]", "12", "b", "front")
    )
    assert "thin-wall" not in kinds(found)


def test_allow_makes_a_note_of_it() -> None:
    found = findings_of(hole('drill = 6\nallow = ["thin wall"]', "[30, 36.5]"))
    finding = only(found, "thin-wall")
    assert (finding.severity, finding.remedy) == ("note", "")
    assert finding.message == 'hole "a": wall to BACK 0.50, should be 1.50 mm (as drawn)'
    other = findings_of(hole('drill = 6\nallow = ["thin floor"]', "[30, 36.5]"))
    assert only(other, "thin-wall").severity == "warning"


def test_thin_floor() -> None:
    """16 deep in 20 with a 10 mm drill: the point of 3.00 mm leaves 1.00."""
    finding = only(findings_of(hole("drill = 10", "[30, 20]", "16")), "thin-floor")
    assert finding.severity == "warning"
    assert finding.message == ('hole "a": floor 1.00 under the tip of its drill, should be 2.50 mm')
    assert finding.remedy == 'give "a" a depth of 14.49 mm or less, or make the hole through'


def test_depth_of_the_remedy_cures_it() -> None:
    assert findings_of(hole("drill = 10", "[30, 20]", "14.49")) == []


def test_tip_comes_out() -> None:
    finding = only(findings_of(hole("drill = 10", "[30, 20]", "18")), "tip-through")
    assert finding.severity == "stop"
    assert finding.message == (
        'hole "a": 18 deep in 20, its drill goes to 21.00 mm: it breaks through'
    )
    assert finding.remedy == 'give "a" a depth of 14.49 mm or less, or make the hole through'


@pytest.mark.parametrize("depth", [18, 25])
def test_how_deep_a_drill_goes_is_told_beyond_the_far_face_too(depth: int) -> None:
    """10 mm: the point is 3.00 long."""
    finding = only(findings_of(hole("drill = 10", "[30, 20]", f"{depth}")), "tip-through")
    assert f"its drill goes to {depth + 10 * POINT:.2f} mm: it breaks through" in finding.message


def test_tap_bottoms_in_a_given_drill_depth() -> None:
    found = findings_of(hole('tap = "M6"\ndrill_depth = 9', "[30, 20]", "8"))
    finding = only(found, "tap-bottoms")
    assert finding.severity == "stop"
    assert finding.message == (
        'hole "a": drilled 9.00 mm deep; for 8.00 mm of full thread the tap goes to 10.00 mm'
    )
    assert finding.remedy == "drill 11.00 mm deep, or ask for 6.00 mm of thread"
    cured = findings_of(hole('tap = "M6"\ndrill_depth = 11', "[30, 20]", "8"))
    assert "tap-bottoms" not in kinds(cured)
    cured = findings_of(hole('tap = "M6"\ndrill_depth = 9', "[30, 20]", "6"))
    assert "tap-bottoms" not in kinds(cured)


def test_beyond_the_flutes() -> None:
    """A jobber drill of 3 mm has flutes of 33 mm (from memory of ISO 235)."""
    found = findings_of(hole("drill = 3", "[30, 20]", '"through"'), "size = [60, 40, 40]")
    finding = only(found, "beyond-flutes")
    assert finding.severity == "stop"
    assert finding.message == ('hole "a": 3 mm drill needs 41.9 of flute and has 33 mm')


@pytest.mark.parametrize(
    ("what", "depth", "high", "helps"),
    [
        ("drill = 3", '"through"', 60, True),
        ("drill = 3", '"through"', 80, False),
        ("drill = 3", "50", 60, False),
        ("drill = 3\nfrom_both_ends = true", '"through"', 80, False),
    ],
)
def test_both_ends_are_named_where_they_help(what: str, depth: str, high: int, helps: bool) -> None:
    """Flutes of 33 mm reach the middle of 60 mm, not of 80; a blind hole has one end."""
    found = findings_of(hole(what, "[30, 20]", depth), f"size = [60, 40, {high}]")
    remedies = {finding.remedy for finding in found if finding.kind == "beyond-flutes"}
    with_ends = "use a longer one, or drill from both ends (from_both_ends = true)"
    assert remedies == {with_ends if helps else "use a longer one"}


def test_flutes_full_of_chips() -> None:
    found = findings_of(hole("drill = 3", "[30, 20]", '"through"'), "size = [60, 40, 30]")
    finding = only(found, "flutes-full")
    assert finding.severity == "warning"
    assert finding.message == (
        'hole "a": 3 mm drill goes 31.9 deep with 33 mm of flute: the swarf has no way out'
    )


def test_drilling_from_both_ends_cures_it() -> None:
    text = hole("drill = 3\nfrom_both_ends = true", "[30, 20]", '"through"')
    assert findings_of(text, "size = [60, 40, 40]") == []


def test_slowest_speed_far_too_fast() -> None:
    shop = "[mill]\nspindle = { speeds = [1200, 2000] }"
    found = findings_of(hole("drill = 10", "[30, 20]", "5"), shop=shop, material="silver steel")
    messages = [f.message for f in found if f.kind == "too-fast"]
    # 12 m/min on 10 mm: 1000 x 12 / (pi x 10) = 382 rev/min.
    assert "drill with 10 mm drill wants 382 rev/min, the slowest speed is 1200" in messages


def test_slowest_speed_too_fast_for_what_is_wide() -> None:
    """Mild steel, 20 m/min, three tenths of it: 66 rev/min at 29 mm, 1.15 times that is 76."""
    text = hole("bore = 29", "[30, 20]", "5")
    for slowest, is_told in ((75, False), (77, True)):
        found = findings_of(text, shop=f"[mill]\nspindle = {{ speeds = [{slowest}, 2000] }}")
        said = f"bore with 29 mm boring head wants 66 rev/min, the slowest speed is {slowest}"
        assert (said in [f.message for f in found]) == is_told


def test_worst_come_first() -> None:
    found = findings_of(
        hole("drill = 6", "[30, 36.5]")
        + hole("drill = 6", "[2, 20]", name="b")
        + hole('drill = 6\nallow = ["thin wall"]', "[40, 36.5]", name="c")
    )
    assert [f.severity for f in found] == ["stop", "warning", "note"]


places = st.tuples(
    st.sampled_from(["top", "bottom", "front", "right"]),
    st.floats(0, 40).map(lambda value: round(value, 2)),
    st.floats(0, 20).map(lambda value: round(value, 2)),
    st.sampled_from([1, 2.5, 4, 6.5, 12]),
    st.sampled_from(["3", "9", "15", '"through"']),
)


@settings(max_examples=30)
@given(st.lists(places, min_size=2, max_size=16))
def test_no_pair_is_passed_over_that_looking_at_all_finds(drawn: list[tuple[object, ...]]) -> None:
    text = "".join(
        hole(f"drill = {diameter}", f"[{x}, {y}]", str(depth), f"h{number}", str(face))
        for number, (face, x, y, diameter, depth) in enumerate(drawn)
    )
    space = Job(plan_of(text, BLOCK)).space
    expected = [
        (one.hole.name, other.hole.name)
        for one, other in combinations(space.placed.values(), 2)
        if nearest_of(one, other) is not None
    ]
    for pairs in (space.pairs, near_pairs(space.placed.values())):
        found = [
            (one.hole.name, other.hole.name)
            for one, other in pairs
            if nearest_of(one, other) is not None
        ]
        assert found == expected


def test_every_finding_names_file_and_place() -> None:
    plan = plan_of(hole("drill = 6", "[2, 20]") + hole("drill = 10", "[30, 20]", "18", name="b"))
    for finding in checked(plan):
        assert finding.file
        if finding.kind in OF_THE_LAY:
            continue
        assert finding.line
        assert finding.holes
