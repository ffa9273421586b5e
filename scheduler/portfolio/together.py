"""From several jobs to a plan of each, the people they share counted once."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.anyplan import Unsolved, by_parts
from scheduler.conflict import no_plan
from scheduler.errors import BadInput, NoPlan
from scheduler.goals import LATER, ORDERS, Goal, Search
from scheduler.model import Job, Kept, Past, Plan
from scheduler.network import work_fits
from scheduler.passes import way_of
from scheduler.planner import as_filed, as_told, by_step
from scheduler.portfolio.aim import Aim, Alone, aim, alone
from scheduler.portfolio.bound import Proof
from scheduler.portfolio.choices import decided
from scheduler.portfolio.elsewhere import held_elsewhere
from scheduler.portfolio.join import Member, Portfolio, far_enough, member, portfolio, preferring
from scheduler.portfolio.preferred import worth
from scheduler.portfolio.search import NORMAL, Best, Effort, best, improved, still_stands
from scheduler.portfolio.sites import Sites
from scheduler.solve import Solution
from scheduler.steps import Begun
from scheduler.visits import days_on_site, least_visits
from scheduler.watch import UNWATCHED
from scheduler.ways import Hands, as_begun, kept
from scheduler.windows import Window, blamed, lifted, unkept


@dataclass(frozen=True)
class Together:
    """Plans of several jobs, in the order of their files.

    ``aim`` is what they come to, ``bound`` what no plans of these jobs beat: weighted lateness and
    the sum of finishes; visits and days without of those that are no later (of what a job prefers
    to the finish, than four weeks after its earliest).
    """

    jobs: tuple[Job, ...]
    plans: tuple[Plan, ...]
    aim: Aim
    bound: Aim

    @property
    def now(self) -> int | None:
        """The present moment of the jobs."""
        return present(self.jobs)

    @property
    def proven(self) -> bool:
        """Whether no plans are less late, nor as late with a lesser sum of finishes."""
        return self.aim[:2] <= self.bound[:2]

    @property
    def starts(self) -> Mapping[str, Mapping[str, int]]:
        """When each task of each job starts."""
        return {plan.job: {task.id: task.start for task in plan.tasks} for plan in self.plans}

    @property
    def kept(self) -> "Keep":
        """What of these plans is kept to."""
        return {plan.job: kept(plan) for plan in self.plans}

    @property
    def planned(self) -> tuple[tuple[Job, Plan], ...]:
        """Each job with its plan."""
        return tuple(zip(self.jobs, self.plans, strict=True))


Keep = Mapping[str, Kept]
"""What of an earlier plan is kept to, by the names of jobs."""


def plan_together(
    jobs: Sequence[Job], effort: Effort = NORMAL, keep: Keep | None = None
) -> Together:
    """Plans of several jobs that share people, made from now on where any of them is under way.

    Args:
        jobs: the jobs.
        effort: how hard to search.
        keep: of an earlier plan; where a job is under way the first plan, if none is given.
            Nothing moves from there without a gain.

    Raises:
        BadInput: the jobs can't be planned together.
        NoPlan: one of them has no plan even by itself, or all of them have none together.
    """
    if keep is None and any(job.past is not None for job in jobs):
        return plan_again(jobs, effort)[0]
    return _planned(at_one_time(jobs), effort, keep)


def plan_again(
    jobs: Sequence[Job], effort: Effort = NORMAL, keep: Keep | None = None
) -> tuple[Together, Together | None]:
    """The plans of jobs under way, and their first ones; None where the files alone have none.

    Raises:
        BadInput, NoPlan: as ``plan_together``, of the jobs as they stand.
    """
    jobs = at_one_time(jobs)
    first = _first(jobs, effort)
    if first is None:
        return _planned(jobs, effort, keep), first
    jobs = _as_begun(jobs, first.kept, keep or {})
    if keep is not None:
        return _planned(jobs, effort, keep), first
    return _planned(jobs, effort, first.kept, None if effort.on else first), first


def _as_begun(jobs: Sequence[Job], first: Keep, keep: Keep) -> tuple[Job, ...]:
    """The jobs with what has begun done by those who had it in an earlier plan, or the first."""

    def hands(job: Job) -> Mapping[str, Hands]:
        plans = [plans[job.name] for plans in (first, keep) if job.name in plans]
        return {key: who for plan in plans for key, who in plan.hands.items()}

    return tuple(as_begun(job, hands(job)) for job in jobs)


def present(jobs: Iterable[Job]) -> int | None:
    """The present moment [UTC min]; None where none of the jobs is under way."""
    return max((job.past.now for job in jobs if job.past is not None), default=None)


def at_one_time(jobs: Sequence[Job]) -> tuple[Job, ...]:
    """The jobs at the present moment of those under way: where nothing is logged, nothing is done.

    A job by itself of which nothing is logged is planned from its start, whenever that was. Among
    others it would have people work on days that are past, and here somebody knows what day it is.
    """
    now = present(jobs)
    return tuple(
        replace(job, past=Past(now))
        if now is not None and job.past is None and job.start < now
        else job
        for job in jobs
    )


def _first(jobs: Sequence[Job], effort: Effort) -> Together | None:
    """The plans of the jobs' files alone; None where there are none, or none was found."""
    filed = [*map(as_filed, jobs)]
    try:
        return _planned(filed, replace(effort, on=False, watch=UNWATCHED), None)
    except NoPlan:
        return None


