"""From measurements to quantities: areas, boards, screws, tape, membrane, mortar, grout, paint.

Pure arithmetic of the trade. Lengths in and thicknesses are in millimetres, as ``quantities`` reads
them; areas are m2, volumes litres, masses kilograms, and lengths of tape or joint metres. What a
trade fixes by number (notches, boards, spacings, tests) is data: ``scheduler.allowances``.

Nothing here adds waste or rounds up to packs, except where a function says so: ``with_waste`` and
``packs`` come last.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor

from scheduler import laws
from scheduler.allowances import Board, Notch, allowances
from scheduler.model import Amount

GROUT_DENSITY = 1.6
"""[kg/L] of cement grout in the joint: the 1.6 of the trade's formula (from memory)."""

UNDERLAY_DENSITY = 1.7
"""[kg/m2/mm] hardened self-leveling underlayment, 1.6 to 2.0 (data sheets, from memory)."""

DRY_PACK_DENSITY = 2.0
"""[kg/L] cement and sand packed almost dry, as dry mix (from memory)."""

WATER_DENSITY = 0.998
"""[kg/L] at 20 °C; 5.19 lb/ft2 for each inch of depth (ASTM D5957-98(2021), note 1, read)."""

_EXACT = 6  # decimals kept before rounding up: 3/8 in is not exact in binary


def _up(size: float) -> int:
    """Rounded up, but not for rounding's sake."""
    return ceil(round(size, _EXACT))


def _m2(a: float, b: float) -> float:
    """The area of ``a`` mm by ``b`` mm [m2]."""
    return a * b / 1_000_000


# Surfaces ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Opening:
    """A door, a window, a vanity's back: what is taken off a wall [mm]."""

    width: float
    height: float
    count: int = 1

    @property
    def area(self) -> float:
        """All of them [m2]."""
        return _m2(self.width, self.height) * self.count


@dataclass(frozen=True)
class Room:
    """A rectangular room [mm]."""

    length: float
    width: float
    height: float

    @property
    def floor_area(self) -> float:
        """The floor, and the ceiling [m2]."""
        return _m2(self.length, self.width)

    @property
    def perimeter(self) -> float:
        """Along the foot of the walls [m]."""
        return 2 * (self.length + self.width) / 1000

    @property
    def corners(self) -> float:
        """The four inside corners, floor to ceiling [m]."""
        return 4 * self.height / 1000

    def wall_area(self, openings: Iterable[Opening] = (), height: float | None = None) -> float:
        """The walls up to ``height`` [mm] (to the ceiling if None), openings taken off [m2].

        An opening counts up to that height: doors and windows start where the wall does.
        """
        to = min(self.height if height is None else height, self.height)
        off = sum(_m2(o.width, min(o.height, to)) * o.count for o in openings)
        return max(self.perimeter * to / 1000 - off, 0.0)


@dataclass(frozen=True)
class Alcove:
    """A shower or a tub between three walls: the back ``width`` long, two sides ``depth`` [mm].

    A shower in a corner has two walls: ``sides=1``.
    """

    width: float
    depth: float
    height: float
    sides: int = 2

    @property
    def floor_area(self) -> float:
        """The pan, and the ceiling over it [m2]."""
        return _m2(self.width, self.depth)

    @property
    def foot(self) -> float:
        """Along the pan's or tub's rim where it meets a wall [m]."""
        return (self.width + self.sides * self.depth) / 1000

    def wall_area(self, height: float | None = None) -> float:
        """The walls up to ``height`` [mm], to the ceiling if None [m2]."""
        return self.foot * self._to(height)

    def corners(self, height: float | None = None) -> float:
        """The inside corners up to ``height`` [mm] [m]."""
        return self.sides * self._to(height)

    def _to(self, height: float | None) -> float:
        return min(self.height if height is None else height, self.height) / 1000


def niche_area(width: float, height: float, depth: float) -> float:
    """What a niche adds to its wall: four reveals; its back takes the place of the hole [m2]."""
    return _m2(2 * (width + height), depth)


def niche_corners(width: float, height: float, depth: float) -> float:
    """The inside corners of a niche: round its back, and the four between its reveals [m]."""
    return (2 * (width + height) + 4 * depth) / 1000


def bench_area(length: float, depth: float, height: float, free_ends: int = 0) -> float:
    """Top, front and free ends of a bench along a wall [m2].

    The wall and floor it hides are not taken off: on site they come back as offcuts.
    """
    return _m2(length, depth + height) + free_ends * _m2(depth, height)


# Boards ------------------------------------------------------------------------------------------


def boards(area: float, board: Board, waste: float | None = None) -> int:
    """Whole boards for an area [m2] with waste (the board's own share if None)."""
    share = board.waste if waste is None else waste
    return _up(with_waste(area, share) / _m2(board.length, board.width))


def screws_per_board(length: float, width: float, framing: float, spacing: float) -> int:
    """Screws in a board that lies across or along framing, edges included.

    A line of screws on each framing member, one more than the spaces; the same along each line.

    Args:
        length: of the board [mm].
        width: of the board [mm].
        framing: centre to centre of the studs, counted along ``length`` [mm].
        spacing: the most between two screws on a stud [mm].

    Source: geometry: 4x8 ft on 16 in studs takes 7 x (48/s + 1), which is 28, 35 and 49 at 16, 12
    and 8 in; 3x5 ft takes 5 x 6 at 8 in.
    """
    return (_up(length / framing) + 1) * (_up(width / spacing) + 1)


