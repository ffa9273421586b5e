"""The verifier's rules about who does what where there is a choice; and the job as it was made."""

from collections.abc import Iterator
from dataclasses import replace

from scheduler.model import Job, Plan, PlannedTask, Task
from scheduler.verify.case import Breach


def as_made(job: Job, plan: Plan) -> Job:
    """The job with every choice made as the plan has it.

    Where the plan's people are none of the ways, the first stands, and the plan's task is another.
    """
    placed = {task.id: task for task in plan.tasks}
    return replace(job, tasks=tuple(_made(task, placed.get(task.id)) for task in job.tasks))


def _made(task: Task, placed: PlannedTask | None) -> Task:
    for way in task.ways:
        if placed is not None and (way.who, way.several) == (placed.who, placed.several):
            return replace(task, work=way.work, who=way.who, several=way.several, ways=())
    return replace(task, ways=()) if task.ways else task


def check_choices(job: Job, plan: Plan) -> Iterator[Breach]:
    """Every choice is one of the ways in the file, and what is to be of one hand is."""
    placed = {task.id: task for task in plan.tasks}
    first: dict[str, PlannedTask] = {}
    for task in job.tasks:
        mine = placed.get(task.id)
        if mine is None:
            continue
        if task.ways and all((way.who, way.several) != (mine.who, mine.several)
                             for way in task.ways):  # fmt: skip
            yield Breach("ways", task.id, f"{task.id} is done in none of the ways it may be")
        other = first.setdefault(task.same_as or task.id, mine)
        if (other.who, other.several) != (mine.who, mine.several):
            text = f"{task.id} is not done by the same people as {other.id}"
            yield Breach("same person", task.id, text)
