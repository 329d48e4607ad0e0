"""The words of the bench, as `words.toml` has them: what each names, and what only holds together.

A phrase names one or more kinds; kinds are what an answer asks for (see `answers`).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from millprep.sizes import HEAD_NAMES

_WORDS: dict[str, Any] = tomllib.loads(
    Path(__file__).with_name("words.toml").read_text(encoding="utf-8")
)


def _phrases(table: str) -> Iterator[tuple[str, str]]:
    """Each phrase of a table with what it stands under."""
    for name, phrases in _WORDS[table].items():
        for phrase in re.split(r",\s+", phrases.strip()):
            yield " ".join(phrase.split()), name


def _by_phrase() -> dict[str, frozenset[str]]:
    kinds: dict[str, set[str]] = {}
    for phrase, kind in [*_phrases("said"), *((phrase, "head") for phrase in HEADS)]:
        kinds.setdefault(phrase, set()).add(kind)
    return {phrase: frozenset(named) for phrase, named in kinds.items()}


FORMS = frozenset(_WORDS["forms"].split())
HOLDING = frozenset(_WORDS["holding"].split())
"""They hold a question together and name nothing."""
HEADS = HEAD_NAMES | dict(_phrases("heads"))
PIPES = dict(_phrases("pipes"))
SHORT_MATERIALS = dict(_phrases("materials"))
"""What a bare word is taken for; the answer names the material that it took."""
SPOKEN = dict(sorted(_phrases("spoken"), key=lambda pair: -len(pair[0])))
"""Sizes as they are said, the longest first."""
PHRASES = _by_phrase()
TABLES = dict(_phrases("tables"))
"""What words in the name of a whole table stand for."""
FIGURES: list[list[str]] = _WORDS["figures"]["rows"]
ANSWERS: dict[str, Any] = _WORDS["answers"]
DRAWINGS: dict[str, str] = _WORDS["drawings"]
ASK = 'ask as "M6 tap drill", "clearance 1/4", "drill 6 mm brass" or "6 holes on 50 pcd"'
SUMS = frozenset({"circle", "arc", "grid", "sine", "divide", "turns", "points"})
