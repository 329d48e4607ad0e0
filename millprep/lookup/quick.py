"""Quick sums of the bench as readings: {"sum", "given", "result"}, each with its formula.

The sums themselves are in the room of sums; here words become their arguments, and a small drawing
goes with what has places. Imports layers 0 to 3.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from typing import Any

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length
from millprep.lookup.bag import Bag, length_mm
from millprep.lookup.readings import SPEED_FORMULA, Reading, percents
from millprep.lookup.screws import threads_of
from millprep.reference.drills import fraction_words, nearest_drills
from millprep.reference.threads import CONVENTIONS
from millprep.sums import bench
from millprep.sums.cutting import cone_depth_mm, ideal_rpm

MOST_HOLES = bench.MOST_POINTS
_RATIOS = (40.0, 60.0, 90.0)  # of worms; 40 in dividing heads, 60 and 90 in rotary tables
_USUAL_ANGLE_DEG, _POINT_DEG = 90.0, 118.0  # of countersinks, and of the points of drills


def _sum(
    slug: str, formula: str, given: dict[str, Any], result: dict[str, Any], note: str = ""
) -> list[Reading]:
    """A sum as the one reading of its list."""
    return [
        {
            "kind": "sum",
            "sum": slug,
            "given": given,
            "result": result,
            "formula": formula,
            "note": note,
            "source": f"by formula: {formula}",
            "source_short": "by formula",
        }
    ]


def _places(points: Sequence[bench.Point]) -> list[list[float]]:
    return [[round(x, 6) + 0.0, round(y, 6) + 0.0] for x, y in points]


def _counted(count: int, remedy: str) -> int:
    if not 1 <= count <= MOST_HOLES:
        raise WordError(f"{count} holes are not set out here", remedy)
    return count


def _holes_and_size(bag: Bag, remedy: str) -> tuple[int, float]:
    """How many holes, and the size or radius [mm]: "6 holes on 50", "6 on 50", "6 radius 25"."""
    sizes = [each.words for each in bag.all("size")]
    sizes += [bag.value("radius")] if bag.has("radius") else []
    count = bag.value("holes", bag.value("divisions"))
    if count is None and len(sizes) > 1 and sizes[0].isdigit():
        count = int(sizes.pop(0))
    if count is None or not sizes:
        raise WordError("how many holes, and on what size?", remedy)
    return _counted(count, remedy), length_mm(sizes[-1 if bag.has("radius") else 0], bag.units)


def _centre(bag: Bag) -> bench.Point:
    """A place is in the units of bare numbers."""
    x, y = bag.value("point", (0.0, 0.0))
    return length_mm(f"{x:g}", bag.units), length_mm(f"{y:g}", bag.units)


# --- places ---------------------------------------------------------------------------------------


def circle(bag: Bag) -> list[Reading]:
    """Holes on a bolt circle."""
    count, across_mm = _holes_and_size(bag, 'write "bolt circle 6 on 50"')
    circle_mm = 2 * across_mm if bag.has("radius") else across_mm
    start, centre = bag.value("start", bag.value("angle", 0.0)), _centre(bag)
    result = {
        "points_mm": _places(bench.on_circle(count, circle_mm, start, centre)),
        "chord_mm": round(bench.chord_mm(count, circle_mm), 6),
        "step_deg": round(360 / count, 6),
    }
    formula = "x = D/2 cos a, y = D/2 sin a, a = start + 360 k/n; chord = D sin(180/n)"
    given = {"holes": count, "circle_mm": circle_mm, "start_deg": start, "centre_mm": [*centre]}
    return _sum("bolt-circle", formula, given, result)


def arc(bag: Bag) -> list[Reading]:
    """Holes along an arc, both ends included."""
    remedy = 'write "arc 5 holes radius 30 from 0 to 90"'
    if not bag.has("sweep"):
        raise WordError("an arc goes from an angle to an angle", remedy)
    count, radius_mm = _holes_and_size(bag, remedy)
    (start, end), centre = bag.value("sweep"), _centre(bag)
    points = bench.on_arc(count, radius_mm, start, end, centre)
    step = (end - start) / max(count - 1, 1)
    result = {"points_mm": _places(points), "step_deg": round(step, 6)}
    formula = "x = R cos a, y = R sin a, a = from + (to - from) k/(n - 1)"
    given = {"holes": count, "radius_mm": radius_mm, "from_deg": start, "to_deg": end}
    return _sum("arc", formula, {**given, "centre_mm": [*centre]}, result)


def grid(bag: Bag) -> list[Reading]:
    """Holes in columns and rows: "grid 3 x 2 pitch 20", "grid 3 x 2 25 x 40"."""
    remedy = 'write "grid 3 x 2 pitch 20", columns first'
    counts, *more = [each.value for each in bag.all("by")] or [("", "")]
    if bag.has("columns") and bag.has("rows"):
        more = [each.value for each in bag.all("by")]
        counts = (str(bag.value("columns")), str(bag.value("rows")))
    if not all(each.isdigit() for each in counts):
        raise WordError("how many columns and rows?", remedy)
    columns, rows = map(int, counts)
    _counted(columns * rows, remedy)
    if more:
        pitch_x_mm, pitch_y_mm = (length_mm(each, bag.units) for each in more[0])
    else:
        pitch_x_mm = bag.mm()
        pitch_y_mm = bag.mm("size", 1) if len(bag.all("size")) > 1 else pitch_x_mm
    start = _centre(bag)
    points = bench.on_grid(columns, rows, pitch_x_mm, pitch_y_mm, start)
    given = {"columns": columns, "rows": rows, "pitch_x_mm": pitch_x_mm, "pitch_y_mm": pitch_y_mm}
    formula, result = "x = x0 + i px, y = y0 + j py", {"points_mm": _places(points)}
    return _sum("grid", formula, {**given, "start_mm": [*start]}, result)


def three_points(bag: Bag) -> list[Reading]:
    """Centre and diameter from three readings of the spindle with a finder against a round."""
    remedy = 'write "centre from 40,10 20,30 0,10 outside finder 10"'
    points = [each.value for each in bag.all("point")]
    if len(points) != 3:
        raise WordError("a circle is told by three points", remedy)
    if bag.has("inside", "bore") == bag.has("outside"):
        raise WordError("touched inside a bore, or outside a boss?", remedy)
    if not bag.has("finder") and not bag.has("size"):
        raise WordError("the finder's diameter is wanted: it is never guessed", remedy)
    finder_mm = length_mm(bag.value("finder"), bag.units) if bag.has("finder") else bag.mm()
    in_mm = [(length_mm(f"{x:g}", bag.units), length_mm(f"{y:g}", bag.units)) for x, y in points]
    found = bench.through_three(in_mm)
    side = "outside" if bag.has("outside") else "inside"
    diameter_mm = found.diameter_mm + (finder_mm if side == "inside" else -finder_mm)
    if diameter_mm <= 0:
        raise WordError(f"a finder of {finder_mm:g} mm leaves no round there", remedy)
    note = ""
    if found.span_deg < bench.LEAST_SPAN_DEG:
        note = (
            f"the points lie within {found.span_deg:.0f} degrees: 0.01 off at one of them moves "
            "the centre by many times that; touch farther round"
        )
    result = {
        "centre_mm": _places([found.centre])[0],
        "diameter_mm": round(diameter_mm, 6),
        "span_deg": round(found.span_deg, 3),
    }
    formula = "the circle through the three readings; diameter less the finder outside, plus inside"
    given = {"points_mm": [list(each) for each in in_mm], "side": side, "finder_mm": finder_mm}
    return _sum("three-points", formula, given, result, note)


# --- angles ---------------------------------------------------------------------------------------


def sine(bag: Bag) -> list[Reading]:
    """The stack under a sine bar."""
    sizes, angle = bag.all("size"), bag.value("angle")
    if angle is None:  # of two figures the bare one, or the second, is the angle
        bare = [each for each in reversed(sizes) if "number" in each.kinds]
        if len(sizes) < 2 or not bare:
            raise WordError("at what angle?", 'write "sine bar 100 30 deg"')
        angle = float(bare[0].value)
        sizes.remove(bare[0])
    bar = sizes[0].words
    bar_mm = length_mm(bar, bag.units)
    if not 0 < angle < 90 or bar_mm <= 0:
        raise WordError(
            "a sine bar is set above 0 and below 90 degrees", 'write "sine bar 100 30 deg"'
        )
    stack_mm = bench.sine_stack_mm(bar_mm, angle)
    steep = "above 45 degrees a little off the stack is much off the angle: set the rest of 90"
    note = steep if angle > 45 else ""
    result = {"stack_mm": round(stack_mm, 6)}
    given = {"bar_mm": bar_mm, "angle_deg": round(angle, 6)}
    return _sum("sine-bar", "stack = length x sin(angle)", given, result, note)


def cone(bag: Bag) -> list[Reading]:
    """How deep a spot drill or countersink goes for a cone, or how long a drill's point is."""
    angle = bag.value("angle", _POINT_DEG if bag.has("tip") else _USUAL_ANGLE_DEG)
    if not 10 <= angle <= 170:
        raise WordError(
            f"no countersink is ground to {angle:g} degrees", "write 60, 82, 90 or 118 deg"
        )
    note = "to a sharp tip: a flat of width w takes it (cone - w) deep"
    result = {"depth_mm": round(cone_depth_mm(bag.mm(), angle), 6)}
    given = {"cone_mm": bag.mm(), "angle_deg": angle}
    return _sum("cone-depth", "depth = D/2 / tan(angle/2)", given, result, note)


