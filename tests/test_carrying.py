"""Holes carried over from one member to the next: five ways, their figures by hand.

The plate is 80 x 50 x 8, its four M4 holes of 4.5 at 10 and 70, 10 and 40; the block under it,
80 x 46 x 25, has M4 at 10 and 70, 8 and 38: LEFT edges level, FRONT of the block 2 inside. M4 is
chamfered to 4.3: the 4.5 drill's cone of 118 deg, 4.3 wide, ends 4.3 / 2 x tan 31 deg = 1.292
below 8.
"""

from __future__ import annotations

import json
import math
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from slot_faults import (
    bytes_of,
    sentences_let_through,
    sentences_of,
    slots_in,
    slots_let_through,
    with_slot_changed,
    without,
)
from test_setting_asked import is_stopped

from millprep.assembly.carrying import carried_joints, carried_part
from millprep.base.findings import Finding, MillprepError, has_stop
from millprep.base.records import replace
from millprep.base.wording import wording
from millprep.cli import main
from millprep.model.part import Part
from millprep.planning.drawer import punch_for
from millprep.proven.assembly import judged, report, route
from millprep.proven.excerpt import steps_of
from millprep.proven.files import shop_of
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.program import programs
from millprep.proven.sheets import SHEETS, Asked, prove
from millprep.proven.stacks import BY_HAND, part_or_stack, refuse_sheet
from millprep.witness.carrying import check_carrying

WINCH = Path("parts/winch/winch.toml")
PLATE = """part = "Plate"
units = "mm"
material = "mild steel"
general_tolerance = 0.1
[stock]
size = [80, 50, 8]
[defaults]
depth = "through"
[[hole]]
name = "cover screw"
clear = "M4"
at = [[10, 10], [70, 10], [70, 40], [10, 40]]
[[hole]]
name = "dowel"
ream = 6
fit = "H7"
at = [[20, 25], [60, 25]]
[[hole]]
name = "stud"
tap = "M5"
at = [[40, 10], [40, 40]]
"""
BLOCK = """part = "Block"
units = "mm"
material = "aluminium 6082"
general_tolerance = 0.1
[stock]
size = [80, 46, 25]
[[hole]]
name = "body screw"
tap = "M4"
at = [[10, 8], [70, 8], [70, 38], [10, 38]]
depth = 12
[[hole]]
name = "pin"
ream = 6
fit = "H7"
at = [[20, 23], [60, 23]]
depth = 12
[[hole]]
name = "stud"
clear = "M5"
at = [[40, 8], [40, 38]]
depth = "through"
"""
BOX = """assembly = "Box"
units = "mm"
[members]
plate = "plate.toml"
block = "block.toml"
[[joint]]
name = "screws"
screw = "M4 x 16 socket head"
through = "plate: cover screw"
into = "block: body screw"
carried = {{ from = "plate", by = "{screws}" }}
[[joint]]
name = "studs"
screw = "M5 x 30 socket head"
through = {{ holes = "block: stud", face = "bottom" }}
into = {{ holes = "plate: stud", face = "bottom" }}
carried = {{ from = "plate", by = "{studs}" }}
[[joint]]
name = "dowels"
pin = "6 mm m6"
press = "block: pin"
press_too = 0
carried = {{ from = "plate", by = "{dowels}" }}
""".replace('press = "block: pin"\npress_too = 0', 'press = ["plate: dowel", "block: pin"]')


def box(folder: Path, plate: str = PLATE, **by: str) -> Path:
    ways = {"screws": "spotted through", "studs": "transfer screw", "dowels": "transfer punch"}
    (folder / "plate.toml").write_text(plate)
    (folder / "block.toml").write_text(BLOCK)
    path = folder / "box.toml"
    path.write_text(BOX.format(**{**ways, **by}))
    return path


def ready(folder: Path, joint: str = "screws", shop: str = "metric", **by: str) -> Prepared:
    return prepare(part_or_stack(box(folder, **by), joint, shop), shop, cures=False)


