"""Planning from now: what was logged is a fact, and what is open follows from it."""

from collections.abc import Iterator
from dataclasses import astuple, replace
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.clock import HOUR
from scheduler.errors import NoPlan
from scheduler.graph import rings
from scheduler.jobfile import parse
from scheduler.model import Course, Job, Link, Plan
from scheduler.planner import first_planned, plan_job
from scheduler.solve import Effort
from scheduler.text import plan_text
from scheduler.verify import check
from scheduler.wording import GLUE
from tests.support.examples import examples
from tests.support.planned import at, finishes, read, starts, wall
from tests.support.randomjobs import jobs
from tests.support.underway import happened, moments, on_plan

ZONE = "America/Toronto"
EXAMPLES = Path(__file__).parents[1] / "examples"
HEAD = """
job: Under way
timezone: America/Toronto
start: 2027-01-04 12:00            # a Monday
air: {temperature: 73 F, humidity: 50 %}    # the label's own
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
rooms: {bath: {}, hall: {}}
products:
  membrane: {class: liquid-membrane, label: {recoat: 2 h..24 h, tile: 12 h, at: 73 F 50 %}}
  leveler: {class: self-leveler}
tasks:
"""


def job_of(tasks: str) -> Job:
    return read(HEAD + "".join(f"  {line}\n" for line in tasks.splitlines()))


def whole(job: Job, plan: Plan) -> Plan:
    """A verified plan that keeps what was logged, and whose parts add up."""
    assert check(job, plan) == ()
    assert sum(astuple(plan.where_time_goes)) == plan.finish - plan.start
    for placed in plan.tasks:
        known = job.actual(placed.id)
        assert placed.state == known.state
        if known.state == "open":
            assert placed.start >= job.now
            continue
        assert placed.start == known.started
        assert placed.finish == known.finished or (not known.finished and placed.finish > job.now)
        assert (placed.float_minutes, placed.free_float_minutes) == (0, 0)
        assert placed.because.kind == "log"
    return plan


def replanned(job: Job, effort: Effort | None = None) -> Plan:
    return whole(job, plan_job(job, effort) if effort else plan_job(job))


# Facts -------------------------------------------------------------------------------------------

TWO = "a: {who: me, work: 2 h}\nb: {who: me, work: 2 h, after: a}"


def test_what_was_done_keeps_its_times_and_the_rest_comes_from_now() -> None:
    job = happened(job_of(TWO), "2027-01-05 10:00",
                   "2027-01-04 19:00 started a", "2027-01-04 22:30 done a")  # fmt: skip
    plan = replanned(job)
    assert starts(plan) == {"a": "Mon 2027-01-04 19:00", "b": "Tue 2027-01-05 18:00"}
    assert finishes(plan) == {"a": "Mon 2027-01-04 22:30", "b": "Tue 2027-01-05 20:00"}
    assert plan.task["a"].because.text == "done Mon 4 Jan 22:30, as logged"
    assert [task.state for task in plan.tasks] == ["done", "open"]


def test_what_nobody_did_is_not_placed_in_the_past() -> None:
    job = happened(job_of(TWO), "2027-01-06 18:30", "2027-01-04 21:00 done a")
    plan = replanned(job)
    assert starts(plan)["b"] == "Wed 2027-01-06 18:30"
    assert plan.task["b"].because.text == "nothing holds it any more"
    assert plan.task["b"].because.kind == "start"


def test_work_logged_before_the_start_moves_the_start() -> None:
    job = happened(job_of(TWO), "2027-01-04 13:00", "2027-01-02 9:00 started a",
                   "2027-01-02 11:00 done a")  # fmt: skip
    assert wall(job.start, ZONE) == "Sat 2027-01-02 09:00"
    assert replanned(job).start == job.start
    assert first_planned(job).start == at("2027-01-04 12:00", ZONE)


def test_what_was_done_out_of_turn_stays_done() -> None:
    plan = replanned(happened(job_of(TWO), "2027-01-04 18:30", "2027-01-04 18:30 done b"))
    assert starts(plan)["a"] == "Mon 2027-01-04 18:30"
    assert plan.task["b"].state == "done"


