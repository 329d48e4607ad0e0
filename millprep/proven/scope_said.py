"""What a program says in its head of what it makes: all that is there when nothing is said.

    PROVING RUN, 20 MM UP, CUTS NOTHING
    SPOTS ONLY: A DIMPLE AT EACH HOLE, NOTHING IS DRILLED
    TOOL 2 ALONE: MADE BEFORE: T1 ALL
    RESTART: MADE BEFORE: T1 ALL, T2 RING 1 TO RING 3
    LEFT OUT, NOT MADE: RING 4

Names are looked for among those of the part, so that a name may hold a comma or a "to".
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from millprep.base.findings import Finding
from millprep.base.plain_text import some
from millprep.base.records import anew, frozen

if TYPE_CHECKING:
    from millprep.model.part import Hole, Part


_FIRST_BYTES = 40_000
_COMMENT = re.compile(r"\(([^)]*)\)|;\s?(.*)")
_PROVING = re.compile(
    r"PROVING RUN, (?:(?P<height>[\d.]+(?:E-\d+)?) (?P<unit>MM|IN) UP|QUILL STAYS UP), CUTS NOTHING"
)
_MADE = re.compile(r"(?:RESTART|TOOL (?P<tool>\d+) ALONE): MADE BEFORE: (?P<list>.+)")
_LEFT_OUT = re.compile(r"LEFT OUT, NOT MADE: (?P<list>.+)")
_SPOTS = re.compile(r"SPOTS ONLY\b.*")
_TOOL = re.compile(r"T(\d+) ")


@frozen
class ScopeSaid:
    """What a head says.

    kind      : as `planning.plan.Scope` has it; tool : the one that is alone
    is_proving, raised_mm : a proving run, and how far it is above the part
    before    : tool -> the holes that it has made before, None for all
    left_out  : the holes that nothing enters
    """

    kind: Literal["whole", "restart", "tool", "spots"] = "whole"
    tool: int = 0
    is_proving: bool = False
    raised_mm: float = 0.0
    before: Mapping[int, frozenset[str] | None] = anew(factory=dict)
    left_out: frozenset[str] = frozenset()

    def has_made(self, tool: int, hole: str) -> bool:
        """Whether that is taken as made before."""
        if tool not in self.before or hole in self.left_out:
            return False
        holes = self.before[tool]
        return holes is None or hole in holes

    def is_for_later(self, tool: int, hole: str, operation: str) -> bool:
        """Whether that is left to other programs."""
        is_own = operation == "spot drill" if self.kind == "spots" else tool == self.tool
        is_part = self.kind in ("spots", "tool") and not is_own
        return is_part and hole not in self.left_out and not self.has_made(tool, hole)


def said_in_words(said: ScopeSaid) -> Iterator[str]:
    """What of it a report tells: how the program is judged."""
    if said.is_proving:
        yield "a proving run: it must cut nothing, and is compared as if it were let down to cut"
    if said.kind == "spots":
        yield "it makes the spots alone: what else the part needs is taken as made later"
    if said.kind == "tool":
        yield f"tool {said.tool} alone: what other tools make is taken as made by them"
    if said.kind == "restart":
        made = ", ".join(
            f"by tool {tool} {'all' if holes is None else some(sorted(holes))}"
            for tool, holes in said.before.items()
        )
        yield f"a restart: taken as made before {made}"


def comments_of(data: bytes, notes: Sequence[str]) -> list[str]:
    """The comments at the head of a program; those of its card where it has none."""
    if notes:
        return [*notes]
    found = []
    for line in data[:_FIRST_BYTES].decode("utf-8", "replace").splitlines():
        match = _COMMENT.fullmatch(line.strip())
        if match is not None:
            found.append(" ".join((match[1] or match[2] or "").split()))
        elif line.strip() and not re.fullmatch(r"%|O\d+", line.strip()):
            break
    return found


def scope_said(comments: Iterable[str], part: Part, file: str) -> tuple[ScopeSaid, list[Finding]]:
    """What a head says, and what of it nobody understands."""
    names = _Names(part)
    kind: Literal["whole", "restart", "tool", "spots"] = "whole"
    tool, is_proving, raised_mm = 0, False, 0.0
    before: dict[int, frozenset[str] | None] = {}
    left_out: set[str] = set()
    faults: list[Finding] = []
    for comment in comments:
        if (match := _PROVING.fullmatch(comment)) is not None:
            is_proving = True
            raised_mm = float(match["height"] or 0) * (25.4 if match["unit"] == "IN" else 1.0)
        elif _SPOTS.fullmatch(comment):
            kind = "spots"
        elif (match := _MADE.fullmatch(comment)) is not None:
            kind, tool = ("tool", int(match["tool"])) if match["tool"] else ("restart", 0)
            for number, words in _by_tool(match["list"]):
                if words == "ALL":
                    before[number] = None
                    continue
                holes = names.read(words)
                before[number] = holes | (before.get(number) or frozenset())
                if not holes:
                    faults.append(_unclear(comment, words, file))
        elif (match := _LEFT_OUT.fullmatch(comment)) is not None:
            holes = names.read(match["list"])
            left_out |= holes
            if not holes:
                faults.append(_unclear(comment, match["list"], file))
    return ScopeSaid(kind, tool, is_proving, raised_mm, before, frozenset(left_out)), faults


def _by_tool(words: str) -> Iterator[tuple[int, str]]:
    """ "T1 ALL, T2 RING 1" as (1, "ALL"), (2, "RING 1")."""
    if words == "NOTHING":
        return
    starts = [*re.finditer(r"(?:^|, )T(\d+) ", words)]
    ends = [*(each.start() for each in starts[1:]), len(words)]
    for start, end in zip(starts, ends, strict=True):
        yield int(start[1]), words[start.end() : end]


def _unclear(comment: str, words: str, file: str) -> Finding:
    return Finding(
        "stop",
        "head-unclear",
        f'the head says "{comment}", and "{words}" are no holes of the part',
        "write the program again from this part file",
        file=file,
    )


class _Names:
    """The holes of a part as comments name them."""

    def __init__(self, part: Part) -> None:
        plain = {hole.name: _plain(hole.name) for hole in part.holes}
        counts = Counter(plain.values())
        self._holes: dict[str, Hole] = {}
        for number, hole in enumerate(part.holes, 1):
            words = plain[hole.name]
            is_own = bool(words) and counts[words] == 1
            self._holes[words if is_own else f"HOLE {number}"] = hole
        self._longest_first = sorted(self._holes, key=len, reverse=True)

    def read(self, words: str) -> frozenset[str]:
        """The names of "RING 1 TO RING 3, PIVOT"; none where any of it is no hole."""
        found: set[str] = set()
        first: Hole | None = None
        while words:
            name = next((n for n in self._longest_first if self._stands(n, words)), None)
            if name is None:
                return frozenset()
            hole, words = self._holes[name], words[len(name) :]
            found |= {hole.name} if first is None else self._between(first, hole)
            first = hole if words.startswith(" TO ") else None
            words = words.removeprefix(" TO ").removeprefix(", ")
        return frozenset(found)

    @staticmethod
    def _stands(name: str, words: str) -> bool:
        rest = words[len(name) :]
        return words.startswith(name) and (not rest or rest.startswith((", ", " TO ")))

    def _between(self, first: Hole, last: Hole) -> set[str]:
        low, high = first.member or 0, last.member or 0
        return {
            hole.name
            for hole in self._holes.values()
            if hole.group == first.group == last.group and low <= (hole.member or 0) <= high
        }


def _plain(name: str) -> str:
    """What a control shows of a name: capitals of ASCII, nothing that ends a comment."""
    capitals = "".join(each if each.isascii() else " " for each in name.upper())
    return " ".join(re.split(r"[();%\s]+", capitals)).strip()


_HEADING_BYTES = 2000
_SETUP = re.compile(rb"^[(;].*\bSETUP (\d{1,4}) OF \d", re.MULTILINE)
# a comment of nothing else: a part may be called "part mark abcdef"
_MOVED = re.compile(rb"^(?:\(|; )HOLES MOVED TO FIT ([^)\r\n]+)", re.MULTILINE)
_MARK = re.compile(rb"^(?:\(|; )PART MARK ([0-9A-F]{6})\)?\r?$", re.MULTILINE)


def heading_doubts(file: str, data: bytes, part: Part, setup: int) -> Iterator[Finding]:
    """A program of millprep's own that was written for another setup, or another part file."""
    heading = data[:_HEADING_BYTES]
    found = _SETUP.search(heading)
    if found is not None and int(found[1]) != setup:
        number = int(found[1])
        message = f"the program says that it is for setup {number}; it is judged as setup {setup}"
        remedy, line = f"dry-run it by itself, with --setup {number}", _line(heading, found)
        yield Finding("warning", "other-setup", message, remedy, file, line)
    found = _MOVED.search(heading)
    if found is not None and part.as_measured is None:
        name = found[1].decode(errors="replace").strip()
        message = f"the program says that its holes are moved to fit {name}; judged without that"
        remedy = "name that file: --as-measured"
        yield Finding("warning", "other-revision", message, remedy, file, _line(heading, found))
    found = _MARK.search(heading)
    if found is not None and found[1].decode().lower() != part.mark.lower():
        message = (
            f"the program was written for part mark {found[1].decode().lower()}; "
            f"{part.path or 'the part'} has {part.mark} now"
        )
        remedy = "write the program again, or give the part file that it was written from"
        yield Finding("warning", "other-revision", message, remedy, file, _line(heading, found))


def says_lay(data: bytes) -> bool:
    """Whether a program says in its heading how the part lies, as millprep's own do."""
    return b"TOWARDS YOU" in data[:_HEADING_BYTES].upper()


def _line(data: bytes, found: re.Match[bytes]) -> int:
    return data.count(b"\n", 0, found.start()) + 1
