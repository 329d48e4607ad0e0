"""What expressions are worked out with: operators, functions, and parameters that hold nothing.

A value is a number or, where it depends on parameters, a function that works it out anew each time.
None is a parameter set to nothing ("vacant"); UNSET is one that the program has not set, where
controls differ on whether that is 0 or nothing.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable

from millprep.reading.gcode.report import bad_expression, bad_parameter

Key = int | str
"""A parameter's number, or its name in capitals: 3, "DEPTH", "_DEPTH"."""
Number = float | None
Work = Callable[[], Number]
Value = float | Work

SAME = 1e-6  # numbers nearer than this are equal: the open reference of the language with O words


class Unset(float):
    """0, of a parameter that nobody has set."""


UNSET = Unset(0.0)


def key_words(key: Key) -> str:
    """A parameter as it is written."""
    return f"#{key}" if isinstance(key, int) else f"#<{key.lower()}>"


class Environment:
    """Where the values of parameters come from.

    values : of those that are set; None, set to nothing
    style  : "O words" or "letters", where the program's flow words say which of them it is in
    is_either : a program that does not say may be in letter style as well
    """

    def __init__(self, values: dict[Key, Number] | None = None, *, is_strict: bool = False) -> None:
        self.values: dict[Key, Number] = {} if values is None else values
        self.is_strict = is_strict
        self.style = ""
        self.is_either = False

    def missing(self, key: Key) -> Number:
        """The value of a parameter that is not among those set."""
        return 0.0

    def doubt(self, message: str, remedy: str, about: str) -> None:
        """Some control reads it otherwise."""


def differ(environment: Environment, message: str, remedy: str, about: str) -> None:
    """Letter style reads it otherwise: refused there, doubted where no flow word says the style."""
    if environment.style == "letters":
        raise bad_expression(message, remedy)
    if environment.is_either and not environment.style:
        environment.doubt(f"{message}: read as NISTIR 6556 has it", remedy, about)


def as_work(value: Value) -> Work:
    """Always a function."""
    return value if callable(value) else lambda: value


def round_half_away(value: float) -> float:
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
    "ROUND": round_half_away,
    "SIN": lambda a: math.sin(math.radians(a)),
    "SQRT": math.sqrt,
    "TAN": lambda a: math.tan(math.radians(a)),
}
"""Angles in degrees; FIX rounds down and FUP up, also below zero (NISTIR 6556, 3.3.2.4)."""

COMPARISONS = frozenset({"EQ", "NE", "GT", "GE", "LT", "LE"})
LOGIC = frozenset({"AND", "OR", "XOR"})
_OPERATIONS: dict[str, Callable[[float, float], float]] = {
    "**": _power,
    "*": operator.mul,
    "/": operator.truediv,
    "MOD": _modulo,
    "+": operator.add,
    "-": operator.sub,
    "OR": lambda a, b: float(bool(a) or bool(b)),
    "XOR": lambda a, b: float(bool(a) != bool(b)),
    "AND": lambda a, b: float(bool(a) and bool(b)),
}
RANKS = (("**",), ("*", "/", "MOD"), ("+", "-", "OR", "XOR", "AND"))
"""Operators by rank, the tightest first (NISTIR 6556, section 3.3.2.3)."""
RANKS_WITH_COMPARISONS = (("**",), ("*", "/", "MOD"), ("+", "-"), tuple(COMPARISONS), tuple(LOGIC))
"""The same in a bracket that compares, which NISTIR 6556 does not know: the open reference."""


def function_of(name: str, argument: Value, environment: Environment) -> Value:
    """A function of one argument."""
    function = FUNCTIONS[name]

    def work() -> float:
        value = given() or 0.0
        if name in _STEPS:
            _judge_rounding(name, value, environment)
        return finite(lambda: function(value), lambda: f"{name}[{value:g}]")

    given = as_work(argument)
    return work if callable(argument) else work()


_STEPS = {"FIX": 0.0, "FUP": 0.0, "ROUND": 0.5}
"""Where between two whole numbers the result leaps from one to the next."""


def _judge_rounding(name: str, value: float, environment: Environment) -> None:
    """In letter style FIX cuts off the fraction: below zero that is up."""
    _judge_leap(f"{name}[{value:.9g}]", value - _STEPS[name], environment)
    if name != "ROUND" and value < 0 and value != math.floor(value):
        differ(
            environment,
            f"{name}[{value:g}] of a value below 0: controls differ on which way it rounds",
            f"write [0 - {name}[..]] of the value without its sign",
            "FIX",
        )


