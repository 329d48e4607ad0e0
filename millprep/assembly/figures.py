"""The figures of a judged assembly by joint, as plain values: for JSON and for comparing two.

Layers 0 to 3. Lengths mm, not rounded for paper.
"""

from __future__ import annotations

from typing import Any

from millprep.assembly import Judged
from millprep.assembly.bodies import Body
from millprep.assembly.chances import Likely
from millprep.assembly.coinciding import Over
from millprep.assembly.floats import EndFloat
from millprep.assembly.links import Joined
from millprep.assembly.pinned import Pinned
from millprep.assembly.screws import Screwed
from millprep.assembly.stacks import Stacked
from millprep.model.assembled import ScrewJoint, Stack
from millprep.model.part import FACE_AXIS, Hole, Part

_DIGITS = 6

Figures = dict[str, Any]


def joints_json(judged: Judged) -> list[Figures]:
    """A dict a joint, shared pattern and stack, in the order of the file."""
    screws = {row.joint.name: row for row in judged.screws}
    rows: list[Figures] = []
    for joint in judged.assembly.joints:
        figures: Figures = {"name": joint.name, "words": joint.words, "line": joint.line}
        if isinstance(joint, ScrewJoint):
            figures |= {
                "kind": "stud" if joint.kind is None else "screw",
                **({"table": joint.table} if joint.table != joint.name else {}),
                **_screw(screws[joint.name]),
            }
        else:
            pins = [each for each in judged.pins if each.joint is joint]
            floats = [_float(each) for each in judged.floats if each.joint is joint]
            figures |= {"kind": "pin", "fits": [_pin(each) for each in pins], "floats": floats}
            figures |= {"length_mm": joint.length_mm, "swing_deg": joint.swing_deg}
        figures["patterns"] = _patterns(judged, joint)
        figures["chances"] = [_likely(each) for each in judged.chances if each.joint is joint]
        rows.append(figures)
    for shared in judged.assembly.shared:
        figures = {"name": shared.name, "kind": "shared", "line": shared.line}
        rows.append(figures | {"patterns": _patterns(judged, shared)})
    for row, table in tables_of(judged):
        figures = {"name": table.name, "kind": "reamed together", "line": table.line}
        figures |= {"stack": row.name, "height_mm": _plain(row.height_mm)}
        rows.append(figures | {"patterns": _patterns(judged, table)})
    return rows


def _patterns(judged: Judged, joint: Joined) -> list[Figures]:
    return [_over(over) for over in judged.overs if over.link.joint is joint]


def tables_of(judged: Judged) -> list[tuple[Stacked, Stack]]:
    """Each [[reamed_together]] in the order of the file, with its stack."""
    rows = {table.name: row for row in judged.stacks for table in row.tables}
    return [(rows[table.name], table) for table in judged.assembly.stacks]


def stacks_json(judged: Judged) -> list[Figures]:
    """A dict a stack: depths below the top face of its first member."""
    return [
        {
            "name": row.name,
            "members": list(row.members),
            "height_mm": _plain(row.height_mm),
            "layers": [
                {"member": o.member, "from_mm": _plain(o.from_mm), "to_mm": _plain(o.to_mm)}
                for o in row.layers
            ],
            "gaps_mm": [_plain(high - low) for low, high in row.gaps],
            "holes": [
                {"name": bore.name, "layers": [layer.member for layer in bore.layers]}
                for bore in row.bores
            ],
        }
        for row in judged.stacks
    ]


def pairs_json(judged: Judged) -> list[Figures]:
    return [
        {
            "members": list(row.pair.members),
            "is_handed": row.is_pair,
            "is_same_hand": row.is_same_hand,
            "odd": list(row.odd),
        }
        for row in judged.pairs
    ]


def members_json(judged: Judged) -> list[Figures]:
    return [
        {
            "name": member.name,
            "file": member.file,
            "part": member.part.name,
            "mark": member.part.mark,
            "made_by": member.made_by,
            "on": judged.lays[member.name].on,
            "group": judged.lays[member.name].group,
            "origin_mm": [_plain(v) for v in judged.lays[member.name].pose.shift_mm.tolist()],
            "rotation": [
                [_plain(v) for v in row] for row in judged.lays[member.name].pose.rotation.tolist()
            ],
        }
        for member in judged.assembly.members
    ]


def _plain(value: float | None) -> float | None:
    return None if value is None else round(float(value), _DIGITS) + 0.0


