"""The verifier's rules about trades: how long ahead they must be booked."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from scheduler.model import Booking, Person, PlannedTask
from scheduler.verify.case import Breach, Case, Rule, minutes_of
from scheduler.verify.clocks import DAY, Flags, Minutes, in_hours, local_days, wall_clock


def can_be_had(case: Case, person: Person, first: int, last: int) -> Flags:
    """For each minute of ``[first, last)``, whether somebody who is asked now has time enough.

    What is booked is agreed already.
    """
    nobody_asks = case.job.asked is None and case.job.past is None
    if nobody_asks or not person.notice:
        return np.ones(last - first, dtype=np.bool_)
    in_time = np.arange(first, last) >= _asked(case) + person.notice
    return in_time | in_hours(replace(person, hours=()), case.job.timezone, first, last)


def _asked(case: Case) -> int:
    """The moment from which notice counts."""
    asked = case.now if case.job.asked is None else case.job.asked
    return asked if case.job.past is None else max(asked, case.job.past.now)


def booked_days(case: Case, who: str) -> frozenset[int]:
    """The local days to come on which somebody is booked, by the job's own file."""
    person = case.job.people[who]
    if not person.booked or person.crew:
        return frozenset()
    last = max(window.day for window in person.booked).toordinal() - date(1970, 1, 1).toordinal()
    since = _asked(case)
    until = (last + 4) * DAY  # past the end of the last window, wherever the house is
    there = in_hours(replace(person, hours=()), case.job.timezone, since, max(until, since))
    walls = wall_clock(case.job.timezone, since, max(until, since))
    return frozenset(int(day) for day in np.unique(walls[there] // DAY))


def _notice(case: Case) -> Iterator[Breach]:
    """Whoever wants notice is booked that long ahead of now, for all that is not begun."""
    for task, placed in case.open:
        for who in task.who:
            for first, last in minutes_of(placed):
                had = can_be_had(case, case.job.people[who], first, last)
                if not had.all():
                    when = case.when(first + int(np.argmin(had)))
                    text = f"{task.id}: {who} can't be had {when}, so soon after being asked"
                    yield Breach("notice", task.id, text)


def _bookings(case: Case) -> Iterator[Breach]:
    """The plan tells when those come who want notice or are booked, and by when to ask."""
    told = {(each.who, _day(case, each.start)): each for each in case.plan.bookings if each.tasks}
    for who, person in case.job.people.items():
        days = _days_of(case, who) if person.notice or person.booked else {}
        for on, minutes in days.items():
            each = told.pop((who, on), None)
            if each is None or each != _as_booked(case, person, minutes, each.tasks):
                text = f"{who} comes from {case.when(minutes[0])}, and is not booked like that"
                yield Breach("bookings", None, text)
    for (who, _), each in told.items():
        text = f"the plan has {who} booked {case.when(each.start)}, when they don't come"
        yield Breach("bookings", None, text)


def _as_booked(case: Case, person: Person, minutes: Minutes, tasks: tuple[str, ...]) -> Booking:
    """What is to be told of a day on which somebody is there in some minutes."""
    start, end = int(minutes[0]), int(minutes[-1]) + 1
    agreed = in_hours(replace(person, hours=()), case.job.timezone, start, end)
    free = minutes[~agreed[minutes - start]]
    by = int(free[0]) - person.notice if len(free) and person.notice else None
    return Booking(person.id, start, end, tasks, not len(free), by)


def _for_nothing(case: Case) -> Iterator[Breach]:
    """A day that is booked for nothing is called out."""
    for who in case.job.people:
        busy = {on for t, p in case.pairs if who in t.who for on in _touched(case, p)}
        told = any(f"{who} is booked" in text for text in case.plan.warnings)
        if booked_days(case, who) - busy and not told:
            text = f"{who} is booked for nothing, and no warning says so"
            yield Breach("bookings", None, text)


def _day(case: Case, minute: int) -> int:
    return min(local_days(case.job.timezone, minute, minute + 1))


def _touched(case: Case, placed: PlannedTask) -> frozenset[int]:
    """The local days on which a task happens."""
    return frozenset(d for span in minutes_of(placed) for d in local_days(case.job.timezone, *span))


def _days_of(case: Case, who: str) -> dict[int, Minutes]:
    """The minutes in which somebody is there for what is not begun, by local day."""
    spans = [s for task, placed in case.open if who in task.who for s in minutes_of(placed)]
    minutes = np.unique(np.concatenate([np.arange(0), *(np.arange(a, b) for a, b in spans)]))
    days: dict[int, Minutes] = {}
    if len(minutes):
        walls = wall_clock(case.job.timezone, int(minutes[0]), int(minutes[-1]) + 1)
        on = walls[minutes - minutes[0]] // DAY
        days = {int(day): minutes[on == day] for day in np.unique(on)}
    return days


RULES: tuple[Rule, ...] = (_notice, _bookings, _for_nothing)
