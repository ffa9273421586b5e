"""Waits and application limits as monotone maps over the clock.

A product on its way to a stage collects label minutes: the law's rate, integrated over the air of
its room. The integral is tabulated once (``Progress``); from then on a wait is one interpolation
and its inverse, exact to the minute in both directions.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from scheduler import air as moist_air
from scheduler import laws
from scheduler.hours import NEVER, Spans, spans
from scheduler.model import Air, Conditions, Limits, Stage

Minutes = np.ndarray[Any, np.dtype[np.int64]]
Reals = np.ndarray[Any, np.dtype[np.float64]]
Flags = np.ndarray[Any, np.dtype[np.bool_]]

STEP = 15
"""Minutes between the nodes of a swinging air. Clock offsets are whole quarters of an hour, so the
day's extremes fall on nodes."""

_SLACK = 1e-6  # label minutes; absorbs rounding in the table so that whole waits stay whole

_HAIR = 1e-9  # so that 50 °F is not colder than 10 °C by a rounding


@dataclass(frozen=True)
class Progress:
    """Label minutes collected by ``nodes[i]``: ``collected[i]``; linear between, never falling."""

    nodes: Sequence[int]
    collected: Sequence[float]

    @cached_property
    def arrays(self) -> tuple[Reals, Reals]:
        """``nodes`` and ``collected`` as arrays."""
        return np.asarray(self.nodes, dtype=float), np.asarray(self.collected)

    def at(self, minute: int) -> float:
        """Label minutes collected up to ``minute``."""
        i = min(max(bisect_right(self.nodes, minute), 1), len(self.nodes) - 1)
        left, right = self.nodes[i - 1], self.nodes[i]
        low, high = self.collected[i - 1], self.collected[i]
        return low + (high - low) * (minute - left) / (right - left)

    def reach(self, amount: float) -> int:
        """The first minute by which ``amount`` is collected; ``NEVER`` past the table."""
        i = bisect_left(self.collected, amount - _SLACK)
        if i == len(self.collected):
            return NEVER
        if i == 0:
            return self.nodes[0]
        low, high = self.collected[i - 1], self.collected[i]
        span = self.nodes[i] - self.nodes[i - 1]
        return self.nodes[i - 1] + math.ceil((amount - _SLACK - low) / (high - low) * span)


@dataclass(frozen=True)
class Ready:
    """When a stage is reached, as a function of the finish of the application, and back.

    ``need`` are the label minutes to collect; ``floor`` the minutes that no air brings down.
    """

    progress: Progress
    need: int
    floor: int

    def after(self, finish: int) -> int:
        """The minute at which the stage is reached; ``NEVER`` if this air never brings it."""
        return max(finish + self.floor, self.progress.reach(self.progress.at(finish) + self.need))

    def after_many(self, finishes: Minutes) -> Minutes:
        """``after`` of many finishes at once, as an array."""
        nodes, collected = self.progress.arrays
        amounts = np.interp(finishes, nodes, collected) + self.need - _SLACK
        i = np.searchsorted(collected, amounts, side="left")
        past = i >= len(nodes)
        outside = past | (i == 0)  # where the table may be flat, as in the cold
        i = np.clip(i, 1, len(nodes) - 1)
        rise = np.where(outside, 1.0, collected[i] - collected[i - 1])
        share = (amounts - collected[i - 1]) / rise
        reached = nodes[i - 1] + np.ceil(share * (nodes[i] - nodes[i - 1]))
        reached = np.where(past, NEVER, reached).astype(np.int64)
        return np.asarray(np.maximum(finishes + self.floor, reached))

    def before(self, reached: int) -> int:
        """The last finish of the application that has the stage reached by ``reached``."""
        latest = reached - self.floor
        if self.after(latest) <= reached:
            return latest
        low, high = self.progress.nodes[0] - 1, latest
        while high - low > 1:  # monotone, so bisection is exact where the inverse table rounds
            middle = (low + high) // 2
            low, high = (middle, high) if self.after(middle) <= reached else (low, middle)
        return low if low >= self.progress.nodes[0] else -NEVER


def ready(stage: Stage, air: Air, zone: str, start: int, end: int) -> Ready:
    """The wait for a stage in a room's air, tabulated from ``start`` to ``end``."""
    cold = stage.cold_below is not None and air.temperature - air.swing < stage.cold_below
    # The coldest minute of the day lies in every span of 24 h, so the answer is the same whenever
    # the product is applied: later application never gives an earlier stage.
    least = stage.cold_least if cold else stage.least
    label = 0 if stage.shorten else stage.minutes
    progress = _progress(stage.law, stage.at.temperature, stage.at.humidity, air, zone, start, end)
    return Ready(progress, stage.minutes, max(least, label))


@lru_cache(maxsize=256)
def _progress(  # noqa: PLR0917, PLR0913 (flat and hashable, for the cache)
    law: str, temperature: float, humidity: float, air: Air, zone: str, start: int, end: int
) -> Progress:
    at = Conditions(temperature, humidity)

    def rates(degrees: Reals) -> Reals:
        return laws.rate(law, degrees, air.humidity, at)

    nodes = _course(air, zone, start, end)
    nodes = _refined(nodes, rates(moist_air.temperatures(air, nodes, zone)) > 0)
    speed = rates(moist_air.temperatures(air, nodes, zone))
    steps = np.diff(nodes) * (speed[1:] + speed[:-1]) / 2
    collected = np.concatenate(([0.0], np.cumsum(steps)))
    return Progress(nodes.tolist(), collected.tolist())


def _course(air: Air, zone: str, start: int, end: int) -> Minutes:
    """The minutes at which a room's air is looked at; a steady air needs only the two ends."""
    if air.swing == 0:
        return np.array([start, end])
    return np.arange(start - start % STEP, end + STEP, STEP)


def _refined(nodes: Minutes, flags: Flags) -> Minutes:
    """The nodes, with every minute between two that differ: laws and limits have sharp edges."""
    edges = np.flatnonzero(flags[1:] != flags[:-1])
    between = [np.arange(nodes[i] + 1, nodes[i + 1]) for i in edges]
    return np.sort(np.concatenate([nodes, *between]))


@lru_cache(maxsize=256)
def workable_air(limits: Limits, air: Air, zone: str, start: int, end: int) -> Spans:
    """The minutes in which the air is within a product's application limits."""

    def good(nodes: Minutes) -> Flags:
        return _within(limits, moist_air.temperatures(air, nodes, zone), air.humidity)

    nodes = _course(air, zone, start, end)
    if air.swing:
        nodes = _refined(nodes, good(nodes))
    fine = good(nodes)
    if fine.all():
        return spans([(start, end)])
    through = fine[:-1] & (fine[1:] | (np.diff(nodes) == 1))
    return spans((int(nodes[i]), int(nodes[i + 1])) for i in np.flatnonzero(through))


def _within(limits: Limits, degrees: Reals, humidity: float) -> Flags:
    """Whether air of these temperatures [°C] and this humidity [0..1] is within the limits."""
    good = np.ones(len(degrees), dtype=np.bool_)
    if limits.temperature_min is not None:
        good &= degrees >= limits.temperature_min - _HAIR
    if limits.temperature_max is not None:
        good &= degrees <= limits.temperature_max + _HAIR
    if limits.humidity_max is not None:
        good &= humidity <= limits.humidity_max + _HAIR
    if limits.dew_margin is not None:
        margin = moist_air.margin_over_dew_point(degrees, humidity)
        good &= margin >= limits.dew_margin - _HAIR
    return good
