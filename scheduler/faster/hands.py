"""Levers on hands: one more of somebody, a task handed over."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from math import ceil

from scheduler.faster.lever import Declined, Lever, is_open, on_chain, with_task
from scheduler.faster.who import no_price, only_looks, tasks_of, with_person
from scheduler.model import Job, Person, Plan, Task


def hands_levers(job: Job, plan: Plan, person: Person) -> Iterator[Lever]:
    """A second one beside somebody for whose hands tasks queue."""
    if only_looks(job, person) or not any(
        _queues(job, plan, task) for task in tasks_of(job, person)
    ):
        return
    yield Lever(
        id=f"hands:{person.id}",
        kind="hands",
        says=f"{person.id}: one more who can do the same, in the same hours",
        edit=partial(with_hands, who=person.id),
        group=f"hands:{person.id}",
        people=frozenset({person.id}),
        notes=("Each task still takes one of them its whole time; two tasks go on side by side.",),
        unpriced=no_price(person),
        cautions=("hands",),
    )


def _queues(job: Job, plan: Plan, task: Task) -> bool:
    """Whether a task starts when it does because its people were at another one."""
    before = plan.task[task.id].because.task
    linked = {link.task for link in task.after}
    return (
        before is not None
        and before not in linked
        and not {*plan.task[task.id].who}.isdisjoint(plan.task[before].who)
    )


def with_hands(job: Job, who: str) -> Job:
    """The job with one more of a person."""
    person = job.people[who]
    return with_person(job, replace(person, count=person.count + 1))


def hand_over_levers(job: Job, plan: Plan) -> Iterator[Lever | Declined]:
    """Tasks that somebody can do alone who works beside their owner elsewhere in the job.

    Two on a task are not twice as fast, and no source says how fast they are: that is not tried.
    """
    pairs = {
        (one, other)
        for task in job.tasks
        for together in (task.who, *(way.who for way in task.ways))
        for one in together
        for other in together
        if one != other
    }
    if not pairs:
        yield Declined(
            "A helper on a task",
            "nobody in the file works beside somebody else: put a helper into 'people' and into"
            " the 'who' of a task",
        )
    for task in on_chain(job, plan):
        for owner, helper in sorted(pairs):
            alone = task.hands == {owner: 1} and not task.ways and task.work and not task.hold
            if alone and is_open(job, task):
                yield _hand_over(job, task, job.people[helper])


def _hand_over(job: Job, task: Task, helper: Person) -> Lever:
    owner = job.people[task.who[0]]
    work = ceil(task.work * helper.pace / owner.pace)
    return Lever(
        id=f"hand-over:{task.id}:{helper.id}",
        kind="hand-over",
        says=f"{helper.id}: does '{task.name}' alone",
        edit=partial(with_owner, key=task.id, who=helper.id, work=work),
        group=f"hand-over:{task.id}",
        tasks=frozenset({task.id}),
        notes=(f"Supposed: {helper.id} can do it alone, at the pace that the file gives.",),
        unpriced=no_price(helper),
        cautions=("hands",),
    )


def with_owner(job: Job, key: str, who: str, work: int) -> Job:
    """The job with a task done by somebody else, in another time."""
    return with_task(job, replace(job.task[key], who=(who,), several=(), work=work))
