"""A plan as an iCalendar file (RFC 5545), and its revision when the plan has changed.

The file is a snapshot, so it has no METHOD: with one, some readers ask for answers or import a
single event. What has not changed keeps its SEQUENCE and stamps, so that an unchanged plan gives
unchanged bytes; what has changed rises in SEQUENCE, by which readers know the newer of two events
with one UID; what was dropped stays as cancelled for 60 days, because a reader that imports a file
again removes nothing by itself.

Which task comes after which is written on the later one, ``RELATED-TO;RELTYPE=DEPENDS-ON`` (RFC
9253): with FINISHTOSTART programs disagree which of the two carries it. ``GAP`` is the wait as
it is planned now.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import MAXYEAR, UTC, datetime, timedelta

from icalendar import Alarm, Calendar, Component, Event
from icalendar.prop import vText

from scheduler.clock import DAY, instant, to_local
from scheduler.errors import ThenwaitError
from scheduler.ics.booking_entries import booking_entries
from scheduler.ics.closed_entries import closed_entries
from scheduler.ics.entries import Entry, job_uid
from scheduler.ics.vtimezone import vtimezone
from scheduler.ics.wait_entries import wait_entries
from scheduler.ics.work_entries import person_entries, work_entries
from scheduler.model import Job, Plan
from scheduler.wording import GLUE

PRODID = "-//thenwait//plan//EN"

_KEEP_CANCELLED = 60 * DAY
_FIRST_SEQUENCE = instant(datetime(2026, 1, 1, tzinfo=UTC))
_REVISION = ("SEQUENCE", "DTSTAMP", "LAST-MODIFIED")
_CANCELLED = "Cancelled: "


def calendar(job: Job, plan: Plan, now: int, previous: bytes | None = None) -> bytes:
    """The plan as the bytes of an .ics file: UTF-8, CRLF, lines of at most 75 octets.

    Args:
        job: the job that was planned.
        plan: its plan.
        now: the moment of writing [UTC minute].
        previous: the file that will be replaced. Without it every SEQUENCE is the minutes since
            2026, so that it rises even where the file before was lost.

    Raises:
        ThenwaitError: ``previous`` can't be read, or holds what this job did not write and what
            would be lost.
    """
    entries = (
        *work_entries(job, plan),
        *wait_entries(job, plan),
        *closed_entries(job, plan),
        *booking_entries(job, plan),
    )
    return _written(job.name, entries, [plan], now, previous)


def person_calendar(
    who: str, planned: Sequence[tuple[Job, Plan]], now: int, previous: bytes | None = None
) -> bytes:
    """The work of one person in several jobs, as ``calendar`` writes that of a job.

    Args:
        who: what the person is called.
        planned: the jobs that know this person, each with its plan; one at least. What was there
            of a job that is not among them stays, as far as it is past.
        now: the moment of writing [UTC minute].
        previous: the file that will be replaced, as for ``calendar``.
    """
    entries = [entry for job, plan in planned for entry in person_entries(who, job, plan)]
    return _written(f"{who} in all jobs", entries, [plan for _, plan in planned], now, previous)


def _written(
    name: str,
    entries: Sequence[Entry],
    plans: Sequence[Plan],
    now: int,
    previous: bytes | None,
) -> bytes:
    """Entries as a calendar of a name, which says whose file it is, too."""
    past = _events_of(previous, name) if previous and previous.strip() else {}
    timezone = plans[0].timezone
    first = min([*(plan.start for plan in plans), *(entry.start for entry in entries)])
    last = max([*(plan.finish for plan in plans), *(entry.end for entry in entries)])
    zone = vtimezone(timezone, first, last)
    current = [_event(entry, timezone if zone else "UTC") for entry in entries]
    events = [_revised(event, past.get(str(event["UID"])), now) for event in current]
    told = {str(event["UID"]) for event in current}
    houses = {_line(plan.job) for plan in plans}
    events += _dropped({uid: old for uid, old in past.items() if uid not in told}, houses, now)
    return _whole(name, [zone] if zone else [], events)


def _whole(name: str, zones: Iterable[Component], events: Iterable[Event]) -> bytes:
    whole = Calendar()
    whole.add("prodid", PRODID)
    whole.add("version", "2.0")
    whole.add("calscale", "GREGORIAN")
    whole.add("uid", job_uid(name))
    whole.add("name", vText(_line(name)))  # RFC 7986
    in_time = sorted(events, key=lambda event: (_minute(event, "DTSTART"), str(event["UID"])))
    for component in (*zones, *in_time):
        whole.add_component(component)
    return bytes(whole.to_ical())


# --------------------------------------------------------------------------------- event


def _event(entry: Entry, zone: str) -> Event:
    """An entry as VEVENT (RFC 5545, 3.6.1), still without its revision."""
    event = Event()
    event.add("uid", entry.uid)
    event.add("summary", _line(entry.summary))
    event.add("description", _text(entry.description))
    event.add("categories", [entry.category])
    event.add("status", "CONFIRMED")
    if entry.where:
        event.add("location", _line(entry.where))
    _add_span(event, entry.start, entry.end, zone)
    _add_transparency(event, entry.busy)
    for uid, lag in entry.depends_on:
        event.add("related-to", _relation(uid, lag))
    for lead in entry.alarms:
        event.add_component(_alarm(lead, entry.alarm_text))
    return event


def _add_span(event: Event, start: int, end: int, zone: str) -> None:
    """DTSTART and DTEND, in local time where that can say it.

    A local time that comes twice means its first (RFC 5545, 3.3.5), so an event that touches the
    second is written in UTC.
    """
    if any(to_local(minute, zone).fold for minute in (start, end)):
        zone = "UTC"
    event.add("dtstart", to_local(start, zone))
    event.add("dtend", to_local(end, zone))


def _add_transparency(event: Event, busy: bool) -> None:
    event.add("transp", "OPAQUE" if busy else "TRANSPARENT")
    if not busy:
        event.add("x-microsoft-cdo-busystatus", "FREE")


def _relation(uid: str, lag: int | None) -> vText:
    relation = vText(uid)
    relation.params["RELTYPE"] = "DEPENDS-ON"
    if lag:
        relation.params["GAP"] = _exact(lag)
    return relation


def _exact(minutes: int) -> str:
    """A duration in hours and minutes alone: a day of RFC 5545, 3.3.6 may have 23 or 25 hours.

    >>> _exact(2890), _exact(-60)
    ('PT48H10M', '-PT1H')
    """
    hours, rest = divmod(abs(minutes), 60)
    size = (f"{hours}H" if hours else "") + (f"{rest}M" if rest or not hours else "")
    return f"{'-' if minutes < 0 else ''}PT{size}"


def _alarm(lead: int, text: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _line(text))
    alarm.add("trigger", -timedelta(minutes=lead))
    return alarm


def _text(text: str) -> str:
    """Without what TEXT may not hold (RFC 5545, 3.3.11) or what readers take for a line's end."""
    lines = re.sub("\r\n?|[\v\f\x1c-\x1e\x85\u2028\u2029]", "\n", text.replace(GLUE, " "))
    plain = re.sub("[\x00-\x08\x0b-\x1f\x7f-\x9f]", "", lines)
    return plain.encode("utf-8", "replace").decode("utf-8")


