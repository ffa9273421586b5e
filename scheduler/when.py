"""A moment as a person on site writes it, to a UTC minute.

Dates are ISO 8601; words are counted from a given present moment. What could mean two moments is
refused rather than guessed: a day without a time, ``tomorrow 5`` (in the morning?), ``midnight``
(which end of the day?), a time of today that has passed. Of the past, asked for with ``past``, the
same words mean the last such moment instead of the next one.
"""

import re
from datetime import date, datetime, timedelta

from scheduler.clock import HOUR, day_of, to_minute
from scheduler.errors import did_you_mean
from scheduler.jobfile.hourstext import at_time
from scheduler.jobfile.hourstext import day as calendar_day
from scheduler.quantities import duration
from scheduler.wording import WEEKDAYS

_LONGEST = 60  # characters; nobody writes a moment longer than that
_WORDS = "a day and a time such as tomorrow 9:00, sat 9 am or 2027-01-16 9:00"
_WHICH_MIDNIGHT = "a time from 0:00 to 24:00 instead of midnight, which is two of them"
_WHICH_HALF = "a time with minutes, or with am or pm, such as 9:00 or 5 pm"
_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_DAY = {
    **{name: i for i, name in enumerate(_NAMES)},
    **{name.lower(): i for i, name in enumerate(WEEKDAYS)},
    **{"tues": 1, "weds": 2, "thu": 3, "thur": 3, "thurs": 3},
}
_RELATIVE = {"yesterday": -1, "today": 0, "tomorrow": 1}
_PAST_WORDS = "a day and a time such as yesterday 18:30, sat 9 am or 2027-01-16 9:00"
_CLOCK = re.compile(
    r"[0-9]{1,2}[:.][0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?|[0-9]{1,2}(?:[:.][0-9]{2})?[ap]m"
)
_DATED = re.compile(r"([0-9]{4}-[0-9]{1,2}-[0-9]{1,2})(?:([ t]+)(.+))?")
_OFFSET = re.compile(r"(.*[0-9]) ?(?:z|([+-])([0-9]{2}):?([0-9]{2}))")


def when(text: str, now: int, zone: str, *, past: bool = False) -> int:
    """The moment that a person means.

    - ``2027-01-16 9:00``, ``2027-01-16T09:00``: the clock on the wall; with ``Z`` or an offset such
      as ``-05:00``, exactly that moment. Seconds are dropped.
    - ``today 18:00``, ``tomorrow 9 am``, ``tomorrow noon``, ``yesterday 6 pm``.
    - ``sat 9:00``, ``saturday 9am``: the first one from now on, which may be today; of the past
      the last one.
    - ``18:00``, ``noon``: today, if that is still to come; of the past, if it has come.
    - ``in 3 h``, ``3 h ago``, ``now``.

    A wall time that comes twice in autumn is its first, one left out in spring is the moment of
    the change (``clock.to_minute``).

    Args:
        text: what the person wrote; case and spaces don't matter.
        now: the present moment [UTC min].
        zone: IANA name of the zone in which the person lives.
        past: whether the person tells what has been. Only weekdays and bare times hang on it, so
            what is dated may still lie ahead.

    Raises:
        ValueError: with words that complete "must be ...".

    >>> from scheduler.clock import rfc3339
    >>> monday_noon = to_minute(datetime(2027, 1, 18, 12), "America/Toronto")
    >>> rfc3339(when("sat 9 am", monday_noon, "America/Toronto"), "America/Toronto")
    '2027-01-23T09:00:00-05:00'
    """
    plain = _plain(text)
    if plain == "now":
        return now
    if found := re.fullmatch(r"in (.+)", plain):
        return now + _span(found[1], "in 3 h")
    if found := re.fullmatch(r"(.+) ago", plain):
        return now - _span(found[1], "3 h ago")
    if found := _DATED.fullmatch(plain):
        on = calendar_day(found[1])
        _need_time(found[3], found[1])
        exact = _OFFSET.fullmatch(found[3])
        return _exact(on, found[2], exact) if exact else to_minute(_wall(on, found[3]), zone)
    return _in_words(plain, now, zone, past)


