"""Text as it may be shown: nothing in it moves the cursor, turns the line round or hides.

Names, keys, file names and options come from elsewhere. What a terminal acts on, what turns the
direction of writing, and bytes of a file name that are no text are shown as their number: `\\x1b`,
`\\u202e`, `\\xff`. Cells of a CSV that a spreadsheet would work out are written as text, and read
back as they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

# Control characters (Unicode category Cc); marks of direction and isolation, zero widths, the
# separators of lines and paragraphs (Unicode Standard Annex 9, table 4; Cf, Zl, Zp); halves of
# pairs, which is how Python keeps bytes of file names that are no UTF-8 (PEP 383).
_UNSEEN = (  # patterns are compiled where they are first asked for: most commands ask for none
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f]"
)
_RUN = r"[=+\-@\t\r＝＋－＠]"  # what begins a formula, in wide letters too
_FIGURES = r"(?:[-+.,;\d\s]|(?<=\d)[eE](?=[-+]?\d))*"  # one figure, or several


NO_BREAK = "\N{NO-BREAK SPACE}"
_TOGETHER = re.compile(
    r"(?<=\d) (?=(?:mm|in|um|thou|deg|rev/min|turns?|holes?|dia|D)\b)"  # a figure and its unit
    r"|(?<=\b[XYZ]) (?=[-+=\d\N{EN DASH}\N{MINUS SIGN}])"  # an axis and its figure
    r"|(?<==) (?=[-+\d\N{EN DASH}\N{MINUS SIGN}])|(?<=\bdia) (?=\d)|(?<=\+/-) (?=\d)"
)


def kept_together(words: str) -> str:
    """The words with a blank that no line is broken at between a figure and its unit or axis."""
    return _TOGETHER.sub(NO_BREAK, words)


def some(names: Sequence[str], most: int = 6) -> str:
    """Names in a row; of many the first, and how many more."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def counted(number: int, noun: str) -> str:
    """ "1 hole", "2 holes" """
    return f"{number} {noun}{'' if number == 1 else 's'}"


def clean(text: str) -> str:
    """The text on one line, every character in it to be seen."""
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() else " " if _is_blank(letter) else _number(letter)
        for letter in text
    )


def clean_lines(text: str) -> str:
    """The same for text of several lines, which keeps its line ends and tabs."""
    if text.replace("\n", "").isprintable():
        return text
    return re.sub(_UNSEEN, lambda found: _number(found[0]), text)


def json_clean(text: str) -> str:
    """JSON as text in which every such character is escaped: it says the same to who reads it."""
    return re.sub(_UNSEEN, _escape, text)


def json_text(data: object) -> str:
    """A JSON object as every command prints it."""
    import json

    return json_clean(json.dumps(data, indent=2, ensure_ascii=False)) + "\n"


def _is_blank(letter: str) -> bool:
    """Whether it is one of the blanks of typesetters."""
    return letter > "\x9f" and letter.isspace() and re.match(_UNSEEN, letter) is None


def _number(letter: str) -> str:
    code = ord(letter)
    if 0xDC80 <= code <= 0xDCFF:  # a byte of a file name
        code -= 0xDC00
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def _escape(found: re.Match[str]) -> str:
    pair = found[0].encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{pair[at : at + 4]}" for at in range(0, len(pair), 4))


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV; words that a spreadsheet would work out begin with an apostrophe."""
    import csv
    import io

    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(
        [_quoted(cell) if isinstance(cell, str) else cell for cell in row] for row in rows
    )
    return stream.getvalue()


def _quoted(cell: str) -> str:
    if not re.match(_RUN, cell.lstrip("' ")) or re.fullmatch(_FIGURES, cell):
        return cell
    return f"'{cell}"


def cell_text(cell: str) -> str:
    """A cell as it was before `csv_text` made text of it."""
    return cell[1:] if cell[:1] == "'" and _quoted(cell[1:]) == cell else cell
