"""Every kind of finding that the code can raise is in the table, and the table holds no other."""

import ast
import re
from pathlib import Path

from millprep.base.kinds import KINDS

PACKAGE = Path(__file__).parent.parent / "millprep"
SLUG = re.compile(r"[a-z]+(-[a-z]+)*")


def _words_in_code() -> dict[str, str]:
    """Every string in the code that looks like a slug, with the file it stands in."""
    found: dict[str, str] = {}
    for path in PACKAGE.rglob("*.py"):
        if path.name == "kinds.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.setdefault(node.value, str(path.relative_to(PACKAGE)))
    return found


def _kinds_raised() -> set[str]:
    """The second argument of every call that makes a finding, where it is written out."""
    raised: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or len(node.args) < 3:
                continue
            first, second = node.args[:2]
            is_severity = isinstance(first, ast.Constant) and first.value in (
                "stop",
                "warning",
                "note",
            )
            if is_severity and isinstance(second, ast.Constant) and isinstance(second.value, str):
                raised.add(second.value)
    return raised


def test_what_is_raised_is_listed() -> None:
    raised = _kinds_raised()
    assert len(raised) > 20
    assert raised <= set(KINDS)


def test_what_is_listed_is_raised_somewhere() -> None:
    words = _words_in_code()
    assert [kind for kind in KINDS if kind not in words] == []


def test_slugs_are_words_with_hyphens_and_sentences_end() -> None:
    for kind, sentence in KINDS.items():
        assert SLUG.fullmatch(kind), kind
        assert sentence.endswith("."), kind
