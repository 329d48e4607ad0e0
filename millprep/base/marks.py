"""The mark in a file that millprep wrote: which sheet of which part it is, and a hash of the rest.

    millprep listing text, Port block, setup 2, mark 4f1c12c63472e4b5

It stands in whatever comment a format has; CSV has none. Sheet, format, name, setup and tool say
what the file is; the hash says whether a byte of it has changed since. The first edition wrote
`millprep mark` and the hash alone.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator

from millprep.base.plain_text import clean_lines

BLANK_MARK = "millprep mark ................"
"""What a writer puts into its text, in whatever comment its format has; `sealed` fills it in."""
ROOMY_MARK = BLANK_MARK.ljust(100)
"""The same where the length must stay: a PDF has a table of places, a PNG chunks of a length."""
_DIGITS = 16
_LONGEST_NAME = 22  # with sheet, setup and hash it stays on a line of 79
_MARK = (
    rb"(?i)(?=(?P<all>millprep (?P<what>(?:[\w .+/#~-]+, ){0,6})mark (?P<digits>[0-9a-f]{16}) *))"
)
_BLANK = b"(?i)" + re.escape(BLANK_MARK.encode()) + b" *"
_HTML_MARK = b'<meta name="generator" content="'
_PNG_START = b"\x89PNG\r\n\x1a\n"
_PNG_TEXT = b"tEXt"  # a chunk: length, these letters, keyword, 0, text, checksum


def sheet_mark(
    sheet: str, form: str, name: str, setup: int | None = None, tool: int | None = None
) -> str:
    """What a file is, as its mark says it: "listing text, Port block, setup 2".

    sheet : the command, or which of its sheets; form : its format
    name  : of the part, or of the assembly and the stack; setup : None for all of them
    """
    words = [f"{sheet} {form}", _short(name)]
    words += [f"setup {setup}"] if setup is not None else []
    words += [f"tool {tool}"] if tool is not None else []
    return ", ".join(words)


def _short(name: str) -> str:
    """A name in letters that stand in any comment; what is lost stays told apart by a hash."""
    import unicodedata

    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    plain = re.sub(r"-{2,}", "-", re.sub(r"[^\w .+/-]+", " ", bare))
    plain = " ".join(plain.split()).strip("-")
    if plain == name and len(plain) <= _LONGEST_NAME:
        return plain
    digest = _hash(name.casefold().encode(errors="surrogatepass"))[:6]
    return f"{plain[: _LONGEST_NAME - 7].strip(' -')}~{digest}"


def _hash(data: bytes) -> str:
    import hashlib  # slow to import, and what goes to the screen has no mark

    return hashlib.sha256(data).hexdigest()


def sealed(content: str | bytes, what: str = "") -> bytes:
    """The content as bytes with its blank mark filled in (unchanged when it holds none).

    what : of `sheet_mark`; in text, characters that cannot be seen are shown as their number
    """
    data = clean_lines(content).encode() if isinstance(content, str) else content
    blanks = list(re.finditer(_BLANK, data))
    if not blanks:
        return data
    # a name that looks like one is shown again: after a page's head, before the foot of others
    heads = (blank for blank in blanks if data.endswith(_HTML_MARK, 0, blank.start()))
    place = next(heads, blanks[-1])
    words = f"millprep {what}, mark " if what else "millprep mark "
    if place[0].isupper():
        words = words.upper()
    filled = (words.encode() + b"0" * _DIGITS).ljust(len(place[0]) if place[0][-1:] == b" " else 0)
    start = place.start() + len(words)
    data = data[: place.start()] + filled + data[place.end() :]
    return _with_digits(data, start, _digest(_with_digits(data, start, b"0" * _DIGITS)))


def _digest(data: bytes) -> bytes:
    return _hash(data)[:_DIGITS].encode()


def _with_digits(data: bytes, start: int, digits: bytes) -> bytes:
    """The data with other digits in its mark.

    A PNG keeps the mark in a text chunk, and the chunk's checksum goes with the digits.
    """
    marked = data[:start] + digits + data[start + _DIGITS :]
    chunk = marked.rfind(_PNG_TEXT, 0, start)
    if not data.startswith(_PNG_START) or chunk < 4:
        return marked
    end = chunk + 4 + int.from_bytes(marked[chunk - 4 : chunk], "big")
    checksum = zlib.crc32(marked[chunk:end]).to_bytes(4, "big")
    return marked[:end] + checksum + marked[end + 4 :]


def _own(data: bytes) -> Iterator[str]:
    """What the marks say that fit: one, in a file that nobody has edited since."""
    for found in re.finditer(_MARK, data):
        start, digits = found.start("digits"), found["digits"]
        if data != _with_digits(data, start, digits):
            continue
        if _digest(_with_digits(data, start, b"0" * _DIGITS)) == digits.lower():
            yield found["what"].decode().rstrip(", ").lower()


def is_marked(data: bytes) -> bool:
    """Whether a mark stands in these bytes, fitting or not."""
    return re.search(_MARK, data) is not None


def said_of(data: bytes) -> str | None:
    """What an unedited file's mark says that it is; "" in the first edition, None for no mark."""
    return next(_own(data), None)


def is_own_unedited(data: bytes) -> bool:
    """Whether these bytes carry millprep's mark and have not changed since it was set."""
    return said_of(data) is not None


def is_same_sheet(old: bytes, new: bytes) -> bool:
    """Whether the one is the same sheet of the same part as the other, by their marks.

    A mark of the first edition says nothing: there the first lines must name sheet and part.
    """
    was, is_now = said_of(old), said_of(new) or ""
    if not was:
        first_lines = _first_edition(old) if was == "" else ""
        return bool(first_lines) and f"{is_now}, ".startswith(f"{first_lines}, ")
    return was == is_now


_SETUP = r"setup \d+ of \d+"
_PAGE = r"<!doctype html>(?s:.){,2000}?<title>(?P<name>.+): "
_FIRST_EDITION = (
    ("dials text", rf"(?P<name>.+?) +{_SETUP}: \w+ up\nby dial; "),
    ("listing text", rf"(?P<name>.+?) +{_SETUP}: \w+ up\n"),
    ("markout text", r"(?P<name>.+?) +marking out, \d+ standings?\n"),
    ("tools text", r"(?P<name>.+?): tools in order of use; part mark "),
    ("inspect text", r"(?P<name>.+?) +inspection\n"),
    ("verdicts text", r"(?P<name>.+?) +inspection: piece .*\n"),
    ("match text", r"(?P<name>.+?) +as drilled, (?P<setup>setup \d+): \w+ up\n"),
    ("program nc", r"(?:\(|; )(?P<name>.+?), (?P<setup>setup \d+) of \d+\)?\n"),
    ("bench html", rf"{_PAGE}at the bench</title>"),
    ("dials html", rf"{_PAGE}by dial</title>"),
    ("listing html", rf"{_PAGE}listing</title>"),
)
"""The first lines of sheets of the first edition; its data and drawings name none in theirs."""


def _first_edition(data: bytes) -> str:
    """What the first lines say that the file is, or ""."""
    import html

    head = data[:4000].decode(errors="replace")
    for sheet, pattern in _FIRST_EDITION:
        found = re.match(pattern, head, re.IGNORECASE)
        if found is not None:
            name = html.unescape(found["name"]) if sheet.endswith("html") else found["name"]
            setup = found.groupdict().get("setup")
            return ", ".join([sheet, _short(name), *([setup] if setup else [])]).lower()
    return ""
