"""The command `inspect`: sheet and verdicts in each format, faults by line, results added to."""

import csv
import io
import math
import os
import re
import sys
import threading
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jobs import Ran, millprep, part_text

from millprep.base.findings import MillprepError
from millprep.base.record import add_rows
from millprep.infiles.readings_file import LIST_NEEDED, LIST_OPTIONAL, SHEET_NEEDED, SHEET_OPTIONAL
from millprep.sheets.inspection import SHEET_COLUMNS
from millprep.sheets.verdict import VERDICT_COLUMNS

HOLES = """
[[hole]]
name = "pivot"
ream = 6
limits = [0, 0.2]
position = 0.2
at = [30, 20]
depth = "through"
[[hole]]
name = "cover"
clear = "M4"
at = [[10, 10], [50, 10], [50, 30], [10, 30]]
depth = "through"
[[hole]]
name = "left"
face = "left"
tap = "M5"
at = [20, 10]
depth = 8
"""
GOOD = "hole,x,y,diameter\npivot,30.02,20,6.1\ncover 1,10,10,\ncover 2,50.03,10,\n"


@pytest.fixture
def part(in_folder: Path) -> Path:
    path = in_folder / "plate.toml"
    path.write_text(part_text(HOLES, more="general_tolerance = 0.1"))
    return path


def saved(part: Path, text: str, name: str = "m.csv") -> Path:
    path = part.with_name(name)
    path.write_text(text)
    return path


def inspected(part: Path, text: str, *more: object) -> Ran:
    return millprep("inspect", part, saved(part, text), "--date", "2026-05-14", *more)


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def filled(part: Path, *more: str) -> list[dict[str, str]]:
    """The sheet of a part as CSV, filled in as expected."""
    rows = rows_of(millprep("inspect", part, "--format", "csv", *more).out)
    for row in rows:
        row["reading"] = row["expected"] or ("no" if "no-go" in row["what"] else "yes")
    return rows


