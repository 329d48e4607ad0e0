"""Shop files: the packaged shops, laying one over another, and every fault said."""

from decimal import Decimal
from pathlib import Path

import pytest

from millprep.base.findings import MillprepError
from millprep.infiles import read_shop
from millprep.reference.threads import thread_named


@pytest.fixture
def shop_of(tmp_path):
    def read(text):
        path = tmp_path / "shop.toml"
        path.write_text(text)
        return read_shop(str(path))

    return read


@pytest.fixture
def said_of(shop_of, tmp_path):
    def read(text):
        with pytest.raises(MillprepError) as caught:
            shop_of(text)
        said = "".join(f"{finding}\n" for finding in caught.value.findings)
        return said.replace(str(tmp_path / "shop.toml"), "shop.toml")

    return read


def diameters(tools):
    return [tool.diameter_mm for tool in tools]


@pytest.mark.parametrize("name", ["metric", "inch"])
def test_packaged_shops(name):
    shop = read_shop(name)
    cabinet = shop.cabinet
    assert shop.name == name
    assert shop.tools == ()
    assert shop.control.offsets_mm == {}
    assert shop.readout.resolution_mm == Decimal("0.005")
    assert shop.readout.resolution_inch == Decimal("0.0002")
    for tools in (
        cabinet.drills,
        cabinet.reamers,
        cabinet.taps,
        cabinet.spot_drills,
        cabinet.countersinks,
        cabinet.counterbores,
        cabinet.end_mills,
    ):
        assert tools
        assert diameters(tools) == sorted(diameters(tools))
        assert len(set(tools)) == len(tools)
    for tap in cabinet.taps:
        thread = thread_named(tap.words)
        assert tap.pitch_mm == thread.pitch_mm
        assert any(
            drill.diameter_mm == pytest.approx(thread.tap_drill_mm, abs=0.051)
            for drill in cabinet.drills
        ), f"no drill for {tap.words}"


def test_metric_drills():
    """1 to 10 mm by tenths, on to 13 by halves, and the two before 10 and 12 mm reamers."""
    drills = read_shop().cabinet.drills
    tenths = [round(1 + 0.1 * number, 1) for number in range(91)]
    assert diameters(drills) == sorted([*tenths, 10.5, 11, 11.5, 11.8, 12, 12.5, 13])
    assert drills[0].words == "1 mm"
    five = next(drill for drill in drills if drill.words == "5 mm")
    assert five.point_angle_deg == 118  # general-purpose point, ASME B94.11M
    assert five.flute_mm == 52  # ISO 235, over 4.75 to 5.3


def test_inch_drills():
    """64ths from 1/16 to 1/2, numbers 60 to 1, letters A to Z: 29 + 60 + 26 drills."""
    drills = read_shop("inch").cabinet.drills
    words = [drill.words for drill in drills]
    assert len(words) == 29 + 60 + 26
    assert {"1/16 in", "27/64 in", "1/2 in", "#60", "#1", "letter A", "letter Z"} <= set(words)
    seven = next(drill for drill in drills if drill.words == "#7")
    assert seven.diameter_mm == pytest.approx(0.2010 * 25.4)  # ASME B94.11M


def test_leads_of_taps(shop_of):
    """Taper 8, second or plug 4, bottoming 2 threads: Machinery's Handbook, chamfers of taps."""
    shop = shop_of(
        """[drawer]
taps = ["M3", { thread = "M4", lead = "taper" }, { thread = "M5", lead = "second" },
        { thread = "M6", lead = "second" }, { thread = "M8", lead = "bottoming" },
        { thread = "M10", lead = 3 }, { thread = "M12 left hand", lead = 5 }]
"""
    )
    leads = [(tap.words, tap.lead_threads) for tap in shop.cabinet.taps]
    assert leads == [
        ("M3", 4),
        ("M3", 2),
        ("M4", 8),
        ("M5", 4),
        ("M6", 4),
        ("M8", 2),
        ("M10", 3),
        ("M12 left hand", 5),
    ]
    assert shop.cabinet.taps[-1].is_left_hand


