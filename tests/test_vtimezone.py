"""VTIMEZONE against the zones themselves, read by a parser that did not write it."""

from datetime import UTC, datetime, timedelta
from functools import cache
from io import StringIO
from zoneinfo import available_timezones

import pytest
from dateutil.tz import tzical
from icalendar import Calendar, Timezone

from scheduler.clock import DAY, instant, to_local
from scheduler.ics.vtimezone import observances_of, vtimezone

FIRST = instant(datetime(2026, 1, 8, 17, tzinfo=UTC))
LAST = FIRST + 2 * 365 * DAY

UTC_ITSELF = {"Etc/UCT", "Etc/UTC", "Etc/Universal", "Etc/Zulu", "UCT", "UTC", "Universal", "Zulu"}
NO_YEARLY_RULE = {
    # A time of the day outside 00:00-23:59, which RRULE can't say, in the zone's POSIX rule:
    "Africa/Cairo", "Egypt", "America/Nuuk", "America/Godthab", "America/Scoresbysund",
    "America/Santiago", "Chile/Continental", "Asia/Gaza", "Asia/Hebron",
    "Asia/Jerusalem", "Asia/Tel_Aviv", "Israel",
    # Changes with Ramadan, by a list of dates, which the POSIX rule doesn't know:
    "Africa/Casablanca", "Africa/El_Aaiun",
}  # fmt: skip


@cache
def written(zone: str) -> Timezone | None:
    return vtimezone(zone, FIRST, LAST)


def whole(component: Timezone) -> str:
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add_component(component)
    return bytes(calendar.to_ical()).decode()


def zones() -> list[str]:
    # `localtime` is whatever the machine is set to.
    return sorted(available_timezones() - {"localtime"})


def test_only_zones_without_a_yearly_rule_and_utc_itself_are_written_in_utc() -> None:
    # Source: the zones' own files (IANA time zone database); RFC 9636 for the last line.
    refused = {zone for zone in zones() if written(zone) is None}
    known = UTC_ITSELF | NO_YEARLY_RULE
    assert refused == known & set(zones())


def test_every_written_zone_agrees_with_the_zone_itself_over_two_years() -> None:
    # Source: zoneinfo over the IANA time zone database, read through dateutil's own VTIMEZONE
    # parser (RFC 5545, 3.6.5). Every 5 days and 1 h, and every half hour of the days on which an
    # offset changes.
    step = 5 * DAY + 61
    for zone in zones():
        component = written(zone)
        if component is None:
            continue
        read = tzical(StringIO(whole(component))).get(zone)
        assert read is not None
        minutes = [*range(FIRST, LAST, step), *around_changes(zone)]
        for minute in minutes:
            local = to_local(minute, zone)
            if local.fold == 0:  # a VTIMEZONE can't say the second of two equal wall times
                wall = local.replace(tzinfo=read)
                assert instant(wall.astimezone(UTC)) == minute, (zone, local)


def around_changes(zone: str) -> list[int]:
    changes = [
        day
        for day in range(FIRST, LAST, DAY)
        if to_local(day, zone).utcoffset() != to_local(day + DAY, zone).utcoffset()
    ]
    return [m for day in changes for m in range(day, day + DAY + 1, 30)]


@pytest.mark.parametrize(
    ("zone", "winter", "summer"),
    [
        # Source: the zones' law of 2026, as in the IANA database; hours east of Greenwich.
        ("America/Toronto", -5.0, -4.0),
        ("Europe/Berlin", 1.0, 2.0),
        ("Australia/Sydney", 11.0, 10.0),
        ("Pacific/Auckland", 13.0, 12.0),
        ("America/St_Johns", -3.5, -2.5),
        ("Asia/Kolkata", 5.5, 5.5),
        ("Australia/Lord_Howe", 11.0, 10.5),
        ("Europe/Dublin", 0.0, 1.0),
    ],
)
def test_january_and_july_have_the_offsets_of_the_law(
    zone: str, winter: float, summer: float
) -> None:
    component = written(zone)
    assert component is not None
    read = tzical(StringIO(whole(component))).get(zone)
    for month, hours in ((1, winter), (7, summer)):
        wall = datetime(2027, month, 15, 12, tzinfo=read)
        assert wall.utcoffset() == timedelta(hours=hours)


