"""What a sheet says of a stack against its bodies and its bores. Imports the part and `reading`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from millprep.base.findings import Finding
from millprep.witness import carried
from millprep.witness.compared import Due
from millprep.witness.faces import AXIS, FAR, HIGH
from millprep.witness.set_up import SetUp

_ALIKE_MM = 0.02
_TOUCH_MM = 0.001
_STACK = "FIRST JOIN FILL LAYERS HEADS PINS OVER APART ALIGN CLAMP SPOT JIG CHANCE THEN"


def check_stack(one: SetUp) -> Iterator[Finding]:
    """Every sentence of a stack, in its place and with its figures; none of a part."""
    part = one.printed.part
    told = [said for said in one.page.whole.said if said.group in _STACK.split()]
    due = [*_set_up(one), *_done(one)] if part.layers else []
    if part.carrying is not None and part.layers:
        ending = [*carried.then(part.carrying)] if one.all("done") else []
        due = [*carried.spotting(one, part.carrying), *ending]
        yield from carried.spotting_faults(one, part.carrying)
    said_of = [said for said in told if said.slug not in _STACK.split()]
    if [said.slug for said in said_of] != [slug for slug, _ in due]:
        yield one.wrong("what is told of the stack is not what there is to tell")
        return
    for said, (_, right) in zip(said_of, due, strict=True):
        layers, told_of = right.get("layers", ()), said.parts("layers")
        if len(layers) != len(told_of):
            yield one.wrong(f"{said.text}: it has {len(layers)} layers", said)
        for part_said, due_of in ((said, right), *zip(told_of, layers, strict=False)):
            yield from one.says(part_said, carried.as_told(due_of))
    yield from _layers_of_rows(one)


def _set_up(one: SetUp) -> Iterator[tuple[str, Due]]:
    part, setup = one.printed.part, one.printed.setup
    members = [layer for layer in part.layers if not layer.is_scrap]
    has_more = {*part.pieces} > {layer.name for layer in members}
    alike = _ALIKE_MM if has_more else None
    yield "stack-first", {"members": [*part.pieces], "alike_mm": alike}
    stood = {
        "stood": setup.zero_y if setup.zero_y != "centre" else setup.towards_you,
        "squared": setup.zero_x if setup.zero_x != "centre" else one.by_side["left hand"],
        "top_member": members[0].name,
    }
    if part.screwed:
        yield "stack-screws", {"screws": [*part.screwed], **stood}
    else:
        yield "stack-clamps", stood
    blocks = [layer for layer in part.layers if layer.is_scrap]
    for near, far in pairwise(members):
        gap = far.from_mm - near.to_mm
        is_filled = any(abs(block.from_mm - near.to_mm) < _TOUCH_MM for block in blocks)
        if gap > _TOUCH_MM:
            due = {"gap_mm": gap, "near": near.name, "far": far.name}
            yield "stack-scrap" if is_filled else "stack-open", due
    layers = [
        {"layer": layer.name, "begins": layer.from_mm + 0.0, "ends": layer.to_mm + 0.0}
        for layer in part.layers
    ]
    first = members[0].name
    yield "stack-layers", {"face": setup.face, "top_member": first, "layers": layers}
    yield from _heads(one)


def _heads(one: SetUp) -> Iterator[tuple[str, Due]]:
    """How far heads and nuts stand out of the face that is up, and of that below it."""
    part, face = one.printed.part, one.printed.setup.face
    axis = AXIS[face]
    high_mm = max([one.high_mm[axis] - part.stock.size_mm[axis] for one in part.proud], default=0.0)
    low_mm = max([-one.low_mm[axis] for one in part.proud], default=0.0)
    over, under = (high_mm, low_mm) if face in HIGH else (low_mm, high_mm)
    if over > _TOUCH_MM:
        yield "stack-heads", {"over_mm": over, "face": face}
    if under > _TOUCH_MM:
        yield "stack-heads-under", {"under_mm": under, "seat": FAR[face]}


def _done(one: SetUp) -> Iterator[tuple[str, Due]]:
    """Below the last step of a whole sheet."""
    if not one.all("done"):
        return
    names = [*dict.fromkeys(row.hole for row in one.rows)]
    yield "stack-pins", {"holes": names}
    first = one.hole_here(names[0]) if names else None
    for name in names[1:]:
        other = one.hole_here(name)
        if first is None or other is None:
            continue
        both = [layer for layer in first.layers if layer in other.layers]
        if both:
            over = math.dist(first.centre_mm, other.centre_mm)
            over += (first.diameter_mm + other.diameter_mm) / 2
            due = {"hole": first.name, "other": name, "over": over}
            yield "over-pins", {**due, "top_layer": both[0], "low_layer": both[-1]}
    yield "stack-apart", {}


def _layers_of_rows(one: SetUp) -> Iterator[Finding]:
    """In JSON each step names the members that its bore is cut in."""
    for row in one.page.whole.rows:
        named = row.said.named
        if named is None or ("layers" not in named and not one.printed.part.layers):
            continue
        hole = one.hole_here(str(named.get("hole")))
        if hole is not None and [*(named.get("layers") or ())] != [*hole.layers]:
            yield one.wrong(f"{hole.name} is cut in {named.get('layers')}", row.said)
