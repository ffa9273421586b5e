"""From a job to its plan: compile, solve, tell; or say which rules can't all hold."""

from collections.abc import Collection
from dataclasses import replace

from scheduler.anyplan import Unsolved
from scheduler.conflict import no_plan
from scheduler.errors import NoPlan
from scheduler.model import Air, Job, Kept, Plan
from scheduler.network import Network, networks
from scheduler.passes import Schedule
from scheduler.plan import make_plan
from scheduler.setbacks import setbacks
from scheduler.shopping.stock import stock_warnings
from scheduler.solve import NORMAL, Effort, Solution, solve
from scheduler.watch import UNWATCHED
from scheduler.ways import as_begun, kept
from scheduler.windows import Window, blamed, lifted, unkept


def plan_job(job: Job, effort: Effort = NORMAL, keep: Kept | None = None) -> Plan:
    """The best plan of a job, made from now on where it is under way.

    Windows that what happened has left no way to keep are lifted, and called out in the warnings.

    Args:
        job: the job.
        effort: how hard to search.
        keep: of an earlier plan; where a job is under way its first plan, if none is given.
            Nothing moves from there without a gain; a task that is not in it goes where the others
            leave room.

    Raises:
        NoPlan: no plan can exist, with the rules that can't all hold.
    """
    if keep is None and job.past is not None:
        return plan_again(job, effort)[0]
    return _with_windows_lifted(job, effort, keep)


def plan_again(
    job: Job, effort: Effort = NORMAL, keep: Kept | None = None
) -> tuple[Plan, Plan | None]:
    """The plan of a job under way, and its first plan; None where the file alone has none.

    Without ``keep`` it is kept to the first plan. What is done or running was done by those who had
    it in the plan that is kept to, or in the first.

    Raises:
        NoPlan: as ``plan_job``, of the job as it stands.
    """
    try:
        first = first_planned(job, effort)
    except NoPlan:
        return _with_windows_lifted(job, effort, keep), None
    firsts = kept(first)
    stands = as_begun(job, {**firsts.hands, **(keep.hands if keep else {})})
    return _with_windows_lifted(stands, effort, keep or firsts), first


def _with_windows_lifted(job: Job, effort: Effort, keep: Kept | None) -> Plan:
    missed = unkept(job)
    while True:
        try:
            return _planned(job, missed, effort, keep)
        except NoPlan as stopped:
            more = blamed(job, stopped.conflict) - missed
            if not more:
                raise
            missed |= {min(more, key=lambda window: window.closes)}


def _planned(job: Job, missed: Collection[Window], effort: Effort, keep: Kept | None) -> Plan:
    left = lifted(job, missed)
    for network in networks(left):
        try:
            return planned(job, network, missed, effort, keep)
        except Unsolved as unsolved:
            if unsolved.final:
                break
    raise no_plan(left)


def planned(
    job: Job,
    network: Network,
    missed: Collection[Window],
    effort: Effort,
    keep: Kept | None,
) -> Plan:
    """The plan of a job that is compiled already, with the windows ``missed`` lifted.

    Raises:
        Unsolved: there is none before the network's end, or none was found.
    """
    solution = solve(network, effort, None if keep is None else by_step(network, keep))
    return as_told(job, solution.network, missed, solution)


def as_told(job: Job, network: Network, missed: Collection[Window], solution: Solution) -> Plan:
    """The plan of a solution, with what went wrong so far."""
    plan = make_plan(network, solution)
    warnings = *setbacks(network, missed), *plan.warnings, *stock_warnings(job, plan)
    return replace(plan, warnings=warnings)


def by_step(network: Network, keep: Kept) -> Schedule:
    """An earlier plan as starts of steps; what is not in it comes last, in the first way."""
    taken = []
    for j, *_ in network.choices:
        ways = [way.task.hands for way in network.steps[j].ways]
        hands = keep.hands.get(network.steps[j].task.id)
        taken.append(ways.index(hands) if hands in ways else 0)
    starts = [keep.starts.get(step.task.id, network.end) for step in network.steps]
    return Schedule(network.made(taken), starts)


def first_planned(job: Job, effort: Effort = NORMAL) -> Plan:
    """The plan of the job's file alone: nothing logged, the air as supposed, its own start.

    Nobody watches it being made: it is not the plan that is asked for.

    Raises:
        NoPlan: as ``plan_job``.
    """
    return plan_job(as_filed(job), replace(effort, on=False, watch=UNWATCHED))


def as_filed(job: Job) -> Job:
    """The job as its file has it, whatever happened since; nobody needs to be asked any more."""
    if job.past is None:
        return job
    start = job.start if job.past.start is None else job.past.start
    rooms = {key: replace(room, air=_supposed(room.air)) for key, room in job.rooms.items()}
    return replace(job, past=None, asked=None, start=start, air=_supposed(job.air), rooms=rooms)


def _supposed(air: Air) -> Air:
    return replace(air, course=None)
