"""A plan of several jobs: placed one by one in many orders, then each moved while the rest stays.

What is to be least is in ``aim``. Effort is counted in orders and in the constraint solver's own
time, never in seconds, so that the same files give the same plan.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.clock import DAY
from scheduler.firstplan import priority_order, serial
from scheduler.passes import Starts, ceilings, latest
from scheduler.portfolio.aim import Aim, Alone, lateness
from scheduler.portfolio.join import Portfolio
from scheduler.retime import as_early, settled


@dataclass(frozen=True)
class Effort:
    """How hard to search: ``tries`` are orders for a first plan of 400 tasks, fewer of more."""

    tries: int = 24


NORMAL = Effort()


def first_plan(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> list[int] | None:
    """The best starts of several orders; None if none works."""
    floor = [start for a in each for start in a.early]
    best: list[int] | None = None
    for key in _keys(jobs, each, _tries(jobs, effort)):
        starts = serial(jobs.network, floor, priority_order(jobs.network, key))
        if starts is not None and (best is None or _short(jobs, starts) < _short(jobs, best)):
            best = starts
    return None if best is None else settled(jobs.network, as_early(jobs.network, best))


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


__all__ = ["NORMAL", "Aim", "Effort", "first_plan"]
