"""Orders of the tasks of several jobs: a first plan of them, and better ones out of good ones.

Beside the orders that any job has there are some of several: all of one job before all of another,
some jobs sooner and others later, and a good plan with a job meant for another day.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from typing import Protocol

import numpy as np

from scheduler.clock import DAY, day_end, day_of
from scheduler.crossing import Crossing, Kept, Key
from scheduler.firstplan import first_plan
from scheduler.limits import gathered, kept
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, ceilings, finish_of, latest
from scheduler.portfolio.aim import LATE, Alone, Watch, aim, lateness, short
from scheduler.portfolio.join import Portfolio
from scheduler.watch import UNWATCHED, Patience, Unheard

_MEANT = 0.4
"""How often a plan with a job or two meant for other days is tried, and not two plans crossed."""

_ANYWHERE = 0.3
"""How often such a day may be any; else it is one near that on which the plan has the job done."""

_WANTED = 0.5
"""How often a job is meant for the day that it wants, in an order by chance."""

_SOON = 30
"""Orders before any by days that go together: to choose days takes longer than a first plan may."""

_SUITED = 0.6
"""How often a later one that owes nothing to any plan is by such days."""

_ASKED = 30
"""How many times in all it is asked which days go together; after that they are near known ones."""

_NEAR = 5 * DAY
"""How near: the standard deviation [min]."""

_BEYOND = 21 * DAY
"""How long after all is done those days are told apart [min]."""

_ALONE = 2000
"""Orders of 400 tasks out of which a stock is bred by itself; after twice as many more nothing much
comes of it, but others end up elsewhere."""

_STOCKS = 4
"""How many are bred before the best of all are crossed, for twice as many orders."""

_KEPT = 10
"""How many of each those are."""

_APART = (2 * DAY, 6 * DAY)  # how near [min]


class Beside(Patience, Protocol):
    """Looks for plans while another search does."""

    def join(self, starts: list[int], /) -> list[int]:
        """What the other has found, or better starts."""


class Nobody:
    """Looks for nothing, and has enough when a watch has."""

    def __init__(self, watch: Patience = UNWATCHED) -> None:
        self._watch = watch

    def enough(self) -> bool:
        """As the watch has it."""
        return self._watch.enough()

    def join(self, starts: list[int]) -> list[int]:
        """What was found."""
        return starts


class JobsCrossing(Crossing):
    """A watch over a search by others that looks for plans of several jobs whenever it is asked.

    Args:
        jobs: the jobs, every choice made.
        each: what each can come to by itself.
        watch: is told what is found, and may have enough of it.
    """

    size = 80

    def __init__(self, jobs: Portfolio, each: Sequence[Alone], watch: Watch) -> None:
        early = [start for own in each for start in own.early]
        super().__init__(_gathered(jobs, each), early, Unheard(watch))
        self.jobs, self.each, self.watch = jobs, each, watch
        self.best: list[int] | None = None
        self._least: tuple[float, ...] = ()
        self._soonest = _soonest(jobs, each)
        self._keys = keys(jobs, each)
        self._lasts: dict[tuple[int, int], Starts] = {}
        self._bests: list[Kept] = []  # of stocks before
        self._days: list[Sequence[int]] = []  # for all jobs to be done on, that go together
        self._turn, self._until = 0, 0

    def first(self, tries: int) -> list[int] | None:
        """The best starts of so many orders more; None as long as none works."""
        for _ in range(tries):
            if self.best is not None and self.watch.enough():
                break
            self._try()
        return self.best

    def reach(self, tries: int) -> None:
        """Try so many orders in all."""
        self.go_on(tries - self._made)

    def _try(self) -> None:
        if self._made >= self._until:
            self._begin()
        super()._try()

    def _begin(self) -> None:
        """Begin a new stock, or one of the best of those before."""
        alone = tries_of(self.jobs, _ALONE)
        self._bests += self._stock[:_KEPT]
        self._stock.clear()
        self._turn, self._until = self._turn + 1, self._made + alone
        self._fresh_until = self._made + self.size
        if self._turn % (_STOCKS + 1) == 0:
            bests, self._bests = self._bests, []
            self._until, self._fresh_until = self._until + alone, self._made
            for each in bests:
                self._take(each)

    def join(self, starts: list[int]) -> list[int]:
        """Starts found by others, or better ones of its own.

        They are crossed with the best of all stocks, for none would grow beside them.
        """
        self._found(Schedule(self.network, starts), self._bests.append)
        if self.best is None or short(self.jobs, starts) <= short(self.jobs, self.best):
            return starts
        return self.best

    def done(self) -> bool:
        """Whether the search is to end."""
        return self.watch.enough()

    def add(self, at: Schedule) -> None:
        """Take a schedule into stock, if it keeps every rule and is good enough."""
        self._found(at, self._take)

    def _found(self, at: Schedule, take: Callable[[Kept], None]) -> None:
        if not kept(self.jobs.network, at.starts):
            return
        done = self._done(at)
        reached = late, finishes, starts = (
            lateness(self.jobs.members, done),
            sum(done),
            sum(at.starts),
        )
        take(Kept(at, (LATE * late + finishes, starts), self.pushed))
        if self.best is None or reached < self._least:
            self.best, self._least = list(at.starts), reached
            self.watch.found(aim(self.jobs, self.best))

    def _done(self, at: Schedule) -> Sequence[int]:
        """The finish of each job."""
        if self._placing is None:
            return self.jobs.finishes(at.starts)
        firsts = [part.start for part in self.jobs.parts]
        finishes = self._placing.finishes(np.asarray(at.starts))
        return list[int](np.maximum.reduceat(finishes, firsts).tolist())

    def _best(self, at: Schedule) -> None:
        """The best in stock is not always the least late; that is told which is."""

    def _fresh(self) -> tuple[Key, Schedule | None]:
        late = self._made > _SOON and self.best is not None
        if late and self._random.random() < _SUITED and (ends := self._meant_for()):
            return [s for k, end in enumerate(ends) for s in self._last_starts(k, end)], None
        return next(self._keys), None

    def _meant_for(self) -> Sequence[int]:
        """Days for all jobs that go together, or near some that did; none where there are none.

        It takes a while to find them, as long as placing a hundred orders.
        """
        if len(self._days) < _ASKED and (ends := next(self._suited, None)) is not None:
            self._days.append(ends)
            return ends
        near = self._random.choice(self._days) if self._days else []
        return [round(self._random.gauss(end, _NEAR)) for end in near]

    @cached_property
    def _suited(self) -> Iterator[Sequence[int]]:
        from scheduler.portfolio.energy import calendar
        from scheduler.portfolio.suited import suited

        assert self.best is not None  # nothing goes by days before there is a plan
        until = max(self.jobs.finishes(self.best)) + _BEYOND
        least = [own.finish for own in self.each]
        return suited(calendar(self.jobs, self.each, least, until), self._random)

    def pushed(self, at: Schedule) -> Starts:
        """A schedule pushed to the right, each job up to its own finish."""
        done = self._done(at)
        by = [done[k] for k, part in enumerate(self.jobs.parts) for _ in part]
        return self._pushed(at, by)

    def _placed(self, key: Key, near: Schedule | None) -> Schedule | None:
        """Placed once; only of what is drawn is it asked where it would be pushed to the right."""
        return self._generated(self.network, key)

    def _bred(self) -> tuple[Key, Schedule | None]:
        if self._random.random() < _MEANT:
            return self._meant()
        outer, inner = self.drawn(), self.drawn()
        return self.crossed(outer.order_pushed, inner.order_pushed), outer.at

    def _meant(self) -> tuple[Key, Schedule]:
        """The order of a plan, and of a job or two that for being done on another day."""
        kept, jobs = self.drawn(), self.jobs
        key, done = [*kept.pushed], self._done(kept.at)
        several = min(self._random.choice((1, 1, 2)), len(done))
        for k in self._random.sample(range(len(done)), several):
            if self._random.random() < _ANYWHERE:
                end = round(self._random.uniform(self._soonest[k], max(done)))
            else:
                end = done[k] + round(self._random.gauss(0, self._random.choice(_APART)))
            key = jobs.moved(key, k, self._last_starts(k, end))
        return key, kept.at

    def _last_starts(self, k: int, minute: int) -> Starts:
        """The last starts by which a job can be done on the day of a minute, or as early."""
        zone = self.jobs.members[k].network.job.timezone
        end = day_end(day_of(max(minute, self._soonest[k]), zone), zone)
        if (k, end) not in self._lasts:
            self._lasts[k, end] = _last_starts(self.jobs, self.each, k, end)
        return self._lasts[k, end]


def tries_of(jobs: Portfolio, tries: int) -> int:
    """How many orders to try of so many for 400 tasks: fewer of more."""
    return max(min(tries, 4), min(tries, tries * 400 // max(len(jobs.network.steps), 1)))


def _gathered(jobs: Portfolio, each: Sequence[Alone]) -> Network:
    """The jobs with the tasks of those who come on few days brought together as in each alone."""
    if not jobs.network.limits:
        return jobs.network
    starts = list[int]()
    for m, own in zip(jobs.members, each, strict=True):
        bound = finish_of(m.network, own.early)
        alone = first_plan(m.network, own.early, bound, 40) if m.network.limits else None
        starts += own.early if alone is None else alone.starts
    return gathered(jobs.network, starts)


def keys(jobs: Portfolio, each: Sequence[Alone]) -> Iterator[list[float]]:
    """Priorities of all steps, the least first: by what is late soonest, by job, then by chance.

    In the first a step's key is its last start that keeps what its job wants; in the next all of
    one job goes before all of another, the least work for its weight first. Then each job is meant
    for any day up to the one that it wants, or some days sooner or later than that.
    """
    random_ = random.Random(1)
    soonest = _soonest(jobs, each)
    wanted = [
        max(first, m.job.finish_by or 0) for first, m in zip(soonest, jobs.members, strict=True)
    ]
    late = [_last_starts(jobs, each, k, end) for k, end in enumerate(wanted)]
    yield [start for starts in late for start in starts]
    ranks = sorted(range(len(late)), key=lambda k: _work(jobs, k))
    for apart in (1000 * DAY, 7 * DAY):
        ahead = {k: n * apart for n, k in enumerate(ranks)}
        yield [start + ahead[k] for k, starts in enumerate(late) for start in starts]
    while True:
        by_job, by_task = random_.choice(((3, 1), (7, 1), (20, 1), (7, 3)))
        key = list[float]()
        for k, days in enumerate(zip(soonest, wanted, strict=True)):
            end = wanted[k] if random_.random() < _WANTED else round(random_.uniform(*days))
            meant, shift = _last_starts(jobs, each, k, end), random_.gauss(0, by_job * DAY)
            key += [start + shift + random_.gauss(0, by_task * DAY) for start in meant]
        yield key


def _soonest(jobs: Portfolio, each: Sequence[Alone]) -> list[int]:
    """The finish of each job with its least starts."""
    pairs = zip(jobs.members, each, strict=True)
    return [finish_of(m.network, own.early) for m, own in pairs]


def _last_starts(jobs: Portfolio, each: Sequence[Alone], k: int, end: int) -> Starts:
    """The last starts with which a job is done by some minute; the least where it can't be."""
    network = jobs.members[k].network
    return latest(network, network.arcs, end, ceilings(network, end)) or each[k].early


def _work(jobs: Portfolio, k: int) -> float:
    """The work of a job for its weight: the least first makes the least weighted sum."""
    steps = jobs.network.steps
    return sum(steps[j].load * sum(steps[j].hands.values()) for j in jobs.parts[k]) / (
        jobs.members[k].job.priority
    )
