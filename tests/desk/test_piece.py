"""The page of a part: what is typed is put into the file where it reads, else waits in pencil."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import quote

import pytest
from asking import Asking

import millprep

PARTS = Path(__file__).parents[2] / "parts"
PLATE = """# A plate.
part = "Plate"
units = "inch"
material = "mild steel"

[stock]
size = [2, 1, 0.25] # as sawn

# The pivot.
[[hole]]
name = "pivot"
ream = "3/16"
depth = "through"
at = { left = "3/8", front = 0.625 }

[[hole]]
name = "screw"
clear = "2BA"
depth = "through"
at = [[1.25, 0.25], [1.75, 0.25]]
"""


class Sheet:
    """The page of one part, asked as its script asks."""

    def __init__(self, asking: Asking, path: Path) -> None:
        self.asking, self.path = asking, path
        self.address = f"/sheet/{asking.desk.files.of(path)}"

    def figure(self, line: str, before: str | None = None, **typed: str) -> dict:
        keys = {key.replace("__", "."): value for key, value in typed.items()}
        return self.typed(line, keys, before)

    def typed(self, line: str, keys: dict[str, str], before: str | None = None) -> dict:
        was = {} if before is None else {next(iter(keys)): before}
        given = {"line": line, "typed": keys, "before": was}
        return self.asking.post(f"{self.address}/figure", given).json

    def post(self, what: str, **given: object) -> dict:
        return self.asking.post(f"{self.address}/{what}", given).json

    @property
    def text(self) -> str:
        return self.path.read_text()

    @property
    def part(self) -> dict:
        return tomllib.loads(self.text)

    def get(self, rest: str = "") -> str:
        answer = self.asking.get(f"{self.address}{rest}")
        assert answer.status == 200, answer.text
        return answer.text


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Sheet]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = tmp_path / "sheets"
    folder.mkdir()
    path = folder / "plate.toml"
    path.write_text(PLATE)
    one = Sheet(Asking(folder), path)
    yield one
    one.asking.desk.close()


def test_a_figure_is_put_into_the_file_and_nothing_else_is_touched(sheet: Sheet) -> None:
    sheet.figure("h1", size="1/4", before="3/16")
    assert sheet.text == PLATE.replace('"3/16"', '"1/4"')


def test_an_edge_and_its_figure_are_boxes_of_their_own(sheet: Sheet) -> None:
    sheet.typed("h1", {"at#0e": "right"})
    assert sheet.part["hole"][0]["at"] == {"right": "3/8", "front": 0.625}
    sheet.typed("h2", {"at#1.0": "1 1/2"})
    assert sheet.part["hole"][1]["at"] == [[1.25, 0.25], ["1 1/2", 0.25]]


def test_what_does_not_read_waits_in_pencil_and_is_told_without_keys(sheet: Sheet) -> None:
    answer = sheet.figure("h1", size="1/")
    assert sheet.text == PLATE
    assert "1/" in answer["say"]
    assert "in-pencil" in answer["lines"][0]
    assert 'value="1/"' in sheet.get()
    assert "1 line in pencil" in sheet.get("/red-pencil")
    answer = sheet.post("strike-out", line="h1")
    assert 'value="3/16"' in answer["lines"][0]
    assert "in pencil" not in sheet.get("/red-pencil")


def test_a_new_hole_is_in_the_file_when_it_reads(sheet: Sheet) -> None:
    answer = sheet.post("add", table="hole", typed={"face": "top", "where": "at"})
    line = re.search(r'id="line-(\w+)"', answer["lines"][0])[1]
    for keys in ({"what": "tap"}, {"size": "4BA"}, {"deep": "thro'"}, {"at#0": "1"}):
        sheet.typed(line, keys)
        assert sheet.text == PLATE
    sheet.typed(line, {"at#1": "1/2"})
    assert sheet.text.startswith(PLATE)
    assert sheet.part["hole"][2] == {
        "face": "top", "tap": "4BA", "depth": "through", "at": [1, "1/2"],
    }  # fmt: skip
    assert f'id="line-{line}"' in sheet.get()


def test_step_back_gives_the_bytes_of_before(sheet: Sheet) -> None:
    sheet.figure("h1", size="1/4")
    sheet.post("remove", line="h2")
    assert len(sheet.part["hole"]) == 1
    sheet.post("step/back")
    sheet.post("step/back")
    assert sheet.text == PLATE
    sheet.post("step/forward")
    assert sheet.part["hole"][0]["ream"] == "1/4"


def test_two_windows_change_different_figures_and_both_stand(sheet: Sheet) -> None:
    sheet.figure("h1", size="1/4", before="3/16")
    sheet.figure("h1", deep="1/8", before="thro'")
    assert sheet.part["hole"][0] | {"ream": "1/4", "depth": "1/8"} == sheet.part["hole"][0]
    clash = sheet.figure("h1", size="5/16", before="3/16")["clash"]
    assert (clash["mine"], clash["theirs"]) == ("5/16", "1/4")
    assert sheet.part["hole"][0]["ream"] == "1/4"
    sheet.figure("h1", size="5/16", before="1/4")
    assert sheet.part["hole"][0]["ream"] == "5/16"


def test_a_change_in_an_editor_beside_is_kept(sheet: Sheet) -> None:
    sheet.get()
    sheet.path.write_text(PLATE.replace("# The pivot.", "# The pivot, hardened."))
    sheet.figure("h2", size="4BA")
    assert "# The pivot, hardened." in sheet.text
    assert 'clear = "4BA"' in sheet.text


def test_a_figure_never_comes_to_another_hole(sheet: Sheet) -> None:
    """The page shows what an editor has changed since; nothing was kept by showing it."""
    sheet.get()
    pivot = PLATE.index("# The pivot.")
    sheet.path.write_text(PLATE[:pivot] + PLATE[PLATE.index('[[hole]]\nname = "screw"') :])
    answer = sheet.asking.post(
        f"{sheet.address}/figure", {"line": "h1", "typed": {"note": "x"}, "before": {"note": ""}}
    )
    assert "note" not in sheet.text
    assert answer.status == 200 and answer.json["gone"] == ["h1"]


def test_another_hole_in_the_place_of_one_is_not_that_one(sheet: Sheet) -> None:
    sheet.get()
    at = PLATE.index('[[hole]]\nname = "screw"')
    other = '[[hole]]\nname = "oil way"\ndrill = "1/16"\ndepth = "1/8"\ncorners = { inset = 0.2 }\n'
    sheet.path.write_text(PLATE[:at] + other)
    sheet.asking.post(f"{sheet.address}/figure", {"line": "h2", "typed": {"note": "x"}})
    assert "note" not in sheet.text


def test_a_hole_renamed_in_an_editor_is_the_same_one(sheet: Sheet) -> None:
    sheet.get()
    sheet.path.write_text(PLATE.replace('"screw"', '"bolt"'))
    sheet.figure("h2", note="x")
    assert sheet.part["hole"][1] | {"name": "bolt", "note": "x"} == sheet.part["hole"][1]


def test_the_words_round_a_figure_are_taken_off(sheet: Sheet) -> None:
    sheet.figure("h1", deep="3/16 deep")
    assert sheet.part["hole"][0]["depth"] == "3/16"
    sheet.figure("h1", deep="right through")
    assert sheet.part["hole"][0]["depth"] == "through"


def test_the_title_block(sheet: Sheet) -> None:
    sheet.typed("", {"stock.size.1": "1 1/4"})
    assert sheet.part["stock"]["size"] == [2, "1 1/4", 0.25]
    assert "# as sawn" in sheet.text
    sheet.typed("", {"material": "brass"})
    assert sheet.part["material"] == "brass"
    answer = sheet.typed("", {"stock.size.0": "2 1/"})
    assert "in-pencil" in answer["title"]
    assert sheet.part["stock"]["size"][0] == 2


def test_other_units_are_told(sheet: Sheet) -> None:
    sheet.path.write_text(PLATE.replace('"3/8"', "0.375").replace('"3/16"', "0.1875"))
    assert "in millimetres now: step back" in sheet.typed("", {"units": "mm"})["told"]
    assert "told" not in sheet.typed("", {"material": "brass"})


def test_letters_are_kept_before_their_box_is_left(sheet: Sheet) -> None:
    for letters in ("1", "1 ", "1 1"):
        sheet.asking.put(
            f"{sheet.address}/letters", {"line": "h1", "key": "size", "value": letters}
        )
    assert sheet.text == PLATE
    assert 'value="1 1"' in sheet.get()
    again = Sheet(Asking(sheet.path.parent), sheet.path)
    assert 'value="1 1"' in again.get()
    again.figure("h1", size="1/4", before="3/16")
    assert 'value="1 1"' not in again.get()
    again.asking.desk.close()


def test_places_that_name_their_edges_are_shown_and_one_figure_is_changed(sheet: Sheet) -> None:
    both = 'at = [{ left = "3/8", centre_y = 0 }, { right = "3/8", centre_y = 0 }]'
    sheet.path.write_text(PLATE.replace("at = [[1.25, 0.25], [1.75, 0.25]]", both))
    page = sheet.get()
    for key, value in (("at#0.0", "3/8"), ("at#1.0e", "right"), ("at#1.1", "0")):
        assert re.search(rf'data-key="{key}" data-kept="{value}"', page), key
    sheet.typed("h2", {"at#1.0": "1/2"}, "3/8")
    assert both.replace('right = "3/8"', 'right = "1/2"') in sheet.text


def test_on_a_centre_line_no_figure_is_wanted_and_half_a_place_says_so(sheet: Sheet) -> None:
    line = re.search(r"line-(h\d+)", sheet.post("add", table="hole")["lines"][0])[1]
    sheet.typed(line, {"what": "drill", "size": "1/4", "deep": "thro'"})
    answer = sheet.typed(line, {"at#0": "1/2"})
    assert "both figures" in answer["say"]
    sheet.typed(line, {"at#1e": "centre_y"})
    assert sheet.part["hole"][2]["at"] == ["1/2", {"centre_y": 0}]


def test_a_hole_goes_down_into_the_one_of_a_letter(sheet: Sheet) -> None:
    sheet.figure("h2", deep="into A")
    assert "pivot" in sheet.get()
    assert "into A" not in sheet.text


def test_a_line_without_a_name_goes_by_its_letter(sheet: Sheet) -> None:
    sheet.path.write_text(PLATE.replace('name = "screw"\n', "").replace("0.25], [1", "0.02], [1"))
    said = re.sub("<[^>]*>", "", sheet.get("/red-pencil"))
    assert "B 1" in said


def test_another_place_makes_a_list_of_singles(sheet: Sheet) -> None:
    answer = sheet.post("another-place", line="h1")
    assert "at#1.1" in answer["lines"][0]
    assert sheet.text == PLATE
    sheet.typed("h1", {"at#1.0": "1"})
    assert sheet.text == PLATE
    sheet.typed("h1", {"at#1.1": "0.3"})
    assert sheet.part["hole"][0]["at"] == [{"left": "3/8", "front": 0.625}, [1, 0.3]]


def test_sizes_and_names_are_offered(sheet: Sheet) -> None:
    assert "No. 27" in sheet.get("/offers?of=sizes&typed=27&kind=drill")
    assert "4BA" in sheet.get("/offers?of=threads&typed=4b")
    assert "pivot" in sheet.get("/offers?of=holes&typed=pi")


def test_a_call_out_is_laid_out_and_agreed_to(sheet: Sheet) -> None:
    words = "2 holes No. 27, c'bore 5/16 x 1/8 deep, thro'"
    laid = sheet.get(f"/call-out?call_out={words.replace(' ', '+')}")
    assert "No. 27" in laid
    assert "put it in the list" in laid


COVER = """part = "Cover"
units = "inch"
material = "brass"

