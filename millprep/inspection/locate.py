"""Where holes are, worked out from readings over pins and from edges: least squares, face by face.

Readings are taken by their weights; a centre line has an unknown width across it; a disc may be
turned as fits its holes best, for nothing on it says where an angle begins. What the readings do
not decide is nan. Imports layers 0 to 3 and numpy.

Source: adjustment by least squares with covariances of the unknowns; a reading that disagrees is
found by its residual over its own standard deviation (W. Baarda's data snooping, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millprep.base.records import frozen
from millprep.inspection.views import FaceView, Floats
from millprep.model.part import Face
from millprep.model.readings import RIM_KINDS, CheckKind

_FIXED_MM = 1e-6  # uncertainty of what is fixed by agreement
_ROUNDS = 12
_STEP_MM = 1e-10
_NO_RANK = 1e-10  # of the largest singular value: below, nothing is decided
_LOOSE = 1e-4  # of a coordinate along a direction that nothing decides
_DECIDES_NOTHING_MM = 1.0  # readings that meet at a hair's angle
_LEAST_REDUNDANCY = 1e-6
DISAGREES = 2.0
"""A residual of this many of its uncertainties is a slip: four standard deviations, where the
uncertainty is two."""


@frozen
class PlaceReading:
    """A distance read between two centres, or from an edge or rim to one [mm].

    number, to_number : indices of holes in the view; to_face in place of the latter
    line : where it stands in the file
    """

    kind: CheckKind
    number: int
    to_number: int | None
    to_face: Face | None
    distance_mm: float
    uncertainty_mm: float
    line: int


@frozen
class Placed:
    """Holes as the readings place them; all arrays by the view's indices.

    offsets_mm     : (2, N) measured less drawn; nan where nothing decides it
    uncertainty_mm : (2, N) how far that may be off along each axis
    covariance_mm2 : (N, 2, 2) of the same, as uncertainties
    residuals_mm   : by reading, what it shows less what the others make of it
    disagreeing    : the reading that disagrees most with the others, if any
    holes_touched  : indices that a reading speaks of
    """

    offsets_mm: Floats
    uncertainty_mm: Floats
    covariance_mm2: Floats
    residuals_mm: Floats
    disagreeing: int | None
    holes_touched: frozenset[int]


def placed(view: FaceView, readings: Sequence[PlaceReading]) -> Placed:
    """The holes of a face as its readings place them."""
    system = _System(view, readings)
    count = len(view.holes)
    offsets, covariance = np.full((2, count), np.nan), np.full((count, 2, 2), np.nan)
    if not readings:
        return Placed(offsets, offsets.copy(), covariance, np.zeros(0), None, system.touched)
    found, spread, loose, residuals, disagreeing = system.solved()
    for number in system.touched:
        at = system.columns[number]
        here = found[at : at + 2].copy()
        here[loose[at : at + 2] > _LOOSE] = np.nan
        offsets[:, number] = here
        covariance[number] = spread[at : at + 2, at : at + 2]
    uncertainty = np.sqrt(np.maximum(np.diagonal(covariance, axis1=1, axis2=2).T, 0.0))
    offsets[~(uncertainty < _DECIDES_NOTHING_MM)] = np.nan
    uncertainty[np.isnan(offsets)] = np.nan
    return Placed(offsets, uncertainty, covariance, residuals, disagreeing, system.touched)


class _System:
    """The equations of one face: unknown offsets of the holes touched, then those of its edges."""

    def __init__(self, view: FaceView, readings: Sequence[PlaceReading]) -> None:
        self.view = view
        self.readings = readings
        numbers = [n for r in readings for n in (r.number, r.to_number) if n is not None]
        self.touched = frozenset(numbers)
        self.columns = {n: 2 * at for at, n in enumerate(dict.fromkeys(numbers))}
        self._edge_columns: dict[object, int] = {}
        for reading in readings:
            key = self._edge_key(reading)
            if key is not None and key not in self._edge_columns:
                self._edge_columns[key] = 2 * len(self.columns) + len(self._edge_columns)
        self.count = 2 * len(self.columns) + len(self._edge_columns)

    def _edge_key(self, reading: PlaceReading) -> object:
        """What else a reading hangs on: the width across a centre line, the rim, a far edge."""
        if reading.kind in RIM_KINDS:
            return "rim"
        if reading.to_face is None:
            return None
        axis = self.view.axis_of(reading.to_face)
        edges = self.view.edges[axis]
        if len(edges) == 2:
            return axis
        return None if reading.to_face in edges else reading.to_face

    def solved(self) -> tuple[Floats, Floats, Floats, Floats, int | None]:
        """Unknowns, their covariance, how loose each is, residuals, and the reading that lies."""
        weights = np.array([1 / max(r.uncertainty_mm, _FIXED_MM) for r in self.readings])
        unknowns = np.zeros(self.count)
        fixed = self._fixed_row()
        for _ in range(_ROUNDS):
            rows, misses = self._rows(unknowns)
            whole = np.vstack([rows * weights[:, None], *fixed])
            right = np.concatenate([misses * weights, *(-row @ unknowns for row in fixed)])
            u, s, vt = np.linalg.svd(whole, full_matrices=len(whole) < self.count)
            rank = int((s > _NO_RANK * s[0]).sum())
            step = vt[:rank].T @ ((u[:, :rank].T @ right) / s[:rank])
            unknowns = unknowns + step
            if np.abs(step).max() < _STEP_MM:
                break
        rows, misses = self._rows(unknowns)
        spread = (vt[:rank].T / s[:rank] ** 2) @ vt[:rank]
        loose = np.abs(vt[rank:]).max(axis=0) if rank < self.count else np.zeros(self.count)
        residuals = misses
        own = 1 / weights**2
        left = own - np.einsum("ij,jk,ik->i", rows, spread, rows)
        redundant = left > _LEAST_REDUNDANCY * own
        sizes = np.zeros(len(residuals))
        sizes[redundant] = np.abs(residuals[redundant]) / np.sqrt(left[redundant])
        worst = int(np.argmax(sizes))
        return unknowns, spread, loose, residuals, worst if sizes[worst] > DISAGREES else None

    def _fixed_row(self) -> list[Floats]:
        """A disc is turned until its holes fit the drawing best, close ones before wide ones."""
        view = self.view
        beside = [n for n in self.columns if not view.is_in_the_middle(n)]
        if not view.is_round or not beside:
            return []
        row = np.zeros((1, self.count))
        for number in beside:
            x, y = view.places_mm[:, number] - view.centre_mm
            at = self.columns[number]
            row[0, at : at + 2] = np.array([-y, x]) / view.zones[number].half_mm ** 2
        return [row / np.linalg.norm(row) / _FIXED_MM]

    def _rows(self, unknowns: Floats) -> tuple[Floats, Floats]:
        """How each reading changes with the unknowns (M, U), and what it shows too much (M,)."""
        rows = np.zeros((len(self.readings), self.count))
        misses = np.zeros(len(self.readings))
        for index, reading in enumerate(self.readings):
            expected = self._row(reading, unknowns, rows[index])
            misses[index] = reading.distance_mm - expected
        return rows, misses

    def _place(self, number: int, unknowns: Floats) -> Floats:
        at = self.columns[number]
        return np.asarray(self.view.places_mm[:, number] + unknowns[at : at + 2])

    def _row(self, reading: PlaceReading, unknowns: Floats, row: Floats) -> float:
        """Fills one row; gives the distance as the unknowns have it."""
        view, at = self.view, self.columns[reading.number]
        place = self._place(reading.number, unknowns)
        key = self._edge_key(reading)
        edge = 0.0
        if key is not None:
            row[self._edge_columns[key]] = 1.0
            edge = float(unknowns[self._edge_columns[key]])
        if reading.to_number is not None:
            way = place - self._place(reading.to_number, unknowns)
            distance = max(float(np.hypot(*way)), _FIXED_MM)
            row[at : at + 2] = way / distance
            other = self.columns[reading.to_number]
            row[other : other + 2] = -way / distance
            return distance
        if reading.to_face is not None:
            axis = view.axis_of(reading.to_face)
            edge_at, way_in = view.edge_mm(reading.to_face)
            row[at + axis] = way_in
            return way_in * (float(place[axis]) - edge_at) + edge
        out = place - view.centre_mm
        r = max(float(np.hypot(*out)), _FIXED_MM)
        row[at : at + 2] = -out / r
        return view.radius_mm + edge - r
