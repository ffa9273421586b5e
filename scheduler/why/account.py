"""The chain of reasons behind one task's start, and where the time up to it went."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.chain import Stretch, chain_to, split_of, stretches
from scheduler.model import Job, Plan, PlannedTask, TimeSplit, Wait
from scheduler.network import Network
from scheduler.passes import Starts, order_arcs, point, release
from scheduler.ready import network_of
from scheduler.reasons import Binding, bindings
from scheduler.steps import Arc, Begun
from scheduler.without import as_it_is


@dataclass(frozen=True)
class Held:
    """A task of the chain and the time that is its part of it.

    Args:
        task: as planned, with the reason of its start.
        wait: what it waits for the end of; None where that is nothing that takes time.
        before: what the time goes into between what the reason names and its start.
        within: the same, of the time from its start on that what comes after it waits for.
    """

    task: PlannedTask
    wait: Wait | None
    before: tuple[Stretch, ...]
    within: tuple[Stretch, ...]


@dataclass(frozen=True)
class Account:
    """Why a task starts when it does.

    Args:
        job, plan: which it is a task of.
        chain: the task itself first, then back in time, each what held the one before it.
        since: from where on the time is accounted for [UTC min]: the start of the job, or what is
            logged last on the chain.
    """

    job: Job
    plan: Plan
    chain: tuple[Held, ...]
    since: int

    @property
    def task(self) -> PlannedTask:
        """The task that was asked about."""
        return self.chain[0].task

    @property
    def parts(self) -> tuple[Stretch, ...]:
        """The time from ``since`` to the task's start without a gap, as it goes by."""
        parts = (part for held in self.chain for part in (*held.before, *held.within))
        return tuple(sorted(parts, key=lambda part: part.start))

    @property
    def split(self) -> TimeSplit:
        """Where that time goes, without remainder [min]."""
        return split_of(self.parts)


def account(job: Job, plan: Plan, task_id: str, network: Network | None = None) -> Account:
    """Why a task of a plan starts when it does.

    Args:
        job: the job.
        plan: a plan of it.
        task_id: the task.
        network: the job compiled, where other jobs have its people; None where there are none.

    Raises:
        KeyError: there is no such task.
    """
    network = network or network_of(job, plan)
    starts = [plan.task[step.task.id].start for step in network.steps]
    bound = _bound(network, starts)
    j = job.tasks.index(job.task[task_id])
    chain = _to_the_log(network, chain_to(bound, j))
    since = _since(network, starts, chain, bound)
    parts = stretches(network, starts, chain, bound, (since, max(since, starts[j])))
    return Account(job, plan, tuple(_held(plan, starts, i, bound[i], parts) for i in chain), since)


def _bound(network: Network, starts: Starts) -> tuple[Binding, ...]:
    """The binding reasons of a plan; windows that it had to give up hold nothing."""
    order = order_arcs(network, starts)
    assert order is not None  # a plan has no collisions
    arcs = (*(arc for arc in network.arcs if _is_kept(network, starts, arc)), *order)
    return bindings(network, as_it_is(network, starts), starts, arcs)


def _is_kept(network: Network, starts: Starts, arc: Arc) -> bool:
    end = point(network.steps[arc.after], arc.to, starts[arc.after])
    return not arc.backward or release(network, arc, starts) <= end


def _to_the_log(network: Network, chain: Sequence[int]) -> tuple[int, ...]:
    """The chain as far back as the first task that has begun: what was before it is past."""
    begun = (n for n, j in enumerate(chain) if isinstance(network.steps[j], Begun))
    return tuple(chain[: next(begun, len(chain)) + 1])


def _since(network: Network, starts: Starts, chain: Sequence[int], bound: Sequence[Binding]) -> int:
    """What the account begins with: the job, or the logged end of a task that the next hangs on."""
    step = network.steps[chain[-1]]
    if not isinstance(step, Begun):
        return network.job.start
    if len(chain) == 1 or step.state == "running":
        return step.begun
    arc = bound[chain[-2]].arc
    return step.end if arc is None else point(step, arc.of, starts[step.index])


def _held(plan: Plan, starts: Starts, j: int, binding: Binding, parts: Sequence[Stretch]) -> Held:
    task = plan.tasks[j]
    own = [part for part in parts if part.step == j]
    return Held(
        task,
        _wait(plan, task, binding.arc),
        tuple(part for part in own if part.start < starts[j]),
        tuple(part for part in own if part.start >= starts[j]),
    )


def _wait(plan: Plan, task: PlannedTask, arc: Arc | None) -> Wait | None:
    """The wait behind an arc, of a link or of a closed room; the last where there are several."""
    if arc is None:
        return None
    for_task = None if arc.kind in {"room", "dust"} else task.id
    before = plan.tasks[arc.before].id
    found = [
        wait
        for wait in plan.waits
        if (wait.task, wait.stage, wait.for_task) == (before, arc.stage, for_task)
        and wait.minutes > 0
    ]
    return max(found, key=lambda wait: wait.end, default=None)
