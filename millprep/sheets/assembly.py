"""The report of an assembly: every joint with its figures, each rounded once.

Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.assembly import Judged
from millprep.assembly.chances import Likely
from millprep.assembly.coinciding import Over
from millprep.assembly.figures import (
    bodies_json,
    joints_json,
    meetings_json,
    members_json,
    pairs_json,
    stacks_json,
    tables_of,
)
from millprep.assembly.floats import EndFloat
from millprep.assembly.links import entered_by
from millprep.assembly.pinned import Pinned
from millprep.assembly.saying import Say
from millprep.assembly.screws import Screwed
from millprep.assembly.stacks import Stacked
from millprep.base.findings import Finding
from millprep.model.assembled import Place, ScrewJoint
from millprep.sheets.document import (
    Column,
    Document,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
)
from millprep.sheets.heading import remarks_field

_JOINT = "{called:text}: {what:text}"
_PAIR = "{both:text}: {verdict:each other's opposite hand/NO handed pair}"
_SAID = ("fits", "floats", "patterns")
"""Lists of a joint in JSON whose entries are said, a sentence each."""

_say = Sayer("assembly")


def make_assembly_report(judged: Judged, *, with_remarks: bool) -> Document:
    """The members, every joint with its figures, the verdict.

    with_remarks : whether what was found is told below
    """
    assembly = judged.assembly
    verdict = (
        _say.field("In what was checked:", _verdict(judged.findings)),
        _say.field("What was not looked at:", _say("unlooked")),
    )
    remarks = remarks_field(_say, judged.findings) if with_remarks else None
    page = Page(
        _say("assembly-title", assembly=assembly.name, mark=assembly.mark),
        (_say("assembly-note", note=assembly.note),) if assembly.note else (),
        (
            Section((_say.field("MEMBERS"), _members(judged))),
            *_joints(judged),
            *_pairs(judged),
            *_bought(judged),
            *_trials(judged),
            Section(verdict),
            *([] if remarks is None else [Section((remarks,))]),
        ),
        also={
            **{name: [] for name in ("joints", "pairs", "buy") if not _has(judged, name)},
            "stacks": stacks_json(judged),
            "bodies": bodies_json(judged),
            "meetings": meetings_json(judged),
        },
    )
    return Document("assembly", assembly.units, (page,), judged.findings, is_report=True)


def _has(judged: Judged, name: str) -> bool:
    assembly = judged.assembly
    joined = bool(assembly.joints or assembly.shared or assembly.stacks)
    return {"joints": joined, "pairs": bool(judged.pairs), "buy": bool(judged.bought)}[name]


def _members(judged: Judged) -> Table:
    rows = []
    for figures in members_json(judged):
        cells = ("name", "file", "mark", "made_by", "on")
        also = {name: value for name, value in figures.items() if name not in cells}
        shown = {name: figures[name] or None for name in cells}
        rows.append(Row(_say("members row", **shown), also=also))
    width = max((len(row.cells.cells[0]) for row in rows), default=0)
    return Table("members", None, tuple(rows), (Column(width), Column(gap=2)))


def _joints(judged: Judged) -> Iterator[Section]:
    """A section a joint, shared pattern and stack, in the order of their figures."""
    assembly, say = judged.assembly, Say(judged.assembly)
    screws = {row.joint.name: row for row in judged.screws}
    stacks = {table.name: row for row, table in tables_of(judged)}
    joined = (*assembly.joints, *assembly.shared, *assembly.stacks)
    for joint, figures in zip(joined, joints_json(judged), strict=True):
        what, held = figures["kind"], None
        if figures["kind"] == "shared":
            what = "shared pattern"
        elif figures["kind"] == "reamed together":
            held = _stack(say, stacks[joint.name])
        else:
            count = max(len(place.holes) for place in joint.places)  # all have as many
            what = f"{count} x {figures['words']}"
            if isinstance(joint, ScrewJoint):
                held = _screw(say, screws[joint.name])
        pins = [row for row in judged.pins if row.joint is joint]
        runs = [row for row in judged.floats if row.joint is joint]
        overs = [row for row in judged.overs if row.link.joint is joint]
        chances = [row for row in judged.chances if row.joint is joint and row.chance is not None]
        items = (
            _say.field(_JOINT, called=joint.name.upper(), what=what),
            _say.field("PLACES", _say("joint-places", places=[one.words for one in joint.places])),
            _say.field("HELD", held),
            _say.field("FITS", *map(_pin, pins, figures.get("fits", ()), [say] * len(pins))),
            _say.field("FLOATS", *map(_float, runs, figures.get("floats", ()), [say] * len(runs))),
            _say.field("PATTERNS", *map(_over, overs, figures["patterns"], [say] * len(overs))),
            _say.field("CHANCES", *(_enter(say, row) for row in chances)),
        )
        also = {name: one for name, one in figures.items() if name not in _SAID or not one}
        shown = tuple(one for one in items if one.sentences or not one.is_silent)
        yield Section(shown, "joints", also)


def _pairs(judged: Judged) -> Iterator[Section]:
    for row, figures in zip(judged.pairs, pairs_json(judged), strict=True):
        verdict = "each other's opposite hand" if row.is_pair else "NO handed pair"
        both = " AND ".join(row.pair.members).upper()
        yield Section((_say.field(_PAIR, both=both, verdict=verdict),), "pairs", figures)


def _bought(judged: Judged) -> Iterator[Section]:
    """Screws, pins, nuts and washers."""
    say = Say(judged.assembly)
    rows = []
    for one in judged.bought:
        slots: dict[str, Any] = {"what": one.what, "count": one.count}
        if one.long_mm is not None:
            slots["long_mm"] = _length(say, one.long_mm)
            slots["long"] = "given" if one.is_given else "holes"
        rows.append(Row(_say("buy row", **slots)))
    width = max((len(row.cells.cells[0]) for row in rows), default=0)
    if rows:
        table = Table("buy", None, tuple(rows), (Column(width), Column(gap=2)))
        yield Section((_say.field("TO BUY"), table))


def _trials(judged: Judged) -> Iterator[Section]:
    """How the chances were found."""
    chances = [row.chance for row in judged.chances if row.chance is not None]
    if chances:
        told = _say("chances", trials=chances[0].trials, seed=chances[0].seed)
        yield Section((_say.field("Chances:", told),))


def _length(say: Say, length_mm: float, digits: int = 2) -> Shown:
    return Shown(say.length(length_mm, digits), length_mm)


def _screw(say: Say, row: Screwed) -> Sentence:
    plays = [_length(say, play) for play in row.play_mm if play != math.inf]
    slots: dict[str, Any] = {"play_mm": plays or None, "grip_mm": _length(say, row.grip_mm)}
    figures = row.figures
    if figures is None:
        way, where = ("ends", "inside") if row.ends_mm < 0 else ("stands", "out of")
        end = _length(say, abs(row.ends_mm))
        return _say("stud-holds", **slots, _stud_way=way, where=where, stud_end_mm=end)
    slots |= {
        "engagement_mm": _length(say, figures.engagement_mm),
        "engagement_diameters": f"{figures.engagement_diameters:.1f}",
        "wanted_mm": _length(say, figures.wanted_mm),
    }
    if figures.room_mm is not None:
        name = "spare_mm" if figures.room_mm >= 0 else "deeper_mm"
        slots[name] = _length(say, abs(figures.room_mm))
    if figures.comes_out_mm is not None:
        slots["end_mm"] = _length(say, abs(figures.comes_out_mm))
        slots["end_way"] = "out of" if figures.comes_out_mm > 0 else "inside"
    if figures.head_mm is not None:
        first = next((each for each in row.joint.places if not each.is_loose), None)
        slots["head_off_mm"] = _length(say, abs(figures.head_mm))
        slots["head_way"] = "above" if figures.head_mm > 0 else "below"
        slots["head_face"] = _entered(row.joint, first)
    return _say("screw-holds", **slots)


def _stack(say: Say, row: Stacked) -> Sentence:
    return _say(
        "stack-holds",
        height_mm=_length(say, row.height_mm),
        members=list(row.members),
        gaps_mm=[_length(say, high - low) for low, high in row.gaps] or None,
    )


def _entered(joint: ScrewJoint, place: Place | None) -> str:
    return "the face" if place is None else entered_by(joint, place).upper()


def _pin(row: Pinned, figures: Mapping[str, Any], say: Say) -> Sentence:
    low, high = round(row.fit.least_mm * 1000), round(row.fit.greatest_mm * 1000)
    slots = {"how": row.how, "holes": row.place.words, "also": figures}
    if row.how == "clear":
        return _say("pin-clears", **slots, clears_mm=_length(say, row.fit.least_mm))
    slots |= {"fit": row.fit.words, "word": row.fit.word}
    if low >= 0:
        return _say("pin-sits", **slots, least_um=low, greatest_um=high)
    if high <= 0:
        return _say("pin-sits", **slots, least_um=-high, greatest_um=-low, **{"as": "tight"})
    return _say("pin-may", **slots, tight_um=-low, play_um=high)


def _float(row: EndFloat, figures: Mapping[str, Any], say: Say) -> Sentence:
    gap = _length(say, row.gap_mm)
    slots = {"between": row.between, "outer": row.outer, "gap_mm": gap, "also": figures}
    if row.free_mm < 0:
        return _say("end-long", **slots, over_mm=_length(say, -row.free_mm))
    return _say("end-float", **slots, free_mm=_length(say, row.free_mm))


def _over(over: Over, figures: Mapping[str, Any], say: Say) -> Sentence:
    slots: dict[str, Any] = {
        "member": over.link.first.member,
        "other": over.link.second.member,
        "also": figures,
    }
    is_single = len(over.off_mm.T) == 1
    if not over.are_square:
        return _say("over-askew", **slots)
    if not over.explained_by:
        return _say("over-in-line" if is_single else "over-lies", **slots)
    off = _length(say, over.worst_mm, 3)
    if is_single:
        return _say("over-out", **slots, off_mm=off)
    return _say("over-off", **slots, off_mm=off, words=over.words)


def _enter(say: Say, row: Likely) -> Sentence:
    slots: dict[str, Any] = {
        "share": f"{row.share * 100:.1f}",
        "error": f"{row.error * 100:.1f}",
        "made_by": list(dict.fromkeys(row.made_by)),
        "held": "held" if row.is_held else "",
    }
    if row.zone_mm is not None and row.allowed_mm is not None:
        slots["zones_mm"] = _length(say, row.zone_mm)
        slots["zones"] = "within" if row.zone_mm <= row.allowed_mm + 1e-9 else "more than"
        slots["left_mm"] = _length(say, row.allowed_mm)
    return _say("enter", **slots)


def _verdict(findings: Sequence[Finding]) -> Sentence:
    counts = {
        severity: sum(one.severity == severity for one in findings)
        for severity in ("stop", "warning", "note")
    }
    return _say(
        "verdict", stops=counts["stop"], warnings=counts["warning"], notes=counts["note"] or None
    )
