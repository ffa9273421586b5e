"""Who is where on which day, and who waits for whom: what plans of several jobs say together."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from scheduler.clock import day_end, day_of
from scheduler.hours import spans
from scheduler.model import Job, Person, Plan, PlannedTask
from scheduler.wording import dated, in_quotes, listed, tidy

Planned = Iterable[tuple[Job, Plan]]


@dataclass(frozen=True)
class Stay:
    """Somebody in a house on a day, from ``start`` to ``end``; a moment where these are the same.

    ``job`` is the job's name.
    """

    start: int
    end: int
    job: str


def week(planned: Planned) -> Mapping[str, Mapping[date, tuple[Stay, ...]]]:
    """The days of each person, by the name they go by, with where they are when.

    A name that belongs to people of several jobs alone has the job behind it. People come in the
    order of the files.
    """
    planned = tuple(planned)
    names = names_of(job for job, _ in planned)
    days: dict[str, dict[date, list[Stay]]] = {name: {} for name in names.values()}
    for job, plan in planned:
        for task in plan.tasks:
            for who in task.who:
                theirs = days[names[identity(job, job.people[who])]]
                for on, stay in _stays(plan, task):
                    theirs.setdefault(on, []).append(stay)
    return {
        who: {on: _joined(theirs[on]) for on in sorted(theirs)}
        for who, theirs in days.items()
        if theirs
    }


def by_person(planned: Planned) -> dict[str, tuple[str, list[tuple[Job, Plan]]]]:
    """Each person by the name they go by: their id, and the jobs that know them."""
    planned = tuple(planned)
    found: dict[str, tuple[str, list[tuple[Job, Plan]]]] = {}
    names = names_of(job for job, _ in planned)
    for job, plan in planned:
        for who, person in job.people.items():
            found.setdefault(names[identity(job, person)], (who, []))[1].append((job, plan))
    return found


def at_once(planned: Planned) -> Iterator[str]:
    """Who by the logs is at more tasks at once, in several houses, than can be."""
    running: dict[tuple[str, str], list[tuple[Job, PlannedTask]]] = {}
    for job, plan in planned:
        for task in plan.tasks:
            if task.state == "running" and task.sessions:
                for who in task.who:
                    running.setdefault(identity(job, job.people[who]), []).append((job, task))
    for (_, who), there in running.items():
        houses = {job.name for job, _ in there}
        if (
            sum(task.hands[who] for _, task in there) > there[0][0].people[who].count
            and len(houses) > 1
        ):
            each = (
                f"{in_quotes(task)} of {tidy(job.name)} since {dated(task.start, job.timezone)}"
                for job, task in there
            )
            yield tidy(
                f"{who} is at {listed(each)}, all at once: log the one that is done as 'done', and"
                " 'undone' for one that was stopped or never begun"
            )


def names_of(jobs: Iterable[Job]) -> dict[tuple[str, str], str]:
    """What each person is called among several jobs, by what tells people apart."""
    known = {identity(job, person): job for job in jobs for person in job.people.values()}
    ids = [who for _, who in known]
    return {
        key: key[1] if ids.count(key[1]) == 1 else f"{key[1]} ({_of(key, job)})"
        for key, job in known.items()
    }


def identity(job: Job, person: Person) -> tuple[str, str]:
    """What tells a person from all others among several jobs."""
    return person.crew or job.name, person.id


def _of(key: tuple[str, str], job: Job) -> str:
    """What tells a person from others of the same id: the job, or the name of the crew file."""
    return job.name if key[0] == job.name else key[0].replace("\\", "/").rpartition("/")[2]


def _stays(plan: Plan, task: PlannedTask) -> Iterator[tuple[date, Stay]]:
    for start, end in task.sessions or ((task.start, task.finish),):
        at = start
        while True:
            on = day_of(at, plan.timezone)
            until = min(end, day_end(on, plan.timezone))
            yield on, Stay(at, until, plan.job)
            if until >= end:
                break
            at = until


def _joined(stays: Iterable[Stay]) -> tuple[Stay, ...]:
    """The stays of a day, those in one house that touch as one."""
    by_job: dict[str, list[tuple[int, int]]] = {}
    for stay in stays:
        by_job.setdefault(stay.job, []).append((stay.start, stay.end))
    whole = [Stay(*span, job) for job, parts in by_job.items() for span in spans(parts)]
    moments = [
        Stay(start, end, job)
        for job, parts in by_job.items()
        for start, end in sorted({part for part in parts if part[0] == part[1]})
        if not any(a <= start <= b for a, b in spans(parts))
    ]
    return tuple(sorted([*whole, *moments], key=lambda s: (s.start, s.end, s.job)))


@dataclass(frozen=True)
class Delay:
    """Tasks of a job that wait for people who are busy in another.

    Args:
        job, other: the names of the job that waits and the one that has the people.
        tasks: the names of those tasks, the one that waits longest first.
        minutes: how much earlier each could start if other jobs held nobody [min].
    """

    job: str
    other: str
    tasks: tuple[str, ...]
    minutes: tuple[int, ...]


def delays(planned: Planned) -> tuple[Delay, ...]:
    """What jobs do to one another, by job and the one it waits for."""
    found: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for job, plan in planned:
        for task in plan.tasks:
            if task.because.job is not None:
                waits = found.setdefault((job.name, task.because.job), [])
                waits.append((task.because.delay, task.name))
    return tuple(_delay(*jobs, waits) for jobs, waits in found.items())


def _delay(job: str, other: str, waits: list[tuple[int, str]]) -> Delay:
    waits = sorted(waits, key=lambda wait: -wait[0])
    return Delay(job, other, tuple(name for _, name in waits), tuple(n for n, _ in waits))
