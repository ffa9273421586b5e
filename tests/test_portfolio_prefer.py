"""Several jobs, and what comes before their finish: days without something, visits."""

from dataclasses import replace

import pytest

from scheduler.clock import DAY
from scheduler.goals import LATER
from scheduler.model import Job, Plan, Prefer
from scheduler.portfolio import Together, plan_together
from scheduler.portfolio.search import Effort
from scheduler.portfolio.text import together_text
from tests.support.planned import starts
from tests.support.portfolios import generated, job, verified_together

WEEKDAYS = "people: {me: {hours: mon-fri 8:00-16:00}, plumber: {hours: tue 8:00-12:00}}\n"
SHOWER = """\
tasks:
  strip: {who: me, work: 4 h, closes: shower}
  pipes: {who: plumber, work: 2 h, after: strip, reopens: shower}
"""


def without(plan: Plan) -> list[int]:
    return [each.days for each in plan.days_without]


def preferring(jobs: list[Job], prefer: Prefer) -> list[Job]:
    return [replace(each, prefer=prefer) for each in jobs]


def two_showers() -> list[Job]:
    """Both are stripped on Monday 11 Jan or any weekday after; the plumber comes on Tuesdays."""
    return [job(name, SHOWER, WEEKDAYS) for name in ("One", "Two")]


def test_each_household_s_days_are_its_own_whatever_the_word_is() -> None:
    """By hand: both stripped on Monday by one person, both with a shower again on Tuesday."""
    made = verified_together(two_showers())
    assert [*map(without, made.plans)] == [[2], [2]]
    assert (made.aim.without, made.bound.without) == (4, 4)
    assert made.aim.visits == 2 == made.bound.visits  # a day each, for both houses
    text = together_text(made, 80)
    assert "2 days without the shower: Mon 11 Jan 08:00 to Tue 12 Jan 10:00." in (
        text.replace("\N{NO-BREAK SPACE}", " ")
    )
    assert "4 days without something in all; no plan as early has fewer." in " ".join(text.split())


def test_what_nobody_reopens_is_closed_to_the_end_of_its_own_job() -> None:
    closing = job("One", SHOWER.replace(", reopens: shower", ""), WEEKDAYS)
    other = job("Two", "tasks: {a: {work: 30 d}}\n", WEEKDAYS)
    assert without(verified_together([closing, other]).plans[0]) == [2]


def test_what_is_closed_is_closed_late_where_that_costs_nothing() -> None:
    """Stripped on Saturday it would be four days; on Monday it is as early in the end."""
    hours = WEEKDAYS.replace("mon-fri 8:00-16:00", "[mon-fri 8:00-16:00, sat 8:00-16:00]")
    saturday = "  look: {who: me, work: 1 h, must_finish_by: 2027-01-09}\n"
    monday = "  tidy: {who: me, work: 1 h, not_before: 2027-01-11}\n"
    other = job("Two", "tasks: {a: {work: 1 h}}\n", hours)
    made = verified_together([job("One", SHOWER + saturday + monday, hours), other])
    assert starts(made.plans[0])["look"].startswith("Sat")
    assert without(made.plans[0]) == [2]
    assert made.aim.visits == 3


WEEKLY = """\
tasks:
  strip: {who: me, work: 8 h, not_before: 2027-01-11, closes: shower}
  fit: {who: me, work: 8 h, after: strip, reopens: shower}
"""


def test_few_days_without_are_worth_a_later_finish_where_they_are_preferred() -> None:
    """By hand: Monday and Friday are five days, Friday and Saturday two, a day later."""
    crew = "people: {me: {hours: [mon 9:00-17:00, fri-sat 9:00-17:00]}}\n"
    jobs = [job("One", WEEKLY, crew), job("Two", "tasks: {a: {work: 1 h}}\n", crew)]
    soon, few = verified_together(jobs), verified_together(preferring(jobs, "fewest-days-without"))
    assert (without(soon.plans[0]), without(few.plans[0])) == ([5], [2])
    assert few.plans[0].finish == soon.plans[0].finish + DAY
    assert few.plans[0].soonest == soon.plans[0].finish
    assert few.plans[0].days_without_bound == 2
    assert few.aim.finishes == soon.aim.finishes + DAY


