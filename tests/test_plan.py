"""A solution told as a plan: floats with crews and without, waits, visits, warnings."""

from dataclasses import replace

import pytest

from scheduler.clock import DAY, HOUR
from scheduler.model import Job, Plan, Wait
from scheduler.planner import plan_job
from tests.support.planned import at, finishes, planned, read, starts, verified

ZONE = "America/Toronto"
HEAD = """
job: Plans
timezone: America/Toronto
start: 2027-01-04 12:00            # a Monday
air: {temperature: 70 F, humidity: 50 %}
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
  pair: {hours: mon-fri 8:00-16:00, count: 2}
rooms: {bath: {}}
products:
  membrane: {class: liquid-membrane}
tasks:
"""


def plan_of(tasks: str) -> tuple[Job, Plan]:
    return planned(HEAD + "".join(f"  {line}\n" for line in tasks.splitlines()))


# Floats ------------------------------------------------------------------------------------------


def test_float_counts_the_crew_and_logic_float_does_not() -> None:
    # One person has an hour and then two: the order of the plan leaves no float, logic would.
    _, plan = plan_of("a: {who: me, work: 1 h}\nb: {who: me, work: 2 h, after: c}\nc: {work: 1 h}")
    a, b, c = plan.tasks
    assert (a.float_minutes, a.free_float_minutes, a.logic_float_minutes) == (0, 0, 2 * HOUR)
    assert (b.float_minutes, b.free_float_minutes, b.logic_float_minutes) == (0, 0, 0)
    # c may be over at 19:00, when b starts.
    assert (c.float_minutes, c.free_float_minutes, c.logic_float_minutes) == (6 * HOUR,) * 3
    assert [t.id for t in plan.tasks if t.critical] == ["a", "b"]


def test_float_runs_over_the_nights_in_which_nobody_works() -> None:
    # a ends on Monday at 20:00; b must start on Wednesday at 18:00 at the latest.
    _, plan = plan_of(
        "a: {who: me, work: 2 h}\nb: {who: pair, work: 1 h, after: a}\n"
        "c: {work: 1 h, not_before: 2027-01-07 9:00}"
    )
    assert finishes(plan)["b"] == "Tue 2027-01-05 09:00"
    assert plan.task["b"].latest_finish == at("2027-01-07 10:00", ZONE)
    assert plan.task["b"].latest_start == at("2027-01-07 09:00", ZONE)
    assert plan.task["a"].latest_finish == at("2027-01-06 21:00", ZONE)
    assert plan.task["a"].float_minutes == 2 * DAY + HOUR
    assert plan.task["a"].free_float_minutes == HOUR  # later, and b is later too


def test_a_wait_takes_from_the_float_what_it_takes_later_on() -> None:
    # The membrane may go on until 2 h 15 min before 9:00 on Thursday.
    _, plan = plan_of(
        "a: {work: 1 h, applies: membrane}\n"
        "b: {work: 1 h, not_before: 2027-01-07 9:00, after: {task: a, stage: recoat, within: none}}"
    )
    coat = plan.task["a"]
    assert coat.latest_finish == at("2027-01-07 06:45", ZONE)
    assert coat.free_float_minutes == coat.float_minutes


def test_a_window_leaves_its_width_as_float() -> None:
    _, plan = plan_of(
        "a: {work: 1 h, applies: membrane}\n"
        "b: {work: 1 h, not_before: 2027-01-07 9:00, after: {a: recoat}}"
    )
    coat = plan.task["a"]
    assert coat.finish == at("2027-01-06 09:00", ZONE)  # 24 h before b
    assert coat.float_minutes == 24 * HOUR - 135  # and 2 h 15 min to dry


def test_two_alike_work_side_by_side_and_the_third_task_waits() -> None:
    tasks = "\n".join(f"{name}: {{who: pair, work: {work} h}}" for name, work in
                      (("a", 3), ("b", 2), ("c", 4)))  # fmt: skip
    _, plan = plan_of(tasks)
    # From noon the two have 4 h; 9 h of work end the next morning at 9:00 at the earliest.
    assert plan.finish == at("2027-01-05 09:00", ZONE)
    assert plan.proven_earliest
    assert plan.visits == 2  # the pair counts as one who comes


# Waits -------------------------------------------------------------------------------------------


