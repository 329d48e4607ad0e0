"""How an assembly's findings are said: lengths in its units, the place in its file, what is meant.

Layers 0 to 2.
"""

from __future__ import annotations

from typing import Protocol

from millprep.base.findings import Finding, Severity
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.model.assembled import Assembly


class Table(Protocol):
    """A table of the file: where it stands, and the kinds of findings that it allows."""

    @property
    def allow(self) -> tuple[str, ...]: ...

    @property
    def line(self) -> int | None: ...


class Named(Table, Protocol):
    """A joint, a shared pattern or a stack."""

    @property
    def name(self) -> str: ...


def length_words(length_mm: float, units: Units, digits: int = 2) -> str:
    """A length as a message shows it: "8 mm", "0.315 in"."""
    if units == "inch":
        text = f"{length_mm / MM_PER_INCH:.{digits + 2}f}"
        return f"{_trimmed(text)} in"
    return f"{_trimmed(f'{length_mm:.{digits}f}')} mm"


def _trimmed(text: str) -> str:
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


@frozen
class Say:
    """Makes the findings of one assembly."""

    assembly: Assembly

    def finding(
        self, severity: Severity, kind: str, about: Named, said: str, remedy: str = "", *holes: str
    ) -> Finding:
        """A finding that begins with the name of what it is about."""
        return self.at(severity, kind, about, f"{about.name}: {said}", remedy, *holes)

    def at(
        self, severity: Severity, kind: str, about: Table, said: str, remedy: str = "", *holes: str
    ) -> Finding:
        """A finding at a table of the file; a kind that the table allows is a note."""
        file, line = self.assembly.path or None, about.line
        made = Finding(severity, kind, said, remedy, file, line, holes=holes)
        if severity != "note" and kind in about.allow:
            return replace(made, severity="note", is_meant=True, advice="")
        return made

    def length(self, length_mm: float, digits: int = 2) -> str:
        return length_words(length_mm, self.assembly.units, digits)
