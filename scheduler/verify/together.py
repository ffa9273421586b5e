"""The verifier's rules about plans of several jobs: people that they share are in one place.

A person of a crew file is the same in every job that names the file; one of a job's own file is
nobody else's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from scheduler.model import Job, Person, Plan, PlannedTask, Reason
from scheduler.verify.case import Breach, Case
from scheduler.verify.choices import as_made


@dataclass(frozen=True)
class _Work:
    """A placed task that holds a person, in its job."""

    case: Case
    placed: PlannedTask

    def __str__(self) -> str:
        return f"{self.placed.id} of {self.case.job.name}"


def check_together(planned: Sequence[tuple[Job, Plan]]) -> tuple[Breach, ...]:
    """Everything that breaks a rule between plans; empty where they get on with each other.

    Each plan by itself is looked at by ``check``.

    Args:
        planned: jobs that validate, each with its plan.
    """
    cases = [Case(as_made(job, plan), plan) for job, plan in planned]
    return (*_names(cases), *_alike(cases), *_people(cases), *_reasons(cases))


def _names(cases: Sequence[Case]) -> Iterator[Breach]:
    """Jobs are known by their names, and go by the same clocks."""
    for one, other in combinations(cases, 2):
        if one.job.name == other.job.name:
            yield Breach("names", None, f"two jobs are called {one.job.name}")
        if one.job.timezone != other.job.timezone:
            yield Breach("names", None, f"{one.job.name} and {other.job.name} go by other clocks")


def _identity(person: Person) -> tuple[str, str]:
    return person.crew, person.id


def _shared(cases: Sequence[Case]) -> dict[tuple[str, str], list[tuple[Case, Person]]]:
    """The people of crew files, each with the jobs that have them."""
    shared: dict[tuple[str, str], list[tuple[Case, Person]]] = {}
    for case in cases:
        for person in case.job.people.values():
            if person.crew:
                shared.setdefault(_identity(person), []).append((case, person))
    return shared


def _alike(cases: Sequence[Case]) -> Iterator[Breach]:
    """Somebody is the same wherever they work."""
    for (_, who), there in _shared(cases).items():
        if any(person != there[0][1] for _, person in there):
            yield Breach("people", None, f"{who} of one crew file has other hours in other jobs")


def _people(cases: Sequence[Case]) -> Iterator[Breach]:
    """Nobody is on more tasks at a time than there are of them, whichever houses those are in."""
    for (_, who), there in _shared(cases).items():
        holding = [work for case, _ in there for work in _holding(case, who)]
        for work in holding:
            start = work.placed.start
            on = [w for w in holding if w.placed.start <= start < w.placed.finish]
            taken = sum(_hands(w, who) for w in on)
            elsewhere = [w for w in on if w.case is not work.case]
            free = work.case.is_open(work.placed.id) and elsewhere
            if free and taken > there[0][1].count:
                when = work.case.when(start)
                text = f"{work} starts {when} while {who} is still on"
                yield Breach("people", work.placed.id, f"{text} {', '.join(map(str, elsewhere))}")


def _holding(case: Case, who: str) -> Iterator[_Work]:
    """The tasks that hold a person: those of some work that are not done."""
    for task, placed in case.pairs:
        if who in task.who and task.work > 0 and case.state(task.id) != "done":
            yield _Work(case, placed)


def _hands(work: _Work, who: str) -> int:
    """How many of a person a task takes."""
    return next((n for name, n in work.placed.several if name == who), 1)


def _reasons(cases: Sequence[Case]) -> Iterator[Breach]:
    """Who is said to be busy elsewhere is: with a task that ends by then, and is another job's."""
    for case in cases:
        for _, placed in case.pairs:
            why = placed.because
            if why.kind == "elsewhere" and not _true(cases, case, placed, why):
                text = f"nobody of {placed.id} is on {why.task} of {why.job} before it"
                yield Breach("because", placed.id, text)


def _true(cases: Sequence[Case], case: Case, placed: PlannedTask, why: Reason) -> bool:
    other = next((c for c in cases if c.job.name == why.job), None)
    if other is None or why.task is None or why.task not in other.placed:
        return False
    busy = other.placed[why.task]
    here = {_identity(case.job.people[who]) for who in placed.who}
    there = {_identity(other.job.people[who]) for who in busy.who}
    shared = {(crew, who) for crew, who in here & there if crew}
    told = busy.name in why.text and other.job.name in why.text
    return told and bool(shared) and busy.finish <= placed.start
