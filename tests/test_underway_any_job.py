"""Whatever happened to any job, in whatever air: its plan from now on keeps every rule."""

from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.errors import NoPlan
from scheduler.model import Job
from scheduler.planner import plan_job
from tests.support.examples import examples
from tests.support.planned import verified
from tests.support.randomjobs import jobs
from tests.support.randomlogs import under_way


@given(jobs(most=6), st.data())
@examples(120)
def test_a_job_under_way_gets_a_verified_plan_from_now_on(job: Job, data: st.DataObject) -> None:
    try:
        plan = plan_job(job)
    except NoPlan:
        assume(False)
    stands = data.draw(under_way(job, plan))
    try:
        verified(stands)
    except NoPlan:
        # A date that has passed, or air in which what is open cannot be applied.
        assume(False)
