"""A DXF as plain shapes: circles, points, closed lines, lines and arcs, with blocks put in place.

The one place that reads with ezdxf; `canvas/dxf.py` writes with it. Only the model space is read,
and of it what shows: layers that are off, and what lies square to the view.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ezdxf.lldxf.const import DXFError

from millprep.base.bounds import LARGEST_PLAN_BYTES, MOST_SHAPES
from millprep.base.findings import MillprepError, stopped
from millprep.base.plain_text import clean
from millprep.base.records import anew, frozen
from millprep.infiles.file_bytes import Kind, read_bytes, unreadable
from millprep.infiles.plans.record import Place

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_DXF = Kind(
    ".dxf",
    "save the face with the holes alone",
    "save it as DXF",
    "save it as DXF",
    LARGEST_PLAN_BYTES,
)
_MOST_NESTED = 12
_BROKEN = (ValueError, TypeError, ArithmeticError, LookupError, AttributeError)
"""What broken values of a file raise in the library that reads it, beside its own errors."""
_ROUND = 1e-6
"""How much of its radius an ellipse may be out and still be a circle."""
UNITS_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 13: 0.001, 14: 100.0}
"""$INSUNITS, in mm: inches, feet, mm, cm, m, thou, microns, dm (from memory of the reference)."""
INCH_CODES = (1, 2, 9)
_OWN = re.compile(rb"^999\s+millprep drawing dxf")


@frozen
class Circle:
    """One circle, in the drawing's units. is_broken : drawn in dashes or chains"""

    centre: Place
    radius: float
    handle: str
    layer: str
    is_broken: bool = False

    @property
    def where(self) -> str:
        return clean(f"circle {self.handle} on layer {self.layer}")


@frozen
class Segment:
    """A line, or an arc anticlockwise from start to end, which then has centre and radius."""

    start: Place
    end: Place
    layer: str
    handle: str
    centre: Place | None = None
    radius: float = 0.0
    sweep_deg: float = 0.0


@frozen
class Shapes:
    """What a DXF shows. Lengths in its own units.

    unit_mm : of its units, None where it does not say; is_inch : whether they are inches
    loops   : closed lines as segments; texts : with where they stand
    strange : what is no circle, point or line: (kind, layer) and how often
    lone    : what could be a hole and is not read, in words
    is_own  : millprep's own drawing
    """

    unit_mm: float | None
    is_inch: bool
    circles: list[Circle] = anew(factory=list)
    points: list[Circle] = anew(factory=list)
    segments: list[Segment] = anew(factory=list)
    loops: list[tuple[Segment, ...]] = anew(factory=list)
    texts: list[tuple[str, Place]] = anew(factory=list)
    strange: Counter[tuple[str, str]] = anew(factory=Counter)
    lone: list[str] = anew(factory=list)
    is_own: bool = False


def read_shapes(path: Path) -> Shapes:
    """The shapes of a DXF file. Raises MillprepError for what is none, or too large."""
    name = str(path)
    content = read_bytes(path, name, _DXF)
    document = _document(path, name)
    code = int(document.header.get("$INSUNITS", 0))
    shapes = Shapes(
        UNITS_MM.get(code), code in INCH_CODES, is_own=_OWN.match(content[:200]) is not None
    )
    try:
        _Reader(document, shapes, name).read(document.modelspace())
        for layout in document.layouts:
            if layout.is_any_paperspace and (count := len(layout.query("* !VIEWPORT"))):
                shapes.strange["shape on paper, beside the model", layout.name] += count
    except (DXFError, *_BROKEN) as error:
        raise _unreadable(name, error) from None
    return shapes


def _document(path: Path, name: str) -> Drawing:
    from ezdxf.filemanagement import readfile

    try:
        return readfile(path)
    except Exception as error:  # it raises what it likes for a broken file: it is the file's fault
        raise _unreadable(name, error) from None


def _unreadable(name: str, error: Exception) -> MillprepError:
    reason = clean(str(error).split("\n")[0])[:100] or type(error).__name__
    remedy = "save it as DXF of another version, as text"
    return unreadable(name, f"cannot be read as DXF: {reason}", remedy)


