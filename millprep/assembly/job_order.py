"""The visits of a job in the order in which they are done, or the circle in which they wait.

Layers 0 to 3.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence

from millprep.assembly import Judged
from millprep.assembly.job import Job, Key, Visit, What
from millprep.base.findings import Finding
from millprep.base.records import frozen, replace

_DONE: dict[What, str] = {
    "other": "faced",
    "match": "matched",
    "drill": "drilled",
    "measure": "measured",
    "stack": "reamed",
    "carry": "spotted",
    "finish": "finished",
    "assemble": "put together",
}
_RANK = {what: rank for rank, what in enumerate(_DONE)}
"""Of visits that may be done at the same time, which is first."""


@frozen
class Route:
    """The visits in order, step 1 first, each with the steps just before it that it waits for.

    findings : what waits in a circle; there are no steps then
    """

    job: Job
    visits: tuple[Visit, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> dict[Key, int]:
        return {visit.key: n for n, visit in enumerate(self.visits, 1)}


def route_of(judged: Judged) -> Route:
    """Every hole of every piece once, and nothing before what it waits for."""
    job = Job(judged)
    visits = {visit.key: visit for visit in job.visits()}
    for key, visit in visits.items():
        visits[key] = replace(visit, after=frozenset((visit.after & visits.keys()) - {key}))
    ordered, circle = _in_order(job, visits)
    if circle:
        return Route(job, (), (_circle(job, circle),))
    return Route(job, tuple(_nearest(ordered)))


def _in_order(job: Job, visits: Mapping[Key, Visit]) -> tuple[list[Visit], list[Visit]]:
    """As soon as may be, in the order of the members; and a circle of those that never may."""
    places = {member.name: n for n, member in enumerate(job.assembly.members)}
    waits = {key: len(visit.after) for key, visit in visits.items()}
    then: dict[Key, list[Key]] = {key: [] for key in visits}
    for key, visit in visits.items():
        for before in visit.after:
            then[before].append(key)

    turns: dict[Key, int] = {}

    def turn(key: Key) -> tuple[int, int, str, Key]:
        own = (places[name] for name in visits[key].members)
        turns[key] = max(*own, -1, *(turns[one] for one in visits[key].after))
        return turns[key], _RANK[key[0]], key[1], key

    ready = [turn(key) for key, count in waits.items() if not count]
    heapq.heapify(ready)
    ordered = []
    while ready:
        key = heapq.heappop(ready)[-1]
        ordered.append(visits[key])
        for after in then[key]:
            waits[after] -= 1
            if not waits[after]:
                heapq.heappush(ready, turn(after))
    return ordered, _round({key: visit for key, visit in visits.items() if waits[key] > 0})


def _round(stuck: Mapping[Key, Visit]) -> list[Visit]:
    """One circle among visits of which each waits for another of them."""
    path: list[Key] = []
    key = next(iter(stuck), None)
    while key is not None and key not in path:
        path.append(key)
        key = min(one for one in stuck[key].after if one in stuck)
    return [] if key is None else [stuck[one] for one in path[path.index(key) :]]


def _nearest(ordered: Sequence[Visit]) -> Iterator[Visit]:
    """Each visit with those before it that no other of those waits for."""
    before: dict[Key, set[Key]] = {}
    for visit in ordered:
        far = set().union(*(before[key] for key in visit.after))
        before[visit.key] = far | visit.after
        yield replace(visit, after=visit.after - far)


def _circle(job: Job, circle: Sequence[Visit]) -> Finding:
    words = [
        f"{_called(one)} waits until {_called(two)} is {_DONE[two.what]}"
        for one, two in _pairs(circle)
    ]
    message = f"each waits for the other: {'; '.join(words)}"
    remedy = "take one of them away: `after`, or `members` of the stack, or who it is carried from"
    return Finding("stop", "waits-in-a-circle", message, remedy, job.assembly.path or None)


def _pairs(circle: Sequence[Visit]) -> Iterable[tuple[Visit, Visit]]:
    return zip(circle, (*circle[1:], circle[0]), strict=True)


def _called(visit: Visit) -> str:
    return visit.key[1] or "the assembly"
