"""What call-outs say a hole is and how deep it goes: drill, tap, ream, bore, clear; fits."""

from __future__ import annotations

import re
from collections.abc import Iterator

from millprep.base.findings import WordError
from millprep.base.records import frozen, replace
from millprep.infiles.call_out.marks import (
    DEEP,
    DIA,
    FIGURE,
    GONE,
    GONE_HERE,
    NUMBERED,
    THREAD,
    THREAD_OR_SIZE,
    thread_words,
)
from millprep.infiles.call_out.scanned import DEEP as HOW_DEEP
from millprep.infiles.call_out.scanned import GOOD, WHAT, Scanned, Span, refusal
from millprep.sizes import read_fit, read_thread

THROUGH = (
    r"(?:\b(?:right|all\s+the\s+way|all|clean|straight|to\s+go)\s+)?"
    r"\b(?:thro(?:ugh)?\b|thru\b)(?!'?\s+to\b)'?(?:\s+holes?\b)?"
)
_DRILL, _REAM, _BORE = r"\bdrill(?:ed)?\b", r"\bream(?:ed)?\b", r"\bbor(?:e|ed)\b"
_TAP = r"\b(?:tap(?:ped)?|thread(?:ed)?)\b"
_CLEAR = r"\bclear(?:ance|ing)?\b"
_HOLES = r"(?:\s*holes?\b)?(?:\s+for\b)?"
_GRADE = r"(?P<grade>close|normal|ordinary|loose|easy|free)"
GRADES = {
    "close": "close",
    **dict.fromkeys(("normal", "ordinary"), "normal"),
    **dict.fromkeys(("loose", "easy", "free"), "loose"),
}
PINS = {
    "press": "press",
    **dict.fromkeys(("sliding", "slide"), "slide"),
    **dict.fromkeys(("running", "pivot"), "pivot"),
}
_X_DEEP = (
    rf"(?:\s*,?\s*(?:(?:x|by|to|-)\s*)?(?P<deep>{FIGURE})\s*{DEEP}"
    rf"|\s*(?:x|by)\s*(?P<by>{FIGURE})(?!\s*(?:deg|°|x|{DIA})))?"
)
_NO_HOLE = r"(?:left|right|front|back|top|bottom|base|underside|centre|depth|size)\b"
_ACROSS = rf"[\s{GONE_HERE}]*"
_DEPTHS = ("deep", "by", "only")
_MOST_NUMBER = 80  # number drills run from 1 to 80


@frozen
class Step:
    """One word of making with its size, as it stands in the call-out; the size may be missing.

    deep : where its depth stands
    """

    span: Span
    word: str
    size: str
    depth: str = ""
    deep: Span | None = None
    grade: str = ""


def fits(scanned: Scanned) -> None:
    """Fits by their class or by their purpose. A size with a fit and no word is two readings."""
    for match in scanned.found(
        rf"(?:{DIA}\s*)?(?P<size>{FIGURE})\s*(?P<fit>(?:js|[d-hknp])\d{{1,2}})\b(?![/.])",
        r"(?<![\w#])(?P<fit>(?:js|[d-hknp])\d{1,2})\b(?![/.])(?:\s+fit\b)?",
        r"\b(?P<pin>press|sliding|slide|running|pivot)\s+fit\b"
        r"(?:\s+for\s+(?:an?\s+)?(?:dowel\s*)?(?:pins?\b|dowels?\b|shaft\b|spindle\b))?",
    ):
        groups = match.groupdict()
        if groups.get("pin"):
            said = f"{match['pin']} fit for a pin"
            scanned.take(match.span(), {"pin": PINS[match["pin"]]}, GOOD, said, GONE_HERE)
            continue
        fit = scanned.word(match, "fit")
        if "size" in groups and not re.search(rf"{_REAM}|{_BORE}|{_DRILL}", scanned.text):
            why = f'reamed or bored? write "ream {scanned.word(match, "size")} {fit}", or bore'
            scanned.refuse(match.span(), why)
            continue
        try:
            read_fit(fit, 10.0)
        except WordError as error:
            scanned.refuse(match.span("fit"), f"{error.message}: {error.remedy}")
            continue
        start = match.start("fit") if "size" in groups else match.start()
        scanned.take((start, match.end()), {"fit": fit}, GOOD, f"fit {fit}", GONE_HERE)


def making(scanned: Scanned) -> None:
    """The words of making, all of them, then what they are together."""
    for match in scanned.found(r"\bfrom\s+both\s+(?:ends|sides)\b"):
        said = "drilled from both ends"
        scanned.take(match.span(), {"from_both_ends": "true"}, WHAT, said, GONE_HERE)
    for match in scanned.found(
        rf"{_DRILL}\s*(?:&|and|then)\s*(?=(?:tap|ream|bore)(?:ed|ped|d)?\b)"
    ):
        if not re.search(rf"(?:{NUMBERED}|{FIGURE}|{DIA})\s*$", scanned.text[: match.start()]):
            scanned.strike(match.span())
    steps = sorted(_steps(scanned), key=lambda step: step.span)
    last = next((step for step in steps if step.word != "drill"), None)
    last = last or next((step for step in steps if step.size), None)
    for step in steps:
        if step is last or (last is None and not step.size):
            _take(scanned, step)
    for step in steps:
        if step is not last and last is not None:
            _take_before(scanned, step, last)


