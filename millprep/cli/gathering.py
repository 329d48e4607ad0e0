"""The options of a command gathered into the records that its parameters are."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import wraps
from inspect import Parameter, Signature, signature
from typing import Any, get_type_hints


def gathering(work: Callable[..., int]) -> Callable[..., int]:
    """A command whose every option is a parameter of its own, those of its records too."""
    hints = get_type_hints(work, include_extras=True)
    records = {name: hint for name, hint in hints.items() if hasattr(hint, "__match_args__")}

    @wraps(work)
    def gathered(**given: Any) -> int:
        for name, record in records.items():
            own = [field for field in record.__match_args__ if field in given]
            given[name] = record(**{field: given.pop(field) for field in own})
        return work(**given)

    options = list(_options(signature(work), hints))
    gathered.__signature__ = Signature(options)  # type: ignore[attr-defined]  # read by `signature`
    gathered.__annotations__ = {one.name: one.annotation for one in options}
    return gathered


def _options(of: Signature, hints: dict[str, Any]) -> Iterator[Parameter]:
    """The options of a command or of a record, in their order."""
    for name, one in of.parameters.items():
        hint = hints[name]
        if not hasattr(hint, "__match_args__"):
            yield one.replace(kind=Parameter.KEYWORD_ONLY, annotation=hint)
            continue
        for field, kind in get_type_hints(hint, include_extras=True).items():
            default = getattr(hint, field, Parameter.empty)
            yield Parameter(field, Parameter.KEYWORD_ONLY, default=default, annotation=kind)
