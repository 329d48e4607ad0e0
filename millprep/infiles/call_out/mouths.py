"""What call-outs say is cut round a hole's mouth: c'bore, csk, s'face, opened out."""

from __future__ import annotations

import re

from millprep.infiles.call_out.marks import (
    AND,
    ANGLE,
    DEEP,
    DIA,
    FIGURE,
    SUITS,
    THREAD,
    THREAD_OR_SIZE,
    thread_words,
)
from millprep.infiles.call_out.scanned import MOUTH, Scanned
from millprep.sizes import HEAD_NAMES

_CBORE = r"\b(?:c\s?['/.]?\s?bor(?:e|ed|ing)\b|counter[\s-]?bor(?:e|ed|ing)\b)\.?"
_CSK = r"\b(?:c\s?['/.]?\s?s['.]?k\b|counter[\s-]?s[iu]nk\b)\.?"
_SFACE = r"\b(?:s\s?['/.]\s?face[d]?\b|spot[\s-]?face[d]?\b)\.?"
_OPENED = r"\bopen(?:ed)?\s+out\b(?:\s+to\b)?"
_HEAD = rf"(?:{'|'.join(sorted(HEAD_NAMES, key=len, reverse=True))}|socket cap(?: screw)?)"
_SIDE = (
    r"(?:\s*,?\s*(?:(?:on|from|at|in)\s+)?(?:the\s+)?"
    r"(?:(?P<far>(?:far|other|opposite|reverse)\s+(?:side|end|face)|underside|below|underneath)"
    r"|(?P<both>both\s+(?:sides|ends|faces)))\b)?"
)
_SIZE = rf"(?:{DIA}\s*)?(?=(?P<size>{FIGURE}))(?P=size)(?P<dia>\s*{DIA})?"
_DEEP = rf"(?=(?P<deep>{FIGURE}))(?P=deep)"  # whole: 1 1/4 is never a 1 and a 1/4
_PLAIN_ANGLE = rf"(?P<angle>{ANGLE}|(?:60|82|90|100|120)\b(?![./]))(?:\s*incl\w*\.?)?"


def recesses(scanned: Scanned) -> None:
    """Counterbores and spotfaces."""
    for word, key, name in (
        (_CBORE, "counterbore", "counterbore"),
        (_SFACE, "spotface", "spotface"),
    ):
        for match in scanned.found(
            rf"{word}\s*(?:hole\s*)?(?:{SUITS})\s+(?:an?\s+)?(?P<screw>{THREAD_OR_SIZE})"
            rf"(?:\s+(?P<head>{_HEAD})\b)?(?:\s+screws?\b)?{_SIDE}"
        ):
            screw = thread_words(scanned.word(match, "screw"))
            head = scanned.word(match, "head").lower().replace("socket cap", "cap")
            _cut(scanned, match, {key: f"{screw} {head}".strip()}, name)
        for match in scanned.found(
            rf"{word}\s*(?:to\s+)?{_DEEP}\s*{DEEP}{AND}{_SIZE}{_SIDE}",
            rf"{word}\s*(?:to\s+)?{_SIZE}{AND}{_DEEP}\s*{DEEP}{_SIDE}",
            rf"{word}\s*(?:to\s+)?{_SIZE}\s*(?:x|by)\s*{_DEEP}(?!\s*(?:deg|°)){_SIDE}",
            rf"{_SIZE}\s*{word}{AND}?{_DEEP}\s*{DEEP}{_SIDE}",
            rf"{_SIZE}\s*{word}\s*(?:x|by)\s*{_DEEP}{_SIDE}",
            rf"{_SIZE}\s*(?:x|by)?\s*{_DEEP}\s*{DEEP}\s*{word}{_SIDE}",
            rf"{_SIZE}\s*(?:x|by)\s*{_DEEP}\s*{word}{_SIDE}",
        ):
            figures = {f"{key}.diameter": "size", f"{key}.depth": "deep"}
            _cut(scanned, match, {k: scanned.word(match, g) for k, g in figures.items()}, name)
        for match in scanned.found(
            rf"{word}\s*(?:to\s+)?{_SIZE}{_SIDE}", rf"{_SIZE}\s*{word}", word
        ):
            if key == "spotface" and "size" in match.groupdict():
                _cut(scanned, match, {f"{key}.diameter": scanned.word(match, "size")}, name)
            else:
                lacks = "deep" if "size" in match.groupdict() else "wide and how deep"
                scanned.refuse(match.span(), f"how {lacks} is the {name}?")