def _planned(
    jobs: Sequence[Job], effort: Effort, keep: Keep | None, first: Together | None = None
) -> Together:
    """The plans of jobs as they stand; the ``first`` ones where all went as planned there.

    Windows that what happened, in whichever house, has left no way to keep are lifted.
    """
    check_apart(jobs)
    missed = {job.name: unkept(job) for job in jobs}
    while True:
        try:
            return _with_lifted(jobs, missed, effort, keep, first)
        except NoPlan as stopped:
            more = {(name, window) for name, window in _blamed(jobs, stopped)
                    if window not in missed[name]}  # fmt: skip
            if not more:
                raise
            name, window = min(more, key=lambda each: each[1].closes)
            missed[name] |= {window}


def _blamed(jobs: Sequence[Job], stopped: NoPlan) -> Iterator[tuple[str, Window]]:
    """The windows of what has begun among the rules that cannot all hold, each with its job."""
    by_name = {job.name: job for job in jobs}
    for k, own in enumerate(stopped.site.jobs):
        rules = tuple(rule for rule in stopped.conflict.rules if rule.jobs == (k,))
        for window in blamed(by_name[own.name], replace(stopped.conflict, rules=rules)):
            yield own.name, window


Missed = Mapping[str, frozenset[Window]]
"""The windows that are lifted, by the names of jobs."""


def _with_lifted(
    jobs: Sequence[Job], missed: Missed, effort: Effort, keep: Keep | None, first: Together | None
) -> Together:
    stuck: Portfolio | None = None
    for joined, each, last in _compiled(jobs, missed):
        found: list[tuple[Portfolio, Best]] = []
        if keep is not None:
            as_kept, old = _by_step(joined, keep)
            if first is not None and _as_planned(as_kept, each, old, first):
                return _told(as_kept, each, Best(old, old))
            found += _best(as_kept, each, effort, old)
        if keep is None or (joined.open.choices and not (found and present(jobs))):
            found += _best(decided(joined, each, effort), each, effort, None)
        try:
            found = found or [*_any(joined, each, effort, last=last)]
        except Unsolved as unsolved:
            stuck = joined
            if unsolved.final and work_fits(joined.open):
                break
        else:
            made, plans = min(found, key=lambda pair: worth(pair[0], pair[1].starts))
            return _told(made, each, plans)
    assert stuck is not None  # each job alone was compiled, or else NoPlan said why not
    raise no_plan(Sites(tuple(lifted(m.job, m.missed) for m in stuck.members)))


def _any(
    joined: Portfolio, each: Sequence[Alone], effort: Effort, *, last: bool
) -> Iterator[tuple[Portfolio, Best]]:
    """What becomes of any plans, where no order of placing tasks one by one finds some.

    Where people have much to do, and this is not the ``last`` time looked at, none are looked for:
    in a longer one there is more room, and they are found sooner.

    Raises:
        Unsolved: there are none before the network's end, or none were found.
    """
    if not (last or work_fits(joined.open)):
        raise Unsolved(proven=False, final=False)
    network, starts = joined.open, by_parts(joined.open, effort.alone.finish)
    made = joined.made([way_of(network, starts, members[0]) for members in network.choices])
    yield from _best(made, each, effort, improved(made, each, list(starts.starts), effort))