def test_every_wait_is_listed_with_its_moments_and_its_window() -> None:
    _, plan = plan_of(
        "a: {work: 1 h, room: bath, applies: membrane}\n"
        "b: {work: 1 h, room: bath, after: {a: recoat}}\n"
        "saw: {work: 1 h, room: bath, dusty: yes, after: {task: b, wait: 30 min}}\n"
        "c: {work: 1 h, after: [{task: b, within: 2 h}, {task: a, wait: -5 min}]}"
    )
    noon = at("2027-01-04 12:00", ZONE)
    dry, over = noon + HOUR + 135, noon + 2 * HOUR + 135
    assert plan.waits == (
        Wait("a", "membrane", "recoat", "b", noon + HOUR, dry, 120, noon + 25 * HOUR),
        Wait("b", None, None, "saw", over, over + 30, 30),
        Wait("b", None, None, "c", over, over, 0, over + 2 * HOUR),
        Wait("a", "membrane", "touch", None, noon + HOUR, noon + HOUR + 101, 90),
    )
    assert plan.waits[0].minutes == 135


def test_a_lag_between_starts_counts_from_the_start() -> None:
    _, plan = plan_of("a: {work: 5 h}\nb: {work: 1 h, after: {task: a, wait: 2 h, from: start}}")
    (wait,) = plan.waits
    assert (wait.start, wait.end) == (plan.start, plan.start + 2 * HOUR)


def test_a_window_on_a_finish_closes_when_it_is_too_late_to_start() -> None:
    # b is done by 18:00 tomorrow if it starts by 15:00.
    _, plan = plan_of("a: {work: 6 h}\nb: {work: 3 h, after: {task: a, within: 24 h, to: finish}}")
    (wait,) = plan.waits
    assert wait.close_by == at("2027-01-05 15:00", ZONE)


# Figures of the plan -----------------------------------------------------------------------------


def test_visits_count_the_days_of_each_person() -> None:
    _, plan = plan_of(
        "a: {who: me, work: 4 h}\nb: {who: pair, work: 1 h}\n"
        "c: {who: pair, work: 0 min, after: a}\nd: {work: 90 h}"
    )
    # me on Monday and Tuesday evening; the pair on Wednesday for c, and for b then as well.
    assert plan.visits == plan.visits_bound == 3
    assert starts(plan)["c"] == starts(plan)["b"] == "Wed 2027-01-06 08:00"
    assert plan.task["b"].because.kind == "trip"


def test_a_night_at_work_is_two_visits() -> None:
    night = HEAD.replace("sat 9:00-17:00", "sat 22:00-2:00")
    _, plan = planned(night + "  a: {who: me, work: 4 h, not_before: 2027-01-09}\n")
    assert finishes(plan) == {"a": "Sun 2027-01-10 02:00"}
    assert plan.visits == 2


def test_a_finish_past_the_wish_is_warned_of_and_says_by_how_much() -> None:
    tasks = "  a: {who: me, work: 1 h}\n"
    late = HEAD.replace("people:", "finish_by: 2027-01-04 17:30\npeople:")
    _, plan = planned(late + tasks)
    assert plan.warnings == ("finishes 1 h 30 min after the date in finish_by",)
    in_time = late.replace("17:30", "19:00")
    assert planned(in_time + tasks)[1].warnings == ()


def test_nights_too_cold_for_what_is_fresh_are_warned_of() -> None:
    # Trade page, read: thin-set at 50 F (10 C) or warmer for 72 h.
    cold = HEAD.replace("70 F, humidity", "12 C, swing: 4 C, humidity")
    tasks = "  a: {work: 1 h, room: bath, applies: thinset}\n  b: {work: 1 h, applies: silicone}\n"
    assert planned(cold + tasks)[1].warnings == (
        "in the night the air of bath is 8 C, too cold to apply thinset: keep what is fresh warmer"
        " than that, frost spoils it",
    )
    assert planned(cold.replace("swing: 4 C", "swing: 2 C") + tasks)[1].warnings == ()


def test_a_plan_of_one_milestone_takes_no_time() -> None:
    _, plan = plan_of("a: {work: 0 min}")
    assert (plan.finish, plan.visits, plan.chain) == (plan.start, 0, ("a",))
    assert sum(vars(plan.where_time_goes).values()) == 0


def test_a_milestone_of_somebody_waits_for_their_hours() -> None:
    _, plan = plan_of("a: {who: pair, work: 0 min, not_before: 2027-01-09}")
    assert starts(plan) == {"a": "Mon 2027-01-11 08:00"}
    assert plan.tasks[0].sessions == ()


@pytest.mark.parametrize("names", [("a", "b", "c"), ("c", "a", "b")])
def test_ties_go_by_the_order_of_the_file(names: tuple[str, ...]) -> None:
    _, plan = plan_of("\n".join(f"{name}: {{who: me, work: 1 h}}" for name in names))
    assert [plan.task[name].start for name in names] == sorted(t.start for t in plan.tasks)


def test_what_the_file_leaves_alone_does_not_move_the_plan() -> None:
    job = read(HEAD + "  a: {who: me, work: 1 h}\n")
    other = replace(job, name="Other", finish_by=None, units="imperial")
    assert verified(job).tasks == plan_job(other).tasks
