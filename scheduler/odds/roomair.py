"""The air of a room in many runs, and what it makes of waits and application limits.

In each run the temperature and the humidity stray from the air as supposed: steady over each
stretch of six hours, from stretch to stretch an Ornstein-Uhlenbeck process. The speed of a wait is
that of the plan's own table, times what the straying makes of it; with nothing left to chance a
wait is that of the plan to the minute.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from scheduler import air as moist_air
from scheduler import laws
from scheduler.hours import NEVER
from scheduler.model import Air, Conditions, Limits
from scheduler.odds.luck import Seed
from scheduler.oddsfile import Straying, StrayingAir
from scheduler.progress import Flags, Minutes, Progress, Reals, within

STRETCH = 6 * 60
"""Minutes over which the straying of the air is taken as steady."""

_BLOCK = 40  # stretches drawn at once, ten days
_DAY = 4  # stretches
_SLACK = 1e-6  # label minutes, as in the tables of waits


@dataclass(frozen=True)
class Given:
    """How a quantity strays over the first stretches, given what was read: mean and a factor.

    ``factor @ z`` with independent standard normal ``z`` has the covariance that is left.
    """

    mean: Reals
    factor: Reals


UNREAD = Given(np.zeros(0), np.zeros((0, 0)))
"""Nothing was read."""


class _Strayed:
    """How far one quantity is from what is supposed, by stretch and run, as far as needed."""

    def __init__(self, spread: Straying, given: Given, n: int, draw: np.random.Generator) -> None:
        self._spread, self._draw, self._n = spread, draw, n
        known = given.factor.shape[0]
        self.known = known
        self.values: Reals = given.mean[:, None] + given.factor @ draw.standard_normal(
            (given.factor.shape[1], n)
        )
        self._last = self.values[-1] - given.mean[-1] if known else None

    def extend(self, stretches: int) -> None:
        """Go on for as many stretches."""
        keeps = float(np.exp(-STRETCH / self._spread.fades))
        shape = (stretches, self._n)
        new = self._draw.standard_normal(shape, dtype=np.float32) * self._spread.strays
        if self._last is not None:
            _carry(self._last, new[0], keeps)
        for before, row in pairwise(new):
            _carry(before, row, keeps)
        self._last = new[-1]
        self.values = np.concatenate((self.values, new))


def _carry(before: Reals, fresh: Reals, keeps: float) -> None:
    """Make of a fresh draw what follows the one before, in place: the spread stays what it is."""
    fresh *= np.sqrt(1 - keeps**2)
    fresh += keeps * before


class RoomAir:
    """The air of a room in ``n`` runs, from ``start`` on.

    Args:
        air: as the plan has it, its course laid over.
        zone: IANA name of the time zone.
        start: first minute of the first stretch.
        end: the last minute ever asked for.
        spread: how far it strays.
        n: how many runs.
        seed: of the random numbers.
        room: its id.
        given: how temperature and humidity stray, given what was read.
    """

    def __init__(  # noqa: PLR0917, PLR0913 (what a room's air hangs on)
        self, air: Air, zone: str, start: int, end: int, spread: StrayingAir, n: int, seed: Seed,
        room: str, given: tuple[Given, Given] = (UNREAD, UNREAD),
    ) -> None:  # fmt: skip
        self.air, self.zone, self.start, self.end = air, zone, start, end
        self.most = max((end - start) // STRETCH, 1)
        self._t = _Strayed(spread.temperature, given[0], n, seed.stream("air", room, "t"))
        self._rh = _Strayed(spread.humidity, given[1], n, seed.stream("air", room, "rh"))

    @cached_property
    def _middles(self) -> Minutes:
        return self.start + STRETCH * np.arange(self.most) + STRETCH // 2

    @cached_property
    def planned(self) -> tuple[Reals, Reals]:
        """Temperature and humidity as planned, in the middle of each stretch."""
        degrees = moist_air.temperatures(self.air, self._middles, self.zone)
        return degrees, moist_air.humidities(self.air, self._middles)

    @property
    def known(self) -> int:
        """How many stretches have been drawn."""
        return len(self._t.values)

    def reach(self, stretches: int) -> None:
        """Draw as many stretches at least."""
        while self.known < min(stretches, self.most):
            more = min(_BLOCK, self.most - self.known)
            self._t.extend(more)
            self._rh.extend(more)

    def stretch(self, minutes: Minutes) -> Minutes:
        """The stretch that each minute lies in."""
        k = np.clip((minutes - self.start) // STRETCH, 0, self.most - 1)
        self.reach(int(k.max(initial=0)) + 1)
        return np.asarray(k)

    def strayed(self, first: int, last: int) -> tuple[Reals, Reals]:
        """Temperature and humidity of the stretches ``[first, last)``, by run."""
        self.reach(last)
        degrees, humidity = self.planned
        t = degrees[first:last, None] + self._t.values[first:last]
        rh = humidity[first:last, None] + self._rh.values[first:last]
        return t, np.clip(rh, 0.0, 1.0)

    def allows(self, limits: Limits, minutes: Minutes) -> Flags:
        """In which runs the air at a minute of theirs is within the limits."""
        asked = np.where(minutes >= NEVER, self.start, minutes)
        k, run = self.stretch(asked), np.arange(len(asked))
        t = moist_air.temperatures(self.air, asked, self.zone) + self._t.values[k, run]
        rh = moist_air.humidities(self.air, asked) + self._rh.values[k, run]
        return within(limits, t, np.clip(rh, 0.0, 1.0)) | (minutes >= NEVER)

    def colder_within_a_day(self, below: float, minutes: Minutes) -> Flags:
        """In which runs it gets colder than ``below`` [°C] in the 24 h after a minute of theirs."""
        first = self.stretch(np.where(minutes >= NEVER, self.start, minutes))
        self.reach(int(first.max(initial=0)) + _DAY + 1)
        ahead = np.minimum(first + np.arange(_DAY + 1)[:, None], self.most - 1)
        coldest = self._coldest[ahead] + self._t.values[ahead, np.arange(len(minutes))]
        return np.asarray((coldest < below).any(axis=0))

    @cached_property
    def _coldest(self) -> Reals:
        minutes = self.start + 15 * np.arange(self.most * STRETCH // 15)
        degrees = moist_air.temperatures(self.air, minutes, self.zone)
        return np.asarray(degrees.reshape(self.most, -1).min(axis=1))


class Clockwork:
    """What a law makes of a room's air: label minutes collected, by stretch and run."""

    def __init__(self, law: str, at: Conditions, room: RoomAir, table: Progress) -> None:
        self._law, self._at, self._room = law, at, room
        self._nodes, self._table = table.arrays
        edges = room.start + STRETCH * np.arange(room.most + 1)
        self._edges = np.interp(edges, self._nodes, self._table)  # as planned
        self._collected: Reals = np.zeros((1, 0))

    def _reach(self, stretches: int) -> None:
        """Tabulate as many stretches at least."""
        done = len(self._collected) - 1
        if done >= min(stretches, self._room.most) and done:
            return
        self._room.reach(stretches)
        last = self._room.known
        gained = self._gained(done, last)
        start = self._collected[-1] if done else np.zeros(gained.shape[1])
        more = np.vstack((start[None, :], gained)).cumsum(axis=0)
        self._collected = np.concatenate((self._collected[:done] if done else more[:0], more))

    def _gained(self, first: int, last: int) -> Reals:
        t, rh = self._room.strayed(first, last)
        speed = laws.rate(self._law, t, rh, self._at)
        planned_t, planned_rh = (each[first:last] for each in self._room.planned)
        usual = laws.rate(self._law, planned_t, planned_rh, self._at)
        planned = np.diff(self._edges[first : last + 1])
        moves = (usual > 0) & (planned > 0)
        factor = np.where(moves, planned / np.where(moves, usual, 1.0), STRETCH)
        return np.asarray(speed * factor[:, None])

    def at(self, minutes: Minutes) -> Reals:
        """Label minutes collected up to a minute of each run; ``NEVER`` counts as the start."""
        k, run = self._room.stretch(minutes), np.arange(len(minutes))
        self._reach(int(k.max(initial=0)) + 1)
        low, gained = self._collected[k, run], self._collected[k + 1, run] - self._collected[k, run]
        return np.asarray(low + gained * self._share(k, minutes))

    def _share(self, k: Minutes, minutes: Minutes) -> Reals:
        """How much of a stretch's gain has come by a minute in it [0..1]: as planned."""
        planned = self._edges[k + 1] - self._edges[k]
        passed = np.interp(minutes, self._nodes, self._table) - self._edges[k]
        even = (minutes - self._room.start) / STRETCH - k
        return np.where(planned > 0, passed / np.where(planned > 0, planned, 1.0), even)

    def reached(self, since: Minutes, need: Reals) -> Minutes:
        """The first minutes by which so many label minutes are collected; else ``NEVER``."""
        amount = self.at(np.where(since >= NEVER, self._room.start, since)) + need - _SLACK
        while (self._collected[-1] < amount).any() and len(self._collected) <= self._room.most:
            self._reach(len(self._collected) - 1 + _BLOCK)
        k, run = self._find(amount), np.arange(len(amount))
        inside = np.minimum(k, len(self._collected) - 2)
        low, high = self._collected[inside, run], self._collected[inside + 1, run]
        share = (amount - low) / np.where(high > low, high - low, 1.0)
        found = self._minute(inside, share)
        return np.asarray(np.where((k > inside) | (since >= NEVER), NEVER, found))

    def _find(self, amount: Reals) -> Minutes:
        """The stretch in which each run collects so much; one past the last if none."""
        last = len(self._collected) - 1
        low, high = np.zeros(len(amount), dtype=np.int64), np.full(len(amount), last)
        run = np.arange(len(amount))
        while (low < high).any():
            middle = (low + high) // 2
            enough = self._collected[np.minimum(middle + 1, last), run] >= amount
            high = np.where(enough, middle, high)
            low = np.where(enough | (low >= high), low, middle + 1)
        return low

    def _minute(self, k: Minutes, share: Reals) -> Minutes:
        """The minute by which a share of a stretch's gain has come."""
        planned = self._edges[k + 1] - self._edges[k]
        sought = self._edges[k] + share * planned
        i = np.clip(np.searchsorted(self._table, sought, side="left"), 1, len(self._table) - 1)
        rise = self._table[i] - self._table[i - 1]
        part = (sought - self._table[i - 1]) / np.where(rise > 0, rise, 1.0)
        exact = self._nodes[i - 1] + part * (self._nodes[i] - self._nodes[i - 1])
        even = self._room.start + (k + share) * STRETCH
        return np.ceil(np.where(planned > 0, exact, even)).astype(np.int64)