def sheet(prepared: Prepared, name: str = "listing") -> dict[str, Any]:
    data = prove(name, prepared, "json").data
    assert data is not None
    found: dict[str, Any] = json.loads(data.decode().rpartition("}")[0] + "}")
    return found


# ---------------------------------------------------------------- through a drilled hole


@pytest.mark.parametrize("by", ["spotted through", "jig"])
def test_a_cone_is_no_wider_than_the_chamfer(tmp_path: Path, by: str) -> None:
    (setup,) = sheet(ready(tmp_path, screws=by))["setups"]
    z = -(8 + 4.3 / 2 * math.tan(math.radians(31)))
    steps = setup["steps"]
    assert [(one["operation"], one["tool"], one["pecks"]) for one in steps] == [
        ("drill", steps[0]["tool"], [])
    ] * 4
    assert {round(one["z_exact_mm"], 5) for one in steps} == {round(z, 5)}
    assert {(one["hole"], one["x"], one["y"]) for one in steps} == {
        ("body screw 1", 10, 10),
        ("body screw 2", 70, 10),
        ("body screw 3", 70, 40),
        ("body screw 4", 10, 40),
    }
    (spot,) = setup["carry_spots"]
    assert (spot["drill_mm"], spot["cone_mm"], spot["chamfer_mm"], spot["thick_mm"]) == (
        4.5,
        4.3,
        4.3,
        8,
    )
    assert [one["pin_mm"] for one in setup.get("carry_jigs") or ()] == [4.5] * (by == "jig")
    edges = [(one["face"], one["other_face"], one.get("beside_mm")) for one in setup["carry_lies"]]
    assert edges == [("left", "left", None), ("front", "front", 2)]
    layers = [(one["layer"], one["begins"], one["ends"]) for one in setup["stack_layers"]["layers"]]
    assert layers == [("plate", 0, 8), ("block", 8, 33)]


def test_a_drill_narrower_than_the_chamfer_makes_a_full_cone(tmp_path: Path) -> None:
    """Holes of 4.1: full diameter to the face below, the point 4.1 / 2 x tan 31 = 1.232 deeper."""
    plate = PLATE.replace('clear = "M4"', "drill = 4.1")
    path = box(tmp_path, plate)
    (setup,) = sheet(prepare(part_or_stack(path, "screws"), cures=False))["setups"]
    z = -(8 + 4.1 / 2 * math.tan(math.radians(31)))
    assert {round(one["z_exact_mm"], 4) for one in setup["steps"]} == {round(z, 4)}
    (spot,) = setup["carry_spots"]
    assert (spot["cone_mm"], spot["full"]) == (4.1, "yes")


def test_the_winch_carries_its_foot_screws(tmp_path: Path) -> None:
    """Foot 8 on a frame that stands 3 in high: the frame's outside lies (80 - 56.35 - 6.35) / 2
    inside the foot's front edge; straps press where the frame bears, with nothing in the way."""
    prepared = prepare(part_or_stack(WINCH, "foot screws, left"), cures=False)
    assert prepared.findings == ()
    (setup,) = sheet(prepared)["setups"]
    level, inside = setup["carry_lies"]
    assert (level["face"], level["other_face"]) == ("left", "left")
    assert (inside["face"], inside["way"], inside["other_face"]) == ("top", "inside", "front")
    assert inside["beside_mm"] == pytest.approx((80 - 56.35 - 6.35) / 2)
    assert setup["carry_first"]["stack"] == "bearings"
    (then,) = setup["carry_then"]
    assert then["command"].endswith("frame-left.toml --only 'foot screw'")
    strapped = prepared.plan.setups[0].holding.strapped
    assert strapped is not None
    assert sorted(round(strap.toe_mm[0], 1) for strap in strapped.straps) == [6, 95.6]


