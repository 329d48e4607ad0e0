"""A question as a bag of things: sizes with their unit, threads, materials, words of the bench.

Read from the left, the longest thing first; the order in which things stand says nothing more,
but that of two sizes the first is the diameter. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, plain_fractions, read_length, shown
from millprep.lookup.vocabulary import (
    ASK,
    FIGURES,
    FORMS,
    HEADS,
    HOLDING,
    PHRASES,
    PIPES,
    SHORT_MATERIALS,
    SPOKEN,
    SUMS,
)
from millprep.reference.threads import Thread, thread_by_formula
from millprep.sizes import hand_of, read_thread, threads_meant

if TYPE_CHECKING:
    from millprep.model.shop import Shop

LONGEST_QUESTION = 160
_WINDOW = 7  # words that a thing may take
_NUMBER = r"-?(?:\d+\.?\d*|\.\d+)"
_DIA = r"(?:ø|⌀|dia\.?|diameter)? ?"
_LENGTH = rf"(?:\d{{1,2}}[ -]\d+/\d+|\d+/\d+|{_NUMBER})(?: ?(?:mm|inches|inch|ins?|\"|thou))?"


@frozen
class Thing:
    """One thing of a question: what it can be, its value, the words that said it."""

    kinds: frozenset[str]
    value: Any
    words: str


@frozen
class Bag:
    """What a question holds, and what there is to answer it with.

    units  : of bare numbers
    drawer : designation and diameter [mm] of the drills of a shop that was named; None: no shop was
    shop   : reads the shop whose speeds, screws and plates count; None: there is none to be read
    """

    things: tuple[Thing, ...]
    units: Units = "mm"
    drawer: Sequence[tuple[str, float]] | None = None
    shop: Callable[[], Shop] | None = None

    def has(self, *kinds: str) -> bool:
        """Whether there is a thing of any of the kinds."""
        return any(thing.kinds.intersection(kinds) for thing in self.things)

    def all(self, *kinds: str) -> list[Thing]:
        return [thing for thing in self.things if thing.kinds.intersection(kinds)]

    def value(self, kind: str, default: Any = None) -> Any:
        """The value of the first thing of a kind."""
        found = self.all(kind)
        return found[0].value if found else default

    def mm(self, kind: str = "size", place: int = 0) -> float:
        """The length of a thing of that kind [mm]; WordError where there is none."""
        found = self.all(kind)
        if len(found) <= place:
            raise WordError("a size is missing", 'write it as "6 mm" or "1/4 in"')
        return length_mm(found[place].words, self.units)

    def within(self, uses: Mapping[str, int]) -> Bag:
        """The bag with so many things of each kind as are used, the first of each."""
        left, kept = dict(uses), []
        for thing in self.things:
            kind = next((each for each in uses if each in thing.kinds and left[each] > 0), None)
            if kind is not None:
                left[kind] -= 1
                kept.append(thing)
        return Bag(tuple(kept), self.units, self.drawer, self.shop)


def length_mm(words: str, units: Units) -> float:
    """Millimetres of a length; a bare fraction is inches. WordError if it is no length."""
    text = re.sub(r"^(?:ø|⌀|dia(?:meter|\.)?) *", "", words.strip())
    if text.endswith("thou"):
        return float(read_length(text.removesuffix("thou"), "inch")) / 1000
    is_bare = "/" in text and text[-1:].isdigit()
    return float(read_length(text, "inch" if is_bare else units))


def bag_of(words: str, units: Units = "mm", with_materials: bool = False) -> Bag:
    """The things of a question. WordError where it is empty, too long or not to be printed.

    with_materials : their table is opened, which few questions need
    """
    tokens = _tokens(words)
    context = _context(tokens)
    things: list[Thing] = []
    place = 0
    while place < len(tokens):
        for count in range(min(_WINDOW, len(tokens) - place), 0, -1):
            window = " ".join(tokens[place : place + count])
            if (thing := _thing(window, context, with_materials)) is not None:
                things.append(thing)
                place += count
                break
        else:
            token = tokens[place]
            if apart := _apart(token, context):
                tokens[place : place + 1] = apart
                continue
            if token.casefold() not in HOLDING or len(tokens) == 1:
                kind = "letter" if re.fullmatch(r"[A-Za-z]", token) else "unknown"
                kinds = {"letter", "size"} if kind == "letter" else {"unknown"}
                things.append(Thing(frozenset(kinds), token.casefold(), token))
            place += 1
    return Bag(tuple(things), units)


def _tokens(words: str) -> list[str]:
    text = plain_fractions(words).replace("×", "x").replace("″", '"').replace("ø", " ø")
    text = text.replace("°", " deg ").replace("@", " at ").replace("⌀", "ø")
    if not text.strip() or len(text) > LONGEST_QUESTION or not text.isprintable():
        raise WordError(f"{shown(words)} is not a question for the tables", ASK)
    text = re.sub(r"[?!;:=]+(?=\s|$)|,(?=\s|$)|[()=]", " ", text)
    for said, written in SPOKEN.items():
        if said in text.casefold():
            text = re.sub(rf"\b{said}\b", written, text, flags=re.IGNORECASE)
    tokens: list[str] = []
    for token in text.split():
        joined = re.fullmatch(r"(ø?[\d./]+(?:mm|in|\")?)([A-Za-z]{1,2}\d{1,2}(?:/.*)?)", token)
        is_fit = joined and _classes(joined[2])
        tokens += [joined[1], joined[2]] if joined and is_fit else [token]
    return tokens


def _apart(token: str, context: frozenset[str]) -> list[str]:
    """ "M6tap" and "drill6mm" as two words; nothing where that gives no word and figure."""
    for place in range(2, len(token) - 1):
        parts = [token[:place], token[place:]]
        figure = [each for each in parts if re.search(r"\d", each)]
        word = [each for each in parts if each.isalpha() and each.casefold() in PHRASES]
        if len(figure) == len(word) == 1 and _thing(figure[0], context, False) is not None:
            return parts
    return []


def _context(tokens: Sequence[str]) -> frozenset[str]:
    """What the words of the bench in a question are about, taken without its figures."""
    text = f" {' '.join(tokens).casefold()} "
    about = {kind for phrase, kinds in PHRASES.items() if f" {phrase} " in text for kind in kinds}
    if re.search(r"\d:1|\d to 1\b", text):
        about.add("divide")
    if "divide" not in about and re.search(r"\bholes? on\b| \d+ on \d", text):
        about.add("circle")
    if len(re.findall(r"\d,-?[\d.]", text)) == 3:
        about.add("points")
    if re.fullmatch(r" \S*\d\S*( mm| in)? m[5-8] ", text):  # "12 M7" is a fit, M7 alone a thread
        about.add("limit")
    if "dowel" in about and re.search(r"\d( mm)? m6\b", " ".join(tokens)):
        about.add("limit")
    return frozenset(about)


def _thing(window: str, context: frozenset[str], materials: bool) -> Thing | None:
    text = window.casefold()
    is_sum = bool(context & SUMS)
    if materials and not is_sum and (found := _material(text)) is not None:
        return Thing(frozenset({"material"}), found, window)
    for kinds, value in _named(text, window, context):
        return Thing(kinds, value, window)
    if not is_sum and (threads := _threads(text, context)):
        return Thing(frozenset({"thread"}), threads, window)
    return None


def _material(text: str) -> Any:
    from millprep.reference.materials import material_named, whole_material

    text = re.sub(r"^en ?aw[ -]?(?=\d)|(?<=\d) steel$", "", text)
    if found := whole_material(SHORT_MATERIALS.get(text, text)):
        return found
    is_grade = " " not in text and re.search(r"[a-z].*\d|\d.*[a-z]|[a-z]{3}", text)
    return material_named(text) if is_grade else None


def _classes(text: str) -> list[str]:
    """ "H7/g6" as its classes; nothing where one is none."""
    if not re.fullmatch(r"[A-Za-z]{1,2}\d{1,2}(?:/[A-Za-z]{1,2}\d{1,2})?", text):
        return []
    from millprep.reference.fits import HOLE_CLASSES, SHAFT_CLASSES

    classes = text.split("/")
    return classes if all(each in HOLE_CLASSES + SHAFT_CLASSES for each in classes) else []


def _named(text: str, window: str, context: frozenset[str]) -> Iterator[tuple[frozenset[str], Any]]:
    """What a window of words names, likeliest first."""
    if any(map(str.isdigit, text)) or text.startswith("letter"):
        for hints, pattern, kinds, read, needed in FIGURES:
            if (needed and context.isdisjoint(needed.split())) or (
                hints and not any(map(text.count, hints.split()))
            ):
                continue
            if match := _pattern(pattern).fullmatch(text):
                yield frozenset(kinds.split()), _READ[read](match)
    if text in PHRASES:
        yield PHRASES[text], HEADS.get(text, PIPES.get(text, text))
    if text in FORMS:
        yield frozenset({"form"}), text
    is_thread = window[:1] in "mM" and "/" not in window and "limit" not in context
    if not is_thread and (classes := _classes(window)):
        yield frozenset({"class"}), classes


def _first(match: re.Match[str]) -> str:
    return next(group for group in match.groups() if group is not None)


_READ: dict[str, Callable[[re.Match[str]], Any]] = {
    "first": _first,
    "count": lambda match: int(_first(match)),
    "number": lambda match: float(_first(match)),
    "feet": lambda match: float(match[1]) * 0.3048,
    "angle": lambda match: float(match[1]) + float(match[2] or 0) / 60,
    "pair": lambda match: (float(match[1]), float(match[2])),
    "two": lambda match: (match[1], match[2]),
}
"""How a figure of the table of words is read."""


@cache
def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(
        text.replace("DIA", _DIA).replace("LENGTH", _LENGTH).replace("NUMBER", _NUMBER)
    )


# --- threads --------------------------------------------------------------------------------------

_FORM_FIRST = r"(bsf|bsw|ba|unc|unf|unef|me|whit|whitworth|bsp|bsc) (\S+(?: x \S+)?)"
_METRIC_LONG = r"(m ?)?(\d+(?:\.\d+)?)(?: ?mm)? ?(x| ) ?(\d*\.?\d+)(?: ?mm)?"
_THREADED = frozenset({"tap", "screw", "pitch", "core", "major", "effective", "coarse", "fine"})
"""What a question is about that means a thread by "12mm x 1.5"."""
_BARE = re.compile(r"(?:#|no\b\.?|number)? ?(?:\d+[ -](?=\d+/))?[\d./]+ ?(?:mm|in\.?|inch|\")?")


def _threads(text: str, context: frozenset[str]) -> tuple[tuple[Thread, ...], float | None] | None:
    """The threads that a window names by more than a bare size, and the length of the screw."""
    if _BARE.fullmatch(text) or not re.search(r"\d", text):
        return None
    if re.fullmatch(r"[\d/#.]+ \d+", text) and context & {"drill", "ream", "bore", "spot drill"}:
        return None
    text, is_left = hand_of(text)
    found = threads_meant(text)
    if not found and (match := re.fullmatch(_FORM_FIRST, text)):
        found = threads_meant(f"{match[2]} {match[1]}")
    if found:
        if text.endswith(("6h", "2b")) and len(found) == 1:
            found = (read_thread(text),)
    elif (match := re.fullmatch(_METRIC_LONG, text)) and (match[1] or context & _THREADED):
        major, second = float(match[2]), float(match[4])
        if 0 < second < major / 4 and (match[1] or match[3] == "x"):
            listed = threads_meant(f"m{match[2]}x{match[4]}")
            found = listed or (thread_by_formula(major, second),)
        elif (
            match[1]
            and match[3] == "x"
            and second > major / 2
            and (screws := threads_meant(f"m{match[2]}"))
        ):
            return screws, second
    if not found:
        return None
    return tuple(each.left_handed() for each in found) if is_left else found, None
