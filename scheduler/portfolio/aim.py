"""What is to be least for several jobs, and what each comes to with all people to itself."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, Protocol

from scheduler.anyplan import Unsolved
from scheduler.bound import Bounds
from scheduler.clock import DAY
from scheduler.model import Prefer
from scheduler.passes import Starts, earliest, finish_of, in_time
from scheduler.portfolio.join import Member, Portfolio
from scheduler.visits import days_on_site
from scheduler.watch import Patience
from scheduler.without import count_days_without

LATE = 20
"""How many minutes of finishes one of weighted lateness is worth, where a search weighs them."""


class Aim(NamedTuple):
    """What is to be least, in this order: weighted lateness [min], the sum of finishes [UTC min].

    Then come visits, days without something, and the sum of starts.
    """

    lateness: float
    finishes: int
    visits: int = 0
    without: int = 0
    starts: int = 0


class Watch(Patience, Protocol):
    """As ``scheduler.watch.Watch``, of what several jobs come to."""

    def found(self, best: Aim, /) -> None:
        """There are plans that come to that."""

    def bounded(self, bound: Aim, /) -> None:
        """No plans come to less."""


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


def short(jobs: Portfolio, starts: Starts) -> tuple[float, int, int]:
    """The aim without visits and days without, which take longest to count."""
    finishes = jobs.finishes(starts)
    return lateness(jobs.members, finishes), sum(finishes), sum(starts)


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

    @cached_property
    def finish(self) -> int:
        """The first minute by which the job may be done; no plan beats it [UTC min]."""
        network = self.bounds.network
        before, by, step = 0, finish_of(network, self.early), DAY
        while by < network.end and not self.bounds.possible(self.early, by):
            before, by, step = by, min(by + step, network.end), 2 * step
        return self.bounds.finish(self.early, by, before)


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
