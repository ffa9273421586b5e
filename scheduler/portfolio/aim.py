"""What is to be least for several jobs, and what no plan of them can beat."""

from bisect import insort
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.anyplan import Unsolved
from scheduler.bound import Bounds
from scheduler.hours import Spans
from scheduler.model import Prefer
from scheduler.passes import Starts, earliest, in_time
from scheduler.portfolio.join import Member, Portfolio
from scheduler.visits import days_on_site
from scheduler.without import count_days_without


class Aim(NamedTuple):
    """What is to be least, in this order: weighted lateness [min], the sum of finishes [UTC min].

    Then come visits, days without something, and the sum of starts.
    """

    lateness: float
    finishes: int
    visits: int = 0
    without: int = 0
    starts: int = 0


def lateness(members: Sequence[Member], finishes: Sequence[int]) -> float:
    """The minutes that jobs finish past their ``finish_by``, each times its priority."""
    return sum(
        m.job.priority * max(0, finish - m.job.finish_by)
        for m, finish in zip(members, finishes, strict=True)
        if m.job.finish_by is not None
    )


def aim(jobs: Portfolio, starts: Starts) -> Aim:
    """What a schedule comes to."""
    finishes = jobs.finishes(starts)
    every = range(len(jobs.members))
    return Aim(
        lateness=lateness(jobs.members, finishes),
        finishes=sum(finishes),
        visits=visits(jobs, starts, every),
        without=without(jobs, starts, every),
        starts=sum(starts),
    )


def preferred(jobs: Portfolio, starts: Starts) -> tuple[int, int]:
    """What comes before the finish for the jobs that prefer it: days without, visits."""
    few: dict[Prefer, list[int]] = {"fewest-days-without": [], "fewest-visits": []}
    for k, member in enumerate(jobs.members):
        few.get(member.job.prefer, []).append(k)
    return (
        without(jobs, starts, few["fewest-days-without"]),
        visits(jobs, starts, few["fewest-visits"]),
    )


def visits(jobs: Portfolio, starts: Starts, among: Iterable[int]) -> int:
    """The days on which somebody comes to any of some jobs, each person's days apart."""
    return len({
        (jobs.members[k].shared(who), day)
        for k in among
        for who, days in days_on_site(jobs.members[k].network, jobs.of_job(k, starts)).items()
        for day in days
    })  # fmt: skip


def without(jobs: Portfolio, starts: Starts, among: Iterable[int]) -> int:
    """The days on which the households of some jobs are without something."""
    return sum(count_days_without(jobs.members[k].network, jobs.of_job(k, starts)) for k in among)


@dataclass(frozen=True)
class Alone:
    """A job with all people to itself: least starts with ``bounds`` to reckon from them.

    ``floor`` are those with nobody contended, ``early`` those with people's work counted in.
    """

    bounds: Bounds
    floor: tuple[int, ...]
    early: tuple[int, ...]

    def finish(self, known: int) -> int:
        """The first minute by which the job may be done; no plan beats it.

        ``known`` is a finish at which it can be done [UTC min].
        """
        return self.bounds.finish(self.early, known)


def alone(m: Member) -> Alone:
    """What a job can come to at best.

    Raises:
        Unsolved: there is no plan of it before the network's end.
    """
    network = m.network
    floor = earliest(network, network.arcs)
    if floor is None:
        raise Unsolved(proven=True, final=False)
    bounds = Bounds(network)
    early = bounds.early(floor)
    if early is None or not in_time(network, early):
        raise Unsolved(proven=True, final=early is not None)
    return Alone(bounds, tuple(floor), tuple(early))


def least_finishes(jobs: Portfolio, each: Sequence[Alone], starts: Starts) -> list[int]:
    """The least finish that each job can have by itself, given starts of all [UTC min]."""
    done = jobs.finishes(starts)
    return [own.finish(finish) for own, finish in zip(each, done, strict=True)]


