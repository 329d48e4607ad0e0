"""A part on the table under straps: what stands where, in setup axes.

         nut
          |     strap                    the bolt nearer the work than the heel,
    ======|====================          the heel packing level with the work
   | heel |        |__ work ____         or a shade higher, packing directly
   |      |        | packing             under the toe
   -------+----------------------- table, the bolt in a tee slot

Records only; imports layers 0 and 1 of the package and the model.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.model.part import Face, ObstacleRequest, Point

ANGLE_PLATE = "the angle plate"
Place = tuple[float, float]


@frozen
class Strap:
    """One strap clamp over an edge of the part; its line in the file, where the file places it.

    side             : the face over whose upper edge it comes
    toe_mm           : X and Y where it presses; bolt_mm, heel_mm : of its bolt and its heel
    low_mm, high_mm  : the box around strap, nut and what stands out of it
    packing          : the box of the packing under the toe; None where the part lies on the table
    """

    name: str
    side: Face
    toe_mm: Place
    bolt_mm: Place
    heel_mm: Place
    low_mm: Point
    high_mm: Point
    packing: tuple[Point, Point] | None = None
    line: int | None = None

    @property
    def obstacle(self) -> ObstacleRequest:
        """What a tool must not meet."""
        return ObstacleRequest(self.name, self.low_mm, self.high_mm, self.line)


@frozen
class Strapped:
    """How a part is held down on the table; no straps where there is no room for two.

    packing_mm : how high it stands; 0 on the table itself
    slots_mm   : Y along which tee slots of the table have to run for the bolts; () where nobody
                 knows of slots, or where none suit
    is_packing_low : the shop has none so high
    """

    straps: tuple[Strap, ...] = ()
    packing_mm: float = 0.0
    slots_mm: tuple[float, ...] = ()
    is_packing_low: bool = False