def screws(area: float, board: Board, ceiling: bool = False) -> int:
    """Screws for an area [m2] of a board, without waste, at the spacing its standard asks for."""
    spacing = board.ceiling_spacing if ceiling else board.wall_spacing
    each = screws_per_board(board.length, board.width, board.framing, spacing)
    return _up(area * each / _m2(board.length, board.width))


def joint_length(area: float, perimeter: float, board: Board) -> float:
    """Joints between boards on one surface [m].

    All edges of all boards are joints twice, or the surface's own edge once; exact for whole
    boards, and near enough for cut ones.

    Args:
        area: of the surface [m2].
        perimeter: of the surface; 0 leaves its edges counted as joints [m].
        board: its size counts.

    Source: geometry; without edges 4x8 ft boards give 375 ft to 1000 ft2, and trade handbooks say
    370 to 380 ft of tape.
    """
    half_edges = (board.length + board.width) / 1000 / _m2(board.length, board.width)
    return max(area * half_edges - perimeter / 2, 0.0)


def joint_cement(length: float, width: float = 75.0, depth: float = 2.0) -> float:
    """Dry joint cement over meshed joints [kg].

    Args:
        length: joints, corners and the gap above the pan's flange [m].
        width: of the band filled over 2 in mesh [mm].
        depth: mean thickness of the band, gap included [mm].

    Source: volume at 1.6 kg/L; width and depth are common practice, no published source.
    """
    return length * width * depth / 1000 * GROUT_DENSITY


# Coats and pours ---------------------------------------------------------------------------------


def coverage(film: float) -> float:
    """How far a litre goes at a wet film thickness [mm]: m2/L = 1 / mm. 0.7 mm gives 1.43 m2/L."""
    return 1 / film


def membrane(area: float, coats: int, film: float) -> float:
    """Litres of membrane: area [m2] x coats x wet film of each [mm]."""
    return area * coats / coverage(film)


def wet_film(dry: float, shrinkage: float = 0.4) -> float:
    """The wet film [mm] that dries down to ``dry`` [mm].

    Source: shrinkage 30 to 50 %; a trade note, read, has up to 50 %.
    """
    return dry / (1 - shrinkage)


def underlay(area: float, thickness: float, density: float = UNDERLAY_DENSITY) -> float:
    """Dry underlayment [kg] for an area [m2] at a mean thickness [mm]."""
    return area * thickness * density


def paint(area: float, coats: int, reach: float) -> float:
    """Litres of paint or primer for an area [m2]; ``reach`` is what a litre covers once [m2/L]."""
    return area * coats / reach


# Tile --------------------------------------------------------------------------------------------


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
    return _up(area / _m2(a + joint, b + joint))


def movement_joints(length: float, width: float, most: float) -> float:
    """Soft joints inside a floor [m], beside those round it, so that no field is above ``most``.

    Args:
        length: of the floor [mm].
        width: of the floor [mm].
        most: the longest field [mm]; see ``allowances().movement``.

    Source: TCNA EJ171, read: interior 20 to 25 ft each way, 12 ft in sun or moisture; and at the
    perimeter and every change of plane.
    """
    across, along = _up(length / most) - 1, _up(width / most) - 1
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


# Pans and tests ----------------------------------------------------------------------------------


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
    return _m2(width, depth) * (least + rise * 2 / 3) * DRY_PACK_DENSITY


def liner_sheet(width: float, depth: float, upturn: float) -> float:
    """The sheet [m2] that lines a pan and turns up on all four sides by ``upturn`` [mm]."""
    return _m2(width + 2 * upturn, depth + 2 * upturn)


def water_load(depth: float) -> float:
    """What standing water weighs [kg/m2]: an inch is 5.19 lb/ft2 (ASTM D5957 note 1, read)."""
    return depth * WATER_DENSITY


def flood_water(area: float, depth: float) -> float:
    """Litres to flood ``area`` [m2] to ``depth`` [mm] over a level floor; a slope takes less."""
    return area * depth


# Mixing and buying -------------------------------------------------------------------------------


def working_minutes(amount: Amount, temperature: float, humidity: float = 0.5) -> int | None:
    """How long a fresh mix can be worked in this air [min], rounded down; None if it is not mixed.

    The law that sets a product also ends its pot life. Where the law stands still (cement near
    freezing) the stated time stands: nobody should find out on a floor how much longer it is.
    Above 35 °C, where the law counts as at 35 °C, it is shorter still; no class is applied there.

    Args:
        amount: its ``pot_life``, with the law and the air it is stated for.
        temperature: of the air, and of the mix [°C].
        humidity: relative humidity [0..1].
    """
    if amount.pot_life is None:
        return None
    speed = float(laws.rate(amount.pot_law, temperature, humidity, amount.pot_at))
    return floor(round(amount.pot_life / speed, _EXACT)) if speed > 0 else amount.pot_life


def with_waste(size: float, waste: float) -> float:
    """A size with its share [0..1] of waste on top."""
    return size * (1 + waste)


def packs(size: float, pack: float) -> int:
    """Whole packs that hold ``size``, both in one unit; 0 for nothing."""
    return _up(size / pack)
