"""The shape of a TOML table: a class whose annotated attributes are its keys, each with its reader.

A shape says what reads a key in the metadata of the annotation, and what stands for a key that is
not given as the attribute itself. Nothing is worked out of it before a table is read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, NamedTuple, TypeVar, Union, get_args, get_origin

from millprep.base.findings import WordError
from millprep.base.records import field_names, frozen
from millprep.base.units import Units
from millprep.infiles.positions import Path

T = TypeVar("T")
AnyTable = TypeVar("AnyTable", bound="Table")
Read = Callable[[Any, Units], Any]
_UNIT = re.compile(r"_(mm|rpm)(_per_\w+)?$")


class Misfit(NamedTuple):
    """What does not fit its shape: a word, a key that is missing or unknown, or another kind of
    value than the one that is wanted. path : into the table"""

    path: Path
    kind: str
    given: object = None
    word: WordError | None = None


class MisfitsError(Exception):
    """All that does not fit a shape."""

    def __init__(self, *found: Misfit) -> None:
        super().__init__(found)
        self.found = found


class ReadBy:
    """Says in an annotation that a function reads the value: of the value, or value and units."""

    def __init__(self, function: Callable[..., object]) -> None:
        self.function = function
        self.reads_lengths = function.__code__.co_argcount == 2

    def reader(self, kind: object, inner: Read) -> Read:
        if self.reads_lengths:
            return self.function
        return lambda value, units: self.function(value)


@frozen
class First:
    """Says that a function is applied to the value before it is read by what stands beside."""

    function: Callable[[Any], Any]

    def reader(self, kind: object, inner: Read) -> Read:
        return lambda value, units: inner(self.function(value), units)


@frozen
class Around:
    """Says that a function reads the value, and is given what reads it else."""

    function: Callable[[Any, Callable[[Any], Any]], Any]

    def reader(self, kind: object, inner: Read) -> Read:
        return lambda value, units: self.function(value, lambda given: inner(given, units))


@frozen
class Key:
    """Says how a key is called in the file, and what to write where it is missing."""

    name: str = ""
    remedy: str = ""

    def reader(self, kind: object, inner: Read) -> Read:
        return inner


class Field(NamedTuple):
    """A key of a table. name : in Python"""

    name: str
    key: str
    annotation: Any
    is_required: bool
    remedy: str
    read: Read


class Table:
    """A TOML table: unknown keys are faults. Made of values that were read; frozen by habit."""

    tables: ClassVar[dict[str, type[Table]]] = {}
    """Those below the top of a file that are read one by one, by their headers."""

    def __init__(self, **given: Any) -> None:
        self.__dict__.update(given)
        self.__dict__["_given"] = frozenset(given)

    @classmethod
    def by_key(cls) -> Mapping[str, Field]:
        """Its fields by their keys in a file."""
        return _fields_of(cls)  # type: ignore[arg-type]  # mypy takes the hash of instances

    @classmethod
    def tables_below(cls) -> dict[str, type[Table]]:
        """The shapes of the tables in it by their keys."""
        found = {key: table_in(field.annotation) for key, field in cls.by_key().items()}
        return {**{key: table for key, table in found.items() if table is not None}, **cls.tables}

    @classmethod
    def read(cls: type[AnyTable], data: object, units: Units) -> AnyTable:
        """The table that was written; plain lengths are in `units`. Raises MisfitsError."""
        fields, keys = cls.by_key(), _as_table(data)
        given = (
            (key, keys.get(key), field.read if key in keys else _missing)
            for key, field in fields.items()
            if key in keys or field.is_required
        )
        values, found = _read_each(given, units)
        found += [Misfit((key,), "unknown") for key in keys if key not in fields]
        if found:
            raise MisfitsError(*found)
        return cls(**{fields[key].name: value for key, value in values.items()})

    @property
    def given_names(self) -> frozenset[str]:
        """The names of those that the file gives."""
        names: frozenset[str] = self.__dict__["_given"]
        return names

    def given(self, *names: str) -> list[str]:
        """Those of the keys that the file gives."""
        return [name for name in names if name in self.given_names]

    def with_more(self: AnyTable, given: Mapping[str, Any]) -> AnyTable:
        """The table with other values on top of its own."""
        own = {name: getattr(self, name) for name in self.given_names}
        return type(self)(**{**own, **given})

    def fields_of(self, record: type, prefix: str = "") -> dict[str, Any]:
        """The fields of a record that are its keys, after a prefix and without their units.

        A key that is not given and has no default is left to the record's own.
        """
        names = {field.name for field in self.by_key().values()}
        found: dict[str, Any] = {}
        for name in field_names(record):
            key = _UNIT.sub("", name).removeprefix(prefix)
            if name.startswith(prefix) and key in names:
                value = getattr(self, key)
                is_known = value is not None or key in self.given_names
                if is_known and not isinstance(value, Table):
                    found[name] = value
        return found


def _read_each(
    given: Iterable[tuple[Any, Any, Read]], units: Units
) -> tuple[dict[Any, Any], list[Misfit]]:
    """What was read of several values, by key, and what does not fit."""
    values, found = {}, []
    for key, value, read in given:
        try:
            values[key] = read(value, units)
        except MisfitsError as error:
            found += [one._replace(path=(key, *one.path)) for one in error.found]
        except ValueError as error:
            word = error if isinstance(error, WordError) else WordError(str(error), "")
            found.append(Misfit((key,), "word", value, word))
    return values, found


@cache
def _fields_of(shape: type[Table]) -> Mapping[str, Field]:
    found = {}
    for parent in reversed(shape.__mro__):
        for name, kind in getattr(parent, "__annotations__", {}).items():
            if not name.startswith("_") and get_origin(kind) is not ClassVar and parent != Table:
                marks = getattr(kind, "__metadata__", ())
                key = next((one for one in marks if isinstance(one, Key)), Key())
                is_required = not hasattr(shape, name)
                called = key.name or name
                found[called] = Field(name, called, kind, is_required, key.remedy, reader_of(kind))
    return found


def reader_of(kind: Any) -> Read:
    """What reads a value of an annotated kind."""
    origin, inside = get_origin(kind), get_args(kind)
    if origin is Annotated:
        marks = kind.__metadata__
        read = _as_it_is if isinstance(marks[0], ReadBy) else reader_of(inside[0])
        for mark in marks:
            read = mark.reader(inside[0], read)
        return read
    if origin in (Union, UnionType):  # with None
        of_it = reader_of(next(one for one in inside if one is not NoneType))
        return lambda value, units: None if value is None else of_it(value, units)
    if origin is tuple:
        one = reader_of(inside[0])
        return lambda value, units: tuple(_each(_as_list(value), one, units).values())
    if origin is dict:
        one = reader_of(inside[1])
        return lambda value, units: _each(_as_table(value), one, units)
    if kind is bool:
        return _truth
    return kind.read if table_in(kind) is not None else _as_it_is


def table_in(annotation: Any) -> type[Table] | None:
    """The first table that an annotation holds."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next(filter(None, map(table_in, get_args(annotation))), None)


def _as_it_is(value: object, units: Units) -> object:
    return value


def _missing(value: object, units: Units) -> object:
    raise MisfitsError(Misfit((), "missing"))


def _truth(value: object, units: Units) -> bool:
    if not isinstance(value, bool):
        raise MisfitsError(Misfit((), "true or false", value))
    return value


def _as_table(value: object) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise MisfitsError(Misfit((), "a table, in braces or under its [header]", value))
    return value


def _as_list(value: object) -> dict[int, Any]:
    if not isinstance(value, list):
        raise MisfitsError(Misfit((), "a list, in square brackets", value))
    return dict(enumerate(value))


def _each(given: Mapping[Any, Any], read: Read, units: Units) -> dict[Any, Any]:
    """The values of a list or table, read."""
    values, found = _read_each(((key, value, read) for key, value in given.items()), units)
    if found:
        raise MisfitsError(*found)
    return values
