"""Over random parts and random text: programs give back the holes, nothing ends in a traceback.

Derandomized, so that a failure is the same on every machine.
"""

import itertools
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, millprep, part_text

STOCK = "size = [90, 60, 20]"
# Places 15 mm apart on each pair of opposite faces, so that walls are never thin.
CELLS = {
    ("top", "bottom"): list(itertools.product((15, 30, 45, 60, 75), (15, 30, 45))),
    ("front", "back"): [(x, 10) for x in (15, 30, 45, 60, 75)],
    ("left", "right"): [(y, 10) for y in (15, 30, 45)],
}
SMALL_OFFSET = st.integers(-1000, 1000).map(lambda counts: counts / 1000)
MAKING = st.sampled_from(
    ["", "", "", "spot = false\n", 'peck = "none"\n', "peck = [4, 2]\n", 'fit = "H7"\n']
)


@st.composite
def what(draw: st.DrawFn) -> str:
    """The kind of a hole, at most 11 mm wide at its widest."""
    kind = draw(st.sampled_from(["drill", "tap", "ream", "clear", "bore", "opened"]))
    if kind == "drill":
        tenths = draw(st.integers(20, 100))
        extra = draw(st.sampled_from(["", "spotface = { diameter = 11, depth = 0.5 }\n"]))
        return f"drill = {tenths / 10}\n{extra}" + draw(
            MAKING.filter(lambda m: tenths > 40 or "none" not in m)
        )
    if kind == "tap":
        size = draw(st.sampled_from(["M3", "M4", "M5", "M6", "#10-32", "2BA", "M6 left hand"]))
        return f'tap = "{size}"\n' + draw(st.sampled_from(["", "countersink = { diameter = 7 }\n"]))
    if kind == "ream":
        return f'ream = "{draw(st.sampled_from(["4 mm", "5 mm", "1/4 in", "6 mm", "8 mm"]))}"\n'
    if kind == "bore":
        return f"bore = {draw(st.sampled_from([9, 10.5, 11]))}\n"
    if kind == "opened":
        return 'drill = 3.3\nopened = { clear = "M4", depth = 2.5 }\n'
    screw = draw(st.sampled_from(["M3", "M4", "M5"]))
    mouth = draw(st.sampled_from(["", f'counterbore = "{screw} socket head"\n']))
    return f'clear = "{screw}"\n{mouth}'


@st.composite
def holes(draw: st.DrawFn) -> str:
    """Some holes on any faces, blind; on the large faces through too, with far features."""
    text = ""
    for faces, cells in CELLS.items():
        chosen = draw(st.lists(st.sampled_from(cells), unique=True, max_size=3))
        for number, (a, b) in enumerate(chosen):
            kind = draw(what())
            face = draw(st.sampled_from(faces))
            is_through = faces[0] == "top" and draw(st.booleans())
            depth = '"through"' if is_through else str(draw(st.integers(55, 75)) / 10)
            far = ""
            if is_through and draw(st.integers(0, 3)) == 0:
                far = "far = { countersink = { diameter = 11.5 } }\n"
            if is_through and not far and draw(st.integers(0, 3)) == 0:
                far = "from_both_ends = true\n"
            at = f"[{a + draw(SMALL_OFFSET)}, {b + draw(SMALL_OFFSET)}]"
            text += (
                f'[[hole]]\nname = "{face} {number}"\nface = "{face}"\n{kind}{far}'
                f'at = {at}\ndepth = {depth}\nallow = ["holes overlap"]\n'
            )
    return text or '[[hole]]\nname = "only"\ndrill = 4\nat = [15, 15]\ndepth = 6\n'


SETUPS = st.sampled_from(
    ["", "", '[[setup]]\nface = "top"\ntowards_you = "left"\n',
     '[[setup]]\nface = "top"\nzero = { x = "right", y = "centre" }\n',
     '[[setup]]\nface = "bottom"\n[[hole]]\nname = "corner"\nface = "bottom"\ndrill = 3\n'
     "at = [84, 54]\ndepth = 6\n",
     '[[setup]]\nface = "front"\ntowards_you = "right"\n[[hole]]\nname = "corner"\n'
     'face = "front"\ndrill = 3\nat = [84, 5]\ndepth = 6\n']
)  # fmt: skip
CONTROLS = st.sampled_from(
    ["", "cycles = false", 'cycles = ["G81", "G84"]', 'tool_change = "files"', 'units = "inch"',
     'tool_change = "stop"\ncomments = ";"', "length_offset = false", 'tapping = "none"',
     'tapping = "rigid"\noffsets = { G54 = [200, 80, -200] }\n[mill]\n'
     "travel = { x = [-400, 600], y = [-400, 400], z = [-280, 0] }"]
)  # fmt: skip
MATERIALS = st.sampled_from(["mild steel", "aluminium", "brass", "stainless steel 304", "acetal"])
MEASURED = st.sampled_from(["", "\nmeasured = { x = 89.91, z = 19.95 }"])


