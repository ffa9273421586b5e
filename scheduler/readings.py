"""The air as it was read, and as it is foreseen from that: laid over the air that a job supposes.

Between readings the air is on the line between them; in a gap it is the worse of that and of what
the job supposes: colder, damper. After the last reading the deviation that was read fades as
``straying`` has it; the daily swing goes on. A forecast of the room itself takes the place of that.
One of the air outdoors tells only how damp a room may be: its moisture, at the room's temperature,
where that is more than foreseen. It warms and dries no room.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from scheduler.clock import DAY
from scheduler.course import Both, Supposed, both, course, expected, gaps, quantities
from scheduler.forecast import Forecast
from scheduler.model import Air, Job, Reading, Room
from scheduler.quantities import show_difference, show_humidity
from scheduler.wording import counted, dated, glued

_AHEAD = 120 * DAY  # of a typical year; nobody believes a forecast as far as that
_NAMED_GAPS = 3


def serving(job: Job, readings: Iterable[Reading], room: str | None) -> tuple[Reading, ...]:
    """The readings of a room, or of the job where ``room`` is None.

    A room of which there are none has those of the job, if it has the job's air.
    """
    known = tuple(readings)
    own = tuple(reading for reading in known if reading.room == room)
    if own or room is None or not _alike(job.rooms[room].air, job.air):
        return own
    return tuple(reading for reading in known if reading.room is None)


def _alike(one: Air, other: Air) -> bool:
    """Whether the same is supposed of both."""
    return replace(one, course=None) == replace(other, course=None)


def laid_over(
    job: Job, readings: Sequence[Reading], now: int, forecast: Forecast | None = None
) -> tuple[Job, tuple[str, ...]]:
    """The job with the air of each room as it was read and as it is foreseen.

    Args:
        job: with the air as supposed.
        readings: in any order; those later than ``now`` are left aside.
        now: the present moment [UTC min].
        forecast: of the air outdoors, or of a room.

    Returns:
        The job with courses, and how they came about, in words.
    """
    known = tuple(reading for reading in readings if reading.at <= now)
    forecast = forecast and _of_use(forecast, job.start, max(now, job.start))
    places = {room: _known(job, known, forecast, room) for room in (None, *job.rooms)}
    airs = {each: _laid(each, job.timezone, forecast) for each in dict.fromkeys(places.values())}
    rooms = {room: Room(room, airs[places[room]]) for room in job.rooms}
    laid = replace(job, air=airs[places[None]], rooms=rooms)
    late = len(readings) - len(known)
    notes = [f"{counted(late, 'reading')} later than now left aside"] if late else []
    for each in airs:
        label = ", ".join(room or "the job" for room, known in places.items() if known == each)
        notes += [f"{label}: {words}" for words in _words(each, job, now)]
    return laid, (*notes, *_forecast_words(forecast, places.values()))


def _of_use(forecast: Forecast, start: int, now: int) -> Forecast:
    """What a forecast says of the time from the start of a job until long after now."""
    rows = (row for row in forecast.rows if start - DAY <= row.at <= now + _AHEAD)
    return replace(forecast, rows=tuple(rows))


class _Known(NamedTuple):
    """What makes the air of a room. Rooms of which the same is known share one air."""

    air: Air
    readings: tuple[Reading, ...]
    forecast: bool

    @property
    def read(self) -> Both:
        """What was read, in order."""
        return both(self.readings)


def _known(
    job: Job, readings: Iterable[Reading], forecast: Forecast | None, room: str | None
) -> _Known:
    air = replace(job.air_of(room), course=None)
    shared = forecast is not None and forecast.room is None and air == replace(job.air, course=None)
    named = forecast is not None and forecast.room == room
    indoors = forecast is not None and not forecast.outdoor
    return _Known(air, serving(job, readings, room), indoors and (named or shared))


def _laid(known: _Known, zone: str, forecast: Forecast | None) -> Air:
    """The air with its course."""
    rows = () if forecast is None else forecast.rows
    outdoors = rows if forecast is not None and forecast.outdoor else ()
    ahead = both(rows if known.forecast else ())
    return replace(known.air, course=course(Supposed(known.air, zone), known.read, ahead, outdoors))


# In words -----------------------------------------------------------------------------------------


def _words(known: _Known, job: Job, now: int) -> Iterator[str]:
    """How the air of a room came about; nothing where it is as supposed."""
    zone = job.timezone
    if known.readings:
        yield f"{_when_read(known.readings, zone)}; then as supposed{_strays(known, job, now)}"
    spans = sorted({span for series in known.read for span in gaps(series.at)})
    for start, end in spans[:_NAMED_GAPS]:
        yield (
            f"not read from {dated(start, zone)} to {dated(end, zone)}: there the worse counts of "
            "what is supposed and the line between"
        )
    if len(spans) > _NAMED_GAPS:
        yield f"{counted(len(spans) - _NAMED_GAPS, 'gap')} more like that"
    if known.forecast:
        yield "after that as forecast" if known.readings else "air as forecast"


def _when_read(readings: Sequence[Reading], zone: str) -> str:
    first, last = (dated(each(r.at for r in readings), zone) for each in (min, max))
    if len(readings) == 1:
        return f"air as read once, {first}"
    return f"air as read {counted(len(readings), 'time')} from {first} to {last}"


def _strays(known: _Known, job: Job, now: int) -> str:
    """How far from what is supposed the air is expected to be now."""
    at = np.array([now])
    warm, damp = (
        float(expected(of, Supposed(known.air, job.timezone), series, at)[0])
        for of, series in zip(quantities(), known.read, strict=True)
    )
    words = []
    if abs(warm) >= quantities()[0].over:
        words.append(
            f"{glued(show_difference(abs(warm), job.units))} {'warmer' if warm > 0 else 'colder'}"
        )
    if abs(damp) >= quantities()[1].over:
        words.append(f"{glued(show_humidity(abs(damp)))} {'damper' if damp > 0 else 'drier'}")
    return f", {' and '.join(words)} now, which fades over days" if words else ""


def _forecast_words(forecast: Forecast | None, places: Iterable[_Known]) -> Iterator[str]:
    if forecast is None:
        return
    if forecast.outdoor:
        yield (
            "rooms may be as damp as the moisture outdoors makes them at their own temperature: a "
            "guess, which shortens no wait"
        )
    elif not any(place.forecast for place in places):
        yield "the forecast counts for no room: each has air of its own; say of which it is"
