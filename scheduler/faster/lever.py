"""A lever: a change that somebody could really make to a job, as a pure edit of it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

from scheduler.model import Job, Plan, Task
from scheduler.ways import may_do

Kind = Literal[
    "heat",  # a room is heated
    "dry",  # its air is dried
    "heat-dry",  # both
    "rapid",  # the rapid class of a product
    "hours",  # more hours of somebody, week by week
    "day",  # one day more
    "hands",  # somebody once more
    "hand-over",  # a task is somebody else's
    "date",  # a date that holds a task back
    "delivery",  # what is delivered comes sooner
]

Caution = Literal["heat", "moisture", "electricity", "rapid", "hands"]
"""What is to be minded; keys of the cautions in ``data/levers.yaml``."""


@dataclass(frozen=True)
class Lever:
    """A change that somebody could make.

    Args:
        id: what programs know it by, such as ``heat:shower``.
        kind: what kind of change.
        says: what is done, in words.
        edit: the job with it.
        group: levers that are ways of doing the same; no two of them make a pair.
        one_of: of its group only the best is worth telling, such as which day to take off.
        rooms, people, products, tasks: what it can work on, by id.
        notes: what it rests on, in sentences.
        unpriced: what it costs that nobody gave a price for, in words.
        watts: what it draws while something in its rooms waits [W].
        cautions: what is to be minded.
    """

    id: str
    kind: Kind
    says: str
    edit: Callable[[Job], Job]
    group: str
    one_of: bool = False
    rooms: frozenset[str | None] = frozenset()
    people: frozenset[str] = frozenset()
    products: frozenset[str] = frozenset()
    tasks: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()
    watts: float = 0.0
    cautions: tuple[Caution, ...] = ()

    def touches(self, task: Task) -> bool:
        """Whether it can work on a task, or on what that task applied."""
        theirs = not self.people.isdisjoint(may_do(task))
        return task.id in self.tasks or theirs or self.cures(task)

    def cures(self, task: Task) -> bool:
        """Whether it can change how what a task applied sets and dries."""
        if task.applies is None:
            return False
        return task.applies in self.products or task.room in self.rooms


@dataclass(frozen=True)
class Declined:
    """A lever that is not tried, and why."""

    says: str
    why: str


def pulled(job: Job, levers: Iterable[Lever]) -> Job:
    """The job with all of the levers."""
    return reduce(lambda edited, lever: lever.edit(edited), levers, job)


def is_open(job: Job, task: Task) -> bool:
    """Whether a task has not begun."""
    return job.actual(task.id).state == "open"


def is_done(job: Job, task: Task) -> bool:
    """Whether a task is done."""
    return job.actual(task.id).state == "done"


def with_task(job: Job, task: Task) -> Job:
    """The job with another task in the place of the one of that id."""
    return replace(job, tasks=tuple(task if each.id == task.id else each for each in job.tasks))


def on_chain(job: Job, plan: Plan) -> tuple[Task, ...]:
    """What is left of a plan's driving chain: tasks to do, or whose product is on its way."""
    ends = {wait.task: wait.end for wait in sorted(plan.waits, key=lambda wait: wait.end)}
    chain = (job.task[key] for key in plan.chain)
    return tuple(t for t in chain if not is_done(job, t) or ends.get(t.id, 0) > job.now)


def drives(job: Job, plan: Plan, lever: Lever) -> bool:
    """Whether a lever can work on what is left of a plan's driving chain."""
    return any(
        lever.cures(task) or (lever.touches(task) and not is_done(job, task))
        for task in on_chain(job, plan)
    )
