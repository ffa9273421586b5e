"""Whether there is a plan at all: the search by parts against the constraint model and by hand."""

from dataclasses import replace
from datetime import datetime

import pytest
from hypothesis import assume, given

from scheduler.anyplan import Unsolved, any_plan, by_parts, soon
from scheduler.bound import Bounds
from scheduler.branching import clashes, fitting
from scheduler.clock import DAY, day_start
from scheduler.cpmodel import Model
from scheduler.firstplan import first_plan
from scheduler.hours import NEVER
from scheduler.model import Air, Job, Limits, Room
from scheduler.network import Network, compile_job, horizon
from scheduler.parts import calm_time, clock_changes, knots, part
from scheduler.passes import Starts, finish_of, in_time, order_arcs, point, release
from tests.support.examples import examples
from tests.support.planned import read
from tests.support.tightjobs import crowded_jobs, tight_jobs

EFFORT = 3.0


def compiled(job: Job, days: int = 150) -> Network:
    return compile_job(job, horizon(job, days))


def plan_or_none(network: Network) -> Starts | None:
    try:
        return by_parts(network, EFFORT).starts
    except Unsolved:
        return None


def kept(network: Network, starts: Starts) -> bool:
    """Whether starts keep every rule, looked at one by one."""
    steps = network.steps
    return (
        all(step.starts.next(start) == start for step, start in zip(steps, starts, strict=True))
        and all(
            point(steps[arc.after], arc.to, starts[arc.after]) >= release(network, arc, starts)
            for arc in network.arcs
        )
        and in_time(network, starts)
        and order_arcs(network, starts) is not None
    )


@given(crowded_jobs())
@examples(80)
def test_orders_taken_in_turn_and_the_constraint_model_agree(job: Job) -> None:
    network = compiled(job, 1)
    early, bounds = soon(network), Bounds(network)
    assume(early is not None)
    assert early is not None
    late = bounds.late(network.end, early)
    assume(late is not None and next(clashes(network, early), None) is not None)
    assert late is not None
    found = fitting(network, bounds, early, late, 5000)
    outcome = Model(network, early, late).earliest_finish(finish_of(network, early), None, 60.0)
    assert (found is None) == outcome.impossible
    assert found is None or kept(*found)


@given(tight_jobs())
@examples(150)
def test_parts_put_together_are_a_plan_wherever_there_is_one(job: Job) -> None:
    network = compiled(job)
    floor = soon(network)
    placed = first_plan(network, floor, NEVER, 5) if floor and in_time(network, floor) else None
    starts = plan_or_none(network)
    assert starts or not placed
    assert starts is None or kept(network, starts)


def job(tasks: str, people: str = "{}", zone: str = "Etc/UTC") -> Job:
    return read(f"""
        job: Parts
        timezone: {zone}
        start: 2027-01-08 17:00
        air: {{temperature: 70 F, humidity: 50 %}}
        people: {people}
        rooms: {{bath: {{}}}}
        tasks: {tasks}
    """)


def test_windows_tie_tasks_into_knots_and_links_do_not() -> None:
    network = compiled(
        job("""
          a: {work: 1 h}
          b: {work: 1 h, after: [{task: a, within: 1 d}]}
          c: {work: 1 h, after: b}
          d: {work: 1 h, after: [{task: c, within: 1 d}, a]}
    """)
    )
    assert knots(network) == [(0, 1), (2, 3)]


def test_a_part_names_those_who_have_no_plan_by_themselves() -> None:
    network = compiled(
        job(
            """
          a: {work: 1 h}
          b: {work: 3 h, who: me, after: a, split: no}
          c: {work: 1 h, after: b}
    """,
            "{me: {hours: mon 9:00-11:00}}",
        )
    )
    with pytest.raises(Unsolved) as stopped:
        any_plan(network, 5, EFFORT)
    assert (stopped.value.proven, stopped.value.part) == (True, ("b",))


def test_what_fits_only_before_an_hour_on_a_date_is_placed_there() -> None:
    network = compiled(
        job(
            """
          a: {work: 3 h, who: me, split: no}
          b: {work: 2 h, who: me, split: no, after: [{task: a, within: 4 h}]}
          c: {work: 1 h, who: me, after: b}
    """,
            "{me: {hours: [mon 9:00-11:00, 2027-01-16 9:00-15:00]}}",
        )
    )
    starts = by_parts(network, EFFORT).starts
    assert kept(network, starts)
    saturday = day_start(datetime(2027, 1, 16).date(), "Etc/UTC")  # noqa: DTZ001 (wall time)
    assert [start // DAY * DAY == saturday for start in starts] == [True, True, False]


def test_a_room_that_never_opens_again_is_left_first() -> None:
    fresh = job("""
          pour: {work: 1 h, room: bath, applies: self-leveler}
          look: {work: 1 h, room: bath}
    """)
    air = Air(4.0, 0.5)  # cement does not set below 5 °C (hydration, laws.py)
    leveler = replace(fresh.products["self-leveler"], limits=Limits())
    cold = replace(
        fresh,
        rooms={"bath": Room("bath", air)},
        products={"self-leveler": leveler},
    )
    network = compiled(cold)
    starts = by_parts(network, EFFORT).starts
    assert kept(network, starts)
    assert starts[1] < starts[0]


def test_clock_changes_are_the_days_of_more_or_fewer_hours() -> None:
    """Toronto in 2027: 14 March and 7 November (tz database)."""
    zone, year = "America/Toronto", 365 * DAY
    start = day_start(datetime(2027, 1, 1).date(), zone)  # noqa: DTZ001 (wall time)
    days = [datetime(2027, 3, 14).date(), datetime(2027, 11, 7).date()]  # noqa: DTZ001
    assert clock_changes(zone, start, start + year - DAY) == tuple(
        (day_start(day, zone), day_start(day.replace(day=day.day + 1), zone)) for day in days
    )
    assert clock_changes("Etc/UTC", start, start + year) == ()


@pytest.mark.parametrize(("hours", "days"), [("daily 9:00-12:00", 1), ("mon 9:00-12:00", 7)])
def test_one_period_of_hours_stands_for_all_times(hours: str, days: int) -> None:
    network = compiled(
        job(
            """
          a: {work: 1 h, who: me, split: no}
          b: {work: 1 h, who: me, split: no, after: [{task: a, within: 5 h}]}
    """,
            f"{{me: {{hours: {hours}}}}}",
        )
    )
    stretch = calm_time(part(network, (0, 1)))
    assert stretch is not None
    assert stretch.late[0] - stretch.early[0] < days * DAY
    assert stretch.late[1] - stretch.early[0] < days * DAY + 6 * 60