def _screw(row: Screwed) -> Figures:
    play = [_plain(each) for each in row.play_mm if each != float("inf")]
    shared: Figures = {"count": row.count, "length_mm": row.joint.length_mm, "play_mm": play}
    figures = row.figures
    if figures is None:
        return {**shared, "grip_mm": _plain(row.grip_mm), "ends_mm": _plain(row.ends_mm)}
    names = ["grip", "penetration", "engagement", "wanted", "room", "comes_out", "head", "cure"]
    told = {f"{name}_mm": _plain(getattr(figures, f"{name}_mm")) for name in names}
    return {**shared, **told}


def _pin(row: Pinned) -> Figures:
    return {
        "holes": row.place.words,
        "how": row.how,
        "fit": row.fit.words,
        "word": row.fit.word,
        "least_mm": _plain(row.fit.least_mm),
        "greatest_mm": _plain(row.fit.greatest_mm),
        "is_assumed": row.is_assumed,
    }


def _float(row: EndFloat) -> Figures:
    figures = {"gap_mm": row.gap_mm, "long_mm": row.long_mm, "free_mm": row.free_mm}
    return {
        "between": list(row.between),
        "outer": list(row.outer),
        **{name: _plain(value) for name, value in figures.items()},
    }


def bodies_json(judged: Judged) -> list[Figures]:
    """Every blank, screw, head, nut, washer and pin: a box, or a cylinder about its last axis."""
    return [
        {
            "what": body.what,
            "name": body.name,
            **({"hole": body.hole} if body.hole else {}),
            "shape": "cylinder" if body.shape.is_round else "box",
            "centre_mm": [_plain(value) for value in body.shape.centre_mm.tolist()],
            "axes": [[_plain(value) for value in axis] for axis in body.shape.axes.tolist()],
            "half_mm": [_plain(value) for value in body.shape.half_mm.tolist()],
        }
        for body in judged.bodies
    ]


def meetings_json(judged: Judged) -> list[Figures]:
    """Bodies that meet or nearly do, by what they are; apart_mm below 0 is into each other."""
    return [
        {
            "first": _body(one.first),
            "second": _body(one.second),
            "apart_mm": _plain(one.apart_mm),
            "turning_on": None if one.turning is None else one.turning.joint.name,
        }
        for clash in judged.clashes
        for one in clash.meetings
    ]


def _body(body: Body) -> Figures:
    return {"what": body.what, "name": body.name, **({"hole": body.hole} if body.hole else {})}


def _over(over: Over) -> Figures:
    return {
        "first": over.link.first.words,
        "second": over.link.second.words,
        "first_face": over.link.first_face,
        "second_face": over.link.second_face,
        "worst_mm": _plain(over.worst_mm),
        "explained_by": over.explained_by,
        "words": over.words,
        "apart_mm": _plain(over.apart_mm),
        "pairs": [
            [over.link.first.holes[one].name, hole.name]
            for one, hole in zip(over.order, over.link.second.holes, strict=True)
        ],
    }


def _likely(row: Likely) -> Figures:
    chance = row.chance
    return {
        "first": row.first.words,
        "second": row.second.words,
        "made_by": list(row.made_by),
        "play_mm": _plain(row.play_mm),
        "share": None if chance is None else row.share,
        "standard_error": None if chance is None else _plain(row.error),
        "is_held": row.is_held,
        "trials": None if chance is None else chance.trials,
        "seed": None if chance is None else chance.seed,
        "method": None if row.method is None else row.method.words,
        "clearance_mm": None if row.clearance is None else row.clearance.hole_mm,
        "zone_mm": _plain(row.zone_mm),
        "allowed_mm": _plain(row.allowed_mm),
    }


def hole_figures(part: Part, hole: Hole) -> Figures:
    """What of a hole can change, in words that a list of changes uses; its place on its face."""
    along = FACE_AXIS[hole.face]
    across = (mm for axis, mm in enumerate(hole.centre_mm) if axis != along)
    return {
        "place": tuple(_plain(value) or 0.0 for value in across),
        "size": f"{hole.kind} {hole.words}{f' {hole.fit}' if hole.fit else ''}",
        "depth": _plain(hole.depth_mm),
        "mouth": (hole.mouth, hole.far, hole.opened),
        "limits": hole.limits_um,
        "position": (hole.tolerance_mm, hole.position_mm, part.general_tolerance_mm),
    }
