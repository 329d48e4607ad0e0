"""What stands on the table: stock, fixtures and heights, as boxes and cylinders in setup axes.

Setup axes are the readout's: X to the right hand, Y away from you, Z up, zero where the setup has
it, Z0 on the face that is up. The reading side is given a scene and never the plan that made it.
"""

from __future__ import annotations

from millprep.base.records import frozen

Point = tuple[float, float, float]


@frozen
class Box:
    """A box between two corners [mm]; a fixture has a name ("strap clamp")."""

    low_mm: Point
    high_mm: Point
    name: str = "stock"


@frozen
class Disc:
    """A round blank: the box around it, the setup axis it is round about (0 to 2), its bore."""

    low_mm: Point
    high_mm: Point
    axis: int
    bore_mm: float | None = None
    name: str = "stock"

    @property
    def radius_mm(self) -> float:
        across = 1 if self.axis == 0 else 0
        return (self.high_mm[across] - self.low_mm[across]) / 2


@frozen
class Pieces:
    """Blanks beside each other on one table; what is asked of one place is asked of the nearest."""

    each: tuple[Box | Disc, ...]
    name: str = "stock"

    @property
    def low_mm(self) -> Point:
        """The lowest corner of the box around them all."""
        x, y, z = (min(ends) for ends in zip(*(one.low_mm for one in self.each), strict=True))
        return x, y, z

    @property
    def high_mm(self) -> Point:
        x, y, z = (max(ends) for ends in zip(*(one.high_mm for one in self.each), strict=True))
        return x, y, z


Solid = Box | Disc | Pieces


def blanks_of(stock: Solid) -> tuple[Box | Disc, ...]:
    """The blanks one by one."""
    return stock.each if isinstance(stock, Pieces) else (stock,)


@frozen
class Drilled:
    """Room that is already empty when the setup begins: a hole of an earlier setup, in setup axes.

    start_mm, end_mm : ends of its axis; diameter_mm its width
    """

    start_mm: Point
    end_mm: Point
    diameter_mm: float


@frozen
class Scene:
    """One setup as the machine sees it.

    stock          : what is cut; its top face is at Z0 when it comes from a part
    fixtures       : what must not be touched
    drilled        : what earlier setups have removed
    work_offset    : the work system ("G54") whose origin is the setup's zero
    safe_height_mm : Z at and above which XY rapids are free of everything described
    underside_known : whether what lies below the stock is described in `fixtures`
    backing        : what lies below the stock and may be drilled into
    bodies         : of a stack, the Z of top and underside of each body, from the top down; between
                     them there is nothing. () where the stock is one
    material       : name in the table of materials, or None
    """

    stock: Solid
    fixtures: tuple[Box, ...] = ()
    drilled: tuple[Drilled, ...] = ()
    work_offset: str = "G54"
    safe_height_mm: float = 10.0
    underside_known: bool = False
    material: str | None = None
    backing: tuple[Box, ...] = ()
    bodies: tuple[tuple[float, float], ...] = ()
