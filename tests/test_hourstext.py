"""Hours and dates, in every spelling that a job file takes."""

# ruff: noqa: DTZ001 (wall times have no zone)

from datetime import date, datetime

import pytest

from scheduler.clock import DAY
from scheduler.jobfile import hourstext
from scheduler.model import ALWAYS, Away, Dated, Weekly

MON, TUE, WED, FRI, SAT, SUN = 0, 1, 2, 4, 5, 6


def weekly(days: set[int], start: float, end: float) -> Weekly:
    """Weekly hours, with times in hours."""
    return Weekly(frozenset(days), round(start * 60), round(end * 60))


def dated(day: int, start: float, end: float) -> Dated:
    """Hours on a day of January 2027."""
    return Dated(date(2027, 1, day), round(start * 60), round(end * 60))


MON_FRI = {0, 1, 2, 3, 4}
EVERY_DAY = set(range(7))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("mon-fri 18:00-21:30", [weekly(MON_FRI, 18, 21.5)]),
        ("sat-sun 09:00-17:00", [weekly({SAT, SUN}, 9, 17)]),
        ("sat 9-17", [weekly({SAT}, 9, 17)]),
        ("Sat 9 - 17", [weekly({SAT}, 9, 17)]),
        ("sat 9–17", [weekly({SAT}, 9, 17)]),
        ("sat 9.30-17.00", [weekly({SAT}, 9.5, 17)]),
        ("sat 9 am-5 pm", [weekly({SAT}, 9, 17)]),
        ("sat 9am to 6:30 pm", [weekly({SAT}, 9, 18.5)]),
        ("sat 9 a.m. - 5 p.m.", [weekly({SAT}, 9, 17)]),
        ("sat 12 am-12 pm", [weekly({SAT}, 0, 12)]),
        ("sat 12 pm-12 am", [weekly({SAT}, 12, 24)]),
        ("sat 0:00-24:00", [weekly({SAT}, 0, 24)]),
        ("sat 12:00-24:00", [weekly({SAT}, 12, 24)]),
        ("sat 12:00-0:00", [weekly({SAT}, 12, 24)]),
        ("mon, wed 18:00-21:00", [weekly({MON, WED}, 18, 21)]),
        ("mon wed 18:00-21:00", [weekly({MON, WED}, 18, 21)]),
        ("mon and wed 18:00-21:00", [weekly({MON, WED}, 18, 21)]),
        ("mon-tue, fri 18-21", [weekly({MON, TUE, FRI}, 18, 21)]),
        ("mon to fri 6 pm to 9 pm", [weekly(MON_FRI, 18, 21)]),
        ("fri-mon 8-12", [weekly({FRI, SAT, SUN, MON}, 8, 12)]),
        ("sun-mon 8-12", [weekly({SUN, MON}, 8, 12)]),
        ("mon-mon 8-12", [weekly({MON}, 8, 12)]),
        ("daily 8:00-16:00", [weekly(EVERY_DAY, 8, 16)]),
        ("weekdays 18-21", [weekly(MON_FRI, 18, 21)]),
        ("weekends 9-17", [weekly({SAT, SUN}, 9, 17)]),
        ("Monday, thurs 8-9", [weekly({MON, 3}, 8, 9)]),
        ("saturdays 8-9", [weekly({SAT}, 8, 9)]),
        ("mon-fri 22:00-06:00", [weekly(MON_FRI, 22, 6)]),
        ("sat 10 pm-6 am", [weekly({SAT}, 22, 6)]),
        ("sat 18:00-10:00", [weekly({SAT}, 18, 10)]),  # 16 h over midnight, the most
        ("mon-fri 8-12, 13-17", [weekly(MON_FRI, 8, 12), weekly(MON_FRI, 13, 17)]),
        ("mon 8-12, wed 13-17", [weekly({MON}, 8, 12), weekly({WED}, 13, 17)]),
        ("2027-01-14 08:00-12:00", [dated(14, 8, 12)]),
        ("2027-1-14 8-12, 13-17", [dated(14, 8, 12), dated(14, 13, 17)]),
        ("2027-01-14, 2027-01-16 8-12", [dated(14, 8, 12), dated(16, 8, 12)]),
        ("2027-01-14, sat 8-12", [dated(14, 8, 12), weekly({SAT}, 8, 12)]),
        ("2027-01-14 22:00-06:00", [dated(14, 22, 6)]),
        ("always", list(ALWAYS)),
        ("Always", list(ALWAYS)),
        ("24/7", list(ALWAYS)),
    ],
)
def test_a_line_of_hours_is_read(line: str, expected: list[Weekly | Dated]) -> None:
    assert list(hourstext.hours(line)) == expected


