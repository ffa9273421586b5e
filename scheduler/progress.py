"""Waits and application limits as monotone maps over the clock.

A product on its way to a stage collects label minutes: the law's rate, integrated over the air of
its room. The integral is tabulated once (``Progress``); from then on a wait is one interpolation
and its inverse, exact to the minute in both directions.
"""

import math
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from scheduler import air as moist_air
from scheduler import laws
from scheduler.clock import DAY
from scheduler.hours import NEVER, Spans, spans
from scheduler.model import Air, Conditions, Limits, Stage

Minutes = np.ndarray[Any, np.dtype[np.int64]]
Reals = np.ndarray[Any, np.dtype[np.float64]]
Flags = np.ndarray[Any, np.dtype[np.bool_]]

STEP = 15
"""Minutes between the nodes of air that changes. Clock offsets are whole quarters of an hour, so
the day's extremes fall on nodes."""

_STEEP = 0.1  # share by which the rates of two nodes may differ and be joined by a straight line

ANSWERS = 2000
"""How many answers of a map over minutes are kept: a search asks for the same again and again."""

SLACK = 1e-6
"""Label minutes; absorbs rounding in the table so that whole waits stay whole."""

_HAIR = 1e-9  # so that 50 °F is not colder than 10 °C by a rounding


@dataclass(frozen=True)
class Progress:
    """Label minutes collected by ``nodes[i]``: ``collected[i]``; linear between, never falling.

    A table has a node for each quarter of an hour of years, so that it is packed.
    """

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
        i = bisect_left(self.collected, amount - SLACK)
        if i == len(self.collected):
            return NEVER
        if i == 0:
            return self.nodes[0]
        low, high = self.collected[i - 1], self.collected[i]
        span = self.nodes[i] - self.nodes[i - 1]
        return self.nodes[i - 1] + math.ceil((amount - SLACK - low) / (high - low) * span)


@dataclass(frozen=True)
class Cold:
    """Finishes of an application that cold air follows, and the minutes that no air brings down."""

    finishes: Spans
    floor: int

    def after(self, finish: int) -> int:
        """What holds at ``finish``, or held before: later application never gives an earlier stage.

        Long before any time where there is no such finish.
        """
        return self.finishes.last(finish) + self.floor

    def after_many(self, finishes: Minutes) -> Minutes:
        """``after`` of many finishes at once, as an array."""
        first = np.array((-NEVER, *self.finishes.starts), dtype=np.int64)
        last = np.array((-NEVER, *self.finishes.ends), dtype=np.int64) - 1
        i = np.searchsorted(first, finishes, side="right") - 1
        return np.asarray(np.minimum(finishes, last[i]) + self.floor)


@dataclass(frozen=True)
class Ready:
    """When a stage is reached, as a function of the finish of the application, and back.

    ``need`` are the label minutes to collect; ``floor`` the minutes that no air brings down, and
    ``cold`` those where it is cold for some finishes and not for others.
    """

    progress: Progress
    need: int
    floor: int
    cold: Cold | None = None

    def after(self, finish: int) -> int:
        """The minute at which the stage is reached; ``NEVER`` if this air never brings it."""
        return self._afters(finish)

    def before(self, reached: int) -> int:
        """The last finish of the application that has the stage reached by ``reached``."""
        return self._befores(reached)

    @cached_property
    def _afters(self) -> Callable[[int], int]:
        return lru_cache(maxsize=ANSWERS)(self._after)

    @cached_property
    def _befores(self) -> Callable[[int], int]:
        return lru_cache(maxsize=ANSWERS)(self._before)

    def _after(self, finish: int) -> int:
        collected = self.progress.reach(self.progress.at(finish) + self.need)
        cold = finish if self.cold is None else self.cold.after(finish)
        return max(finish + self.floor, cold, collected)

    def after_many(self, finishes: Minutes) -> Minutes:
        """``after`` of many finishes at once, as an array."""
        nodes, collected = self.progress.arrays
        amounts = np.interp(finishes, nodes, collected) + self.need - SLACK
        i = np.searchsorted(collected, amounts, side="left")
        past = i >= len(nodes)
        outside = past | (i == 0)  # where the table may be flat, as in the cold
        i = np.clip(i, 1, len(nodes) - 1)
        rise = np.where(outside, 1.0, collected[i] - collected[i - 1])
        share = (amounts - collected[i - 1]) / rise
        reached = nodes[i - 1] + np.ceil(share * (nodes[i] - nodes[i - 1]))
        reached = np.where(past, NEVER, reached).astype(np.int64)
        return np.asarray(np.maximum(self.least_many(finishes), reached))

    def least_many(self, finishes: Minutes) -> Minutes:
        """The minutes before which no air brings the stage, for many finishes at once."""
        cold = finishes if self.cold is None else self.cold.after_many(finishes)
        return np.asarray(np.maximum(finishes + self.floor, cold))

    def _before(self, reached: int) -> int:
        latest = reached - self.floor
        if self.after(latest) <= reached:
            return latest
        low, high = self._around(reached, latest)
        while high - low > 1:  # monotone, so bisection is exact where the inverse table rounds
            middle = (low + high) // 2
            low, high = (middle, high) if self.after(middle) <= reached else (low, middle)
        return low if low >= self.progress.nodes[0] else -NEVER

    def _around(self, reached: int, latest: int) -> tuple[int, int]:
        """A finish early enough for ``reached``, or one before the table, and one too late.

        The table read backwards is right to the minute but for its rounding and the cold.
        """
        first = self.progress.nodes[0] - 1
        guess = self.progress.reach(self.progress.at(reached) - self.need)
        low, high, stride = min(max(guess, first), latest), latest, 1
        while low > first and self.after(low) > reached:
            low, high, stride = max(low - stride, first), low, 2 * stride
        if self.after(min(low + 2, latest)) > reached:
            high = min(low + 2, high)
        return low, high


