"""Air and limits in words."""

from collections.abc import Iterator

from scheduler.air import margin_over_dew_point, mean
from scheduler.model import Air, Conditions, Job, Limits, Product
from scheduler.quantities import show_difference, show_humidity, show_temperature
from scheduler.wording import glued

_HAIR = 1e-9  # so that 50 °F is not colder than 10 °C by a rounding


def air_words(job: Job, air: Air, start: int, end: int) -> str:
    """The air of a room in short, and whether anybody gave it; if read, what it is over a span."""
    if air.course is not None:
        average = mean(air, start, end, job.timezone)
        return f"{conditions_words(average, job)} on average, as read and foreseen"
    assumed = ", assumed" if air.assumed else ""
    return f"{conditions_words(Conditions(air.temperature, air.humidity), job)}{assumed}"


def conditions_words(air: Conditions, job: Job) -> str:
    """Temperature and humidity, in words."""
    return f"{_degrees(air.temperature, job)} and {glued(show_humidity(air.humidity))}"


def limits_words(product: Product, job: Job) -> str:
    """The air in which a product may be applied, in words; nothing where it has no limits."""
    return ", ".join(_limits(product.limits, job))


def _limits(limits: Limits, job: Job) -> Iterator[str]:
    low, high = limits.temperature_min, limits.temperature_max
    if low is not None and high is not None:
        yield f"{_degrees(low, job)} to {_degrees(high, job)}"
    elif low is not None:
        yield f"{_degrees(low, job)} at least"
    elif high is not None:
        yield f"{_degrees(high, job)} at most"
    if limits.humidity_max is not None:
        yield f"humidity {glued(show_humidity(limits.humidity_max))} at most"
    if limits.dew_margin is not None:
        yield f"{_margin(limits.dew_margin, job)} over the dew point at least"


def breaches(limits: Limits, now: Conditions, job: Job) -> Iterator[str]:
    """What of the air is out of the limits, in words."""
    low, high, damp, margin = (
        limits.temperature_min, limits.temperature_max, limits.humidity_max, limits.dew_margin
    )  # fmt: skip
    if low is not None and now.temperature < low - _HAIR:
        yield f"colder than {_degrees(low, job)}"
    if high is not None and now.temperature > high + _HAIR:
        yield f"warmer than {_degrees(high, job)}"
    if damp is not None and now.humidity > damp + _HAIR:
        yield f"damper than {glued(show_humidity(damp))}"
    over = float(margin_over_dew_point(now.temperature, now.humidity))
    if margin is not None and over < margin - _HAIR:
        yield f"less than {_margin(margin, job)} over the dew point"


def _degrees(celsius: float, job: Job) -> str:
    return glued(show_temperature(celsius, job.units))


def _margin(kelvin: float, job: Job) -> str:
    return glued(show_difference(kelvin, job.units))
