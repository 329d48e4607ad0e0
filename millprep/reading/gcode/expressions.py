"""The value behind a letter: a number, a parameter, an expression or a function.

    real value = number | # index | # < name > | [ expression ] | FUNCTION [ expression ]

Only numbers carry a sign of their own. Operators of one rank are worked from left to right, `**`
too (NISTIR 6556, section 3.3.2 and appendix E). Names, comparisons and EXISTS are the open
reference's, sums without brackets the letter style's. The text has no blanks and is in capitals; it
is gone through once, and what hangs on parameters becomes a function.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from millprep.base.units import shown
from millprep.reading.gcode.arithmetic import (
    COMPARISONS,
    FUNCTIONS,
    LOGIC,
    RANKS,
    RANKS_WITH_COMPARISONS,
    Environment,
    Key,
    Number,
    Unset,
    Value,
    Work,
    as_work,
    function_of,
    operation_of,
)
from millprep.reading.gcode.report import bad_expression, bad_parameter, refused_word

LAST_PARAMETER = 5399  # NISTIR 6556, section 3.2.1
WHOLE_TOLERANCE = 0.0001  # NISTIR 6556, section 3.3.2.1
_DEEPEST = 40

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_OPERATOR = re.compile(r"\*\*|[*/+-]|MOD|OR|XOR|AND|EQ|NE|GT|GE|LT|LE")
_SUM_OPERATOR = re.compile(r"[*/+-](?!\*)|MOD(?=[#\[\d.])")
_FUNCTION = re.compile(r"([A-Z]{2,})\[")
_STARTS = re.compile(r"[+-]?(?:[#\[]|[A-Z]{2,}\[)")
_NAME = re.compile(r"<([^<>\[\]#]+)>")
_NAMED = {*FUNCTIONS, "ATAN", "EXISTS"}


def starts_value(text: str, position: int) -> bool:
    """Whether a value other than a plain number stands at the place."""
    return _STARTS.match(text, position) is not None


def is_function(text: str, position: int) -> bool:
    """Whether the name of a function and its [ stand at the place."""
    match = _FUNCTION.match(text, position)
    return match is not None and match[1] in _NAMED


class Values:
    """Reads the values of one line.

    has_signed : a sign stood before something other than a number
    keys       : the parameters that it has read, those with a computed number left out
    has_computed : it has read one with a computed number, which may be any
    """

    def __init__(self, text: str, environment: Environment) -> None:
        self.text = text
        self.environment = environment
        self.has_signed = False
        self.keys: set[Key] = set()
        self.has_computed = False

    def value(self, position: int, depth: int = 0) -> tuple[Value, int]:
        """The value at the place, and the place after it."""
        if depth > _DEEPEST:
            raise bad_expression(f"brackets or # nested more than {_DEEPEST} deep", "write it flat")
        text = self.text
        number = _NUMBER.match(text, position)
        if number is not None:
            return float(number[0]), number.end()
        here = text[position : position + 1]
        if here and here in "+-":
            return self._signed(position, depth)
        if here == "#":
            key, end = self.key(position, depth)
            if callable(key):
                self.has_computed = True
            else:
                self.keys.add(key)
            return _reading(self.environment, key), end
        if here == "[":
            return self._expression(position + 1, depth + 1)
        function = _FUNCTION.match(text, position)
        if function is not None:
            return self._function(function[1], function.end(), depth + 1)
        raise bad_expression(
            f"a value is missing before {shown(text[position:])}"
            if here
            else "a value is missing at the end of the line",
            "a number, #1, [1 + 2] or a function such as SIN[30]",
        )

    def sum(self, position: int) -> tuple[Value, int]:
        """A value that may go on with + - * / without brackets, as letter style has it."""
        value, position = self.value(position)
        if self.environment.is_strict or self.environment.style == "O words":
            return value, position
        return self._chain(value, position, _SUM_OPERATOR, 0)

    def key(self, position: int, depth: int = 0) -> tuple[Key | Work, int]:
        """The parameter behind the # at the place; # binds tighter than any operator."""
        name = _NAME.match(self.text, position + 1)
        if name is not None or self.text.startswith("<", position + 1):
            if self.environment.is_strict:
                raise refused_word("named parameters are not read", "use a number: #1 to #5399")
            if name is None:
                raise bad_parameter("a name without its >", "write #<name>")
            return name[1], name.end()
        value, end = self.value(position + 1, depth + 1)
        if callable(value):
            work = value
            return (lambda: self._index(work())), end
        return self._index(value), end

    def _index(self, value: Number) -> int:
        index = round(value or 0.0)
        first = 0 if self.environment.style == "letters" else 1
        is_whole = value is not None and abs(value - index) <= WHOLE_TOLERANCE
        if not is_whole or not first <= index <= LAST_PARAMETER:
            raise bad_parameter(
                "a # whose number is nothing" if value is None else f"#{value:g} is no parameter",
                f"parameters are whole numbers from 1 to {LAST_PARAMETER}",
            )
        return index

    def _signed(self, position: int, depth: int) -> tuple[Value, int]:
        sign = self.text[position]
        if self.environment.is_strict or not starts_value(self.text, position):
            raise bad_expression(
                f"the sign in {shown(self.text[position:])} has no number after it",
                "write the minus inside: [0 - #1]",
            )
        self.has_signed = True
        value, end = self.value(position + 1, depth + 1)
        if self.text.startswith("**", end):
            raise bad_expression(
                f"{shown(self.text[position:])} can be read two ways",
                "put the power or the signed value in brackets",
            )
        return (_negated(value) if sign == "-" else value), end

    def _expression(self, position: int, depth: int) -> tuple[Value, int]:
        """What stands between the [ before the place and its ]."""
        value, position = self.value(position, depth)
        value, position = self._chain(value, position, _OPERATOR, depth)
        if not self.text.startswith("]", position):
            rest = self.text[position:]
            known = "" if self.environment.is_strict else " EQ NE GT GE LT LE"
            raise bad_expression(
                f"{shown(rest)} is no operator" if rest else "a [ without its ]",
                f"operators: + - * / ** MOD AND OR XOR{known}, then ]",
            )
        return value, position + 1

    def _chain(
        self, value: Value, position: int, pattern: re.Pattern[str], depth: int
    ) -> tuple[Value, int]:
        """A value and the operators and values behind it."""
        values, operators = [value], []
        while (match := pattern.match(self.text, position)) is not None:
            if self.environment.is_strict and match[0] in COMPARISONS:
                break
            operators.append(match[0])
            value, position = self.value(match.end(), depth)
            values.append(value)
        return self._worked_out(values, operators), position

    def _worked_out(self, values: list[Value], operators: list[str]) -> Value:
        is_comparing = not COMPARISONS.isdisjoint(operators)
        self._judge_ranks(operators, is_comparing)
        for rank in RANKS_WITH_COMPARISONS if is_comparing else RANKS:
            kept_values, kept_operators = values[:1], []
            for operator, right in zip(operators, values[1:], strict=True):
                if operator not in rank:
                    kept_values.append(right)
                    kept_operators.append(operator)
                else:
                    left = kept_values[-1]
                    kept_values[-1] = operation_of(operator, left, right, self.environment)
            values, operators = kept_values, kept_operators
        return values[0]

    def _judge_ranks(self, operators: list[str], is_comparing: bool) -> None:
        """Where AND, OR and XOR stand among other operators, the references rank them unlike."""
        logic = [one for one in operators if one in LOGIC]
        others = {one for one in operators if one not in LOGIC}
        if not logic:
            return
        if self.environment.style == "O words":
            is_clear = is_comparing or others.isdisjoint(("+", "-"))
        else:
            is_clear = self.environment.style != "letters" or len({*logic, *others}) == 1
        if not is_clear:
            raise bad_expression(
                f"{logic[0]} beside other operators: controls differ on which goes first",
                "put each side in brackets: [[#1 GT 2] AND [#2 LT 3]]",
            )

    def _function(self, name: str, position: int, depth: int) -> tuple[Value, int]:
        if name == "EXISTS" and not self.environment.is_strict:
            return self._exists(position)
        argument, end = self._expression(position, depth)
        if name == "ATAN":
            if not self.text.startswith("/[", end):
                raise bad_expression("ATAN without its second part", "write ATAN[y]/[x]")
            other, end = self._expression(end + 2, depth)
            return _arc_tangent(argument, other, self.environment), end
        if name not in FUNCTIONS:
            raise bad_expression(
                f"{name} is no function", "functions: " + " ".join(sorted({*FUNCTIONS, "ATAN"}))
            )
        return function_of(name, argument, self.environment), end

    def _exists(self, position: int) -> tuple[Value, int]:
        is_named = self.text.startswith("#<", position)
        key, end = self.key(position) if is_named else ("", position)
        if callable(key) or not is_named or not self.text.startswith("]", end):
            raise bad_expression("EXISTS without a name", "write EXISTS[#<name>], a name alone")
        values = self.environment.values

        def work() -> float:
            if key not in values and isinstance(key, str) and key.startswith("_"):
                raise bad_expression(
                    f"EXISTS[#<{key.lower()}>] of what the program has not set: the control or the "
                    "program before it may have",
                    "set it in the program, or ask for a name without _ in front",
                )
            return float(key in values)

        return work, end + 1


def _reading(environment: Environment, key: Key | Work) -> Work:
    """The value of a parameter as it is when asked for."""
    values, missing = environment.values, environment.missing
    if callable(key):
        find: Callable[[], Key] = key  # type: ignore[assignment]  # of `Values.key`: gives an index

        def read_found() -> Number:
            found = find()
            return values[found] if found in values else missing(found)

        return read_found
    if key == 0:
        return lambda: None

    def read() -> Number:
        try:
            return values[key]
        except KeyError:
            return missing(key)

    return read


def _negated(value: Value) -> Value:
    if not callable(value):
        return -value

    def work() -> float:
        number = value()
        if number is None or number.__class__ is Unset:
            raise bad_parameter(
                "a sign before a parameter that is not set or holds nothing",
                "0 on some controls, no word at all on others: set it first",
            )
        return -number

    return work


def _arc_tangent(rise: Value, run: Value, environment: Environment) -> Value:
    """In degrees, for the quadrant; some controls count 0 to 360, others -180 to 180."""
    y, x = as_work(rise), as_work(run)

    def work() -> float:
        angle = math.degrees(math.atan2(y() or 0.0, x() or 0.0))
        if angle < 0 and environment.style == "letters":
            environment.doubt(
                f"ATAN gives {angle:g}: read so, here and after",
                "some controls give 360 more: the same in SIN and COS, another in a comparison",
                "ATAN",
            )
        return angle

    return work if callable(rise) or callable(run) else work()