def _steps(scanned: Scanned) -> Iterator[Step]:
    yield from _threaded(scanned)
    for word, pattern in (("ream", _REAM), ("bore", _BORE), ("drill", _DRILL)):
        size = rf"(?:{NUMBERED}|{DIA}\s*{FIGURE}|{FIGURE}(?:\s*{DIA})?)"
        single = r"|(?P<letter>\b[a-z]\b)(?!['/.])" if word == "drill" else ""
        any_size = rf"(?:(?P<size>{size}){single})"
        only = rf"{pattern}\s*(?P<only>{FIGURE})\s*{DEEP}(?!\s*\d)"
        yield from _struck(
            scanned,
            word,
            rf"(?<!\d )(?<!{GONE_HERE} ){only}",
            rf"{pattern}{_HOLES}{_ACROSS}{any_size}(?!\s*{DEEP}(?!\s*\d)){_X_DEEP}",
            rf"{any_size}{_ACROSS}{pattern}{_HOLES}{_X_DEEP}",
        )
    if not _is_named(scanned):
        yield from _struck(
            scanned,
            "drill",
            rf"(?P<size>{NUMBERED}|{DIA}\s*{FIGURE}|{FIGURE}\s*{DIA}){_X_DEEP}",
            rf"^[\s{GONE}{GONE_HERE}]*(?P<size>{FIGURE}){_X_DEEP}"
            rf"(?=\s*(?:holes?\b|(?:down\s+to|into)\b|[,{GONE}{GONE_HERE}]|$))",
            once=True,
        )


def _is_named(scanned: Scanned) -> bool:
    """Whether a word of making was there, understood or not."""
    words = rf"{_DRILL}|{_REAM}|{_BORE}|{_TAP}|{_CLEAR}"
    at_all = re.sub(r"\bc\W?bore", " ", scanned.typed.lower())
    return re.search(words, at_all) is not None


def _struck(scanned: Scanned, word: str, *patterns: str, once: bool = False) -> Iterator[Step]:
    for match in scanned.found(*patterns):
        letter = scanned.word(match, "letter")
        size = re.sub(rf"(?i)^{DIA}\s*|\s*{DIA}$", "", scanned.word(match, "size"))
        if letter:
            size = f"letter {letter.upper()}"
        depth, grade = scanned.word(match, *_DEPTHS), ""
        if "grade" in match.groupdict():
            grade = GRADES[match["grade"]]
        scanned.strike(match.span())
        deep = next((match.span(group) for group in _DEPTHS if _has(match, group)), None)
        yield Step(match.span(), word, size, depth, deep, grade)
        if once:
            return


def _has(match: re.Match[str], group: str) -> bool:
    return group in match.re.groupindex and match[group] is not None


def _threaded(scanned: Scanned) -> Iterator[Step]:
    """Tapped and clearance holes; a thread alone is tapped where it has a depth."""
    size, drill = rf"(?P<size>{THREAD_OR_SIZE})", rf"(?:{_DRILL}\s+)?"
    for match in scanned.found(rf"(?:{_DRILL}\s*)?(?<!{GONE}){FIGURE}\s*{_CLEAR}(?!\s*{THREAD})"):
        scanned.refuse(match.span(), "the hole's own size, or a screw's? write drill, or clear")
    for step in _struck(
        scanned,
        "clear",
        rf"{drill}(?P<size>{THREAD})\s*{_CLEAR}(?:\s*holes?\b)?{_X_DEEP}",
        rf"{_GRADE}\s+{_CLEAR}{_HOLES}\s*{size}{_X_DEEP}",
        rf"{size}\s+{_GRADE}\s+{_CLEAR}{_HOLES}{_X_DEEP}",
        rf"{_CLEAR}{_HOLES}\s*{size}\s*,?\s*{_GRADE}\b(?:\s+fit\b)?{_X_DEEP}",
        rf"{drill}(?:to\s+)?{_CLEAR}{_HOLES}{_ACROSS}{size}(?:\s+(?:screw|bolt|stud)s?\b)?{_X_DEEP}",
    ):
        yield _as_thread(step)
    for step in _struck(
        scanned,
        "tap",
        rf"(?P<size>{THREAD})\s*(?:{_TAP}|,\s*tapped\b)(?:\s*holes?\b)?{_X_DEEP}",
        rf"{_TAP}{_HOLES}{_ACROSS}{size}(?!\s*{DEEP}){_X_DEEP}",
        rf"(?P<size>{THREAD})(?=\s*,?\s*(?:x|by|-)?\s*{FIGURE}\s*{DEEP}|\s*{DEEP}){_X_DEEP}",
        rf"(?!m)(?P<size>{THREAD})(?=\s*(?:x|by)\s*{FIGURE}){_X_DEEP}",
    ):
        yield _as_thread(step)
    for match in scanned.found(rf"{_TAP}{_HOLES}\s+(?P<size>[^\s,;{GONE}]+)"):
        scanned.refuse(match.span(), _not_read(scanned.word(match, "size")))
    for match in scanned.found(THREAD):
        words = scanned.word_of(match.span())
        if "x" in words.lower() and not refusal({"tap": words}, scanned.units):
            scanned.strike(match.span())
            yield Step(match.span(), "tap", thread_words(words))
        else:
            scanned.refuse(match.span(), f'write "tap {words}" or "clear {words}"')