[stock]
diameter = "1 3/4"
length = "3/8"

[datum]
x = "centre"
y = "centre"
"""


def test_the_cover_as_it_is_printed(sheet: Sheet) -> None:
    """Places worked out by hand: 5/8 in by the sine and cosine of 45 degrees."""
    path = sheet.path.parent / "cover.toml"
    path.write_text(COVER)
    cover = Sheet(sheet.asking, path)
    words = "4 holes No. 27 thro', c'bore 5/16 x 3/16 deep, on 1 1/4 P.C.D., at 45 deg"
    laid = cover.get(f"/call-out?call_out={quote(words)}")
    typed = json.loads(unescape(re.search(r"data-with='([^']*)'", laid)[1]))
    cover.post("add", **typed)
    part, _ = millprep.read_part(path)
    each = 22.225 + 0.4419417 * 25.4
    other = 22.225 - 0.4419417 * 25.4
    places = {tuple(round(float(one), 4) for one in hole.centre_mm[:2]) for hole in part.holes}
    assert places == {(round(x, 4), round(y, 4)) for x in (each, other) for y in (each, other)}
    assert "mm" not in cover.get("/red-pencil")


def test_a_call_out_on_another_face_with_its_name_before_it(sheet: Sheet) -> None:
    laid = sheet.get(f"/call-out?face=left&call_out={quote('oil way 1/16 x 1/8 deep')}")
    typed = json.loads(unescape(re.search(r"data-with='([^']*)'", laid)[1]))["typed"]
    assert (typed["name"], typed["face"], typed["deep"]) == ("oil way", "left", "1/8")


def test_the_text_beside_the_form(sheet: Sheet) -> None:
    page = sheet.get("/text")
    mark = re.search(r'data-based-on="(\w+)"', page)[1]
    broken = PLATE.replace('ream = "3/16"', 'ream = "3/')
    answer = sheet.asking.put(f"{sheet.address}/text", {"text": broken, "based_on": mark}).json
    assert answer["faults"][0]["line"] == 12
    assert sheet.text == PLATE
    assert "3/" in sheet.get("/text")
    answer = sheet.asking.put(
        f"{sheet.address}/text", {"text": PLATE + "# more\n", "based_on": mark}
    ).json
    assert not answer["faults"]
    assert sheet.text == PLATE + "# more\n"


@pytest.mark.parametrize("name", sorted(path.name for path in PARTS.glob("*.toml")))
def test_every_example_is_shown(name: str, sheet: Sheet) -> None:
    for path in PARTS.glob("*.toml"):
        shutil.copy(path, sheet.path.parent)
    if name.endswith("assembly.toml"):
        return
    one = Sheet(sheet.asking, sheet.path.parent / name)
    page = one.get()
    assert "style=" not in page + one.get("/board")
    assert "Traceback" not in one.get("/red-pencil")
    assert one.text == (PARTS / name).read_text()


def test_no_page_shows_a_key_of_the_file(sheet: Sheet) -> None:
    """But in the text of the file: a key has an underscore, or a dot, or stands before a sign."""
    for path in PARTS.glob("*.toml"):
        shutil.copy(path, sheet.path.parent)
    for path in sheet.path.parent.glob("*.toml"):
        if "assembly" in path.name:
            continue
        one = Sheet(sheet.asking, path)
        rests = ["", "/board", "/red-pencil", "/red-pencil/cures", "/compare"]
        for rest in [*rests, *(["/more/h1"] if 'id="line-h1"' in one.get() else [])]:
            words = unescape(re.sub(r"<[^>]*>", " ", one.get(rest)))
            found = re.findall(r"\b[a-z]+_[a-z_]+\b|\[\[|\w+ = ", words)
            assert not found, (path.name, rest, found)


def test_hostile_names_stay_words(sheet: Sheet) -> None:
    sheet.path.write_text(PLATE.replace('"pivot"', "'<img src=x onerror=alert(1)>'"))
    for rest in ("", "/board", "/red-pencil", "/compare", "/text"):
        assert "<img" not in sheet.get(rest)


def test_a_cure_that_alters_the_drawing_is_shown_agreed_to_and_written(sheet: Sheet) -> None:
    over = PLATE.replace('left = "3/8"', 'left = "1/32"')
    sheet.path.write_text(over)
    slug = re.search(r"cure\?finding=(\w+)", sheet.get("/red-pencil/cures"))[1]
    shown, address = sheet.get(f"/cure?finding={slug}"), f"{sheet.address}/cure"
    assert "pivot" in shown and "1/32" in shown
    assert sheet.asking.post(address, {"finding": slug}).status == 400
    assert sheet.text == over
    answer = sheet.asking.post(address, {"finding": slug, "agreed": True})
    assert answer.status == 200 and answer.json["moved_to"] == sheet.address
    place = sheet.part["hole"][0]["at"]["left"]
    assert sheet.text == over.replace('"1/32"', str(place)) and str(place) in shown
    assert sheet.asking.post(address, {"finding": slug, "agreed": True}).status == 409


def test_a_figure_that_was_agreed_to_stays_so_until_it_is_changed(sheet: Sheet) -> None:
    def agreed() -> int:
        return len(re.findall(r'class="[^"]*\bagreed\b', sheet.get("/compare")))

    page, none = sheet.get("/compare"), agreed()
    (name, text), *_ = re.findall(r'data-name="([^"]+)"[^>]*data-text="([^"]*3/16[^"]*)"', page)
    assert sheet.post("agree", name=unescape(name), text=unescape(text)) == {"agreed": name}
    assert agreed() == none + 1
    sheet.figure("h1", size="1/4")
    assert agreed() == none