def test_merging_is_key_by_key_and_a_list_replaces_the_list(shop_of):
    base = read_shop()
    shop = shop_of(
        """name = "shed"
[mill]
travel = { z = [-200, 0] }
[dials]
x = { lead = 2 }
[drawer]
reamers = ["6 mm"]
[control]
offsets = { g54 = [1, 2, 3] }
"""
    )
    assert shop.name == "shed"
    assert shop.mill.travel_mm == (*base.mill.travel_mm[:2], (-200, 0))
    assert shop.mill.speeds_rpm == base.mill.speeds_rpm
    assert shop.dials["x"].lead_mm == 2
    assert shop.dials["x"].divisions == base.dials["x"].divisions
    assert shop.dials["y"] == base.dials["y"]
    assert [tool.words for tool in shop.cabinet.reamers] == ["6 mm"]
    assert shop.cabinet.drills == base.cabinet.drills
    assert shop.control.offsets_mm == {"G54": (1, 2, 3)}


def test_each_file_keeps_its_own_units(shop_of):
    shop = shop_of('units = "inch"\n[finder]\ndiameter = 0.2\n')
    assert shop.finder.diameter_mm == pytest.approx(5.08)
    assert shop.mill.travel_mm == read_shop("metric").mill.travel_mm
    assert shop_of('base = "inch"\n').mill == read_shop("inch").mill


def test_a_range_of_speeds_takes_the_place_of_listed_ones(shop_of):
    mill = shop_of("[mill]\nspindle = { min = 50, max = 2500 }\n").mill
    assert mill.speeds_rpm == ()
    assert mill.speed_range_rpm == (50, 2500)
    assert (mill.slowest_rpm, mill.fastest_rpm) == (50, 2500)


def test_control(shop_of):
    control = shop_of(
        """[control]
units = "none"
cycles = ["g81", "G83"]
comments = ";"
tool_change = "files"
change_goes_up = true
zero_in_stop = false
tapping = "rigid"
home_2 = [0, 0, -10]
"""
    ).control
    assert control.units is None
    assert control.cycles == {"G81", "G83"}
    assert (control.comments, control.tool_change) == (";", "files")
    assert (control.change_goes_up, control.zero_in_stop) == (True, False)
    assert control.home_2_mm == (0, 0, -10)
    assert shop_of('[control]\nzero_in_stop = "ask"\n').control.zero_in_stop is None
    assert shop_of("[control]\nzero_in_stop = true\n").control.zero_in_stop is True
    assert shop_of("[control]\ncycles = false\n").control.cycles == frozenset()


def test_a_control_of_x_and_y_alone_has_no_cycles_lengths_or_power_for_taps(shop_of):
    control = shop_of('[control]\naxes = "xy"\nxy_feed = "10 in"\nquill_stop = true\n').control
    assert (control.cycles, control.length_offset) == (frozenset(), False)
    assert (control.tapping, control.tool_change) == ("by hand at the hole", "stop")
    assert (control.xy_feed_mm_per_min, control.quill_stop) == (254.0, True)


def test_what_a_control_keeps(shop_of, said_of):
    assert said_of("[control]\nkeeps = ['G54']\n") == (
        "shop.toml:2: stop: [control]: keeps: ['G54'] is no list of what a control keeps\n"
        "    give a list of G10, G52, G92; [] where it keeps nothing\n"
    )
    assert shop_of("[control]\n").control.keeps == {"G10"}
    assert shop_of('[control]\nkeeps = ["g10", "G92"]\n').control.keeps == {"G10", "G92"}
    assert shop_of("[control]\nkeeps = []\n").control.keeps == frozenset()


