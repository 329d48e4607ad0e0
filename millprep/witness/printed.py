"""A printed setup and what it is held against: the part, the readout and the part's lay.

Imports the part, the shop's readout and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import anew, frozen
from millprep.model.part import FACES, Part, SetupRequest
from millprep.model.shop import Dial, Finder, Readout
from millprep.reading.pages.printed import PrintedRow, PrintedSetup
from millprep.witness import Lay, from_part
from millprep.witness.expected import Expected, expected_holes, visits

Floats = NDArray[np.float64]

SLACK_MM = 1e-6  # what binary fractions leave; far below any readout's count
OFF_COUNT = 1e-3  # of a count: the same, for figures that must be whole counts


@frozen
class Upright:
    """An upright face: its axis in the setup (0 for X, 1 for Y), place on it, outward sign."""

    axis: int
    at_mm: float
    outward: float


@frozen
class Printed:
    """One printed setup beside its part. Raises MillprepError when the lay is none.

    skew_deg : by which the part is known to lie askew in it, anticlockwise
    dials, finder : of the shop, dials by axis; None where they are not told
    """

    setup: PrintedSetup
    part: Part
    readout: Readout
    file: str
    skew_deg: float = 0.0
    dials: Mapping[str, Dial] = anew(factory=dict)
    finder: Finder | None = None

    @cached_property
    def lay(self) -> Lay:
        setup = self.setup
        return Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y, setup.number)

    @cached_property
    def count_mm(self) -> float:
        """The readout's count in the unit of the sheet."""
        if self.setup.units == "inch":
            return float(self.readout.resolution_inch) * 25.4
        return float(self.readout.resolution_mm)

    @cached_property
    def half_count_mm(self) -> float:
        """How far a figure that was rounded once may be from the exact one."""
        return self.count_mm / 2 + SLACK_MM

    def is_whole_counts(self, *lengths_mm: float) -> bool:
        """Whether a readout can show these figures."""
        counts = [length / self.count_mm for length in lengths_mm]
        return all(abs(count - round(count)) < OFF_COUNT for count in counts)

    @cached_property
    def signs(self) -> Floats:
        """(3,) -1 for an axis that the readout counts the other way."""
        return np.array([-1.0 if axis in self.readout.reversed_axes else 1.0 for axis in "xyz"])

    @cached_property
    def z_sign(self) -> float:
        return float(self.signs[2])

    @cached_property
    def expected(self) -> dict[str, Expected]:
        """What the part needs from this face in this setup, by name."""
        setup = self.setup
        return {one.hole.name: one for one in expected_holes(self.part, setup.face, setup.number)}

    @cached_property
    def request(self) -> SetupRequest:
        """What the part file asks of this setup."""
        face = next(each for each in FACES if each == self.setup.face)
        of_face = [request for request, _ in visits(self.part) if request.face == face]
        here = [request for request, _ in visits(self.part)[self.setup.number - 1 :][:1]]
        same = [request for request in here if request.face == face]
        return next(iter((*same, *of_face)), SetupRequest(face))

    @cached_property
    def places(self) -> dict[str, tuple[float, float]]:
        """Where each hole belongs on the part: X and Y in the setup's axes, as if it lay square."""
        if not self.expected:
            return {}
        centres = np.array([one.centre_mm for one in self.expected.values()]).T
        x, y, _ = from_part(self.lay, self.part, centres).tolist()
        return dict(zip(self.expected, zip(x, y, strict=True), strict=True))

    def on_machine(self, place: tuple[float, float]) -> tuple[float, float]:
        """A place of the part as it stands on the machine: turned with the part about the zero."""
        askew = complex(*place) * complex(
            math.cos(math.radians(self.skew_deg)), math.sin(math.radians(self.skew_deg))
        )
        return askew.real, askew.imag

    @cached_property
    def middle(self) -> tuple[float, float]:
        """X and Y over the middle of the stock."""
        x, y, _ = from_part(self.lay, self.part, np.array([self.part.stock.size_mm]).T / 2).ravel()
        return float(x), float(y)

    @cached_property
    def upright(self) -> dict[str, Upright]:
        """The four faces that stand upright."""
        size = np.array(self.part.stock.size_mm)
        found = {}
        for number, face in enumerate(("left", "right", "front", "back", "bottom", "top")):
            centre = size / 2
            centre[number // 2] = size[number // 2] * (number % 2)
            place = from_part(self.lay, self.part, centre[:, None]).ravel()
            for axis in (0, 1):
                beside = float(place[axis]) - self.middle[axis]
                if abs(beside) > SLACK_MM:
                    found[face] = Upright(axis, float(place[axis]), float(np.sign(beside)))
        return found

    def stop(
        self,
        kind: str,
        words: str,
        remedy: str,
        row: PrintedRow | None = None,
        line: int | None = None,
        holes: tuple[str, ...] = (),
    ) -> Finding:
        """A stop that names setup, step and hole."""
        where = f"setup {self.setup.number}"
        if row is not None:
            where += f" step {row.step}, {row.hole}"
            line, holes = row.line, (row.hole,)
        return Finding("stop", kind, f"{where}: {words}", remedy, self.file, line, holes=holes)


def faces_with_work(part: Part) -> list[str]:
    """The face that is up in each setup in which the part has something to be done."""
    return [request.face for request, _ in visits(part)]
