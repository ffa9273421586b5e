"""Wall clocks and people's hours as the verifier sees them, minute by minute.

Nothing here is shared with the modules the planner uses (``clock``, ``hours``): a mistake there
must not be able to hide here.

Units: UTC minutes since 1970; *wall minutes* are local wall-clock minutes since 1970-01-01 00:00
local. Spans are half-open.
"""

from collections.abc import Iterator
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Person, Weekly

Minutes = NDArray[np.int64]
Flags = NDArray[np.bool_]

DAY = 1440
_EPOCH_DAY = date(1970, 1, 1).toordinal()


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
    for hours in (*person.hours, *person.booked):
        length = hours.end - hours.start + (DAY if hours.end <= hours.start else 0)
        for day in range(first_day, last_day + 1):
            if isinstance(hours, Weekly):
                # 1970-01-01 was a Thursday, day 3 of a week that starts with Monday as 0.
                opens = (day + 3) % 7 in hours.days
            else:
                opens = day == hours.day.toordinal() - _EPOCH_DAY
            if opens:
                yield day * DAY + hours.start, day * DAY + hours.start + length
