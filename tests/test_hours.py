"""Hours on wall clocks as UTC minutes, through clock changes; spans of minutes and their maps."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import DAILY, WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import DAY, HOUR, rfc3339
from scheduler.hours import NEVER, Spans, hours_of, intersect, spans, subtract, wall_minute
from scheduler.jobfile import hourstext
from scheduler.model import Dated, Person, Weekly
from tests.support.examples import examples
from tests.support.planned import at


def person(hours: str | Iterable[str], away: Iterable[str] = ()) -> Person:
    """Somebody with hours and absences as a job file has them."""
    lines = [hours] if isinstance(hours, str) else hours
    return Person(
        "me",
        tuple(line for text in lines for line in hourstext.hours(text)),
        tuple(one for text in away for one in hourstext.away(text)),
    )


def between(who: Person, zone: str, first: str, last: str) -> list[tuple[str, str]]:
    """A person's hours between two wall times, as RFC 3339 without the seconds."""
    found = hours_of(who, zone, at(first, zone), at(last, zone))
    return [(_rfc(start, zone), _rfc(end, zone)) for start, end in found]


def _rfc(minute: int, zone: str) -> str:
    return rfc3339(minute, zone).replace(":00+", "+").replace(":00-", "-")


# Clock changes as the IANA time zone database has them. A window keeps its ends on the wall.
CHANGES = [
    # Toronto, 2027-03-14: 2:00 becomes 3:00.
    ("America/Toronto", "2027-03-14", "sun 1:00-5:00", ("01:00-05", "05:00-04"), 3 * HOUR),
    ("America/Toronto", "2027-03-14", "sun 2:30-4:00", ("03:00-04", "04:00-04"), HOUR),
    ("America/Toronto", "2027-03-14", "sun 1:30-2:30", ("01:30-05", "03:00-04"), 30),
    ("America/Toronto", "2027-03-14", "sun 2:10-2:50", None, 0),  # the wall never shows it
    ("America/Toronto", "2027-03-14", "sun 0:00-24:00", ("00:00-05", "00:00-04"), 23 * HOUR),
    # Toronto, 2027-11-07: 2:00 becomes 1:00, and 1:00 to 2:00 comes twice.
    ("America/Toronto", "2027-11-07", "sun 0:00-4:00", ("00:00-04", "04:00-05"), 5 * HOUR),
    ("America/Toronto", "2027-11-07", "sun 1:30-2:00", ("01:30-04", "02:00-05"), 90),
    ("America/Toronto", "2027-11-07", "sun 0:30-1:30", ("00:30-04", "01:30-04"), HOUR),
    ("America/Toronto", "2027-11-07", "sun 0:00-24:00", ("00:00-04", "00:00-05"), 25 * HOUR),
    # Berlin, 2027-03-28 and 2027-10-31.
    ("Europe/Berlin", "2027-03-28", "sun 1:00-6:00", ("01:00+01", "06:00+02"), 4 * HOUR),
    ("Europe/Berlin", "2027-03-28", "sun 2:30-6:00", ("03:00+02", "06:00+02"), 3 * HOUR),
    ("Europe/Berlin", "2027-10-31", "sun 2:00-4:00", ("02:00+02", "04:00+01"), 3 * HOUR),
    # Lord Howe Island moves by half an hour: 2027-04-04 back at 2:00, 2027-10-03 on at 2:00.
    ("Australia/Lord_Howe", "2027-04-04", "sun 1:00-3:00", ("01:00+11", "03:00+1030"), 150),
    ("Australia/Lord_Howe", "2027-10-03", "sun 1:00-3:00", ("01:00+1030", "03:00+11"), 90),
    # Santiago changes at midnight: on 2027-09-05 the day starts at 1:00; 2027-04-03 ends twice.
    ("America/Santiago", "2027-09-05", "sun 0:00-8:00", ("01:00-03", "08:00-03"), 7 * HOUR),
    ("America/Santiago", "2027-04-03", "sat 22:00-24:00", ("22:00-03", "00:00-04"), 3 * HOUR),
]


@pytest.mark.parametrize(("zone", "day", "line", "ends", "minutes"), CHANGES)
def test_a_window_keeps_its_wall_clock_ends_through_a_clock_change(
    zone: str, day: str, line: str, ends: tuple[str, str] | None, minutes: int
) -> None:
    start = at(day, zone)
    found = hours_of(person(line), zone, start, start + 2 * DAY)
    clocks = [(_clock(a, zone), _clock(b, zone)) for a, b in found]
    assert clocks == ([] if ends is None else [ends])
    assert found.total == minutes


def _clock(minute: int, zone: str) -> str:
    local = datetime.fromtimestamp(minute * 60, ZoneInfo(zone))
    offset = f"{local:%z}"
    return f"{local:%H:%M}{offset.removesuffix('00') if offset.endswith('00') else offset}"


