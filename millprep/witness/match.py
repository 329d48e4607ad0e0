"""The second witness for as-drilled sheets: measured is shift and turn of nominal, at the least.

Places are taken from the part by this side's own frames, and laid on the measured ones with complex
numbers. Imports the part, the shop, what was measured, and `reading`.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence, Set
from functools import cached_property
from typing import Any

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.measured import Measured
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Said
from millprep.witness import Lay, from_part
from millprep.witness.compared import (
    Due,
    Fault,
    Report,
    Within,
    names_of,
    near,
    once,
    report_findings,
)
from millprep.witness.faces import AXIS

_SLACK_MM = 1e-6
_TURN_DIGIT_DEG = 0.001
_TOLD_DEG = 0.0005
_EXACT = 1e-6
_FITS = ("fit-turned", "fit-straight")


@frozen
class Asked:
    """What was asked for, and how the part lies.

    is_mirrored : the hand that was said; None: whichever fits
    """

    setup: int
    lay: Lay
    is_mirrored: bool | None
    keep_edges: bool
    noise_mm: float


@frozen
class _Fit:
    """measured = shift + turn * nominal, or of its mirror image; as complex numbers [mm]."""

    shift: complex
    turn: complex
    is_mirrored: bool

    def put(self, place: complex) -> complex:
        return self.shift + self.turn * (-place.conjugate() if self.is_mirrored else place)

    def undone(self, place: complex) -> complex:
        back = (place - self.shift) / self.turn
        return -back.conjugate() if self.is_mirrored else back


@frozen
class _Case(Report):
    """The sheet beside its part and what was measured. kinds : of what was found"""

    sheet: ReadSheet
    part: Part
    shop: Shop
    measured: Measured
    asked: Asked
    kinds: Set[str]
    is_mirrored: bool

    @cached_property
    def signs(self) -> tuple[float, float]:
        x, y = (-1.0 if axis in self.shop.readout.reversed_axes else 1.0 for axis in "xy")
        return x, y

    @cached_property
    def nominal(self) -> Mapping[str, complex]:
        """Every hole of the part in the axes of the setup."""
        centres = np.array([hole.centre_mm for hole in self.part.holes]).reshape(-1, 3).T
        x, y, _ = from_part(self.asked.lay, self.part, centres)
        return {hole.name: complex(a, b) for hole, a, b in zip(self.part.holes, x, y, strict=True)}

    @cached_property
    def measured_at(self) -> Mapping[str, complex]:
        """Where the holes that are seen from the face that is up were measured, in its axes."""
        face = self.asked.lay.face
        seen = {
            hole.name
            for hole in self.part.holes
            if hole.face == face or (hole.is_through and AXIS[hole.face] == AXIS[face])
        }
        return {
            one.hole: complex(one.x_mm * self.signs[0], one.y_mm * self.signs[1])
            for one in self.measured.holes
            if one.x_mm is not None and one.y_mm is not None and one.hole in seen
            if one.setup in (None, self.asked.setup)
        }

    @cached_property
    def count_mm(self) -> float:
        readout = self.shop.readout
        inch = float(readout.resolution_inch) * 25.4
        return inch if self.sheet.units == "inch" else float(readout.resolution_mm)

    @cached_property
    def left_out(self) -> Sequence[str]:
        """Which are misread is the sheet's to say."""
        rows = [row.said for row in self.whole.rows if row.table == "drilled"]
        state = "note" if rows and "note" in rows[0].slots else "state"
        return [said["hole"] for said in rows if said[state] == "likely misread"]

    @cached_property
    def fit(self) -> _Fit:
        """The least squares of the holes that are not left out."""
        names = [name for name in self.measured_at if name not in self.left_out]
        if not names:
            return _Fit(0j, 1 + 0j, self.is_mirrored)
        p = [self.nominal[n] for n in names]
        p = [-one.conjugate() for one in p] if self.is_mirrored else p
        q = [self.measured_at[n] for n in names]
        mean_p, mean_q = sum(p) / len(p), sum(q) / len(q)
        along = sum((a - mean_p).conjugate() * (b - mean_q) for a, b in zip(p, q, strict=True))
        turn = along / abs(along) if abs(along) > _SLACK_MM else 1 + 0j
        return _Fit(mean_q - turn * mean_p, turn, self.is_mirrored)

    @cached_property
    def keeps_edges(self) -> bool:
        return self.asked.keep_edges or self.is_mirrored

    @cached_property
    def left(self) -> Mapping[str, complex]:
        """What the fit leaves of each hole."""
        return {n: at - self.fit.put(self.nominal[n]) for n, at in self.measured_at.items()}

    @cached_property
    def goes_to(self) -> Mapping[str, complex]:
        """Where each hole of the face is drilled, and those that were measured through it; none
        that an assembly leaves for a stack, nor one to carry over that was not measured."""
        left = {one.hole for one in self.part.left if one.stack or one.hole not in self.measured_at}
        own = {hole.name for hole in self.part.holes if hole.face == self.asked.lay.face}
        at = {**{name: self.fit.put(self.nominal[name]) for name in own}, **self.measured_at}
        at = {name: one for name, one in at.items() if name not in left}
        return {n: self.fit.undone(one) for n, one in at.items()} if self.keeps_edges else at

    def pair(self, names: str, place: complex, half_mm: float) -> Due:
        """Two slots that are a place in the setup's axes, with the readout's signs."""
        right = place.real * self.signs[0], place.imag * self.signs[1]
        slots = zip(names.split(), right, strict=True)
        return {name: near(at, half_mm + _SLACK_MM) for name, at in slots}

    def state(self, name: str) -> set[str]:
        return {"measured", "likely misread"} if name in self.measured_at else {"by the fit"}