def test_a_wait_counts_from_the_real_finish() -> None:
    job = job_of("a: {who: me, work: 1 h, applies: membrane}\nb: {work: 1 h, after: {a: tile}}")
    job = happened(job, "2027-01-05 1:00", "2027-01-04 23:15 done a")
    plan = replanned(job)
    assert starts(plan)["b"] == "Tue 2027-01-05 11:15"
    (wait,) = plan.waits
    assert (wall(wait.start, ZONE), wait.minutes) == ("Mon 2027-01-04 23:15", 12 * HOUR)
    assert plan.task["b"].because.text == "'A' is ready to tile, Tue 5 Jan 11:15"


def test_a_poured_floor_keeps_its_room_closed() -> None:
    job = job_of("pour: {who: me, work: 1 h, room: bath, applies: leveler}\n"
                 "look: {work: 1 h, room: bath}\nother: {work: 1 h, room: hall}")  # fmt: skip
    plan = replanned(happened(job, "2027-01-04 20:00", "2027-01-04 19:30 done pour"))
    assert starts(plan)["other"] == "Mon 2027-01-04 20:00"
    assert starts(plan)["look"] == "Mon 2027-01-04 23:30"  # 4 h to walk on, from the class
    assert plan.task["look"].because.kind == "room"


def test_a_running_task_goes_on_with_what_is_left_of_it() -> None:
    job = job_of("a: {who: me, work: 4 h}\nb: {who: me, work: 1 h}")
    job = happened(job, "2027-01-05 18:30", "2027-01-04 19:00 started a")
    plan = replanned(job)  # 2 h on Monday, half an hour on Tuesday: 90 min are left
    assert finishes(plan)["a"] == "Tue 2027-01-05 20:00"
    assert starts(plan)["b"] == "Tue 2027-01-05 20:00"
    assert plan.task["b"].because.text == "me is busy with 'A' until Tue 5 Jan 20:00"
    assert plan.task["a"].because.text == "begun Mon 4 Jan 19:00, as logged"
    assert not plan.warnings


@pytest.mark.parametrize("split", ["yes", "no"])
def test_a_running_task_whose_time_is_up_has_a_quarter_of_an_hour_left(split: str) -> None:
    job = job_of(f"a: {{who: me, work: 1 h, split: {split}}}\nb: {{who: me, work: 1 h}}")
    plan = replanned(happened(job, "2027-01-04 20:10", "2027-01-04 19:00 started a"))
    assert finishes(plan)["a"] == "Mon 2027-01-04 20:25"
    assert starts(plan)["b"] == "Mon 2027-01-04 20:25" if split else starts(plan)["b"]
    assert plan.warnings == (
        "'A' has had its time, 1 h, and nobody logged that it is done: 15 min are supposed to be"
        " left",
    )


def test_work_begun_out_of_hours_goes_on_in_them() -> None:
    plan = replanned(happened(job_of(TWO), "2027-01-04 22:30", "2027-01-04 22:00 started a"))
    assert finishes(plan)["a"] == "Tue 2027-01-05 20:00"


def test_two_tasks_begun_by_one_person_are_a_fact_that_leaves_a_plan() -> None:
    three = "a: {who: me, work: 2 h}\nb: {who: me, work: 1 h}\nc: {who: me, work: 1 h}"
    job = happened(job_of(three), "2027-01-04 19:00",
                   "2027-01-04 18:00 started a", "2027-01-04 18:30 started b")  # fmt: skip
    plan = replanned(job)
    assert starts(plan)["c"] == "Mon 2027-01-04 20:00"
    assert plan.warnings == (
        "me is at 'A' since Mon 4 Jan 18:00 and 'B' since Mon 4 Jan 18:30, all at once: log the one"
        " that is done as 'done', and 'undone' for one that was stopped or never begun",
    )
    alone = happened(job_of(three), "2027-01-04 19:00", "2027-01-04 18:00 started a")
    assert replanned(alone).warnings == ()


EVENINGS = "a: {who: me, work: 7 h}\nb: {who: me, work: 1 h, after: [a]}"


