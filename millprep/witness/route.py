"""The second witness for the order of a job: each hole of each part once, and nothing too early.

What waits for what is asked of the assembly itself. Imports the assembly and `reading`; never what
put the steps in order.
"""

from __future__ import annotations

import shlex
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import PurePath

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadRow, ReadSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness.assembly_joints import Shows
from millprep.witness.compared import Due, Fault, once, report_findings
from millprep.witness.route_asked import JobAsked, Owner

_ALIKE_MM = 0.02  # how alike distance pieces are faced: common practice
_LENGTH_MM = 0.00055  # to which a length is told


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
    holes = {word for m in members for hole in m.part.holes for word in (hole.name, hole.group)}
    holes |= {f"{m.name}: {hole.name}" for m in members for hole in m.part.holes}
    names = names_by_letters(
        member=[shows(member.name) for member in members], hole=[*map(shows, sorted(holes))]
    )

    def faults(sheet: ReadSheet) -> list[Fault]:
        case = _Case(sheet, assembly, shows, findings, form == "text")
        return [*case.around(), *case.faults()]

    what = "the route"
    return report_findings(data, "route", form, names, faults, table="steps", file=file, what=what)


@frozen
class _Step:
    """A step as it was read. files : whose pieces are here; after : steps that it waits for."""

    said: Said
    below: tuple[Said, ...]
    files: tuple[str, ...]
    stack: str
    finishes: frozenset[Owner]
    carries: frozenset[Owner]
    after: frozenset[int]

    @property
    def what(self) -> str:
        return _what(self.said)

    @property
    def is_of_part(self) -> bool:
        return len(self.files) == 1 and not self.stack

    def all(self, slug: str) -> list[Said]:
        return [one for one in self.below if one.slug == slug]


