"""Tile: thin-set by the notch, grout by the formula, soft joints and sealant."""

from scheduler.allowances import Notch, allowances
from scheduler.takeoff.surfaces import rounded_up, square_metres

GROUT_DENSITY = 1.6
"""[kg/L] of cement grout in the joint: the 1.6 of the trade's formula (from memory)."""


def notch_for(longest_side: float) -> Notch:
    """The trowel for a tile, by its longest side [mm]; the largest one beyond its usual range.

    Source: common practice, no published source; what counts is the mortar contact that ANSI
    A108.5 asks for, 80 % in dry and 95 % in wet areas (from memory): lift a tile and look.
    """
    notches = allowances().notches
    return next((n for n in notches if longest_side <= n.tile_up_to), notches[-1])


def thinset(area: float, notch: Notch) -> float:
    """Dry thin-set [kg] for an area [m2] by a trowel's notch."""
    return area * notch.use


def grout_use(a: float, b: float, thickness: float, joint: float) -> float:
    """Dry cement grout [kg/m2]: (A + B) / (A x B) x C x D x 1.6.

    Args:
        a: one side of the tile [mm].
        b: the other [mm].
        thickness: of the tile, as deep as the joint is filled [mm].
        joint: its width [mm].

    Source: the trade's formula (from memory). 300 x 300 x 10 mm with 3 mm joints takes 0.32 kg/m2,
    100 x 100 x 8 mm with 2 mm joints 0.512 kg/m2.
    """
    return (a + b) / (a * b) * thickness * joint * GROUT_DENSITY


def tiles(area: float, a: float, b: float, joint: float) -> int:
    """Whole tiles for an area [m2], without waste: each takes its own size and one joint [mm]."""
    return rounded_up(area / square_metres(a + joint, b + joint))


def movement_joints(length: float, width: float, most: float) -> float:
    """Soft joints inside a floor [m], beside those round it, so that no field is above ``most``.

    Args:
        length: of the floor [mm].
        width: of the floor [mm].
        most: the longest field [mm]; see ``allowances().movement``.

    Source: TCNA EJ171, read: interior 20 to 25 ft each way, 12 ft in sun or moisture; and at the
    perimeter and every change of plane.
    """
    across, along = rounded_up(length / most) - 1, rounded_up(width / most) - 1
    return (across * width + along * length) / 1000


def sealant(length: float, width: float, depth: float | None = None, fillet: bool = True) -> float:
    """Sealant [L] for a joint or a bead in a corner.

    Args:
        length: of the bead [m].
        width: of the joint, or of each leg of a bead in a corner [mm].
        depth: of the joint [mm]; ``width`` if None.
        fillet: whether it is a bead in a corner, half a square across; else a filled joint.

    Source: geometry.
    """
    section = width * (width if depth is None else depth) * (0.5 if fillet else 1.0)
    return length * section / 1000