def evenings(plan: Plan, task: str) -> list[tuple[str, str]]:
    return [(wall(a, ZONE), wall(b, ZONE)) for a, b in plan.task[task].sessions]


def test_a_task_done_over_three_evenings_is_three_visits_and_no_night() -> None:
    job = happened(job_of(EVENINGS), "2027-01-06 19:15",
                   "2027-01-04 17:30 started a", "2027-01-06 19:15 done a")  # fmt: skip
    plan = replanned(job)
    assert evenings(plan, "a") == [
        ("Mon 2027-01-04 17:30", "Mon 2027-01-04 21:00"),
        ("Tue 2027-01-05 18:00", "Tue 2027-01-05 21:00"),
        ("Wed 2027-01-06 18:00", "Wed 2027-01-06 19:15"),
    ]
    assert plan.visits == 3
    nights = 2 * 21 * 60
    assert plan.where_time_goes.outside_hours >= nights
    assert plan.where_time_goes.work == 3 * 60 + 30 + 3 * 60 + 75 + 60
    text = " ".join(plan_text(job, plan, 80).split())
    assert "goes on" not in text
    assert "Done: A (part 2 of 3)" in text.replace(GLUE, " ")


def test_a_task_that_is_running_came_in_its_hours_so_far() -> None:
    job = happened(job_of(EVENINGS), "2027-01-06 18:30", "2027-01-04 18:30 started a")
    plan = replanned(job)
    assert evenings(plan, "a") == [
        ("Mon 2027-01-04 18:30", "Mon 2027-01-04 21:00"),
        ("Tue 2027-01-05 18:00", "Tue 2027-01-05 21:00"),
        ("Wed 2027-01-06 18:00", "Wed 2027-01-06 19:30"),
    ]
    assert plan.visits == 3


def test_what_goes_on_in_one_go_had_its_time_and_is_taken_up_again() -> None:
    job = job_of("a: {who: me, work: 1 h, split: no}")
    plan = replanned(happened(job, "2027-01-06 18:30", "2027-01-04 18:30 started a"))
    assert evenings(plan, "a") == [
        ("Mon 2027-01-04 18:30", "Mon 2027-01-04 19:30"),
        ("Wed 2027-01-06 18:30", "Wed 2027-01-06 18:45"),
    ]
    assert plan.visits == 2


def test_out_of_hours_nobody_came_for_longer_than_the_work() -> None:
    job = job_of("a: {who: me, work: 2 h}")
    early = happened(
        job, "2027-01-05 12:00", "2027-01-04 13:00 started a", "2027-01-05 10:00 done a"
    )
    assert evenings(replanned(early), "a") == [
        ("Mon 2027-01-04 13:00", "Mon 2027-01-04 15:00"),
        ("Mon 2027-01-04 18:00", "Mon 2027-01-04 21:00"),
        ("Tue 2027-01-05 08:00", "Tue 2027-01-05 10:00"),
    ]
    whole = happened(
        job, "2027-01-05 12:00", "2027-01-04 22:00 started a", "2027-01-05 01:00 done a"
    )
    assert evenings(replanned(whole), "a") == [("Mon 2027-01-04 22:00", "Tue 2027-01-05 01:00")]


SATURDAY = f"""{TWO}
c: {{who: me, work: 1 h, not_before: 2027-01-09}}
d: {{work: 5 h, not_before: 2027-01-09 9:00}}"""


def test_days_gone_by_are_counted_as_visits() -> None:
    job = happened(job_of(SATURDAY),
                   "2027-01-05 17:00", "2027-01-04 20:00 done a")  # fmt: skip
    plan = replanned(job)
    assert (plan.visits, plan.visits_bound) == (2, 2)  # Monday is over; b waits for Saturday with c
    assert starts(plan)["b"] == "Sat 2027-01-09 10:00"


def test_a_second_visit_today_costs_no_day() -> None:
    job = happened(job_of(SATURDAY),
                   "2027-01-04 19:00", "2027-01-04 18:30 done a")  # fmt: skip
    plan = replanned(job)
    assert starts(plan)["b"] == "Mon 2027-01-04 19:00"
    assert (plan.visits, plan.visits_bound) == (2, 2)


