"""The order of the whole job, a step a visit, with a box to tick. Imports layers 0 to 4."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import Any

from millprep.assembly.job import MateOf, Visit
from millprep.assembly.job_order import Route
from millprep.assembly.saying import length_words
from millprep.base.findings import Finding
from millprep.model.carrying import Leave
from millprep.model.shop import PositionMethod
from millprep.planning.plan import Plan
from millprep.planning.pull_list import pull_list
from millprep.sheets.document import (
    Column,
    Document,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
)
from millprep.sheets.heading import remarks_field
from millprep.sheets.words import tool_line

ALIKE_MM = 0.02
"""How alike pieces are faced that keep two members apart: common practice."""
_SHEETS: dict[PositionMethod, str] = {
    "dials": "dials",
    "program": "program",
    "rule": "markout",
    "height gauge": "markout",
}
"""The sheet by which holes are placed, where that is not the readout's listing."""
_COLUMNS = (Column(3, right=True, gap=0), Column(gap=2), Column(gap=2))

_say = Sayer("route")


def make_route(
    route: Route, plans: Mapping[str, Plan], findings: Sequence[Finding], *, with_remarks: bool
) -> Document:
    """The steps in order. plans : of each part file and stack, for the tools that it needs"""
    job, assembly = route.job, route.job.assembly
    rows = tuple(_Step(route, plans, n, visit).row() for n, visit in enumerate(route.visits, 1))
    remarks = remarks_field(_say, findings) if with_remarks else None
    page = Page(
        _say("route-title", assembly=assembly.name, mark=assembly.mark, step_count=len(rows)),
        (_say("route-counts", hole_count=job.hole_count, piece_count=job.piece_count),),
        (
            Section((Table("steps", None, rows, _COLUMNS),)),
            *([] if remarks is None else [Section((remarks,))]),
        ),
    )
    path = PurePath(assembly.path).as_posix()
    asked = f"millprep {shlex.join(['route', path])}"
    return Document("route", assembly.units, (page,), tuple(findings), ticked_by=asked)


