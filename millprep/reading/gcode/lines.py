"""From bytes to lines, and a line without its blanks and comments."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from millprep.base.bounds import LONGEST_LINE
from millprep.base.units import shown
from millprep.reading.gcode.report import Refused, bad_character, bad_comment

_BYTES_A_CHARACTER = 4  # at most, in UTF-8
_LINE = re.compile(rb"([^\r\n]*)(\r\n|\r|\n|\Z)")
_CLOSING_PERCENT = re.compile(rb"(?:\A|[\r\n])[ \t]*%[ \t]*(?=[\r\n]|\Z)")
_TEXT = re.compile(rb"[^\s%]")
_COMMENT_MARK = re.compile(r"[();]")
_COMMENT = re.compile(r"\(([^()]*)\)")
_COULD_BE_A_WORD = re.compile(r"[A-Za-z](?:[\d+\-#\[]|\.\d)|[Oo]<")  # in text without blanks
_NO_BLANKS = str.maketrans("", "", " \t")


class Bare(NamedTuple):
    """A line without blanks and comments: text, its comments, whether one of them held another."""

    text: str
    comments: tuple[str, ...] = ()
    has_nested: bool = False


def count_lines(data: bytes) -> int:
    """Lines as an editor counts them: ends are CR LF, CR or LF."""
    returns = data.count(b"\r")
    ends = data.count(b"\n") + (returns and returns - data.count(b"\r\n"))
    return ends + (bool(data) and data[-1] not in b"\r\n")


def text_start(data: bytes) -> int:
    """Where the first line begins: after a byte order mark."""
    return 3 if data.startswith(b"\xef\xbb\xbf") else 0


def raw_line(data: bytes, position: int) -> tuple[bytes, int]:
    """The line at the place and the place after its end; a line too long comes cut."""
    match = _LINE.match(data, position)
    if match is None:
        raise AssertionError("the pattern matches anything")
    first, last = match.span(1)
    longest = LONGEST_LINE * _BYTES_A_CHARACTER + 1
    return data[first : min(last, first + longest)], match.end()


def raw_lines(data: bytes) -> Iterator[tuple[int, int, bytes]]:
    """(line number from 1, place after it, bytes) of each line; a line too long comes cut."""
    position = text_start(data)
    number = 0
    while position < len(data):
        raw, position = raw_line(data, position)
        number += 1
        yield number, position, raw


def closing_percent(data: bytes, position: int) -> int | None:
    """Where a line of only % begins at or after the place."""
    match = _CLOSING_PERCENT.search(data, max(0, position - 1))
    return None if match is None else match.start()


def has_text(data: bytes, position: int) -> bool:
    """Whether anything but blanks and % follows the place."""
    return _TEXT.search(data, position) is not None


def decode(raw: bytes) -> str:
    """A line's bytes as text; what is not UTF-8 becomes a mark that only a comment may hold."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise bad_character("the file is text in UTF-16", "save it as plain ASCII or UTF-8 text")
    text = raw.decode("utf-8", "replace")
    if len(text) > LONGEST_LINE:
        raise Refused(
            "line-too-long",
            f"the line has more than {LONGEST_LINE} characters",
            "NISTIR 6556 allows 256; is this a program at all?",
        )
    return text


def bare_text(text: str, *, is_strict: bool) -> Bare:
    """A line in capitals without blanks, each comment cut down to a (."""
    comments: tuple[str, ...] = ()
    has_nested = False
    if "(" in text or ")" in text or ";" in text:
        text, comments, has_nested = _without_comments(text, is_strict)
    return Bare(text.translate(_NO_BLANKS).upper(), comments, has_nested)


def _without_comments(text: str, is_strict: bool) -> tuple[str, tuple[str, ...], bool]:
    """The text with each comment cut down to a (, which keeps words apart; the comments; whether
    one of them holds another."""
    comments: list[str] = []
    has_nested = False
    kept: list[str] = []
    position = 0
    while (mark := _COMMENT_MARK.search(text, position)) is not None:
        kept.append(text[position : mark.start()])
        position = mark.start()
        if mark[0] == ";" and not is_strict:
            return "(".join(kept), (*comments, text[position + 1 :]), has_nested
        match = _COMMENT.match(text, position)
        end = match.end() if match else 0 if is_strict else _end_of_nested(text, position)
        if not end:
            raise _comment_fault(text[position:])
        has_nested = has_nested or match is None
        comments.append(text[position + 1 : end - 1])
        position = end
    return "(".join([*kept, text[position:]]), tuple(comments), has_nested


def _end_of_nested(text: str, position: int) -> int:
    """Behind the ) that balances the ( at the place; 0 where nothing does, or where what stands
    behind the first ) could be words for a control that ends the comment there."""
    first, depth = text.find(")", position), 0
    if text[position] != "(" or _COULD_BE_A_WORD.search(text[first:].translate(_NO_BLANKS)):
        return 0
    for mark in re.finditer(r"[()]", text[position:]):
        depth += 1 if mark[0] == "(" else -1
        if not depth:
            return position + mark.end()
    return 0


def _comment_fault(text: str) -> Refused:
    if text[0] == ";":
        return bad_comment("a comment after ; is not known in strict mode", "write it as ( ... )")
    if text[0] == ")":
        return bad_comment("a ) without its (", "put the comment in one pair of ( )")
    what = "holds another (" if "(" in text[1:] else "is not closed on its line"
    return bad_comment(f"the comment {shown(text)} {what}", "close each ( with one ) on the line")
