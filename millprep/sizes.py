"""Words to sizes: drills, threads, screws, clearance holes, fits, materials, as drawings name them.

Every reader takes whatever stood in the file and gives an entry of the reference tables, or raises
`WordError` with what was given and what would be accepted. What can be read two ways is refused
with both readings. Imports layers 0 and 1.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from millprep.errors import WordError
from millprep.reference.clearance import GRADES, Clearance, clearance_for
from millprep.reference.drills import (
    SAME_SIZE_MM,
    Drill,
    DrillSeries,
    drill_named,
    drills,
    fraction_words,
    metric_words,
)
from millprep.reference.fits import HOLE_CLASSES, SHAFT_CLASSES, hole_limits_um
from millprep.reference.heads import HEAD_KINDS, Head, HeadKind, head_for
from millprep.reference.materials import Material, material_named, materials
from millprep.reference.tables import Source, screw_inches
from millprep.reference.threads import Thread, ThreadSeries, threads
from millprep.units import ACCEPTED_LENGTHS, MM_PER_INCH, Units, plain_fractions, read_length, shown

LONGEST_WORD = 60
SMALLEST_MM, LARGEST_MM = Fraction(1, 10), Fraction(500)
ACCEPTED_DRILLS = 'write 5, "5 mm", "1/4 in", "#7", "letter F" or "dia 6"'
ACCEPTED_THREADS = (
    'write "M6", "M6x0.75", "1/4-20 UNC", "#10-32 UNF", "1/4 BSW", "2BA", "1/4x40 ME" or "G1/4"'
)
ACCEPTED_SCREWS = 'write "M5 socket head", "M5 countersunk" or "#8-32 socket head"'
_OTHER_HEADS = "for a head that no table has give { diameter, depth } or { diameter, angle }"
_AS_GIVEN = Source("the size as given", "", "", "not a listed drill", "read", "")

_NUMBER_DRILL = re.compile(r"(?:#|no\b\.?|number\b)\s*(\d{1,4})")
_LETTER_DRILL = re.compile(r"letter\s*([a-z])")
_DIAMETER = re.compile(r"(?:ø|⌀|dia(?:meter|\.)?)\s*(?=[\d.])|\s+dia(?:meter|\.)?$")
_HAND = re.compile(r"[\s,(-]*\b(left|right)[\s-]*hand(?:ed)?\)?$|[\s,(-]+(l|r)\.?h\.?\)?$")
_METRIC = re.compile(r"m\s*(\d+(?:\.\d+)?)(?:\s*[x-]\s*(\d*\.?\d+))?(?:\s*-\s*6h)?")
_INCH = re.compile(
    r"""
    (?P<g>g\s*)?
    (?P<size>(?:\#|no\b\.?)\s*\d+ | \d+/\d+ | \d*\.\d+ | \d+)
    \s*(?:in\b\.?|inch\b|"|″)?
    (?:\s*(?P<join>[-x ])\s*(?P<pitch>\d+)(?:\s*tpi)?)?
    [\s-]*(?P<form>unc|unf|un|nc|nf|bsw|whitworth|whit|bsf|me|bspp|bsp|ba)?
    (?:\s*[x-]?\s*(?P<pitch_after>\d+)(?:\s*tpi)?)?
    (?:\s*-?\s*2b)?
    """,
    re.VERBOSE,
)
_UNIFIED: tuple[ThreadSeries, ...] = ("UNC", "UNF")
_FORMS: dict[str, tuple[ThreadSeries, ...]] = {
    "unc": ("UNC",), "nc": ("UNC",), "unf": ("UNF",), "nf": ("UNF",), "un": _UNIFIED,
    "bsw": ("BSW",), "whitworth": ("BSW",), "whit": ("BSW",), "bsf": ("BSF",), "ba": ("BA",),
    "me": ("ME",), "bsp": ("G",), "bspp": ("G",),
}  # fmt: skip
_ANY_FORM: tuple[ThreadSeries, ...] = (
    "metric coarse", "UNC", "UNF", "BSW", "BSF", "BA", "ME", "G",
)  # fmt: skip
_HEAD_WORDS: dict[str, HeadKind] = {
    "socket head cap screw": "socket head", "socket head screw": "socket head",
    "socket head cap": "socket head", "socket head": "socket head", "cap head": "socket head",
    "countersunk screw": "countersunk", "countersunk head": "countersunk",
    "countersunk": "countersunk", "csk": "countersunk", "flat head": "countersunk",
}  # fmt: skip


def plain(value: object, what: str, remedy: str) -> str:
    """The words in lower case with single blanks; WordError if it is no text or too long."""
    if not isinstance(value, str):
        raise WordError(f"{shown(value)} is not {what}", remedy)
    text = " ".join(plain_fractions(value).split()).casefold().replace("×", "x")
    if not text or len(text) > LONGEST_WORD or not text.isprintable():
        raise WordError(f"{shown(value)} is not {what}", remedy)
    return text


def nearest(given: str, known: Iterable[str], count: int = 3) -> str:
    """ "M6, M6x0.75" and the like: the known words that look most like the given; may be empty."""
    from difflib import get_close_matches

    by_key = {word.casefold(): word for word in known}
    close = get_close_matches(given.casefold(), by_key, n=count, cutoff=0.5)
    return ", ".join(by_key[word] for word in close)


def either(readings: Sequence[str]) -> str:
    """The readings as a choice: `"M6" or "6BA"`; the first six of many."""
    quoted = [f'"{reading}"' for reading in readings[:6]]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + f" or {quoted[-1]}"


# --- drills ---------------------------------------------------------------------------------------


def read_drill(value: object, units: Units) -> Drill:
    """The drill, reamer or bore size that was written; plain numbers are in `units`.

    A listed size where there is one in the kind of unit given, else the size itself under a
    designation that reads back the same. Raises WordError.
    """
    if not isinstance(value, str):
        return _drill_of_length(value, units, units == "inch", False, as_written=value)
    text = plain(value, "a drill size", ACCEPTED_DRILLS)
    if match := _NUMBER_DRILL.fullmatch(text):
        return _listed(f"#{int(match[1])}", value, 'number drills run from "#1" to "#80"')
    if match := _LETTER_DRILL.fullmatch(text):
        return _listed(f"letter {match[1].upper()}", value, ACCEPTED_DRILLS)
    length = _DIAMETER.sub("", text)
    if re.fullmatch(r"[a-z]", length):
        raise WordError(
            f"{shown(value)} is not a drill size",
            f'for the letter drill write "letter {text.upper()}"',
        )
    is_metric = "mm" in length or (units == "mm" and not re.search(r"in|[\"″']", length))
    return _drill_of_length(length, units, not is_metric, "/" in length, as_written=value)


def _no_drill(value: object, error: WordError) -> WordError:
    """The refusal of a length, with what a thread's name was probably meant for."""
    try:
        thread = read_thread(value)
    except WordError:
        remedy = ACCEPTED_DRILLS if error.remedy == ACCEPTED_LENGTHS else error.remedy
        if error.message.endswith("is not a length"):
            return WordError(f"{shown(value)} is not a drill size", remedy)
        return WordError(error.message, remedy)
    return WordError(
        f"{shown(value)} is a thread, not a drill size",
        f'its tapping drill is "{thread.tap_drill}"; or write tap = or clear = "{thread.name}"',
    )


def _listed(designation: str, value: str, remedy: str) -> Drill:
    drill = drill_named(designation)
    if drill is None:
        raise WordError(f"{shown(value)} is not a drill size", remedy)
    return drill


def _drill_of_length(
    value: object, units: Units, is_inch: bool, is_fraction: bool, as_written: object
) -> Drill:
    try:
        exact_mm = read_length(value, units)
    except WordError as error:
        raise _no_drill(as_written, error) from None
    if not SMALLEST_MM <= exact_mm <= LARGEST_MM:
        raise WordError(
            f"{shown(as_written)} is not a drill size",
            f"sizes run from {float(SMALLEST_MM):g} to {float(LARGEST_MM):g} mm",
        )
    diameter_mm, exact_in = float(exact_mm), exact_mm / MM_PER_INCH
    kinds: tuple[DrillSeries, ...] = ("fraction", "number", "letter") if is_inch else ("metric",)
    for series in kinds[:1] if is_fraction else kinds:
        for drill in drills(series):
            if abs(drill.diameter_mm - diameter_mm) < SAME_SIZE_MM:
                return drill
    if not is_inch:
        words = metric_words(exact_mm)
    elif is_fraction:
        words = fraction_words(exact_in)
    else:
        words = f"{float(exact_in):.5f}".rstrip("0").rstrip(".") + " in"
    return Drill(words, diameter_mm, diameter_mm / 25.4, kinds[0], _AS_GIVEN)


# --- threads --------------------------------------------------------------------------------------


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
        raise _no_thread(shown(value), text)
    return found[0].left_handed() if is_left_hand else found[0]


def hand_of(text: str) -> tuple[str, bool]:
    """The words without the hand, and whether it was the left."""
    hand = _HAND.search(text)
    if hand is None:
        return text, False
    return text[: hand.start()], hand[1] == "left" or hand[2] == "l"


def _no_thread(given: str, text: str) -> WordError:
    close = ", ".join(same_size(text)) or nearest(text, (each.designation for each in threads()))
    remedy = f"the tables have {close}" if close else ACCEPTED_THREADS
    return WordError(f"{given} is not a thread in the tables", remedy)


def same_size(text: str) -> list[str]:
    """The threads of the size and form that plain words begin with, else of the form alone."""
    form = re.search("|".join(sorted(_FORMS, key=len, reverse=True)), text)
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
    match = _INCH.fullmatch(text)
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
    return _sized(_ANY_FORM, sizes, pitch)


def _metric_meant(major: str, pitch: str | None, with_pitches: bool) -> tuple[Thread, ...]:
    listed = [
        thread
        for series in ("metric coarse", "metric fine")
        for thread in threads(series)
        if thread.major_mm == float(major)
    ]
    if with_pitches:
        return tuple(listed)
    if pitch is None:
        return tuple(thread for thread in listed if thread.series == "metric coarse")
    return tuple(thread for thread in listed if thread.pitch_mm == float(pitch))


def _sizes_meant(word: str) -> set[str]:
    """The size words of the tables that a written size can stand for: "10" is 10 or #10."""
    number = re.fullmatch(r"(?:#|no\.?)\s*(\d+)", word)
    if number:
        return {f"#{int(number[1])}"}
    if re.fullmatch(r"\d+", word):
        return {str(int(word)), f"#{int(word)}"}
    if "/" in word:
        top, bottom = word.split("/")
        return {str(Fraction(int(top), int(bottom)))} if int(bottom) else set()
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
    match = re.match(r"[GM]?(#?\d+(?:\.\d+)?(?:/\d+)?)", thread.designation)
    return match[1] if match else ""


# --- screws and their holes -----------------------------------------------------------------------


def _screw_threads(text: str) -> tuple[Thread, ...]:
    """The threads that a screw's size can mean; a size without a pitch is enough for a screw."""
    text, _ = hand_of(text)
    found = threads_meant(text)
    return found or threads_meant(text, with_pitches=True)


def names_head(text: str) -> str | None:
    """The words for a head that a plain text ends in, if it does."""
    return next((ending for ending in _HEAD_WORDS if text.endswith(" " + ending)), None)


def read_screw(value: object) -> Head:
    """The head of the screw that was written: "M4 socket head", "#8 countersunk". WordError."""
    text = plain(value, "a screw", ACCEPTED_SCREWS)
    ending = names_head(text)
    if ending is None:
        as_screws = [f"{value} {kind}" for kind in HEAD_KINDS] if _screw_threads(text) else []
        raise WordError(
            f"{shown(value)} does not name a head in the tables",
            f"write {either(as_screws)}" if as_screws else f"{ACCEPTED_SCREWS}; {_OTHER_HEADS}",
        )
    size, kind = text.removesuffix(" " + ending), _HEAD_WORDS[ending]
    found = _screw_threads(size)
    heads = [head for thread in found if (head := head_for(thread, kind)) is not None]
    if not heads:
        if not found:
            raise _no_thread(shown(value), size)
        raise WordError(f"no table has a {kind} on {shown(size)}", _OTHER_HEADS)
    if len({(head.head_diameter_mm, head.angle_deg) for head in heads}) > 1:
        names = [head.screw for head in heads]
        raise WordError(
            f"{shown(value)} can be read in more than one way", f"write {either(names)}"
        )
    if len(heads) > 1:  # one head for both pitches: keep the size as it was given
        return replace(heads[0], screw=f"{size_word(found[0])} {kind}")
    return heads[0]


def read_clear(value: object, units: Units, grade: str = "normal") -> tuple[str, float]:
    """The clearance hole for a screw: designation of the drill, diameter [mm].

    A length is refused whatever its `units`: it could be the screw's or the hole's. WordError.
    """
    known = next((each for each in GRADES if each == grade), None)
    if known is None:
        raise WordError(f"{shown(grade)} is not a grade of clearance", f"write {either(GRADES)}")
    holes = clearances_meant(value)
    if len(holes) > 1:
        names = [hole.thread.designation for hole in holes]
        raise WordError(
            f"{shown(value)} can be read in more than one way", f"write {either(names)}"
        )
    return holes[0].hole(known)


def clearances_meant(value: object) -> tuple[Clearance, ...]:
    """Every different set of clearance holes that a screw's name can mean; WordError if none."""
    if not isinstance(value, str) or re.fullmatch(r"\s*[\d.]+\s*mm\s*", value):
        raise WordError(
            f"{shown(value)} can be a screw's size or a hole's",
            'write clear = "M6" or "#10" for the screw, drill = for a plain hole',
        )
    text = plain(value, "a screw", ACCEPTED_THREADS)
    found = _screw_threads(text)
    if not found:
        raise _no_thread(shown(value), text)
    holes = [hole for thread in found if (hole := clearance_for(thread)) is not None]
    if not holes:
        raise WordError(
            f"no table has a clearance hole for {shown(value)}",
            "give the hole's own size with drill =",
        )
    by_size = {(hole.close_mm, hole.normal_mm, hole.loose_mm): hole for hole in reversed(holes)}
    return tuple(hole for hole in holes if hole in by_size.values())


# --- fits and materials ---------------------------------------------------------------------------


def read_fit(value: object, size_mm: float) -> tuple[float, float]:
    """Lower and upper deviation [um] of a hole of that size and ISO 286 class. Raises WordError."""
    accepted = "write one of " + ", ".join(HOLE_CLASSES)
    text = plain(value, "a fit", accepted)
    if isinstance(value, str) and value.strip() in SHAFT_CLASSES:
        raise WordError(
            f'{shown(value)} is the fit of a shaft; a hole\'s has a capital: "{text.upper()}"',
            accepted,
        )
    return hole_limits_um(size_mm, text.upper())


def read_material(value: object) -> Material:
    """The material that the words name. Raises WordError with the nearest names."""
    names = ", ".join(material.name for material in materials())
    text = plain(value, "a material", f"the table has {names}")
    found = material_named(text)
    if found is None:
        aliases = [alias for material in materials() for alias in material.aliases]
        close = nearest(text, aliases)
        remedy = f"nearest: {close}; the table has {names}" if close else f"the table has {names}"
        raise WordError(f"{shown(value)} is not a material in the table", remedy)
    return found
