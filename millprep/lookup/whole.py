"""Whole tables by name: "threads", "metric threads", "number drills", "clearance", "materials".

Threads and drills come with what follows from their rows; every other table as it is printed.
Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from typing import Any

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.lookup.readings import cite
from millprep.lookup.vocabulary import TABLES
from millprep.reference.drills import DRILL_SERIES, Drill, DrillSeries, drills, hole_mm
from millprep.reference.tables import load_table, row_notes, table_names
from millprep.reference.threads import THREAD_SERIES, Thread, ThreadSeries, threads

WholeTable = dict[str, Any]
_THREADS: dict[str, ThreadSeries] = {
    f"threads-{series.lower().replace(' ', '-')}": series for series in THREAD_SERIES
}
_DRILLS: dict[str, DrillSeries] = {
    f"drills-{series.replace(' ', '-')}": series for series in DRILL_SERIES
}


def whole_tables(words: str) -> list[WholeTable]:
    """The tables whose names hold every word; WordError with the nearest names if there is none.

    Each: name, source, note, row_notes by key, columns, rows (a list by column).
    """
    asked = [_stem(word) for word in re.findall(r"[a-z0-9.]+", words.casefold())]
    names = [name for name in table_names() if asked and _named(name, asked)]
    leading = [name for name in names if _stem(name.split("-")[0]) == asked[0]]
    names = leading if len(asked) == 1 and leading else names
    if not names:
        raise _no_table(words)
    return [_whole(name) for name in names]


def _stem(word: str) -> str:
    return word.removesuffix("s") if len(word) > 2 and word != "gas" else word


def _named(name: str, asked: list[str]) -> bool:
    own = {_stem(part) for part in name.split("-")}
    return all(word in own or _stem(TABLES.get(word, word)) in own for word in asked)


def _no_table(words: str) -> WordError:
    from millprep.sizes import nearest

    plain = [name.replace("-", " ") for name in table_names()]
    firsts = list(dict.fromkeys(name.split()[0] for name in plain))
    close = nearest(words, [*firsts, *plain])
    names = "tables: " + ", ".join(firsts)
    remedy = f"nearest: {close}; {names}" if close else names
    return WordError(f"{shown(words)} is not a table", remedy)


def _whole(name: str) -> WholeTable:
    table = load_table(name)
    if name in _THREADS:
        rows = [_thread_row(each) for each in threads(_THREADS[name])]
    elif name in _DRILLS:
        rows = [_drill_row(each) for each in drills(_DRILLS[name])]
    else:
        rows = [{each: _plain(row[each]) for each in table.columns} for row in table.rows]
    if name.startswith("clearance-"):
        grades = table.columns[1:]
        rows = [
            row | {f"{each}_mm": round(hole_mm(row[each]), 3) for each in grades} for row in rows
        ]
    return {
        "name": name.replace("-", " "),
        "note": table.source.note,
        "row_notes": row_notes(table),
        "source": cite(table.source),
        "columns": [*rows[0]],
        "rows": [[*row.values()] for row in rows],
    }


def _plain(cell: Any) -> Any:
    """A cell as JSON and CSV hold it: a number, a word, or nothing."""
    if cell == "":
        return None
    if isinstance(cell, str | bool | int):
        return cell
    return [_plain(each) for each in cell] if isinstance(cell, list) else float(cell)


def _thread_row(thread: Thread) -> dict[str, Any]:
    return {
        "designation": thread.designation,
        "major_mm": round(thread.major_mm, 4),
        "pitch_mm": round(thread.pitch_mm, 4),
        "threads_per_inch": round(thread.threads_per_inch, 2),
        "core_mm": round(thread.basic_minor_mm, 3),
        "tap_drill": thread.tap_drill,
        "tap_drill_mm": round(thread.tap_drill_mm, 4),
        "percent_1.2269": round(thread.percent_thread(thread.tap_drill_mm)),
    }


def _drill_row(drill: Drill) -> dict[str, Any]:
    return {
        "designation": drill.designation,
        "diameter_mm": round(drill.diameter_mm, 4),
        "diameter_in": round(drill.diameter_in, 5),
    }
