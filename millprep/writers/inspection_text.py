"""The verdicts on a piece as text, within 80 columns. Lays a sheet out."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.inspection import HoleLine, VerdictSheet
from millprep.writers.listing_text import WIDTH, counted, field_lines, wrapped

_RULE = "-" * WIDTH


def _head(part: str, right: str) -> list[str]:
    return wrapped(f"{part.upper():<{WIDTH - len(right)}}{right}", "", "")


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
