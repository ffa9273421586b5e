"""The world as the verifier sees it: wall clocks, hours, air and waiting, worked out its own way.

Nothing here is shared with the modules the planner uses (``clock``, ``hours``, ``air``, ``laws``):
a mistake there must not be able to hide here. Where the planner compiles maps and curves, this
module goes minute by minute over the span in question.

Units: UTC minutes since 1970; *wall minutes* are local wall-clock minutes since 1970-01-01 00:00
local; temperatures in °C, relative humidity 0..1. Spans are half-open.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Air, Conditions, Limits, Person, Stage, Weekly

Minutes = NDArray[np.int64]
Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

DAY = 1440
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_KELVIN = 273.15
_NOISE = 1e-6
"""Floating-point noise: far below anything a thermometer or a clock tells apart."""

DEW_DOUBT = 0.05
"""How far two published vapour pressure formulas put the same dew point apart, at most [K]."""

TOLERANCE = (0.005, 3.0)
"""How exactly two integrations of a wait must agree: a share of the wait, and minutes on top."""

_LONGEST = 10 * 366 * DAY
"""A stage that takes longer than ten years is taken as never reached [min]."""


# Wall clocks ------------------------------------------------------------------------------------


def _wall(moment: datetime) -> int:
    """The wall minute that a local date-time shows; its zone is not looked at."""
    return (moment.toordinal() - _EPOCH_DAY) * DAY + moment.hour * 60 + moment.minute


@lru_cache(maxsize=1 << 16)
def _wall_at(minute: int, zone: str) -> int:
    return _wall(datetime.fromtimestamp(minute * 60, ZoneInfo(zone)))


def wall_clock(zone: str, first: int, last: int) -> Minutes:
    """What the clock on the wall shows at each UTC minute of ``[first, last)`` [wall minutes].

    The offset is looked up every hour; only in an hour in which it changes, every minute.
    """
    minutes = np.arange(first, last, dtype=np.int64)
    hours = range(first // 60, last // 60 + 2)
    offsets = np.array([_wall_at(hour * 60, zone) - hour * 60 for hour in hours], dtype=np.int64)
    hour = minutes // 60 - hours[0]
    wall = minutes + offsets[hour]
    for index in np.flatnonzero(offsets[hour] != offsets[hour + 1]):
        wall[index] = _wall_at(int(minutes[index]), zone)
    return wall


def local_days(zone: str, first: int, last: int) -> frozenset[int]:
    """The local calendar days (counted from 1970) that ``[first, last)`` touches."""
    return frozenset(int(day) for day in np.unique(wall_clock(zone, first, last) // DAY))


def in_words(minute: int, zone: str) -> str:
    """A UTC minute as local time for a person: ``Fri 2027-01-08 17:00``."""
    return f"{datetime.fromtimestamp(minute * 60, ZoneInfo(zone)):%a %Y-%m-%d %H:%M}"


# Hours ------------------------------------------------------------------------------------------


def in_hours(person: Person, zone: str, first: int, last: int) -> Flags:
    """For each UTC minute of ``[first, last)``, whether a person's hours hold it.

    A window opens at the first minute at which the wall shows its start *or later*, and closes
    likewise. That one sentence covers both clock changes: a skipped wall time is the moment of the
    change, a repeated one its first. The array starts a day early so that "first" is the first.
    """
    lead = first - DAY
    clock = np.maximum.accumulate(wall_clock(zone, lead, last))
    flags = np.zeros(last - lead, dtype=np.bool_)
    for start, end in _windows(person, int(clock[0]) // DAY - 1, int(clock[-1]) // DAY):
        flags[slice(*np.searchsorted(clock, (start, end)))] = True
    for away in person.away:
        flags[slice(*np.searchsorted(clock, (_wall(away.start), _wall(away.end))))] = False
    return flags[DAY:]


def _windows(person: Person, first_day: int, last_day: int) -> Iterator[tuple[int, int]]:
    """Every window of a person that opens on one of these local days [wall minutes]."""
    for hours in person.hours:
        length = hours.end - hours.start + (DAY if hours.end <= hours.start else 0)
        for day in range(first_day, last_day + 1):
            if isinstance(hours, Weekly):
                # 1970-01-01 was a Thursday, day 3 of a week that starts with Monday as 0.
                opens = (day + 3) % 7 in hours.days
            else:
                opens = day == hours.day.toordinal() - _EPOCH_DAY
            if opens:
                yield day * DAY + hours.start, day * DAY + hours.start + length


# Air --------------------------------------------------------------------------------------------


def temperature(air: Air, clock: Minutes | Reals) -> Reals:
    """The air [°C] when the wall shows ``clock``: a cosine over the day, warmest at 15:00."""
    return air.temperature + air.swing * np.cos((clock % DAY - 900) * (math.tau / DAY))


def saturation_pressure(celsius: Reals) -> Reals:
    """Vapour pressure over water [hPa] at saturation.

    Source: D. Sonntag, "Important new values of the physical constants of 1986, vapour pressure
    formulations based on the ITS-90, and psychrometer formulae", Z. Meteorol. 70 (1990) 340;
    the form recommended by WMO-No. 8.
    """
    return 6.112 * np.exp(17.62 * celsius / (243.12 + celsius))


def _over_dew_point(celsius: Reals, humidity: float) -> Reals:
    """How far the air is above its dew point [K]: the inverse of ``saturation_pressure``."""
    g = math.log(max(humidity, 1e-9)) + 17.62 * celsius / (243.12 + celsius)
    return celsius - 243.12 * g / (17.62 - g)


def may_apply(limits: Limits, air: Air, clock: Minutes, *, doubt: int) -> Flags:
    """Whether the air lets a product be applied when the wall shows ``clock``.

    ``doubt`` +1 counts what is within rounding of a limit as allowed, -1 as forbidden: minutes
    worked are judged by the first and idle ones by the second, so that nothing hangs on the last
    digit of a dew point.
    """
    slack, dew = doubt * _NOISE, doubt * DEW_DOUBT
    celsius = temperature(air, clock)
    fine = np.ones(len(clock), dtype=np.bool_)
    if limits.temperature_min is not None:
        fine &= celsius >= limits.temperature_min - slack
    if limits.temperature_max is not None:
        fine &= celsius <= limits.temperature_max + slack
    if limits.humidity_max is not None:
        fine &= air.humidity <= limits.humidity_max + slack
    if limits.dew_margin is not None:
        fine &= _over_dew_point(celsius, air.humidity) >= limits.dew_margin - dew
    return fine


# Laws of waiting --------------------------------------------------------------------------------

_Law = Callable[[Reals, float, Conditions], Reals]


def _hydration(celsius: Reals, _: float, at: Conditions) -> Reals:
    """Equivalent age by Arrhenius, Q = 5000 K (ASTM C1074, from memory).

    Nothing is credited below 5 °C; above 35 °C no more than at 35 °C.
    """
    kelvin = np.minimum(celsius, 35.0) + _KELVIN
    speed = np.exp(-5000.0 * (1.0 / kelvin - 1.0 / (at.temperature + _KELVIN)))
    return np.where(celsius < 5.0 - _NOISE, 0.0, speed)


def _evaporation(celsius: Reals, humidity: float, at: Conditions, a: float, b: float) -> Reals:
    """p_sat^a (1 - RH)^b over the same in the label's air; nothing in frost or above 98 % RH."""

    def pull(celsius: Reals, humidity: float) -> Reals:
        return np.power(saturation_pressure(celsius), a) * math.pow(max(1 - humidity, _NOISE), b)

    if humidity > 0.98 + _NOISE:
        return np.zeros(len(celsius))
    speed = pull(celsius, humidity) / pull(np.array([at.temperature]), at.humidity)
    return np.where(celsius < -_NOISE, 0.0, speed)


