"""Starter files: good as they stand, and every commented line good when it is put in."""

import re

import pytest

from millprep.base.findings import WordError
from millprep.infiles import read_part, read_shop, starter

UNITS = ("mm", "inch")
WHERE = ("at", "circle", "arc", "row", "grid", "corners", "chain", "polar")


@pytest.mark.parametrize("units", UNITS)
def test_part_starter_reads_without_a_finding(tmp_path, units):
    path = tmp_path / "part.toml"
    path.write_text(starter("part", units))
    part, findings = read_part(path)
    assert not findings
    assert part.units == units
    assert {hole.kind.word for hole in part.holes} >= {"clear", "tap", "ream", "drill"}


@pytest.mark.parametrize("units", UNITS)
def test_every_place_form_is_shown_and_good(tmp_path, units):
    """Each commented place line stands in for the one that is used."""
    text = starter("part", units)
    lines = [
        line.removeprefix("# ").split("   #")[0]
        for line in text.split("\n")
        if re.match(rf"# ({'|'.join(WHERE)})\b *=", line)
    ]
    assert {line.split(" =")[0].strip() for line in lines} == set(WHERE)
    used = re.search(r"^corners = .*$", text, re.MULTILINE)[0]
    path = tmp_path / "part.toml"
    for line in lines:
        origin = 'from = "pivot"\n' if line.startswith("polar") or "-" in line else ""
        path.write_text(text.replace(used, origin + line, 1))
        assert not read_part(path)[1], line


@pytest.mark.parametrize("units", UNITS)
def test_every_feature_line_is_good(tmp_path, units):
    """Each line under "More that a hole may have", given to a through hole of its own."""
    text = starter("part", units)
    more = text.split("# More that a hole may have:\n")[1].split("\n\n")[0]
    path = tmp_path / "part.toml"
    known = 0
    for line in more.split("\n"):
        line = line.removeprefix("# ").split("   #")[0].strip()
        key = line.split(" =")[0]
        what = "" if key == "bore" else "drill = 0.2\n" if units == "inch" else "drill = 5\n"
        depth = 'depth = "through"\n'
        if key == "drill_depth":
            depth = "depth = 0.4\n" if units == "inch" else "depth = 11\n"
        hole = f'[[hole]]\nname = "extra"\n{what}{depth}at = {{ centre_x = 0, centre_y = 0 }}\n'
        head, tail = text.split("# More that a hole may have:\n")
        path.write_text(f"{head}{hole}{line}\n{tail}")
        assert not read_part(path)[1], line
        known += 1
    assert known > 15


@pytest.mark.parametrize("units", UNITS)
def test_every_setup_line_is_good(tmp_path, units):
    text = starter("part", units)
    head, setup = text.split("# How the part is held, where the rule does not suit:\n")
    path = tmp_path / "part.toml"
    path.write_text(head + re.sub("^# ?", "", setup, flags=re.MULTILINE))
    part, findings = read_part(path)
    assert not findings
    (request,) = part.setups
    assert request.obstacles[0].name == "strap clamp"


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("is_commented", [True, False])
def test_shop_starter_reads(tmp_path, units, is_commented):
    text = starter("shop", units)
    if not is_commented:
        text = re.sub(r"^# (?=\[|\w+ = )", "", text, flags=re.MULTILINE)
        text = re.sub(r"^spindle = \{ speeds.*\n", "", text, flags=re.MULTILINE)
    path = tmp_path / "shop.toml"
    path.write_text(text)
    shop = read_shop(str(path))
    assert bool(shop.tools) != is_commented


def test_no_such_starter():
    with pytest.raises(WordError) as caught:
        starter("fixture", "mm")
    assert caught.value.message == 'there is no starter of the kind "fixture"'
    assert caught.value.remedy == "accepted: part, shop, assembly"
