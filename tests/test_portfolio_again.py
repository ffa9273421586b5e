"""Several jobs planned again, under way or against an earlier plan: what people were told stays."""

import random
from collections.abc import Mapping
from dataclasses import replace

import pytest

from scheduler.clock import DAY, HOUR
from scheduler.history import as_it_stands
from scheduler.model import Event, EventKind, Job, Log, Plan
from scheduler.planner import plan_job
from scheduler.portfolio import Together, plan_together
from scheduler.portfolio.aim import Aim
from scheduler.portfolio.asjson import together_json
from scheduler.portfolio.days import at_once
from scheduler.portfolio.search import Effort
from scheduler.portfolio.slips import slips
from scheduler.portfolio.text import together_text
from scheduler.portfolio.together import plan_again
from scheduler.verify import check, check_together
from tests.support.planned import starts
from tests.support.portfolios import generated, job, verified_together
from tests.support.underway import happened, moments, on_plan

CREW = "people: {me: {hours: daily 9:00-17:00}}\n"
TASKS = "tasks:\n  a: {name: First, who: me, work: 4 h}\n  b: {who: me, work: 4 h, after: [a]}\n"


def two(**changes: object) -> list[Job]:
    """Two houses alike, in which one person has two tasks each; the second house with changes."""
    one, other = (job(name, TASKS, CREW) for name in ("One", "Two"))
    return [one, replace(other, **changes)]  # type: ignore[arg-type]


def moved(made: Together, keep: Mapping[str, Mapping[str, int]]) -> int:
    return sum(
        start != keep[name][task]
        for name, tasks in made.starts.items()
        for task, start in tasks.items()
    )


def sound(made: Together) -> Together:
    breaches = [each for own, plan in made.planned for each in check(own, plan, made.planned)]
    assert not breaches
    assert not check_together(made.planned)
    return made