def dividing(bag: Bag) -> list[Reading]:
    """Turns and spaces on a worm, by the shop's plates where it has some."""
    remedy = 'write "divide 17 40:1", or "index 15 deg 60:1"'
    count = bag.value("divisions") or (bag.all("size") and bag.all("size")[0].value)
    if bag.has("angle"):
        share, given = Fraction(str(bag.value("angle"))) / 360, {"angle_deg": bag.value("angle")}
    elif isinstance(count, int | str) and str(count).isdigit() and 1 <= int(count) <= 10_000:
        share, given = Fraction(1, int(count)), {"divisions": int(count)}
    else:
        raise WordError("into how many, or by what angle?", remedy)
    return [one for head in _heads(bag) for one in _indexed(share, given, *head)]


def _heads(bag: Bag) -> list[tuple[Reading, list[int]]]:
    """What turns the work, and the circles of its plates; any circle if none."""
    named = [bag.value("plate")] if bag.has("plate") else []
    ratio = bag.value("ratio")
    owned = () if bag.shop is None or (named and ratio) else bag.shop().dividing
    fitting = [each for each in owned if ratio is None or each.ratio == ratio]
    if not fitting:
        ratios = _RATIOS if ratio is None else (ratio,)
        return [({"head": None, "ratio": each, "backlash_deg": 0.0}, named) for each in ratios]
    return [
        ({"head": e.name, "ratio": e.ratio, "backlash_deg": e.backlash_deg}, named or e.circles)
        for e in fitting
    ]


