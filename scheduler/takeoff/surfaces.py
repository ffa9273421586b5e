"""Walls, floors, niches and benches: areas [m2] and lengths [m] from measurements [mm]."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

EXACT = 6
"""Decimals kept before rounding: 3/8 in is not exact in binary."""


def rounded_up(size: float) -> int:
    """Up to the next whole number, but not for rounding's sake.

    >>> rounded_up(3 * 0.1 / 0.1), rounded_up(3.01)
    (3, 4)
    """
    return ceil(round(size, EXACT))


def square_metres(a: float, b: float) -> float:
    """The area of ``a`` mm by ``b`` mm [m2]."""
    return a * b / 1_000_000


@dataclass(frozen=True)
class Opening:
    """A door, a window, a vanity's back: what is taken off a wall [mm]."""

    width: float
    height: float
    count: int = 1

    @property
    def area(self) -> float:
        """All of them [m2]."""
        return square_metres(self.width, self.height) * self.count


@dataclass(frozen=True)
class Room:
    """A rectangular room [mm]."""

    length: float
    width: float
    height: float

    @property
    def floor_area(self) -> float:
        """The floor, and the ceiling [m2]."""
        return square_metres(self.length, self.width)

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
        off = sum(square_metres(o.width, min(o.height, to)) * o.count for o in openings)
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
        return square_metres(self.width, self.depth)

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
    return square_metres(2 * (width + height), depth)


def niche_corners(width: float, height: float, depth: float) -> float:
    """The inside corners of a niche: round its back, and the four between its reveals [m]."""
    return (2 * (width + height) + 4 * depth) / 1000


def bench_area(length: float, depth: float, height: float, free_ends: int = 0) -> float:
    """Top, front and free ends of a bench along a wall [m2].

    The wall and floor it hides are not taken off: on site they come back as offcuts.
    """
    return square_metres(length, depth + height) + free_ends * square_metres(depth, height)