@pytest.mark.parametrize(
    "line",
    [
        "", "mon", "9-17", "mon 8", "mon 8-", "mon -8", "mon 8-12-14", "mon 8-12 wed", "8-12 mon",
        "mon 24:00-6:00", "mon 24:30-25:00", "mon 8:5-9", "mon 008-9", "mon 0 am-9 am",
        "mon always", "moon 8-9", "mon-tue-wed 8-9", "mon-2027-01-14 8-9",
        "2027-01-14..2027-01-16 8-12", "2027-13-01 8-12", "2027-01 8-12",
        "mon 9-5", "mon 9-17 9-17x",
    ],
)  # fmt: skip
def test_hours_that_could_be_misread_are_refused(line: str) -> None:
    with pytest.raises(ValueError, match=r"times|days|date"):
        hourstext.hours(line)


def away(start: tuple[int, ...], end: tuple[int, ...]) -> Away:
    """Away in January 2027, from and to day, hour and minute."""
    return Away(datetime(2027, 1, *start), datetime(2027, 1, *end))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2027-01-13", [away((13,), (14,))]),
        ("2027-01-20..2027-01-22", [away((20,), (23,))]),
        ("2027-01-20 .. 2027-01-22", [away((20,), (23,))]),
        ("2027-01-20 to 2027-01-22", [away((20,), (23,))]),
        ("2027-01-20 – 2027-01-22", [away((20,), (23,))]),
        ("2027-01-20…2027-01-22", [away((20,), (23,))]),
        ("2027-01-20..2027-01-20", [away((20,), (21,))]),
        ("2027-01-13, 2027-01-20..2027-01-22", [away((13,), (14,)), away((20,), (23,))]),
        ("2027-01-14 12:00..2027-01-14 16:00", [away((14, 12), (14, 16))]),
        ("2027-01-14T12:00..2027-01-15T16:00", [away((14, 12), (15, 16))]),
        ("2027-01-14 12:00..16:00", [away((14, 12), (14, 16))]),
        ("2027-01-14 12 pm to 4 pm", [away((14, 12), (14, 16))]),
        ("2027-01-14 12:00..2027-01-16", [away((14, 12), (17,))]),
        ("2027-01-14..2027-01-16 12:00", [away((14,), (16, 12))]),
        ("2027-01-14 12:00..24:00", [away((14, 12), (15,))]),
    ],
)
def test_days_away_are_read(text: str, expected: list[Away]) -> None:
    assert list(hourstext.away(text)) == expected


@pytest.mark.parametrize(
    "text",
    ["", "monday", "2027-01-22..2027-01-20", "2027-01-14 12:00", "2027-01-14..", "..2027-01-14",
     "2027-01-14..2027-01-15..2027-01-16", "2027-01-14 16:00..12:00", "2027-01-14 12:00..12:00",
     "2027-01-20..22", "2027-01-20 8:00..22", "2027-01-20..16:00", "20.1.2027", "2027-01-13,"],
)  # fmt: skip
def test_days_away_that_could_be_misread_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"date|time"):
        hourstext.away(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2027-01-08", date(2027, 1, 8)),
        ("2027-1-8", date(2027, 1, 8)),
        ("2028-02-29", date(2028, 2, 29)),
        ("2027-01-08 17:00", datetime(2027, 1, 8, 17)),
        ("2027-01-08T17:00", datetime(2027, 1, 8, 17)),
        ("2027-01-08T17:00:59", datetime(2027, 1, 8, 17)),
        ("2027-01-08  17", datetime(2027, 1, 8, 17)),
        ("2027-01-08 5:30 pm", datetime(2027, 1, 8, 17, 30)),
        ("2027-01-31 24:00", datetime(2027, 2, 1)),
        ("2150-12-31 24:00", datetime(2151, 1, 1)),
    ],
)
def test_dates_and_local_times_are_read(text: str, expected: date) -> None:
    assert hourstext.moment(text) == expected
    assert type(hourstext.moment(text)) is type(expected)


@pytest.mark.parametrize(
    "text",
    ["", "8 January 2027", "01/08/2027", "8.1.2027", "20270108", "2027-01-08Z", "2027-01-08 17:00Z",
     "2027-01-08 17:00+01:00", "2027-01-08 17:60", "2027-01-08 25:00", "2027-02-29", "2027-00-01",
     "1989-12-31", "2151-01-01", "2027-01-08 noon", "99999-01-01", "2027-01-08 17:00 EST"],
)  # fmt: skip
def test_dates_that_could_be_misread_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"date|time"):
        hourstext.moment(text)


def test_a_day_is_the_first_minute_or_the_last_and_a_time_is_itself() -> None:
    zone = "America/Toronto"
    day, noon = date(2027, 1, 8), datetime(2027, 1, 8, 12)
    assert hourstext.last_minute(day, zone) - hourstext.first_minute(day, zone) == DAY
    assert hourstext.first_minute(noon, zone) == hourstext.last_minute(noon, zone)
    assert hourstext.first_minute(noon, zone) - hourstext.first_minute(day, zone) == DAY // 2
