"""Whom to book by when, as short calendar entries with an alarm: a call takes no length of time."""

from collections import Counter
from collections.abc import Iterator

from scheduler.bookings import to_book
from scheduler.clock import day_of
from scheduler.ics.entries import SHORT, Entry, entry_uid, when
from scheduler.model import Booking, Job, Plan
from scheduler.quantities import show_duration
from scheduler.wording import GLUE, day, listed

_ALARM = 24 * 60
"""How long before the last moment to say so [min]: trades can be reached on the day before, too."""


def booking_entries(job: Job, plan: Plan) -> Iterator[Entry]:
    """An entry for each visit that somebody must still be asked for.

    It is known by the first task of the visit; of work that runs on, by which of its days it is.
    """
    seen = Counter[tuple[str, str]]()
    for booking, by in to_book(plan):
        key = booking.who, booking.tasks[0]
        seen[key] += 1
        on, last = (_day(plan, minute) for minute in (booking.start, by))
        text = f"Book {booking.who} (for {on}) by {last}"
        yield Entry(
            uid=entry_uid(job.name, "book", *key, seen[key]),
            start=by,
            end=by + SHORT,
            summary=text,
            description="\n".join(_lines(job, plan, booking, by)),
            category="Booking",
            alarms=(_ALARM, 0),
            alarm_text=text,
        )


def _day(plan: Plan, minute: int) -> str:
    return day(day_of(minute, plan.timezone)).replace(GLUE, " ")


def _lines(job: Job, plan: Plan, booking: Booking, by: int) -> Iterator[str]:
    yield f"Job: {job.name}"
    notice = show_duration(job.people[booking.who].notice)
    yield f"Book by {when(plan, by)}: {booking.who} wants {notice} of notice."
    what = listed(plan.task[task].name for task in booking.tasks)
    yield f"Planned {when(plan, booking.start)} to {when(plan, booking.end)}: {what}."
    yield "Write what is agreed under 'booked' in the job file, and plan again."
