"""From several jobs to a plan of each, the people they share counted once."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.anyplan import Unsolved
from scheduler.conflict import NoPlan, conflict
from scheduler.errors import BadInput, ThenwaitError
from scheduler.model import Job, Plan
from scheduler.passes import Starts
from scheduler.planner import as_told
from scheduler.portfolio.aim import Aim, Alone, aim, alone, bound
from scheduler.portfolio.elsewhere import held_elsewhere
from scheduler.portfolio.join import Member, Portfolio, far_enough, member, portfolio
from scheduler.portfolio.search import NORMAL, Effort, first_plan, improved
from scheduler.solve import Solution
from scheduler.visits import days_on_site, least_visits
from scheduler.windows import lifted


@dataclass(frozen=True)
class Together:
    """Plans of several jobs, in the order of their files.

    ``aim`` is what they come to, ``bound`` what no plans of these jobs beat: weighted lateness and
    the sum of finishes.
    """

    jobs: tuple[Job, ...]
    plans: tuple[Plan, ...]
    aim: Aim
    bound: Aim

    @property
    def planned(self) -> tuple[tuple[Job, Plan], ...]:
        """Each job with its plan."""
        return tuple(zip(self.jobs, self.plans, strict=True))


class NoPlanTogether(ThenwaitError):
    """Each job has a plan by itself, and no plan of them all was found."""

    prose = True


def plan_together(jobs: Sequence[Job], effort: Effort = NORMAL) -> Together:
    """Plans of several jobs that share people.

    Raises:
        BadInput: the jobs can't be planned together.
        NoPlan: one of them has no plan even by itself.
        NoPlanTogether: none was found of all of them.
    """
    check_apart(jobs)
    joined, each, starts = _first(jobs, effort)
    done = joined.finishes(starts)
    least = [own.finish(finish) for own, finish in zip(each, done, strict=True)]
    starts = improved(joined, each, starts, least, effort)
    plans = tuple(_told(joined, each[k], least[k], starts, k) for k in range(len(jobs)))
    return Together(tuple(jobs), plans, aim(joined, starts), bound(joined, each, least))


def _first(jobs: Sequence[Job], effort: Effort) -> tuple[Portfolio, list[Alone], list[int]]:
    """The jobs compiled far enough for a first plan of them, and that plan."""
    *ends, last = far_enough(jobs)
    for end in (*ends, last):
        members = [member(job, end) for job in jobs]
        try:
            each = [_alone(m, final=end == last) for m in members]
        except Unsolved:
            continue
        joined = portfolio(members)
        starts = first_plan(joined, each, effort)
        if starts is not None:
            return joined, each, starts
    raise NoPlanTogether(_none_found(jobs))


def check_apart(jobs: Sequence[Job]) -> None:
    """Refuse jobs that can't be told apart, or that live by other clocks."""
    names = [job.name.casefold() for job in jobs]
    for job in jobs:
        if names.count(job.name.casefold()) > 1:
            raise BadInput(
                f"two of the jobs are called '{job.name}': give each a 'job' of its own, by which"
                " its plan and its calendar are known"
            )
        if job.timezone != jobs[0].timezone:
            raise BadInput(
                f"'{jobs[0].name}' is in {jobs[0].timezone} and '{job.name}' in {job.timezone}:"
                " jobs planned together are in one time zone"
            )


def _alone(m: Member, *, final: bool) -> Alone:
    """A job by itself; one that has no plan even so is told why."""
    try:
        return alone(m)
    except Unsolved as unsolved:
        if not (final or unsolved.final):
            raise
        raise NoPlan(conflict(lifted(m.job, m.missed))) from None


def _none_found(jobs: Sequence[Job]) -> str:
    dated = [job.name for job in jobs if any(task.must_finish_by for task in job.tasks)]
    way_out = (
        f"dates in 'must_finish_by' ({', '.join(dated)}) are what gives first"
        if dated
        else "plan fewer jobs at a time, or give the people they share more hours"
    )
    return f"each job can be planned by itself, but no plan of all of them was found: {way_out}"


def _told(jobs: Portfolio, own: Alone, least: int, starts: Starts, k: int) -> Plan:
    """The plan of one job, with what the others do to it."""
    m, mine = jobs.members[k], jobs.of_job(k, starts)
    finish = jobs.finishes(starts)[k]
    solution = Solution(
        starts=tuple(mine),
        finish_bound=least,
        visits_bound=_least_visits(own, finish),
        days=days_on_site(m.network, mine),
    )
    return as_told(m.job, held_elsewhere(jobs, starts, k), m.missed, solution)


def _least_visits(own: Alone, finish: int) -> int:
    late = own.bounds.late(finish, own.early)
    assert late is not None  # the schedule at hand keeps that finish
    return least_visits(own.bounds.network, own.early, late)
