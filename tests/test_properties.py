"""What holds of any job: a verified plan or the rules in the way, and never the wrong way round."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.clock import DAY, HOUR
from scheduler.conflict import Conflict, kept
from scheduler.errors import NoPlan
from scheduler.model import ALWAYS, Air, Dated, Job, Limits, Person, Plan, Weekly
from scheduler.network import REACHES, compile_job, horizon
from scheduler.passes import earliest, finish_of, in_time, order_arcs
from scheduler.rules import rules_of
from tests.support.bruteforce import BruteForce
from tests.support.examples import examples
from tests.support.jobs import household, products
from tests.support.planned import read, verified
from tests.support.randomjobs import WITHOUT_LIMITS, jobs, weekly
from tests.support.tinyjobs import tiny_jobs

ROOT = Path(__file__).parents[1]


def plan_or_none(job: Job) -> Plan | None:
    """The verified plan of a job, or None where none can exist."""
    try:
        return verified(job)
    except NoPlan:
        return None


@given(jobs())
@examples(120)
def test_any_job_gets_a_verified_plan_or_a_verified_conflict(job: Job) -> None:
    try:
        verified(job)
    except NoPlan as stopped:
        verify(job, stopped.conflict)


def verify(job: Job, conflict: Conflict) -> None:
    """The rules named are in each other's way, and without any one of them there is a plan."""
    alone = kept(job, conflict.rules, tuple(rules_of(job)))
    assert plan_or_none(alone) is None
    for rule in conflict.rules if conflict.smallest else ():
        verified(rule.lift(alone))


@given(jobs(people_most=0, rooms_most=0))
@examples(80)
def test_with_nobody_to_wait_for_the_plan_is_the_forward_pass(job: Job) -> None:
    network = compile_job(job, horizon(job, REACHES[0]))
    starts = earliest(network, network.arcs)
    assume(starts is not None)
    assert starts is not None
    assume(in_time(network, starts))
    plan = verified(job)
    assert [task.start for task in plan.tasks] == starts
    assert plan.proven_earliest
    assert all(task.float_minutes == task.logic_float_minutes for task in plan.tasks)


@given(jobs(most=6))
@examples(80)
def test_where_nobody_is_contended_the_plan_finishes_with_the_forward_pass(job: Job) -> None:
    network = compile_job(job, horizon(job, REACHES[0]))
    starts = earliest(network, network.arcs)
    assume(starts is not None)
    assert starts is not None
    assume(in_time(network, starts) and order_arcs(network, starts) is not None)
    plan = verified(job)
    assert plan.finish == finish_of(network, starts)
    assert plan.proven_earliest


# More of this, less of that ----------------------------------------------------------------------


def orderly(job: Job) -> Job:
    """The job with finish-to-start links, without dates to meet or application limits.

    What is in a window goes on in one go: work that may stop runs on as soon as it can, so that
    between two windows it could do with fewer hours what it can't do with more. The air is steady,
    as a colder day could leave a swinging one within a law where the warm one was not.
    """
    tied = {link.task for task in job.tasks for link in task.after if link.within is not None}
    tied |= {task.id for task in job.tasks if any(x.within is not None for x in task.after)}
    tasks = tuple(
        replace(
            task,
            work=min(task.work, 4 * HOUR) if task.id in tied else task.work,
            split=task.split and task.id not in tied,
            must_finish_by=None,
            after=tuple(
                replace(x, of="finish", to="start", wait=max(x.wait, 0)) for x in task.after
            ),
        )
        for task in job.tasks
    )
    return in_air(replace(job, tasks=tasks), 0.0, 0.0)


def in_air(job: Job, colder: float, damper: float) -> Job:
    """The job in steady air, so much colder and damper than its own."""

    def changed(air: Air) -> Air:
        return Air(air.temperature - colder, min(air.humidity + damper, 0.97))

    rooms = {key: replace(room, air=changed(room.air)) for key, room in job.rooms.items()}
    return replace(job, air=changed(job.air), rooms=rooms)


PRODUCTS_WITHOUT_LIMITS = {
    key: replace(product, limits=Limits()) for key, product in products().items()
}
ORDERLY = jobs(most=7, products=WITHOUT_LIMITS, people_most=2).map(orderly)


@given(ORDERLY, st.floats(0, 8), st.sampled_from((0.0, 0.1, 0.3)))
@examples(60)
def test_a_colder_or_damper_room_never_gives_an_earlier_finish(
    job: Job, colder: float, damper: float
) -> None:
    if any(task.applies == "silicone" for task in job.tasks):
        damper = 0.0  # silicone cures with the moisture of the air
    warm, cold = plan_or_none(job), plan_or_none(in_air(job, colder, damper))
    if cold is not None:
        assert warm is not None
        assert warm.finish_bound <= cold.finish
        assert not warm.proven_earliest or warm.finish <= cold.finish


