"""Fits and materials in words."""

from __future__ import annotations

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.reference.fits import ACCEPTED_HOLES, SHAFT_CLASSES, hole_limits_um
from millprep.reference.materials import Material, material_named, materials
from millprep.sizes.words import nearest, plain


def read_fit(value: object, size_mm: float) -> tuple[float, float]:
    """Lower and upper deviation [um] of a hole of that size and ISO 286 class. Raises WordError."""
    text = plain(value, "a fit", ACCEPTED_HOLES)
    if isinstance(value, str) and value.strip() in SHAFT_CLASSES:
        raise WordError(
            f'{shown(value)} is the fit of a shaft; a hole\'s has a capital: "{text.upper()}"',
            ACCEPTED_HOLES,
        )
    return hole_limits_um(size_mm, text.upper())


def read_material(value: object) -> Material:
    """The material that the words name. Raises WordError with the nearest names."""
    names = "the table has " + ", ".join(material.name for material in materials())
    text = plain(value, "a material", names)
    found = material_named(text)
    if found is None:
        aliases = [alias for material in materials() for alias in material.aliases]
        close = nearest(text, aliases)
        remedy = f"nearest: {close}; for all: millprep lookup --all materials" if close else names
        raise WordError(f"{shown(value)} is not a material in the table", remedy)
    return found