class _Reader:
    """Sorts the entities of a drawing by what they are."""

    def __init__(self, document: Drawing, shapes: Shapes, name: str) -> None:
        self._document, self._shapes, self._name = document, shapes, name
        self._broken: dict[str, bool] = {}
        self._hidden = {
            layer.dxf.name.casefold()
            for layer in document.layers
            if layer.is_off() or layer.is_frozen()
        }
        self._count = 0
        self._readers: dict[str, Callable[[Any], None]] = {
            "CIRCLE": self._circle,
            "POINT": self._point,
            "LINE": self._line,
            "ARC": self._arc,
            "ELLIPSE": self._ellipse,
            "LWPOLYLINE": self._polyline,
            "POLYLINE": self._polyline,
            "TEXT": self._text,
            "MTEXT": self._text,
            "ATTRIB": self._text,
        }

    def read(self, space: Iterable[Any]) -> None:
        """Every entity that shows."""
        for entity in self._flat(space, 0):
            self._count += 1
            if self._count > MOST_SHAPES:
                message = f"holds more than {MOST_SHAPES:,} shapes"
                raise unreadable(self._name, message, "save the face with the holes alone")
            kind, layer = entity.dxftype(), _layer(entity)
            reader = self._readers.get(kind)
            if layer.casefold() in self._hidden or entity.dxf.get("invisible", 0):
                self._shapes.strange[f"{kind} that is switched off", layer] += 1
            elif reader is None:
                self._shapes.strange[kind, layer] += 1
            elif not _is_square(entity):
                self._shapes.lone.append(clean(f"{kind} {_handle(entity)} lies askew to the view"))
            else:
                self._read(reader, entity)

    def _read(self, reader: Callable[[Any], None], entity: Any) -> None:
        try:
            reader(entity)
        except (DXFError, *_BROKEN):
            self._shapes.lone.append(
                clean(f"{entity.dxftype()} {_handle(entity)} cannot be read as one")
            )

    def _flat(self, space: Iterable[Any], depth: int) -> Iterator[Any]:
        """Entities with those of blocks put in their places."""
        for entity in space:
            if entity.dxftype() != "INSERT":
                yield entity
            elif _layer(entity).casefold() in self._hidden or depth >= _MOST_NESTED:
                self._shapes.strange["INSERT that is not opened", _layer(entity)] += 1
            else:
                yield from self._opened(entity, depth)

    def _opened(self, insert: Any, depth: int) -> Iterator[Any]:
        """What a block shows where it is put."""
        yield from insert.attribs
        if insert.block() is None:
            self._shapes.lone.append(
                clean(f"INSERT {_handle(insert)} of a block that is not there")
            )
            return
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            inner = one.virtual_entities(skipped_entity_callback=self._skipped)
            yield from self._flat(inner, depth + 1)

    def _skipped(self, entity: Any, _: str) -> None:
        self._shapes.lone.append(clean(f"{entity} of a block that is stretched"))

    def _is_broken(self, entity: Any) -> bool:
        """Whether its line, its own or its layer's, has gaps."""
        name = str(entity.dxf.get("linetype", "BYLAYER"))
        if name.upper() == "BYLAYER":
            layer = _layer(entity)
            has_layer = layer in self._document.layers
            name = str(self._document.layers.get(layer).dxf.linetype) if has_layer else "CONTINUOUS"
        if name not in self._broken:
            known = name in self._document.linetypes
            pattern = self._document.linetypes.get(name).simplified_line_pattern() if known else ()
            self._broken[name] = len(pattern) > 0
        return self._broken[name]

    def _place(self, entity: Any, point: Any) -> Place:
        """In the view: circles, arcs and flat polylines may be drawn from behind."""
        if entity.dxf.get("extrusion", (0, 0, 1))[2] < 0:
            point = entity.ocs().to_wcs(point)
        x, y = float(point[0]), float(point[1])
        if not (math.isfinite(x) and math.isfinite(y)):
            raise ValueError(point)
        return x, y

    def _circle(self, entity: Any) -> None:
        self._add_circle(entity, self._place(entity, entity.dxf.center), float(entity.dxf.radius))

    def _add_circle(self, entity: Any, centre: Place, radius: float) -> None:
        if not radius > 0 or not math.isfinite(radius):
            self._shapes.lone.append(
                clean(f"circle {_handle(entity)} on layer {_layer(entity)} has no size")
            )
            return
        self._shapes.circles.append(
            Circle(centre, radius, _handle(entity), _layer(entity), self._is_broken(entity))
        )

    def _point(self, entity: Any) -> None:
        x, y = float(entity.dxf.location[0]), float(entity.dxf.location[1])
        self._shapes.points.append(Circle((x, y), 0.0, _handle(entity), _layer(entity)))

    def _ellipse(self, entity: Any) -> None:
        x, y = float(entity.dxf.major_axis[0]), float(entity.dxf.major_axis[1])
        whole = abs(abs(entity.dxf.end_param - entity.dxf.start_param) - 2 * math.pi) < _ROUND
        if whole and abs(entity.dxf.ratio - 1) < _ROUND:
            centre = entity.dxf.center
            self._add_circle(entity, (float(centre[0]), float(centre[1])), math.hypot(x, y))
        else:
            self._shapes.lone.append(
                clean(f"ellipse {_handle(entity)} on layer {_layer(entity)} is no round hole")
            )

    def _line(self, entity: Any) -> None:
        start, end = entity.dxf.start, entity.dxf.end
        self._add_segment(entity, (start[0], start[1]), (end[0], end[1]))

    def _arc(self, entity: Any) -> None:
        centre = self._place(entity, entity.dxf.center)
        start, end = (self._place(entity, p) for p in (entity.start_point, entity.end_point))
        if entity.dxf.get("extrusion", (0, 0, 1))[2] < 0:
            start, end = end, start
        sweep = (entity.dxf.end_angle - entity.dxf.start_angle) % 360 or 360.0
        self._add_segment(entity, start, end, centre, float(entity.dxf.radius), float(sweep))

    def _add_segment(
        self,
        entity: Any,
        start: Place,
        end: Place,
        centre: Place | None = None,
        radius: float = 0.0,
        sweep_deg: float = 0.0,
    ) -> None:
        layer = _layer(entity)
        if self._is_broken(entity):
            self._shapes.strange["broken line", layer] += 1
            return
        self._shapes.segments.append(
            Segment(start, end, layer, _handle(entity), centre, radius, sweep_deg)
        )

    def _polyline(self, entity: Any) -> None:
        """A flat polyline: a circle of two half rounds, a closed line, or lines and arcs."""
        kind, layer = entity.dxftype(), _layer(entity)
        if kind == "POLYLINE" and not entity.is_2d_polyline:
            self._shapes.strange["polyline in space, or mesh", layer] += 1
            return
        if kind == "LWPOLYLINE" and entity.has_width:
            self._shapes.strange["polyline with a width", layer] += 1
            return
        if self._is_broken(entity):
            self._shapes.strange["broken line", layer] += 1
            return
        whose = layer, _handle(entity)
        parts = tuple(self._piece(one, *whose) for one in entity.virtual_entities())
        if not parts:
            return
        if not entity.is_closed and math.dist(parts[0].start, parts[-1].end) > 0:
            self._shapes.segments.extend(parts)
            return
        first = parts[0]
        if first.centre is not None and all(
            part.centre is not None and math.dist(part.centre, first.centre) < _ROUND * first.radius
            for part in parts
        ):
            self._add_circle(entity, first.centre, first.radius)
            return
        self._shapes.loops.append(parts)

    def _piece(self, piece: Any, layer: str, handle: str) -> Segment:
        """A line or an arc of a polyline; arcs run anticlockwise, whichever way that goes."""
        if piece.dxftype() == "LINE":
            start, end = piece.dxf.start, piece.dxf.end
            return Segment((start[0], start[1]), (end[0], end[1]), layer, handle)
        centre = self._place(piece, piece.dxf.center)
        ends = self._place(piece, piece.start_point), self._place(piece, piece.end_point)
        sweep = float((piece.dxf.end_angle - piece.dxf.start_angle) % 360 or 360.0)
        return Segment(*ends, layer, handle, centre, float(piece.dxf.radius), sweep)

    def _text(self, entity: Any) -> None:
        words = entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text
        at = entity.dxf.insert
        words = " ".join(clean(str(words).replace("%%c", "Ø").replace("\n", " ")).split())
        if words:
            self._shapes.texts.append((words, (float(at[0]), float(at[1]))))


def _layer(entity: Any) -> str:
    try:
        return str(entity.dxf.layer)
    except (DXFError, AttributeError):  # of a kind that has none
        return "0"


def _handle(entity: Any) -> str:
    """Its handle in the file; what a block shows has the block's."""
    if entity.dxf.handle is not None:
        return str(entity.dxf.handle)
    source = getattr(entity, "source_block_reference", None)
    if source is None:
        return "in a block"
    x, y, _ = source.dxf.insert
    return f"in block {source.dxf.name} at {x:.6g}, {y:.6g}"


def _is_square(entity: Any) -> bool:
    x, y, _ = map(float, entity.dxf.get("extrusion", (0, 0, 1)))
    return abs(x) < _ROUND and abs(y) < _ROUND


def no_units(path: str) -> MillprepError:
    """The refusal of a drawing whose units nothing says."""
    what = "the drawing does not say whether its figures are mm or inches"
    return stopped("missing-key", what, "say --units mm or --units inch", path)
