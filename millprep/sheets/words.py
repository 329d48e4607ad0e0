"""The words of a sheet beside its figures: tools, places, what to touch, look at and lock.

How the part is set up is in `setting_words`, how zero is found in `zero_words`. Sentences are those
of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from millprep.base.units import Units, in_units
from millprep.model.part import Face, Hole, Part
from millprep.model.tools import Reamer, Tap, Tool
from millprep.planning import Operation
from millprep.planning.blunders import Measure, Slip
from millprep.planning.sides import thin_sides
from millprep.setting.holding import faces_along
from millprep.setting.setups import Setup
from millprep.sheets.document import Column, Row, Sayer, Sentence, Shown, Table
from millprep.sheets.figures import Figures

_SLIPS: dict[Slip, str] = {
    "finder's radius forgotten": "radius-left-out",
    "finder's radius the wrong way": "radius-wrong-way",
    "wrong edge or mirrored": "wrong-edge",
    "one turn of the handle out": "one-turn",
    "readout in the other unit": "other-unit",
}
_HEADS: dict[Slip, str] = {
    "finder's radius forgotten": "finder left out",
    "finder's radius the wrong way": "wrong way",
    "wrong edge or mirrored": "wrong edge",
    "one turn of the handle out": "one turn",
    "readout in the other unit": "other unit",
}
_MOST_SLIPS = 3  # beside more of them heads are short
_WIDTH, _APART = 80 - 4, 2  # of a table of figures to check, and between its columns
_LEAST_NAME = len("    measure")  # a label stands before its head
_SAME_MM = 1e-6  # a last bit must not change the choice
_MOST_NAMES = 3  # more are told by the first and a count

_say = Sayer("setting")


def tool_line(tool: Tool) -> str:
    """A tool in full: kind, size as named, size in mm, and what its end looks like."""
    size = f"{tool.diameter_mm:.3f}".rstrip("0").rstrip(".") if tool.diameter_mm else "?"
    parts = [f"{tool.kind} {tool.words}"]
    if tool.words != f"{size} mm":
        parts.append(f"{size} mm")
    units = {"point": "deg", "lead": "threads" if isinstance(tool, Tap) else "mm"}
    for word, value in tool.told.items():
        digits = f"{value:.4f}".rstrip("0").rstrip(".") if word == "pitch" else f"{value:g}"
        parts.append(f"{word} {digits} {units.get(word, 'mm')}")
    if isinstance(tool, Tap) and tool.is_left_hand:
        parts.append("left hand")
    if isinstance(tool, Reamer) and tool.is_hand:
        parts.append("for the hand")
    return ", ".join(parts)


def stock_words(part: Part, figures: Figures) -> str:
    """Material and size as they lie on the bench."""
    return f"{part.material}, {stock_size(part, figures)}"


def stock_size(part: Part, figures: Figures, diameter: str = "dia ") -> str:
    """Size of the blank as it lies on the bench; `diameter` is how that is written."""
    stock = part.stock
    sizes = [figures.size(size) for size in stock.size_mm]
    if stock.axis is None:
        words = " x ".join(sizes)
    else:
        across = 1 if stock.axis == 0 else 0
        words = f"{diameter}{sizes[across]} x {sizes[stock.axis]}"
        if stock.bore_mm is not None:
            words += f" with a bore of {figures.size(stock.bore_mm)}"
    measured = " (as measured)" if stock.size_mm != stock.nominal_mm else ""
    return f"{words} {figures.unit}{measured}"


def first_members(operations: Sequence[Operation]) -> list[Operation]:
    """The first member of each pattern."""
    firsts: dict[str, Operation] = {}
    for operation in operations:
        known = firsts.get(operation.hole.group)
        if known is None or (operation.hole.member or 0) < (known.hole.member or 0):
            firsts[operation.hole.group] = operation
    return list(firsts.values())


def place_sentence(part: Part, hole: Hole, figures: Figures) -> Sentence | None:
    """A pattern with a tolerance of its own, or a note of the file's; None without."""
    slots = _held_to(part, hole, figures)
    if all(value is None for value in slots.values()):
        return None
    return _say("place", pattern=hole.group, **slots)