def test_a_program_spots_through_and_nothing_else_has_one(tmp_path: Path) -> None:
    path = tmp_path / "spots.nc"
    made = programs(part_or_stack(box(tmp_path), "screws"), file=path)
    assert [one.holes for one in made.files] == [4] and not has_stop(made.findings)
    for joint, by in (("screws", "jig"), ("studs", ""), ("dowels", ""), ("dowels", "readings")):
        file = box(tmp_path, **({joint: by} if by else {}))
        with pytest.raises(MillprepError, match="no program carries holes over by"):
            programs(part_or_stack(file, joint), file=path)
    for joint, name in (("studs", "tools"), ("dowels", "tools"), ("screws", "inspection")):
        with pytest.raises(MillprepError, match=f"there is no {name} sheet"):
            refuse_sheet(part_or_stack(box(tmp_path), joint), name)
    prepared = ready(tmp_path, "dowels")
    with pytest.raises(MillprepError, match="there is no tools sheet"):
        prove("tools", prepared)


@pytest.mark.parametrize("by", ["spotted through", "jig"])
@pytest.mark.parametrize(
    ("joint", "plate"),
    [("dowels", PLATE), ("screws", PLATE.replace('clear = "M4"', 'drill = 4.5\nfit = "H8"'))],
)
def test_no_drill_runs_in_a_finished_bore(tmp_path: Path, by: str, joint: str, plate: str) -> None:
    path = box(tmp_path, plate, **{joint: by})
    found = judged(path).findings
    (told,) = [one for one in found if one.kind == "drill-in-bore"]
    assert told.severity == "stop" and told.message.startswith(f"{joint}: {by}: a drill would run")
    with pytest.raises(MillprepError, match="a drill would run"):
        part_or_stack(path, joint)
    assert route(path).data is None


def faulty(prepared: Prepared, **changes: Any) -> list[str]:
    """What the witness finds of a sheet that is made of a part with another depth or drill."""
    plan, part = prepared.plan, prepared.part
    holes = tuple(replace(hole, **changes) for hole in part.holes)
    other = prepare(replace(part, holes=holes), plan.shop, cures=False)
    wanted = SHEETS["listing"](other, Asked())
    data = wanted.written(wanted.lay_out()[0], "text")
    true = SHEETS["listing"](replace(prepared, asked=other.asked), Asked())
    return [f.message for f in true.disagreements(str(data).encode(), "text", "sheet")]


def test_planted_faults_are_told_by_the_witness(tmp_path: Path) -> None:
    """Another drill, a cone too wide or none, though plan and part agree with one another."""
    prepared = ready(tmp_path)
    depth_mm = prepared.part.holes[0].depth_mm
    assert faulty(prepared) == []
    wider = faulty(prepared, depth_mm=depth_mm + 0.1)  # 0.1 deeper is 0.33 wider
    assert any("where 4.300 mm may be" in one for one in wider)
    assert any("where 4.300 mm may be" in one for one in faulty(prepared, depth_mm=depth_mm - 0.5))
    drill = {"diameter_mm": 4.3, "drills_words": ("4.3 mm",), "words": "4.3 mm"}
    assert any("4.3 mm through a hole of 4.5 mm" in one for one in faulty(prepared, **drill))


def turned(part: Part, **changes: Any) -> Part:
    assert part.carrying is not None
    return replace(part, carrying=replace(part.carrying, **changes))


def test_the_order_of_members_and_a_finished_bore_are_asked(tmp_path: Path) -> None:
    """The sheet as it is, against members the other way up, or a hole that is reamed."""
    prepared = ready(tmp_path)
    of = prepared.part.carrying
    assert of is not None
    below = (("plate", "bottom"),)
    reamed = tuple(replace(m, source=replace(m.source, fit="H7")) for m in of.mates)
    for changes, told in (
        (
            {"source": "block", "blanks": of.blanks[::-1], "meets": below},
            "source is plate, not block",
        ),
        ({"mates": reamed}, "which is finished"),
        ({"face": "bottom"}, "does not lie with bottom up"),
    ):
        asked = turned(prepared.asked, **changes)
        wanted = SHEETS["listing"](replace(prepared, asked=asked), Asked())
        data = str(wanted.written(wanted.lay_out()[0], "text")).encode()
        found = " ".join(one.message for one in wanted.disagreements(data, "text", "sheet"))
        assert any(word in found for word in told.split("|")), (changes, found)


