"""What people write that is no TOML: each slip with its line and its cure, all of a file at once.

A parser stops at the first. A slip that is known is mended in a copy of the text, which is parsed
again for the next; one that is not known takes its line out of the copy. What may only come of the
mending is not told.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from millprep.base.bounds import LARGEST_MENDED_LETTERS, MOST_SLIPS
from millprep.base.records import frozen
from millprep.base.units import shown

ARRAYS = ("hole", "dimension", "setup", "tool", "joint", "shared", "reamed_together", "handed_pair")
"""Tables of which there may be many, in double brackets."""
_LONGEST_LINE = 1000
_MOST_LINES_JOINED = 40


@frozen
class Slip:
    """line : 1-based, None where no line is to blame; mended : the lines with this one cured, or
    None where nobody knows how; is_known : one that people make, and not only the parser's word"""

    line: int | None
    message: str
    remedy: str
    mended: list[str] | None = None
    is_known: bool = True


def slips_in(text: str, parse: Callable[[str], object]) -> list[Slip]:
    """Every slip of a text that does not parse, at least one. parse : raises ValueError."""
    lines = text.split("\n")
    found: list[Slip] = []
    mended: set[int | None] = set()
    for _ in range(MOST_SLIPS if len(text) <= LARGEST_MENDED_LETTERS else 1):
        try:
            parse("\n".join(lines))
            break
        except RecursionError:
            break
        except ValueError as error:
            slip = _slip(str(error), lines)
        if found and not slip.is_known and slip.line in mended:
            break
        found.append(slip)
        mended.add(slip.line)
        if slip.mended is None or slip.mended == lines:
            break
        lines = slip.mended
    return found


@frozen
class _Known:
    """pattern : with the group `it`, or `whole` where more is mended; said, advice : of {it} and
    {fixed}; fix : what stands there instead"""

    pattern: str
    said: str
    advice: str
    fix: Callable[[str], str]


def _in_quotes(it: str) -> str:
    return f'"{it}"'


_VALUE = r"[=\[,]\s*"
_KNOWN = (
    _Known(
        _VALUE + r"(?P<it>[+-]?\.\d+)",
        "{it} begins with its point",
        "write {fixed}",
        lambda it: it.replace(".", "0.", 1),
    ),
    _Known(
        _VALUE + r"(?P<it>[+-]?\d+\.)(?!\d)",
        "{it} ends with its point",
        "write {fixed}",
        lambda it: f"{it}0",
    ),
    _Known(
        _VALUE + r"(?P<it>[+-]?0\d+(\.\d+)?)\b",
        "{it} begins with a needless 0",
        "write {fixed}",
        lambda it: re.sub(r"0+(?=\d)", "", it, count=1),
    ),
    _Known(
        r"=\s*(?P<it>[+-]?\d+,\d+)\s*(#|$)",
        "{it} has a decimal comma",
        "write {fixed}",
        lambda it: it.replace(",", "."),
    ),
    _Known(
        _VALUE + r"(?P<it>[+-]?(\d+[ -])?\d+/\d+(\s*(in|inch|mm)\b)?)",
        "{it} is a fraction without quotes",
        "write it in quotes: {fixed}",
        lambda it: _in_quotes(it if it[-1].isalpha() else f"{it} in"),
    ),
    _Known(
        _VALUE + r"(?P<it>[+-]?\d+(\.\d+)?\s*(in|inch|mm)\b)",
        "{it} has a unit and no quotes",
        "write it in quotes: {fixed}",
        _in_quotes,
    ),
    _Known(
        _VALUE + r"(?P<it>[“”„‘’].*)",
        "{it} has typographic quotes",
        "write plain ones: {fixed}",
        lambda it: re.sub("[“”„‘’]", '"', it),
    ),
    _Known(
        r"=\s*(?P<it>\"[^\"]*\d\"\")",
        "{it}: the inch mark has ended the text",
        "write in for the mark, or use single quotes: {fixed}",
        lambda it: f"'{it[1:-1]}'",
    ),
    _Known(
        r"=\s*(?P<it>(?i:true|false|yes|no))\b",
        "{it} is no TOML word",
        "write {fixed}",
        lambda it: "true" if it.lower() in ("true", "yes") else "false",
    ),
    _Known(r"=\s*(?P<it>[A-Za-z#][\w ./#-]*)$", "{it} has no quotes", "write {fixed}", _in_quotes),
    _Known(
        r"=\s*(?P<it>\"[^\"]*)$",
        "{it} has no closing quote mark",
        "write {fixed}",
        lambda it: f'{it}"',
    ),
    _Known(
        r"^\s*(?P<whole>(?P<it>[\w-]+)\s*:)",
        "a colon after {it}",
        "write {fixed} ...",
        lambda it: f"{it} =",
    ),
    _Known(
        r"^\s*(?P<it>[\w-]+(\s+[\w-]+)+)\s*=",
        "the key {it} has blanks in it",
        "write {fixed}",
        lambda it: re.sub(r"\s+", "_", it),
    ),
    _Known(
        r"=\s*(?P<it>)(#.*)?$",
        "there is nothing after the =",
        "give a value, or delete the line",
        lambda _: "0 ",
    ),
    _Known(
        r"^\s*(?P<whole>(\[(?P<it>[\w.-]+)\]\]|\[\[(?P<also>[\w.-]+)\]))\s*(#.*)?$",
        "the brackets round {it} are not the same on both sides",
        "write {fixed}",
        lambda it: f"[[{it}]]" if it.split(".")[-1] in (*ARRAYS, "obstacle") else f"[{it}]",
    ),
)
"""What people write."""


