"""What is asked of every slot of every sheet, or why it is not: the coverage of the witness.

A file of `coverage` has the templates of that of its name in `base/templates`, a question a line:

    [go-to]                         the template, or several that are asked alike: [a] [b]
    x, y: the hole's place          what their witness holds these slots against
    _x = X                          asked here and now: the slot says that word and no other
    sizes: not compared: why        the reason

`tests/test_slots_asked.py` wants every slot to be here, and changes each in turn to see that the
witness stops it; docs/developers/how-it-is-checked.md prints the reasons.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

COVERAGE = Path(__file__).parent / "coverage"
_QUESTION = re.compile(r"(?P<slots>\w+(?:, \w+)*)(?:: (?P<asked>.+)| = (?P<sound>.+))")
# As the sheets are made most often: a listing needs the first three.
_FILES = (
    "listing heading setting hand dials markout tools match inspection uncertainty verdict "
    "assembly route carrying"
)
FILES = _FILES.split()


def questions_of(slug: str) -> dict[str, str]:
    """What is asked of each slot of a template; "= word" where that is its one sound word."""
    return next((asked[slug] for name in FILES if slug in (asked := questions_in(name))), {})


@cache
def questions_in(name: str) -> dict[str, dict[str, str]]:
    """Template to slot to question, of a file. Raises ValueError for a line that is none."""
    questions: dict[str, dict[str, str]] = {}
    for line in (COVERAGE / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            asked: dict[str, str] = {}
            questions |= dict.fromkeys(line[1:-1].split("] ["), asked)
        elif line:
            found = _QUESTION.fullmatch(line)
            if found is None:
                raise ValueError(f"{name}.txt: {line} is no question")
            question = found["asked"] or f"= {found['sound']}"
            asked |= dict.fromkeys(found["slots"].split(", "), question)
    return questions


def all_questions() -> dict[str, dict[str, str]]:
    """Those of all files, in their order."""
    return {slug: asked for name in FILES for slug, asked in questions_in(name).items()}
