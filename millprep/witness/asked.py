"""What every sheet of a part says at its head and foot, against the part. Imports the part and
`reading`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from millprep.base.findings import Finding
from millprep.model.part import Part
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadPage, ReadSection, ReadSheet
from millprep.reading.pages.slots import Said, as_figure
from millprep.reference.materials import material_named
from millprep.witness.questions import questions_of

REPORT = "the sheet does not agree with the part file; please report it"
_SIZE_ROUNDED_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in
_DRY = "none, dry"
_BURNING = {"magnesium", "titanium"}  # their fine swarf; every sheet says so (common practice)
CAUTIONS = (
    "Eyes: glasses on. No gloves, rings, loose sleeves; long hair tied back.",
    "Key out of the chuck before the spindle turns. Work clamped, never held.",
    "Brush swarf away with the spindle stopped; no fingers, no air jet.",
    "Ease off as the drill breaks through. Tool jammed: stop first, then turn back by hand.",
    "Your workshop's own rules and qualified instruction come before this sheet.",
)
"""Typed again: what stands under TAKE CARE of a sheet for the mill."""

T = TypeVar("T")
Tells = Callable[[str, Said], T]
"""Makes what is handed on of words about a sentence: a finding, or both as they are."""
Complain = Tells[Finding]


def complaint(file: str) -> Complain:
    """Makes a stop of words about a sentence."""

    def complain(words: str, said: Said) -> Finding:
        return Finding("stop", "wrong-figure", words, REPORT, file, said.line)

    return complain


def unreadable(what: str, fault: UnreadableSheet, file: str) -> Finding:
    """A stop for a sheet that cannot be read back. what : "the list" """
    words = f"{what} cannot be read back: {fault.message}"
    remedy = "it is not handed over; please report it"
    return Finding("stop", "unreadable-sheet", words, remedy, file, fault.line)


def check_heading_of(
    sheet: ReadSheet,
    page: ReadPage,
    part: Part,
    complain: Tells[T],
    *,
    advice: bool | None = False,
    remarks: Sequence[Finding] | None = None,
    stock: bool = True,
    is_later: bool = False,
    is_marked: bool = True,
) -> Iterator[T]:
    """Name, mark, drawing, note, stock, and the remarks.

    advice : whether what to mind in the material has to be told; False: only where its swarf burns,
             None: not there either
    remarks : what was found about this page; None to leave that
    stock   : whether stock and note have to be told
    is_later : it is a page behind the first of its sheet: the mark is told again, no more
    is_marked : whether the part's mark has to be told
    """
    title, whole = page.title, page.whole
    if title["part"] not in (part.name, part.name.upper()):
        yield complain(f'the part is called "{title["part"]}", not "{part.name}"', title)
    told = Counter(one.slug for one in whole.said)
    mind, oil = advice_due(part, advice), oil_due(part) if advice else ""
    minds = dict.fromkeys(("mind", "mind-dry", "mind-oil"), 0)
    if mind or oil:
        minds["mind" if not oil else "mind-dry" if oil == _DRY else "mind-oil"] = 1
    block = "stock-block" if part.stock.axis is None else "stock-disc"
    is_bare = not stock and not is_later
    due = {block: stock, "marked": is_bare, "marked-part": is_marked and not is_bare, **minds}
    due["note"] = bool(part.note and stock)
    for slug, count in due.items():
        if told[slug] != count:
            yield complain(f"the heading has {told[slug]} sentences of {slug}", title)
    texts: dict[str, str | None] = {
        "advice": mind,
        "note": part.note,
        "part_mark": part.mark,
        "units": sheet.units,
    }
    texts |= {"drawing": part.drawing or None, "oil": oil}
    for said in whole.all("marked", "marked-part", *minds, "note", block):
        for name, shown in said.slots.items():
            if name in texts and not same_words(shown, texts[name]):
                yield complain(f"the heading says {name} {shown}; it is {texts[name]}", said)
    for said in whole.all("marked-part"):
        general_mm = part.general_tolerance_mm if advice or is_later else None
        told_mm = as_figure(said["positions"], sheet.units).mm if said.has("positions") else None
        if (told_mm is None) != (general_mm is None) or (
            told_mm is not None and abs(told_mm - (general_mm or 0.0)) > _SIZE_ROUNDED_MM
        ):
            yield complain(f"the heading says positions {told_mm}; it is {general_mm}", said)
    for said in whole.all("stock-block", "stock-disc"):
        yield from _check_stock(said, part, sheet, complain)
    if remarks is not None:
        wanted = Counter((f.severity, plain(f.message)) for f in remarks)
        found = Counter((s["severity"], plain(s["message"])) for s in whole.all("remark"))
        if wanted != found:
            yield complain(f"REMARKS has {found.total()} remarks of {wanted.total()}", title)


def advice_due(part: Part, advice: bool | None) -> str:
    """What has to be told to mind in the material."""
    material = material_named(part.material)
    if material is None or advice is None or not (advice or material.name in _BURNING):
        return ""
    return material.advice


def oil_due(part: Part) -> str:
    """The lubricant of the table of materials."""
    material = material_named(part.material)
    return "" if material is None else material.lubricant


def check_sound_words(section: ReadSection, complain: Tells[T]) -> Iterator[T]:
    """Slots that have one sound word say that."""
    of_rows = (one for row in section.rows for one in (row.said, *row.below))
    heads = {id(row.head): row.head for row in section.rows if row.head is not None}
    for said in (*section.said, *of_rows, *heads.values()):
        for name, question in questions_of(said.slug).items() if said.slots else ():
            shown = said.slots.get(name)
            sound = question.removeprefix("= ")
            if sound != question and shown is not None and not same_words(shown, sound):
                yield complain(f"{said.text}: {name} is {shown}, not {sound}", said)


def _check_stock(said: Said, part: Part, sheet: ReadSheet, complain: Tells[T]) -> Iterator[T]:
    stock = part.stock
    sizes = list(stock.size_mm)
    if stock.axis is not None:
        sizes = [stock.size_mm[1 if stock.axis == 0 else 0], stock.size_mm[stock.axis]]
    told = [as_figure(text, sheet.units).mm for text in said["sizes"]]
    bore = as_figure(said["bore"], sheet.units).mm if said.slots.get("bore") else None
    is_off = len(told) != len(sizes) or any(
        abs(a - b) > _SIZE_ROUNDED_MM for a, b in zip(told, sizes, strict=True)
    )
    is_off |= (bore is None) != (stock.bore_mm is None)
    is_off |= bore is not None and abs(bore - (stock.bore_mm or 0)) > _SIZE_ROUNDED_MM
    if is_off:
        yield complain(f"the heading has the sizes {', '.join(said['sizes'])}", said)
    if not same_words(said["material"], part.material):
        yield complain(f"the heading says {said['material']}, not {part.material}", said)
    unit = {"mm": "mm", "inch": "in"}[sheet.units]
    if said.named is not None and said.named.get("unit") != unit:
        yield complain(f"the stock is told in {said.named.get('unit')}", said)
    if said.has("measured") != (stock.size_mm != stock.nominal_mm):
        yield complain("the heading does not tell whether the stock was measured", said)


def same_words(told: str | None, right: str | None) -> bool:
    """Whether they have the same letters: a line may be broken at any blank."""
    return plain(told or "") == plain(right or "")


def plain(words: str) -> str:
    """Its letters: a line may be broken at any blank."""
    return "".join(words.split())
