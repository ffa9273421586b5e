"""Whom to book for which days, by when; what is booked already, and perhaps for nothing."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduler import limits
from scheduler.clock import day_of
from scheduler.hours import NEVER, booked_of, spans, subtract
from scheduler.model import Booking, Job, Person, Plan
from scheduler.network import Network, asked_at, days_of, presence
from scheduler.passes import Starts
from scheduler.steps import Begun
from scheduler.wording import GLUE, clock, day


def bookings(network: Network, starts: Starts) -> tuple[Booking, ...]:
    """The days to come of those who don't come just like that, by time; and what is for nothing.

    They want notice, are booked, or come on few days or for so much at the least.

    Nothing is said of a booking in a crew file without any work here: it may be for another house.
    """
    found = [
        booking
        for person in network.job.people.values()
        if person.notice or person.booked or limits.in_words(person)
        for booking in (*_visits(network, starts, person), *_for_nothing(network, starts, person))
    ]
    return tuple(sorted(found, key=lambda booking: booking.start))


def _visits(network: Network, starts: Starts, person: Person) -> Iterator[Booking]:
    zone = network.job.timezone
    theirs = [
        (step.task.id, presence(step, starts[j]))
        for j in sorted(network.visitors[person.id], key=lambda j: (starts[j], j))
        if not isinstance(step := network.steps[j], Begun)
    ]
    whole = spans(part for _, parts in theirs for part in parts)
    for bounds in days_of(whole, zone).values():
        there = whole.within(*bounds)
        tasks = [task for task, parts in theirs if parts.within(*bounds)]
        open_ = subtract(spans(there), booked_of(person, zone))
        yield Booking(
            who=person.id,
            start=there[0][0],
            end=there[-1][1],
            tasks=tuple(tasks),
            booked=not open_.total,
            by=open_.starts[0] - person.notice if open_.total and person.notice else None,
        )


def _for_nothing(network: Network, starts: Starts, person: Person) -> Iterator[Booking]:
    """What is booked and still to come, and nothing of theirs is done in it."""
    job, members = network.job, network.visitors[person.id]
    since = max(asked_at(job), default=job.now)
    for window in () if person.crew else person.booked:
        agreed = booked_of(replace(person, booked=(window,)), job.timezone)
        for start, end in agreed.within(since, NEVER):
            if not any(_meets(network, starts, j, (start, end)) for j in members):
                yield Booking(person.id, start, end, (), booked=True)


def _meets(network: Network, starts: Starts, j: int, window: tuple[int, int]) -> bool:
    return bool(presence(network.steps[j], starts[j]).within(*window))


def called_off(job: Job, found: Sequence[Booking]) -> Iterator[str]:
    """A warning for each booking that is for nothing."""
    for booking in found:
        if not booking.tasks:
            yield (
                f"{booking.who} is booked for {span(booking, job.timezone)}, and the plan has"
                " nothing to do then: call it off, or agree on another day, and change 'booked'"
            )


def span(booking: Booking, zone: str) -> str:
    """Day and hours of a booking.

    >>> span(Booking("plumber", 29997120, 29997360, (), booked=True), "UTC").replace(GLUE, " ")
    'Wed 13 Jan 08:00–12:00'
    """
    end = clock(booking.end, zone)
    until = "24:00" if end == "00:00" else end
    return f"{day(day_of(booking.start, zone))}{GLUE}{clock(booking.start, zone)}–{until}"


def to_book(plan: Plan) -> Iterator[tuple[Booking, int]]:
    """The visits that somebody must still be asked for, each with its last moment [UTC min]."""
    return ((booking, booking.by) for booking in plan.bookings if booking.by is not None)