def as_csv(rows: list[dict[str, str]], separator: str = ",") -> str:
    stream = io.StringIO()
    writer = csv.DictWriter(stream, rows[0], delimiter=separator, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()


RESULTS = "plate-measured.csv"


# the sheet


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_sheet_fits_the_paper_and_names_everything(part: Path, units: str) -> None:
    ran = millprep("inspect", part, "--units", units)
    assert ran.status == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    for words in (
        "TOP (setup 1)",
        "LEFT (setup 2)",
        "over pins 4.5 mm, 4.5 mm: cover 3 and cover 1",
        "between pins",
        "thread go: M5 goes 10.0 turns",
        "deburr",
        "the same temperature",
        "piece ____",
    ):
        assert words in ran.out
    numbers = [row["check"] for row in rows_of(millprep("inspect", part, "--format", "csv").out)]
    assert all(f" {number} " in ran.out for number in numbers)
    assert not list(part.parent.glob("*measured*"))


def test_the_figures_are_the_same_on_every_form(part: Path) -> None:
    data = millprep("inspect", part, "--format", "json").json
    rows = rows_of(millprep("inspect", part, "--format", "csv").out)
    page = millprep("inspect", part, "--format", "html").out
    assert [str(each["check"]) for each in data["checks"]] == [row["check"] for row in rows]
    for each, row in zip(data["checks"], rows, strict=True):
        if each["expected_mm"] is None:
            assert row["expected"] == ""
            continue
        assert float(row["expected"]) == pytest.approx(each["expected_mm"], abs=5e-5)
        assert each["least_mm"] <= each["least"] <= each["greatest"] <= each["greatest_mm"] + 1e-9
        assert each["expected"] == pytest.approx(each["expected_mm"], abs=0.005)
        assert f"{each['least']:.2f}" in page
    assert "http" not in page.replace("http-equiv", "")


def test_numbers_follow_the_sheet(part: Path) -> None:
    """Who types the filled-in sheet does not look for the rows."""
    numbers = []
    for line in millprep("inspect", part).out.splitlines():
        if line.startswith("[ ]"):
            numbers.append(int(line[3:7]))
        elif "[ ]" in line or (line.endswith("____") and not line.startswith("piece")):
            numbers += [int(words) for words in re.findall(r"  (\d+) [a-z]", line)]
    rows = rows_of(millprep("inspect", part, "--format", "csv").out)
    assert numbers == [int(row["check"]) for row in rows]


def test_a_face_with_nothing_to_measure_is_left_out(in_folder: Path) -> None:
    path = in_folder / "a.toml"
    text = '[[hole]]\ndrill = 5\nat = [9, 9]\ndepth = 5\n[[setup]]\nface = "top"\n'
    path.write_text(part_text(text + '[[setup]]\nface = "bottom"\n'))
    ran = millprep("inspect", path)
    assert ran.status == 0, ran.err
    assert "TOP (setup 1)" in ran.out
    assert "BOTTOM" not in ran.out


def test_one_setup(part: Path) -> None:
    rows = rows_of(millprep("inspect", part, "--setup", 2, "--format", "csv").out)
    assert {row["hole"] for row in rows} == {"left"}
    assert millprep("inspect", part, "--setup", 3).status == 2


def test_a_part_that_check_would_stop_is_inspected_all_the_same(in_folder: Path) -> None:
    path = in_folder / "edge.toml"
    path.write_text(part_text("[[hole]]\ndrill = 6\nat = [2, 20]\ndepth = 5\n"))
    assert millprep("check", path).status == 1
    assert millprep("inspect", path).status == 0


def test_sheet_and_reader_know_the_same_columns() -> None:
    assert set(SHEET_COLUMNS) <= {*SHEET_NEEDED, *SHEET_OPTIONAL}
    assert not {"x", "y"} & {*SHEET_COLUMNS, *LIST_NEEDED, *LIST_OPTIONAL}


# filled in


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("separator", [",", ";"])
def test_a_sheet_filled_in_as_expected_is_all_in(part: Path, units: str, separator: str) -> None:
    rows = filled(part, "--units", units)
    ran = inspected(part, as_csv(rows, separator), "--format", "json")
    assert ran.status == 0, ran.err
    data = ran.json
    assert data["findings"] == []
    assert {one["verdict"] for one in data["holes"]} == {"in"}
    assert all(one["true_position_mm"] < 1e-3 for one in data["holes"])
    assert len(data["readings"]) == len(rows)


def test_a_spreadsheet_with_decimal_commas(part: Path) -> None:
    """Semicolons, commas in the figures, a byte order mark, and lines ended as elsewhere."""
    rows = filled(part)
    for row in rows:
        for column in ("reading", "pin", "to_pin", "expected", "least", "greatest"):
            row[column] = row[column].replace(".", ",")
        if row["what"] == "thread no-go":
            row["reading"] = "1,5 turns"
    text = "\ufeff" + as_csv(rows, ";").replace("\n", "\r\n") + ";;;\r\n"
    ran = inspected(part, text, "--format", "json")
    assert ran.status == 0, ran.err
    assert {one["verdict"] for one in ran.json["holes"]} == {"in"}


def test_rows_left_empty_are_not_measured(part: Path) -> None:
    rows = filled(part)
    for row in rows:
        if row["hole"] != "pivot":
            row["reading"] = ""
    data = inspected(part, as_csv(rows), "--format", "json").json
    verdicts = {one["hole"]: one["verdict"] for one in data["holes"]}
    assert verdicts == {"pivot": "in"} | dict.fromkeys(
        ("cover 1", "cover 2", "cover 3", "cover 4", "left"), "not measured"
    )
    assert [row["hole"] for row in rows_of(part.with_name(RESULTS).read_text())] == ["pivot"]


def test_nothing_filled_in_keeps_nothing(part: Path) -> None:
    sheet = millprep("inspect", part, "--format", "csv").out
    ran = inspected(part, sheet)
    assert ran.status == 2
    assert "m.csv: stop: no reading is given" in ran.err
    assert not part.with_name(RESULTS).exists()


def test_a_reading_out_is_a_stop(part: Path) -> None:
    rows = filled(part)
    edge = next(r for r in rows if r["hole"] == "pivot" and r["to"] == "LEFT")
    edge["reading"] = str(float(edge["expected"]) + 0.2)
    ran = inspected(part, as_csv(rows))
    assert ran.status == 1
    message = "stop: pivot: true position 0.400 mm (X +0.200 mm, Y +0.000 mm); the drawing allows"
    assert message in ran.err
    assert "OUT" in ran.out


def test_a_sheet_of_another_version(part: Path) -> None:
    text = as_csv(filled(part))
    part.write_text(part.read_text() + "\n# changed\n")
    ran = inspected(part, text)
    assert ran.status == 0
    assert "warning: the sheet was written from part mark" in ran.err


def test_a_short_list(part: Path) -> None:
    """20 and 40 across: 44.721 between the corners (Pythagoras), 4.5 for the pins."""
    ran = inspected(
        part,
        "from,to,how,reading\ncover 1,cover 3,over,49.22\npivot,LEFT,edge,33.0\n",
        "--format",
        "json",
    )
    assert ran.status == 0, ran.err
    over, edge = ran.json["readings"]
    assert (over["what"], over["verdict"], over["line"]) == ("over pins", "in", 2)
    assert over["least_mm"] == pytest.approx(
        math.hypot(40, 20) + 4.5 - 2 * 0.1 * 60 / math.hypot(40, 20)
    )
    assert edge["least_mm"] == pytest.approx(32.9)
    assert {h["hole"]: h["verdict"] for h in ran.json["holes"]}["pivot"] == "not decidable"


@pytest.mark.parametrize(
    "text",
    [
        "from\tto\thow\treading\ncover 1\tcover 3\tover\t49.22\n",
        "# from the bench\n\nfrom,to,how,reading\ncover 1,cover 3,over,49.22\n",
        "From;To;How;Reading\r\nCover 1;COVER 3;Over;49,22",
        '\ufeff"from","to","how","reading"\n"cover 1","cover 3","over","49.22"\n',
        "# from the bench\nwhat\thole\tto\treading\nover pins\tcover 3\tcover 1\t49.22\n",
    ],
)
def test_a_list_is_known_by_its_columns(part: Path, text: str) -> None:
    ran = inspected(part, text, "--format", "json")
    assert ran.status == 0, ran.err
    (one,) = ran.json["readings"]
    assert (one["what"], one["reading_mm"]) == ("over pins", pytest.approx(49.22))


def test_a_list_may_go_from_an_edge_to_a_hole(part: Path) -> None:
    ran = inspected(part, "from,to,how,reading\nLEFT,pivot,edge,33.0\n", "--format", "json")
    assert ran.status == 0, ran.err
    assert [(r["hole"], r["to"]) for r in ran.json["readings"]] == [("pivot", "LEFT")]


# by position


def test_places(part: Path) -> None:
    ran = inspected(part, GOOD, "--format", "json")
    assert ran.status == 0
    by_name = {one["hole"]: one for one in ran.json["holes"]}
    pivot = by_name["pivot"]
    assert (pivot["verdict"], pivot["place_verdict"], pivot["size_verdict"]) == ("in",) * 3
    assert (pivot["true_position_mm"], pivot["allowed_mm"], pivot["zone"]) == (
        0.04,
        0.2,
        "diameter",
    )
    assert (by_name["cover 2"]["dx_mm"], by_name["cover 2"]["zone"]) == (0.03, "plus and minus")
    assert by_name["cover 3"]["verdict"] == "not measured"
    notes = [f["message"] for f in ran.json["findings"]]
    assert "place not measured: cover 3, cover 4, left" in notes


def test_what_was_not_measured_is_no_nought(in_folder: Path) -> None:
    """One axis alone, beyond what is usual at 30 from the datum: plus and minus 0.2."""
    path = in_folder / "plate.toml"
    path.write_text(
        part_text('[[hole]]\nname = "a"\ndrill = 5\nat = [30, 20]\ndepth = "through"\n')
    )
    ran = inspected(path, "hole,x,y\na,30.5,\n")
    assert "a: off by X +0.500 mm, Y not measured; the drawing gives no tolerance" in ran.err


def test_out_along_one_axis_is_told_by_how_much(part: Path) -> None:
    """A circle of 0.2 across, 0.15 off along X alone: 0.05 beyond its edge; with the bonus of a
    hole 0.06 above its least size less 0.02, the edge is 0.02 farther."""
    ran = inspected(part, "hole,x,y,diameter\npivot,30.15,,6.06\n")
    assert (
        "pivot: off by X +0.150 mm; the drawing allows +/- 0.100 mm: 0.050 mm too much" in ran.err
    )
    more = inspected(part, "hole,x,y,diameter\npivot,30.15,,6.06\n", "--mmc")
    assert re.search(r"the drawing allows \+/- 0\.1[12]\d mm: 0\.0[23]\d mm too much", more.err)


def test_an_inch_part_reads_inches(in_folder: Path) -> None:
    path = in_folder / "plate.toml"
    path.write_text(
        part_text(
            '[[hole]]\nname = "a"\nream = "1/4"\nposition = 0.008\nat = [1, 0.5]\ndepth = 0.5\n',
            "size = [2, 1, 0.75]",
            units="inch",
        )
    )
    ran = inspected(path, "hole,x,y\na,1.001,0.5\n", "--format", "json")
    (one,) = ran.json["holes"]
    assert one["true_position_mm"] == pytest.approx(0.0508)  # 0.002 in
    assert one["verdict"] == "in"


def test_maximum_material_is_asked_for(part: Path) -> None:
    text = "hole,x,y,diameter\npivot,30.12,20,6.15\n"
    assert inspected(part, text).status == 1
    ran = inspected(part, text, "--mmc", "--format", "json")
    assert (ran.status, ran.json["holes"][0]["bonus_mm"]) == (0, pytest.approx(0.13))


def test_long_names_stay_on_the_paper(in_folder: Path) -> None:
    path = in_folder / "plate.toml"
    name = "a screw of the cover with a long name ok"
    assert len(name) == 40
    text = part_text(HOLES.replace('"cover"', f'"{name[:38]}"').replace('"left"', f'"{name}"', 1))
    path.write_text(text)
    rows = filled(path)
    for ran in (millprep("inspect", path), inspected(path, as_csv(rows))):
        assert ran.status == 0, ran.err
        assert max(map(len, ran.out.splitlines())) <= 80


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    st.lists(
        st.lists(
            st.sampled_from(
                [
                    "over pins",
                    "edge to pin",
                    "go",
                    "thread no-go",
                    "size",
                    "pivot",
                    "cover 1",
                    "left",
                    "LEFT",
                    "cover 3",
                    "49.2",
                    "1e9",
                    "-3",
                    "nan",
                    "yes",
                    "",
                    '"',
                    "1/2 in",
                    "0",
                    "7,5",
                    "3 turns",
                    "mm",
                    "inch",
                    "thread go",
                    "opened",
                    "over",
                ]
            ),
            min_size=3,
            max_size=6,
        ),
        max_size=6,
    ),
    st.sampled_from(
        [
            "what,hole,to,reading",
            "from,to,reading",
            "from,to,how,reading",
            "what;hole;to;reading;unit",
            "hole,x,y",
            "hole,x,y,diameter,unit",
            "what,hole,to,reading,pin,to_pin",
        ]
    ),
)
def test_no_table_shows_a_traceback(part: Path, lines: list[list[str]], header: str) -> None:
    separator = ";" if ";" in header else ","
    text = "\n".join([header, *(separator.join(cells) for cells in lines)])
    ran = inspected(part, text, "--no-keep", "--format", "json")
    assert ran.status in (0, 1, 2)
    assert "findings" in ran.json


