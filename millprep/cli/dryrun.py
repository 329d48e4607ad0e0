"""`millprep dryrun FILE...`: read programs, run them on one stock, compare with the part."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_PROGRAM_BYTES, LARGEST_STOCK_MM
from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.outfile import note_input
from millprep.base.records import replace
from millprep.base.units import Units, read_length, shown
from millprep.cli.common import (
    chosen_format,
    chosen_units,
    exit_status,
    json_text,
    print_findings,
)
from millprep.cli.dryrun_files import check_endings, files_of, hand_over, view_of
from millprep.cli.dryrun_heading import heading_doubts
from millprep.cli.dryrun_judging import Bench, judged, stock_system
from millprep.cli.dryrun_report import Report, report_json, report_text

if TYPE_CHECKING:
    from millprep.cli.preparation import Askew
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Shop
    from millprep.report.comparison import Comparison

_ROUND = re.compile(r"\s*(?:dia(?:meter)?|Ø)\s*(?P<size>[^x×]+?)\s*[x×]\s*(?P<length>[^x×]+)", re.I)
_STOCK_REMEDY = 'write --stock 60,25,20 or --stock "dia 40 x 6"'
_ZERO_WORDS = (("left", "right", "centre"), ("front", "back", "centre"), ("top", "bottom"))


def run(
    files: Sequence[Path], part_path: Path | None, stock: str | None, zero: str | None, shop: str,
    setup_number: int, units: str | None, data_format: str | None, output: Path | None,
    moves_csv_path: Path | None, force: bool, *, picture: Path | None = None,
    html: Path | None = None, against: Sequence[Path] = (), trace: bool = False,
    given: Askew | None = None,
) -> int:  # fmt: skip
    """0 when nothing stops the programs, else 1. Raises MillprepError for what cannot be judged."""
    wanted = chosen_format(data_format, output, ("text", "json"))
    asked_units = chosen_units(units, "mm")
    if part_path is not None and stock is not None:
        raise _refusal(
            "--part and --stock exclude each other", "give one of them: a part has stock"
        )
    bench, the_shop, notes = _bench(part_path, stock, zero, shop, setup_number, asked_units, given)
    check_endings(picture, html)
    programs = [(path, _program_bytes(path)) for path in files]
    old_programs = [(path, _program_bytes(path)) for path in against]
    if bench.part is not None:
        for path, data in programs:
            notes += heading_doubts(path, data, bench.part, setup_number)
    if trace:
        return _traced(programs, bench, the_shop)
    report = judged(programs, bench, the_shop, notes)
    if old_programs:
        report.comparison = _against(report, judged(old_programs, bench, the_shop, []))
    shown_units = chosen_units(units, bench.part.units if bench.part is not None else "mm")
    text = json_text(report_json(report)) if wanted == "json" else report_text(report, shown_units)
    seen = view_of(report, bench.words, bench.scene, the_shop.control)
    contents = files_of(
        report, seen, [data for _, data in programs], moves_csv_path, picture, html,
        bench.part, setup_number,
    )  # fmt: skip
    hand_over(text, contents, output, force)
    print_findings(report.findings)
    return exit_status(report.findings)


def _refusal(message: str, remedy: str, file: str | None = None) -> MillprepError:
    kind = "unknown-word" if file is None else "unreadable-file"
    return MillprepError(Finding("stop", kind, message, remedy, file=file))


def _program_bytes(path: Path) -> bytes:
    """The file's bytes, where they can be a program at all."""
    if path.suffix.lower() == ".toml":
        raise _refusal(
            "is a part or shop file by its name",
            "name a program, and this one with --part",
            str(path),
        )
    try:
        if path.stat().st_size > LARGEST_PROGRAM_BYTES:
            largest = f"at most {LARGEST_PROGRAM_BYTES // 1_000_000} MB: name a G-code file"
            raise _refusal("is too large for a program", largest, str(path))
        data = path.read_bytes()
        note_input(path)
    except OSError as error:
        is_folder = isinstance(error, IsADirectoryError)
        why = "is a folder" if is_folder else f"cannot be read: {error.strerror}"
        raise _refusal(why, "name a G-code file", str(path)) from error
    if b"\0" in data:
        raise _refusal("is not text", "name a G-code file", str(path))
    if not data.strip():
        raise _refusal("is empty", "name a G-code file", str(path))
    return data


def _bench(
    part_path: Path | None, stock: str | None, zero: str | None, shop: str, number: int,
    units: Units, given: Askew | None,
) -> tuple[Bench, Shop, list[Finding]]:  # fmt: skip
    from millprep.cli.common import load
    from millprep.infiles import read_shop

    if part_path is not None:
        part, the_shop, notes = load(part_path, shop)
        bench = _part_bench(part, the_shop, number)
        if given is None:
            return bench, the_shop, notes
        bench, doubts = _askew(bench, part, the_shop, given)
        return bench, the_shop, [*notes, *doubts]
    if given is not None:
        raise _refusal("--skew needs --part", "name the part that lies askew, with --part")
    the_shop = read_shop(shop)
    if stock is None:
        if zero is not None:
            raise _refusal("--zero needs --stock", _STOCK_REMEDY)
        return Bench(), the_shop, []
    return Bench(scene_of_words(stock, zero, units), words=_stock_words(stock, zero)), the_shop, []


