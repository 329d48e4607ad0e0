"""A round bar lying down between jaws: how deep flat jaws must hold it, what a vee jaw takes.

     flat jaws squeeze it up and out        a vee jaw on the moving side, 90 degrees, mouth w wide:
     unless its centre lies below their     the bar touches at 45 degrees, its centre r x 1.414
     tops:                                  from the bottom of the vee, which is w / 2 deep

              ___                                     |  __ |
             /   \\     jaw tops                     __|_/  \\| flat jaw
         |__|     |__|                              \\  |    |
         |   \\___/   |                              /__|____|
                                                       |w/2 - 1.414 r from centre to jaw face

Pure functions; imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

import math

import numpy as np

from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.model.workholding import VeeGroove
from millprep.setting.seating import needed_below_mm
from millprep.setting.setups import Setup

CENTRE_BELOW_SHARE = 0.1  # of the diameter, that the centre lies below flat jaw tops at least
CENTRE_BELOW_MM = 1.5  # and no less than this (common practice, both)
PROUD_OF_VEE_MM = 0.5  # out of the vee, for the flat jaw to press on (common practice)
CLEAR_OF_LIP_MM = 1.0  # between a tool and the upper lip of the vee (common practice)


def is_bar_lying(part: Part, setup: Setup, jaws_axis: int) -> bool:
    """Whether jaws that close along that axis would close on the round of a bar or disc."""
    axis = part.stock.axis
    return axis is not None and bool(abs(setup.rotation[1 - jaws_axis, axis]) > 0.5)


def is_disc_on_end(part: Part, setup: Setup) -> bool:
    """Whether the part is a disc whose axis stands upright."""
    axis = part.stock.axis
    return axis is not None and bool(np.abs(setup.rotation[2, axis]) > 0.5)


def centre_below_mm(diameter_mm: float) -> float:
    """How far below flat jaw tops the centre of a bar has to lie."""
    return max(diameter_mm * CENTRE_BELOW_SHARE, CENTRE_BELOW_MM)


def least_grip_mm(diameter_mm: float) -> float:
    """Of flat jaws on a bar lying down."""
    return diameter_mm / 2 + centre_below_mm(diameter_mm)


def packing_mm(shop: Shop, diameter_mm: float, below_mm: float) -> float | None:
    """The tallest packing on which flat jaws hold the bar and drills have their room, or None.

    Parallels serve as packing as well as anything; 0 is the floor of the vice.
    """
    heights = {0.0, *shop.holding.packing_mm, *(pair.height_mm for pair in shop.parallels)}
    room_mm = shop.vice.jaw_height_mm - least_grip_mm(diameter_mm)
    least_mm = needed_below_mm(below_mm)
    fits = [one for one in heights if least_mm - 1e-9 <= one <= room_mm + 1e-9]
    return max(fits, default=None)


def bars_of(vee: VeeGroove) -> tuple[float, float]:
    """The thinnest and the thickest bar that goes into the vee.

    The thinnest stands proud of it, r (1 + 1.414) > w / 2; the thickest touches inside its mouth,
    r / 1.414 < w / 2.
    """
    least_mm = 2 * (vee.width_mm / 2 + PROUD_OF_VEE_MM) / (1 + math.sqrt(2))
    return least_mm, vee.width_mm * math.sqrt(2)


def lip_mm(vee: VeeGroove, diameter_mm: float) -> float:
    """From the bar's centre to the vee jaw's face, towards the flat jaw; below 0: short of it."""
    return vee.width_mm / 2 - diameter_mm / 2 * math.sqrt(2)
