"""Plain words, and the words nearest to them: what every reader of sizes uses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from millprep.base.findings import WordError
from millprep.base.units import plain_fractions, shown

LONGEST_WORD = 60


def plain(value: object, what: str, remedy: str) -> str:
    """The words in lower case with single blanks; WordError if it is no text or too long."""
    if not isinstance(value, str):
        raise WordError(f"{shown(value)} is not {what}", remedy)
    text = " ".join(plain_fractions(value).split()).casefold().replace("×", "x")
    if not text or len(text) > LONGEST_WORD or not text.isprintable():
        raise WordError(f"{shown(value)} is not {what}", remedy)
    return text


def nearest(given: str, known: Iterable[str], count: int = 3, cutoff: float = 0.5) -> str:
    """ "M6, M6x0.75" and the like: the known words that look most like the given; may be empty."""
    from difflib import get_close_matches

    by_key = {word.casefold(): word for word in known}
    close = get_close_matches(given.casefold(), by_key, n=count, cutoff=cutoff)
    return ", ".join(by_key[word] for word in close)


def either(readings: Sequence[str]) -> str:
    """The readings as a choice: `"M6" or "6BA"`; the first ten of many."""
    quoted = [f'"{reading}"' for reading in readings[:10]]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + f" or {quoted[-1]}"