def _indexed(share: Fraction, given: Reading, head: Reading, circles: list[int]) -> list[Reading]:
    """One head; where its plates have no such circle, the nearest and how far off it is."""
    ratio = Fraction(str(head["ratio"]))
    turns = ratio * share
    found = bench.cranked(turns, circles or [turns.denominator])
    notes = []
    if not circles and turns.denominator > 1:
        least = turns.denominator
        notes.append(f"on any circle of a multiple of {least}, with as many times the spaces")
    is_exact = bool(found)
    if not found:
        found = [bench.nearest_cranked(turns, circles)]
        near = Fraction(found[0].turns) + Fraction(found[0].spaces, found[0].circle)
        off_deg = float(abs(near - turns) / ratio * 360)
        notes.append(f"no plate has it: the nearest is {off_deg:.4f} degrees off at every setting")
    if head["backlash_deg"]:
        lost = f"{head['backlash_deg']:g} degrees of backlash"
        notes.append(f"{lost}: always turn the same way, and lock")
    best, *others = found
    result = {
        "turns": best.turns,
        "spaces": best.spaces,
        "circle": best.circle,
        "is_exact": is_exact,
        "step_deg": round(float(share * 360), 6),
        "others": [[each.turns, each.spaces, each.circle] for each in others],
    }
    formula = "turns of the crank = ratio / divisions, or ratio x angle / 360"
    given = {**given, **head, "circles": circles}
    return _sum("dividing", formula, given, result, "; ".join(notes))


# --- lengths and speeds ---------------------------------------------------------------------------


def dial_turns(bag: Bag) -> list[Reading]:
    """Turns and divisions of a handle for a length: on the screw named, else on the shop's."""
    remedy = 'write "turns 37.3 mm lead 2.5 100 divisions"'
    length, sizes = bag.mm(), bag.all("size")
    is_inch = re.search(r'in|"', sizes[0].words, re.IGNORECASE)  # and so is a bare lead then
    units: Units = "inch" if is_inch else bag.units
    if bag.has("lead", "tpi") or len(sizes) > 1:
        if bag.has("lead"):
            lead_mm = length_mm(bag.value("lead"), units)
        else:
            lead_mm = (
                25.4 / bag.value("tpi") if bag.has("tpi") else length_mm(sizes[1].words, units)
            )
        if not bag.has("divisions"):
            raise WordError("how many divisions has the dial?", remedy)
        screws = [("", lead_mm, float(bag.value("divisions")))]
    else:
        dials = {} if bag.shop is None else bag.shop().dials
        screws = [
            (axis, dial.lead_mm * (1 + dial.correction_ppm * 1e-6), dial.divisions)
            for axis, dial in dials.items()
        ]
    if not screws or any(lead <= 0 or each < 1 for _, lead, each in screws):
        raise WordError("on which screw?", remedy)
    formula = "divisions = length / lead x divisions of the dial, whole turns taken off"
    readings: dict[tuple[float, float], list[Reading]] = {}
    for axis, lead_mm, divisions in screws:
        turns, left, over_mm = bench.dialled(length, lead_mm, divisions)
        given: Reading = {"length_mm": length, "axis": axis or None, "lead_mm": lead_mm}
        result = {"turns": turns, "divisions": left, "left_over_mm": round(over_mm, 6) + 0.0}
        one = _sum("dial-turns", formula, {**given, "divisions": divisions}, result)
        readings.setdefault((lead_mm, divisions), one)
    return [reading for one in readings.values() for reading in one]


