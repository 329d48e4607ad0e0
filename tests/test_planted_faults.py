"""One program on a whole bench: part, vice, parallels, clamp, tool table and machine.

A fault planted in it is found at its line; the same program written in another way is clean. What
counts as a fault is common practice of the trade where no other source stands beside it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from test_simulate_faults import CLEAN

from millprep.cli.dryrun import dryrun
from millprep.cli.gathering import gathering
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import DWELL, RAPID

PART = """\
part = "Plate"
units = "mm"
material = "mild steel"

[stock]
size = [60, 40, 20]

[[hole]]
name = "cover"
tap = "M6"
depth = "through"
at = [[10, 10], [30, 10]]

[[hole]]
name = "pivot"
ream = "6 mm"
depth = 10
at = [50, 10]

[[setup]]
face = "top"
vice = { grip = 8 }
parallels = { thickness = 4, height = 20, at = [1, 33] }

[[setup.obstacle]]
name = "strap clamp"
from = [64, 0, -20]
to = [80, 30, 12]
"""
SHOP = """\
base = "metric"
[mill]
travel = { x = [0, 400], y = [0, 200], z = [-280, 0] }
spindle = { min = 60, max = 3000 }
[control]
offsets = { G54 = [100, 60, -150] }
"""
TOOL = """
[[tool]]
number = {number}
kind = "{kind}"
{size}
length = {length}
flute = {flute}
reach = {reach}
holder = {{ diameter = 30, length = 40 }}
"""
TOOLS = [
    ("spot drill", "diameter = 10\ntip_flat = 0.2", 60, 20, 35),
    ("drill", "diameter = 5", 85, 52, 55),
    ("tap", 'thread = "M6"\nlead = "second"', 80, 30, 50),
    ("drill", "diameter = 5.8", 90, 57, 60),
    ("reamer", "diameter = 6\nlead = 1", 80, 30, 25),
    ("end mill", "diameter = 8", 60, 20, 30),
]


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench")
    (folder / "plate.toml").write_text(PART)
    table = "".join(
        TOOL.format(number=n, kind=kind, size=size, length=length, flute=flute, reach=reach)
        for n, (kind, size, length, flute, reach) in enumerate(TOOLS, 1)
    )
    (folder / "shop.toml").write_text(SHOP + table)
    return folder


def judged(bench: Path, capsys: pytest.CaptureFixture[str], text: str) -> dict[str, Any]:
    (bench / "plate.nc").write_bytes(text.encode())
    capsys.readouterr()
    shop = str(bench / "shop.toml")
    gathering(dryrun)(
        files=[bench / "plate.nc"], part=bench / "plate.toml", shop=shop, format="json"
    )
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def told(answer: dict[str, Any]) -> list[tuple[str, str, int | None]]:
    return [
        (f["severity"], f["kind"], f["line"]) for f in answer["findings"] if f["severity"] != "note"
    ]


def test_the_clean_program_on_the_whole_bench(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = judged(bench, capsys, CLEAN)
    assert told(answer) == []
    assert not any("travel" in said or "holder" in said for said in answer["not_checked"])


@dataclass(frozen=True)
class Planted:
    """`old` becomes `new`; the finding stands at the line of `mark`, of no line for ""."""

    name: str
    old: str
    new: str
    severity: str
    kind: str
    mark: str


DRILLED = "G98 G83 X10. Y10. Z-22.5 R2. Q4.5 F120.\nX30. Y10.\nG80\n"
SPOTTED = "X30. Y10.\nX50. Y10.\nG80\n"
REAMED = "G98 G85 X50. Y10. Z-11. R2. F120."
PLANTED = [
    # travel: the origin lies at machine X100 Y60 Z-150
    Planted("X beyond its end", "G0 X0. Y0.", "G0 X301. Y0.", "stop", "outside-travel",
            "G0 X301. Y0."),
    Planted("Y beyond its end", "G0 X0. Y0.", "G0 X0. Y-61.", "stop", "outside-travel",
            "G0 X0. Y-61."),
    Planted("Z beyond its end", "G80\nG0 Z25. M5\nT2 M6", "G80\nG0 Z95. M5\nT2 M6", "stop",
            "outside-travel", "G0 Z95. M5"),
    Planted("a machine position that is none", "G0 X0. Y0.", "G53 G0 Z5.", "stop",
            "outside-travel", "G53 G0 Z5."),
    Planted("an arc whose bulge is beyond", "G0 X0. Y0.",
            "M3\nG0 X-5. Y0. Z25.\nG3 X-5. Y-1. I-60. J-0.5 F500.\nM5\nG0 X0. Y0.", "stop",
            "outside-travel", "G3 X-5. Y-1. I-60. J-0.5 F500."),
    # vice, parallels, bed and clamp
    Planted("a rapid through the clamp", "G0 X0. Y0.", "G0 Z5.\nX90. Y15.\nG0 Z25.", "stop",
            "hits-fixture", "X90. Y15."),
    Planted("a rapid down onto the clamp", "G0 X0. Y0.", "X70. Y10.\nZ11.\nG0 Z25.\nX0.", "stop",
            "hits-fixture", "Z11."),
    Planted("a clamp that only the dog-leg meets", "G0 X0. Y0.",
            "G0 X50. Y30.\nZ5.\nX62. Y60.\nG0 Z25.\nX0.", "warning", "dog-leg", "X62. Y60."),
    Planted("a hole over a parallel", DRILLED, DRILLED.replace("X30. Y10.", "X30. Y35."), "stop",
            "hits-fixture", "X30. Y35."),
    Planted("down to the vice bed", "Z-22.5 R2.", "Z-40.5 R2.", "stop", "hits-fixture",
            "G98 G83 X10. Y10. Z-40.5 R2. Q4.5 F120."),
    Planted("beside the stock into the jaw", SPOTTED,
            SPOTTED.replace("X30. Y10.", "X30. Y45. Z-13.\nX30. Y10. Z-3.1"), "stop",
            "hits-fixture", "X30. Y45. Z-13."),
    Planted("the holder down onto the clamp", REAMED, REAMED.replace("Z-11.", "Z-13.5"), "stop",
            "holder-hits", REAMED.replace("Z-11.", "Z-13.5")),
    Planted("the holder down onto the stock", "G98 G82 X10. Y10. Z-3.1",
            "G98 G82 X10. Y10. Z-36.", "stop", "holder-hits",
            "G98 G82 X10. Y10. Z-36. R2. P0.2 F60."),
    # tools and offsets
    Planted("the offset of another tool", "G43 H2", "G43 H1", "stop", "wrong-length-offset",
            "G43 H1"),
    Planted("no length offset", "G43 H4\n", "", "stop", "no-length-offset", "Z2."),
    Planted("deeper than the flutes", "G98 G82 X10. Y10. Z-3.1", "G98 G82 X10. Y10. Z-21.",
            "stop", "deeper-than-flutes", "G98 G82 X10. Y10. Z-21. R2. P0.2 F60."),
    Planted("another tool than the plan's", "T2 M6\nS1500 M3\nG43 H2",
            "T4 M6\nS1500 M3\nG43 H4", "stop", "hole-wrong-for-tool",
            "G98 G84 X10. Y10. Z-25. R5. F100."),
    # spindle, speed and feed
    Planted("a speed of nothing", "S1300 M3", "S0 M3", "stop", "speed-unstated", "S0 M3"),
    Planted("the spindle stopped midway", "G1 Z-10.\n", "M5\nG1 Z-10.\n", "stop",
            "spindle-stopped", "G1 Z-10."),
    Planted("a reamer fed far too fast", "R2. F120.\nG80\nG0 Z25. M5\nG0 X0.",
            "R2. F1199.\nG80\nG0 Z25. M5\nG0 X0.", "stop", "feed-over-tool",
            "G98 G85 X50. Y10. Z-11. R2. F1199."),
    Planted("a feed for each turn that is absurd", "G1 Z-5. F110.", "G95\nG1 Z-5. F0.9", "stop",
            "feed-over-tool", "G1 Z-5. F0.9"),
    # sideways and ends
    Planted("a reamer moved sideways", "G80\nG0 Z25. M5\nG0 X0. Y0.",
            "G80\nG1 Z-5.\nG1 X45.\nG0 Z25. M5\nG0 X0. Y0.", "stop", "sideways-in-stock",
            "G1 X45."),
    Planted("an end mill below the parallels' top", "G0 X0. Y0.\n",
            "T6 M6\nG43 H6\nS800 M3\nG0 X-10. Y20. Z25.\nZ2.\nG1 Z-22. F100.\nG1 X8. F80.\n"
            "G0 Z25. M5\n", "stop", "deeper-than-flutes", "G1 X8. F80."),
    Planted("the end over the work", "G0 X0. Y0.\n", "G0 X30. Y20.\nG0 Z6.\n", "stop", "ends-low",
            "G0 Z6."),
    # units and work systems
    Planted("another work system midway", "T4 M6\n", "T4 M6\nG55\n", "warning",
            "work-system-changed", "G1 Z-5. F110."),
    Planted("the other unit", "G21 ", "G20 ", "warning", "units-suspect",
            "G98 G82 X10. Y10. Z-3.1 R2. P0.2 F60."),
    # the part
    Planted("a hole left out", SPOTTED, SPOTTED, "stop", "hole-missing", ""),
    Planted("a hole too many", SPOTTED, SPOTTED.replace("G80", "X20. Y30.\nG80"), "stop",
            "hole-extra", "X20. Y30."),
    Planted("a hole beside its place", DRILLED, DRILLED.replace("X30.", "X30.1"), "stop",
            "hole-off", "X30.1 Y10."),
    Planted("no spot at one hole", SPOTTED, "X50. Y10.\nG80\n", "stop", "operation-missing", ""),
    Planted("reamed too shallow", REAMED, REAMED.replace("Z-11.", "Z-10.5"), "stop",
            "too-shallow", REAMED.replace("Z-11.", "Z-10.5")),
    Planted("reamed too deep", REAMED, REAMED.replace("Z-11.", "Z-11.5"), "stop", "too-deep",
            REAMED.replace("Z-11.", "Z-11.5")),
    Planted("not tapped", "X30. Y10.\nG80\nG0 Z25. M5\nT5", "G80\nG0 Z25. M5\nT5", "stop",
            "operation-missing", ""),
    Planted("tapped not through", "Z-25. R5.", "Z-21. R5.", "stop", "too-shallow",
            "G98 G84 X10. Y10. Z-21. R5. F100."),
    Planted("a mouth deeper than the spot's", "G98 G82 X10. Y10. Z-3.1",
            "G98 G82 X10. Y10. Z-4.5", "stop", "too-deep",
            "G98 G82 X10. Y10. Z-4.5 R2. P0.2 F60."),
    # the text
    Planted("a word that nobody knows", "G80\nG0 Z25. M5\nT2", "G80\nG0 Z25. E1. M5\nT2", "stop",
            "refused-word", "G0 Z25. E1. M5"),
    Planted("cutter compensation", "G1 Z-5. F110.", "G41 G1 Z-5. F110.", "stop",
            "compensation-not-followed", "G41 G1 Z-5. F110."),
    Planted("an arc that is none", "G0 X0. Y0.", "G2 X5. Y5. I9. J0. F100.", "stop", "bad-arc",
            "G2 X5. Y5. I9. J0. F100."),
    Planted("no peck", "Q4.5", "", "stop", "missing-word", "G98 G83 X10. Y10. Z-22.5 R2.  F120."),
    Planted("the plane of the cycle below the hole", "Z-22.5 R2.", "Z-22.5 R-23.", "stop",
            "bad-cycle", "G98 G83 X10. Y10. Z-22.5 R-23. Q4.5 F120."),
    Planted("the retract plane in the stock", "Z-22.5 R2.", "Z-22.5 R-2.5", "stop",
            "rapid-into-stock", "G98 G83 X10. Y10. Z-22.5 R-2.5 Q4.5 F120."),
]  # fmt: skip


@pytest.mark.parametrize("planted", PLANTED[:-1], ids=lambda planted: planted.name)
def test_a_planted_fault_is_found_at_its_line(
    bench: Path, capsys: pytest.CaptureFixture[str], planted: Planted
) -> None:
    assert planted.old in CLEAN
    text = CLEAN.replace(planted.old, planted.new, 1)
    if planted.name == "a hole left out":
        text = re.sub(r"\nX30\. Y10\.", "", CLEAN)
    line = None
    if planted.mark:
        first = text[: CLEAN.index(planted.old)].count("\n")
        line = first + 1 + text.splitlines()[first:].index(planted.mark)
    assert (planted.severity, planted.kind, line) in told(judged(bench, capsys, text))


def test_there_are_enough_of_them() -> None:
    assert len(PLANTED) > 40


# The same program, written otherwise.


def renumbered(text: str) -> str:
    lines = text.splitlines()
    return "\n".join(f"N{10 * n} {line}" for n, line in enumerate(lines, 1)) + "\n"


def spaced(text: str) -> str:
    """White space carries no meaning outside comments (NISTIR 6556 section 3.3)."""
    return re.sub(r"([A-Z])(-?[\d.]+)", r"  \1 \2 ", text).replace("\n", "\n\n")


def tight(text: str) -> str:
    return text.replace(" ", "")


def lower(text: str) -> str:
    return text.lower()


def commented(text: str) -> str:
    return text.replace("\n", " (as on the sheet)\n").replace("M30", "(END) M30")


def demarcated(text: str) -> str:
    return f"%\n{text}%\n"


def carriage_returns(text: str) -> str:
    return text.replace("\n", "\r\n")


def turned_round(text: str) -> str:
    """The order of words on a line changes nothing (NISTIR 6556 section 3.3.6)."""
    return "\n".join(" ".join(reversed(line.split())) for line in text.splitlines()) + "\n"


def as_inches(text: str) -> str:
    def inch(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) / 25.4:.6f}"

    return re.sub(r"([XYZRQF])(-?[\d.]+)", inch, text).replace("G21", "G20")


def with_parameters(text: str) -> str:
    return "#1=10.\n#2=[#1*3]\n" + text.replace("X10.", "X#1").replace("X30.", "X#2")


VARIANTS: list[Callable[[str], str]] = [
    renumbered, spaced, tight, lower, commented, demarcated, carriage_returns, turned_round,
    as_inches, with_parameters,
]  # fmt: skip


def written_out(text: str, *, is_incremental: bool) -> str:
    """Every motion in a line of its own, cycles too but for the tapping, in G90 or G91."""
    run = read_program(text.encode(), Control(), file="part.nc")
    moves = run.moves
    of_line: dict[int, list[int]] = {}
    for row, line in enumerate(moves.line.tolist()):
        of_line.setdefault(line, []).append(row)
    out: list[str] = []
    is_tapping, is_known = False, False
    for number, line in enumerate(text.splitlines(), 1):
        is_tapping = "G84" in line or (is_tapping and "G80" not in line)
        if is_tapping or number not in of_line:
            out.append(line)
        else:
            is_step = is_incremental and is_known
            out += _motions(moves, of_line[number], line, is_incremental=is_step)
            is_known = True
        is_known = is_known and "G43" not in line  # another tool, another reading of Z
    return "\n".join(out) + "\n"


def _motions(moves: Any, rows: list[int], line: str, *, is_incremental: bool) -> Iterator[str]:
    if "M5" in line:
        yield "M5"
    if is_incremental:
        yield "G91"
    for row in rows:
        if moves.kind[row] == DWELL:
            yield f"G4 P{moves.seconds[row]:g}"
            continue
        start, end = moves.start[:, row], moves.end[:, row]
        if (start == end).all():
            continue
        places = end - start if is_incremental else end
        words = [f"{letter}{place:.6f}" for letter, place in zip("XYZ", places, strict=True)]
        code = "G0" if moves.kind[row] == RAPID else f"G1 F{moves.feed[row]:g}"
        yield f"{code} {' '.join(words)}"
    if is_incremental:
        yield "G90"


def clean_variants() -> Iterator[tuple[str, str]]:
    for one in VARIANTS:
        yield one.__name__, one(CLEAN)
    for one, two in combinations(VARIANTS[:-1], 2):
        if two is turned_round and one in (renumbered, spaced, commented):
            continue  # words that must stay where they are
        yield f"{one.__name__} and {two.__name__}", two(one(CLEAN))
    for is_incremental in (False, True):
        name = "incremental motion" if is_incremental else "motion"
        motion = written_out(CLEAN, is_incremental=is_incremental)
        yield name, motion
        for one in VARIANTS[:-1]:
            yield f"{name}, {one.__name__}", one(motion)


CLEAN_VARIANTS = dict(clean_variants())


@pytest.mark.parametrize("name", CLEAN_VARIANTS)
def test_the_same_program_written_otherwise_is_clean(
    bench: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    answer = judged(bench, capsys, CLEAN_VARIANTS[name])
    assert [entry for entry in told(answer) if entry[0] == "stop"] == []
    assert len(answer["holes"]) == 3


def test_there_are_enough_variants() -> None:
    assert len(CLEAN_VARIANTS) > 40
