"""The drawing's own dimensions against the places: whether they close, and which figure does not.

Each is x_j - x_i = d, solved by least squares over the graph they make. A drawing repeats itself:
what is dimensioned twice can be checked without a ruler. Where it does not close, `misread` looks
for the one figure that, read otherwise, makes everything close. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import partial
from itertools import product

import numpy as np
from numpy.typing import NDArray

from millprep.base.bounds import MOST_HELD_TOGETHER
from millprep.base.findings import Finding, MillprepError, Severity
from millprep.base.records import frozen, replace
from millprep.base.units import Units, shown
from millprep.checks.misread import Change, allowance_mm, fewest_changes, is_off
from millprep.infiles.restated import restated
from millprep.model.part import AXIS_FACES, FACES, Dimension, Part

Floats = NDArray[np.float64]
_ALONE = 1e-9  # what rounding leaves of 1 - 1


@frozen
class Link:
    """One dimension along an axis: from `first` to `second` it is `length_mm`, signed."""

    first: Hashable
    second: Hashable
    length_mm: float


def residuals_mm(links: Sequence[Link], lengths_mm: Floats | None = None) -> Floats:
    """(N,) what each dimension lacks to the places that suit all of them best [mm].

    lengths_mm : (N, K) K sets of other lengths for the same links; the answer is as large
    """
    if not links:
        return np.zeros(0)
    lengths = _lengths(links) if lengths_mm is None else lengths_mm
    residuals: Floats = lengths - _shares(links) @ lengths
    return residuals


def by_others_mm(links: Sequence[Link]) -> list[float | None]:
    """What the other dimensions make of each [mm]; None where they do not tie its ends.

    What one lacks grows by 1 / (1 - h) when it has no say itself, h being its own share in where
    the places come to lie; the share is 1 where it alone ties its ends. Source: R. D. Cook and
    S. Weisberg, "Residuals and Influence in Regression" (1982), section 2.2, from memory.
    """
    lengths, shares = _lengths(links), _shares(links)
    own = np.diag(shares)
    left = lengths - shares @ lengths
    return [
        None if share > 1 - _ALONE else float(length - lacks / (1 - share))
        for length, lacks, share in zip(lengths, left, own, strict=True)
    ]


def _shares(links: Sequence[Link]) -> Floats:
    """(N, N) from the lengths as given to those between the places that suit all best."""
    matrix = _equations(links)
    shares: Floats = matrix @ np.linalg.pinv(matrix)
    return shares


def _lengths(links: Sequence[Link]) -> Floats:
    return np.array([link.length_mm for link in links])


def _equations(links: Sequence[Link]) -> Floats:
    """A row a dimension: -1 at its first end, 1 at its second."""
    ends = list(dict.fromkeys(end for link in links for end in (link.first, link.second)))
    column = {end: index for index, end in enumerate(ends)}
    matrix = np.zeros((len(links), len(ends)))
    for row, link in enumerate(links):
        matrix[row, column[link.first]] -= 1
        matrix[row, column[link.second]] += 1
    return matrix


_MOST_WAYS = 3
_MOST_TURNED = 6  # that many doubtful senses make 64 graphs to try
_LETTERS = "xyz"
Ends = dict[str, list[int]]


def what_dimensions_say(part: Part) -> Iterator[Finding]:
    """Whether every [[dimension]] agrees with the places and with the other dimensions."""
    finding = partial(_finding, part, _ends(part))
    yield from _said_twice(part, finding)
    off = [dimension for dimension in part.dimensions if is_off(dimension, dimension.placed_mm)]
    if not off:
        worst = max(abs(abs(each.placed_mm) - each.length_mm) for each in part.dimensions)
        count = len(part.dimensions)
        who = f"{count} dimensions agree" if count > 1 else "1 dimension agrees"
        said = f"{who} with the positions (largest difference {_words(worst, part.units)})"
        yield finding(part.dimensions[0], "note", "dimensions-close", said)
    cure = _cure(part) if off else ""
    others = dict(_by_others(part, off))
    for dimension in off:
        sentence = _sentence(part, dimension, others.get(dimension.key))
        yield finding(dimension, "stop", "dimension-off", sentence, cure)
        cure = "see the first of these"


def _sentence(part: Part, dimension: Dimension, others: float | None) -> str:
    placed, stated = abs(dimension.placed_mm), dimension.length_mm
    lacks = "more" if placed > stated else "less"
    sentence = (
        f"{_subject(dimension)} is given as {_stated(dimension, part.units)}; the positions make "
        f"it {_words(placed, part.units)}, {_words(abs(placed - stated), part.units)} {lacks}"
    )
    if others is None:
        return sentence
    if abs(others - stated) <= allowance_mm(dimension):
        return f"{sentence} (the other dimensions say as it does)"
    if abs(others - placed) <= allowance_mm(dimension):
        return f"{sentence} (the other dimensions say as the positions do)"
    return f"{sentence} (by the other dimensions it is {_words(others, part.units)})"


def _by_others(part: Part, off: list[Dimension]) -> Iterator[tuple[str, float]]:
    """(key, what the other dimensions and the blank's size make of it), where they say."""
    for axis in sorted({axis for each in off if (axis := each.along) is not None}):
        along = [each for each in part.dimensions if each.along == axis]
        if len(along) > MOST_HELD_TOGETHER:  # the sums grow with the cube
            continue
        found_by_others = by_others_mm(_closest(along, _overall(part, axis)))
        for dimension, found in zip(
            along, found_by_others, strict=False
        ):  # the blank's own sizes come last
            if found is not None:
                yield dimension.key, abs(found)


def _overall(part: Part, axis: int) -> list[Link]:
    """The blank's own size, and its centre line, by the drawing."""
    low, high = AXIS_FACES[axis]
    size = part.stock.nominal_mm[axis]
    return [Link(low, high, size), Link(low, f"centre_{_LETTERS[axis]}", size / 2)]


def _closest(along: list[Dimension], overall: list[Link]) -> list[Link]:
    """The dimensions of one axis with their senses, the overall size after them.

    A sense comes from the places, and those of a dimension that is off may be wrong: of the senses
    that these can have, the ones that close best are right.
    """
    doubtful = [i for i, each in enumerate(along) if is_off(each, each.placed_mm)][:_MOST_TURNED]
    links = [Link(*each.between, _sense(each) * each.length_mm) for each in along] + overall
    turned = np.array(list(product((1.0, -1.0), repeat=len(doubtful))))
    lengths = np.array([[link.length_mm] for link in links]) * np.ones(len(turned))
    lengths[doubtful] *= turned.T
    worst = abs(residuals_mm(links, lengths)).max(axis=0)
    best = lengths[:, int(np.argmax(worst < worst.min() + 1e-9))]  # of equals the first
    return [
        replace(link, length_mm=float(length)) for link, length in zip(links, best, strict=True)
    ]


def _sense(dimension: Dimension) -> int:
    return -1 if dimension.placed_mm < 0 else 1


def _cure(part: Part) -> str:
    """The one change that makes everything close, or the few that would."""
    if len(part.dimensions) > MOST_HELD_TOGETHER:
        return "read these figures again on the drawing"
    try:
        ways = fewest_changes(restated(part), part.dimensions)
    except MillprepError:  # the file is gone since it was read
        return "read these figures again on the drawing"
    likely = [way for way in ways if all(change.why for change in way)]
    named = (likely or ways)[:_MOST_WAYS]
    if not named:
        return "no change of one figure was found that makes everything close: read them all again"
    words = [", and ".join(_change_words(part, change) for change in way) for way in named]
    start = "one figure read otherwise makes" if len(named[0]) == 1 else "two figures make"
    return f"{start} everything close: {'; or '.join(words)}; look at the drawing"


def _change_words(part: Part, change: Change) -> str:
    where = f" in line {change.line}" if change.line is not None else ""
    why = f" ({change.why})" if change.why else ""
    holder, _, key = change.key.partition(".")
    group = next((hole.group for hole in part.holes if hole.key == holder), "")
    what = f"{key} of {shown(group)}" if group else change.key
    return f"{what} = {change.new_text} instead of {shown_text(change.text)}{where}{why}"


def shown_text(text: str) -> str:
    """A figure as it stands in a file: words in quotes."""
    return text if text.replace(".", "").lstrip("+-").isdigit() else shown(text)


def _said_twice(part: Part, finding: Callable[..., Finding]) -> Iterator[Finding]:
    """Two dimensions of one thing, whether they agree or not."""
    same: dict[tuple[frozenset[str], int | None], list[Dimension]] = {}
    for dimension in part.dimensions:
        same.setdefault((frozenset(dimension.between), dimension.along), []).append(dimension)
    for one, *others in same.values():
        line = f" in line {one.line}" if one.line is not None else ""
        for other in others:
            said = f"{_subject(other)} is given already{line}"
            room = allowance_mm(one) + allowance_mm(other)
            if abs(one.length_mm - other.length_mm) <= room:
                yield finding(other, "note", "dimension-twice", said)
                continue
            two = _stated(other, part.units), _stated(one, part.units)
            said = f"{_subject(other)} is given as {two[0]}, and{line} as {two[1]}"
            remedy = "keep the one that the drawing gives"
            yield finding(other, "stop", "dimension-twice", said, remedy)


def _subject(dimension: Dimension) -> str:
    number = dimension.key.removeprefix("dimension[").removesuffix("]")
    ends = " to ".join(name.upper() if name in FACES else shown(name) for name in dimension.between)
    along = "straight" if dimension.along is None else f"along {_LETTERS[dimension.along]}"
    return f"dimension {number}, {ends} {along},"


def _stated(dimension: Dimension, units: Units) -> str:
    """As written, and in the file's unit where that is another."""
    text, plain = dimension.text, _words(dimension.length_mm, units)
    if shown_text(text) == text:
        return plain if float(text) == float(plain.split()[0]) else f"{text} ({plain})"
    return f"{shown(text)} ({plain})"


def _words(length_mm: float, units: Units) -> str:
    if units == "inch":
        return f"{length_mm / 25.4:.4f}".rstrip("0").rstrip(".") + " in"
    return f"{length_mm:.3f}".rstrip("0").rstrip(".") + " mm"


def _ends(part: Part) -> Ends:
    """The holes that the name of an end stands for, by number: its own, or a pattern's members."""
    named: Ends = {}
    for number, hole in enumerate(part.holes):
        for name in {hole.name, hole.group}:
            named.setdefault(name, []).append(number)
    return named


def _finding(
    part: Part,
    ends: Ends,
    dimension: Dimension,
    severity: Severity,
    kind: str,
    message: str,
    remedy: str = "",
) -> Finding:
    numbers = sorted({number for name in dimension.between for number in ends.get(name, ())})
    holes = tuple(part.holes[number].name for number in numbers)
    file, line, key = part.original_path or part.path or None, dimension.line, dimension.key
    return Finding(severity, kind, message, remedy, file, line, key, holes)
