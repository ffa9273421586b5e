"""Levers on people's hours: more of them week by week, a day off other work, an absence given up.

Hours are added day by day from now to the finish of the plan as it is: an earlier plan needs no
later ones, and what is past stays as it was.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import partial

from scheduler.clock import DAY, HOUR, day_of, to_local, to_minute
from scheduler.faster.figures import figures
from scheduler.faster.lever import Lever, is_open, on_chain
from scheduler.faster.who import no_price, only_looks, with_person
from scheduler.model import Away, Dated, Job, Person, Plan, Weekly
from scheduler.ways import may_do
from scheduler.wording import WEEKDAYS, day, day_run, time_of_day

_EVENING = 16 * HOUR
"""Hours on weekdays that begin by then or later are of somebody who works by day elsewhere."""

_WORKWEEK, _WEEKEND = frozenset(range(5)), (5, 6)
_DAYS = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")


def hours_levers(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """More hours of somebody, by the pattern of those they have."""
    yield from _absences(job, plan, person)
    if _round_the_clock(person):
        return
    if comes_by_day(person):
        yield from _trade_hours(job, plan, person)
        return
    yield from _evenings(job, plan, person)
    yield from _weekends(job, plan, person)
    yield from _days_off(job, plan, person)


def _weekly(person: Person) -> list[Weekly]:
    return [line for line in person.hours if isinstance(line, Weekly)]


def _round_the_clock(person: Person) -> bool:
    return any(len(line.days) == 7 and line.end - line.start == DAY for line in _weekly(person))


def comes_by_day(person: Person) -> bool:
    """Whether somebody works by day, as trades and inspectors do."""
    weekly = [line for line in _weekly(person) if line.days & _WORKWEEK]
    if any(line.start >= _EVENING for line in weekly):
        return False
    return bool(weekly) or not _weekly(person)


def _evenings(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """One more evening in the week, as long as the others."""
    evenings = [w for w in _weekly(person) if w.days & _WORKWEEK and w.start >= _EVENING]
    taken = {each for line in evenings for each in line.days}
    for weekday in sorted(_WORKWEEK - taken) if evenings else ():
        line = replace(evenings[0], days=frozenset({weekday}))
        says = f"one more evening, {_DAYS[weekday]} {_hours(line)}"
        yield from _hours_lever(job, plan, person, [line], f"evening-{_short(weekday)}", says,
                           one_of="evening")  # fmt: skip


def _weekends(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """A longer day of the weekend; where there is none, one like the other, or a usual one."""
    usual = figures().hours
    of = {n: [w for w in _weekly(person) if n in w.days and w.end > w.start] for n in _WEEKEND}
    for n, other in ((5, 6), (6, 5)):
        if not of[n]:
            line = replace((of[other] or [usual.weekend])[0], days=frozenset({n}))
            says = f"{_DAYS[n]} too, {_hours(line)}"
            yield from _hours_lever(job, plan, person, [line], _short(n), says)
            continue
        end = max(line.end for line in of[n])
        longer = min(end + usual.longer, usual.latest)
        if longer > end:
            line = Weekly(frozenset({n}), end, longer)
            says = f"longer {_DAYS[n]}, to {time_of_day(longer)} instead of {time_of_day(end)}"
            yield from _hours_lever(job, plan, person, [line], f"longer-{_short(n)}", says)


def _trade_hours(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """Longer days and Saturdays of somebody who comes by day."""
    usual = figures().hours
    ask = ("Ask whether that can be had.",)
    days = f"any weekday {_hours(usual.trade_day)}"
    yield from _hours_lever(job, plan, person, [usual.trade_day], "weekdays", days, notes=ask)
    if not only_looks(job, person) and not any(5 in line.days for line in _weekly(person)):
        saturday = f"Saturdays too, {_hours(usual.trade_saturday)}"
        yield from _hours_lever(
            job, plan, person, [usual.trade_saturday], "sat", saturday, notes=ask
        )


def _hours_lever(  # noqa: PLR0913, PLR0917 (whose, which, and how it is told)
    job: Job,
    plan: Plan,
    person: Person,
    lines: Iterable[Weekly],
    name: str,
    says: str,
    one_of: str = "",
    notes: tuple[str, ...] = (),
) -> Iterator[Lever]:
    if not (added := tuple(_dated(job, plan, lines))):
        return  # the plan is done before any of them
    yield Lever(
        id=f"hours:{person.id}:{name}",
        kind="hours",
        says=f"{person.id}: {says}",
        edit=partial(with_hours, who=person.id, added=added),
        group=f"hours:{person.id}:{one_of or name}",
        one_of=bool(one_of),
        people=frozenset({person.id}),
        notes=notes,
        unpriced=no_price(person),
        cautions=("hands",),
    )


def _dated(job: Job, plan: Plan, lines: Iterable[Weekly]) -> Iterator[Dated]:
    """Hours that come back every week, day by day from now to the finish of the plan."""
    for on in _days(job, plan):
        for line in lines:
            hours = Dated(on, line.start, line.end)
            if on.weekday() in line.days and _begins(hours, job) < plan.finish:
                yield from _from_now(job, hours)


def _begins(hours: Dated, job: Job) -> int:
    """The UTC minute at which hours begin."""
    return to_minute(datetime.combine(hours.day, time()) + timedelta(minutes=hours.start),
                     job.timezone)  # fmt: skip


def _days(job: Job, plan: Plan) -> Iterator[date]:
    first, last = day_of(job.now, job.timezone), day_of(plan.finish, job.timezone)
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _from_now(job: Job, hours: Dated) -> Iterator[Dated]:
    """What is left of the hours of a day."""
    now = to_local(job.now, job.timezone)
    if hours.day == now.date() and hours.end > hours.start:
        start = max(hours.start, now.hour * HOUR + now.minute)
        hours = replace(hours, start=start)
        if start >= hours.end:
            return
    yield hours


def with_hours(job: Job, who: str, added: tuple[Dated, ...]) -> Job:
    """The job with more hours of a person."""
    person = job.people[who]
    return with_person(job, replace(person, hours=(*person.hours, *added)))


def _days_off(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """A weekday off other work, each on which the driving chain waits for this person."""
    usual = figures().hours.day_off
    for on in _waits_for(job, plan, person):
        added = tuple(_from_now(job, Dated(on, usual.start, usual.end)))
        if on.weekday() not in usual.days or not added or _away_on(job, person, added[0]):
            continue
        yield Lever(
            id=f"day-off:{person.id}:{on.isoformat()}",
            kind="day",
            says=f"{person.id}: a day off other work, {day(on)} {_hours(usual)}",
            edit=partial(with_hours, who=person.id, added=added),
            group=f"day-off:{person.id}",
            one_of=True,
            people=frozenset({person.id}),
            unpriced=("a day off",),
            cautions=("hands",),
        )


def _waits_for(job: Job, plan: Plan, person: Person) -> list[date]:
    """The days on which a task of theirs on the driving chain could go on, were they there."""
    found: set[date] = set()
    before = plan.start
    for task in on_chain(job, plan):
        placed = plan.task[task.id]
        if person.id in may_do(task) and is_open(job, task):
            first, last = day_of(before, job.timezone), day_of(placed.finish, job.timezone)
            found |= {first + timedelta(days=n) for n in range((last - first).days + 1)}
        before = placed.finish
    return sorted(found & {*_days(job, plan)})


def _away_on(job: Job, person: Person, hours: Dated) -> bool:
    start = _begins(hours, job)
    spans = ((to_minute(a.start, job.timezone), to_minute(a.end, job.timezone))
             for a in person.away)  # fmt: skip
    return any(first <= start < end for first, end in spans)


def _absences(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    for away in person.away:
        start, end = to_minute(away.start, job.timezone), to_minute(away.end, job.timezone)
        if end <= job.now or start >= plan.finish:
            continue
        last = (away.end - timedelta(minutes=1)).date()
        yield Lever(
            id=f"absence:{person.id}:{away.start.date().isoformat()}",
            kind="day",
            says=f"{person.id}: there after all, {day_run(away.start.date(), last)}",
            edit=partial(without_absence, who=person.id, away=away),
            group=f"absence:{person.id}:{away.start.isoformat()}",
            people=frozenset({person.id}),
            unpriced=no_price(person),
            cautions=("hands",),
        )


def without_absence(job: Job, who: str, away: Away) -> Job:
    """The job with a person there after all, from now on."""
    person, now = job.people[who], to_local(job.now, job.timezone).replace(tzinfo=None)
    kept = [each for each in person.away if each != away]
    if away.start < now and job.past is not None:
        kept.append(replace(away, end=now))
    return with_person(job, replace(person, away=tuple(kept)))


def _hours(hours: Weekly) -> str:
    return f"{time_of_day(hours.start)}–{time_of_day(hours.end)}"


def _short(weekday: int) -> str:
    return WEEKDAYS[weekday].lower()
