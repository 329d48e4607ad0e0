"""Collects all the faults of a file, each with its place, so that they are told at once.

Turns pydantic's errors into findings in workshop words.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from pydantic import ValidationError

from millprep.base.findings import Finding, Severity, WordError
from millprep.base.units import shown
from millprep.infiles.fields import Table
from millprep.infiles.first_tries import as_table, as_value, first_tries
from millprep.infiles.positions import Path
from millprep.infiles.text import Document
from millprep.infiles.told import Told
from millprep.infiles.toml_slips import ARRAYS
from millprep.infiles.wording import key_words, known_here, nearest, subject

Shape = TypeVar("Shape", bound=Table)

_WANTED = {
    **dict.fromkeys(
        ("dict_type", "model_type", "model_attributes_type"),
        "a table, in braces or under its [header]",
    ),
    **dict.fromkeys(("list_type", "tuple_type"), "a list, in square brackets"),
    **dict.fromkeys(("bool_type", "bool_parsing"), "true or false"),
}
_NOT_HOLES = (("joint",), ("shared",), ("reamed_together",))
"""Tables whose name is not a hole's."""


class Faults(Told):
    """The findings of one TOML file, in the order found."""

    def __init__(self, document: Document, shape: type[Table]) -> None:
        super().__init__(document.path)
        self.document = document
        self.shape = shape
        self.units = document.units

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
        about = self._subject(path, hole)
        self.tell(
            Finding(
                severity,
                kind,
                f"{about}: {message}" if about else message,
                remedy,
                file=self.path,
                line=self.line(path),
                key=key_words(path) or None,
                holes=(hole,) if hole and path[:1] not in _NOT_HOLES else (),
            )
        )

    def note(
        self, path: Path, error: WordError, kind: str = "contradiction", hole: str | None = None
    ) -> None:
        """A word that cannot be read as a fault, of that kind where it is of none itself."""
        where = (*path, *error.inside)
        self.add(error.kind or kind, where, error.message, error.remedy, hole=hole)

    @contextmanager
    def noting(
        self, path: Path, kind: str = "contradiction", hole: str | None = None
    ) -> Iterator[None]:
        """Within it a word that cannot be read ends the reading, and is a fault at that path."""
        try:
            yield
        except WordError as error:
            self.note(path, error, kind, hole)

    def line(self, path: Path) -> int | None:
        """The line of what stands at a path."""
        return self.document.positions.line(path)

    def array(self, key: str) -> list[Any]:
        """The tables of that name; anything else is a fault, and none."""
        value = self.document.data.get(key, [])
        if isinstance(value, list):
            return value
        what = "in single brackets" if isinstance(value, dict) else shown(value)
        remedy = f"write [[{key}]], in double brackets, above each"
        self.add("bad-value", (key,), f"{key} is given {what}", remedy)
        return []

    def _subject(self, path: Path, hole: str | None) -> str:
        """What the message is about; nothing for a key at the top of the file."""
        is_top = len(path) < 2 and not isinstance(self.document.data.get(str(*path)), dict)
        return "" if is_top else subject(path, hole)

    def _key_words(self, path: Path, hole: str | None) -> str:
        """The key within what the message is about: circle.count."""
        about = self._subject(path, hole)
        within = path if not about else path[2:] if about[0] != "[" else path[1:]
        return ".".join(part for part in within if isinstance(part, str))

    def validated(self, shape: type[Shape], data: object, path: Path) -> Shape | None:
        """The table in its shape, or None with its faults noted."""
        name = data.get("name") if isinstance(data, dict) else None
        hole = name if path[:1] == ("hole",) and isinstance(name, str) else None
        tried = list(first_tries(path[0], data)) if path else []
        for one in tried:
            self.add("unknown-key", (*path, one.keys[0]), one.message, one.remedy, hole=hole)
        if isinstance(data, dict) and tried:
            told = {key for one in tried for key in one.keys}
            data = {key: value for key, value in data.items() if key not in told}
        try:
            table = shape.model_validate(data, context={"units": self.units})
            return None if tried else table
        except ValidationError as error:
            for fault in error.errors(include_url=False):
                if not self.is_only_counted():
                    self._add_validation(shape, dict(fault), path, hole)
            return None

    def all_validated(self, key: str, shape: type[Shape]) -> Iterator[tuple[int, Path, Shape]]:
        """(index, path, table) of the tables of that name that have their shape."""
        for index, data in enumerate(self.array(key)):
            table = self.validated(shape, data, (key, index))
            if table is not None:
                yield index, (key, index), table

    def _add_validation(
        self, shape: type[Table], error: dict[str, Any], path: Path, hole: str | None
    ) -> None:
        loc: Path = tuple(error["loc"])
        here, kind = (*path, *loc), error["type"]
        word = error.get("ctx", {}).get("error")
        name, key = self._key_words(here, hole), str(here[-1]) if here else ""
        before = f"{name}: " if name else ""
        if isinstance(word, WordError):
            is_table = key in _shape_at(shape, loc[:-1]).tables_below()
            remedy = ("" if is_table else as_value(key, error["input"])) or word.remedy
            found = WordError(before + word.message, remedy, word.inside, word.kind)
            self.note(here, found, "bad-value", hole)
        elif kind == "extra_forbidden":
            self._add_unknown(shape, loc, here, hole)
        elif kind == "missing":
            field = _shape_at(shape, loc[:-1]).by_key()[str(loc[-1])]
            self.add("missing-key", here, f"{name} is missing", field.description or "", hole=hole)
        elif kind in _WANTED:
            given = shown(error["input"]) if not isinstance(error["input"], dict) else "a table"
            as_written = (as_value if given == "a table" else as_table)(key, error["input"])
            remedy = as_written or f"give {_WANTED[kind]}"
            self.add("bad-value", here, f"{before}{given} is given", remedy, hole=hole)
        else:
            self.add("bad-value", here, before + error["msg"], hole=hole)

    def _add_unknown(self, shape: type[Table], loc: Path, here: Path, hole: str | None) -> None:
        key = str(loc[-1])
        known = list(_shape_at(shape, loc[:-1]).by_key())
        single = key.removesuffix("s")  # [[holes]] is meant for [[hole]]
        remedy = None if single != key and single in known else self._home_of(key, here)
        if not remedy:
            likely = nearest(key, known)
            remedy = f'did you mean "{likely}"?' if likely else known_here(known, key)
        table = "" if self._subject(here, hole) else " above the first [table]"
        message = f"the key {shown(key)} is not known{table}"
        self.add("unknown-key", here, message, remedy, hole=hole)

    def _home_of(self, key: str, here: Path) -> str | None:
        """Where a key that is known elsewhere belongs."""
        if len(here) > 1 and key in self.shape.by_key():
            return f'"{key}" belongs at the top of the file, above the first [table]: move it up'
        is_deep = len([one for one in here if isinstance(one, str)]) > 2  # in a circle of a hole
        for table, shape in () if is_deep else self.shape.tables_below().items():
            if table not in here and key in shape.by_key():
                header = f"[[{table}]]" if table in ARRAYS else f"[{table}]"
                return f'"{key}" belongs under {header}: move it there'
        return None


def _shape_at(shape: type[Table], loc: Path) -> type[Table]:
    """The shape of the table that a path inside another leads to."""
    for part in loc:
        if isinstance(part, str):
            shape = shape.tables_below().get(part, shape)
    return shape