def _held_to(part: Part, hole: Hole, figures: Figures) -> dict[str, Any]:
    zone, tolerance = hole.position_mm, hole.tolerance_mm
    is_own = zone is None and tolerance not in (None, part.general_tolerance_mm)
    return {
        "zone": None if zone is None else Shown(figures.size(zone), zone),
        "tolerance": Shown(figures.size(tolerance), tolerance) if is_own and tolerance else None,
        "note": hole.note or None,
    }


def place_facts(part: Part, setup: Setup, operation: Operation, figures: Figures) -> dict[str, Any]:
    """For JSON: how far a hole is from the faces of zero, how true it has to be, and its note."""
    held_to = _held_to(part, operation.hole, figures)
    return {
        "hole": operation.hole.name,
        "distances": [_from_face(setup, operation, axis, figures) for axis in (0, 1)],
        **_by_name("zone", held_to["zone"]),
        **_by_name("tolerance", held_to["tolerance"]),
        "note": held_to["note"],
    }


def _by_name(name: str, shown: Shown | None) -> dict[str, Any]:
    """A length as a sheet shows it, and exact; None where there is none."""
    if shown is None or shown.exact_mm is None:
        return {name: None}
    return {name: float(shown.text), f"{name}_exact_mm": round(shown.exact_mm, 6)}


def _from_face(setup: Setup, operation: Operation, axis: int, figures: Figures) -> dict[str, Any]:
    at = (operation.x_mm, operation.y_mm)[axis]
    zero = (setup.zero_x, setup.zero_y)[axis]
    low_face, high_face = faces_along(setup, axis)
    if zero == "centre" and figures.shown(at) == 0:
        return {"at": None, "from": "between", "face": low_face, "other": high_face}
    face = (high_face if at > 0 else low_face) if zero == "centre" else zero
    shown = Shown(figures.words(at), abs(at))
    way = "centre" if zero == "centre" else "face"
    return {**_by_name("at", shown), "from": way, "face": face, "other": None}


def scrap_lines(
    operations: Sequence[Operation], part: Part, setup: Setup, figures: Figures
) -> list[Sentence]:
    """What has to be backed where a wall is meant to be so thin that a tool would break out."""
    cut = [o for o in operations if o.name not in _LEAVE_WALLS and o.hole.face == setup.face]
    holes: dict[tuple[str, Shown], list[str]] = {}
    for hole in {o.hole.name: o.hole for o in cut}.values():
        for one in thin_sides(part.stock, hole):
            wall = Shown(f"{figures.size(one.wall_mm)} {figures.unit}", one.wall_mm)
            holes.setdefault((one.side, wall), []).append(hole.name)
    pecks = "short" if any(o.name in ("pilot drill", "drill") for o in cut) else None
    return [
        _say("thin-side", **_side(side), thin_mm=wall, thin_holes=names, thin_pecks=pecks)
        for (side, wall), names in holes.items()
    ]


_LEAVE_WALLS = ("spot drill", "tap")


def _side(side: str) -> Mapping[str, str]:
    is_round = side.startswith("the ")
    return {"thin_round": side[4:]} if is_round else {"thin_face": side.lower()}


def hand_line(operations: Sequence[Operation]) -> Sentence | None:
    """How a reamer for the hand is turned."""
    by_hand = any(operation.name == "ream" and operation.by_hand for operation in operations)
    return _say("hand-reamed", also={"say": ["hand-reamed"]}) if by_hand else None


def run_back_line(operation: Operation, *, is_told: bool) -> Sentence | None:
    """How a tap is turned back and a reamer withdrawn; is_told : the tap's beside its turns."""
    if operation.name == "ream":
        return _say("withdraw")
    return _say("turn-back") if operation.name == "tap" and not is_told else None


def lock_line(operations: Sequence[Operation]) -> Sentence | None:
    """Reamed and bored holes want a table that cannot creep."""
    names = list(dict.fromkeys(o.hole.name for o in operations if o.is_true))
    if not names:
        return None
    done = next(o.hole.kind.done for o in operations if o.is_true)
    if len(names) == 1:
        return _say("lock-at", lock_hole=names[0], lock_done=done)
    return _say("lock-each", lock_count=len(names), lock_done=done)