def test_all_done_is_a_plan_too() -> None:
    job = happened(job_of(TWO), "2027-02-01 8:00", "2027-01-04 20:00 done a",
                   "2027-01-05 20:00 done b")  # fmt: skip
    plan = replanned(job)
    assert wall(plan.finish, ZONE) == "Tue 2027-01-05 20:00"
    assert plan.chain == ("a", "b")
    assert plan.proven_earliest


# Where the time went -----------------------------------------------------------------------------


def test_the_time_before_now_is_split_by_what_really_held() -> None:
    job = job_of(
        "a: {who: me, work: 1 h, applies: membrane}\n"
        "b: {who: me, work: 2 h, after: {a: tile}}\nc: {who: me, work: 1 h, after: b}"
    )
    job = happened(job, "2027-01-06 19:00", "2027-01-04 18:00 started a", "2027-01-04 19:00 done a")
    plan = replanned(job)
    assert plan.chain == ("a", "b", "c")
    assert finishes(plan)["c"] == "Thu 2027-01-07 19:00"
    spent = plan.where_time_goes
    # Work: a 1 h, b 2 h, c 1 h. Dried from Monday 19:00 for 12 h. From Tuesday 7:00 nothing held
    # b: its hours of Tuesday and of Wednesday until now went by, and are "dates".
    assert (spent.work, spent.waiting, spent.dates) == (4 * HOUR, 12 * HOUR, 4 * HOUR)
    # Out of hours: 12:00-18:00, Tuesday 7:00-18:00 and 21:00-18:00, Wednesday 21:00-18:00.
    assert spent.outside_hours == (6 + 11 + 21 + 21) * HOUR
    assert (spent.people_busy, spent.room_closed, spent.air) == (0, 0, 0)


def test_people_busy_with_other_logged_work_are_told_as_such() -> None:
    job = job_of("a: {who: me, work: 1 h}\nb: {who: me, work: 2 h}\nc: {work: 30 min, after: b}")
    job = happened(job, "2027-01-04 21:30", "2027-01-04 18:00 started a", "2027-01-04 19:00 done a",
                   "2027-01-04 19:00 started b", "2027-01-04 21:00 done b")  # fmt: skip
    plan = replanned(job)
    assert plan.chain == ("a", "b", "c")
    spent = plan.where_time_goes
    assert (spent.people_busy, spent.work, spent.outside_hours) == (HOUR, 150, 6 * HOUR)
    assert spent.dates == 30  # c could have been begun at 21:00


# Windows -----------------------------------------------------------------------------------------

COATS = """one: {who: me, work: 1 h, room: bath, applies: membrane}
two: {who: me, work: 45 min, room: bath, applies: membrane, after: {one: recoat}}
tile: {who: me, work: 3 h, room: bath, after: {two: tile}}
long: {who: me, work: 8 h}"""


def test_a_window_that_can_be_kept_is_kept_before_all_else() -> None:
    job = happened(job_of(COATS), "2027-01-05 18:00", "2027-01-04 19:00 done one")
    plan = replanned(job)
    assert starts(plan)["two"] == "Tue 2027-01-05 18:00"  # 24 h are over at 19:00
    assert plan.warnings == ()


@pytest.mark.parametrize("now", ["2027-01-05 19:01", "2027-01-05 22:00", "2027-01-08 12:00"])
def test_a_missed_window_is_lifted_and_called_out(now: str) -> None:
    plan = replanned(happened(job_of(COATS), now, "2027-01-04 19:00 done one"))
    assert plan.warnings[0] == (
        "too late for 'Two': its window, within 24 h of 'One', closed Tue 5 Jan 19:00 and cannot be"
        " kept. Clean the coat, dull it with an abrasive pad, wipe off the dust and put on one more"
        " full coat; the count starts again there. A membrane left bare for too long is also"
        " checked for damage. Once that is done, log 'one undone', then 'one done' with its new"
        " time."
    )
    assert all(wait.close_by is None for wait in plan.waits if wait.for_task == "two")