def check_match(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    measured: Measured,
    asked: Asked,
    remarks: Sequence[Finding],
    *,
    file: str,
) -> list[Finding]:
    """How a finished as-drilled sheet differs from the part and what was measured.

    remarks : what was found, told below the sheet
    """
    kinds = {one.kind for one in remarks}

    def faults(sheet: ReadSheet) -> list[Fault]:
        """CSV does not say of which hand the fit is: it agrees with one."""
        told = sheet.pages[0].whole.all(*_FITS)
        hands = {any((one["_hand"] or "") != "" for one in told)}
        hands = {False, True} if form == "csv" else hands
        hands = {asked.is_mirrored} if asked.is_mirrored is not None else hands
        cases = [_Case(sheet, part, shop, measured, asked, kinds, hand) for hand in hands]
        look = _in_csv if form == "csv" else _faults
        heading = () if form == "csv" else cases[0].heading(part, remarks)
        return [*min((list(look(case)) for case in cases), key=len), *heading]

    return report_findings(data, "match", form, names_of(part), faults, table="drilled", file=file)


def _in_csv(case: _Case) -> Iterator[Fault]:
    """Coordinates alone."""
    half_mm, units = case.count_mm / 2, case.sheet.units
    yield from case.rows(
        "drilled",
        {
            name: {"unit": units, "note": case.state(name), **case.pair("x y", at, half_mm)}
            for name, at in case.goes_to.items()
        },
    )


def _faults(case: _Case) -> Iterator[Fault]:
    lay, half_mm = case.asked.lay, case.count_mm / 2
    title: Due = {
        "setup": case.asked.setup,
        "face": {lay.face, lay.face.upper()},
        "_where": {"up", None},
    }
    yield from case.unlike(case.title, title)
    yield from case.sentences(_sentences(case))
    yield from case.cautions()
    measured = {
        name: {
            **case.pair("nominal_x nominal_y", case.nominal[name], half_mm),
            **case.pair("measured_x measured_y", at, half_mm),
            **case.pair("left_x left_y", case.left[name], case.half_mm),
            "off": abs(case.left[name]),
        }
        for name, at in case.measured_at.items()
    }
    yield from case.rows("measured", measured)
    drilled = {
        name: {
            "state": case.state(name),
            **case.pair("x y", at, half_mm),
            **case.pair("moved_x moved_y", at - case.nominal[name], case.half_mm),
        }
        for name, at in case.goes_to.items()
    }
    yield from case.rows("drilled", drilled)
    yield from _exact(case) if case.sheet.whole else ()


