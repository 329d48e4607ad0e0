"""The words of setting up: how the part lies, is turned, is held, where the head stands.

Each maker gives sentences of `base/templates/setting.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Literal

from millprep.base.units import in_units
from millprep.model.kinds import TRUE_DONE
from millprep.model.part import Face, Part
from millprep.model.shop import Mill
from millprep.model.tools import Cutter
from millprep.planning import Operation
from millprep.planning.head import HeadHeight, PickUp, length_mm
from millprep.setting.holding import Holding
from millprep.setting.setups import Setup, side_of
from millprep.setting.turning import Move, moves_between
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

_UP_GOES = {
    ("x", 90): "towards you",
    ("x", -90): "away",
    ("y", 90): "right hand",
    ("y", -90): "left hand",
}
_TURNS = {("z", 90): "anticlockwise", ("z", -90): "clockwise"}

_say = Sayer("setting")


def lies_line(setup: Setup) -> Sentence:
    """How the part lies and, where that is not as the face is drawn, what it was chosen for."""
    why = setup.request.laid_for
    return _say(
        "lies",
        face=setup.face,
        towards_you=setup.towards_you,
        left_hand=setup.left_hand,
        laid_for=why,
        also={"away": setup.away},
    )


def turn_line(before: Setup, after: Setup, held_before: Holding, held: Holding) -> Sentence:
    """How the part comes from the setup before into this one."""
    jaws = None if held.jaws_above_mm is None else after.request.jaws
    moves = [move_slots(move, jaws) for move in moves_between(before, after)]
    slots: dict[str, Any] = {"moves": moves} if moves else {"stays": "as it lies"}
    if held.fixed is not None and held.stop is not None:
        slots |= _comes_to(before, after, held_before, held.fixed, held.stop)
    return _say(
        "turn",
        face_before=before.face,
        towards_you_before=before.towards_you,
        **slots,
        also={"from_setup": before.number},
    )


def _comes_to(
    before: Setup, after: Setup, was: Holding, fixed: Face, stop: Face
) -> dict[str, str | None]:
    """Jaw and stop; a stop left on the other hand would take the part by its wrong end."""
    side = side_of(after, stop)
    is_moved = was.stop is not None and side_of(before, was.stop) != side
    return {
        "fixed_jaw": fixed,
        "fixed_jaw_comes": "stays on" if fixed == was.fixed else "comes to",
        "stop": stop,
        "stop_comes": "stays at" if stop == was.stop else "comes to",
        "stop_moved_to": side if is_moved else None,
    }


def move_slots(move: Move, jaws: Literal["x", "y"] | None) -> Mapping[str, Any]:
    """What a hand is told of a move; `jaws` is the axis that the jaws close along, if any."""
    about, degrees = move
    is_quarter = degrees != 180
    if about == "z":
        how = "turn it a quarter" if is_quarter else "turn it half way"
    elif is_quarter:
        how = "tip it a quarter" if about == "y" else "roll it a quarter"
    else:
        how = "turn it end for end" if about == "y" else "roll it right over"
    beside = None if jaws is None or about == "z" else "square" if about == jaws else "along"
    return {
        "how": how,
        "up_goes": _UP_GOES.get(move),
        "turns": _TURNS.get(move),
        "also": {"about": about, "jaws": beside, "degrees": degrees},
    }


def skew_line(skew_deg: float) -> Sentence:
    """Told where the part lies askew and X and Y have been turned with it."""
    turns = "anticlockwise" if skew_deg > 0 else "clockwise"
    return _say("skew", degrees=f"{abs(skew_deg):.4f}", turns=turns)


def head_lines(
    heights: Sequence[HeadHeight], mill: Mill, figures: Figures, order: str = "tool"
) -> tuple[Sentence, ...]:
    """What the quill does from each height of the head, and where the head has to move."""
    travel = mill.quill_travel_mm
    if not heights or travel is None:
        return ()
    moves = len(heights) - 1
    why = "" if order == "hole" else "moves least"
    if not moves:
        first = _say("head-stays")
    elif moves == 1:
        first = _say("head-moves-once", order=why)
    else:
        first = _say("head-moves", times=moves, order=why)
    return (first, *_heights(heights, travel, figures))


def head_moves_before(
    heights: Sequence[HeadHeight], tool_numbers: Mapping[Cutter, int]
) -> list[int]:
    """The numbers of the tools before which the head moves."""
    return [tool_numbers[height.tools[0]] for height in heights[1:]]


def moved_line(
    part: Part,
    operations: Sequence[Operation],
    number: int,
    again: PickUp,
    zero: Iterable[Sentence],
) -> Sentence:
    """Told before the step of that number: the head moves, and what is picked up.

    zero : the sentences by which the sheet has found it
    """
    if again.by == "rim":
        on = "rim" if part.stock.bore_mm is None else "bore"
        return _say("moved-rim", moved_step=number, again_on=on, again_at=0)
    if again.made is not None:
        step = next(n for n, one in enumerate(operations, 1) if one is again.made)
        done, hole = _LEAVES.get(again.made.name, "drilled"), again.made.hole.name
        named = {"again_hole": hole, "again_done": done, "again_step": step}
        return _say("moved-hole", moved_step=number, **named)
    touches = [
        touch
        for said in zero
        for touch in said.slots.get("touches", (said.slots,))
        if "with" in touch and ("set_to" in touch or _is_centred(said))
    ]
    edges = [{"with": touch["with"], "on": touch["on"]} for touch in touches]
    return _say("moved-edges", moved_step=number, again=edges)


def _is_centred(said: Sentence) -> bool:
    """Whether both sides give zero; by dial every touch does."""
    return bool(said.slots.get("also", {}).get("zero", "centre") == "centre")


_LEAVES = TRUE_DONE | {"spot drill": "spotted"}


def _heights(heights: Sequence[HeadHeight], travel: float, figures: Figures) -> Iterator[Sentence]:
    start = 1
    for height in heights:
        end = start + len(height.tools) - 1
        slots: dict[str, Any] = (
            {"change": start} if start == end else {"from_change": start, "to_change": end}
        )
        sizes = {
            "longest": length_mm(height.longest),
            "shortest": length_mm(height.shortest),
            "deepest": height.deepest_mm,
            "needed": height.needed_mm,
            "quill": travel,
        }
        slots |= {name: _tenths(size, figures) for name, size in sizes.items()}
        yield _say("head-height", unit=figures.unit, **slots)
        start = end + 1


def _tenths(value_mm: float, figures: Figures) -> Shown:
    value = in_units(value_mm, figures.units)
    return Shown(f"{value:.{1 if figures.units == 'mm' else 2}f}", value_mm)
