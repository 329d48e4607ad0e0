"""What a tools list says of tools that could stand in for others: each figure by its own sums.

Imports the part, the shop, the tables and `reading`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.shop import Cabinet
from millprep.model.tools import Cutter, PointedTool, Tap
from millprep.reading.pages.printed import PrintedTool
from millprep.reading.pages.sheet import ReadRow
from millprep.reading.pages.slots import Said
from millprep.reference.clearance import GRADES, clearance_for
from millprep.reference.drills import oversize_mm
from millprep.reference.threads import Thread, thread_named
from millprep.witness.leavings import (
    DIAMETER_TOLERANCE_MM,
    REAM_LABOURS_TIMES,
    least_left_mm,
    ream_stock_mm,
)

Fault = tuple[str, Said]
Asked = Mapping[str, float | str | None]
_HALF_DIGIT = 0.51
_DIGITS_LEFT = 0.001  # of a pitch that is told by three digits
_TOLD_MM = 0.0006  # a tool line has its size to three digits
_SAME_MM = 1e-6
_USUAL_CONE_DEG = 90.0  # of a metric countersink (common practice)
_FACTOR = 1.2269  # of the pitch: depth of the external thread (from memory of ISO 68-1)


@frozen
class _Case:
    """A stand-in, the tool that is missing, and the first of the holes that it is wanted for.

    is_by_hand : the drawer has a hand reamer of the hole's size and no other
    """

    tool: Cutter
    missing: PrintedTool
    hole: Hole
    material: str
    is_by_hand: bool

    @property
    def off_mm(self) -> float:
        return self.tool.diameter_mm - self.missing.diameter_mm

    @property
    def left_mm(self) -> float:
        """Of the hole, on diameter."""
        return self.hole.diameter_mm - self.tool.diameter_mm

    @property
    def cut_mm(self) -> float:
        """What a drill cuts."""
        return self.tool.diameter_mm + oversize_mm(self.tool.diameter_mm)

    @property
    def angle_deg(self) -> float:
        return self.tool.angle_deg if isinstance(self.tool, PointedTool) else 0.0


def stand_in_faults(
    part: Part, cabinet: Cabinet, row: ReadRow, missing: PrintedTool, names: Sequence[str]
) -> Iterator[Fault]:
    """What is wrong with the sentences below a tool that is not in the drawer."""
    said = [one for one in row.below if one.slug.startswith("instead-")]
    is_missing = any(one.slug == "tool-missing" for one in row.below)
    alone = sum(one.slug == "tool-alone" for one in row.below)
    if alone != (is_missing and not said) or (said and not is_missing):
        yield f"{row.said['tool']}: what could be used instead is not told once", row.said
    holes = [hole for hole in part.holes if hole.name in names]
    for rank, one in enumerate(said, 1):
        if one.count("rank") != rank:
            yield f"{one.text} is the {rank}.", one
        tools = _of_drawer(cabinet, one, row.said["tool"], missing)
        if not tools:
            yield f"{one['instead']} {one['kind']} is not in the drawer", one
        elif holes:  # two of one name may have other points
            first = holes[0]
            kinds = {r.is_hand for r in cabinet.reamers if _is_size(r, first.diameter_mm)}
            cases = [_Case(tool, missing, first, part.material, kinds == {True}) for tool in tools]
            yield from min(([*_told(one, case)] for case in cases), key=len)


def _is_size(tool: Cutter, diameter_mm: float) -> bool:
    return abs(tool.diameter_mm - diameter_mm) <= DIAMETER_TOLERANCE_MM


def percent_faults(
    part: Part,
    row: ReadRow,
    drill: PrintedTool,
    names: Sequence[str],
    before_taps: Mapping[str, float],
) -> Iterator[Fault]:
    """What is wrong with how much of each thread a drill is said to leave.

    before_taps : diameter of the last drill under the thread of each hole
    """
    said = [one for one in row.below if one.slug == "tap-percent"]
    holes = [hole for hole in part.holes if hole.name in names]
    threads = {
        hole.thread.designation: hole.thread
        for hole in holes
        if drill.kind == "drill" and hole.thread and before_taps.get(hole.name) == drill.diameter_mm
    }
    if sorted(one["thread"] for one in said) != sorted(threads):
        yield f"{row.said['tool']}: its threads are {', '.join(threads) or 'none'}", row.said
        return
    for one in said:
        right = thread_percent(threads[one["thread"]], drill.diameter_mm)
        if abs(float(one["percent"]) - right) > _HALF_DIGIT:
            yield f"{one.text}: it is {right:.1f}", one


def in_drawer(cabinet: Cabinet, kind: str) -> Sequence[Cutter]:
    """The tools of a kind that the shop has."""
    lists: dict[str, Sequence[Cutter]] = {
        "drill": cabinet.drills,
        "reamer": cabinet.reamers,
        "tap": cabinet.taps,
        "spot drill": cabinet.spot_drills,
        "countersink": cabinet.countersinks,
        "counterbore": cabinet.counterbores,
        "end mill": cabinet.end_mills,
    }
    return lists.get(kind, ())


def _of_drawer(cabinet: Cabinet, said: Said, line: str, missing: PrintedTool) -> list[Cutter]:
    """The tools that are so named; a boring head is set to the size that is missing."""
    if said["kind"] == "boring head":
        is_its_size = line.startswith((f"reamer {said['instead']},", f"reamer {said['instead']} "))
        is_its_size |= line == f"reamer {said['instead']}"
        return [Cutter(said["instead"], missing.diameter_mm)] if is_its_size else []
    return [t for t in in_drawer(cabinet, said["kind"]) if t.words == said["instead"]]


def _told(said: Said, case: _Case) -> Iterator[Fault]:
    """Each slot that a sum can ask says what the sum gives."""
    for name, right in _ASKED[said.slug](case, said).items():
        told = said.slots.get(name)
        is_so = told == right
        if isinstance(right, float) and told is not None:
            figure = str(told).partition(" ")[0]
            digit = 10.0 ** -len(figure.partition(".")[2])
            slack = max(_HALF_DIGIT * digit, _DIGITS_LEFT * right) + _TOLD_MM
            is_so = abs(float(figure) - right) <= slack
        if not is_so:
            yield f"{said.text}: {name} is {right}", said


def _way(over: str, under: str, off_mm: float) -> Asked:
    return {"off": abs(off_mm), "way": over if off_mm > 0 else under}


def thread_percent(thread: Thread, drill_mm: float) -> float:
    """How much of a thread a drill leaves."""
    return 100 * (thread.major_mm - drill_mm) / (_FACTOR * thread.pitch_mm)


def _tap_drill(case: _Case, said: Said) -> Asked:
    thread = case.hole.thread
    if thread is None:
        return {"percent": "no thread there"}
    return {
        "percent": thread_percent(thread, case.tool.diameter_mm),
        "cut_percent": thread_percent(thread, case.cut_mm),
    }


def _ream_drill(case: _Case, said: Said) -> Asked:
    (least, most), left = ream_stock_mm(case.hole, case.material, case.is_by_hand), case.left_mm
    verdict = "good"
    if case.cut_mm > case.hole.diameter_mm - least_left_mm(case.hole):
        verdict = "too little: it rubs"
    if left > most * REAM_LABOURS_TIMES:
        verdict = "much: ream in two goes"
    return {"left": left, "verdict": verdict, "least": least, "most": most}


def _clear_drill(case: _Case, said: Said) -> Asked:
    """The grades whose hole the drill makes, or which lie on both sides of it."""
    thread = thread_named(said["thread"])
    clearance = clearance_for(thread) if thread is not None else None
    if thread is None or clearance is None:
        return {"thread": "a screw that has clearance holes"}
    sizes = {grade: clearance.hole(grade)[1] for grade in GRADES}
    drill = case.tool.diameter_mm
    if not any(abs(size - case.hole.diameter_mm) < _SAME_MM for size in sizes.values()):
        return {"thread": "the screw of the hole"}
    asked: dict[str, float | str | None] = {"room": drill - thread.major_mm}
    if said.slug == "instead-clearance-drill":
        return asked | {
            "grade": next((g for g, size in sizes.items() if abs(size - drill) < _SAME_MM), "none")
        }
    smaller = [grade for grade, size in sizes.items() if size < drill - _SAME_MM]
    larger = [grade for grade, size in sizes.items() if size > drill + _SAME_MM]
    kinds = {0: "tight", len(sizes): "loose"}
    right = f"instead-{kinds.get(len(smaller), 'between')}-drill"
    if said.slug != right:
        return {"grade": right}
    grade = smaller[-1] if smaller else larger[0]
    asked |= {"grade": grade, "hole": sizes[grade]}
    if said.slug == "instead-between-drill":
        asked |= {"wider_grade": larger[0], "wider_hole": sizes[larger[0]]}
    return asked


def _plain_drill(case: _Case, said: Said) -> Asked:
    hole, asked = case.hole, _way("over", "under", case.off_mm)
    is_own = abs(case.missing.diameter_mm - hole.diameter_mm) < _SAME_MM
    if hole.limits_um is None or not is_own:
        return {**asked, "limits": None, "cut": None}
    low, high = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
    where = "within" if low <= case.cut_mm <= high else "outside"
    return {**asked, "cut": case.cut_mm, "limits": where}


def _reamer(case: _Case, said: Said) -> Asked:
    limits = case.hole.limits_um
    is_in = limits is None or limits[0] / 1000 <= case.off_mm <= limits[1] / 1000
    return {**_way("over", "under", case.off_mm), "limits": "within" if is_in else "outside"}


def _tap(case: _Case, said: Said) -> Asked:
    tool, missing = case.tool, case.missing
    cuts, wanted = thread_named(tool.words), thread_named(missing.thread)
    are_other = cuts is not None and wanted is not None and cuts.form != wanted.form
    return {
        **_way("thicker", "thinner", case.off_mm),
        "screw": tool.words,
        "pitch": tool.pitch_mm if isinstance(tool, Tap) else None,
        "wanted_pitch": missing.pitch_mm,
        "flanks": cuts.form.words if are_other and cuts else None,
        "wanted_flanks": wanted.form.words if are_other and wanted else None,
    }


def _other_cone(case: _Case, said: Said) -> Asked:
    wanted = case.missing.point_angle_deg or _USUAL_CONE_DEG
    where = "on its rim" if case.angle_deg > wanted else "at the foot of its cone"
    return {"angle": case.angle_deg, "wanted_angle": wanted, "where": where}


_ASKED: dict[str, Callable[[_Case, Said], Asked]] = {
    "instead-tap-drill": _tap_drill,
    "instead-ream-drill": _ream_drill,
    "instead-tight-drill": _clear_drill,
    "instead-loose-drill": _clear_drill,
    "instead-clearance-drill": _clear_drill,
    "instead-between-drill": _clear_drill,
    "instead-plain-drill": _plain_drill,
    "instead-reamer": _reamer,
    "instead-bored": lambda case, said: {"kind": "boring head"},
    "instead-drill-for-reamer": lambda case, said: _way(
        "over", "under", case.cut_mm - case.missing.diameter_mm
    ),
    "instead-tap": _tap,
    "instead-short-cone": lambda case, said: {"off": -case.off_mm},
    "instead-same-cone": lambda case, said: {"angle": case.angle_deg},
    "instead-other-cone": _other_cone,
    "instead-wide-recess": lambda case, said: {"off": case.off_mm},
    "instead-milled": lambda case, said: {"off": -case.off_mm / 2},
    "instead-started": lambda case, said: {"kind": "countersink"},
}
