"""Odds of a job under way: facts stay, what is running goes on, and readings narrow the air."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.course import NEAR
from scheduler.errors import NoPlan
from scheduler.jobfile import parse
from scheduler.model import Job, Reading
from scheduler.odds.knownair import known_air
from scheduler.odds.luck import Seed
from scheduler.odds.outcome import Runs, Source
from scheduler.odds.runs import make_runs
from scheduler.odds.stretches import LENGTH, stretches
from scheduler.oddsfile import CERTAIN, Odds, Straying, StrayingAir, odds
from scheduler.readings import laid_over
from scheduler.ready import network_of
from tests.support.examples import examples
from tests.support.jobs import household
from tests.support.planned import read, verified
from tests.support.randomjobs import jobs
from tests.support.underway import happened, moments, on_plan

EXAMPLE = Path(__file__).parents[1] / "examples" / "larch-row.yaml"
COAT = """
job: One coat
timezone: Etc/UTC
start: 2027-01-04
air: {temperature: 15 C, humidity: 60 %}
people: {me: {hours: always}}
rooms: {bath: {}}
tasks:
  board: {who: me, room: bath, work: 3 h..4 h..7 h}
  coat: {who: me, room: bath, work: 1 h, applies: liquid-membrane, after: board}
  next: {who: me, room: bath, work: 1 h, after: {coat: tile}}
"""


def run(job: Job, uncertain: Odds, n: int) -> Runs:
    plan = verified(job)
    return make_runs(network_of(job, plan), plan, uncertain, n, 1)


# ------------------------------------------------------------------ nothing left to chance


@pytest.mark.parametrize("seed", range(3))
def test_with_nothing_left_to_chance_a_job_under_way_goes_as_planned(seed: int) -> None:
    first = household(seed, 16)
    plan = verified(first)
    times = moments(plan)
    for now in times[:: max(len(times) // 6, 1)]:
        job = on_plan(first, plan, now)
        if job.past is None:
            continue
        anew = verified(job)
        runs = make_runs(network_of(job, anew), anew, CERTAIN, 2, 1)
        for task, starts, finishes in zip(job.tasks, runs.starts, runs.finishes, strict=True):
            placed = anew.task[task.id]
            assert set(starts.tolist()) == {placed.start}, task.id
            assert set(finishes.tolist()) == {placed.finish}, task.id


@given(jobs(most=7), st.integers(0, 100))
@examples(40)
def test_with_nothing_left_to_chance_any_job_under_way_goes_as_planned(
    job: Job, percents: int
) -> None:
    try:
        plan = verified(job)
    except NoPlan:
        assume(False)
        raise
    times = moments(plan)
    late = on_plan(job, plan, times[percents * (len(times) - 1) // 100])
    anew = verified(late)
    runs = make_runs(network_of(late, anew), anew, CERTAIN, 2, 1)
    for task, starts, finishes in zip(late.tasks, runs.starts, runs.finishes, strict=True):
        placed = anew.task[task.id]
        assert set(starts.tolist()) == {placed.start}, task.id
        assert set(finishes.tolist()) == {placed.finish}, task.id


def test_what_slipped_and_what_is_running_late_goes_as_planned_too() -> None:
    certain = read(COAT.replace("3 h..4 h..7 h", "4 h"))
    job = happened(certain, "2027-01-04 09:00", "2027-01-04 03:00 started board")  # time is up
    plan = verified(job)
    runs = make_runs(network_of(job, plan), plan, CERTAIN, 2, 1)
    assert set(runs.finishes[0].tolist()) == {plan.task["board"].finish}
    assert plan.task["board"].finish == job.now + 15
    assert set(runs.finish.tolist()) == {plan.finish}


# ------------------------------------------------------------------ facts and what is running


def test_what_is_done_is_no_chance_any_more() -> None:
    job = happened(read(COAT), "2027-01-04 08:00", "2027-01-04 00:30 started board",
                   "2027-01-04 05:10 done board")  # fmt: skip
    runs = run(job, odds(), 500)
    assert np.ptp(runs.finishes[0]) == 0
    assert Source("work", "board") not in runs.luck
    assert runs.starts[1].min() >= job.now


def test_what_is_running_is_done_later_than_now() -> None:
    job = happened(read(COAT), "2027-01-04 05:30", "2027-01-04 00:00 started board")
    runs = run(job, odds(), 3000)
    assert runs.finishes[0].min() > job.now
    assert runs.finishes[0].max() <= job.start + 7 * 60
    drawn = Seed(9).stream("x").beta(2, 4, 400_000) * 240 + 180  # 3 h..4 h..7 h, apart from luck.py
    rest = drawn[drawn > 330]
    assert (runs.finishes[0] - job.start).mean() == pytest.approx(rest.mean(), rel=0.01)


# ------------------------------------------------------------------ readings


def underway(readings: list[Reading], now: int) -> Job:
    """The coat put on at 4 o'clock, and the air read."""
    job = read(COAT)
    done = happened(job, "2027-01-04 04:00", "2027-01-04 00:00 started board",
                    "2027-01-04 02:30 done board", "2027-01-04 03:00 started coat",
                    "2027-01-04 04:00 done coat")  # fmt: skip
    assert done.past is not None
    past = replace(done.past, now=now, readings=tuple(readings))
    return laid_over(replace(done, past=past), readings, now)[0]


