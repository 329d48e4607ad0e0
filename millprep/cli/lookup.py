"""`lookup WORDS...`: what the tables hold, as text, JSON or CSV.

Layout only; the readings come from `millprep.lookup`, already plain figures.
"""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

from millprep.cli.common import FORMATS, chosen_format, emit, json_text
from millprep.lookup import Reading, lookup

WIDTH = 80
_LABEL = 22


def run(words: list[str], data_format: str | None, output: Path | None, force: bool) -> int:
    """Look the words up and print what was found; 0. Raises WordError with the nearest entries."""
    wanted = chosen_format(data_format, output, FORMATS)
    readings = lookup(" ".join(words))
    page = json_text(json_of(readings)) if wanted == "json" else _WRITERS[wanted](readings)
    emit(page, output, force=force)
    return 0


def json_of(readings: list[Reading]) -> Reading:
    """One reading as it is, several under "readings"."""
    return readings[0] if len(readings) == 1 else {"readings": readings}


def csv_of(readings: list[Reading]) -> str:
    """One row a figure: reading number, field ("clearance_mm.close"), value."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(["reading", "field", "value"])
    for number, reading in enumerate(readings, 1):
        writer.writerows([number, field, value] for field, value in _flat(reading))
    return page.getvalue()


def _flat(reading: Reading, above: str = "") -> Iterator[tuple[str, object]]:
    for field, value in reading.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{above}{field}.")
        else:
            shown = "; ".join(map(str, value)) if isinstance(value, list) else value
            yield above + field, "" if shown is None else shown


def text_of(readings: list[Reading]) -> str:
    """The readings as a page of 80 columns, both units, each with its source."""
    lines = []
    if len(readings) > 1:
        lines += [f"{len(readings)} readings, likeliest first", ""]
    for reading in readings:
        lines += [*_PAGES[reading["kind"]](reading), *_foot(reading), ""]
    return "\n".join(lines[:-1]) + "\n"


def _row(label: str, value: str) -> list[str]:
    return textwrap.wrap(
        value,
        WIDTH,
        initial_indent=f"  {label:<{_LABEL - 2}}",
        subsequent_indent=" " * _LABEL,
        break_on_hyphens=False,
    )


def _both(mm: float) -> str:
    """A length in both units, in columns."""
    return f"{mm:>8.3f} mm  {mm / 25.4:>8.4f} in"


def _foot(reading: Reading) -> list[str]:
    note = _row("note", reading["note"]) if reading["note"] else []
    return [*note, *_row("source", reading["source"])]


def _thread_page(reading: Reading) -> list[str]:
    percent = reading["percent_thread"]
    hand = ", left hand" if reading["left_hand"] else ""
    lines = [
        f"{reading['designation']}   thread, {reading['standard']}, {reading['series']}{hand}",
        *_row("major diameter", _both(reading["major_mm"])),
        *_row(
            "pitch", f"{_both(reading['pitch_mm'])}  {reading['threads_per_inch']:g} to the inch"
        ),
        *_row("core, full thread", _both(reading["core_mm"])),
        *_row("tapping drill", f"{_both(reading['tap_drill_mm'])}  {reading['tap_drill']}"),
        *_row(
            "leaves",
            f"{percent['1.299']:.0f} % thread by 1.299 P, {percent['1.2269']:.0f} % by 1.2269 P, "
            f"{percent['1.0825']:.0f} % by 1.0825 P, {percent['full form']:.0f} % of its own form",
        ),
    ]
    return lines + (_hole_rows(reading) if reading["clearance_mm"] else [])


def _hole_rows(reading: Reading) -> list[str]:
    lines = []
    for grade, mm in reading["clearance_mm"].items():
        lines += _row(f"clearance, {grade}", f"{_both(mm)}  {reading['clearance_drills'][grade]}")
    return lines


def _clearance_page(reading: Reading) -> list[str]:
    return [f"{reading['designation']}   clearance holes", *_hole_rows(reading)]


def _drill_page(reading: Reading) -> list[str]:
    lines = [
        f"{reading['designation']}   drill",
        *_row("diameter", _both(reading["diameter_mm"])),
    ]
    for series, near in reading["nearest"].items():
        sides = [
            f"{side} {near[side]['designation']} "
            f"({near[side]['diameter_mm'] - reading['diameter_mm']:+.3f} mm)"
            for side in ("below", "above")
            if near[side]
        ]
        if near["below"] and near["below"] == near["above"]:
            sides = [f"{near['below']['designation']}, the same size"]
        lines += _row(f"{series} drills", ", ".join(sides) or "none near")
    return lines


def _fit_page(reading: Reading) -> list[str]:
    lower, upper = reading["lower_um"], reading["upper_um"]
    return [
        f"{reading['size_mm']:g} {reading['class']}   fit of a {reading['of']}",
        *_row("size", _both(reading["size_mm"])),
        *_row("limits", f"{lower:+g} to {upper:+g} um"),
        *_row("smallest", _both(reading["smallest_mm"])),
        *_row("largest", _both(reading["largest_mm"])),
    ]


def _head_page(reading: Reading) -> list[str]:
    lines = [
        reading["designation"],
        *_row("head diameter", _both(reading["head_diameter_mm"])),
        *_row("head height", _both(reading["head_height_mm"])),
    ]
    if reading["angle_deg"] is not None:
        lines += _row("countersink", f"{reading['angle_deg']:g} degrees")
    if reading["counterbore_diameter_mm"] is not None:
        lines += _row("counterbore", _both(reading["counterbore_diameter_mm"]))
        lines += _row("counterbore depth", _both(reading["counterbore_depth_mm"]))
    return lines


def _material_page(reading: Reading) -> list[str]:
    lines = [f"{reading['designation']}   material, {reading['group']}"]
    for operation in ("drill", "ream", "tap", "countersink"):
        speed = reading[f"{operation}_m_per_min"]
        lines += _row(operation, f"{speed:>8.1f} m/min  {speed / 0.3048:>6.0f} ft/min")
    lines += _row("first peck", f"{reading['first_peck_diameters']:g} diameters")
    if reading["long_chips"]:
        lines += _row("chips", "long: clear the flutes at every peck")
    lines += _row("lubricant", reading["lubricant"])
    lines += _row("advice", reading["advice"] or "none beyond the usual")
    return lines + _row("also called", ", ".join(reading["aliases"]))


def _cut_page(reading: Reading) -> list[str]:
    speed, feed = reading["speed_m_per_min"], reading["feed_mm_per_min"]
    lines = [
        f"{reading['operation']} {reading['designation']} in {reading['material']}",
        *_row("diameter", _both(reading["diameter_mm"])),
        *_row("speed", f"{reading['rpm']} rev/min ({speed:g} m/min, {speed / 0.3048:.0f} ft/min)"),
        *_row(
            "feed",
            f"{feed:g} mm/min, {feed / 25.4:.2f} in/min ({reading['feed_mm_per_rev']:g} mm a turn)",
        ),
    ]
    if reading.get("first_peck_mm"):
        lines += _row("first peck", _both(reading["first_peck_mm"]))
    if reading.get("stock_mm"):
        low, high = reading["stock_mm"]
        lines += _row("leave on diameter", f"{low:g} to {high:g} mm")
    if reading.get("tap_drill"):
        lines += _row("tapping drill", f"{_both(reading['tap_drill_mm'])}  {reading['tap_drill']}")
    lines += _row("lubricant", reading["lubricant"])
    return lines + (_row("advice", reading["advice"]) if reading["advice"] else [])


_PAGES: dict[str, Callable[[Reading], list[str]]] = {
    "thread": _thread_page,
    "clearance": _clearance_page,
    "drill": _drill_page,
    "fit": _fit_page,
    "screw head": _head_page,
    "material": _material_page,
    "cut": _cut_page,
}
_WRITERS: dict[str, Callable[[list[Reading]], str]] = {"text": text_of, "csv": csv_of}
