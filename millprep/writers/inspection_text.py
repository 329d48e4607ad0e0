"""The inspection sheet and its verdicts as text, within 80 columns. Lays a sheet out."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.inspection import (
    CheckLine,
    HoleLine,
    InspectionFace,
    InspectionSheet,
    VerdictSheet,
)
from millprep.writers.listing_text import WIDTH, counted, field_lines, wrapped

_RULE = "-" * WIDTH
FIRST = (
    "deburr every hole and edge, wipe part, pins and jaws, try zero",
    "part, pins and instruments lie together until they are equally warm",
    "hold jaws square to the part: a reading that is askew is too long",
)
PINS = (
    "the pin is the largest that goes in by hand; measure each by micrometer and write what it is: "
    "drill shanks are 0.01 to 0.05 mm under their size",
    "half of what a pin is over or under changes the reading by as much",
    "mean: push the pins one way and read, then the other way; write the mean of the two",
)
BY_READOUT = (
    "or find each hole with the finder on the readout, and write hole,x,y,diameter to a CSV",
)
THEN = (
    "write the readings into the CSV of this sheet (-o sheet.csv), column reading, and give it "
    "back: millprep inspect PART sheet.csv; rows left empty count as not measured",
)


def inspection_text(sheet: InspectionSheet) -> str:
    """The whole sheet, ending in the blank mark of `outfile`."""
    return "\n".join([*_lines(sheet), "", BLANK_MARK, ""])


def _head(part: str, right: str) -> list[str]:
    return wrapped(f"{part.upper():<{WIDTH - len(right)}}{right}", "", "")


def _lines(sheet: InspectionSheet) -> Iterator[str]:
    yield from _head(sheet.part, "inspection")
    yield from wrapped(sheet.stock, "", "    ")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    if sheet.note:
        yield from wrapped(f"note: {sheet.note}", "", "    ")
    yield "piece ____________   date ____________   measured by ____________"
    yield _RULE
    yield from field_lines("FIRST", FIRST)
    yield from field_lines("WITH", [", ".join(sheet.instruments)])
    if sheet.pins:
        yield from field_lines("PINS", [", ".join(sheet.pins), *PINS])
    for face in sheet.faces:
        yield _RULE
        yield from _face(face)
    yield _RULE
    yield from field_lines("OR", BY_READOUT)
    yield from field_lines("THEN", THEN)
    yield from field_lines("ASSUMED", ["; ".join(sheet.assumed) + "."])
    remarks = [f"{f.severity}: {f.message}" for f in sheet.findings]
    if remarks:
        yield from field_lines("REMARKS", remarks)


def _face(face: InspectionFace) -> Iterator[str]:
    yield f"{face.face.upper()} (setup {face.setup})"
    if face.places:
        yield f"PLACES{'expect':>19}{'from':>9}{'to':>9}  with".ljust(WIDTH - 9) + "  reading"
    for line in face.places:
        yield from _place(line)
    if face.sizes:
        yield "SIZES"
    for lines in face.sizes:
        yield from _size(lines)


def place_words(line: CheckLine) -> str:
    """What is measured: "over pins 3.3 mm, 3.3 mm: cover screw 3 and cover screw 1"."""
    check = line.check
    pins = ", ".join(line.pins)
    if check.kind == "edge to pin":
        return f"edge to far side of pin {pins}: {check.to} to {check.hole}"
    if check.kind == "edge to hole":
        return f"wall from edge to hole, no pin: {check.to} to {check.hole}"
    if check.kind == "rim to hole":
        return f"wall from rim, where it is least, no pin: {check.hole}"
    if check.kind == "rim to pin":
        return f"rim, where it is nearest, to far side of pin {pins}: {check.hole}"
    return f"{check.kind} {pins}: {check.hole} and {check.to}"


def _place(line: CheckLine) -> Iterator[str]:
    check = line.check
    yield from wrapped(f"[ ]{check.number:>4}  {place_words(line)}", "", " " * 9)
    mean = ", mean" if check.takes_mean else ""
    coarse = " COARSE" if check.is_coarse else ""
    figures = f"{line.expect:>25}{line.least:>9}{line.greatest:>9}"
    yield f"{figures}  {check.instrument}{mean}{coarse}".ljust(WIDTH - 9) + " " + "_" * 8


def size_words(line: CheckLine) -> str:
    """What is measured or tried of a hole by itself."""
    check = line.check
    note = f"; {check.note}" if check.note else ""
    if line.expect is None:
        return f"{check.kind}: {check.note}"
    at = f" {check.to}" if check.kind == "opened" else ""
    coarse = " COARSE" if check.is_coarse else ""
    kind = check.kind if at == "" else "opened to"
    return f"{kind}{at} {line.least} to {line.greatest}, {check.instrument}{coarse}{note}"


def _size(lines: tuple[CheckLine, ...]) -> Iterator[str]:
    first = lines[0]
    yield from wrapped(f"         {size_words(first)}", "", " " * 11)
    boxes = [
        f"{line.check.number:>4} {line.check.hole} " + ("[ ]" if line.expect is None else "_" * 8)
        for line in lines
    ]
    row = "   "
    for box in boxes:
        if len(row) + len(box) + 2 > WIDTH and row.strip():
            yield row.rstrip()
            row = "   "
        row += box + "  "
    yield row.rstrip()


# with measurements


def verdict_text(sheet: VerdictSheet) -> str:
    """The verdicts, hole by hole, ending in the blank mark of `outfile`."""
    return "\n".join([*_verdict_lines(sheet), "", BLANK_MARK, ""])


def _verdict_lines(sheet: VerdictSheet) -> Iterator[str]:
    yield from _head(sheet.part, f"inspection: piece {sheet.piece}, {sheet.date}")
    drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
    yield from wrapped(f"{drawing}part mark {sheet.mark}; figures in {sheet.units}", "", "    ")
    yield from wrapped(sheet.source, "", "    ")
    yield _RULE
    width = max([4, *(len(line.judged.hole.name) for line in sheet.holes)])
    width = min(width, 22)
    yield f"{'hole':<{width}}{'dX':>8}{'dY':>8}{'true pos':>10}{'allowed':>12}  verdict"
    for line in sheet.holes:
        yield from _verdict(line, width)
    if any(line.judged.verdict != "in" for line in sheet.readings):
        yield _RULE
        yield from _readings(sheet)
    yield _RULE
    yield from field_lines("VERDICT", [totals(sheet)])
    yield from field_lines("ASSUMED", ["; ".join(sheet.assumed) + "."])
    remarks = [f"{f.severity}: {f.message}" for f in sheet.findings]
    if remarks:
        yield from field_lines("REMARKS", remarks)


def totals(sheet: VerdictSheet) -> str:
    """How many holes are in, out, and neither."""
    words = [f"{sheet.count('in')} of {counted(len(sheet.holes), 'hole')} in"]
    words += [
        f"{sheet.count(verdict)} {verdict}"
        for verdict in ("out", "not decidable", "not measured")
        if sheet.count(verdict)
    ]
    return ", ".join(words) + "; in says nothing of what was not measured."


def _shown(value: object) -> str:
    return "-" if value is None else str(value)


def _verdict(line: HoleLine, width: int) -> Iterator[str]:
    one = line.judged
    name = one.hole.name
    if len(name) > width:
        yield name
        name = ""
    cells = f"{_shown(line.dx):>8}{_shown(line.dy):>8}{_shown(line.true_position):>10}"
    verdict = one.verdict.upper() if one.verdict == "out" else one.verdict
    yield f"{name:<{width}}{cells}{line.allowed:>12}  {verdict}"
    details = []
    if line.size is not None or one.size.verdict != "not measured":
        size = f"size {line.size}" if line.size is not None else "size by pins"
        judged = f" ({line.size_limits}): {one.size.verdict}" if line.size_limits else ""
        details.append(size + judged)
    if one.thread != "not measured":
        details.append(f"thread {one.hole.words}: {one.thread}")
    if one.size.fit_words:
        details.append(one.size.fit_words)
    if details:
        yield from wrapped("; ".join(details), " " * 4, " " * 8)


def _readings(sheet: VerdictSheet) -> Iterator[str]:
    """Those readings that are not in."""
    yield "READINGS that are not in"
    for line in sheet.readings:
        check = line.judged.check
        if line.judged.verdict != "in":
            to = f" and {check.to}" if check.to else ""
            limits = f" ({line.limits})" if line.limits else ""
            words = f"{check.kind}, {check.hole}{to}: {line.reading}{limits}"
            yield from wrapped(f"{words}: {line.judged.verdict}", f"{check.number:>6}  ", " " * 10)
