"""A job run many times: the plan itself where nothing is uncertain, honest spreads where it is."""

from dataclasses import replace
from math import erf, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler import laws
from scheduler.air import temperatures
from scheduler.errors import NoPlan
from scheduler.hours import NEVER, spans
from scheduler.jobfile import parse
from scheduler.model import Air, Conditions, Job, Person, Plan, Task, Weekly
from scheduler.network import Network
from scheduler.odds.luck import Luck, Seed, is_flood_test, pert, three_points
from scheduler.odds.many import ManyMinutes, ManySteps
from scheduler.odds.outcome import Runs, Source
from scheduler.odds.roomair import Clockwork, RoomAir
from scheduler.odds.runs import make_runs
from scheduler.odds.stretches import stretches
from scheduler.oddsfile import CERTAIN, Odds, Straying, StrayingAir, odds
from scheduler.progress import ready
from scheduler.ready import network_of
from tests.support.examples import examples
from tests.support.jobs import START, ZONE, household, products
from tests.support.planned import read, verified
from tests.support.randomjobs import jobs

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.yaml"))
HEAD = "job: Test\ntimezone: Etc/UTC\nstart: 2027-01-04\nair: {temperature: 20 C, humidity: 50 %}\n"


def run(job: Job, uncertain: Odds, n: int = 4, seed: int = 1) -> tuple[Network, Plan, Runs]:
    plan = verified(job)
    network = network_of(job, plan)
    return network, plan, make_runs(network, plan, uncertain, n, seed)


def assert_as_planned(job: Job) -> None:
    network, plan, runs = run(job, CERTAIN)
    for step, starts, finishes in zip(network.steps, runs.starts, runs.finishes, strict=True):
        placed = plan.task[step.task.id]
        assert set(starts.tolist()) == {placed.start}, step.task.id
        assert set(finishes.tolist()) == {placed.finish}, step.task.id
    assert not any(runs.missed.values())
    assert not runs.luck


# ------------------------------------------------------------------ nothing left to chance


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_with_nothing_left_to_chance_every_run_of_an_example_is_its_plan(path: Path) -> None:
    assert_as_planned(parse(path.read_bytes(), path.name))


@pytest.mark.parametrize("seed", range(4))
def test_with_nothing_left_to_chance_every_run_of_a_household_is_its_plan(seed: int) -> None:
    assert_as_planned(household(seed, 30))


@given(jobs())
@examples(60)
def test_with_nothing_left_to_chance_every_run_of_any_job_is_its_plan(job: Job) -> None:
    try:
        verified(job)
    except NoPlan:
        assume(False)
    assert_as_planned(job)


# ------------------------------------------------------------------ many minutes at once


@given(
    st.lists(st.tuples(st.integers(0, 200), st.integers(0, 60)), max_size=8),
    st.lists(st.integers(-20, 300), min_size=1, max_size=20),
)
def test_many_minutes_are_looked_up_as_each_is(
    pairs: list[tuple[int, int]], minutes: list[int]
) -> None:
    one = spans((start, start + length) for start, length in pairs)
    many, asked = ManyMinutes(one), np.array(minutes)
    assert many.next(asked).tolist() == [one.next(m) for m in minutes]
    assert many.count(asked).tolist() == [one.count(m) for m in minutes]
    counted = np.array([m for m in minutes if m >= 0], dtype=np.int64)
    assert many.minute(counted).tolist() == [one.minute(int(n)) for n in counted]


@pytest.mark.parametrize("split", [True, False])
def test_a_task_in_many_runs_goes_as_it_does_in_one(split: bool) -> None:
    job = household(1, 12)
    mine = next(t for t in job.tasks if t.who == ("me",) and t.work > 60)
    job = replace(job, tasks=(replace(mine, split=split, after=(), applies=None),))
    network = network_of(job, verified(job))
    step, asked = network.steps[0], START + np.arange(0, 20_000, 97)
    many = ManySteps(step, np.full(len(asked), step.task.work))
    assert many.first(asked).tolist() == [step.first(int(m)) for m in asked]
    assert many.first_start(asked).tolist() == [step.first_start(int(m)) for m in asked]
    begun = many.first(asked)
    assert many.finish(begun).tolist() == [step.finish(int(m)) for m in begun]
    assert many.finish(np.full(len(asked), NEVER)).tolist() == [NEVER] * len(asked)


