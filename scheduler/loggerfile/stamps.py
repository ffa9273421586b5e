"""Dates and clocks as loggers write them, to wall times: twelve hours or twenty-four, any order."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache

from scheduler.loggerfile.rows import refused
from scheduler.wording import MONTHS, counted

_CLOCK = (
    r"(?P<hour>[0-9]{1,2})[:.h](?P<minute>[0-9]{2})(?:[:.][0-9]{2}(?:[.,][0-9]+)?)?"
    r"(?: ?(?P<half>[ap])\.? ?m\.?)?"
    r"(?: ?(?P<zone>z|utc|gmt|(?:utc|gmt)?[+-][0-9]{1,2}(?::?[0-9]{2})?))?"
)
_WEEKDAY = r"(?:[a-z]{2,9}\.?,? +)?"
_FORMS = {
    "year first": r"(?P<year>[0-9]{4})(?P<by>[-/.])(?P<month>[0-9]{1,2})(?P=by)(?P<day>[0-9]{1,2})",
    "compact": r"(?P<year>[0-9]{4})(?P<month>[0-9]{2})(?P<day>[0-9]{2})",
    "dots": r"(?P<day>[0-9]{1,2})\.(?P<month>[0-9]{1,2})\.(?P<year>[0-9]{4}|[0-9]{2})",
    "either": r"(?P<first>[0-9]{1,2})(?P<by>[-/])(?P<second>[0-9]{1,2})(?P=by)"
    r"(?P<year>[0-9]{4}|[0-9]{2})",
    "named": _WEEKDAY + r"(?P<day>[0-9]{1,2})[-. /]+(?P<name>[a-z]{3,9})\.?[-., /]+"
    r"(?P<year>[0-9]{4}|[0-9]{2})",
    "name first": _WEEKDAY + r"(?P<name>[a-z]{3,9})\.? +(?P<day>[0-9]{1,2}),? +(?P<year>[0-9]{4})",
}
_PATTERNS = {
    **{form: re.compile(rf"{date}[t ,]+{_CLOCK}") for form, date in _FORMS.items()},
    "compact": re.compile(
        _FORMS["compact"] + r"[t ]?(?P<hour>[0-9]{2}):?(?P<minute>[0-9]{2})(?::?[0-9]{2})?"
        r"(?P<half>)(?P<zone>z|[+-][0-9]{2}:?[0-9]{2})?"
    ),
}
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (UTC, or a wall time)
_SHEET_EPOCH = datetime(1899, 12, 30)  # noqa: DTZ001 (day 0 of spreadsheets)
_SHEET_DAYS = (20_000, 80_000)  # 1954 to 2119
_SECONDS, _MILLISECONDS = 1e8, 1e11  # the least that count from 1970: 1973 either way
_TRIED = 60  # rows that decide on a form

Stamp = tuple[datetime, int | None]
"""A naive time and its offset from UTC [min]: None for the wall clock of an unnamed zone."""


@dataclass(frozen=True)
class Stamps:
    """The time of each row, None where it can't be read, and what was supposed of them."""

    stamps: Sequence[Stamp | None]
    notes: tuple[str, ...] = ()


def looks_like_time(text: str) -> bool:
    """Whether a cell may hold a date with a time, or a count of seconds or days."""
    plain = _plain(text)
    if _NUMBER.fullmatch(plain):
        return _scale(float(plain)) is not None or len(plain) < 9
    return any(pattern.fullmatch(plain) for pattern in _PATTERNS.values())


def stamps(texts: Sequence[str], name: str, line: int, day_first: bool | None) -> Stamps:
    """The time of each row.

    Args:
        texts: date and time of each row.
        name: of the file.
        line: where the rows begin.
        day_first: whether 3/2 is the 3rd of February; None to find out from the file.

    Raises:
        BadFile: where no time can be read, or nothing tells the day from the month.
    """
    plain = [_plain(text) for text in texts]
    some = [text for text in plain if text][:_TRIED]
    numbers = [text for text in some if _NUMBER.fullmatch(text)]
    if len(numbers) * 2 > len(some) and not _fits("compact", some):
        return _counted(plain, float(numbers[0]), name, line)
    form = max(_PATTERNS, key=lambda each: _fits(each, some))
    matches = [_PATTERNS[form].fullmatch(text) for text in plain]
    if form != "either":
        return Stamps([m and _stamp(m, _month, _day) for m in matches])
    first, note = _day_is_first(matches, name, line, day_first)
    month, day = (_second, _first) if first else (_first, _second)
    return Stamps([m and _stamp(m, month, day) for m in matches], (note,) if note else ())


def _plain(text: str) -> str:
    """Lower case, single spaces."""
    return " ".join(text.lower().replace("\N{MINUS SIGN}", "-").split())


def _fits(form: str, texts: Sequence[str]) -> int:
    """How many of the texts have that form."""
    return sum(_PATTERNS[form].fullmatch(text) is not None for text in texts)


# Counted from a moment ----------------------------------------------------------------------------


def _scale(number: float) -> float | None:
    """Seconds that one of such a number stands for; None for what counts from no known moment."""
    if number >= _SECONDS:
        return 0.001 if number >= _MILLISECONDS else 1.0
    return 86_400.0 if _SHEET_DAYS[0] < number < _SHEET_DAYS[1] else None


