"""Threads in words: "M6", "m6x0.75", "1/4-20", "No. 10-32 UNF", "2 BA", "1/4x40 ME", "G 1/4"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.base.units import shown
from millprep.reference.drills import fraction_words
from millprep.reference.tables import screw_inches
from millprep.reference.threads import THREAD_SERIES, Thread, ThreadSeries, threads
from millprep.sizes.words import either, nearest, plain

ACCEPTED_THREADS = (
    'write "M6", "M6x0.75", "1/4-20 UNC", "#10-32 UNF", "1/4 BSW", "2BA", "1/4x40 ME" or "G1/4"'
)
_HAND = r"[\s,(-]*\b(left|right)[\s-]*hand(?:ed)?\)?$|[\s,(-]+(l|r)\.?h\.?\)?$"
_CLASS = re.compile(r"-\s*6h$|[\s-]2b$")
_METRIC = re.compile(r"m\s*(\d+(?:\.\d+)?)(?:\s*[x-]\s*(\d*\.?\d+))?(?:\s*-\s*6h)?")
_INCH = r"""(?x)  # not compiled for a metric thread
    (?P<g>g\s*)?
    (?P<size>(?:\#|no\b\.?)\s*\d+ | (?:\d+[ -])?\d+/\d+ | \d*\.\d+ | \d+)
    \s*(?:in\b\.?|inch\b|"|″)?
    (?:\s*(?P<join>[-x ])\s*(?P<pitch>\d+)(?:\s*tpi)?)?
    [\s-]*(?P<form>unef|unc|unf|un|nef|nc|nf|bsw|whitworth|whit|bsf|me|bspp|bsp|bsc|cei|cycle|ba)?
    (?:\s*[x-]?\s*(?P<pitch_after>\d+)(?:\s*tpi)?)?
    (?:\s*-?\s*2b)?
"""
_UNIFIED: tuple[ThreadSeries, ...] = ("UNC", "UNF", "UNEF")
_SERIES: dict[str, tuple[ThreadSeries, ...]] = {
    "unc nc": ("UNC",),
    "unf nf": ("UNF",),
    "unef nef": ("UNEF",),
    "un": _UNIFIED,
    "bsw whitworth whit": ("BSW",),
    "bsf": ("BSF",),
    "ba": ("BA",),
    "me": ("ME",),
    "bsc cei cycle": ("BSC",),
    "bsp bspp": ("G",),
}
_FORMS = {form: series for forms, series in _SERIES.items() for form in forms.split()}
_ANY_FORM = [each for each in THREAD_SERIES if each != "metric fine"]


def read_thread(value: object) -> Thread:
    """The thread that was written, left hand where it says so. Raises WordError."""
    text = plain(value, "a thread", ACCEPTED_THREADS)
    text, is_left_hand = hand_of(text)
    found = threads_meant(text)
    if len(found) > 1:
        raise WordError(
            f"{shown(value)} can be read in more than one way",
            f"write {either([thread.designation for thread in found])}",
        )
    if not found:
        raise no_thread(shown(value), text)
    thread = replace(found[0], is_classed=_CLASS.search(text) is not None)
    return thread.left_handed() if is_left_hand else thread


def hand_of(text: str) -> tuple[str, bool]:
    """The words without the hand, and whether it was the left."""
    hand = re.search(_HAND, text) if "h" in text else None  # else it is not even compiled
    if hand is None:
        return text, False
    return text[: hand.start()], hand[1] == "left" or hand[2] == "l"


def no_thread(given: str, text: str) -> WordError:
    """The refusal of a thread, with those of the size that was named, else the nearest words."""
    close = ", ".join(same_size(text)) or nearest(text, (each.designation for each in threads()))
    remedy = f"the tables have {close}" if close else ACCEPTED_THREADS
    return WordError(f"{given} is not a thread in the tables", remedy)


def same_size(text: str) -> list[str]:
    """The threads of the size and form that plain words begin with, else of the form alone."""
    form = re.search(rf"(?<![a-z])(?:{'|'.join(_FORMS)})(?![a-z])", text)
    listed = [each for series in _FORMS[form[0]] for each in threads(series)] if form else ()
    size = re.match(r"m\s*\d+(?:\.\d+)?(?![\d/])|(?:#\s*)?\d+(?:/\d+)?", text)
    sized = threads_meant(size[0].replace(" ", ""), with_pitches=True) if size else ()
    return [each.designation for each in sized if not form or each in listed] or [
        each.designation for each in (listed or sized)
    ]


def threads_meant(text: str, with_pitches: bool = False) -> tuple[Thread, ...]:
    """Every thread that plain words without a hand can mean; none, one or several.

    with_pitches : "M6" means every pitch of M6, not the coarse one alone
    """
    if match := _METRIC.fullmatch(text):
        return _metric_meant(match[1], match[2], with_pitches)
    if match := re.fullmatch(r"ba\s*(\d+)", text):
        return _sized(("BA",), {match[1]}, None)
    match = re.fullmatch(_INCH, text)
    if match is None or (match["pitch"] and match["pitch_after"]):
        return ()
    sizes = _sizes_meant(match["size"])
    pitch = match["pitch"] or match["pitch_after"]
    if match["g"]:
        return () if match["form"] or pitch else _sized(("G",), sizes, None)
    if match["form"]:
        if match["form"] == "ba":  # "No. 2 BA" counts in BA's own numbers
            sizes = {size.removeprefix("#") for size in sizes}
        return _sized(_FORMS[match["form"]], sizes, pitch)
    if pitch and match["join"] == "-":  # 1/4-20 is written so for unified threads only
        return _sized(_UNIFIED, sizes, pitch)
    no_fraction = ("metric coarse", "BA")  # tables less to be opened
    is_fraction = all("/" in size for size in sizes)
    return _sized(
        [one for one in _ANY_FORM if not is_fraction or one not in no_fraction], sizes, pitch
    )


def _metric_meant(major: str, pitch: str | None, with_pitches: bool) -> tuple[Thread, ...]:
    is_coarse = pitch is None and not with_pitches
    every: tuple[ThreadSeries, ...] = ("metric coarse", "metric fine")
    listed = [
        thread
        for series in every[: 1 if is_coarse else 2]  # a table less to be opened
        for thread in threads(series)
        if thread.major_mm == float(major)
    ]
    if pitch is None or with_pitches:
        return tuple(listed)
    return tuple(thread for thread in listed if thread.pitch_mm == float(pitch))


def _sizes_meant(word: str) -> set[str]:
    """The size words of the tables that a written size can stand for: "10" is 10 or #10."""
    number = re.fullmatch(r"(?:#|no\.?)\s*(\d+)", word)
    if number:
        return {f"#{int(number[1])}"}
    if re.fullmatch(r"\d+", word):
        return {str(int(word)), f"#{int(word)}"}
    if "/" in word:
        whole, _, part = word.replace("-", " ").rpartition(" ")
        top, bottom = map(int, part.split("/"))
        if not bottom:
            return set()
        return {fraction_words(int(whole or 0) + Fraction(top, bottom)).removesuffix(" in")}
    inches = Fraction(word)
    numbered = {f"#{number}" for number in range(13) if screw_inches(f"#{number}") == inches}
    return numbered | {str(inches)}


def _sized(
    series: Iterable[ThreadSeries], sizes: set[str], pitch: str | None
) -> tuple[Thread, ...]:
    return tuple(
        thread
        for each in series
        for thread in threads(each)
        if size_word(thread) in sizes
        and (pitch is None or (each[0] != "m" and round(thread.threads_per_inch, 3) == int(pitch)))
    )


def size_word(thread: Thread) -> str:
    """The size in a thread's designation: "6", "#10", "1/4", "2"."""
    match = re.match(r"[GM]?(#?\d+(?: \d+/\d+|\.\d+|/\d+)?)", thread.designation)
    return match[1] if match else ""