def test_tool_table(shop_of):
    tools = shop_of(
        """[[tool]]
number = 4
kind = "tap"
thread = "M6"
lead = "bottoming"
[[tool]]
number = 1
kind = "drill"
diameter = "5 mm"
length = 75
flute = 52
reach = 60
holder = { diameter = 30, length = 40 }
[[tool]]
number = 2
kind = "reamer"
diameter = "1/4 in"
lead = 1.5
"""
    ).tools
    assert [tool.number for tool in tools] == [1, 2, 4]
    drill, reamer, tap = tools
    assert (drill.diameter_mm, drill.length_mm, drill.point_angle_deg) == (5, 75, 118)
    assert (drill.holder_diameter_mm, drill.holder_length_mm) == (30, 40)
    assert (reamer.words, reamer.told) == ("1/4 in", {"lead": 1.5})
    assert (tap.words, tap.told) == ("M6", {"pitch": 1, "lead": 2})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[mil]\n",
            'shop.toml:1: stop: [mil]: the key "mil" is not known\n    did you mean "mill"?\n',
        ),
        (
            "[mill]\ndrills = [5]\n",
            'shop.toml:2: stop: [mill]: the key "drills" is not known\n'
            '    "drills" belongs under [drawer]: move it there\n',
        ),
        (
            "[mill]\ntravel = { x = [400, 0] }\n",
            "shop.toml:2: stop: [mill]: travel.x: [400, 0] has no room\n"
            "    give the lower end first\n",
        ),
        (
            "[mill]\nspindle = { min = 500 }\n",
            "shop.toml:2: stop: [mill]: spindle has either listed speeds or a range\n"
            "    give speeds = [120, 220, 400], or min and max\n",
        ),
        (
            "[mill]\nspindle = { speeds = [] }\n",
            "shop.toml:2: stop: [mill]: spindle.speeds: [] is no list of speeds\n"
            "    give rev/min: [120, 220, 400]\n",
        ),
        (
            "[readout]\nresolution = 5\nreversed = ['w']\n",
            "shop.toml:2: stop: [readout]: resolution: 5 is no readout's count\n"
            '    give 0.005 or "0.0002 in"\n'
            "shop.toml:3: stop: [readout]: reversed: ['w'] is no list of axes\n"
            '    give ["y"], ["x", "y"] or []\n',
        ),
        (
            "[dials]\nz = { lead = 2 }\n",
            "shop.toml:2: stop: [dials]: z: lead and divisions are both needed\n"
            "    measure the travel of one turn, and count the divisions\n",
        ),
        (
            "[drawer]\ndrills = [{ from = 1, to = 10 }, { from = 5, to = 2, step = 1 }]\n",
            "shop.toml:2: stop: [drawer]: drills: entry 1 is a range without a step\n"
            "    write { from = 1, to = 10, step = 0.1 }\n"
            "shop.toml:2: stop: [drawer]: drills: entry 2 is a range that runs downwards\n"
            "    give the smaller size as from\n",
        ),
        (
            '[drawer]\ntaps = ["M3", { thread = "M4", lead = "blunt" }]\n',
            'shop.toml:2: stop: [drawer]: taps.lead: "blunt" is no tap\'s lead\n'
            "    give taper, second, bottoming, or a number of threads\n",
        ),
        (
            "[control]\noffsets = { G60 = [0, 0, 0] }\ncycles = ['G99']\nstrict = 1\n",
            'shop.toml:2: stop: [control]: offsets: "G60" is no work offset\n'
            "    accepted: G54, G55, G56, G57, G58, G59\n"
            "shop.toml:3: stop: [control]: cycles: ['G99'] is no list of cycles\n"
            "    give true, false, or a list of G73, G74, G76, G81, G82, G83, G84, G85, G86, G87, "
            "G88, G89\n"
            "shop.toml:4: stop: [control]: strict: 1 is given\n"
            "    give true or false\n",
        ),
        (
            "[control]\ntapping = 'by magic'\ntap_speed = 0\n",
            'shop.toml:2: stop: [control]: tapping: "by magic" is not one of them\n'
            "    accepted: floating, rigid, reversing head, by hand at the hole, none\n"
            "shop.toml:3: stop: [control]: tap_speed: 0 is not above 0\n"
            "    give a number above 0\n",
        ),
        (
            "[control]\nchange_goes_up = 'up'\nzero_in_stop = 'perhaps'\n",
            'shop.toml:2: stop: [control]: change_goes_up: "up" is given\n'
            "    give true or false\n"
            'shop.toml:3: stop: [control]: zero_in_stop: "perhaps" is not one of them\n'
            "    accepted: true, false, ask\n",
        ),
        (
            "[[tool]]\nnumber = 1\nkind = 'tap'\ndiameter = 6\n"
            "[[tool]]\nnumber = 1\nkind = 'drill'\n[[tool]]\nnumber = 2\nkind = 'dril'\n",
            'shop.toml:10: stop: tool 3: kind: "dril" is not one of them\n'
            '    did you mean "drill"? accepted: spot drill, drill, reamer, tap, countersink, '
            "counterbore, end mill, boring head\n",
        ),
        (
            "[[tool]]\nnumber = 1\nkind = 'tap'\ndiameter = 6\n"
            "[[tool]]\nnumber = 1\nkind = 'drill'\n[[tool]]\nnumber = 2\nkind = 'drill'\n",
            "shop.toml:1: stop: tool 1: a tap has a thread and no diameter\n"
            '    give thread = "M6"\n'
            "shop.toml:6: stop: tool 2: tool number 1 is taken\n"
            "    give each tool its own number\n"
            "shop.toml:8: stop: tool 3: its diameter is missing\n"
            '    give diameter = "5 mm"\n',
        ),
        (
            '[[tool]]\nnumber = 1\nkind = "end mill"\ndiameter = 8\npoint_angle = 90\n',
            "shop.toml:1: stop: tool 1: an end mill with a point_angle\n"
            "    it has none: leave point_angle out\n",
        ),
        (
            "[drawer]\nreamers = [{ diameter = 6, tip_flat = 0.2 }]\n",
            "shop.toml:2: stop: [drawer]: reamers: entry 1 is a reamer with a tip_flat\n"
            "    it has none: leave tip_flat out\n",
        ),
        (
            "[tool]\nnumber = 1\n",
            "shop.toml:1: stop: [tool]: one tool in single brackets\n"
            "    write [[tool]], in double brackets, above each\n",
        ),
    ],
)
def test_faults_are_said(said_of, text, said):
    assert said_of(text) == said