def look_line(operations: Sequence[Operation], setup: Setup, figures: Figures) -> Sentence:
    """After spotting, or the first drilling: how many there are, and one distance by rule."""
    first = operations[0]
    slots: dict[str, Any] = {
        "count": len(operations),
        "what": "spot" if first.name == "spot drill" else "hole",
        "hole": first.hole.name,
    }
    places = np.array([[o.x_mm, o.y_mm] for o in operations])
    apart = np.hypot(*(places - places[0]).T)
    far = int(np.argmax(apart))
    if apart[far] > 1e-6:
        distance = by_rule(float(apart[far]), figures)
        return _say("look-apart", other=operations[far].hole.name, apart=distance, **slots)
    (face, distance), _ = nearest_faces(setup, first, figures)
    return _say("look-face", face=face, apart=distance, **slots)


def nearest_faces(
    setup: Setup, operation: Operation, figures: Figures
) -> tuple[tuple[Face, str], tuple[Face, str]]:
    """A hole's distances from the two faces that a rule finds nearest, one an axis."""
    x, y = (
        _nearest_face(setup, axis, at_mm, figures)
        for axis, at_mm in enumerate((operation.x_mm, operation.y_mm))
    )
    return x, y


def _nearest_face(setup: Setup, axis: int, at_mm: float, figures: Figures) -> tuple[Face, str]:
    low, high = faces_along(setup, axis)
    from_low, from_high = at_mm - setup.low_mm[axis], setup.high_mm[axis] - at_mm
    is_low = from_low <= from_high + _SAME_MM
    face, distance = (low, from_low) if is_low else (high, from_high)
    return face, by_rule(distance, figures)


def by_rule(distance_mm: float, figures: Figures) -> str:
    """As a rule shows it: tenths of a millimetre, or the nearest 1/64 in."""
    if figures.units == "inch":
        return f"{_sixty_fourths(distance_mm)} in"
    return f"{distance_mm:.1f} mm"


def _sixty_fourths(distance_mm: float) -> str:
    whole, part = divmod(round(distance_mm / 25.4 * 64), 64)
    if not part:
        return str(whole)
    fraction = Fraction(part, 64)
    return f"{whole} {fraction}" if whole else str(fraction)


def size_lines(
    operations: Sequence[Operation], figures: Figures, *, apart: bool = False
) -> list[Sentence]:
    """What the finished size must be: limits of a bore, width of a cone, meeting from both ends.

    The holes are named where not all are to be alike. apart : a sentence a width
    """
    said: dict[str, Sentence] = {}
    names: dict[str, list[str]] = {}
    for operation in operations:
        for sentence in _size_words(operation, figures):
            said.setdefault(str(sentence), sentence)
            names.setdefault(str(sentence), []).append(operation.hole.name)
    if len(said) > 1:
        sized = [_say(one.slug, **one.slots, **_of(names[words])) for words, one in said.items()]
    else:
        sized = list(said.values())
    return [*sized, *_widths(operations, figures, apart=apart)]


def _of(names: Sequence[str]) -> Mapping[str, Any]:
    unique = list(dict.fromkeys(names))
    if len(unique) <= _MOST_NAMES:
        return {"holes": unique}
    return {"hole": unique[0], "more": len(unique) - 1}


def _size_words(operation: Operation, figures: Figures) -> Iterator[Sentence]:
    hole = operation.hole
    if operation.is_finish and hole.limits_um is not None:
        least, most = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
        yield _say(
            "size-limits",
            least=Shown(figures.limit(least), least),
            most=Shown(figures.limit(most), most),
            fit=hole.fit or None,
        )
    if operation.name == "drill" and hole.from_both_ends:
        yield _say("size-half")


def _widths(operations: Sequence[Operation], figures: Figures, *, apart: bool) -> list[Sentence]:
    """How wide spots open, and countersinks; of which holes, where not all are alike."""
    cuts: dict[str, list[Operation]] = {}
    for one in operations:
        if one.cone_mm is not None:
            cut = "spot" if one.name == "spot drill" else "countersink"
            cuts.setdefault(cut, []).append(one)
    widths = {cut: _widths_of(ones, figures) for cut, ones in cuts.items()}
    if apart:
        return [_say("size-opens", cut=cut, widths=[one]) for cut in widths for one in widths[cut]]
    return [_say("size-opens", cut=cut, widths=several) for cut, several in widths.items()]


