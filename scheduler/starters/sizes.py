"""What there is to do, in square metres, metres and pieces, from the answers."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from scheduler.allowances import allowances
from scheduler.model import Measure
from scheduler.starters.answers import Answers
from scheduler.starters.values import HEAD, Tile
from scheduler.takeoff import (
    DRY_PACK_DENSITY,
    UNDERLAY_DENSITY,
    Alcove,
    Opening,
    Room,
    bench_area,
    grout_use,
    joint_length,
    liner_sheet,
    mortar_bed,
    niche_area,
    niche_corners,
    notch_for,
    thinset,
)

# Sizes [mm] that nobody is asked for; common practice, no published source.
HEAD_HEIGHT = 1980.0  # tile to just over a shower head
TUB_RIM = 400.0
BENCH_DEPTH, BENCH_HEIGHT = 380.0, 460.0
NICHE = (305.0, 610.0, 89.0)
DOOR = Opening(760.0, 2030.0)
STEAM_DOOR = Opening(710.0, 1980.0)
TILE_THICKNESS = 9.0
THRESHOLD = 115.0  # three 2 x 4 in laid flat; the liner turns up the walls higher than that
FLOOR_UPTURN = 100.0  # a floor's membrane turns up the walls
JOINT_SETTING = 0.15  # kg/m of setting compound: a band 75 mm wide, 2 mm thick, 1.0 kg/L
SETTING_BED = 40.0  # kg/m2 of mortar under a ready pan or a tub: 20 mm at 2.0 kg/L
BLOCKING_ROWS = 3
STEAM, TUB, OVER_TILE = "steam-shower", "tub-surround", "tile-over-tile"
_BOARDS = {
    "cement-board": "backer-board",
    "gypsum-backer": "gypsum-tile-backer",
    "foam-board": "foam-board",
}


@dataclass(frozen=True)
class Takeoff:
    """The answers, measured up: areas in m2, lengths in m, masses in kg."""

    answers: Answers

    @cached_property
    def alcove(self) -> Alcove:
        """The shower from its pan up, or the tub from its rim up."""
        height = self.answers.ceiling_height - self.rim
        return Alcove(self.answers.width, self.answers.depth, height)

    @property
    def rim(self) -> float:
        """Where the walls begin, above the floor [mm]."""
        return TUB_RIM if self.answers.what == TUB else 0.0

    @property
    def steam(self) -> bool:
        """Whether it is closed to the ceiling for steam."""
        return self.answers.what == STEAM

    @property
    def tile_height(self) -> float:
        """How high the tile goes above pan or rim [mm], at most to the ceiling."""
        to, most = self.answers.tile_to, self.alcove.height
        if isinstance(to, str):
            return min(HEAD_HEIGHT - self.rim, most) if to == HEAD else most
        return min(to, most)

    @property
    def front(self) -> float:
        """A steam shower's wall round its door."""
        wall = self.answers.width * self.answers.ceiling_height / 1e6
        return max(wall - STEAM_DOOR.area, 0.0) if self.steam else 0.0

    @property
    def ceiling(self) -> float:
        """The ceiling over the shower."""
        return self.alcove.floor_area

    @property
    def walls(self) -> float:
        """The walls that are tiled, without bench and niche."""
        return self.alcove.wall_area(self.tile_height) + self.front

    @property
    def bench(self) -> float:
        """Top and front of the bench, along one side wall."""
        size = bench_area(self.answers.depth, BENCH_DEPTH, BENCH_HEIGHT)
        return size if self.answers.bench else 0.0

    @property
    def niche(self) -> float:
        """The reveals of the niche."""
        return niche_area(*NICHE) if self.answers.niche else 0.0

    @property
    def boarded(self) -> float:
        """Walls, bench and niche."""
        return self.walls + self.bench + self.niche

    @property
    def coated(self) -> float:
        """All that the membrane covers."""
        if self.answers.what == OVER_TILE:
            return self.walls
        pan = self.alcove.floor_area if self.answers.pan == "membrane" else 0.0
        return self.boarded + pan + (self.ceiling if self.steam else 0.0)

    @property
    def corners(self) -> float:
        """The inside corners of the tiled walls, up and down, and round the ceiling."""
        upright = self.alcove.corners(self.tile_height)
        if not self.steam:
            return upright
        return 2 * upright + 2 * (self.answers.width + self.answers.depth) / 1000

    @property
    def edges(self) -> float:
        """The changes of plane: corners, along the pan, round bench and niche."""
        bench = 2 * self.answers.depth / 1000 if self.answers.bench else 0.0
        niche = niche_corners(*NICHE) if self.answers.niche else 0.0
        return self.corners + self.alcove.foot + bench + niche

    @property
    def joints(self) -> float:
        """The joints between boards, corners counted once."""
        board = allowances().boards[_BOARDS[self.answers.substrate]]
        around = 2 * (self.alcove.foot + self.tile_height / 1000)
        return max(joint_length(self.boarded, around, board), 0.0) + self.corners

    @property
    def room(self) -> Room:
        """The floor outside the shower, with walls round it."""
        return Room(
            self.answers.floor_length, self.answers.floor_width, self.answers.ceiling_height
        )

    @property
    def floor_coated(self) -> float:
        """The floor, and the foot of the walls round it."""
        return self.room.floor_area + self.room.perimeter * FLOOR_UPTURN / 1000

    @property
    def dry_walls(self) -> float:
        """Walls and ceiling without tile, without the shower's open side, and above its tile."""
        open_side = Opening(self.answers.width, self.answers.ceiling_height)
        above = self.alcove.wall_area() - self.alcove.wall_area(self.tile_height)
        over_shower = self.ceiling
        return self.room.wall_area((DOOR, open_side)) + self.room.floor_area + above + over_shower

    @property
    def splash(self) -> float:
        """The backsplash."""
        return self.answers.splash_length * self.answers.splash_height / 1e6

    @property
    def mortar(self) -> float:
        """What the wall tile's trowel leaves [kg/m2]."""
        return notch_for(max(self.answers.tile)).use

    @property
    def floor_mortar(self) -> float:
        """What the floor tile's trowel leaves [kg/m2]."""
        return notch_for(max(self.answers.floor_tile)).use

    def grout(self, tile: Tile) -> float:
        """What a square metre of joints takes [kg/m2]."""
        return grout_use(*tile, TILE_THICKNESS, self.answers.joint)

    @property
    def underlay(self) -> float:
        """What the pour takes [kg/m2]."""
        return self.answers.thickness * UNDERLAY_DENSITY

    def bed(self, least: float) -> float:
        """Dry mix of a mortar bed that falls to the drain [kg]."""
        return mortar_bed(self.answers.width, self.answers.depth, least)