def _drying(celsius: Reals, humidity: float, at: Conditions) -> Reals:
    """Water-based coats; exponent 0.90 fitted to the GA-236 drying table (from memory)."""
    return _evaporation(celsius, humidity, at, 1.0, 0.90)


def _thick_drying(celsius: Reals, humidity: float, at: Conditions) -> Reals:
    """Screeds; fitted to a climate correction table of G. Hedenblad, 1997 (from memory)."""
    return _evaporation(celsius, humidity, at, 0.54, 0.32)


def _moisture_cure(celsius: Reals, humidity: float, at: Conditions) -> Reals:
    """Silicone cures by the vapour in the air: as its pressure; not in frost (common practice)."""
    label = float(saturation_pressure(np.array([at.temperature]))[0]) * at.humidity
    speed = saturation_pressure(celsius) * humidity / max(label, _NOISE)
    return np.where(celsius < -_NOISE, 0.0, speed)


def _steady(celsius: Reals, _: float, __: Conditions) -> Reals:
    """The room makes no difference."""
    return np.ones(len(celsius))


_LAWS: Mapping[str, _Law] = {
    "hydration": _hydration,
    "drying": _drying,
    "thick-drying": _thick_drying,
    "moisture-cure": _moisture_cure,
    "gypsum-set": _steady,
    "fixed": _steady,
}


