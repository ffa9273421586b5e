"""A plan of several jobs: placed one by one in many orders, then improved a part at a time.

What is to be least is in ``aim``. Effort is counted in orders and in the constraint solver's own
time, never in seconds, so that the same files give the same plan.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, Protocol

from scheduler import firstplan
from scheduler import solve as solving
from scheduler.anyplan import Unsolved
from scheduler.clock import DAY
from scheduler.firstplan import priority_order, serial
from scheduler.limits import gathered, kept
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, ceilings, finish_of, latest
from scheduler.portfolio import freed
from scheduler.portfolio.aim import Aim, Alone, aim, least_finishes, short
from scheduler.portfolio.bound import bound
from scheduler.portfolio.elsewhere import held_elsewhere, placed
from scheduler.portfolio.join import Portfolio, portfolio
from scheduler.portfolio.preferred import by_preference, fewer_days, worth
from scheduler.retime import as_early, kept_to_order, no_earlier, settled, stands
from scheduler.watch import UNWATCHED, Patience, Unheard


class Watch(Patience, Protocol):
    """As ``scheduler.watch.Watch``, of what several jobs come to."""

    def found(self, best: Aim, /) -> None:
        """There are plans that come to that."""

    def bounded(self, bound: Aim, /) -> None:
        """No plans come to less."""


@dataclass(frozen=True)
class Effort:
    """How hard to search.

    ``tries`` are orders for a first plan of 400 tasks, fewer of more; ``rounds`` how many times
    some tasks are freed, and ``alone`` the effort for a job by itself between the others, of which
    as many are looked at as have ``tasks`` together; ``days`` how many days of 100 tasks are left
    out one by one to come to fewer visits. ``on`` frees all tasks at once first, with the effort
    ``whole``, and goes on after all that, with twice the effort each time, until all is proven.
    ``watch`` is told what is found, and ends the search once it has enough.
    """

    tries: int = 60
    rounds: int = 10
    whole: float = 25
    tasks: int = 400
    alone: solving.Effort = field(
        default_factory=lambda: solving.Effort(
            tries=10, finish=0.4, visits=0.2, early=0.1, without=0.2, first=1.5
        )
    )
    days: int = 40
    on: bool = False
    watch: Watch = UNWATCHED

    def twice(self) -> "Effort":
        """Twice of everything."""
        return replace(
            self,
            tries=2 * self.tries,
            rounds=2 * self.rounds,
            whole=2 * self.whole,
            tasks=2 * self.tasks,
            alone=self.alone.twice(),
        )


NORMAL = Effort()


class Best(NamedTuple):
    """The best starts found; ``soon`` are the best where nobody prefers anything to the finish."""

    starts: list[int]
    soon: list[int]


def best(
    jobs: Portfolio, each: Sequence[Alone], effort: Effort, keep: list[int] | None = None
) -> Best | None:
    """The best starts that the effort finds; None if it finds none.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        effort: how hard to search.
        keep: starts of an earlier plan. Nothing moves from there without a gain; once a job is
            under way the plan is made out of that one, as long as its order works.
    """
    kept = [] if keep is None else _kept(jobs, each, keep)
    found = kept if kept and _under_way(jobs) else [*kept, *_afresh(jobs, each, effort)]
    if kept and kept[0] != keep:  # something has to move: it may be worth moving more
        found = [*found, improved(jobs, each, kept[0], effort)]
    if not found:
        return None
    soon, starts = _finished(jobs, each, _least_moved(jobs, found, keep), effort)
    while effort.on and not _proven(jobs, each, soon, effort) and not effort.watch.enough():
        effort = effort.twice()
        found = [soon, improved(jobs, each, soon, effort), *_afresh(jobs, each, effort)]
        if (again := _least_moved(jobs, found, keep)) != soon:
            soon, other = _finished(jobs, each, again, effort)
            starts = _least_moved(jobs, [starts, other], keep)
    return Best(_least_moved(jobs, [*kept, starts], keep), soon)


def _finished(
    jobs: Portfolio, each: Sequence[Alone], starts: list[int], effort: Effort
) -> tuple[list[int], list[int]]:
    """A plan with fewer visits at the same finishes, and made from that, one as jobs prefer it."""
    floor, patience = _floor(each), (_days(jobs, effort), effort.watch)
    soon = fewer_days(jobs, floor, starts, patience, aim)
    alone = replace(effort.alone, watch=Unheard(effort.watch))
    return soon, by_preference(jobs, floor, soon, alone, patience)


def _under_way(jobs: Portfolio) -> bool:
    return any(member.job.past is not None for member in jobs.members)


def _afresh(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> Iterator[list[int]]:
    """A plan that owes nothing to an earlier one, if there is any."""
    starts = first_plan(jobs, each, effort)
    if starts is not None:
        if effort.watch is not UNWATCHED:  # a bound takes a while, and only they want it so soon
            _proven(jobs, each, starts, effort)
        yield improved(jobs, each, starts, effort)


def _proven(jobs: Portfolio, each: Sequence[Alone], starts: Starts, effort: Effort) -> bool:
    """Whether no plan is less late, nor as late with a lesser sum of finishes."""
    least = bound(jobs, each, starts)
    effort.watch.bounded(least)
    return aim(jobs, starts)[:2] <= least[:2]


def _least_moved(jobs: Portfolio, found: Sequence[list[int]], keep: Starts | None) -> list[int]:
    """The best of some plans; among those as good, that which moves least."""

    def rank(starts: Starts) -> tuple[float, ...]:
        *goals, total = worth(jobs, starts)
        return *goals, _moved(starts, keep or starts), total

    return min(found, key=rank)


def _moved(starts: Starts, keep: Starts) -> int:
    """How many steps start at another time."""
    return sum(a != b for a, b in zip(starts, keep, strict=True))


def first_plan(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> list[int] | None:
    """The best starts of several orders, then of the best one shaken; None if none works."""
    floor = [start for a in each for start in a.early]
    best: list[int] | None = None
    tries, random_ = tries_of(jobs, effort), random.Random(3)
    site = _gathered(jobs, each)
    for key in keys(jobs, each, tries // 2):
        best = _better(jobs, site, floor, key, best, effort.watch)
        if best is not None and effort.watch.enough():
            break
    for _ in range(tries // 2 if best else 0):
        if effort.watch.enough():
            break
        assert best is not None
        best = _better(jobs, site, floor, _shaken(jobs, best, random_), best, effort.watch)
    return None if best is None else settled(jobs.network, as_early(jobs.network, best))


def still_stands(jobs: Portfolio, each: Sequence[Alone], keep: list[int]) -> bool:
    """Whether an earlier plan keeps every rule as it was."""
    return no_earlier(jobs.network, _floor(each), keep) == keep and stands(jobs.network, keep)


def _kept(jobs: Portfolio, each: Sequence[Alone], keep: list[int]) -> list[list[int]]:
    """An earlier plan as it was, if it still stands, and drawn together in its order, if it can be.

    What is not in it starts at the network's end there.
    """
    as_it_was = [keep] if still_stands(jobs, each, keep) else []
    in_order = kept_to_order(jobs.network, _floor(each), keep)
    return as_it_was if in_order is None else [*as_it_was, in_order]


def _floor(each: Sequence[Alone]) -> list[int]:
    return [start for a in each for start in a.floor]


def _gathered(jobs: Portfolio, each: Sequence[Alone]) -> Network:
    """The jobs with the tasks of those who come on few days brought together as in each alone."""
    if not jobs.network.limits:
        return jobs.network
    starts = list[int]()
    for m, own in zip(jobs.members, each, strict=True):
        bound = finish_of(m.network, own.early)
        alone = firstplan.first_plan(m.network, own.early, bound, 40) if m.network.limits else None
        starts += own.early if alone is None else alone.starts
    return gathered(jobs.network, starts)


def _better(  # noqa: PLR0913, PLR0917
    jobs: Portfolio, site: Network, floor: Starts, key: Sequence[float], best: list[int] | None,
    watch: Watch,
) -> list[int] | None:  # fmt: skip
    """The best starts known, or those of one more order where they are better, which is told."""
    starts = serial(site, floor, priority_order(site, key))
    if starts is not None and not kept(jobs.network, starts):
        return best
    if starts is None or (best is not None and short(jobs, best) <= short(jobs, starts)):
        return best
    watch.found(aim(jobs, starts))
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


def tries_of(jobs: Portfolio, effort: Effort) -> int:
    """How many orders to try: fewer of more tasks."""
    return max(4, min(effort.tries, effort.tries * 400 // max(len(jobs.network.steps), 1)))


def _days(jobs: Portfolio, effort: Effort) -> int:
    """Fewer days to be left out one by one of many tasks: all are placed anew for each."""
    return effort.days * 100 // max(len(jobs.network.steps), 100)


def keys(jobs: Portfolio, each: Sequence[Alone], tries: int) -> Iterator[list[float]]:
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
    jobs: Portfolio, each: Sequence[Alone], starts: list[int], effort: Effort
) -> list[int]:
    """A plan that is no worse: some tasks of all jobs, then each job, moved while the rest stays.

    A job that has the finish it can't beat by itself stays.
    """
    least = least_finishes(jobs, each, starts)
    if jobs.finishes(starts) > tuple(least):
        if effort.on:  # with time to search on, all tasks come first: a part of them may stick
            starts = freed.all_at_once(jobs, each, starts, effort.whole, effort.watch)
            effort.watch.found(aim(jobs, starts))
        starts = freed.improved(jobs, each, starts, effort.rounds, effort.watch)
        effort.watch.found(aim(jobs, starts))
    starts = _each_alone(jobs, starts, least, effort)
    found = settled(jobs.network, starts)
    return min(starts, found, key=lambda s: aim(jobs, s))


def _each_alone(
    jobs: Portfolio, starts: list[int], least: Sequence[int], effort: Effort
) -> list[int]:
    """Each job by itself as good as it can be between the others, what weighs most first."""
    left, own = effort.tasks, replace(effort.alone, watch=Unheard(effort.watch))
    gaps = [done - best for done, best in zip(jobs.finishes(starts), least, strict=True)]
    for k in sorted(range(len(gaps)), key=lambda k: -gaps[k] * jobs.members[k].job.priority):
        left -= len(jobs.parts[k])
        if gaps[k] <= 0 or left < 0 or effort.watch.enough():
            continue
        network = held_elsewhere(jobs, starts, k)
        try:
            keep = Schedule(network, jobs.of_job(k, starts))
            found = solving.solve(network, own, keep).starts
        except Unsolved:
            continue  # where several are alike too few may be left
        alone = portfolio([replace(jobs.members[k], network=network)])
        moved = placed(jobs, starts, alone, [k], found)
        starts = min(starts, moved, key=lambda s: aim(jobs, s))
    return starts
