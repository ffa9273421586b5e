"""Who does what in a job file: ways to choose among, times of their own, the same hand."""

import json
from dataclasses import replace

import pytest

from scheduler.asjson import plan_json
from scheduler.clock import HOUR
from scheduler.earlierplan import kept_line, moved, read_plan
from scheduler.errors import NoPlan
from scheduler.model import Job, Plan, Task, Way
from scheduler.news import news
from scheduler.planner import plan_job
from scheduler.ready import network_of, ready
from scheduler.ready.verdict import Verdict
from scheduler.shopping import costs, shopping
from scheduler.verify import check
from scheduler.ways import kept
from tests.support.planned import at, read, starts, verified
from tests.support.underway import on_plan

ZONE = "America/Toronto"
PEOPLE = """
  me: {hours: [sat-sun 8:00-18:00], price_per_hour: 20}
  helper: {hours: sat 8:00-18:00, price_per_hour: 30}
  pair: {hours: sun 8:00-18:00, count: 2}
"""


def job(tasks: str, people: str = PEOPLE) -> Job:
    """A job from Saturday 9 January 2027 on."""
    head = f"job: Larch Row\ntimezone: {ZONE}\nstart: 2027-01-09\npeople:{people}tasks:\n"
    return read(head + tasks)


def done_by(job: Job) -> dict[str, list[str]]:
    """By whom each task is done in the verified plan."""
    return {task.id: [*task.who] for task in verified(job).tasks}


def ways(task: Task) -> list[tuple[int, dict[str, int]]]:
    return [(way.work, dict(way.hands)) for way in task.ways]


# What is read ------------------------------------------------------------------------------------


def test_an_entry_is_one_several_together_or_several_of_one() -> None:
    task = job("""
  board:
    who: {any: [me, [me, helper], {all: [me, pair]}, {pair: 2}, {all: {me: 1, pair: 2}}]}
    work: 4 h
""").task["board"]
    assert ways(task) == [
        (240, {"me": 1}),
        (240, {"me": 1, "helper": 1}),
        (240, {"me": 1, "pair": 1}),
        (240, {"pair": 2}),
        (240, {"me": 1, "pair": 2}),
    ]
    assert (task.who, task.work, task.several) == (("me",), 240, ())


def test_a_way_has_a_time_of_its_own_or_that_of_the_task() -> None:
    task = job("""
  board: {who: {any: [me, {who: [me, helper], work: 2 h..2.5 h..4 h}]}, work: 4 h}
""").task["board"]
    assert [(way.work, way.work_range) for way in task.ways] == [(240, None), (150, (120, 240))]


def test_all_of_some_is_a_list_of_them() -> None:
    one, other = job("  a: {who: {all: [me, helper]}, work: 1 h}\n"
                     "  b: {who: [me, helper], work: 1 h}\n").tasks  # fmt: skip
    assert one.who == other.who == ("me", "helper")
    assert not one.ways


def test_one_way_is_no_choice() -> None:
    assert not job("  a: {who: {any: [helper]}, work: 1 h}\n").task["a"].ways


def test_a_rate_makes_the_time_of_each_way() -> None:
    people = "\n  me: {hours: always, pace: 2}\n  helper: {hours: always}\n"
    task = job("  a: {who: {any: [me, helper, [me, helper]]}, quantity: 5 m2, rate: wall-tile}\n",
               people).task["a"]  # fmt: skip
    slow, fast, both = (way.work for way in task.ways)
    assert slow == pytest.approx(2 * fast, abs=5)
    assert both == slow  # the slowest of them, as ever


def test_the_same_person_shares_what_both_may_do_in_the_order_of_the_first() -> None:
    tasks = job("""
  coat-1: {who: {any: [me, helper, pair]}, work: 1 h}
  coat-2: {same_person_as: coat-1, who: {any: [pair, {who: me, work: 3 h}]}, work: 2 h}
  coat-3: {same_person_as: coat-2, work: 45 min}
""").task
    assert ways(tasks["coat-1"]) == [(60, {"me": 1}), (60, {"pair": 1})]
    assert ways(tasks["coat-2"]) == [(180, {"me": 1}), (120, {"pair": 1})]
    assert ways(tasks["coat-3"]) == [(45, {"me": 1}), (45, {"pair": 1})]
    assert [task.same_as for task in tasks.values()] == [None, "coat-1", "coat-1"]