def _line(text: str) -> str:
    return " ".join(_text(text).split())


# ------------------------------------------------------------------------------ revision


def _revised(event: Event, old: Event | None, now: int) -> Event:
    """``old`` itself where nothing changed, else ``event`` as its next revision."""
    if old is None:
        return _stamped(event, max(now - _FIRST_SEQUENCE, 0), now)
    if _content(event) == _content(old):
        return old
    return _stamped(event, old.sequence + 1, now)


def _stamped(event: Event, sequence: int, now: int) -> Event:
    """With its revision; without METHOD the two stamps are one (RFC 5545, 3.8.7.2)."""
    for name in _REVISION:
        event.pop(name, None)
    event.add("sequence", sequence)
    event.add("dtstamp", to_local(now, "UTC"))
    event.add("last-modified", to_local(now, "UTC"))
    return event


def _content(event: Event) -> bytes:
    """What makes an event another one: everything but its revision."""
    lines = event.property_items()
    kept = [
        event.content_line(name, value).to_ical() for name, value in lines if name not in _REVISION
    ]
    return b"\n".join(kept)


def _dropped(past: Mapping[str, Event], houses: Collection[str], now: int) -> Iterator[Event]:
    """Events that the plan no longer has: cancelled, and gone for good after 60 days.

    What was done in a house that is not among those planned is no less done.
    """
    for event in past.values():
        elsewhere = "LOCATION" in event and str(event["LOCATION"]) not in houses
        if event["STATUS"] == "CANCELLED":
            if now - _minute(event, "DTSTAMP") <= _KEEP_CANCELLED:
                yield event
        elif elsewhere and _minute(event, "DTEND") <= now:
            yield _in_utc(event, event)
        else:
            yield _stamped(_cancelled(event), event.sequence + 1, now)


