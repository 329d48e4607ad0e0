"""Findings: what was found, how bad, where, and what to do about it.

Everything millprep has to say about a part, a program or a file is a `Finding`. Its fields come
first; the sentence is made of them when it is shown, in the units of the file that it speaks of.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Literal, get_args

from millprep.base.kinds import KINDS
from millprep.base.plain_text import clean
from millprep.base.records import as_dict, frozen, replace

if TYPE_CHECKING:
    from millprep.base.units import Units

Severity = Literal["stop", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = get_args(Severity)
_MOST_NAMED = 4
"""Holes named in a remedy that moves several."""


@frozen
class Words:
    """A sentence that is not made yet.

    template : with {name} for each value, and {0}, {1} ... for the names of its holes
    values   : (name, value); one whose name ends in _mm is a length, in _m_per_min a speed, in the
               units of the file as `Length` and `surface_speed` have them
    """

    template: str
    values: tuple[tuple[str, Value], ...] = ()

    def shown(self, units: Units, holes: tuple[str, ...]) -> str:
        """The sentence."""
        # which has words of its own to refuse
        from millprep.base.units import Length, surface_speed

        def told(name: str, value: Value) -> object:
            if isinstance(value, Words):
                return value.shown(units, holes)
            if isinstance(value, str):
                return value
            if name.endswith("_m_per_min"):
                return surface_speed(value, units)
            return Length(value, units) if name.endswith("_mm") else value

        values = {name: told(name, value) for name, value in self.values}
        return self.template.format(*(f'"{hole}"' for hole in holes), **values)

    def and_also(self, template: str, **values: Value) -> Words:
        """With more behind it."""
        return Words(self.template + template, (*self.values, *values.items()))


Value = str | float | Words


def words(template: str, **values: Value) -> Words:
    return Words(template, tuple(values.items()))


def _shown(said: str | Words, units: Units, holes: tuple[str, ...]) -> str:
    return said if isinstance(said, str) else said.shown(units, holes)


@frozen
class Edit:
    """One figure of a file, put down.

    table : "hole", "setup" ...; index : which of them in the file, from 0; None: the first of that
            name, a setup of which is added behind the others where there is none
    name  : of the hole, or the face of the setup
    key   : dotted, inside the table; empty where the table as a whole is moved
    value : as TOML writes it; None strikes the key out; of a table that is moved, to which index
    """

    file: str
    table: str
    index: int | None
    name: str
    key: str
    value: str | None


@frozen
class Offer:
    """What a remedy of the making tells to write: not tried yet.

    table   : "hole", of the finding's first hole; or "setup", the finding's own
    figures : (key, value) of `Edit`, in order
    first_face : the setups in another order: that of this face before the others
    """

    table: Literal["hole", "setup"]
    figures: tuple[tuple[str, str | None], ...] = ()
    first_face: str = ""
    changes: Changes = "making"


Changes = Literal["making", "drawing"]
Move = tuple[float, float, float]


@frozen
class Cure:
    """The nearest change to a part that cures a finding, exact: any less does not do.

    kind  : "move" a hole, a whole "pattern", another "depth"; or another "making", where the
            advice says what is written
    holes : names of the holes that change
    by_mm : how far the centre of each moves, in part axes (x, y, z); empty for a depth
    depth_mm, drill_depth_mm : the new ones; None where they stay
    said  : what to do, rounded; {who} are the holes
    changes : what of the part it alters
    told  : the same, rounded as it is said, which cures too: what is written; of a making itself
    figure, figure_mm : the figure that is told, where that is one of the file: its key, and what
            it becomes
    edits : what is written into the file, in order; none where `no_edits` says why
    """

    kind: Literal["move", "pattern", "depth", "making"]
    holes: tuple[str, ...]
    by_mm: tuple[Move, ...] = ()
    depth_mm: float | None = None
    drill_depth_mm: float | None = None
    said: Words = Words("")
    changes: Changes = "drawing"
    told: Cure | None = None
    figure: str = ""
    figure_mm: float = 0.0
    edits: tuple[Edit, ...] = ()
    no_edits: str = ""

    def shown(self, units: Units) -> str:
        """What to do, as a remedy."""
        if not self.said.template:
            return ""
        named = [f'"{hole}"' for hole in self.holes[:_MOST_NAMED]]
        if (more := len(self.holes) - _MOST_NAMED) > 0:
            who = f"{', '.join(named)} and {more} more each"
        else:
            who = f"{', '.join(named[:-1])} and {named[-1]} each" if named[1:] else named[0]
        return Words(self.said.template, (*self.said.values, ("who", who))).shown(units, ())


@frozen
class Finding:
    """One thing found.

    severity : "stop", "warning" or "note"
    kind     : slug from `millprep.base.kinds.KINDS`
    said     : what is wrong, with the value given
    advice   : what to do, or what else than the cure, with the values accepted; may be empty
    file     : path as the user gave it
    line     : 1-based line of `file`, if known
    key      : key path in a TOML file ("hole[3].depth")
    holes    : names of the holes concerned
    last_line, count : of like findings, on moves that follow each other or at several `places`
    setup    : number of the one setup it is about; None for the part, or where holes tell
    cure     : the nearest change to the part that cures it; None where there is none, or not yet
    units    : of the file that it speaks of, in which its lengths are shown
    is_meant : one of its holes allows it
    about    : what tells it from others of its kind at the same holes; empty where no cure is known
    lacking_mm : by how much room lacks; no smaller move of one hole can cure it
    sheets   : commands whose sheet cannot be had in this shop, of kind "not-to-be-had"
    folded   : those that it stands for beside itself, the first of them
    offers   : what the advice tells to write, each by itself
    """

    severity: Severity
    kind: str
    said: str | Words
    advice: str | Words = ""
    file: str | None = None
    line: int | None = None
    key: str | None = None
    holes: tuple[str, ...] = ()
    last_line: int | None = None
    count: int = 1
    places: int = 1
    setup: int | None = None
    cure: Cure | None = None
    units: Units = "mm"
    is_meant: bool = False
    about: str = ""
    lacking_mm: float = 0.0
    sheets: tuple[str, ...] = ()
    folded: tuple[Finding, ...] = ()
    offers: tuple[Offer, ...] = ()

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise KeyError(f"finding of unlisted kind {self.kind!r}")
        for name in ("file", "key"):
            if (text := getattr(self, name)) and not text.isprintable():
                object.__setattr__(self, name, clean(text))

    @property
    def message(self) -> str:
        """What is wrong, as a sentence."""
        meant = " (as drawn)" if self.is_meant else ""
        return _printable(_shown(self.said, self.units, self.holes) + meant)

    @property
    def remedy(self) -> str:
        """What to do, as a sentence; may be empty."""
        cure = "" if self.cure is None else self.cure.shown(self.units)
        advice = _shown(self.advice, self.units, self.holes)
        return _printable(", or ".join(filter(None, (cure, advice))))

    def alike(self, names: tuple[str, ...]) -> str:
        """What it says with other names for its holes: the same of findings that are alike."""
        return _shown(self.said, "mm", names)

    def __str__(self) -> str:
        return format_finding(self)


@frozen
class Saying:
    """What is said of one fault, whatever its figures: they come with each finding.

    said, advice : templates as of `Words`, of the same values
    """

    severity: Severity
    kind: str
    said: str
    advice: str = ""

    def of(self, *holes: str, **values: Value) -> Finding:
        """The finding at these holes."""
        given = tuple(values.items())
        said, advice = Words(self.said, given), Words(self.advice, given)
        return Finding(self.severity, self.kind, said, advice, holes=holes)


def _printable(text: str) -> str:
    """Here, so that no printer can forget it."""
    return text if text.isprintable() else clean(text)


def stop(kind: str, said: str, advice: str = "") -> Saying:
    """What is said of a fault that stops the work."""
    return Saying("stop", kind, said, advice)


def warning(kind: str, said: str, advice: str = "") -> Saying:
    """What is said of a fault that may be lived with."""
    return Saying("warning", kind, said, advice)


def note(kind: str, said: str, advice: str = "") -> Saying:
    """What is said of what is worth knowing."""
    return Saying("note", kind, said, advice)


class MillprepError(Exception):
    """Input that cannot be judged: the command prints the findings and exits with status 2."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__("\n".join(str(f) for f in findings))
        self.findings = findings