def _sentences(case: _Case) -> Mapping[str, Sequence[Due]]:
    """What stands around the tables."""
    off = {name: abs(left) for name, left in case.left.items() if name not in case.left_out}
    rms = math.sqrt(sum(one**2 for one in off.values()) / max(len(off), 1))
    worst, misread, kinds = max(off.values(), default=0.0), len(case.left_out), case.kinds
    missing = len(case.goes_to.keys() - case.measured_at.keys())
    tapped = {h.name for h in case.part.holes if h.thread is not None} & case.measured_at.keys()
    lacks, is_open = "mate-does-not-fit" in kinds, "mate-not-decided" in kinds
    return {
        "match-file": once(True, measured=case.measured.path),
        " | ".join(_FITS): [_fit(case, said) for said in case.whole.all(*_FITS)[:1]] or [{}],
        "fit-errors": once(
            len(off) > 1,
            fitted_count=len(off),
            rms=rms,
            worst=worst,
            worst_hole={name for name, one in off.items() if one > worst - case.half_mm},
        ),
        "fit-least-worst": once(
            len(off) > 1, least_worst=Within(rms - case.half_mm, worst + case.half_mm)
        ),
        "fit-left-out": [{"hole": n, "off": abs(case.left.get(n, 0j))} for n in case.left_out],
        "looks": [{}] * max(len(case.whole.all("looks")), 1),
        "mate-lacks": once(lacks),
        "mate-open": once(is_open),
        "mate-fits | mate-unjudged": once(
            not lacks and not is_open,
            screw_count=lambda told: int(told or 0) <= len(case.measured_at),
        ),
        "read": once(True),
        "drill-edges": once(not case.keeps_edges),
        "drill-kept": once(case.keeps_edges),
        "drill-misread": once(misread, _verb="is" if misread == 1 else "are"),
        "drill-unmeasured": once(missing),
        "drill-columns": once(True),
        "done-measured": once(True, measured_count=len(case.measured_at), missing_count=missing),
        "assumed-readings": once(
            True,
            noise=case.asked.noise_mm,
            grade={None, "normal"} if tapped else None,
            readout_count=near(case.count_mm, _SLACK_MM),
        ),
    }


def _fit(case: _Case, said: Said) -> Due:
    """Shift, turn and hand; a figure is told without its sign, which stands beside it."""
    turns = case.signs[0] * case.signs[1] * math.degrees(cmath.phase(case.fit.turn))
    is_straight = said.slug == "fit-straight" and abs(turns) <= _TOLD_DEG + _EXACT
    way = 1 if said.slots.get("way") == "anticlockwise" else -1
    due: dict[str, Any] = {
        "_hand": lambda told: bool(told) is case.is_mirrored,
        "turn": None
        if is_straight
        else near(way * turns % 360, _TURN_DIGIT_DEG * 0.51 + _EXACT, is_plain=True),
        "unit": {"mm": "mm", "inch": "in"}[case.sheet.units],
    }
    parts = zip("xy", (case.fit.shift.real, case.fit.shift.imag), case.signs, strict=True)
    for axis, shift, sign in parts:
        away = sign * shift * (-1 if said[f"{axis}_way"] == "-" else 1)
        due |= {f"{axis}_shift": away, f"_{axis}_axis": {axis, axis.upper()}}
    return due


def _exact(case: _Case) -> Iterator[Fault]:
    """What JSON has in full: the same places, not rounded."""
    whole, fit = case.sheet.whole, case.fit
    shift = complex(*map(float, whole["shift_mm"]))
    if abs(shift - fit.shift) > _EXACT or str(whole["mirrored"]) != str(fit.is_mirrored):
        yield f"shift_mm is {shift}, mirrored {whole['mirrored']}", case.title
    turn = float(whole["turn_deg"])
    if abs(cmath.exp(1j * math.radians(turn)) - fit.turn) > _EXACT:
        yield f"turn_deg is {turn}", case.title
    for name, told in whole["residuals_mm"].items():
        if abs(float(told) - abs(case.left[name])) > _EXACT:
            yield f"residuals_mm has {name} {told}; it is {abs(case.left[name]):.6f}", case.title
    for row in whole.get("coordinates", ()):
        at = complex(float(row["x_mm"]), float(row["y_mm"]))
        if abs(at - case.goes_to.get(row["hole"], at)) > _EXACT:
            yield f"{row['hole']}: x_mm, y_mm are {at}", case.title
