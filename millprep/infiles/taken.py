"""Patterns taken from another part file, so that both parts change together.

    pattern_from = "cover.toml: cover screw"
    pattern_from = { holes = "cover.toml: cover screw", middle = [20, 12], as_seen = "facing" }

The places keep their distances; their middle comes where this part says, and the right of the other
face's view becomes the right of this face's view: as it is seen, or as the face that meets it sees
it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import anew, frozen
from millprep.base.units import shown
from millprep.infiles.part_schema import PatternFrom
from millprep.infiles.points import VIEW, OnFace, sine_cosine
from millprep.infiles.wording import named
from millprep.model.part import Hole, Part, Point

_FORM = 'write pattern_from = "cover.toml: cover screw", the file and the pattern in it'
_SAME_MM = 1e-6
_DIGITS = 9  # means of exact figures come out clean


@frozen
class Others:
    """The other part files that a part takes patterns from, each read once.

    folder : of the part file; trail : the files that are being read, this one last
    read   : reads a part, and refuses those of the trail
    """

    folder: Path
    trail: tuple[Path, ...]
    read: Callable[[Path], Part]
    parts: dict[Path, Part] = anew(factory=dict)

    @property
    def marks(self) -> list[str]:
        """Revision marks of the files read: this part's mark hangs on them."""
        return [part.mark for part in self.parts.values()]

    def centres(self, wanted: PatternFrom, on_face: OnFace) -> list[Point]:
        """The places of the pattern on a face of this part. Raises WordError."""
        file, colon, name = wanted.holes.rpartition(":")
        if not colon:
            raise WordError(f"{shown(wanted.holes)} does not name a file and a pattern", _FORM)
        file, name = file.strip(), " ".join(name.split())
        holes = named(self._part(file).holes, name, f"{file} has no hole")
        middle = _middle(wanted, on_face)
        places = _as_seen(holes, wanted)
        sine, cosine = sine_cosine(wanted.turned)
        (right_axis, right), (up_axis, up) = VIEW[on_face.face]
        centres = []
        for u, v in places:
            centre = list(middle)
            centre[right_axis] += right * round(cosine * u - sine * v, _DIGITS)
            centre[up_axis] += up * round(sine * u + cosine * v, _DIGITS)
            centres.append((centre[0], centre[1], centre[2]))
        return centres

    def _part(self, file: str) -> Part:
        path = self.folder / file
        if path in self.parts:
            return self.parts[path]
        if path.resolve() in self.trail:
            names = " from ".join([*(each.name for each in self.trail), path.name])
            raise WordError(f"{names}: a pattern taken in a circle", "give its places in one file")
        try:
            self.parts[path] = self.read(path)
        except MillprepError as error:
            first = error.findings[0]
            place = f"{first.file}:{first.line}: " if first.line else f"{first.file}: "
            raise WordError(
                f"{shown(file)} cannot be read: {place}{first.message}",
                first.remedy or "mend that file first",
            ) from None
        return self.parts[path]


def _middle(wanted: PatternFrom, on_face: OnFace) -> Point:
    if wanted.middle is not None:
        return on_face.point(wanted.middle)
    if on_face.origin_mm is not None:
        return on_face.origin_mm
    raise WordError(
        "it does not say where the middle of the pattern comes",
        'add middle = [a, b] in its braces, or from = "name of a hole"',
    )


def _as_seen(holes: list[Hole], wanted: PatternFrom) -> list[tuple[float, float]]:
    """Places about their middle, to the right and up in the view."""
    right, up = (
        [sign * hole.centre_mm[axis] for hole in holes] for axis, sign in VIEW[holes[0].face]
    )
    middle = sum(right) / len(right), sum(up) / len(up)
    places = [(u - middle[0], v - middle[1]) for u, v in zip(right, up, strict=True)]
    mirrored = [(-u, v) for u, v in places]
    if wanted.as_seen is None and not _alike(places, mirrored):
        raise WordError(
            "the pattern is not its own mirror image, and as_seen is missing",
            f'write as_seen = "same" to look at this face as at {holes[0].face} there, '
            '"facing" where the two faces meet',
        )
    return mirrored if wanted.as_seen == "facing" else places


def _alike(places: list[tuple[float, float]], others: list[tuple[float, float]]) -> bool:
    """Whether both lists hold the same places in any order."""
    cells = {(round(u / _SAME_MM / 10), round(v / _SAME_MM / 10)) for u, v in places}
    near = [(a, b) for a in (-1, 0, 1) for b in (-1, 0, 1)]
    return all(
        any((round(u / _SAME_MM / 10) + a, round(v / _SAME_MM / 10) + b) in cells for a, b in near)
        for u, v in others
    )