def test_where_one_is_fixed_the_other_is_too() -> None:
    tasks = job("""
  coat-1: {who: {any: [me, helper]}, work: 1 h}
  coat-2: {same_person_as: coat-1, who: helper, work: 1 h}
""").task
    assert [(task.who, task.ways, task.same_as) for task in tasks.values()] == [
        (("helper",), (), None)
    ] * 2


# What is planned ---------------------------------------------------------------------------------


def test_whoever_is_free_does_it() -> None:
    assert done_by(job("""
  a: {who: me, work: 4 h}
  b: {who: {any: [me, helper]}, work: 4 h}
""")) == {"a": ["me"], "b": ["helper"]}  # fmt: skip


def test_of_ways_as_good_the_first_written_is_taken() -> None:
    assert done_by(job("  a: {who: {any: [helper, me]}, work: 4 h}\n")) == {"a": ["helper"]}
    assert done_by(job("  a: {who: {any: [me, helper]}, work: 4 h}\n")) == {"a": ["me"]}


def test_two_do_it_where_that_is_faster_and_they_are_free() -> None:
    both = "{any: [me, {who: [me, helper], work: 2.5 h}]}"
    made, plan = planned_of(f"  a: {{who: {both}, work: 4 h}}\n")
    assert plan.task["a"].who == ("me", "helper")
    assert plan.finish == at("2027-01-09 10:30", ZONE)
    assert not check(made, plan)
    assert done_by(job(f"""
  a: {{who: {both}, work: 4 h}}
  b: {{who: helper, work: 4 h}}
""")) == {"a": ["me"], "b": ["helper"]}  # fmt: skip


def planned_of(tasks: str) -> tuple[Job, Plan]:
    made = job(tasks)
    return made, verified(made)


def test_the_hand_does_not_change_even_where_another_is_sooner() -> None:
    tasks = """
  coat-1: {{who: {{any: [helper, me]}}, work: 4 h}}
  coat-2: {{{same}who: {{any: [me, helper]}}, work: 1 h, after: {{task: coat-1, wait: 8 h}}}}
"""
    free = done_by(job(tasks.format(same="")))
    tied = done_by(job(tasks.format(same="same_person_as: coat-1, ")))
    assert free == {"coat-1": ["helper"], "coat-2": ["me"]}  # helper has no hours on Sunday
    assert tied == {"coat-1": ["me"], "coat-2": ["me"]}


def test_a_plan_in_which_the_hand_changes_or_nobody_may_do_it_is_told() -> None:
    made = job("""
  coat-1: {who: {any: [me, helper]}, work: 2 h}
  coat-2: {same_person_as: coat-1, work: 1 h, after: coat-1}
""")
    plan = verified(made)
    first, second = plan.tasks
    other = replace(plan, tasks=(first, replace(second, who=("helper",))))
    assert "same person" in {breach.rule for breach in check(made, other)}
    nobody = replace(plan, tasks=(first, replace(second, who=("pair",))))
    assert "ways" in {breach.rule for breach in check(made, nobody)}


def test_a_conflict_names_the_hand_that_must_not_change() -> None:
    made = job("""
  coat-1: {who: {any: [me, helper]}, work: 2 h, must_finish_by: 2027-01-09 12:00}
  coat-2:
    same_person_as: coat-1
    work: 9 h
    split: no
    must_finish_by: 2027-01-09 18:00
""")
    with pytest.raises(NoPlan) as stopped:
        plan_job(made)
    rules = {rule.kind: rule for rule in stopped.value.conflict.rules}
    assert rules["same person"].text == "'Coat 2' is done by the same people as 'Coat 1'"
    verified(rules["same person"].lift(made))


# What follows from it ----------------------------------------------------------------------------


def test_hours_are_paid_to_those_who_do_it() -> None:
    made = job("""
  a: {who: me, work: 4 h}
  b: {who: {any: [me, {who: helper, work: 3 h}]}, work: 4 h}
""")
    plan = verified(made)
    labour = {each.person: each.minutes for each in costs(made, plan, shopping(made, plan)).labour}
    assert labour == {"me": 4 * HOUR, "helper": 3 * HOUR}


