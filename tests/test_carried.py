"""What a control keeps from one program to the next, and lines that a switch leaves out."""

from __future__ import annotations

import pytest
from jobs import millprep

from millprep.base.records import replace
from millprep.model.shop import Control
from millprep.model.tools import EndMill, Tool
from millprep.reading.gcode import read_program
from millprep.reading.moves import ProgramRun

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"
LISTED = Control(offsets_mm={"G54": (100.0, 50.0, -150.0)})
LONG = EndMill("6 mm", 6.0, number=3, length_mm=70.0)


def after(*texts: str, control: Control = LISTED, tools: tuple[Tool, ...] = ()) -> list[ProgramRun]:
    """The programs, one after another."""
    runs: list[ProgramRun] = []
    for number, text in enumerate(texts):
        runs.append(
            read_program(
                text.encode(),
                control,
                file=f"{number}.nc",
                tools=tools,
                carried=runs[-1].leaves if runs else None,
            )
        )
    return runs


def found(run: ProgramRun, kind: str) -> list[str]:
    return [finding.message for finding in run.findings if finding.kind == kind]


@pytest.mark.parametrize(
    ("keeps", "code", "shift", "words"),
    [
        (
            {"G10"},
            "G10 L2 P1 Z-160.",
            -10.0,
            ["the origin of G54 is at machine X100.000 Y50.000 Z-160.000 (G10), as 0.nc left it"],
        ),
        (set(), "G10 L2 P1 Z-160.", 0.0, []),
        ({"G10"}, "G52 Z-3.", 0.0, []),
        (
            {"G52"},
            "G52 Z-3.",
            -3.0,
            ["all work systems are shifted by X0.000 Y0.000 Z-3.000 (G52), as 0.nc left it"],
        ),
        ({"G10"}, "G92 Z10.", 0.0, []),
        (
            {"G92"},
            "G92 Z152.",
            -2.0,
            ["all work systems are shifted by X0.000 Y0.000 Z-2.000 (G92), as 0.nc left it"],
        ),
    ],
)
def test_what_is_kept(keeps: set[str], code: str, shift: float, words: list[str]) -> None:
    """The machine stands at 0, 0, 0 before the first line: it reads Z150 in G54."""
    control = replace(LISTED, keeps=frozenset(keeps))
    _, run = after(f"{HEAD}{code}\nM30\n", HEAD + "G0 X1. Z5.\nM30\n", control=control)
    assert run.moves.shift[2].tolist() == [shift]
    assert run.moves.machine_end[2].tolist() == [-150.0 + shift + 5.0]
    assert found(run, "carried-over") == words


def test_an_origin_put_back_is_nothing_to_say() -> None:
    low, back = HEAD + "G10 L2 P1 Z-160.\nM30\n", HEAD + "G10 L2 P1 Z-150.\nG0 Z5.\nM30\n"
    first, second = after(low, back)
    assert len(found(first, "work-offset-changed")) == 1
    assert found(second, "work-offset-changed") == []
    assert second.moves.shift[2].tolist() == [0.0]


def test_a_program_that_only_places_the_stock_places_it_for_the_next() -> None:
    place = HEAD + "G10 L2 P1 X10. Y20. Z-90.\nM30\n"
    _, run = after(place, HEAD + "G0 X1. Y2. Z5.\nM30\n", control=Control())
    assert run.moves.shift.T.tolist() == [[0.0, 0.0, 0.0]]
    assert run.moves.machine_end.T.tolist() == [[11.0, 22.0, -85.0]]


def test_once_anything_has_moved_the_stock_stays() -> None:
    one = HEAD + "G10 L2 P1 Z-90.\nG0 Z5.\nM30\n"
    other = one.replace("-90.", "-95.")
    first, second = after(one, other, control=Control())
    assert found(first, "work-offset-changed") == []
    assert len(found(second, "work-offset-changed")) == 1
    assert second.moves.shift[2].tolist() == [-5.0]


def test_the_tool_stays_in_the_spindle() -> None:
    first = HEAD + "T3 M6\nG43 H3\nG0 Z50.\n{}M30\n"
    _, with_offset = after(
        first.format(""), HEAD[:-1].replace("G49 ", "") + "\nG0 Z20.\nM30\n", tools=(LONG,)
    )
    assert with_offset.moves.tool.tolist() == [3]
    assert with_offset.moves.shift[2].tolist() == [0.0]
    assert found(with_offset, "carried-over") == [
        "T3 is in the spindle when the program begins, as 0.nc left it"
    ]
    _, without = after(first.format("G49\n"), HEAD + "G0 Z20.\nM30\n", tools=(LONG,))
    assert without.moves.shift[2].tolist() == [-70.0]
    assert len(found(without, "no-length-offset")) == 1
    _, changed = after(first.format(""), HEAD + "T4 M6\nG43 H4 G0 Z20.\nM30\n", tools=(LONG,))
    assert found(changed, "carried-over") == []


def test_where_each_file_is_for_one_tool_it_does_not() -> None:
    control = replace(LISTED, tool_change="files")
    _, run = after(HEAD + "T3\nG43 H3\nG0 Z50.\nM30\n", HEAD + "G0 Z20.\nM30\n", control=control)
    assert run.moves.tool.tolist() == [0]


def test_the_report_says_what_was_carried(tmp_path) -> None:
    a, b = tmp_path / "a.nc", tmp_path / "b.nc"
    a.write_text(HEAD + "G10 L2 P2 X5. Y6. Z-90.\nM30\n")
    b.write_text(HEAD + "G0 X1. Z5.\nM30\n")
    words = f"the origin of G55 is at machine X5.000 Y6.000 Z-90.000 (G10), as {a} left it"
    told = millprep("dryrun", a, b, "--format", "json").json
    assert [one["carried"] for one in told["programs"]] == [[], [words]]
    text = millprep("dryrun", a, b).out
    assert "the origin of G55 is at machine X5.000 Y6.000 Z-90.000 (G10)" in " ".join(text.split())


def test_the_switch_is_tried_through_all_programs(tmp_path) -> None:
    """A G10 that the switch leaves out harms the program after it."""
    shop, a, b = tmp_path / "shop.toml", tmp_path / "a.nc", tmp_path / "b.nc"
    shop.write_text("[control]\nstart = [0, 0, 0]\noffsets = { G54 = [100, 50, -150] }\n")
    a.write_text(HEAD + "G10 L2 P1 Z-160.\n/G10 L2 P1 Z-150.\nM30\n")
    b.write_text(HEAD + "G0 X20. Y20. Z5.\nM30\n")
    options = ("--stock", "60,40,20", "--shop", shop, "--format", "json")
    findings = millprep("dryrun", a, b, *options).json["findings"]
    (only,) = [f for f in findings if f["kind"] == "rapid-into-stock"]
    assert (only["severity"], only["file"], only["line"]) == ("warning", str(b), 2)
    assert only["message"].startswith("with the block delete switch on: a rapid moves")