def countersinks(scanned: Scanned) -> None:
    for match in scanned.found(
        rf"{_CSK}\s*(?:hole\s*)?(?:{SUITS})\s+(?:an?\s+)?(?P<screw>{THREAD})"
        rf"(?:\s+(?P<head>{_HEAD})\b)?(?:\s+(?:heads?\b|screws?\b|{_CSK}))*{_SIDE}"
    ):
        screw = thread_words(scanned.word(match, "screw"))
        head = scanned.word(match, "head").lower() or "countersunk"
        _cut(scanned, match, {"countersink": f"{screw} {head}"}, "countersink")
    for match in scanned.found(
        rf"{_CSK}\s*(?P<angle>{ANGLE}){AND}{_SIZE}{_SIDE}",
        rf"{_CSK}\s*(?:to\s+)?{_SIZE}{AND}(?:at\s+)?{_PLAIN_ANGLE}{_SIDE}",
        rf"(?P<angle>{ANGLE})\s*{_CSK}\s*(?:to\s+)?{_SIZE}{_SIDE}",
        rf"{_CSK}\s*(?:to\s+)?{_SIZE}(?!\s*(?:{DEEP}|deg|°)){_SIDE}",
        rf"{_SIZE}\s*{_CSK}(?:{AND}{_PLAIN_ANGLE})?{_SIDE}",
    ):
        values = {"countersink.diameter": scanned.word(match, "size")}
        if angle := scanned.word(match, "angle"):
            values["countersink.angle"] = degrees(angle)
        _cut(scanned, match, values, "countersink")
    for match in scanned.found(rf"{_CSK}(?:\s*{_PLAIN_ANGLE})?"):
        scanned.refuse(match.span(), "how wide is the countersink at the top?")


def opened_out(scanned: Scanned) -> None:
    for match in scanned.found(
        rf"{_OPENED}\s*clear(?:ance)?\s*(?:for\s+)?(?P<clear>{THREAD}){AND}{_DEEP}(?:\s*{DEEP})?",
        rf"{_OPENED}\s*{_SIZE}{AND}{_DEEP}(?:\s*{DEEP})?",
    ):
        key = "clear" if "clear" in match.groupdict() else "diameter"
        values = {
            f"opened.{key}": thread_words(scanned.word(match, "clear", "size")),
            "opened.depth": scanned.word(match, "deep"),
        }
        size = ("clear " if key == "clear" else "") + values[f"opened.{key}"]
        said = f"opened out {size}, {values['opened.depth']} deep"
        scanned.take(match.span(), values, MOUTH, said)


def degrees(angle: str) -> str:
    """The figure of an angle: "45 deg" as "45"; minutes stay as they are."""
    return angle if "'" in angle else re.sub(r"\s*(?:deg\w*\.?|°)$", "", angle, flags=re.I)


def _cut(scanned: Scanned, match: re.Match[str], values: dict[str, str], name: str) -> None:
    """Takes a mouth for this end, the far one or both."""
    groups = match.groupdict()
    far, both = groups.get("far"), groups.get("both")
    is_below = far in ("underside", "below", "underneath")
    if is_below and scanned.face != "top":
        scanned.refuse(match.span(), "write far side, or nothing: the hole is not from the top")
        return
    there = {f"far.{key}": words for key, words in values.items()}
    taken = there if far else {**values, **there} if both else values
    where = " on the far side" if far else " on both sides" if both else ""
    scanned.take(match.span(), taken, MOUTH, f"{name} {_said(values, name)}{where}")


def _said(values: dict[str, str], name: str) -> str:
    if name in values:
        return f"for {values[name]}"
    said = f"{values[f'{name}.diameter']} dia"
    if f"{name}.depth" in values:
        return f"{said} {values[f'{name}.depth']} deep"
    if name == "countersink":
        angle = values.get("countersink.angle")
        return f"{said}, {angle or 90} deg" + ("" if angle else " (no angle given)")
    return f"{said}, to clean up"
