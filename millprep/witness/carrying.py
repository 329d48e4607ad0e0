"""The second witness for holes that are carried over by hand: which from which, what with, how
the members lie. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.carrying import Beside, Carrying, Mate
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import names_by_letters
from millprep.witness import carried
from millprep.witness.compared import Due, Fault, Report, near, report_findings
from millprep.witness.faces import AXIS, FAR

_LEVEL_MM = 0.01
_CONE_SLACK_MM = 0.02
_GOES_IN_MM = 1e-6


def check_carrying(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    remarks: Sequence[Finding],
    *,
    units: Units,
    by_dials: bool,
    file: str,
) -> list[Finding]:
    """How a finished sheet differs from the members' own holes; empty when they agree."""
    of = part.carrying
    assert of is not None  # the sheet is of nothing else
    holes = {word for one in of.mates for word in (one.name, one.source.name)}
    members = [name for name, _ in of.blanks]
    names = names_by_letters(hole=sorted(holes), member=members)

    def faults(sheet: ReadSheet) -> list[Fault]:
        case = _Case(sheet, part, of, shop, units, by_dials)
        if form == "csv":
            return [*case.steps()]
        return [*case.heading(part, remarks), *case.around(), *case.steps()]

    table = "read" if of.by == "readings" else "marked"
    return report_findings(data, "carrying", form, names, faults, table=table, file=file)


@frozen
class _Case(Report):
    """The sheet beside what it is made of."""

    sheet: ReadSheet
    part: Part
    of: Carrying
    shop: Shop
    units: Units
    by_dials: bool

    def around(self) -> Iterator[Fault]:
        of = self.of
        if self.sheet.units != self.units:
            yield f"figures are in {self.sheet.units}, not {self.units}", self.title
        yield from self.unlike(
            self.title, {"by": of.by, "hole_count": len(of.mates), "source": of.source}
        )
        due: dict[str, list[Due]] = {slug: [] for slug in _SENTENCES.split()}
        for slug, one in (*carried.lies(of), *carried.then(of), *self._doing()):
            due[slug].append(carried.as_told(one))
        yield from self.sentences(due)
        yield from self.cautions()

    def _doing(self) -> Iterator[tuple[str, Due]]:
        of = self.of
        if of.by == "readings":
            yield from self._readings()
        elif of.by == "transfer screw":
            threads = [
                (one.source.thread.designation if one.source.thread else "", one.member)
                for one in of.mates
            ]
            for thread, member in dict.fromkeys(threads):
                told = {"thread": thread, "member": member, "source": of.source}
                yield "carry-screw", {**told, "face": FAR[of.face]}
        else:
            for hole in dict.fromkeys(carried.passes_mm(one) for one in of.mates):
                most = max((p for p in of.punches_mm if p <= hole + _GOES_IN_MM), default=None)
                if most is None:
                    yield "carry-punch-none", {"hole_mm": hole}
                else:
                    told_mm = {"hole_mm": hole, "punch_mm": most, "slack_mm": hole - most}
                    yield "carry-punch", told_mm

    def _readings(self) -> Iterator[tuple[str, Due]]:
        of, by = self.of, "dials" if self.by_dials else None
        ((member, face),) = of.meets
        sizes = dict(of.blanks)[of.source].size_mm
        first, second = of.besides
        is_turned = sizes[AXIS[str(first.other_face)]] > sizes[AXIS[str(second.other_face)]]
        jaw, stop = (second, first) if is_turned else (first, second)
        yield (
            "carry-read",
            {
                "source": of.source,
                "face": of.face,
                "jaw_face": jaw.other_face,
                "stop_face": stop.other_face,
                "by": by,
            },
        )
        for one, between in ((jaw, "jaw"), (stop, "stop")):
            yield from self._packing(one, member, between)
        yield (
            "carry-same",
            {
                "member": member,
                "source": of.source,
                "face": face,
                "face_again": face,
                "jaw_face": jaw.face,
                "stop_face": stop.face,
                "tool_mm": self._tool[0],
                "angle": f"{self._tool[1]:g}",
                "cone_mm": near(self._cone_mm(of.mates[0]), _CONE_SLACK_MM),
                "by": by,
            },
        )

    def _packing(self, one: Beside, member: str, between: str) -> Iterator[tuple[str, Due]]:
        """Between the edge that lies inside and the jaw or stop, so that holes come over holes."""
        blanks, of = dict(self.of.blanks), self.of
        mate = of.mates[0]
        inside = carried.to_edge_mm(mate.source, blanks[of.source], str(one.other_face))
        inside -= carried.to_edge_mm(mate.hole, blanks[member], str(one.face))
        if abs(inside) >= _LEVEL_MM:
            whose = (member, one.face) if inside > 0 else (of.source, one.other_face)
            told = {"member": whose[0], "face": whose[1], "between": between}
            yield "carry-packing", {**told, "packing_mm": abs(inside)}

    @cached_property
    def _tool(self) -> tuple[float, float, float]:
        """Diameter, angle and flat of the spot drill: the smallest of the shop that is as wide as
        the widest cone, else its widest."""
        widest = max(carried.chamfer_mm(one) for one in self.of.mates)
        own = sorted(self.shop.cabinet.spot_drills, key=lambda one: one.diameter_mm)
        wide = [one for one in own if one.diameter_mm >= widest] or own[-1:]
        if not wide:
            return 10.0, 90.0, 0.2
        return wide[0].diameter_mm, wide[0].angle_deg, wide[0].tip_flat_mm

    def _cone_mm(self, mate: Mate) -> float:
        return min(carried.chamfer_mm(mate), self._tool[0])

    def steps(self) -> Iterator[Fault]:
        """Each hole once, from its own, and as deep as it may be."""
        rows = [one.said for one in self.whole.rows]
        if len(rows) != len(self.of.mates):
            yield f"{len(rows)} steps, not {len(self.of.mates)}", self.title
        for n, (said, mate) in enumerate(zip(rows, self.of.mates, strict=False), 1):
            due: dict[str, Any] = {"step": n, "from_hole": mate.source.name, "hole": mate.name}
            yield from self.unlike(said, due)
            if self.of.by != "readings":
                continue
            _, angle, flat = self._tool
            cone = flat + 2 * abs(said.mm("z")) * math.tan(math.radians(angle / 2))
            if abs(cone - self._cone_mm(mate)) > _CONE_SLACK_MM:
                yield f"{mate.name}: a cone of {cone:.3f} mm", said
        for row in self.whole.rows:
            if row.head is not None:
                yield from self.unlike(row.head, {"source": self.of.source})
                if self.of.by == "readings":
                    depth = "down" if "z" in self.shop.readout.axes else "quill"
                    yield from self.unlike(row.head, {"depth": depth})
                return


_SENTENCES = (
    "carry-first carry-level carry-edge carry-round carry-middle carry-clamp carry-chance "
    "carry-then carry-punch carry-punch-none carry-screw carry-read carry-packing carry-same"
)
