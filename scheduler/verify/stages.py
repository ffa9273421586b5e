"""When a product reaches a stage, as the verifier works it out: minute by minute through air."""

import math
from dataclasses import dataclass, replace

import numpy as np

from scheduler.model import Air, Stage
from scheduler.verify.air import NOISE, Reals, is_steady, rate, weather
from scheduler.verify.clocks import DAY

TOLERANCE = (0.003, 1.0)
"""How exactly two integrations of one wait must agree, in what was collected and not in time: a
share of the label's minutes (by two published formulas the ratio of two vapour pressures differs
by up to 0.24 %), and label minutes on top, for the minute in which air crosses a law's edge."""

_LONGEST = 10 * 366 * DAY
"""A stage that takes longer than ten years is taken as never reached [min]."""


@dataclass(frozen=True)
class Reach:
    """When a product applied until a moment reaches a stage [UTC minutes; ``inf`` for never].

    Args:
        label: not before this, because labels are minimums.
        standard: not before this, because of a standard's minimum.
        soonest: when all that the label asks for is collected but for the tolerance.
        collected: when the air has done what the label asks, by integration.
        longest: when the tolerance is collected on top.
    """

    label: int
    standard: int
    soonest: float
    collected: float
    longest: float

    @property
    def earliest(self) -> float:
        """The least that every rule together allows."""
        return max(self.label, self.standard, self.soonest)

    @property
    def latest(self) -> float:
        """The most that an honest integration gives."""
        return max(self.label, self.standard, self.longest)


def reach(stage: Stage, air: Air, zone: str, applied: int, job_start: int) -> Reach:
    """When a product whose application ended at ``applied`` reaches a stage."""
    share, minutes = (0.0, 0.0) if is_steady(stage.law) else TOLERANCE
    doubt = min(share * stage.minutes + minutes, stage.minutes)
    amounts = np.array([stage.minutes - doubt, stage.minutes, stage.minutes + doubt]) - NOISE
    label = applied if stage.shorten else applied + stage.minutes
    standard = _standard(stage, air, zone, applied, job_start)
    return Reach(label, standard, *_collected(stage, air, zone, applied, amounts))


def _collected(
    stage: Stage, air: Air, zone: str, applied: int, amounts: Reals
) -> tuple[float, float, float]:
    """The first minutes by which three amounts of label minutes are collected.

    By the midpoint rule. After its course the air repeats every day, so three days that bring
    nothing mean never.
    """
    total, span = np.zeros(1), 3 * DAY
    while total[-1] < amounts[-1] and len(total) <= _LONGEST:
        first = applied + len(total) - 1
        around = weather(_counted_on(stage, air), zone, first, first + span, 0.5)
        gained = rate(stage.law, around, stage.at)
        if not gained.any() and (air.course is None or first > air.course.minutes[-1]):
            break
        total = np.concatenate([total, total[-1] + np.cumsum(gained)])
        span *= 2
    found = np.searchsorted(total, amounts)
    soonest, collected, longest = (applied + int(i) if i < len(total) else math.inf for i in found)
    return soonest, collected, longest


def _counted_on(stage: Stage, air: Air) -> Air:
    """The air, less the damp that only the air outdoors may bring, for what cures by it."""
    course = air.course
    if stage.law != "moisture-cure" or course is None or course.driest is None:
        return air
    return replace(air, course=replace(course, humidities=course.driest))


def _standard(stage: Stage, air: Air, zone: str, applied: int, job_start: int) -> int:
    """The end of a standard's minimum; cold air in the first 24 h makes it the cold one.

    An application a little earlier may have met the cold that this one escapes (on the night of a
    clock change, or when a heater came). As later application never gives an earlier stage, the
    last cold minute before counts as if the product had been applied then.
    """
    plain = applied + stage.least
    if stage.cold_below is None:
        return plain
    since = min(applied, max(job_start, applied - stage.cold_least))
    celsius = weather(air, zone, since, applied + DAY).celsius
    cold = np.flatnonzero(celsius < stage.cold_below - NOISE)
    if not cold.size:
        return plain
    return max(plain, min(since + int(cold[-1]), applied) + stage.cold_least)