def sizes(answers: Answers) -> Mapping[str, Measure]:
    """Every size that ``data/starters`` may name, by its name there."""
    made = Takeoff(answers)
    return {**_counts(), **_wet(made), **_dry(made), **_mortars(made)}


def _counts() -> dict[str, Measure]:
    return {"one": Measure(1, "each"), "two": Measure(2, "each"), "room": Measure(1, "room")}


def _wet(made: Takeoff) -> dict[str, Measure]:
    alcove, answers = made.alcove, made.answers
    areas = {
        "stripped": alcove.wall_area() + made.front + (made.ceiling if made.steam else 0.0),
        "boarded": made.boarded,
        "ceiling": made.ceiling,
        "coated": made.coated,
        "tiled": made.walls,
        "bench": made.bench,
        "niche": made.niche,
        "pan": alcove.floor_area,
        "liner": liner_sheet(answers.width, answers.depth, THRESHOLD + allowances().pan.upturn),
        "grouted": _grouted(made),
    }
    lengths = {
        "blocking": alcove.foot * BLOCKING_ROWS,
        "pan_edge": alcove.foot,
        "joints": made.joints,
        "banded": made.edges,
        "sealed": made.edges,
    }
    return _measured(areas, "m2") | _measured(lengths, "m")


def _grouted(made: Takeoff) -> float:
    built = made.alcove.floor_area if made.answers.pan != "ready" else 0.0
    return made.boarded + built + (made.ceiling if made.steam else 0.0)


def _dry(made: Takeoff) -> dict[str, Measure]:
    answers = made.answers
    areas = {
        "floor": made.room.floor_area,
        "floor_coated": made.floor_coated,
        "dry_walls": made.dry_walls,
        "splash": made.splash,
    }
    lengths = {
        "floor_edge": made.room.perimeter,
        "splash_edge": (answers.splash_length + 2 * answers.splash_height) / 1000,
    }
    return _measured(areas, "m2") | _measured(lengths, "m")


def _mortars(made: Takeoff) -> dict[str, Measure]:
    finest, least = allowances().notches[0], allowances().pan.least_bed
    masses = {
        "setting_bed": made.alcove.floor_area * SETTING_BED,
        "sloped_bed": made.bed(least),
        "top_bed": made.alcove.floor_area * least * DRY_PACK_DENSITY,
        "bench_mortar": made.bench * made.mortar,
        "niche_mortar": made.niche * made.mortar,
        "sheet_mortar": thinset(made.coated, finest),
        "floor_sheet_mortar": thinset(made.floor_coated, finest),
        "joint_setting": made.joints * JOINT_SETTING,
    }
    return _measured(masses, "kg")


def _measured(sizes_: Mapping[str, float], unit: str) -> dict[str, Measure]:
    return {name: Measure(size, unit) for name, size in sizes_.items()}