def length(bag: Bag) -> list[Reading]:
    """A length in the other unit, the nearest 64th and the nearest drill."""
    thing = bag.all("length", "number", "fraction")[0]
    to_inch = bag.all("to")[-1].words.casefold().split()[-1]
    is_bare_inch = "number" in thing.kinds and to_inch == "mm"
    mm = length_mm(thing.words, "inch" if is_bare_inch else bag.units)
    inches = Fraction(mm).limit_denominator(10**9) / read_length(1, "inch")
    sixty_fourths = round(inches * 64)
    near = [
        drill
        for pair in nearest_drills(mm).values()
        for drill in pair
        if drill is not None and abs(drill.diameter_mm - mm) < 0.25 * mm
    ]
    drill = min(near, key=lambda each: round(abs(each.diameter_mm - mm), 6), default=None)
    result = {
        "mm": round(mm, 6),
        "in": round(mm / 25.4, 6),
        "nearest_64th": fraction_words(Fraction(sixty_fourths, 64)).removesuffix(" in"),
        "off_mm": round(mm - sixty_fourths * 25.4 / 64, 6) + 0.0,
        "drill": drill.designation if drill else None,
        "drill_mm": round(drill.diameter_mm, 6) if drill else None,
    }
    return _sum("length", "1 in = 25.4 mm exactly", {"words": thing.words}, result)


def spindle_speed(bag: Bag) -> list[Reading]:
    """rev/min for a cutting speed on a diameter."""
    speed, diameter_mm = bag.value("surface"), bag.mm()
    if speed <= 0 or diameter_mm <= 0:
        raise WordError("speed and diameter are above 0", 'write "30 m/min 12 mm"')
    given = {"speed_m_per_min": round(speed, 6), "diameter_mm": round(diameter_mm, 6)}
    result = {"rpm": round(ideal_rpm(speed, diameter_mm))}
    return _sum("speed", SPEED_FORMULA, given, result)


def surface_speed(bag: Bag) -> list[Reading]:
    """The cutting speed of a diameter at a speed of the spindle."""
    revs, diameter_mm = bag.value("revs"), bag.mm()
    if diameter_mm <= 0:
        raise WordError("the diameter is above 0", 'write "500 rpm 20 mm"')
    given = {"rpm": revs, "diameter_mm": round(diameter_mm, 6)}
    result = {"speed_m_per_min": round(revs / ideal_rpm(1.0, diameter_mm), 3)}
    return _sum("surface-speed", "m/min = pi x diameter in mm x rev/min / 1000", given, result)


def feed(bag: Bag) -> list[Reading]:
    """Feed a minute from feed a turn."""
    per_turn, revs = length_mm(bag.value("per-turn"), bag.units), bag.value("revs")
    given = {"feed_mm_per_rev": per_turn, "rpm": revs}
    result = {"feed_mm_per_min": round(per_turn * revs, 3)}
    return _sum("feed", "mm/min = mm a turn x rev/min", given, result)


def percentage_left(bag: Bag) -> list[Reading]:
    """How much of a thread a drill leaves."""
    from millprep.lookup.things import drills_of

    drills = drills_of(bag)[:1]
    formula = f"% = (D - drill) / (1.2269 P); {CONVENTIONS['1.2269']}"
    readings = []
    for drill, thread in product(drills, threads_of(bag)):
        left = percents(thread, drill.diameter_mm)
        if not 0 < left["1.2269"] < 200:
            message = f"{drill.designation} is no tapping drill for {thread.name}"
            raise WordError(message, f'ask for "{thread.name} tap drill"')
        given: Reading = {"thread": thread.designation, "drill": drill.designation}
        given |= {"drill_mm": round(drill.diameter_mm, 6), "convention": "1.2269"}
        result = {"percent": left["1.2269"], "by_convention": left}
        readings += _sum("thread-percentage", formula, given, result)
    return readings


def forming_drill(bag: Bag) -> list[Reading]:
    """The hole before a thread-forming tap: 65 % of a thread.

    Source: Machinery's Handbook, cold-form tapping, from memory: D - 0.0068 P x percent.
    """
    formula = "drill = D - 0.0068 P x 65, for 65 % of a thread (handbook, from memory)"
    note = "only where metal flows, aluminium or mild steel, not cast iron; try it in scrap first"
    readings = []
    for thread in threads_of(bag):
        hole_mm = round(thread.major_mm - 0.0068 * 65 * thread.pitch_mm, 3)
        given = {"thread": thread.designation, "percent": 65}
        readings += _sum("forming-drill", formula, given, {"hole_mm": hole_mm}, note)
    return readings
