"""The words of holes that are carried over from one member to the next.

Each maker gives sentences of `base/templates/carry.txt`. Imports layers 0 to 4 and `figures`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from millprep.model.carrying import DRILLED, Carrying, Mate
from millprep.model.part import Part
from millprep.planning.making import widest_spot_mm
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures
from millprep.sums.chance import WANTED_SHARE

_LEVEL_MM = 0.01

_say = Sayer("carry")


def carry_lines(carrying: Carrying, figures: Figures) -> Iterator[Sentence]:
    """How the members are made ready, and how they lie on one another."""
    others = [name for name, _ in carrying.meets]
    yield _say("carry-first", source=carrying.source, others=others, stack=carrying.after)
    for one in carrying.besides:
        slots: dict[str, Any] = {"member": one.member, "source": carrying.source}
        if one.middle:
            (face, mm), (other, other_mm) = one.middle
            at = {"from_mm": _length(mm, figures), "other_mm": _length(other_mm, figures)}
            yield _say("carry-middle", **slots, face=face, other_face=other, **at)
            continue
        if one.face is None:
            yield _say("carry-round", **slots)
            continue
        slots |= {"face": one.face, "other_face": one.other_face}
        if abs(one.inside_mm) < _LEVEL_MM:
            yield _say("carry-level", **slots)
        else:
            way = "inside" if one.inside_mm > 0 else "outside"
            yield _say(
                "carry-edge", **slots, way=way, beside_mm=_length(abs(one.inside_mm), figures)
            )
    if carrying.by not in ("transfer screw", "readings"):
        done = "spotted" if carrying.by in DRILLED else "marked"
        yield _say("carry-clamp", own="jig" if carrying.by == "jig" else "", done=done)
    if carrying.share is not None:
        yield _say(
            "carry-chance",
            share=f"{carrying.share * 100:.1f}",
            reach="" if carrying.share >= WANTED_SHARE else "short",
            wanted=f"{WANTED_SHARE * 100:.0f}",
            better=carrying.better,
        )


def through_lines(part: Part, carrying: Carrying, figures: Figures) -> Iterator[Sentence]:
    """Which drill goes through which member, and how wide a cone it leaves; the pins of a jig."""
    told: dict[tuple[object, ...], list[Mate]] = {}
    for one in carrying.mates:
        told.setdefault((one.passes_mm, widest_spot_mm(one.hole), _thread(one)), []).append(one)
    for alike in told.values():
        one = alike[0]
        chamfer = widest_spot_mm(one.hole)
        cone = min(one.passes_mm, chamfer)
        yield _say(
            "carry-spot",
            drill_mm=_length(one.passes_mm, figures),
            source=carrying.source,
            members=list(dict.fromkeys(each.member for each in alike)),
            cone_mm=_length(cone, figures),
            full="yes" if cone == one.passes_mm else "",
            thread=_thread(one),
            chamfer_mm=_length(chamfer, figures),
            thick_mm=_length(part.layers[0].to_mm, figures),
        )
    if carrying.by == "jig":
        for pin_mm in dict.fromkeys(one.passes_mm for one in carrying.mates):
            pin = _length(pin_mm, figures)
            yield _say("carry-jig", pin_mm=pin, source=carrying.source)


def then_lines(carrying: Carrying) -> Iterator[Sentence]:
    """What the part's own sheets make of it then."""
    import shlex  # here, for few parts have holes that are carried over

    apart = "no" if carrying.by == "readings" else "yes"
    for file, name in carrying.finishes:
        command = shlex.join(["listing", file, "--only", name])
        yield _say("carry-then", apart=apart, command=command)


def _thread(one: Mate) -> str | None:
    return None if one.hole.thread is None else one.hole.thread.designation


def _length(value_mm: float, figures: Figures) -> Shown:
    return Shown(f"{figures.size(value_mm)} {figures.unit}", value_mm)
