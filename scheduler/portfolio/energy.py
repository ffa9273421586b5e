"""What several jobs come to at least: their work, each job done on some day, against hours.

The later a job is done, the more room its work has. For each day on which it may be done it is
known between which minutes each of its tasks then is; and whichever days are chosen, the work that
lies between two minutes must fit into each person's hours between them.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple

import numpy as np

from scheduler.clock import DAY, day_end, day_of
from scheduler.hours import NEVER
from scheduler.pieces import Array
from scheduler.portfolio.aim import Alone
from scheduler.portfolio.firstdays import Idle
from scheduler.portfolio.join import Member, Portfolio

_DAYS = 800
"""How many days of all jobs together are told apart; of more, several are taken as one."""

_AT_ONCE = 8
"""How many pairs of minutes that a choice breaks are stated at once, of each person."""

FINE = 1000
"""Into how many parts a minute of weighted lateness is divided."""

Shares = Sequence[Array]
"""For each job how far each of its days is chosen, 0 to 1."""

Worth = Sequence[Sequence[int]]
"""A number for each day of each job, of which the sum is to be least."""


class Days(NamedTuple):
    """The days on which a job may be done.

    Args:
        first: the first minute of each at which it may be [UTC min].
        ends: for each the last finish of each step; not for the last day, which is open.
    """

    first: tuple[int, ...]
    ends: Array


class Pair(NamedTuple):
    """A person, and two minutes between which their work must fit into their hours."""

    who: str
    start: int
    end: int


class Row(NamedTuple):
    """Of a pair: the work that each day of each job brings between the two, and the hours [min]."""

    work: Mapping[tuple[int, int], int]
    hours: int


class Work(NamedTuple):
    """The work of a step, by its place in its job, for one person: from when, and how long."""

    job: int
    step: int
    head: int
    load: int


@dataclass(frozen=True)
class Calendar:
    """The days on which each of several jobs may be done.

    ``idle`` is what is known to go by unused of people's first days.
    """

    jobs: Portfolio
    each: Sequence[Alone]
    days: tuple[Days, ...]
    idle: Mapping[str, Idle] = field(default_factory=dict)

    @property
    def finishes(self) -> Worth:
        """What each day makes of the sum of finishes, at least [UTC min]."""
        return [days.first for days in self.days]

    @property
    def lateness(self) -> Worth:
        """The weighted lateness that each day makes, at least, in fine parts."""
        return [
            [_late(member, first) for first in days.first]
            for member, days in zip(self.jobs.members, self.days, strict=True)
        ]

    @cached_property
    def work(self) -> Mapping[str, Sequence[Work]]:
        """What there is to do for each person whom several jobs share."""
        found: dict[str, list[Work]] = {}
        for k, (part, member) in enumerate(zip(self.jobs.parts, self.jobs.members, strict=True)):
            for n, j in enumerate(part):
                step = self.jobs.open.steps[j]
                head = max(self.each[k].early[n], member.job.now)
                for who, hands in step.hands.items():
                    found.setdefault(who, []).append(Work(k, n, head, step.load * hands))
        return {who: work for who, work in found.items() if len({each.job for each in work}) > 1}

    @cached_property
    def _by_job(self) -> Mapping[str, Sequence[tuple[int, Array, Array, Array]]]:
        """The same by job: its steps, from when they are and how long they take."""
        found: dict[str, list[tuple[int, Array, Array, Array]]] = {}
        for who, work in self.work.items():
            for job, of_job in groupby(work, key=attrgetter("job")):
                steps = np.array([(each.step, each.head, each.load) for each in of_job])
                found.setdefault(who, []).append((job, *steps.T))
        return found

    def row(self, pair: Pair) -> Row:
        """What a pair of minutes asks for."""
        found: dict[tuple[int, int], int] = {}
        for job, steps, heads, loads in self._by_job[pair.who]:
            done = self.days[job].ends[:, steps] <= pair.end
            work = done @ (loads * (heads >= pair.start))
            found |= {(job, int(day)): int(work[day]) for day in np.flatnonzero(work)}
        ((room,),) = self._room(pair.who, np.array([pair.start]), np.array([pair.end]))
        return Row(found, int(room))

    def _room(self, who: str, since: Array, until: Array) -> Array:
        """The hours of a person between any two minutes, all alike together [min]."""
        hours, count = self.jobs.open.hours[who], self.jobs.open.job.people[who].count
        before, after = (np.array([hours.count(int(t)) for t in ts]) for ts in (since, until))
        room = after[None, :] - before[:, None]
        if (unused := self.idle.get(who)) is not None:
            by_then = np.maximum(after, hours.count(unused.until)) - hours.count(unused.since)
            room = np.minimum(room, (by_then - unused.minutes)[None, :])
        return np.asarray(count * np.maximum(room, 0))

    def broken(self, shares: Shares, used: float = 1) -> Iterator[Pair]:
        """The pairs that chosen days break most, where so much of people's hours can be used."""
        for who, work in self.work.items():
            parts = [
                (each.head, int(self.days[each.job].ends[day, each.step]), each.load * share)
                for each in work
                for day, share in enumerate(shares[each.job][:-1])
                if share > 0
            ]
            if parts:
                yield from self._broken_of(who, used, *map(np.array, zip(*parts, strict=True)))

    def _broken_of(
        self, who: str, used: float, heads: Array, ends: Array, loads: Array
    ) -> Iterator[Pair]:
        """The pairs between which lies more of some loads than a person gets done."""
        since, until = np.unique(heads), np.unique(ends)
        load = np.zeros((len(since), len(until)))
        np.add.at(load, (np.searchsorted(since, heads), np.searchsorted(until, ends)), loads)
        load = load[::-1].cumsum(axis=0)[::-1].cumsum(axis=1)
        room = used * self._room(who, since, until)
        for start, end in places((room - load) / np.sqrt(room + 1), _AT_ONCE):
            if load[start, end] > room[start, end] + 1e-3 and until[end] > since[start]:
                yield Pair(who, int(since[start]), int(until[end]))


