"""Jobs that are under way, with plans by hand: facts are kept, what is open comes from now on."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from scheduler.model import (
    Actual,
    Air,
    Course,
    Job,
    Link,
    Past,
    Plan,
    Reason,
    Room,
    Task,
    Wait,
)
from scheduler.verify import check
from tests.handmade import (
    GOOD,
    LAB,
    RECOAT,
    SHOWER,
    SPANS,
    TILE,
    WALK,
    Spans,
    change,
    days_of_work,
    job,
    plan,
    rules,
)
from tests.planfactory import HOUR, at

Facts = Mapping[str, tuple[str, str | None]]
"""When tasks really started and finished, by id; None for what is running."""


def under_way(job: Job, now: str, facts: Facts, **more: Actual) -> Job:
    known = {key: Actual(at(a), None if b is None else at(b)) for key, (a, b) in facts.items()}
    return replace(job, past=Past(at(now), known | more))


def told(job: Job, plan: Plan, *warnings: str) -> Plan:
    """The plan with what has begun told as that, and visits counted anew."""
    assert job.past is not None
    for key, known in job.past.actual.items():
        if known.started is not None:
            state = "running" if known.finished is None else "done"
            plan = change(plan, key, state=state, because=Reason("log", "as logged"))
    visits = days_of_work(plan)
    return replace(plan, visits=visits, visits_bound=visits, warnings=warnings)


def broken(
    job: Job, spans: Mapping[str, Spans], *warnings: str, waits: tuple[Wait, ...] = ()
) -> set[str]:
    """The rules that a plan of a job under way breaks, visits left to a test of their own."""
    return rules(job, told(job, plan(job, spans, waits), *warnings)) - {"visits"}


SUNDAY = "2027-01-10 08:00"
DONE: Facts = {
    key: (spans[0][0], spans[-1][1]) for key, spans in SPANS.items() if key not in {"cut", "tile"}
}
HALF = under_way(SHOWER, SUNDAY, DONE)
REST = told(HALF, replace(GOOD, waits=(TILE, WALK)))
# From its start to its finish, as if somebody had stayed overnight.
FRAME = ((at("2027-01-08 18:00"), at("2027-01-09 10:30")),)


def test_a_job_half_done_on_time_has_its_plan() -> None:
    assert check(HALF, REST) == ()
    assert rules(HALF, change(REST, "frame", sessions=FRAME)) == {"came"}
    # Waits for what is done already may be told or left out.
    assert check(HALF, replace(REST, waits=(RECOAT, TILE, WALK))) == ()


COAT = REST.task["coat-1"]
HOURS = Reason("hours", "nobody in hours before")


@pytest.mark.parametrize(
    ("task", "fields", "found"),
    [
        ("coat-1", {"state": "open"}, {"state"}),
        ("coat-1", {"state": "running"}, {"state"}),
        ("cut", {"state": "done"}, {"state"}),
        ("coat-1", {"because": HOURS}, {"because"}),
        ("cut", {"because": Reason("log", "as logged")}, {"because"}),
        (
            "coat-1",
            {
                "start": COAT.start - 1,
                "latest_start": COAT.start - 1,
                "sessions": ((COAT.start - 1, COAT.finish),),
            },
            {"facts"},
        ),
        ("frame", {"sessions": ((FRAME[0][0] - 5, FRAME[0][1]),)}, {"sessions", "came"}),
        ("frame", {"sessions": REST.task["frame"].sessions[1:]}, {"came", "visits"}),
        ("coat-1", {"sessions": ((COAT.start, COAT.finish - 5),)}, {"came"}),
        (
            "coat-1",
            {"latest_finish": COAT.finish + 60},
            {"floats"},
        ),
    ],
)  # fmt: skip
def test_what_happened_is_told_as_it_was(
    task: str, fields: dict[str, Any], found: set[str]
) -> None:
    assert rules(HALF, change(REST, task, **fields)) == found


def test_a_real_finish_is_kept_and_waits_count_from_it() -> None:
    late = dict(DONE) | {"coat-2": ("2027-01-09 13:30", "2027-01-09 15:00")}
    whole, three = under_way(SHOWER, SUNDAY, late), at("2027-01-09 15:00")
    late_start = at("2027-01-09 13:30")
    assert rules(whole, REST) == {"facts"}
    kept = change(REST, "coat-2", finish=three, latest_finish=three,
                  sessions=((late_start, three),))  # fmt: skip
    assert rules(whole, kept) == {"waits"}
    shifted = replace(TILE, start=three, end=three + 720)
    assert check(whole, replace(kept, waits=(shifted, WALK))) == ()


def test_nothing_open_is_placed_before_now() -> None:
    later = under_way(SHOWER, "2027-01-10 09:01", DONE)
    assert rules(later, REST) == {"now"}
    # By the contract now may lie before the job's own start, which then still holds.
    assert check(under_way(SHOWER, "2027-01-08 12:00", {}), GOOD) == ()


def test_rules_between_facts_are_not_looked_at() -> None:
    # Out of hours, too early for the label, on two tasks at once, dust on a fresh coat, late.
    task = SHOWER.task
    tasks = (
        task["coat-1"],
        replace(task["coat-2"], must_finish_by=at("2027-01-09 02:30")),
        replace(task["cut"], room="shower", not_before=at("2027-01-09 06:00")),
    )
    facts = {
        "coat-1": ("2027-01-09 02:00", "2027-01-09 03:00"),
        "coat-2": ("2027-01-09 02:30", "2027-01-09 05:00"),
        "cut": ("2027-01-09 02:30", "2027-01-09 03:15"),
    }
    spans = {key: [span] for key, span in facts.items()}
    assert broken(under_way(job(tasks), SUNDAY, facts), spans) == set()


# Running ----------------------------------------------------------------------------------------

BOARD = Task("board", "Hang board", 300, ("me",))
EVENING = ("2027-01-08 18:00", "2027-01-08 21:30")


def running(now: str, finish: str, *warnings: str, task: Task = BOARD) -> set[str]:
    """Board begun Fri 18:00 in hours until 21:30 and Sat from 09:00, in two parts or in one."""
    whole = under_way(job([task]), now, {task.id: ("2027-01-08 18:00", None)})
    spans = [("2027-01-08 18:00", finish)]
    if task.split:
        spans = [EVENING, ("2027-01-09 09:00", finish)]
    elif now > "2027-01-08 23:00":
        spans = [("2027-01-08 18:00", "2027-01-08 23:00"), (now, finish)]
    return broken(whole, {task.id: spans}, *warnings)


@pytest.mark.parametrize(
    ("now", "finish", "found"),
    [
        # 3.5 h on Friday evening; 90 min are left for Saturday.
        ("2027-01-09 09:00", "2027-01-09 10:30", set()),
        ("2027-01-09 09:00", "2027-01-09 10:29", {"work left"}),
        ("2027-01-09 09:00", "2027-01-09 10:31", {"work left"}),
        ("2027-01-09 10:29", "2027-01-09 10:30", set()),
        ("2027-01-08 22:00", "2027-01-09 10:30", set()),
    ],
)
def test_what_is_running_goes_on_with_the_work_that_is_left(
    now: str, finish: str, found: set[str]
) -> None:
    assert running(now, finish) == found


def test_where_its_time_is_up_a_quarter_of_an_hour_is_left_and_a_warning_says_so() -> None:
    now, quarter = "2027-01-09 12:00", "2027-01-09 12:15"
    assert running(now, quarter, "'Hang board' has had its time") == set()
    assert running(now, quarter) == {"warnings"}
    assert running(now, "2027-01-09 12:14", "'Hang board' has had its time") == {"work left"}
    assert running("2027-01-09 10:30", "2027-01-09 10:45", "'Hang board' has had its time") == set()


def test_what_may_not_split_runs_for_its_work_from_its_start_hours_or_not() -> None:
    pour = Task("pour", "Pour the floor", 300, ("me",), split=False)
    assert running("2027-01-08 19:00", "2027-01-08 23:00", task=pour) == set()
    assert running("2027-01-08 19:00", "2027-01-08 22:59", task=pour) == {"work left"}
    # Logged as planned it changes no date, so that its last minutes are not rounded up.
    assert running("2027-01-08 22:59", "2027-01-08 23:00", task=pour) == set()
    assert running("2027-01-08 22:59", "2027-01-08 23:14", task=pour) == {"work left"}
    assert (
        running("2027-01-09 12:00", "2027-01-09 12:15", "Pour the floor: ...", task=pour) == set()
    )
    assert running("2027-01-09 12:00", "2027-01-09 12:15", task=pour) == {"warnings"}


def test_what_is_running_does_not_rest_and_keeps_to_hours() -> None:
    whole = under_way(job([BOARD]), "2027-01-09 09:00", {"board": ("2027-01-08 18:00", None)})
    gap = [
        EVENING,
        ("2027-01-09 09:10", "2027-01-09 10:40"),
    ]
    assert broken(whole, {"board": gap}) == {"idle"}
    early = under_way(job([BOARD]), "2027-01-09 08:00", {"board": ("2027-01-08 18:00", None)})
    at_night = [EVENING, ("2027-01-09 08:00", "2027-01-09 09:30")]
    assert broken(early, {"board": at_night}) == {"hours"}
    stayed = [("2027-01-08 18:00", "2027-01-09 10:30")]
    assert broken(whole, {"board": stayed}) == {"came"}


def test_a_running_task_holds_its_people_and_one_that_is_done_does_not() -> None:
    tasks = (BOARD, Task("cut", "Cut", 60, ("me",)))
    spans = {
        "board": [EVENING, ("2027-01-09 09:00", "2027-01-09 10:30")],
        "cut": [("2027-01-09 10:00", "2027-01-09 11:00")],
    }
    going = under_way(job(tasks), "2027-01-09 09:00", {"board": ("2027-01-08 18:00", None)})
    assert broken(going, spans) == {"people"}
    after = spans | {"cut": [("2027-01-09 10:30", "2027-01-09 11:30")]}
    assert broken(going, after) == set()
    # Two that are running at once are a fact.
    both = {"board": ("2027-01-08 18:00", None), "cut": ("2027-01-09 08:50", None)}
    at_once = spans | {"cut": [("2027-01-09 08:50", "2027-01-09 10:00")]}
    assert broken(under_way(job(tasks), "2027-01-09 09:00", both), at_once) == set()


def test_people_come_on_every_day_on_which_something_was_or_will_be_worked_on() -> None:
    whole = under_way(job([BOARD]), "2027-01-09 09:00", {"board": ("2027-01-08 18:00", None)})
    spans = {"board": [EVENING, ("2027-01-09 09:00", "2027-01-09 10:30")]}
    right = replace(told(whole, plan(whole, spans)), visits=2, visits_bound=2)
    assert check(whole, right) == ()
    assert rules(whole, replace(right, visits=1, visits_bound=1)) == {"visits"}


# Air as it was ----------------------------------------------------------------------------------


def measured(*nodes: tuple[str, float], humidity: float = 0.5) -> Air:
    """Laboratory air but for a course through these temperatures."""
    minutes = tuple(at(moment) for moment, _ in nodes)
    course = Course(minutes, tuple(t for _, t in nodes), (humidity,) * len(nodes))
    return replace(LAB, course=course)


def coat_done(air: Air, then: str, **fields: Any) -> set[str]:
    """A coat that was really done Sat 11:00, and what waits for its recoat."""
    second = Task("b", "B", 0, after=(Link("a", "recoat"),), **fields)
    tasks = (Task("a", "A", 60, (), "shower", "membrane", split=False), second)
    whole = job(tasks, rooms={"shower": Room("shower", air)})
    facts = {"a": ("2027-01-09 10:00", "2027-01-09 11:00")}
    spans = {"a": [facts["a"]], "b": [(then, then)]}
    return broken(under_way(whole, "2027-01-09 11:30", facts), spans) - {"waits"}


def test_a_wait_runs_from_the_real_finish_in_the_air_as_measured() -> None:
    # 10 °C, 50 % make 120 min 275 (factor 2.29 of the drying fit, from memory); laboratory air 120.
    assert coat_done(LAB, "2027-01-09 13:00") == set()
    cold = measured(("2027-01-09 10:00", 10.0), ("2027-01-09 20:00", 10.0))
    assert coat_done(cold, "2027-01-09 15:35") == set()
    assert coat_done(cold, "2027-01-09 15:28") == {"stage"}
    # An hour of it collects 60 / 2.29 = 26 of the 120 min, the rest 94 min: 13:34.
    short = measured(("2027-01-09 10:00", 10.0), ("2027-01-09 12:00", 10.0))
    assert coat_done(short, "2027-01-09 13:34") == set()
    assert coat_done(short, "2027-01-09 13:31") == {"stage"}


def test_limits_bind_what_is_open_in_the_air_as_measured_and_nothing_that_is_done() -> None:
    frost = measured(("2027-01-09 09:00", 2.0), ("2027-01-09 12:00", 2.0))
    assert coat_done(frost, "2027-01-09 20:00", room="shower", applies="membrane") == set()
    cold = measured(("2027-01-09 10:30", 2.0), ("2027-01-09 20:00", 2.0))
    late = coat_done(cold, "2027-01-09 19:59", room="shower", applies="membrane")
    assert late == {"air"}


def test_a_done_pour_closes_its_room_for_what_is_open() -> None:
    pour = Task("pour", "Pour", 60, (), "floor", "leveler", split=False)
    facts = {"pour": ("2027-01-09 10:00", "2027-01-09 11:00")}  # walk 240 min later: 15:00
    for other, found in (("14:59", {"room"}), ("15:00", set())):
        task = Task("b", "B", 0, (), "floor")
        whole = under_way(job([pour, task]), "2027-01-09 12:00", facts)
        moment = f"2027-01-09 {other}"
        spans = {"pour": [facts["pour"]], "b": [(moment, moment)]}
        assert broken(whole, spans) == found


# Windows ----------------------------------------------------------------------------------------


def recoat(
    now: str, then: str, *warnings: str, close_by: str | None = "2027-01-10 11:30"
) -> set[str]:
    """A first coat done Sat 11:30, and a second within 24 h of it, by me, so much later."""
    tasks = (SHOWER.task["coat-1"], SHOWER.task["coat-2"])
    tasks = (replace(tasks[0], after=()), tasks[1])
    facts = {"coat-1": ("2027-01-09 10:30", "2027-01-09 11:30")}
    whole = under_way(job(tasks), now, facts)
    start = at(then)
    wait = replace(RECOAT, close_by=None if close_by is None else at(close_by))
    hour, minute = divmod(start + 45 - at(f"{then[:10]} 00:00"), 60)
    spans = {"coat-1": [facts["coat-1"]], "coat-2": [(then, f"{then[:10]} {hour:02}:{minute:02}")]}
    return broken(whole, spans, *warnings, waits=(wait,))


CALLED = "too late for 'Second coat': its window, within 24 h of 'First coat', closed"


def test_a_window_after_what_is_done_is_kept_where_it_can_be() -> None:
    assert recoat("2027-01-10 08:00", "2027-01-10 11:30") == set()
    assert recoat("2027-01-10 08:00", "2027-01-10 11:31") == {"window"}
    assert recoat("2027-01-10 08:00", "2027-01-10 11:31", CALLED) == {"window"}


def test_a_window_that_nothing_can_keep_any_more_is_lifted_and_called_out() -> None:
    # It closed a minute ago.
    now = "2027-01-10 11:31"
    assert recoat(now, now, CALLED, close_by=None) == set()
    assert recoat(now, now, CALLED) == set()
    assert recoat(now, now) == {"window"}
    assert recoat(now, now, "'Second coat' comes late") == {"window"}
    assert recoat(now, now, close_by=None) == {"window", "waits"}
    # At the very last minute it can still be kept.
    assert recoat("2027-01-10 11:30", "2027-01-10 11:31", CALLED) == {"window"}


def test_a_window_is_lifted_where_no_start_in_it_could_be_worked() -> None:
    # Done Fri 21:30 the window of 11 h closes Sat 08:30, before my hours of Saturday, 09:00.
    first = Task("coat-1", "First coat", 60, ("me",), "shower", "membrane", split=False)
    second = Task(
        "b", "Second coat", 45, ("me",), "shower", after=(Link("coat-1", within=11 * HOUR),)
    )
    facts = {"coat-1": ("2027-01-08 20:30", "2027-01-08 21:30")}
    spans = {"coat-1": [facts["coat-1"]], "b": [("2027-01-09 09:00", "2027-01-09 09:45")]}
    whole = under_way(job([first, second]), "2027-01-08 21:40", facts)
    assert broken(whole, spans, CALLED) == set()
    assert broken(whole, spans) == {"window"}


def test_a_window_of_what_is_open_is_never_lifted() -> None:
    tasks = (Task("a", "A", 60), Task("b", "B", 0, after=(Link("a", within=60),)))
    spans = {
        "a": [("2027-01-09 10:00", "2027-01-09 11:00")],
        "b": [("2027-01-09 12:01", "2027-01-09 12:01")],
    }
    whole = under_way(job(tasks), "2027-01-08 18:00", {})
    assert broken(whole, spans, "too late for 'B' after 'A'") == {"window"}


# Hold points ------------------------------------------------------------------------------------


def test_a_test_that_failed_is_open_again_and_a_warning_says_so() -> None:
    flood = Task("flood", "Flood test", 0, hold=True)
    failed = Actual(failed=at("2027-01-09 12:00"))
    whole = under_way(job([flood]), "2027-01-09 13:00", {}, flood=failed)
    moment = "2027-01-09 13:00"
    assert broken(whole, {"flood": [(moment, moment)]}, "'Flood test' failed") == set()
    assert broken(whole, {"flood": [(moment, moment)]}, "another") == {"warnings"}
    before = "2027-01-09 12:30"
    assert broken(whole, {"flood": [(before, before)]}, "flood failed") == {"now"}