def test_windows_of_every_night_keep_their_wall_ends_over_both_changes() -> None:
    # IANA: Toronto has EST (-05) in winter and EDT (-04) in summer.
    me = person("daily 22:00-6:00")
    assert between(me, "America/Toronto", "2027-03-13 12:00", "2027-03-15 12:00") == [
        ("2027-03-13T22:00-05:00", "2027-03-14T06:00-04:00"),
        ("2027-03-14T22:00-04:00", "2027-03-15T06:00-04:00"),
    ]
    nights = [
        hours_of(
            me, "America/Toronto", at(day, "America/Toronto"), at(day, "America/Toronto") + DAY
        )
        for day in ("2027-03-13 12:00", "2027-03-14 12:00", "2027-11-06 12:00", "2027-11-07 12:00")
    ]
    assert [night.total for night in nights] == [7 * HOUR, 8 * HOUR, 9 * HOUR, 8 * HOUR]


def test_a_day_that_the_calendar_skips_has_no_hours() -> None:
    # IANA: Samoa went over the date line; 2011-12-29 was followed by 2011-12-31.
    me = person("daily 9:00-17:00")
    zone = "Pacific/Apia"
    found = hours_of(me, zone, at("2011-12-29", zone), at("2012-01-01", zone))
    assert [_rfc(start, zone) for start, _ in found] == [
        "2011-12-29T09:00-10:00",
        "2011-12-31T09:00+14:00",
    ]


@pytest.mark.parametrize("zone", ["America/Toronto", "Asia/Kathmandu", "Etc/UTC"])
def test_an_overnight_window_runs_into_the_next_day(zone: str) -> None:
    found = hours_of(
        person("fri 22:00-2:00"), zone, at("2027-01-08 12:00", zone), at("2027-01-16", zone)
    )
    assert list(found) == [
        (at("2027-01-08 22:00", zone), at("2027-01-09 02:00", zone)),
        (at("2027-01-15 22:00", zone), at("2027-01-16 00:00", zone)),
    ]


def test_an_overnight_window_that_began_before_the_job_still_runs() -> None:
    zone = "Europe/Berlin"
    start = at("2027-01-09 01:00", zone)
    found = hours_of(person("fri 22:00-2:00"), zone, start, start + DAY)
    assert list(found) == [(start, at("2027-01-09 02:00", zone))]


def test_a_window_that_ends_as_it_starts_is_a_whole_day() -> None:
    zone = "America/Toronto"
    line = Weekly(frozenset({5}), 8 * HOUR, 8 * HOUR)  # over the night in which clocks go on
    found = hours_of(Person("me", (line,)), zone, at("2027-03-13", zone), at("2027-03-16", zone))
    assert list(found) == [(at("2027-03-13 08:00", zone), at("2027-03-14 08:00", zone))]
    assert found.total == 23 * HOUR


def test_always_is_one_stretch_of_time() -> None:
    zone = "America/Toronto"
    start, end = at("2027-03-01 07:13", zone), at("2027-12-01 19:41", zone)
    assert list(hours_of(person("always"), zone, start, end)) == [(start, end)]


def test_dated_hours_add_to_weekly_ones_and_away_beats_both() -> None:
    zone = "America/Toronto"
    me = person(
        ["thu-fri 18:00-21:00", "2027-01-14 8:00-12:00", "2027-01-16 9:00-10:00"],
        ["2027-01-15", "2027-01-14 11:00..2027-01-14 19:00"],
    )
    assert between(me, zone, "2027-01-13", "2027-01-20") == [
        ("2027-01-14T08:00-05:00", "2027-01-14T11:00-05:00"),
        ("2027-01-14T19:00-05:00", "2027-01-14T21:00-05:00"),
        ("2027-01-16T09:00-05:00", "2027-01-16T10:00-05:00"),
    ]


def test_away_from_a_day_to_a_day_takes_the_last_day_and_the_night_into_it() -> None:
    zone = "Europe/Berlin"
    me = person("daily 22:00-6:00", ["2027-01-20..2027-01-22"])
    assert between(me, zone, "2027-01-19 12:00", "2027-01-23 12:00") == [
        ("2027-01-19T22:00+01:00", "2027-01-20T00:00+01:00"),
        ("2027-01-23T00:00+01:00", "2027-01-23T06:00+01:00"),
    ]


def test_overlapping_and_touching_lines_are_one_stretch() -> None:
    zone = "Etc/UTC"
    me = person(["sat 8:00-12:00", "sat 11:00-14:00", "sat 14:00-15:00", "sat 16:00-17:00"])
    found = hours_of(me, zone, at("2027-01-09", zone), at("2027-01-10", zone))
    day = at("2027-01-09", zone)
    assert list(found) == [(day + 8 * HOUR, day + 15 * HOUR), (day + 16 * HOUR, day + 17 * HOUR)]


ZONES = ("America/Toronto", "Europe/Berlin", "Australia/Sydney", "America/Santiago", "Asia/Tokyo")


