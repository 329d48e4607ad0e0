"""What to measure and try of each hole by itself: size, thread, depth, mouths, how it stands.

Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.records import frozen, replace
from millprep.inspection.checks import NO_GO_TURNS, Check
from millprep.inspection.gauges import (
    COARSE_SHARE,
    LEAST_JAWS_MM,
    InstrumentName,
    Measuring,
    bore,
    go_and_no_go,
    inside,
)
from millprep.inspection.limits import Limits, around, size_limits
from millprep.model.part import FACE_AXIS, OPPOSITE, Hole, Mouth, Part, widened_mm
from millprep.model.readings import CheckKind
from millprep.model.shop import Shop
from millprep.model.tools import Cutter
from millprep.setting.setups import Setup
from millprep.sums.cutting import point_length_mm

_POINT_DEG = 118.0
_SHANK_STEP_MM = 0.1  # between the shanks of a drawer that holds tenths
_LEAST_WITHIN_MM = 0.01  # how near a pin has to be to a limit at the least


@frozen
class SizeChecks:
    """The checks of single holes in one setup; their numbers are given by the caller."""

    part: Part
    shop: Shop
    setup: Setup
    pins: tuple[Cutter, ...]

    def of_hole(self, hole: Hole) -> Iterator[Check]:
        """All that is measured and tried from this setup's face."""
        if not self.setup.works(hole):
            return
        if hole.face == self.setup.face:
            if hole.thread is not None:
                yield from self._thread(hole)
            else:
                yield from self._size(hole)
            yield from self._depth(hole)
            for opened in hole.opened:
                yield from self._width(hole, "opened", opened.diameter_mm, to=opened.words)
            yield from self._mouth(hole, hole.mouth)
            if hole.kind.is_true:
                yield self._tried(hole, "square", "square", note="by a square against the pin")
        elif OPPOSITE[hole.face] == self.setup.face:
            yield from self._mouth(hole, hole.far)

    def _check(
        self,
        hole: Hole,
        kind: CheckKind,
        nominal_mm: float,
        limits: Limits,
        measuring: Measuring | None,
        note: str = "",
        to: str = "",
    ) -> Iterator[Check]:
        if measuring is not None:
            yield Check(
                0,
                self.setup.number,
                self.setup.face,
                kind,
                hole.name,
                to,
                expected_mm=nominal_mm,
                limits=limits,
                instrument=measuring.instrument,
                uncertainty_mm=measuring.uncertainty_mm,
                note=note,
            )

    def _tried(
        self, hole: Hole, kind: CheckKind, instrument: InstrumentName, **more: object
    ) -> Check:
        plain = Check(0, self.setup.number, self.setup.face, kind, hole.name, instrument=instrument)
        return replace(plain, **more)

    def _size(self, hole: Hole) -> Iterator[Check]:
        limits = size_limits(hole)
        assert limits is not None  # a thread has none, and is not asked
        is_drawn = limits.basis == "drawing"
        go, no_go = self._go_and_no_go(hole, limits)
        gains = hole.position_mm is not None and hole.diameter_mm >= LEAST_JAWS_MM
        if is_drawn or gains or go is None or no_go is None:
            middle = _middle(limits) if is_drawn else hole.diameter_mm
            measuring = bore(self.shop, hole.diameter_mm, limits.width_mm if is_drawn else None)
            yield from self._check(hole, "size", middle, limits, measuring)
        for kind, tool in (("go", go), ("no-go", no_go)):
            if tool is not None:
                size = Limits(tool.diameter_mm, tool.diameter_mm, limits.basis)
                note = f"{tool.words} {'goes in' if kind == 'go' else 'does not go in'}"
                if kind == "go" and hole.screw:
                    note += f"; so does the {hole.screw} screw"
                yield self._tried(hole, kind, "pins", limits=size, note=note)  # type: ignore[arg-type]  # a word of CheckKind

    def _go_and_no_go(self, hole: Hole, limits: Limits) -> tuple[Cutter | None, Cutter | None]:
        """Gauge pins at the limits of the drawing; drill shanks for what a drill leaves."""
        assert limits.least_mm is not None and limits.greatest_mm is not None
        if limits.basis == "drawing":
            within = max(_LEAST_WITHIN_MM, COARSE_SHARE * (limits.width_mm or 0.0))
            pins = self.shop.instruments.pins
            return go_and_no_go(limits.least_mm, limits.greatest_mm, pins, within)
        if hole.kind.is_as_drilled:
            return go_and_no_go(hole.diameter_mm, limits.greatest_mm, self.pins, _SHANK_STEP_MM)
        return None, None

    def _thread(self, hole: Hole) -> Iterator[Check]:
        thread = hole.thread
        assert thread is not None
        turns = (hole.depth_mm - widened_mm(hole.mouth, hole.opened)) / thread.pitch_mm
        name = thread.designation
        how = "all the way" if hole.is_through else f"{turns:.1f} turns"
        yield self._tried(
            hole,
            "thread go",
            "thread gauge",
            turns=turns,
            note=f"{name} goes {how}; without a gauge a new screw, by the fingers",
        )
        yield self._tried(
            hole,
            "thread no-go",
            "thread gauge",
            turns=NO_GO_TURNS,
            note=f"{name} stops within {NO_GO_TURNS:g} turns",
        )

    def _depth(self, hole: Hole) -> Iterator[Check]:
        if hole.is_through or hole.thread is not None or hole.goes_into is not None:
            return
        thickness = self.part.stock.size_mm[FACE_AXIS[hole.face]]
        full = max(hole.depth_mm, hole.drill_depth_mm or 0.0)
        point = 0.0 if hole.kind.has_flat_floor else point_length_mm(hole.diameter_mm, _POINT_DEG)
        note = "by a pin of the hole's size, down to the drill's shoulder"
        if hole.kind.has_flat_floor:
            note = "by the depth rod"
        elif hole.kind.is_as_drilled:
            note += f"; a floor of about {thickness - full - point:.1f} mm is left"
        usual = around(hole.depth_mm)
        yield from self._check(
            hole, "depth", hole.depth_mm, usual, inside(self.shop, hole.depth_mm), note
        )

    def _width(
        self, hole: Hole, kind: CheckKind, diameter_mm: float, note: str = "", to: str = ""
    ) -> Iterator[Check]:
        measuring = inside(self.shop, diameter_mm)
        yield from self._check(hole, kind, diameter_mm, around(diameter_mm), measuring, note, to)

    def _mouth(self, hole: Hole, mouth: Mouth) -> Iterator[Check]:
        """What is cut round an end of the hole, told apart from its other end by the face."""
        here = self.setup.face.upper()
        if mouth.counterbore is not None:
            recess = mouth.counterbore
            yield from self._width(hole, "counterbore", recess.diameter_mm, to=here)
            yield from self._check(
                hole,
                "counterbore depth",
                recess.depth_mm,
                around(recess.depth_mm),
                inside(self.shop, recess.depth_mm),
                to=here,
            )
        if mouth.spotface is not None:
            yield from self._width(hole, "spotface", mouth.spotface.diameter_mm, to=here)
        if mouth.countersink is not None:
            cone = mouth.countersink
            note = f"across the mouth, {cone.angle_deg:g} deg: the screw's head lies flush"
            yield from self._width(hole, "countersink", cone.diameter_mm, note, here)


def _middle(limits: Limits) -> float:
    assert limits.least_mm is not None and limits.greatest_mm is not None
    return (limits.least_mm + limits.greatest_mm) / 2
