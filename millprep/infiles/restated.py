"""A part file with one of its figures written otherwise: what would its dimensions be?

For finding the one figure that was misread.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from millprep.base.records import frozen, replace
from millprep.infiles.part_file import placed_distances
from millprep.infiles.patterns import WHERE_KEYS
from millprep.infiles.positions import Path
from millprep.infiles.text import Document, read_document
from millprep.infiles.wording import folded
from millprep.model.part import Part, StatedLength

_STOCK_KEYS = ("size", "diameter", "length")


@frozen
class Restated:
    """The file of a part, ready to be read again with another figure in it.

    needed : the [[hole]] tables that the dimensions hang on, by index
    placed : holes to be placed at each reading, about
    """

    document: Document
    stated: tuple[StatedLength, ...]
    needed: frozenset[int]
    placed: int

    def placing_lengths(self) -> list[StatedLength]:
        """The lengths that may move an end of a dimension: of the stock and of those holes."""
        return [each for each in self.stated if self._is_placing(each.path)]

    def distances(self, changes: dict[Path, float], must_lie_on: bool = False) -> tuple[float, ...]:
        """What the places make each dimension [mm] with some lengths changed to others [mm].

        Empty where that makes the file faulty; `must_lie_on`: where it puts a hole off its face.
        """
        data = self.document.data
        for path, length_mm in changes.items():
            data = _with(data, path, f"{length_mm:.9f} mm")
        holes = [
            hole
            for index, hole in enumerate(data.get("hole", []))
            if index in self.needed or "name" not in hole
        ]
        return placed_distances(replace(self.document, data={**data, "hole": holes}), must_lie_on)

    def _is_placing(self, path: Path) -> bool:
        if path[0] == "hole":
            return path[1] in self.needed and path[2] in WHERE_KEYS
        keys = {"stock": _STOCK_KEYS, "defaults": WHERE_KEYS}.get(str(path[0]), ())
        return len(path) > 1 and path[1] in keys


def restated(part: Part) -> Restated:
    """The file of a part. Raises MillprepError when it can no longer be read."""
    document = read_document(part.original_path or part.path)
    needed = frozenset(_needed(document.data, part))
    keys = {f"hole[{index + 1}]" for index in needed}
    placed = sum(hole.key in keys and not hole.file for hole in part.holes)
    return Restated(document, part.stated, needed, placed)


def _needed(data: dict[str, Any], part: Part) -> Iterator[int]:
    """Indices of the holes at the ends of dimensions, and of those they count from."""
    tables = data.get("hole", [])
    index_of = {folded(table["name"]): i for i, table in enumerate(tables) if "name" in table}
    waiting = [name for dimension in part.dimensions for name in dimension.between]
    seen: set[str] = set()
    while waiting:
        word = folded(waiting.pop())
        if word in seen:
            continue
        seen.add(word)
        index = index_of.get(word, index_of.get(word.rpartition(" ")[0]))
        if index is not None:
            yield index
            waiting += [value for key, value in tables[index].items() if key == "from"]


def _with(value: Any, path: Path, new: Any) -> Any:
    """A copy of nested tables and lists with one value another, the rest shared."""
    if not path:
        return new
    copy = value.copy()
    copy[path[0]] = _with(value[path[0]], path[1:], new)
    return copy
