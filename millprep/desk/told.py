"""What was found, as a page tells it beside no form: worst first, without the command line's words.

Imports `saying`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from millprep.base.findings import Finding, Severity, worst_first
from millprep.base.records import frozen
from millprep.desk.files import shown
from millprep.desk.forms import severity_label
from millprep.desk.saying import said

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
    sentence, do = _plain(sentence), _plain(do)
    do = "" if _OF_THE_COMMAND_LINE.search(do) else do
    return Told(finding.severity, severity_label(finding.severity), where, sentence, do)


def _plain(words: str) -> str:
    """The words, with options called what the page calls them."""
    for option, name in _OPTIONS.items():
        words = re.sub(rf"{option}\b", name, words)
    return words
