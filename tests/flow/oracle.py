"""Programs that flow, run in another way than millprep runs them: made into Python, then run.

Only what the tests write is known: G0, G1, G90 and G91 with X, Y, Z, parameters, O words that nest
as Python does; in letter style GOTO, IF, WHILE, G65, M98 and M99 by a list of lines and a counter.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from itertools import chain

Place = tuple[float, float, float]
_WORDS = {"EQ": "==", "NE": "!=", "GT": ">", "GE": ">=", "LT": "<", "LE": "<=", "MOD": "%",
          "AND": " and ", "OR": " or "}  # fmt: skip
_FUNCTIONS: dict[str, Callable[..., float]] = {
    "SIN": lambda a: math.sin(math.radians(a)),
    "COS": lambda a: math.cos(math.radians(a)),
    "TAN": lambda a: math.tan(math.radians(a)),
    "SQRT": math.sqrt,
    "ABS": abs,
    "FIX": math.floor,
    "FUP": math.ceil,
    "ROUND": lambda a: math.floor(a + 0.5),
}
LETTERS = {"A": 1, "B": 2, "C": 3, "I": 4, "J": 5, "K": 6, "D": 7, "E": 8, "F": 9, "H": 11, "M": 13,
           "Q": 17, "R": 18, "S": 19, "T": 20, "U": 21, "V": 22, "W": 23, "X": 24, "Y": 25,
           "Z": 26}  # fmt: skip


def as_python(text: str) -> str:
    """An expression in Python's words."""
    text = re.sub(r"EXISTS\[#<(\w+)>\]", r"(float('\1' in v))", text)
    text = re.sub(r"#<(\w+)>", r"v['\1']", text)
    while "#" in text:
        text = re.sub(r"#(\d+|v\[[^\[\]#]*\])", r"v[\1]", text, count=1)
        text = re.sub(r"#\[([^\[\]#]*)\]", r"v[int(\1)]", text, count=1)
    text = re.sub(r"\[(?!')", "(", re.sub(r"v\[([^\]]*)\]", r"v{\1}", text))
    text = text.replace("]", ")").replace("{", "[").replace("}", "]")
    for word, sign in _WORDS.items():
        text = re.sub(rf"(?<=[\d)\].]){word}(?=[\d(v.A-Z-])", sign, text)
    return text


class Mill:
    """Where the tool has been."""

    def __init__(self) -> None:
        self.at = [0.0, 0.0, 0.0]
        self.is_incremental = False
        self.ends: list[Place] = []

    def words(self, text: str, v: dict[object, float]) -> None:
        """A line of plain words and settings, in letters and values."""
        settings: dict[object, float] = {}
        goes = False
        for letter, value in split_words(text):
            if letter.startswith("#"):
                settings[key_of(letter, v)] = worth(value, v)
            elif letter == "G":
                number = worth(value, v)
                self.is_incremental = {90: False, 91: True}.get(number, self.is_incremental)
            elif letter in "XYZ":
                goes = True
                axis = "XYZ".index(letter)
                self.at[axis] = worth(value, v) + (self.at[axis] if self.is_incremental else 0.0)
        if goes:
            self.ends.append((self.at[0], self.at[1], self.at[2]))
        v.update(settings)


def worth(text: str, v: dict[object, float]) -> float:
    return float(eval(as_python(text), dict(_FUNCTIONS), {"v": v}))


def key_of(letter: str, v: dict[object, float]) -> object:
    name = re.fullmatch(r"#<(\w+)>", letter)
    return name[1] if name else round(worth(letter[1:], v))


def split_words(text: str) -> list[tuple[str, str]]:
    """(letter or parameter, value) of each word of a line without blanks."""
    words: list[tuple[str, str]] = []
    position = 0
    while position < len(text):
        start = position
        if text[position] == "#":
            position = text.index("=", position)
            letter, position = text[start:position], position + 1
        else:
            letter, position = text[position], position + 1
        start = position
        position = _end_of_value(text, position)
        words.append((letter, text[start:position]))
    return words