def _judge_leap(what: str, value: float, environment: Environment) -> None:
    """Where rounding alone keeps a value from a whole number, and the result leaps there."""
    if 0 < abs(value - round(value)) < SAME and not environment.is_strict:
        message = (
            f"{what} hangs on how the control rounds: a hair more or less gives another figure"
        )
        remedy = "take a little more: FIX[#1 + 0.001]; or count in whole numbers"
        if environment.style == "letters":
            raise bad_expression(message, remedy)
        environment.doubt(message, remedy, "nearly whole")


def operation_of(sign: str, left: Value, right: Value, environment: Environment) -> Value:
    """Two values and the operator between them."""
    if sign in COMPARISONS:
        return _comparison(sign, as_work(left), as_work(right), environment)
    operation = _OPERATIONS[sign]
    first, second = as_work(left), as_work(right)

    def work() -> float:
        try:
            result = operation(first(), second())  # type: ignore[arg-type]  # None is caught below
            if -math.inf < result < math.inf:
                return result
        except (TypeError, ArithmeticError, ValueError):
            pass
        return again()

    def again() -> float:
        a, b = first() or 0.0, second() or 0.0
        return finite(lambda: operation(a, b), lambda: f"{a:g} {sign} {b:g}")

    if sign in LOGIC or sign == "MOD":
        plain = work

        def work() -> float:
            _judge_bits(sign, first() or 0.0, second() or 0.0, environment)
            return plain()

    return work if callable(left) or callable(right) else work()


def _judge_bits(sign: str, a: float, b: float, environment: Environment) -> None:
    """In letter style AND, OR and XOR count bit by bit, and MOD below zero differs."""
    is_truth = a in (0, 1) and b in (0, 1)
    if (sign == "MOD" and (a < 0 or b < 0)) or (sign != "MOD" and not is_truth):
        differ(
            environment,
            f"{a:g} {sign} {b:g}: controls differ on what it gives",
            "write it without MOD" if sign == "MOD" else "compare: [[#1 GT 0] AND [#2 GT 0]]",
            sign,
        )
    if sign == "MOD" and b:
        _judge_leap(f"{a:.9g} MOD {b:.9g}", a / b, environment)


_ORDERS: dict[str, Callable[[float, float], bool]] = {
    "GT": operator.gt,
    "GE": operator.ge,
    "LT": operator.lt,
    "LE": operator.le,
}


def _comparison(sign: str, first: Work, second: Work, environment: Environment) -> Work:
    order = _ORDERS.get(sign)
    if order is not None:

        def compare() -> float:
            a, b = first() or 0.0, second() or 0.0
            if -SAME < a - b < SAME and a != b:
                _doubt_near(sign, a, b, environment)
            return 1.0 if order(a, b) else 0.0

        return compare
    same, other = (1.0, 0.0) if sign == "EQ" else (0.0, 1.0)

    def equate() -> float:
        a, b = first(), second()
        if a is None or b is None or a.__class__ is Unset or b.__class__ is Unset:
            return same if _is_same_nothing(a, b, sign, environment) else other
        if a != b and -SAME < a - b < SAME and environment.style == "letters":
            _doubt_near(sign, a, b, environment)
        return same if -SAME < a - b < SAME else other

    return equate


def _doubt_near(sign: str, a: float, b: float, environment: Environment) -> None:
    """Numbers that rounding alone keeps apart: with other figures a control may find them equal."""
    message = f"{a:.9g} {sign} {b:.9g} hangs on how the control rounds: they differ by {a - b:.1g}"
    remedy = "compare with half a step more or less, or count in whole numbers"
    if environment.style == "letters":
        raise bad_expression(message, remedy)
    environment.doubt(message, remedy, "nearly equal")


def condition_of(value: Value, environment: Environment) -> Work:
    """A value that decides: anything but 0 holds; what rounding alone keeps from 0 is told."""
    work = as_work(value)

    def holds() -> Number:
        number = work()
        if number and -SAME < number < SAME:
            _doubt_near("NE", number, 0.0, environment)
        return number

    return holds


def _is_same_nothing(a: Number, b: Number, sign: str, environment: Environment) -> bool:
    """Whether two values are equal, one of which may be nothing (which is not 0)."""
    if not (a is None or b is None):
        is_zero = a == b == 0
        if is_zero and a.__class__ is not b.__class__ and environment.style == "letters":
            raise bad_parameter(
                f"a parameter that is not set, {sign} 0: 0 on some controls, nothing on others",
                "set it in the program first",
            )
        return -SAME < a - b < SAME
    return (a is None or a.__class__ is Unset) and (b is None or b.__class__ is Unset)


def finite(work: Callable[[], float], what: Callable[[], str]) -> float:
    """The result, if it is a number."""
    try:
        result = float(work())
    except (ArithmeticError, ValueError):
        result = math.nan
    if not math.isfinite(result):
        raise bad_expression(f"{what()} has no value", "look at the figures in it")
    return result
