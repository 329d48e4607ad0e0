"""Whether dimensions close: each as x_j - x_i = d, least squares over the graph they make.

Pure sums over numbers; imports numpy only.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen

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
