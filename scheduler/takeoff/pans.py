"""Built shower pans: slope, mortar, liner, and what a test puts on the floor."""

from scheduler.allowances import allowances
from scheduler.takeoff.surfaces import square_metres

DRY_PACK_DENSITY = 2.0
"""[kg/L] cement and sand packed almost dry, as dry mix (from memory)."""

WATER_DENSITY = 0.998
"""[kg/L] at 20 °C; 5.19 lb/ft2 for each inch of depth (ASTM D5957-98(2021), note 1, read)."""


def pan_rise(run: float, slope: float | None = None) -> float:
    """How much higher a pan is [mm] at ``run`` [mm] from its drain.

    ``slope`` is rise over run; if None the least that codes allow: 1/4 in per foot (IRC P2709.1).
    """
    return run * (allowances().pan.least_slope if slope is None else slope)


def mortar_bed(width: float, depth: float, least: float, slope: float | None = None) -> float:
    """Dry mix [kg] of a bed that falls from its edges to a drain in its middle.

    The rim is level; the bed is a block ``least`` thick with a hollow pyramid over it, so two
    thirds of the rise come on top of ``least``: a pyramid holds a third of its box.

    Args:
        width: of the pan [mm].
        depth: of the pan, front to back [mm].
        least: thickness at the drain [mm].
        slope: along the longer half; see ``pan_rise``.
    """
    rise = pan_rise(max(width, depth) / 2, slope)
    return square_metres(width, depth) * (least + rise * 2 / 3) * DRY_PACK_DENSITY


def liner_sheet(width: float, depth: float, upturn: float) -> float:
    """The sheet [m2] that lines a pan and turns up on all four sides by ``upturn`` [mm]."""
    return square_metres(width + 2 * upturn, depth + 2 * upturn)


def water_load(depth: float) -> float:
    """What standing water weighs [kg/m2]: an inch is 5.19 lb/ft2 (ASTM D5957 note 1, read)."""
    return depth * WATER_DENSITY


def flood_water(area: float, depth: float) -> float:
    """Litres to flood ``area`` [m2] to ``depth`` [mm] over a level floor; a slope takes less."""
    return area * depth
