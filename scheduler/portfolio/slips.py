"""What became of the first plans of several jobs, and what a delay in one did to the others."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from scheduler.clock import day_of
from scheduler.model import Plan, PlannedTask
from scheduler.portfolio.days import Stay, identity, week
from scheduler.portfolio.together import Together

_Place = tuple[str, str]
"""A task among several jobs: the job's name and the task's id."""


class Root(NamedTuple):
    """What some tasks of a job are later for.

    Args:
        job: the name of the job it is in.
        task: as it is planned now, and so with its name and times.
        first: the same task as first planned.
        tasks: how many tasks of the job it makes later, itself counted in.
    """

    job: str
    task: PlannedTask
    first: PlannedTask
    tasks: int

    @property
    def late(self) -> int:
        """How much later than first planned it starts while it is open, else ends [min]."""
        if self.task.state == "open":
            return self.task.start - self.first.start
        return self.task.finish - self.first.finish


@dataclass(frozen=True)
class Slip:
    """How a job has moved against its first plan.

    Args:
        job: its name.
        later: by how much it finishes later; earlier where that is negative [min].
        moved: how many tasks still to do have another time.
        roots: what those that are later go back to, what makes most of them later first.
    """

    job: str
    later: int
    moved: int
    roots: tuple[Root, ...]


def slips(first: Together, made: Together) -> tuple[Slip, ...]:
    """The jobs that have moved since their first plans, in their order."""
    told = _Told(first, made)
    found = (told.slip(before, now) for before, now in zip(first.plans, made.plans, strict=True))
    return tuple(slip for slip in found if slip.later or slip.moved)


class _Told:
    """Two plans of the same jobs, and what the later tasks of the second go back to."""

    def __init__(self, first: Together, made: Together) -> None:
        self.first = _tasks(first)
        self.made = _tasks(made)
        self.people = {
            (plan.job, task.id): {identity(job, job.people[who]) for who in task.who}
            for job, plan in made.planned
            for task in plan.tasks
        }

    def slip(self, before: Plan, now: Plan) -> Slip:
        ahead = [(now.job, task.id) for task in now.tasks if task.state != "done"]
        roots = Counter(self.root(place) for place in ahead if self.late(place) > 0)
        return Slip(
            now.job,
            now.finish - before.finish,
            sum(self.late(place) != 0 for place in ahead),
            tuple(
                Root(place[0], self.made[place], self.first[place], tasks)
                for place, tasks in roots.most_common()
            ),
        )

    def late(self, place: _Place) -> int:
        """How much later a task starts, or ends once it is begun [min]."""
        return Root(place[0], self.made[place], self.first[place], 0).late

    def root(self, place: _Place) -> _Place:
        """The first task that is late on the way back along the reasons of starts."""
        seen = {place}
        while (before := self._holds(place)) is not None and before not in seen:
            if self.late(before) <= 0:
                # Of its own job it made nothing late; a task of another job has gone ahead.
                return before if before[0] != place[0] else place
            seen.add(before)
            place = before
        return place

    def _holds(self, place: _Place) -> _Place | None:
        """What the reason of a start names; else what kept its people when it was to begin.

        What has begun has no reason but that it did.
        """
        task = self.made[place]
        if task.state != "open":
            return None
        if task.because.task is not None:
            return (task.because.job or place[0], task.because.task)
        return max(self._kept(place), key=lambda other: self.made[other].finish, default=None)

    def _kept(self, place: _Place) -> Iterator[_Place]:
        """What has its people, or had them, past the moment at which it was to begin."""
        due = self.first[place].start
        for other, task in self.made.items():
            here = task.state != "open" and task.start <= due < task.finish and other != place
            if here and self.late(other) > 0 and self.people[other] & self.people[place]:
                yield other


def _tasks(plans: Together) -> Mapping[_Place, PlannedTask]:
    return {(plan.job, task.id): task for plan in plans.plans for task in plan.tasks}


class Change(NamedTuple):
    """A day on which somebody is in other houses than first planned, by the jobs' names."""

    on: date
    now: tuple[str, ...]
    first: tuple[str, ...]


def other_days(first: Together, made: Together) -> Mapping[str, tuple[Change, ...]]:
    """From the present day on, the days of each person that are not as first planned."""
    today = day_of(made.now or 0, made.jobs[0].timezone)
    before, after = week(first.planned), week(made.planned)
    found = {
        who: tuple(_changes(before.get(who, {}), after.get(who, {}), today))
        for who in dict.fromkeys((*after, *before))
    }
    return {who: changes for who, changes in found.items() if changes}


def _changes(
    first: Mapping[date, Iterable[Stay]], now: Mapping[date, Iterable[Stay]], today: date
) -> Iterator[Change]:
    for on in sorted({*first, *now}):
        houses = [tuple(dict.fromkeys(s.job for s in days.get(on, ()))) for days in (now, first)]
        if on >= today and {*houses[0]} != {*houses[1]}:
            yield Change(on, *houses)
