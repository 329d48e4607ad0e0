"""The blank of a plan, and where the plan's zero lies on it: by its outline, as given, or guessed.

A guessed blank is marked in the file, and `check` stops at it until somebody has looked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.findings import WordError, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import Units, shown
from millprep.infiles.plans.record import SAME_MM, Outline, Place, Plan, PlanHole, figure

ROUND_HOLES_MM = 10.0
"""What a guessed blank leaves round the holes."""
_ZERO_WORDS = (("left", "right", "centre"), ("front", "back", "centre"))


@frozen
class Blank:
    """The blank in the plan's axes, and how the file counts on it.

    zero_mm : of the file, in the view; signs : which way it counts along each axis of the view
    datum   : the faces that it counts from; is_guessed : nothing on the plan gives it
    turned  : axes along which the plan's figures run against the view, as distances do from RIGHT
    """

    outline: Outline
    zero_mm: Place
    signs: tuple[int, int]
    datum: tuple[str, str]
    is_guessed: bool
    taken: tuple[str, ...]
    turned: tuple[bool, bool] = (False, False)

    def seen(self, hole: PlanHole) -> PlanHole:
        """A hole of the plan in the view; as it was written only where the file counts so too."""
        x, y = (-v if turned else v for v, turned in zip(hole.place, self.turned, strict=True))
        as_written = self.zero_mm == (0.0, 0.0) and all(
            sign == (-1 if turned else 1)
            for sign, turned in zip(self.signs, self.turned, strict=True)
        )
        return replace(hole, x_mm=x, y_mm=y, written=hole.written if as_written else None)

    @property
    def known_block(self) -> Outline | None:
        """The block from whose edges corners may count."""
        return None if self.is_guessed or self.outline.is_round else self.outline

    @property
    def middle_mm(self) -> Place:
        (x1, y1), (x2, y2) = self.outline.low_mm, self.outline.high_mm
        return (x1 + x2) / 2, (y1 + y2) / 2

    def stock_lines(self, units: Units) -> Iterator[str]:
        """Under [stock]."""
        width, depth = (figure(length, units) for length in self.outline.size_mm)
        thick = self.outline.thickness_mm
        height = None if thick is None else figure(thick, units)
        if self.outline.is_round:
            yield f"diameter = {width}"
            yield f"length = {height}" if height else "# length =        # FILL IN: its thickness"
            yield 'axis = "z"'
        elif height:
            yield f"size = [{width}, {depth}, {height}]"
        else:
            size = f"size = [{width}, {depth}]"
            yield f"{size:<32} # FILL IN: a third figure, its thickness"
        if self.is_guessed:
            yield "# The blank is guessed, round the holes. Put in what the drawing says, see that"
            yield "# the figures count from the right edges; check stops until guessed is out."
            yield "guessed = true"


def blank_of(plan: Plan, given: Outline | None, zero: str | None) -> Blank:
    """The blank. given : its size and thickness where they were said; zero : the faces of zero

    Raises MillprepError or WordError where outline, size and zero contradict each other.
    """
    if plan.outline is not None:
        if zero is not None:
            remedy = "leave --zero out: the outline tells where the holes lie"
            raise stopped("contradiction", "the plan has an outline", remedy, file=plan.path)
        return _on_outline(plan, plan.outline, given)
    faces = _zero_words(zero) if zero is not None else None
    if given is None and faces is None and plan.is_drawing:
        return _round_holes(plan)
    if faces is None and plan.is_drawing:
        what = "the drawing has no outline, so nothing tells where it lies on the blank"
        remedy = "say where its zero is: --zero left,front or --zero centre,centre"
        raise stopped("missing-key", what, remedy, file=plan.path)
    spans, datum, turned = [], [], []
    for axis in (0, 1):
        size = None if given is None else given.size_mm[axis]
        is_round = given is not None and given.is_round
        word = _face(plan.holes, axis, is_round) if faces is None else faces[axis]
        low, high, is_turned = _span(plan, axis, word, size)
        spans.append((low, high))
        turned.append(is_turned)
        datum.append(word)
    (x1, x2), (y1, y2) = spans
    outline = Outline(
        (x1, y1),
        (x2, y2),
        given is not None and given.is_round,
        thickness_mm=None if given is None else given.thickness_mm,
    )
    said = f"the figures count from {datum[0].upper()} and {datum[1].upper()}"
    taken = (f"{said}; --zero says another",) if faces is None else (said,)
    signs = [-1 if word in ("right", "back") else 1 for word in datum]
    return Blank(
        outline,
        (0.0, 0.0),
        (signs[0], signs[1]),
        (datum[0], datum[1]),
        given is None,
        taken,
        (turned[0], turned[1]),
    )


def _zero_words(zero: str) -> tuple[str, str]:
    words = [word.strip().lower() for word in zero.split(",")]
    if len(words) != 2 or any(
        word not in known for word, known in zip(words, _ZERO_WORDS, strict=True)
    ):
        remedy = "as --zero left,front (left, right, centre; front, back, centre)"
        raise WordError(f"--zero {shown(zero)} does not name the two faces of zero", remedy)
    return words[0], words[1]


def _on_outline(plan: Plan, outline: Outline, given: Outline | None) -> Blank:
    """Zero stays where the plan has it, where that is a corner or the middle; else the corner."""
    if given is not None:
        same = all(
            abs(a - b) <= SAME_MM for a, b in zip(given.size_mm, outline.size_mm, strict=True)
        )
        if not same or given.is_round != outline.is_round:
            sizes = " x ".join(figure(length, plan.units, 3) for length in outline.size_mm)
            raise stopped(
                "contradiction",
                f"the outline on the plan is {sizes}, and --stock says another size",
                "give the size of the plan, and its thickness; measured = { } is for the real one",
                file=plan.path,
            )
        outline = Outline(
            outline.low_mm,
            outline.high_mm,
            outline.is_round,
            outline.is_box,
            outline.words,
            given.thickness_mm,
        )
    zero, datum = [], []
    for axis, low_face in enumerate(("left", "front")):
        low, high = outline.low_mm[axis], outline.high_mm[axis]
        is_centred = abs(low + high) / 2 <= SAME_MM / 10
        datum.append("centre" if is_centred else low_face)
        zero.append(0.0 if is_centred or abs(low) <= SAME_MM / 10 else low)
    moved = any(zero)
    at = ", ".join(figure(-value, plan.units, 4) for value in zero)
    taken = (f"the plan's own zero lies at {at} from the datum faces",) if moved else ()
    faces = datum[0], datum[1]
    return Blank(outline, (zero[0], zero[1]), (1, 1), faces, False, taken)


def _round_holes(plan: Plan) -> Blank:
    """A drawing without an outline: its zero may lie anywhere, so the blank brings its own."""
    low, high = _box(plan.holes)
    corner = low[0] - ROUND_HOLES_MM, low[1] - ROUND_HOLES_MM
    width, depth = (
        _rounded_up(high[axis] + ROUND_HOLES_MM - corner[axis], plan.units) for axis in (0, 1)
    )
    outline = Outline(corner, (corner[0] + width, corner[1] + depth))
    said = "no outline was found: the blank is guessed, 10 mm round the holes"
    return Blank(outline, outline.low_mm, (1, 1), ("left", "front"), True, (said,))


def _face(holes: Sequence[PlanHole], axis: int, is_round: bool) -> str:
    """Where the zero of a table lies that does not say: no hole lies off the part."""
    least = min(hole.place[axis] for hole in holes)
    if least < 0 or is_round:
        return "centre"
    return ("left", "front")[axis]


def _span(plan: Plan, axis: int, word: str, size_mm: float | None) -> tuple[float, float, bool]:
    """Low and high of the blank along an axis of the view, and whether the plan runs against it.

    Raises MillprepError where holes would lie on both sides of a face.
    """
    values = [hole.place[axis] for hole in plan.holes]
    low, high = _box(plan.holes)
    if word == "centre":
        half = max(abs(low[axis]), abs(high[axis])) + ROUND_HOLES_MM
        half = _rounded_up(half, plan.units) if size_mm is None else size_mm / 2
        return -half, half, False
    if min(values) < 0 < max(values):
        letter = "XY"[axis]
        what = f"{letter} of the holes lies on both sides of zero, so {word.upper()} is not there"
        raise stopped("contradiction", what, "say --zero with centre", file=plan.path)
    is_below = min(values) < 0
    reach = (-low[axis] if is_below else high[axis]) + ROUND_HOLES_MM
    length = _rounded_up(reach, plan.units) if size_mm is None else size_mm
    if word in ("left", "front") and is_below:
        what = f"{'XY'[axis]} of the holes lies below zero, so {word.upper()} is not there"
        remedy = f"say --zero with {('right', 'back')[axis]}, or with centre"
        raise stopped("contradiction", what, remedy, file=plan.path)
    if word in ("right", "back"):  # above zero they are distances into the part
        return -length, 0.0, not is_below
    return 0.0, length, False


def _rounded_up(length_mm: float, units: Units) -> float:
    """A guessed length in whole mm, or twentieths of an inch: no figure that looks measured."""
    step = 25.4 / 20 if units == "inch" else 1.0
    return math.ceil(length_mm / step - 1e-9) * step


def _box(holes: Sequence[PlanHole]) -> tuple[Place, Place]:
    """The box round the holes, recesses included [mm]."""
    reach = [(hole.x_mm, hole.y_mm, max(hole.widest_mm, hole.diameter_mm) / 2) for hole in holes]
    return (
        (min(x - r for x, _, r in reach), min(y - r for _, y, r in reach)),
        (max(x + r for x, _, r in reach), max(y + r for _, y, r in reach)),
    )
