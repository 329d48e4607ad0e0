"""What a quick sum says, row by row, and its small drawing in letters. No layout."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from millprep.lookup.readings import Reading
from millprep.lookup.vocabulary import DRAWINGS

_WIDE, _HIGH = 44, 17  # of the drawing of places, in letters: one is about twice as high as wide
Row = tuple[str, str]
Given = dict[str, Any]


def sum_rows(reading: Reading) -> list[Row]:
    """The rows of a sum: its result first, the formula last."""
    rows = _RESULTS[reading["sum"]](reading["given"], reading["result"])
    return [*rows, ("formula", reading["formula"])]


def microns(mm: float) -> str:
    """A length to the micron; a half one keeps its own decimal, as in 1/16 in, 1.5875 mm."""
    is_half = round(abs(mm) * 1e4, 3) % 10 == 5
    return f"{mm:.4f}" if is_half else f"{mm:.3f}"


def _both(mm: float) -> str:
    return f"{microns(mm)} mm ({mm / 25.4:.4f} in)"


def _at(x_mm: float, y_mm: float) -> str:
    return f"X {x_mm:>9.3f}  Y {y_mm:>9.3f} mm   {x_mm / 25.4:>8.4f} {y_mm / 25.4:>8.4f} in"


def _places(result: Given) -> list[Row]:
    return [(f"hole {number}", _at(*point)) for number, point in enumerate(result["points_mm"], 1)]


def _circle(given: Given, result: Given) -> list[Row]:
    across = f"{given['circle_mm']:g} mm ({given['circle_mm'] / 25.4:.4g} in)"
    what = f"{given['holes']} on {across}, {result['step_deg']:g} degrees apart"
    chord = ("hole to hole", f"{_both(result['chord_mm'])} straight across")
    return [("holes", what), chord, *_places(result)]


def _arc(given: Given, result: Given) -> list[Row]:
    step = f"{result['step_deg']:g} degrees apart"
    what = f"{given['holes']} at radius {given['radius_mm']:g} mm, {step}"
    return [("holes", what), *_places(result)]


def _grid(given: Given, result: Given) -> list[Row]:
    pitch = f"{given['pitch_x_mm']:g} by {given['pitch_y_mm']:g} mm apart"
    what = f"{given['columns']} columns and {given['rows']} rows, {pitch}"
    return [("holes", what), *_places(result)]


def _dividing(given: Given, result: Given) -> list[Row]:
    head = f" of the {given['head']}" if given["head"] else ""
    rows = [("crank", _crank(result["turns"], result["spaces"], result["circle"]))]
    others = [_crank(*each) for each in result["others"][:3]]
    rows += [("or", each) for each in others]
    step = result["step_deg"]
    minutes = f"{int(step)} deg {step % 1 * 60:.2f} min"
    return [*rows, ("worm", f"{given['ratio']:g} to 1{head}"), ("each step", minutes)]


def _crank(turns: int, spaces: int, circle: int) -> str:
    whole = f"{turns} turn{'' if turns == 1 else 's'}"
    if not spaces:
        return whole
    return f"{whole} and {spaces} space{'' if spaces == 1 else 's'} on the {circle} circle"


def _dial(given: Given, result: Given) -> list[Row]:
    turns, left = result["turns"], f"{result['divisions']:g} divisions"
    over = f", {result['left_over_mm']:+.4f} mm left over" if result["left_over_mm"] else ""
    axis = f"{given['axis'].upper()} screw, " if given["axis"] else ""
    screw = f"{axis}{given['lead_mm']:g} mm a turn, {given['divisions']:g} divisions"
    return [
        ("handle", f"{turns} turn{'' if turns == 1 else 's'} and {left}{over}"),
        ("screw", screw),
    ]


def _three(given: Given, result: Given) -> list[Row]:
    finder = f"finder {given['finder_mm']:g} mm, touched {given['side']}"
    return [
        ("centre", _at(*result["centre_mm"])),
        ("diameter", _both(result["diameter_mm"])),
        ("by", f"{finder}, over {result['span_deg']:.0f} degrees"),
    ]


def _length(given: Given, result: Given) -> list[Row]:
    off, inches = result["off_mm"], f"{result['in']:.6f}"
    inches = inches if inches.endswith("5") else f"{result['in']:.5f}"
    away = (
        "exactly" if not round(off, 4) else f"{abs(off):.3f} mm {'under' if off > 0 else 'over'} it"
    )
    rows = [
        (given["words"], f"= {result['mm']:.4f} mm = {inches} in"),
        ("nearest 64th", f"{result['nearest_64th']} in, {away}"),
    ]
    if result["drill"]:
        by = result["drill_mm"] - result["mm"]
        rows.append(("nearest drill", f"{result['drill']} ({by + 0.0:+.3f} mm)"))
    return rows


def _percentage(given: Given, result: Given) -> list[Row]:
    left = result["by_convention"]
    others = ", ".join(f"{left[each]:.0f} % by {each} P" for each in ("1.299", "1.0825"))
    drilled = f"{given['thread']} drilled {given['drill']}"
    return [(drilled, f"{result['percent']:.0f} % of a full thread"), ("other tables", others)]


def _one(label: str, key: str, form: str) -> Callable[[Given, Given], list[Row]]:
    return lambda given, result: [(label, form.format(result[key], **given))]


_RESULTS: dict[str, Callable[[Given, Given], list[Row]]] = {
    "bolt-circle": _circle,
    "arc": _arc,
    "grid": _grid,
    "dividing": _dividing,
    "dial-turns": _dial,
    "three-points": _three,
    "length": _length,
    "thread-percentage": _percentage,
    "forming-drill": lambda given, result: [
        ("hole before a forming tap", _both(result["hole_mm"])),
        ("thread", given["thread"]),
    ],
    "sine-bar": lambda given, result: [
        ("stack", _both(result["stack_mm"])),
        ("bar", f"{given['bar_mm']:g} mm at {given['angle_deg']:g} degrees"),
    ],
    "cone-depth": lambda given, result: [
        ("depth", _both(result["depth_mm"])),
        ("cone", f"{given['cone_mm']:g} mm across at {given['angle_deg']:g} degrees"),
    ],
    "speed": _one("speed", "rpm", "{} rev/min for {speed_m_per_min:g} m/min on {diameter_mm:g} mm"),
    "surface-speed": _one("speed", "speed_m_per_min", "{:g} m/min at {rpm:g} rev/min"),
    "feed": _one("feed", "feed_mm_per_min", "{:g} mm/min at {rpm:g} rev/min"),
}


# --- small drawings -------------------------------------------------------------------------------


def sketch_of(reading: Reading) -> list[str]:
    """The drawing of a sum in lines of letters; none for what is no sum."""
    slug, result = reading.get("sum", ""), reading.get("result", {})
    if points := result.get("points_mm"):
        return _plotted([tuple(each) for each in points])
    if slug == "three-points":
        points = [*reading["given"]["points_mm"], result["centre_mm"]]
        return _plotted([tuple(each) for each in points], last="+")
    return DRAWINGS.get(slug, "").splitlines()


def _plotted(points: list[tuple[float, ...]], last: str = "") -> list[str]:
    """Places by their numbers, X to the right and Y up; a place that is taken keeps its first."""
    xs, ys = ([each[axis] for each in points] for axis in (0, 1))
    step = max((max(xs) - min(xs)) / _WIDE, (max(ys) - min(ys)) / _HIGH / 2, 1e-9)
    wide, high = (round((max(v) - min(v)) / step) for v in (xs, ys))
    lines = [[" "] * (wide + 4) for _ in range(high // 2 + 1)]
    for number, (x, y) in enumerate(points, 1):
        mark = last if last and number == len(points) else str(number)
        row, column = round((max(ys) - y) / step / 2), round((x - min(xs)) / step)
        for place, letter in enumerate(mark):
            if lines[min(row, len(lines) - 1)][column + place] == " ":
                lines[min(row, len(lines) - 1)][column + place] = letter
    return ["    " + "".join(line).rstrip() for line in lines]
