"""Whether dimensions close: each as x_j - x_i = d, least squares over the graph they make.

Pure sums over numbers; imports numpy only.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Link:
    """One dimension along an axis: from `first` to `second` it is `length_mm`, signed."""

    first: Hashable
    second: Hashable
    length_mm: float


def residuals_mm(links: Sequence[Link]) -> np.ndarray:
    """(N,) what each dimension lacks to the places that suit all of them best [mm]."""
    if not links:
        return np.zeros(0)
    matrix, lengths = _equations(links)
    places = np.linalg.lstsq(matrix, lengths, rcond=None)[0]
    residuals: np.ndarray = lengths - matrix @ places
    return residuals


def by_others_mm(links: Sequence[Link], one: int) -> float | None:
    """What the other dimensions make of one [mm]; None when they do not tie its ends."""
    others = [link for index, link in enumerate(links) if index != one]
    asked = links[one]
    if not _is_tied(others, asked.first, asked.second):
        return None
    matrix, lengths = _equations([*others, asked])
    places = np.linalg.lstsq(matrix[:-1], lengths[:-1], rcond=None)[0]
    return float(matrix[-1] @ places)


def _equations(links: Sequence[Link]) -> tuple[np.ndarray, np.ndarray]:
    """A row a dimension: -1 at its first end, 1 at its second."""
    ends = list(dict.fromkeys(end for link in links for end in (link.first, link.second)))
    column = {end: index for index, end in enumerate(ends)}
    matrix = np.zeros((len(links), len(ends)))
    for row, link in enumerate(links):
        matrix[row, column[link.first]] -= 1
        matrix[row, column[link.second]] += 1
    return matrix, np.array([link.length_mm for link in links])


def _is_tied(links: Sequence[Link], start: Hashable, goal: Hashable) -> bool:
    """Whether a chain of dimensions leads from one end to the other."""
    beside: dict[Hashable, list[Hashable]] = {}
    for link in links:
        beside.setdefault(link.first, []).append(link.second)
        beside.setdefault(link.second, []).append(link.first)
    seen, waiting = {start}, [start]
    while waiting:
        new = [end for end in beside.get(waiting.pop(), ()) if end not in seen]
        seen.update(new)
        waiting += new
    return goal in seen