def _end_of_value(text: str, position: int) -> int:
    """Behind a number, a parameter, brackets or a function; sums without brackets too."""
    while True:
        part = re.compile(r"[+-]?(?:[\d.]+|#+(?:[\d.]+|<\w+>)?|[A-Z]{2,}(?=\[))?").match(
            text, position
        )
        position = part.end() if part else position
        if text.startswith("[", position):
            depth = 0
            while True:
                depth += {"[": 1, "]": -1}.get(text[position], 0)
                position += 1
                if not depth:
                    break
        if not re.compile(r"[*/+-]").match(text, position):
            return position
        position += 1


def bare(line: str) -> str:
    return re.sub(r"\([^()]*\)|;.*|\s", "", line).upper()


# O words: each program becomes a Python function, each subprogram another


def run_o_words(program: str) -> list[Place]:
    """The end of every move."""
    lines = ["def main(v, call, words):", " pass"]
    bodies: list[list[str]] = []
    deep = 1
    out = lines
    for raw in program.splitlines():
        line = bare(raw)
        match = re.fullmatch(r"O(\d+|<\w+>)([A-Z]+)(.*)", line)
        if match is None:
            if line in ("M2", "M30"):
                out.append(" " * deep + "return")
            elif line and line != "%":
                out.append(" " * deep + f"words({line!r}, v)")
            continue
        label, word, rest = match.groups()
        if word == "SUB":
            out, deep = [f"def {name_of(label)}(v, call, words):", " pass"], 1
            bodies.append(out)
        elif word == "ENDSUB":
            out.append(f" return {values_of(rest)[0] if rest else None}")
            out, deep = lines, 1
        else:
            deep = _o_word(out, deep, label, word, values_of(rest))
    mill = Mill()
    scope: dict[str, object] = {}
    exec("\n".join([*chain.from_iterable(bodies), *lines]), {**_FUNCTIONS}, scope)
    v: dict[object, float] = {}

    def call(function: Callable[..., float | None], arguments: list[float]) -> None:
        kept = {key: value for key, value in v.items() if _is_local(key)}
        for key in kept:
            del v[key]
        v.update(enumerate(arguments, 1))
        value = function(v, call, mill.words)
        for key in [key for key in v if _is_local(key)]:
            del v[key]
        v.update(kept, _VALUE=value or 0.0, _VALUE_RETURNED=float(value is not None))

    scope_call = {name: value for name, value in scope.items() if name != "main"}
    main = scope["main"]
    assert callable(main)
    main.__globals__.update(scope_call)
    main(v, call, mill.words)
    return mill.ends


def _is_local(key: object) -> bool:
    return not key.startswith("_") if isinstance(key, str) else isinstance(key, int) and key <= 30


def name_of(label: str) -> str:
    return "sub_" + label.strip("<>").lstrip("0")


def values_of(rest: str) -> list[str]:
    found, depth, start = [], 0, 0
    for place, sign in enumerate(rest):
        depth += {"[": 1, "]": -1}.get(sign, 0)
        if not depth:
            found.append(as_python(rest[start : place + 1]))
            start = place + 1
    return found


