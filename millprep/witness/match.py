"""The second witness for as-drilled sheets: measured is shift and turn of nominal, at the least.

Places are taken from the part by this side's own frames, and laid on the measured ones with complex
numbers. Imports the part, the shop, what was measured, and `reading`.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.measured import Measured
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.lines import ReadRow, ReadSection, ReadSheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness import Lay, from_part
from millprep.witness.asked import (
    CAUTIONS,
    check_heading_of,
    check_sound_words,
    complaint,
    same_words,
    unreadable,
)

_SLACK_MM = 1e-6
_ERROR_DIGIT_MM = {"mm": 0.001, "inch": 0.0001 * 25.4}
_TURN_DIGIT_DEG = 0.001
_TOLD_DEG = 0.0005
_EXACT = 1e-6
Fault = tuple[str, Said]


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

    @property
    def turn_deg(self) -> float:
        return math.degrees(cmath.phase(self.turn))


@frozen
class _Case:
    """The sheet beside its part and what was measured."""

    sheet: ReadSheet
    part: Part
    shop: Shop
    measured: Measured
    asked: Asked

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
    def places(self) -> Mapping[str, complex]:
        """Where the holes were measured, in the axes of the setup."""
        return {
            one.hole: complex(one.x_mm * self.signs[0], one.y_mm * self.signs[1])
            for one in self.measured.holes
            if one.x_mm is not None and one.y_mm is not None
        }

    @cached_property
    def count_mm(self) -> float:
        readout = self.shop.readout
        inch = float(readout.resolution_inch) * 25.4
        return inch if self.sheet.units == "inch" else float(readout.resolution_mm)

    @cached_property
    def digit_mm(self) -> float:
        """Half of the last digit of what is finer than the readout."""
        return _ERROR_DIGIT_MM[self.sheet.units] * 0.51

    def is_shown(self, said: Said, names: str, place: complex, half_mm: float) -> bool:
        """Whether two figures, with the readout's signs, are a place in the setup's axes."""
        told = [said.mm(name) for name in names.split()]
        right = place.real * self.signs[0], place.imag * self.signs[1]
        return all(abs(a - b) <= half_mm + _SLACK_MM for a, b in zip(told, right, strict=True))


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
    complain = complaint(file)
    try:
        names = names_by_letters(hole=[hole.name for hole in part.holes])
        sheet = read_sheet(data, "match", form, names, table="drilled")
    except UnreadableSheet as fault:
        return [unreadable("the sheet", fault, file)]
    case, whole = _Case(sheet, part, shop, measured, asked), sheet.pages[0].whole
    if form == "csv":
        return [complain(words, said) for words, said in _csv(case, whole.rows)]
    places = [row for row in whole.rows if row.table == "drilled"]
    left_out = [row.said["hole"] for row in places if row.said["state"] == "likely misread"]
    fit = _fit(case, whole, left_out)
    faults = [*_title(case, whole), *_told_fit(case, whole, fit, left_out)]
    faults += _errors(case, whole, fit)
    faults += _places(case, whole, places, fit)
    faults += _words(case, whole, places, left_out, {one.kind for one in remarks})
    faults += _exact(case, whole, fit) if sheet.whole else ()
    found = [complain(words, said) for words, said in faults]
    found += check_heading_of(sheet, sheet.pages[0], part, complain, remarks=remarks, stock=False)
    return [*found, *check_sound_words(whole, complain)]


def _fit(case: _Case, whole: ReadSection, left_out: Sequence[str]) -> _Fit:
    """The least squares of the holes that the sheet fits, of the hand that it tells."""
    told = whole.all("fit-turned", "fit-straight")
    is_mirrored = any((one["_hand"] or "") != "" for one in told)
    names = [row.said["hole"] for row in whole.rows if row.table == "measured"]
    names = [one for one in names if one not in left_out and one in case.places]
    return _least_squares(case, names, is_mirrored)


def _least_squares(case: _Case, names: Sequence[str], is_mirrored: bool) -> _Fit:
    if not names:
        return _Fit(0j, 1 + 0j, is_mirrored)
    p = [-case.nominal[n].conjugate() if is_mirrored else case.nominal[n] for n in names]
    q = [case.places[n] for n in names]
    mean_p, mean_q = sum(p) / len(p), sum(q) / len(q)
    along = sum((a - mean_p).conjugate() * (b - mean_q) for a, b in zip(p, q, strict=True))
    turn = along / abs(along) if abs(along) > _SLACK_MM else 1 + 0j
    return _Fit(mean_q - turn * mean_p, turn, is_mirrored)


def _title(case: _Case, whole: ReadSection) -> Iterator[Fault]:
    title = case.sheet.pages[0].title
    if title.count("setup") != case.asked.setup or title.face("face") != case.asked.lay.face:
        yield f"setup {case.asked.setup} has {case.asked.lay.face.upper()} up", title
    if title.slots.get("_where", "up") not in ("up", None):
        yield f"the face is {title['_where']}", title
    files = whole.all("match-file")
    if [same_words(one["measured"], case.measured.path) for one in files] != [True]:
        yield "the sheet does not name the file once", title


def _told_fit(
    case: _Case, whole: ReadSection, fit: _Fit, left_out: Sequence[str]
) -> Iterator[Fault]:
    """Shift, turn, hand, what the fit leaves."""
    title, told = case.sheet.pages[0].title, whole.all("fit-turned", "fit-straight")
    if len(told) != 1:
        yield f"{len(told)} fits", title
    if case.asked.is_mirrored not in (None, fit.is_mirrored):
        yield "FIT is of the other hand than was said", title
    turns = case.signs[0] * case.signs[1] * fit.turn_deg
    for said in told:
        shown = 0.0
        if said.slug == "fit-turned":
            shown = float(said["turn"]) * (1 if said["way"] == "anticlockwise" else -1)
        slack = _TURN_DIGIT_DEG * 0.51 if said.slug == "fit-turned" else _TOLD_DEG + 1e-9
        if min(abs(shown - turns), 360 - abs(shown - turns)) > slack + 1e-6:
            yield f"{said.text}: the turn is {turns:.4f}", said
        parts = (fit.shift.real * case.signs[0], fit.shift.imag * case.signs[1])
        for axis, right in zip("xy", parts, strict=True):
            way = -1 if said[f"{axis}_way"] == "-" else 1
            if abs(way * said.mm(f"{axis}_shift") - right) > case.digit_mm:
                yield f"{said.text}: the shift along {axis} is {right:.4f} mm", said
            if said[f"_{axis}_axis"].lower() != axis:
                yield f"{said.text}: no shift along {axis}", said
        if said["unit"] != {"mm": "mm", "inch": "in"}[case.sheet.units]:
            yield f"{said.text}: in {said['unit']}", said
    yield from _left(case, whole, fit, left_out)


def _left(case: _Case, whole: ReadSection, fit: _Fit, left_out: Sequence[str]) -> Iterator[Fault]:
    title = case.sheet.pages[0].title
    rows = [row.said["hole"] for row in whole.rows if row.table == "measured"]
    errors = {n: abs(case.places[n] - fit.put(case.nominal[n])) for n in rows if n in case.places}
    fitted = {name: off for name, off in errors.items() if name not in left_out}
    due = len(fitted) > 1
    for slug in ("fit-errors", "fit-least-worst"):
        if len(whole.all(slug)) != due:
            yield f"{len(whole.all(slug))} sentences of {slug}", title
    rms = math.sqrt(sum(off**2 for off in fitted.values()) / max(len(fitted), 1))
    worst = max(fitted.values(), default=0.0)
    for said in whole.all("fit-errors"):
        if said.count("fitted_count") != len(fitted):
            yield f"{said.text}: {len(fitted)} holes are fitted", said
        pairs = (said.mm("rms"), rms), (said.mm("worst"), worst)
        if any(abs(a - b) > case.digit_mm for a, b in pairs):
            yield f"{said.text}: it is {rms:.4f} and {worst:.4f} mm", said
        if fitted.get(said["worst_hole"], -1.0) < worst - case.digit_mm:
            yield f"{said.text}: {said['worst_hole']} is not the worst", said
    for said in whole.all("fit-least-worst"):
        if not rms - case.digit_mm <= said.mm("least_worst") <= worst + case.digit_mm:
            yield f"{said.text}: it is {rms:.4f} to {worst:.4f} mm", said
    told = {said["hole"]: said.mm("off") for said in whole.all("fit-left-out")}
    if {*told} != {*left_out}:
        yield "FIT leaves other holes out than those marked", title
    for name, off in told.items():
        if abs(off - errors.get(name, -1.0)) > case.digit_mm:
            yield f"{name} is off by {errors.get(name, 0.0):.4f} mm", title


def _errors(case: _Case, whole: ReadSection, fit: _Fit) -> Iterator[Fault]:
    """The table of what was measured."""
    rows = [row.said for row in whole.rows if row.table == "measured"]
    names = [said["hole"] for said in rows]
    due = {name for name in case.places if name in case.nominal and _is_here(case, name)}
    if {*names} != due or len({*names}) != len(names):
        yield "the sheet does not have every measured hole once", case.sheet.pages[0].title
    for said in rows:
        name, half = said["hole"], case.count_mm / 2
        if name not in due:
            yield f"{name} is not measured here", said
            continue
        left = case.places[name] - fit.put(case.nominal[name])
        if not case.is_shown(said, "nominal_x nominal_y", case.nominal[name], half):
            yield f"{name} is drawn at {case.nominal[name]:.4f}", said
        if not case.is_shown(said, "measured_x measured_y", case.places[name], half):
            yield f"{name} is measured at {case.places[name]:.4f}", said
        if not case.is_shown(said, "left_x left_y", left, case.digit_mm):
            yield f"{name}: the fit leaves {left:.4f} mm", said
        if abs(said.mm("off") - abs(left)) > case.digit_mm:
            yield f"{name} is off by {abs(left):.4f} mm", said


def _is_here(case: _Case, name: str) -> bool:
    """Whether the hole can be seen from the face that is up."""
    hole = next(one for one in case.part.holes if one.name == name)
    axes = {"left": 0, "right": 0, "front": 1, "back": 1, "bottom": 2, "top": 2}
    face = case.asked.lay.face
    return hole.face == face or (hole.is_through and axes[hole.face] == axes[face])


def _places(case: _Case, whole: ReadSection, rows: Sequence[ReadRow], fit: _Fit) -> Iterator[Fault]:
    """Where to drill: where the mate's hole was measured, or where the fit puts it."""
    title = case.sheet.pages[0].title
    measured = {row.said["hole"] for row in whole.rows if row.table == "measured"}
    names = [row.said["hole"] for row in rows]
    own = {hole.name for hole in case.part.holes if hole.face == case.asked.lay.face}
    if len({*names}) != len(names) or {*names} != own | measured:
        yield "the sheet does not have every hole of the face once", title
    keeps = case.asked.keep_edges or fit.is_mirrored
    for row in rows:
        said, name = row.said, row.said["hole"]
        if name not in case.nominal:
            yield f"the part has no hole {name}", said
            continue
        is_measured = name in measured and name in case.places
        if is_measured == (said["state"] == "by the fit"):
            yield f"{name} is {said['state']}", said
        drawn = case.nominal[name]
        right = case.places[name] if is_measured else fit.put(drawn)
        right = fit.undone(right) if keeps else right
        if not case.is_shown(said, "x y", right, case.count_mm / 2):
            yield f"{name} goes to {right:.4f}", said
        if not case.is_shown(said, "moved_x moved_y", right - drawn, case.digit_mm):
            yield f"{name} is moved by {right - drawn:.4f}", said


