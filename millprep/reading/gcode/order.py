"""From a line to the acts it asks for, in the order in which a control carries them out.

Here stand the rules about which words may share a line: one code of a group, axis words for one
owner, no word that nothing or more than one code on the line uses (NISTIR 6556, sections 3.3.5,
3.3.6, 3.4). What a line asks for follows from its letters and codes alone, never from the values of
its other words. What is read by habit becomes an act that says so. Nothing is carried out here.
"""

from __future__ import annotations

import difflib
from typing import NamedTuple

from millprep.model.shop import Control
from millprep.reading.gcode.codes import (
    AXES,
    BY_HABIT,
    G_CODES,
    G_MEANINGS,
    LETTER_MEANINGS,
    LETTERS,
    M_CODES,
    M_MEANINGS,
    ORDER,
    ROTARY,
    STRICT_REFUSES_G,
    STRICT_REFUSES_M,
    Code,
)
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, missing_word, refused_word, unused_word

_RANK = {group: rank for rank, group in enumerate(ORDER)}
MOTION_RANK = _RANK["motion"]
_CHECKED_LETTERS = "XYZDHIJKLPQR" + ROTARY
_CYCLES = frozenset(code for code in G_CODES if G_CODES[code].verb == "drill")
_END_OF_CYCLE = 800
_BESIDE_CYCLES = frozenset({_END_OF_CYCLE, 980, 990})
_TURN_ONLY = frozenset({3, 4, 5, 7, 8, 9})
_Q_CHANGES_NOTHING = frozenset({"G64", "G81", "G82", "G85"})
_COMPENSATION = frozenset({410, 420})
_WANTED_BY = {
    "D": "G41 or G42",
    "H": "G43",
    **dict.fromkeys("IJK", "G2 or G3"),
    "L": "a cycle, G10 or M98",
    "P": "G4, G10, G82 or M98",
    "Q": "G73 or G83",
    "R": "G2, G3 or a cycle",
}


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


def steps_of(line: Line, motion: int | None, control: Control) -> tuple[Step, ...]:
    """The acts of a line, first to last.

    motion : ten times the G number of the motion in force before the line
    """
    found, steps = _codes_of(line, control)
    in_force = _motion_of(line, motion, found, control.strict)
    if in_force is not None:
        found["motion"] = in_force
    acting = [one for one in found.values() if one.code.verb != "machine_move"]
    if in_force is not None and in_force.code.verb == "machine_move":
        acting.append(in_force)
    steps += _check_words(line, acting, motion, control.strict)
    steps += [_step(code, code.value, name) for code, name in acting]
    return tuple(sorted(steps, key=lambda step: step.rank))


def _step(code: Code, value: str | int, name: str) -> Step:
    return Step(_RANK[code.turn or code.group], code.verb, value, name)


def _codes_of(line: Line, control: Control) -> tuple[dict[str, _Claimed], list[Step]]:
    """(group -> code of everything on the line, what is to be said of it)."""
    found: dict[str, _Claimed] = {}
    said: list[Step] = []
    for tenths in line.g:
        code = G_CODES.get(tenths)
        name = g_word(tenths)
        if code is None:
            raise _unread_g(tenths)
        if control.strict and tenths in STRICT_REFUSES_G:
            raise _not_strictly(tenths)
        said += _lacking(tenths, code, name, control)
        said += _claim(found, _Claimed(code, name), control.strict)
    for number in line.m:
        code, name = M_CODES.get(number), f"M{number}"
        if code is None and number in control.m_codes and not control.strict:
            said.append(_step(BY_HABIT["listed M"], number, name))
            continue
        if code is None:
            raise _unread_m(number, control)
        if control.strict and number in STRICT_REFUSES_M:
            raise _undefined(name)
        said += _lacking(-1, code, name, control)
        said += _claim(found, _Claimed(code, name), control.strict)
    for letter, code in LETTERS.items():
        if letter in line.words:
            found[code.group] = _Claimed(code, letter)
    return found, said


