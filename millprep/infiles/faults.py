"""Collects all the faults of a file, each with its place, so that they are told at once.

Turns pydantic's errors into findings in workshop words.
"""

from __future__ import annotations

import typing
from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from millprep.base.bounds import MOST_FAULTS
from millprep.base.findings import Finding, MillprepError, Severity, WordError
from millprep.base.units import shown
from millprep.infiles.fields import Table
from millprep.infiles.positions import Path
from millprep.infiles.text import ARRAYS, Document
from millprep.infiles.wording import key_words, known_here, nearest, subject

Model = TypeVar("Model", bound=BaseModel)

_WANTED = {
    "dict_type": "a table, in braces or under its [header]",
    "model_type": "a table, in braces or under its [header]",
    "model_attributes_type": "a table, in braces or under its [header]",
    "list_type": "a list, in square brackets",
    "tuple_type": "a list, in square brackets",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
}


_NOT_HOLES = (("joint",), ("shared",), ("reamed_together",))
"""Tables whose name is not a hole's."""


class Faults:
    """The findings of one file, in the order found."""

    def __init__(self, document: Document, shape: type[Table]) -> None:
        self.document = document
        self.shape = shape
        self.findings: list[Finding] = []
        self._untold = 0

    def add(
        self,
        kind: str,
        path: Path,
        message: str,
        remedy: str = "",
        *,
        severity: Severity = "stop",
        hole: str | None = None,
    ) -> None:
        """One fault, at a path into the file; the message is given its subject."""
        if self._is_full(severity):
            return
        about = self._subject(path, hole)
        self.findings.append(
            Finding(
                severity,
                kind,
                f"{about}: {message}" if about else message,
                remedy,
                file=self.document.path,
                line=self.document.positions.line(path),
                key=key_words(path) or None,
                holes=(hole,) if hole and path[:1] not in _NOT_HOLES else (),
            )
        )

    def _subject(self, path: Path, hole: str | None) -> str:
        """What the message is about; nothing for a key at the top of the file."""
        is_top = len(path) < 2 and not isinstance(self.document.data.get(str(*path)), dict)
        return "" if is_top else subject(path, hole)

    def _key_words(self, path: Path, hole: str | None) -> str:
        """The key within what the message is about: circle.count."""
        about = self._subject(path, hole)
        within = path if not about else path[2:] if about[0] != "[" else path[1:]
        return ".".join(part for part in within if isinstance(part, str))

    def add_word(self, path: Path, error: WordError, hole: str | None = None) -> None:
        key = f"{path[-1]}: " if path and isinstance(path[-1], str) else ""
        self.add("unknown-word", path, key + error.message, error.remedy, hole=hole)

    @property
    def are_stops(self) -> bool:
        return any(finding.severity == "stop" for finding in self.findings)

    def raise_if_any(self) -> None:
        """Raises MillprepError with every fault so far, in file order, when one is a stop."""
        if self.are_stops:
            raise MillprepError(*self.in_file_order(), *self._counted())

    def _is_full(self, severity: Severity) -> bool:
        """Whether enough is told: one more is counted."""
        is_full = severity == "stop" and len(self.findings) >= MOST_FAULTS
        self._untold += is_full
        return is_full

    def _counted(self) -> Iterator[Finding]:
        if self._untold:
            message = f"{self._untold} more faults of this file are not told"
            yield Finding("stop", "many-findings", message, "", file=self.document.path)

    def in_file_order(self) -> tuple[Finding, ...]:
        return tuple(sorted(self.findings, key=lambda finding: finding.line or 0))

    def validated(
        self, shape: type[Model], data: object, path: Path, context: dict[str, Any]
    ) -> Model | None:
        """The table as a model, or None with its faults noted."""
        try:
            return shape.model_validate(data, context=context)
        except ValidationError as error:
            name = data.get("name") if isinstance(data, dict) else None
            hole = name if path[:1] == ("hole",) and isinstance(name, str) else None
            for one in error.errors(include_url=False):
                self._add_validation(shape, dict(one), path, hole)
            return None

    def _add_validation(
        self, shape: type[BaseModel], error: dict[str, Any], path: Path, hole: str | None
    ) -> None:
        if len(self.findings) >= MOST_FAULTS and self._is_full("stop"):
            return
        loc: Path = tuple(error["loc"])
        here, kind = (*path, *loc), error["type"]
        context = error.get("ctx", {})
        name = self._key_words(here, hole)
        if kind == "extra_forbidden":
            self._add_unknown(shape, loc, here, hole)
        elif kind == "missing":
            table = _shape_at(shape, loc[:-1])
            field = table.model_fields.get(str(loc[-1])) if table is not None else None
            remedy = field.description if field is not None and field.description else ""
            self.add("missing-key", here, f"{name} is missing", remedy, hole=hole)
        elif kind in _WANTED:
            given = shown(error["input"]) if not isinstance(error["input"], dict) else "a table"
            sentence = f"{name}: {given} is given" if name else f"{given} is given"
            self.add("bad-value", here, sentence, f"give {_WANTED[kind]}", hole=hole)
        else:
            slug = kind if "remedy" in context else "bad-value"
            sentence = f"{name}: {error['msg']}" if name else error["msg"]
            here = (*here, *context.get("inside", ()))
            self.add(slug, here, sentence, context.get("remedy", ""), hole=hole)

    def _add_unknown(self, shape: type[BaseModel], loc: Path, here: Path, hole: str | None) -> None:
        key = str(loc[-1])
        known = list(_keys(_shape_at(shape, loc[:-1])))
        home = self._home_of(key, here)
        likely = None if home else nearest(key, known)
        remedy = home or known_here(known, key)
        if likely:
            remedy = f'did you mean "{likely}"?'
        table = "" if self._subject(here, hole) else " above the first [table]"
        self.add(
            "unknown-key", here, f"the key {shown(key)} is not known{table}", remedy, hole=hole
        )

    def _home_of(self, key: str, here: Path) -> str | None:
        """Where a key that is known elsewhere belongs."""
        if len(here) > 1 and key in _keys(self.shape):
            return f'"{key}" belongs at the top of the file, above the first [table]: move it up'
        for table, shape in self.shape.tables.items():
            if table not in here and key in _keys(shape):
                header = f"[[{table}]]" if table in ARRAYS else f"[{table}]"
                return f'"{key}" belongs under {header}: move it there'
        return None


def _keys(shape: type[BaseModel] | None) -> Iterator[str]:
    if shape is not None:
        for name, field in shape.model_fields.items():
            yield field.alias or name


def _shape_at(shape: type[BaseModel] | None, loc: Path) -> type[BaseModel] | None:
    """The model of the table that a path inside a model leads to."""
    for part in loc:
        if shape is None:
            return None
        if isinstance(part, str):
            by_key = {field.alias or name: field for name, field in shape.model_fields.items()}
            shape = _model_in(by_key[part].annotation) if part in by_key else shape
    return shape


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The first model that an annotation holds."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in typing.get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
