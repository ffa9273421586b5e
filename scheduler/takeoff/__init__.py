"""From measurements to quantities: areas, boards, screws, tape, membrane, mortar, grout, paint.

Pure arithmetic of the trade. Lengths in and thicknesses are in millimetres, as ``quantities`` reads
them; areas are m2, volumes litres, masses kilograms, and lengths of tape or joint metres. What a
trade fixes by number (notches, boards, spacings, tests) is data: ``scheduler.allowances``.

Nothing here adds waste or rounds up to packs, except where a function says so: ``with_waste`` and
``packs`` come last.
"""

from scheduler.takeoff.boarding import (
    JOINT_CEMENT_DENSITY,
    boards,
    joint_cement,
    joint_length,
    screws,
    screws_per_board,
)
from scheduler.takeoff.buying import (
    packs,
    with_waste,
    working_minutes,
)
from scheduler.takeoff.coats import (
    UNDERLAY_DENSITY,
    coverage,
    membrane,
    paint,
    underlay,
    wet_film,
)
from scheduler.takeoff.pans import (
    DRY_PACK_DENSITY,
    WATER_DENSITY,
    flood_water,
    liner_sheet,
    mortar_bed,
    pan_rise,
    water_load,
)
from scheduler.takeoff.surfaces import (
    Alcove,
    Opening,
    Room,
    bench_area,
    niche_area,
    niche_corners,
    rounded_up,
    square_metres,
)
from scheduler.takeoff.tile import (
    GROUT_DENSITY,
    grout_use,
    movement_joints,
    notch_for,
    sealant,
    thinset,
    tiles,
)

__all__ = [
    "DRY_PACK_DENSITY",
    "GROUT_DENSITY",
    "JOINT_CEMENT_DENSITY",
    "UNDERLAY_DENSITY",
    "WATER_DENSITY",
    "Alcove",
    "Opening",
    "Room",
    "bench_area",
    "boards",
    "coverage",
    "flood_water",
    "grout_use",
    "joint_cement",
    "joint_length",
    "liner_sheet",
    "membrane",
    "mortar_bed",
    "movement_joints",
    "niche_area",
    "niche_corners",
    "notch_for",
    "packs",
    "paint",
    "pan_rise",
    "rounded_up",
    "screws",
    "screws_per_board",
    "sealant",
    "square_metres",
    "thinset",
    "tiles",
    "underlay",
    "water_load",
    "wet_film",
    "with_waste",
    "working_minutes",
]