def test_a_window_that_no_hours_reach_is_called_out_before_it_closes() -> None:
    job = happened(job_of(COATS), "2027-01-05 9:00", "2027-01-04 17:30 done one")
    (warning,) = replanned(job).warnings
    assert warning.startswith("too late for 'Two': its window, within 24 h of 'One', closes Tue")


def test_a_window_that_other_work_fills_is_called_out() -> None:
    # 'busy' has to be done on Tuesday, which leaves no time for the second coat.
    text = COATS + "\nbusy: {who: me, work: 3 h, must_finish_by: 2027-01-05}"
    job = happened(job_of(text), "2027-01-05 9:00", "2027-01-04 20:00 done one")
    plan = replanned(job)
    assert starts(plan)["busy"] == "Tue 2027-01-05 18:00"
    assert plan.warnings[0].startswith("too late for 'Two': its window, within 24 h of 'One'")


def test_a_coat_that_came_too_late_is_called_out_until_it_is_covered() -> None:
    log = ["2027-01-04 19:00 done one", "2027-01-06 18:00 started two", "2027-01-06 18:45 done two"]
    late = replanned(happened(job_of(COATS), "2027-01-06 19:00", *log))
    assert late.warnings[0].startswith(
        "'Two' came 23 h after its window had closed, within 24 h of 'One'. Clean the coat,"
    )
    covered = happened(job_of(COATS), "2027-01-08 19:00", *log, "2027-01-07 21:00 done tile")
    assert not replanned(covered).warnings


# Hold points and dates ---------------------------------------------------------------------------


def test_a_failed_test_is_planned_again_with_a_warning() -> None:
    job = job_of("flood: {work: 24 h, hold: yes}\ntile: {who: me, work: 1 h, after: flood}")
    job = happened(job, "2027-01-06 8:00", "2027-01-04 12:00 started flood",
                   "2027-01-05 12:00 failed flood")  # fmt: skip
    plan = replanned(job)
    assert starts(plan) == {"flood": "Wed 2027-01-06 08:00", "tile": "Thu 2027-01-07 18:00"}
    assert plan.warnings == (
        "'Flood' failed Tue 5 Jan 12:00 and is planned again: find what is wrong, mend it, test"
        " again; log 'undone' for every task that is done anew",
    )


def test_a_date_that_was_missed_is_a_warning_where_it_is_a_fact() -> None:
    job = job_of("a: {who: me, work: 1 h, must_finish_by: 2027-01-05}\nb: {who: me, work: 1 h}")
    plan = replanned(happened(job, "2027-01-07 8:00", "2027-01-06 19:00 done a"))
    assert plan.warnings == ("'A' had to be finished by Tue 5 Jan 24:00, and is 19 h late",)
    with pytest.raises(NoPlan, match="'A' must be finished by Tue 5 Jan 2027 24:00"):
        plan_job(happened(job, "2027-01-07 8:00", "2027-01-06 19:00 done b"))


def test_what_was_delivered_is_there() -> None:
    job = read(
        HEAD.replace("tasks:", "goods: {mesh-tape: {}}\ntasks:")
        + "  bring: {work: 0 min, not_before: 2027-01-08 12:00, delivers: [mesh-tape]}\n"
        + "  set: {who: me, work: 1 h, uses: {mesh-tape: 1 m}}\n"
    )
    plan = replanned(happened(job, "2027-01-05 8:00", "2027-01-04 15:00 delivered mesh-tape"))
    assert plan.task["bring"].state == "done"
    assert starts(plan)["set"] == "Tue 2027-01-05 18:00"


# Air as measured ---------------------------------------------------------------------------------


