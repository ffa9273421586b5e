"""Open-Meteo: the hours of an answer that was saved, as JSON, and what its tables begin with."""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.forecast.rows import Forecast, humidity, in_order
from scheduler.loggerfile import Row
from scheduler.loggerfile.clocks import minutes
from scheduler.loggerfile.rows import refused
from scheduler.wording import counted

_LAYOUT = '{"hourly": {"time": [...], "temperature_2m": [...], "relative_humidity_2m": [...]}}'
_HUMIDITY = ("relative_humidity_2m", "relativehumidity_2m")
_DEW_POINT = ("dew_point_2m", "dewpoint_2m")
_FARTHEST = 14 * 3600  # seconds from UTC
_NONSENSE = 1e6
_LATEST = 2**32  # seconds since 1970, in the year 2106: what is more is no time


def preface(text: str) -> Mapping[str, str]:
    """What stands above the table where Open-Meteo wrote it; empty for any other table."""
    lines = text.splitlines()[:2]
    if len(lines) < 2 or not lines[0].startswith("latitude,") or "utc_offset" not in lines[0]:
        return {}
    said = dict(zip(lines[0].split(","), lines[1].split(","), strict=False))
    return said if _zone(said.get("timezone")) else said | {"timezone": "UTC"}


def answer(text: str, name: str, zone: str) -> Forecast:
    """Hours of an answer that was saved.

    Source: the layout as its documentation gives it: local times without offset in ``timezone``,
    or seconds since 1970 in UTC; ``null`` where nothing is known; older names without underscores.
    """
    said = _json(text, name)
    hourly, times = _hourly(said, name)
    at, notes = _hours(said, times, name, zone)
    warm = _in_celsius(said, "temperature_2m", _series(hourly, ["temperature_2m"], len(at)))
    damp = _humidities(said, hourly, warm)
    rows = tuple(in_order(Row(*row) for row in zip(at, warm, damp, strict=True)))
    if not rows:
        raise refused(name, f"nothing in it can be read as air; right would be such as: {_LAYOUT}")
    lost = len(at) - len(rows)
    missing = (f"{counted(lost, 'hour')} without air left out",) if lost else ()
    return Forecast(rows, (*notes, *missing), outdoor=True)


def _json(text: str, name: str) -> Mapping[str, object]:
    try:
        said = json.loads(text)
    except (ValueError, RecursionError) as error:
        at = error.lineno if isinstance(error, json.JSONDecodeError) else 1
        raise refused(name, "this JSON can't be read; save the forecast anew", at) from None
    if isinstance(said, list):
        raise refused(name, "a forecast of several places; ask for the one of the job")
    return said if isinstance(said, dict) else {}


def _hourly(said: Mapping[str, object], name: str) -> tuple[Mapping[str, object], Sequence[object]]:
    """The block of hours, and when they are."""
    hourly = said.get("hourly")
    times = hourly.get("time") if isinstance(hourly, dict) else None
    if isinstance(hourly, dict) and isinstance(times, list):
        return hourly, times
    reason = f" (it says: {said['reason']})" if said.get("reason") else ""
    raise refused(name, f"no hourly forecast{reason}; right would be such as: {_LAYOUT}")


def _hours(
    said: Mapping[str, object], times: Sequence[object], name: str, zone: str
) -> tuple[list[int], tuple[str, ...]]:
    """The UTC minutes of the hours."""
    seconds = [time for time in times if isinstance(time, int) and 0 < time < _LATEST]
    if times and len(seconds) == len(times):
        return [time // 60 for time in seconds], ()
    named = said.get("timezone")
    known = _zone(named)
    fixed = None if known else _fixed_offset(said)
    try:
        walls = [datetime.fromisoformat(str(time)) for time in times]
    except ValueError as error:
        raise refused(name, f"a time of the forecast can't be read: {error}") from None
    stamps = [
        (wall.replace(tzinfo=None), (wall.utcoffset() or timedelta()) // timedelta(minutes=1))
        if wall.tzinfo
        else (wall, fixed)
        for wall in walls
    ]
    return minutes(stamps, str(named) if known else zone)[0], _zone_notes(named, known, fixed, zone)


def _fixed_offset(said: Mapping[str, object]) -> int | None:
    """The offset from UTC [min] that the file gives; it is that of one day of the year."""
    seconds = said.get("utc_offset_seconds")
    return seconds // 60 if isinstance(seconds, int) and abs(seconds) <= _FARTHEST else None


def _zone_notes(named: object, known: bool, fixed: int | None, zone: str) -> tuple[str, ...]:
    if known:
        return ()
    at = f"the offset of {fixed} min that it gives" if fixed is not None else zone
    return (f"its time zone '{named or ''}' is not known: read by {at}",)


def _zone(name: object) -> bool:
    """Whether there is a time zone of that name."""
    try:
        return isinstance(name, str) and bool(name) and bool(ZoneInfo(name))
    except (ValueError, KeyError, OSError):  # no such zone, or no name of one
        return False


def _series(hourly: Mapping[str, object], names: Iterable[str], length: int) -> list[float | None]:
    """The first of these series that is there; nothing at all else."""
    for name in names:
        series = hourly.get(name)
        if isinstance(series, list) and len(series) == length:
            return [_figure(value) for value in series]
    return [None] * length


def _figure(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) and abs(value) < _NONSENSE else None


def _in_celsius(
    said: Mapping[str, object], name: str, series: list[float | None]
) -> list[float | None]:
    units = said.get("hourly_units")
    unit = str(units.get(name, "")) if isinstance(units, dict) else ""
    if "F" not in unit:
        return series
    return [None if value is None else (value - 32) / 1.8 for value in series]


def _humidities(
    said: Mapping[str, object], hourly: Mapping[str, object], warm: Sequence[float | None]
) -> list[float | None]:
    """Relative humidities [0..1]; from the dew point where the file has only that."""
    per_cent = _series(hourly, _HUMIDITY, len(warm))
    if any(value is not None for value in per_cent):
        return [None if value is None else value / 100 for value in per_cent]
    name = next((name for name in _DEW_POINT if name in hourly), _DEW_POINT[0])
    dew = _in_celsius(said, name, _series(hourly, _DEW_POINT, len(warm)))
    return [
        None if d is None or t is None else humidity(t, d) for t, d in zip(warm, dew, strict=True)
    ]
