"""What of people's first days no plan can use, by hand and against all orders of few tasks."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from scheduler.clock import DAY, HOUR
from scheduler.firstplan import serial
from scheduler.passes import Starts
from scheduler.portfolio import firstdays
from scheduler.portfolio.aim import Alone, aim, alone
from scheduler.portfolio.bound import Proof, bound
from scheduler.portfolio.choosing import least_together, scarce
from scheduler.portfolio.energy import calendar
from scheduler.portfolio.firstdays import Idle, idle
from scheduler.portfolio.join import Portfolio, member, portfolio
from scheduler.watch import UNWATCHED
from tests.support.portfolios import job
from tests.test_portfolio_bound import drawn, every_order

HOUSE = """
tasks:
  strip: {who: helper, work: 3 h}
  frame: {who: me, work: 4 h, after: [strip]}
  clear: {who: helper, work: 2 h}
"""
CREW = "people: {me: {hours: daily 8:00-16:00}, helper: {hours: daily 8:00-16:00}}\n"


def houses(number: int) -> tuple[Portfolio, list[Alone]]:
    """Houses alike, each to be stripped before it is framed, to be begun on a Saturday."""
    jobs = [job(f"House {n}", HOUSE, CREW) for n in range(number)]
    members = [member(one, frozenset(), one.start + 60 * DAY) for one in jobs]
    return portfolio(members), [alone(m) for m in members]


def asked(jobs: Portfolio, each: list[Alone]) -> Mapping[str, Idle]:
    """What is found of everybody."""
    return idle(jobs, each, jobs.open.crews, 2, UNWATCHED)


def by_id(found: Mapping[str, Idle], person: str) -> Idle:
    return next(each for who, each in found.items() if who.endswith(f" {person}"))


def worked(jobs: Portfolio, starts: Starts, who: str, until: int) -> int:
    """The minutes that a person has worked by some moment."""
    steps = jobs.network.steps
    return sum(
        b - a
        for j in jobs.network.crews[who]
        for start, end in steps[j].sessions(starts[j])
        for a, b in [(start, min(end, until))]
        if a < b
    )


def test_who_waits_for_the_first_house_to_be_stripped_has_lost_that_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By hand: nothing to frame before 11:00, then five hours a day, whichever house is first."""
    monkeypatch.setattr(firstdays, "_LONGEST", DAY)
    found = asked(*houses(4))
    assert by_id(found, "me").minutes == 3 * HOUR
    assert by_id(found, "helper").minutes == 0
    assert by_id(found, "me").until - by_id(found, "me").since == DAY - 8 * HOUR


@pytest.mark.parametrize("days", [1, 2, 4])
@pytest.mark.parametrize("seed", range(6))
def test_no_order_of_all_tasks_uses_more_of_the_first_days(
    seed: int, days: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The most that any order has somebody do is met to a quarter of an hour and a bit."""
    monkeypatch.setattr(firstdays, "_LONGEST", days * DAY)
    jobs, each = drawn(seed)
    plans = [*every_order(jobs, each)]
    for who, unused in asked(jobs, each).items():
        hours = jobs.open.hours[who]
        there = hours.count(unused.until) - hours.count(unused.since)
        most = max(worked(jobs, starts, who, unused.until) for starts in plans)
        assert most <= there - unused.minutes


def test_with_nobody_shared_there_is_nothing_to_look_for() -> None:
    assert not asked(*houses(1))


def test_only_who_has_too_few_hours_is_scarce() -> None:
    """By hand: four houses done on the first day want 16 h of framing, and the day has 8 h.

    An inspector who comes for a quarter of an hour has time for all four.
    """
    house = HOUSE + "  look: {who: inspector, work: 15 min, after: [frame]}\n"
    crew = CREW.replace("}}", "}, inspector: {hours: daily 8:00-18:00}}")
    jobs = [job(f"House {n}", house, crew) for n in range(4)]
    members = [member(one, frozenset(), one.start + 60 * DAY) for one in jobs]
    joined, each = portfolio(members), [alone(m) for m in members]
    least = [own.finish for own in each]
    days = calendar(joined, each, least, max(least) + 20 * DAY)
    short = scarce(days, 0)
    assert any(who.endswith(" me") for who in short)
    assert not any(who.endswith(" inspector") for who in short)


def test_hours_that_can_not_be_used_raise_the_least_sum_of_finishes() -> None:
    """By hand: of 24 h to Monday night 4 h are left, of 8 h more on Tuesday all; frames take 4 h.

    So one house is done on Saturday at 15:00 at best, two on Tuesday, the last on Wednesday.
    """
    jobs, each = houses(4)
    days = calendar(jobs, each, [own.finish for own in each], each[0].finish + 20 * DAY)
    _, before = least_together(days, 0, 2)
    who = next(who for who in jobs.open.crews if who.endswith(" me"))
    since = jobs.members[0].job.start
    late = replace(days, idle={who: Idle(since, since + 3 * DAY, 20 * HOUR)})
    _, after = least_together(late, 0, 2)
    least = 15 * HOUR + 2 * (3 * DAY + 8 * HOUR) + 4 * DAY + 8 * HOUR
    assert before < 4 * since + least <= after


def test_what_is_proven_of_plans_no_later_says_nothing_of_later_ones() -> None:
    jobs, each = drawn(0)

    def late(starts: Starts) -> float:
        return aim(jobs, starts).lateness

    first, *_, last = sorted(every_order(jobs, each), key=late)
    assert late(first) < late(last)
    proof = Proof(jobs, each)
    proof.look(first, effort=1)
    assert proof.least(last) == bound(jobs, each, last)
    proof.look(last, effort=1)
    assert proof.least(first).finishes >= proof.least(last).finishes


def test_first_days_are_asked_for_once_with_as_much_effort(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What is prepared for a plan is not asked for again when its bound is looked for."""
    jobs, each = houses(4)
    both = {who for who in jobs.open.crews if who.endswith((" me", " helper"))}
    floor = [start for own in each for start in own.early]
    starts = serial(jobs.network, floor, range(len(floor)))
    assert starts is not None
    asked = []

    def heard(*question: Any) -> Mapping[str, Idle]:
        asked.append((question[2], question[3]))
        return idle(*question)

    monkeypatch.setattr(firstdays, "idle", heard)
    proof = Proof(jobs, each)
    proof.prepare(starts, 1, UNWATCHED)
    assert asked == [(both, 1)]
    found = proof.look(starts, 1)
    proof.look(starts, 2)
    assert asked == [(both, 1), (set(), 1), (both, 2)]
    assert found == bound(jobs, each, starts, 1)