@pytest.mark.parametrize("form", ["text", "json"])
def test_every_slot_of_a_listing_is_asked(tmp_path: Path, form: str) -> None:
    """Each slot of its sentences changed, and each sentence left out: the witness stops it."""
    said = set()
    for by in ("spotted through", "jig"):
        wanted = SHEETS["listing"](ready(tmp_path, screws=by), Asked())
        document = wanted.lay_out()[0]
        assert not is_stopped(wanted, document, form)
        slugs = {one.slug for one in sentences_of(document) if one.slug.startswith("carry-")}
        said |= slugs
        for slug in slugs:
            assert is_stopped(wanted, without(document, slug), form), slug
        for slug, slot in slots_in(document):
            if slug in slugs and not (form == "json" and slot.startswith("_")):
                changed = with_slot_changed(document, slug, slot)
                assert is_stopped(wanted, changed, form), (slug, slot)
    assert {"carry-jig", "carry-spot", "carry-layers", "carry-edge", "carry-chance"} <= said


@pytest.mark.parametrize("name", ["dials", "bench", "tools"])
def test_other_sheets_are_handed_over(tmp_path: Path, name: str) -> None:
    for by in ("spotted through", "jig"):
        assert prove(name, ready(tmp_path, screws=by)).data is not None


# ---------------------------------------------------------------- by hand


def test_a_punch_is_chosen_for_each_hole() -> None:
    own = (3.0, 3.5, 4.0, 4.5)
    assert [punch_for(size, own) for size in (2.9, 3.0, 3.4, 4.5, 4.6)] == [None, 3, 3, 4.5, 4.5]


@pytest.mark.parametrize(
    ("drawer", "told"),
    [
        ("[6]", []),
        ("[5.95]", []),
        ("[5.5]", ['"pin 1": the 5.50 mm transfer punch is 0.50 mm loose in its hole of 6.00 mm']),
        ("[8]", ['"pin 1": no transfer punch of the shop goes into a hole of 6.00 mm']),
    ],
)
def test_a_loose_punch_is_told(tmp_path: Path, drawer: str, told: list[str]) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(f"[drawer]\ntransfer_punches = {drawer}\n")
    prepared = ready(tmp_path, "dowels", str(shop))
    assert [one.message for one in prepared.findings] == told
    data = prove("listing", prepared).data
    assert data is not None
    assert ("NOT IN THE DRAWER" in data.decode()) == (drawer == "[8]")


def too_few(folder: Path, by: str = "transfer punch", size: float = 4.2) -> Prepared:
    """Four screws with 0.1 of play, and nothing else that holds the two."""
    path = box(folder, PLATE.replace('clear = "M4"', f"drill = {size}"), screws=by)
    path.write_text(path.read_text().partition('[[joint]]\nname = "studs"')[0])
    return prepare(part_or_stack(path, "screws"), cures=False)


def test_what_would_do_is_said_where_a_way_does_not(tmp_path: Path) -> None:
    """A punch is good for 0.125 either way, a drill through the hole for 0.05."""
    few, enough = (sheet(too_few(tmp_path, by)) for by in ("transfer punch", "spotted through"))
    chance, other = few["carry_chance"], enough["setups"][0]["carry_chance"]
    assert (chance["reach"], chance["better"]) == ("short", "both made by dials")
    assert chance["share"] < 95 <= other["share"] and other["better"] is None
    tight = sheet(too_few(tmp_path, "transfer punch", 4.1))["carry_chance"]
    assert tight["better"] == "holes of 4.3 mm"


