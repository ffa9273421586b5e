"""Dates and hours as people write them in a job file, to plain wall time.

A reader takes text and raises ``ValueError`` whose first argument completes "must be ...", and
whose second, where there is one, is a hint. Dates are ISO 8601 calendar dates (year, month, day):
``01/02/2027`` is two different days to two readers, so it is none here.
"""

import re
from datetime import date, datetime, timedelta

from scheduler.clock import DAY, HOUR, day_end, day_start, to_minute
from scheduler.errors import did_you_mean
from scheduler.model import ALWAYS, Away, Dated, Weekly

EARLIEST, LATEST = 1990, 2150  # years
LONGEST_NIGHT = 16 * HOUR

DATE_WORDS = "a date such as 2027-01-08, or with a time: 2027-01-08 17:00"
HOURS_WORDS = "days with times such as mon-fri 18:00-21:30 or 2027-01-14 8:00-12:00, or always"
AWAY_WORDS = (
    "dates such as 2027-01-13, 2027-01-20..2027-01-22 or 2027-01-14 12:00..2027-01-14 16:00"
)
BOOKED_WORDS = "a date with the times agreed, such as 2027-01-14 8:00-12:00"
_TIME_WORDS = "times from 0:00 to 24:00, such as mon-fri 8:00-16:00 or sat 9 am-5 pm"
_AM_PM_WORDS = "times with am or pm at both ends or at none, such as 9 am-5 pm or 9:00-17:00"
_DAYS_WORDS = "days such as mon, mon-fri, daily, weekdays or 2027-01-14"

Moment = date | datetime
"""A local day, or a naive local wall time."""

_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = {"tues": 1, "weds": 2, "thur": 3, "thurs": 3}
_DAY = {
    **{name[:size]: i for i, name in enumerate(_NAMES) for size in (2, 3)},
    **{name: i for i, name in enumerate(_NAMES)},
    **{name + "s": i for i, name in enumerate(_NAMES)},
    **_SHORT,
}
_SETS = {
    "daily": range(7), "everyday": range(7), "weekdays": range(5), "weekday": range(5),
    "weekends": (5, 6), "weekend": (5, 6),
}  # fmt: skip
_ISO_DATE = r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}"
_CLOCK = r"[0-9]{1,2}(?:[:.][0-9]{2})?(?:am|pm)?"
_WINDOW = re.compile(rf"({_CLOCK})-({_CLOCK})")
_TOKEN = re.compile(rf"{_ISO_DATE}|[^ ,]+")


def day(text: str) -> date:
    """A calendar day, ``2027-01-08``."""
    if not re.fullmatch(_ISO_DATE, text):
        raise ValueError(DATE_WORDS)
    year, month, day_of_month = map(int, text.split("-"))
    if not EARLIEST <= year <= LATEST:
        raise ValueError(f"a date in the years {EARLIEST} to {LATEST}, such as 2027-01-08")
    try:
        return date(year, month, day_of_month)
    except ValueError:
        raise ValueError("a date that the calendar has, such as 2027-01-08") from None


def moment(text: str) -> Moment:
    """A day, or a local wall time: ``2027-01-08``, ``2027-01-08 17:00``, ``2027-01-08T17:00``.

    >>> moment("2027-01-08 5 pm")
    datetime.datetime(2027, 1, 8, 17, 0)
    """
    plain = _plain(text)
    split = re.fullmatch(rf"({_ISO_DATE})(?:[ t]+(.+))?", plain)
    if not split:
        raise ValueError(DATE_WORDS)
    if split[2] is None:
        return day(split[1])
    if re.search(r"[0-9](z|[+-][0-9:]+)$", split[2]):
        raise ValueError("local time, without Z or an offset, such as 2027-01-08 17:00")
    return at_time(day(split[1]), re.sub(r"(:[0-9]{2}):[0-9]{2}$", r"\1", split[2]))


def at_time(on: date, clock: str) -> datetime:
    """The wall time ``clock`` of a day; 24:00 is the midnight that ends it."""
    if not re.fullmatch(_CLOCK, clock):
        raise ValueError(DATE_WORDS)
    try:
        return _midnight(on) + timedelta(minutes=_minute_of_day(clock))
    except ValueError:
        raise ValueError("a time from 0:00 to 24:00, such as 2027-01-08 17:00") from None


def first_minute(when: Moment, zone: str) -> int:
    """The UTC minute of a wall time, or the first of a day."""
    return to_minute(when, zone) if isinstance(when, datetime) else day_start(when, zone)


def last_minute(when: Moment, zone: str) -> int:
    """The UTC minute of a wall time, or the end of a day."""
    return to_minute(when, zone) if isinstance(when, datetime) else day_end(when, zone)


def away(text: str) -> tuple[Away, ...]:
    """Days, spans of days (the last one included) or of wall times; several with commas.

    >>> away("2027-01-20..2027-01-22")[0].end
    datetime.datetime(2027, 1, 23, 0, 0)
    """
    return tuple(_away(part.strip()) for part in _plain(text).split(","))


def _away(text: str) -> Away:
    ends = [end.strip() for end in re.split(r"\.\.+|…| to | - ", text)]
    if len(ends) > 2 or not all(ends):
        raise ValueError(AWAY_WORDS)
    first = moment(ends[0])
    if len(ends) == 1 and isinstance(first, datetime):
        raise ValueError("a time with its end, such as 2027-01-14 12:00..2027-01-14 16:00")
    start = first if isinstance(first, datetime) else _midnight(first)
    last = _last(first, ends[-1])
    end = last if isinstance(last, datetime) else _midnight(last) + timedelta(days=1)
    if end <= start:
        raise ValueError("dates in order, such as 2027-01-20..2027-01-22")
    return Away(start, end)