@settings(max_examples=40, derandomize=True)
@given(holes(), SETUPS, CONTROLS, MATERIALS, MEASURED)
def test_any_parts_program_gives_back_its_holes(
    drawn: str, setups: str, control: str, material: str, measured: str
) -> None:
    """Status 0: read back, dry-run without a stop, compared with the part to 0.0005 mm."""
    text = part_text(drawn + setups, STOCK + measured, material=material, lay="chosen")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "part.toml").write_text(text)
        (folder / "shop.toml").write_text(f"[control]\n{control}\n")
        ran = millprep(
            "program", folder / "part.toml", "-o", folder / "a.nc", "--shop", folder / "shop.toml"
        )
        assert ran.status == 0, ran.err + text
        assert list(folder.glob("*.nc"))
        assert "peck" in drawn or "a bite of" not in ran.err, ran.err + text


@settings(max_examples=25, derandomize=True)
@given(
    holes(),
    SETUPS,
    st.sampled_from(["tool", "hole"]),
    st.sampled_from(["mm", "inch"]),
    st.sampled_from(["text", "json", "csv"]),
    st.sampled_from(["metric", "inch"]),
)
def test_any_parts_listing_is_handed_over(
    drawn: str, setups: str, order: str, units: str, form: str, shop: str
) -> None:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "part.toml"
        path.write_text(part_text(drawn + setups, STOCK, lay="chosen"))
        ran = millprep(
            "listing", path, "--order", order, "--units", units, "--format", form, "--shop", shop
        )
    assert ran.status == 0, ran.err + path.name
    assert ran.out


@settings(max_examples=25, derandomize=True)
@given(
    holes(),
    SETUPS,
    st.sampled_from(["tools", "inspect"]),
    st.sampled_from(["text", "json", "csv", "html"]),
    st.sampled_from(["metric", "inch"]),
)
def test_any_parts_tools_and_inspection_are_handed_over(
    drawn: str, setups: str, command: str, form: str, shop: str
) -> None:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "part.toml"
        path.write_text(part_text(drawn + setups, STOCK, lay="chosen"))
        ran = millprep(command, path, "--format", form, "--shop", shop)
    assert ran.status == 0, ran.err + path.name
    assert ran.out


def judged(data: bytes, arguments: Callable[[Path], list[object]]) -> int:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "file"
        path.write_bytes(data)
        ran = millprep(*arguments(path))
        assert ran.status in (0, 1, 2)
        assert ran.status == 0 or "stop: " in ran.err + ran.out
        return ran.status


def as_part(path: Path) -> list[object]:
    return ["check", path]


def as_shop(path: Path) -> list[object]:
    part = path.with_name("part.toml")
    part.write_text(part_text("[[hole]]\ndrill = 4\nat = [20, 20]\ndepth = 5\n"))
    return ["check", part, "--shop", path]


@pytest.mark.parametrize("arguments", [as_part, as_shop])
def test_any_text_ends_in_findings(arguments: Callable[[Path], list[object]]) -> None:
    @settings(max_examples=80, derandomize=True)
    @given(st.one_of(st.binary(max_size=300), st.text(max_size=300).map(str.encode)))
    def judge(data: bytes) -> None:
        judged(data, arguments)

    judge()


SHOP = Path(__file__).parent.parent / "millprep" / "infiles" / "shops" / "metric.toml"
PIECES = st.sampled_from(
    ["", "[", "]", "{", "}", '"', "=", "\n", "[[hole]]", "nan", "-", "1e999", "0", "''", "#", ",",
     'depth = "through"', "true", "1979-05-27", "\\", "\0", "Ø", "[[setup]]", "inf", "99999999"]
)  # fmt: skip


@pytest.mark.parametrize(
    ("source", "arguments"),
    [(part_text(RICH, RICH_STOCK), as_part), (SHOP.read_text(encoding="utf-8"), as_shop)],
    ids=["part", "shop"],
)
def test_any_slip_of_the_pen_ends_in_findings(
    source: str, arguments: Callable[[Path], list[object]]
) -> None:
    edits = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), PIECES), min_size=1, max_size=3)

    @settings(max_examples=120, derandomize=True)
    @given(edits)
    def judge(slips: list[tuple[float, int, str]]) -> None:
        text = source
        for where, dropped, piece in slips:
            at = int(where * len(text))
            text = text[:at] + piece + text[at + dropped :]
        judged(text.encode(), arguments)

    judge()


@settings(max_examples=60, derandomize=True)
@given(
    st.lists(
        st.text(st.characters(codec="utf-8"), max_size=20).filter(lambda w: not w.startswith("-")),
        min_size=1,
        max_size=4,
    )
)
def test_any_words_looked_up(words: list[str]) -> None:
    assert millprep("lookup", *words).status in (0, 2)