def barred(folder: Path, by: str = "spotted through") -> Prepared:
    """The bars of the winch under a frame, 3/8 in from two of its edges."""
    (folder / "barred").mkdir(exist_ok=True)
    for file in WINCH.parent.glob("*.toml"):
        (folder / "barred" / file.name).write_text(file.read_text())
    ends = 'into    = ["rear bar: near end", "front bar: near end", "top bar: near end"]'
    way = f'{ends}\ncarried = {{ from = "left", by = "{by}" }}'
    path = folder / "barred" / "winch.toml"
    path.write_text(path.read_text().replace(ends, way))
    return prepare(part_or_stack(path, "left bar screws"), cures=False)


def test_three_bars_are_spotted_through_one_plate(tmp_path: Path) -> None:
    """A vice round the plate would hold none of the bars: that is told. 5.5 through, M5 chamfered
    to 5.3."""
    prepared = barred(tmp_path)
    assert [one.kind for one in prepared.findings] == ["held-below"]
    (setup,) = sheet(prepared)["setups"]
    inch = 25.4
    places = [(one["from_mm"], one["other_mm"]) for one in setup["carry_lies"]]
    right = [(0.375, 0.375), (3.625, 0.375), (3.25, 2.625)]
    assert places == [(pytest.approx(a * inch), pytest.approx(b * inch)) for a, b in right]
    (spot,) = setup["carry_spots"]
    assert spot["members"] == ["rear bar", "front bar", "top bar"]
    assert (spot["drill_mm"], spot["cone_mm"]) == (5.5, 5.3)
    z = -(6.35 + 5.3 / 2 * math.tan(math.radians(31)))
    assert {round(one["z_exact_mm"], 4) for one in setup["steps"]} == {round(z, 4)}


def test_readings_want_edges_and_one_member_at_a_time(tmp_path: Path) -> None:
    with pytest.raises(MillprepError, match="of one member at a time, here 3"):
        barred(tmp_path, "readings")
    path = tmp_path / "barred" / "winch.toml"
    into = 'into    = "drum: wheel screw"'
    text = WINCH.read_text()
    path.write_text(text.replace(into, f'{into}\ncarried = {{ from = "wheel", by = "readings" }}'))
    with pytest.raises(MillprepError, match="a round blank has no edges"):
        part_or_stack(path, "wheel screws")


def by_hand(folder: Path) -> dict[str, Prepared]:
    """Every sentence of such a sheet between them; the wheel and its drum are round."""
    none = folder / "none.toml"
    none.write_text("[drawer]\ntransfer_punches = []\n")
    (folder / "punched").mkdir()
    text = WINCH.read_text().replace(
        'into    = "drum: wheel screw"',
        'into    = "drum: wheel screw"\ncarried = { from = "wheel", by = "transfer punch" }',
    )
    for file in WINCH.parent.glob("*.toml"):
        (folder / "punched" / file.name).write_text(file.read_text())
    (folder / "punched" / "winch.toml").write_text(text)
    round_ones = part_or_stack(folder / "punched" / "winch.toml", "wheel screws")
    return {
        "punch": ready(folder, "dowels"),
        "no punch": ready(folder, "dowels", str(none)),
        "screws": ready(folder, "studs"),
        "readings": ready(folder, "dowels", dowels="readings"),
        "round": prepare(round_ones, cures=False),
        "too few": too_few(folder),
        "bars": barred(folder, "transfer punch"),
    }


def is_refused(prepared: Prepared, document: Any, form: str, *, by_dials: bool = False) -> bool:
    data, shop = bytes_of(document, form), shop_of("metric")
    found: list[Finding] = []
    if data is not None:
        asked, remarks = prepared.asked, prepared.findings
        found = check_carrying(
            data,
            form,  # type: ignore[arg-type]  # one of its forms
            asked,
            shop,
            remarks,
            units="mm",
            by_dials=by_dials,
            file="sheet",
        )
    return data is None or has_stop(found)