def _widths_of(operations: Sequence[Operation], figures: Figures) -> list[Mapping[str, Any]]:
    """By the names of their patterns, where those are whole, or of up to three holes; else by the
    first and how many more."""
    alike: dict[Shown, list[Operation]] = {}
    for one in operations:
        wide_mm = round(one.cone_mm or 0.0, 2)
        alike.setdefault(Shown(figures.size(wide_mm), wide_mm), []).append(one)
    widths: list[Mapping[str, Any]] = []
    for wide, ones in alike.items():
        names = list(dict.fromkeys(one.hole.name for one in ones))
        groups = list(dict.fromkeys(one.hole.group for one in ones))
        others = {one.hole.group for one in operations if one not in ones}
        told: dict[str, Any] = {"also": {"holes": None, "hole": None, "more": None}}
        if len(alike) > 1:
            told["also"] |= _of(names)
            if others.isdisjoint(groups) and len(groups) <= _MOST_NAMES:
                told["of"] = groups
            elif len(names) <= _MOST_NAMES:
                told["of"] = names
            else:
                told |= {"first": names[0], "others": len(names) - 1}
        widths.append({"opens_mm": wide, **told})
    return widths


def measure_line(step: int) -> Sentence:
    """Where a hole is finished before the next: after which step the first spot is measured."""
    return _say("measure", measure_step=step)


def check_table(
    measures: Sequence[Measure], units: Units, whole: Sequence[Measure]
) -> Table | None:
    """What a calliper reads on the first spots, and after each slip that one of them tells.

    whole : the same as JSON has them
    """
    if not measures:
        return None
    told = {slip for measure in measures for _, slip in measure.readings}
    slips = [slip for slip in _SLIPS if slip in told]
    heads = {_column(slip): _HEADS[slip] for slip in slips}
    if len(heads) > _MOST_SLIPS and "radius_left_out" in heads:
        heads["radius_left_out"] = "no finder"
    head = _say("check head", **heads)
    pairs = zip(measures, whole, strict=True)
    rows = tuple(_check_row(measure, slips, units, named) for measure, named in pairs)
    cells = [[cell for cell in one.cells if cell] for one in (head, *(row.cells for row in rows))]
    name, *figures = (max(map(len, column)) for column in zip(*cells, strict=True))
    name = max(name, _LEAST_NAME)
    room = _WIDTH - sum(wide + _APART for wide in figures)
    columns = (Column(min(name, room)), *(Column(wide, right=True, gap=_APART) for wide in figures))
    return Table("check", head, rows, columns, boxes=False)


def _column(slip: Slip) -> str:
    return _SLIPS[slip].replace("-", "_")


def _check_row(measure: Measure, slips: Sequence[Slip], units: Units, whole: Measure) -> Row:
    """A dash where a slip would not show; JSON has the readings by the name of the slip."""
    meanings, named = _meanings(measure, units), _meanings(whole, units)
    ends = {"from": measure.hole, "to": measure.other}
    if measure.face is not None:
        ends = {"from": measure.face, "to": measure.hole}
    cells = _say(
        "check holes" if measure.face is None else "check face",
        **ends,
        right=Shown(_by_calliper(measure.right_mm, units), measure.right_mm),
        **{_column(slip): "/".join(meanings.get(_SLIPS[slip], ["-"])) for slip in slips},
    )
    by_name = {slip: [float(one) for one in values] for slip, values in named.items()}
    return Row(
        cells,
        also={
            "axis": None if measure.face is None else "xy"[measure.axis],
            "readings": [{"values": values, "slip": slip} for slip, values in by_name.items()],
            "slips": {slip: one[0] if len(one) == 1 else one for slip, one in by_name.items()},
        },
    )


def _meanings(measure: Measure, units: Units) -> dict[str, list[str]]:
    """What it reads after each slip."""
    meanings: dict[str, list[str]] = {}
    for reading, slip in measure.readings:
        value, meaning = _by_calliper(reading, units), meanings.setdefault(_SLIPS[slip], [])
        if value not in meaning:
            meaning.append(value)
    return meanings


def _by_calliper(value_mm: float, units: Units) -> str:
    """To what a calliper on a spot is good for."""
    return f"{in_units(value_mm, units):.{1 if units == 'mm' else 2}f}"