def _slip(message: str, lines: list[str]) -> Slip:
    """The parser's complaint in workshop words, where it is a slip that people make."""
    plain = re.sub(r"\s*\(at .*\)$", "", message)
    line, column = _place_in(message, lines)
    source = lines[line - 1] if line is not None and line <= len(lines) else ""
    odd = source[column - 1 : column]
    if odd not in ("", " ", "\t") and not odd.isprintable():
        said = f"U+{ord(odd):04X}, stands in {shown(source.strip())}"
        remedy = "type the line again without it"
        mended = _with_line(lines, line, source.replace(odd, ""))
        return Slip(line, f"a character that cannot be seen, {said}", remedy, mended)
    if line is not None and any(word in plain for word in ("overwrite", "twice", "mutate")):
        return _said_twice(source, line, lines)
    for number in (line, line - 1) if line is not None and line > 1 else (line,):
        if number is not None and _open_braces(lines[number - 1]) > 0:
            said = "a table in braces is broken over lines"
            remedy = "write it on one line, from { to }, or make it a [table] of its own"
            return Slip(line, said, remedy, _joined(lines, number))
    if (known := _known_slip(source, line, lines)) is not None:
        return known
    if "Exceeds the limit" in plain:
        said = "a whole number has thousands of figures"
        return Slip(line, said, "write the length in mm or inches")
    quoted = f": {shown(source.strip())}" if source.strip() else ""
    return Slip(
        line,
        f"not TOML{quoted} ({plain[:1].lower()}{plain[1:]}, column {column})",
        "put a comma between two members, and the bracket that closes them at the end"
        if plain.startswith("Unclosed")
        else "a line is  key = value ; text goes in quotes, a list in [ ], a table in { }",
        _with_line(lines, line, "") if _is_whole(source) else None,
        is_known=False,
    )


def _place_in(message: str, lines: list[str]) -> tuple[int | None, int]:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    if found is not None:
        return int(found[1]), int(found[2])
    last = "\n".join(lines).rstrip().count("\n") + 1
    return (last, 1) if "end of document" in message else (None, 1)


def _known_slip(source: str, line: int | None, lines: list[str]) -> Slip | None:
    if len(source) > _LONGEST_LINE:
        return None
    for known in _KNOWN:
        found = re.search(known.pattern, source)
        if found is not None:
            groups = found.groupdict()
            it = (found["it"] if found["it"] is not None else groups["also"]).strip()
            fixed = known.fix(it)
            start, end = found.span("whole" if "whole" in groups else "it")
            mended = _with_line(lines, line, source[:start] + fixed + source[end:])
            said, advice = (
                words.format(it=it, fixed=fixed) for words in (known.said, known.advice)
            )
            return Slip(line, said, advice, mended)
    return None


def _said_twice(source: str, line: int, lines: list[str]) -> Slip:
    header = re.match(r"\s*\[([^\[\]]+)\]", source)
    if header is None:
        again = f"{shown(source.strip())} is given a second time"
        mended = _with_line(lines, line, "") if _is_whole(source) else None
        return Slip(line, again, "keep one of the two", mended)
    name = header[1].strip()
    if name in ARRAYS:
        in_double = re.compile(rf"^\s*\[\s*{name}\s*\]")
        mended = [in_double.sub(f"[[{name}]]", one) for one in lines]
        remedy = f"write [[{name}]], in double brackets, each time"
        return Slip(line, f"[{name}] is here a second time", remedy, mended)
    again = f"{shown(source.strip())} is given a second time"
    return Slip(line, again, "keep one of the two", _with_line(lines, line, f"[again-{line}]"))


def _with_line(lines: list[str], line: int | None, text: str) -> list[str] | None:
    return None if line is None else [*lines[: line - 1], text, *lines[line:]]


def _is_whole(source: str) -> bool:
    """Whether a line is a key and its value, of which nothing stands on the next."""
    bare = _bare(source)
    return (
        re.match(r"\s*[\w.-]+\s*=", source) is not None
        and not any(mark in source for mark in ('"""', "'''"))
        and all(bare.count(one) == bare.count(other) for one, other in ("[]", "{}"))
    )


def _bare(source: str) -> str:
    """A line without its texts and its comment."""
    return re.sub(r'"[^"]*"|\'[^\']*\'|#.*', "", source) if len(source) <= _LONGEST_LINE else ""


def _open_braces(source: str) -> int:
    bare = _bare(source)
    return bare.count("{") - bare.count("}")


def _joined(lines: list[str], line: int) -> list[str] | None:
    """A table in braces on the line where it begins, those that it went over left empty."""
    whole = ""
    for end, source in enumerate(lines[line - 1 :][:_MOST_LINES_JOINED], line):
        said = re.sub(r"(?<=[\s,{}])#.*", "", source).strip()
        is_next = whole and said and whole[-1] not in "{[," and said[0] not in "}]"
        whole += ", " * bool(is_next) + said
        if _open_braces(whole) <= 0:
            whole = re.sub(r",\s*\}", " }", whole)
            return [*lines[: line - 1], whole, *[""] * (end - line), *lines[end:]]
    return None
