"""What a sheet says of several pieces made in one go, against part, shop and rows.

By this side's own sums; how long it takes to load a piece is typed again. Imports the part, the
shop and `reading`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import takewhile

from millprep.base.findings import Finding
from millprep.model.part import Hole
from millprep.witness.compared import Due
from millprep.witness.set_up import SetUp

_LOADING_MIN = 0.5
_SENTENCES = (
    "batch-pieces",
    "batch-kept",
    "batch-first",
    "batch-rest",
    "batch-minutes",
    "batch-ticks",
)


def check_batch(one: SetUp) -> Iterator[Finding]:
    """PIECES, the boxes below each tool, and the clampings by name."""
    runs, kept = one.runs(), _kept_rows(one)
    rest = len(one.rows) - kept
    is_several = one.pieces > 1
    blocks = len({row.hole for row in one.rows}) if one.is_by_hole else len(runs)
    due = {slug: int(is_several) for slug in _SENTENCES}
    due["batch-kept"] *= bool(kept)
    due["batch-rest"] *= bool(rest)
    due["batch-minutes"] *= bool(rest)
    due["batch-ticks"] *= blocks if one.has_ticks else 0
    yield from one.count(due)
    if is_several:
        yield from _check_words(one, kept)
        yield from _check_order(one, kept)
        yield from _check_visits(one, kept)


def _check_words(one: SetUp, kept: int) -> Iterator[Finding]:
    """Each sentence says what the rows and the shop have."""
    first = len(_runs_up_to(one, kept))
    last, pieces = len(one.runs()), one.pieces
    stop = None if one.at_stop is None else one.at_stop["stop"]
    where = "chuck" if one.all("hold-chuck") else "table" if stop is None else "vice"
    effort = _effort(one, first, last - first)
    saved_min = (effort[3] - effort[1]) * one.shop.mill.tool_change_s / 60
    minutes = round(saved_min - (effort[0] - effort[2]) * _LOADING_MIN)
    counted = zip(("loadings", "changes", "loadings_each", "changes_each"), effort, strict=True)
    due: dict[str, Due] = {
        "batch-pieces": {"piece_count": pieces, "where": where, "stop": stop},
        "batch-first": {"wiped": where},
        "batch-kept": {
            "kept": [*dict.fromkeys(_group(one, row.hole) for row in one.rows[:kept])],
            "reseating_mm": float(one.shop.vice.reseating_mm),
            **_span("kept", 1, first),
        },
        "batch-rest": _span("rest", first + 1, last),
        "batch-ticks": {"ticks": [str(n) for n in range(1, pieces + 1)]},
        "batch-minutes": {
            **dict(counted),
            "minutes": abs(minutes),
            "saved": "saved" if minutes >= 0 else "spent",
        },
    }
    for said in one.all(*due):
        yield from one.says(said, due[said.slug])


def _effort(one: SetUp, kept: int, rest: int) -> tuple[int, int, int, int]:
    """Loadings and changes of tool, then the same piece by piece; kept, rest : changes of each."""
    pieces = one.pieces
    tools = len({(row.tool_number, row.operation == "tap") for row in one.rows})
    loadings = (pieces if kept else 1) + rest * (pieces - 1)
    changes = (pieces * kept if kept > 1 else kept) + rest
    return loadings, changes, pieces, tools * pieces if tools > 1 else 1


def _kept_rows(one: SetUp) -> int:
    """How many of the first rows are made at a piece before it is taken out."""
    rows = one.rows
    if one.is_by_hole:
        return len(rows)
    names = _kept_names(one)
    kept = len([*takewhile(lambda row: row.hole in names, rows)])
    if kept:
        more = takewhile(lambda row: row.tool_number == rows[kept - 1].tool_number, rows[kept:])
        kept += len([*more])
    return kept


def _kept_names(one: SetUp) -> set[str]:
    """Round and to size, with a fit, or closer than the stop repeats; and what meets those."""
    holes = {name: expected.hole for name, expected in one.printed.expected.items()}
    names = {name for name, hole in holes.items() if _is_kept(one, hole)}
    return names | {name for name, hole in holes.items() if names.intersection(hole.meets)}


def _is_kept(one: SetUp, hole: Hole) -> bool:
    if hole.kind.is_true or hole.fit is not None:
        return True
    if hole.tolerance_mm is None and hole.position_mm is None:
        near_mm = one.printed.part.general_tolerance_mm
    else:
        zones = [hole.tolerance_mm, hole.position_mm and hole.position_mm / 2]
        near_mm = min(zone for zone in zones if zone is not None)
    return near_mm is not None and near_mm < one.shop.vice.reseating_mm - 1e-9


def _check_order(one: SetUp, kept: int) -> Iterator[Finding]:
    """Nothing that is to be made in one clamping comes later."""
    names = _kept_names(one)
    late = [row for row in one.rows[kept:] if row.hole in names]
    if late and not one.is_by_hole:
        yield one.wrong(f"step {late[0].step}: {late[0].hole} is made after it was taken out")


def _check_visits(one: SetUp, kept: int) -> Iterator[Finding]:
    """By name: every step once at every piece, those that stay in together."""
    named = one.page.title.named
    if named is None:
        return
    if named.get("kept") != str(kept):
        yield one.wrong(f"{named.get('kept')} steps are kept by name, not {kept}")
    visits = named.get("visits") or []
    made = [(int(visit["piece"]), int(step)) for visit in visits for step in visit["steps"]]
    wanted = {(n, row.step) for n in range(1, one.pieces + 1) for row in one.rows}
    if set(made) != wanted or max(Counter(made).values(), default=1) > 1:
        yield one.wrong("the clampings by name do not have each step once at each piece")
    first = list(range(1, kept + 1))
    whole = [v for v in visits if [int(step) for step in v["steps"][:kept]] == first]
    if kept and len(whole) != one.pieces:
        yield one.wrong("by name a piece is taken out too early")
    first_rest = _effort(one, len(_runs_up_to(one, kept)), len(one.runs()) - _at(one, kept))
    if len(visits) != first_rest[0]:
        yield one.wrong(f"{len(visits)} clampings by name, not {first_rest[0]}")


def _at(one: SetUp, kept: int) -> int:
    return len(_runs_up_to(one, kept))


def _runs_up_to(one: SetUp, kept: int) -> list[int]:
    """The changes of tool that the first rows take."""
    begins, found = 0, []
    for run in one.runs():
        if begins >= kept:
            break
        found.append(len(run))
        begins += len(run)
    return found


def _group(one: SetUp, name: str) -> str:
    return one.printed.expected[name].hole.group


def _span(name: str, first: int, last: int) -> Due:
    """How a sentence names changes: one alone, or from the first to the last."""
    if first == last:
        return {f"{name}_change": first}
    return {f"{name}_from": first, f"{name}_to": last}
