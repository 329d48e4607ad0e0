"""How a part is laid where its file leaves that open: a part for each of the trade's reasons.

Which face comes where is reasoned out by hand beside each case: with `towards_you` the other three
follow, looking down on the face that is up.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import BLOCK, millprep, part_text, read_text, shop_of

from millprep.base.records import replace
from millprep.model.part import FACES, OPPOSITE
from millprep.planning import lays
from millprep.planning.lays import laid
from millprep.proven.preparation import prepare
from millprep.setting.setups import default_towards_you, setups_of
from millprep.setting.zeroing import made_holes
from millprep.witness.choice import broken_by_choice

TOP = '[[hole]]\nname = "a"\ndrill = 4\nat = [12, 9]\ndepth = 5\n'
CENTRED = 'x = "centre"\ny = "centre"'


def chosen(
    holes: str, stock: str = BLOCK, shop: str = "", datum: str = CENTRED, **more: str
) -> list[tuple[str, str, str | None]]:
    """(face up, face towards you, reason) of each setup."""
    part = laid(
        read_text(part_text(holes, stock, datum=datum, lay="chosen", **more)), shop_of(shop)
    )
    return [(one.face, one.towards_you, one.request.laid_for) for one in setups_of(part)]


def on(
    face: str, what: str = "drill = 4", name: str = "", more: str = "", at: str = "[9, 9]"
) -> str:
    name = name or face
    return (
        f'[[hole]]\nname = "{name}"\nface = "{face}"\n{what}\nat = {at}\n'
        + ("" if "depth" in more else "depth = 5\n")
        + more
    )


def test_what_nothing_speaks_against_lies_as_it_is_drawn() -> None:
    assert chosen(TOP) == [("top", "front", None)]


def test_a_long_side_lies_along_the_jaws() -> None:
    """As drawn, 60 of BACK to FRONT would be across the jaws: a quarter turn lays them along."""
    ((face, towards_you, why),) = chosen(TOP, "size = [40, 60, 20]")
    assert face == "top"
    assert towards_you in ("left", "right")
    assert why == "long"


def test_a_side_hardly_longer_is_not_the_long_one() -> None:
    assert chosen(TOP, "size = [40, 42, 20]") == [("top", "front", None)]


def test_a_datum_face_is_not_left_to_the_moving_jaw() -> None:
    """The fixed jaw is away: FRONT goes there, BACK is towards you, and 60 lie along the jaws."""
    both = 'x = "left"\ny = "front"'
    assert chosen(TOP, datum=both) == [("top", "back", "datum")]
    assert chosen(TOP, datum='x = "left"\ny = "back"') == [("top", "front", None)]
    towards = '[vice]\nfixed_jaw = "towards you"\n'
    assert chosen(TOP, datum=both, shop=towards) == [("top", "front", None)]


def test_readings_count_up_where_nothing_else_decides() -> None:
    """A square plate: FRONT or LEFT may be on the fixed jaw. With LEFT there, FRONT is at the left
    hand and X counts up from the stop; with FRONT there both would count down."""
    both = 'x = "left"\ny = "front"'
    square = "size = [60, 60, 20]"
    assert chosen(TOP, square, datum=both) == [("top", "right", "datum")]
    # With the datum on RIGHT and FRONT, FRONT on the fixed jaw has RIGHT at the left hand.
    assert chosen(TOP, square, datum='x = "right"\ny = "front"') == [("top", "back", "datum")]


def test_what_does_not_go_between_the_jaws_is_turned_across() -> None:
    """The vice opens 100: of 40 x 150, 40 go between the jaws, whatever the datum says."""
    datum = 'x = "centre"\ny = "back"'
    ((_, towards_you, why),) = chosen(TOP, "size = [40, 150, 20]", datum=datum)
    assert towards_you in ("left", "right")
    assert why == "held"


def test_holes_lie_along_the_axis_that_reaches_them() -> None:
    """Two holes 160 apart from FRONT to BACK of a plate for straps: Y moves 145, X moves 400."""
    two = TOP.replace("[12, 9]", "[[0, -80], [0, 80]]")
    shop = "[vice]\nopening = 50\n"
    ((face, towards_you, _),) = chosen(two, "size = [190, 185, 20]", shop=shop)
    assert face == "top"
    assert towards_you in ("left", "right")


def test_what_the_file_says_is_kept() -> None:
    setup = '[[setup]]\nface = "top"\ntowards_you = "right"\n'
    assert chosen(TOP + setup) == [("top", "right", None)]


@pytest.mark.parametrize(
    "given",
    [
        'zero = { x = "left" }\n',
        "parallels = { thickness = 3, height = 10, at = [2, 30] }\n",
        '[[setup.obstacle]]\nname = "strap"\nfrom = [-20, 0, 0]\nto = [-10, 10, 10]\n',
    ],
)
def test_what_stands_in_setup_axes_holds_the_lay_to_the_view(given: str) -> None:
    datum = 'x = "left"\ny = "front"'
    setup = f'[[setup]]\nface = "top"\n{given}'
    assert chosen(TOP + setup, datum=datum) == [("top", "front", None)]
    free = '[[setup]]\nface = "top"\nwork_offset = "G55"\nvice = { grip = 9 }\n'
    assert chosen(TOP + free, datum=datum) == [("top", "back", "datum")]


def test_a_second_setup_is_laid_for_the_fewest_turns() -> None:
    """TOP as drawn, then BOTTOM: rolled right over, FRONT or BACK towards you; one turn either way.
    As drawn BACK is towards you. A disc on end may lie any way, and is not turned on the plate."""
    faces = chosen(TOP + on("bottom"))
    assert faces == [("top", "front", None), ("bottom", "back", None)]


def test_a_bore_that_locates_the_rest_comes_first() -> None:
    faces = [face for face, *_ in chosen(TOP + on("right", "ream = 4", at="[0, 10]"))]
    assert faces == ["right", "top"]


def test_a_bore_is_finished_after_what_runs_into_it() -> None:
    """RIGHT would come first for its bore; the grub screw from TOP runs into that, so TOP does."""
    bore = on("right", "ream = 6", "pivot", 'depth = "through"\n', "[0, 10]")
    grub = '[[hole]]\nname = "grub"\ntap = "M4"\nat = [10, 0]\ndepth = { into = "pivot" }\n'
    assert [face for face, *_ in chosen(bore + grub)] == ["top", "right"]


def test_a_recess_at_the_far_end_comes_after_its_hole() -> None:
    sunk = on(
        "bottom",
        'clear = "M4"',
        "bolt",
        'depth = "through"\nfar = { counterbore = "M4 socket head" }\n',
    )
    assert [face for face, *_ in chosen(sunk)] == ["bottom", "top"]


def test_the_files_own_order_stands() -> None:
    setups = '[[setup]]\nface = "top"\n'
    faces = [face for face, *_ in chosen(TOP + on("right", "ream = 4", at="[0, 10]") + setups)]
    assert faces == ["top", "right"]


def test_a_choice_is_not_made_twice() -> None:
    """A part that has been laid is laid as it lies, with the reason that it was told."""
    shop = shop_of()
    once = laid(read_text(part_text(TOP + on("left"), lay="chosen")), shop)
    assert laid(once, shop) == once
    assert "datum" in {request.laid_for for request in once.setups}


def test_the_sheet_says_what_the_lay_was_chosen_for(in_folder: Any) -> None:
    path = in_folder / "p.toml"
    path.write_text(part_text(TOP, lay="chosen"))
    ran = millprep("listing", path)
    assert ran.status == 0
    words = " ".join(ran.out.split())
    lies = "TOP up, BACK towards you, RIGHT to your left"
    assert f"SET UP {lies} (moving jaw off the datum)." in words
    assert "FRONT against the fixed jaw, LEFT up against the stop" in words
    step = next(line for line in ran.out.splitlines() if "a " in line and "-12.000" in line)
    assert "-9.000" in step


SIZES = st.integers(15, 120)
DATUMS = st.tuples(
    st.sampled_from(["left", "right", "centre"]), st.sampled_from(["front", "back", "centre"])
)


@st.composite
def blocks(draw: st.DrawFn) -> str:
    """Blocks with a small blind hole in the middle of some faces."""
    size = [draw(SIZES) for _ in range(3)]
    faces = draw(st.sets(st.sampled_from(FACES), min_size=1))
    holes = ""
    for face in sorted(faces):
        axis = {"left": 0, "right": 0, "front": 1, "back": 1, "bottom": 2, "top": 2}[face]
        a, b = (s / 2 for i, s in enumerate(size) if i != axis)
        what = draw(st.sampled_from(["drill = 4", "ream = 4", 'tap = "M3"']))
        left, front = [name for i, name in enumerate(["left", "front", "bottom"]) if i != axis]
        at = f"{{ {left} = {a}, {front} = {b} }}"
        holes += f'[[hole]]\nname = "{face}"\nface = "{face}"\n{what}\nat = {at}\ndepth = 4\n'
    x, y = draw(DATUMS)
    return part_text(holes, f"size = {size}", datum=f'x = "{x}"\ny = "{y}"', lay="chosen")


@settings(max_examples=60)
@given(blocks())
def test_any_choice_is_one_of_four_and_no_worse_than_as_drawn(text: str) -> None:
    drawn, shop = read_text(text), shop_of()
    part = laid(drawn, shop)
    setups = setups_of(part)
    assert Counter(one.face for one in setups) == Counter(one.face for one in setups_of(drawn))
    for one in setups:
        assert one.towards_you not in (one.face, OPPOSITE[one.face])
        mine, *others = (
            lays._lays(part, shop, replace(one.request, towards_you=face), one.names)[0].against
            for face in (one.towards_you, default_towards_you(one.face))
        )
        assert all(mine <= other for other in others)
        assert (one.request.laid_for is None) == (one.towards_you == default_towards_you(one.face))


@settings(max_examples=25)
@given(blocks())
def test_no_note_speaks_of_a_lay(text: str) -> None:
    prepared = prepare(read_text(text), shop_of(), cures=False)
    about = {"long-across-jaws", "locating-late", "reamed-too-early", "recess-before-hole"}
    assert not about & {one.kind for one in prepared.findings}


# A face that is set up more than once.

VISITS = (
    '[[hole]]\nname = "pivot"\nream = 6\nat = [30, 20]\ndepth = "through"\n'
    '[[hole]]\nname = "cover screw"\ntap = "M4"\nat = [[10, 10], [50, 30]]\ndepth = 8\n'
    '[[hole]]\nname = "cross"\nface = "front"\ndrill = 5\nat = [30, 10]\n'
    'depth = { into = "pivot" }\n'
)
SCREWS_FIRST = '[[setup]]\nface = "top"\nholes = ["{0}"]\nwork_offset = "G55"\n'
LEFT_FRONT = 'x = "left"\ny = "front"'


def visited(setups: str) -> list[tuple[str, set[str]]]:
    part = laid(read_text(part_text(VISITS + setups, lay="chosen")), shop_of())
    return [(one.face, set(one.names)) for one in setups_of(part)]


def test_a_visit_makes_what_it_names_and_the_next_one_the_rest() -> None:
    screws, rest = {"cover screw 1", "cover screw 2"}, {"pivot"}
    first = SCREWS_FIRST.format("cover screw")
    again = '[[setup]]\nface = "front"\n[[setup]]\nface = "top"\n'
    assert visited(first + again) == [("top", screws), ("front", {"cross"}), ("top", rest)]
    # What is left and not listed comes after what is; the cross hole before the bore is reamed.
    assert visited(first) == [("top", screws), ("front", {"cross"}), ("top", rest)]
    # Named in a later visit, a hole is left alone by the one that makes the rest.
    later = '[[setup]]\nface = "top"\n[[setup]]\nface = "front"\n' + first
    assert visited(later) == [("top", rest), ("front", {"cross"}), ("top", screws)]
    assert visited(SCREWS_FIRST.format("cover screw 2"))[0] == ("top", {"cover screw 2"})


@pytest.mark.parametrize(
    ("setups", "message"),
    [
        (SCREWS_FIRST.format("cover srew"), 'there is no hole "cover srew"'),
        (SCREWS_FIRST.format("cover screw 7"), '"cover screw 7" is not one of them'),
        (SCREWS_FIRST.format("cross"), '"cross" is worked from front, and top is up in this setup'),
        (SCREWS_FIRST.format("pivot") * 2, '"pivot" is made in setup 1 already'),
        (
            '[[setup]]\nface = "top"\n' * 2,
            "top is up in setup 1 already, and nothing says which of its holes are left for this",
        ),
    ],
)
def test_a_visit_that_cannot_be_is_one_fault(in_folder: Any, setups: str, message: str) -> None:
    path = in_folder / "p.toml"
    path.write_text(part_text(VISITS + setups, lay="chosen"))
    ran = millprep("check", path)
    assert ran.status == 2
    assert ran.err.count("stop:") == 1
    assert message in ran.err


@pytest.mark.parametrize("sheet", ["listing", "dials", "bench", "markout", "inspect", "tools"])
def test_every_sheet_of_a_part_with_visits_is_handed_over(in_folder: Any, sheet: str) -> None:
    path = in_folder / "p.toml"
    setups = SCREWS_FIRST.format("cover screw") + '[[setup]]\nface = "front"\n'
    path.write_text(part_text(VISITS + setups, lay="chosen"))
    ran = millprep(sheet, path, "-o", "sheet.html")
    assert (ran.status, ran.err.count("stop:")) == (0, 0)


def test_steps_and_programs_are_those_of_the_visit(in_folder: Any) -> None:
    """Three setups: the screws, the cross hole, the pivot; none makes what another makes."""
    path = in_folder / "p.toml"
    path.write_text(part_text(VISITS + SCREWS_FIRST.format("cover screw"), lay="chosen"))
    listed = millprep("listing", path, "--format", "json").json["setups"]
    holes = [{step["hole"] for step in setup["steps"]} for setup in listed]
    assert holes == [{"cover screw 1", "cover screw 2"}, {"cross"}, {"pivot"}]
    assert [setup["work_offset"] for setup in listed] == ["G55", "G54", "G54"]
    for number in (1, 2, 3):
        program = in_folder / f"{number}.nc"
        assert millprep("program", path, "--setup", number, "-o", program).status == 0
        assert millprep("dryrun", program, "--part", path, "--setup", number).status == 0
    wrong = millprep("dryrun", "1.nc", "--part", path, "--setup", "3", "--format", "json")
    assert {"hole-missing", "hole-extra"} <= {one["kind"] for one in wrong.json["findings"]}


def test_a_hole_of_an_earlier_visit_is_tried_again() -> None:
    """In the third setup the reamed pivot of the first is open on the face that is up."""
    first = SCREWS_FIRST.format("pivot") + '[[setup]]\nface = "front"\n'
    plan = prepare(read_text(part_text(VISITS + first, lay="chosen")), shop_of()).plan
    third = plan.setups[2].setup
    earlier = [one.setup for one in plan.setups[:2]]
    assert [hole.name for hole in made_holes(plan.part, third, earlier)] == ["pivot"]


def test_what_was_measured_in_another_setup_is_said_in_its_column(in_folder: Any) -> None:
    """The pivot, 30 from LEFT and 20 from FRONT, is made with TOP up, LEFT at the right hand: -30,
    -20. With BOTTOM up and BACK towards you, FRONT is away and LEFT at the left hand: 30, -20; so
    what is 0.03 too far to the right hand there is 0.03 farther from LEFT, minus along X of TOP."""
    path, file = in_folder / "p.toml", in_folder / "m.csv"
    pin = '[[hole]]\nname = "pin"\nface = "bottom"\nream = 4\nat = [10, 10]\ndepth = 6\n'
    setups = '[[setup]]\nface = "top"\n[[setup]]\nface = "bottom"\ntowards_you = "back"\n'
    path.write_text(
        part_text(VISITS.split('[[hole]]\nname = "cover')[0] + pin + setups, lay="chosen")
    )
    file.write_text("hole,x,y,setup\npivot,30.03,-20.05,2\npin,10,-10,\n")
    ran = millprep("inspect", path, file, "--format", "json", "--date", "2026-05-14")
    pivot, pin_told = ran.json["holes"]
    assert (pivot["dx"], pivot["dy"]) == (pytest.approx(-0.03), pytest.approx(-0.05))
    assert (pin_told["dx"], pin_told["dy"]) == (pytest.approx(0), pytest.approx(0))
    for wrong in ("3", "0", "two"):
        file.write_text(f"hole,x,y,setup\npivot,30,-20,{wrong}\n")
        ran = millprep("inspect", path, file)
        assert (ran.status, ran.err.count("stop:")) == (2, 1)
        assert (
            f'm.csv:2: stop: pivot: setup: "{wrong}" is no setup that it can be read in' in ran.err
        )


def test_a_match_goes_by_the_setup_that_the_file_names(in_folder: Any) -> None:
    path, file = in_folder / "p.toml", in_folder / "m.csv"
    holes = (
        '[[hole]]\nname = "a"\ndrill = 5\nat = [[10, 10], [50, 12], [30, 30]]\ndepth = "through"\n'
    )
    below = '[[hole]]\nname = "b"\nface = "bottom"\ndrill = 4\nat = [10, 20]\ndepth = 5\n'
    setups = '[[setup]]\nface = "top"\n[[setup]]\nface = "bottom"\ntowards_you = "back"\n'
    path.write_text(part_text(holes + below + setups, lay="chosen"))
    rows = ["a 1,10.1,-10,2", "a 2,50.1,-12,2", "a 3,30.1,-30,2"]
    file.write_text("\n".join(["hole,x,y,setup", *rows, ""]))
    ran = millprep("match", path, file, "--format", "json")
    assert ran.status == 0
    assert (ran.json["shift_mm"], ran.json["setup"]) == (pytest.approx([0.1, 0], abs=1e-6), 2)
    rows[0] = "a 1,-10.1,-10,1"
    file.write_text("\n".join(["hole,x,y,setup", *rows, ""]))
    ran = millprep("match", path, file)
    assert ran.status == 2
    assert "--setup 1 or --setup 2" in ran.err


def crossed(face: str, bore: str, at: str, into: str, beside: str) -> str:
    """A bore in a face, and a hole beside it that is drilled into the bore of another face."""
    return (
        f'[[hole]]\nname = "{bore}"\nface = "{face}"\nream = 6\nat = {at}\ndepth = "through"\n'
        f'[[hole]]\nname = "into {into}"\nface = "{face}"\ndrill = 4\nat = {beside}\n'
        f'depth = {{ into = "{into}" }}\n'
    )


def test_a_face_is_set_up_again_where_no_order_finishes_every_bore_last() -> None:
    """Up in TOP at 20, 20 and along in FRONT at x 40, z 10: each bore has a hole of the other face
    drilled into it. Whichever face comes first, its bore waits for a second visit."""
    holes = crossed("top", "up", "[20, 20]", "along", "[40, 20]") + crossed(
        "front", "along", "[40, 10]", "up", "[20, 10]"
    )
    part = laid(read_text(part_text(holes, lay="chosen")), shop_of())
    setups = setups_of(part)
    assert [one.face for one in setups] == ["top", "front", "top"]
    assert [set(one.names) for one in setups] == [{"into along"}, {"along", "into up"}, {"up"}]
    kinds = {one.kind for one in prepare(part, shop_of(), cures=False).findings}
    assert "reamed-too-early" not in kinds
    # The file's own order is kept, and told; what is told mends it.
    listed = holes + '[[setup]]\nface = "top"\n[[setup]]\nface = "front"\n'
    found = prepare(read_text(part_text(listed, lay="chosen")), shop_of(), cures=False).findings
    (early,) = [one for one in found if one.kind == "reamed-too-early"]
    assert '[[setup]] with face = "top" and holes = ["up"]' in early.remedy
    mended = listed + '[[setup]]\nface = "top"\nholes = ["up"]\n'
    found = prepare(read_text(part_text(mended, lay="chosen")), shop_of(), cures=False).findings
    assert "reamed-too-early" not in {one.kind for one in found}


@pytest.mark.parametrize(
    "change",
    [
        {"towards_you": "left"},
        {"work_offset": "G54"},
        {"holes": ("pivot",)},
        {"face": "bottom", "towards_you": "back"},
    ],
)
def test_a_choice_that_breaks_the_files_word_is_seen(change: dict[str, Any]) -> None:
    first = SCREWS_FIRST.format("cover screw") + 'towards_you = "right"\n'
    file = read_text(part_text(VISITS + first, lay="chosen"))
    sound = laid(file, shop_of())
    assert list(broken_by_choice(file, sound)) == []
    one, *others = sound.setups
    assert list(broken_by_choice(file, replace(sound, setups=(replace(one, **change), *others))))
    assert list(broken_by_choice(file, replace(sound, setups=tuple(others))))
    assert list(broken_by_choice(file, replace(sound, holes=sound.holes[1:])))


def test_a_program_that_does_not_say_its_lay_is_run_as_drawn_where_that_fits(
    in_folder: Any,
) -> None:
    """The sheets have FRONT on the fixed jaw; by the drawing X and Y count up from LEFT, FRONT."""
    path, program = in_folder / "p.toml", in_folder / "own.nc"
    path.write_text(part_text(TOP, lay="chosen"))
    drawn = in_folder / "drawn.toml"
    drawn.write_text(part_text(TOP))
    assert millprep("program", drawn, "-o", program).status == 0
    own = "\n".join(line for line in program.read_text().splitlines() if "TOWARDS" not in line)
    for text, kinds in (
        (own, {"lies-as-drawn"}),
        (re.sub(r"X12\.?0*(?= )", "X12.5", own), {"lies-as-drawn", "hole-off"}),
    ):
        (in_folder / "n.nc").write_text(text + "\n")
        found = millprep("dryrun", "n.nc", "--part", path, "--format", "json").json["findings"]
        assert {
            one["kind"] for one in found if one["kind"] in ("lies-as-drawn", "hole-off")
        } == kinds
    # millprep's own program says how the part lies: for the other lay it is simply wrong.
    found = millprep("dryrun", program, "--part", path, "--format", "json").json["findings"]
    assert "lies-as-drawn" not in {one["kind"] for one in found}
    assert {"hole-missing", "hole-extra"} & {one["kind"] for one in found}