# ------------------------------------------------------------------ the air


def room_air(air: Air, start: int, end: int, spread: StrayingAir, n: int) -> RoomAir:
    draws = (np.random.default_rng(1), np.random.default_rng(2))
    return RoomAir(stretches(air, ZONE, start, end), spread, n, draws)


@pytest.mark.parametrize("law", ["drying", "hydration", "moisture-cure", "thick-drying"])
def test_a_wait_in_air_that_strays_is_the_law_summed_up_minute_by_minute(law: str) -> None:
    """Against a plain sum over the minutes of each run's own air."""
    air, at = Air(15.0, 0.55, 2.0), Conditions(23.0, 0.5)
    stage = replace(products()["liquid-membrane"].stages[1], law=law, minutes=2000, at=at)
    days, n = 30, 12
    end = START + days * 1440
    table = ready(stage, air, ZONE, START, end).progress
    room = room_air(air, START, end, odds().air, n)
    clockwork = Clockwork(law, at, room, table)
    since = START + np.arange(n) * 311
    reached = clockwork.reached(since, np.linspace(1500, 2500, n))
    for i in range(n):
        minutes = np.arange(int(since[i]), int(reached[i]))
        stretch = room.stretch(np.repeat(minutes[:, None], n, axis=1))[:, i]
        t, rh = room.strayed(0, room.drawn)
        supposed = temperatures(air, minutes, ZONE)
        strays = t[stretch, i] - room.planned.temperature[stretch]
        speed = laws.rate(law, supposed + strays, rh[stretch, i], at)
        assert speed.sum() == pytest.approx(np.linspace(1500, 2500, n)[i], rel=0.01)


def test_air_strays_as_far_and_is_remembered_as_long_as_the_figures_say() -> None:
    spread = StrayingAir(temperature=Straying(strays=2.0, fades=1440), humidity=Straying())
    room = room_air(Air(20.0, 0.5), 0, 90 * 1440, spread, 4000)
    t, rh = room.strayed(0, 100)
    strayed = t - 20.0
    assert strayed.std() == pytest.approx(2.0, rel=0.03)
    ahead = [float(np.mean(strayed[:-k] * strayed[k:])) / 4.0 for k in (1, 4, 8)]
    assert ahead == pytest.approx([np.exp(-k / 4) for k in (1, 4, 8)], abs=0.02)
    assert rh == pytest.approx(0.5)


def test_humidity_is_never_beyond_what_air_can_hold() -> None:
    spread = StrayingAir(temperature=Straying(), humidity=Straying(strays=0.3))
    room = room_air(Air(20.0, 0.9), 0, 9 * 1440, spread, 500)
    _, rh = room.strayed(0, 30)
    assert rh.min() >= 0.0
    assert rh.max() == 1.0


def test_a_coat_is_not_put_on_in_air_that_strays_out_of_its_limits() -> None:
    """At 11 C a room is often colder than the 10 C that the membrane wants."""
    job = read(f"""{HEAD}
people: {{me: {{hours: always}}}}
rooms: {{bath: {{air: {{temperature: 11 C}}}}}}
tasks: {{coat: {{who: me, room: bath, work: 30 min, applies: liquid-membrane}}}}
""")
    product = job.products["liquid-membrane"]
    assert product.limits.temperature_min == 10
    _, plan, runs = run(job, odds(), 4000)
    waited = np.mean(runs.starts[0] > plan.tasks[0].start)
    too_cold = (1 - erf(1 / odds().air.temperature.strays / sqrt(2))) / 2
    assert waited == pytest.approx(too_cold, abs=0.02)


# ------------------------------------------------------------------ work


@pytest.mark.parametrize("points", [(1, 2, 3), (2, 3.5, 8), (6, 9, 18), (4, 4, 10), (3, 9, 9)])
def test_drawn_work_has_the_mean_of_the_formula_and_stays_between_its_ends(
    points: tuple[float, float, float],
) -> None:
    """Mean (o + 4 m + p) / 6: Malcolm, Roseboom, Clark and Fazar 1959 (from memory)."""
    low, mode, high = points
    drawn = pert(points, 200_000, Seed(1).stream("test"))
    assert drawn.mean() == pytest.approx((low + 4 * mode + high) / 6, rel=0.005)
    assert low <= drawn.min() <= drawn.max() <= high