def _best(
    jobs: Portfolio, each: Sequence[Alone], effort: Effort, keep: list[int] | None
) -> Iterator[tuple[Portfolio, Best]]:
    """The best plans of jobs with every choice made, if there are any."""
    found = best(jobs, each, effort, keep)
    if found is not None:
        yield jobs, found


def _compiled(jobs: Sequence[Job], missed: Missed) -> Iterator[tuple[Portfolio, list[Alone], bool]]:
    """The jobs compiled, and each alone, over ever longer times; whether they are the longest."""
    *ends, last = far_enough(jobs)
    for end in (*ends, last):
        try:
            found = [_alone(job, missed[job.name], end, final=end == last) for job in jobs]
        except Unsolved:
            continue
        yield portfolio([m for m, _ in found]), [own for _, own in found], end == last


def _by_step(joined: Portfolio, keep: Keep) -> tuple[Portfolio, list[int]]:
    """An earlier plan as starts of steps, its choices made; what is not in it comes last."""
    plans = [by_step(m.network, keep.get(m.job.name, Kept({}))) for m in joined.members]
    steps = [step for plan in plans for step in plan.network.steps]
    ways = [
        [way.task.hands for way in m.network.steps[j].ways].index(steps[part.start + j].task.hands)
        for m, part in zip(joined.members, joined.parts, strict=True)
        for j, *_ in m.network.choices
    ]
    return joined.made(ways), [start for plan in plans for start in plan.starts]


def _as_planned(
    joined: Portfolio, each: Sequence[Alone], starts: list[int], first: Together
) -> bool:
    """Whether all that happened is as first planned, so that the first plans stand as they are."""
    ends = [task.finish for plan in first.plans for task in plan.tasks]
    in_time = all(
        step.end == ends[step.index] for step in joined.network.steps if isinstance(step, Begun)
    )
    return in_time and still_stands(joined, each, starts)


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


def _alone(job: Job, missed: frozenset[Window], end: int, *, final: bool) -> tuple[Member, Alone]:
    """A job by itself; one that has no plan even so is told why."""
    m = member(job, missed, end)
    try:
        return m, alone(m)
    except Unsolved as unsolved:
        if not (final or unsolved.final):
            raise
    raise no_plan(lifted(job, missed), job.name)


def _told(jobs: Portfolio, each: Sequence[Alone], found: Best) -> Together:
    """Starts as plans, with what is proven of them."""
    least = [own.finish for own in each]
    among = [_among(jobs, own, found, k) for k, own in enumerate(each)]
    plans = tuple(
        _plan(jobs, among_k, least_k, found, k)
        for k, (among_k, least_k) in enumerate(zip(among, least, strict=True))
    )
    early = [start for plans_k in among for start in plans_k["visits"].early]
    late = [start for plans_k in among for start in plans_k["visits"].late]
    days = least_visits(jobs.open, early, late), sum(plan.days_without_bound for plan in plans)
    proof = found.proof or Proof(jobs, each)
    lowest = proof.least(found.starts)._replace(visits=days[0], without=days[1])
    return Together(tuple(m.job for m in jobs.members), plans, aim(jobs, found.starts), lowest)


def _among(jobs: Portfolio, own: Alone, found: Best, k: int) -> Mapping[Goal, Search]:
    """Among which plans of a job days are to be few: at its finish; of what it prefers, later."""
    m = jobs.members[k]
    finish, soonest = (jobs.finishes(starts)[k] for starts in (found.starts, found.soon))
    at_finish = Search(own.bounds, own.early, finish)
    until = min(max(soonest + LATER, finish), m.network.end)
    first = ORDERS[m.job.prefer][0]
    later = at_finish if first == "finish" else Search(own.bounds, own.early, until)
    return {goal: later if goal == first else at_finish for goal in ("visits", "without")}


def _plan(jobs: Portfolio, among: Mapping[Goal, Search], least: int, found: Best, k: int) -> Plan:
    """The plan of one job, with what the others do to it."""
    m, mine = jobs.members[k], jobs.of_job(k, found.starts)
    network = preferring(held_elsewhere(jobs, found.starts, k), m.job.prefer)
    solution = Solution(
        network=network,
        starts=tuple(mine),
        finish_bound=least,
        visits_bound=among["visits"].least("visits"),
        days=days_on_site(m.network, mine),
        without_bound=among["without"].least("without"),
        soonest=jobs.finishes(found.soon)[k],
    )
    return as_told(m.job, network, m.missed, solution)