def _o_word(out: list[str], deep: int, label: str, word: str, values: list[str]) -> int:
    """Adds Python for an O word; gives how far the next line stands in."""
    pad = " " * deep
    if word == "IF":
        out += [f"{pad}if {values[0]}:", f"{pad} pass"]
        return deep + 1
    if word in ("ELSEIF", "ELSE"):
        out.append(f"{pad[1:]}elif {values[0]}:" if values else f"{pad[1:]}else:")
        out.append(f"{pad}pass")
        return deep
    if word == "WHILE" and f"DO {label}" in "".join(out[-400:]) and _is_open_do(out, label):
        out += [f"{pad}if not {values[0]}: break", f"{pad}# DONE {label}"]
        return deep - 1
    if word == "WHILE":
        out.append(f"{pad}while {values[0]}:")
        return deep + 1
    if word == "DO":
        out.append(f"{pad}while True:  # DO {label}")
        return deep + 1
    if word == "REPEAT":
        out.append(f"{pad}for _ in range(int({values[0]})):")
        return deep + 1
    if word == "CALL":
        out.append(f"{pad}call({name_of(label)}, [{', '.join(values)}])")
    elif word == "RETURN":
        out.append(f"{pad}return {values[0] if values else None}")
    elif word in ("BREAK", "CONTINUE"):
        out.append(pad + word.lower())
    return deep - 1 if word.startswith("END") else deep


def _is_open_do(out: list[str], label: str) -> bool:
    marks = [line.strip() for line in out if f"DO {label}" in line or f"DONE {label}" in line]
    return bool(marks) and marks[-1].endswith(f"# DO {label}")


# letter style: a list of lines and a counter


def run_letters(program: str) -> list[Place]:
    """The end of every move."""
    lines = [bare(line) for line in program.splitlines()]
    labels = {line: nth for nth, line in enumerate(lines) if re.fullmatch(r"O\d+", line)}
    mill, v = Mill(), {}
    stack: list[tuple[int, dict[object, float] | None, int, int]] = []
    here = 0
    while True:
        line = lines[here]
        number = re.match(r"N\d+", line)
        line = line[number.end() :] if number else line
        following = here + 1
        if line in ("M2", "M30"):
            return mill.ends
        if match := re.fullmatch(r"IF(\[.*\])GOTO(.*)", line):
            if worth(match[1], v):
                following = _find(lines, here, int(worth(match[2], v)))
        elif match := re.fullmatch(r"IF(\[.*\])THEN(.*)", line):
            if worth(match[1], v):
                mill.words(match[2], v)
        elif match := re.fullmatch(r"GOTO(.*)", line):
            following = _find(lines, here, int(worth(match[1], v)))
        elif match := re.fullmatch(r"WH(?:ILE)?(\[.*\])DO(\d)", line):
            if not worth(match[1], v):
                following = _next(lines, here, f"END{match[2]}") + 1
        elif match := re.fullmatch(r"END(\d)", line):
            following = _back(lines, here, f"DO{match[1]}")
        elif match := re.fullmatch(r"G65P(\d+)(.*)", line):
            given = {LETTERS[letter]: worth(value, v) for letter, value in split_words(match[2])}
            kept = {key: v.pop(key) for key in [k for k in v if isinstance(k, int) and k <= 33]}
            v.update(given)
            following = labels[f"O{match[1]}"] + 1
            stack.append((here + 1, kept, 1, following))
        elif match := re.fullmatch(r"M98P(\d+)(?:L(\d+))?", line):
            following = labels[f"O{match[1]}"] + 1
            stack.append((here + 1, None, int(match[2] or 1), following))
        elif line == "M99":
            back, kept, times, start = stack.pop()
            following = back
            if times > 1:
                stack.append((back, kept, times - 1, start))
                following = start
            elif kept is not None:
                for key in [k for k in v if isinstance(k, int) and k <= 33]:
                    del v[key]
                v.update(kept)
        elif line and not line.startswith("O"):
            mill.words(line, v)
        here = following


def _find(lines: list[str], here: int, number: int) -> int:
    pattern = re.compile(rf"N0*{number}(?!\d)")
    order = [*range(here + 1, len(lines)), *range(here + 1)]
    return next(nth for nth in order if pattern.match(lines[nth]))


def _next(lines: list[str], here: int, word: str) -> int:
    return next(nth for nth in range(here + 1, len(lines)) if lines[nth].endswith(word))


def _back(lines: list[str], here: int, word: str) -> int:
    return next(nth for nth in range(here - 1, -1, -1) if lines[nth].endswith(word))
