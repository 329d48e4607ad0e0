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
from millprep.reference.drills import DRILL_SERIES, DrillSeries, drills, hole_mm
from millprep.reference.tables import load_table, row_notes, table_names
from millprep.reference.threads import THREAD_SERIES, ThreadSeries, threads

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
        columns, rows = _thread_rows(_THREADS[name])
    elif name in _DRILLS:
        columns, rows = _drill_rows(_DRILLS[name])
    elif name.startswith("clearance-"):
        columns, rows = _clearance_rows(name)
    else:
        columns = list(table.columns)
        rows = [[_plain(row[column]) for column in columns] for row in table.rows]
    return {
        "name": name.replace("-", " "),
        "note": table.source.note,
        "row_notes": row_notes(table),
        "source": cite(table.source),
        "columns": columns,
        "rows": rows,
    }


def _plain(cell: Any) -> Any:
    """A cell as JSON and CSV hold it: a number, a word, or nothing."""
    if cell == "":
        return None
    if isinstance(cell, str | bool | int):
        return cell
    return [_plain(each) for each in cell] if isinstance(cell, list) else float(cell)


def _thread_rows(series: ThreadSeries) -> tuple[list[str], list[list[Any]]]:
    columns = [
        "designation",
        "major_mm",
        "pitch_mm",
        "threads_per_inch",
        "core_mm",
        "tap_drill",
        "tap_drill_mm",
        "percent_1.2269",
    ]
    return columns, [
        [
            thread.designation,
            round(thread.major_mm, 4),
            round(thread.pitch_mm, 4),
            round(thread.threads_per_inch, 2),
            round(thread.basic_minor_mm, 3),
            thread.tap_drill,
            round(thread.tap_drill_mm, 4),
            round(thread.percent_thread(thread.tap_drill_mm)),
        ]
        for thread in threads(series)
    ]


def _drill_rows(series: DrillSeries) -> tuple[list[str], list[list[Any]]]:
    columns = ["designation", "diameter_mm", "diameter_in"]
    return columns, [
        [drill.designation, round(drill.diameter_mm, 4), round(drill.diameter_in, 5)]
        for drill in drills(series)
    ]


def _clearance_rows(name: str) -> tuple[list[str], list[list[Any]]]:
    table = load_table(name)
    grades = table.columns[1:]
    columns = [table.columns[0], *grades, *(f"{grade}_mm" for grade in grades)]
    return columns, [
        [
            _plain(row[table.columns[0]]),
            *(row[grade] for grade in grades),
            *(round(hole_mm(row[grade]), 3) for grade in grades),
        ]
        for row in table.rows
    ]
