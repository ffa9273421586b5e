"""Working time: from people's hours to spans of UTC minutes, from clock to worked minutes.

``Spans`` is the one shape all time-dependence of people takes: sorted, disjoint, half-open spans of
minutes with the minutes before each summed up. Counting minutes (clock to worked) and finding the
n-th (worked to clock) are each one bisection, so passes, bounds and models stay exact to the
minute however the calendar is shaped.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import accumulate

from scheduler.clock import DAY, day_end, day_of, day_start, to_minute
from scheduler.model import Dated, Person, Weekly

NEVER = 1 << 40
"""Later than any minute of any plan (two million years)."""


@dataclass(frozen=True)
class Spans:
    """Sorted, disjoint, non-touching half-open spans of minutes."""

    starts: tuple[int, ...]
    ends: tuple[int, ...]

    @cached_property
    def _before(self) -> list[int]:
        lengths = (e - s for s, e in zip(self.starts, self.ends, strict=True))
        return [0, *accumulate(lengths)]

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return zip(self.starts, self.ends, strict=True)

    def __contains__(self, minute: int) -> bool:
        return self.next(minute) == minute

    @property
    def total(self) -> int:
        """All minutes."""
        return self._before[-1]

    @property
    def longest(self) -> int:
        """The minutes of the longest span."""
        return max((e - s for s, e in self), default=0)

    def count(self, minute: int) -> int:
        """How many of the minutes lie before ``minute``: the worked-time of a clock time."""
        i = bisect_right(self.starts, minute)
        if i == 0:
            return 0
        return self._before[i - 1] + min(minute, self.ends[i - 1]) - self.starts[i - 1]

    def minute(self, n: int) -> int:
        """The ``n``-th minute, counted from 0; ``NEVER`` past the last, ``-NEVER`` before 0."""
        if n < 0:
            return -NEVER
        if n >= self.total:
            return NEVER
        i = bisect_right(self._before, n) - 1
        return self.starts[i] + n - self._before[i]

    def end_of(self, start: int, n: int) -> int:
        """The end of the first ``n`` minutes (at least one) at or after ``start``.

        Later than ``NEVER`` if there are fewer.
        """
        i = bisect_right(self.starts, start) - 1
        if i >= 0 and start + n <= self.ends[i]:
            return start + n
        return self.minute(self.count(start) + n - 1) + 1

    def start_of(self, end: int, n: int) -> int:
        """The start of the last ``n`` minutes (at least one) before ``end``; ``-NEVER`` if none."""
        i = bisect_left(self.starts, end) - 1
        if i >= 0 and self.starts[i] <= end - n and end <= self.ends[i]:
            return end - n
        return self.minute(self.count(end) - n)

    def next(self, minute: int) -> int:
        """The first minute at or after ``minute``; ``NEVER`` if none."""
        i = bisect_right(self.ends, minute)
        return max(minute, self.starts[i]) if i < len(self.starts) else NEVER

    def last(self, minute: int) -> int:
        """The last minute at or before ``minute``; ``-NEVER`` if none."""
        i = bisect_right(self.starts, minute) - 1
        return min(minute, self.ends[i] - 1) if i >= 0 else -NEVER

    def within(self, start: int, end: int) -> tuple[tuple[int, int], ...]:
        """The parts that lie in ``[start, end)``; none where that is empty."""
        if start >= end:
            return ()
        first, last = bisect_right(self.ends, start), bisect_left(self.starts, end)
        if first >= last:
            return ()
        starts = max(self.starts[first], start), *self.starts[first + 1 : last]
        ends = *self.ends[first : last - 1], min(self.ends[last - 1], end)
        return tuple(zip(starts, ends, strict=True))


NOWHEN = Spans((), ())
"""No minutes at all."""


def spans(pairs: Iterable[tuple[int, int]]) -> Spans:
    """Spans from pairs in any order; overlapping and touching ones join, empty ones go.

    >>> list(spans([(5, 9), (0, 3), (3, 4), (8, 12), (20, 20)]))
    [(0, 4), (5, 12)]
    """
    starts: list[int] = []
    ends: list[int] = []
    for start, end in sorted(pairs):
        if start >= end:
            continue
        if ends and start <= ends[-1]:
            ends[-1] = max(ends[-1], end)
        else:
            starts.append(start)
            ends.append(end)
    return Spans(tuple(starts), tuple(ends))


def intersect(a: Spans, b: Spans) -> Spans:
    """The minutes in both.

    >>> list(intersect(spans([(0, 10), (20, 30)]), spans([(5, 25)])))
    [(5, 10), (20, 25)]
    """
    small, large = (a, b) if len(a.starts) <= len(b.starts) else (b, a)
    if (
        len(small.starts) == 1
        and large.starts[0] >= small.starts[0]
        and large.ends[-1] <= small.ends[0]
    ):
        return large
    starts: list[int] = []
    ends: list[int] = []
    for start, end in small:
        first, last = bisect_right(large.ends, start), bisect_left(large.starts, end)
        if first < last:
            starts += max(large.starts[first], start), *large.starts[first + 1 : last]
            ends += *large.ends[first : last - 1], min(large.ends[last - 1], end)
    return Spans(tuple(starts), tuple(ends))  # in order, none touch


def union(a: Spans, b: Spans) -> Spans:
    """The minutes in either."""
    return spans([*a, *b]) if b.starts else a


def subtract(a: Spans, b: Spans) -> Spans:
    """The minutes of ``a`` that are not in ``b``.

    >>> list(subtract(spans([(0, 10)]), spans([(2, 3), (5, 7)])))
    [(0, 2), (3, 5), (7, 10)]
    """
    if a == b:
        return NOWHEN
    gaps = spans(zip((-NEVER, *b.ends), (*b.starts, NEVER), strict=True))
    return intersect(a, gaps)


def hours_of(person: Person, zone: str, start: int, end: int) -> Spans:
    """A person's hours between two UTC minutes."""
    first, last = day_of(start, zone) - timedelta(days=1), day_of(end, zone)
    weekly = [line for line in person.hours if isinstance(line, Weekly)]
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    present = [
        _span(day, line, zone) for day in days for line in weekly if day.weekday() in line.days
    ]
    dated = (line for line in (*person.hours, *person.booked) if isinstance(line, Dated))
    present += [_span(line.day, line, zone) for line in dated]
    return intersect(subtract(spans(present), _away(person, zone)), spans([(start, end)]))


