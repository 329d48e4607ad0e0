"""The pages of `lookup` as text: 80 columns, both units, each with its source. Layout only."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import Any

from millprep.lookup.readings import Reading

WIDTH = 80
NEAR_SHARE = 0.25  # a drill further off than this share of the size helps nobody
_LABEL = 22


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
        initial_indent=f"  {label:<{_LABEL - 3}} ",
        subsequent_indent=" " * _LABEL,
        break_on_hyphens=False,
    )


def _both(mm: float) -> str:
    """A length in both units, in columns."""
    return f"{mm:>8.3f} mm  {mm / 25.4:>8.4f} in"


def _length(label: str, mm: float | None) -> list[str]:
    """A row for a length, nothing for one that the table does not give."""
    return [] if mm is None else _row(label, _both(mm))


def _lengths(reading: Reading, *labels: str) -> list[str]:
    """A row for the length under each label: of "head height" the figure is `head_height_mm`."""
    named = [(label, reading[f"{label.replace(' ', '_')}_mm"]) for label in labels]
    return [line for label, mm in named for line in _length(label, mm)]


def _foot(reading: Reading) -> list[str]:
    note = _row("note", reading["note"]) if reading["note"] else []
    return [*note, *_row("source", reading["source"])]


# --- threads and clearance ------------------------------------------------------------------------


def _thread_page(reading: Reading) -> list[str]:
    hand = ", left hand" if reading["left_hand"] else ""
    lines = [
        f"{reading['designation']}   thread, {reading['standard']}, {reading['series']}{hand}",
        *_row("form", reading["form"]),
        *_row("major diameter", _both(reading["major_mm"])),
        *_row(
            "pitch", f"{_both(reading['pitch_mm'])}  {reading['threads_per_inch']:g} to the inch"
        ),
        *_row("pitch diameter", _both(reading["pitch_diameter_mm"])),
        *_row("core, full thread", _both(reading["core_mm"])),
        *_limit_rows(reading["minor_limits"]),
        *_row("tapping drill", f"{_both(reading['tap_drill_mm'])}  {reading['tap_drill']}"),
        *_row("leaves thread", _percents(reading["percent_thread"])),
    ]
    return lines + (_hole_rows(reading) if reading["clearance_mm"] else [])


def _percents(percent: dict[str, float]) -> str:
    """What a drill leaves, by every convention; each is named, as they differ by a fifth."""
    return (
        f"{percent['1.2269']:.0f} % by 1.2269 P, {percent['1.299']:.0f} % by 1.299 P, "
        f"{percent['1.0825']:.0f} % by 1.0825 P, {percent['full form']:.0f} % of its own form"
    )


def _limit_rows(limits: Reading | None) -> list[str]:
    if limits is None:
        return []
    inside = "drill inside" if limits["tap_drill_inside"] else "drill OUTSIDE"
    return [
        *_row(f"core, {limits['class']}, least", _both(limits["least_mm"])),
        *_row(f"core, {limits['class']}, most", f"{_both(limits['greatest_mm'])}  {inside}"),
    ]


def _tapping_page(reading: Reading) -> list[str]:
    lines = [
        f"{reading['designation']}   {reading['percent']:g} % thread by {reading['convention']}: "
        f"drills of {reading['drills_of']}",
        *_row("convention", reading["convention_words"]),
        *_row("hole wanted", _both(reading["exact_mm"])),
    ]
    if not reading["drills"]:
        return lines
    lines += [
        *_row("nearest drill", f"{_both(reading['tap_drill_mm'])}  {reading['tap_drill']}"),
        "",
        f"  {'drill':<12}{'mm':>8}{'in':>9}  {'1.2269':>6}{'1.299':>8}{'1.0825':>8}{'own':>6}"
        f"   {reading['limits_class'] or ''}",
    ]
    return [*lines, *(_tapping_row(drill) for drill in reading["drills"]), ""]


def _tapping_row(drill: Reading) -> str:
    percent, mm = drill["percent_thread"], drill["diameter_mm"]
    inside = {True: "inside", False: "outside", None: ""}[drill["inside_limits"]]
    return (
        f"  {drill['designation']:<12}{mm:>8.3f}{mm / 25.4:>9.4f}  {percent['1.2269']:>5.0f}%"
        f"{percent['1.299']:>7.0f}%{percent['1.0825']:>7.0f}%{percent['full form']:>5.0f}%"
        f"   {inside}"
    ).rstrip()


def _hole_rows(reading: Reading) -> list[str]:
    lines = []
    for grade, mm in reading["clearance_mm"].items():
        lines += _row(f"clearance, {grade}", f"{_both(mm)}  {reading['clearance_drills'][grade]}")
    return lines


def _clearance_page(reading: Reading) -> list[str]:
    return [f"{reading['designation']}   clearance holes", *_hole_rows(reading)]


# --- drills and holes -----------------------------------------------------------------------------


def _drill_page(reading: Reading) -> list[str]:
    lines = [f"{reading['designation']}   drill", *_row("diameter", _both(reading["diameter_mm"]))]
    for series, near in reading["nearest"].items():
        label = "in the cabinet" if series == "cabinet" else f"{series} drills"
        lines += _row(label, _sides(near, reading["diameter_mm"]))
    for kind in ("jobber", "stub"):
        if lengths := reading[f"{kind}_mm"]:
            flute, overall = lengths["flute"], lengths["overall"]
            lines += _row(f"{kind} length", f"{overall:g} mm overall, {flute:g} mm flutes")
    if hole := reading["hole_mm"]:
        lines += _row(
            "hole to expect",
            f"{hole['expected']:.3f} mm; {hole['least']:.3f} to {hole['greatest']:.3f} mm "
            f"({hole['least'] / 25.4:.4f} to {hole['greatest'] / 25.4:.4f} in)",
        )
    return lines


def _sides(near: Reading, diameter_mm: float) -> str:
    if near["below"] and near["below"] == near["above"]:
        return f"{near['below']['designation']}, the same size"
    sides = [
        f"{side} {near[side]['designation']} ({near[side]['diameter_mm'] - diameter_mm:+.3f} mm)"
        for side in ("below", "above")
        if near[side] and abs(near[side]["diameter_mm"] - diameter_mm) < NEAR_SHARE * diameter_mm
    ]
    return ", ".join(sides) or "none near"


def _centre_drill_page(reading: Reading) -> list[str]:
    return [
        f"{reading['designation']}   {reading['angle_deg']:g} degrees",
        *_lengths(reading, "pip", "body", "overall"),
    ]


def _hole_page(reading: Reading) -> list[str]:
    return [
        f"{reading['designation']}   what the hole comes out as",
        *_row("grade", reading["grade"]),
        *_row("size", reading["comes_out"]),
        *_row("roughness Ra", f"{reading['roughness_um']} um"),
        *_row("depth, either way", f"{reading['depth_mm']} mm"),
    ]


# --- fits -----------------------------------------------------------------------------------------


def _fit_page(reading: Reading) -> list[str]:
    lower, upper = reading["lower_um"], reading["upper_um"]
    return [
        f"{reading['size_mm']:g} {reading['class']}   fit of a {reading['of']}",
        *_lengths(reading, "size"),
        *_row("limits", f"{lower:+g} to {upper:+g} um"),
        *_lengths(reading, "smallest", "largest"),
    ]


def _room(fit: Reading) -> str:
    """What a hole and a shaft do together, in words: clearance where positive."""
    least, most = fit["least_clearance_um"], fit["most_clearance_um"]
    if fit["character"] == "clearance":
        return f"clearance {least:g} to {most:g} um"
    if fit["character"] == "interference":
        return f"interference {abs(most):g} to {abs(least):g} um"
    return f"transition: {most:g} um clearance to {-least:g} um interference"


def _pair_page(reading: Reading) -> list[str]:
    return [
        f"{reading['size_mm']:g} {reading['hole']}/{reading['shaft']}   together",
        *_row("on diameter", _room(reading)),
    ]


def _purpose_page(reading: Reading) -> list[str]:
    lines = [f"{reading['designation']}, {reading['size_mm']:g} mm   hole/shaft"]
    for fit in reading["fits"]:
        lines += _row(f"{fit['hole']}/{fit['shaft']}", f"{_room(fit)}; {fit['what']}")
    return lines


def _dowel_page(reading: Reading) -> list[str]:
    lines = [reading["designation"], *_row("diameter", _both(reading["diameter_mm"]))]
    for make in ("m6", "h8"):
        low, high = reading[f"{make}_um"]
        small, large = (reading["diameter_mm"] + um / 1000 for um in (low, high))
        lines += _row(make, f"{low:+g} to {high:+g} um: {small:.3f} to {large:.3f} mm")
    lengths = f"{reading['shortest_mm']:g} to {reading['longest_mm']:g} mm"
    return [*lines, *_row("chamfer", f"{reading['chamfer_mm']:g} mm"), *_row("lengths", lengths)]


# --- screws, materials, cuts ----------------------------------------------------------------------


def _head_page(reading: Reading) -> list[str]:
    lines = [
        reading["designation"],
        *_lengths(reading, "head diameter", "head height", "across flats"),
    ]
    if reading["angle_deg"] is not None:
        lines += _row("countersink", f"{reading['angle_deg']:g} degrees")
    lines += _length("counterbore", reading["counterbore_diameter_mm"])
    return lines + _lengths(reading, "counterbore depth")


def _nut_page(reading: Reading) -> list[str]:
    sizes = _lengths(reading, "across flats", "across corners", "height")
    return [reading["designation"], *sizes]


def _washer_page(reading: Reading) -> list[str]:
    return [reading["designation"], *_lengths(reading, "hole", "outside", "thickness")]


def _speed(m_per_min: float) -> str:
    return f"{m_per_min:>8.1f} m/min  {m_per_min / 0.3048:>6.0f} ft/min"


def _material_page(reading: Reading) -> list[str]:
    lines = [f"{reading['designation']}   material, {reading['group']}"]
    for operation in ("drill", "ream", "tap", "countersink"):
        lines += _row(operation, _speed(reading[f"{operation}_m_per_min"]))
    if reading["carbide_m_per_min"] is not None:
        lines += _row("carbide drill", _speed(reading["carbide_m_per_min"]))
    lines += _row("first peck", f"{reading['first_peck_diameters']:g} diameters")
    if reading["long_chips"]:
        lines += _row("chips", "long: clear the flutes at every peck")
    lines += _row("lubricant", reading["lubricant"])
    lines += _row("advice", reading["advice"] or "none beyond the usual")
    return lines + _row("also called", ", ".join(reading["aliases"]))


def _cut_page(reading: Reading) -> list[str]:
    speed, feed = reading["speed_m_per_min"], reading["feed_mm_per_min"]
    lines = [
        f"{reading['operation']} {reading['designation']} in {reading['material']}, "
        f"{reading['tool']}",
        *_row("diameter", _both(reading["diameter_mm"])),
        *_row("speed", f"{reading['rpm']} rev/min ({speed:g} m/min, {speed / 0.3048:.0f} ft/min)"),
        *_row(
            "feed",
            f"{feed:g} mm/min, {feed / 25.4:.2f} in/min ({reading['feed_mm_per_rev']:g} mm a turn)",
        ),
        *_deep_rows(reading),
    ]
    if reading.get("stock_mm"):
        low, high = reading["stock_mm"]
        lines += _row(
            "leave on diameter",
            f"{low:g} to {high:g} mm ({low / 25.4:.4f} to {high / 25.4:.4f} in)",
        )
    if reading.get("capped"):
        lines += _row("capped", reading["capped"])
    if reading.get("tap_drill"):
        lines += _row("tapping drill", f"{_both(reading['tap_drill_mm'])}  {reading['tap_drill']}")
    lines += _row("lubricant", reading["lubricant"])
    return lines + (_row("advice", reading["advice"]) if reading["advice"] else [])


def _deep_rows(reading: Reading) -> list[str]:
    """First peck; with a depth the pecks and what depth takes off speed and feed."""
    lines = _length("first peck", reading.get("first_peck_mm"))
    if reading.get("depth_mm") is None:
        return lines
    lines = [*_length("depth", reading["depth_mm"]), *lines]
    if reading["deep_speed_share"] < 1:
        speed, feed = reading["deep_speed_share"], reading["deep_feed_share"]
        lines += _row("for the depth", f"speed x {speed:g} and feed x {feed:g}, taken off above")
    if reading["operation"] == "drill":
        pecks = ", ".join(f"{each:g}" for each in reading["pecks_mm"])
        lines += _row("pecks to", f"{pecks} mm" if pecks else "none: one go")
    return lines


_PAGES: dict[str, Callable[[Reading], list[str]]] = {
    "thread": _thread_page,
    "tapping drills": _tapping_page,
    "clearance": _clearance_page,
    "drill": _drill_page,
    "centre drill": _centre_drill_page,
    "hole": _hole_page,
    "fit": _fit_page,
    "pair": _pair_page,
    "purpose": _purpose_page,
    "dowel pin": _dowel_page,
    "screw head": _head_page,
    "nut": _nut_page,
    "washer": _washer_page,
    "material": _material_page,
    "cut": _cut_page,
}


# --- whole tables ---------------------------------------------------------------------------------


def table_text(table: dict[str, Any]) -> str:
    """A whole table: in columns where 80 hold them, else a block for each row."""
    cells = [[_shown(value) for value in row] for row in table["rows"]]
    heads = [column.split("_") for column in table["columns"]]
    widths = [
        max(map(len, (*head, *column)))
        for head, column in zip(heads, zip(*cells, strict=True), strict=True)
    ]
    lines = [table["name"].upper(), ""]
    if sum(widths) + 2 * len(widths) <= WIDTH:
        depth = max(map(len, heads))
        stacked = zip(*([""] * (depth - len(head)) + head for head in heads), strict=True)
        lines += [_in_columns(row, widths, table["rows"]) for row in (*stacked, *cells)]
    else:
        for row in cells:
            lines.append(row[0])
            for head, value in zip(heads[1:], row[1:], strict=True):
                lines += _row(" ".join(head), value) if value else []
    lines.append("")
    if table["note"]:
        lines += _row("note", table["note"])
    for key, note in table["row_notes"].items():
        lines += _row(key, note)
    return "\n".join([*lines, *_row("source", table["source"])]) + "\n"


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _in_columns(row: Sequence[str], widths: list[int], values: list[list[Any]]) -> str:
    """Words to the left, figures to the right."""
    parts = [
        f"{cell:<{width}}" if isinstance(values[0][place], str) else f"{cell:>{width}}"
        for place, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]
    return ("  " + "  ".join(parts)).rstrip()
