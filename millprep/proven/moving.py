"""A part moved on its sheets to fit holes that are drilled and measured, by writer and witness."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, WordError
from millprep.base.records import frozen
from millprep.base.units import read_length
from millprep.proven.handed import lay_of

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop


@frozen
class ToFit:
    """Readings that the rest of a part is moved to fit.

    most : by how much holes may be moved, in words, where a person has said it
    setup : of a file with holes of several faces
    """

    file: Path
    most: str | None = None
    setup: int | None = None

    @property
    def words(self) -> str:
        """As options of a command, each with a blank before it."""
        most = "" if self.most is None else f' --most-move "{self.most}"'
        return f" --as-measured {self.file}{most}"


def moved(part: Part, shop: Shop, asked: ToFit | None) -> tuple[Part, Part, list[Finding]]:
    """The part with its holes moved, the same as the witness moves them, and what was found.

    asked : None where nothing is moved

    Raises MillprepError or WordError for readings that cannot be judged.
    """
    from millprep.infiles.measured_file import read_measured
    from millprep.matching.measured_places import (
        nominal_readings,
        readings_of_setups,
        setup_measured,
    )
    from millprep.matching.moving import moved_to_fit
    from millprep.witness.moved import as_moved

    if asked is None:
        return part, part, []
    axes = shop.readout.reversed_axes
    nominal, in_setup = nominal_readings(part, axes), readings_of_setups(part, axes)
    measured = read_measured(asked.file, part, nominal, in_setup)
    most_mm = None if asked.most is None else float(read_length(asked.most, part.units))
    if most_mm is not None and most_mm < 0:
        raise WordError(f'--most-move "{asked.most}" is less than nothing', "a length: 0.2 mm")
    made, findings = moved_to_fit(part, shop, measured, asked.setup, most_mm)
    setup = setup_measured(part, measured, asked.setup)
    return made, as_moved(part, lay_of(setup), measured, axes), findings
