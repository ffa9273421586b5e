"""Calendar files read back, by readers from outside and by the library that wrote them."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import ics
import pytest
import recurring_ical_events
import vobject

from scheduler.clock import DAY, instant
from scheduler.model import Job, Plan, PlannedTask, Task, Wait
from tests.planfactory import at, job_of, placed, plan_of

NOW = at("2027-01-05 10:00")
ZONES = [
    "America/Toronto",
    "Europe/Berlin",
    "Australia/Sydney",
    "Pacific/Auckland",
    "America/St_Johns",
    "Asia/Kolkata",
    "Australia/Lord_Howe",  # changes by half an hour
    "Europe/Dublin",  # counts its winter as negative
    "UTC",
    "Africa/Casablanca",  # no yearly rule: written in UTC
]

Span = tuple[datetime, datetime]


def in_utc(minute: int) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(minutes=minute)


def spans_by_icalendar(content: bytes) -> dict[str, Span]:
    whole = icalendar.Calendar.from_ical(content)
    return {
        str(event["UID"]): (
            event.decoded("DTSTART").astimezone(UTC),
            event.decoded("DTEND").astimezone(UTC),
        )
        for event in whole.walk("VEVENT")
    }


def spans_by_vobject(content: bytes) -> dict[str, Span]:
    whole = vobject.readOne(content.decode())
    return {
        event.uid.value: (
            event.dtstart.value.astimezone(UTC),
            event.dtend.value.astimezone(UTC),
        )
        for event in whole.vevent_list
    }


def spans_by_ics(content: bytes) -> dict[str, Span]:
    whole = ics.Calendar(content.decode())
    return {
        event.uid: (event.begin.datetime.astimezone(UTC), event.end.datetime.astimezone(UTC))
        for event in whole.events
    }


def spans_by_recurrence(content: bytes) -> dict[str, Span]:
    whole = icalendar.Calendar.from_ical(content)
    found = recurring_ical_events.of(whole).between(in_utc(0), in_utc(100 * 366 * DAY))
    return {
        str(event["UID"]): (event.start.astimezone(UTC), event.end.astimezone(UTC))
        for event in found
    }


READERS = [spans_by_vobject, spans_by_ics, spans_by_icalendar, spans_by_recurrence]
Reader = Callable[[bytes], dict[str, Span]]

DUBLIN_BY_ICS = pytest.mark.xfail(
    reason="ics asks dateutil for the zone instead of the file, and dateutil is an hour off in"
    " the hours after Dublin's autumn change, whose rule counts the winter as negative"
)
ZONES_AND_READERS = [
    pytest.param(
        zone,
        read,
        marks=[DUBLIN_BY_ICS] if (zone, read) == ("Europe/Dublin", spans_by_ics) else [],
    )
    for zone in ZONES
    for read in READERS
]


def events(content: bytes) -> list[icalendar.Event]:
    return [
        part
        for part in icalendar.Calendar.from_ical(content).subcomponents
        if isinstance(part, icalendar.Event)
    ]


def titled(content: bytes, title: str) -> icalendar.Event:
    (found,) = [event for event in events(content) if title in str(event["SUMMARY"])]
    return found


def said(event: icalendar.Event) -> str:
    return str(event["DESCRIPTION"])


def revisions(content: bytes) -> dict[str, int]:
    return {str(event["UID"]): event.sequence for event in events(content)}


def lines(content: bytes) -> list[str]:
    return content.decode().replace("\r\n ", "").split("\r\n")


def simple(
    *sessions: tuple[int, int],
    zone: str = "America/Toronto",
    task: Task | None = None,
    waits: Iterable[Wait] = (),
) -> tuple[Job, Plan]:
    """One task with its sessions."""
    task = task or Task("board", "Hang backer board", 60, ("me",), "shower")
    job = job_of([task], start=sessions[0][0], zone=zone)
    return job, plan_of(job, [placed(task, *sessions)], waits=waits)


def moved(plan: Plan, task: str, minutes: int) -> Plan:
    def shifted(each: PlannedTask) -> PlannedTask:
        if each.id != task:
            return each
        sessions = tuple((start + minutes, end + minutes) for start, end in each.sessions)
        return replace(
            each, start=each.start + minutes, finish=each.finish + minutes, sessions=sessions
        )

    return replace(plan, tasks=tuple(map(shifted, plan.tasks)))


def without(job: Job, plan: Plan, task: str) -> tuple[Job, Plan]:
    kept = tuple(
        replace(each, after=tuple(link for link in each.after if link.task != task))
        for each in job.tasks
        if each.id != task
    )
    return replace(job, tasks=kept), replace(
        plan,
        tasks=tuple(each for each in plan.tasks if each.id != task),
        waits=tuple(each for each in plan.waits if task not in (each.task, each.for_task)),
    )


def titled_exactly(content: bytes, title: str) -> icalendar.Event:
    (found,) = [event for event in events(content) if event["SUMMARY"] == title]
    return found


def changes(zone: str) -> list[int]:
    """The UTC minutes of 2027, on the half hour, at which the offset changes."""
    tz = ZoneInfo(zone)
    year = range(
        instant(datetime(2027, 1, 1, tzinfo=UTC)), instant(datetime(2028, 1, 1, tzinfo=UTC)), 30
    )
    return [
        minute
        for minute in year
        if in_utc(minute).astimezone(tz).utcoffset()
        != in_utc(minute - 30).astimezone(tz).utcoffset()
    ]


def round_the_changes(zone: str) -> list[tuple[int, int]]:
    """Half-hour sessions from 6 h before each change to 6 h after; and one at noon per month."""
    months = [instant(datetime(2027, month, 15, 12, tzinfo=UTC)) for month in range(1, 13)]
    near = [change + 30 * n for change in changes(zone) for n in range(-12, 12)]
    return [(minute, minute + 30) for minute in sorted({*months, *near})]
