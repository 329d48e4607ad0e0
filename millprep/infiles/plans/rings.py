"""Circles round one centre, as one hole: a thread, a counterbore, or what has to be filled in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from millprep.base.units import Units
from millprep.infiles.plans.record import PlanHole, figure, quoted
from millprep.infiles.plans.shapes import Circle, Segment
from millprep.reference.threads import Thread, threads

_SAME_SIZE_MM = 0.02
_CORE_MM = 0.03
"""How far a drawn core may be off: it is drawn to the last figure of a table, or rounded."""
_COARSE = ("metric coarse", "UNC", "BSW")
_MOST_CORE, _LEAST_CORE = 0.95, 0.6
"""Of the nominal diameter: what a core may be (common practice)."""


def threads_meant(core_mm: float, nominal_mm: float) -> list[Thread]:
    """Threads of that nominal diameter whose core or tapping drill that is."""
    return [
        thread
        for thread in threads()
        if abs(thread.major_mm - nominal_mm) <= _SAME_SIZE_MM
        and any(abs(core - core_mm) <= _CORE_MM for core in _cores(thread))
    ]


def _cores(thread: Thread) -> tuple[float, ...]:
    """What is drawn as the inner circle: the tapping drill, the core of the nut or of the screw.

    Source: ISO 68-1, core of the internal thread D - 1.0825 P; of the external D - 1.2269 P
    (ISO 724 and its root, from memory).
    """
    screw_mm = thread.major_mm - 1.2269 * thread.pitch_mm
    return thread.tap_drill_mm, thread.basic_minor_mm, screw_mm


class Rings:
    """Makes holes of circles, and counts what was taken as what.

    untold : circles of the last hole that it has no use for; lost : how many of all holes
    """

    def __init__(self, units: Units) -> None:
        self._units = units
        self._said: Counter[str] = Counter()
        self.untold: list[str] = []
        self.lost = 0

    def said(self) -> list[str]:
        """What was taken as what, and how often."""
        return [f"{count} x {words}" for words, count in self._said.items()]

    def hole(self, circles: Sequence[Circle], arcs: Sequence[Segment]) -> PlanHole:
        """The hole that lies round one centre. arcs : three quarters round it, thread symbols"""
        self.untold = []
        rings = sorted(circles, key=lambda circle: circle.radius)
        sizes = [2 * ring.radius for ring in rings]
        x, y = rings[0].centre
        keys, asks, more, diameter = self._what(sizes, [2 * arc.radius for arc in arcs])
        extra = sizes[more:]
        if extra:
            keys = [*keys, ("counterbore", f"{{ diameter = {figure(extra[0], self._units)} }}")]
            asks = [*asks, "FILL IN the counterbore's depth; a countersink is drawn alike"]
            inner, outer = (figure(size, self._units) for size in (sizes[more - 1], extra[0]))
            self._said[f"circles {inner} and {outer}: taken as a counterbore"] += 1
        for ring in rings[more + 1 :]:
            self.untold.append(f"{ring.where}: one circle too many round one hole")
        self.lost += len(self.untold)
        return PlanHole(
            x,
            y,
            rings[0].where,
            tuple(keys),
            tuple(asks),
            diameter_mm=diameter,
            widest_mm=max(sizes),
        )

    def _what(
        self, sizes: Sequence[float], arcs: Sequence[float]
    ) -> tuple[list[tuple[str, str]], list[str], int, float]:
        """Keys and what to fill in, how many of the circles they use up, and the diameter."""
        nominal = next((arc for arc in arcs if _LEAST_CORE <= sizes[0] / arc <= _MOST_CORE), None)
        if nominal is not None:
            return self._tapped(sizes[0], nominal, threads_meant(sizes[0], nominal), 1)
        if len(sizes) > 1:
            meant = threads_meant(sizes[0], sizes[1])
            if meant:
                return self._tapped(sizes[0], sizes[1], meant, 2, must_be_coarse=True)
        return [("drill", figure(sizes[0], self._units))], [], 1, sizes[0]

    def _tapped(
        self,
        core: float,
        nominal: float,
        meant: Sequence[Thread],
        used: int,
        *,
        must_be_coarse: bool = False,
    ) -> tuple[list[tuple[str, str]], list[str], int, float]:
        """The one thread that it can be, or a question with those that it could."""
        coarse = [thread for thread in meant if thread.series in _COARSE]
        likely = coarse if must_be_coarse or len(meant) > 1 else meant
        inner, outer = figure(core, self._units), figure(nominal, self._units)
        if len(likely) == 1:
            name = likely[0].designation
            self._said[f"circles {inner} and {outer}: taken as {name}, tapped"] += 1
            return [("tap", quoted(name))], [], used, likely[0].major_mm
        names = " or ".join(quoted(thread.designation) for thread in (meant or ()))
        ask = f"tap = {names or quoted('')}   # FILL IN: drawn as {inner} and {outer}"
        self._said[f"circles {inner} and {outer}: a thread that you have to name"] += 1
        return [], [ask], used, core