# files that cannot be read: nothing is judged, nothing lost

FAULTY = {
    "unknown hole": ("hole,x,y\npivto,30,20\n", 2, "no hole"),
    "twice": ("hole,x,y\npivot,30,20\ncover 1,10,10\npivot,30,20\n", 4, "second time"),
    "text": ("hole,x,y\npivot,thirty,20\n", 2, "not a length"),
    "unit": ("hole,x,y\npivot,1.181,0.787\ncover 1,10,10\ncover 2,50,10\n", 2, "inch"),
    "columns": ("hole,x\npivot,30\n", 1, "lacks"),
    "fields": ("hole,x,y\npivot,30,20,6,7\n", 2, "columns"),
    "reading text": ("from,to,reading\ncover 1,cover 3,wide\n", 2, "not a length"),
    "reading unit": ("from,to,reading\ncover 1,cover 3,1.938\n", 2, "inch"),
    "reading twice": (
        "from,to,reading\ncover 1,cover 3,49.2\ncover 3,cover 1,49.2\n", 3, "second time"),
    "reading hole": ("from,to,reading\ncover 1,cover 9,49.2\n", 2, "no hole"),
    "reading face": ("from,to,how,reading\ncover 1,lift,edge,12\n", 2, "no face"),
    "reading how": ("from,to,how,reading\ncover 1,cover 3,under,12\n", 2, "no kind"),
    "reading pair": ("from,to,reading\ncover 1,left,12\n", 2, "no such reading"),
    "pin": ("from,to,reading,pin\ncover 1,cover 3,49.2,thin\n", 2, "not a length"),
    "answer": ("what,hole,to,reading\nthread go,left,,perhaps\n", 2, "no answer"),
    "yes or no": ("what,hole,to,reading\ngo,cover 1,,4.5\n", 2, "write yes or no\n"),
    "one pin of two": (
        "from,to,reading,pin,to_pin\ncover 1,cover 3,49.2,4.4,\n", 2, "one pin of two"),
    "two pins of one": (
        "from,to,how,reading,pin,to_pin\npivot,left,edge,33,6,6\n", 2, "has one pin"),
    "pin in inch": (
        "from,to,how,reading,pin\npivot,left,edge,33,0.236\n", 2, "no pin of 0.236 mm"),
    "decimal point": ("from,to,how,reading\npivot,left,edge,330\n", 2, "off the part"),
    "nothing read": ("from,to,how,reading\npivot,left,edge,0\n", 2, "off the part"),
    "reading misspelt": ("from,to,how,readng\npivot,left,edge,33\n", 1, 'mean "reading"?'),
    "neither": ("a,b,c\n1,2,3\n", 1, "should be hole,x,y"),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTY)