def _plain(text: str) -> str:
    """Lower case, single spaces, am and pm at their time, no "at", "on" or comma."""
    if len(text) > _LONGEST:
        raise ValueError(_WORDS)
    text = re.sub("[‐-―−]", "-", text.lower()).replace(",", " ")
    text = re.sub(r"(?<=[0-9]) ?([ap])\.?m\b\.?", r"\1m", text)
    return " ".join(word for word in text.split() if word not in {"at", "on"})


def _span(text: str, example: str) -> int:
    try:
        return duration(text)
    except ValueError as error:
        raise ValueError(f"a moment such as {example}, with {error}") from None


def _exact(on: date, between: str, clock: re.Match[str]) -> int:
    """The minute of a wall time with its offset.

    Only behind a T: in ``2027-01-16 09:00-10:00`` a person means an hour, not an island.
    """
    if "t" not in between:
        raise ValueError(f"one moment; with an offset write {on}T09:00-05:00")
    hours, minutes = int(clock[3] or 0), int(clock[4] or 0)
    if hours > 14 or minutes > 59:
        raise ValueError(f"a time with an offset up to 14:00, such as {on}T09:00-05:00")
    ahead = hours * HOUR + minutes
    return to_minute(_wall(on, clock[1]), "UTC") - (ahead if clock[2] == "+" else -ahead)


def _wall(on: date, clock: str) -> datetime:
    """The naive wall time of a clock's words on a day."""
    if clock == "noon":
        return at_time(on, "12:00")
    if clock == "midnight":
        raise ValueError(_WHICH_MIDNIGHT)
    if re.fullmatch(r"[0-9]{1,2}", clock):
        raise ValueError(_WHICH_HALF)
    if not _CLOCK.fullmatch(clock):
        raise ValueError(_WORDS)
    return at_time(on, re.sub(r"([:.][0-9]{2}):[0-9]{2}(\.[0-9]+)?$", r"\1", clock))


def _in_words(plain: str, now: int, zone: str, past: bool) -> int:
    """``sat 9:00``, ``noon tomorrow``, ``18:00``."""
    today = day_of(now, zone)
    first, _, clock = _day_first(plain).partition(" ")
    if first in _RELATIVE:
        _need_time(clock, first)
        return to_minute(_wall(today + timedelta(_RELATIVE[first]), clock), zone)
    if first in _DAY:
        _need_time(clock, first)
        on = today + timedelta((_DAY[first] - today.weekday()) % 7)
        return (_last if past else _next)(on, clock, now, zone)
    if first[:1].isdigit() or plain in {"noon", "midnight"}:
        return (_already_today if past else _still_today)(today, plain, now, zone)
    words = _PAST_WORDS if past else _WORDS
    raise ValueError(f"{words}{did_you_mean(first, (*_RELATIVE, *_DAY, 'now', 'noon'))}")


def _day_first(plain: str) -> str:
    """``9:00 tomorrow`` the other way round."""
    rest, _, last = plain.rpartition(" ")
    return f"{last} {rest}" if rest and last in {*_RELATIVE, *_DAY} else plain


def _need_time(clock: str | None, on: str) -> None:
    if not clock:
        raise ValueError(f"a day with a time, such as {on} 9:00")


def _next(on: date, clock: str, now: int, zone: str) -> int:
    """The time on that day, or a week later where it has passed."""
    minute = to_minute(_wall(on, clock), zone)
    return minute if minute >= now else to_minute(_wall(on + timedelta(7), clock), zone)


def _still_today(today: date, clock: str, now: int, zone: str) -> int:
    minute = to_minute(_wall(today, clock), zone)
    if minute < now:
        raise ValueError(f"a day and a time: {clock} today has passed, so say tomorrow {clock}")
    return minute


def _last(on: date, clock: str, now: int, zone: str) -> int:
    """The time on that day, or a week earlier where it is still to come."""
    minute = to_minute(_wall(on, clock), zone)
    return minute if minute <= now else to_minute(_wall(on - timedelta(7), clock), zone)


def _already_today(today: date, clock: str, now: int, zone: str) -> int:
    minute = to_minute(_wall(today, clock), zone)
    if minute > now:
        raise ValueError(
            f"a day and a time: {clock} today is still to come, so say yesterday {clock}"
        )
    return minute