def _part_bench(part: Part, shop: Shop, number: int) -> Bench:
    from millprep.cli.preparation import wanted_setup
    from millprep.planning import make_plan
    from millprep.setting.fixtures import clamped_scene

    plan = make_plan(part, shop)
    wanted_setup(number, [one.setup.number for one in plan.setups])
    setup_plan = next(one for one in plan.setups if one.setup.number == number)
    setup = setup_plan.setup
    used = {operation.tool for operation in setup_plan.operations}
    return Bench(
        clamped_scene(part, shop, setup, setup_plan.holding), part, setup,
        {n: tool for tool, n in plan.tool_numbers.items() if tool in used},
        words=f"{part.name}, setup {number}, {setup.face.upper()} up",
    )  # fmt: skip


def _askew(bench: Bench, part: Part, shop: Shop, given: Askew) -> tuple[Bench, list[Finding]]:
    from millprep.cli.preparation import measured_skew

    skew, doubts = measured_skew(part, shop, given)
    if not skew.angle_deg:
        return bench, doubts
    words = f"{bench.words}; askew by {skew.angle_deg:.4f} deg, shown turned back"
    return replace(bench, skew_deg=skew.angle_deg, words=words), doubts


def _stock_words(stock: str, zero: str | None) -> str:
    return f"stock {stock}, zero on {zero or _usual_zero(stock)}"


def _usual_zero(stock: str) -> str:
    return "centre,centre,top" if _ROUND.fullmatch(stock) else "left,front,top"


def scene_of_words(stock: str, zero: str | None, units: Units) -> Scene:
    """The scene that --stock and --zero describe. Raises MillprepError or WordError.

    stock : "60,25,20" or "dia 40 x 6"; zero : a face name or "centre" for X, Y and Z
    """
    from millprep.model.scene import Box, Disc, Scene

    match = _ROUND.fullmatch(stock)
    if match is not None:
        across, height = (_positive(match[key], units, stock) for key in ("size", "length"))
        sizes = [across, across, height]
    else:
        words = stock.split(",")
        if len(words) != 3:
            raise _refusal(f"--stock {shown(stock)} is not a size", _STOCK_REMEDY)
        sizes = [_positive(word, units, stock) for word in words]
    spans = [_span(size, word) for size, word in zip(sizes, _zero_words(zero, stock), strict=True)]
    low = (spans[0][0], spans[1][0], spans[2][0])
    high = (spans[0][1], spans[1][1], spans[2][1])
    blank = Box(low, high) if match is None else Disc(low, high, 2)
    return Scene(blank, safe_height_mm=high[2] + 10.0)


def _positive(word: str, units: Units, stock: str) -> float:
    try:
        size = float(read_length(word.strip(), units))
    except WordError as error:
        raise WordError(f"--stock {shown(stock)}: {error.message}", _STOCK_REMEDY) from error
    if size <= 0:
        raise WordError(f"--stock {shown(stock)}: a size is more than 0", _STOCK_REMEDY)
    if size > LARGEST_STOCK_MM:
        raise WordError(
            f"--stock {shown(stock)}: {size:g} mm is beyond any mill",
            f"at most {LARGEST_STOCK_MM:,} mm",
        )
    return size


def _zero_words(zero: str | None, stock: str) -> list[str]:
    """A word for each of X, Y, Z."""
    words = [word.strip().lower() for word in (zero or _usual_zero(stock)).split(",")]
    fits = len(words) == 3 and all(
        word in accepted for word, accepted in zip(words, _ZERO_WORDS, strict=True)
    )
    if not fits:
        accepted = "; ".join(
            f"{letter}: {', '.join(known)}"
            for letter, known in zip("XYZ", _ZERO_WORDS, strict=True)
        )
        raise _refusal(
            f"--zero {shown(zero or '')} does not name the three faces that carry zero",
            f"write --zero left,front,top ({accepted})",
        )
    return words


def _span(size_mm: float, word: str) -> tuple[float, float]:
    """Where stock of that size lies along an axis whose zero is on the face named."""
    if word == "centre":
        return -size_mm / 2, size_mm / 2
    return (-size_mm, 0.0) if word in ("right", "back", "top") else (0.0, size_mm)


def _against(report: Report, old: Report) -> Comparison:
    from millprep.report.comparison import compare_runs

    return compare_runs(
        report.runs, old.runs, report.holes, old.holes, report.time_s, old.time_s
    )  # fmt: skip


def _traced(programs: Sequence[tuple[Path, bytes]], bench: Bench, shop: Shop) -> int:
    """Each act of each program on a line of JSON, instead of a report."""
    from millprep.reading.gcode import read_program
    from millprep.reading.gcode.trace import JsonTrace

    findings: list[Finding] = []
    for path, data in programs:
        run = read_program(
            data, shop.control, file=str(path), tools=shop.tools,
            plan_tools=bench.plan_tools or None, stock_system=stock_system(bench, data),
            trace=JsonTrace(print),
        )  # fmt: skip
        findings += run.findings
    print_findings(findings)
    return exit_status(findings)