def test_a_task_may_start_if_anybody_may_start_it() -> None:
    made = job("""
  a: {who: me, work: 4 h}
  b: {who: {any: [me, helper]}, work: 4 h}
""")
    plan = verified(made)
    assert plan.task["b"].who == ("helper",)
    network = network_of(made, plan)

    def asked(wall: str) -> Verdict:
        return ready(made, network, plan, "b", at(wall, ZONE))

    assert asked("2027-01-09 08:00").yes
    sunday = asked("2027-01-10 09:00")
    assert sunday.yes  # helper has no hours then, and the first task is done by then
    told = [finding.text for finding in sunday.findings if finding.kind == "who"]
    assert told == ["asked for with me; the plan has helper do it"]
    friday = asked("2027-01-08 09:00")
    assert not friday.yes
    assert friday.earliest == at("2027-01-09 08:00", ZONE)
    nor = [finding for finding in friday.findings if finding.kind == "who"]
    assert [(finding.ok, finding.text, finding.until) for finding in nor] == [
        (False, "nor with me", at("2027-01-09 12:00", ZONE))
    ]


def test_ready_says_no_with_others_than_by_the_plan_did_what_the_same_people_do() -> None:
    """On Monday the helper alone could sand, and by the plan somebody else put on the mud."""
    people = """
  me: {hours: [sat-sun 8:00-18:00]}
  helper: {hours: [sat 8:00-18:00, mon 8:00-18:00]}
"""
    made = job(
        """
  shelves: {who: helper, work: 10 h}
  mud: {who: {any: [me, helper]}, work: 4 h}
  sand: {same_person_as: mud, work: 1 h, after: mud}
""",
        people,
    )
    plan = verified(made)
    assert plan.task["mud"].who == plan.task["sand"].who == ("me",)
    network, monday = network_of(made, plan), at("2027-01-11 09:00", ZONE)
    sand = ready(made, network, plan, "sand", monday)
    assert not sand.yes
    assert sand.earliest == at("2027-01-16 08:00", ZONE)
    told = [finding.text for finding in sand.findings if finding.kind == "who"]
    assert told == ["only me may do it: by the same people as 'Mud'"]
    assert ready(made, network, plan, "mud", monday).yes  # sanding is put off with it


def test_logged_as_planned_nothing_moves_and_those_who_were_to_do_it_did() -> None:
    made = job("""
  a: {who: me, work: 4 h}
  b: {who: {any: [me, helper]}, work: 4 h}
  c: {same_person_as: b, work: 1 h, after: b}
  d: {who: {any: [me, helper]}, work: 3 h, after: [a, b]}
""")
    first = verified(made)
    assert first.task["b"].who == first.task["c"].who == ("helper",)
    for now in ("2027-01-09 09:00", "2027-01-09 12:30", "2027-01-09 14:00"):
        stands = on_plan(made, first, at(now, ZONE))
        again = plan_job(stands)
        assert starts(again) == starts(first)
        assert [task.who for task in again.tasks] == [task.who for task in first.tasks]
        assert not check(stands, again)


def test_what_is_kept_to_says_who_does_it_too() -> None:
    """An earlier plan had the second way: as good as the first, it stays."""
    made = job("  a: {who: {any: [me, helper]}, work: 4 h}\n")
    other = replace(made, tasks=(replace(made.tasks[0], who=("helper",), ways=()),))
    again = plan_job(made, keep=kept(verified(other)))
    assert again.task["a"].who == ("helper",)
    assert not check(made, again)


def test_ways_are_plain_data() -> None:
    assert Way(60, ("me",), (("me", 2),)).hands == {"me": 2}


def test_who_does_it_now_is_told_where_that_was_somebody_else() -> None:
    made = job("  a: {who: {any: [me, helper]}, work: 4 h}\n")
    plan = verified(made)
    other = replace(plan, tasks=(replace(plan.tasks[0], who=("helper",)),))
    earlier = read_plan(json.dumps(plan_json(other)).encode(), "old.json", made)
    assert [task.id for task in moved(earlier, plan)] == ["a"]
    assert kept_line(earlier, plan).text == (
        "0 of 1 task still to do, as in old.json; 1 moved, next 'A' by me, not helper"
    )
    stands = on_plan(made, plan, at("2027-01-09 07:00", ZONE))
    assert str(news(stands, other, plan)[-1]).endswith("next 'A' by me, not helper")
