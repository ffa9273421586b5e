"""UTC minutes inside, local wall time at the edges.

A *minute* is an ``int``: whole minutes since 1970-01-01T00:00Z. Everything below the edges counts
in minutes, so that a wait of 12 h is 12 real hours in any night of the year.
"""

from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MINUTE = timedelta(minutes=1)
HOUR = 60
DAY = 24 * HOUR


def instant(moment: datetime) -> int:
    """The UTC minute of an aware moment; seconds are dropped."""
    return (moment - _EPOCH) // _MINUTE


def to_minute(wall: datetime, zone: str) -> int:
    """The UTC minute of a naive local wall time.

    A wall time that the spring change leaves out is the moment of the change; one that the autumn
    change has twice is its first. So the mapping never goes backwards, and two windows that touch
    on the wall touch in UTC.

    >>> to_minute(datetime(2027, 3, 14, 2, 30), "America/New_York") == to_minute(
    ...     datetime(2027, 3, 14, 3, 0), "America/New_York")
    True
    """
    tz = ZoneInfo(zone)
    early = wall.replace(tzinfo=tz, fold=0).astimezone(UTC)
    if early.astimezone(tz).replace(tzinfo=None) == wall:
        return instant(early)
    return _change_between(wall.replace(tzinfo=tz, fold=1).astimezone(UTC), early, tz)


def _change_between(before: datetime, after: datetime, tz: ZoneInfo) -> int:
    """The first minute in ``(before, after]`` with the offset of ``after``."""
    low, high = instant(before), instant(after)
    offset = after.astimezone(tz).utcoffset()
    while high - low > 1:
        middle = (low + high) // 2
        same = (_EPOCH + middle * _MINUTE).astimezone(tz).utcoffset() == offset
        low, high = (low, middle) if same else (middle, high)
    return high


def to_local(minute: int, zone: str) -> datetime:
    """The aware local time of a UTC minute."""
    return (_EPOCH + minute * _MINUTE).astimezone(ZoneInfo(zone))


@lru_cache(maxsize=16384)
def day_start(day: date, zone: str) -> int:
    """The first UTC minute of a local calendar day."""
    return to_minute(datetime(day.year, day.month, day.day), zone)  # noqa: DTZ001 (wall time)


def day_end(day: date, zone: str) -> int:
    """The first UTC minute after a local calendar day."""
    return day_start(day + timedelta(days=1), zone)


def day_of(minute: int, zone: str) -> date:
    """The local calendar day that holds a UTC minute."""
    return to_local(minute, zone).date()


def rfc3339(minute: int, zone: str) -> str:
    """Local time with offset, as RFC 3339.

    >>> rfc3339(to_minute(datetime(2027, 1, 8, 17, 0), "America/Toronto"), "America/Toronto")
    '2027-01-08T17:00:00-05:00'
    """
    return to_local(minute, zone).isoformat(timespec="seconds")
