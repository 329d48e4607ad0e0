"""A thousand edits by chance through a page's own ways: nothing is lost, all is taken back.

Each stretch takes one example, with remarks put above, in and behind its tables, in one of four
kinds of text file. What the page shows says which boxes there are; what is typed is right, wrong or
nonsense. After each edit the file reads; lines that were not edited are the same bytes, and every
remark is there but those of a line that was taken out. At the end every step is taken back.
"""

from __future__ import annotations

import html
import os
import random
import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import Asking
from shares import share_of
from test_piece import Sheet

from millprep import read_part
from millprep.base.bounds import MOST_STATES

ROOT = Path(__file__).parents[2] / "parts"
EXAMPLES = sorted(
    str(path.relative_to(ROOT))
    for path in ROOT.rglob("*.toml")
    if "[[member]]" not in (text := path.read_text()) and "assembly" not in text[:200]
)
EDITS = 1_000 // len(EXAMPLES) + 1
TABLES = {"h": "hole", "s": "setup", "d": "dimension"}
TYPED = [
    "1 1/4 in", "0,375", ".375", "9.53mm", '½"', "15/64", "3", "6.5", "12", "-4", "M4", "4BA",
    "No. 27", "thro'", "into pivot", "M4 socket head", "3/16 deep", "press", "H7", "0.05",
    "", "", "", "1/", "-", "abc", '"', "'", "#", "3 # no remark", "é ½ \\", "[1, 2]", "{", "'''",
    "1e3", "1, 2", "5, 6; 7", "0", "nan", "true", "x = 1\n[hole]", " ", "\t7",
]  # fmt: skip
CALL_OUTS = [
    {"what": "drill", "size": "5", "deep": "thro'", "face": "top", "where": "at", "at#0": "9"},
    {"what": "tap", "size": "M3", "deep": "6", "where": "at", "at#0": "4", "at#1": "5"},
    {"what": "clear", "size": "M3", "deep": "thro'", "where": "circle", "circle.count": "3"},
    {},
]
_HEADER = re.compile(r"\[\[?[a-z][\w.]*\]\]?\s*(#.*)?\r?$")
_OF_LINE = re.compile(r"\[\[?(hole|setup|dimension)\.")
"""Header of a table of a line: it is part of it."""
_BOX = re.compile(r'<(select|input) ?[^>]*?data-key="([^"]*)"[^>]*?data-kept="([^"]*)"[^>]*>')


