"""The faces of a blank in part axes: x left to right, y front to back, z bottom to top. Imports
nothing."""

from __future__ import annotations

from collections.abc import Sequence

LOOKS = {
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "bottom": (0.0, 0.0, -1.0),
    "top": (0.0, 0.0, 1.0),
}
"""Which way each looks."""
AXIS = {face: next(axis for axis in range(3) if way[axis]) for face, way in LOOKS.items()}
LOW, HIGH = ("left", "front", "bottom"), ("right", "back", "top")
"""At the low and the high end of each axis."""
FAR = dict(zip((*LOW, *HIGH), (*HIGH, *LOW), strict=True))
"""The face across."""


def face_mm(face: str, size_mm: Sequence[float]) -> float:
    """Where a face of a blank of that size is, along its axis."""
    return size_mm[AXIS[face]] if face in HIGH else 0.0


def from_face_mm(at_mm: Sequence[float], face: str, size_mm: Sequence[float]) -> float:
    """How far a place inside lies from a face."""
    beyond = face_mm(face, size_mm) - at_mm[AXIS[face]]
    return beyond if face in HIGH else -beyond