@pytest.mark.parametrize("seed", range(2))
def test_logging_every_task_at_its_planned_time_changes_no_date(seed: int) -> None:
    jobs = generated(seed, 3, 12)
    first = verified_together(jobs)
    times = sorted({minute for plan in first.plans for minute in moments(plan)})
    for now in times[:: max(len(times) // 5, 1)]:
        standing = [on_plan(own, plan, now) for own, plan in first.planned]
        again, filed = plan_again(standing)
        assert filed is not None
        assert filed.starts == first.starts
        assert sound(again).starts == first.starts
        ends = [{t.id: t.finish for t in plan.tasks} for plan in again.plans]
        assert ends == [{t.id: t.finish for t in plan.tasks} for plan in first.plans]


@pytest.mark.parametrize("seed", range(2))
def test_the_same_jobs_kept_to_their_plan_have_it_again(seed: int) -> None:
    jobs = generated(seed, 3, 12)
    first = verified_together(jobs)
    assert sound(plan_together(jobs, keep=first.kept)).starts == first.starts


def test_what_is_as_good_stays_as_it_was_told() -> None:
    """Two houses alike: either may come first, so the earlier plan decides."""
    jobs = two()
    by_file = verified_together(jobs)
    turned = verified_together(jobs[::-1])
    assert by_file.starts != turned.starts
    assert sound(plan_together(jobs, keep=turned.kept)).starts == turned.starts


def test_what_moves_is_moved_for_a_gain() -> None:
    jobs = two()
    turned = verified_together(jobs[::-1])
    wished = [replace(jobs[0], finish_by=jobs[0].start + DAY), jobs[1]]
    made = sound(plan_together(wished, keep=turned.kept))
    assert made.aim.lateness == 0
    assert made.starts == verified_together(jobs).starts


def test_a_slip_in_one_house_moves_what_it_must_in_the_other() -> None:
    """House One's task of the first morning takes an hour longer than planned."""
    jobs = two()
    first = verified_together(jobs)
    begun = first.plans[0].task["a"]
    now = begun.finish + HOUR
    standing = [on_plan(own, plan, begun.finish - 1) for own, plan in first.planned]
    late = replace(standing[0], past=replace(standing[0].past, now=now))  # type: ignore[type-var]
    again, filed = plan_again([late, standing[1]])
    assert filed == first
    assert sound(again).plans[0].task["b"].start == now + 15  # a quarter of an hour supposed left
    assert again.aim.finishes > first.aim.finishes


def test_a_new_house_finds_its_place_among_what_is_promised() -> None:
    *old, new = generated(3, 4, 10)
    told = verified_together(old)
    made = sound(plan_together([*old, new], Effort(tries=4, rounds=2, tasks=40), keep=told.kept))
    free = verified_together([*old, new])
    assert moved(replace(made, plans=made.plans[:3]), told.starts) <= moved(
        replace(free, plans=free.plans[:3]), told.starts
    )


class Patience:
    """A watch that has enough after so many questions, and remembers what it was told."""

    def __init__(self, questions: int) -> None:
        self.left = questions
        self.best: list[Aim] = []
        self.bounds: list[Aim] = []

    def found(self, best: Aim, /) -> None:
        self.best.append(best)

    def bounded(self, bound: Aim, /) -> None:
        self.bounds.append(bound)

    def enough(self) -> bool:
        self.left -= 1
        return self.left < 0


@pytest.mark.parametrize("questions", [0, 1, 3, 8, 30])
def test_whoever_has_enough_gets_whole_plans_that_keep_every_rule(questions: int) -> None:
    jobs, watch = generated(1, 3, 12), Patience(questions)
    made = sound(plan_together(jobs, Effort(watch=watch)))
    assert watch.left <= 0
    assert made.aim <= min(watch.best)


def test_searching_on_is_no_worse_and_ends_with_the_proof() -> None:
    jobs = [job(f"J{n}", f"tasks: {{a: {{who: me, work: {n} h}}}}\n", CREW) for n in (8, 3, 5)]
    watch = Patience(10**9)
    made = sound(plan_together(jobs, Effort(tries=4, on=True, watch=watch)))
    assert made.proven
    assert made.bound[:2] == watch.bounds[-1][:2] == made.aim[:2]


def test_searching_on_ends_when_somebody_has_enough() -> None:
    jobs = generated(1, 3, 12)
    quick = Effort(tries=4, rounds=0, tasks=0)
    watch = Patience(60)
    on = sound(plan_together(jobs, replace(quick, on=True, watch=watch)))
    assert watch.left < 0
    first = replace(quick, crossed=0, days=0)  # no days are left out once somebody has enough
    assert on.aim <= plan_together(jobs, first).aim


def test_a_window_that_the_other_house_leaves_no_way_to_keep_is_called_out() -> None:
    """By hand: at the other house until Tuesday night, and the second coat is due by Sunday ten."""
    coats = """\
tasks:
  coat-1: {who: me, work: 1 h, applies: liquid-membrane}
  coat-2: {who: me, work: 1 h, applies: liquid-membrane, after: {coat-1: recoat}}
"""
    one, two = job("One", coats, CREW), job("Two", "tasks: {big: {who: me, work: 30 h}}\n", CREW)
    one = happened(
        one, "2027-01-09 12:00", "2027-01-09 9:00 started coat-1", "2027-01-09 10:00 done coat-1"
    )
    two = happened(two, "2027-01-09 12:00", "2027-01-09 11:00 started big")
    again, _ = plan_again([one, two])
    plan = sound(again).plans[0]
    assert starts(plan)["coat-2"] == "Wed 2027-01-13 09:00"
    assert plan.warnings[0].startswith("too late for 'Coat 2': its window, within 24 h of 'Coat 1'")
    assert not any("window" in each for each in plan_job(one).warnings)


def test_who_was_begun_in_two_houses_at_once_is_held_by_what_goes_on_longest() -> None:
    """Nobody logged that the first was done; by hand, the second ends at three."""
    one, other = two()
    one = happened(one, "2027-01-09 12:00", "2027-01-09 9:00 started a")
    other = happened(other, "2027-01-09 12:00", "2027-01-09 11:00 started a")
    made = sound(plan_together([one, other]))
    assert starts(made.plans[0])["b"] == "Sat 2027-01-09 15:00"
    (told,) = at_once(made.planned)
    assert told.startswith(
        "me is at 'First' of One since Sat 9 Jan 09:00 and 'First' of Two since Sat 9 Jan 11:00,"
        " all at once: log the one that is done"
    )
    assert not [*at_once(verified_together(two()).planned)]


def gone_its_own_way(job: Job, plan: Plan, now: int, draw: random.Random) -> Job:
    """A job at a moment, its tasks begun late and taking half or twice their time, some failed."""
    events, late = list[Event](), 0
    for task in sorted(plan.tasks, key=lambda task: task.start):
        late = max(0, late + draw.choice((0, 0, 0, 0, 30, 120, -60, DAY)))
        start = task.start + late
        finish = start + int((task.finish - task.start) * draw.choice((1, 1, 1, 0.5, 2)))
        done: tuple[EventKind, ...] = ("done",)
        if job.task[task.id].hold:
            done = "passed", "failed"
        if start <= now:
            events.append(Event(start, "started", task.id))
        if finish <= now and draw.random() < 0.95:
            events.append(Event(finish, draw.choice(done), task.id))
    return as_it_stands(job, Log(tuple(sorted(events, key=lambda each: each.at))), now)


@pytest.mark.parametrize("seed", [1, 26, 30])
def test_whatever_happens_in_the_houses_the_plans_from_then_on_keep_every_rule(seed: int) -> None:
    draw, quick = random.Random(seed), Effort(tries=6, rounds=1, tasks=60, days=6)
    jobs = generated(seed, draw.choice((2, 3, 4)), draw.choice((6, 9, 12)))
    first = plan_together(jobs, quick)
    now = draw.randrange(min(p.start for p in first.plans), max(p.finish for p in first.plans))
    standing = [gone_its_own_way(own, plan, now, draw) for own, plan in first.planned]
    again, filed = plan_again(standing, quick)
    sound(again)
    sound(plan_together(standing, quick, first.kept))
    assert filed is not None
    text = together_text(again, 60, {}, filed)
    assert "SINCE THE FIRST PLAN" in text
    moved = {slip["job"] for slip in together_json(again, first=filed)["slips"]}  # type: ignore[attr-defined]
    assert moved == {slip.job for slip in slips(filed, again)}
