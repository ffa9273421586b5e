"""Who does what where there is a choice: never worse than any job in which that is decided."""

from hypothesis import given

from scheduler.anyplan import Unsolved, by_parts
from scheduler.clock import HOUR
from scheduler.errors import NoPlan
from scheduler.model import Job, Plan
from scheduler.network import REACHES, compile_job, horizon
from scheduler.verify import check
from scheduler.ways import as_planned
from tests.support.bruteforce import BruteForce
from tests.support.choices import as_fixed, with_choices
from tests.support.examples import examples
from tests.support.planned import verified
from tests.support.randomjobs import WITHOUT_LIMITS, jobs
from tests.support.tightjobs import tight_jobs
from tests.support.tinyjobs import MONDAY, tiny_jobs


def plan_or_none(job: Job) -> Plan | None:
    """The verified plan of a job, or None where none can exist."""
    try:
        return verified(job)
    except NoPlan:
        return None


def score_of(job: Job, plan: Plan) -> tuple[int, ...]:
    """What brute force scores by [h, days, days, h]."""
    assert job.prefer == "finish"
    without = sum(each.days for each in plan.days_without)
    finish = (plan.finish - MONDAY) // HOUR
    return finish, plan.visits, without, sum((t.start - MONDAY) // HOUR for t in plan.tasks)


@given(with_choices(tiny_jobs()))
@examples(60)
def test_the_plan_of_a_tiny_job_is_the_best_of_all_choices(job: Job) -> None:
    plan = plan_or_none(job)
    scores = [score for each in as_fixed(job) if (score := BruteForce(each, 7).best()) is not None]
    best = min(scores, default=None)
    if best is not None:
        assert plan is not None
        assert score_of(job, plan) == best
        assert plan.proven_earliest
    elif plan is not None:
        assert plan.finish > MONDAY + 7 * 24 * HOUR


@given(with_choices(jobs(most=7, products=WITHOUT_LIMITS)))
@examples(60)
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
