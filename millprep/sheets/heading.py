"""What stands at the head and the foot of every sheet of a part. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from millprep.base.findings import Finding
from millprep.model.part import Part
from millprep.reference.materials import material_named
from millprep.sheets.document import Field, Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

DRY = "none, dry"
"""A lubricant that is none."""


def heading_of(
    say: Sayer, part: Part, figures: Figures, by: str = "", *, at_the_mill: bool = False
) -> tuple[Sentence, ...]:
    """Stock, drawing, part mark, and what to mind.

    by : "dial" where that is what it goes by; at_the_mill : what to mind in the material is told
    whether it burns or not, with its lubricant, and how true places have to be
    """
    return (
        stock_sentence(say, part, figures, by),
        marked_sentence(say, part, figures, at_the_mill=at_the_mill),
        *(minding(say, part) if at_the_mill else burning(say, part)),
        *([say("note", note=part.note)] if part.note else []),
    )


def marked_sentence(
    say: Sayer, part: Part, figures: Figures, *, at_the_mill: bool = False
) -> Sentence:
    """The part's mark and the unit of the figures; at_the_mill : and how true places have to be."""
    general_mm = part.general_tolerance_mm if at_the_mill else None
    positions = None if general_mm is None else Shown(figures.size(general_mm), general_mm)
    return say("marked-part", part_mark=part.mark, units=figures.units, positions=positions)


def minding(say: Sayer, part: Part) -> tuple[Sentence, ...]:
    """The lubricant, and what to mind in this material; nothing where no table has it."""
    material = material_named(part.material)
    if material is None or not (material.lubricant or material.advice):
        return ()
    advice = material.advice or None
    slug = "mind-dry" if material.lubricant == DRY else "mind-oil"
    if not material.lubricant:
        return (say("mind", advice=advice),)
    return (say(slug, oil=material.lubricant, advice=advice),)


def burning(say: Sayer, part: Part) -> tuple[Sentence, ...]:
    """What to mind where fine swarf of the material burns: on every sheet."""
    material = material_named(part.material)
    return (say("mind", advice=material.advice),) if material and material.burns else ()


def stock_sentence(say: Sayer, part: Part, figures: Figures, by: str = "") -> Sentence:
    """Material and size as they lie on the bench."""
    stock = part.stock

    def shown(*sizes_mm: float) -> list[Shown]:
        return [Shown(figures.size(size), size) for size in sizes_mm]

    slots: dict[str, Any] = {
        "material": part.material,
        "by": by,
        "drawing": part.drawing or None,
        "also": {"unit": figures.unit},
    }
    if stock.size_mm != stock.nominal_mm:
        slots["measured"] = " (as measured)"
    if stock.axis is None:
        return say("stock-block", sizes=shown(*stock.size_mm), **slots)
    across = 1 if stock.axis == 0 else 0
    sizes = shown(stock.size_mm[across], stock.size_mm[stock.axis])
    bore = None if stock.bore_mm is None else shown(stock.bore_mm)[0]
    return say("stock-disc", sizes=sizes, bore=bore, **slots)


def bearing_on(findings: Iterable[Finding], setup: int, holes: set[str]) -> list[Finding]:
    """Those of a setup or of any, that speak of one of the holes or of none."""
    return [
        one
        for one in findings
        if one.setup in (None, setup) and (not one.holes or holes.intersection(one.holes))
    ]


def remarks_field(say: Sayer, findings: Iterable[Finding]) -> Field | None:
    """What was found, a sentence each; None where there is nothing."""
    said = [say("remark", severity=f.severity, message=f.message) for f in findings]
    return say.field("REMARKS", *said) if said else None
