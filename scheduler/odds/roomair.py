"""The air of a room in many runs, and what it makes of waits and application limits.

In each run the temperature and the humidity stray from the air as planned: steady over each
stretch, from stretch to stretch an Ornstein-Uhlenbeck process. The speed of a wait is that of the
plan's own table, times what the straying makes of it; with nothing left to chance a wait is that of
the plan to the minute.
"""

from itertools import pairwise

import numpy as np

from scheduler import air as moist_air
from scheduler import laws
from scheduler.hours import NEVER
from scheduler.model import Conditions, Limits
from scheduler.odds.knownair import NOTHING, Known
from scheduler.odds.stretches import LENGTH, Stretches
from scheduler.oddsfile import Straying, StrayingAir
from scheduler.progress import Flags, Minutes, Progress, Reals, within

_BLOCK = 40  # stretches drawn at once, ten days
_DAY = 4  # stretches
_SLACK = 1e-6  # label minutes, as in the tables of waits


class _Strayed:
    """How far one quantity is from what is planned, by stretch and run, as far as needed."""

    def __init__(self, spread: Straying, known: Known, n: int, draw: np.random.Generator) -> None:
        self._spread, self._draw, self._n = spread, draw, n
        apart = known.factor @ draw.standard_normal((known.factor.shape[1], n))
        self._last: Reals | None = apart[-1] if len(apart) else None
        self.values: Reals = known.mean[:, None] + apart

    def extend(self, stretches: int) -> None:
        """Go on for as many stretches."""
        keeps = float(np.exp(-LENGTH / self._spread.fades))
        shape = (stretches, self._n)
        new: Reals = self._draw.standard_normal(shape) * self._spread.strays
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
    """The air of a room in ``n`` runs.

    Args:
        planned: the stretches, and the air as planned.
        spread: how far it strays.
        n: how many runs.
        draws: random numbers for temperature and humidity.
        known: what is known of the deviation of the two.
    """

    def __init__(
        self,
        planned: Stretches,
        spread: StrayingAir,
        n: int,
        draws: tuple[np.random.Generator, np.random.Generator],
        known: tuple[Known, Known] = (NOTHING, NOTHING),
    ) -> None:
        self.planned = planned
        self._t = _Strayed(spread.temperature, known[0], n, draws[0])
        self._rh = _Strayed(spread.humidity, known[1], n, draws[1])

    @property
    def drawn(self) -> int:
        """How many stretches have been drawn."""
        return min(len(self._t.values), len(self._rh.values))

    def reach(self, stretches: int) -> None:
        """Draw as many stretches at least."""
        wanted = min(stretches, self.planned.count)
        for each in (self._t, self._rh):
            while len(each.values) < wanted:
                each.extend(min(_BLOCK, self.planned.count - len(each.values)))

    def stretch(self, minutes: Minutes) -> Minutes:
        """The stretch that each minute lies in; the first for those that never come."""
        k = self.planned.of(np.where(minutes >= NEVER, self.planned.start, minutes))
        self.reach(int(k.max(initial=0)) + 1)
        return k

    def strayed(self, first: int, last: int, *, driest: bool = False) -> tuple[Reals, Reals]:
        """Temperature and humidity of the stretches ``[first, last)``, by run."""
        self.reach(last)
        damp = self.planned.driest if driest else self.planned.humidity
        t = self.planned.temperature[first:last, None] + self._t.values[first:last]
        rh = damp[first:last, None] + self._rh.values[first:last]
        return t, np.clip(rh, 0.0, 1.0)

    def allows(self, limits: Limits, minutes: Minutes) -> Flags:
        """In which runs the air at a minute of theirs is within the limits."""
        never = minutes >= NEVER
        asked, air = np.where(never, self.planned.start, minutes), self.planned.air
        k, run = self.stretch(asked), np.arange(len(asked))
        t = moist_air.temperatures(air, asked, self.planned.zone) + self._t.values[k, run]
        rh = moist_air.humidities(air, asked) + self._rh.values[k, run]
        return within(limits, t, np.clip(rh, 0.0, 1.0)) | never

    def colder_within_a_day(self, below: float, minutes: Minutes) -> Flags:
        """In which runs it gets colder than ``below`` [°C] in the 24 h after a minute of theirs."""
        first = self.stretch(minutes)
        self.reach(int(first.max(initial=0)) + _DAY + 1)
        ahead = np.minimum(first + np.arange(_DAY + 1)[:, None], self.planned.count - 1)
        coldest = self.planned.coldest[ahead] + self._t.values[ahead, np.arange(len(minutes))]
        return np.asarray((coldest < below).any(axis=0))