@given(
    st.sampled_from(ZONES),
    st.frozensets(st.integers(0, 6), min_size=1),
    st.integers(4 * HOUR, 22 * HOUR),
    st.integers(1, HOUR),
    st.integers(0, 300),
)
@examples()
def test_weekly_hours_are_those_of_another_calendar_library(
    zone: str, days: frozenset[int], start: int, length: int, ahead: int
) -> None:
    # Reference: dateutil's recurrence rules (RFC 5545) on wall clocks. Clocks change in the small
    # hours; by day every wall time comes once.
    end = min(start + 15 * length, 23 * HOUR + 59)
    first = datetime(2027, 1, 1) + timedelta(days=ahead)  # noqa: DTZ001 (wall time)
    last = first + timedelta(days=70)
    rule = rrule(WEEKLY, byweekday=sorted(days), dtstart=first, until=last - timedelta(days=1))
    expected = [(_utc(day, start, zone), _utc(day, end, zone)) for day in rule]
    me = Person("me", (Weekly(days, start, end),))
    assert list(hours_of(me, zone, _utc(first, 0, zone), _utc(last, 0, zone))) == expected


def _utc(day: datetime, minutes: int, zone: str) -> int:
    wall = (day + timedelta(minutes=minutes)).replace(tzinfo=ZoneInfo(zone))
    return int(wall.astimezone(UTC).timestamp()) // 60


@pytest.mark.parametrize("zone", [*ZONES, "Australia/Lord_Howe", "Africa/Casablanca"])
def test_days_follow_each_other_without_a_gap_all_year(zone: str) -> None:
    year = rrule(DAILY, dtstart=datetime(2027, 1, 1), count=366)  # noqa: DTZ001 (wall time)
    for day in year:
        midnight = wall_minute(day.date(), DAY, zone)
        assert midnight == wall_minute(day.date() + timedelta(days=1), 0, zone)
        assert midnight > wall_minute(day.date(), 0, zone)


def test_a_dated_line_on_a_skipped_wall_time_is_the_moment_of_the_change() -> None:
    zone = "America/Toronto"
    day = datetime(2027, 3, 14).date()  # noqa: DTZ001 (wall time)
    found = hours_of(
        Person("me", (Dated(day, 150, 240),)), zone, at("2027-03-14", zone), at("2027-03-15", zone)
    )
    assert list(found) == [(at("2027-03-14 03:00", zone), at("2027-03-14 04:00", zone))]


# Spans, against plain sets of minutes ------------------------------------------------------------

pairs = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=8)
minutes = st.integers(-5, 66)


def the_set(of: Spans) -> set[int]:
    return {minute for start, end in of for minute in range(start, end)}


@given(pairs)
@examples()
def test_spans_hold_the_minutes_of_their_pairs_and_are_apart(given_: list[tuple[int, int]]) -> None:
    made = spans(given_)
    assert the_set(made) == {m for start, end in given_ for m in range(start, end)}
    assert all(start < end for start, end in made)
    assert all(a < b for a, b in zip(made.ends, made.starts[1:], strict=False))


@given(pairs, minutes)
@examples()
def test_counting_minutes_is_counting_a_set(given_: list[tuple[int, int]], minute: int) -> None:
    made = spans(given_)
    held = sorted(the_set(made))
    assert made.count(minute) == sum(m < minute for m in held)
    assert (minute in made) == (minute in held)
    assert made.next(minute) == min((m for m in held if m >= minute), default=NEVER)
    assert made.last(minute) == max((m for m in held if m <= minute), default=-NEVER)
    assert made.total == len(held)
    assert made.longest == max((end - start for start, end in made), default=0)


@given(pairs)
@examples()
def test_the_nth_minute_is_the_inverse_of_the_count(given_: list[tuple[int, int]]) -> None:
    made = spans(given_)
    held = sorted(the_set(made))
    assert [made.minute(n) for n in range(len(held))] == held
    assert [made.count(minute) for minute in held] == list(range(len(held)))
    assert made.minute(-1) == -NEVER
    assert made.minute(len(held)) == NEVER


@given(pairs, minutes, st.integers(1, 40))
@examples()
def test_so_many_minutes_from_one_on_and_up_to_one(
    given_: list[tuple[int, int]], minute: int, n: int
) -> None:
    made = spans(given_)
    ahead = [m for m in sorted(the_set(made)) if m >= minute]
    behind = [m for m in sorted(the_set(made)) if m < minute]
    assert made.end_of(minute, n) == (ahead[n - 1] + 1 if n <= len(ahead) else NEVER + 1)
    assert made.start_of(minute, n) == (behind[-n] if n <= len(behind) else -NEVER)


@given(pairs, pairs, minutes, minutes)
@examples()
def test_parts_of_spans_are_parts_of_sets(
    one: list[tuple[int, int]], other: list[tuple[int, int]], start: int, end: int
) -> None:
    a, b = spans(one), spans(other)
    assert the_set(intersect(a, b)) == the_set(a) & the_set(b)
    assert the_set(subtract(a, b)) == the_set(a) - the_set(b)
    inside = a.within(start, end)
    assert {m for s, e in inside for m in range(s, e)} == the_set(a) & set(range(start, end))
    assert all(s < e for s, e in inside)
    assert a.within(start, start) == ()
    assert spans(subtract(a, b)) == subtract(a, b)
    assert spans(intersect(a, b)) == intersect(a, b)
