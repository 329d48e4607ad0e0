"""What the size of a hole must be after a tool: limits, widths of cones, halves from both ends.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.witness.leavings import leavings_of
from millprep.witness.printed import SLACK_MM
from millprep.witness.rows import cone_mm
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp

_MOST_NAMES = 3  # more are told by the first and a count
_CONE_COUNTS = 4  # half counts of depth that the width of a cone up to 120 degrees takes


def check_sizes(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Limits, widths and halves: each that is true of a row is told, with the holes it is true
    of where they are not all alike."""
    makers = {"size-limits": _limits, "size-half": _halves}
    plain = [said for said in told if said.slug in makers]
    true = [makers[said.slug](one, run, said) for said in plain]
    for said, names in zip(plain, true, strict=True):
        if not names:
            yield one.wrong(f"{said.text}: so is no hole here", said)
        elif not _names(said, names, are_told=len(plain) > 1):
            yield one.wrong(f"{said.text}: so are {', '.join(names)}", said)
    covered = {(said.slug, name) for said, names in zip(plain, true, strict=True) for name in names}
    due = {("size-limits", row.hole) for row in run if _limits_of(one, row)}
    due |= {("size-half", row.hole) for row in run if _is_half(one, row)}
    if due - covered:
        slug, name = min(due - covered)
        yield one.wrong(f"{name} has no sentence of {slug}, or a wrong one")
    if len({said.text for said in told}) != len(told):
        yield one.wrong("a size is told twice", told[0])
    yield from _check_widths(one, run, [said for said in told if said.slug == "size-opens"])


def _check_widths(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Every cone opens to a width that is told, of the holes that are named with it; a bench page
    has a sentence a width."""
    cuts: dict[str, list[PrintedRow]] = {}
    for row in run:
        if _cone(one, row) is not None:
            cut = "spot" if row.operation == "spot drill" else "countersink"
            cuts.setdefault(cut, []).append(row)
    if {said["cut"] for said in told} != {*cuts}:
        yield one.wrong(f"{len(told)} sentences of how wide {run[0].tool.kind} opens")
        return
    for cut, rows in cuts.items():
        widths = [width for said in told if said["cut"] == cut for width in said.parts("widths")]
        covered: set[str] = set()
        for width in widths:
            names = _opens(one, rows, width)
            covered.update(names)
            if not names or not _width_names(one, rows, width, names, are_told=len(widths) > 1):
                yield one.wrong(f"{width.text}: so are {', '.join(names) or 'no holes'}", width)
        if left := {row.hole for row in rows} - covered:
            yield one.wrong(f"how wide {', '.join(sorted(left))} opens is not told", told[0])


def _width_names(
    one: SetUp, run: Run, width: Said, names: Sequence[str], *, are_told: bool
) -> bool:
    """By the names of their patterns, where those are whole; up to three by name; else by the
    first and how many more. JSON has their own."""
    of, first, others = (width.slots.get(name) for name in ("of", "first", "others"))
    if not are_told:
        return (of, first, others) == (None, None, None)
    if not _is_named(width, names):
        return False
    groups = {hole.name: hole.group for hole in one.printed.part.holes}
    here = list(dict.fromkeys(groups.get(name) for name in names))
    others_here = {groups.get(row.hole) for row in run if row.hole not in names}
    if len(here) <= _MOST_NAMES and others_here.isdisjoint(here):
        return of == here and first is None
    if len(names) <= _MOST_NAMES:
        return of == list(names) and first is None
    return of is None and (first, others) == (names[0], str(len(names) - 1))


def _is_named(width: Said, names: Sequence[str]) -> bool:
    """What JSON has by name."""
    if width.named is None:
        return True
    if len(names) <= _MOST_NAMES:
        return width.named.get("holes") == list(names)
    return (width.named.get("hole"), width.named.get("more")) == (names[0], str(len(names) - 1))


def _names(said: Said, names: Sequence[str], *, are_told: bool) -> bool:
    """Up to three by name, more by the first and how many more."""
    holes, hole, more = (said.slots.get(name) for name in ("holes", "hole", "more"))
    if not are_told:
        is_fit = said.slots.get("fit") is not None  # it may look like the name of a hole
        return (holes, hole, more) == (None, None, None) or (is_fit and holes is None)
    if len(names) <= _MOST_NAMES:
        return bool(holes == list(names)) and hole is None
    return holes is None and (hole, more) == (names[0], str(len(names) - 1))


def _limits_of(one: SetUp, row: PrintedRow) -> tuple[float, float, str] | None:
    """Least and greatest size and the fit of a hole that gets its size in this row."""
    hole = one.hole_here(row.hole)
    if hole is None or hole.limits_um is None or not is_finish(one, row):
        return None
    least, most = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
    return least, most, hole.fit or ""


def _limits(one: SetUp, run: Run, said: Said) -> list[str]:
    told = said.figure("least"), said.figure("most")
    found: dict[str, None] = {}
    for row in run:
        exact = _limits_of(one, row)
        if exact is None or (said.slots.get("fit") or "") != exact[2]:
            continue
        pairs = zip(told, exact[:2], strict=True)
        if all(abs(a.mm - b) <= a.half_digit_mm + SLACK_MM for a, b in pairs):
            found[row.hole] = None
    return list(found)


def _cone(one: SetUp, row: PrintedRow) -> float | None:
    return cone_mm(row.tool, one.printed.z_sign * row.z_mm)


def _opens(one: SetUp, run: Run, said: Said) -> list[str]:
    tolerance = _CONE_COUNTS * one.printed.half_count_mm + HALF_SIZE_DIGIT_MM + 0.005
    width = said.mm("opens_mm")
    cones = [(row.hole, cone) for row in run if (cone := _cone(one, row)) is not None]
    return list(dict.fromkeys(name for name, cone in cones if abs(cone - width) <= tolerance))


def _is_half(one: SetUp, row: PrintedRow) -> bool:
    hole = one.hole_here(row.hole)
    return hole is not None and hole.from_both_ends and row.operation == "drill"


def _halves(one: SetUp, run: Run, said: Said) -> list[str]:
    return list(dict.fromkeys(row.hole for row in run if _is_half(one, row)))


def is_finish(one: SetUp, row: PrintedRow) -> bool:
    hole = one.hole_here(row.hole)
    return hole is not None and row.operation == leavings_of(hole).finish