def remarked(text: str, kind: int) -> bytes:
    """The text with a remark above, at, in and after each table, as one of four kinds of file."""
    lines: list[str] = []
    for number, line in enumerate(text.rstrip("\n").split("\n")):
        if _HEADER.match(line):
            here = f"remark {number}"
            lines += [f"# {here} above", f"{line.partition('#')[0].rstrip()} # {here} at"]
            lines += [f"  # {here}  in"]
        else:
            lines.append(line)
    lines += ["", "# the last remark"]
    mark, end = (b"", b"\xef\xbb\xbf")[kind % 2], ("\n", "\r\n")[kind // 2 % 2]
    return mark + end.join(lines).encode() + (end.encode() if kind < 3 else b"")


def blocks(data: bytes) -> list[str]:
    """The top of a file, then each table from its header on, with the tables in it."""
    found = [""]
    for line in data.decode("utf-8-sig").splitlines(keepends=True):
        if _HEADER.match(line.rstrip("\n")) and not _OF_LINE.match(line):
            found.append("")
        found[-1] += line
    return found


def remarks(data: bytes) -> set[str]:
    """Those of `remarked`, as they stand, without the last line's end."""
    text = data.decode("utf-8-sig")
    written = r"^[ ]*# remark [^\r\n]*|(?<=\] )# remark [^\r\n]* at|# the last remark"
    return set(re.findall(written, text, re.MULTILINE))


def says(box: str, typed: str) -> bool:
    """Whether a box holds what was typed, the words round a figure taken off.

    Several figures may have gone to boxes of their own.
    """
    as_file = {"yes": "true", "no": "false", ".375": "0.375"}.get(typed, typed.strip())
    return box == as_file or (box in typed and (box != "" or "," in typed))


class Person:
    """One who edits a part by chance."""

    def __init__(self, sheet: Sheet, chance: random.Random) -> None:
        self.sheet, self.chance = sheet, chance
        self.seen = {self.data}

    @property
    def data(self) -> bytes:
        return self.sheet.path.read_bytes()

    def lines(self) -> dict[str, str]:
        """The page's lines by id, the title block as ""."""
        address = f"{self.sheet.address}/lines"
        ids = [*self.sheet.asking.get(address).json["marks"]]
        shown = self.sheet.asking.get(f"{address}?ids={','.join(ids)}").json
        return dict(zip(ids, shown["lines"], strict=True)) | {"": shown["title"]}

    def with_more(self, line: str, shown: str) -> str:
        """A line with what comes when more is asked for."""
        return shown + self.sheet.get(f"/more/{line}") if line else shown

    def edit(self) -> None:
        """One edit, and what must be so after it."""
        before, shown = self.data, self.lines()
        kinds = [self.figure] * 12 + [self.letters] * 2 + [self.add, self.place, self.remove] * 2
        kinds += [self.move, self.strike, self.elsewhere, self.text, self.back, self.forward]
        kind = self.chance.choice(kinds)
        line = self.chance.choice([*shown, ""])
        kind(line, shown)
        self.judge(before, line, kind.__name__, shown)
        self.seen.add(self.data)

    def judge(self, before: bytes, line: str, kind: str, shown: dict[str, str]) -> None:
        after = self.data
        tomllib.loads(after.decode("utf-8-sig"))
        read_part(self.sheet.path)
        lost = remarks(before) - remarks(after)
        old, new = blocks(before), blocks(after)
        if kind in ("back", "forward"):
            assert after in self.seen
        elif kind == "remove" and before != after:
            own = re.findall(r"# remark \d+ (?=at)", old[self.block_of(line, shown, old)])
            assert all(one.strip().startswith(tuple(own)) for one in lost), (line, lost)
        else:
            assert not lost, (kind, line, lost)
        if kind == "figure" and line and len(old) == len(new):
            at = self.block_of(line, shown, old)
            assert old[:at] + old[at + 1 :] == new[:at] + new[at + 1 :], (line, shown[line])
        if kind in ("letters", "strike", "place"):
            assert before == after

    def block_of(self, line: str, shown: dict[str, str], found: list[str]) -> int:
        """Which block a line of the file is; that of the top for one in pencil alone."""
        table = TABLES[line[0]]
        place = [one for one in shown if one[:1] == line[0]].index(line)
        own = [at for at, block in enumerate(found) if block.startswith(f"[[{table}]]")]
        return own[place] if place < len(own) else 0

    # what a person does

    def typed(self, line: str, shown: dict[str, str]) -> tuple[str, str, str] | None:
        """A box of the line, what stands in it, and what is typed."""
        whole = self.with_more(line, shown[line])
        found = list(_BOX.finditer(whole))
        if not found:
            return None
        box = self.chance.choice(found)
        key, kept = html.unescape(box[2]), html.unescape(box[3])
        if box[1] == "select":
            options = whole[box.end() :].partition("</select>")[0]
            words = re.findall(r'<option value="([^"]*)"', options)
            return key, kept, html.unescape(self.chance.choice(words))
        if 'type="checkbox"' in box[0]:
            return key, kept, self.chance.choice(["yes", "no"])
        return key, kept, self.chance.choice(TYPED)

    def figure(self, line: str, shown: dict[str, str]) -> None:
        if (found := self.typed(line, shown)) is not None:
            key, kept, text = found
            answer = self.sheet.typed(line, {key: text}, kept)
            assert "clash" not in answer, (line, key, kept, text, answer)
            now = answer.get("title") or self.with_more(line, answer["lines"][0])
            (box,) = (one for one in _BOX.finditer(now) if html.unescape(one[2]) == key)
            assert says(html.unescape(box[3]), text), (line, key, text, box[0])

    def letters(self, line: str, shown: dict[str, str]) -> None:
        """Of a box that is typed in: what is chosen from a list goes at once."""
        found = self.typed(line, shown)
        if found is not None and f'<select id="{line or "title"}-{found[0]}"' not in shown[line]:
            given = {"line": line, "key": found[0], "value": found[2]}
            assert self.sheet.asking.put(f"{self.sheet.address}/letters", given).status == 200

    def add(self, *_: object) -> None:
        table = self.chance.choice(["hole", "hole", "hole", "setup", "dimension"])
        typed = self.chance.choice(CALL_OUTS) if table == "hole" else {}
        self.sheet.post("add", table=table, typed=typed)

    def place(self, line: str, *_: object) -> None:
        if line:
            self.sheet.post("another-place", line=line)

    def remove(self, line: str, *_: object) -> None:
        if line:
            self.sheet.post("remove", line=line)

    def move(self, line: str, *_: object) -> None:
        self.sheet.post("move", line=line, by=self.chance.choice([-1, 1]))

    def strike(self, line: str, *_: object) -> None:
        self.sheet.post("strike-out", line=line)

    def elsewhere(self, *_: object) -> None:
        """An editor beside puts a remark at the top."""
        data = self.data
        at = 3 if data.startswith(b"\xef\xbb\xbf") else 0
        end = b"\r\n" if b"\r\n" in data else b"\n"
        self.sheet.path.write_bytes(data[:at] + b"# beside" + end + data[at:])

    def text(self, *_: object) -> None:
        """The text on its own page: a remark more, or a letter that breaks it."""
        mark = re.search(r'data-based-on="(\w+)"', self.sheet.get("/text"))
        assert mark
        text = self.data.decode() + self.chance.choice(["\n# more", "\n= broken"])
        given = {"text": text, "based_on": mark[1]}
        assert self.sheet.asking.put(f"{self.sheet.address}/text", given).status == 200

    def back(self, *_: object) -> None:
        self.sheet.post("step/back")

    def forward(self, *_: object) -> None:
        self.sheet.post("step/forward")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The examples; nothing waits for the disk."""
    monkeypatch.setattr(os, "fsync", lambda _: None)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    shutil.copytree(ROOT, tmp_path / "sheets")
    yield tmp_path / "sheets"


@pytest.mark.parametrize("stretch", share_of(len(EXAMPLES)))
def test_edits_by_chance_lose_nothing_and_are_taken_back(stretch: int, folder: Path) -> None:
    path = folder / EXAMPLES[stretch]
    first = remarked(path.read_text(), stretch % 4)
    path.write_bytes(first)
    read_part(path)
    with Asking(folder) as asking:
        asking.desk.kept.store._db.execute("PRAGMA synchronous = OFF")
        sheet = Sheet(asking, path)
        person = Person(sheet, random.Random(stretch))
        assert EDITS < MOST_STATES
        for _ in range(EDITS):
            person.edit()
        last = person.data
        steps = 0
        while "step/back" in asking.get(f"{sheet.address}/lines").json["steps"]:
            sheet.post("step/back")
            steps += 1
        assert person.data == first
        for _ in range(steps):
            sheet.post("step/forward")
        assert person.data == last


def test_of_two_lines_that_say_the_same_the_one_that_was_typed_in_changes(folder: Path) -> None:
    """Found by chance: pencil of the one went over to the other."""
    with Asking(folder) as asking:
        sheet = Sheet(asking, folder / "tie-bar.toml")
        for _ in range(2):
            sheet.post("add", table="hole", typed=CALL_OUTS[1])
        ids = list(asking.get(f"{sheet.address}/lines").json["marks"])
        first = [one for one in ids if one.startswith("h")][-2]
        sheet.typed(first, {"counterbore": "1/"})
        (line,) = sheet.typed(first, {"face": "front"})["lines"]
        assert 'data-kept="front"' in line
        assert 'value="1/"' in line


@pytest.mark.parametrize("broken", [b"", b"= broken"])
def test_what_is_typed_while_the_file_does_not_read_waits_on_its_line(
    broken: bytes, folder: Path
) -> None:
    """An editor beside leaves it empty for a moment, or half written."""
    path = folder / "tie-bar.toml"
    text = path.read_bytes()
    with Asking(folder) as asking:
        sheet = Sheet(asking, path)
        sheet.get()
        path.write_bytes(broken)
        answer = sheet.typed("h1", {"counterbore": "M3"})
        assert "does not read just now" in answer["say"]
        assert answer["gone"] == []
        for rest in ("", "/board", "/red-pencil"):
            sheet.get(rest)
        assert asking.get(f"{sheet.address}/lines").json["marks"] is None
        path.write_bytes(text)
        line = asking.get(f"{sheet.address}/lines?ids=h1").json["lines"][0]
        assert 'data-kept="M3"' in line and "in-pencil" in line
