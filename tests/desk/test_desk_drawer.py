"""The drawer with ticks: what is shown, and the shop's lists after ticking."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from millprep.base.findings import Finding
from millprep.desk.drawer import NOT_TICKED, Group, drawer, is_ticked, ticked, until_ticked
from millprep.infiles import read_shop
from millprep.model.shop import Shop

MM = 'units = "mm"\n'
INCH = 'units = "inch"\nbase = "inch"\n'


def _shop(folder: Path, text: str) -> Shop:
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return read_shop(str(folder / "shop.toml"))


def _group(text: str, label: str) -> Group:
    return next(one for one in drawer(text) if one.label == label)


def _ticks(text: str, kind: str) -> list[str]:
    groups = [one for one in drawer(text) if one.kind == kind]
    return [size.name for group in groups for size in group.sizes if size.is_ticked]


def test_every_size_has_a_box_with_what_is_stamped_on_it() -> None:
    numbers = _group("", "Drills, number")
    assert len(numbers.sizes) == 80
    assert {"No. 27", "No. 1", "No. 80"} <= {one.label for one in numbers.sizes}
    assert [one.label for one in _group("", "Drills, letter").sizes][:2] == ["A", "B"]
    # British Association is sizes 0 to 12 here, a half inch is 32 of 64
    assert [one.label for one in _group("", "Taps, BA").sizes][:3] == ["0BA", "1BA", "2BA"]
    assert _group("", "Drills, fractions of an inch").sizes[31].label == "1/2"
    assert len({one.label for one in drawer("")}) == len(drawer(""))


@pytest.mark.parametrize("text", [MM, INCH, 'base = "inch"\n'], ids=["mm", "inch", "inch in mm"])
def test_nothing_that_the_shop_has_is_without_a_tick(tmp_path: Path, text: str) -> None:
    cabinet = _shop(tmp_path, text).cabinet
    for kind in ("drills", "taps", "reamers", "counterbores", "countersinks", "end_mills"):
        ticks = _ticks(text, kind)
        sizes = {
            (one.words if kind == "taps" else f"{one.diameter_mm:.4f}")
            for one in getattr(cabinet, kind)
        }
        assert {tick.partition(" ")[0] if kind != "taps" else tick for tick in ticks} == sizes


@pytest.mark.parametrize("text", [MM, INCH, 'base = "inch"\n'], ids=["mm", "inch", "inch in mm"])
def test_ticking_all_that_there_is_changes_no_tool(tmp_path: Path, text: str) -> None:
    before = _shop(tmp_path, text).cabinet
    for kind in ("drills", "taps", "reamers", "counterbores"):
        again = ticked(text, kind, [*_ticks(text, kind)])
        assert getattr(_shop(tmp_path, again).cabinet, kind) == getattr(before, kind)
        assert is_ticked(again) and not is_ticked(text)
        assert _ticks(again, kind) == _ticks(text, kind)


def test_one_tick_more_and_one_less(tmp_path: Path) -> None:
    text = ticked(INCH, "taps", ["2BA", "4BA"])
    assert {one.words for one in _shop(tmp_path, text).cabinet.taps} == {"2BA", "4BA"}
    text = ticked(text, "reamers", ["12.7000", "4.7625"])
    assert [one.words for one in _shop(tmp_path, text).cabinet.reamers] == ["3/16 in", "1/2 in"]
    text = ticked(text, "reamers", [])
    assert _shop(tmp_path, text).cabinet.reamers == ()
    assert {one.words for one in _shop(tmp_path, text).cabinet.taps} == {"2BA", "4BA"}
    with pytest.raises(KeyError):
        ticked(text, "taps", ["2CA"])


def test_what_is_said_of_a_tool_stays_while_it_is_ticked(tmp_path: Path) -> None:
    text = (
        'units = "mm"\n[drawer] # mine\n'
        'drills = [{ from = 3, to = 3.3, step = 0.1 }, "#27", { diameter = 8, flute = 90 }]\n'
        'taps = ["M4"]  # bought\n'
        "countersinks = [{ diameter = 12.7, point_angle = 82, tip_flat = 1 }, 12.7]\n"
    )
    names = [name for name in _ticks(text, "drills") if name != "3.1000"]
    after = ticked(text, "drills", [*names, "6.5000"])
    assert tomllib.loads(after)["drawer"]["drills"] == [
        "3 mm", "3.2 mm", "3.3 mm", "#27", {"diameter": 8, "flute": 90}, "6.5 mm",
    ]  # fmt: skip
    assert "[drawer] # mine" in after and 'taps = ["M4"]  # bought' in after
    assert set(_ticks(text, "countersinks")) == {"12.7000", "12.7000 82 deg"}
    after = ticked(text, "countersinks", ["12.7000 82 deg", "6.3000"])
    left = _shop(tmp_path, after).cabinet.countersinks
    assert [(one.diameter_mm, one.point_angle_deg) for one in left] == [(6.3, 90), (12.7, 82)]


def test_the_drawer_that_was_not_ticked_is_one_line() -> None:
    found = [
        Finding("stop", "thin-wall", "wall", holes=("a",)),
        Finding("warning", "not-in-drawer", "4BA tap is not in the drawer", holes=("b",)),
        Finding("warning", "not-in-drawer", "2BA tap is not in the drawer", holes=("c", "b")),
        Finding("note", "meeting", "they meet", holes=("d",)),
    ]
    told = until_ticked(found, 'units = "inch"\n')
    assert [one.kind for one in told] == ["thin-wall", "meeting", "not-in-drawer"]
    assert (told[-1].severity, told[-1].message) == ("note", NOT_TICKED)
    assert told[-1].holes == ("b", "c") and len(told[-1].folded) == 2
    assert until_ticked(found, '[drawer]\ntaps = ["M4"]\n') == found
    assert until_ticked(found[:1], "") == found[:1]
