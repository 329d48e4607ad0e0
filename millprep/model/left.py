"""Holes that a part leaves for later: finished in a stack, or carried over from a mate."""

from __future__ import annotations

from typing import Literal, get_args

from millprep.base.records import frozen

Leave = Literal["undrilled", "spotted", "pilot"]
LEAVES: tuple[Leave, ...] = get_args(Leave)
"""How far a part's own sheets make a hole that is finished later."""


@frozen
class Left:
    """One hole that is left for later.

    hole     : its name; made : how far the part's own sheets make it
    later    : the step that goes on with it, in words: 'reamed in stack "bearings"'
    file     : the assembly file that says so
    pilot_mm : of the drill, where it is left with a pilot
    stack    : in which it is finished, or "": it is carried over, and finished in the part's sheets
    is_spotted : carrying it over leaves a spot, not a mark
    is_there : it has been carried over: the sheet goes on with it
    """

    hole: str
    made: Leave
    later: str
    file: str
    pilot_mm: float | None = None
    stack: str = ""
    is_spotted: bool = False
    is_there: bool = False
