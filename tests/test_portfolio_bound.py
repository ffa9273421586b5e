"""What no plan of several jobs beats, against all orders of few tasks and long proofs of more."""

import random
from collections.abc import Iterator
from itertools import permutations

import numpy as np
import pytest
from networkx import descendants

from scheduler.bound import sequence
from scheduler.clock import DAY
from scheduler.firstplan import serial
from scheduler.model import Job
from scheduler.network import Network
from scheduler.passes import Starts, finish_of, latest
from scheduler.portfolio import freed
from scheduler.portfolio.aim import Alone, aim, alone, lateness
from scheduler.portfolio.bound import Proof, bound
from scheduler.portfolio.crossing import JobsCrossing
from scheduler.portfolio.energy import Pair, calendar, places
from scheduler.portfolio.join import Portfolio, member, portfolio
from scheduler.portfolio.model import JobsModel
from scheduler.portfolio.search import Effort
from scheduler.watch import UNWATCHED
from tests.support.portfolios import generated, job, verified_together

CREW = "people: {me: {hours: daily 9:00-17:00}, helper: {hours: mon-fri 8:00-12:00}}\n"


def drawn(seed: int) -> tuple[Portfolio, list[Alone]]:
    """Three jobs of two or three tasks, by two people whom they share."""
    draw = random.Random(seed)
    jobs: list[Job] = []
    for name in ("One", "Two", "Three")[: draw.choice((2, 3, 3))]:
        lines = [
            f"{task}: {{who: {draw.choice(('me', 'helper'))}, work: {draw.choice((2, 3, 5, 7))} h"
            + (
                f", after: {{task: {before}, wait: {draw.choice((0, 6, 30))} h}}}}"
                if before
                else "}"
            )
            for task, before in (("a", ""), ("b", "a"), ("c", draw.choice(("a", "b"))))
        ]
        head = f"finish_by: 2027-01-{draw.randint(10, 14)}\npriority: {draw.choice((1, 2, 0.7))}\n"
        count = draw.choice((2, 3)) if len(jobs) < 2 else 2
        jobs.append(job(name, head + "tasks:\n  " + "\n  ".join(lines[:count]) + "\n", CREW))
    members = [member(each, frozenset(), each.start + 60 * DAY) for each in jobs]
    return portfolio(members), [alone(m) for m in members]


def every_order(jobs: Portfolio, each: list[Alone]) -> Iterator[Starts]:
    """The plan of each order of all tasks that their links allow: the best is among them."""
    floor = [start for own in each for start in own.floor]
    arcs = jobs.network.arcs
    for order in permutations(range(len(floor))):
        if all(order.index(arc.before) < order.index(arc.after) for arc in arcs):
            starts = serial(jobs.network, floor, order)
            assert starts is not None
            yield starts