START = read(COAT).start


def test_readings_leave_less_to_chance() -> None:
    now = START + 12 * 60
    readings = [Reading(START + 60 * h, None, 15.0, 0.6) for h in range(12)]
    with_, without = (run(underway(each, now), odds(), 4000).starts[2] for each in (readings, []))
    assert with_.std() < 0.9 * without.std()


def test_a_cold_damp_room_as_read_puts_off_what_waits() -> None:
    now = START + 12 * 60
    cold = [Reading(START + 60 * h, None, 12.0, 0.75) for h in range(12)]
    fair = [Reading(START + 60 * h, None, 15.0, 0.60) for h in range(12)]
    late, early = (run(underway(each, now), odds(), 2000).starts[2] for each in (cold, fair))
    assert np.median(late) > np.median(early) + 4 * 60


def test_the_air_given_readings_is_that_of_many_rooms_that_would_have_read_so() -> None:
    """Against rooms drawn forward, each weighted by how well it explains the readings.

    Nothing of the posterior's algebra is used: an Ornstein-Uhlenbeck path, a bias and noise are
    drawn for each room, and the normal density of what would have been read is its weight.
    """
    read_at = START + np.array([200, 290, 1000, 1400])
    seen = np.array([17.5, 16.0, 16.8, 17.2])
    readings = [Reading(int(t), None, float(v), None) for t, v in zip(read_at, seen, strict=True)]
    job = underway(readings, START + 1500)
    of = odds().air.temperature
    by = stretches(job.air_of("bath"), job.timezone, job.start, job.start + 30 * 1440)
    known, _ = known_air(job, "bath", odds().air, by)
    assert len(known.mean) == (1400 + NEAR) // LENGTH + 1

    draw = np.random.default_rng(5)
    n = 400_000
    minutes = np.sort(np.concatenate((read_at, by.middles[: len(known.mean)])))
    path = np.empty((len(minutes), n))
    path[0] = of.strays * draw.standard_normal(n)
    for i in range(1, len(minutes)):
        keeps = np.exp(-(minutes[i] - minutes[i - 1]) / of.fades)
        fresh = of.strays * draw.standard_normal(n)
        path[i] = keeps * path[i - 1] + np.sqrt(1 - keeps**2) * fresh
    bias = of.bias * draw.standard_normal(n)
    off = (seen[:, None] - 15.0) - path[np.isin(minutes, read_at)] - bias
    weight = np.exp(-0.5 * (off**2).sum(axis=0) / of.noise**2)
    true = path[np.isin(minutes, by.middles)]
    mean = (true * weight).sum(axis=1) / weight.sum()
    spread = ((true - mean[:, None]) ** 2 * weight).sum(axis=1) / weight.sum()
    planned = by.temperature[: len(mean)]
    assert planned + known.mean == pytest.approx(15.0 + mean, abs=0.02)
    assert (known.factor**2).sum(axis=1) == pytest.approx(spread, rel=0.02)


def test_where_the_air_does_not_stray_it_is_the_plan_s_course() -> None:
    readings = [Reading(START + 60 * h, None, 12.0, 0.75) for h in range(12)]
    job = underway(readings, START + 12 * 60)
    steady = replace(CERTAIN, air=StrayingAir(temperature=Straying(), humidity=Straying()))
    plan = verified(job)
    runs = make_runs(network_of(job, plan), plan, steady, 3, 1)
    assert set(runs.finish.tolist()) == {plan.finish}


# ------------------------------------------------------------------ one task asked for


def test_a_task_asked_for_is_answered_without_what_comes_after_it() -> None:
    job = parse(EXAMPLE.read_bytes(), EXAMPLE.name)
    plan = verified(job)
    network = network_of(job, plan)
    place = [task.id for task in job.tasks].index("coat-2")
    everything = make_runs(network, plan, odds(), 300, 1)
    alone = make_runs(network, plan, odds(), 300, 1, up_to=place)
    assert (alone.finishes[place] == everything.finishes[place]).all()
    assert (alone.free[place] == everything.free[place]).all()
    assert (alone.free[place] <= everything.starts[place]).all()
    later = job.tasks.index(job.task["first-shower"])
    assert set(alone.finishes[later].tolist()) == {0}
