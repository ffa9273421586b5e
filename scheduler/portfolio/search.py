"""A plan of several jobs: placed one by one in many orders, then each moved while the rest stays.

What is to be least is in ``aim``. Effort is counted in orders and in the constraint solver's own
time, never in seconds, so that the same files give the same plan.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

from scheduler import solve as solving
from scheduler.anyplan import Unsolved
from scheduler.clock import DAY
from scheduler.firstplan import priority_order, serial
from scheduler.passes import Starts, ceilings, latest, order_arcs
from scheduler.portfolio.aim import Alone, aim, lateness
from scheduler.portfolio.elsewhere import held_elsewhere
from scheduler.portfolio.join import Portfolio, portfolio
from scheduler.retime import as_early, settled


@dataclass(frozen=True)
class Effort:
    """How hard to search.

    ``tries`` are orders for a first plan of 400 tasks, fewer of more; ``pairs`` how many times two
    jobs are placed anew between the others, and ``alone`` the effort for a job by itself between
    the others, of which as many are looked at as have ``tasks`` together.
    """

    tries: int = 60
    pairs: int = 12
    tasks: int = 400
    alone: solving.Effort = field(
        default_factory=lambda: solving.Effort(tries=10, finish=0.4, visits=0.2, early=0.1)
    )


NORMAL = Effort()


def first_plan(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> list[int] | None:
    """The best starts of several orders, then of the best one shaken; None if none works."""
    floor = [start for a in each for start in a.early]
    best: list[int] | None = None
    tries, random_ = _tries(jobs, effort), random.Random(3)
    for key in _keys(jobs, each, tries // 2):
        best = _better(jobs, floor, key, best)
    for _ in range(tries // 2 if best else 0):
        assert best is not None
        best = _better(jobs, floor, _shaken(jobs, best, random_), best)
    return None if best is None else settled(jobs.network, as_early(jobs.network, best))


def _better(
    jobs: Portfolio, floor: Starts, key: Sequence[float], best: list[int] | None
) -> list[int] | None:
    """The best starts known, or those of one more order where they are better."""
    starts = serial(jobs.network, floor, priority_order(jobs.network, key))
    if starts is None or (best is not None and _short(jobs, best) <= _short(jobs, starts)):
        return best
    return starts


def _shaken(jobs: Portfolio, starts: Starts, random_: random.Random) -> list[float]:
    """The order of a plan with a job or two moved against the rest, and all of it a little."""
    shift = [0.0] * len(jobs.members)
    for _ in range(2):
        shift[random_.randrange(len(shift))] = random_.gauss(0, 10 * DAY)
    return [
        starts[j] + ahead + random_.gauss(0, DAY / 2)
        for ahead, part in zip(shift, jobs.parts, strict=True)
        for j in part
    ]


def _tries(jobs: Portfolio, effort: Effort) -> int:
    return max(4, min(effort.tries, effort.tries * 400 // max(len(jobs.network.steps), 1)))


def _short(jobs: Portfolio, starts: Starts) -> tuple[float, int, int]:
    """The aim without visits, which take longest to count."""
    finishes = jobs.finishes(starts)
    return lateness(jobs.members, finishes), sum(finishes), sum(starts)


def _keys(jobs: Portfolio, each: Sequence[Alone], tries: int) -> Iterator[list[float]]:
    """Priorities of all steps, the least first: by what is late soonest, by job, then shaken.

    In the first a step's key is its last start that keeps what its job wants; in the next all of
    one job goes before all of another, the least work for its weight first.
    """
    random_ = random.Random(1)
    late = [_last_starts(jobs, each, k) for k in range(len(jobs.members))]
    yield [start for starts in late for start in starts]
    ranks = sorted(range(len(late)), key=lambda k: _work(jobs, k))
    for apart in (1000 * DAY, 7 * DAY):
        ahead = {k: n * apart for n, k in enumerate(ranks)}
        yield [start + ahead[k] for k, starts in enumerate(late) for start in starts]
    for _ in range(tries - 3):
        by_job, by_task = random_.choice(((3, 1), (7, 1), (20, 1), (7, 3)))
        shift = [random_.gauss(0, by_job * DAY) for _ in late]
        yield [
            start + shift[k] + random_.gauss(0, by_task * DAY)
            for k, starts in enumerate(late)
            for start in starts
        ]


def _work(jobs: Portfolio, k: int) -> float:
    """The work of a job for its weight: the least first makes the least weighted sum."""
    steps = jobs.network.steps
    return sum(steps[j].load * sum(steps[j].hands.values()) for j in jobs.parts[k]) / (
        jobs.members[k].job.priority
    )


def _last_starts(jobs: Portfolio, each: Sequence[Alone], k: int) -> Sequence[int]:
    """The last starts that keep a job's ``finish_by``, or the least finish it can have."""
    network, early = jobs.members[k].network, each[k].early
    ends = (step.finish(start) for step, start in zip(network.steps, early, strict=True))
    wanted = max(*ends, jobs.members[k].job.finish_by or 0)
    return latest(network, network.arcs, wanted, ceilings(network, wanted)) or early


