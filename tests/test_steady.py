"""Planning again from an earlier plan: nothing moves there without a gain."""

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.clock import DAY, HOUR
from scheduler.errors import NoPlan
from scheduler.model import Job, Kept, Plan
from scheduler.planner import plan_job
from scheduler.verify import check
from tests.support.examples import examples
from tests.support.jobs import household
from tests.support.planned import read, starts, verified
from tests.support.randomjobs import jobs
from tests.support.underway import moments, on_plan


def kept(job: Job, keep: Mapping[str, int]) -> Plan:
    """The plan of a job that keeps to earlier starts where it can; every rule holds in it."""
    plan = plan_job(job, keep=Kept(keep))
    assert not check(job, plan)
    return plan


def starts_of(plan: Plan) -> dict[str, int]:
    return {task.id: task.start for task in plan.tasks}


def moved(plan: Plan, keep: Mapping[str, int]) -> int:
    return sum(task.start != keep[task.id] for task in plan.tasks)


def delayed(job: Job, task: str, until: int) -> Job:
    """The job with one task not before a later time."""
    tasks = (replace(x, not_before=until) if x.id == task else x for x in job.tasks)
    return replace(job, tasks=tuple(tasks))


@given(jobs())
@examples(40)
def test_a_plan_kept_to_is_the_same_plan(job: Job) -> None:
    try:
        plan = verified(job)
    except NoPlan:
        assume(False)
    assert kept(job, starts_of(plan)) == plan


@pytest.mark.parametrize("seed", range(3))
def test_a_household_s_plan_kept_to_is_the_same_plan(seed: int) -> None:
    job = household(seed, 30)
    plan = verified(job)
    assert kept(job, starts_of(plan)) == plan


@given(jobs(most=7), st.data())
@examples(40)
def test_a_delay_moves_no_more_than_it_would_and_costs_no_later_finish(
    job: Job, data: st.DataObject
) -> None:
    try:
        plan = verified(job)
        task = data.draw(st.sampled_from(plan.tasks))
        job = delayed(job, task.id, task.start + data.draw(st.sampled_from((HOUR, DAY, 4 * DAY))))
        anew = verified(job)
    except NoPlan:
        assume(False)
    keep = starts_of(plan)
    again = kept(job, keep)
    assert (again.finish, again.visits) == (anew.finish, anew.visits)
    assert moved(again, keep) <= moved(anew, keep)


@pytest.mark.parametrize("seed", range(3))
def test_a_household_s_plan_followed_to_the_minute_stays_as_it_is(seed: int) -> None:
    """Whether or not the first plan is proven, what was done as planned moves nothing."""
    job = household(seed, 30)
    keep = starts_of(plan := verified(job))
    for now in moments(plan)[::16]:
        again = kept(on_plan(job, plan, now), keep)
        assert moved(again, keep) == 0
        assert again.finish == plan.finish


@pytest.mark.parametrize("seed", range(3))
def test_an_evening_that_slips_moves_no_more_than_it_would(seed: int) -> None:
    job = household(seed, 24)
    plan = verified(job)
    keep, total, anew = starts_of(plan), 0, 0
    for now in moments(plan)[4::10]:
        late = on_plan(job, plan, now)
        assert late.past is not None
        late = replace(late, past=replace(late.past, now=now + 2 * HOUR))
        total += moved(kept(late, keep), keep)
        anew += moved(verified(late), keep)
    assert total <= anew


def test_of_plans_alike_the_earlier_one_stays() -> None:
    """In any order they are as good: it is the earlier plan's, not the file's."""
    job = read(
        """
        job: Any order
        timezone: Etc/UTC
        start: 2027-01-04
        people: {me: {hours: daily 9:00-17:00}}
        tasks:
          a: {who: me, work: 1 h}
          b: {who: me, work: 1 h}
          c: {who: me, work: 1 h}
          d: {who: me, work: 1 h}
        """
    )
    plan = verified(job)
    keep = dict(zip("cadb", sorted(starts_of(plan).values()), strict=True))
    assert starts_of(kept(job, keep)) == keep
    late = delayed(job, "d", keep["d"] + 2 * HOUR)
    assert moved(kept(late, keep), keep) == 2 < moved(verified(late), keep)


def test_a_gain_moves_what_it_must_and_nothing_else() -> None:
    job = read(
        """
        job: One evening more
        timezone: Etc/UTC
        start: 2027-01-04
        people: {me: {hours: [mon 18:00-20:00, sat 9:00-17:00, 2027-01-05 18:00-20:00]}}
        tasks:
          a: {who: me, work: 2 h}
          b: {who: me, work: 2 h}
          c: {who: me, work: 2 h, not_before: 2027-01-09}
        """
    )
    plan = verified(job)
    earlier = {**starts_of(plan), "b": plan.task["c"].finish}
    again = kept(job, earlier)
    assert again == plan
    assert moved(again, earlier) == 1


def test_a_task_that_is_new_goes_where_the_others_leave_room() -> None:
    text = """
        job: One more
        timezone: Etc/UTC
        start: 2027-01-04
        people: {me: {hours: daily 9:00-17:00}}
        tasks:
          new: {who: me, work: 1 h}
          a: {who: me, work: 1 h}
          b: {who: me, work: 1 h}
        """
    job = read(text)
    plan = verified(replace(job, tasks=job.tasks[1:]))
    again = kept(job, starts_of(plan))
    assert {task.id: again.task[task.id].start for task in plan.tasks} == starts_of(plan)
    assert starts(again)["new"] == "Mon 2027-01-04 11:00"
