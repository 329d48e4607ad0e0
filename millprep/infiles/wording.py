"""Words that messages share: the nearest known word, what is accepted, what a fault is about.

Imports layer 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from millprep.base.findings import WordError
from millprep.infiles.positions import Path

_LONGEST_WORD = 60
_MANY = 12


class UnknownWordError(WordError):
    """A word that no table or file has, as against words that contradict each other."""


def prefixed(error: WordError, prefix: str) -> WordError:
    """The same error, its message led by the key it is about."""
    return type(error)(f"{prefix}: {error.message}", error.remedy, error.inside)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like this one, if any is like it at all."""
    found = _likest(word[:_LONGEST_WORD], tuple(known), 1, 0.6)
    return found[0] if found else None


@lru_cache(maxsize=256)
def _likest(word: str, known: tuple[str, ...], count: int, least: float) -> list[str]:
    """Kept, because one slip is often made in many holes."""
    from difflib import get_close_matches  # slow to import, and most files have no fault

    return get_close_matches(word, known, count, least)


def accepted(known: Sequence[str], word: str = "") -> str:
    """The words that would do, the nearest first where one is near."""
    likely = nearest(word, known) if word else None
    hint = f'did you mean "{likely}"? ' if likely else ""
    return f"{hint}accepted: {', '.join(known)}"


def known_here(known: Sequence[str], word: str) -> str:
    """The keys of a table, or of many those that are most like the word."""
    if len(known) <= _MANY:
        return "known here: " + ", ".join(known)
    likest = _likest(word[:_LONGEST_WORD], tuple(known), _MANY, 0.0)
    return f"known here, of {len(known)}: " + ", ".join(likest) + ", ..."


def subject(path: Path, name: str | None = None) -> str:
    """What a message is about: `hole 3 "mount"`, `member "cover"` or `[stock]`."""
    if path[0] == "members" and len(path) > 1:
        return f'member "{path[1]}"'
    if len(path) > 1 and isinstance(path[1], int):
        return f"{path[0]} {path[1] + 1}" + (f' "{name}"' if name else "")
    return f"[{path[0]}]"


def key_words(path: Path) -> str:
    """A path as people write it: hole[3].circle.centre[1], members counted from 1."""
    words = ""
    for part in path:
        words += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    return words.lstrip(".")