class Clockwork:
    """What a law makes of a room's air: label minutes collected, by stretch and run."""

    def __init__(self, law: str, at: Conditions, room: RoomAir, table: Progress) -> None:
        self._law, self._at, self._room = law, at, room
        self._nodes, self._table = table.arrays
        self._edges = np.interp(room.planned.edges, self._nodes, self._table)  # as planned
        self._collected: Reals = np.zeros((1, 0))

    def _reach(self, stretches: int) -> None:
        """Tabulate as many stretches at least."""
        done = len(self._collected) - 1
        if done >= min(stretches, self._room.planned.count) and done:
            return
        self._room.reach(stretches)
        gained = self._gained(done, self._room.drawn)
        start = self._collected[-1] if done else np.zeros(gained.shape[1])
        more = np.vstack((start[None, :], gained)).cumsum(axis=0)
        self._collected = np.concatenate((self._collected[:done] if done else more[:0], more))

    def _gained(self, first: int, last: int) -> Reals:
        driest = laws.LAWS[self._law].likes_damp
        t, rh = self._room.strayed(first, last, driest=driest)
        speed = laws.rate(self._law, t, rh, self._at)
        by = self._room.planned
        damp = by.driest if driest else by.humidity
        usual = laws.rate(self._law, by.temperature[first:last], damp[first:last], self._at)
        planned = np.diff(self._edges[first : last + 1])
        moves = (usual > 0) & (planned > 0)
        factor = np.where(moves, planned / np.where(moves, usual, 1.0), LENGTH)
        return np.asarray(speed * factor[:, None])

    def at(self, minutes: Minutes) -> Reals:
        """Label minutes collected up to a minute of each run; ``NEVER`` counts as the start."""
        k, run = self._room.stretch(minutes), np.arange(len(minutes))
        self._reach(int(k.max(initial=0)) + 1)
        low, high = self._collected[k, run], self._collected[k + 1, run]
        return np.asarray(low + (high - low) * self._share(k, minutes))

    def _share(self, k: Minutes, minutes: Minutes) -> Reals:
        """How much of a stretch's gain has come by a minute in it [0..1]: as planned."""
        planned = self._edges[k + 1] - self._edges[k]
        passed = np.interp(minutes, self._nodes, self._table) - self._edges[k]
        even = (minutes - self._room.planned.start) / LENGTH - k
        return np.where(planned > 0, passed / np.where(planned > 0, planned, 1.0), even)

    def reached(self, since: Minutes, need: Reals) -> Minutes:
        """The first minutes by which so many label minutes are collected; else ``NEVER``."""
        never = since >= NEVER
        amount = self.at(np.where(never, self._room.planned.start, since)) + need - _SLACK
        most = self._room.planned.count
        while len(self._collected) <= most and (self._collected[-1] < amount).any():
            self._reach(len(self._collected) - 1 + _BLOCK)
        k, run = self._find(amount), np.arange(len(amount))
        inside = np.minimum(k, len(self._collected) - 2)
        low, high = self._collected[inside, run], self._collected[inside + 1, run]
        share = (amount - low) / np.where(high > low, high - low, 1.0)
        found = self._minute(inside, share)
        return np.asarray(np.where((k > inside) | never, NEVER, found))

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
        even = self._room.planned.start + (k + share) * LENGTH
        return np.ceil(np.where(planned > 0, exact, even)).astype(np.int64)