def test_a_damp_night_that_was_measured_puts_off_what_waits() -> None:
    job = happened(job_of("a: {who: me, work: 1 h, applies: membrane, room: bath}\n"
                          "b: {work: 1 h, after: {a: tile}}"),
                   "2027-01-05 7:00", "2027-01-04 19:00 done a")  # fmt: skip
    assert starts(replanned(job))["b"] == "Tue 2027-01-05 07:00"
    air = job.rooms["bath"].air
    since, until = at("2027-01-04 19:00", ZONE), at("2027-01-05 07:00", ZONE)
    damp = Course((since, until), (air.temperature,) * 2, (0.8, 0.8))
    room = replace(job.rooms["bath"], air=replace(air, course=damp))
    # Drying goes with (1 - RH)^0.90 (the law's own source): at 80 % it has (0.2 / 0.5)^0.9 = 0.438
    # of its speed at 50 %, so that 12 h have brought 5.26 h, and 6.74 h are left of the wait.
    plan = replanned(replace(job, rooms={**job.rooms, "bath": room}))
    assert wall(plan.waits[0].end, ZONE) == "Tue 2027-01-05 13:45"


# For any job -------------------------------------------------------------------------------------

EFFORT = Effort(tries=20, finish=0.5, visits=0.4, early=0.3)


def example(name: str) -> Job:
    return parse((EXAMPLES / f"{name}.yaml").read_bytes(), name)


def times(plan: Plan) -> dict[str, tuple[int, int]]:
    return {task.id: (task.start, task.finish) for task in plan.tasks}


def _still_of_use(first: Plan, plan: Plan) -> Iterator[str]:
    """What the first plan warns of, without old stock that a task that is done wanted."""
    done = [f"when '{task.name}' wants it" for task in plan.tasks if task.state == "done"]
    return (said for said in first.warnings if not any(words in said for words in done))


@pytest.mark.parametrize("name", ["larch-row", "small-floor"])
def test_logging_an_example_as_planned_changes_no_date(name: str) -> None:
    first = plan_job(example(name))
    for now in moments(first):
        plan = replanned(on_plan(example(name), first, now))
        assert times(plan) == times(first), wall(now, ZONE)
        assert (plan.visits, plan.visits_bound) == (first.visits, first.visits_bound)
        assert [*plan.warnings] == [*_still_of_use(first, plan)]


@given(jobs(most=7), st.integers(0, 13))
@examples(60)
def test_logging_any_job_as_planned_changes_no_date(job: Job, nth: int) -> None:
    assume(not rings(job))
    try:
        first = plan_job(job, EFFORT)
    except NoPlan:
        return
    steps = moments(first)
    plan = replanned(on_plan(job, first, steps[nth % len(steps)]), EFFORT)
    if first.proven_earliest:
        assert times(plan) == times(first)
    else:
        assert plan.finish <= first.finish


@given(jobs(most=7), st.integers(0, 6), st.sampled_from((5, 30, 100)))
@examples(60)
def test_a_task_done_early_never_makes_the_finish_later(job: Job, nth: int, minutes: int) -> None:
    # Without windows: what is done early also closes a window early.
    tasks = (replace(t, after=tuple(_without_window(link) for link in t.after)) for t in job.tasks)
    job = replace(job, tasks=tuple(tasks))
    assume(not rings(job))
    try:
        first = plan_job(job, EFFORT)
    except NoPlan:
        return
    placed = first.tasks[nth % len(first.tasks)]
    now = max(placed.finish - minutes, placed.start)
    under_way = on_plan(job, first, now)
    assert under_way.past is not None
    known = {**under_way.past.actual}
    known[placed.id] = replace(known[placed.id], started=placed.start, finished=now)
    under_way = replace(under_way, past=replace(under_way.past, actual=known))
    assert replanned(under_way, EFFORT).finish <= first.finish or not first.proven_earliest


def _without_window(link: Link) -> Link:
    return replace(link, within=None)


@pytest.mark.parametrize("name", ["larch-row", "small-floor"])
def test_an_example_with_every_other_task_done_early_finishes_no_later(name: str) -> None:
    first = plan_job(example(name))
    for placed in first.tasks[::2]:
        if placed.finish - placed.start > HOUR:
            now = placed.finish - 30
            job = on_plan(example(name), first, now)
            assert job.past is not None
            known = {**job.past.actual}
            known[placed.id] = replace(known[placed.id], finished=now)
            plan = replanned(replace(job, past=replace(job.past, actual=known)))
            assert plan.finish <= first.finish, placed.id
