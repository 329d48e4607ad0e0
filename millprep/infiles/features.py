"""What a hole is: its kind and size, what is cut round its mouths, its limits of size.

Reads one hole's table, defaults merged in, and knows nothing of where the hole is. Every function
raises WordError for what contradicts itself or is in no table.
"""

from __future__ import annotations

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.infiles.part_schema import CountersinkTable, HoleTable, MouthTable, RecessTable
from millprep.infiles.part_words import Depth
from millprep.infiles.wording import UnknownWordError, given_words
from millprep.model.kinds import HOLE_KINDS, HoleKind
from millprep.model.part import Countersink, Mouth, Opened, Recess
from millprep.reference.drills import Drill
from millprep.reference.threads import Thread
from millprep.sizes import read_clear, read_fit

_AGREES_MM = 0.01  # drawings round a thread's size so: 4.83 for the 4.826 of #10
SPOTFACE_DEPTH_MM = 0.5  # "to clean up": common practice, said in a note wherever it is used

PIN_FITS = {"press": "H7", "slide": "G7", "pivot": "H8"}
"""Hole for a pin by its purpose, ISO 286 hole-basis practice: an m6 dowel in H7 is a light press
(transition) fit, an h6 pin in G7 slides, an f7 pin in H8 runs as a pivot. Each can be had with a
reamer on size; F7 for an h6 pin could not. Common practice."""


@frozen
class What:
    """Kind and size of a hole."""

    kind: HoleKind
    words: str
    diameter_mm: float
    thread: Thread | None = None
    screw: str = ""

    @property
    def stem(self) -> str:
        """How a hole without a name is called, its letter left out: "M4 tapped", "M5 clear"."""
        return f"{self.screw or self.words} {self.kind.done}"


def what_of(table: HoleTable, units: Units) -> What:
    """The one kind of hole that the table names."""
    given = [word for word in HOLE_KINDS if getattr(table, word) is not None]
    if len(given) != 1:
        said = given_words(given, "it does not say what the hole is")
        remedy = f"give exactly one of {', '.join(HOLE_KINDS)}"
        if not given and table.diameter is not None:
            remedy = f'write drill = "{size_words(table.diameter, units)}", or ream, bore ...'
        raise WordError(said, remedy)
    kind = HOLE_KINDS[given[0]]
    if table.tap is not None:
        return What(kind, table.tap.designation, table.tap.major_mm, table.tap)
    if table.clear is not None:
        words, diameter = _clearance(table.clear, units, table)
        screw = " ".join(table.clear.split()) if isinstance(table.clear, str) else ""
        return What(kind, words, diameter, screw=screw)
    size: Drill = getattr(table, kind.word)
    return What(kind, size.designation, size.diameter_mm)


def refuse_another_size(table: HoleTable, what: What, units: Units) -> None:
    """A size that the hole's own word has given already may stand beside it, if it is the same."""
    thread = what.thread
    pitch_mm = None if thread is None else thread.pitch_mm
    sizes = ("diameter", table.diameter, what.diameter_mm), ("pitch", table.pitch, pitch_mm)
    for key, given_mm, right_mm in sizes:
        if given_mm is None or (right_mm is not None and abs(given_mm - right_mm) < _AGREES_MM):
            continue
        given = f"{key} {size_words(given_mm, units)}"
        if right_mm is None:
            raise WordError(f"{given} on a hole without a thread", f"leave {key} out", (key,))
        its = f"clear {what.screw} makes a hole of" if what.screw else f"{what.kind.word} is"
        if thread is not None:
            its = f"that of {what.words} is"
        message = f"{given}, but {its} {size_words(right_mm, units)}"
        raise WordError(message, f"leave {key} out, or mend {what.kind.word}", (key,))


def mouth_of(table: MouthTable | None, hole: What, units: Units) -> Mouth:
    """What is cut round one end of the hole."""
    if table is None:
        return Mouth()
    mouth = Mouth(
        counterbore=_recess(table.counterbore, units),
        countersink=_countersink(table.countersink, units),
        spotface=_recess(table.spotface, units),
    )
    if mouth.counterbore is not None and mouth.spotface is not None:
        raise WordError("counterbore and spotface at one mouth", "give one of the two")
    wide, other = hole.diameter_mm, "the hole"
    for name in ("counterbore", "spotface", "countersink"):
        cut: Recess | Countersink | None = getattr(mouth, name)
        if cut is not None:
            _refuse_smaller(name, cut.diameter_mm, wide, other, units)
            wide, other = cut.diameter_mm, f"the {name}"
    return mouth