@pytest.mark.parametrize("seed", range(8))
def test_no_order_of_all_tasks_beats_the_bound_and_the_search_finds_the_best(seed: int) -> None:
    jobs, each = drawn(seed)
    plans = [*every_order(jobs, each)]
    best = min(aim(jobs, starts)[:2] for starts in plans)
    for n, starts in enumerate(plans[:: max(1, len(plans) // 5)]):
        lowest = bound(jobs, each, starts, effort=n % 2)
        assert lowest.lateness <= best[0] + 1e-6
        late = aim(jobs, starts).lateness
        no_later = [made for made in plans if aim(jobs, made).lateness <= late]
        assert lowest.finishes <= min(sum(jobs.finishes(made)) for made in no_later)
    found = JobsCrossing(jobs, each, UNWATCHED).first(60)
    assert found is not None
    assert aim(jobs, freed.improved(jobs, each, found, 10))[:2] == best


@pytest.mark.parametrize("seed", range(4))
def test_only_the_best_is_settled_and_that_only_once_it_is_known(seed: int) -> None:
    """Of all orders of few tasks; a house by itself has the finish that it can't beat."""
    jobs, each = drawn(seed)
    plans = [*every_order(jobs, each)]
    best = min(aim(jobs, starts)[:2] for starts in plans)
    proof = Proof(jobs, each)
    assert not any(map(proof.settles, plans))
    for starts in plans:
        proof.least(starts)
        assert not proof.settles(starts) or aim(jobs, starts)[:2] == best
    alone_ = portfolio(jobs.members[:1])
    one = Proof(alone_, each[:1])
    soonest = JobsCrossing(alone_, each[:1], UNWATCHED).first(60)
    assert soonest is not None
    one.least(soonest)
    assert one.settles(soonest)


def test_the_bound_of_five_houses_is_over_what_each_comes_to_alone_and_under_the_best() -> None:
    """The model of all tasks, no start left out, proves what is the least."""
    members = [member(own, frozenset(), own.start + 150 * DAY) for own in generated(0, 5, 20)]
    jobs, each = portfolio(members), [alone(m) for m in members]
    starts = JobsCrossing(jobs, each, UNWATCHED).first(60)
    assert starts is not None
    best = freed.improved(jobs, each, starts, 10)
    least, done = [own.finish for own in each], jobs.finishes(best)
    early = [start for own in each for start in own.early]
    until = [low + sum(done) - sum(least) for low in least]
    late = [
        step.last_start(until[k]) for k, part in enumerate(jobs.parts)
        for step in (jobs.network.steps[j] for j in part)
    ]  # fmt: skip
    outcome = JobsModel(jobs, early, late, until).soonest(best, 10)
    assert outcome.effort < 10
    assert outcome.found is not None
    assert aim(jobs, outcome.found.starts)[:2] >= aim(jobs, best)[:2]
    lowest = bound(jobs, each, best)
    assert sum(least) < lowest.finishes <= sum(jobs.finishes(outcome.found.starts))
    assert lowest.lateness <= lateness(jobs.members, done)


def test_freeing_tasks_makes_plans_better_that_keep_every_rule() -> None:
    jobs = generated(1, 4, 16)
    first = verified_together(jobs, Effort(crossed=0, rounds=0, tasks=0))
    made = verified_together(jobs, Effort(crossed=0))
    assert made.aim[:2] < first.aim[:2]
    assert made.bound[:2] <= made.aim[:2]


def test_bounds_that_skip_what_has_not_moved_are_those_of_all_looked_at_again() -> None:
    """Beside them the same rounds with every step pulled in each, and all arcs gone through."""
    for seed in range(3):
        (own,) = generated(seed, 1, 30)
        found = alone(member(own, frozenset(), own.start + 150 * DAY))
        network, bounds = found.bounds.network, found.bounds
        for days in (0, 3, 9, 30):
            finish = found.finish + days * DAY
            late = latest(network, network.arcs, finish)
            assert late is not None
            for _ in range(5):
                for j in reversed(network.order):
                    pull(network, late, j)
                late = latest(network, network.arcs, finish, late)
                assert late is not None
            assert bounds.late(finish, found.early) == late


def pull(network: Network, starts: list[int], j: int) -> None:
    """Start a step so early that each of its people has time for all that waits for it."""
    behind = {j} | descendants(sequence(network), j)
    for who in network.steps[j].hands:
        steps = [network.steps[i] for i in behind if who in network.steps[i].hands]
        ends = sorted((s.last_finish(starts[s.index]), s.load * s.hands[who]) for s in steps)
        for n, (end, _) in enumerate(ends):
            load = sum(work for _, work in ends[: n + 1])
            begun = network.hours[who].minute(network.hours[who].count(end) - load)
            if begun < starts[j]:
                starts[j] = network.steps[j].starts.last(begun)


def test_the_least_finish_of_a_job_alone_is_that_found_up_to_any_later_one() -> None:
    for own in generated(1, 6, 24):
        found = alone(member(own, frozenset(), own.start + 150 * DAY))
        for later in (1, 500, 40_000):
            assert found.bounds.finish(found.early, found.finish + later) == found.finish
        assert found.finish >= finish_of(found.bounds.network, found.early)
        assert not found.bounds.possible(found.early, found.finish - 1)


def test_a_pair_of_minutes_asks_for_the_work_that_each_day_brings_between_them() -> None:
    jobs = generated(0, 4, 16)
    members = [member(own, frozenset(), own.start + 150 * DAY) for own in jobs]
    joined, each = portfolio(members), [alone(m) for m in members]
    least = [own.finish for own in each]
    days = calendar(joined, each, least, max(least) + 20 * DAY)
    rows = 0
    for who, work in days.work.items():
        for start in sorted({one.head for one in work})[::3]:
            end = start + 12 * DAY
            brought: dict[tuple[int, int], int] = {}
            for one in work:
                for day, ends in enumerate(days.days[one.job].ends):
                    if one.head >= start and ends[one.step] <= end:
                        brought[one.job, day] = brought.get((one.job, day), 0) + one.load
            assert days.row(Pair(who, start, end)).work == brought
            rows += bool(brought)
    assert rows > 10


@pytest.mark.parametrize("several", [1, 8, 40])
def test_the_least_numbers_are_those_that_sorting_all_puts_first(several: int) -> None:
    draw = np.random.default_rng(several)
    for _ in range(50):
        of = draw.integers(0, 6, (5, 7)).astype(float)
        sorted_ = np.argsort(of, axis=None, kind="stable")[:several]
        assert [int(row) * 7 + int(column) for row, column in places(of, several)] == [*sorted_]


def test_freeing_all_tasks_says_that_none_is_better_only_if_they_may_move_anywhere(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A job that is far too late comes first again in one round, though that is weeks away."""
    late = "tasks: {a: {who: me, work: 4 h}}\n"
    jobs = [job("Long", "tasks: {a: {who: me, work: 160 h}}\n", CREW), job("Quick", late, CREW)]
    members = [member(one, frozenset(), one.start + 90 * DAY) for one in jobs]
    joined, each = portfolio(members), [alone(m) for m in members]
    starts = serial(joined.network, [start for a in each for start in a.early], [0, 1])
    assert starts is not None
    assert starts[1] - starts[0] > 14 * DAY
    monkeypatch.setattr(freed, "_FEW", 0)
    assert freed.improved(joined, each, starts, 3)[1] < starts[0] + DAY
