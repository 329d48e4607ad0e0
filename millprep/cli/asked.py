"""A question of the bench and its answer: the work of `lookup`.

A question without options is answered from here at once: what reads options takes longer to load
than an answer takes. A shop is read only when one is named or a question needs its speeds, drawer,
screws or plates.
"""

from __future__ import annotations

import os
import sys
from functools import cache
from typing import TYPE_CHECKING, Any

from millprep.cli.common import FORMATS, chosen_format, chosen_units, emit

if TYPE_CHECKING:
    from pathlib import Path

_ALONE = {"--all": "whole", "--full": "full", "--sketch": "sketch"}
"""Options without a value, and what `answered` calls them."""


def plainly_asked(arguments: list[str]) -> dict[str, Any] | None:
    """What `answered` takes of a question with no option but those; None for any other command."""
    words = [each for each in arguments[1:] if each not in _ALONE]
    if arguments[:1] != ["lookup"] or not words or any(each.startswith("-") for each in words):
        return None
    return {"words": words} | {name: True for option, name in _ALONE.items() if option in arguments}


def answered(
    words: list[str],
    shop: str | None = None,
    units: str | None = None,
    whole: bool = False,
    full: bool = False,
    sketch: bool = False,
    format: str | None = None,
    output: Path | None = None,
    force: bool = False,
) -> int:
    """The exit status, the answer given out. MillprepError or WordError where there is none."""
    from millprep.lookup import lookup, whole_tables
    from millprep.lookup.forms import answer, answer_whole

    form = chosen_format(format, output, FORMATS)
    question = " ".join(words)
    if whole:
        emit(answer_whole(whole_tables(question), form), output, force=force)
        return 0

    @cache
    def known() -> Any:
        from millprep.proven.files import shop_of

        return shop_of(shop or "metric")

    drawer = None
    if shop is not None:
        from millprep.proven.files import drills_of

        drawer = drills_of(known())
    readings = lookup(question, drawer, chosen_units(units) or "mm", known)
    is_shown = output is None and sys.stdout.isatty() and not os.environ.get("NO_COLOR")
    text = answer(readings, form, full=full, sketch=sketch)
    emit(text, output, force=force, bold_first=is_shown and form == "text")
    return 0
