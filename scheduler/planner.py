"""From a job to its plan: compile, solve, tell; or say which rules can't all hold."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from scheduler.anyplan import Unsolved
from scheduler.conflict import NoPlan, conflict
from scheduler.model import Air, Job, Plan
from scheduler.network import Network, networks
from scheduler.plan import make_plan
from scheduler.setbacks import setbacks
from scheduler.shopping.stock import stock_warnings
from scheduler.solve import NORMAL, Effort, Solution, solve
from scheduler.watch import UNWATCHED
from scheduler.windows import Window, blamed, lifted, unkept


def plan_job(job: Job, effort: Effort = NORMAL, keep: Mapping[str, int] | None = None) -> Plan:
    """The best plan of a job, made from now on where it is under way.

    Windows that what happened has left no way to keep are lifted, and called out in the warnings.

    Args:
        job: the job.
        effort: how hard to search.
        keep: starts of tasks in an earlier plan, by their ids; where a job is under way those of
            its first plan, if none are given. Nothing moves from there without a gain; a task that
            is not in it goes where the others leave room.

    Raises:
        NoPlan: no plan can exist, with the rules that can't all hold.
    """
    if keep is None and job.past is not None:
        return plan_again(job, effort)[0]
    return _with_windows_lifted(job, effort, keep)


def plan_again(
    job: Job, effort: Effort = NORMAL, keep: Mapping[str, int] | None = None
) -> tuple[Plan, Plan | None]:
    """The plan of a job under way, and its first plan; None where the file alone has none.

    Without ``keep`` it is kept to the first plan.

    Raises:
        NoPlan: as ``plan_job``, of the job as it stands.
    """
    try:
        first = first_planned(job, effort)
    except NoPlan:
        return _with_windows_lifted(job, effort, keep), None
    firsts = {task.id: task.start for task in first.tasks}
    return _with_windows_lifted(job, effort, firsts if keep is None else keep), first


def _with_windows_lifted(job: Job, effort: Effort, keep: Mapping[str, int] | None) -> Plan:
    missed = unkept(job)
    while True:
        try:
            return _planned(job, missed, effort, keep)
        except NoPlan as no_plan:
            more = blamed(job, no_plan.conflict) - missed
            if not more:
                raise
            missed |= {min(more, key=lambda window: window.closes)}


def _planned(
    job: Job, missed: Collection[Window], effort: Effort, keep: Mapping[str, int] | None
) -> Plan:
    kept = lifted(job, missed)
    for network in networks(kept):
        try:
            return planned(job, network, missed, effort, keep)
        except Unsolved as unsolved:
            if unsolved.final:
                break
    raise NoPlan(conflict(kept))


def planned(
    job: Job,
    network: Network,
    missed: Collection[Window],
    effort: Effort,
    keep: Mapping[str, int] | None,
) -> Plan:
    """The plan of a job that is compiled already, with the windows ``missed`` lifted.

    Raises:
        Unsolved: there is none before the network's end, or none was found.
    """
    kept = None if keep is None else by_step(network, keep)
    return as_told(job, network, missed, solve(network, effort, kept))


def as_told(job: Job, network: Network, missed: Collection[Window], solution: Solution) -> Plan:
    """The plan of a solution, with what went wrong so far."""
    plan = make_plan(network, solution)
    warnings = *setbacks(network, missed), *plan.warnings, *stock_warnings(job, plan)
    return replace(plan, warnings=warnings)


def by_step(network: Network, keep: Mapping[str, int]) -> list[int]:
    """Starts by the ids of tasks as starts of steps; what is not among them comes last."""
    return [keep.get(step.task.id, network.end) for step in network.steps]


def first_planned(job: Job, effort: Effort = NORMAL) -> Plan:
    """The plan of the job's file alone: nothing logged, the air as supposed, its own start.

    Nobody watches it being made: it is not the plan that is asked for.

    Raises:
        NoPlan: as ``plan_job``.
    """
    return plan_job(as_filed(job), replace(effort, on=False, watch=UNWATCHED))


def as_filed(job: Job) -> Job:
    """The job as its file has it, whatever happened since."""
    if job.past is None:
        return job
    start = job.start if job.past.start is None else job.past.start
    rooms = {key: replace(room, air=_supposed(room.air)) for key, room in job.rooms.items()}
    return replace(job, past=None, start=start, air=_supposed(job.air), rooms=rooms)


def _supposed(air: Air) -> Air:
    return replace(air, course=None)