def test_work_is_as_the_file_says_else_by_who_does_it_else_certain() -> None:
    job = read(f"""{HEAD}
people: {{a: {{hours: always, skill: trade}}, b: {{hours: always}}}}
tasks:
  said: {{who: a, work: 3 h..4 h..7 h}}
  both: {{who: [a, b], work: 100 min}}
  none: {{work: 24 h}}
""")
    assert job.task["said"].work == 240
    assert three_points(job, job.task["said"], odds()) == (180, 240, 420)
    trade, handy = odds().work.trade, odds().work.handy
    low, mode, high = three_points(job, job.task["both"], odds())
    assert (low, mode, high) == (
        100 * min(trade.shortest, handy.shortest), 100, 100 * max(trade.longest, handy.longest)
    )  # fmt: skip
    assert three_points(job, job.task["none"], odds()) == (1440, 1440, 1440)


def test_work_under_way_takes_longer_than_it_has_already() -> None:
    job = read(
        f"{HEAD}people: {{a: {{hours: always}}}}\ntasks: {{x: {{who: a, work: 3 h..4 h..7 h}}}}\n"
    )
    task = job.task["x"]
    drawn = Luck(job, odds(), 4000, Seed(1)).work_beyond(task, 300)
    free = np.rint(pert((180, 240, 420), 400_000, Seed(2).stream("x")))
    assert drawn.min() > 300
    assert drawn.mean() == pytest.approx(free[free > 300].mean(), rel=0.01)
    assert set(Luck(job, odds(), 50, Seed(1)).work_beyond(task, 420).tolist()) == {435}
    assert set(Luck(job, CERTAIN, 50, Seed(1)).work_beyond(task, 500).tolist()) == {515}


def test_what_takes_longer_goes_on_in_the_next_hours_or_past_them() -> None:
    me = Person("me", (Weekly(frozenset(range(7)), 18 * 60, 21 * 60),))
    task = Task("x", "X", 170, ("me",), work_range=(150, 250))
    for split in (True, False):
        tasks = (replace(task, split=split),)
        _, _, runs = run(
            Job("Job", "Etc/UTC", 0, Air(20, 0.5), {"me": me}, {}, {}, tasks), odds(), 500
        )
        work = runs.luck[Source("work", "x")].astype(int)
        next_day = np.where(split & (work > 180), 21 * 60, 0)
        assert (work > 180).any()
        assert (runs.finish == 18 * 60 + work + next_day).all()


# ------------------------------------------------------------------ tests and windows

TEST = (
    HEAD
    + """
people: {me: {hours: always}}
rooms: {bath: {}}
tasks:
  coat: {who: me, room: bath, work: 1 h..1 h..1 h, applies: liquid-membrane}
  fill: {who: me, room: bath, work: 10 min..10 min..10 min, after: {coat: flood}}
  stand: {work: 24 h, after: fill}
  look: {who: me, work: 10 min..10 min..10 min, hold: yes, after: stand}
  tile: {who: me, room: bath, work: 1 h..1 h..1 h, after: look}
  rough: {who: me, work: 30 min..30 min..30 min, hold: yes, fails: 30 %, redo: 3 d}
  news: {work: 0 min, hold: yes}
"""
)


def test_a_flood_test_is_known_by_what_it_waits_for() -> None:
    job = read(TEST)
    found = {task.id for task in job.tasks if task.hold and is_flood_test(job, task)}
    assert found == {"look"}


def test_a_failed_test_is_tried_again_after_its_redo_time() -> None:
    job = read(TEST)
    certain_else = replace(CERTAIN, holds=odds().holds)
    network, plan, runs = run(job, certain_else, 20_000)
    place = {step.task.id: j for j, step in enumerate(network.steps)}
    late = runs.finishes[place["rough"]] - plan.task["rough"].finish
    assert np.mean(late == 0) == pytest.approx(0.7, abs=0.01)
    assert np.mean(late == 3 * 1440 + 30) == pytest.approx(0.3 * 0.7, abs=0.01)
    flood = runs.finishes[place["tile"]] - plan.task["tile"].finish
    assert np.mean(flood > 0) == pytest.approx(odds().holds.flood.fails, abs=0.01)
    assert runs.luck.keys() == {Source("hold", "rough"), Source("hold", "look")}
    assert Luck(job, odds(), 100, Seed(1)).failures(job.task["news"]).max() == 0