def _last(first: Moment, text: str) -> Moment:
    """The other end; after a time, ``16:00`` or ``4 pm`` is on the same day (``..22`` isn't)."""
    a_time = re.fullmatch(_CLOCK, text) and not text.isdigit()
    return at_time(first, text) if a_time and isinstance(first, datetime) else moment(text)


def hours(text: str) -> tuple[Weekly | Dated, ...]:
    """A line of hours, such as ``mon-fri 18:00-21:30``, ``mon, wed 9 am-1 pm`` or ``always``.

    A window belongs to the days before it; one without days has those of the window before:
    ``mon-fri 8-12, 13-17``.

    >>> hours("sat 9-17")
    (Weekly(days=frozenset({5}), start=540, end=1020),)
    """
    plain = _tight(_plain(text))
    if plain in {"always", "24/7"}:
        return ALWAYS
    found: list[Weekly | Dated] = []
    days: list[date | frozenset[int]] = []
    closed = False
    for token in _TOKEN.findall(plain):
        if window := _WINDOW.fullmatch(token):
            found += _on(days, *_window(window[1], window[2]))
        else:
            days = [_days(token)] if closed else [*days, _days(token)]
        closed = bool(window)
    if not closed:
        raise ValueError(HOURS_WORDS)
    return tuple(found)


def booked(text: str) -> tuple[Dated, ...]:
    """Windows on dates alone, as hours have them.

    >>> booked("2027-01-14 8-12, 13-16")[1].start
    780
    """
    try:
        found = hours(text)
    except ValueError as error:
        if error.args[0] in {HOURS_WORDS, _DAYS_WORDS}:
            raise ValueError(BOOKED_WORDS) from None
        raise
    windows = tuple(line for line in found if isinstance(line, Dated))
    if len(windows) < len(found):
        raise ValueError(BOOKED_WORDS)
    return windows


def _plain(text: str) -> str:
    """Lower case, one kind of dash and of space, am and pm at their time."""
    text = " ".join(re.sub("[‐-―−]", "-", text.lower()).split())
    return re.sub(r"(?<=[0-9]) ?([ap])\.?m\b\.?", r"\1m", text)


def _tight(text: str) -> str:
    """A line of hours with no space or word within a window or a span of days."""
    text = re.sub(r"\band\b|&|;", ",", text)
    return re.sub(r" ?- ?| to ", "-", text)


def _on(days: list[date | frozenset[int]], start: int, end: int) -> list[Weekly | Dated]:
    """The window on each of the days; the days of the week together."""
    if not days:
        raise ValueError(_DAYS_WORDS)
    dated: list[Weekly | Dated] = [Dated(d, start, end) for d in days if isinstance(d, date)]
    weekly = frozenset[int]().union(*(d for d in days if not isinstance(d, date)))
    return [*dated, Weekly(weekly, start, end)] if weekly else dated


def _days(token: str) -> date | frozenset[int]:
    """What days a word means: one, a span that may run over the weekend's end, or a date."""
    if re.match(r"[0-9]{4}-", token):
        return day(token)
    if token in _SETS:
        return frozenset(_SETS[token])
    if re.match(r"[0-9]", token):
        raise ValueError(_TIME_WORDS)
    ends = [_weekday(word) for word in token.split("-")]
    if len(ends) > 2:
        raise ValueError(_DAYS_WORDS)
    span = (ends[-1] - ends[0]) % 7
    return frozenset((ends[0] + i) % 7 for i in range(span + 1))


def _weekday(word: str) -> int:
    if word not in _DAY:
        known = [name[:3] for name in _NAMES] + [*_NAMES, *_SETS, "always"]
        raise ValueError(_DAYS_WORDS, did_you_mean(word, known) if len(word) < 100 else "")
    return _DAY[word]


def _window(first: str, last: str) -> tuple[int, int]:
    """Minutes of the day; an end at midnight is 1440."""
    if first.endswith("m") != last.endswith("m"):
        raise ValueError(_AM_PM_WORDS)
    start, end = _minute_of_day(first), _minute_of_day(last)
    if start in (end, DAY):
        raise ValueError("times that end after they start; for round the clock write always")
    end = end or DAY
    if end < start and end + DAY - start > LONGEST_NIGHT:
        # "9-5" is meant as 9:00-17:00; read by the letter it would be a shift of 20 h.
        raise ValueError(
            f"times of at most {LONGEST_NIGHT // HOUR} h where they run over midnight; "
            "in the daytime 9:00-17:00 or 9 am-5 pm"
        )
    return start, end


def _minute_of_day(clock: str) -> int:
    """``9``, ``9:00``, ``18.30``, ``9am``, ``6:30pm``, ``24:00`` as a minute of the day."""
    half = clock[-2:] if clock.endswith("m") else ""
    hour, _, minute = clock.removesuffix(half).replace(".", ":").partition(":")
    h, m = int(hour), int(minute or 0)
    if half:
        if not 1 <= h <= 12:
            raise ValueError(_TIME_WORDS)
        h = h % 12 + (12 if half == "pm" else 0)
    if m > 59 or h * HOUR + m > DAY:
        raise ValueError(_TIME_WORDS)
    return h * HOUR + m


def _midnight(on: date) -> datetime:
    return datetime(on.year, on.month, on.day)  # noqa: DTZ001 (wall time)