def test_a_shop_that_is_not_there_names_the_packaged_ones():
    with pytest.raises(MillprepError) as caught:
        read_shop("metrik")
    (finding,) = caught.value.findings
    assert finding.message == "the file does not exist"
    assert finding.remedy == 'packaged shops: "metric" and "inch"; did you mean "metric"?'


def test_changes_of_tool_and_the_time_of_the_spindle(shop_of):
    plain = shop_of('units = "mm"')
    assert plain.mill.change_height_mm is plain.mill.change_place_mm is None
    assert plain.control.spindle_up_s == 3.0
    assert not plain.control.is_home_known
    given = shop_of(
        'units = "inch"\n[mill]\nchange_height = 2\nchange_place = [-1, "30 mm"]\n'
        "[control]\nspindle_up = 1.5\nhome = [0, 0, -1]\n"
    )
    assert given.mill.change_height_mm == pytest.approx(50.8)
    assert given.mill.change_place_mm == pytest.approx((-25.4, 30))
    assert given.control.spindle_up_s == 1.5
    assert (given.control.is_home_known, given.control.home_mm) == (True, (0, 0, -25.4))
    unsaid = shop_of('[mill]\nchange_place = "over the work"\n[control]\nhome = "unknown"\n')
    assert unsaid.mill.change_place_mm is None
    assert not unsaid.control.is_home_known


def test_what_turns_the_work(shop_of, said_of):
    """The plates' circles are ascending and each once; every fault of the table is told."""
    given = "[[dividing]]\nname = 'head'\nratio = 40\nplates = [[20, 15, 15], [21]]\n"
    (head,) = shop_of(given + "centre_height = 75\nchuck = { diameter = 80 }\n").dividing
    assert (head.plates, head.circles) == (((15, 20), (21,)), [15, 20, 21])
    assert (head.kind, head.centre_height_mm, head.chuck.diameter_mm) == ("rotary table", 75, 80)
    assert "in double brackets" in said_of("[dividing]\nname = 'head'\nratio = 40\n")
    for wrong, said in (
        ("plates = [15, 16]", "no list of plates"),
        ("plates = [[1]]", "no list of plates"),
        ("backlash = 7", "backlash"),
        ("kind = 'jig'", "kind"),
    ):
        assert said in said_of(f"[[dividing]]\nname = 'head'\nratio = 40\n{wrong}\n")


