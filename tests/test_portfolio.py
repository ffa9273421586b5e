"""Several jobs in one plan: people in one place at a time, and who gives way to whom."""

import random
from dataclasses import replace

import pytest

from scheduler.clock import DAY
from scheduler.errors import BadInput, NoPlan
from scheduler.firstplan import serial
from scheduler.model import Actual, Job, Past
from scheduler.network import compile_job
from scheduler.planner import plan_job
from scheduler.portfolio import freed
from scheduler.portfolio.aim import aim, alone
from scheduler.portfolio.days import delays, week
from scheduler.portfolio.join import member, portfolio
from scheduler.portfolio.search import Effort, improved
from scheduler.portfolio.text import together_text
from scheduler.portfolio.together import plan_together
from scheduler.verify import check, check_together
from scheduler.verify.case import Case as VerifierCase
from scheduler.verify.rules import PLACING
from tests.support.planned import at, finishes, starts
from tests.support.portfolios import generated, job, verified_together

CREW = "people: {me: {hours: daily 9:00-17:00}}\n"
ZONE = "America/Toronto"


def short(name: str, work: str, extra: str = "") -> Job:
    """A job of one task, all by ``me``."""
    return job(name, f"{extra}tasks: {{a: {{name: All, who: me, work: {work}}}}}\n", CREW)


def test_the_shorter_job_goes_first_where_nothing_is_wished() -> None:
    # Shortest first makes the least sum of finishes (Smith 1956): 4 h, then 12 h.
    long, quick = verified_together([short("Long", "12 h"), short("Quick", "4 h")]).plans
    assert finishes(quick) == {"a": "Sat 2027-01-09 13:00"}
    assert starts(long) == {"a": "Sat 2027-01-09 13:00"}
    assert finishes(long) == {"a": "Sun 2027-01-10 17:00"}


def test_the_job_with_a_wish_goes_first() -> None:
    wished = short("Long", "12 h", "finish_by: 2027-01-10\n")
    made = verified_together([wished, short("Quick", "8 h")])
    assert finishes(made.plans[0]) == {"a": "Sun 2027-01-10 13:00"}
    assert made.aim.lateness == 0 == made.bound.lateness


@pytest.mark.parametrize(("priority", "first"), [("1", "Quick"), ("9", "Long")])
def test_where_both_can_not_be_in_time_priority_decides(priority: str, first: str) -> None:
    # By hand: all wished by Sat 24:00. Quick first: Long 17 h late (Sun 17:00). Long first: Long
    # 13 h late (Sun 13:00), Quick 17 h late. Only a priority of more than 17/4 turns that round.
    wish = "finish_by: 2027-01-09\n"
    long = short("Long", "12 h", f"{wish}priority: {priority}\n")
    quick = short("Quick", "4 h", wish)
    made = verified_together([long, quick])
    earliest = min(
        made.plans, key=lambda plan: plan.finish if first == "Quick" else plan.tasks[0].start
    )
    assert earliest.job == first
    late = {"Quick": 17 * 60.0, "Long": 9 * 13 * 60.0 + 17 * 60.0}
    assert made.aim.lateness == late[first]


def test_people_of_no_crew_file_are_each_jobs_own() -> None:
    text = "people: {me: {hours: daily 9:00-17:00}}\ntasks: {a: {who: me, work: 8 h}}\n"
    crew = "people: {boss: {hours: always}}\n"
    made = verified_together([job("One", text, crew), job("Two", text, crew)])
    assert [*map(finishes, made.plans)] == 2 * [{"a": "Sat 2027-01-09 17:00"}]
    assert made.aim.visits == 2
    assert [*week(made.planned)] == ["me (One)", "me (Two)"]


