"""Starter files for `new`: short, commented, and good as they stand. Imports layer 0."""

from __future__ import annotations

from importlib import resources

from millprep.errors import WordError
from millprep.units import Units, shown

KINDS = ("part", "shop")


def starter(kind: str, units: Units) -> str:
    """The text of a starter file of that kind ("part", "shop") in those units.

    Raises WordError for another kind.
    """
    if kind not in KINDS:
        raise WordError(f"there is no starter of the kind {shown(kind)}", "accepted: part, shop")
    name = f"{kind}-{'inch' if units == 'inch' else 'mm'}.toml"
    return (resources.files("millprep") / "starters" / name).read_text(encoding="utf-8")
