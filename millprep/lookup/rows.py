"""What a reading says, row by row: a label and a value in words. No layout.

The first row of a kind leads its page where nothing else was asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from millprep.lookup.readings import Reading
from millprep.lookup.sum_rows import microns, sum_rows

NEAR_SHARE = 0.25  # a drill further off than this share of the size helps nobody
Row = tuple[str, str]


def _both(mm: float) -> str:
    """A length in both units, in columns."""
    return f"{microns(mm):>8} mm  {mm / 25.4:>8.4f} in"


def _called(designation: str, mm: float) -> str:
    """A drill with what it measures: "#7 (5.105 mm, 0.2010 in)", "5 mm (0.1969 in)"."""
    own = "" if designation.endswith(" mm") else f"{microns(mm)} mm, "
    return f"{designation} ({own}{mm / 25.4:.4f} in)"


def _inwards(low_mm: float, high_mm: float) -> str:
    """Limits to the micron, a half one rounded to the safe side, as on an inspection sheet."""
    low = math.ceil(round(low_mm * 1000, 3)) / 1000
    high = math.floor(round(high_mm * 1000, 3)) / 1000
    return f"{low:.3f} to {high:.3f} mm ({low / 25.4:.5f} to {high / 25.4:.5f} in)"


def _lengths(reading: Reading, *labels: str) -> list[Row]:
    """A row for the length under each label: of "head height" the figure is `head_height_mm`."""
    named = [(label, reading.get(f"{label.replace(' ', '_')}_mm")) for label in labels]
    return [(label, _both(mm)) for label, mm in named if mm is not None]


def _speed(m_per_min: float) -> str:
    return f"{m_per_min:>8.1f} m/min  {m_per_min / 0.3048:>6.0f} ft/min"


# --- threads and clearance ------------------------------------------------------------------------


def _thread_rows(reading: Reading) -> list[Row]:
    percent, limits = reading["percent_thread"], reading["minor_limits"]
    hand = ", left hand" if reading["left_hand"] else ""
    pitch = _both(reading["pitch_mm"])
    if reading["angle_deg"] != 60 or reading["standard"].startswith("ASME"):
        pitch += f"  {reading['threads_per_inch']:g} to the inch"
    drill = _called(reading["tap_drill"], reading["tap_drill_mm"])
    rows = [
        ("tapping drill", f"{drill}, {percent['1.2269']:.0f} % thread (1.2269 P)"),
        ("thread", f"{reading['standard']}, {reading['series']}{hand}"),
        ("form", reading["form"]),
        ("major diameter", _both(reading["major_mm"])),
        ("pitch", pitch),
        ("pitch diameter", _both(reading["pitch_diameter_mm"])),
        ("core, full thread", _both(reading["core_mm"])),
    ]
    if limits:
        inside = "drill inside" if limits["tap_drill_inside"] else "drill OUTSIDE"
        least, most = limits["least_mm"], limits["greatest_mm"]
        rows.append((f"core, {limits['class']}", f"{least:.3f} to {most:.3f} mm: {inside}"))
    rows += [("leaves thread", _percents(percent)), *_long_rows(reading)]
    return rows + (_hole_rows(reading) if reading["clearance_mm"] else [])


def _percents(percent: dict[str, float]) -> str:
    """What a drill leaves, by every convention; each is named, as they differ by a fifth."""
    return (
        f"{percent['1.2269']:.0f} % by 1.2269 P, {percent['1.299']:.0f} % by 1.299 P, "
        f"{percent['1.0825']:.0f} % by 1.0825 P, {percent['full form']:.0f} % of its own form"
    )


def _tapping_rows(reading: Reading) -> list[Row]:
    convention = reading["convention"]
    rows = []
    if reading["drills"]:
        nearest = _called(reading["tap_drill"], reading["tap_drill_mm"])
        rows.append(("nearest drill", f"{nearest} of {reading['drills_of']}"))
    else:
        rows.append(("nearest drill", "the drawer has no drill for it"))
    rows.append(("hole wanted", _both(reading["exact_mm"])))
    for drill in reading["drills"]:
        left = drill["percent_thread"]
        inside = {True: ", inside", False: ", outside", None: ""}[drill["inside_limits"]]
        limits = f"{inside} {reading['limits_class']}" if inside else ""
        value = f"{microns(drill['diameter_mm']):>8} mm  {left[convention]:>3.0f} %{limits}"
        rows.append((drill["designation"], value))
    rows.append(("convention", reading["convention_words"]))
    drills = [(each["designation"], each["percent_thread"]) for each in reading["drills"]]
    return rows + [(f"all, {name}", _percents(left)) for name, left in drills]


def _hole_rows(reading: Reading) -> list[Row]:
    holes, drills = reading["clearance_mm"], reading["clearance_drills"]
    return [(f"clearance, {grade}", _called(drills[grade], mm)) for grade, mm in holes.items()]


def _engagement_rows(reading: Reading) -> list[Row]:
    mm = reading["engagement_mm"]
    how = f"{_times(reading['diameters'], 'diameter')}, {_times(reading['threads'], 'thread')}"
    return [("thread engagement", f"{mm:g} mm ({mm / 25.4:.3f} in), {how}")]


# --- drills and holes -----------------------------------------------------------------------------


def _drill_rows(reading: Reading) -> list[Row]:
    mm = reading["diameter_mm"]
    rows = [("diameter", f"{microns(mm)} mm, {mm / 25.4:.4f} in")]
    for series, near in reading["nearest"].items():
        label = "in the drawer" if series == "drawer" else f"{series} drills"
        rows.append((label, _sides(near, mm)))
    for kind in ("jobber", "stub"):
        if lengths := reading[f"{kind}_mm"]:
            flute, overall = lengths["flute"], lengths["overall"]
            rows.append((f"{kind} length", f"{overall:g} mm overall, {flute:g} mm flutes"))
    if hole := reading["hole_mm"]:
        least, most = hole["least"], hole["greatest"]
        rows.append(("drills a hole of", f"{hole['expected']:.3f} mm; {_inwards(least, most)}"))
    return rows


def _sides(near: Reading, diameter_mm: float) -> str:
    if near["below"] and near["below"] == near["above"]:
        return f"{near['below']['designation']}, the same size"
    sides = [
        f"{side} {near[side]['designation']} ({near[side]['diameter_mm'] - diameter_mm:+.3f} mm)"
        for side in ("below", "above")
        if near[side] and abs(near[side]["diameter_mm"] - diameter_mm) < NEAR_SHARE * diameter_mm
    ]
    return ", ".join(sides) or "none near"


def _centre_drill_rows(reading: Reading) -> list[Row]:
    angle = ("angle", f"{reading['angle_deg']:g} degrees")
    return [*_lengths(reading, "pip", "body", "overall"), angle]


def _made_rows(reading: Reading) -> list[Row]:
    return [
        ("grade", reading["grade"]),
        ("size", reading["comes_out"]),
        ("roughness Ra", f"{reading['roughness_um']} um"),
        ("depth, either way", f"{reading['depth_mm']} mm"),
    ]


# --- fits -----------------------------------------------------------------------------------------


def _fit_rows(reading: Reading) -> list[Row]:
    limits = _inwards(reading["smallest_mm"], reading["largest_mm"])
    um = f"{reading['lower_um']:+g} to {reading['upper_um']:+g} um"
    return [("limits", f"{um}, {limits}"), *_lengths(reading, "size")]


def _room(fit: Reading) -> str:
    """What a hole and a shaft do together, in words."""
    least, most = fit["least_clearance_um"], fit["most_clearance_um"]
    if fit["character"] == "clearance":
        return f"clearance {least:g} to {most:g} um"
    if fit["character"] == "interference":
        return f"interference {abs(most):g} to {abs(least):g} um"
    return f"{-least:g} um interference to {most:g} um clearance"


def _pair_rows(reading: Reading) -> list[Row]:
    return [("together", _room(reading))]


def _purpose_rows(reading: Reading) -> list[Row]:
    return [
        (f"{fit['hole']}/{fit['shaft']}", f"{_room(fit)}; {fit['what']}") for fit in reading["fits"]
    ]


def _dowel_rows(reading: Reading) -> list[Row]:
    rows = _lengths(reading, "diameter")
    for make in ("m6", "h8"):
        low, high = reading[f"{make}_um"]
        sizes = _inwards(*(reading["diameter_mm"] + um / 1000 for um in (low, high)))
        rows.append((make, f"{low:+g} to {high:+g} um, {sizes}"))
    rows.append(("chamfer", f"{reading['chamfer_mm']:g} mm"))
    return [*rows, ("lengths", f"{reading['shortest_mm']:g} to {reading['longest_mm']:g} mm")]


def _spring_pin_rows(reading: Reading) -> list[Row]:
    hole = _inwards(reading["hole_least_mm"], reading["hole_greatest_mm"])
    free = _inwards(reading["free_least_mm"], reading["free_greatest_mm"])
    drill = ("hole", f"{hole}: a drill of {reading['hole_mm']:g} mm")
    return [drill, ("before fitting", free), *_lengths(reading, "wall")]


def _taper_pin_rows(reading: Reading) -> list[Row]:
    ends = [
        (f"{end} end", _both(reading[f"{end}_mm"]))
        for end in ("small", "large")
        if reading[f"{end}_mm"] is not None
    ]
    drill = _called(reading["drill"], reading["drill_mm"])
    return [("drill", f"{drill}, then the taper reamer"), *ends, ("taper", reading["taper"])]


# --- screws, materials, cuts ----------------------------------------------------------------------


def _head_rows(reading: Reading) -> list[Row]:
    rows = _lengths(reading, "head diameter", "head height", "across flats", "key")
    if reading["angle_deg"] is not None:
        to = reading["head_diameter_mm"]
        rows.append(("countersink", f"{reading['angle_deg']:g} degrees, to {to:g} mm"))
    bore, deep = reading["counterbore_diameter_mm"], reading["counterbore_depth_mm"]
    if bore is not None:
        sunk = f" and {deep:g} mm deep" if deep is not None else ""
        rows.append(("counterbore", f"{_called(f'{bore:g} mm', bore)}{sunk}"))
    return rows + _long_rows(reading)


def _long_rows(reading: Reading) -> list[Row]:
    if "length_mm" not in reading:
        return []
    made = "a length that is made" if reading["is_made"] else "not a length that is made"
    return [("length", f"{reading['length_mm']:g} mm: {made}")]


def _grub_rows(reading: Reading) -> list[Row]:
    drill = _called(reading["tap_drill"], reading["tap_drill_mm"])
    point = _lengths(reading, "point")
    return [*_lengths(reading, "key"), *point, ("tapping drill", drill)]


def _pipe_rows(reading: Reading) -> list[Row]:
    drill = _called(reading["tap_drill"], reading["tap_drill_mm"])
    return [
        ("tapping drill", drill),
        ("thread", f"{reading['angle_deg']:g} degrees, taper {reading['taper']} on diameter"),
        ("pitch", f"{_both(reading['pitch_mm'])}  {reading['threads_per_inch']:g} to the inch"),
        ("core, small end", _both(reading["core_mm"])),
        ("not", "a parallel thread, G or BSPP, does not seal in it: ask for G"),
    ]


def _times(number: float, noun: str) -> str:
    """ "1 diameter", "1.5 diameters" """
    return f"{number:g} {noun}{'' if number == 1 else 's'}"


def _material_rows(reading: Reading) -> list[Row]:
    cuts = ("drill", "ream", "tap", "countersink")
    rows = [(each, _speed(reading[f"{each}_m_per_min"])) for each in cuts]
    if reading["carbide_m_per_min"] is not None:
        rows.append(("carbide drill", _speed(reading["carbide_m_per_min"])))
    rows.append(("first peck", _times(reading["first_peck_diameters"], "diameter")))
    if reading["long_chips"]:
        rows.append(("swarf", "long: clear the flutes at every peck"))
    rows.append(("lubricant", reading["lubricant"]))
    rows.append(("advice", reading["advice"] or "none beyond the usual"))
    return [*rows, ("also called", ", ".join(reading["aliases"]))]


def _cut_rows(reading: Reading) -> list[Row]:
    rows = _drill_first(reading)
    if reading["rpm"] is not None:
        speed, feed = reading["speed_m_per_min"], reading["feed_mm_per_min"]
        at = f"{speed:g} m/min, {speed / 0.3048:.0f} ft/min"
        words = f"{reading['rpm']} rev/min ({at})"
        per_turn = f"{reading['feed_mm_per_rev']:g} mm a turn"
        if reading.get("set_rpm") is not None:
            ideal = f" ({at})" if reading["set_rpm"] == reading["rpm"] else f"; ideal {words}"
            words = f"{reading['set_rpm']:g} rev/min on the {reading['shop']} mill{ideal}"
            feed = reading["set_feed_mm_per_min"]
        rows.append(("speed", words))
        rows.append(("feed", f"{per_turn}: {feed:g} mm/min, {feed / 25.4:.2f} in/min"))
    rows += _deep_rows(reading)
    if reading.get("capped"):
        rows.append(("capped", reading["capped"]))
    if reading.get("tap_drill"):
        rows.append(("tapping drill", _called(reading["tap_drill"], reading["tap_drill_mm"])))
    if reading.get("lubricant"):
        rows.append(("lubricant", reading["lubricant"]))
    return rows + ([("advice", reading["advice"])] if reading.get("advice") else [])


def _drill_first(reading: Reading) -> list[Row]:
    """The drill before a reamer, what it leaves, and what the reamed hole is to measure."""
    if reading["operation"] != "ream":
        return []
    low, high = reading["stock_mm"]
    shop = reading["drawer_of"]
    where = {
        True: f", from the {shop} drawer",
        False: f": to buy, the {shop} drawer has none",
        None: "",
    }
    drill = "none will do"
    if reading["drill"] is not None:
        drill = _called(reading["drill"], reading["drill_mm"]) + where[reading["in_drawer"]]
    stock = f"{low:g} to {high:g} mm ({low / 25.4:.4f} to {high / 25.4:.4f} in)"
    rows = [("drill first", drill), ("leave on diameter", stock)]
    if reading["limits_um"]:
        sizes = _inwards(*(reading["diameter_mm"] + um / 1000 for um in reading["limits_um"]))
        rows.append((f"limits {reading['class']}", sizes))
    return rows


def _deep_rows(reading: Reading) -> list[Row]:
    """First peck; with a depth the pecks and what depth takes off speed and feed."""
    rows = _lengths(reading, "first peck")
    if reading.get("depth_mm") is None:
        return rows
    if reading["operation"] == "drill":
        pecks = ", ".join(f"{each:g}" for each in reading["pecks_mm"])
        rows.append(("pecks to", f"{pecks} mm" if pecks else "none: one go"))
    if reading["deep_speed_share"] < 1:
        speed, feed = reading["deep_speed_share"], reading["deep_feed_share"]
        rows.append(("for the depth", f"speed x {speed:g} and feed x {feed:g}, taken off above"))
    return rows


def title_of(reading: Reading) -> str:
    kind, name = reading["kind"], reading.get("designation")
    if kind == "cut":
        material = f" in {reading['material']}" if reading["material"] else ""
        carbide = ", solid carbide" if "carbide" in reading["tool"] else ""
        return f"{reading['operation']} {name}{material}{carbide}"
    if kind in ("fit", "pair"):
        classes = reading["class"] if kind == "fit" else f"{reading['hole']}/{reading['shaft']}"
        return f"{reading['size_mm']:g} {classes}"
    if kind == "sum":
        return str(reading["sum"]).replace("-", " ")
    return {
        "tapping drills": f"{name}, {reading.get('percent', 0):g} % thread by "
        f"{reading.get('convention')}{'' if reading.get('convention') == 'full form' else ' P'}",
        "purpose": f"{name} {reading.get('size_mm', 0):g} mm",
        "engagement": f"{name} in {reading.get('material')}",
        "drill": f"{name} drill",
        "hole": f"{name}: the hole",
    }.get(kind, str(name))


ROWS: dict[str, Callable[[Reading], list[Row]]] = {
    "thread": _thread_rows,
    "tapping drills": _tapping_rows,
    "clearance": _hole_rows,
    "engagement": _engagement_rows,
    "drill": _drill_rows,
    "centre drill": _centre_drill_rows,
    "hole": _made_rows,
    "fit": _fit_rows,
    "pair": _pair_rows,
    "purpose": _purpose_rows,
    "dowel pin": _dowel_rows,
    "inch dowel pin": lambda reading: [
        *_lengths(reading, "diameter"),
        ("made to", _inwards(reading["least_mm"], reading["greatest_mm"])),
    ],
    "spring pin": _spring_pin_rows,
    "taper pin": _taper_pin_rows,
    "grub screw": _grub_rows,
    "taper pipe thread": _pipe_rows,
    "screw head": _head_rows,
    "nut": lambda reading: _lengths(reading, "across flats", "across corners", "height"),
    "washer": lambda reading: _lengths(reading, "hole", "outside", "thickness"),
    "material": _material_rows,
    "cut": _cut_rows,
    "sum": sum_rows,
}