def test_faults_have_their_line_and_touch_nothing(part: Path, name: str) -> None:
    inspected(part, GOOD)
    before = part.with_name(RESULTS).read_bytes()
    text, line, words = FAULTY[name]
    ran = inspected(part, text)
    assert ran.status == 2, ran.out
    assert f"m.csv:{line}: stop: " in ran.err
    assert words in ran.err
    assert "Traceback" not in ran.err
    assert ran.out == ""
    assert part.with_name(RESULTS).read_bytes() == before


def test_all_faults_are_told_at_once(part: Path) -> None:
    text = "from,to,reading\ncover 1,cover 9,1\nnobody,cover 1,x\ncover 1,cover 2,-\n"
    ran = inspected(part, text)
    assert ran.err.count("stop: ") == 4


@pytest.mark.parametrize("content", [b"", b"\xff\xfe,reading\n", b"reading\0", b"\n\n", b'"'])
def test_what_is_no_table(part: Path, content: bytes) -> None:
    part.with_name("m.csv").write_bytes(content)
    assert millprep("inspect", part, part.with_name("m.csv")).status == 2
    assert millprep("inspect", part, part.with_name("none.csv")).status == 2
    assert millprep("inspect", part, part.parent).status == 2


# results


def test_results_are_added_and_never_rewritten(part: Path) -> None:
    inspected(part, GOOD)
    first = part.with_name(RESULTS).read_bytes()
    ran = inspected(part, GOOD, "--piece", "2 of 4")
    second = part.with_name(RESULTS).read_bytes()
    assert second.startswith(first)
    assert f"{RESULTS}: 3 rows added" in ran.err
    rows = rows_of(second.decode())
    assert [row["piece"] for row in rows] == ["1"] * 3 + ["2 of 4"] * 3
    assert tuple(rows[0]) == VERDICT_COLUMNS
    assert rows[0] | {"part_mark": ""} == {
        "part_mark": "",
        "piece": "1",
        "date": "2026-05-14",
        "setup": "1",
        "face": "top",
        "hole": "pivot",
        "unit": "mm",
        "dx": "0.020",
        "dy": "0.000",
        "true_position": "0.040",
        "zone": "diameter",
        "allowed": "0.200",
        "size": "6.100",
        "place_verdict": "in",
        "size_verdict": "in",
        "thread_verdict": "not measured",
        "verdict": "in",
    }


