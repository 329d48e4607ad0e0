"""A plan as a part file: what it says as keys, what it does not say as comments to fill in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from millprep.base.bounds import LONGEST_NAME, MOST_HOLES, MOST_TABLES
from millprep.base.findings import MillprepError, stopped
from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.infiles.plans.blanks import Blank
from millprep.infiles.plans.patterns import Frame, patterns_in
from millprep.infiles.plans.record import Place, Plan, PlanHole, quoted

FILL_IN = "FILL IN"
_NUMBERED = re.compile(r"(?P<stem>.*?)[\s._-]*(?P<number>[1-9]\d{0,3})")
_A_LINE = 4
_MOST_UNREAD = 1_000


@frozen
class Group:
    """Holes that are alike and go into the file together. is_numbered : members 1, 2, 3 in order"""

    holes: tuple[PlanHole, ...]
    name: str = ""
    is_numbered: bool = False
    comment: str = ""


@frozen
class Made:
    """The text of a part file, and what was taken as what, a sentence each."""

    text: str
    taken: tuple[str, ...]


def part_text(plan: Plan, blank: Blank, name: str) -> Made:
    """The part file. Raises MillprepError for more holes than a file may hold."""
    if len(plan.holes) > MOST_HOLES:
        what = f"{len(plan.holes):,} holes: a part has at most {MOST_HOLES:,}"
        raise stopped("unreadable-file", what, "split the plan", file=plan.path)
    taken = [*plan.taken, *blank.taken]
    tables = list(_tables(plan, blank, taken))
    if len(tables) > MOST_TABLES - 10:
        raise _too_many_tables(plan, len(tables))
    text = "\n".join([*_head(plan, blank, name), *(line for table in tables for line in table)])
    said = tuple(dict.fromkeys(taken))
    return Made("\n".join([text, *_foot(plan, said)]) + "\n", said)


def _too_many_tables(plan: Plan, count: int) -> MillprepError:
    message = f"{count:,} holes with a name of their own: a file has at most {MOST_TABLES - 10:,}"
    remedy = "leave the column of the names out: holes that are alike then stand together"
    return stopped("unreadable-file", message, remedy, file=plan.path)


def _head(plan: Plan, blank: Blank, name: str) -> Iterator[str]:
    source = clean(plan.path)
    yield f"# Made from {source}: {plan.read} of {plan.total} {plan.noun} read."
    yield "# What was not understood, and what was taken as what, stands at the end."
    yield f"# {FILL_IN} marks what the plan does not say; millprep check asks for it."
    yield ""
    yield f"part     = {quoted(' '.join(clean(name).split())[:LONGEST_NAME] or 'Part')}"
    yield f"units    = {quoted(plan.units)}"
    yield f'# material = "mild steel"       # {FILL_IN}: what it is made of'
    yield ""
    yield "[stock]"
    yield from blank.stock_lines(plan.units)
    yield ""
    yield "[datum]                          # the faces that the figures count from"
    yield f'x = "{blank.datum[0]}"'
    yield f'y = "{blank.datum[1]}"'
    if any(not _has_depth(hole) for hole in plan.holes):
        yield ""
        yield "[defaults]                       # for the holes that give no depth of their own"
        yield f'# depth = "through"              # {FILL_IN}: or a length, or depth at each hole'


def _has_depth(hole: PlanHole) -> bool:
    return any(key == "depth" for key, _ in hole.keys)


def _foot(plan: Plan, taken: Sequence[str]) -> Iterator[str]:
    """What was taken as what, what was not understood, and the words on the plan, as comments."""
    if taken:
        yield from ("", "# Taken as:")
        yield from (f"#   {clean(words)}" for words in taken)
    unread = plan.faults.findings
    if unread:
        yield from ("", "# Not understood:")
        for one in unread[:_MOST_UNREAD]:
            place = f"line {one.line}: " if one.line else ""
            yield f"#   {place}{one.message}"
        if len(unread) > _MOST_UNREAD:
            yield f"#   and {len(unread) - _MOST_UNREAD} more"
    if plan.texts:
        yield from ("", "# Words on the plan, which may say depths, threads and names:")
        yield from (f"#   {clean(words)}" for words in plan.texts)


def _tables(plan: Plan, blank: Blank, taken: list[str]) -> Iterator[list[str]]:
    """A [[hole]] for each pattern, and for what is alike and in none."""
    frame = Frame(plan.units, blank.zero_mm, blank.signs, blank.known_block)
    centres = _centres(plan, blank)
    names = _Names(taken)
    for group in _groups([blank.seen(hole) for hole in plan.holes], taken):
        places = [hole.place for hole in group.holes]
        found = patterns_in(places, frame, centres, in_order=group.is_numbered)
        whole = len(found) == 1 and len(found[0].members) == len(places)
        left = set(range(len(places)))
        for pattern in found:
            left -= set(pattern.members)
            members = tuple(group.holes[i] for i in pattern.members)
            what = _what(members[0])
            taken.append(f"{what}: {pattern.said}".removeprefix(": "))
            name = names.free(group.name, len(members)) if whole else ""
            yield _table(members, name, group.comment if whole else "", [pattern.line])
        rest = tuple(group.holes[i] for i in sorted(left))
        if rest:
            name = names.free(group.name, len(rest)) if not found else ""
            yield _table(rest, name, group.comment, list(_at_lines(rest, frame)))


def _what(hole: PlanHole) -> str:
    return " ".join(f"{key} {value}" for key, value in hole.keys if key not in ("note", "depth"))


def _centres(plan: Plan, blank: Blank) -> list[Place]:
    """Where circles of holes may have their middle: the blank's, and that of the largest holes."""
    large = sorted(plan.holes, key=lambda hole: -hole.diameter_mm)[:100]
    return list(dict.fromkeys([blank.middle_mm, *(blank.seen(hole).place for hole in large)]))


