"""Whom to book, for when, by when: those who want notice, and what is agreed already."""

from collections.abc import Iterator

from scheduler.bookings import span, to_book
from scheduler.layout import Entry, Section
from scheduler.limits import in_words
from scheduler.model import Booking, Job, Person, Plan
from scheduler.wording import dated, duration, listed, title


def whom_to_book(job: Job, plan: Plan) -> tuple[Section, ...]:
    """A section with the days of each, where there are any."""
    people = {each.who: job.people[each.who] for each in plan.bookings}
    entries = [_days_of(job, plan, person) for person in people.values()]
    if any(to_book(plan)):
        agreed = "Write what is agreed under 'booked' in the job file: then it stays where it is."
        entries.append(Entry("", agreed))
    return (Section("WHOM TO BOOK", tuple(entries)),) if entries else ()


def _days_of(job: Job, plan: Plan, person: Person) -> Entry:
    days = [each for each in plan.bookings if each.who == person.id]
    text = "; ".join(_wants(person)) or "is booked"
    return Entry(person.id, text, tuple(_line(job, plan, each) for each in days))


def _wants(person: Person) -> Iterator[str]:
    if person.notice:
        yield f"wants {duration(person.notice)} of notice"
    if words := in_words(person):
        yield f"comes {words}"


def _line(job: Job, plan: Plan, booking: Booking) -> str:
    if not booking.tasks:
        return f"{span(booking, plan.timezone)}: booked, and nothing to do."
    what = listed(title(job.task[task]) for task in booking.tasks)
    state = "booked" if booking.booked else "to be booked"
    if booking.by is not None:
        state = f"book by {dated(booking.by, plan.timezone)}"
    return f"{span(booking, plan.timezone)}, {state}: {what}."
