"""The head of a program: what part, how it lies, what has to be set, its tools, what the hand does.

Each sentence with its kind: "note", "tool" (a line that the dry run reads), or "mark". Imports
layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath

from millprep.base.marks import BLANK_MARK
from millprep.base.units import in_units
from millprep.model.carrying import Left
from millprep.model.part import Part
from millprep.model.tools import Cutter, EndMill, Tap
from millprep.planning import Operation
from millprep.planning.head import PickUp
from millprep.planning.programs import why_by_hand
from millprep.planning.sides import thin_sides
from millprep.reference.materials import material_named
from millprep.reference.threads import thread_named
from millprep.sheets.cautions import BEFORE_THE_PROGRAM
from millprep.sheets.left_words import alike_left
from millprep.writers.program_changes import Changes
from millprep.writers.program_scope import scope_said

Said = tuple[str, str]


def head_of(
    of: Changes,
    runs: Sequence[Sequence[Operation]],
    hand: Sequence[Operation],
    moves: Mapping[int, PickUp],
    skew_deg: float = 0.0,
) -> Iterator[Said]:
    """runs : what each tool does; moves : before which of them the head moves"""
    part = of.plan.part
    for text in (*_how_it_lies(of), *_before_it_runs(of, moves)):
        yield "note", text
    if skew_deg:
        way = "anticlockwise" if skew_deg > 0 else "clockwise"
        yield "note", f"part lies {abs(skew_deg):.4f} deg {way}, X and Y turned with it"
    yield "note", f"part mark {part.mark}"
    yield "mark", BLANK_MARK
    for line in (*BEFORE_THE_PROGRAM, *_burning(part)):
        yield "note", line
    powered = {one.hole.name: one for run in runs for one in run}.values()
    carrier = of.scope.carrier
    in_place = [] if carrier is None else [carrier.tool]
    for tool in dict.fromkeys([*in_place, *(run[0].tool for run in runs)]):
        yield "tool", tool_words(of.plan.tool_numbers[tool], tool)
    for side in (s for o in powered for s in thin_sides(part.stock, o.hole)):
        yield "note", f"clamp scrap against {side.side}: {side.hole.name} comes near it, light feed"
    yield from _end_mills(of, runs)
    for one in (each for run in runs for each in run):
        under_mm = 0.0 if one.helix is None else one.hole.diameter_mm - one.helix.to_mm
        if one.name == "drill" and under_mm > 0:
            left = of.form.size(under_mm)
            yield "note", f"{one.where} is milled {left} under, the boring head finishes it"
    for one in hand:
        why = why_by_hand(one, of.plan)
        yield "note", f"BY HAND: {one.where} {one.name} {one.tool.words}, {why}"


def _end_mills(of: Changes, runs: Sequence[Sequence[Operation]]) -> Iterator[Said]:
    """What the end mills that go round have to be like: no name of a tool tells it."""
    for run in runs:
        tool, number = run[0].tool, of.plan.tool_numbers[run[0].tool]
        deep_mm = max((-one.z_mm for one in run if one.helix is not None), default=0.0)
        if isinstance(tool, EndMill) and deep_mm:
            length = of.form.length(tool.flute_mm or deep_mm)
            centre = ", cuts on centre" if tool.is_centre_cutting else ""
            yield "note", f"end mill T{number}: {tool.teeth} teeth, flutes {length} long{centre}"


def _how_it_lies(of: Changes) -> Iterator[str]:
    setup = of.setup
    yield f"{of.plan.part.name}, setup {setup.number} of {len(of.plan.setups)}"
    if (said := of.plan.part.as_measured) is not None:
        yield f"holes moved to fit {PurePath(said.file).name}"
        if said.drilled:
            yield f"not entered, drilled already: {', '.join(said.drilled)}"
    yield from map(left_words, alike_left(one for one in of.plan.part.left if not one.is_there))
    height = in_units(of.scope.raised_mm, of.units)
    unit = "in" if of.units == "inch" else "mm"
    yield from scope_said(of.plan, of.setup_plan, height, unit)
    yield f"{setup.face} up, {setup.towards_you} towards you, {setup.left_hand} to your left"
    yield (
        f"zero X on {setup.zero_x}, Y on {setup.zero_y}, Z on {setup.face}, "
        f"{setup.request.work_offset}"
    )
    places = of.setup_plan.places_mm
    units = "in" if of.units == "inch" else "mm"
    for number, (x_mm, y_mm) in enumerate(places, 1):
        place = f"X{of.form.length(x_mm)} Y{of.form.length(y_mm)} {units}"
        yield f"piece {number} of {len(places)}: its zero at {place}"
    if count := of.setup_plan.loaded:
        yield f"{count} pieces put in one after another at the same stop"
    if places:
        yield f"zero and tools are set on piece 1, all lie alike, {setup.face} of all level"


def left_words(group: tuple[Left, list[str]]) -> str:
    """Which holes the part's own programs do not finish, and which step does."""
    one, holes = group
    made = {"spotted": "spotted only, ", "pilot": f"piloted {one.pilot_mm or 0:g} mm, "}
    return f"left for later: {', '.join(holes)}, {made.get(one.made, '')}{one.later}"


def _before_it_runs(of: Changes, moves: Mapping[int, PickUp]) -> Iterator[str]:
    """What has to be set by then, and how each change goes."""
    setup, offset = of.setup, of.work_offset
    if any(
        one.setup.number < setup.number and one.setup.request.work_offset == offset
        for one in of.plan.setups
    ):
        yield f"zero again for setup {setup.number}: {offset}"
    if any(of.short_mm):
        axes = [letter for letter, short in zip("XY", of.short_mm, strict=True) if short]
        sides = " and from ".join(f"minus {letter}" for letter in axes)
        yield f"find zero coming from {sides}, as every hole is come up to"
    if of.is_file_a_tool and moves:
        yield f"before this file {of.picked_up(moves[0])}"
    if of.control.axes == "xy":
        yield f"each tool: fit it, touch it off on {setup.face}, zero the quill scale, go on"
    elif of.is_set_before:
        yield f"before this file touch the tool off on {setup.face}, set Z0 of {offset}"
    elif not of.control.length_offset:
        yield f"each tool: fit it, touch it off on {setup.face}, set Z0 of {offset}, go on"


def _burning(part: Part) -> list[str]:
    """What to mind where fine swarf of the material burns, a sentence a line."""
    material = material_named(part.material)
    return material.advice.split(". ") if material is not None and material.burns else []


def tool_words(number: int, tool: Cutter) -> str:
    """The tool line that a dry run reads: TOOL 3 DRILL 5.000 MM POINT 118."""
    words = [f"TOOL {number} {tool.kind.upper()} {tool.diameter_mm:.3f} MM"]
    thread = thread_named(tool.words) if isinstance(tool, Tap) else None
    for word, value in tool.told.items():
        digits = f"{value:.5f}".rstrip("0").rstrip(".") if word == "pitch" else f"{value:g}"
        if word == "lead" and thread is not None and thread.angle_deg != 60.0:
            words.append(f"FLANKS {thread.angle_deg:g}")  # the usual one goes without saying
        words.append(f"{word.upper()} {digits}")
    if isinstance(tool, Tap) and tool.is_left_hand:
        words.append("LEFT HAND")
    if tool.is_carbide:
        words.append("CARBIDE")
    return " ".join(words)
