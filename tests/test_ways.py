"""Who does what where there is a choice: never worse than any job in which that is decided."""

from hypothesis import given

from scheduler.anyplan import Unsolved, by_parts
from scheduler.clock import DAY, HOUR
from scheduler.errors import NoPlan
from scheduler.model import Job, Plan
from scheduler.network import REACHES, compile_job, horizon
from scheduler.verify import check
from scheduler.ways import as_planned
from tests.support.bruteforce import ORDERS, BruteForce
from tests.support.choices import as_fixed, with_choices
from tests.support.examples import examples
from tests.support.planned import verified
from tests.support.randomjobs import WITHOUT_LIMITS, jobs
from tests.support.tightjobs import tight_jobs
from tests.support.tinyjobs import MONDAY, tiny_jobs_closing

DAYS = 7
"""That brute force looks at."""


def plan_or_none(job: Job) -> Plan | None:
    """The verified plan of a job, or None where none can exist."""
    try:
        return verified(job)
    except NoPlan:
        return None


def score_of(job: Job, plan: Plan) -> tuple[int, ...]:
    """What brute force scores by, in the order preferred [h, days, days]; then all starts [h]."""
    without = sum(each.days for each in plan.days_without)
    goals = (plan.finish - MONDAY) // HOUR, plan.visits, without
    starts = sum((task.start - MONDAY) // HOUR for task in plan.tasks)
    return *(goals[n] for n in ORDERS[job.prefer]), starts


@given(with_choices(tiny_jobs_closing()))
@examples(40)
def test_the_plan_of_a_tiny_job_is_the_best_of_all_choices(job: Job) -> None:
    plan = plan_or_none(job)
    scores = [score for each in as_fixed(job) if (score := BruteForce(each, DAYS).best())]
    best, end = min(scores, default=None), MONDAY + DAYS * DAY
    if plan is None:
        assert best is None
    elif best is None:
        assert plan.finish > end
    elif plan.finish <= end:
        assert score_of(job, plan) == best
        assert plan.proven_earliest
    else:  # what is preferred to the finish is had later only
        assert score_of(job, plan) < best


@given(with_choices(jobs(most=7, products=WITHOUT_LIMITS)))
@examples(30)
def test_no_choice_that_is_made_beforehand_is_better(job: Job) -> None:
    plan = plan_or_none(job)
    fixed = [made for each in as_fixed(job) if (made := plan_or_none(each)) is not None]
    assert (plan is None) == (not fixed)
    if plan is None:
        return
    soonest = min(made.finish for made in fixed)
    assert plan.finish_bound <= soonest
    assert plan.finish >= min(made.finish_bound for made in fixed)
    if plan.proven_earliest:
        assert plan.finish <= soonest
    assert not check(as_planned(job, plan), plan)


def has_plan(job: Job) -> bool | None:
    """Whether a job has a plan, part by part; None where that was not shown."""
    try:
        by_parts(compile_job(job, horizon(job, REACHES[0])), 10.0)
    except Unsolved as unsolved:
        return False if unsolved.proven else None
    return True


@given(with_choices(tight_jobs(most=6)))
@examples(60)
def test_there_is_a_plan_where_there_is_one_of_any_choice(job: Job) -> None:
    fixed = [has_plan(each) for each in as_fixed(job)]
    found = has_plan(job)
    assert found is None or None in fixed or found == any(fixed)