@given(ORDERLY, weekly, st.data())
@examples(60)
def test_more_hours_never_give_a_later_finish(
    job: Job, line: Weekly | Dated, data: st.DataObject
) -> None:
    assume(job.people)
    who = job.people[data.draw(st.sampled_from(sorted(job.people)))]
    longer = replace(who, hours=(*who.hours, line), away=who.away[1:])
    fewer, more = plan_or_none(job), plan_or_none(with_person(job, longer))
    if fewer is not None:
        assert more is not None
        assert more.finish_bound <= fewer.finish
        assert not more.proven_earliest or more.finish <= fewer.finish


def with_person(job: Job, person: Person) -> Job:
    return replace(job, people={**job.people, person.id: person})


SEEDS = range(5)
SIZE = 18


def mild(seed: int) -> Job:
    """A household's job without application limits, so that a colder house only slows it."""
    return replace(household(seed, SIZE), products=PRODUCTS_WITHOUT_LIMITS)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_household_in_a_colder_house_is_done_no_earlier(seed: int) -> None:
    job = mild(seed)
    warm, cold = verified(in_air(job, 0.0, 0.0)), verified(in_air(job, 5.0, 0.0))
    assert warm.finish_bound <= cold.finish
    assert not warm.proven_earliest or warm.finish <= cold.finish


@pytest.mark.parametrize("seed", SEEDS)
def test_a_household_with_longer_hours_is_done_no_later(seed: int) -> None:
    job = household(seed, SIZE)
    evening = Weekly(frozenset(range(7)), 18 * HOUR, 23 * HOUR)
    me = job.people["me"]
    fewer, more = verified(job), verified(with_person(job, replace(me, hours=(*me.hours, evening))))
    free = verified(replace(job, people={key: Person(key, ALWAYS) for key in job.people}))
    for longer, shorter in ((more, fewer), (free, more)):
        assert longer.finish_bound <= shorter.finish
        assert not longer.proven_earliest or longer.finish <= shorter.finish


# Every plan there is -----------------------------------------------------------------------------


@given(tiny_jobs())
@examples(150)
def test_no_plan_of_a_tiny_job_is_better_than_the_one_found(job: Job) -> None:
    """Reference: every plan of the first days, hour by hour."""
    days = 3
    best = BruteForce(job, days).best()
    plan = plan_or_none(job)
    if best is None:
        assert plan is None or plan.finish > job.start + days * DAY
        return
    assert plan is not None
    finish, visits, _, starts = best  # nothing closes here
    assert (plan.finish, plan.visits) == (job.start + finish * HOUR, visits)
    assert sum(task.start - job.start for task in plan.tasks) == starts * HOUR
    assert plan.proven_earliest
    assert plan.finish_bound == plan.finish


# The same again ----------------------------------------------------------------------------------

HOUSEHOLD = """
    job: Again
    timezone: Europe/Berlin
    start: 2027-03-26 17:00
    air: {temperature: 19 C, humidity: 50 %, swing: 3 C}
    people:
      me: {hours: [mon-thu 18:00-21:30, sat 9:00-17:00]}
      plumber: {hours: mon-fri 8:00-16:00, away: 2027-03-29..2027-03-30}
    rooms: {shower: {}, hall: {}}
    tasks:
      strip: {who: me, room: shower, work: 4 h, dusty: yes}
      pipes: {who: plumber, room: shower, work: 3 h, after: strip}
      bed: {who: me, room: shower, work: 2 h, applies: mortar-bed, after: pipes}
      board: {who: me, room: shower, work: 5 h, dusty: yes, after: {bed: walk}}
      coat-1: {who: me, room: shower, work: 1 h, applies: liquid-membrane, after: board}
      coat-2: {who: me, room: shower, work: 1 h, applies: liquid-membrane, after: {coat-1: recoat}}
      shelves: {who: me, room: hall, work: 3 h}
      sand: {who: me, room: hall, work: 2 h, dusty: yes}
      tile: {who: me, room: shower, work: 8 h, applies: thinset, after: {coat-2: tile}}
"""


def test_the_same_file_gives_the_identical_plan() -> None:
    assert verified(read(HOUSEHOLD)) == verified(read(HOUSEHOLD))


def test_the_same_file_gives_the_identical_plan_in_every_process() -> None:
    """Python seeds the order of its sets anew in every process; no plan may hang on that."""
    told = set()
    for seed in ("1", "2"):
        code = (
            "from tests.test_properties import HOUSEHOLD, household, read, verified; "
            "print(verified(read(HOUSEHOLD)), verified(household(1, 25)))"
        )
        env = {**os.environ, "PYTHONHASHSEED": seed}
        told.add(subprocess.check_output([sys.executable, "-c", code], env=env, cwd=ROOT))
    assert len(told) == 1