def _words(
    case: _Case,
    whole: ReadSection,
    rows: Sequence[ReadRow],
    left_out: Sequence[str],
    kinds: set[str],
) -> Iterator[Fault]:
    """What stands around the figures."""
    title = case.sheet.pages[0].title
    states = [row.said["state"] for row in rows]
    fit = whole.all("fit-turned", "fit-straight")
    keeps = case.asked.keep_edges or any(one["_hand"] for one in fit)
    missing = states.count("by the fit")
    due = {
        "read": 1, "drill-columns": 1, "done-measured": 1, "assumed-readings": 1,
        "drill-kept": int(keeps), "drill-edges": int(not keeps),
        "drill-misread": int(bool(left_out)), "drill-unmeasured": int(missing > 0),
    }  # fmt: skip
    for slug, count in due.items():
        if len(whole.all(slug)) != count:
            yield f"{len(whole.all(slug))} sentences of {slug}", title
    if not whole.all("looks"):
        yield "nothing is said of what the errors look like", title
    if not same_words("".join(one["caution"] for one in whole.all("caution")), "".join(CAUTIONS)):
        yield "TAKE CARE does not have the cautions", title
    for said in whole.all("drill-misread"):
        if (said["_verb"] == "is") != (len(left_out) == 1):
            yield f"{said.text}: {len(left_out)} are", said
    for said in whole.all("done-measured"):
        told = said.count("measured_count"), said.count("missing_count")
        if told != (len(rows) - missing, missing):
            yield f"{said.text}: {len(rows) - missing} and {missing}", said
    tapped = [
        hole for hole in case.part.holes if hole.thread is not None and hole.name in case.places
    ]
    for said in whole.all("assumed-readings"):
        shown = said.mm("noise"), said.mm("readout_count")
        if abs(shown[0] - case.asked.noise_mm) > case.digit_mm:
            yield f"{said.text}: {case.asked.noise_mm:g} mm was asked for", said
        if abs(shown[1] - case.count_mm) > _SLACK_MM:
            yield f"{said.text}: the readout counts {case.count_mm:g} mm", said
        if said["grade"] not in (None, "normal") or (said["grade"] and not tapped):
            yield f"{said.text}: grade {said['grade']}", said
    yield from _mate(case, whole, kinds)


