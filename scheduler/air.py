"""Moist air, and the air of a room over time.

Nomenclature: ``t`` temperature [°C], ``rh`` relative humidity over water [0..1], pressures [Pa].
The formulas take floats or numpy arrays, and give back what ``t`` was.
"""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import UTC
from functools import lru_cache
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from scheduler.clock import DAY, HOUR, instant, to_local
from scheduler.model import Air, Conditions, Course

Values = NDArray[np.float64]
Quantity = TypeVar("Quantity", float, Values)

_A, _B, _C = 610.94, 17.625, 243.04  # Pa, 1, °C
_DRIEST = 0.001  # relative humidity; the logarithm in the dew point needs some moisture
_WARMEST_HOUR = 15


def saturation_pressure(t: Quantity) -> Quantity:
    """Vapour pressure of saturated air over liquid water [Pa].

    p_sat = 610.94 exp(17.625 t / (243.04 + t)), the Magnus form. Below 0 °C it is over supercooled
    water, as relative humidity is defined there too. Against IAPWS-95 it is at most 0.3 % low from
    0 to 45 °C, and 1.3 % high at 80 °C.

    Args:
        t: temperature, -40 to 80 [°C].

    Source: Alduchov and Eskridge, Improved Magnus Form Approximation of Saturation Vapor Pressure,
    Journal of Applied Meteorology 35 (1996), eq. 21, fitted from -40 to 50 °C; WMO-No. 8 for
    relative humidity over water at all temperatures.
    """
    saturated: Quantity = _A * np.exp(_B * t / (_C + t))
    return saturated


def vapour_pressure(t: Quantity, rh: Quantity | float) -> Quantity:
    """Partial pressure of the water vapour in the air [Pa]: p_v = rh p_sat(t).

    Args:
        t: temperature, -40 to 80 [°C].
        rh: relative humidity [0..1].

    Source: ASHRAE Handbook - Fundamentals 2017, ch. 1, eq. 22.
    """
    return rh * saturation_pressure(t)


def dew_point(t: Quantity, rh: Quantity | float) -> Quantity:
    """The temperature at which water condenses from this air [°C].

    t_d = 243.04 g / (17.625 - g) with g = ln(rh) + 17.625 t / (243.04 + t), the inverse of
    ``saturation_pressure``. Air drier than 0.1 % counts as 0.1 %. Dew points above 0 °C, of air up
    to 40 °C, are within 0.03 K of the ASHRAE and IAPWS formulations. Those below are of dew, as
    hygrometers give them; frost forms at 10 to 16 % fewer degrees below 0 °C (-18 for -20 °C).

    Args:
        t: temperature, -40 to 80 [°C].
        rh: relative humidity [0..1].

    Source: as ``saturation_pressure``, solved for the temperature.
    """
    g = np.log(np.maximum(rh, _DRIEST)) + _B * t / (_C + t)
    condensing: Quantity = _C * g / (_B - g)
    return condensing


def margin_over_dew_point(t: Quantity, rh: Quantity | float) -> Quantity:
    """How far the air, and a surface as warm as it, is above the dew point [K].

    Args:
        t: temperature, -40 to 80 [°C].
        rh: relative humidity [0..1].

    Source: the quantity judged in ISO 8502-4, where coaters want 3 K (5 °F) at least.
    """
    return t - dew_point(t, rh)


def temperatures(air: Air, minutes: NDArray[np.integer] | Values, zone: str) -> Values:
    """The temperature of a room's air at UTC minutes [°C], in the shape of ``minutes``.

    As far as the air has a course, that; elsewhere T = mean + swing cos(2 pi (h - 15) / 24), where
    h is the hour that the clock on the wall shows: through a clock change the warmest hour stays
    15:00.

    Args:
        air: mean [°C], half the daily swing [K], and its course.
        minutes: UTC epoch minutes [min].
        zone: IANA name of the time zone.
    """
    supposed = _supposed(air, minutes, zone)
    if air.course is None:
        return supposed
    return _along(air.course, air.course.temperatures, minutes, supposed)


def humidities(air: Air, minutes: NDArray[np.integer] | Values, *, driest: bool = False) -> Values:
    """The relative humidity of a room's air at UTC minutes [0..1], in the shape of ``minutes``.

    As far as the air has a course, that; elsewhere it is steady.

    Args:
        air: its humidity [0..1], and its course.
        minutes: UTC epoch minutes [min].
        driest: the safe side of what cures with moisture from it.
    """
    supposed = np.full(minutes.shape, air.humidity)
    if air.course is None:
        return supposed
    course = air.course
    known = course.driest if driest and course.driest is not None else course.humidities
    return _along(course, known, minutes, supposed)


def mean(air: Air, start: int, end: int, zone: str) -> Conditions:
    """The air of a room on average over ``[start, end)``, looked at every quarter of an hour."""
    minutes = np.arange(start, max(end, start + 1), 15)
    degrees = temperatures(air, minutes, zone)
    return Conditions(float(degrees.mean()), float(humidities(air, minutes).mean()))


def coldest(air: Air, since: int) -> float:
    """The lowest temperature of a room's air from a UTC minute on [°C]."""
    supposed = air.temperature - air.swing
    if air.course is None:
        return supposed
    nodes = zip(air.course.minutes, air.course.temperatures, strict=True)
    return min((supposed, *(degrees for minute, degrees in nodes if minute >= since)))


def _along(
    course: Course,
    values: Sequence[float],
    minutes: NDArray[np.integer] | Values,
    supposed: Values,
) -> Values:
    """What a course says as far as it reaches, and what is supposed outside."""
    inside = (minutes >= course.minutes[0]) & (minutes <= course.minutes[-1])
    return np.where(inside, np.interp(minutes, course.minutes, values), supposed)


def _supposed(air: Air, minutes: NDArray[np.integer] | Values, zone: str) -> Values:
    """The daily sine [°C]."""
    if air.swing == 0 or minutes.size == 0:
        return np.full(minutes.shape, air.temperature)
    first, last = int(minutes.min()) // DAY * DAY, int(minutes.max())
    changes, offsets = _offsets(first, first + (last - first) // DAY * DAY + DAY, zone)
    hour = (minutes + offsets[np.searchsorted(changes, minutes, side="right")]) % DAY / HOUR
    return air.temperature + air.swing * np.cos(2 * np.pi * (hour - _WARMEST_HOUR) / 24)


@lru_cache(maxsize=64)
def _offsets(first: int, last: int, zone: str) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """When local time is moved between two UTC minutes, and the offsets before and after [min].

    No zone moves its clocks twice within a day, so that one look a day finds all changes.
    """
    changes = [
        _change(before, after, zone)
        for before, after in pairwise(range(first, last + 1, DAY))
        if _offset(before, zone) != _offset(after, zone)
    ]
    offsets = [_offset(minute, zone) for minute in [first, *changes]]
    return np.array(changes, dtype=np.int64), np.array(offsets, dtype=np.int64)


def _change(before: int, after: int, zone: str) -> int:
    """The first UTC minute in ``(before, after]`` with the offset of ``after``."""
    new = _offset(after, zone)
    span = range(before, after)
    return before + bisect_left(span, True, key=lambda minute: _offset(minute, zone) == new)


def _offset(minute: int, zone: str) -> int:
    """Local time less UTC [min]."""
    return instant(to_local(minute, zone).replace(tzinfo=UTC)) - minute
