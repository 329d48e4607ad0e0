"""What the tables hold and the quick sums of the bench, asked in the words of the bench.

A question is a bag of things (`bag`); the answer that uses most of them wins (`answers`), and what
it does not use is named. Loads no arrays and no schemas, and of the tables only those of the kind
asked for, so that a question is answered at once. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from millprep.base.records import replace
from millprep.base.units import Units
from millprep.lookup.answers import answered
from millprep.lookup.bag import Bag, Thing, bag_of
from millprep.lookup.readings import Reading
from millprep.lookup.tapping import DrillSize, percent_asked
from millprep.lookup.whole import whole_tables

if TYPE_CHECKING:
    from millprep.model.shop import Shop

__all__ = ["Reading", "lookup", "whole_tables"]

_LEAST_ALLOY = 100.0  # a bare number from here on is a material's sooner than a size


def lookup(
    words: str,
    drawer: Sequence[DrillSize] | None = None,
    units: Units = "mm",
    shop: Callable[[], Shop] | None = None,
) -> list[Reading]:
    """Every reading of the words, likeliest first, each with the words that were not used.

    drawer : drills of the shop that was named: of these tapping drills are chosen
    units  : of bare numbers; with mm a bare number up to 1 is read in inches too
    shop   : reads the shop whose speeds, drawer, screws and plates count where a question asks
    Raises WordError, with questions like it that have an answer.
    """
    with_shop = Bag((), units, drawer, shop)
    found = answer_to(words, with_shop)
    if found is None:
        from millprep.lookup.refusing import refused

        raise refused(words, with_shop)
    readings, left = found
    if left:
        from millprep.lookup.refusing import misspelt

        if slip := misspelt(words, left, with_shop):
            raise slip
    return [{**reading, "not_used": [thing.words for thing in left]} for reading in readings]


def answer_to(words: str, shop: Bag) -> tuple[list[Reading], list[Thing]] | None:
    """The readings of the likeliest answer and what it did not use; None where there is none.

    WordError where an answer says why it has none.
    """
    text = words
    percent: tuple[Thing, ...] = ()
    if asked := percent_asked(words.casefold()):
        text = asked[0]
        percent = (Thing(frozenset({"percent"}), asked[1:], "%"),)
    bag = bag_of(text, shop.units)
    is_opened = _may_name_material(bag)
    for with_materials in (True,) if is_opened else (False, True):
        bag = bag_of(text, shop.units, True) if with_materials else bag
        whole = replace(bag, things=(*percent, *bag.things), drawer=shop.drawer, shop=shop.shop)
        if found := answered(whole):
            used, readings = found
            return readings, [thing for thing in whole.things if thing not in used.things]
    return None


def _may_name_material(bag: Bag) -> bool:
    """Whether there is something that only the table of materials can know."""
    return any(
        "unknown" in thing.kinds or ("number" in thing.kinds and float(thing.value) >= _LEAST_ALLOY)
        for thing in bag.things
    )