def test_who_waits_for_whom_is_told_with_the_minutes() -> None:
    made = verified_together([short("Long", "12 h"), short("Quick", "4 h")])
    why = made.plans[0].task["a"].because
    assert (why.kind, why.job, why.task, why.delay) == ("elsewhere", "Quick", "a", 4 * 60)
    assert why.text == "me is busy with 'All' of Quick until Sat 9 Jan 13:00"
    (told,) = delays(made.planned)
    assert (told.job, told.other, told.tasks, told.minutes) == ("Long", "Quick", ("All",), (240,))
    assert made.plans[0].where_time_goes.people_busy == 240


@pytest.mark.parametrize("seed", range(4))
def test_without_the_other_houses_a_task_that_waits_for_them_could_start_so_much_earlier(
    seed: int,
) -> None:
    """By the verifier's rules of placing: that much earlier breaks none of the task's own.

    What must follow it within a window would follow earlier, too.
    """
    made, told = verified_together(generated(seed, 4, 14)), 0
    for own, plan in made.planned:
        network = compile_job(own, plan.finish + 60 * DAY)
        for step, placed in zip(network.steps, plan.tasks, strict=True):
            if placed.because.kind == "elsewhere":
                start, told = placed.start - placed.because.delay, told + 1
                finish, sessions = step.finish(start), step.sessions(start)
                earlier = replace(placed, start=start, finish=finish, sessions=sessions)
                tasks = tuple(earlier if task is placed else task for task in plan.tasks)
                case = VerifierCase(own, replace(plan, tasks=tasks))
                breaches = [b for rule in PLACING for b in rule(case) if b.task == placed.id]
                assert not breaches
    assert told


def test_a_day_counts_as_one_visit_whichever_houses_it_goes_to() -> None:
    made = verified_together([short("One", "4 h"), short("Two", "4 h")])
    assert made.aim.visits == 1
    (days,) = week(made.planned).values()
    assert [stay.job for stays in days.values() for stay in stays] == ["One", "Two"]


def test_floats_are_those_that_the_other_jobs_as_planned_leave() -> None:
    """The first of two could start no later: the second job has the rest of the day."""
    made = verified_together([short("Long", "12 h"), short("Quick", "4 h")])
    assert made.plans[1].task["a"].float_minutes == 0
    assert made.plans[1].task["a"].critical


def test_several_of_a_kind_work_in_as_many_houses() -> None:
    crew = "people: {me: {hours: daily 9:00-17:00, count: 2}}\n"
    text = "tasks: {a: {who: me, work: 8 h}}\n"
    made = verified_together([job(name, text, crew) for name in ("One", "Two", "Three")])
    assert sorted(f["a"] for f in map(finishes, made.plans)) == [
        "Sat 2027-01-09 17:00", "Sat 2027-01-09 17:00", "Sun 2027-01-10 17:00",
    ]  # fmt: skip


def test_two_of_a_kind_at_once_leave_nobody_for_another_house() -> None:
    crew = "people: {me: {hours: daily 9:00-17:00, count: 2}}\n"
    both = job("Both", "tasks: {a: {who: {me: 2}, work: 8 h}}\n", crew)
    one = job("One", "tasks: {a: {who: me, work: 4 h}}\n", crew)
    made = verified_together([both, one])
    assert finishes(made.plans[1]) == {"a": "Sat 2027-01-09 13:00"}
    assert starts(made.plans[0]) == {"a": "Sat 2027-01-09 13:00"}
    assert made.plans[0].task["a"].because.job == "One"


def test_what_takes_people_longer_than_half_a_year_is_planned_all_the_same() -> None:
    crew = "people: {me: {hours: mon 9:00-13:00}}\n"
    text = "tasks: {a: {who: me, work: 20 h}, b: {who: me, work: 20 h, after: a}}\n"
    made = verified_together([job(name, text, crew) for name in ("One", "Two", "Three")])
    assert max(f["b"] for f in map(finishes, made.plans)) == "Mon 2027-08-02 13:00"
    assert made.proven


