"""A sheet as it was read: pages, sections, rows and what each says."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from millprep.base.records import anew, frozen
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.slots import Said


@frozen
class ReadRow:
    """A row of a table, by its name, and the sentences below it; head : what its head said."""

    table: str
    said: Said
    below: tuple[Said, ...] = ()
    head: Said | None = None

    @property
    def line(self) -> int | None:
        return self.said.line


@frozen
class ReadSection:
    """What stands between two rules: labels that say something, sentences, rows; in their order."""

    said: tuple[Said, ...]
    rows: tuple[ReadRow, ...]

    def all(self, *slugs: str) -> tuple[Said, ...]:
        """The sentences of these templates."""
        return tuple(one for one in self.said if one.slug in slugs)

    def one(self, slug: str) -> Said | None:
        """The sentence of this template, None without. Raises UnreadableSheet for two."""
        found = self.all(slug)
        if len(found) > 1:
            raise UnreadableSheet(f"{shown(found[1].text)} stands there twice", found[1].line)
        return found[0] if found else None


@frozen
class ReadPage:
    """A page: its title, then section by section; the first holds the heading."""

    title: Said
    sections: tuple[ReadSection, ...]

    @cached_property
    def whole(self) -> ReadSection:
        """Everything on the page as one section."""
        return ReadSection(
            tuple(one for section in self.sections for one in section.said),
            tuple(row for section in self.sections for row in section.rows),
        )


@frozen
class ReadSheet:
    """A sheet as it was printed, in its units. whole : all that a sheet of JSON holds."""

    units: Units
    pages: tuple[ReadPage, ...]
    whole: Mapping[str, Any] = anew(factory=dict)
