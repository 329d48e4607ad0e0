"""What was found, in the words of the form: whose line, which box, and a sentence.

The reader speaks to a person who writes the file and names its keys; a form has none. What it says
is said again in the words of sayings.toml; what is not foreseen there and names a key is said by
its kind. What the checks say of a part is in the words of the shop already, but what to write.
Beside no form it is told worst first, without the command line's words.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, Severity, worst_first
from millprep.base.records import frozen
from millprep.desk.files import shown
from millprep.desk.forms import form, label_of, severity_label, table_label, words

_PATH = re.compile(r"(?P<table>\w+)(?:\[(?P<number>\d+)\])?(?:\.(?P<key>.*))?")
_SUBJECT = re.compile(r'(?:\[(?P<table>\w+)\]|(?P<line>\w+ \d+)(?: "(?P<name>[^"]*)")?): ')
_KEYS = re.compile(r"^[a-z_]+(?:\.[a-z_]+)*: ")
_UNKNOWN = re.compile(r'the key "?(.*?)"? is not')
_MEANT_KEY = re.compile(r'did you mean "(.*?)"\?')
_TABLES = re.compile(r"\btables?\b")
_ARRAYS = ("hole", "dimension", "setup")
_TEXT_KINDS = ("bad-toml", "unreadable-file")
_OF_THE_TEXT = re.compile(
    r"""\bTOML\b|\bbraces?\b|\bbrackets?\b|\bkeys?\b|\bmillprep\b|\.toml\b
    |\w_\w|\w+\ =|[{}\[\]]|\bin\ quotes\b|\b(?:datum|stock|inset|polar|allow)\b""",
    re.VERBOSE,
)
_RUNS_INTO = "say in its line which hole it is meant to run into"
_MEANT = "if you know about this and mean it, say so in its line"


@frozen
class Said:
    """One thing found, as the desk says it.

    badness  : "Will spoil the work" ...
    table    : of the part file: "part" is its top; "" where it is about no table
    index    : of the line in an array of tables, from 0; None elsewhere
    key      : dotted inside the table; "" where the whole line is meant
    who      : whose it is, to stand before the sentence; may be ""
    do       : what to do; may be ""
    text_line: of the file's text, where that is what cannot be read
    holes    : names of the holes concerned
    """

    severity: Severity
    badness: str
    kind: str
    table: str
    index: int | None
    key: str
    who: str
    sentence: str
    do: str
    text_line: int | None = None
    holes: tuple[str, ...] = ()


def said(finding: Finding, names: Sequence[str] = ()) -> Said:
    """The finding in the words of the form.

    names : of the lines of holes, as they stand in the file
    """
    table, index, key = _where(finding, names)
    subject = _SUBJECT.match(finding.message)
    message = finding.message[subject.end() :] if subject and finding.key else finding.message
    is_text = finding.kind in _TEXT_KINDS or (finding.key is None and finding.line is not None)
    sentence, do, at = _in_words(finding, message, table, key)
    if at:
        head, _, rest = at.partition(".")
        table, key = (head, rest) if head in words()["tables"] else (table, at)
    if is_text and finding.file and finding.line:
        sentence = f"line {finding.line} of the text: {sentence}"
    return Said(
        finding.severity,
        severity_label(finding.severity),
        finding.kind,
        table,
        index,
        key,
        _who(finding, table, index, subject),
        sentence,
        do,
        finding.line if is_text else None,
        finding.holes,
    )


def _where(finding: Finding, names: Sequence[str]) -> tuple[str, int | None, str]:
    """Table, index and dotted key, from the key path or else from the hole's name."""
    found = _PATH.fullmatch(finding.key or "")
    if found is None:
        name = finding.holes[0] if finding.holes else None
        return ("hole" if name else "", _line_of(name, names), "")
    table, number, key = found["table"], found["number"], found["key"] or ""
    key = re.sub(r"\[(\d+)\]", lambda each: f".{int(each[1]) - 1}", key)
    if table in words()["tables"] and table not in ("part", "opposite"):
        return table, int(number) - 1 if number else None, key
    top = "part" if label_of("part", table) or not label_of("opposite", table) else "opposite"
    return top, None, ".".join(filter(None, (table, key)))


def _line_of(name: str | None, names: Sequence[str]) -> int | None:
    """The line of a hole, or of the pattern that a member belongs to."""
    for wanted in (name, (name or "").rpartition(" ")[0]):
        if wanted and wanted in names:
            return names.index(wanted)
    return None


def _who(finding: Finding, table: str, index: int | None, subject: re.Match[str] | None) -> str:
    if table in ("stock", "defaults", "datum"):
        return table_label(table)
    if not finding.key or table not in _ARRAYS:
        return ""
    if subject and subject["name"]:
        return f"“{subject['name']}”"
    return table_label(table) + (f" {index + 1}" if index is not None else "")