def rate(law: str, celsius: Reals, humidity: float, at: Conditions) -> Reals:
    """Minutes on the label that one minute in this air is worth."""
    return _LAWS[law](celsius, humidity, at)


# Stages -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Reach:
    """When a product applied until a moment reaches a stage [UTC minutes; ``inf`` for never].

    Args:
        label: not before this, because labels are minimums.
        standard: not before this, because of a standard's minimum.
        collected: when the air has done what the label asks, by integration.
        doubt: how far another integration may be off [min].
    """

    label: int
    standard: int
    collected: float
    doubt: float

    @property
    def earliest(self) -> float:
        """The least that every rule together allows."""
        return max(self.label, self.standard, self.collected - self.doubt)

    @property
    def latest(self) -> float:
        """The most that an honest integration gives."""
        return max(self.label, self.standard, self.collected + self.doubt)


def reach(stage: Stage, air: Air, zone: str, applied: int, job_start: int) -> Reach:
    """When a product whose application ended at ``applied`` reaches a stage."""
    collected = _collected(stage, air, zone, applied)
    share, minutes = (0.0, 0.0) if _LAWS[stage.law] is _steady else TOLERANCE
    doubt = 0.0 if math.isinf(collected) else share * (collected - applied) + minutes
    label = applied if stage.shorten else applied + stage.minutes
    return Reach(label, _standard(stage, air, zone, applied, job_start), collected, doubt)


def _collected(stage: Stage, air: Air, zone: str, applied: int) -> float:
    """The first minute by which the label's minutes are collected, by the midpoint rule.

    The air repeats every day, so three days that bring nothing mean never.
    """
    needed, first, span = stage.minutes - _NOISE, applied, 3 * DAY
    while needed > 0.0 and first - applied < _LONGEST:
        middles: Reals = np.add(wall_clock(zone, first, first + span), 0.5)
        gained = np.cumsum(rate(stage.law, temperature(air, middles), air.humidity, stage.at))
        if gained[-1] >= needed:
            return first + int(np.searchsorted(gained, needed)) + 1
        if gained[-1] <= 0.0:
            return math.inf
        needed, first, span = needed - float(gained[-1]), first + span, 2 * span
    return applied if needed <= 0.0 else math.inf


def _standard(stage: Stage, air: Air, zone: str, applied: int, job_start: int) -> int:
    """The end of a standard's minimum; cold air in the first 24 h makes it the cold one.

    An application a little earlier may have met the cold that this one escapes (on the night of a
    clock change). As later application never gives an earlier stage, the last cold minute before
    counts as if the product had been applied then.
    """
    plain = applied + stage.least
    if stage.cold_below is None:
        return plain
    since = min(applied, max(job_start, applied - stage.cold_least))
    celsius = temperature(air, wall_clock(zone, since, applied + DAY))
    cold = np.flatnonzero(celsius < stage.cold_below - _NOISE)
    if not cold.size:
        return plain
    return max(plain, min(since + int(cold[-1]), applied) + stage.cold_least)