def _in_utc(event: Event, old: Event) -> Event:
    """With the span of an older event in UTC: the file may by now hold another zone, or none."""
    for name in ("DTSTART", "DTEND"):
        moment = _minute(old, name)
        event.pop(name, None)
        event.add(name, to_local(moment, "UTC"))
    return event


def _cancelled(event: Event) -> Event:
    """STATUS:CANCELLED, and said in the title too, for readers that don't look at STATUS."""
    gone = Event()
    for name in ("UID", "CATEGORIES", "DESCRIPTION", "LOCATION"):
        if name in event:
            gone[name] = event[name]
    gone.add("summary", _CANCELLED + str(event["SUMMARY"]))
    gone.add("status", "CANCELLED")
    _add_transparency(gone, busy=False)
    return _in_utc(gone, event)


def _minute(event: Event, name: str) -> int:
    return instant(event.decoded(name))


# ---------------------------------------------------------------- the file to be replaced


def _events_of(previous: bytes, name: str) -> dict[str, Event]:
    """The events of the file that will be replaced, by UID; refused where one would be lost."""
    old = _read(previous)
    if str(old.get("PRODID")) != PRODID:
        raise ThenwaitError(_refusal("was written by another program"))
    for component in old.subcomponents:
        _refuse_foreign(component)
    if str(old.get("UID")) != job_uid(name):
        raise ThenwaitError(_refusal(f"belongs to another job, '{_name(old)}'"))
    events = (each for each in old.subcomponents if isinstance(each, Event))
    return {str(event["UID"]): event for event in events}


def _read(previous: bytes) -> Component:
    try:
        old = Calendar.from_ical(previous)
    except ValueError as error:
        raise ThenwaitError(
            _refusal(f"can't be read as a calendar ({_line(str(error))})")
        ) from None
    problems = [problem for part in old.walk() for problem in part.errors]
    if problems or old.name != "VCALENDAR":
        what = ": ".join(filter(None, problems[0])) if problems else f"it is a {old.name}"
        raise ThenwaitError(_refusal(f"can't be read as a calendar ({_line(what)})"))
    return old


def _refuse_foreign(component: Component) -> None:
    ours = str(component.get("UID", "")).endswith("@thenwait.invalid")
    if component.name != "VTIMEZONE" and not (component.name == "VEVENT" and ours):
        raise ThenwaitError(_refusal(f"holds '{_title(component)}', which thenwait did not write"))
    if component.name == "VEVENT" and not _complete(component):
        raise ThenwaitError(
            _refusal(f"holds '{_title(component)}', which is not as thenwait wrote it")
        )


def _title(component: Component) -> str:
    title = component.get("SUMMARY")
    return _line(title) if isinstance(title, str) else component.name or "nothing"


def _complete(event: Component) -> bool:
    """Whether it has, each once, what an event of ours always has."""
    moments = [getattr(event.get(name), "dt", None) for name in ("DTSTART", "DTEND", "DTSTAMP")]
    words = ("UID", "SUMMARY", "DESCRIPTION", "CATEGORIES", "STATUS", "SEQUENCE")
    once = not any(isinstance(event.get(name), list | None) for name in words)
    return once and all(map(_is_moment, moments))


def _is_moment(value: object) -> bool:
    """Whether it is an aware date-time that can be said in UTC (the first and last years can't)."""
    return isinstance(value, datetime) and value.tzinfo is not None and 1 < value.year < MAXYEAR


def _name(old: Component) -> str:
    # icalendar doesn't know NAME as text and leaves its escapes (RFC 5545, 3.3.11).
    name = re.sub(r"\\(.)", lambda escaped: escaped[1], str(old.get("NAME", "without a name")))
    return _line(name)


def _refusal(why: str) -> str:
    return (
        f"the calendar file that would be replaced {why};"
        " write to another file, or move this one away first"
    )