def test_where_results_are_kept(part: Path) -> None:
    inspected(part, GOOD, "--no-keep")
    inspected(part, GOOD, "--keep", part.with_name("mine.csv"))
    assert not part.with_name(RESULTS).exists()
    assert len(part.with_name("mine.csv").read_text().splitlines()) == 4
    assert inspected(part, GOOD, "--keep", "a.csv", "--no-keep").status == 2


def test_a_file_with_other_columns_is_left_alone(part: Path) -> None:
    other = part.with_name(RESULTS)
    other.write_text("my,own,notes\n1,2,3\n")
    ran = inspected(part, GOOD)
    assert ran.status == 1
    assert "stop: the results were not kept: it has other columns" in ran.err
    assert "pivot" in ran.out
    assert other.read_text() == "my,own,notes\n1,2,3\n"


def test_a_refused_output_keeps_no_results(part: Path) -> None:
    part.with_name("out.txt").write_text("mine")
    ran = inspected(part, GOOD, "-o", part.with_name("out.txt"))
    assert ran.status == 2
    assert not part.with_name(RESULTS).exists()
    assert part.with_name("out.txt").read_text() == "mine"


def test_bad_words_of_options(part: Path) -> None:
    for more in (["--date", "14 May"], ["--piece", ""], ["--format", "dxf"], ["--units", "cm"]):
        ran = millprep("inspect", part, saved(part, GOOD), *more)
        assert ran.status == 2, more
        assert not part.with_name(RESULTS).exists()


