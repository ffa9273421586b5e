"""Whether the steps of a small network fit beside each other: exact, by taking orders in turn.

Where there is a choice of who does what, that is decided first. Of the steps that are in each
other's way at the least starts, one must come first. Each way round is a further inequality between
two steps, and the passes say what follows from it: all of it impossible is a proof that nothing
fits.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations
from typing import NamedTuple

from scheduler.bound import Bounds
from scheduler.limits import Tie, WaysOut, ways_out
from scheduler.model import ReasonKind
from scheduler.network import Network
from scheduler.passes import (
    Schedule,
    Starts,
    collide,
    earliest,
    earliest_start,
    in_time,
    latest,
    latest_start,
)
from scheduler.steps import Arc, Lag, Offset


class TooMany(Exception):
    """The search gave up: it had to choose too often."""


class Budget:
    """How often a search may choose."""

    def __init__(self, choices: int) -> None:
        self.left = choices

    def spend(self) -> None:
        """Choose once more.

        Raises:
            TooMany: that is once too often.
        """
        self.left -= 1
        if self.left < 0:
            raise TooMany


class Order(NamedTuple):
    """Step ``then`` starts ``lag`` after the finish of ``first``: not before ``since`` as it is."""

    first: int
    then: int
    since: int
    lag: Lag
    kind: ReasonKind

    @property
    def arc(self) -> Arc:
        """The order as an inequality."""
        return Arc(self.first, "finish", self.then, "start", self.lag, self.kind)


Clash = tuple[Order, ...]
"""Orders of which at least one holds in every plan."""


def fitting(
    network: Network, bounds: Bounds, early: Starts, late: Starts, choices: int
) -> Schedule | None:
    """A schedule in ``[early, late]`` that keeps every rule; None where there is none.

    Raises:
        TooMany: neither was shown in so many ``choices``.
    """
    return _fitting(network, bounds, early, late, Budget(choices))


def _fitting(
    network: Network, bounds: Bounds, early: Starts, late: Starts, budget: Budget
) -> Schedule | None:
    """As ``fitting``: who does what is decided first, and all refuted that no order can mend."""
    if not network.choices:
        starts = _Search(network, bounds, budget).descend(network.arcs, early, late)
        return None if starts is None else Schedule(network, starts)
    for made in _each_way(network, network.choices[0]):
        budget.spend()
        least = _raised(made, early)
        bounds = Bounds(made)
        sharper = None if least is None else bounds.early(least)
        last = None if sharper is None else bounds.late(network.end, sharper)
        if sharper is None or last is None:
            continue
        left = [min(pair) for pair in zip(late, last, strict=True)]
        if found := _fitting(made, bounds, sharper, left, budget):
            return found
    return None


def _each_way(network: Network, choice: Sequence[int]) -> Iterator[Network]:
    return (network.taking(choice, n) for n in range(len(network.steps[choice[0]].ways)))


def _raised(network: Network, early: Starts) -> list[int] | None:
    """The least starts that are no less than some, and that each step may have."""
    floor = [step.first(start) for step, start in zip(network.steps, early, strict=True)]
    return earliest(network, network.arcs, floor)


class _Search:
    def __init__(self, network: Network, bounds: Bounds, budget: Budget) -> None:
        self.network, self.bounds, self.budget = network, bounds, budget

    def descend(self, arcs: Sequence[Arc], early: Starts, late: Starts) -> Starts | None:
        """A plan that keeps the arcs, or None.

        What must share a day is decided first: it says most.
        """
        while window := self._follow(arcs, early, late):
            early, late = window
            mending = ways_out(self.network, early)
            if mending is not None:
                return self._gathered(mending, arcs, early, late)
            clash = self._narrowest(early, late)
            if clash is None:
                return early
            if len(clash) != 1:
                return self._choose(clash, arcs, early, late)
            arcs = (*arcs, clash[0].arc)
        return None

    def _choose(
        self, clash: Clash, arcs: Sequence[Arc], early: Starts, late: Starts
    ) -> Starts | None:
        for order in sorted(clash, key=lambda order: order.since - early[order.then]):
            self.budget.spend()
            if starts := self.descend((*arcs, order.arc), early, late):
                return starts
        return None

    def _gathered(
        self, mending: WaysOut, arcs: Sequence[Arc], early: Starts, late: Starts
    ) -> Starts | None:
        """A plan in which people come on few enough days, and for enough."""
        for tie in mending.ties:
            self.budget.spend()
            within = self._within(tie, early, late)
            if within and (starts := self.descend((*arcs, *tie.arcs), *within)):
                return starts
        if not mending.complete():
            raise TooMany
        return None

    def _within(self, tie: Tie, early: Starts, late: Starts) -> tuple[Starts, Starts] | None:
        """The least and the greatest starts with some ends between two minutes."""
        first, last = list(early), list(late)
        for j, end, since, until in tie.within:
            step = self.network.steps[j]
            first[j] = max(first[j], earliest_start(step, end, since))
            last[j] = min(last[j], latest_start(step, end, until))
        possible = all(a <= b for a, b in zip(first, last, strict=True))
        return (first, last) if possible else None

    def _follow(
        self, arcs: Sequence[Arc], early: Starts, late: Starts
    ) -> tuple[Starts, Starts] | None:
        """The least and greatest starts that the arcs leave; None if some step has none."""
        least = earliest(self.network, arcs, early)
        if least is None or not in_time(self.network, least):
            return None
        greatest = latest(self.network, arcs, self.network.end, late)
        if greatest is None or any(a > b for a, b in zip(least, greatest, strict=True)):
            return None
        crews = self.network.crews
        if not all(self.bounds.fits(least, greatest, person) for person in crews):
            return None
        return least, greatest

    def _narrowest(self, early: Starts, late: Starts) -> Clash | None:
        """The clash with the fewest orders left, then the least room for them; None if none is."""
        found, least = None, (0, 0)
        for clash in clashes(self.network, early):
            left = tuple(order for order in clash if order.since <= late[order.then])
            if len(left) <= 1:
                return left
            room = len(left), sum(late[order.then] - order.since for order in left)
            if found is None or room < least:
                found, least = left, room
        return found


def clashes(network: Network, starts: Starts) -> Iterator[Clash]:
    """What is in each other's way in a schedule, each with the orders that would mend it."""
    steps = network.steps
    finishes = [step.finish(start) for step, start in zip(steps, starts, strict=True)]
    for person, members in network.crews.items():
        count = network.job.people[person].count
        hands = {j: steps[j].hands[person] for j in members}
        yield from _people_clash(count, hands, starts, finishes)
    for closure in network.undecided:
        k, lag, kind = closure.by, closure.lag, closure.kind
        opens = lag.after(finishes[k])
        for j in closure.others:
            if collide(starts[j], finishes[j], starts[k], opens):
                before = Order(j, k, finishes[j], Offset(0), kind)
                yield Order(k, j, opens, lag, kind), before


def _people_clash(
    count: int, hands: Mapping[int, int], starts: Starts, finishes: Starts
) -> Iterator[Clash]:
    """Of each crowd that starts while others of it are at work, two must not overlap."""
    at_work: list[int] = []
    for j in sorted(hands, key=lambda j: (starts[j], j)):
        at_work = [i for i in at_work if finishes[i] > starts[j]]
        for crowd in _crowds(count, hands, at_work, j):
            yield tuple(
                Order(a, b, finishes[a], Offset(0), "people") for a, b in permutations(crowd, 2)
            )
        at_work.append(j)


def _crowds(
    count: int, hands: Mapping[int, int], at_work: Sequence[int], j: int
) -> Iterator[tuple[int, ...]]:
    """Crowds around a step that are too many: each pair that is; else one, as small as may be."""
    pairs = [(i, j) for i in at_work if hands[i] + hands[j] > count]
    yield from pairs
    if pairs:
        return
    crowd, busy = [j], hands[j]
    for i in sorted(at_work, key=lambda i: -hands[i]):
        crowd.insert(-1, i)
        busy += hands[i]
        if busy > count:
            yield tuple(crowd)
            return
