"""The dial sheet as pages to print, a setup from a fresh page. Imports sheet and writers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.canvas.pages import Pages
from millprep.sheets.dials import DialPlace, DialSetup, DialSheet, back_offs, below, setting_words
from millprep.sheets.setup_sheet import Step
from millprep.writers.dials_text import turns_shown, where_words
from millprep.writers.listing_text import remarks_of
from millprep.writers.paged import (
    BODY_MM,
    BOLD,
    LEFT_MM,
    PLAIN,
    Group,
    Line,
    Words,
    glued,
    labelled,
    squeezed,
)
from millprep.writers.setup_pages import HEADS, Labels, SetupPages, document, figure_shown

_PLACE_ENDS_MM = (98.0, 114.0, 136.0, 157.0, 173.0, 195.0)  # X, by rule, beyond; the same for Y
_PLACE_NAME_MM = 42.0


def dials_pdf(dials: DialSheet) -> bytes:
    """The whole sheet as a file, with the blank mark of `outfile`."""
    pages = Pages(f"{dials.sheet.part}: by dial")
    return document(pages, (_DialPages(pages, dials, one) for one in dials.setups))


class _DialPages(SetupPages):
    """One setup by dial."""

    ends_mm = (109.0, 129.0, 151.0, 171.0, 195.0)  # X turns and figure, Y turns and figure, Z
    figure_room_mm = 14.0
    stock_prefix = "by dial; "

    def __init__(self, pages: Pages, dials: DialSheet, one: DialSetup) -> None:
        super().__init__(pages, dials.sheet, one.setup)
        self.dials, self.one = dials, one

    def setting(self) -> Labels:
        setup, one = self.setup, self.one
        return (
            ("TURN", [setup.turn]),
            ("LIES", [setup.lies]),
            ("HOLD", setup.hold),
            ("ZERO", [*map(str, one.zero)]),
            ("SKEW", [setup.skew]),
            ("DIALS", [*map(str, one.dials)]),
            ("HEAD", setup.head),
            ("HAND", [setup.hand]),
        )

    def closing(self) -> Labels:
        return (
            ("DONE", [self.setup.done]),
            ("RECOVER", [*map(str, self.one.recover)]),
            ("ASSUMED", ["; ".join(self.dials.assumed) + "."]),
            ("REMARKS", remarks_of(self.dials.findings, self.setup)),
        )

    def further(self) -> Iterator[Iterator[Group]]:
        yield self._where(self.one.places)

    def _where(self, places: Sequence[DialPlace]) -> Iterator[Group]:
        """Where each hole lies from zero: a rule betrays a lost turn."""
        where = where_words(self.setup)
        names = (f"X {self.unit}", "by rule", "beyond", f"Y {self.unit}", "by rule", "beyond")
        ends = zip(_PLACE_ENDS_MM, names, strict=True)
        columns = tuple(Words(end, name, HEADS, ends=True) for end, name in ends)
        head = Line((Words(BODY_MM, "hole", HEADS), *columns))
        again = Line((Words(LEFT_MM, "WHERE", BOLD), Words(BODY_MM, f"{where}, continued")))
        rows = [Group((self._place(place),), (again, head)) for place in places]
        label = labelled(self.pages, "WHERE", [where])[0]
        yield glued(Group((*label.lines, head)), rows[0])
        yield from rows[1:]

    def _place(self, place: DialPlace) -> Line:
        shown = [
            words
            for axis in (0, 1)
            for words in (
                place.shown[axis],
                place.by_rule[axis].removesuffix(f" {self.unit}"),
                place.left_over[axis],
            )
        ]
        figures = tuple(
            Words(end, figure_shown(words), ends=True)
            for end, words in zip(_PLACE_ENDS_MM, shown, strict=True)
        )
        lettering = squeezed(self.pages, place.hole, _PLACE_NAME_MM, PLAIN)
        return Line((Words(BODY_MM, place.hole, lettering), *figures))

    def heads(self) -> tuple[str, ...]:
        return "X turns", "figure", "Y turns", "figure", super().heads()[-1]

    def figures(self, step: Step) -> tuple[str, ...]:
        x, y = (
            wound.setting for wound in (self.one.steps[step.step].x, self.one.steps[step.step].y)
        )
        return turns_shown(x), str(x.reading), turns_shown(y), str(y.reading), str(step.z)

    def go_to(self, step: Step) -> list[str]:
        dialled = self.one.steps[step.step]
        x, y = (setting_words(wound.setting) for wound in (dialled.x, dialled.y))
        return [f"set X {x}; Y {y}", *map(str, back_offs(dialled))]

    def tails(self, step: Step, *, is_by_hole: bool = False) -> Iterator[str]:
        if not is_by_hole:
            yield from map(str, back_offs(self.one.steps[step.step]))
        yield from super().tails(step)
        yield from map(str, below(self.one.steps[step.step]))
