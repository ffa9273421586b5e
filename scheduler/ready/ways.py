"""A task that can be done in several ways, asked for in each: one that may start is enough."""

from collections.abc import Iterable, Iterator
from itertools import starmap

from scheduler.model import Job, Plan
from scheduler.network import Network, compile_job
from scheduler.portfolio.elsewhere import Taken, with_holds
from scheduler.ready.verdict import Finding
from scheduler.steps import Hold
from scheduler.ways import Hands, as_begun, decided, hand, hands_of
from scheduler.wording import crew, listed


def in_each_way(
    job: Job, network: Network, plan: Plan, j: int, elsewhere: Iterable[tuple[Hold, int]]
) -> Iterator[Network]:
    """A job's network for each way to do its ``j``-th task that is left, the planned one first.

    Others that are to be done by the same people follow; all else is done as planned.

    Args:
        job: the job.
        network: the same, its choices made as planned.
        plan: a plan of it.
        j: the task's place.
        elsewhere: where other jobs have people of this one, and how many of them, by start.
    """
    task, planned = job.tasks[j], hands_of(plan.tasks)
    if not as_begun(job, planned).tasks[j].ways:
        yield network
        return
    one_hand = {other.id for other in job.tasks if hand(other) == hand(task)}
    others = {key: hands for key, hands in planned.items() if key not in one_hand}
    left = compile_job(decided(job, others), network.end)
    members = next(members for members in left.choices if j in members)
    ways = range(len(task.ways))
    for n in sorted(ways, key=lambda n: task.ways[n].hands != planned[task.id]):
        yield with_holds(left.taking(members, n), starmap(Taken, elsewhere))


def by_others(asked: Hands, planned: Hands) -> Iterator[Finding]:
    """That it was asked for by others than those that the plan has."""
    if asked != planned:
        others, them = (listed(crew(hands)) for hands in (asked, planned))
        yield Finding("who", True, f"asked for with {others}; the plan has {them} do it")


def nor_by(others: Hands, opens: int | None) -> Finding:
    """That it may not start in another way either; ``opens`` is when it may [UTC min]."""
    return Finding("who", False, f"nor with {listed(crew(others))}", opens)
