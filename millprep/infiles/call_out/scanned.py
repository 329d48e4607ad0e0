"""A call-out while it is read: what is understood is struck off, what is refused is kept aside."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from pydantic import ValidationError

from millprep.base.findings import WordError
from millprep.base.units import Units
from millprep.infiles.call_out.marks import GONE, GONE_HERE, plain, small
from millprep.infiles.editing.taking import in_toml
from millprep.infiles.part_schema import HoleTable
from millprep.model.part import Face
from millprep.sizes import read_clear

Span = tuple[int, int]
LABELS = ("how many", "what", "deep", "mouth", "how good", "placed")
HOW_MANY, WHAT, DEEP, MOUTH, GOOD, PLACED = LABELS


class Said(NamedTuple):
    """One thing to be agreed to."""

    label: str
    text: str


@dataclass
class Scanned:
    """The words of a call-out: typed for values, text in small letters with holes where it was
    understood."""

    words: str
    units: Units
    face: Face
    typed: str = ""
    text: str = ""
    values: dict[str, str] = field(default_factory=dict)
    said: list[Said] = field(default_factory=list)
    left: dict[Span, str] = field(default_factory=dict)
    count: int | None = None

    def __post_init__(self) -> None:
        self.typed = plain(self.words)
        self.text = small(self.typed)

    def found(self, *patterns: str) -> Iterator[re.Match[str]]:
        """What the patterns find, one after the other, in what is not struck off yet."""
        for pattern in patterns:
            place = 0
            while match := compiled(pattern).search(self.text, place):
                yield match
                place = max(match.end(), match.start() + 1)

    def strike(self, span: Span, mark: str = GONE) -> None:
        start, end = span
        self.text = self.text[:start] + mark * (end - start) + self.text[end:]

    def word(self, match: re.Match[str], *groups: str) -> str:
        """The first of these groups that is there, as it was typed, with single blanks."""
        for group in groups:
            if group in match.re.groupindex and match[group] is not None:
                return " ".join(self.typed[slice(*match.span(group))].split())
        return ""

    def word_of(self, span: Span) -> str:
        return " ".join(self.typed[slice(*span)].split())

    def refuse(self, span: Span, why: str) -> None:
        self.left[span] = why
        self.strike(span)

    def take(
        self, span: Span, values: Mapping[str, str], label: str, text: str, mark: str = GONE
    ) -> bool:
        """Strikes off a phrase with its figures; refused where the reader would refuse one, or
        where the same was said before."""
        why = refusal(values, self.units) or self._clash(values)
        if why:
            self.refuse(span, why)
            return False
        self.values.update(values)
        if text:
            self.said.append(Said(label, text))
        self.strike(span, mark)
        return True

    def _clash(self, values: Mapping[str, str]) -> str:
        for key in values:
            for said in self.values:
                if said == key or said.startswith(key + ".") or key.startswith(said + "."):
                    return f"said before as {self.values[said]}: which of the two?"
        return ""

    def leave_the_rest(self) -> None:
        """What is neither understood nor a word that only joins others is left."""
        for run in compiled(rf"[^{GONE}{GONE_HERE}]+").finditer(self.text):
            if compiled(_JOINING).sub("", run[0]).strip(_POINTS + "+-"):
                start = run.start() + len(run[0]) - len(run[0].lstrip(_POINTS))
                end = run.end() - len(run[0]) + len(run[0].rstrip(_POINTS))
                self.left[start, end] = "not understood"
        dangling = compiled(rf"(?:{_DANGLING}[ ,;:.()]*)+$").search(self.text)
        if dangling is not None:
            end = len(self.text[: dangling.end()].rstrip(_POINTS))
            self.left[dangling.start(), end] = (
                "nothing stands behind it: write the rest, or leave it out"
            )


_POINTS = " ,;:.()"
_JOINING = r"\b(?:and|then|with|holes?|each|off|the|an?|to|in|on|at|of|for|by|x|from|is|are|be)\b|&"
_DANGLING = r"(?:\b(?:and|then|with|the|an?|to|in|on|at|of|for|by|x|from)\b|&)"
_COMPILED: dict[str, re.Pattern[str]] = {}


def compiled(pattern: str) -> re.Pattern[str]:
    """More patterns than `re` keeps by itself."""
    if pattern not in _COMPILED:
        _COMPILED[pattern] = re.compile(pattern)
    return _COMPILED[pattern]


def refusal(values: Mapping[str, str], units: Units) -> str:
    """Why the reader of part files would not take one of these figures; empty where it would."""
    try:
        HoleTable.model_validate(_two_ways(_nested(values)), context={"units": units})
        for key in ("clear", "opened.clear"):
            if key in values:
                read_clear(values[key], units)
    except ValidationError as error:
        for fault in error.errors(include_url=False):
            word = fault.get("ctx", {}).get("error")
            if isinstance(word, WordError):
                return _sentence(word)
            if fault["type"] != "missing":
                return "not understood"
    except WordError as word:
        return _sentence(word)
    return ""


def _two_ways(table: dict[str, object]) -> dict[str, object]:
    """A point of which one distance is known so far, with another: to be read at all."""
    circle = table.get("circle")
    for inside, key in ((table, "at"), (circle, "centre")):
        point = inside.get(key) if isinstance(inside, dict) else None
        if isinstance(inside, dict) and isinstance(point, dict) and len(point) == 1:
            inside[key] = {**point, "centre_y" if "centre_x" in point else "centre_x": "0"}
    return table


def _sentence(word: WordError) -> str:
    return f"{word.message}: {word.remedy}" if word.remedy else word.message


def _nested(values: Mapping[str, str]) -> dict[str, object]:
    """Dotted keys as the tables of a file, each figure as it would be put down there."""
    whole: dict[str, object] = {}
    for key, words in values.items():
        *tables, last = key.split(".")
        inner: Any = whole
        for table in tables:
            inner = inner.setdefault(table, {})
        value = in_toml(words, "part", ("hole", 0, *tables, last))
        inner[last] = tomllib.loads(f"it = {value}")["it"]
    return whole
