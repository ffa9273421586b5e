"""How far people's absences and their number could give."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import partial

from scheduler.clock import HOUR, day_end, day_of, day_start, to_local
from scheduler.faster.who import with_person
from scheduler.hours import hours_of
from scheduler.model import Away, Job, Person
from scheduler.rules import Rule, on_person, on_task
from scheduler.wayout.added import fewest
from scheduler.wayout.change import Able, Asks, Change, Give, least_by
from scheduler.wayout.steps import least_step, shorter_span
from scheduler.wayout.who import Times, asked, run_of_days, usual_week
from scheduler.wording import day, duration, listed

_MOST_VISITS = 20  # further days that are tried
_MOST_HANDS = 5  # further pairs of hands that are tried


# Absences ------------------------------------------------------------------------------------


def there_after_all(rule: Rule, job: Job, around: Times) -> Give:
    """The fewest days of absences on which somebody would have to be there after all."""
    person = job.people[rule.of[0]]

    def there_on(days: Sequence[date]) -> Change:
        told = listed(map(day, days))
        regained = _regained(job, person, days)
        return Change(
            rule.kind, rule.of, f"have {person.id} there on {told} after all",
            partial(_there, who=person.id, days=frozenset(days)), rule.jobs, asked(person),
            regained / max(usual_week(person), HOUR), data={"days": [str(each) for each in days]},
        )  # fmt: skip

    def least(able: Able) -> Change | None:
        days = _days_away(job, person)
        found = fewest(lambda some: able(there_on(some)), days) if days else None
        return None if found is None else there_on(found)

    return Give(rule, least, f"Having {person.id} there on all those days would not be enough.")


def _days_away(job: Job, person: Person) -> list[date]:
    """The days of absences, from today on."""
    today = day_of(job.now, job.timezone)
    days = {each for away in person.away for each in _covered(away)}
    return sorted(each for each in days if each >= today)


def _covered(away: Away) -> list[date]:
    return run_of_days(away.start.date(), (away.end - timedelta(minutes=1)).date())


def _there(job: Job, who: str, days: frozenset[date]) -> Job:
    """The job with a person there on some days after all, from now on."""
    person, now = job.people[who], to_local(job.now, job.timezone).replace(tzinfo=None)
    kept = tuple(part for away in person.away for part in _left(away, days, now))
    return with_person(job, replace(person, away=kept))


def _left(away: Away, days: frozenset[date], now: datetime) -> Iterator[Away]:
    """What is left of an absence without some days; what is past stays."""
    start = away.start
    for on in sorted(days & {*_covered(away)}):
        first, end = datetime.combine(on, time()), datetime.combine(on + timedelta(days=1), time())
        if start < max(first, now):
            yield Away(start, min(max(first, now), away.end))
        start = max(start, end)
    if start < away.end:
        yield Away(start, away.end)


def _regained(job: Job, person: Person, days: Sequence[date]) -> int:
    """The minutes of hours that come back."""
    zone, first, last = job.timezone, days[0], days[-1]
    there = _there(job, person.id, frozenset(days)).people[person.id]
    both = (hours_of(p, zone, day_start(first, zone), day_end(last, zone)) for p in (there, person))
    after, before = (each.total for each in both)
    return after - before


# Visits and hands ----------------------------------------------------------------------------


def more_hands(rule: Rule, job: Job) -> Give:
    """The least number of further pairs of hands."""
    person = job.people[rule.of[0]]

    def of(more: int) -> Change:
        count = person.count + more
        return Change(
            rule.kind, rule.of,
            f"bring {'one' if more == 1 else more} more beside {person.id} (count: {count})",
            on_person(person.id, count=count), rule.jobs, Asks.OTHERS, float(more),
            data={"was_count": person.count, "count": count},
        )  # fmt: skip

    least = least_by(lambda does: least_step(does, _MOST_HANDS), of)
    return Give(rule, least, f"No more hands beside {person.id} would be enough.")


def more_visits(rule: Rule, job: Job) -> Give:
    """The least number of further days on which somebody would have to come."""
    person = job.people[rule.of[0]]
    most = person.at_most or 0

    def of(more: int) -> Change:
        days = most + more
        return Change(
            rule.kind, rule.of,
            f"have {person.id} come on {days} days and not on {most} (at_most: {days} visits)",
            on_person(person.id, at_most=days), rule.jobs, Asks.OTHERS, more / max(most, 1),
            data={"was_at_most": most, "at_most": days},
        )  # fmt: skip

    least = least_by(lambda does: least_step(does, _MOST_VISITS), of)
    return Give(rule, least, f"No more visits of {person.id} would be enough.")


def shorter_visits(rule: Rule, job: Job) -> Give:
    """The most work for which somebody comes that leaves a plan."""
    person = job.people[rule.of[0]]
    work = person.visits_of

    def of(minutes: int) -> Change:
        told = duration(minutes) if minutes else "however little"
        return Change(
            rule.kind, rule.of,
            f"let {person.id} come for {told} of work (now {duration(work)} at least)",
            on_person(person.id, visits_of=minutes), rule.jobs, Asks.OTHERS,
            (work - minutes) / work, "ask whether that can be had",
            {"was_minutes": work, "minutes": minutes},
        )  # fmt: skip

    least = least_by(lambda does: shorter_span(does, work), of)
    return Give(rule, least, f"No shorter visits of {person.id} would be enough.")


def fewer_together(rule: Rule, job: Job) -> Give:
    """A task without one of those who are to do it together."""
    task = job.task[rule.of[0]]

    def without(who: str) -> Change:
        hands = {key: n - (key == who) for key, n in task.hands.items()}
        left = tuple(key for key, n in hands.items() if n)
        several = tuple((key, n) for key, n in hands.items() if n > 1)
        fewer = f"one {who} less" if who in left else f"without {who}"
        return Change(
            rule.kind, rule.of, f"do {task.name!r} {fewer}",
            on_task(task.id, who=left, several=several), rule.jobs, Asks.OWNER, 1.0,
            "only if fewer can do it safely, in the work that is written",
            {"who": list(left)},
        )  # fmt: skip

    def least(able: Able) -> Change | None:
        return next((each for each in map(without, task.who) if able(each)), None)

    return Give(rule, least, f"One of them less at {task.name!r} would not be enough.")