def _lacking(tenths: int, code: Code, name: str, control: Control) -> list[Step]:
    """What is to be said of a code that the shop file's list does not have.

    Cycles, M6 and G43 have keys of their own, which tell.
    """
    is_told = code.verb == "drill" or (tenths in _BESIDE_CYCLES and bool(control.cycles))
    is_told |= code.verb == "change_tool" and control.tool_change != "M6"
    is_told |= code.verb == "apply_length_offset" and not control.length_offset
    if control.codes is None or name in control.codes or is_told:
        return []
    return [_step(BY_HABIT["not listed"], name, name)]


def _claim(found: dict[str, _Claimed], claimed: _Claimed, is_strict: bool) -> list[Step]:
    """Enters a code under its group; gives what is to be said where two of a group are read."""
    group = claimed.code.group
    if group in found and not is_strict:
        both = {found[group].name: found[group], claimed.name: claimed}
        if both.keys() == {"G0", "G80"}:
            found[group] = both["G0"]
            return [_step(BY_HABIT["doubt"], "end with rapid", "G80")]
    if group in found:
        raise Refused(
            "same-group",
            f"{found[group].name} and {claimed.name} on one line: both of the group {group}",
            "write them on lines of their own",
        )
    found[group] = claimed
    return []


G_CODES_WRITTEN = [g_word(code) for code in G_CODES]
M_CODES_WRITTEN = [f"M{code}" for code in M_CODES]


def _undefined(name: str) -> Refused:
    return refused_word(
        f"{name}, which NISTIR 6556 does not define, is refused in strict mode",
        "take it out, or set strict = false in the shop file",
    )


def _not_strictly(tenths: int) -> Refused:
    if tenths not in _COMPENSATION:
        return _undefined(g_word(tenths))
    return refused_word(
        f"{g_word(tenths)} (cutter compensation) is not read in strict mode",
        "write the path of the tool's centre, or set strict = false in the shop file",
    )


def _unread_g(tenths: int) -> Refused:
    meaning, remedy = G_MEANINGS.get(tenths, ("", ""))
    return _unread(g_word(tenths), meaning, G_CODES_WRITTEN, remedy)


def _unread_m(number: int, control: Control) -> Refused:
    """With the line for the shop file, unless the code is known to do more than switch."""
    name, meaning = f"M{number}", M_MEANINGS.get(number, "")
    if meaning or control.strict:
        return _unread(name, meaning, M_CODES_WRITTEN)
    listed = control.m_codes | {number: "moves nothing"}
    line = ", ".join(f'M{code} = "{what}"' for code, what in listed.items())
    return refused_word(
        f"{name} is not read; what follows it cannot be judged",
        "take it out, or if it moves nothing and turns nothing (coolant, lights, air), write in "
        f"the shop file under [control]: m_codes = {{ {line} }}",
    )


def _unread(name: str, meaning: str, read: list[str], remedy: str = "") -> Refused:
    what = f" ({meaning})" if meaning else ""
    nearest = difflib.get_close_matches(name, read, n=3, cutoff=0.5)
    if nearest and not meaning:
        remedy = f"codes read that look like it: {', '.join(nearest)}"
    return refused_word(
        f"{name}{what} is not read; what follows it cannot be judged",
        remedy or "take it out, or write what it does in plain moves",
    )


