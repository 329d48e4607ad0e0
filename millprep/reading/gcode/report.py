"""What the reading of a program has to say: findings gathered, and the refusal that ends it.

A refusal is raised by whoever meets the text that cannot be read, and is caught in one place, where
it becomes a stop with its line. Imports `errors` only.
"""

from __future__ import annotations

from dataclasses import replace

from millprep.errors import Finding, Severity


class Refused(Exception):  # noqa: N818  (a refusal, not a fault of ours)
    """Text that is not read any further; the caller knows file and line."""

    def __init__(self, kind: str, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.kind = kind
        self.message = message
        self.remedy = remedy


class Report:
    """Findings in the order they were first met; a repeated one is counted, not listed again."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.line: int | None = None
        self._findings: list[Finding] = []
        self._places: dict[tuple[str, str], int] = {}

    def add(
        self, severity: Severity, kind: str, message: str, remedy: str = "", *, about: str = ""
    ) -> None:
        """Adds a finding at the current line.

        about : what tells two findings of one kind apart ("T3"); of those that agree in kind and
                `about` the first is kept, with the last line and how often
        """
        place = self._places.setdefault((kind, about), len(self._findings))
        if place == len(self._findings):
            finding = Finding(severity, kind, message, remedy, file=self.file, line=self.line)
            self._findings.append(finding)
        else:
            known = self._findings[place]
            self._findings[place] = replace(known, last_line=self.line, count=known.count + 1)

    def warn(self, kind: str, message: str, remedy: str = "", *, about: str = "") -> None:
        self.add("warning", kind, message, remedy, about=about)

    def note(self, kind: str, message: str, remedy: str = "", *, about: str = "") -> None:
        self.add("note", kind, message, remedy, about=about)

    def has(self, kind: str, about: str = "") -> bool:
        return (kind, about) in self._places

    def findings(self) -> tuple[Finding, ...]:
        return tuple(self._findings)
