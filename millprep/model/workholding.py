"""What holds work on the mill: vice, parallels, table, angle plate, vee blocks, chuck; in mm."""

from __future__ import annotations

from typing import Literal

from millprep.base.records import frozen


@frozen
class VeeGroove:
    """The groove of 90 degrees along a vee jaw [mm]: its mouth, its middle below the jaw tops."""

    width_mm: float
    below_mm: float


JawKind = Literal["flat", "vee", "soft"]


@frozen
class Vice:
    """Jaw width, height and thickness, how far it opens [mm], where the fixed jaw is; how far off a
    part may lie that is put back against the stop.

    jaws : the kinds there are; vee : the groove of a vee jaw, which goes on the moving side
    """

    jaw_width_mm: float
    jaw_height_mm: float
    jaw_thickness_mm: float
    fixed_jaw: Literal["away", "towards you"] = "away"
    opening_mm: float = 100.0
    jaws: frozenset[JawKind] = frozenset({"flat"})
    vee: VeeGroove | None = None
    reseating_mm: float = 0.05  # common practice


@frozen
class Parallels:
    """A pair of parallels [mm]."""

    thickness_mm: float
    height_mm: float


@frozen
class MachineTable:
    """The mill's table [mm]: size along X and Y; tee slots along X, None where nobody says."""

    size_mm: tuple[float, float]
    slot_width_mm: float | None = None
    slot_pitch_mm: float | None = None


@frozen
class AnglePlate:
    """An angle plate that stands on the table: its upright face [mm]."""

    width_mm: float
    height_mm: float


@frozen
class VeeBlock:
    """A pair of vee blocks with their clamps: the bars that they take [mm]."""

    least_mm: float
    most_mm: float


@frozen
class Chuck:
    """A chuck that stands on the table: the most that it grips, and its through hole [mm]."""

    diameter_mm: float
    through_mm: float = 0.0


@frozen
class Workholding:
    """What holds work on the table besides the vice.

    straps     : how many there are, each with its bolt and heel packing
    packing_mm : thicknesses of the packing, as much of each as straps need; ascending
    """

    straps: int = 0
    angle_plate: AnglePlate | None = None
    vee_blocks: tuple[VeeBlock, ...] = ()
    chuck: Chuck | None = None
    packing_mm: tuple[float, ...] = ()