@pytest.mark.parametrize("form", ["text", "json"])
def test_every_slot_of_a_sheet_by_hand_is_asked(tmp_path: Path, form: str) -> None:
    said = set()
    for name, prepared in by_hand(tmp_path).items():
        for sheet_name in ("listing", "dials") if name == "readings" else ("listing",):
            document = BY_HAND[sheet_name](prepared, Asked()).lay_out()[0]
            refused = partial(is_refused, prepared, form=form, by_dials=sheet_name == "dials")
            assert not refused(document), name
            said |= {one.slug for one in sentences_of(document)}
            passed = slots_let_through(
                document, refused, lambda slug, slot: form == "json" and slot[0] == "_"
            )
            heads = {(one, slot) for one, slot in passed if one.endswith(" head")}
            assert [one for one in passed if not (form == "json" and one in heads)] == [], name
            assert sentences_let_through(document, refused) == [], name
    wanted = {one.slug for group in wording("carrying").values() for one in group.templates}
    by_drill = {"carry-spot", "carry-jig"}
    unsaid = {one for one in wanted - said - by_drill if one.startswith("carry")}
    assert unsaid == set()


def test_readings_are_written_before_and_spotted_at_after(tmp_path: Path) -> None:
    """FRONT is the longer edge: it lies against the jaw, packed 2 in the block's turn. 90 deg, a
    flat of 0.2, 6.3 across: (6.3 - 0.2) / 2 = 3.05 deep."""
    prepared = ready(tmp_path, "dowels", dowels="readings")
    found = sheet(prepared)
    assert [(one["from_hole"], one["hole"], one["z"]) for one in found["steps"]] == [
        ("dowel 1", "pin 1", -3.05),
        ("dowel 2", "pin 2", -3.05),
    ]
    assert (found["carry_read"]["jaw_face"], found["carry_read"]["stop_face"]) == ("front", "left")
    (packing,) = found["carry_packing"]
    assert (packing["member"], packing["face"], packing["between"]) == ("block", "front", "jaw")
    assert packing["packing_mm"] == 2
    assert "turns and divisions" in (prove("dials", prepared, "text").data or b"").decode()
    assert prove("tools", prepared).data is not None
    assert prepared.findings == ()


@pytest.mark.parametrize("form", ["csv", "pdf", "html"])
def test_every_form_is_handed_over(tmp_path: Path, form: str) -> None:
    for prepared in by_hand(tmp_path).values():
        for name in ("listing", "dials"):
            assert prove(name, prepared, form).data is not None
        assert prove("bench", prepared).data is not None


# ---------------------------------------------------------------- what is said of it elsewhere


def test_the_chance_is_that_of_the_way_it_is_carried(tmp_path: Path) -> None:
    """By a punch 0.125 either way, by a drill through the hole 0.05: with 0.25 of play for four
    screws more of the ones go in than of the others; the assembly's sheet says which way."""
    shares = {}
    for by in ("spotted through", "transfer punch"):
        of = judged(box(tmp_path, screws=by))
        row = next(one for one in of.chances if one.joint.name == "screws")
        assert row.made_by == ("readout", by)
        shares[by] = row.share
        part = carried_part(of, carried_joints(of, "screws"), shop_of("metric"))
        assert part.carrying is not None and part.carrying.share == row.share
        assert report(of, "text").data is not None
    assert shares["transfer punch"] < shares["spotted through"]


def test_a_stop_where_members_do_not_lie_against_one_another(tmp_path: Path) -> None:
    (tmp_path / "shim.toml").write_text(
        PLATE.replace("80, 50, 8", "80, 50, 2").replace('"Plate"', '"Shim"')
    )
    path = box(tmp_path)
    text = path.read_text().partition('[[joint]]\nname = "studs"')[0]
    text = text.replace("[members]", '[members]\nshim = "shim.toml"')
    path.write_text(
        text.replace('"plate: cover screw"', '["plate: cover screw", "shim: cover screw"]')
    )
    with pytest.raises(MillprepError, match="shim lies between plate and block"):
        part_or_stack(path, "screws")


def test_a_loose_piece_is_left_out(tmp_path: Path) -> None:
    """A gasket of 1 between them later: plate against block when it is spotted."""
    path = box(tmp_path)
    text = path.read_text().partition('[[joint]]\nname = "studs"')[0]
    path.write_text(text.replace('"plate: cover screw"', '["plate: cover screw", 1]'))
    part = part_or_stack(path, "screws")
    assert isinstance(part, Part)
    assert [(one.from_mm, one.to_mm) for one in part.layers] == [(0, 8), (8, 33)]