@frozen
class _Case(JobAsked):
    """The route beside its assembly."""

    findings: Sequence[Finding]
    is_text: bool

    @cached_property
    def steps(self) -> list[_Step]:
        return [self._step(row) for row in self.whole.rows]

    def around(self) -> Iterator[Fault]:
        """Title, counts, remarks."""
        members, name = self.assembly.members, self.shows(self.assembly.name)
        title = {"assembly": {name, name.upper()}, "mark": self.assembly.mark}
        yield from self.unlike(self.title, {**title, "step_count": len(self.whole.rows)})
        holes = sum(len(member.part.holes) for member in members)
        each = self.assembly.quantity
        counts = once(True, hole_count=holes * each, piece_count=len(members) * each)
        yield from self.sentences({"route-counts": counts})
        told = Counter(_plain(o["severity"], o["message"]) for o in self.whole.all("remark"))
        due = Counter(_plain(o.severity, self.shows(o.message)) for o in self.findings)
        if told != due and not self.is_text:
            yield f"{told.total()} remarks of {due.total()}, or others", self.title

    def faults(self) -> Iterator[Fault]:
        """Each step with its number, and after what it waits for; all holes, each once."""
        finished = Counter(owner for step in self.steps for owner in step.finishes)
        for file, part in self.parts.items():
            for hole in part.holes:
                if (count := finished[file, hole.name]) != 1:
                    yield f"{file}: {hole.name} is finished {count} times", self.title
        for n, step in enumerate(self.steps, 1):
            yield from self.unlike(step.said, {"n": n})
            yield from self._who(n, step)
            yield from self._below(n, step)
            yield from self._waits(n, step)
            yield from self._command(n, step)

    def _step(self, row: ReadRow) -> _Step:
        said, below = row.said, tuple(row.below)
        files = tuple(dict.fromkeys(self.file_of(name) for name in said.slots.get("members") or ()))
        stack = str(said["stack"]) if said.has("stack") else ""
        made = [name for one in below if one.slug == "visit-holes" for name in one["made"]]
        finishes: set[Owner] = set()
        if _what(said) in ("drill", "finish"):
            finishes = {
                owner for file in files for name in made for owner in self.owners_of(file, name)
            }
            if any(one.slug == "visit-all" for one in below):
                finishes = {(file, hole.name) for file in files for hole in self.parts[file].holes}
        elif _what(said) == "stack":
            finishes = {self.owner(name) for name in made}
        after = {int(n) for one in below if one.slug == "visit-after" for n in one["after"]}
        over = {self.owner(name) for name in made} if _what(said) == "carry" else ()
        here = frozenset(finishes), frozenset(over)
        return _Step(said, below, files, stack, *here, frozenset(after))

    def _who(self, n: int, step: _Step) -> Iterator[Fault]:
        """All pieces of the part, or a stack of the file with all its holes."""
        told = sorted(step.said.slots.get("members") or ())
        if step.files and told != sorted(self.pieces[step.files[0]]):
            yield f"step {n} does not have all pieces of {step.files[0]}, or others too", step.said
        known = self.carries if step.what == "carry" else self.stacks
        if step.stack and step.stack not in known:
            yield f"step {n}: there is no stack {step.stack}", step.said
            return
        made = step.carries | step.finishes
        if step.stack and step.what != "measure" and known[step.stack][-1] != made:
            yield f"step {n} lacks holes of {step.stack}", step.said

    def _below(self, n: int, step: _Step) -> Iterator[Fault]:
        """What stands under a step, by what it is."""
        part = self.parts[step.files[0]] if step.is_of_part else None
        is_faced = step.what == "other"
        is_moved = step.what == "drill" and any(one.what == "match" for one in self._same(step))
        due: dict[str, Sequence[Due]] = {
            "visit-faced": once(
                is_faced and part,
                pieces=len(step.said.slots.get("members") or ()) * self.assembly.quantity,
            ),
            "visit-written": once(step.what == "measure" and part),
            "visit-placed": once(is_moved and self._is_of_a_pair(step)),
            "visit-matched": self._matched(step) if not self._is_of_a_pair(step) else [],
            "visit-carried": self._carried(step),
        }
        for slug, wanted in due.items():
            told = step.all(slug)
            if len(told) != len(wanted):
                yield f"step {n} has {len(told)} sentences of {slug}", step.said
            for said, one in zip(told, wanted, strict=False):
                yield from self.unlike(said, one)
        for said in step.all("visit-all"):
            yield from self.unlike(said, {"hole_count": len(part.holes) if part else 0})
        for said in step.all("visit-faced"):
            sizes = part.stock.size_mm if part else ()
            if min((abs(said.mm("length_mm") - size) for size in sizes), default=1) > _LENGTH_MM:
                yield f"step {n} is faced to a length that {step.files[0]} does not have", said
            if abs(said.mm("within_mm") - _ALIKE_MM) > _LENGTH_MM:
                yield f"step {n} is faced too coarsely", said
        if step.what == "drill":
            yield from self._left(n, step)
        is_begun = any(one.what == "drill" for one in self._same(step))
        left = self._left_before(n, step)
        if step.what == "finish" and is_begun and not step.finishes <= left:
            yield f"step {n} finishes what no step has left for it", step.said

    def _left_before(self, n: int, step: _Step) -> set[Owner]:
        """What steps of the same part have left for this one."""
        return {
            owner
            for one in self.steps[: n - 1]
            if one.files == step.files
            for said in one.all("visit-left")
            if int(said["later"]) == n
            for name in said["kept"]
            for owner in self.owners_of(step.files[0], name)
        }

    def _is_of_a_pair(self, step: _Step) -> bool:
        names = {m.name for m in self.assembly.members if m.file in step.files}
        return any(names & {*pair.members} for pair in self.assembly.pairs)

    def _matched(self, step: _Step) -> Sequence[Due]:
        """Where the places are told of a part that is no fellow of the one measured."""
        for n, one in enumerate(self.steps, 1):
            if step.what == "drill" and one.what == "match" and one.files == step.files:
                (made,) = [said["made"] for said in one.all("visit-holes")] or [[]]
                return [{"step": n, "fitted": made}]
        return []

    def _carried(self, step: _Step) -> Sequence[Due]:
        if step.what != "carry" or step.stack not in self.carries:
            return []
        carried = self.carries[step.stack][0]
        return [{"source": self.shows(carried.source), "by": carried.by}]

    def _same(self, step: _Step) -> list[_Step]:
        return [one for one in self.steps if one.files == step.files]

    def _left(self, n: int, step: _Step) -> Iterator[Fault]:
        """What a part's own sheets leave stands there, as the file says, with the step for it."""
        (file,) = step.files
        told: set[Owner] = set()
        for said in step.all("visit-left"):
            later = int(said["later"])
            owners = {owner for name in said["kept"] for owner in self.owners_of(file, name)}
            told |= owners
            if not n < later <= len(self.steps) or not owners <= self.steps[later - 1].finishes:
                yield f"step {n} leaves {', '.join(said['kept'])} for step {later}", said
            if any(self.leave_of(owner) != said["leave"] for owner in owners):
                yield f"step {n} leaves {', '.join(said['kept'])} {said['leave']}", said
        holes = {(file, hole.name) for hole in self.parts[file].holes}
        if told != holes - step.finishes:
            yield f"step {n} does not say what it leaves", step.said

    @cached_property
    def _before(self) -> list[set[int]]:
        """All steps that each waits for, by way of others too."""
        before: list[set[int]] = []
        for n, step in enumerate(self.steps, 1):
            near = {one for one in step.after if 0 < one < n}
            before.append(near.union(*(before[one - 1] for one in near)))
        return before

    def _waits(self, n: int, step: _Step) -> Iterator[Fault]:
        needed = {m for m, one in enumerate(self.steps, 1) if m != n and self._is_before(one, step)}
        early = needed - self._before[n - 1]
        if early or any(not 0 < one < n for one in step.after):
            yield f"step {n} does not wait for {sorted(early)}", step.said

    def _is_before(self, one: _Step, step: _Step) -> bool:
        """Whether a step has to wait for another, by what both are."""
        if step.what == "assemble":
            return True
        if step.what == "carry" and step.stack in self.carries:
            carried, files, _ = self.carries[step.stack]
            is_stack = one.what == "stack" and one.stack == self.shows(carried.after or "")
            return is_stack or (one.what == "drill" and one.files[0] in files)
        if step.what == "finish":
            return bool(one.carries & step.finishes)
        if step.stack:
            files = self.stacks.get(step.stack, (set(), set()))[0]
            if step.what == "measure":
                return one.stack == step.stack and one.what == "stack"
            return one.what in ("drill", "other") and one.is_of_part and one.files[0] in files
        earlier = {"drill": ("other", "match"), "measure": ("drill",)}.get(step.what, ())
        if step.what == "match":
            return one.what == "measure" and one.is_of_part and self._mate(step) == one.files[0]
        return one.files == step.files and one.what in earlier

    def _mate(self, step: _Step) -> str:
        """The part whose readings a match takes."""
        words = (
            shlex.split(step.all("visit-sheet")[0]["command"]) if step.all("visit-sheet") else []
        )
        named = [PurePath(word).stem for word in words if word.endswith(".csv")]
        return next((file for file in self.parts if PurePath(file).stem in named), "")

    def _command(self, n: int, step: _Step) -> Iterator[Fault]:
        told = [str(one["command"]) for one in step.all("visit-sheet")]
        due = self._words(step)
        if [shlex.split(one) for one in told] != ([due] if due else []):
            yield f"the command of step {n} is {told}, not {shlex.join(due)}", step.said
        for said in step.all("visit-placed"):
            if said["mate"] not in self.parts or said["mate"] != self._mate(step):
                yield f"step {n} is moved to fit {said['mate']}", said
        for said in step.all("visit-written"):
            if said["readings"] != self.readings(step.files[0]):
                yield f"the readings of step {n} are written in {said['readings']}", said

    def _words(self, step: _Step) -> list[str]:
        """What is typed behind `millprep` for the sheet of a step."""
        whole = PurePath(self.assembly.path).as_posix()
        if step.what == "carry" and step.stack in self.carries:
            (carried, *_) = self.carries[step.stack]
            by = self.assembly.member(carried.source).made_by
            return ["dials" if by == "dials" else "listing", whole, "--stack", step.stack]
        if step.stack:
            first = self.assembly.stacks[0].places[0].member
            verb = "inspect" if step.what == "measure" else self.verb(first)
            return [verb, whole, "--stack", step.stack]
        if not step.is_of_part or step.what == "other":
            return []
        (file,) = step.files
        matches = [one for one in self._same(step) if one.what == "match"]
        mate = self._mate(matches[0]) if matches else ""
        moved = ["--as-measured", self.readings(mate)] if mate else []
        count = len(self.pieces[file]) * self.assembly.quantity
        many = ["--pieces", f"{count}"] if count > 1 else []
        if step.what == "match":
            return ["match", self.path(file), *moved[1:], "--mate", whole]
        if step.what == "measure":
            return ["inspect", self.path(file)]
        only = ["--only", self._pattern(step)] if step.what == "finish" else []
        moved = moved if step.what == "drill" and self._is_of_a_pair(step) else []
        return [self.verb(file), self.path(file), *many, *moved, *only]

    def _pattern(self, step: _Step) -> str:
        """The hole, or the pattern, that a step finishes after it was carried over."""
        file = step.files[0]
        holes = [hole for hole in self.parts[file].holes if (file, hole.name) in step.finishes]
        group = {hole.group for hole in holes}
        whole = [hole for hole in self.parts[file].holes if hole.group in group]
        if not holes or (len(group) == 1 and holes == whole):
            return next(iter(group), "")
        return holes[0].name


def _what(said: Said) -> str:
    """The last step, at which all comes together, has no other word."""
    return str(said.slots.get("what") or "assemble")


def _plain(severity: str, words: str) -> tuple[str, str]:
    return severity, "".join(words.split())
