"""Records: as a frozen dataclass would be, where anything in the project relies on it."""

from __future__ import annotations

import pickle
import re
from pathlib import Path
from typing import ClassVar

import pytest

from millprep.base.records import anew, as_dict, field_names, frozen, replace


@frozen
class Place:
    """Two coordinates and what is said of them."""

    x: float
    y: float = 0.0
    names: list[str] = anew(factory=list)
    line: dict[str, int] = anew(factory=dict, compare=False)
    EDGE: ClassVar[float] = 1.0


@frozen
class Marked(Place):
    """A place with a mark."""

    mark: str = ""

    def __post_init__(self) -> None:
        assert self.mark != "refused", "refused"


def test_fields_come_in_their_order_those_of_the_base_first() -> None:
    assert field_names(Marked) == ("x", "y", "names", "line", "mark")
    assert Marked(1.0, 2.0, ["a"], {}, "m").mark == "m"
    assert as_dict(Place(1.0)) == {"x": 1.0, "y": 0.0, "names": [], "line": {}}


def test_what_is_missing_or_unknown_is_refused_at_the_first_and_the_second() -> None:
    for _ in range(2):
        with pytest.raises(TypeError, match="'x'"):
            Place()  # type: ignore[call-arg]  # the point of the test
        with pytest.raises(TypeError, match="'z'"):
            Place(1.0, z=2.0)  # type: ignore[call-arg]  # the point of the test


def test_a_default_made_anew_is_shared_by_no_two() -> None:
    one, other = Place(1.0), Place(1.0)
    one.names.append("a")
    assert other.names == []
    assert one != other


def test_equal_by_what_is_compared_and_of_one_class() -> None:
    assert Place(1.0, line={"x": 3}) == Place(1.0, line={"x": 4})
    assert Place(1.0) != Place(2.0)
    assert Place(1.0) != Marked(1.0)
    assert Place(1.0) != (1.0, 0.0, [])


def test_records_of_plain_values_can_be_keys() -> None:
    @frozen
    class Key:
        a: int
        b: tuple[int, ...] = ()

    assert {Key(1, (2,)): "found"}[Key(1, (2,))] == "found"
    assert repr(Key(1)).endswith("Key(a=1, b=())")


def test_replace_makes_and_checks_another() -> None:
    one = Marked(1.0, mark="kept")
    assert replace(one, y=3.0) == Marked(1.0, 3.0, mark="kept")
    assert one.y == 0.0
    with pytest.raises(AssertionError, match="refused"):
        replace(one, mark="refused")
    with pytest.raises(TypeError, match="'z'"):
        replace(one, z=1)


def test_records_take_the_pattern_of_a_class_and_travel_between_processes() -> None:
    match Place(1.0, 2.0):
        case Place(x, y):
            assert (x, y) == (1.0, 2.0)
    assert pickle.loads(pickle.dumps(Place(1.0, 2.0))) == Place(1.0, 2.0)


def test_every_frozen_class_of_the_package_is_such_a_record() -> None:
    package = Path(__file__).parent.parent / "millprep"
    for path in package.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "dataclass(frozen" not in text, path
        assert not re.search(r"from dataclasses import .*\b(replace|asdict)\b", text), path
