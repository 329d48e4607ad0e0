"""Starter files for `new`: short, commented, good as they stand (an assembly with its parts)."""

from __future__ import annotations

from pathlib import Path

from millprep.base.findings import WordError
from millprep.base.units import Units, shown

KINDS = ("part", "shop", "assembly")
STARTERS = Path(__file__).parent / "starters"


def starter(kind: str, units: Units) -> str:
    """The text of a starter file of that kind ("part", "shop", "assembly") in those units.

    Raises WordError for another kind.
    """
    if kind not in KINDS:
        accepted = ", ".join(KINDS)
        raise WordError(f"there is no starter of the kind {shown(kind)}", f"accepted: {accepted}")
    name = f"{kind}-{'inch' if units == 'inch' else 'mm'}.toml"
    return (STARTERS / name).read_text(encoding="utf-8")