_MATES = {"mate-fits": None, "mate-lacks": "mate-does-not-fit", "mate-open": "mate-not-decided"}
"""The finding that goes with the verdict."""


def _mate(case: _Case, whole: ReadSection, kinds: set[str]) -> Iterator[Fault]:
    mates = whole.all("mate-fits", "mate-lacks", "mate-open", "mate-unjudged")
    if len(mates) != 1:
        yield f"{len(mates)} verdicts on the mate", case.sheet.pages[0].title
    for said in mates:
        wanted = _MATES.get(said.slug)
        told = {one for one in _MATES.values() if one in kinds}
        if told != ({wanted} if wanted else set()):
            yield f"{said.text}: what was found says {', '.join(map(str, told)) or 'nothing'}", said
        if "screw_count" in said.slots and said.count("screw_count") > len(case.places):
            yield f"{said.text}: {len(case.places)} holes are measured", said


def _exact(case: _Case, whole: ReadSection, fit: _Fit) -> Iterator[Fault]:
    """What JSON has in full: the same places, not rounded."""
    title, whole_json = case.sheet.pages[0].title, case.sheet.whole
    shift = complex(*map(float, whole_json["shift_mm"]))
    if abs(shift - fit.shift) > _EXACT or str(whole_json["mirrored"]) != str(fit.is_mirrored):
        yield f"shift_mm is {shift}, mirrored {whole_json['mirrored']}", title
    turn = float(whole_json["turn_deg"])
    if abs(cmath.exp(1j * math.radians(turn)) - fit.turn) > _EXACT:
        yield f"turn_deg is {turn}", title
    for name, told in whole_json["residuals_mm"].items():
        right = abs(case.places[name] - fit.put(case.nominal[name]))
        if abs(float(told) - right) > _EXACT:
            yield f"residuals_mm has {name} {told}; it is {right:.6f}", title
    for row in whole.rows:
        if row.table == "drilled":
            said = row.said
            place = complex(float(said["x_mm"]), float(said["y_mm"]))
            if not case.is_shown(said, "x y", place, case.count_mm / 2):
                yield f"{said['hole']}: x_mm, y_mm are {place}", said