def bound(jobs: Portfolio, each: Sequence[Alone], finishes: Sequence[int]) -> Aim:
    """What no plan beats: each job alone, and the people that several jobs share against hours.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        finishes: the least finish of each by itself [UTC min].

    However jobs follow one another, the i-th of them can't be done with a person before the person
    has had time for the i jobs with the least work left, each from when it can begin (shortest
    remaining work first is best at every moment, Schrage 1968). What each job needs after that
    person comes on top, the least of it.
    """
    members = jobs.members
    late, total = lateness(members, finishes), sum(finishes)
    for person in jobs.open.crews:
        sharing = _sharing(jobs, person)
        if len(sharing) < 2:
            continue
        least = _one_by_one(jobs, each, person, sharing)
        own = sorted(finishes[k] for k in sharing)
        both = [max(pair) for pair in zip(own, least, strict=True)]
        total = max(total, sum(finishes) - sum(own) + sum(both))
        late = max(late, _late(members, finishes, sharing, both))
    return Aim(late, total)


def _sharing(jobs: Portfolio, person: str) -> list[int]:
    """The jobs in which a person has something to do."""
    needing = set(jobs.open.crews[person])
    return [k for k, part in enumerate(jobs.parts) if not needing.isdisjoint(part)]


def _late(
    members: Sequence[Member], alone: Sequence[int], sharing: Collection[int], both: Sequence[int]
) -> float:
    """Weighted lateness that no plan is under, given the least finishes of some jobs in a row.

    Finishes and dates in the same order is the pairing with the least lateness in all; the least
    priority is that of every minute. A job without a date is late never.
    """
    dates = sorted(
        far if (by := members[k].job.finish_by) is None else by
        for k in sharing
        for far in (max(both),)
    )
    over = sum(max(0, done - by) for done, by in zip(both, dates, strict=True))
    others = [k for k in range(len(members)) if k not in sharing]
    rest = lateness([members[k] for k in others], [alone[k] for k in others])
    return rest + min(members[k].job.priority for k in sharing) * over


def _one_by_one(
    jobs: Portfolio, each: Sequence[Alone], person: str, sharing: Sequence[int]
) -> list[int]:
    """The least finishes of the jobs that share a person, the first first."""
    hours = jobs.network.hours[person]
    count = jobs.network.job.people[person].count
    heads, loads, tails = [], [], []
    for k in sharing:
        head, load, tail = _with(jobs, each[k], person, k)
        heads.append(head)
        loads.append(load // count)  # several alike are that much faster, which no plan beats
        tails.append(tail)
    return [done + min(tails) for done in _shortest_first(hours, heads, loads)]


def _with(jobs: Portfolio, own: Alone, person: str, k: int) -> tuple[int, int, int]:
    """From when a job has work for a person, how much, and what it needs after that [min]."""
    part, steps, now = jobs.parts[k], jobs.open.steps, jobs.members[k].job.now
    theirs = [j for j in jobs.open.crews[person] if j in part]
    head = min(max(own.early[j - part.start], now) for j in theirs)
    return head, sum(steps[j].load * steps[j].hands[person] for j in theirs), 0


def _shortest_first(hours: Spans, heads: Sequence[int], loads: Sequence[int]) -> list[int]:
    """When one job after the other is done with a person, the least work left always first."""
    come = sorted(zip(map(hours.count, heads), loads, strict=True))
    waiting: list[int] = []
    clock, done, i = 0, [], 0
    while i < len(come) or waiting:
        if not waiting:
            clock = max(clock, come[i][0])
        while i < len(come) and come[i][0] <= clock:
            insort(waiting, come[i][1])
            i += 1
        until = come[i][0] if i < len(come) else clock + waiting[0]
        worked = min(waiting[0], until - clock)
        clock += worked
        if waiting[0] == worked:
            waiting.pop(0)
            done.append(hours.minute(max(clock - 1, 0)) + 1)
        else:
            waiting[0] -= worked
    return done
