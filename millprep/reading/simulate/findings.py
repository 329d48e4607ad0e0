"""Collects what the moves do wrong, merges runs of it, folds what is alike, and keeps a report to a
readable length.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.bounds import MOST_FINDINGS
from millprep.base.findings import SEVERITIES, Finding, Value, Words, words
from millprep.base.records import frozen, replace
from millprep.reading.simulate.path import Flags, Ints, Path
from millprep.reference.shared_rules import TOUCH_MM

Figure = Value | NDArray[np.float64] | Callable[[int], Value]
"""Of a sentence: one for all moves, one a move (N,), or worked out for a move."""
_PLACES = frozenset({"x_mm", "y_mm", "z_mm", "xy", "xyz", "low_mm", "reach_mm", "start_mm"})
"""Figures in which findings that are alike may differ."""
_WORST: dict[str, Callable[[Iterable[float]], float]] = {
    **dict.fromkeys(("depth_mm", "beyond_mm", "bite_mm", "needed_mm"), max),
    **dict.fromkeys(("left_mm", "inside_mm", "room_mm", "above_mm"), min),
}
"""And those of which the worst is told."""
_TO_BE_EDITED = frozenset({"control-lacks", "unknown-cycle"})
_MOST_LINES = 100
_MOST_FOLDED = 99
_MOST_NAMES = 6


@frozen
class Found:
    """A finding at a move, before it is told together with its like.

    move  : index of the move; `run` is the same for those that count as one with their neighbours
            (a hole's pecks); moves that follow each other count as one in any case
    neighbour : those whose numbers follow each other are one (hole after hole)
    """

    move: int
    finding: Finding
    run: object = None
    neighbour: int | None = None


def filled(template: Finding, line: int, /, **values: Value) -> Finding:
    """A finding of `slips` with its figures, at a line; x_mm, y_mm and z_mm make {xy} and {xyz}."""
    place = {name: values[name] for name in ("x_mm", "y_mm", "z_mm") if name in values}
    for axes in ("xy", "xyz"):
        if all(f"{axis}_mm" in place for axis in axes):
            at = " ".join(f"{axis.upper()}{{{axis}_mm:3bare}}" for axis in axes)
            values[axes] = words(at, **place)
    figures = tuple(values.items())
    said, advice = (Words(str(text), figures) for text in (template.said, template.advice))
    return Finding(template.severity, template.kind, said, advice, line=line)


def found_at(
    path: Path,
    template: Finding,
    row: int,
    run: object = None,
    neighbour: int | None = None,
    last: int | None = None,
    count: int = 1,
    /,
    **figures: Figure,
) -> Found:
    """The finding at a move, or at `count` moves up to the `last`; {xyz} is its end."""
    ends = zip(("x_mm", "y_mm", "z_mm"), path.end[:, row].tolist(), strict=True)
    values: dict[str, Value] = dict(ends)
    for name, figure in figures.items():
        if isinstance(figure, np.ndarray):
            values[name] = figure[row].item()
        else:
            values[name] = figure(row) if callable(figure) else figure
    line = path.moves.line
    finding = filled(template, int(line[row]), **values)
    finding = replace(finding, about=f"T{path.moves.tool[row]}")
    if last is not None:
        last_line = None if line[last] == line[row] else int(line[last])
        finding = replace(finding, last_line=last_line, count=count)
    return Found(row, finding, run, neighbour)


def runs_of(
    path: Path, template: Finding, bad: Flags, among: Flags | None = None, /, **figures: Figure
) -> Iterator[Found]:
    """One for each run of `bad` moves that no good move `among` them, or at all, breaks."""
    rows = np.arange(bad.size) if among is None else np.flatnonzero(among)
    places = np.flatnonzero(bad[rows])
    for one, two in stretches(places):
        first, last = int(rows[places[one]]), int(rows[places[two]])
        run = (template.kind, first)
        yield found_at(path, template, first, run, None, last, two - one + 1, **figures)


def holes_of(
    path: Path, template: Finding, bad: Flags, is_one_slip: bool = False, /, **figures: Figure
) -> Iterator[Found]:
    """One a hole, at its first `bad` move; hole after hole is told once if it is one slip."""
    for row in np.flatnonzero(first_in_hole(path, bad)).tolist():
        number = int(path.stroke[row])
        neighbour = number if is_one_slip else None
        yield found_at(path, template, row, (template.kind, number), neighbour, **figures)


def first_in_hole(path: Path, bad: Flags) -> Flags:
    """(N,) of the `bad` moves only the first of each stroke."""
    rows = np.flatnonzero(bad)
    firsts = np.zeros_like(bad)
    firsts[rows[np.unique(path.stroke[rows], return_index=True)[1]]] = True
    return firsts


def stretches(rows: Ints) -> Iterator[tuple[int, int]]:
    """First and last place in `rows`, ascending, of each stretch of numbers without a gap."""
    ends = np.flatnonzero(np.diff(rows) > 1)
    firsts = np.concatenate([[0], ends + 1]) if rows.size else ends
    lasts = np.concatenate([ends, [rows.size - 1]]) if rows.size else ends
    yield from zip(firsts.tolist(), lasts.tolist(), strict=True)


def merged(found: Iterable[Found], file: str) -> tuple[Finding, ...]:
    """Findings in the order of the moves; one for each run of one kind on consecutive moves."""
    told: list[Finding] = []
    open_runs: dict[str, tuple[int, Found]] = {}
    for one in sorted(found, key=lambda one: one.move):
        finding = one.finding
        at, last = open_runs.get(finding.kind, (-1, None))
        if last is not None and _is_same_run(last, one):
            first = told[at]
            last_line = max(first.last_line or 0, finding.last_line or finding.line or 0)
            count = first.count + finding.count
            told[at] = replace(first, last_line=last_line, count=count)
            if one.neighbour is not None:  # another hole
                told[at] = replace(told[at], folded=_gathered([first, replace(finding, file=file)]))
        else:
            at = len(told)
            told.append(replace(finding, file=file))
        open_runs[finding.kind] = (at, one)
    return tuple(told)


def _is_same_run(last: Found, one: Found) -> bool:
    if last.finding.severity != one.finding.severity:
        return False
    if one.run is not None and last.run == one.run:
        return True
    if one.neighbour is not None and last.neighbour is not None:
        return one.neighbour - last.neighbour <= 1
    return one.move - last.move <= 1


def folded(found: Iterable[Finding]) -> list[Finding]:
    """Findings that are alike as one, at the first of their places: of one kind, file and tool, and
    of the same figures but for where, and how deep or how near; the worst of that is told."""
    alike: dict[Hashable, list[Finding]] = {}
    for one in found:
        alike.setdefault(_likeness(one), []).append(one)
    return [_one_for(same) for same in alike.values()]


def _likeness(one: Finding) -> Hashable:
    names = {name for name, _ in one.said.values} if isinstance(one.said, Words) else set()
    is_of_hole = "hole" in names and names.isdisjoint(_PLACES)
    where = (one.file, () if is_of_hole else one.holes, one.setup, one.key, one.about)
    if not isinstance(one.said, Words) or (one.line is None and not is_of_hole):
        return one.severity, one.kind, one.message, one.remedy, where
    figures = tuple(
        (name, round(value, 6) if isinstance(value, float) else value)
        for name, value in one.said.values
        if name not in _PLACES and name not in _WORST and not (is_of_hole and name == "hole")
    )
    return one.severity, one.kind, one.said.template, figures, where


def _one_for(alike: list[Finding]) -> Finding:
    first = alike[0]
    if len(alike) == 1:
        return first
    last = max((one.last_line or one.line or 0 for one in alike), default=0)
    return replace(
        first,
        said=_with_lines(alike) if first.kind in _TO_BE_EDITED else _with_worst(alike),
        holes=tuple(dict.fromkeys(hole for one in alike for hole in one.holes)),
        last_line=last or None,
        count=sum(one.count for one in alike),
        places=sum(one.places for one in alike),
        folded=_gathered(alike),
    )


def _gathered(alike: Sequence[Finding]) -> tuple[Finding, ...]:
    """All that they stand for beside the first, as far as pictures show it."""
    others = [*alike[0].folded, *(two for one in alike[1:] for two in (one, *one.folded))]
    return tuple(replace(one, folded=()) for one in others[:_MOST_FOLDED])


def _with_lines(alike: list[Finding]) -> str:
    """What the first says, with every line that it is said of."""
    lines = [
        f"{one.line} to {one.last_line}" if one.last_line not in (None, one.line) else f"{one.line}"
        for one in alike[:_MOST_LINES]
    ]
    more = f" and {len(alike) - _MOST_LINES} more" if len(alike) > _MOST_LINES else ""
    return f"{alike[0].message} (lines {', '.join(lines)}{more})"


def _with_worst(alike: list[Finding]) -> str | Words:
    """What the first says, with the figure and the line of the worst where that is another."""
    said = _of_holes(alike)
    if isinstance(said, str):
        return said
    for name, worst in _WORST.items():
        if name not in dict(said.values):
            continue
        figures = [_figure(one, name) for one in alike]
        most = worst(figures)
        if abs(most - figures[0]) > TOUCH_MM:
            line = alike[figures.index(most)].line or 0
            return said.and_also("; at worst {worst_mm:3}, line {worst}", worst_mm=most, worst=line)
    return said


def _of_holes(alike: list[Finding]) -> str | Words:
    """What the first says of its hole, said of all of theirs."""
    said = alike[0].said
    names = list(dict.fromkeys(hole for one in alike for hole in one.holes))
    if isinstance(said, str) or len(names) < 2:
        return said
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    told = ", ".join(names[:_MOST_NAMES]) + more
    return Words(said.template, tuple((n, told if n == "hole" else v) for n, v in said.values))


def _figure(one: Finding, name: str) -> float:
    values = dict(one.said.values) if isinstance(one.said, Words) else {}
    value = values[name]
    return value if isinstance(value, float) else math.nan


def capped(found: list[Finding], file: str | None) -> tuple[Finding, ...]:
    """The first `MOST_FINDINGS`, worst kept, and a count by kind of the rest."""
    if len(found) <= MOST_FINDINGS:
        return tuple(found)
    by_worth = sorted(range(len(found)), key=lambda i: (SEVERITIES.index(found[i].severity), i))
    kept = sorted(by_worth[:MOST_FINDINGS])
    rest = Counter((found[i].severity, found[i].kind) for i in by_worth[MOST_FINDINGS:])
    return (
        *(found[i] for i in kept),
        *(
            Finding(severity, "many-findings", f"{count} more of {kind}", file=file, count=1)
            for (severity, kind), count in rest.items()
        ),
    )