def stopped(
    kind: str, message: str, remedy: str = "", file: str | None = None, **where: Any
) -> MillprepError:
    """The error of one stop. where : its line and key"""
    return MillprepError(Finding("stop", kind, message, remedy, file, **where))


class WordError(ValueError):
    """A word (length, size, thread) that cannot be read; the caller knows where it stood.

    message : what was given and why it is refused
    remedy  : what would be accepted
    inside  : keys and indices that lead to it from what was read
    kind    : of the finding that is made of it; empty where its place decides
    """

    kind = ""

    def __init__(
        self, message: str, remedy: str = "", inside: tuple[str | int, ...] = (), kind: str = ""
    ) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.inside = inside
        self.kind = kind or self.kind


def refusal_of(error: MillprepError | WordError) -> MillprepError:
    """A word that cannot be read, or what cannot be judged anyway, as the one error."""
    if isinstance(error, MillprepError):
        return error
    return stopped("unknown-word", error.message, error.remedy)


def format_finding(finding: Finding) -> str:
    """The finding as printed: place, severity and sentence, remedy indented below."""
    place = ""
    if finding.file is not None:
        place = f"{finding.file}:"
        if finding.line is not None:
            place += f"{finding.line}:"
            if finding.places == 1 and finding.last_line not in (None, finding.line):
                place = place[:-1] + f"-{finding.last_line}:"
        place += " "
    lines = [f"{place}{finding.severity}: {finding.message}{how_often(finding)}"]
    if finding.remedy:
        lines.append(f"    {finding.remedy}")
    return "\n".join(lines)


