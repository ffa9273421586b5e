"""Air over time, application limits and the laws of waiting, as the verifier works them out.

Nothing here is shared with the modules the planner uses (``air``, ``laws``, ``progress``): where
they compile curves, this one goes minute by minute. Temperatures in °C, relative humidity 0..1.
"""

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Air, Conditions, Limits
from scheduler.verify.clocks import DAY, Flags, wall_clock

Reals = NDArray[np.float64]

_KELVIN = 273.15
NOISE = 1e-6
"""Floating-point noise: far below anything a thermometer or a clock tells apart."""

DEW_DOUBT = 0.05
"""How far two published vapour pressure formulas put the same dew point apart, at most [K]."""


# Air --------------------------------------------------------------------------------------------


class Weather(NamedTuple):
    """Air at several moments: temperatures [°C] and relative humidities [0..1]."""

    celsius: Reals
    humidity: Reals


def weather(air: Air, zone: str, first: int, last: int, past: float = 0.0) -> Weather:
    """The air ``past`` minutes after each UTC minute of ``[first, last)``.

    By the wall it is a cosine over the day, warmest at 15:00, and steadily damp. From the first to
    the last node of its course, both included, it is what that says: linear between the nodes.
    """
    clock = wall_clock(zone, first, last) + past
    celsius = air.temperature + air.swing * np.cos((clock % DAY - 900) * (math.tau / DAY))
    humidity = np.full(len(clock), air.humidity)
    if air.course is not None:
        nodes, moments = air.course.minutes, np.arange(first, last) + past
        told = (nodes[0] <= moments) & (moments <= nodes[-1])
        celsius[told] = np.interp(moments[told], nodes, air.course.temperatures)
        humidity[told] = np.interp(moments[told], nodes, air.course.humidities)
    return Weather(celsius, humidity)


def saturation_pressure(celsius: Reals) -> Reals:
    """Vapour pressure over water [hPa] at saturation.

    Source: D. Sonntag, "Important new values of the physical constants of 1986, vapour pressure
    formulations based on the ITS-90, and psychrometer formulae", Z. Meteorol. 70 (1990) 340;
    the form recommended by WMO-No. 8.
    """
    return 6.112 * np.exp(17.62 * celsius / (243.12 + celsius))


def _over_dew_point(celsius: Reals, humidity: Reals) -> Reals:
    """How far the air is above its dew point [K]: the inverse of ``saturation_pressure``."""
    g = np.log(np.maximum(humidity, 1e-9)) + 17.62 * celsius / (243.12 + celsius)
    return celsius - 243.12 * g / (17.62 - g)


def may_apply(limits: Limits, air: Weather, *, doubt: int) -> Flags:
    """Whether the air lets a product be applied, moment by moment.

    ``doubt`` +1 counts what is within rounding of a limit as allowed, -1 as forbidden: minutes
    worked are judged by the first and idle ones by the second, so that nothing hangs on the last
    digit of a dew point.
    """
    slack, dew = doubt * NOISE, doubt * DEW_DOUBT
    celsius, humidity = air
    fine = np.ones(len(celsius), dtype=np.bool_)
    if limits.temperature_min is not None:
        fine &= celsius >= limits.temperature_min - slack
    if limits.temperature_max is not None:
        fine &= celsius <= limits.temperature_max + slack
    if limits.humidity_max is not None:
        fine &= humidity <= limits.humidity_max + slack
    if limits.dew_margin is not None:
        fine &= _over_dew_point(celsius, humidity) >= limits.dew_margin - dew
    return fine


# Laws of waiting --------------------------------------------------------------------------------

_Law = Callable[[Reals, Reals, Conditions], Reals]


def _label(at: Conditions) -> Weather:
    """The label's air, as an array of one."""
    return Weather(np.array([at.temperature]), np.array([at.humidity]))


def _hydration(celsius: Reals, _: Reals, at: Conditions) -> Reals:
    """Equivalent age by Arrhenius, Q = 5000 K (ASTM C1074, from memory).

    Nothing is credited below 5 °C; above 35 °C no more than at 35 °C.
    """
    kelvin = np.minimum(celsius, 35.0) + _KELVIN
    speed = np.exp(-5000.0 * (1.0 / kelvin - 1.0 / (at.temperature + _KELVIN)))
    return np.where(celsius < 5.0 - NOISE, 0.0, speed)


def _evaporation(celsius: Reals, humidity: Reals, at: Conditions, a: float, b: float) -> Reals:
    """p_sat^a (1 - RH)^b over the same in the label's air; nothing in frost or above 98 % RH."""

    def pull(celsius: Reals, humidity: Reals) -> Reals:
        dryness = np.maximum(1 - humidity, NOISE)
        return np.power(saturation_pressure(celsius), a) * np.power(dryness, b)

    speed = pull(celsius, humidity) / pull(*_label(at))
    return np.where((celsius < -NOISE) | (humidity > 0.98 + NOISE), 0.0, speed)


def _drying(celsius: Reals, humidity: Reals, at: Conditions) -> Reals:
    """Water-based coats; exponent 0.90 fitted to the GA-236 drying table (from memory)."""
    return _evaporation(celsius, humidity, at, 1.0, 0.90)


def _thick_drying(celsius: Reals, humidity: Reals, at: Conditions) -> Reals:
    """Screeds; fitted to a climate correction table of G. Hedenblad, 1997 (from memory)."""
    return _evaporation(celsius, humidity, at, 0.54, 0.32)


def _moisture_cure(celsius: Reals, humidity: Reals, at: Conditions) -> Reals:
    """Silicone cures by the vapour in the air: as its pressure; not in frost (common practice)."""
    there, damp = _label(at)
    label = np.maximum(saturation_pressure(there) * damp, NOISE)
    return np.where(celsius < -NOISE, 0.0, saturation_pressure(celsius) * humidity / label)


def _steady(celsius: Reals, _: Reals, __: Conditions) -> Reals:
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


def rate(law: str, air: Weather, at: Conditions) -> Reals:
    """Minutes on the label that one minute in this air is worth."""
    return _LAWS[law](air.celsius, air.humidity, at)


def is_steady(law: str) -> bool:
    """Whether the room makes no difference, so that nothing is to be integrated."""
    return _LAWS[law] is _steady