def _motion_of(
    line: Line, motion: int | None, found: dict[str, _Claimed], is_strict: bool
) -> _Claimed | None:
    """The motion code that acts on the line's axis words, if one does."""
    explicit = found.get("motion")
    once = found.get("non-modal")
    has_axes = line.has(AXES)
    if once is not None and once.code.owns_axes:
        is_home = once.code.verb == "go_home" and 910 in line.g and not is_strict
        if explicit is not None and explicit.name == "G0" and is_home and has_axes:
            return _Claimed(BY_HABIT["rapid beside home"], "G0")
        if explicit is not None and explicit.code.uses and has_axes:
            raise Refused(
                "axis-words-twice",
                f"{once.name} and {explicit.name} on one line both want its axis words",
                "write them on lines of their own",
            )
        return None
    is_machine_move = once is not None and once.code.verb == "machine_move"
    if is_machine_move and not has_axes:
        raise missing_word("G53 without axis words", "give X, Y or Z")
    if not has_axes:
        return None
    in_force = explicit
    if in_force is None and motion is not None:
        in_force = _Claimed(G_CODES[motion], g_word(motion))
    if is_machine_move:
        value = in_force.code.value if in_force else -1
        return _Claimed(Code("machine_move", "motion", value, AXES), "G53")
    if motion == _END_OF_CYCLE and _may_rise(line) and not is_strict:
        return _Claimed(BY_HABIT["rise after cycle"], "Z")
    if in_force is None or not in_force.code.uses:
        why = "after G80" if in_force is not None else "before any G0, G1, G2, G3 or cycle"
        raise Refused(
            "no-motion", f"axis words {why}: no motion is in force", "write G0 or G1 on the line"
        )
    return in_force


def _may_rise(line: Line) -> bool:
    """Whether Z and perhaps F stand on the line, and no code but of spindle and coolant."""
    is_bare = not line.g and _TURN_ONLY.issuperset(line.m)
    return is_bare and "Z" in line.words and line.words.keys() <= {"Z", "F"}


def _check_words(
    line: Line, acting: list[_Claimed], motion: int | None, is_strict: bool
) -> list[Step]:
    """What is to be said of words that no code uses; refused where they could mean something."""
    said: dict[str, Step] = {}
    for letter in line.words:
        if letter not in _CHECKED_LETTERS:
            continue
        users = [name for code, name in acting if letter in code.uses]
        if not users:
            habit = "" if is_strict else _passed_over(line, letter, acting, motion)
            if not habit:
                raise _unused(line, letter, motion)
            code = BY_HABIT["offset not in use" if habit == "D" else "doubt"]
            said[habit] = _step(code, habit, letter)
        if len(users) > 1 and letter not in AXES:
            raise Refused(
                "word-wanted-twice",
                f"{line.words[letter]} could belong to {' or '.join(users)}",
                "write them on lines of their own",
            )
    return list(said.values())


def _passed_over(line: Line, letter: str, acting: list[_Claimed], motion: int | None) -> str:
    """The habit by which a word that nothing uses is passed over; empty where there is none."""
    verbs = {code.verb for code, _ in acting}
    once = any(code.group == "non-modal" for code, _ in acting) or "machine_move" in verbs
    if letter in ROTARY:
        is_moving = motion not in _CYCLES or line.has(AXES)  # alone, some controls would drill
        return "rotary" if is_moving and not once and "call_subprogram" not in verbs else ""
    if letter == "Q" and any(name in _Q_CHANGES_NOTHING for _, name in acting):
        return "Q"
    if letter == "D" and not once and not verbs & {"drill", "call_subprogram"}:
        return "D"
    return ""


def _unused(line: Line, letter: str, motion: int | None) -> Refused:
    word = line.words[letter]
    if letter in ROTARY:
        return refused_word(
            f"{word} is not read ({LETTER_MEANINGS[letter]})",
            "take it out: the dry run knows no rotary axis",
        )
    if motion in _CYCLES and letter in "RLK" and not line.g:
        return unused_word(
            f"{word} on a line without X, Y or Z while a cycle is in force: some controls store "
            "it, others drill",
            "write it on the line of the next hole",
        )
    wanted = _WANTED_BY.get(letter)
    return unused_word(
        f"no code on the line uses {word}",
        f"it belongs with {wanted}" if wanted else "take it out, or give the code that uses it",
    )
