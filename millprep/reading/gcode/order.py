"""From a line to the acts it asks for, in the order in which a control carries them out.

Here stand the rules about which words may share a line: one code of a group, axis words for one
owner, no word that nothing or more than one code on the line uses (NISTIR 6556, sections 3.3.5,
3.3.6, 3.4). What a line asks for follows from its letters and codes alone, never from the values of
its other words. Nothing is carried out here. Imports `codes`, `meanings`, `recognise`, `report`.
"""

from __future__ import annotations

import difflib
from typing import NamedTuple

from millprep.reading.gcode.codes import (
    AXES,
    G_CODES,
    LETTERS,
    M_CODES,
    ORDER,
    STRICT_REFUSES_G,
    STRICT_REFUSES_M,
    Code,
)
from millprep.reading.gcode.meanings import G_MEANINGS, G_REMEDIES, M_MEANINGS
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused

_RANK = {group: rank for rank, group in enumerate(ORDER)}
MOTION_RANK = _RANK["motion"]
_CHECKED_LETTERS = "XYZDHIJKLPQR"
_CYCLES = frozenset(code for code in G_CODES if G_CODES[code].verb == "drill")
_WANTED_BY = {
    "D": "G41 or G42", "H": "G43", "I": "G2 or G3", "J": "G2 or G3", "K": "G2 or G3",
    "L": "a cycle, G10 or M98", "P": "G4, G10, G82 or M98", "Q": "G73 or G83",
    "R": "G2, G3 or a cycle",
}  # fmt: skip


class Step(NamedTuple):
    """One act: its rank in the order of execution, verb and value, the code as written."""

    rank: int
    verb: str
    value: str | int
    name: str


class _Claimed(NamedTuple):
    code: Code
    name: str


def g_word(tenths: int) -> str:
    """A G code as written: 281 -> G28.1."""
    return f"G{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")


def steps_of(line: Line, motion: int | None, *, is_strict: bool) -> tuple[Step, ...]:
    """The acts of a line, first to last.

    motion : ten times the G number of the motion in force before the line
    """
    found = _codes_of(line, is_strict)
    in_force = _motion_of(line, motion, found)
    if in_force is not None:
        found["motion"] = in_force
    acting = [one for one in found.values() if one.code.verb != "machine_move"]
    if in_force is not None and in_force.code.verb == "machine_move":
        acting.append(in_force)
    _check_words(line, acting, motion)
    steps = [
        Step(_RANK[code.turn or code.group], code.verb, code.value, name) for code, name in acting
    ]
    return tuple(sorted(steps, key=lambda step: step.rank))


def _codes_of(line: Line, is_strict: bool) -> dict[str, _Claimed]:
    """Group -> code of everything on the line."""
    found: dict[str, _Claimed] = {}
    for tenths in line.g:
        code = G_CODES.get(tenths)
        name = g_word(tenths)
        if code is None:
            raise _unread_g(tenths)
        if is_strict and tenths in STRICT_REFUSES_G:
            raise _undefined(name)
        _claim(found, _Claimed(code, name))
    for number in line.m:
        code = M_CODES.get(number)
        if code is None:
            raise _unread(f"M{number}", M_MEANINGS.get(number), M_CODES_WRITTEN)
        if is_strict and number in STRICT_REFUSES_M:
            raise _undefined(f"M{number}")
        _claim(found, _Claimed(code, f"M{number}"))
    for letter, code in LETTERS.items():
        if letter in line.words:
            found[code.group] = _Claimed(code, letter)
    return found


def _claim(found: dict[str, _Claimed], claimed: _Claimed) -> None:
    group = claimed.code.group
    if group in found:
        raise Refused(
            "same-group",
            f"{found[group].name} and {claimed.name} on one line: both of the group {group}",
            "write them on lines of their own",
        )
    found[group] = claimed


G_CODES_WRITTEN = [g_word(code) for code in G_CODES]
M_CODES_WRITTEN = [f"M{code}" for code in M_CODES]


def _undefined(name: str) -> Refused:
    return Refused(
        "refused-word",
        f"{name}, which NISTIR 6556 does not define, is refused in strict mode",
        "take it out, or set strict = false in the shop file",
    )


def _unread_g(tenths: int) -> Refused:
    name, remedy = g_word(tenths), G_REMEDIES.get(tenths, "")
    return _unread(name, G_MEANINGS.get(tenths), G_CODES_WRITTEN, remedy)


def _unread(name: str, meaning: str | None, read: list[str], remedy: str = "") -> Refused:
    what = f" ({meaning})" if meaning else ""
    nearest = difflib.get_close_matches(name, read, n=3, cutoff=0.5)
    if nearest and not meaning:
        remedy = f"codes read that look like it: {', '.join(nearest)}"
    return Refused(
        "refused-word",
        f"{name}{what} is not read; what follows it cannot be judged",
        remedy or "take it out, or write what it does in plain moves",
    )


def _motion_of(line: Line, motion: int | None, found: dict[str, _Claimed]) -> _Claimed | None:
    """The motion code that acts on the line's axis words, if one does."""
    explicit = found.get("motion")
    once = found.get("non-modal")
    has_axes = line.has(AXES)
    if once is not None and once.code.owns_axes:
        if explicit is not None and explicit.code.uses and has_axes:
            raise Refused(
                "axis-words-twice",
                f"{once.name} and {explicit.name} on one line both want its axis words",
                "write them on lines of their own",
            )
        return None
    is_machine_move = once is not None and once.code.verb == "machine_move"
    if is_machine_move and not has_axes:
        raise Refused("missing-word", "G53 without axis words", "give X, Y or Z")
    if not has_axes:
        return None
    in_force = explicit
    if in_force is None and motion is not None:
        in_force = _Claimed(G_CODES[motion], g_word(motion))
    if is_machine_move:
        value = in_force.code.value if in_force else -1
        return _Claimed(Code("machine_move", "motion", value, AXES), "G53")
    if in_force is None or not in_force.code.uses:
        why = "after G80" if in_force is not None else "before any G0, G1, G2, G3 or cycle"
        raise Refused(
            "no-motion", f"axis words {why}: no motion is in force", "write G0 or G1 on the line"
        )
    return in_force


def _check_words(line: Line, acting: list[_Claimed], motion: int | None) -> None:
    for letter in line.words:
        if letter not in _CHECKED_LETTERS:
            continue
        users = [name for code, name in acting if letter in code.uses]
        if not users:
            raise _unused(line, letter, motion)
        if len(users) > 1 and letter not in AXES:
            raise Refused(
                "word-wanted-twice",
                f"{line.words[letter]} could belong to {' or '.join(users)}",
                "write them on lines of their own",
            )


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
