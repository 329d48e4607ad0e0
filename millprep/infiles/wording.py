"""Words that messages share: the nearest known word, what is accepted, what a fault is about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.infiles.positions import Path

if TYPE_CHECKING:
    from millprep.model.part import Hole

_LONGEST_WORD = 60
_MANY = 12


class UnknownWordError(WordError):
    """A word that no table or file has, as against words that contradict each other."""

    kind = "unknown-word"


@contextmanager
def led_by(words: str, *inside: str) -> Iterator[None]:
    """Within it the message of a word that cannot be read is led by others, what it is about."""
    try:
        yield
    except WordError as error:
        message = f"{words}: {error.message}"
        raise type(error)(message, error.remedy, (*inside, *error.inside), error.kind) from None


def at_key(key: str) -> AbstractContextManager[None]:
    """Within it a word that cannot be read is led by its key, and is at that in the file."""
    return led_by(key, key)


def folded(name: str) -> str:
    """A name as names are told apart: capitals and blanks make no difference."""
    return " ".join(name.split()).casefold()


def named(holes: Sequence[Hole], name: str, lost: str) -> list[Hole]:
    """The holes of that name, or of that pattern. Raises WordError that begins with `lost`."""
    word = folded(name)
    found = [hole for hole in holes if word in (folded(hole.group), folded(hole.name))]
    if not found:
        groups = list(dict.fromkeys(hole.group for hole in holes))
        raise UnknownWordError(f"{lost} {shown(name)}", accepted(groups[:12], name))
    return found


def given_words(given: Sequence[str], if_none: str) -> str:
    """What is wrong with these keys, of which one is wanted."""
    return f"{' and '.join(given)} are given" if given else if_none


def nearest(word: str, known: Iterable[str], least: float = 0.6) -> str | None:
    """The known word most like this one, if any is like it at all. least : share that is alike"""
    found = _likest(word[:_LONGEST_WORD], tuple(known), 1, least)
    return found[0] if found else None


def meant(likely: str | None) -> str:
    """A likely word as a question, to stand before what is accepted."""
    return f'did you mean "{likely}"? ' if likely else ""


@lru_cache(maxsize=256)
def _likest(word: str, known: tuple[str, ...], count: int, least: float) -> list[str]:
    """Kept, because one slip is often made in many holes."""
    from difflib import get_close_matches  # slow to import, and most files have no fault

    return get_close_matches(word, known, count, least)


def accepted(known: Sequence[str], word: str = "") -> str:
    """The words that would do, the nearest first where one is near."""
    hint = meant(nearest(word, known)) if word else ""
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
