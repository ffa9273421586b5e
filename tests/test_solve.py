"""The solver: bounds that hold, plans that repeat, proof only where something is left to prove."""

import subprocess
import sys
from functools import cache

import pytest

from scheduler.bound import Bounds
from scheduler.firstplan import first_plan, priority_order, pull_forward, serial
from scheduler.model import Job
from scheduler.network import REACHES, Network, compile_job, horizon
from scheduler.passes import earliest, finish_of, order_arcs, release
from scheduler.plan import make_plan
from scheduler.planner import plan_job
from scheduler.solve import Solution, least_starts, sharpened, solve
from scheduler.verify import check
from scheduler.visits import count_visits, days_on_site, on_site
from tests.support.jobs import household
from tests.support.planned import read, verified, wall

SEEDS = range(6)
SIZE = 24


def compiled(job: Job) -> Network:
    return compile_job(job, horizon(job, REACHES[0]))


@cache
def solved(seed: int) -> tuple[Network, Solution]:
    network = compiled(household(seed, SIZE))
    return network, solve(network)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_generated_household_gets_a_plan_that_keeps_every_rule(seed: int) -> None:
    network, solution = solved(seed)
    assert check(network.job, make_plan(network, solution)) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_starts_a_task_outside_its_bounds(seed: int) -> None:
    network, solution = solved(seed)
    bounds = Bounds(network)
    early = sharpened(bounds, least_starts(network))
    late = bounds.late(finish_of(network, solution.starts), early)
    assert late is not None
    assert all(a <= s <= b for a, s, b in zip(early, solution.starts, late, strict=True))


@pytest.mark.parametrize("seed", SEEDS)
def test_no_order_of_tasks_beats_the_bound(seed: int) -> None:
    """Every order that serial generation can try finishes at the proven bound or later."""
    network, solution = solved(seed)
    floor = least_starts(network)
    for turn in range(12):
        key = [(17 * j + 5 * turn) % 23 for j in range(len(network.steps))]
        starts = serial(network, floor, priority_order(network, key))
        if starts is not None:
            assert finish_of(network, starts) >= solution.finish_bound


@pytest.mark.parametrize("seed", SEEDS)
def test_serial_generation_keeps_links_windows_crews_and_rooms(seed: int) -> None:
    network, _ = solved(seed)
    floor = least_starts(network)
    found = first_plan(network, floor, finish_of(network, floor), tries=5)
    assert found is not None
    starts = found.starts
    assert order_arcs(network, starts) is not None
    for arc in network.arcs:
        step, start = network.steps[arc.after], starts[arc.after]
        end = start if arc.to == "start" else step.finish(start)
        assert end >= release(network, arc, starts)


@pytest.mark.parametrize("seed", SEEDS)
def test_people_come_on_the_days_counted_and_on_no_more(seed: int) -> None:
    network, solution = solved(seed)
    assert solution.visits == count_visits(network, solution.starts)
    assert solution.visits_bound <= solution.visits
    assert dict(solution.days) == days_on_site(network, solution.starts)


def test_trips_are_saved_at_the_same_finish() -> None:
    """Starting all as early as can be wastes trips (measured: a quarter to a third of them)."""
    saved = 0
    for seed in SEEDS:
        network, solution = solved(seed)
        order = order_arcs(network, solution.starts)
        assert order is not None
        hasty = earliest(network, (*network.arcs, *order))
        assert hasty is not None
        assert finish_of(network, hasty) == finish_of(network, solution.starts)
        saved += count_visits(network, hasty) - solution.visits
    assert saved > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_can_start_earlier_in_this_order_and_on_these_days(seed: int) -> None:
    network, solution = solved(seed)
    order = order_arcs(network, solution.starts)
    assert order is not None
    again = earliest(on_site(network, solution.days), (*network.arcs, *order))
    assert again == list(solution.starts)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_single_task_fits_in_anywhere_earlier_on_these_days(seed: int) -> None:
    network, solution = solved(seed)
    site = on_site(network, solution.days)
    assert pull_forward(site, solution.starts) == list(solution.starts)


def test_a_task_that_fits_in_ahead_of_others_goes_there_though_visits_are_fewest_anyway() -> None:
    """In this room four hours are free before anybody comes; no order of crews leads there."""
    job = read(
        """
        job: A free night
        timezone: Etc/UTC
        start: 2027-01-04
        air: {temperature: 70 F, humidity: 50 %}
        people: {me: {hours: [daily 20:00-23:00, mon-tue 9:00-17:00]}}
        rooms: {bath: {}}
        products: {floor: {class: self-leveler}}
        tasks:
          pour: {who: me, room: bath, work: 4 h, applies: floor}
          trim: {who: me, room: bath, work: 2 h}
          vent: {room: bath, work: 4 h}
          last:
            work: 5 h
            after:
              - {task: pour, stage: walk, within: 6 h}
              - {task: trim, wait: 1 h, within: 24 h}
        """
    )
    plan = verified(job)
    assert plan.visits == plan.visits_bound
    assert wall(plan.task["vent"].start, "Etc/UTC") == "Mon 2027-01-04 00:00"


@pytest.mark.parametrize("size", [12, 40])
def test_the_same_job_gets_the_same_plan(size: int) -> None:
    job = household(3, size)
    assert plan_job(job) == plan_job(job)


SATURDAYS = """
    job: Saturdays
    timezone: America/Toronto
    start: 2027-01-08 17:00
    people:
      me: {hours: sat 9:00-17:00}
    tasks:
      a: {who: me, work: 2 h}
      b: {who: me, work: 3 h, after: a}
      c: {who: me, work: 5 h, after: b}
"""


def test_the_constraint_solver_is_not_loaded_where_the_passes_prove_the_plan() -> None:
    program = (
        "import sys; from tests.support.planned import read;"
        "from tests.test_solve import SATURDAYS;"
        "from scheduler.planner import plan_job; plan = plan_job(read(SATURDAYS));"
        "assert plan.proven_earliest and plan.visits == plan.visits_bound == 2;"
        "sys.exit('ortools' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_two_hands_alike_take_two_tasks_at_a_time_and_no_third() -> None:
    job = read(
        """
        job: Two plumbers
        timezone: America/Toronto
        start: 2027-01-11
        people:
          plumber: {hours: mon-fri 8:00-16:00, count: 2}
        tasks:
          a: {who: plumber, work: 4 h}
          b: {who: plumber, work: 4 h}
          c: {who: plumber, work: 4 h}
        """
    )
    plan = plan_job(job)
    assert check(job, plan) == ()
    assert plan.proven_earliest
    assert (plan.finish - plan.start) // 60 == 16  # 8:00 to 12:00 for two, to 16:00 for the third


def test_a_task_kept_to_some_days_does_not_run_on_into_others() -> None:
    """Three hours begun at 20:30 on Monday would run on into Tuesday, on which nobody comes."""
    job = read(
        """
        job: Evenings
        timezone: America/Toronto
        start: 2027-01-11
        people:
          me: {hours: mon-fri 18:00-21:30}
        tasks:
          a: {who: me, work: 3 h}
        """
    )
    network = compiled(job)
    first, last = network.hours["me"].starts[0], network.hours["me"].starts[3]
    monday = days_on_site(network, [first])
    kept = on_site(network, monday).steps[0]
    assert (kept.first(first), kept.first(first + 31) > last) == (first, True)
    assert network.steps[0].first(first + 31) == first + 31
