"""A time zone as a calendar reader needs it: VTIMEZONE with yearly rules (RFC 5545, 3.6.5).

The rules come from the last line of the zone's own file, a POSIX ``TZ`` string (RFC 9636)
such as ``EST5EDT,M3.2.0,M11.1.0``. Lists of single changes (RDATE) are the other way to write a
zone, but several readers put every summer event of such a file an hour off; rules all of them read
right. A zone that has no such rule, or doesn't keep to it in the years that count, gets no
VTIMEZONE: its events are written in UTC, which no reader misunderstands.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from itertools import chain, pairwise
from pathlib import Path
from zoneinfo import TZPATH

from dateutil.rrule import rrulestr
from icalendar import Timezone, TimezoneDaylight, TimezoneStandard
from icalendar.prop import vRecur

from scheduler.clock import DAY, instant, to_local

_YEAR = 366 * DAY
_NAME = r"(?:<([-+\w]+)>|([A-Za-z]+))"
_OFFSET = r"([-+]?\d+)(?::(\d+))?"
_DATE = r"M(\d+)\.([1-5])\.([0-6])(?:/(\d+)(?::(\d+))?)?"
_POSIX = re.compile(rf"{_NAME}{_OFFSET}(?:{_NAME}(?:{_OFFSET})?,{_DATE},{_DATE})?")
_DAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")


@dataclass(frozen=True)
class Observance:
    """One of the offsets of a zone, and when it sets in.

    Args:
        name: its abbreviation.
        before: offset from UTC that it replaces [min], positive east of Greenwich.
        offset: its own offset from UTC [min].
        minute: wall-clock minute of the day at which it sets in, by the offset before.
        rule: the yearly rule (RFC 5545 RRULE) of the days on which it sets in; empty where the
            zone never changes.
    """

    name: str
    before: int
    offset: int
    minute: int = 0
    rule: str = ""

    def onsets(self, year: int) -> Iterator[datetime]:
        """Wall times at which it sets in, from the start of ``year`` on, without end."""
        start = datetime(year, 1, 1) + timedelta(minutes=self.minute)  # noqa: DTZ001 (wall time)
        return iter(rrulestr(self.rule, dtstart=start)) if self.rule else iter([start])


def vtimezone(zone: str, first: int, last: int) -> Timezone | None:
    """The VTIMEZONE of ``zone`` for events between the minutes ``first`` and ``last``.

    It begins with the year before ``first``. None where the zone is UTC itself, or has no yearly
    rule that holds from ``first`` until a year after ``last``; its events are then written in UTC.
    The year more keeps a zone from changing its form whenever a plan moves a little.
    """
    year = to_local(first, zone).year - 1
    observances = observances_of(_posix_rule(zone))
    if not observances or not _agree(observances, zone, year, first, last + _YEAR):
        return None
    component = Timezone()
    component.add("tzid", zone)
    for observance in observances:
        component.add_component(_component(observance, year, observances))
    return component


def _component(
    observance: Observance, year: int, observances: tuple[Observance, ...]
) -> TimezoneStandard | TimezoneDaylight:
    # Dublin's own file calls the winter "daylight", with less on the clock; readers expect more.
    least = min(each.offset for each in observances)
    component = TimezoneStandard() if observance.offset == least else TimezoneDaylight()
    component.add("tzname", observance.name)
    component.add("dtstart", next(observance.onsets(year)))
    component.add("tzoffsetfrom", timedelta(minutes=observance.before))
    component.add("tzoffsetto", timedelta(minutes=observance.offset))
    if observance.rule:
        component.add("rrule", vRecur.from_ical(observance.rule))
    return component


def observances_of(posix: str) -> tuple[Observance, ...]:
    """What a POSIX ``TZ`` string says; nothing where it is UTC or can't be said as an RRULE.

    >>> [(o.name, o.offset, o.rule) for o in observances_of("GMT0BST,M3.5.0/1,M10.5.0")]
    ... # doctest: +NORMALIZE_WHITESPACE
    [('BST', 60, 'FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU'),
     ('GMT', 0, 'FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU')]
    >>> observances_of("IST-2IDT,M3.4.4/26,M10.5.0")
    ()
    """
    found = _POSIX.fullmatch(posix)
    if found is None or posix == "UTC0":
        return ()
    part = found.groups()
    name, offset = part[0] or part[1], _east(part[2], part[3])
    if part[8] is None:
        return (Observance(name, offset, offset),)
    other = offset + 60 if part[6] is None else _east(part[6], part[7])
    begin, end = _onset(part[8:13]), _onset(part[13:18])
    if begin is None or end is None:
        return ()
    return (
        Observance(part[4] or part[5], offset, other, *begin),
        Observance(name, other, offset, *end),
    )


def _east(hours: str, minutes: str | None) -> int:
    """POSIX counts offsets west of Greenwich; everybody else counts them east."""
    size = abs(int(hours)) * 60 + int(minutes or 0)
    return size if hours.startswith("-") else -size


def _onset(date: tuple[str | None, ...]) -> tuple[int, str] | None:
    """Minute of the day and RRULE of ``Mm.w.d/time``; None where the time is on another day."""
    month, week, day, hour, minute = (None if part is None else int(part) for part in date)
    time = (2 if hour is None else hour) * 60 + (minute or 0)
    if not 0 <= time < DAY or day is None:
        return None
    which = -1 if week == 5 else week
    return time, f"FREQ=YEARLY;BYMONTH={month};BYDAY={which}{_DAYS[day]}"


def _posix_rule(zone: str) -> str:
    """The last line of the zone's file, looked for where ``zoneinfo`` looks for it."""
    packaged = files("tzdata").joinpath("zoneinfo", *zone.split("/"))
    for file in chain((Path(base, zone) for base in TZPATH), [packaged]):
        if file.is_file():
            return file.read_bytes().rstrip(b"\n").rpartition(b"\n")[2].decode("ascii", "replace")
    return ""


def _agree(
    observances: tuple[Observance, ...], zone: str, year: int, first: int, last: int
) -> bool:
    """Whether rule and zone have the same offset at every minute from ``first`` to ``last``."""
    changes = sorted(chain.from_iterable(_until(last, each, year) for each in observances))
    before = [offset for minute, offset in changes if minute <= first][-1]
    ruled = [(first, before)] + [change for change in changes if change[0] > first]
    return ruled == list(_zone_changes(zone, first, last))


def _until(last: int, observance: Observance, year: int) -> Iterator[tuple[int, int]]:
    """Onsets [UTC minute] up to ``last``, each with the offset [min] from there on."""
    for wall in observance.onsets(year):
        minute = instant(wall.replace(tzinfo=UTC)) - observance.before
        if minute > last:
            return
        yield minute, observance.offset


def _zone_changes(zone: str, first: int, last: int) -> Iterator[tuple[int, int]]:
    """The offset [min] at ``first``, and each later change up to ``last``, to the minute."""
    yield first, _offset(zone, first)
    for early, late in pairwise([*range(first, last, DAY), last]):
        if _offset(zone, early) != _offset(zone, late):
            yield _change(zone, early, late), _offset(zone, late)


def _change(zone: str, early: int, late: int) -> int:
    """The first minute in ``(early, late]`` with the offset of ``late``."""
    while late - early > 1:
        middle = (early + late) // 2
        same = _offset(zone, middle) == _offset(zone, late)
        early, late = (early, middle) if same else (middle, late)
    return late


def _offset(zone: str, minute: int) -> int:
    """Offset from UTC [min] of a UTC minute; zones have had whole minutes since 1972."""
    return (to_local(minute, zone).utcoffset() or timedelta()) // timedelta(minutes=1)