def places(of: Any, several: int) -> Iterator[tuple[int, int]]:
    """The places of the least numbers, the least first; the first of those that are alike."""
    flat = of.ravel()
    most = np.partition(flat, several - 1)[several - 1] if several < len(flat) else np.inf
    among = np.flatnonzero(flat <= most)
    among = among[np.argsort(flat[among], kind="stable")][:several]
    yield from zip(*np.unravel_index(among, of.shape), strict=True)


def _late(member: Member, finish: int) -> int:
    by = member.job.finish_by
    return 0 if by is None else math.floor(FINE * member.job.priority * max(0, finish - by))


def calendar(jobs: Portfolio, each: Sequence[Alone], least: Sequence[int], until: int) -> Calendar:
    """The days on which jobs may be done, told apart up to a minute.

    ``least`` are finishes that no job beats by itself [UTC min].
    """
    zone = jobs.open.job.timezone
    several = 1 + sum(max(until - first, 0) // DAY for first in least) // _DAYS
    return Calendar(
        jobs,
        each,
        tuple(
            _days(own, first, until, zone, several) for own, first in zip(each, least, strict=True)
        ),
    )


def _days(own: Alone, first: int, until: int, zone: str, several: int) -> Days:
    """The days on which a job may be done, so many taken as one."""
    network = own.bounds.network
    firsts: list[int] = []
    ends: list[list[int]] = []
    while first < until:
        end = day_end(day_of(first, zone), zone) + (several - 1) * DAY
        late = own.bounds.late(end, own.early)
        if late is not None:  # else it isn't done by then
            firsts.append(first)
            pairs = zip(network.steps, late, strict=True)
            ends.append([step.last_finish(start) for step, start in pairs])
        first = min((finish_after(own, j, end) for j in network.lasts), default=NEVER)
        first = min(first, max(end + 1, network.end))
    shape = len(ends), len(network.steps)
    return Days((*firsts, first), np.array(ends, dtype=np.int64).reshape(shape))


def finish_after(own: Alone, j: int, minute: int) -> int:
    """The first finish after a minute that a step can have."""
    ways = own.bounds.network.steps[j].ways
    first = ((way, max(way.first_start(minute + 1), way.first(own.early[j]))) for way in ways)
    return min((way.finish(start) for way, start in first if start < NEVER), default=NEVER)
