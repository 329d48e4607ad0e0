"""Parameters: numbers that a program keeps, and those that a control keeps (NISTIR 6556, 3.2.1).

    5161 to 5166  home of G28             5220  work system in force, 1 to 9
    5181 to 5186  home of G30             5221 to 5226  origin of the first work system,
    5211 to 5216  shift of G92                          then every 20 further on
    5061 to 5066  where a probe touched

Letter style has further ones (common practice): 5001 to 5003 where the last line ended, 5021 to
5023 the machine's position, 5041 to 5043 the work's, 5201 to 5206 an offset common to all systems.
A parameter that a program has not set is 0 here; a control keeps it from one program to the next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from millprep.reading.gcode.arithmetic import UNSET, Environment, Key, Number, key_words
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.modal import MM_PER_INCH, ORIGIN
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import bad_parameter
from millprep.reading.gcode.state import State
from millprep.reading.moves import WORK_SYSTEMS

_PROBE, _HOME, _SECOND_HOME, _SHIFT, _ACTIVE, _FIRST_ORIGIN = 5061, 5161, 5181, 5211, 5220, 5221
_END_OF_LINE, _MACHINE, _WORK, _COMMON = 5001, 5021, 5041, 5201
_A_SYSTEM = 20
_AXES = 6
FIRST_OF_OTHERS = 1000  # from here up, many controls keep values of their own: common practice
LAST_LOCAL_OF_LETTERS = 33
LAST_LOCAL_OF_O_WORDS = 30


class AskedTooQuickly(Exception):  # noqa: N818  (no fault: the line is run again, the slow way)
    """A line that is run over and over has something to say to the person."""


class Level(NamedTuple):
    """What a call has made of the parameters of its own.

    vacant_to : unset ones up to here hold nothing, for certain
    doubtful  : not given with the call: kept from the caller on some controls, 0 on others
    """

    vacant_to: int = 0
    doubtful: dict[Key, Number] | None = None


def is_reserved(index: Key) -> bool:
    """Whether the control itself keeps something there."""
    if isinstance(index, str):
        return False
    if any(first <= index < first + _AXES for first in (_PROBE, _HOME, _SECOND_HOME, _SHIFT)):
        return True
    system, axis = divmod(index - _FIRST_ORIGIN, _A_SYSTEM)
    return index == _ACTIVE or (0 <= system < len(WORK_SYSTEMS) and axis < _AXES)


class Parameters(Environment):
    """The parameters of a program while it is read.

    level    : of the call that runs
    used     : parameters that the line asks for and that the program has not set
    is_quick : lines are run over and over: what would say something runs again the slow way
    catch_up : carries out the motions that wait, before a position is asked for
    """

    def __init__(self, state: State) -> None:
        super().__init__(state.parameters, is_strict=state.control.strict)
        self.is_either = not state.control.strict and state.control.flow != "O words"
        self.level = Level()
        self.used: list[Key] = []
        self.is_quick = False
        self.catch_up: Callable[[], None] = lambda: None
        self._state = state

    def missing(self, key: Key) -> Number:
        if isinstance(key, int) and 1 <= key <= self.level.vacant_to:
            return None
        if self.is_quick:
            raise AskedTooQuickly
        if isinstance(key, str):
            return self._named(key)
        self.used.append(key)
        if self.level.doubtful and key in self.level.doubtful:
            raise bad_parameter(
                f"#{key} is not given with the call: kept from the caller on some controls, "
                "0 on others",
                "give it with the call, or say missing_arguments in the shop file",
            )
        if is_reserved(key) or (self.may_be_letters and key >= FIRST_OF_OTHERS):
            self.catch_up()
            return look_up(self._state, key)
        return UNSET if self.style == "letters" else 0.0

    @property
    def may_be_letters(self) -> bool:
        """Whether the program is in letter style, or without flow words and may be meant so."""
        return self.style == "letters" or (self.is_either and not self.style)

    def doubt(self, message: str, remedy: str, about: str) -> None:
        if self.is_quick:
            raise AskedTooQuickly
        self._state.report.warn("parameter-doubtful", message, remedy, about=about)

    def _named(self, name: str) -> float:
        find = NAMED.get(name)
        if find is None:
            raise bad_parameter(
                f"{key_words(name)} is used before it is set",
                "set it first; a name without _ in front is known in its own subprogram only",
            )
        self.catch_up()
        self.used.append(name)
        return find(self._state)


def look_up(state: State, index: int) -> float:
    """The value of one that the control keeps; a length in the units in force."""
    if index == _ACTIVE:
        return float(WORK_SYSTEMS.index(state.system) + 1)
    if _PROBE <= index < _PROBE + _AXES:
        raise bad_parameter(f"#{index} is where a probe touched: nothing has probed here")
    if is_reserved(index):
        place, axis = _kept(state, index)
        return in_units(state, place[axis]) if axis < len(place) else 0.0
    if _COMMON <= index < _COMMON + _AXES:
        return 0.0
    axis = (index - 1) % _A_SYSTEM
    first = index - axis
    if first not in (_END_OF_LINE, _MACHINE, _WORK) or axis >= len(AXES):
        raise bad_parameter(
            f"#{index} is the control's own (time, alarms, tool offsets, modes): not known here",
            "write the figure itself",
        )
    return in_units(state, position_mm(state, axis, first))


def in_units(state: State, length_mm: float) -> float:
    """A length in the units in force."""
    return length_mm / MM_PER_INCH if state.units == "inch" else length_mm


def position_mm(state: State, axis: int, first: int = _END_OF_LINE) -> float:
    """Where the tool stands on an axis, as the row of parameters from `first` on has it."""
    letter = AXES[axis]
    is_lost = letter in state.unstated_axes or letter in state.unknown_axes
    if is_lost or letter not in state.placed_axes:
        raise bad_parameter(
            f"the position in {letter} is asked for before the program has said where it is",
            f"move {letter} in G90 first",
        )
    if first == _MACHINE and state.system not in state.origins:
        raise bad_parameter(
            f"the machine's position in {letter} is not known: the origin of {state.system} is "
            "not listed",
            "give it in the shop file under [control] offsets",
        )
    if first == _WORK and axis == 2 and state.tools.length_mm(state.offset):
        raise bad_parameter(
            "#5043 under a length offset: with it on some controls, without on others",
            "read #5003 instead",
        )
    return state.machine_mm()[axis] if first == _MACHINE else state.position[axis]


NAMED: dict[str, Callable[[State], float]] = {
    "_X": lambda state: in_units(state, position_mm(state, 0)),
    "_Y": lambda state: in_units(state, position_mm(state, 1)),
    "_Z": lambda state: in_units(state, position_mm(state, 2)),
    "_METRIC": lambda state: float(state.units == "mm"),
    "_IMPERIAL": lambda state: float(state.units == "inch"),
    "_ABSOLUTE": lambda state: float(not state.is_incremental),
    "_INCREMENTAL": lambda state: float(state.is_incremental),
    "_CURRENT_TOOL": lambda state: float(state.tool),
}
"""Names that the open reference of O words keeps for the control (from memory)."""


def _kept(state: State, index: int) -> tuple[Point, int]:
    """The place that a reserved parameter belongs to [mm], and which of its axes."""
    if index < _HOME + _AXES:
        return state.control.home_mm, index - _HOME
    if index < _SECOND_HOME + _AXES:
        return state.control.home_2_mm or ORIGIN, index - _SECOND_HOME
    if index < _SHIFT + _AXES:
        return state.stored_shift, index - _SHIFT
    system, axis = divmod(index - _FIRST_ORIGIN, _A_SYSTEM)
    return state.origin_mm(WORK_SYSTEMS[system]), axis


def judge(state: State, line: Line, used: Iterable[Key], given: Parameters) -> None:
    """Says which parameters of the line another control may keep or mean otherwise.

    Settings count from the next line on (NISTIR 6556, section 3.3.3); those that would move origins
    unseen are refused.
    """
    for key, _ in line.settings:
        _judge_setting(key, given.style)
    for key in used:
        _judge_use(state, key, may_be_letters=given.may_be_letters)
    if not state.control.strict and any(
        isinstance(key, int) and key >= FIRST_OF_OTHERS for key, _ in line.settings
    ):
        state.report.warn(
            "parameter-doubtful",
            f"a parameter of {FIRST_OF_OTHERS} or more is set: many controls keep values of their "
            "own there",
            f"use a number below {FIRST_OF_OTHERS}",
            about="set",
        )
    if line.has_signed:
        state.report.note(
            "signed-expression", "a sign before # or [ is read as changing the value's sign"
        )


def _judge_setting(key: Key, style: str) -> None:
    if key == 0:
        raise bad_parameter("#0 holds nothing, always", "set another parameter")
    if is_reserved(key):
        raise bad_parameter(
            f"#{key} is the control's own: setting it moves origins unseen",
            "write G10 L2 P, G92 or the shop file instead",
        )
    if style == "letters" and isinstance(key, int) and key >= FIRST_OF_OTHERS:
        raise bad_parameter(
            f"#{key} is the control's own: setting it stops the program with an alarm, or changes "
            "offsets or modes unseen",
            f"use a number below {FIRST_OF_OTHERS}; for an offset write G10",
        )
    if isinstance(key, str) and key in NAMED:
        raise bad_parameter(f"{key_words(key)} is the control's own", "use another name")


def _judge_use(state: State, key: Key, *, may_be_letters: bool) -> None:
    is_own = isinstance(key, str) or is_reserved(key)
    if is_own or (may_be_letters and isinstance(key, int) and key >= FIRST_OF_OTHERS):
        state.report.warn(
            "parameter-doubtful",
            f"{key_words(key)} is the control's own: read from the shop file"
            f"{'' if isinstance(key, int) and is_reserved(key) else ' and the program'}, "
            f"in {state.units}",
            "write the figure itself",
            about="reserved",
        )
        return
    state.report.warn(
        "parameter-doubtful",
        f"#{key} is used before it is set: read as 0, here and in others like it",
        "set it in the program: a control keeps it from the program before",
        about="unset",
    )
