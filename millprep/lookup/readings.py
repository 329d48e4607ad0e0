"""What a reading is made of: an entry of the tables as plain figures, the same that JSON prints.

Lengths in mm, `kind` says what it is, `source` where the figures come from. Imports layers 0 to 2.
"""

from __future__ import annotations

from typing import Any

from millprep.reference.tables import Source
from millprep.reference.threads import CONVENTIONS, Thread

Reading = dict[str, Any]
SPEED_FORMULA = "rev/min = 1000 x m/min / (pi x diameter in mm)"


def cite(*sources: Source | None) -> str:
    """The sources in one line, each once, with the table in each."""
    named = [f"{each.cite} ({each.table})" if each.table else each.cite for each in sources if each]
    return "; ".join(dict.fromkeys(named))


def cite_shortly(*sources: Source | None) -> str:
    """ "ISO 261, ISO 273 (from memory)": the documents by what is known of them."""
    by_how: dict[str, dict[str, None]] = {}
    for each in sources:
        if each is not None:
            by_how.setdefault(_HOW.get(each.how, each.how), {})[each.title] = None
    return "; ".join(f"{', '.join(titles)} ({how})" for how, titles in by_how.items())


_HOW = {"recalled": "from memory", "formula": "by formula"}


def rounded(value: float | None) -> float | None:
    """A figure without the float noise of its conversion."""
    return None if value is None else round(value, 6)


def figures(entry: object, *names: str) -> Reading:
    """Fields of an entry of a table by their names, lengths without float noise."""
    values = {name: getattr(entry, name) for name in names}
    return {n: round(each, 6) if isinstance(each, float) else each for n, each in values.items()}


def notes(*texts: str) -> str:
    """What must be said beside the figures, in one line."""
    return "; ".join(text for text in texts if text)


def reading(kind: str, *sources: Source | None, note: str | None = None, **given: Any) -> Reading:
    """One reading: what it is, its figures, what must be said beside them, their sources.

    note : that of the first source where it is None
    """
    if note is None:
        note = sources[0].note if sources and sources[0] is not None else ""
    cited = {"source": cite(*sources), "source_short": cite_shortly(*sources)}
    return {"kind": kind, **given, "note": note, **cited}


def percents(thread: Thread, drill_mm: float) -> dict[str, float]:
    """Percent of a full thread by each convention."""
    return {name: round(thread.percent_thread(drill_mm, name), 1) for name in CONVENTIONS}
