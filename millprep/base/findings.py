"""Findings: what was found, how bad, where, and what to do about it.

Everything millprep has to say about a part, a program or a file is a `Finding`. Its fields come
first and its sentence second, so that a test, a JSON reader and a person see the same thing.
Imports the table of kinds and `plain_text`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Literal

from millprep.base.kinds import KINDS
from millprep.base.plain_text import clean
from millprep.base.records import as_dict, frozen

Severity = Literal["stop", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warning", "note")


@frozen
class Cure:
    """The nearest change to a part that cures a finding, exact: any less does not do.

    kind  : "move" a hole, a whole "pattern", or another "depth"
    holes : names of the holes that change
    by_mm : how far the centre of each moves, in part axes (x, y, z); empty for a depth
    depth_mm, drill_depth_mm : the new ones; None where they stay
    """

    kind: Literal["move", "pattern", "depth"]
    holes: tuple[str, ...]
    by_mm: tuple[tuple[float, float, float], ...] = ()
    depth_mm: float | None = None
    drill_depth_mm: float | None = None


@frozen
class Finding:
    """One thing found.

    severity : "stop", "warning" or "note"
    kind     : slug from `millprep.base.kinds.KINDS`
    message  : what is wrong, with the value given
    remedy   : what to do, with the values accepted; may be empty
    file     : path as the user gave it
    line     : 1-based line of `file`, if known
    key      : key path in a TOML file ("hole[3].depth")
    holes    : names of the holes concerned
    last_line, count : for a run of like findings on consecutive moves
    setup    : number of the one setup it is about; None for the part, or where holes tell
    cure     : the change to the part that the remedy tells, exact; None where there is none
    """

    severity: Severity
    kind: str
    message: str
    remedy: str = ""
    file: str | None = None
    line: int | None = None
    key: str | None = None
    holes: tuple[str, ...] = ()
    last_line: int | None = None
    count: int = 1
    setup: int | None = None
    cure: Cure | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise KeyError(f"finding of unlisted kind {self.kind!r}")
        for name in ("message", "remedy", "file", "key"):  # here, so that no printer can forget it
            words = getattr(self, name)
            if words and not words.isprintable():
                object.__setattr__(self, name, clean(words))

    def __str__(self) -> str:
        return format_finding(self)


class MillprepError(Exception):
    """Input that cannot be judged: the command prints the findings and exits with status 2."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__("\n".join(str(f) for f in findings))
        self.findings = findings


class WordError(ValueError):
    """A word (length, size, thread) that cannot be read; the caller knows where it stood.

    message : what was given and why it is refused
    remedy  : what would be accepted
    inside  : the index of the member that it is about, where a list was read
    """

    def __init__(self, message: str, remedy: str = "", inside: tuple[int, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.inside = inside


def refusal_of(error: MillprepError | WordError) -> MillprepError:
    """A word that cannot be read, or what cannot be judged anyway, as the one error."""
    if isinstance(error, MillprepError):
        return error
    return MillprepError(Finding("stop", "unknown-word", error.message, error.remedy))


def format_finding(finding: Finding) -> str:
    """The finding as printed: place, severity and sentence, remedy indented below."""
    place = ""
    if finding.file is not None:
        place = f"{finding.file}:"
        if finding.line is not None:
            place += f"{finding.line}:"
            if finding.last_line is not None and finding.last_line != finding.line:
                place = place[:-1] + f"-{finding.last_line}:"
        place += " "
    times = f" ({finding.count} times)" if finding.count > 1 else ""
    lines = [f"{place}{finding.severity}: {finding.message}{times}"]
    if finding.remedy:
        lines.append(f"    {finding.remedy}")
    return "\n".join(lines)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Stops, then warnings, then notes; within each the order they came in."""
    return sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity))


def has_stop(findings: Iterable[Finding]) -> bool:
    return any(finding.severity == "stop" for finding in findings)


def finding_json(finding: Finding) -> dict[str, Any]:
    """A finding as every JSON report shows it."""
    out: dict[str, Any] = {
        "severity": finding.severity,
        "kind": finding.kind,
        "file": finding.file,
        "line": finding.line,
        "holes": list(finding.holes),
        "message": finding.message,
        "remedy": finding.remedy,
    }
    if finding.key is not None:
        out["key"] = finding.key
    if finding.setup is not None:
        out["setup"] = finding.setup
    if finding.count > 1:
        out |= {"last_line": finding.last_line, "count": finding.count}
    if finding.cure is not None:
        out["cure"] = as_dict(finding.cure)
    return out


def findings_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [finding_json(finding) for finding in findings]


def chosen_word(option: str, given: str, accepted: Sequence[str]) -> str:
    """An option's word. Raises MillprepError that names the accepted ones."""
    if given in accepted:
        return given
    raise MillprepError(
        Finding(
            "stop", "unknown-word", f'{option}: no such word "{given}"',
            f"accepted: {', '.join(accepted)}",
        )
    )  # fmt: skip