def _groups(holes: Sequence[PlanHole], taken: list[str]) -> Iterator[Group]:
    """Holes that are alike, by their names where those number them."""
    alike: dict[tuple[object, ...], list[PlanHole]] = {}
    for hole in holes:
        found = _NUMBERED.fullmatch(hole.name)
        stem = found["stem"] if found else hole.name
        alike.setdefault((hole.keys, hole.asks, stem), []).append(hole)
    for (_, _, stem), members in alike.items():
        yield from _named(str(stem), members, taken)


def _named(stem: str, members: Sequence[PlanHole], taken: list[str]) -> Iterator[Group]:
    """Members of one stem: a pattern of that name, one each, or by the numbers of the plan."""
    given = [hole.name for hole in members]
    if not any(given) or (len(set(given)) == 1 and stem == given[0]):
        yield Group(tuple(members), stem)
        return
    numbers = [int(found["number"]) if (found := _NUMBERED.fullmatch(n)) else 0 for n in given]
    if not stem:
        comment = f"on the plan: {', '.join(given)}"
        yield Group(tuple(members), comment=comment)
        return
    if len(members) > 1 and numbers == list(range(1, len(members) + 1)):
        if given[0] != f"{stem} 1":
            taken.append(f"{given[0]} to {given[-1]}: called {stem} 1 to {stem} {len(members)}")
        yield Group(tuple(members), stem, is_numbered=True)
        return
    same: dict[str, list[PlanHole]] = {}
    for hole in members:
        same.setdefault(hole.name, []).append(hole)
    yield from (Group(tuple(each), name) for name, each in same.items())


class _Names:
    """Names are given once in a part, members included; one that is taken is left out, and told."""

    def __init__(self, taken: list[str]) -> None:
        self._used: set[str] = set()
        self._taken = taken

    def free(self, name: str, count: int) -> str:
        """The name, or "" where it cannot be had."""
        if not name:
            return ""
        names = [name] if count == 1 else [name, *(f"{name} {i}" for i in range(1, count + 1))]
        wanted = {" ".join(each.split()).casefold() for each in names}
        if wanted & self._used:
            self._taken.append(f"the name {name} is there already: left out the second time")
            return ""
        self._used |= wanted
        return name


def _table(members: Sequence[PlanHole], name: str, comment: str, where: Sequence[str]) -> list[str]:
    first = members[0]
    count = len(members)
    whence = first.where if count == 1 else f"{first.where} and {count - 1} more"
    lines = ["", f"[[hole]]                         # {clean(whence)}"]
    lines += [f"# {clean(comment)}"] if comment else []
    lines += [f"name  = {quoted(name)}"] if name else []
    lines += [f"{key:<5} = {value}" for key, value in first.keys]
    lines += [f"# {clean(ask)}" for ask in first.asks]
    return [*lines, *where]


def _at_lines(members: Sequence[PlanHole], frame: Frame) -> Iterator[str]:
    points = [_point(hole, frame) for hole in members]
    if len(points) == 1:
        yield f"at    = {points[0]}"
        return
    if len(points) <= _A_LINE:
        yield f"at    = [{', '.join(points)}]"
        return
    yield "at    = ["
    for start in range(0, len(points), _A_LINE):
        yield f"    {', '.join(points[start : start + _A_LINE])},"
    yield "]"


def _point(hole: PlanHole, frame: Frame) -> str:
    """As it was written, where the file counts as the plan does."""
    if hole.written is not None:
        return f"[{', '.join(hole.written)}]"
    return frame.pair(frame.counted(hole.place))
