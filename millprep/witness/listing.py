"""The second witness for listings: every figure of a finished sheet against the part.

Reads the finished bytes back, finds each printed hole by its name, and compares in the setup's
axes by way of the printed lay: places to half a readout count, depths by the same rules as the
holes that a program makes. Imports the part, the shop's readout and `reading`; never setups,
cutting, planning, sheet or writers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen, replace
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import PrintedSetup, PrintedTool, UnreadableSheet
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Names, names_by_letters
from millprep.reading.pages.steps import setup_of
from millprep.witness.asked import CAUTIONS, check_sound_words, complaint, same_words, unreadable
from millprep.witness.body import check_body, check_speeds
from millprep.witness.compared import SheetReport
from millprep.witness.left import check_carried, check_left
from millprep.witness.moved import check_moved
from millprep.witness.printed import Printed, faces_with_work
from millprep.witness.set_up import SetUp
from millprep.witness.setting_up import check_setting_up
from millprep.witness.steps import COUNT, check_rows_of
from millprep.witness.told_once import check_told_once

HALF_ANGLE_DIGIT_DEG = 0.00005
_FOLDED = ("text", "html", "pdf")  # what all setups share these tell once


@frozen
class Sheet:
    """What is asked of a kind of sheet for the mill.

    called : in findings; table : whose rows CSV has; rows : asks the steps of a setup;
    around : what stands around them
    """

    name: str
    called: str
    table: str
    rows: Callable[[SetUp], Iterator[Finding]]
    around: Callable[[SetUp], Iterator[Finding]]


def check_listing(
    data: bytes, form: SheetForm, part: Part, shop: Shop, *, file: str, **expected: Any
) -> list[Finding]:
    """How a finished listing differs from its part; empty when they agree.

    file, expected : as of `check_sheet`
    """
    sheet = Sheet("listing", "the listing", "steps", _check_rows, check_setting_up)
    return check_sheet(sheet, data, form, part, shop, file=file, **expected)


def check_sheet(
    kind: Sheet,
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    *,
    file: str,
    setup_numbers_expected: int | None = None,
    faces: Collection[str] | None = None,
    skews: Mapping[int, float] | None = None,
    order: str | None = None,
    remarks: Sequence[Finding] | None = None,
    pieces: int = 1,
) -> list[Finding]:
    """How a finished sheet for the mill differs from its part; empty when they agree.

    file  : the sheet, as findings name it
    setup_numbers_expected : how many setups the whole plan has, where that is known
    faces : the faces asked for; None for all that have work
    skews : number of a setup -> degrees, anticlockwise, by which the part lies askew there
    order : in which it was asked for, "tool", "hole" or "row"; None to leave that
    remarks : what was found, told below the setups; None to leave that
    pieces : how many are made in one go
    """
    findings: list[Finding] = []
    try:
        sheet = read_sheet(data, kind.name, form, hole_names(part), table=kind.table, pages="setup")
        setups = tuple(setup_of(page, sheet.units) for page in sheet.pages)
        findings += check_setups(setups, part, file, setup_numbers_expected, faces)
        findings += check_tools(setups, file)
        bodies: list[SetUp] = []
        for setup, page in zip(setups, sheet.pages, strict=True):
            skew_deg = (skews or {}).get(setup.number, 0.0)
            body = SetUp(
                Printed(setup, part, shop.readout, file, skew_deg, shop.dials, shop.finder),
                page,
                shop,
                bodies[-1] if bodies else None,
                is_folded=form in _FOLDED,
                is_alone=len(sheet.pages) == 1,
                pieces=pieces,
                has_ticks=not form.startswith("bench"),
            )
            bodies.append(body)
            findings += _check_setup(kind, body, sheet, form, order)
        findings += _check_whole(sheet, bodies, part, file, remarks) if form != "csv" else ()
    except UnreadableSheet as fault:
        return [unreadable(kind.called, fault, file)]
    return findings


def _check_setup(
    kind: Sheet, body: SetUp, sheet: ReadSheet, form: SheetForm, order: str | None
) -> list[Finding]:
    """A page; of one whose lay is none, that."""
    findings: list[Finding] = []
    try:
        findings += kind.rows(body)
        findings += check_speeds(body, is_fed=form in ("json", "csv", "bench data"))
        findings += _check_skew(body)
        if form != "csv":
            findings += [*kind.around(body), *check_moved(body), *check_carried(body)]
            findings += _check_page(body, sheet, order, by=kind.name)
    except MillprepError as fault:
        printed = body.printed
        lost = (replace(e, file=printed.file, line=printed.setup.line) for e in fault.findings)
        findings += lost
    return findings


def _check_rows(body: SetUp) -> Iterator[Finding]:
    return check_rows_of(body.printed)


def hole_names(part: Part) -> Names:
    """What a slot for a hole may say: its name, or that of its pattern."""
    holes = part.holes
    patterns, left = [one.group for one in holes], [one.hole for one in part.left]
    drilled = () if part.as_measured is None else part.as_measured.drilled
    named = [*(one.name for one in holes), *patterns, *left, *drilled]
    members = [*part.pieces, *(one.name for one in part.layers)]
    return names_by_letters(hole=named, pattern=patterns, member=members)


def _check_page(body: SetUp, sheet: ReadSheet, order: str | None, *, by: str) -> Iterator[Finding]:
    """What stands around the rows of a setup."""
    page, complain, part = body.page, complaint(body.printed.file), body.printed.part
    is_first = page is sheet.pages[0]
    heading = SheetReport(sheet).heading(
        part,
        None,
        page=page,
        advice=True if is_first else None,
        stock=is_first,
        is_later=not is_first,
        is_marked=is_first or not body.is_folded,
    )
    for words, told in heading:
        yield complain(words, told)
    for said in page.whole.all("stock-block", "stock-disc"):
        if said.slots.get("by") != {"dials": "dial"}.get(by):
            yield complain(f"{said.text}: it goes {said.slots.get('by')}", said)
    with_title = replace(page.whole, said=(page.title, *page.whole.said))
    yield from check_sound_words(with_title, complain)
    yield from check_body(body, order)
    yield from _check_named(body)


def _check_named(body: SetUp) -> Iterator[Finding]:
    """What JSON has of a setup by name, beside its sentences."""
    printed, named = body.printed, body.page.title.named
    if named is None:
        return
    setup = printed.setup
    zero = {"x": setup.zero_x, "y": setup.zero_y, "z": setup.face}
    left = [face for face, one in printed.upright.items() if (one.axis, one.outward) == (0, -1.0)]
    right = {
        "setup": str(setup.number),
        "towards_you": setup.towards_you,
        "left_hand": left[0],
        "zero": zero,
        "zero_x": setup.zero_x,
        "zero_y": setup.zero_y,
        "work_offset": printed.request.work_offset,
        "head_moves_before_tools": _moves_before(body),
    }
    for name, one in right.items():
        if named.get(name) != one:
            yield body.wrong(f"{name} is {named.get(name)} by name, not {one}")


def _moves_before(body: SetUp) -> list[str]:
    """The tools that HEAD has another height for than the tool before."""
    powered = (row.tool_number for row in body.rows if not row.by_hand)
    runs = [number for number, _ in groupby(powered)]
    heights = body.page.whole.all("head-height")[1:]
    changes = [one.count("from_change" if one.has("from_change") else "change") for one in heights]
    return [str(runs[change - 1]) for change in changes if change <= len(runs)]


def _check_skew(body: SetUp) -> Iterator[Finding]:
    """The angle by which the part lies askew, where CSV and JSON have it by name."""
    named = body.page.title.named or body.page.title.slots
    told, right = named.get("skew_deg"), body.printed.skew_deg
    if told is not None and abs(float(told) - right) > HALF_ANGLE_DIGIT_DEG + 1e-9:
        yield body.wrong(f"the part is said to lie {told} deg askew, not {right:g}")


def _check_whole(
    sheet: ReadSheet,
    bodies: Sequence[SetUp],
    part: Part,
    file: str,
    remarks: Sequence[Finding] | None,
) -> Iterator[Finding]:
    """What is told once; the cautions; and what JSON has of the whole sheet by name."""
    page, complain = sheet.pages[-1], complaint(file)
    yield from check_told_once(sheet, bodies, remarks)
    yield from check_left([one.whole for one in sheet.pages], part, complain, page.title)
    told = "".join(one["caution"] for one in page.whole.all("caution"))
    if not same_words(told, "".join(CAUTIONS)):  # a line of text may be a caution or go on
        yield complain("TAKE CARE does not have the usual cautions", page.title)
    named = {"part": part.name, "drawing": part.drawing, "part_mark": part.mark}
    for name, right in named.items() if sheet.whole else ():
        if sheet.whole.get(name) != right:
            yield complain(f"{name} is {sheet.whole.get(name)}, not {right}", page.title)


def check_setups(
    setups: tuple[PrintedSetup, ...],
    part: Part,
    file: str,
    count: int | None,
    faces: Collection[str] | None,
) -> Iterator[Finding]:
    """The setups are those that the part needs, each once, numbered as printed."""
    wanted = faces_with_work(part) if faces is None else faces
    printed = [setup.face for setup in setups]
    for face in Counter(wanted) - Counter(printed):
        words = f"no setup has {face.upper()} up"
        remedy = "every face that has work needs its setup"
        yield Finding("stop", "setup-missing", words, remedy, file)
    for index, setup in enumerate(setups):
        times = Counter(wanted)[setup.face]
        again = 0 < times <= printed[:index].count(setup.face)
        if again or (not times and (setup.rows or setup.face in printed[:index])):
            words = "is printed twice" if times else "is not asked for"
            words = f"setup {setup.number}, {setup.face.upper()} up, {words}"
            yield Finding("stop", "setup-extra", words, "take it out", file, setup.line)
    numbers = [setup.number for setup in setups]
    total = count if count is not None else len(setups) if faces is None else None
    is_whole = faces is None and numbers != list(range(1, len(numbers) + 1))
    if is_whole or numbers != sorted(set(numbers)) or (total and numbers[-1] > total):
        yield _numbering(f"setups are numbered {numbers}", file, setups[0].line)
    for setup in setups:
        if setup.of is not None and setup.of != (total or setups[0].of):
            what = f"setup {setup.number} says there are {setup.of} setups"
            yield _numbering(what, file, setup.line)


def _numbering(what: str, file: str, line: int | None) -> Finding:
    return Finding("stop", "wrong-numbering", what, COUNT, file, line)


def check_tools(setups: tuple[PrintedSetup, ...], file: str) -> Iterator[Finding]:
    """One number is one tool on the whole sheet, and the other way round."""
    tools: dict[int, PrintedTool] = {}
    numbers: dict[PrintedTool, int] = {}
    for setup in setups:
        for row in setup.rows:
            tool = tools.setdefault(row.tool_number, row.tool)
            number = numbers.setdefault(row.tool, row.tool_number)
            if tool != row.tool or number != row.tool_number:
                words = f"setup {setup.number} step {row.step}: tool {row.tool_number} is another "
                words += "tool, or has another number, elsewhere on the sheet"
                remedy, holes = "give each tool one number", (row.hole,)
                yield Finding("stop", "wrong-numbering", words, remedy, file, row.line, holes=holes)
