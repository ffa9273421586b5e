"""Who does what where there is a choice: never worse than any job in which that is decided."""

import pytest
from hypothesis import given
from ortools.sat.python import cp_model

from scheduler.anyplan import Unsolved, by_parts
from scheduler.bound import Bounds
from scheduler.clock import DAY, HOUR
from scheduler.cpmodel import Model
from scheduler.cpsolver import solver_of
from scheduler.errors import NoPlan
from scheduler.hours import NEVER
from scheduler.model import Job, Plan
from scheduler.network import REACHES, compile_job, horizon
from scheduler.passes import floors
from scheduler.verify import check
from scheduler.ways import as_planned
from tests.support.bruteforce import ORDERS, BruteForce
from tests.support.choices import as_fixed, with_choices
from tests.support.examples import examples
from tests.support.planned import at, read, verified
from tests.support.randomjobs import WITHOUT_LIMITS, jobs
from tests.support.tightjobs import tight_jobs
from tests.support.tinyjobs import MONDAY, tiny_jobs_closing, tiny_jobs_with_a_trade

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


@given(with_choices(tiny_jobs_closing() | tiny_jobs_with_a_trade()))
@examples(30)
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
@examples(15)
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
@examples(40)
def test_there_is_a_plan_where_there_is_one_of_any_choice(job: Job) -> None:
    fixed = [has_plan(each) for each in as_fixed(job)]
    found = has_plan(job)
    assert found is None or None in fixed or found == any(fixed)


@pytest.mark.parametrize("by_date", [True, False])
def test_in_the_model_each_way_is_begun_in_time(by_date: bool) -> None:
    """A last start of the quick way is too late for the slow one."""
    noon = at("2027-01-09 12:00", "Etc/UTC")
    job = read(f"""
        job: Slow or quick
        timezone: Etc/UTC
        start: 2027-01-09
        people: {{me: {{hours: daily 8:00-18:00}}, helper: {{hours: daily 8:00-18:00}}}}
        tasks:
          a:
            who: {{any: [me, {{who: helper, work: 4 h}}]}}
            work: 1 h
            {"must_finish_by: 2027-01-09 12:00" if by_date else ""}
    """)
    network = compile_job(job, horizon(job, REACHES[0]))
    bounds = Bounds(network)
    early = bounds.early(floors(network))
    assert early is not None
    late = bounds.late(network.end if by_date else noon, early)
    assert late == [noon - HOUR]
    finish = NEVER if by_date else noon
    for way, last in enumerate((noon - HOUR, noon - 4 * HOUR)):
        model = Model(network, early, late, finish=finish)
        model.cp.add(model.choices[0][way] == 1)
        model.cp.maximize(model.start[0])
        solver = solver_of(1.0)
        assert solver.solve(model.cp) == cp_model.OPTIMAL
        assert solver.value(model.start[0]) == last