def _csv(case: _Case, rows: Sequence[ReadRow]) -> Iterator[Fault]:
    """Coordinates alone: the fit is made here from what was measured."""
    left_out = [row.said["hole"] for row in rows if row.said["note"] == "likely misread"]
    names = [row.said["hole"] for row in rows if row.said["note"] == "measured"]
    fits = [
        _least_squares(case, [n for n in names if n in case.places], is_mirrored)
        for is_mirrored in (False, True)
        if case.asked.is_mirrored in (None, is_mirrored)
    ]

    own = {hole.name for hole in case.part.holes if hole.face == case.asked.lay.face}
    told = [row.said["hole"] for row in rows]
    if not own <= {*told} or len({*told}) != len(told):
        yield "the table does not have every hole of the face once", rows[0].said
    yield from min((list(_csv_rows(case, rows, fit, left_out)) for fit in fits), key=len)


def _csv_rows(
    case: _Case, rows: Sequence[ReadRow], fit: _Fit, left_out: Sequence[str]
) -> Iterator[Fault]:
    for row in rows:
        said, name = row.said, row.said["hole"]
        if name not in case.nominal or (said["unit"] != case.sheet.units):
            yield f"{name}: no such hole, or in {said['unit']}", said
            continue
        is_measured = name in case.places and _is_here(case, name)
        if is_measured == (said["note"] == "by the fit") or (
            said["note"] not in ("measured", "by the fit") and name not in left_out
        ):
            yield f"{name} is {said['note']}", said
        right = case.places[name] if is_measured else fit.put(case.nominal[name])
        right = fit.undone(right) if case.asked.keep_edges or fit.is_mirrored else right
        if not case.is_shown(said, "x y", right, case.count_mm / 2):
            yield f"{name} goes to {right:.4f}", said
