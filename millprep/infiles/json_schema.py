"""The JSON Schema of the files that people write, made from their models: for editors.

It says what keys there are and what each may hold by itself. What keys mean together, which words
a table of sizes or materials has, and whether a part can be made, `check` says.
"""

from __future__ import annotations

import json
import types
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from millprep.infiles.assembly_schema import AssemblyTable
from millprep.infiles.fields import (
    LENGTH,
    ROOM,
    SIZE,
    TEXT,
    Holds,
    OneOfItsWords,
    ReadBy,
    Shape,
    Table,
    as_list,
    either,
    one_of,
    some,
    words_of,
)
from millprep.infiles.holes import EXCLUSIVE
from millprep.infiles.part_schema import OppositeTable, PartTable
from millprep.infiles.points import POINT
from millprep.infiles.shop_schema import ShopTable
from millprep.infiles.toml_slips import ARRAYS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_OLDER = {"drawer": "cabinet"}
"""Tables at the top of a file that are still read by another name."""


def schema_of(kind: str) -> Shape:
    """The schema of "part", "shop" or "assembly" files."""
    return _KINDS[kind]()


def _part() -> Shape:
    """A part, or the opposite hand of one."""
    known = _Tables()
    part, opposite = known.of(PartTable), known.of(OppositeTable)
    hole = known.definitions["HoleTable"]
    hole["dependentSchemas"] = _one_of_several()
    nameless = {key: shape for key, shape in hole["properties"].items() if key != "name"}
    known.definitions["Defaults"] = {**hole, "properties": nameless}
    known.definitions["PartTable"]["properties"]["defaults"] = _reference("Defaults")
    branch = {"if": {"required": ["opposite_hand_of"]}, "then": opposite, "else": part}
    return _whole("part", branch, known)


def _one_of_several() -> Shape:
    """Keys of which a hole has one: beside it the others are refused."""
    return {
        key: {"properties": {other: False for other in keys if other != key}}
        for keys in EXCLUSIVE
        for key in keys
    }


def _shop() -> Shape:
    known = _Tables()
    top = known.of(ShopTable)
    properties = known.definitions["ShopTable"]["properties"]
    properties |= {older: properties[key] for key, older in _OLDER.items()}
    return _whole("shop", top, known)


def _assembly() -> Shape:
    known = _Tables()
    top = known.of(AssemblyTable)
    members = known.definitions["AssemblyTable"]["properties"]["members"]
    description = members.pop("description")
    known.definitions["AssemblyTable"]["properties"]["members"] = {
        "type": "object",
        "additionalProperties": either(TEXT, members),
        "description": description,
    }
    return _whole("assembly", top, known)


_NAMED = {"Length": LENGTH, "Size": SIZE, "Room": ROOM, "Point": POINT}
_KINDS = {"part": _part, "shop": _shop, "assembly": _assembly}


def _whole(kind: str, top: Shape, known: _Tables) -> Shape:
    """The schema, what stands in many places of it by a name."""
    definitions: Shape = {name: _by_name(shape) for name, shape in known.definitions.items()}
    used = json.dumps(definitions)
    for name, shape in _NAMED.items():
        if f'/{name}"' in used:
            definitions[name] = {key: _by_name(inner) for key, inner in shape.items()}
    return {
        "$schema": DRAFT,
        "title": f"millprep {kind} file",
        **top,
        "$defs": dict(sorted(definitions.items())),
    }


def _by_name(shape: Any) -> Any:
    """The shape with references where a named one stands in it."""
    if isinstance(shape, list):
        return [_by_name(each) for each in shape]
    if not isinstance(shape, dict):
        return shape
    for name, known in _NAMED.items():
        if shape == known:
            return _reference(name)
    return {key: _by_name(inner) for key, inner in shape.items()}


def _reference(name: str) -> Shape:
    return {"$ref": f"#/$defs/{name}"}


class _Tables:
    """The shapes of tables, each defined once."""

    def __init__(self) -> None:
        self.definitions: dict[str, Shape] = {}
        self._names: dict[type[Table], str] = {}

    def of(self, table: type[Table]) -> Shape:
        """A reference to the shape of a table."""
        if table not in self._names:
            taken = table.__name__ in self.definitions
            name = f"{table.__module__.rsplit('.', 1)[1]}.{table.__name__}"
            self._names[table] = name if taken else table.__name__
            self.definitions[self._names[table]] = {}
            self.definitions[self._names[table]] = self.shape_of_table(table)
        return _reference(self._names[table])

    def shape_of_table(self, table: type[Table]) -> Shape:
        """Its keys; those of tables below the top that are validated by their headers too."""
        fields = table.by_key()
        properties = {key: self._field(field) for key, field in fields.items()}
        for key, inner in table.tables.items():
            shape = self.of(inner)
            properties[key] = properties[key] | (some(shape) if key in ARRAYS else shape)
        shape = {"type": "object", "properties": properties, "additionalProperties": False}
        required = [key for key, field in fields.items() if field.is_required()]
        return {**shape, "required": required} if required else shape

    def _field(self, field: FieldInfo) -> Shape:
        shape = self._shape(field.annotation, tuple(field.metadata))
        return {**shape, "description": field.description} if field.description else shape

    def _shape(self, kind: Any, marks: tuple[Any, ...] = ()) -> Shape:
        """What may stand where the type, with what is marked beside it, is read."""
        if marks:
            return self._marked(kind, marks)
        origin, inner = get_origin(kind), get_args(kind)
        if origin is Annotated:
            return self._shape(inner[0], tuple(kind.__metadata__))
        if origin in (Union, types.UnionType):
            shapes = [self._shape(one) for one in inner if one is not type(None)]
            return shapes[0] if len(shapes) == 1 else either(*shapes)
        if origin is tuple:
            return some(self._shape(inner[0]))
        if origin is dict:
            return {"type": "object", "additionalProperties": self._shape(inner[1])}
        if isinstance(kind, type) and issubclass(kind, Table):
            return self.of(kind)
        return {"type": "boolean"} if kind is bool else {}

    def _marked(self, kind: Any, marks: tuple[Any, ...]) -> Shape:
        """By the last mark: what a reader takes, or the type and what else is taken beside it."""
        *rest, mark = marks
        if isinstance(mark, OneOfItsWords):
            return one_of(*words_of(kind))
        reader = mark.function if isinstance(mark, ReadBy) else getattr(mark, "func", mark)
        if reader is as_list:
            each = self._shape(kind, tuple(rest))
            return either(each["items"], each)
        holds = mark if isinstance(mark, Holds) else getattr(reader, "holds", None)
        if holds is None:
            return self._shape(kind, tuple(rest))
        if holds.also:
            return either(holds.shape, self._shape(kind, tuple(rest)))
        return dict(holds.shape)