def test_the_route_has_a_command_that_is_there(tmp_path: Path) -> None:
    path = box(tmp_path)
    data = route(path, form="json").data
    assert data is not None
    steps = json.loads(data.decode().rpartition("}")[0] + "}")["steps"]
    carried = [one for one in steps if one["what"] == "carry"]
    assert {one["command"].split()[-1] for one in carried} == {"screws", "studs", "dowels"}
    tools = {one["stack"]: one.get("tools") for one in carried}
    assert tools == {"screws": ["drill 4.5 mm, point 118 deg"], "studs": [], "dowels": []}
    for step in carried:
        words = step["command"].split()
        with pytest.raises(SystemExit) as left:
            main([*words, "-o", str(tmp_path / "out.txt"), "--force"])
        assert left.value.code == 0


def test_an_unknown_name_is_told_with_those_there_are(tmp_path: Path) -> None:
    with pytest.raises(MillprepError) as told:
        part_or_stack(box(tmp_path), "screw")
    assert "screws" in str(told.value)


def test_the_setting_is_as_the_file_has_it(tmp_path: Path) -> None:
    """By itself under straps, for the block is not as wide as the plate; in the vice where the
    file says so. Holes are not chosen: all are carried over in one setting."""
    path = box(tmp_path)
    held = prepare(part_or_stack(path, "screws"), cures=False).plan.setups[0].holding
    assert held.strapped is not None
    way = 'carried = { from = "plate", by = "spotted through" }'
    text = path.read_text()
    path.write_text(text.replace(way, way + '\nsetup = { hold = "vice", towards_you = "left" }'))
    (setup,) = sheet(prepare(part_or_stack(path, "screws"), cures=False))["setups"]
    assert (setup["hold"]["by"], setup["towards_you"]) == ("vice", "left")
    path.write_text(text.replace(way, way + '\nsetup = { holes = ["screws"] }'))
    with pytest.raises(MillprepError, match="one setting has all of them"):
        part_or_stack(path, "screws")
    path.write_text(text.replace(way, 'setup = { hold = "vice" }'))
    with pytest.raises(MillprepError, match="setup without carried"):
        part_or_stack(path, "screws")


FRAME = Path("parts/winch/frame-left.toml")


def test_the_bench_page_finishes_what_was_carried_over(tmp_path: Path) -> None:
    """Its steps, and none of another hole; drill and tap, for the spot is there."""
    page = tmp_path / "page.html"
    with pytest.raises(SystemExit) as left:
        main(["bench", str(FRAME), "--only", "foot screw", "-o", str(page)])
    assert left.value.code == 0
    prepared = prepare(FRAME, only="foot screw", cures=False)
    read = steps_of(page.read_bytes(), "listing", "bench mm", prepared.asked)
    steps = {(row.operation, row.hole) for _, row, _ in read}
    holes = ("foot screw 1", "foot screw 2")
    assert steps == {(done, hole) for done in ("drill", "tap") for hole in holes}
    with pytest.raises(MillprepError, match='no hole "foot scrow"'):
        prove("bench", prepared, asked=Asked(only="foot scrow"))


def test_the_head_of_a_program_says_what_is_left(tmp_path: Path) -> None:
    (made,) = programs(FRAME, file=tmp_path / "frame.nc").files
    head = made.data.decode().split("G17")[0]
    assert '(LEFT FOR LATER: DRUM SHAFT, PINION SHAFT, REAMED IN STACK "BEARINGS")' in head
    assert "(LEFT FOR LATER: FOOT SCREW 1, FOOT SCREW 2, SPOTTED THROUGH FOOT" in head
    (made,) = programs(FRAME, file=tmp_path / "frame.nc", assembly="none", setup=1).files
    assert "LEFT FOR LATER" not in made.data.decode()
