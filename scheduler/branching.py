"""Whether the steps of a small network fit beside each other: exact, by taking orders in turn.

Of the steps that are in each other's way at the least starts, one must come first. Each way round
is a further inequality between two steps, and the passes say what follows from it: all of it
impossible is a proof that nothing fits.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, permutations

from scheduler.bound import Bounds
from scheduler.network import Network
from scheduler.passes import (
    Starts,
    collide,
    earliest,
    earliest_start,
    in_time,
    latest,
    release,
)
from scheduler.steps import Arc, Offset

_CHOICES = 300
"""Choices after which the search gives up."""


class TooMany(Exception):
    """The search gave up: it had to choose too often."""


Orders = tuple[Arc, ...]
"""Inequalities of which at least one holds in every plan."""


def fitting(network: Network, bounds: Bounds, early: Starts, late: Starts) -> Starts | None:
    """Starts in ``[early, late]`` that keep every rule; None where there are none.

    Raises:
        TooMany: neither was shown in the choices allowed.
    """
    return _Search(network, bounds).descend(network.arcs, early, late)


class _Search:
    def __init__(self, network: Network, bounds: Bounds) -> None:
        self.network, self.bounds, self.left = network, bounds, _CHOICES

    def descend(self, arcs: Sequence[Arc], early: Starts, late: Starts) -> Starts | None:
        """A plan that keeps the arcs, or None."""
        while window := self._follow(arcs, early, late):
            early, late = window
            orders = self._narrowest(early, late)
            if orders is None:
                return early
            if len(orders) != 1:
                return self._choose(orders, arcs, early, late)
            arcs = (*arcs, *orders)
        return None

    def _choose(
        self, orders: Orders, arcs: Sequence[Arc], early: Starts, late: Starts
    ) -> Starts | None:
        for arc in sorted(orders, key=lambda arc: self._start(arc, early) - early[arc.after]):
            self.left -= 1
            if self.left < 0:
                raise TooMany
            if starts := self.descend((*arcs, arc), early, late):
                return starts
        return None

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

    def _narrowest(self, early: Starts, late: Starts) -> Orders | None:
        """The orders left to those in each other's way where fewest are; None if nobody is."""
        found: Orders | None = None
        for orders in clashes(self.network, early):
            left = tuple(arc for arc in orders if self._start(arc, early) <= late[arc.after])
            if found is None or len(left) < len(found):
                found = left
            if len(found) <= 1:
                break
        return found

    def _start(self, arc: Arc, early: Starts) -> int:
        step = self.network.steps[arc.after]
        return earliest_start(step, arc.to, release(self.network, arc, early))


def clashes(network: Network, starts: Starts) -> Iterator[Orders]:
    """What is in each other's way in a schedule, each with the orders that would mend it."""
    for person, members in network.crews.items():
        yield from _people_clash(network, person, members, starts)
    steps = network.steps
    for closure in network.undecided:
        k = closure.by
        opens = closure.lag.after(steps[k].finish(starts[k]))
        for j in closure.others:
            if collide(starts[j], steps[j].finish(starts[j]), starts[k], opens):
                yield (
                    Arc(k, "finish", j, "start", closure.lag, closure.kind),
                    Arc(j, "finish", k, "start", Offset(0), closure.kind),
                )


def _people_clash(
    network: Network, person: str, members: Iterable[int], starts: Starts
) -> Iterator[Orders]:
    count, finish = network.job.people[person].count, {}
    for j in members:
        finish[j] = network.steps[j].finish(starts[j])
    for j in finish:
        busy = [i for i in finish if starts[i] <= starts[j] < finish[i]]
        for crowd in combinations(busy, count + 1) if count == 1 else (busy[: count + 1],):
            if len(crowd) > count:
                yield tuple(
                    Arc(a, "finish", b, "start", Offset(0), "people", who=person)
                    for a, b in permutations(crowd, 2)
                )
