"""What stands in a box goes back to the hole, the edge and the figure that it came from."""

from __future__ import annotations

from pathlib import Path

import pytest

import millprep
from millprep.desk.line_boxes import shown, written
from millprep.desk.piece import figures_between
from millprep.proven.editing import Figure, as_written, put_down

TESTS = Path(__file__).parents[1]
PARTS = sorted([*(TESTS.parent / "parts").glob("*.toml"), *(TESTS / "parts/valid").glob("*.toml")])


def _places(path: Path) -> list[tuple[str, tuple[float, ...]]]:
    part, _ = millprep.read_part(path)
    return [(one.name, tuple(round(x, 9) for x in one.centre_mm)) for one in part.holes]


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_boxes_typed_again_as_they_stand_move_no_hole(path: Path, tmp_path: Path) -> None:
    """Every place of a line is put down anew from its boxes, as one change of it would do."""
    text = path.read_text(encoding="utf-8-sig")
    try:
        before = _places(path)
    except millprep.MillprepError:
        pytest.skip("no part of its own")
    figures = []
    for line in as_written(text).of("hole"):
        boxes = shown(line.values)
        assert any(boxes[key] for key in boxes if key.startswith("at#")) or boxes["where"] != "at"
        typed = {key: value for key, value in boxes.items() if "#" in key}
        new = written(line.values, typed)
        for key, value in figures_between(line.values, new):
            figures.append(Figure("hole", key, value or None, line.index))
    for other in path.parent.glob("*.toml"):
        (tmp_path / other.name).write_bytes(other.read_bytes())
    copy = tmp_path / path.name
    copy.write_text(put_down(text, *figures), encoding="utf-8")
    assert _places(copy) == before
