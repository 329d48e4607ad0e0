"""Frozen records at a tenth of the price of a frozen slotted dataclass.

A command reads hundreds of record classes and makes records of a few: here a class costs what it
takes to list its fields, and its `__init__` is compiled once a dozen are made. Records are
frozen for the type checker, not at run time.
"""

from __future__ import annotations

from collections.abc import Callable
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")
_FEW = 12  # records of a class that are made before its `__init__` is worth compiling


class _Anew:
    """A default that is made anew for each record."""

    __slots__ = ("compare", "factory")

    def __init__(self, factory: Callable[[], Any], compare: bool) -> None:
        self.factory = factory
        self.compare = compare


def anew(*, factory: Callable[[], T], compare: bool = True) -> T:
    """The default of a field that is made anew for each record; one not compared tells no two
    records apart."""
    default: Any = _Anew(factory, compare)
    return default  # type: ignore[no-any-return]  # the type checker takes it for the value


@dataclass_transform(frozen_default=True, field_specifiers=(anew,))
def frozen(cls: type[T]) -> type[T]:
    """The class as a record of its annotated fields: made, compared, hashed and shown by them."""

    made = 0

    def initialise(self: Any, *values: Any, **named: Any) -> None:
        """Fills the first few; then, or where a field is amiss, the true one takes its place."""
        nonlocal made
        made += 1
        given = {**dict(zip(names, values, strict=False)), **named}
        is_amiss = len(given) != len(values) + len(named) or not needed <= given.keys() <= known
        if is_amiss or made > _FEW:
            cls.__init__ = _initialiser(cls)  # type: ignore[method-assign]  # as is said above
            cls.__init__(self, *values, **named)
            return
        for name in names:
            value = given[name] if name in given else getattr(cls, name)
            setattr(self, name, value.factory() if isinstance(value, _Anew) else value)
        if has_more:
            self.__post_init__()

    inherited = getattr(cls, "__match_args__", ())
    own = [
        name
        for name, kind in cls.__annotations__.items()
        if name not in inherited and "ClassVar" not in str(kind)
    ]
    names = (*inherited, *own)
    known, needed = {*names}, {name for name in names if not hasattr(cls, name)}
    has_more = hasattr(cls, "__post_init__")
    defaults = ((name, getattr(cls, name, None)) for name in names)
    apart = {name for name, value in defaults if isinstance(value, _Anew) and not value.compare}
    given: dict[str, object] = {
        "__init__": initialise,
        "__eq__": _equal,
        "__hash__": _hash,
        "__repr__": _repr,
    }
    for name, value in given.items():
        if name not in cls.__dict__ or (name == "__hash__" and cls.__dict__[name] is None):
            setattr(cls, name, value)
    setattr(cls, "__match_args__", names)  # noqa: B010  # the type checker takes it for fixed
    told = tuple(name for name in names if name not in apart)
    setattr(cls, "__compared__", told)  # noqa: B010
    setattr(cls, "__values__", attrgetter(*told))  # noqa: B010
    return cls


def _initialiser(cls: type) -> Callable[..., None]:
    """The `__init__` of a record class, compiled from its fields in their order."""
    given: dict[str, object] = {}
    parameters, lines = ["self"], ["    pass"]
    for name in field_names(cls):
        value = name
        if hasattr(cls, name):
            default = given[f"_{name}"] = getattr(cls, name)
            parameters.append(f"{name}=_{name}")
            if isinstance(default, _Anew):
                value = f"_{name}.factory() if {name} is _{name} else {name}"
        else:
            parameters.append(name)
        lines.append(f"    self.{name} = {value}")
    if hasattr(cls, "__post_init__"):
        lines.append("    self.__post_init__()")
    exec(f"def __init__({', '.join(parameters)}):\n" + "\n".join(lines), given)
    made: Any = given["__init__"]
    return made  # type: ignore[no-any-return]  # just defined


def _equal(self: Any, other: Any) -> Any:
    of_it = type(self).__values__
    return of_it(self) == of_it(other) if type(self) is type(other) else NotImplemented


def _hash(self: Any) -> int:
    return hash(type(self).__values__(self))


def _repr(self: object) -> str:
    values = ", ".join(f"{name}={value!r}" for name, value in as_dict(self).items())
    return f"{type(self).__qualname__}({values})"


def field_names(record_or_class: object) -> tuple[str, ...]:
    """The names of a record's fields, in the order of its making."""
    names: Any = record_or_class.__match_args__  # type: ignore[attr-defined]  # set by `frozen`
    return names  # type: ignore[no-any-return]  # a tuple of strings


def replace(record: T, **changes: Any) -> T:
    """The record with some fields changed."""
    return type(record)(**{**as_dict(record), **changes})


def as_dict(record: object) -> dict[str, Any]:
    """The fields of a record by name; records in them stay records."""
    return {name: getattr(record, name) for name in field_names(record)}
