"""The air of a room as planned, by stretches of six hours."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from scheduler import air as moist_air
from scheduler.model import Air
from scheduler.progress import Minutes, Reals

LENGTH = 6 * 60
"""Minutes over which the straying of the air is taken as steady."""

_STEP = 15  # minutes; as far apart as the nodes of the plan's own tables


@dataclass(frozen=True)
class Stretches:
    """The stretches from ``start`` on, so many, and the air in them as planned.

    Args:
        air: with its course.
        zone: IANA name of the time zone.
        start: first minute of the first stretch [UTC min].
        count: how many there are.
    """

    air: Air
    zone: str
    start: int
    count: int

    @property
    def edges(self) -> Minutes:
        """The minutes at which stretches begin, and that at which the last one ends."""
        return self.start + LENGTH * np.arange(self.count + 1)

    @property
    def middles(self) -> Minutes:
        """The minute in the middle of each."""
        return self.edges[:-1] + LENGTH // 2

    @property
    def fine(self) -> Minutes:
        """Every quarter of an hour, a row each."""
        return np.asarray(self.edges[:-1, None] + np.arange(0, LENGTH, _STEP))

    @cached_property
    def temperature(self) -> Reals:
        """The mean temperature of each [°C]."""
        return np.asarray(self._temperatures.mean(axis=1))

    @cached_property
    def coldest(self) -> Reals:
        """The lowest temperature of each [°C]."""
        return np.asarray(self._temperatures.min(axis=1))

    @cached_property
    def humidity(self) -> Reals:
        """The mean humidity of each [0..1]."""
        return np.asarray(moist_air.humidities(self.air, self.fine).mean(axis=1))

    @cached_property
    def driest(self) -> Reals:
        """The mean humidity of each, on the safe side of what cures with damp [0..1]."""
        return np.asarray(moist_air.humidities(self.air, self.fine, driest=True).mean(axis=1))

    @cached_property
    def _temperatures(self) -> Reals:
        return moist_air.temperatures(self.air, self.fine, self.zone)

    def of(self, minutes: Minutes) -> Minutes:
        """The stretch that each minute lies in; the first or the last for those outside."""
        return np.asarray(np.clip((minutes - self.start) // LENGTH, 0, self.count - 1))


def stretches(air: Air, zone: str, start: int, end: int) -> Stretches:
    """The stretches between two minutes, one at least."""
    return Stretches(air, zone, start, max((end - start) // LENGTH, 1))
