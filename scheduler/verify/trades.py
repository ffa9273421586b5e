"""The verifier's rules about trades: how long ahead they are booked, on how many days they come."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from scheduler.model import Booking, Person, PlannedTask
from scheduler.verify.case import Breach, Case, Rule, minutes_of, sound_sessions, span_in_words
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
    minutes = _booked_minutes(case, person)
    if not minutes.size or person.crew:
        return frozenset()
    walls = wall_clock(case.job.timezone, int(minutes[0]), int(minutes[-1]) + 1)
    return frozenset(int(day) for day in np.unique(walls[minutes - minutes[0]] // DAY))


def _booked_minutes(case: Case, person: Person) -> Minutes:
    """The minutes to come in which somebody is booked."""
    since = _asked(case)
    last = max((window.day.toordinal() for window in person.booked), default=0)
    until = (last - date(1970, 1, 1).toordinal() + 4) * DAY  # past its end in any zone
    if until <= since:
        return np.arange(0)
    there = in_hours(replace(person, hours=()), case.job.timezone, since, until)
    return np.asarray(since + np.flatnonzero(there), dtype=np.int64)


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


def _at_most(case: Case) -> Iterator[Breach]:
    """Whoever comes on so many days at most does, those of the log and what is booked included.

    What came about is a fact: where those are too many already, no more day is added.
    """
    for who, person in case.job.people.items():
        if person.at_most is None:
            continue
        sure = _sure_days(case, who)
        more = _days_to_come(case, who) - sure
        if len(more) > max(person.at_most - len(sure), 0):
            text = f"{who} comes on {len(more) + len(sure)} days, and may on {person.at_most}"
            yield Breach("at most", None, text)


def _visits_of(case: Case) -> Iterator[Breach]:
    """On each day but the last that somebody comes they have so much work, if it isn't sure."""
    for who, person in case.job.people.items():
        if not person.visits_of:
            continue
        work = Counter[int]()
        for _, placed in case.pairs:
            for first, last in sound_sessions(placed) if who in placed.who else ():
                walls = wall_clock(case.job.timezone, first, last) // DAY
                for day, minutes in zip(*np.unique(walls, return_counts=True), strict=True):
                    work[int(day)] += int(minutes) * _hands(placed, who)
        for day in _days_to_come(case, who) - _sure_days(case, who):
            if work[day] < person.visits_of and any(n and later > day for later, n in work.items()):
                on = date.fromordinal(day + date(1970, 1, 1).toordinal())
                text = f"{who} comes on {on} for {span_in_words(work[day])} of work only"
                yield Breach("visits of", None, text)


def _hands(placed: PlannedTask, who: str) -> int:
    return next((n for name, n in placed.several if name == who), 1)


def _days_to_come(case: Case, who: str) -> frozenset[int]:
    """The local days on which somebody comes for what is not begun."""
    return frozenset(d for _, p in case.open if who in p.who for d in _touched(case, p))


def _sure_days(case: Case, who: str) -> frozenset[int]:
    """The local days on which somebody came or comes for what is begun, or is booked."""
    begun = (p for t, p in case.pairs if not case.is_open(t.id) and who in p.who)
    return booked_days(case, who) | {d for p in begun for d in _touched(case, p)}


def _bookings(case: Case) -> Iterator[Breach]:
    """The plan tells when those come who don't come just like that, and by when to ask."""
    told = {(each.who, _day(case, each.start)): each for each in case.plan.bookings if each.tasks}
    for who, person in case.job.people.items():
        wanted = person.notice, person.booked, person.at_most, person.visits_of
        days = _days_of(case, who) if any(wanted) else {}
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
    """A window that is booked for nothing is called out."""
    for who, person in case.job.people.items():
        told = sum(f"{who} is booked for" in text for text in case.plan.warnings)
        there = [m for _, p in case.pairs if who in p.who for m in minutes_of(p)]
        windows = (replace(person, booked=(each,)) for each in person.booked)
        idle = sum(_is_idle(case, window, there) for window in windows)
        if told < idle and not person.crew:
            text = f"{who} is booked for nothing {idle} times, and {told} warnings say so"
            yield Breach("bookings", None, text)


def _is_idle(case: Case, person: Person, there: Iterable[tuple[int, int]]) -> bool:
    """Whether somebody booked in one window, still to come, is not there in it."""
    agreed = _booked_minutes(case, person)
    busy = (bool(((agreed >= a) & (agreed < b)).any()) for a, b in there)
    return agreed.size > 0 and not any(busy)


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


RULES: tuple[Rule, ...] = (_notice, _at_most, _visits_of, _bookings, _for_nothing)
