"""The air as it was read, and as it is foreseen from that: laid over the air that a job supposes.

Between readings the air is on the line between them; in a gap it is the worse of that and of what
the job supposes: colder, damper. After the last reading the deviation that was read fades as
``straying`` has it; the daily swing goes on. For six hours the air is no better than on the line
from what was read to what is foreseen then. A forecast of the room itself takes the place of that.
One of the air outdoors tells only how damp a room may be: its moisture, at the room's temperature,
where that is more than foreseen. It warms and dries no room.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from scheduler.clock import DAY
from scheduler.course import NEAR, Both, Supposed, both, course, expected, gaps, quantities
from scheduler.forecast import Forecast
from scheduler.model import Air, Job, Reading, Room
from scheduler.quantities import show_difference, show_duration, show_humidity
from scheduler.wording import counted, dated, glued, moment

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
    of_use = forecast and _of_use(forecast, job.start, max(now, job.start))
    places = _places(job, readings, now, of_use)
    airs = {each: _laid(each, job.timezone, of_use) for each in dict.fromkeys(places.values())}
    rooms = {room: Room(room, airs[places[room]]) for room in job.rooms}
    laid = replace(job, air=airs[places[None]], rooms=rooms)
    late = sum(reading.at > now for reading in readings)
    notes = [f"{counted(late, 'reading')} later than now left aside"] if late else []
    for each in airs:
        label = ", ".join(room or "the job" for room, known in places.items() if known == each)
        notes += [f"{label}: {words}" for words in _words(each, job, now)]
    if forecast is not None:
        notes.append(_forecast_words(forecast, of_use, job.timezone, places.values()))
    return laid, tuple(notes)


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


def _places(
    job: Job, readings: Iterable[Reading], now: int, forecast: Forecast | None
) -> dict[str | None, _Known]:
    """What is known of each room, and of the job as None."""
    known = tuple(reading for reading in readings if reading.at <= now)
    return {
        room: _Known(
            replace(job.air_of(room), course=None),
            serving(job, known, room),
            forecast is not None and _is_of(forecast, job, room),
        )
        for room in (None, *job.rooms)
    }


def _is_of(forecast: Forecast, job: Job, room: str | None) -> bool:
    """Whether a forecast is of a room; one of no room in particular is of those like the job."""
    if forecast.outdoor:
        return False
    return forecast.room == room or (forecast.room is None and _alike(job.air_of(room), job.air))


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
        soon = f"for {show_duration(NEAR)} after it no better than on the line from there"
        yield (
            f"{_when_read(known.readings, zone)}; {soon}, then as supposed"
            f"{_strays(known, job, now)}"
        )
    spans = sorted({span for series in known.read for span in gaps(series.at)})
    for start, end in spans[:_NAMED_GAPS]:
        yield (
            f"not read from {dated(start, zone)} to {dated(end, zone)}: there the worse counts of "
            "what is supposed and the line between"
        )
    if len(spans) > _NAMED_GAPS:
        yield f"{counted(len(spans) - _NAMED_GAPS, 'gap')} more like that"


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


def _forecast_words(
    forecast: Forecast, of_use: Forecast | None, zone: str, places: Iterable[_Known]
) -> str:
    """Of when and of where a forecast is, and what that is good for."""
    first, last = (moment(forecast.rows[i].at, zone) for i in (0, -1))
    span = f"the forecast, from {first} to {last},"
    if of_use is None or not of_use.rows:
        return f"{span} is not of the time of the job"
    if forecast.outdoor:
        return (
            f"{span} is of outdoors: rooms are taken as damp as its moisture makes them at their "
            "own temperature, where that is more than supposed; a guess, which shortens no wait"
        )
    if any(place.forecast for place in places):
        return f"{span} is the air of {forecast.room or 'the job'} after what was read"
    return f"{span} counts for no room: each has air of its own; say --forecast ROOM=FILE"