def opened_of(table: HoleTable, hole: What, units: Units) -> tuple[Opened, ...]:
    """The larger lengths of the hole from its face on, the shallowest and widest first."""
    steps = []
    for step in table.opened:
        if (step.clear is None) == (step.diameter is None):
            raise WordError(
                "a length of opened has one size",
                'write { clear = "M5", depth = 12 } or { diameter = 5.5, depth = 12 }',
            )
        if step.diameter is not None:
            words, diameter = step.diameter.designation, step.diameter.diameter_mm
        else:
            words, diameter = _clearance(step.clear, units, table)
        steps.append(Opened(diameter, step.depth, words))
    steps.sort(key=lambda step: step.depth_mm)
    inner = [*(step.diameter_mm for step in steps[1:]), hole.diameter_mm]
    for opened, inside in zip(steps, inner, strict=False):  # inner ends in the hole itself
        _refuse_smaller("opened", opened.diameter_mm, inside, "what is below it", units)
    return tuple(steps)


def limits_of(
    table: HoleTable, hole: What, units: Units
) -> tuple[str | None, tuple[float, float] | None]:
    """The fit's name and the deviations (lower, upper) from the size [um], where any are given."""
    given = [key for key in ("fit", "pin", "limits") if getattr(table, key) is not None]
    if not given:
        return None, None
    if not hole.kind.takes_limits:
        what = f"{' and '.join(given)} on a hole to {hole.kind}"
        raise WordError(what, "limits are for ream, bore and drill")
    if len(given) > 1:
        raise WordError(given_words(given, ""), "give one of fit, pin, limits")
    if table.limits is not None:
        return None, _deviations_um(table.limits, hole.diameter_mm, units)
    fit = table.fit if table.fit is not None else PIN_FITS[table.pin or ""]
    try:
        return fit, read_fit(fit, hole.diameter_mm)
    except WordError as error:
        raise UnknownWordError(f"{given[0]}: {error.message}", error.remedy) from None


def _clearance(screw: object, units: Units, table: HoleTable) -> tuple[str, float]:
    """Size and diameter [mm] of the clearance hole for a screw."""
    try:
        return read_clear(screw, units, table.clearance)
    except WordError as error:
        raise UnknownWordError(f"clear: {error.message}", error.remedy) from None


def _deviations_um(
    limits_mm: tuple[float, float], diameter_mm: float, units: Units
) -> tuple[float, float]:
    """Deviations from limits given as such ([0, 0.012]) or as sizes ([6, 6.012])."""
    lower, upper = limits_mm
    if lower > diameter_mm / 2:  # no deviation is as large as half the hole
        lower, upper = lower - diameter_mm, upper - diameter_mm
    if max(abs(lower), abs(upper)) > diameter_mm / 4:
        raise WordError(
            f"limits do not belong to {size_words(diameter_mm, units)}",
            "give deviations, [0, 0.012], or both sizes, [6, 6.012]",
        )
    return round(lower * 1000, 6), round(upper * 1000, 6)


def _recess(table: RecessTable | None, units: Units) -> Recess | None:
    if table is None:
        return None
    words = table.words or size_words(table.diameter, units)
    return Recess(table.diameter, _depth_mm(table), words)


def _depth_mm(table: RecessTable) -> float:
    return SPOTFACE_DEPTH_MM if table.depth is None else table.depth


def _countersink(table: CountersinkTable | None, units: Units) -> Countersink | None:
    if table is None:
        return None
    words = f"{size_words(table.diameter, units)} x {table.angle:g} deg"
    return Countersink(table.diameter, table.angle, table.words or words)


def _refuse_smaller(name: str, diameter_mm: float, least_mm: float, of: str, units: Units) -> None:
    if diameter_mm <= least_mm:
        raise WordError(
            f"{name} {size_words(diameter_mm, units)} is not wider than {of}, "
            f"{size_words(least_mm, units)}",
            f"give a diameter above {size_words(least_mm, units)}",
        )


def size_words(length_mm: float, units: Units) -> str:
    """A length as a message shows it: "8 mm", "0.315 in"."""
    if units == "inch":
        return f"{length_mm / 25.4:.4f}".rstrip("0").rstrip(".") + " in"
    return f"{length_mm:.3f}".rstrip("0").rstrip(".") + " mm"


def refuse_depths(table: HoleTable, depth: Depth, units: Units) -> None:
    """What needs a hole through and through, and what cannot be deeper than the hole."""
    for key in ("from_both_ends", "far"):
        if getattr(table, key) and not depth.is_through:
            raise WordError(f"{key} on a hole that is not through", 'give depth = "through"')
    if depth.length_mm is None:
        if table.drill_depth is not None and depth.is_through:
            raise WordError("drill_depth on a hole that is through", "leave drill_depth out")
        return
    whole = size_words(depth.length_mm, units)
    if table.drill_depth is not None and table.drill_depth < depth.length_mm:
        raise WordError(
            f"drill_depth {size_words(table.drill_depth, units)} is less than depth {whole}",
            "the drill goes at least as deep as the finished hole",
        )
    recesses = (("counterbore", table.counterbore), ("spotface", table.spotface))
    inner = [(key, _depth_mm(each)) for key, each in recesses if each is not None]
    inner += [("opened", step.depth) for step in table.opened]
    for key, inner_mm in inner:
        if inner_mm >= depth.length_mm:
            raise WordError(
                f"{key} {size_words(inner_mm, units)} deep in a hole {whole} deep",
                "all depths count from the face, and the hole's own is the deepest",
            )
