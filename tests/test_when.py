"""Moments as people write them on site."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import instant, rfc3339, to_minute
from scheduler.when import when

ZONE = "America/Toronto"
# A Saturday; the zone is 5 h behind UTC in winter.
NOW = to_minute(datetime(2027, 1, 16, 10, 30), ZONE)  # noqa: DTZ001 (wall time)


def said(text: str, now: int = NOW, zone: str = ZONE, *, past: bool = False) -> str:
    return rfc3339(when(text, now, zone, past=past), zone)


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("now", "2027-01-16T10:30:00-05:00"),
        ("NOW ", "2027-01-16T10:30:00-05:00"),
        ("in 3 h", "2027-01-16T13:30:00-05:00"),
        ("in 1 h 30 min", "2027-01-16T12:00:00-05:00"),
        ("2027-01-17 9:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17 at 9:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17, 09:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17 9 am", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17 5:30 p.m.", "2027-01-17T17:30:00-05:00"),
        ("2027-01-17 noon", "2027-01-17T12:00:00-05:00"),
        ("2027-1-7 24:00", "2027-01-08T00:00:00-05:00"),
        ("2027-01-17T09:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T09:00:59", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T09:00-05:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T09:00-0500", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T15:00:00+01:00", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T19:30+05:30", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T14:00Z", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T14:00:00.000z", "2027-01-17T09:00:00-05:00"),
        ("2027-01-17T00:30+01:00", "2027-01-16T18:30:00-05:00"),
        ("today 18:00", "2027-01-16T18:00:00-05:00"),
        ("Today at 6 pm", "2027-01-16T18:00:00-05:00"),
        ("today 9:00", "2027-01-16T09:00:00-05:00"),  # passed, and asked for by name
        ("tomorrow 9:00", "2027-01-17T09:00:00-05:00"),
        ("tomorrow 9am", "2027-01-17T09:00:00-05:00"),
        ("tomorrow 12 am", "2027-01-17T00:00:00-05:00"),
        ("tomorrow 12 pm", "2027-01-17T12:00:00-05:00"),
        ("tomorrow noon", "2027-01-17T12:00:00-05:00"),
        ("9:00 tomorrow", "2027-01-17T09:00:00-05:00"),
        ("noon on Sunday", "2027-01-17T12:00:00-05:00"),
        ("18.30", "2027-01-16T18:30:00-05:00"),
        ("6 pm", "2027-01-16T18:00:00-05:00"),
        ("noon", "2027-01-16T12:00:00-05:00"),
        ("10:30", "2027-01-16T10:30:00-05:00"),  # this very minute has not passed
        # The first one from now on; 2027-01-16 is a Saturday.
        ("sat 10:30", "2027-01-16T10:30:00-05:00"),
        ("sat 18:00", "2027-01-16T18:00:00-05:00"),
        ("sat 9:00", "2027-01-23T09:00:00-05:00"),
        ("saturday 9am", "2027-01-23T09:00:00-05:00"),
        ("sun 9:00", "2027-01-17T09:00:00-05:00"),
        ("Fri 9 AM", "2027-01-22T09:00:00-05:00"),
        ("thurs 8:00", "2027-01-21T08:00:00-05:00"),
        ("yesterday 18:30", "2027-01-15T18:30:00-05:00"),
        ("20 min ago", "2027-01-16T10:10:00-05:00"),
    ],
)
def test_a_moment_is_read_as_it_is_meant(text: str, means: str) -> None:
    assert said(text) == means


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("now", "2027-01-16T10:30:00-05:00"),
        ("yesterday 18:30", "2027-01-15T18:30:00-05:00"),
        ("6 pm yesterday", "2027-01-15T18:00:00-05:00"),
        ("1 h 30 min ago", "2027-01-16T09:00:00-05:00"),
        ("9:00", "2027-01-16T09:00:00-05:00"),
        ("10:30", "2027-01-16T10:30:00-05:00"),  # this very minute
        ("today 7 am", "2027-01-16T07:00:00-05:00"),
        # The last one up to now; 2027-01-16 is a Saturday.
        ("sat 9:00", "2027-01-16T09:00:00-05:00"),
        ("sat 10:30", "2027-01-16T10:30:00-05:00"),
        ("sat 18:00", "2027-01-09T18:00:00-05:00"),
        ("fri 18:30", "2027-01-15T18:30:00-05:00"),
        ("sunday noon", "2027-01-10T12:00:00-05:00"),
        # What is dated is what it says, whoever asks.
        ("2027-01-17 9:00", "2027-01-17T09:00:00-05:00"),
        ("tomorrow 9:00", "2027-01-17T09:00:00-05:00"),
        ("in 3 h", "2027-01-16T13:30:00-05:00"),
    ],
)
def test_of_the_past_the_same_words_mean_the_last_such_moment(text: str, means: str) -> None:
    assert said(text, past=True) == means


@pytest.mark.parametrize(
    ("text", "must_be"),
    [
        ("18:30", "a day and a time: 18:30 today is still to come, so say yesterday 18:30"),
        ("noon", "a day and a time: noon today is still to come, so say yesterday noon"),
        ("before lunch", "a day and a time such as yesterday 18:30, sat 9 am or 2027-01-16 9:00"),
        ("yesterday", "a day with a time, such as yesterday 9:00"),
        ("a while ago", "a moment such as 3 h ago, with a time such as 45 min or 3 h"),
    ],
)
def test_what_is_unclear_of_the_past_is_refused(text: str, must_be: str) -> None:
    with pytest.raises(ValueError, match=r"^a ") as refused:
        when(text, NOW, ZONE, past=True)
    assert str(refused.value) == must_be


@pytest.mark.parametrize(
    ("text", "must_be"),
    [
        ("", "a day and a time such as tomorrow 9:00, sat 9 am or 2027-01-16 9:00"),
        ("soon", "a day and a time such as"),
        ("x" * 500, "a day and a time such as"),
        ("tomorow 9:00", "did you mean 'tomorrow'?"),
        ("satuday 9:00", "did you mean 'saturday'"),
        ("tomorrow morning", "a day and a time such as"),
        ("next sat 9:00", "a day and a time such as"),
        ("01/02/2027 9:00", "a day and a time such as"),
        ("9:00 EST", "a day and a time such as"),
        # A day alone is not a time to start at.
        ("tomorrow", "a day with a time, such as tomorrow 9:00"),
        ("sat", "a day with a time, such as sat 9:00"),
        ("2027-01-17", "a day with a time, such as 2027-01-17 9:00"),
        # What could mean two moments.
        ("tomorrow 5", "a time with minutes, or with am or pm, such as 9:00 or 5 pm"),
        ("midnight", "a time from 0:00 to 24:00 instead of midnight"),
        ("sat midnight", "a time from 0:00 to 24:00 instead of midnight"),
        ("9:00", "9:00 today has passed, so say tomorrow 9:00"),
        ("9 am", "9am today has passed, so say tomorrow 9am"),
        ("2027-01-17 09:00-10:00", "one moment; with an offset write 2027-01-17T09:00-05:00"),
        # What no clock and no calendar has.
        ("2027-02-29 9:00", "a date that the calendar has"),
        ("1066-10-14 9:00", "a date in the years"),
        ("today 25:00", "a time from 0:00 to 24:00"),
        ("today 9:75", "a time from 0:00 to 24:00"),
        ("today 13 pm", "a time from 0:00 to 24:00"),
        ("2027-01-17T09:00+15:00", "a time with an offset up to 14:00"),
        ("2027-01-17T09:00+05:99", "a time with an offset up to 14:00"),
        ("in a while", "a moment such as in 3 h, with a time such as 45 min or 3 h"),
        ("in 20 years", "a moment such as in 3 h, with a time"),
        ("in", "a day and a time such as"),
    ],
)
def test_what_is_unclear_is_refused_with_what_would_be_right(text: str, must_be: str) -> None:
    with pytest.raises(ValueError, match=r"^(a|one) ") as refused:
        when(text, NOW, ZONE)
    assert must_be in str(refused.value)
    assert "\n" not in str(refused.value)


def test_today_is_the_day_in_the_zone_of_the_job() -> None:
    # 03:00 UTC of the 17th is still the evening of the 16th in Toronto (IANA tz database).
    late = instant(datetime(2027, 1, 17, 3, 0, tzinfo=UTC))
    assert said("today 23:00", late) == "2027-01-16T23:00:00-05:00"
    assert said("tomorrow 9:00", late) == "2027-01-17T09:00:00-05:00"
    assert said("today 5:00", late, "UTC") == "2027-01-17T05:00:00+00:00"


def test_a_clock_change_keeps_the_time_on_the_wall() -> None:
    # Toronto springs forward on 2027-03-14 at 2:00 and back on 2027-11-07 at 2:00 (IANA tz
    # database).
    before = to_minute(datetime(2027, 3, 13, 12, 0), ZONE)  # noqa: DTZ001 (wall time)
    assert said("tomorrow 9:00", before) == "2027-03-14T09:00:00-04:00"
    assert said("tomorrow 2:30", before) == "2027-03-14T03:00:00-04:00"  # left out by the clocks
    assert said("2027-11-07 1:30") == "2027-11-07T01:30:00-04:00"  # the first of two
    assert said("2027-11-07T01:30-05:00") == "2027-11-07T01:30:00-05:00"  # the second


def test_a_weekday_whose_time_has_passed_is_a_week_later_on_the_wall() -> None:
    sunday = to_minute(datetime(2027, 3, 7, 12, 0), ZONE)  # noqa: DTZ001 (wall time)
    assert said("sun 9:00", sunday) == "2027-03-14T09:00:00-04:00"


minutes = st.integers(
    instant(datetime(2000, 1, 1, tzinfo=UTC)), instant(datetime(2100, 1, 1, tzinfo=UTC))
)
zones = st.sampled_from(["America/Toronto", "Europe/Berlin", "Australia/Lord_Howe", "Etc/UTC"])


@given(minutes, minutes, zones)
def test_what_json_says_of_a_moment_is_read_back(minute: int, now: int, zone: str) -> None:
    assert when(rfc3339(minute, zone), now, zone) == minute


@given(minutes, zones, st.sampled_from(["mon", "thursday", "sun"]), st.integers(0, 23))
def test_a_weekday_is_never_past_and_at_most_a_week_away(
    now: int, zone: str, weekday: str, hour: int
) -> None:
    # A clock change makes a week an hour longer or shorter.
    assert now <= when(f"{weekday} {hour}:00", now, zone) <= now + 7 * 1440 + 60


@given(minutes, zones, st.sampled_from(["mon", "thursday", "sun"]), st.integers(0, 23))
def test_a_weekday_of_the_past_is_never_ahead_and_at_most_a_week_away(
    now: int, zone: str, weekday: str, hour: int
) -> None:
    assert now - 7 * 1440 - 60 <= when(f"{weekday} {hour}:00", now, zone, past=True) <= now


@given(st.text(max_size=30), minutes)
def test_any_text_is_a_moment_or_refused_with_a_reason(text: str, now: int) -> None:
    try:
        found, refused = when(text, now, ZONE), ""
    except ValueError as error:
        found, refused = None, str(error)
    assert isinstance(found, int) or refused.startswith(("a ", "one "))