def booked_of(person: Person, zone: str) -> Spans:
    """The windows that are booked with somebody."""
    return subtract(spans(_span(b.day, b, zone) for b in person.booked), _away(person, zone))


def too_soon(person: Person, zone: str, asked: int) -> Spans:
    """The minutes for which somebody can't be had any more who is asked at a moment [UTC min]."""
    if not person.notice:
        return NOWHEN
    return subtract(spans([(-NEVER, asked + person.notice)]), booked_of(person, zone))


def _away(person: Person, zone: str) -> Spans:
    return spans((to_minute(a.start, zone), to_minute(a.end, zone)) for a in person.away)


def _span(day: date, line: Weekly | Dated, zone: str) -> tuple[int, int]:
    overnight = DAY if line.end <= line.start else 0
    return wall_minute(day, line.start, zone), wall_minute(day, line.end + overnight, zone)


def wall_minute(day: date, minutes: int, zone: str) -> int:
    """The UTC minute at which the wall clock shows ``minutes`` past the midnight of ``day``."""
    day += timedelta(days=minutes // DAY)
    minutes %= DAY
    start = day_start(day, zone)
    if day_end(day, zone) - start == DAY:
        return start + minutes  # no clock change on that day
    return to_minute(datetime.combine(day, time()) + timedelta(minutes=minutes), zone)
