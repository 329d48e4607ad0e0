"""What the reading of a program has to say: findings gathered, and the refusal that ends it.

A refusal is raised by whoever meets the text that cannot be read, and is caught in one place, where
it becomes a stop with its line.
"""

from __future__ import annotations

from collections import Counter
from functools import partial

from millprep.base.bounds import MOST_FINDINGS
from millprep.base.findings import Finding, Severity, Words
from millprep.base.records import replace

Said = str | Words


class Refused(Exception):  # noqa: N818  (a refusal, not a fault of ours)
    """Text that is not read any further; the caller knows file and line. Lengths are in `Words`."""

    def __init__(self, kind: str, message: Said, remedy: Said = "") -> None:
        super().__init__(message)
        self.kind = kind
        self.message = message
        self.remedy = remedy


bad_arc = partial(Refused, "bad-arc")
bad_character = partial(Refused, "bad-character")
bad_comment = partial(Refused, "bad-comment")
bad_compensation = partial(Refused, "bad-compensation")
bad_cycle = partial(Refused, "bad-cycle")
bad_expression = partial(Refused, "bad-expression")
bad_jump = partial(Refused, "bad-jump")
bad_loop = partial(Refused, "bad-loop")
bad_number = partial(Refused, "bad-number")
bad_offset = partial(Refused, "bad-offset")
bad_parameter = partial(Refused, "bad-parameter")
bad_subprogram = partial(Refused, "bad-subprogram")
bad_value = partial(Refused, "bad-value")
missing_word = partial(Refused, "missing-word")
no_feed = partial(Refused, "no-feed")
program_too_long = partial(Refused, "program-too-long")
refused_word = partial(Refused, "refused-word")
repeated_word = partial(Refused, "repeated-word")
unused_word = partial(Refused, "unused-word")


class Report:
    """Findings in the order they were first met; a repeated one is counted, not listed again."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.line: int | None = None
        self._findings: list[Finding] = []
        self._places: dict[tuple[str, str], int] = {}
        self._last_lines: dict[tuple[str, str], int] = {}
        self._rest: Counter[tuple[Severity, str]] = Counter()

    def add(
        self,
        severity: Severity,
        kind: str,
        message: Said,
        remedy: Said = "",
        *,
        about: str = "",
        is_each_told: bool = False,
    ) -> None:
        """Adds a finding at the current line.

        about        : what tells two findings of one kind apart ("T3"); of those that agree in kind
                       and `about` the first is kept, with the last line and how often
        is_each_told : only those on lines that follow each other count as one
        """
        key = (kind, about)
        place = self._places.get(key)
        line = self.line or 0
        is_apart = is_each_told and not 0 <= line - self._last_lines.get(key, -2) <= 1
        self._last_lines[key] = line
        if place is not None and not is_apart:
            known = self._findings[place]
            last = self.line if known.file == self.file else known.last_line
            self._findings[place] = replace(known, last_line=last, count=known.count + 1)
        elif len(self._findings) >= MOST_FINDINGS * (2 if severity == "stop" else 1):
            self._rest[severity, kind] += 1
        else:
            self._places[key] = len(self._findings)
            self._list(severity, kind, message, remedy)

    def _list(self, severity: Severity, kind: str, message: Said, remedy: Said) -> None:
        finding = Finding(severity, kind, message, remedy, file=self.file, line=self.line)
        self._findings.append(finding)

    def refuse(self, refusal: Refused, where: str = "") -> None:
        """The stop that ends the reading."""
        said = refusal.message
        said = said.and_also(where) if isinstance(said, Words) else said + where
        self._list("stop", refusal.kind, said, refusal.remedy)

    def stop(self, kind: str, message: Said, remedy: Said = "", *, about: str = "") -> None:
        """A stop after which reading goes on; each is told, a run of like ones once."""
        self.add("stop", kind, message, remedy, about=about, is_each_told=True)

    def lacks(self, name: str, why: str, remedy: str, *, kind: str = "control-lacks") -> None:
        """The stop of what the language defines and the control is described without."""
        self.stop(kind, f"{name}: {why}; read on with its published meaning", remedy, about=name)

    def warn(self, kind: str, message: Said, remedy: Said = "", *, about: str = "") -> None:
        self.add("warning", kind, message, remedy, about=about)

    def note(self, kind: str, message: Said, remedy: Said = "", *, about: str = "") -> None:
        self.add("note", kind, message, remedy, about=about)

    def has(self, kind: str, about: str = "") -> bool:
        return (kind, about) in self._places

    def findings(self) -> tuple[Finding, ...]:
        """All of them; of those beyond what a report holds a count by kind."""
        rest = (
            Finding(severity, "many-findings", f"{count} more of {kind}", file=self.file)
            for (severity, kind), count in self._rest.items()
        )
        return (*self._findings, *rest)