def test_it_begins_the_year_before_the_first_event_with_the_moments_of_the_rule() -> None:
    # RFC 5545, 3.6.5: DTSTART is the first onset, in the local time of the offset before it.
    component = written("America/Toronto")
    assert component is not None
    onsets = {part.name: part.decoded("dtstart") for part in component.subcomponents}
    assert onsets == {
        "DAYLIGHT": datetime(2025, 3, 9, 2, 0),  # noqa: DTZ001 (wall time)
        "STANDARD": datetime(2025, 11, 2, 2, 0),  # noqa: DTZ001 (wall time)
    }


def test_rules_are_yearly_by_weekday_and_no_dates_are_listed() -> None:
    # Readers put summer events an hour off where the changes are a list of RDATEs.
    component = written("Europe/Berlin")
    assert component is not None
    text = whole(component)
    assert "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3" in text
    assert "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10" in text
    assert "RDATE" not in text


def test_a_zone_without_changes_has_one_offset_and_no_rule() -> None:
    component = written("Asia/Kolkata")
    assert component is not None
    assert [part.name for part in component.subcomponents] == ["STANDARD"]
    assert "RRULE" not in whole(component)


def test_summer_is_daylight_even_where_the_zone_counts_winter_as_negative() -> None:
    # Dublin's rule is IST-1GMT0,...: standard in summer, "daylight" of -1 h in winter.
    component = written("Europe/Dublin")
    assert component is not None
    names = {part.name: str(part["TZNAME"]) for part in component.subcomponents}
    assert names == {"STANDARD": "GMT", "DAYLIGHT": "IST"}


def test_a_law_that_changed_before_the_plan_does_not_matter() -> None:
    # Source: IANA database: Mexico gave up summer time in October 2022.
    since = instant(datetime(2023, 1, 10, tzinfo=UTC))
    before = instant(datetime(2022, 3, 10, tzinfo=UTC))
    assert vtimezone("America/Mexico_City", since, since + DAY) is not None
    assert vtimezone("America/Mexico_City", before, before + 90 * DAY) is None


def test_a_zone_that_will_change_within_a_year_is_not_written_as_steady() -> None:
    # Source: IANA database: Casablanca is steady from July to December 2026.
    july = instant(datetime(2026, 7, 1, tzinfo=UTC))
    assert vtimezone("Africa/Casablanca", july, july + 30 * DAY) is None


@pytest.mark.parametrize(
    ("posix", "expected"),
    [
        # POSIX.1 TZ, as RFC 9636 extends it. Name, offset before, offset, minute, rule.
        ("IST-5:30", [("IST", 330, 330, 0, "")]),
        ("<-03>3", [("-03", -180, -180, 0, "")]),
        (
            "<+1030>-10:30<+11>-11,M10.1.0,M4.1.0",
            [
                ("+11", 630, 660, 120, "FREQ=YEARLY;BYMONTH=10;BYDAY=1SU"),
                ("+1030", 660, 630, 120, "FREQ=YEARLY;BYMONTH=4;BYDAY=1SU"),
            ],
        ),
        (
            "<+1245>-12:45<+1345>,M9.5.0/2:45,M4.1.0/3:45",
            [
                ("+1345", 765, 825, 165, "FREQ=YEARLY;BYMONTH=9;BYDAY=-1SU"),
                ("+1245", 825, 765, 225, "FREQ=YEARLY;BYMONTH=4;BYDAY=1SU"),
            ],
        ),
        ("UTC0", []),
        ("", []),
        ("TZif2\ufffd", []),
        ("EST5EDT,J60,J300", []),
        ("<-02>2<-01>,M3.5.0/-1,M10.5.0/0", []),
        ("<-04>4<-03>,M9.1.6/24,M4.1.6/24", []),
    ],
)
def test_a_posix_rule_says_its_observances(
    posix: str, expected: list[tuple[str, int, int, int, str]]
) -> None:
    found = [(o.name, o.before, o.offset, o.minute, o.rule) for o in observances_of(posix)]
    assert found == expected


def test_a_zone_file_without_a_last_line_is_written_in_utc(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduler.ics.vtimezone._posix_rule", lambda zone: "")
    assert vtimezone("Europe/Berlin", FIRST, LAST) is None


def test_zones_are_found_in_the_package_where_the_system_has_none(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("scheduler.ics.vtimezone.TZPATH", ())
    component = vtimezone("Europe/Berlin", FIRST, LAST)
    assert component is not None
    known = written("Europe/Berlin")
    assert known is not None
    assert component.to_ical() == known.to_ical()