def test_who_waits_for_the_next_try_can_do_something_else() -> None:
    job = read(f"""{HEAD}
people: {{me: {{hours: always}}}}
tasks:
  look: {{who: me, work: 1 h..1 h..1 h, hold: yes, fails: 100 %, redo: 5 d}}
  other: {{who: me, work: 2 h..2 h..2 h}}
""")
    _, plan, runs = run(job, CERTAIN)
    assert set(runs.starts[1].tolist()) == {plan.task["other"].start}
    assert runs.finishes[0].min() > plan.task["look"].finish + 5 * 1440


def test_a_window_missed_is_counted_and_moves_nothing() -> None:
    job = read(f"""{HEAD}
people: {{me: {{hours: daily 9:00-12:00}}}}
tasks:
  a: {{who: me, work: 1 h..1 h..1 h}}
  b: {{who: me, work: 90 min..90 min..3 h, after: a}}
  c: {{who: me, work: 30 min..30 min..30 min, split: no, after: [b, {{task: a, within: 2 h}}]}}
""")
    _, _, runs = run(job, odds(), 5000)
    missed = next(iter(runs.missed.values()))
    late = np.count_nonzero(runs.starts[2] > runs.finishes[0] + 120)
    assert missed == late
    assert 0 < late < 5000


# ------------------------------------------------------------------ chains, floors, luck


def test_what_is_put_off_to_save_a_visit_is_not_begun_earlier() -> None:
    job = read(f"""{HEAD}
people: {{plumber: {{hours: mon-fri 8:00-16:00}}}}
tasks:
  look: {{who: plumber, work: 1 h}}
  long: {{work: 72 h}}
  connect: {{who: plumber, work: 1 h, after: [long, look]}}
  else: {{work: 100 h}}
""")
    _, plan, runs = run(job, odds(), 500)
    assert plan.task["look"].because.kind == "trip"
    assert runs.starts[0].min() == plan.task["look"].start


def test_the_longer_of_two_branches_is_critical_as_often_as_it_is_longer() -> None:
    job = read(f"{HEAD}tasks:\n  a: {{work: 1 h..4 h..9 h}}\n  b: {{work: 2 h..4 h..8 h}}\n"
               "  end: {work: 0 min, after: [a, b]}\n")  # fmt: skip
    _, _, runs = run(job, odds(), 20_000)
    assert runs.critical[0] == np.count_nonzero(runs.finishes[0] >= runs.finishes[1])
    assert runs.critical[1] == np.count_nonzero(runs.finishes[1] >= runs.finishes[0])
    assert runs.critical[2] == 20_000


def test_the_same_seed_is_the_same_luck_and_one_more_task_changes_nobody_elses() -> None:
    job = household(0, 12)
    _, _, once = run(job, odds(), 300)
    _, _, again = run(job, odds(), 300)
    _, _, other = run(job, odds(), 300, seed=2)
    assert (once.finishes == again.finishes).all()
    assert (once.finishes != other.finishes).any()
    more = replace(job, tasks=(*job.tasks, Task("more", "More", 30, ("me",))))
    _, _, with_more = run(more, odds(), 300)
    shared = once.luck.keys() - {s for s in once.luck if s.kind == "air"}
    assert all((once.luck[s] == with_more.luck[s]).all() for s in shared)


def test_more_runs_than_fit_at_once_are_made_in_lots_and_told_of() -> None:
    job = household(0, 12)
    plan = verified(job)
    told: list[tuple[int, int]] = []
    runs = make_runs(
        network_of(job, plan), plan, odds(), 6000, 1, progressed=lambda *each: told.append(each)
    )
    assert told == [(2500, 6000), (5000, 6000), (6000, 6000)]
    assert runs.finish.shape == (6000,)
