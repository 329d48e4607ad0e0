"""What a sheet says of a cutter beside its figures: how it is touched off, ground and set.

Sentences are those of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from millprep.model.part import FACE_AXIS, Part
from millprep.model.shop import Shop
from millprep.model.tools import BoringHead, Countersink, Cutter, Drill
from millprep.planning import Operation
from millprep.planning.making import dial_on_mm
from millprep.reference.cutters import wanted_point
from millprep.reference.materials import material_named
from millprep.setting.setups import Setup
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sums import cutting

_TOUCHED_WITH = {
    "counterbore": "edges",
    "end mill": "end",
    "reamer": "end",
    "tap": "end",
    "boring head": "boring tool",
}

_say = Sayer("setting")


def each_tool(setup: Setup, part: Part, shop: Shop) -> Sentence:
    """How Z is set for every tool that nothing else is said of; a rim falls away beside its
    highest line."""
    return _say("each-tool", **_touched(setup, part), sets=_sets(shop))


def touch_off(operation: Operation, shop: Shop, figures: Figures) -> Sentence | None:
    """How Z is set for this tool, where by its kind that is otherwise; None where it is not."""
    tool = operation.tool
    if is_set_by_rim(operation):
        return rim_line(operation, shop, figures)
    if isinstance(tool, BoringHead):
        return _say("touch-off", touch="boring tool")
    if not isinstance(tool, Countersink):
        return None
    nose = Shown(f"{figures.size(tool.tip_flat_mm)} {figures.unit}", tool.tip_flat_mm)
    return _say("touch-off-nose", nose_mm=nose) if tool.tip_flat_mm else None


def touch_facts(operation: Operation, setup: Setup, part: Part, shop: Shop) -> Mapping[str, Any]:
    """How Z is set for this tool, for JSON."""
    if is_set_by_rim(operation):
        return {}
    face, tool = _touched(setup, part), operation.tool
    is_nosed = isinstance(tool, Countersink) and bool(tool.tip_flat_mm)
    touched = {} if is_nosed else {"touch": _TOUCHED_WITH.get(tool.kind, "tip")}
    rim = {"touch_off": "rim" if face["along"] else setup.face}
    along = {"along": face["along"] or None}
    return {**touched, **face, **along, "sets": _sets(shop), "touch_at": 0, **rim}


def _touched(setup: Setup, part: Part) -> dict[str, Any]:
    is_rim = part.stock.axis not in (None, FACE_AXIS[setup.face])
    return {"touch_face": setup.face, "along": "axis" if is_rim else ""}


def _sets(shop: Shop) -> str:
    return "Z" if shop.readout.axes == "xyz" else "quill"


def is_set_by_rim(operation: Operation) -> bool:
    """Whether the tool is a countersink whose nose nobody knows: its Z comes from a hole's rim."""
    return isinstance(operation.tool, Countersink) and not operation.tool.is_nose_known


def rim_line(operation: Operation, shop: Shop, figures: Figures) -> Sentence:
    """Z of a cone without a known nose: where its flanks meet the rim of a hole, its point would
    be half the hole's diameter lower, by the tangent of half its angle."""
    tool, rim_mm = operation.tool, operation.rim_mm
    assert isinstance(tool, Countersink) and rim_mm is not None  # `is_set_by_rim`
    share = cutting.cone_depth_mm(1.0, tool.angle_deg)
    at_mm = -share * rim_mm
    return _say(
        "touch-off-rim",
        rim_hole=operation.hole.name,
        sets=_sets(shop),
        rim_at=_height(at_mm, figures),
        rim_share=f"{share:.3f}".rstrip("0"),
        rim_mm=Shown(f"{figures.size(rim_mm)} {figures.unit}", rim_mm),
        also={"touch_off": "rim"},
    )


def lips_line(operations: Sequence[Operation]) -> Sentence | None:
    """Of a drill that opens out a hole in what would draw it in."""
    if not any(operation.dulled_lips for operation in operations):
        return None
    return _say("lips-dulled", also={"say": ["lips-dulled"]})


def point_lines(
    steps: Sequence[tuple[int, Operation]],
    part: Part,
    plan_numbers: Mapping[Cutter, int],
    shop: Shop,
    figures: Figures,
) -> Iterator[Sentence]:
    """Of each drill whose point is not what the material wants: what to grind, and the depth for
    it beside the first. steps : (number, operation)"""
    material = material_named(part.material)
    wanted = None if material is None else wanted_point(material)
    told: set[Cutter] = set()
    for number, one in steps:
        tool = one.tool
        if wanted is None or not isinstance(tool, Drill) or tool in told:
            continue
        told.add(tool)
        if wanted.suits(tool.angle_deg):
            continue
        points = (
            cutting.point_length_mm(tool.diameter_mm, angle)
            for angle in (tool.angle_deg, wanted.grind_deg)
        )
        shorter_mm = next(points) - next(points)
        yield _say(
            "point-wanted",
            wanted_least=f"{wanted.least_deg:g}",
            wanted_most=f"{wanted.most_deg:g}",
            point_tool=plan_numbers[tool],
            grind_deg=f"{wanted.grind_deg:g}",
            point_step=number,
            sets=_sets(shop),
            grind_at=_height(one.z_mm + shorter_mm, figures),
            point_at=_height(one.z_mm, figures),
            point_off=Shown(figures.words(shorter_mm), abs(shorter_mm)),
            point_way="less" if shorter_mm > 0 else "more",
        )


def _height(z_mm: float, figures: Figures) -> Shown:
    return Shown(str(figures.shown(z_mm, "z")), figures.signed(z_mm, "z"))


def boring_line(operations: Sequence[Operation]) -> Sentence | None:
    """How a boring head is set from pass to pass, and how long all of them cut; None for others."""
    first = operations[0] if operations else None
    if first is None or first.boring is None or not isinstance(first.tool, BoringHead):
        return None
    seconds = sum(-60 * one.z_mm / one.feed_mm_per_min for one in operations)
    return _say(
        "boring",
        pass_count=len(operations),
        cut_minutes=f"{seconds / 60:.1f}",
        head_dial=first.tool.dial,
    )


def pass_line(operation: Operation, figures: Figures) -> Sentence:
    """One pass of a boring head: the bore before and after it, and what its dial moves."""
    one, head = operation.boring, operation.tool
    assert one is not None and isinstance(head, BoringHead)  # nothing else bores by passes
    lengths = {"bored_from": one.from_mm, "bored_to": one.to_mm, "dial_on": dial_on_mm(head, one)}
    shown = {name: Shown(figures.words(value), abs(value)) for name, value in lengths.items()}
    return _say("pass", pass_number=one.number, pass_count=one.count, **shown)
