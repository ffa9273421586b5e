"""Windows that what happened has left no way to keep: found, and lifted.

A window of a task done or running is a fixed moment. Where what is open cannot meet it any more,
no plan could be made; so it is lifted, and called out (``scheduler.setbacks``).
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from scheduler.conflict import Conflict
from scheduler.model import Job, Link, Task
from scheduler.network import REACHES, Network, compile_job, horizon
from scheduler.passes import earliest, floors, point
from scheduler.steps import Begun


@dataclass(frozen=True)
class Window:
    """A link with a window whose earlier task has begun: the ``n``-th of a task's ``after``."""

    task: str
    n: int
    link: Link
    closes: int


def unkept(job: Job) -> frozenset[Window]:
    """The windows of an open task that no start of it can keep, whoever is busy elsewhere."""
    if job.past is None:
        return frozenset()
    every = frozenset(windows(_compiled(job)))
    if not every:
        return every
    network = _compiled(lifted(job, every))
    starts = earliest(network, network.arcs) or floors(network)
    place = {task.id: i for i, task in enumerate(job.tasks)}
    ends = {
        window: point(network.steps[place[window.task]], window.link.to, starts[place[window.task]])
        for window in every
    }
    return frozenset(window for window, end in ends.items() if end > window.closes)


def blamed(job: Job, conflict: Conflict) -> frozenset[Window]:
    """The windows of tasks begun among the rules that cannot all hold."""
    rules = {rule.of for rule in conflict.rules if rule.kind == "within"}
    found = windows(_compiled(job)) if job.past is not None and rules else ()
    return frozenset(w for w in found if (w.link.task, w.task, str(w.n)) in rules)


def lifted(job: Job, missed: Collection[Window]) -> Job:
    """The job without some windows."""
    gone = {(window.task, window.n) for window in missed}
    return replace(job, tasks=tuple(_lifted(task, gone) for task in job.tasks))


def _lifted(task: Task, gone: Collection[tuple[str, int]]) -> Task:
    after = (
        replace(link, within=None) if (task.id, n) in gone else link
        for n, link in enumerate(task.after)
    )
    return replace(task, after=tuple(after))


def anew(task_id: str) -> str:
    """How to tell that what a window was missed behind has been done anew, so that it opens anew.

    >>> anew("coat-1")
    "Once that is done, log 'coat-1 undone', then 'coat-1 done' with its new time."
    """
    return f"Once that is done, log '{task_id} undone', then '{task_id} done' with its new time."


def windows(network: Network) -> Iterator[Window]:
    """The windows of tasks begun in which an open one must come."""
    job, steps = network.job, {step.task.id: step for step in network.steps}
    for task in job.tasks:
        for n, link in enumerate(task.after):
            before = steps[link.task]
            if link.within is None or steps[task.id].state != "open":
                continue
            if isinstance(before, Begun):
                end = point(before, link.of, before.begun)
                yield Window(task.id, n, link, end + link.within)


def _compiled(job: Job) -> Network:
    return compile_job(job, horizon(job, REACHES[0]))