def test_a_drawer_is_read_by_its_older_name_too(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    drills = "\ndrills = [5, 6]\n"
    shops = []
    for header in ("[drawer]", "[cabinet]"):
        path.write_text(header + drills)
        shops.append(read_shop(str(path)).cabinet)
    assert shops[0] == shops[1]
    assert [tool.diameter_mm for tool in shops[0].drills] == [5, 6]
    path.write_text("name = 'x'\n[cabinet]\ndrills = [0]\n")
    with pytest.raises(MillprepError, match=r"shop\.toml:3: stop: .*drawer"):
        read_shop(str(path))


def test_a_drawer_by_both_names_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text("[drawer]\ndrills = [5]\n[cabinet]\nreamers = [6]\n")
    with pytest.raises(MillprepError, match=r":3: stop: \[cabinet\]: \[drawer\] is given too"):
        read_shop(str(path))


def test_a_plug_tap_can_be_read_two_ways(said_of) -> None:
    said = said_of('[drawer]\ntaps = [{ thread = "M5", lead = "plug" }]\n')
    assert 'write "second" for 4 threads, or "bottoming" for 2' in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[control]\nunits = "cm"\n', '"cm" is not one of them'),
        ('[control]\ncodes = ["G0", "X"]\n', '"X" is no code of a program'),
        ("[control]\nm_codes = 5\n", "5 is no table of M codes"),
        ('[control]\nm_codes = { G31 = "air" }\n', '"G31" = "air" does not say what it is'),
        ('[control]\nm_codes = { M3 = "air" }\n', "M3 has a meaning of its own"),
        ("[control]\noffsets = [1, 2, 3]\n", "[1, 2, 3] is no table of offsets"),
        ("[control]\nprogram_number = 0\n", "0 is no number of a program"),
        ("[control]\nprogram_number = true\n", "true is no number of a program"),
        ("[control]\ndecimals = { mm = 1 }\n", "1 is no number of decimals"),
        ("[mill]\nspindle = { speeds = [0, 100] }\n", "[0, 100] holds a speed out of range"),
        ("[mill]\nspindle = { min = 100, max = 100 }\n", "spindle: min is not below max"),
        ('[mill]\nchange_place = "here"\n', '"here" is no position for a change'),
        ('[vice]\njaws = ["vee"]\n', "is no list of the jaws of a vice"),
        ("[parallels]\nthickness = 4\nheights = 10\n", "10 is no list of heights"),
        ("[parallels]\nthickness = 4\nheights = [0, 10]\n", "holds a height that is none"),
        ("[table]\nsize = [500, 0]\n", "[500, 0] holds a length that is none"),
        ("[table]\nsize = [500]\n", "[500] is no size of a table"),
        ("[drawer]\nboring_head = { from = 60, to = 10 }\n", "the least and the largest bore"),
        ("[drawer]\ndrills = [{ flute = 40 }]\n", "entry 1 is neither one size nor a range"),
        ('[[tool]]\nnumber = 1\nkind = "drill"\nthread = "M4"\n', "a drill has no thread"),
    ],
)
def test_what_no_shop_has(said_of, text, said):
    assert said in said_of(text)


def test_a_boring_head_without_a_size_and_a_lead_in_words(shop_of):
    text = '[[tool]]\nnumber = 1\nkind = "boring head"\n[[tool]]\nnumber = 2\nkind = "reamer"\n'
    tools = shop_of(text + 'diameter = 6\nlead = "1.5 mm"\n[control]\nprogram_number = false\n')
    assert tools.control.program_number is None
    assert [tool.diameter_mm for tool in tools.tools] == [None, 6]
    assert tools.tools[1].lead_mm == 1.5
