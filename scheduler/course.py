"""The course of one air: as read, in gaps the worse, after the last reading as foreseen."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, log
from typing import NamedTuple

import numpy as np

from scheduler import air as moist_air
from scheduler import straying
from scheduler.loggerfile import Row
from scheduler.loggerfile.read import longest_step
from scheduler.model import Air, Course, Reading
from scheduler.oddsfile import Straying, odds
from scheduler.straying import Minutes, Reals

STEP = 15
"""Minutes between the nodes of a course, so that it keeps the daily swing."""

NEAR = 360
"""Minutes after the last reading in which the air is no better than on the line from there."""

_LONGEST_STEP = 360  # minutes that a line may bridge, however seldom a room is read: it has a day
_STRAIGHT = 1e-9  # K, 0..1; a node so near the line between its neighbours says nothing


@dataclass(frozen=True)
class Quantity:
    """Temperature or humidity.

    Args:
        strays: how far it strays from what is supposed.
        over: a deviation so small is over [K, or 0..1].
        least, most: physical bounds.
        worse: the side on which waits are longer.
        supposed: what is supposed of it at UTC minutes.
    """

    strays: Straying
    over: float
    least: float
    most: float
    worse: Callable[[Reals, Reals], Reals]
    supposed: "Callable[[Supposed, Minutes], Reals]"


class Supposed(NamedTuple):
    """The air that a job supposes, and the IANA name of the zone that its day is told by."""

    air: Air
    zone: str

    def temperatures(self, minutes: Minutes) -> Reals:
        """The daily swing [°C], whatever course the air has."""
        return moist_air.temperatures(replace(self.air, course=None), minutes, self.zone)

    def humidities(self, minutes: Minutes) -> Reals:
        """Steady [0..1]."""
        return moist_air.humidities(replace(self.air, course=None), minutes)


class Series(NamedTuple):
    """A quantity at rising UTC minutes; perhaps at none."""

    at: Minutes
    values: Reals

    def deviation(self, of: Quantity, supposed: Supposed) -> straying.Readings:
        """How far it is from what is supposed."""
        return straying.hourly(self.at, self.values - of.supposed(supposed, self.at))


class Both(NamedTuple):
    """The two quantities of an air, in this order."""

    temperature: Series
    humidity: Series

    @property
    def first(self) -> int | None:
        """The first minute of either."""
        return min((int(each.at[0]) for each in self if len(each.at)), default=None)


@lru_cache(maxsize=1)
def quantities() -> tuple[Quantity, Quantity]:
    """Temperature and humidity."""
    strays = odds().air
    return (
        Quantity(strays.temperature, 0.05, -40.0, 80.0, np.minimum, Supposed.temperatures),
        Quantity(strays.humidity, 0.005, 0.01, 1.0, np.maximum, Supposed.humidities),
    )


def both(rows: Iterable[Row | Reading]) -> Both:
    """The two quantities of rows or readings, in whatever order; of one minute, the last."""
    known = sorted(rows, key=lambda row: row.at)
    return Both(
        _series({row.at: row.temperature for row in known if row.temperature is not None}),
        _series({row.at: row.humidity for row in known if row.humidity is not None}),
    )


def _series(values: dict[int, float]) -> Series:
    at = np.fromiter(values, dtype=np.int64, count=len(values))
    return Series(at, np.fromiter(values.values(), dtype=float, count=len(values)))


def course(supposed: Supposed, read: Both, ahead: Both, outdoors: Sequence[Row]) -> Course | None:
    """The course of an air; None where nothing is known beyond what is supposed.

    Args:
        supposed: the air of the job's file.
        read: what was read of it.
        ahead: what a forecast of it says.
        outdoors: the air outdoors, as far as a forecast goes.
    """
    wet = _moisture(outdoors)
    grid = _grid(supposed, read, ahead, wet)
    if grid is None:
        return None
    warm, damp = (
        _values(of, supposed, grid, known, coming)
        for of, known, coming in zip(quantities(), read, ahead, strict=True)
    )
    drier = replace(quantities()[1], worse=np.minimum)  # for what cures with damp
    dry = _values(drier, supposed, grid, read.humidity, ahead.humidity)
    after = grid > (read.humidity.at[-1] if len(read.humidity.at) else -1)
    wetter = np.where(after, np.maximum(damp, _no_damper_than_wet(grid, warm, wet)), damp)
    return _thinned(grid, warm, wetter, dry)


def _grid(supposed: Supposed, read: Both, ahead: Both, wet: Series) -> Minutes | None:
    """The minutes of the nodes: every quarter of an hour, and whenever something was read.

    From the first reading, else from what comes first ahead, until nothing is left to say.
    """
    first = read.first
    coming = [each.at for each in (*ahead, wet) if len(each.at)]
    if first is None:
        first = min((int(at[0]) for at in coming), default=None)
    if first is None:
        return None
    ends = [int(at[-1]) for at in coming]
    ends += [_over(of, supposed, known) for of, known in zip(quantities(), read, strict=True)]
    last = max(*ends, first + STEP)
    met = [each.at[-1:] + NEAR for each in read]
    known = [each.at for each in (*read, *ahead)]
    own = np.concatenate([[first, last], *met, *known]).astype(np.int64)
    grid = np.arange(first + STEP - first % STEP, last, STEP)
    return np.unique(np.concatenate((grid, own[(own >= first) & (own <= last)])))


def _over(of: Quantity, supposed: Supposed, read: Series) -> int:
    """The minute by which what was read says no more of the air; 0 where nothing was."""
    if not len(read.at):
        return 0
    last = int(read.at[-1])
    left = abs(expected(of, supposed, read, read.at[-1:])[0]) / of.over
    fades = STEP * ceil(of.strays.fades * log(max(left, 1.0)) / STEP)
    return last + max(fades, NEAR)


def expected(of: Quantity, supposed: Supposed, read: Series, nodes: Minutes) -> Reals:
    """The deviation from what is supposed that is to be expected from what was read."""
    return straying.mean(of.strays, read.deviation(of, supposed), nodes)


def _values(of: Quantity, supposed: Supposed, grid: Minutes, read: Series, ahead: Series) -> Reals:
    """A quantity at the nodes: supposed, as read, as foreseen, as forecast, each in its time."""
    values = of.supposed(supposed, grid)
    if len(read.at):
        foreseen = values + expected(of, supposed, read, grid)
        values = np.where(grid > read.at[-1], foreseen, _between(of, grid, read, values))
    if len(ahead.at):
        coming = grid > (read.at[-1] if len(read.at) else -1)
        values = np.where(coming, _between(of, grid, ahead, values), values)
    if len(read.at):
        values = _near(of, grid, read, values)
    return np.clip(values, of.least, of.most)


def _near(of: Quantity, grid: Minutes, read: Series, foreseen: Reals) -> Reals:
    """What is foreseen, but soon after the last reading no better than on the line from there.

    What one reading makes likely is a compromise; air that was just read as bad is not good yet.
    """
    last = int(read.at[-1])
    meets = float(np.interp(last + NEAR, grid, foreseen))
    line = np.interp(grid, (last, last + NEAR), (float(read.values[-1]), meets))
    soon = (grid > last) & (grid < last + NEAR)
    return np.where(soon, of.worse(line, foreseen), foreseen)


def _between(of: Quantity, grid: Minutes, known: Series, otherwise: Reals) -> Reals:
    """The line between what is known; in a gap the worse of it and the other; outside the other."""
    line = np.interp(grid, known.at, known.values)
    worse = np.where(_in_gap(grid, known.at), of.worse(line, otherwise), line)
    inside = (grid >= known.at[0]) & (grid <= known.at[-1])
    return np.where(inside, worse, otherwise)


def gaps(at: Minutes) -> list[tuple[int, int]]:
    """The spans between two readings that no line may bridge."""
    most = min(longest_step(at), _LONGEST_STEP)
    wide = np.flatnonzero(np.diff(at) > most)
    return [(int(at[i]), int(at[i + 1])) for i in wide]


def _in_gap(grid: Minutes, at: Minutes) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    inside = np.zeros(len(grid), dtype=np.bool_)
    for start, end in gaps(at):
        inside[np.searchsorted(grid, start, side="right") : np.searchsorted(grid, end)] = True
    return inside


def _moisture(outdoors: Sequence[Row]) -> Series:
    """The vapour pressure outdoors [Pa]."""
    return _series(
        {
            row.at: moist_air.vapour_pressure(row.temperature, row.humidity)
            for row in outdoors
            if row.temperature is not None and row.humidity is not None
        }
    )


def _no_damper_than_wet(grid: Minutes, warm: Reals, wet: Series) -> Reals:
    """The humidity that the moisture outdoors makes at the room's temperature; else nothing."""
    if not len(wet.at):
        return np.zeros(len(grid))
    share = np.interp(grid, wet.at, wet.values) / moist_air.saturation_pressure(warm)
    known = (grid >= wet.at[0]) & (grid <= wet.at[-1]) & ~_in_gap(grid, wet.at)
    return np.where(known, np.minimum(share, 1.0), 0.0)


def _thinned(grid: Minutes, warm: Reals, damp: Reals, driest: Reals) -> Course:
    """The course without nodes that lie on the line between their neighbours."""
    bent = np.ones(len(grid), dtype=np.bool_)
    bent[1:-1] = _bend(grid, warm) | _bend(grid, damp) | _bend(grid, driest)
    humidities = _shown(damp[bent], 6)
    dry = _shown(driest[bent], 6)
    return Course(
        tuple(grid[bent].tolist()),
        _shown(warm[bent], 4),
        humidities,
        None if dry == humidities else dry,
    )


def _shown(values: Reals, places: int) -> tuple[float, ...]:
    """Rounded far below what matters, so that no machine's last digit moves a plan."""
    return tuple(np.round(values, places).tolist())


def _bend(grid: Minutes, values: Reals) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the inner nodes are off the line between their neighbours."""
    share = (grid[1:-1] - grid[:-2]) / (grid[2:] - grid[:-2])
    line = values[:-2] + share * (values[2:] - values[:-2])
    return np.abs(values[1:-1] - line) > _STRAIGHT