# -------------------------------------------------------------------- a plan at hand, improved


def improved(
    jobs: Portfolio, each: Sequence[Alone], starts: list[int], least: Sequence[int], effort: Effort
) -> list[int]:
    """A plan that is no worse: two jobs, then one, moved while the rest stays where it is.

    ``least`` are finishes that the jobs can't beat by themselves: one that has it stays.
    """
    starts = _pairs_moved(jobs, each, starts, effort)
    starts = _each_alone(jobs, starts, least, effort)
    found = settled(jobs.network, starts)
    return min(starts, found, key=lambda s: aim(jobs, s))


def _pairs_moved(
    jobs: Portfolio, each: Sequence[Alone], starts: list[int], effort: Effort
) -> list[int]:
    """Two jobs at a time placed anew, now the one first and now the other."""
    random_ = random.Random(2)
    pairs = list(combinations(range(len(jobs.members)), 2))
    random_.shuffle(pairs)
    for pair in pairs[: effort.pairs]:
        starts = _anew(jobs, each, starts, pair, random_)
    return starts


def _anew(
    jobs: Portfolio,
    each: Sequence[Alone],
    starts: list[int],
    moving: Sequence[int],
    random_: random.Random,
) -> list[int]:
    """Some jobs in the best of a few orders, if that is better than where they are."""
    some = portfolio(
        [replace(jobs.members[k], network=held_elsewhere(jobs, starts, k, moving)) for k in moving]
    )
    floor = [start for k in moving for start in each[k].early]
    here = [start for k in moving for start in jobs.of_job(k, starts)]
    best = here
    for ahead in (-20, -5, 5, 20):
        key = [
            start + (ahead * DAY if n else 0) + random_.gauss(0, DAY)
            for n, k in enumerate(moving)
            for start in jobs.of_job(k, starts)
        ]
        found = serial(some.network, floor, priority_order(some.network, key))
        if found is not None and _short(some, found) < _short(some, best):
            best = found
    return starts if best is here else _placed(jobs, starts, some, moving, best)


def _placed(
    jobs: Portfolio, starts: list[int], some: Portfolio, moving: Sequence[int], found: Starts
) -> list[int]:
    """The plan with some jobs moved; as it was where too few of several alike are left."""
    moved = list(starts)
    for n, k in enumerate(moving):
        moved[jobs.parts[k].start : jobs.parts[k].stop] = some.of_job(n, found)
    return starts if order_arcs(jobs.network, moved) is None else moved


def _each_alone(
    jobs: Portfolio, starts: list[int], least: Sequence[int], effort: Effort
) -> list[int]:
    """Each job by itself as good as it can be between the others, what weighs most first."""
    left = effort.tasks
    gaps = [done - best for done, best in zip(jobs.finishes(starts), least, strict=True)]
    for k in sorted(range(len(gaps)), key=lambda k: -gaps[k] * jobs.members[k].job.priority):
        left -= len(jobs.parts[k])
        if gaps[k] <= 0 or left < 0:
            continue
        network = held_elsewhere(jobs, starts, k)
        try:
            found = solving.solve(network, effort.alone, keep=jobs.of_job(k, starts)).starts
        except Unsolved:
            continue  # where several are alike too few may be left
        alone = portfolio([replace(jobs.members[k], network=network)])
        moved = _placed(jobs, starts, alone, [k], found)
        starts = min(starts, moved, key=lambda s: aim(jobs, s))
    return starts
