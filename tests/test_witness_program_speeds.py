"""A program whose S or F is wrong is not handed over, whichever tool it is."""

import re
from collections.abc import Callable
from functools import cache

import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, part_of, shop_of

from millprep.base.records import replace
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.proven.program import Programs, programs
from millprep.writers import program as writer

SHOPS = {"metric": shop_of(), "inch": shop_of('base = "inch"')}
PARTS = {path.stem: read_part(path)[0] for path in EXAMPLE_PARTS}
PARTS["every kind"] = part_of(RICH, RICH_STOCK)
RANGE = shop_of("[mill]\nspindle = { min = 60, max = 2500 }\n")
Spoil = Callable[[str], str]
BROKEN = [
    ("S", 1.5),
    ("S", 3),
    ("S", 10),
    ("S", 1 / 3),
    ("F", 1.5),
    ("F", 3),
    ("F", 10),
    ("F", 1 / 5),
]


def times(*broken: tuple[str, float], only: int | None = None, first: int = 0) -> Spoil:
    """A writer that multiplies S or F of a tool, or of all, the tools taking turns at `broken`."""

    def spoiled(text: str) -> str:
        tool, lines = 0, []
        for line in text.splitlines():
            change = re.match(r"T(\d+)", line)
            tool = int(change[1]) if change else tool
            letter, factor = broken[(tool + first) % len(broken)]
            if only in (None, tool) and not line.startswith("("):
                line = _multiplied(line, letter, factor)
            lines.append(line)
        return "\n".join(lines) + "\n"

    return spoiled


def _multiplied(line: str, letter: str, factor: float) -> str:
    return re.sub(
        rf"\b{letter}([\d.]+)", lambda found: f"{letter}{float(found[1]) * factor:.4f}", line
    )


def written(part: Part, shop: Shop, patch: pytest.MonkeyPatch, spoil: Spoil) -> Programs:
    sound = writer.programs_of
    patch.setattr(
        writer, "programs_of",
        lambda *given: [replace(one, text=spoil(one.text)) for one in sound(*given)],
    )  # fmt: skip
    return programs(part, shop)


def tools_told(handed: Programs) -> set[tuple[str | None, str, str]]:
    """(kind, file, "tool n") of each stop."""
    return {
        (one.kind, str(one.file), one.message.partition(":")[0])
        for one in handed.findings
        if one.kind in ("wrong-speed", "wrong-feed") and one.severity == "stop"
    }


@cache
def tools_in(part: str, shop: str) -> list[tuple[str, int, str]]:
    """(file, number, kind) of every tool that the sound programs use."""
    tools = re.compile(r"^\(TOOL (\d+) (\D+?) \d", re.MULTILINE)
    return [
        (str(one.path), int(number), kind)
        for one in programs(PARTS[part], SHOPS[shop]).files
        for number, kind in tools.findall(one.data.decode())
    ]


def check(part: str, shop: str, patch: pytest.MonkeyPatch, *broken: tuple[str, float]) -> None:
    """Each tool is told, but for a tap's feed, which is its pitch each turn; nothing is given."""
    first = len(part)  # another of them for tool 1 of each part
    wanted = {
        ("wrong-speed" if letter == "S" else "wrong-feed", file, f"tool {number}")
        for file, number, kind in tools_in(part, shop)
        for letter, _ in [broken[(number + first) % len(broken)]]
        if letter == "S" or kind != "TAP"
    }
    handed = written(PARTS[part], SHOPS[shop], patch, times(*broken, first=first))
    assert wanted
    # what goes round is fed by what its edge cuts, and told as that
    is_fed_amiss = {str(one.file) for one in handed.findings if "its edge is fed" in one.message}
    mills = {
        ("wrong-feed", file, f"tool {number}")
        for file, number, kind in tools_in(part, shop)
        if kind == "END MILL" and file in is_fed_amiss
    }
    assert tools_told(handed) | (mills & wanted) == wanted
    assert handed.files == ()


@pytest.mark.parametrize("shop", SHOPS)
@pytest.mark.parametrize("part", PARTS)
def test_no_program_with_wrong_speeds_and_feeds_is_handed_over(
    part: str, shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    check(part, shop, monkeypatch, *BROKEN)


@pytest.mark.parametrize("shop", SHOPS)
@pytest.mark.parametrize("broken", BROKEN)
def test_whatever_is_wrong_with_all_of_them(
    shop: str, broken: tuple[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    check("every kind", shop, monkeypatch, broken)


@pytest.mark.parametrize("broken", BROKEN)
def test_nor_one_of_a_mill_without_steps(
    broken: tuple[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    part = PARTS["every kind"]
    assert programs(part, RANGE).files
    handed = written(part, RANGE, monkeypatch, times(broken))
    assert handed.files == ()
    assert len(tools_told(handed)) > 15


@pytest.mark.parametrize("control", [
    'tool_change = "files"', "cycles = false", 'units = "inch"', 'comments = "none"',
    'tapping = "none"', 'tapping = "reversing head"', 'tapping = "rigid"', "tool_numbers",
])  # fmt: skip
def test_however_the_control_wants_it(control: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if control == "tool_numbers":
        shop = shop_of(
            '[[tool]]\nnumber = 7\nkind = "reamer"\ndiameter = "1/4 in"\ncarbide = true\n'
        )
    else:
        shop = shop_of(f"[control]\n{control}\n")
    part = PARTS["every kind"]
    assert programs(part, shop).files
    handed = written(part, shop, monkeypatch, times(("S", 3), ("F", 3)))
    assert len(tools_told(handed)) > 20


def test_one_tool_alone_is_told_at_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    part, shop = PARTS["every kind"], SHOPS["metric"]
    handed = written(part, shop, monkeypatch, times(("F", 1.5), only=2))
    told = [one for one in handed.findings if one.kind == "wrong-feed"]
    assert {one.message.partition(":")[0] for one in told} == {"tool 2"}
    assert all(one.line for one in told)


def test_a_feed_of_one_hole_alone_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not only the first that a tool is fed at."""

    def spoil(text: str) -> str:
        *_, last = re.finditer(r" F([\d.]+)", text)
        return f"{text[: last.start()]} F{float(last[1]) * 1.5:.1f}{text[last.end() :]}"

    shop = shop_of("[control]\ncycles = false\n")
    handed = written(PARTS["every kind"], shop, monkeypatch, spoil)
    assert [one for one in handed.findings if one.kind in ("wrong-feed", "tap-feed")]
    assert handed.files == ()
