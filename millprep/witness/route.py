"""The second witness for the order of a job: each hole of each part once, and nothing too early.

What waits for what is asked of the assembly itself. Imports the assembly and `reading`; never what
put the steps in order.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import PurePath

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, Stack
from millprep.model.part import Part
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.lines import ReadRow, ReadSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness.assembly_joints import Shows
from millprep.witness.compared import Fault, Report, once, report_findings

Owner = tuple[str, str]
"""A part file and one of its holes."""


def check_route(
    data: bytes,
    form: SheetForm,
    assembly: Assembly,
    findings: Sequence[Finding],
    *,
    file: str,
    shows: Shows = str,
) -> list[Finding]:
    """How a finished route differs from its assembly; empty when they agree.

    findings : all that was found; shows : as the form's letters show it
    """
    members = assembly.members
    holes = {hole.name for member in members for hole in member.part.holes}
    holes |= {hole.group for member in members for hole in member.part.holes}
    holes |= {f"{m.name}: {hole.name}" for m in members for hole in m.part.holes}
    names = names_by_letters(
        member=[shows(member.name) for member in members], hole=[*map(shows, sorted(holes))]
    )

    def faults(sheet: ReadSheet) -> list[Fault]:
        case = _Case(sheet, assembly, findings, shows, form == "text")
        return [*case.around(), *case.steps()]

    what = "the route"
    return report_findings(data, "route", form, names, faults, table="steps", file=file, what=what)


@frozen
class _Step:
    """A step as it was read. holes : of which part file, finished here."""

    said: Said
    below: tuple[Said, ...]
    files: frozenset[str]
    stack: str
    what: str
    finishes: frozenset[Owner]

    def all(self, slug: str) -> list[Said]:
        return [one for one in self.below if one.slug == slug]


@frozen
class _Case(Report):
    """The route beside its assembly."""

    sheet: ReadSheet
    assembly: Assembly
    findings: Sequence[Finding]
    shows: Shows
    is_text: bool

    def around(self) -> Iterator[Fault]:
        """Title, counts, remarks."""
        members, shows = self.assembly.members, self.shows
        name = shows(self.assembly.name)
        title = {"assembly": {name, name.upper()}, "mark": self.assembly.mark}
        yield from self.unlike(self.title, {**title, "step_count": len(self.whole.rows)})
        holes = sum(len(member.part.holes) for member in members)
        counts = once(True, hole_count=holes, piece_count=len(members))
        yield from self.sentences({"route-counts": counts})
        if not self.is_text:
            told = Counter(one["message"] for one in self.whole.all("remark"))
            due = Counter(shows(one.message) for one in self.findings)
            if Counter("".join(w.split()) for w in told.elements()) != Counter(
                "".join(w.split()) for w in due.elements()
            ):
                yield f"{told.total()} remarks of {due.total()}, or others", self.title

    @cached_property
    def parts(self) -> dict[str, Part]:
        return {member.file: member.part for member in self.assembly.members}

    @cached_property
    def file_of(self) -> dict[str, str]:
        return {self.shows(member.name): member.file for member in self.assembly.members}

    def steps(self) -> Iterator[Fault]:
        """Each with its number, and after what it waits for; all holes, each once."""
        steps = [self._step(row) for row in self.whole.rows]
        for n, step in enumerate(steps, 1):
            yield from self.unlike(step.said, {"n": n})
            yield from self._below(n, step, steps)
        finished = Counter(owner for step in steps for owner in step.finishes)
        for file, part in self.parts.items():
            for hole in part.holes:
                if finished[file, hole.name] != 1:
                    words = f"{file}: {hole.name} is finished {finished[file, hole.name]} times"
                    yield words, self.title
        yield from self._stacks(steps)

    def _step(self, row: ReadRow) -> _Step:
        said, below = row.said, tuple(row.below)
        what, stack = said["what"], said["stack"] if said.has("stack") else ""
        names = said.slots.get("members") or []
        files = frozenset(self.file_of[name] for name in names)
        holes = [name for one in below if one.slug == "visit-holes" for name in one["made"]]
        finishes = set()
        if what in ("drill", "finish"):
            finishes = {owner for file in files for name in holes for owner in self._of(file, name)}
            if any(one.slug == "visit-all" for one in below):
                finishes = {(file, h.name) for file in files for h in self.parts[file].holes}
        elif what == "stack":
            finishes = {self._owner(name) for name in holes}
        return _Step(said, below, files, stack, what, frozenset(finishes))

    def _of(self, file: str, name: str) -> Iterator[Owner]:
        """A hole of a part, or all of a pattern of that name."""
        called = [
            h.name for h in self.parts[file].holes if name in map(self.shows, (h.name, h.group))
        ]
        yield from ((file, one) for one in called or [name])

    def _owner(self, words: str) -> Owner:
        """Of "member: hole"."""
        for member in self.assembly.members:
            for hole in member.part.holes:
                if words == self.shows(f"{member.name}: {hole.name}"):
                    return member.file, hole.name
        return "", words

    def _below(self, n: int, step: _Step, steps: Sequence[_Step]) -> Iterator[Fault]:
        for said in step.all("visit-after"):
            if any(not 0 < int(one) < n for one in said["after"]):
                yield f"step {n} waits for steps {', '.join(said['after'])}", said
        for said in step.all("visit-all"):
            (file,) = step.files
            yield from self.unlike(said, {"hole_count": len(self.parts[file].holes)})
        for said in step.all("visit-left"):
            later = int(said["later"])
            is_later = n < later <= len(steps)
            owners = {
                o for file in step.files for name in said["kept"] for o in self._of(file, name)
            }
            if not is_later or not owners <= steps[later - 1].finishes:
                yield f"step {n} leaves {', '.join(said['kept'])} for step {later}", said
        for said in step.all("visit-sheet"):
            named = {PurePath(file).name for file in step.files} or {step.stack}
            if not all(name in said["command"] for name in named):
                yield f"the command of step {n} is for another part", said

    def _stacks(self, steps: Sequence[_Step]) -> Iterator[Fault]:
        """A stack is reamed after its members are drilled, and has all its holes."""
        drilled = {
            file: n for n, one in enumerate(steps) if one.what == "drill" for file in one.files
        }
        reamed = {one.stack: (n, one) for n, one in enumerate(steps) if one.what == "stack"}
        for stack in self.assembly.stacks:
            n, step = reamed.get(self.shows(stack.stack or stack.name), (-1, None))
            if step is None:
                yield f"no step for {stack.name}", self.title
                continue
            early = [file for file in _files(self.assembly, stack) if drilled.get(file, -1) > n]
            due = {
                (self.assembly.member(p.member).file, h.name) for p in stack.places for h in p.holes
            }
            if early or not due <= step.finishes:
                yield f"{stack.name} is reamed before {', '.join(early)}, or not whole", step.said


def _files(assembly: Assembly, stack: Stack) -> set[str]:
    names = {*stack.members, *(place.member for place in stack.places)}
    return {assembly.member(name).file for name in names}