def ready(stage: Stage, air: Air, zone: str, start: int, end: int) -> Ready:
    """The wait for a stage in a room's air, tabulated from ``start`` to ``end``."""
    progress = _progress(stage.law, stage.at.temperature, stage.at.humidity, air, zone, start, end)
    label = 0 if stage.shorten else stage.minutes
    floor, cold_floor = max(stage.least, label), max(stage.cold_least, label)
    if stage.cold_below is None:
        return Ready(progress, stage.minutes, floor)
    if air.course is None:
        # The coldest minute of the day lies in every span of 24 h, so the answer is the same
        # whenever the product is applied.
        cold = air.temperature - air.swing < stage.cold_below
        return Ready(progress, stage.minutes, cold_floor if cold else floor)
    before = _before_cold(stage.cold_below, air, zone, start, end)
    return Ready(progress, stage.minutes, floor, Cold(before, cold_floor))


@lru_cache(maxsize=256)
def _before_cold(below: float, air: Air, zone: str, start: int, end: int) -> Spans:
    """The minutes that air colder than ``below`` [°C] follows within 24 h."""

    def freezing(nodes: Minutes) -> Flags:
        return moist_air.temperatures(air, nodes, zone) < below

    return spans((a - DAY + 1, b) for a, b in _while(freezing, _nodes(air, start, end)))


@lru_cache(maxsize=256)
def _progress(  # noqa: PLR0917, PLR0913 (flat and hashable, for the cache)
    law: str, temperature: float, humidity: float, air: Air, zone: str, start: int, end: int
) -> Progress:
    at = Conditions(temperature, humidity)

    def rates(nodes: Minutes) -> Reals:
        degrees = moist_air.temperatures(air, nodes, zone)
        damp = moist_air.humidities(air, nodes, driest=laws.LAWS[law].likes_damp)
        return laws.rate(law, degrees, damp, at)

    nodes = _nodes(air, start, end)
    speed = rates(nodes)
    if (steep := _steep(speed)).any():
        nodes = _refined(nodes, steep)
        speed = rates(nodes)
    # A peak that only touches the edge of a law lasts no time: it would add up day after day.
    speed[1:-1][(speed[:-2] == 0) & (speed[2:] == 0)] = 0
    steps = np.diff(nodes) * (speed[1:] + speed[:-1]) / 2
    collected = np.concatenate(([0.0], np.cumsum(steps)))
    return Progress(array("q", nodes.astype(np.int64).tobytes()), array("d", collected.tobytes()))


def _nodes(air: Air, start: int, end: int) -> Minutes:
    """The minutes at which a room's air is looked at; a steady air needs only the two ends.

    Where a course begins or ends the air may jump, which takes a minute.
    """
    if air.swing == 0 and air.course is None:
        return np.array([start, end])
    grid = np.arange(start - start % STEP, end + STEP, STEP)
    if air.course is None:
        return grid
    own = np.array(air.course.minutes)
    first, last = own[0] - 1, own[-1] + 1
    if air.swing == 0:
        grid = np.concatenate(([start, end], grid[(grid > max(first, start)) & (grid < last)]))
    own = np.concatenate(([first], own, [last]))
    return np.unique(np.concatenate((grid, own[(own > start) & (own < end)])))


def _steep(speed: Reals) -> Flags:
    """Whether a rate rises or falls too fast from node to node to be taken for a straight line.

    That is so at the edge of a law, and where a reading is far from the one minutes before.
    """
    return np.asarray(np.abs(np.diff(speed)) > _STEEP * np.maximum(speed[1:], speed[:-1]))


def _refined(nodes: Minutes, apart: Flags) -> Minutes:
    """The nodes, with every minute between each two that are ``apart``."""
    between = [np.arange(nodes[i] + 1, nodes[i + 1]) for i in np.flatnonzero(apart)]
    return np.sort(np.concatenate([nodes, *between]))


def _while(holds: Callable[[Minutes], Flags], nodes: Minutes) -> Spans:
    """The minutes from the first node to the last in which something holds of the air."""
    held = holds(nodes)
    nodes = _refined(nodes, held[1:] != held[:-1])
    held = holds(nodes)
    through = held[:-1] & (held[1:] | (np.diff(nodes) == 1))
    return spans((int(nodes[i]), int(nodes[i + 1])) for i in np.flatnonzero(through))


@lru_cache(maxsize=256)
def workable_air(limits: Limits, air: Air, zone: str, start: int, end: int) -> Spans:
    """The minutes in which the air is within a product's application limits."""

    def good(nodes: Minutes) -> Flags:
        degrees = moist_air.temperatures(air, nodes, zone)
        return within(limits, degrees, moist_air.humidities(air, nodes))

    nodes = _nodes(air, start, end)
    if good(nodes).all():
        return spans([(start, end)])
    return _while(good, nodes)


def within(limits: Limits, degrees: Reals, humidity: Reals) -> Flags:
    """Whether air of these temperatures [°C] and humidities [0..1] is within the limits."""
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
