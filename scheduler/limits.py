"""On how many days somebody may come in a job, and for how much work at the least.

Both are rules of whole days, and a day is no inequality between two tasks. But that two tasks are
done on one day is two of them: neither comes before the beginning of the day of the other. So where
somebody comes on too many days, or for too little, some two of their tasks must share a day; which,
is to be tried in turn, as the order of a crew is.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import combinations, permutations
from typing import NamedTuple

from scheduler.clock import day_end, day_of, day_start
from scheduler.hours import Spans, spans
from scheduler.model import End, Person
from scheduler.network import Network, days_of, on_days, presence
from scheduler.quantities import show_duration
from scheduler.steps import Arc, Begun, Limit, Morning, Step
from scheduler.wording import counted

Starts = Sequence[int]


class Point(NamedTuple):
    """One end of a step, and the local day on which it is."""

    step: int
    end: End
    day: date


@dataclass(frozen=True)
class Tie:
    """What brings tasks together: inequalities, and ends ``within`` some minutes, both included."""

    arcs: tuple[Arc, ...] = ()
    within: tuple[tuple[int, End, int, int], ...] = ()


def kept(network: Network, starts: Starts) -> bool:
    """Whether everybody comes on no more days than they may, and for no less work."""
    return all(_Days(network, limit, starts).kept for limit in network.limits)


@dataclass(frozen=True)
class WaysOut:
    """Ties that could mend a rule of days, the nearest first.

    One of them holds in every plan where ``complete`` says so; work that runs on from day to day
    may do with less.
    """

    ties: tuple[Tie, ...]
    complete: Callable[[], bool]


def ways_out(network: Network, starts: Starts) -> WaysOut | None:
    """What could mend the first rule of days that a schedule breaks; None where it breaks none."""
    for limit in network.limits:
        days = _Days(network, limit, starts)
        if not days.kept:
            return days.ways_out()
    return None


def order_of_days(network: Network, starts: Starts) -> tuple[Arc, ...] | None:
    """The days of a schedule as inequalities: what shares a day stays together.

    None where a rule of days is broken.
    """
    each = [_Days(network, limit, starts) for limit in network.limits]
    if not all(days.kept for days in each):
        return None
    return tuple(arc for days in each for arc in days.arcs())


def anchored(network: Network, starts: Starts) -> Network:
    """The network with those steps where they are that no inequality keeps within its rules.

    They are those on days on which somebody comes anyway, which others might not be, and work that
    runs on from day to day, which elsewhere might take more days or leave less on one of them.
    """
    moved = dict[int, Step]()
    for limit in network.limits:
        moved |= _Days(network, limit, starts).anchored()
    return network.doing(moved)


def in_place(network: Network, starts: Starts) -> Network:
    """The network with people there only on the days on which they come for their own job.

    The work of those who come for so much at the least stays on its days, each.
    """
    moved = dict[int, Step]()
    for limit in network.limits:
        days = _Days(network, limit, starts)
        moved |= days.held(None) if limit.least else days.on_these()
    return network.doing(moved)


def gathered(network: Network, keep: Starts) -> Network:
    """The network with tasks that share a day in an earlier plan on one day, whichever it is."""
    if not network.limits:
        return network
    arcs = [*network.arcs]
    for limit in network.limits:
        open_ = [j for j in members(network, limit) if not isinstance(network.steps[j], Begun)]
        for i, j in permutations(open_, 2):
            zone = network.job.timezone
            if day_of(keep[i], zone) == day_of(keep[j], zone):
                arcs.append(_no_sooner(network, limit, (i, "start"), (j, "start")))
    return replace(network, arcs=tuple(arcs))


def tied(network: Network, tie: Tie) -> Network:
    """The network with tasks brought together."""
    steps = {
        j: network.steps[j].within(_starts(network.steps[j], end, first, last))
        for j, end, first, last in tie.within
    }
    return replace(network.doing(steps), arcs=(*network.arcs, *tie.arcs))


def members(network: Network, limit: Limit) -> list[int]:
    """The steps for which somebody comes, of those that a rule of days is about."""
    return [j for j in limit.steps if limit.who in network.steps[j].task.who]


def in_words(person: Person) -> str:
    """On how many days somebody comes at most, and for how much work at the least.

    >>> in_words(Person("plumber", (), at_most=2, visits_of=240))
    'on at most 2 days, for 4 h of work at least'
    """
    days = [] if person.at_most is None else [f"on at most {counted(person.at_most, 'day')}"]
    work = [f"for {show_duration(person.visits_of)} of work at least"] if person.visits_of else []
    return ", ".join((*days, *work))


class _Days:
    """The days of somebody in a schedule."""

    def __init__(self, network: Network, limit: Limit, starts: Starts) -> None:
        self.network, self.limit, self.starts = network, limit, starts
        self.zone = network.job.timezone
        self.members = members(network, limit)
        self.there = {j: self._work(j) for j in self.members}
        self.open = [j for j in self.members if not isinstance(network.steps[j], Begun)]
        came = {day for each in self.there.values() for day in each}
        self.free = sorted(came - limit.sure)

    def _work(self, j: int) -> Mapping[date, int]:
        """The work of a step by day, for all of its hands together [min]."""
        step, start = self.network.steps[j], self.starts[j]
        there = presence(step, start)
        hands = step.task.hands[self.limit.who] if step.task.work else 0
        return {
            day: hands * sum(b - a for a, b in there.within(*bounds))
            for day, bounds in days_of(there, self.zone).items()
        }

    @property
    def kept(self) -> bool:
        """Whether the rules are kept."""
        return len(self.free) <= self.limit.left and self._short() is None

    def _short(self) -> date | None:
        """The first day with too little work, though there is more later."""
        working = [day for each in self.there.values() for day, work in each.items() if work]
        short = (day for day in self.free if self._on(day) < self.limit.least)
        return next((day for day in short if day < max(working, default=day)), None)

    def _on(self, day: date) -> int:
        return sum(each.get(day, 0) for each in self.there.values())

    # -- what mends it ---------------------------------------------------------------------

    def ways_out(self) -> WaysOut:
        """What could mend the rule that is broken."""
        short = self._short()
        if len(self.free) > self.limit.left or short is None:
            return self._fewer_days()
        return self._more_on(short)

    def _fewer_days(self) -> WaysOut:
        """Of ends on more days than there may be two share a day, or one is on a sure day."""
        found: dict[date, Point] = {}
        for point in self._points():
            found.setdefault(point.day, point)
        free = [found[day] for day in self.free if day in found]
        chosen = free[: self.limit.left + 1]
        pairs = sorted(combinations(chosen, 2), key=lambda pair: pair[1].day - pair[0].day)
        ties = [self._together(p, q) for p, q in pairs]
        ties += [tie for point in chosen for tie in self._on_sure_days(point)]
        return WaysOut(tuple(ties), lambda: len(chosen) > self.limit.left)

    def _more_on(self, day: date) -> WaysOut:
        """A day with too little work has some other task on it, or is the last, or a sure one."""
        there = [j for j in self.open if day in self.there[j]]
        point = next((p for p in self._points() if p.day == day and p.step in there), None)
        if point is None:  # all of it runs over that day from one before to one after
            return WaysOut((), lambda: False)
        others = [j for j in self.open if j not in there and self.network.steps[j].task.work]
        ends = (other for other in self._points() if other.step in others)
        nearest = sorted(ends, key=lambda other: abs(other.day - day))
        ties = [self._together(point, other) for other in nearest]
        working = [j for j in self.members if self.network.steps[j].task.work and j != point.step]
        ties.append(Tie(tuple(self._no_sooner((j, "finish"), point[:2]) for j in working)))
        ties += self._on_sure_days(point)
        whole = all(len(self.there[j]) == 1 for j in there)
        return WaysOut(tuple(ties), lambda: whole and not any(map(self._passes_over, others)))

    def _passes_over(self, j: int) -> bool:
        """Whether a step may be worked on on a whole day between two others."""
        step = self.network.steps[j]
        if not step.task.split:
            return False
        first, end = self.network.job.start, self.network.end
        between = (
            sum(b - a for a, b in step.workable.within(since, until))
            for since, until in days_of(step.workable, self.zone).values()
            if first < since and until < end
        )
        return min(between, default=0) + 2 <= step.task.work

    def _points(self) -> Iterator[Point]:
        """The ends of open steps, those on the first and the last of their days."""
        for j in self.open:
            yield Point(j, "start", min(self.there[j]))
            if self.network.steps[j].task.work:
                yield Point(j, "finish", max(self.there[j]))

    def _together(self, p: Point, q: Point) -> Tie:
        return Tie((self._no_sooner(p[:2], q[:2]), self._no_sooner(q[:2], p[:2])))

    def _on_sure_days(self, point: Point) -> Iterator[Tie]:
        for day in sorted(self.limit.sure):
            yield Tie(within=((point.step, point.end, *self._bounds(point.end, day)),))

    def _bounds(self, end: End, day: date) -> tuple[int, int]:
        """The first and the last minute that an end has that is on a day."""
        late = int(end == "finish")
        return day_start(day, self.zone) + late, day_end(day, self.zone) - 1 + late

    def _no_sooner(self, before: tuple[int, End], after: tuple[int, End]) -> Arc:
        return _no_sooner(self.network, self.limit, before, after)

    # -- what keeps it ---------------------------------------------------------------------

    @property
    def _loose(self) -> bool:
        """Whether somebody may come on so many days that their tasks can't be on more."""
        steps = [self.network.steps[j] for j in self.open]
        in_one_go = all(not step.task.split or not step.task.work for step in steps)
        return not self.limit.least and in_one_go and 2 * len(steps) <= self.limit.left

    def arcs(self) -> Iterator[Arc]:
        """What shares a day that is free does so still, and what is the last day is it still."""
        if self._loose:
            return
        points = [point for point in self._points() if point.day in self.free]
        for p, q in permutations(points, 2):
            if p.day == q.day:
                yield self._no_sooner(p[:2], q[:2])
        for day in self.free if self.limit.least else ():
            if self._on(day) < self.limit.least:
                yield from self._last(day)

    def _last(self, day: date) -> Iterator[Arc]:
        """All work is done by the end of a day."""
        here = next(point for point in self._points() if point.day == day)
        for j in self.members:
            if j != here.step and self.network.steps[j].task.work:
                yield self._no_sooner((j, "finish"), here[:2])

    def anchored(self) -> dict[int, Step]:
        """The steps on sure days, and those that run on from day to day, held there."""
        if self._loose:
            return {}
        sure = (j for j in self.open if not self.limit.sure.isdisjoint(self.there[j]))
        runs_on = (j for j in self.open if len(self.there[j]) > 1)
        return self.held({*sure, *runs_on})

    def on_these(self) -> dict[int, Step]:
        """The open steps on some of the days that there are."""
        who, hours = self.limit.who, self.network.hours
        days = {*self.free, *self.limit.sure}
        site = self.network.kept_to({**hours, who: on_days(hours[who], days, self.zone)})
        return {j: site.steps[j] for j in self.open}

    def held(self, some: Collection[int] | None) -> dict[int, Step]:
        """Open steps, or some of them, each only where it is on the same days as it is.

        Where there is a least, what runs on from day to day stays to the minute.
        """
        found = {}
        for j in self.open:
            if some is not None and j not in some:
                continue
            step, days = self.network.steps[j], self.there[j]
            only = spans([(self.starts[j], self.starts[j] + 1)])
            if not self.limit.least or len(days) == 1:
                only = _starts(step, "start", *self._bounds("start", min(days)))
                if step.task.work:
                    step = step.within(only)
                    only = _starts(step, "finish", *self._bounds("finish", max(days)))
            found[j] = step.within(only)
        return found


def _starts(step: Step, end: End, first: int, last: int) -> Spans:
    """The starts with which an end of a step lies between two minutes, both included."""
    if end == "start":
        return spans([(first, last + 1)])
    return spans([(step.first_start(first), step.last_start(last) + 1)])


def _no_sooner(
    network: Network, limit: Limit, before: tuple[int, End], after: tuple[int, End]
) -> Arc:
    """One end comes no sooner than on the day of another."""
    lag = Morning(network.job.timezone, int(before[1] == "finish"), int(after[1] == "finish"))
    return Arc(*before, *after, lag, "visits", who=limit.who)