def test_a_job_that_shares_nobody_has_the_plan_it_has_alone() -> None:
    one = short("One", "12 h")
    (together, _), alone = (
        verified_together([one, job("Two", "tasks: {a: {work: 1 h}}\n", CREW)]).plans,
        plan_job(one),
    )
    assert together == alone


def test_what_has_begun_in_one_house_holds_its_people_in_another() -> None:
    running = short("Running", "4 h")
    start, now = (at(f"2027-01-09 {hour}", ZONE) for hour in ("11:00", "12:00"))
    running = replace(running, past=Past(now, {"a": Actual(started=start)}))
    made = verified_together([running, short("Next", "1 h")])
    assert starts(made.plans[1]) == {"a": "Sat 2027-01-09 15:00"}


def test_a_job_is_done_with_the_last_of_its_tasks_also_if_one_was_begun_out_of_order() -> None:
    text = "tasks:\n  a: {who: me, work: 6 h}\n  b: {who: me, work: 1 h, after: a}\n"
    start, began, over, now = (at(f"2027-01-09 {hour}:00", ZONE) for hour in ("09", 10, 11, 12))
    done = {"a": Actual(started=start), "b": Actual(started=began, finished=over)}
    one = replace(job("One", text, CREW), past=Past(now, done))
    made = verified_together([one, short("Two", "1 h")])
    ends = finishes(made.plans[0])
    assert ends["b"] < ends["a"]
    assert made.aim.finishes == sum(plan.finish for plan in made.plans)
    assert made.bound.finishes <= made.aim.finishes


@pytest.mark.parametrize("seed", range(3))
def test_the_finish_of_each_job_is_that_of_its_last_task(seed: int) -> None:
    made = plan_together(generated(seed, 4, 14), Effort(crossed=0, rounds=0))
    assert made.aim.finishes == sum(max(t.finish for t in plan.tasks) for plan in made.plans)


def test_among_jobs_under_way_nothing_is_planned_for_days_that_are_past() -> None:
    now = at("2027-01-12 12:00", ZONE)
    one = replace(short("One", "4 h"), past=Past(now, {}))
    made = verified_together([one, short("Never logged", "1 h"), short("Later", "1 h", "")])
    assert all(task.start >= now for plan in made.plans for task in plan.tasks)


@pytest.mark.parametrize("seed", range(3))
def test_generated_portfolios_keep_every_rule(seed: int) -> None:
    jobs = generated(seed, 4, 14)
    made = verified_together(jobs)
    assert made.bound.lateness <= made.aim.lateness
    assert made.bound.finishes <= made.aim.finishes
    again = plan_together(jobs)
    assert again.plans == made.plans


def test_two_jobs_in_the_wrong_order_change_places() -> None:
    """Shortest first again, from a plan that has the long one first."""
    both = short("Long", "12 h"), short("Quick", "4 h")
    members = [member(one, frozenset(), one.start + 30 * DAY) for one in both]
    jobs, each = portfolio(members), [alone(m) for m in members]
    wrong = serial(jobs.network, [start for a in each for start in a.early], [0, 1])
    assert wrong is not None
    better = improved(jobs, each, wrong, Effort(tasks=0))
    assert aim(jobs, better) < aim(jobs, wrong)
    assert better[1] < better[0]
    same = improved(jobs, each, wrong, Effort(rounds=0, tasks=0))
    assert same == wrong


def test_improving_makes_no_plan_worse() -> None:
    jobs = generated(5, 4, 14)
    first = plan_together(jobs, Effort(tries=4, rounds=0, tasks=0))
    assert verified_together(jobs).aim[:4] <= first.aim[:4]
    assert plan_together(jobs, Effort(tries=4)).aim[:4] <= first.aim[:4]


