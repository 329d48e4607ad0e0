"""What a file may hold where a reader reads it, as JSON Schema; the mark stands at the reader.

An editor that is given the schema completes and checks by it; `check` says more.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

Shape = dict[str, Any]
Function = TypeVar("Function", bound=Callable[..., Any])

LENGTH: Shape = {"type": ["number", "string"]}
"""A plain number, or words with their unit."""
SIZE: Shape = {**LENGTH, "exclusiveMinimum": 0}
ROOM: Shape = {**LENGTH, "minimum": 0}
ABOVE_NOTHING: Shape = {"type": "number", "exclusiveMinimum": 0}
TEXT: Shape = {"type": "string", "minLength": 1}
NAMES: Shape = {"type": "array", "items": TEXT}
HOLES: Shape = {"anyOf": [TEXT, {"type": "object"}]}
"""Holes of a member of an assembly."""


def one_of(*words: Any) -> Shape:
    return {"enum": list(words)}


def either(*shapes: Shape) -> Shape:
    return {"anyOf": list(shapes)}


def some(each: Shape, least: int = 0, most: int | None = None) -> Shape:
    """A list of so many."""
    shape: Shape = {"type": "array", "items": each}
    if least:
        shape["minItems"] = least
    if most is not None:
        shape["maxItems"] = most
    return shape


def just(count: int, each: Shape) -> Shape:
    """A list of exactly so many."""
    return some(each, count, count)


def table(properties: dict[str, Shape], least: int = 0, most: int | None = None) -> Shape:
    """A table of these keys."""
    shape: Shape = {"type": "object", "properties": properties, "additionalProperties": False}
    if least:
        shape["minProperties"] = least
    if most is not None:
        shape["maxProperties"] = most
    return shape


def whole(least: int, most: int) -> Shape:
    return {"type": "integer", "minimum": least, "maximum": most}


class Holds:
    """Stands in an annotation where its type does not say what a file may hold.

    also : beside what the type says
    """

    def __init__(self, shape: Shape, *, also: bool = False) -> None:
        self.shape, self.also = shape, also


def takes(shape: Shape, *, also: bool = False) -> Callable[[Function], Function]:
    """Marks a reader with what it takes. also : beside what the type that it makes takes itself"""

    def marked(function: Function) -> Function:
        vars(function)["holds"] = Holds(shape, also=also)
        return function

    return marked
