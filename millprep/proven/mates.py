"""Readings of another part of an assembly, under the names of this part."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, stopped
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.model.measured import Measured
    from millprep.model.part import Part
    from millprep.model.shop import Shop


def readings_of_mate(
    part: Part, shop: Shop, path: Path, assembly: Path
) -> tuple[Measured, list[Finding]]:
    """Readings of another part of an assembly under this part's names, and which is which.

    Raises MillprepError where nobody knows whose they are.
    """
    from millprep.assembly.mates import mate_of
    from millprep.infiles.csv_file import read_csv
    from millprep.infiles.measured_file import NEEDED, OPTIONAL, read_measured
    from millprep.infiles.told import Told
    from millprep.matching.measured_places import nominal_readings, readings_of_setups
    from millprep.proven.assembly import judged

    of = judged(assembly, shop)
    files = {
        member.file: (assembly.parent / member.file).resolve() for member in of.assembly.members
    }
    here = Path(part.path).resolve()
    own = next((file for file, whole in files.items() if whole == here), None)
    if own is None:
        message = f"{part.path} is no part of {of.assembly.name}"
        raise stopped(
            "mate-not-found", message, f"its parts: {', '.join(files)}", file=str(assembly)
        )
    faults = Told(str(path))
    names = [row.cells["hole"] for row in read_csv(path, NEEDED, OPTIONAL, faults).rows]
    faults.raise_if_any()
    first = mate_of(of, own, str(path), dict.fromkeys(names))
    axes = shop.readout.reversed_axes
    nominal, in_setup = nominal_readings(first.part, axes), readings_of_setups(first.part, axes)
    read = read_measured(path, first.part, nominal, in_setup)
    holes = tuple(
        replace(one, hole=first.own[one.hole], setup=None)
        for one in read.holes
        if one.hole in first.own
    )
    pairs = ", ".join(f"{name} lies over {other}" for name, other in first.own.items())
    left = f"; not used: {', '.join(first.apart)}" if first.apart else ""
    told = Finding("note", "which-is-which", f"of {first.file}: {pairs}{left}", "", str(path))
    return replace(read, holes=holes), [told]
