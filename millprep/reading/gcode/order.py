"""From a line to the acts it asks for, in the order in which a control carries them out.

Here stand the rules about which words may share a line: one code of a group, axis words for one
owner, no word that nothing on the line uses (NISTIR 6556, sections 3.3.5, 3.3.6, 3.4). Nothing is
carried out here. Imports `codes`, `recognise` and `report`.
"""

from __future__ import annotations

import difflib
from typing import NamedTuple

from millprep.reading.gcode.codes import (
    AXES,
    G_CODES,
    G_MEANINGS,
    LETTERS,
    M_CODES,
    M_MEANINGS,
    ORDER,
    STRICT_REFUSES,
    Code,
)
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused

_RANK = {group: rank for rank, group in enumerate(ORDER)}
MOTION_RANK = _RANK["motion"]
_CHECKED_LETTERS = "XYZHIJKLPQR"
_CYCLES = frozenset(code for code in G_CODES if G_CODES[code].verb == "drill")
_WANTED_BY = {
    "H": "G43", "I": "G2 or G3", "J": "G2 or G3", "K": "G2 or G3", "L": "a cycle",
    "P": "G4 or G82", "Q": "G73 or G83", "R": "G2, G3 or a cycle",
}  # fmt: skip


class Step(NamedTuple):
    """One act: its rank in the order of execution, verb and value."""

    rank: int
    verb: str
    value: str | int


def g_word(tenths: int) -> str:
    """A G code as written: 281 -> G28.1."""
    return f"G{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")


def steps_of(line: Line, motion: int | None, *, is_strict: bool) -> list[Step]:
    """The acts of a line, first to last.

    motion : ten times the G number of the motion in force before the line
    """
    found = _codes_of(line, is_strict)
    codes = list(found.values())
    has_axes = line.has(AXES)
    in_force = _motion_of(line, motion, found, has_axes)
    _check_words(line, [*codes, in_force] if in_force else codes, motion)
    if in_force is not None:
        found["motion"] = in_force
    steps = [
        Step(_RANK[code.group], code.verb, code.value)
        for code in found.values()
        if code.group in _RANK
    ]
    if len(steps) > 1:
        steps.sort(key=lambda step: step.rank)
    return steps


def _codes_of(line: Line, is_strict: bool) -> dict[str, Code]:
    """Group -> code of everything on the line."""
    found: dict[str, Code] = {}
    names: dict[str, str] = {}
    for tenths in line.g:
        code = G_CODES.get(tenths)
        if code is None or (is_strict and tenths in STRICT_REFUSES):
            raise _unread_g(tenths, is_strict)
        _claim(found, names, code, g_word(tenths))
    for number in line.m:
        code = M_CODES.get(number)
        if code is None:
            raise _unread_m(number)
        _claim(found, names, code, f"M{number}")
    for letter, code in LETTERS.items():
        if letter in line.words:
            found[code.group] = code
    return found


def _claim(found: dict[str, Code], names: dict[str, str], code: Code, name: str) -> None:
    if code.group in found:
        raise Refused(
            "same-group",
            f"{names[code.group]} and {name} on one line: both set the {code.group}",
            "write them on lines of their own",
        )
    found[code.group] = code
    names[code.group] = name


def _unread_g(tenths: int, is_strict: bool) -> Refused:
    name = g_word(tenths)
    if is_strict and tenths in STRICT_REFUSES:
        return Refused("refused-word", f"{STRICT_REFUSES[tenths]}, is refused in strict mode")
    return _unread(name, G_MEANINGS.get(tenths), [g_word(code) for code in G_CODES])


def _unread_m(number: int) -> Refused:
    return _unread(f"M{number}", M_MEANINGS.get(number), [f"M{code}" for code in M_CODES])


def _unread(name: str, meaning: str | None, read: list[str]) -> Refused:
    what = f" ({meaning})" if meaning else ""
    nearest = difflib.get_close_matches(name, read, n=3, cutoff=0.5)
    remedy = (
        f"codes read that look like it: {', '.join(nearest)}" if nearest and not meaning else ""
    )
    return Refused(
        "refused-word",
        f"{name}{what} is not read; what follows it cannot be judged",
        remedy or "take it out, or write what it does in plain moves",
    )


def _motion_of(
    line: Line, motion: int | None, found: dict[str, Code], has_axes: bool
) -> Code | None:
    """The motion code that acts on the line's axis words, if one does."""
    explicit = found.get("motion")
    owner = next((code for code in found.values() if code.owns_axes), None)
    if owner is not None:
        if explicit is not None and explicit.uses and has_axes:
            raise Refused(
                "axis-words-twice",
                "two codes of the line want its axis words: G28 and a motion",
                "write them on lines of their own",
            )
        return None
    if not has_axes and "machine coordinates" in found:
        raise Refused("missing-word", "G53 without axis words", "give X, Y or Z")
    if not has_axes:
        return None
    in_force = explicit or (G_CODES.get(motion) if motion is not None else None)
    if "machine coordinates" in found:
        return Code("machine_move", "motion", in_force.value if in_force else -1, AXES)
    if in_force is None or not in_force.uses:
        why = "after G80" if in_force is not None else "before any G0, G1, G2, G3 or cycle"
        raise Refused(
            "no-motion", f"axis words {why}: no motion is in force", "write G0 or G1 on the line"
        )
    return in_force


def _check_words(line: Line, codes: list[Code], motion: int | None) -> None:
    used = "".join(code.uses for code in codes)
    for letter in line.words:
        if letter in _CHECKED_LETTERS and letter not in used:
            raise _unused(line, letter, motion)


def _unused(line: Line, letter: str, motion: int | None) -> Refused:
    word = line.words[letter]
    if motion in _CYCLES and letter in "RLK" and not line.g:
        return Refused(
            "unused-word",
            f"{word} on a line without X, Y or Z while a cycle is in force: some controls store "
            "it, others drill",
            "write it on the line of the next hole",
        )
    wanted = _WANTED_BY.get(letter)
    return Refused(
        "unused-word",
        f"no code on the line uses {word}",
        f"it belongs with {wanted}" if wanted else "take it out, or give the code that uses it",
    )
