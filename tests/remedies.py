"""What a remedy tells to write, written into the part file: a long run. `python FILE COUNT SEED`.

Every way out that a remedy names is tried by itself. It has to take the finding away and may bring
none that is as bad. What only a person can do (buy, measure, hold otherwise) is listed as such: a
remedy that is neither is a fault too.
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from mistakes import Case, random_case

from millprep.base.findings import SEVERITIES, Finding, MillprepError
from millprep.proven.preparation import Prepared, prepare


@dataclass
class Job:
    """A part file to be changed, and the finding that says how."""

    file: Any
    finding: Finding
    prepared: Prepared

    @property
    def holes(self) -> list[Any]:
        """The [[hole]] tables that the finding names."""
        groups = {one.name: one.group for one in self.prepared.part.holes}
        wanted = {groups.get(name, name) for name in self.finding.holes}
        return [table for table in self.file["hole"] if table["name"] in wanted]

    @property
    def setup(self) -> Any:
        """The [[setup]] table of the finding's setup, written where there is none."""
        (plan,) = [
            one for one in self.prepared.plan.setups if one.setup.number == self.finding.setup
        ]
        return self.setup_of(plan.setup.face)

    def setup_of(self, face: str) -> Any:
        tables = self.file.setdefault("setup", tomlkit.aot())
        for table in tables:
            if table["face"] == face:
                return table
        tables.append({"face": face})
        return tables[-1]

    def first_setup(self, face: str) -> None:
        """The setup of a face before all others."""
        tables = list(self.file.get("setup", []))
        faces = [one.setup.face for one in self.prepared.plan.setups]
        known = {table["face"]: table for table in tables}
        order = [face, *(one for one in faces if one != face)]
        self.file["setup"] = tomlkit.aot()
        for one in order:
            self.file["setup"].append(known.get(one, {"face": one}))

    def size(self, words: str) -> Any:
        """A length as the remedy has it: a plain figure, or one with its unit."""
        return float(words) if re.fullmatch(r"-?[\d.]+", words) else words


def _allow(job: Job, words: str) -> None:
    for hole in job.holes[:1]:
        hole["allow"] = [*hole.get("allow", []), words]


def _meets(job: Job) -> None:
    one, other = job.holes
    one["meets"] = other["name"]


def _each_hole(key: str, value: Callable[[str], Any] = float) -> Callable[..., None]:
    def write(job: Job, words: str) -> None:
        for hole in job.holes:
            hole[key] = value(words)

    return write


def _without(key: str) -> Callable[..., None]:
    def write(job: Job) -> None:
        for hole in job.holes:
            hole.pop(key, None)

    return write


def _in_setup(*keys: str) -> Callable[..., None]:
    def write(job: Job, words: str) -> None:
        table = job.setup
        for key in keys[:-1]:
            table = table.setdefault(key, tomlkit.inline_table())
        table[keys[-1]] = float(words)

    return write


def _lower_and_more(job: Job, height: str, grip: str) -> None:
    _in_setup("parallels", "height")(job, height)
    _in_setup("vice", "grip")(job, grip)


def _drills(job: Job, words: str) -> None:
    for hole in job.holes:
        hole["drills"] = re.findall(r'"([^"]*)"', words)


def _last_drill(job: Job, words: str) -> None:
    for hole in job.holes:
        hole["drills"] = [*hole["drills"][:-1], words]


def _strips(job: Job, one: str, other: str) -> None:
    job.setup["parallels"]["at"] = [float(one), float(other)]


def _strips_chosen(job: Job) -> None:
    job.setup["parallels"].pop("at")


def _turned(job: Job, towards_you: str, face: str) -> None:
    job.setup_of(face)["towards_you"] = towards_you


def _obstacle(end: str, axis: str) -> Callable[..., None]:
    def write(job: Job, words: str) -> None:
        (obstacle,) = job.setup["obstacle"]
        obstacle[end]["XYZ".index(axis)] = float(words)

    return write