def _in_words(finding: Finding, message: str, table: str, key: str) -> tuple[str, str, str]:
    """The sentence, what to do, and the box where the message tells it better."""
    label = label_of(table, key) if table and key else ""
    if finding.kind == "unknown-key" and (typed := _UNKNOWN.match(message)):
        line = f"line {finding.line} of the text: " if finding.line else ""
        meant = _MEANT_KEY.match(finding.remedy)
        near = label_of(table, key.rpartition(".")[0] + meant[1]) if meant else ""
        do = f"perhaps what the form calls “{near}”" if near else ""
        return f"{line}“{typed[1]}” is nothing that is known here", do, ""
    bare = _KEYS.sub("", message, count=1) if finding.key else message
    for one in _sayings() if finding.key or finding.kind == "assumed" else ():
        fits = one["of"].fullmatch(bare)
        if fits and one.get("key", key) == key:
            groups = [_plain(group or "") for group in fits.groups()]
            do = one["do"].format(*groups) if "do" in one else _to_do(finding, table, key)
            led = one["say"].format(*groups, label=label).removeprefix(": ")
            return led, do, one.get("at", "")
    led = _plain(f"{label}: {bare}" if label and bare != message else bare)
    return (
        (led if _is_sayable(led, finding) else _by_kind(finding, label)),
        (_to_do(finding, table, key)),
        "",
    )


def _by_kind(finding: Finding, label: str) -> str:
    """What is said of a message that names what no form has."""
    sentence = words()["kinds"].get(finding.kind, words()["kinds"]["other"])
    return f"{label}: {sentence}" if label else str(sentence)


def _to_do(finding: Finding, table: str, key: str) -> str:
    """What to do, without what is to be written in the file."""
    remedy = finding.remedy
    if remedy.startswith("accepted:") or "? accepted:" in remedy:
        return _to_choose(remedy, table, key)
    ways = re.split(r"(; |, or )", remedy.replace("the tables have", "near it are"))
    kept = [way for way in ways[::2] if _is_sayable(way, finding)]
    sayable = "".join(ways) if kept == ways[::2] else ", or ".join(kept)
    sayable = sayable.replace("write meets where it is meant", _RUNS_INTO)
    if "allow = " in remedy and finding.holes:
        sayable = f"{sayable}, or {_MEANT}" if sayable else _MEANT
    return _plain(sayable)


def _to_choose(remedy: str, table: str, key: str) -> str:
    """From the choices of the box, or else of what is there."""
    for box in form(table) if table else ():
        if box.key == key and box.takes == "choice":
            return f"choose from: {', '.join(label for _, label in box.choices)}"
    likely = _MEANT_KEY.match(remedy)
    return f"did you mean “{likely[1]}”?" if likely else "choose one that is there"


def _is_sayable(text: str, finding: Finding) -> bool:
    """Whether one who has never seen the file would understand it; names aside.

    The reader's tables are of the file, those of the checks of the mill.
    """
    bare = re.sub(r'"[^"]*"|“[^”]*”', "", text)
    of_the_file = finding.key is not None or finding.kind in _TEXT_KINDS
    return not (_OF_THE_TEXT.search(bare) or (of_the_file and _TABLES.search(bare)))


def _plain(group: str) -> str:
    """What was found in a message, the quotes round names turned as the desk has them."""
    return re.sub(r'"([^"]*)"', r"“\1”", group)


@cache
def _sayings() -> tuple[dict[str, Any], ...]:
    text = Path(__file__).with_name("sayings.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["said"]
    return tuple({**row, "of": re.compile(row["of"])} for row in rows)


_OPTIONS = {
    "--stock": "the blank",
    "--zero": "its zero",
    "--part": "a part",
    "--setup": "holding",
    "--pieces": "pieces",
    "--paper": "the paper",
    "--measured-bars": "the bars as measured",
}
_OF_THE_COMMAND_LINE = re.compile(r"--[a-z]|\bmillprep [a-z]|\bshop file\b|\[\w+\]")


@frozen
class Told:
    """One thing found. label : how bad it is; where : "wheel.toml", "Line 3", or ""; do : or "" """

    severity: Severity
    label: str
    where: str
    sentence: str
    do: str


def told(findings: Sequence[Finding], own: Path | None = None) -> list[Told]:
    """What was found of a part or an assembly. own : its file, which is not named"""
    rows = []
    for finding in worst_first(findings):
        one = said(finding)
        is_own = own is None or not finding.file or Path(finding.file).name == own.name
        where = "" if is_own else shown(Path(finding.file or "").name)
        sentence = ": ".join(filter(None, (one.who, one.sentence)))
        rows.append(_row(finding, where, sentence, one.do))
    return rows


def told_of_program(findings: Sequence[Finding]) -> list[Told]:
    """What a dry run found, at the lines of the program."""
    return [
        _row(one, f"Line {one.line}" if one.line else "", one.message, one.remedy)
        for one in worst_first(findings)
    ]


def _row(finding: Finding, where: str, sentence: str, do: str) -> Told:
    sentence, do = _as_the_page_has_it(sentence), _as_the_page_has_it(do)
    do = "" if _OF_THE_COMMAND_LINE.search(do) else do
    return Told(finding.severity, severity_label(finding.severity), where, sentence, do)


def _as_the_page_has_it(words: str) -> str:
    """The words, with options called what the page calls them."""
    for option, name in _OPTIONS.items():
        words = re.sub(rf"{option}\b", name, words)
    return words