def test_a_last_line_without_end_stays_a_line_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_bytes(b"\xef\xbb\xbfa,b\r\n1,2")
    assert add_rows(path, ("a", "b"), [(3, "x, y")]) == 1
    assert path.read_bytes() == b'\xef\xbb\xbfa,b\r\n1,2\n3,"x, y"\n'
    empty = tmp_path / "empty.csv"
    empty.touch()
    add_rows(empty, ("a", "b"), [(3, 4)])
    assert empty.read_text() == "a,b\n3,4\n"


def test_what_cannot_be_added_to(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path, tmp_path / "pipe", tmp_path / "none" / "r.csv"):
        with pytest.raises(MillprepError):
            add_rows(path, ("a",), [(1,)])


def test_two_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"

    def add(number: int) -> None:
        for count in range(20):
            add_rows(path, ("who", "count"), [(number, count), (number, count)])

    threads = [threading.Thread(target=add, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    header, *rows = path.read_text().splitlines()
    assert header == "who,count"
    assert sorted(rows) == sorted(f"{n},{c}" for n in range(4) for c in range(20) for _ in "12")


def test_one_of_two_that_begin_a_file_writes_its_header(tmp_path: Path) -> None:
    for turn in range(25):
        path, gate = tmp_path / f"{turn}.csv", threading.Barrier(4)

        def add(path: Path = path, gate: threading.Barrier = gate) -> None:
            gate.wait()
            add_rows(path, ("a", "b"), [(1, 2)])

        threads = [threading.Thread(target=add) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert path.read_text() == "a,b\n" + 4 * "1,2\n"


def test_a_full_disk_leaves_whole_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "r.csv"
    add_rows(path, ("a", "b"), [(1, 2)])
    before, write = path.read_bytes(), os.write
    monkeypatch.setattr(
        "millprep.base.record.os.write", lambda handle, data: write(handle, data[:3])
    )
    with pytest.raises(MillprepError, match="No space"):
        add_rows(path, ("a", "b"), [(3, 4)])
    assert path.read_bytes() == before


def test_rows_are_added_where_the_system_reads_from_the_place_of_the_file_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There is no `pread` on Windows, nor a lock of `fcntl`."""
    monkeypatch.delattr("os.pread")
    monkeypatch.setitem(sys.modules, "fcntl", None)
    path = tmp_path / "r.csv"
    path.write_bytes(b"a,b\n1,2")
    add_rows(path, ("a", "b"), [(3, 4)])
    assert path.read_bytes() == b"a,b\n1,2\n3,4\n"
