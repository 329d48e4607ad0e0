"""What there is to say of a match: doubts, slips, whether the parts fit, where the places lead.

Imports layers 0 to 3, planning, checks, `matching`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import hypot, sqrt

import numpy as np

from millprep.base.findings import Finding, Severity
from millprep.base.records import replace
from millprep.checks import run_checks, told_once, with_cures
from millprep.matching.match import Match, MatchedHole, Wishes
from millprep.matching.measured_places import Place
from millprep.matching.slip_words import listed, shop_figures
from millprep.model.part import Hole, Part, Point
from millprep.model.scene import Box
from millprep.model.shop import Shop
from millprep.planning import make_plan
from millprep.setting.setups import Setup, point_of, stock_of
from millprep.sums.fitting import Floats, hand_difference_mm

_MOST_CHECKED = 2_000  # holes, for the checks are run twice
_MOVED_MM = 0.001  # no drill follows less
_FAR_OUT = 2.5  # times the error of one reading: a place known no better is worth a word


def match_findings(match: Match, shop: Shop, wishes: Wishes) -> Iterator[Finding]:
    """Everything there is to say of a match, what is doubtful first."""
    fitted = [
        one
        for one in match.holes
        if one.measured_mm is not None and one.hole.name not in match.left_out
    ]
    p = np.array([one.nominal_mm for one in fitted]).T
    figure = shop_figures(shop, wishes.units).figure
    yield from _doubts(match, p, wishes)
    yield from _other_hand(match, figure)
    yield from _slip(match)
    yield from _left_out(match, figure)
    yield from _mating(match, figure)
    yield from _not_measured(match, p, figure)
    yield from _where_they_go(match, shop)


def doubted_readings(match: Match, shop: Shop, wishes: Wishes) -> Iterator[Finding]:
    """Warnings of the readings themselves, for sheets that are moved by them."""
    remedy = f"if a reading may be wrong: millprep match {match.part.path} {match.measured.path}"
    found = [*_slip(match), *_mating(match, shop_figures(shop, wishes.units).figure)]
    for one in found:
        if one.severity == "warning":
            of_mate = one.message.replace("this part", "the mate")
            said = one.message if match.fit.mirrored else of_mate
            yield replace(one, said=said, advice=remedy)


Figure = Callable[[float], str]
"""A length in a sentence."""


def _finding(
    match: Match, severity: Severity, kind: str, message: str, remedy: str, *names: str
) -> Finding:
    file, setup = match.measured.path, match.setup.number
    return Finding(severity, kind, message, remedy, file, holes=names, setup=setup)


def _doubts(match: Match, p: Floats, wishes: Wishes) -> Iterator[Finding]:
    """What the measured holes cannot show."""
    if p.shape[1] == 1 or np.ptp(p, axis=1).max() <= wishes.noise_mm:
        message = "one hole shows no turn: only the shift is fitted"
        remedy = "measure a second hole, far from the first"
        yield _finding(match, "note", "turn-not-shown", message, remedy)
    elif wishes.hand is None and hand_difference_mm(p) <= wishes.noise_mm:
        message = "holes in one line look alike from both sides: taken as seen from the side drawn"
        remedy = "measure a hole beside the line, or say --hand mirrored where the faces meet"
        yield _finding(match, "note", "hand-not-shown", message, remedy)
    if match.fit.mirrored:
        message = (
            "the pattern is mirrored, and its zero says nothing of this part's edges: the "
            "coordinates keep this part's own zero, and the shift and turn of the fit are undone"
        )
        yield _finding(match, "note", "fit-undone", message, "zero this part as its listing says")


def _other_hand(match: Match, figure: Figure) -> Iterator[Finding]:
    """A hand that was said, and that the readings contradict."""
    if match.other_hand is None:
        return
    said, other = "mirrored", "as-drawn"
    if match.other_hand.mirrored:
        said, other = other, said
    message = (
        f"--hand {said} leaves errors of {figure(match.fit.rms_mm)}, and the other hand "
        f"only {figure(match.other_hand.rms_mm)} (roots of the mean square)"
    )
    remedy = f"say --hand {other}, or nothing: then what fits better is taken"
    yield _finding(match, "warning", "other-hand", message, remedy)


def _left_out(match: Match, figure: Figure) -> Iterator[Finding]:
    """The holes that would have dragged the fit."""
    left = [one for one in match.holes if one.hole.name in match.left_out]
    if not left:
        return
    names = [one.hole.name for one in left]
    by = figure(max(one.error_mm or 0.0 for one in left))
    up_to, them = ("", "it") if len(names) == 1 else ("up to ", "them")
    message = (
        f"the fit leaves out {listed(names)}, {up_to}{by} from where the other holes put {them}"
    )
    remedy = f"measure {them} again: the coordinates repeat the reading as it is"
    yield _finding(match, "note", "left-out-of-fit", message, remedy, *names)


def _slip(match: Match) -> Iterator[Finding]:
    looks = match.likeness
    if match.other_hand is not None or looks.kind in ("within noise", "scatter", "mirrored"):
        return
    is_plain = looks.kind in ("shift", "turn") and "(" not in looks.sentences[0]
    remedy = "measure it again before anything is drilled by it"
    if not looks.holes and match.keeps_edges:
        remedy = "the coordinates undo shift and turn: the parts' edges are out of line by as much"
    elif not looks.holes:
        remedy = "for edges in line on both parts, drill by the coordinates below"
    severity: Severity = "note" if is_plain else "warning"
    yield _finding(match, severity, "likely-slip", "; ".join(looks.sentences), remedy, *looks.holes)


def _mating(match: Match, figure: Figure) -> Iterator[Finding]:
    mate = match.mate
    by, tight, is_one = figure(abs(mate.lacking_mm)), listed(mate.tight), len(mate.tight) == 1
    lacks = "lacks" if is_one else "lack up to"
    if mate.verdict == "does not fit":
        message = (
            f"drilled as drawn, this part would not fit: at best {tight} {lacks} {by} clearance"
        )
        remedy = (
            f"{_again(match)}drill it by the coordinates below, or make the clearance holes larger "
            "by twice that"
        )
        yield _finding(match, "warning", "mate-does-not-fit", message, remedy, *mate.tight)
    elif mate.verdict == "not decidable":
        play = f"{lacks} {by} clearance"
        if mate.lacking_mm <= 0:
            play = f"{'has' if is_one else 'have'} {by} clearance to spare worst case"
        message = (
            f"too close to call whether this part fits as drawn: {tight} {play}, and a reading "
            f"may be wrong by {figure(match.noise_mm)}"
        )
        remedy = "drill it by the coordinates below, or measure more finely"
        yield _finding(match, "warning", "mate-not-decided", message, remedy, *mate.tight)
    if mate.not_judged:
        names = mate.not_judged
        message = f"{listed(names)}: no screw is named, so that their clearance is not known"
        remedy = "pins and bores go together only by the coordinates below; or say --play"
        yield _finding(match, "note", "mate-not-judged", message, remedy, *names)


def _again(match: Match) -> str:
    """Readings to doubt before a verdict that hangs on them."""
    doubtful = [name for name in match.left_out if name in match.mate.holes]
    return f"measure {listed(doubtful)} again first; then " if doubtful else ""


def _not_measured(match: Match, p: Floats, figure: Figure) -> Iterator[Finding]:
    """The holes that the fit places, and those that it reaches too far for."""
    left = [one for one in match.drilled if one.measured_mm is None]
    if not left:
        return
    names = [one.hole.name for one in left]
    are, they_go = ("is", "it goes") if len(names) == 1 else ("are", "they go")
    message = f"{listed(names)} {are} not measured"
    remedy = f"the fit of the others says where {they_go}"
    yield _finding(match, "note", "not-measured", message, remedy, *names)
    known = {one.hole.name: _known_to_mm(p, one.nominal_mm, match.noise_mm) for one in left}
    far = [name for name in names if known[name] > _FAR_OUT * match.noise_mm]
    if far and not match.keeps_edges:
        message = (
            f"{listed(far)} {'is' if len(far) == 1 else 'are'} so far from the measured holes "
            f"that a reading's error grows to {figure(max(known.values()))} there"
        )
        remedy = "measure a hole farther out"
        yield _finding(match, "warning", "far-from-measured", message, remedy, *far)


def _known_to_mm(p: Floats, place: Place, noise_mm: float) -> float:
    """How well a fit knows a place: the errors of its middle and of its turn, in squares."""
    middle = p.mean(axis=1)
    spread = float(((p - middle[:, None]) ** 2).sum())
    away = float(((np.array(place) - middle) ** 2).sum())
    turn = away / spread if spread > noise_mm**2 else 0.0
    return noise_mm * sqrt(1 / p.shape[1] + turn)


def _where_they_go(match: Match, shop: Shop) -> Iterator[Finding]:
    """Coordinates that this part cannot take: off its face, or too near to something."""
    stray = [one.hole.name for one in match.holes if not _is_on_face(match, one.coordinate_mm)]
    if stray:
        yield _off_face(match, stray)
        return
    moved = {one.hole.name: one for one in match.holes if _is_moved(one)}
    if not moved or len(match.part.holes) > _MOST_CHECKED:
        return
    before = {key for one in run_checks(make_plan(match.part, shop)) for key in _told(one)}
    plan = make_plan(_drilled_so(match, moved), shop)
    for finding in told_once(plan.part, with_cures(plan, run_checks(plan))):
        is_new = any(key not in before for key in _told(finding) if key[2] in moved)
        if is_new and finding.severity != "note":
            said = f"by these coordinates: {finding.message}"
            yield replace(finding, severity="warning", said=said)


def _off_face(match: Match, stray: list[str]) -> Finding:
    """A zero that is another leads holes off the face, and so does a reading that is wrong."""
    words = (
        f"by these coordinates {listed(stray)} {'lies' if len(stray) == 1 else 'lie'} off the face"
    )
    remedy = "measure again: a reading is wrong, or the holes are not those of this face"
    measured = {one.hole.name for one in match.holes if one.measured_mm is not None}
    wrong = measured & set(stray)  # one misread by much drags holes that are not measured with it
    if not match.keeps_edges and not (wrong and wrong <= set(match.likeness.holes)):
        words += ": the readings count from another zero than this part's"
        remedy = "say --keep-edges: the coordinates then count from this part's zero"
    return _finding(match, "warning", "off-face", words, remedy, *stray)


def _told(finding: Finding) -> list[tuple[str, str, str]]:
    """What is known of each hole once this has been told."""
    return [(finding.kind, finding.severity, hole) for hole in finding.holes]


def _is_moved(one: MatchedHole) -> bool:
    return hypot(*np.subtract(one.coordinate_mm, one.nominal_mm)) > _MOVED_MM


def _is_on_face(match: Match, place: Place) -> bool:
    stock = stock_of(match.part, match.setup)
    x, y = place
    if isinstance(stock, Box) or stock.axis != 2:
        (x0, y0, _), (x1, y1, _) = match.setup.low_mm, match.setup.high_mm
        return x0 <= x <= x1 and y0 <= y <= y1
    (x0, y0, _), (x1, y1, _) = stock.low_mm, stock.high_mm
    return hypot(x - (x0 + x1) / 2, y - (y0 + y1) / 2) <= (x1 - x0) / 2


def _drilled_so(match: Match, moved: dict[str, MatchedHole]) -> Part:
    """The part with its holes at the coordinates."""
    holes = [
        replace(hole, centre_mm=_centre(match.setup, hole, moved[hole.name].coordinate_mm))
        if hole.name in moved
        else hole
        for hole in match.part.holes
    ]
    return replace(match.part, holes=tuple(holes))


def _centre(setup: Setup, hole: Hole, place: Place) -> Point:
    """Part axes of a place in setup axes, on the hole's own face."""
    z = float(setup.from_part(np.array(hole.centre_mm)[:, None])[2, 0])
    return point_of(setup.to_part(np.array([*place, z])[:, None])[:, 0])
