"""EPW: a typical year of hours, laid over the dates of a job."""

from collections.abc import Iterator, Mapping, Sequence

from scheduler.clock import DAY, HOUR, to_local
from scheduler.forecast.rows import Forecast, humidity
from scheduler.loggerfile import Row
from scheduler.loggerfile.rows import refused, within_bounds

START = "LOCATION,"
"""What such a file begins with."""

_HEADER = 8  # lines before the hours


def typical_year(text: str, name: str, near: int) -> Forecast:
    """A typical year, laid out over the twelve months from ``near`` on.

    Source: the EPW data dictionary of the EnergyPlus auxiliary programs manual: eight lines of
    header, the ninth field of the first the hours from UTC; then year, month, day, hour 1..24
    (which ends then), minute, flags, dry bulb [°C] (99.9 for missing), dew point [°C] (99.9),
    relative humidity [%] (999). Times are of standard time all year. From memory.
    """
    lines = [line.split(",") for line in text.splitlines()]
    ahead = _hours_ahead(lines[0], name)
    hours = dict(each for line in lines[_HEADER:] if (each := _hour(line)))
    if not hours:
        raise refused(
            name, "no hours below the header of this EPW file; each has 35 fields", _HEADER + 1
        )
    rows = tuple(_laid_out(hours, near, round(ahead * HOUR)))
    note = "typical weather of its place, laid over the dates of the job: no forecast"
    return Forecast(rows, (note,), outdoor=True)


def _hours_ahead(location: Sequence[str], name: str) -> float:
    try:
        ahead = float(location[8])
    except (IndexError, ValueError):
        ahead = float("nan")
    if not -14 <= ahead <= 14:
        raise refused(name, "the ninth field of an EPW file's first line is its hours from UTC")
    return ahead


_Hour = tuple[int, int, int]
"""Month, day, hour 1..24."""


def _hour(cells: Sequence[str]) -> tuple[_Hour, tuple[float | None, float | None]] | None:
    """One line: when in the year, and the air then."""
    try:
        month, day, hour = (int(cells[i]) for i in (1, 2, 3))
        dry, dew, per_cent = (float(cells[i]) for i in (6, 7, 8))
    except (IndexError, ValueError):
        return None
    warm = dry if dry < 99.9 else None
    damp = per_cent / 100 if 0 < per_cent <= 110 else None
    if damp is None and warm is not None and dew < 99.9:
        damp = humidity(warm, dew)
    return (month, day, hour), (warm, None if damp is None else min(damp, 1.0))


def _laid_out(
    hours: Mapping[_Hour, tuple[float | None, float | None]], near: int, ahead: int
) -> Iterator[Row]:
    """The rows of twelve months; 29 February is as the 28th where the year has none."""
    first = near - (near + ahead) % DAY
    for at in range(first, first + 366 * DAY, HOUR):
        # The hour that ends now: 24 of the day before at midnight.
        begun = to_local(at - HOUR + ahead, "UTC")
        key = (begun.month, begun.day, begun.hour + 1)
        air = hours.get(key) or (hours.get((2, 28, key[2])) if key[:2] == (2, 29) else None)
        if air and air != (None, None) and within_bounds(*air):
            yield Row(at, *air)
