"""Several jobs in which it is open who does what."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import pytest

from scheduler.clock import DAY, HOUR
from scheduler.errors import NoPlan
from scheduler.model import Job, Task, Way
from scheduler.portfolio import Together, plan_together
from scheduler.portfolio.aim import alone
from scheduler.portfolio.energy import finish_after
from scheduler.portfolio.join import member
from scheduler.portfolio.together import plan_again
from scheduler.verify import check, check_together
from tests.support.choices import as_fixed
from tests.support.planned import at
from tests.support.portfolios import generated, job, verified_together
from tests.support.underway import moments, on_plan

END = at("2027-02-09 00:00", "America/Toronto")
CREW = """
people:
  me: {hours: daily 9:00-17:00}
  helper: {hours: daily 9:00-17:00}
"""
TASKS = """
tasks:
  a: {who: {any: [me, helper]}, work: 6 h}
  b: {same_person_as: a, work: 2 h, after: a}
"""


def who(made: Together) -> Mapping[str, list[tuple[str, ...]]]:
    return {plan.job: [task.who for task in plan.tasks] for plan in made.plans}


def sound(made: Together) -> Together:
    assert not [each for own, plan in made.planned for each in check(own, plan)]
    assert not check_together(made.planned)
    return made


def test_two_houses_go_on_side_by_side() -> None:
    made = verified_together([job(name, TASKS, CREW) for name in ("One", "Two")])
    assert who(made) == {"One": [("me",)] * 2, "Two": [("helper",)] * 2}
    assert made.proven
    assert all(plan.finish - plan.start == 17 * HOUR for plan in made.plans)


def test_no_way_to_decide_it_beforehand_beats_what_is_shown_to_be_least() -> None:
    more = TASKS.replace("6 h", "5 h") + "  c: {who: {any: [helper, me]}, work: 3 h}\n"
    jobs = [job("One", TASKS, CREW), job("Two", more, CREW)]
    made = verified_together(jobs)
    fixed = [verified_together(each) for each in product(*map(as_fixed, jobs))]
    assert made.bound[:2] <= min(each.aim[:2] for each in fixed)
    assert made.aim[:2] == min(each.aim[:2] for each in fixed)


def open_to_two(own: Job) -> Job:
    """A generated job with every third task open to another of the firm, who takes longer."""
    tasks = (_open(task) if n % 3 == 0 else task for n, task in enumerate(own.tasks))
    return replace(own, tasks=tuple(tasks))


def _open(task: Task) -> Task:
    if len(task.who) != 1 or task.who[0] not in {"me", "helper", "tiler"} or not task.work:
        return task
    other = "helper" if task.who[0] != "helper" else "me"
    ways = Way(task.work, task.who), Way(task.work + HOUR, (other,))
    return replace(task, ways=ways)


@pytest.mark.parametrize("seed", range(2))
def test_generated_houses_keep_every_rule_and_what_was_planned(seed: int) -> None:
    jobs = [open_to_two(own) for own in generated(seed, 3, 12)]
    assert any(task.ways for own in jobs for task in own.tasks)
    first = verified_together(jobs)
    assert first.bound[:2] <= first.aim[:2]
    again = sound(plan_together(jobs, keep=first.kept))
    assert (again.starts, who(again)) == (first.starts, who(first))
    times = sorted({minute for plan in first.plans for minute in moments(plan)})
    for now in times[:: max(len(times) // 3, 1)]:
        later, filed = plan_again([on_plan(own, plan, now) for own, plan in first.planned])
        assert filed == first
        assert (sound(later).starts, who(later)) == (first.starts, who(first))


def test_across_jobs_too_it_is_told_what_has_no_way_left() -> None:
    tasks = TASKS.replace("after: a", "after: a, must_finish_by: 2027-01-09 17:00")
    two, three = (houses(tasks, n) for n in (2, 3))
    verified_together(two)
    with pytest.raises(NoPlan) as stopped:
        plan_together(three)
    rules = stopped.value.conflict.rules
    assert {rule.kind for rule in rules} >= {"must finish by"}
    verified_together(stopped.value.site.without(rules[0]).jobs)


def houses(tasks: str, number: int) -> list[Job]:
    return [job(f"House {n}", tasks, CREW) for n in range(number)]


def test_the_days_on_which_a_job_may_be_done_go_on_whichever_way_is_taken() -> None:
    """A slow way that is begun early ends after a quick one that is begun then."""
    tasks = "tasks:\n  a: {who: {any: [{who: me, work: 1 h}, helper]}, work: 20 h}\n"
    own = alone(member(job("One", tasks, CREW), frozenset(), END))
    for minute in range(own.early[0], own.early[0] + 4 * DAY, 37):
        later = finish_after(own, 0, minute)
        assert later > minute
        ways = own.bounds.network.steps[0].ways
        every = (way.finish(start) for way in ways for start, end in way.starts
                 for start in range(start, min(end, minute + 2 * DAY)))  # fmt: skip
        assert later == min(done for done in every if done > minute)


def test_who_is_over_first_in_one_house_is_not_taken_where_the_other_waits_for_it() -> None:
    """By hand: boarded by me, the bath lets the helper close the walls of the kitchen on Wednesday.

    Whoever is over first boards it sooner, and the kitchen is a day later.
    """
    crew = """
people:
  me: {hours: mon-fri 8:00-16:00}
  helper: {hours: mon-thu 8:00-14:00}
  plumber: {hours: mon-fri 8:00-16:00}
"""
    bath = """
finish_by: 2027-01-18
priority: 2
tasks:
  strip: {who: {any: [me, {who: [me, helper], work: 3 h}]}, work: 5 h}
  rough: {who: plumber, work: 3 h, after: strip}
  board: {who: {any: [me, helper]}, work: 6 h, after: rough}
  coat-1: {who: {any: [helper, me]}, work: 90 min, after: board, split: no}
  coat-2: {same_person_as: coat-1, work: 1 h, after: {task: coat-1, wait: 3 h}, split: no}
  tile: {who: me, work: 12 h, after: {task: coat-2, wait: 20 h}}
  grout: {same_person_as: tile, work: 3 h, after: {task: tile, wait: 28 h}, split: no}
"""
    kitchen = """
finish_by: 2027-01-19
tasks:
  clear: {who: {me: 1, helper: 1}, work: 4 h, not_before: 2027-01-12}
  pipes: {who: plumber, work: 4 h, after: clear}
  close: {who: {any: [helper, me]}, work: 5 h, after: pipes}
  prime: {who: helper, work: 2 h, after: close, split: no}
  paint-1: {who: {any: [me, helper]}, work: 3 h, after: {task: prime, wait: 6 h}, split: no}
  paint-2: {same_person_as: paint-1, work: 3 h, after: {task: paint-1, wait: 6 h}, split: no}
  units: {who: {all: [me, helper]}, work: 8 h, after: paint-2}
"""
    hall = """
tasks:
  scrape: {who: [me, helper], work: 4 h}
  prime: {who: {any: [helper, me]}, work: 30 min, after: scrape, split: no}
  pour:
    who: [me, helper]
    work: 90 min
    split: no
    after: [{task: prime, wait: 4 h, within: 24 h}]
  tile: {who: me, work: 9 h, after: {task: pour, wait: 27 h}}
  grout: {who: me, work: 3 h, after: {task: tile, wait: 27 h}, split: no}
"""
    jobs = [job("Bath", bath, crew), job("Kitchen", kitchen, crew), job("Hall", hall, crew)]
    made = verified_together(jobs)
    assert made.aim[0] <= 13 * HOUR