class _Step:
    """One step: what stands in its row and below."""

    def __init__(self, route: Route, plans: Mapping[str, Plan], n: int, visit: Visit) -> None:
        self.route, self.plans, self.n, self.visit = route, plans, n, visit
        self.assembly = route.job.assembly

    def row(self) -> Row:
        visit = self.visit
        if visit.file:
            cells = _say("steps part-visit", n=self.n, members=visit.members, what=visit.what)
        elif visit.what == "assemble":
            cells = _say("steps last-visit", n=self.n)
        else:
            cells = _say("steps stack-visit", n=self.n, stack=visit.key[1], what=visit.what)
        tools = self._tools()
        left = {name: self.route.numbers[key] for name, (key, _) in self.visit.left.items()}
        also: dict[str, Any] = {
            **({"part": visit.file} if visit.file else {"stack_members": visit.members}),
            "what": visit.what,
            "pieces": self._pieces(),
            "holes": visit.holes,
            "left_for": left,
            "left": [],
            "after": self._after(),
            "tools": list(tools),
            "command": self.command(),
        }
        below = tuple(self._below([name for name, owned in tools.items() if not owned]))
        told = {name for one in below for name in ("left",) if one.slug == "visit-left"}
        said = {name for one in (cells, *below) for name in one.slots}
        return Row(cells, below, {k: v for k, v in also.items() if k not in told | said})

    def _below(self, lacking: Sequence[str]) -> Iterator[Sentence]:
        visit = self.visit
        if visit.what == "other":
            part = self.assembly.member(visit.members[0]).part
            length_mm = self.route.job.faced_mm(visit.file)
            yield _say(
                "visit-faced",
                pieces=self._pieces(),
                length_mm=Shown(length_words(length_mm, part.units, 3), length_mm),
                within_mm=Shown(length_words(ALIKE_MM, part.units), ALIKE_MM),
            )
        if visit.what == "drill" and not self.visit.left:
            yield _say("visit-all", hole_count=len(visit.holes))
        elif visit.holes:
            yield _say("visit-holes", made=self._by_pattern(visit.holes))
        if visit.what == "drill" and visit.mate:
            yield self._placed(visit, visit.mate)
        if visit.carried is not None:
            yield _say("visit-carried", source=visit.carried.source, by=visit.carried.by)
        yield from self._left()
        if visit.what == "measure" and visit.file:
            yield _say("visit-written", readings=self._path(_readings(visit.file)))
        if lacking:
            yield _say("visit-lacks", lacking=lacking)
        if self._after():
            yield _say("visit-after", after=self._after())
        if command := self.command():
            yield _say("visit-sheet", command=command)

    def _placed(self, visit: Visit, mate: MateOf) -> Sentence:
        """A pair's sheet has the places of its fellow, else the sheet that matches."""
        if mate.is_of_a_pair:
            return _say("visit-placed", mate=mate.file)
        step = self.route.numbers["match", visit.file]
        return _say(
            "visit-matched", step=step, fitted=self._by_pattern(self.route.visits[step - 1].holes)
        )

    def _left(self) -> Iterator[Sentence]:
        """By the step that finishes them, and how they are left."""
        by_step: dict[tuple[int, Leave], list[str]] = {}
        for name, (key, leave) in self.visit.left.items():
            by_step.setdefault((self.route.numbers[key], leave), []).append(name)
        for (later, leave), names in sorted(by_step.items()):
            yield _say("visit-left", kept=self._by_pattern(names), leave=leave, later=later)

    def _by_pattern(self, names: Sequence[str]) -> list[str]:
        """A pattern by its own name where all of its holes are here."""
        if not self.visit.file:
            return [*names]
        patterns: dict[str, list[str]] = {}
        for hole in self.assembly.member(self.visit.members[0]).part.holes:
            patterns.setdefault(hole.group, []).append(hole.name)
        told: dict[str, None] = {}
        for group, members in patterns.items():
            here = [name for name in members if name in names]
            told |= dict.fromkeys([group] if here == members else here)
        return [*told]

    def _after(self) -> list[int]:
        return sorted(self.route.numbers[key] for key in self.visit.after)

    def _pieces(self) -> int:
        return self.route.job.pieces_of(self.visit)

    def _tools(self) -> dict[str, bool]:
        """What the visit takes from the drawer, and whether it is there."""
        visit = self.visit
        plan = self.plans.get(visit.file or visit.key[1])
        if plan is None or visit.what not in ("drill", "finish", "stack", "carry"):
            return {}
        begun = {name for name, (_, how) in visit.left.items() if how != "undrilled"}
        here = {*visit.holes, *begun}
        return {
            tool_line(one.tool): one.in_drawer
            for one in pull_list(plan)
            if visit.what in ("stack", "carry") or here & {*one.holes}
        }

    def _path(self, file: str) -> str:
        return (PurePath(self.assembly.path).parent / file).as_posix()

    def command(self) -> str:
        """Of the step's sheet, as it is typed behind `millprep`; empty where there is none."""
        visit, path = self.visit, PurePath(self.assembly.path).as_posix()
        part = self._path(visit.file)
        by = _SHEETS.get(self.assembly.member(visit.members[0]).made_by, "listing")
        many = ["--pieces", f"{self._pieces()}"] if self._pieces() > 1 else []
        mate = self._path(_readings(visit.mate.file)) if visit.mate else ""
        words: list[str] = []
        if visit.what == "stack":
            words = [by, path, "--stack", visit.key[1]]
        elif visit.what == "carry":
            words = ["dials" if by == "dials" else "listing", path, "--stack", visit.key[1]]
        elif visit.what == "measure":
            words = ["inspect", part] if visit.file else ["inspect", path, "--stack", visit.key[1]]
        elif visit.what == "match":
            words = ["match", part, mate, "--mate", path]
        elif visit.what == "drill":
            words = [
                by,
                part,
                *many,
                *(["--as-measured", mate] if visit.mate and visit.mate.is_of_a_pair else []),
            ]
        elif visit.what == "finish":
            words = [by, part, *many, "--only", self._by_pattern(visit.holes)[0]]
        return shlex.join(words)


def _readings(file: str) -> str:
    """The file that a part's readings are written in."""
    return PurePath(file).with_suffix(".csv").as_posix()
