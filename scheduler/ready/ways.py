"""A task that can be done in several ways, asked for in each: one that may start is enough."""

from collections.abc import Iterable, Iterator
from itertools import starmap

from scheduler.model import Job, Plan, Task
from scheduler.network import Network, compile_job
from scheduler.portfolio.elsewhere import Taken, with_holds
from scheduler.ready.site import upstream
from scheduler.ready.verdict import Finding
from scheduler.steps import Hold
from scheduler.ways import Hands, as_begun, decided, hand, hands_of
from scheduler.wording import crew, in_quotes, listed


def in_each_way(  # noqa: PLR0913, PLR0917
    job: Job, network: Network, plan: Plan, j: int, at: int, elsewhere: Iterable[tuple[Hold, int]]
) -> Iterator[Network]:
    """A job's network for each way to do its ``j``-th task that is left, the planned one first.

    Others that are to be done by the same people follow, but for those that the plan has before:
    by whom these are done, this one is. All else is done as planned.

    Args:
        job: the job.
        network: the same, its choices made as planned.
        plan: a plan of it.
        j: the task's place.
        at: the start asked for [UTC min].
        elsewhere: where other jobs have people of this one, and how many of them, by start.
    """
    task, planned = job.tasks[j], hands_of(plan.tasks)
    if not as_begun(job, planned).tasks[j].ways or _before(job, plan, j, at):
        yield network
        return
    one_hand = {other.id for other in job.tasks if hand(other) == hand(task)}
    others = {key: hands for key, hands in planned.items() if key not in one_hand}
    left = compile_job(decided(job, others), network.end)
    members = next(members for members in left.choices if j in members)
    ways = range(len(task.ways))
    for n in sorted(ways, key=lambda n: task.ways[n].hands != planned[task.id]):
        yield with_holds(left.taking(members, n), starmap(Taken, elsewhere))


def by_the_same(job: Job, plan: Plan, j: int, at: int) -> Iterator[Finding]:
    """That others may not do it, as those who do it have begun with what the same people do."""
    if job.tasks[j].ways and (before := _before(job, plan, j, at)):
        who = listed(crew(plan.task[job.tasks[j].id].hands))
        same = listed(map(in_quotes, before))
        yield Finding("who", True, f"only {who} may do it: by the same people as {same}")


def _before(job: Job, plan: Plan, j: int, at: int) -> list[Task]:
    """Others of the same people, begun by the plan before this task, or when it is asked for.

    What waits for this task is put off with it, and has not begun.
    """
    task = job.tasks[j]
    same = [other for other in job.tasks if other is not task and hand(other) == hand(task)]
    by = max(at, plan.task[task.id].start)
    return [
        other
        for other in same
        if plan.task[other.id].start <= by and task.id not in upstream(job, other)
    ]


def by_others(asked: Hands, planned: Hands) -> Iterator[Finding]:
    """That it was asked for by others than those that the plan has."""
    if asked != planned:
        others, them = (listed(crew(hands)) for hands in (asked, planned))
        yield Finding("who", True, f"asked for with {others}; the plan has {them} do it")


def nor_by(others: Hands, opens: int | None) -> Finding:
    """That it may not start in another way either; ``opens`` is when it may [UTC min]."""
    return Finding("who", False, f"nor with {listed(crew(others))}", opens)