def _counted(texts: Sequence[str], sample: float, name: str, line: int) -> Stamps:
    """Seconds or milliseconds since 1970, or the days of a spreadsheet."""
    scale = _scale(sample)
    if scale is None:
        raise refused(
            name,
            f"the times are bare numbers such as {sample:g}, counted from nobody says when; write "
            "dates with times, such as 2027-01-09 18:30",
            line,
        )
    sheet = scale > 1
    epoch, offset = (_SHEET_EPOCH, None) if sheet else (_EPOCH, 0)
    read = [
        (epoch + timedelta(seconds=round(float(text) * scale)), offset)
        if _NUMBER.fullmatch(text) and _scale(float(text)) == scale
        else None
        for text in texts
    ]
    unit = "days of a spreadsheet" if sheet else "milliseconds" if scale < 1 else "seconds"
    return Stamps(read, (f"the times are numbers: read as {unit}{'' if sheet else ' since 1970'}",))


# Written out --------------------------------------------------------------------------------------

_Part = Callable[[re.Match[str]], int]


def _month(match: re.Match[str]) -> int:
    named = match.groupdict().get("name")
    return _named_month(named) if named else int(match["month"])


@lru_cache(maxsize=64)
def _named_month(name: str) -> int:
    """1..12 by the first three letters, 0 for no month."""
    short = [month.lower() for month in MONTHS]
    return short.index(name[:3]) + 1 if name[:3] in short else 0


def _day(match: re.Match[str]) -> int:
    return int(match["day"])


def _first(match: re.Match[str]) -> int:
    return int(match["first"])


def _second(match: re.Match[str]) -> int:
    return int(match["second"])


def _stamp(match: re.Match[str], month: _Part, day: _Part) -> Stamp | None:
    """The time of a match; None for a day or an hour that there is not."""
    year, hour, minute = int(match["year"]), int(match["hour"]), int(match["minute"])
    if match["half"] and hour <= 12:
        hour = hour % 12 + (12 if match["half"] == "p" else 0)
    if hour > 24 or minute > 59 or (hour == 24 and minute):
        return None
    try:
        on = datetime(year if year > 99 else 2000 + year, month(match), day(match))  # noqa: DTZ001
    except ValueError:
        return None
    return on + timedelta(hours=hour, minutes=minute), _offset(match["zone"])


@lru_cache(maxsize=64)
def _offset(zone: str | None) -> int | None:
    """Offset from UTC [min] of ``z``, ``utc``, ``-05:00``, ``gmt-5``; None for nothing."""
    if not zone:
        return None
    found = re.search(r"([+-])([0-9]{1,2}):?([0-9]{2})?$", zone)
    if not found:
        return 0
    size = int(found[2]) * 60 + int(found[3] or 0)
    return -size if found[1] == "-" else size


def offset_in(heading: str) -> int | None:
    """The offset that the heading of a time column names, as in ``Time (UTC)``, ``GMT-05:00``.

    >>> offset_in("Date Time, GMT-05:00"), offset_in("Time (UTC)"), offset_in("Time")
    (-300, 0, None)
    """
    found = re.search(
        r"\b(?:utc|gmt)(?: ?[+-] ?[0-9]{1,2}(?::?[0-9]{2})?)?(?![a-z])", heading.lower()
    )
    return _offset(found.group().replace(" ", "")) if found else None


def _day_is_first(
    matches: Sequence[re.Match[str] | None], name: str, line: int, asked: bool | None
) -> tuple[bool, str]:
    """Whether the day comes before the month, and what is to be said of that.

    A field above 12 is the day. Else the person says; else the field that changes more is the day.
    """
    pairs = {(_first(m), _second(m)) for m in matches if m}
    firsts, seconds = {a for a, _ in pairs}, {b for _, b in pairs}
    if (max(firsts) > 12) != (max(seconds) > 12):
        sure = max(firsts) > 12
        if asked is not None and asked != sure:
            return sure, f"--day-first {_yes(asked)} can't be: there is no month {_above(pairs)}"
        return sure, ""
    if asked is not None:
        return asked, ""
    if len(firsts) == len(seconds):
        _ask_for_order(pairs, name, line)
    first = len(firsts) > len(seconds)
    more, less = (firsts, seconds) if first else (seconds, firsts)
    order = "day/month" if first else "month/day"
    return first, (
        f"dates are read as {order}: {counted(len(more), 'value')} in one place, "
        f"{len(less)} in the other (--day-first says otherwise)"
    )


def _above(pairs: set[tuple[int, int]]) -> int:
    return max(max(pair) for pair in pairs)


def _yes(day_first: bool) -> str:
    return "yes" if day_first else "no"


def _ask_for_order(pairs: set[tuple[int, int]], name: str, line: int) -> None:
    a, b = min(pairs)
    raise refused(
        name,
        f"nothing tells the day from the month in {a}/{b}: say --day-first yes for "
        f"{a} {MONTHS[b - 1]}, or --day-first no for {b} {MONTHS[a - 1]}",
        line,
    )