def worth(made: Together, prefer: Prefer) -> tuple[float, ...]:
    goals = {"finish": (), "fewest-visits": (made.aim.visits,)}
    first = goals.get(prefer, (made.aim.without,))
    return *first, *made.aim


@pytest.mark.parametrize("prefer", ["fewest-visits", "fewest-days-without"])
def test_what_is_preferred_is_no_worse_than_in_the_plan_of_an_early_finish(prefer: Prefer) -> None:
    jobs = [replace(own, tasks=(replace(own.tasks[0], closes=("shower",)), *own.tasks[1:]))
            for own in generated(4, 3, 10)]  # fmt: skip
    soon, made = verified_together(jobs), verified_together(preferring(jobs, prefer))
    assert worth(made, prefer) <= worth(soon, prefer)
    assert soon.aim[:2] <= made.aim[:2]
    assert made.bound.visits <= made.aim.visits
    assert made.bound.without <= made.aim.without
    for early, late in zip(soon.plans, made.plans, strict=True):
        assert late.finish <= early.finish + LATER + DAY


def test_fewest_visits_are_counted_over_all_houses() -> None:
    """By hand: one house could be done on Monday, the other not before Thursday: 1 trip or 2."""
    crew = "people: {plumber: {hours: [mon 8:00-10:00, thu 8:00-16:00]}}\n"
    one = job("One", "tasks: {fit: {who: plumber, work: 2 h}}\n", crew)
    two = job("Two", "tasks: {fit: {who: plumber, work: 2 h, not_before: 2027-01-14}}\n", crew)
    soon, few = (
        verified_together([one, two]),
        verified_together(preferring([one, two], "fewest-visits")),
    )
    assert (soon.aim.visits, few.aim.visits) == (2, 1)
    assert starts(soon.plans[0]) == {"fit": "Mon 2027-01-11 08:00"}
    assert sorted(each["fit"] for each in map(starts, few.plans)) == [
        "Thu 2027-01-14 08:00", "Thu 2027-01-14 10:00",
    ]  # fmt: skip


def test_a_day_is_left_out_where_that_costs_no_finish() -> None:
    """By hand: the last half hours are Wednesday's; of the rest one hour would fit on Saturday."""
    crew = "people: {me: {hours: [sat 9:00-10:00, tue 9:00-17:00, wed 9:00-10:00]}}\n"
    last = "tasks:\n  last: {who: me, work: 30 min, not_before: 2027-01-13}\n"
    jobs = [
        job(name, f"{last}  look: {{who: me, work: {work}}}\n", crew)
        for name, work in (("One", "1 h"), ("Two", "2 h"))
    ]
    made = verified_together(jobs)
    assert made.aim.visits == 2


@pytest.mark.parametrize("prefer", ["finish", "fewest-visits"])
def test_searching_on_is_no_worse_in_what_comes_last(prefer: Prefer) -> None:
    """Whoever has enough once it goes on has at least what there was without."""

    class Patience:
        """Has enough soon after the second bound, which is told as the search goes on."""

        left = 50
        told = 0

        def found(self, best: object, /) -> None: ...

        def bounded(self, bound: object, /) -> None:
            self.told += 1

        def enough(self) -> bool:
            self.left -= self.told > 1
            return self.left < 0

    jobs = preferring([*generated(4, 2, 8)], prefer)
    quick = Effort(tries=4, rounds=1, tasks=0, days=6)
    short = plan_together(jobs, quick)
    on = plan_together(jobs, replace(quick, on=True, watch=Patience()))
    assert worth(on, prefer) <= worth(short, prefer)