def _as_thread(step: Step) -> Step:
    """With the thread's own words; a pitch that is none is a depth: "M4 x 10"."""
    size = thread_words(step.size)
    parts = re.fullmatch(r"(?i)(m\s?[\d.]+)\s*x\s*([\d.]+)", size)
    if parts and not step.depth and refusal({"tap": size}, "mm"):
        return replace(step, size=parts[1], depth=parts[2], deep=step.span)
    return replace(step, size=size)


def _not_read(words: str) -> str:
    try:
        read_thread(words)
    except WordError as error:
        return f"{error.message}: {error.remedy}"
    return "not understood"


def _take(scanned: Scanned, step: Step) -> None:
    """The step that the hole is named by."""
    values = {step.word: step.size} if step.size else {}
    is_whole = re.fullmatch(r"\d{1,2}", step.size) is not None
    is_inch = scanned.units == "inch"
    if step.word == "drill" and is_inch and is_whole and int(step.size) <= _MOST_NUMBER:
        why = f'write "No. {step.size}" for the number drill, "{step.size} in" for inches'
        scanned.refuse(step.span, why)
        return
    if not step.size and " " in step.depth:
        scanned.refuse(step.span, f"a depth of {step.depth}, or a size and a depth?")
        return
    if step.word == "clear" and is_whole:
        scanned.refuse(step.span, f'write the screw: "M{step.size}", "#{step.size}"')
        return
    if step.grade:
        values["clearance"] = step.grade
    said = f"{step.word} {_as_said(step.size)}"
    said += f", {step.grade}" if step.grade else ""
    if scanned.take(step.span, values, WHAT, said if step.size else "") and step.depth:
        span = step.deep or step.span
        scanned.take(span, {"depth": step.depth}, HOW_DEEP, f"{step.depth} deep")


def _take_before(scanned: Scanned, step: Step, last: Step) -> None:
    """A drill before the tap, reamer or boring head; any other second word is refused."""
    if step.word != "drill" or last.word == "clear":
        scanned.refuse(step.span, f"{last.word} {last.size} already: a hole is one of the two")
        return
    values = {"drills": step.size} if step.size else {}
    if step.depth:
        values["drill_depth"] = step.depth
    said = " ".join(["drill first", _as_said(step.size)]).strip()
    said += f", {step.depth} deep" if step.depth else ""
    scanned.take(step.span, values, WHAT, said)


def _as_said(size: str) -> str:
    number = re.fullmatch(r"(?i)(?:#|no\.?|number)\s*(\d+)", size)
    return f"No. {number[1]}" if number else size


def through(scanned: Scanned) -> None:
    for match in scanned.found(THROUGH):
        scanned.take(match.span(), {"depth": "through"}, HOW_DEEP, "right through", GONE_HERE)


def depths(scanned: Scanned) -> None:
    """Depths that stand by themselves."""
    for match in scanned.found(
        rf"(?:\b(?:x|by|to)\s*)?(?P<deep>{FIGURE})\s*{DEEP}",
        rf"(?:\bto\s+(?:an?\s+)?)?\b(?:depth|deep)\s*(?:of|=|:|to)?\s*(?P<deep>{FIGURE})",
    ):
        deep = scanned.word(match, "deep")
        scanned.take(match.span(), {"depth": deep}, HOW_DEEP, f"{deep} deep")
    for match in scanned.found(
        rf"\b(?:(?:down\s+)?into|down\s+to)\s+(?:the\s+)?(?:hole\s+)?"
        rf"(?P<into>[^,;:{GONE}{GONE_HERE}]+?)\s*(?=[,;:{GONE}]|$)"
    ):
        into = scanned.word(match, "into")
        if re.match(_NO_HOLE, into.lower()) or (into[0].isdigit() and "into" not in match[0]):
            continue
        scanned.take(match.span(), {"depth.into": into}, HOW_DEEP, f"down into {into}")
