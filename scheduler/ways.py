"""Who does it, where there is a choice: tasks done one way, and jobs in which that is decided."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from scheduler.model import Job, Kept, Plan, PlannedTask, Task, Way

Hands = Mapping[str, int]
"""How many of each person."""


def done(task: Task, way: Way) -> Task:
    """The task with its choice made; it is still known who must be the same."""
    return replace(
        task, work=way.work, who=way.who, several=way.several, work_range=way.work_range, ways=()
    )


def done_like(task: Task, made: Task) -> Task:
    """The task with its choice made as in another: the same one done one way."""
    return done(task, Way(made.work, made.who, made.several, made.work_range))


def hand(task: Task) -> str:
    """What tasks that are done by the same people have in common."""
    return task.same_as or task.id


def decided(job: Job, taken: Mapping[str, Hands]) -> Job:
    """The job with choices made as some of its tasks, by id, are done by those hands.

    Tasks of the same hand follow. What is not among the ways of a task says nothing.
    """
    by_hand: dict[str, int] = {}
    for task in job.tasks:
        for n, way in enumerate(task.ways):
            if way.hands == taken.get(task.id):
                by_hand.setdefault(hand(task), n)
    tasks = (
        done(task, task.ways[by_hand[hand(task)]]) if task.ways and hand(task) in by_hand else task
        for task in job.tasks
    )
    return replace(job, tasks=tuple(tasks)) if by_hand else job


def as_begun(job: Job, taken: Mapping[str, Hands] | None = None) -> Job:
    """The job with the choices made of what is done or running: nobody logs who did it.

    It was done as ``taken``, by those hands that it was planned for; else in the first way.
    """
    begun = {}
    for task in job.tasks:
        if task.ways and job.actual(task.id).state != "open":
            supposed = (taken or {}).get(task.id)
            ways = [way.hands for way in task.ways]
            begun[task.id] = ways[0] if supposed is None or supposed not in ways else supposed
    return decided(job, begun)


def may_do(task: Task) -> tuple[str, ...]:
    """Everybody who may have to do with a task, in one way or another."""
    return tuple(dict.fromkeys((*task.who, *(who for way in task.ways for who in way.who))))


def hands_of(tasks: Iterable[PlannedTask]) -> dict[str, Hands]:
    """By whose hands tasks are done, as planned."""
    return {task.id: task.hands for task in tasks}


def kept(plan: Plan) -> Kept:
    """What of a plan is kept to."""
    return Kept({task.id: task.start for task in plan.tasks}, hands_of(plan.tasks))


def as_planned(job: Job, plan: Plan) -> Job:
    """The job with every choice made as a plan of it has it."""
    return decided(job, hands_of(plan.tasks))
