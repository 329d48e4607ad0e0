"""The value behind a letter: a number, a parameter, an expression or a function.

    real value = number | # index | [ expression ] | FUNCTION [ expression ]

Only numbers carry a sign of their own. Operators of one rank are worked from left to right, `**`
too (NISTIR 6556, section 3.3.2 and appendix E). The text has no blanks and is in capitals. Imports
`meanings` and `report`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import partial

from millprep.base.units import shown
from millprep.reading.gcode.report import Refused

LAST_PARAMETER = 5399  # NISTIR 6556, section 3.2.1
WHOLE_TOLERANCE = 0.0001  # NISTIR 6556, section 3.3.2.1
_DEEPEST = 40

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_OPERATOR = re.compile(r"\*\*|[*/+-]|MOD|OR|XOR|AND")
_FUNCTION = re.compile(r"([A-Z]{2,})\[")
_STARTS = re.compile(r"[+-]?(?:[#\[]|[A-Z]{2,}\[)")


def starts_value(text: str, position: int) -> bool:
    """Whether a value other than a plain number stands at the place."""
    return _STARTS.match(text, position) is not None


def _round(value: float) -> float:
    """Half away from zero, as from memory of the interpreter that goes with NISTIR 6556."""
    return math.copysign(math.floor(abs(value) + 0.5), value)


def _modulo(a: float, b: float) -> float:
    """Never negative, as from memory of the interpreter that goes with NISTIR 6556."""
    rest = math.fmod(a, b)
    return rest + abs(b) if rest < 0 else rest


def _power(a: float, b: float) -> float:
    result = a**b
    if isinstance(result, complex):
        raise ValueError("a negative base with a broken exponent")
    return float(result)


FUNCTIONS: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": lambda a: math.degrees(math.acos(a)),
    "ASIN": lambda a: math.degrees(math.asin(a)),
    "COS": lambda a: math.cos(math.radians(a)),
    "EXP": math.exp,
    "FIX": math.floor,
    "FUP": math.ceil,
    "LN": math.log,
    "ROUND": _round,
    "SIN": lambda a: math.sin(math.radians(a)),
    "SQRT": math.sqrt,
    "TAN": lambda a: math.tan(math.radians(a)),
}
"""Angles in degrees; FIX rounds down and FUP up, also below zero (NISTIR 6556, 3.3.2.4)."""

_OPERATIONS: tuple[dict[str, Callable[[float, float], float]], ...] = (
    {"**": _power},
    {"*": lambda a, b: a * b, "/": lambda a, b: a / b, "MOD": _modulo},
    {
        "+": lambda a, b: a + b,
        "-": lambda a, b: a - b,
        "OR": lambda a, b: float(bool(a) or bool(b)),
        "XOR": lambda a, b: float(bool(a) != bool(b)),
        "AND": lambda a, b: float(bool(a) and bool(b)),
    },
)
"""Operators by rank, the tightest first (NISTIR 6556, section 3.3.2.3)."""


def is_function(text: str, position: int) -> bool:
    """Whether the name of a function and its [ stand at the place."""
    match = _FUNCTION.match(text, position)
    return match is not None and (match[1] in FUNCTIONS or match[1] == "ATAN")


class Values:
    """Reads the values of one line.

    look_up    : the value of a parameter as it was before the line
    indices    : parameters that have been read
    has_signed : a sign stood before something other than a number
    """

    def __init__(
        self, text: str, look_up: Callable[[int], float], *, is_strict: bool = False
    ) -> None:
        self.text = text
        self.look_up = look_up
        self.is_strict = is_strict
        self.indices: list[int] = []
        self.has_signed = False

    def value(self, position: int, depth: int = 0) -> tuple[float, int]:
        """The value at the place, and the place after it."""
        if depth > _DEEPEST:
            raise Refused(
                "bad-expression", f"brackets or # nested more than {_DEEPEST} deep", "write it flat"
            )
        text = self.text
        number = _NUMBER.match(text, position)
        if number is not None:
            return float(number[0]), number.end()
        here = text[position : position + 1]
        if here and here in "+-":
            return self._signed(position, depth)
        if here == "#":
            index, end = self.index(position, depth)
            self.indices.append(index)
            return self.look_up(index), end
        if here == "[":
            return self._expression(position + 1, depth + 1)
        function = _FUNCTION.match(text, position)
        if function is not None:
            return self._function(function[1], function.end(), depth + 1)
        raise Refused(
            "bad-expression",
            f"a value is missing before {shown(text[position:])}"
            if here
            else "a value is missing at the end of the line",
            "a number, #1, [1 + 2] or a function such as SIN[30]",
        )

    def index(self, position: int, depth: int = 0) -> tuple[int, int]:
        """The parameter number behind the # at the place; # binds tighter than any operator."""
        if self.text.startswith("<", position + 1):
            raise Refused(
                "refused-word", "named parameters are not read", "use a number: #1 to #5399"
            )
        value, end = self.value(position + 1, depth + 1)
        index = round(value)
        if abs(value - index) > WHOLE_TOLERANCE or not 1 <= index <= LAST_PARAMETER:
            raise Refused(
                "bad-parameter",
                f"#{value:g} is no parameter",
                f"parameters are whole numbers from 1 to {LAST_PARAMETER}",
            )
        return index, end

    def _signed(self, position: int, depth: int) -> tuple[float, int]:
        sign = self.text[position]
        if self.is_strict or not starts_value(self.text, position):
            raise Refused(
                "bad-expression",
                f"the sign in {shown(self.text[position:])} has no number after it",
                "write the minus inside: [0 - #1]",
            )
        self.has_signed = True
        value, end = self.value(position + 1, depth + 1)
        if self.text.startswith("**", end):
            raise Refused(
                "bad-expression",
                f"{shown(self.text[position:])} can be read two ways",
                "put the power or the signed value in brackets",
            )
        return (-value if sign == "-" else value), end

    def _expression(self, position: int, depth: int) -> tuple[float, int]:
        """What stands between the [ before the place and its ]."""
        value, position = self.value(position, depth)
        values, operators = [value], []
        while not self.text.startswith("]", position):
            match = _OPERATOR.match(self.text, position)
            if match is None:
                rest = self.text[position:]
                raise Refused(
                    "bad-expression",
                    f"{shown(rest)} is no operator" if rest else "a [ without its ]",
                    "operators: + - * / ** MOD AND OR XOR, then ]",
                )
            operators.append(match[0])
            value, position = self.value(match.end(), depth)
            values.append(value)
        return self._worked_out(values, operators), position + 1

    def _worked_out(self, values: list[float], operators: list[str]) -> float:
        for rank in _OPERATIONS:
            kept_values, kept_operators = values[:1], []
            for operator, right in zip(operators, values[1:], strict=True):
                operation = rank.get(operator)
                if operation is None:
                    kept_values.append(right)
                    kept_operators.append(operator)
                else:
                    left = kept_values[-1]
                    what = f"{left:g} {operator} {right:g}"
                    kept_values[-1] = _finite(partial(operation, left, right), what)
            values, operators = kept_values, kept_operators
        return values[0]

    def _function(self, name: str, position: int, depth: int) -> tuple[float, int]:
        argument, end = self._expression(position, depth)
        if name == "ATAN":
            if not self.text.startswith("/[", end):
                raise Refused("bad-expression", "ATAN without its second part", "write ATAN[y]/[x]")
            other, end = self._expression(end + 2, depth)
            return math.degrees(math.atan2(argument, other)), end
        function = FUNCTIONS.get(name)
        if function is None:
            raise Refused(
                "bad-expression",
                f"{name} is no function",
                "functions: " + " ".join(sorted({*FUNCTIONS, "ATAN"})),
            )
        return _finite(partial(function, argument), f"{name}[{argument:g}]"), end


def _finite(work: Callable[[], float], what: str) -> float:
    """The result, if it is a number."""
    try:
        result = float(work())
    except (ArithmeticError, ValueError):
        result = math.nan
    if not math.isfinite(result):
        raise Refused("bad-expression", f"{what} has no value", "look at the figures in it")
    return result