def how_often(finding: Finding) -> str:
    """ " (4 times)" on lines that follow each other, " (21 places)" here and there, or nothing."""
    if finding.places > 1:
        return f" ({finding.places} places)"
    return f" ({finding.count} times)" if finding.count > 1 else ""


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Stops, then warnings, then notes; within each the order they came in."""
    return sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity))


def once_over_setups(findings: Iterable[Finding]) -> list[Finding]:
    """What is said alike of several setups, once: as a person reads it."""
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for one in findings:
        said = one.message.removeprefix(f"setup {one.setup}: ")
        key = (one.severity, one.kind, said, one.remedy, one.file, one.line, one.holes)
        alike.setdefault(key, []).append(one)
    return [_over_setups(key[2], same) for key, same in alike.items()]


def _over_setups(said: object, alike: Sequence[Finding]) -> Finding:
    first, numbers = alike[0], ", ".join(str(one.setup) for one in alike)
    if len(alike) == 1 or first.setup is None:
        return first
    return replace(first, setup=None, said=f"setups {numbers}: {said}", is_meant=False)


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
    if finding.sheets:
        out["sheets"] = list(finding.sheets)
    if finding.count > 1:
        out |= {"last_line": finding.last_line, "count": finding.count}
    if finding.places > 1:
        out["places"] = finding.places
    if finding.cure is not None:
        out["cure"] = _cure_json(finding.cure)
    return out


def _cure_json(cure: Cure) -> dict[str, Any]:
    told = as_dict(cure)
    shown = ("kind", "holes", "by_mm", "depth_mm", "drill_depth_mm", "changes")
    out = {name: told[name] for name in shown}
    out["edits"] = [as_dict(edit) for edit in cure.edits]
    return out | ({"no_edits": cure.no_edits} if cure.no_edits else {})


def findings_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [finding_json(finding) for finding in findings]


def chosen_word(option: str, given: str, accepted: Sequence[str]) -> str:
    """An option's word. Raises MillprepError that names the accepted ones."""
    if given in accepted:
        return given
    remedy = f"accepted: {', '.join(accepted)}"
    raise stopped("unknown-word", f'{option}: no such word "{given}"', remedy)
