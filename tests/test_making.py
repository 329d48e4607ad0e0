"""Each figure of the making changed in turn: the witness refuses the listing and the program.

The witness has figures of its own, so that none of planning's can change alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from jobs import millprep, named, part_text, plan_of

from millprep.base.records import as_dict, replace
from millprep.model import part
from millprep.model.kinds import HOLE_KINDS, SPOT
from millprep.model.part import Hole
from millprep.model.shop import Cabinet
from millprep.planning import drawer, making, pilots
from millprep.planning.drawer import Choice
from millprep.planning.making import MAKING
from millprep.sums import cutting
from millprep.witness import leavings

Patch = Callable[[pytest.MonkeyPatch], None]
STOCK = "size = [120, 90, 30]"
_SIZES = {"drill": "14 mm", "tap": "M8", "ream": "8 mm", "clear": "M5", "bore": "10 mm"}
HOLES = (
    "".join(
        f'[[hole]]\n{word} = "{_SIZES[word]}"\ndepth = {depth}\nat = [{x}, {y}]\n'
        for x, word in zip((14, 34, 52, 70, 98), HOLE_KINDS, strict=True)
        for y, depth in ((22, '"through"'), (68, 14))
    )
    + """
[[hole]]
clear = "M4"
depth = "through"
from_both_ends = true
at = [84, 45]
[[hole]]
clear = "M4"
depth = "through"
counterbore = { diameter = 8, depth = 4 }
at = [60, 45]
"""
)
# What the witness says of a hole; nothing that `check` or the dry run would say by itself.
WITNESSED = {"too-shallow", "too-deep", "wrong-diameter", "operation-missing"}


def changes() -> Iterator[tuple[str, Patch]]:
    """(words, change) of every figure, tool and switch, up and down where it is a number."""
    for kind, row in MAKING.items():
        if kind is SPOT:  # no part file has it: tests/test_leaving.py
            continue
        for key, value in as_dict(row).items():
            if key in ("operation", "speed", "before"):  # words, not figures; asked by nobody here
                continue
            for other in _others(key, value, row.operation != "drill"):
                changed = replace(row, **{key: other})
                if key == "drill":  # else `check` stops it before there is a sheet
                    changed = replace(changed, before=None)
                yield (
                    f"{kind} {key} {getattr(other, '__name__', other)}",
                    lambda patch, kind=kind, changed=changed: patch.setitem(MAKING, kind, changed),
                )
    for module, name in (
        (making, "SPOT_OVER_SIZE_MM"),
        (making, "SPOT_START_SHARE"),
        (cutting, "LEAST_BREAKTHROUGH_MM"),
        (cutting, "BREAKTHROUGH_SHARE"),
        (part, "ENDS_OVERLAP_MM"),
        (pilots, "ABOVE_TIP_MM"),
    ):
        for times in (0.5, 1.5):
            yield (
                f"{name} x {times}",
                lambda patch, module=module, name=name, times=times: patch.setattr(
                    module, name, times * getattr(module, name)
                ),
            )


def _too_large(cabinet: Cabinet, hole: Hole, material: object = None) -> Choice:
    return drawer.drill_asked(cabinet, hole.diameter_mm + 0.5, "too large")


def _nothing(cabinet: Cabinet, hole: Hole) -> Sequence[Choice]:
    return ()


def _others(key: str, value: object, is_followed: bool) -> list[Any]:
    if key == "drill":
        return [_too_large]
    if key == "finishers":
        return [_nothing] if is_followed else []
    return [False] if value is True else [value / 2, value * 1.5] if value else []  # type: ignore[operator]  # a float


CHANGES = dict(changes())


@pytest.fixture
def trial(in_folder: Path) -> Path:
    path = in_folder / "trial.toml"
    path.write_text(part_text(HOLES, STOCK), encoding="utf-8")
    return path


def refused(trial: Path, *words: str) -> set[str]:
    """Kinds of the witness's stops on the sheet asked for, each of them of a hole."""
    ran = millprep(words[0], trial, *words[1:], "--format", "json")
    assert ran.status == 1
    stops = {one["kind"] for one in ran.json["findings"] if one["severity"] == "stop"}
    return stops & WITNESSED


SHEETS = (("listing",), ("program", "-o", "p.nc"))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda words: words[0])
def test_as_it_is_the_sheet_is_given(trial: Path, sheet: tuple[str, ...]) -> None:
    assert millprep(sheet[0], trial, *sheet[1:]).status == 0


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda words: words[0])
@pytest.mark.parametrize("change", CHANGES)
def test_each_figure_is_witnessed(
    trial: Path, change: str, sheet: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    CHANGES[change](monkeypatch)
    assert refused(trial, *sheet)


def test_every_kind_has_a_row_in_each_table() -> None:
    assert set(MAKING) == {*HOLE_KINDS.values(), SPOT}
    assert leavings._LEAVINGS.keys() == {*HOLE_KINDS, SPOT.word}


def test_a_blind_reamed_hole_is_drilled_below_the_end_of_the_reamer_at_hand() -> None:
    """The lead is the tool's own: a reamer with a long one wants a deeper hole."""
    long = "base = 'metric'\n[drawer]\nreamers = [{ diameter = 6, lead = 4 }]\n"
    plan = plan_of('[[hole]]\nream = "6 mm"\ndepth = 8\nat = [9, 9]\n', STOCK, shop=long)
    assert named(plan, "drill").full_mm > -named(plan, "ream").z_mm == 12.0


def test_the_drawing_says_how_deep_a_bore_is_drilled() -> None:
    """Where it does not, the drill's tip stays inside the bore's flat bottom."""
    bore = "[[hole]]\nbore = 19\ndepth = 9\nat = [30, 20]\n"
    assert named(plan_of(bore, STOCK), "drill").z_mm > -9.0
    assert named(plan_of(bore + "drill_depth = 10\n", STOCK), "drill").full_mm == 10.0