_FIGURE = r"(-?[\d.]+)"
WRITTEN: list[tuple[str, Callable[..., None]]] = [
    (r'write allow = \["([\w ]+)"\]', _allow),
    (r"write meets where it is meant", _meets),
    (rf"backing = {_FIGURE}", _in_setup("backing")),
    (rf"safe_height = {_FIGURE}", _in_setup("safe_height")),
    (rf"breakthrough = {_FIGURE}", _each_hole("breakthrough")),
    (
        rf"give parallels {_FIGURE} \w+ high or \w+\b(?!, and hold)",
        _in_setup("parallels", "height"),
    ),
    (rf"give parallels {_FIGURE} .* and hold {_FIGURE}", _lower_and_more),
    (rf"give a grip of {_FIGURE} \w+", _in_setup("vice", "grip")),
    (rf"^hold {_FIGURE} \w+ or more", _in_setup("vice", "grip")),
    (rf"^peck = {_FIGURE} or more", _each_hole("peck")),
    (r"leave peck out|or leave it out for the schedule", _without("peck")),
    (r"^drills = (\[.*?\])", _drills),
    (r"leave drills out", _without("drills")),
    (r"^end with ([^,]+)$", _last_drill),
    (r"(from_both_ends) = true", _each_hole("from_both_ends", bool)),
    (r'(?:write|put) \[\[setup\]\] with face = "(\w+)"', Job.first_setup),
    (rf"stand them at {_FIGURE} and {_FIGURE} \w+", _strips),
    (r"leave at out: they are placed clear", _strips_chosen),
    (r'towards_you = "(\w+)".* for (\w+)', _turned),
    (r'towards_you = "\w+" or "(\w+)" for (\w+)', _turned),
    (rf"begin at X {_FIGURE}", _obstacle("from", "X")),
    (rf"begin at Y {_FIGURE}", _obstacle("from", "Y")),
    (rf"end at X {_FIGURE}", _obstacle("to", "X")),
    (rf"end at Y {_FIGURE}", _obstacle("to", "Y")),
]
BY_A_PERSON = (
    "buy or borrow it",
    "use a longer one",
    "use another machine",
    "withdraw it fully",
    "measure across the nose",
    "get a ",
    "measure it, and give",
    "take a shorter",
    "hold it so that",
    "set .* out of the chuck",
    "use a smaller screw",
    "put flat backing",
    "move it, or clamp",
    "put less under the part",
    "see that the spindle clears",
    "write a tool with a smaller flat",
    "fit the pin to the hole",
    "mill a flat",
    "plug ",
    "start it with an end mill",
    "work from the",
    "of the part above the jaws",
    "drill from the listing",
    "list it under",
    "describe it there",
    "put packing under it",
    "no pair of that thickness clears",
    "mark out the first hole",
    "make a cross hole",
    "let it bear on what is left",
)
BY_A_CURE = re.compile(r'^(move "|give "[^"]+" (a depth|an inset)|make the \w+ of|space ")')
"""Moves and depths of holes, which test_cures.py applies."""


OF_DRILLS = ("wrong-drills", "hole-wrong-for-tool")
HIDDEN = ("beyond-flutes", "hits-fixture", "below-underside")
"""What wrong drills hide: the right one is too short, or its point comes out farther."""


def ways(remedy: str) -> list[tuple[str, Callable[[Job], None]]]:
    """What there is to write, each with how it is written."""
    found: list[tuple[str, Callable[[Job], None]]] = []
    for pattern, write in WRITTEN:
        if match := re.search(pattern, remedy):
            groups = match.groups()
            found.append((match[0], lambda job, w=write, g=groups: w(job, *g)))  # type: ignore[misc]  # bound here
    return found


def is_understood(remedy: str) -> bool:
    by_hand = any(re.search(words, remedy) for words in BY_A_PERSON)
    return by_hand or bool(BY_A_CURE.search(remedy) or ways(remedy))


def _key(finding: Finding, prepared: Prepared) -> tuple[str, ...]:
    """What is the same finding in another state of the file: of its holes, else of its face up."""
    faces = {one.setup.number: one.setup.face for one in prepared.plan.setups}
    said = finding.said if isinstance(finding.said, str) else finding.said.template
    return finding.kind, said, *(sorted(finding.holes) or (faces.get(finding.setup or 0, ""),))


def _grade(finding: Finding) -> int:
    return SEVERITIES.index(finding.severity)


def trouble(case: Case, folder: Path, tried: Counter[str]) -> Iterator[str]:
    """What is wrong with the remedies of one part; tried : counts what was written, by kind."""
    part, shop = folder / "part.toml", folder / "shop.toml"
    part.write_text(case.part, encoding="utf-8")
    shop.write_text(case.shop, encoding="utf-8")
    named = case.shop if "[" not in case.shop else str(shop)
    try:
        before = prepare(part, named)
    except MillprepError:
        return
    for finding in before.findings:
        if finding.severity == "note" or not finding.remedy:
            continue
        if not is_understood(finding.remedy):
            yield f"nobody knows how to do it: {finding} ({finding.remedy})"
        for words, write in ways(finding.remedy):
            file = tomlkit.parse(case.part)
            write(Job(file, finding, before))
            part.write_text(tomlkit.dumps(file), encoding="utf-8")
            tried[finding.kind] += 1
            yield from (f"{words}: {one}" for one in _still_wrong(part, named, finding, before))
            part.write_text(case.part, encoding="utf-8")


def _still_wrong(part: Path, shop: str, finding: Finding, before: Prepared) -> Iterator[str]:
    try:
        after = prepare(part, shop, cures=False)
    except MillprepError as error:
        yield f"refused: {error.findings[0]} after {finding}"
        return
    key = _key(finding, before)
    if any(_key(one, after) == key and _grade(one) <= _grade(finding) for one in after.findings):
        yield f"still there: {finding}"
    known = {_key(one, before): _grade(one) for one in before.findings}
    for one in after.findings:
        was = known.get(_key(one, after), len(SEVERITIES))
        is_hidden = finding.kind in OF_DRILLS and one.kind in HIDDEN
        if _grade(one) <= _grade(finding) and _grade(one) < was and not is_hidden:
            yield f"brought {one} for {finding}"


def main() -> None:
    count, seed = (int(word) for word in (*sys.argv[1:3], *("300", "1")[len(sys.argv) - 1 :]))
    tried: Counter[str] = Counter()
    found = 0
    for number in range(seed, seed + count):
        case = random_case(random.Random(number))
        with tempfile.TemporaryDirectory() as folder:
            for words in trouble(case, Path(folder), tried):
                found += 1
                print(f"seed {number}\n{case.part}\n{case.shop}\n{words}\n{'-' * 70}")
    print(f"{count} parts from seed {seed}: {sum(tried.values())} remedies written, {found} wrong")
    print(dict(tried))


if __name__ == "__main__":
    main()
