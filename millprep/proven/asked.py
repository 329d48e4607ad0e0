"""What the tables say, in words: as `millprep lookup` prints it."""

from __future__ import annotations

from pathlib import Path

from millprep.base.units import Units


def asked(words: str, shop: Path | str | None = None, units: Units = "mm") -> str:
    """The likeliest answer as text, its first line the short one, and a line for each other.

    shop : whose drills, speeds, screws and plates count; units : of bare numbers
    Raises MillprepError, with questions like it that have an answer.
    """
    from millprep.lookup.pages import text_of
    from millprep.proven.public import look_up

    return text_of(look_up(words, shop, units))