def test_of_more_tasks_than_fit_in_a_model_those_of_some_jobs_are_looked_at(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    jobs = generated(1, 4, 16)
    first = plan_together(jobs, Effort(crossed=0, rounds=0, tasks=0))
    monkeypatch.setattr(freed, "_MOST", 40)
    made = verified_together(jobs, Effort(crossed=0, rounds=12, tasks=0))
    assert made.aim[:2] < first.aim[:2]


def test_freed_are_no_more_tasks_than_asked_mostly_all_those_of_some_jobs() -> None:
    members = [member(one, frozenset(), one.start + 60 * DAY) for one in generated(1, 6, 10)]
    jobs, random_ = portfolio(members), random.Random(1)
    whole = 0
    for most in [35] * 40 + [4] * 10:
        found = freed.to_free(jobs, most, random_)
        assert 0 < len(found) <= most
        touched = [part for part in jobs.parts if found & {*part}]
        whole += most == 35 and len(found) == sum(map(len, touched)) == 30
    assert freed.to_free(jobs, 1000, random_) == {*range(60)}
    assert 20 <= whole < 40


def test_no_bound_is_above_what_one_job_after_the_other_can_do() -> None:
    """Work of 3, 5 and 8 h by one person, nothing else: the bound is the optimum (Smith 1956)."""
    made = verified_together([short(f"J{n}", f"{n} h") for n in (8, 3, 5)])
    assert made.aim.finishes == made.bound.finishes
    told = "Proven: no plan has a lesser sum of finishes."
    assert told in together_text(made, 80)
    wished = replace(made.jobs[0], finish_by=made.jobs[0].start + 30 * DAY)
    told = told.replace("plan has", "plan that is as little late has")
    assert told in together_text(verified_together([wished, *made.jobs[1:]]), 80)


def test_jobs_that_can_not_be_told_apart_or_live_by_other_clocks_are_refused() -> None:
    one = short("One", "4 h")
    with pytest.raises(BadInput, match="two of the jobs are called 'One'"):
        plan_together([one, one])
    with pytest.raises(BadInput, match="'One' is in America/Toronto and 'Two' in Europe/Berlin"):
        plan_together([one, replace(one, name="Two", timezone="Europe/Berlin")])


def test_a_job_without_a_plan_of_its_own_is_told_as_ever() -> None:
    never = job("Never", "tasks: {a: {who: me, work: 9 h, split: no}}\n", CREW)
    with pytest.raises(NoPlan, match="9 h"):
        plan_together([never, short("One", "4 h")])


# ------------------------------------------------------------------------- the verifier's own


def test_the_verifier_finds_somebody_in_two_houses_at_once() -> None:
    one, two = short("One", "4 h"), short("Two", "4 h")
    apart = [(one, plan_job(one)), (two, plan_job(two))]
    assert [check(own, plan) for own, plan in apart] == [(), ()]
    found = check_together(apart)
    assert {breach.rule for breach in found} == {"people"}
    assert "a of One starts" in found[0].text
    assert "while me is still on a of Two" in found[0].text


def test_the_verifier_finds_a_reason_that_is_not_so() -> None:
    made = verified_together([short("Long", "12 h"), short("Quick", "4 h")])
    (long, plan), other = made.planned
    task = plan.tasks[0]
    for wrong in (
        replace(task.because, task="b"),
        replace(task.because, job="Nobody's"),
        replace(task.because, text="me is busy"),
    ):
        told = replace(plan, tasks=(replace(task, because=wrong),))
        assert [b.rule for b in check_together([(long, told), other])] == ["because"]
    alone = replace(plan, tasks=(replace(task, because=replace(task.because, job=None)),))
    assert [b.rule for b in check(long, alone)] == ["because"]


def test_the_verifier_finds_one_name_twice_and_other_clocks_and_other_hours() -> None:
    one = short("One", "4 h")
    plan = plan_job(one)
    people = {"me": replace(one.people["me"], pace=2.0)}
    other = replace(one, timezone="Europe/Berlin", people=people, start=one.start + DAY)
    rules = [breach.text for breach in check_together([(one, plan), (other, plan)])]
    assert "two jobs are called One" in rules
    assert "One and One go by other clocks" in rules
    assert "me of one crew file has other hours in other jobs" in rules
