"""Pages from templates: the one place that knows jinja2. Imports base.

Templates, styles and scripts lie beside their writers as files of their own.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from millprep.base.plain_text import kept_together

if TYPE_CHECKING:
    from millprep.sheets.picture import Pictures
    from millprep.writers.pictures import Kind

FOLDER = Path(__file__).parent
MINUS = "\N{MINUS SIGN}"  # as wide as a figure: a hyphen is overlooked across the shop


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["figure"] = figure
    environment.filters["signs"] = signs
    environment.filters["kept"] = kept_together
    environment.filters["mm"] = thousandths
    environment.globals["file"] = file
    environment.globals["pictures"] = pictures
    return environment


def rendered(template: str, **values: object) -> str:
    """The page; everything put into it is escaped. Names a file below `writers/`."""
    return _environment().get_template(template).render(**values)


def file(name: str) -> Markup:
    """A style or a script of our own, as it is."""
    return Markup((FOLDER / name).read_text(encoding="utf-8"))


def pictures(shown: Pictures, *kinds: Kind) -> Markup:
    """Pictures of a setup, all of them or those of some kinds."""
    from millprep.writers.pictures import KINDS, pictures_svg

    return Markup(pictures_svg(shown, kinds or KINDS))


def figure(value: object) -> str:
    """A figure with a minus that can be seen from afar."""
    return str(value).replace("-", MINUS)


def signs(words: object) -> str:
    """A sentence with the minus of its figures (and no hyphen of its names) made so."""
    return " ".join(
        MINUS + word[1:] if word[:1] == "-" and word[1:2].isdigit() else word
        for word in str(words).split(" ")
    )


def thousandths(value_mm: float) -> str:
    """A length of a drawing, as short as it goes."""
    return f"{value_mm:.3f}".rstrip("0").rstrip(".")
