"""What the reader and the checks find, said at the desk: in the words of the form."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from millprep.base.findings import Finding, MillprepError, note, stop
from millprep.desk import saying
from millprep.desk.saying import said
from millprep.infiles import read_part
from millprep.infiles.fields import Table
from millprep.infiles.part_schema import OppositeTable, PartTable

INVALID = sorted((Path(__file__).parent.parent / "parts" / "invalid").glob("*.toml"))
# keys and words of the file that are no words of the workshop, or not as the file means them
NEVER = (
    r"TOML|tables?|braces?|brackets?|keys?|datum|stock|inset|polar|chain|allow|meets|skip|mirror"
)


def _found() -> Iterator[Finding]:
    for path in INVALID:
        with pytest.raises(MillprepError) as caught:
            read_part(path)
        yield from caught.value.findings


def _keys(shape: type[Table]) -> Iterator[str]:
    yield from shape.by_key()
    for inner in shape.tables_below().values():
        yield from _keys(inner)


def test_no_fault_of_the_reader_names_a_key() -> None:
    keys = {key for key in (*_keys(PartTable), *_keys(OppositeTable)) if "_" in key}
    assert "drill_depth" in keys
    never = re.compile(rf"\b(?:{'|'.join([NEVER, *keys])})\b")
    told = 0
    for finding in _found():
        one = said(finding)
        for text in (one.who, one.sentence, one.do):
            bare = re.sub(r"“[^”]*”", "", text)  # names and what was typed are the person's own
            if one.text_line is None and one.sentence:
                assert not never.search(bare), (finding.message, text)
            assert not re.search(r'[{}\[\]"]|\w =|\w\.[a-z]', bare) or one.text_line, text
        assert one.sentence and not one.sentence.startswith(":"), finding.message
        told += 1
    assert told > 150


def test_of_the_text_only_its_line_is_said() -> None:
    for finding in _found():
        one = said(finding)
        if finding.kind in ("bad-toml", "unreadable-file") and finding.line:
            assert one.sentence.startswith(f"line {finding.line} of the text: ")
            assert one.text_line == finding.line
            assert not re.search(
                r"\bTOML\b|\bbraces?\b|\btables?\b|\bkeys?\b", one.sentence + one.do
            )


def test_every_saying_is_said() -> None:
    """A message of the reader that is worded anew takes its saying with it."""
    bare = [saying._KEYS.sub("", _without_subject(one), count=1) for one in _found()]
    idle = [one["say"] for one in saying._sayings() if not any(map(one["of"].fullmatch, bare))]
    assert not idle


def _without_subject(finding: Finding) -> str:
    subject = saying._SUBJECT.match(finding.message)
    return finding.message[subject.end() :] if subject else finding.message


@pytest.mark.parametrize(
    ("kind", "message", "key", "where", "sentence"),
    [
        (
            "missing-key",
            'hole 3 "pivot": it does not say what the hole is',
            "hole[3]",
            ("hole", 2, "drill"),
            "this hole has no size yet",
        ),
        (
            "unknown-word",
            'hole 1: drill: "1/" is not a drill size',
            "hole[1].drill",
            ("hole", 0, "drill"),
            "“1/” is not a size yet",
        ),
        (
            "missing-key",
            "hole 2: its depth is missing",
            "hole[2]",
            ("hole", 1, "depth"),
            "how deep?",
        ),
        (
            "bad-value",
            "[stock]: size: [1, 2] is not three lengths",
            "stock.size",
            ("stock", None, "size.0"),
            "the blank has three figures: left to right, front to back, bottom to top",
        ),
        (
            "bad-value",
            "hole 3: circle.diameter: -4 is not above 0",
            "hole[3].circle.diameter",
            ("hole", 2, "circle.diameter"),
            "P.C.D.: -4 will not do, it has to be above 0",
        ),
        (
            "bad-value",
            "hole 3: at: nothing yet worded { x = 3 }",
            "hole[3].at[2]",
            ("hole", 2, "at.1"),
            "One hole, or several singles: what is written there cannot be read yet",
        ),
    ],
)
def test_whose_box_and_what(
    kind: str, message: str, key: str, where: tuple[str, int | None, str], sentence: str
) -> None:
    one = said(Finding("stop", kind, message, key=key, line=12))
    assert (one.table, one.index, one.key) == where
    assert one.sentence == sentence
    assert one.badness == "Will spoil the work"
    assert one.text_line is None


def test_what_the_checks_find_keeps_its_words_and_tells_its_line() -> None:
    wall = stop("thin-wall", "wall to LEFT {wall_mm} of {0}", "move it in, or write allow = [..]")
    one = said(wall.of("screw 2", wall_mm=0.5), ["pivot", "screw"])
    assert (one.table, one.index, one.key, one.who) == ("hole", 1, "", "")
    assert one.sentence.startswith("wall to LEFT 0.5") and "“screw 2”" in one.sentence
    assert one.do == "move it in, or if you know about this and mean it, say so in its line"
    over = said(note("hole-over-parallel", "parallels stand on the table").of())
    assert (one.badness, over.badness) == ("Will spoil the work", "For your information")
    assert over.sentence == "parallels stand on the table"
    assert (over.table, over.index) == ("", None)
