"""Orders of tasks crossed: better schedules out of good ones, while somebody else searches, too.

A stock of schedules, each placed, pushed to the right and placed anew. Of two that are drawn one
gives the order of the first and the last tasks, the other that of those in between; a few tasks are
moved; what comes of it joins the stock, and the worst leaves it (a genetic algorithm over lists of
activities: S. Hartmann, Naval Research Logistics 45, 1998, from memory).
"""

import random
from bisect import bisect_left
from collections.abc import Callable, Sequence
from functools import cached_property

from scheduler.firstplan import generated, given_near, least_slack, priority_order, shaken
from scheduler.justify import right_justified
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, finish_of
from scheduler.watch import Watch

_MORE = 200
"""Schedules made for which there may be one more in stock, so that they stay apart."""
_MOVED = 0.05
"""The share of tasks that are moved from where the two orders have them."""
_MOMENT = 1000
"""Tasks put into an order before the one who asked is answered."""


class Crossing:
    """A watch over a search by others that looks for schedules itself whenever it is asked.

    What it finds hangs on how often that is, so only a search that may take its time has it.

    Args:
        network: the job, compiled.
        early: least starts.
        watch: is told what is found, and may have enough of it.
    """

    size = 40
    """Schedules in stock from the first on."""

    def __init__(self, network: Network, early: Starts, watch: Watch) -> None:
        self.network, self._early, self._watch = network, early, watch
        self._random = random.Random(2)
        self._stock: list[_Kept] = []  # the best first
        self._scores: list[tuple[float, int]] = []
        self._made, self._bound = 0, finish_of(network, early)

    @cached_property
    def _late(self) -> Starts:
        return least_slack(self.network, self._early)

    def found(self, finish: int, /) -> None:
        """The others have a plan that finishes then [UTC min]."""
        self._watch.found(finish)

    def bounded(self, finish: int, /) -> None:
        """No plan finishes earlier [UTC min]."""
        self._bound = max(self._bound, finish)
        self._watch.bounded(finish)

    def enough(self) -> bool:
        """Whether the search is to end; first a few more orders are tried."""
        for _ in range(max(1, _MOMENT // max(len(self.network.steps), 1))):
            if self.done():
                return True
            self._try()
        return False

    def done(self) -> bool:
        """Whether the search is to end."""
        reached = bool(self._scores) and self._scores[0][0] <= self._bound
        return reached or self._watch.enough()

    def tried(self, at: Schedule, tries: int) -> Schedule:
        """A schedule at hand, or a better one that so many orders more have brought."""
        self.go_on(tries)
        return self.better(at)

    def go_on(self, tries: int) -> None:
        """Try so many orders more."""
        for _ in range(tries):
            if self.done():
                break
            self._try()

    def better(self, at: Schedule) -> Schedule:
        """A schedule at hand, or the best in stock where that finishes earlier."""
        self.add(at)
        return min(at, self._stock[0].at, key=lambda each: finish_of(*each))

    def _try(self) -> None:
        self._made += 1
        key, near = (
            self._bred() if self._made > self.size and len(self._stock) > 1 else self._fresh()
        )
        at = self._placed(key, near)
        if at is not None:
            self.add(at)

    def _placed(self, key: Sequence[float], near: Schedule | None) -> Schedule | None:
        """A schedule by priorities, choices made as in the one that these are most like."""
        given = given_near(near, self.network, self._random) if near else None
        at = generated(self.network, self._early, priority_order(self.network, key), given)
        if at is None:
            return None
        anew = priority_order(at.network, self.pushed(at))
        return generated(at.network, self._early, anew) or at

    def _fresh(self) -> tuple[Sequence[float], Schedule | None]:
        """Priorities that owe nothing to any schedule."""
        return shaken(self._late, self._random), None

    def _bred(self) -> tuple[Sequence[float], Schedule | None]:
        """Priorities out of schedules in stock, and the one that they are most like."""
        outer, inner = self.drawn(), self.drawn()
        return self.crossed(outer.at.starts, inner.at.starts), outer.at

    def pushed(self, at: Schedule) -> Starts:
        """A schedule pushed to the right."""
        return right_justified(*at)

    def _score(self, at: Schedule) -> tuple[float, int]:
        """What schedules are compared by."""
        return finish_of(*at), sum(at.starts)

    def add(self, at: Schedule) -> None:
        """Take a schedule into stock, if it is good enough."""
        score = self._score(at)
        place = bisect_left(self._scores, score)
        while self._scores[place : place + 1] == [score]:
            if tuple(self._stock[place].at.starts) == tuple(at.starts):
                return
            place += 1
        self._scores.insert(place, score)
        self._stock.insert(place, _Kept(at, self.pushed))
        size = self.size + self._made // _MORE
        del self._scores[size:], self._stock[size:]
        if place == 0:
            self._best(at)

    def _best(self, at: Schedule) -> None:
        """Tell of the best that there is."""
        self._watch.found(finish_of(*at))

    def drawn(self) -> "_Kept":
        """The better of two in stock at random."""
        return self._stock[min(self._random.choices(range(len(self._stock)), k=2))]

    def crossed(self, one: Starts, other: Starts) -> list[float]:
        """The places of tasks in the order of some starts, of those in between in another's.

        Some are moved.
        """
        outer, inner = _order(one), _order(other)
        first, last = sorted(self._random.choices(range(len(outer) + 1), k=2))
        begun = {*outer[:first]}
        between = [j for j in inner if j not in begun][: last - first]
        gone = begun.union(between)
        order = outer[:first] + between + [j for j in outer if j not in gone]
        key = [0.0] * len(order)
        for place, j in enumerate(order):
            moved = self._random.random() < _MOVED
            key[j] = self._random.gauss(place, len(order) / 15) if moved else place
        return key


class _Kept:
    """A schedule in stock, and the same pushed to the right once that is asked for."""

    def __init__(self, at: Schedule, push: Callable[[Schedule], Starts]) -> None:
        self.at, self._push = at, push

    @cached_property
    def pushed(self) -> Starts:
        """Its starts, pushed to the right."""
        return self._push(self.at)


def _order(starts: Starts) -> list[int]:
    """The steps by their starts."""
    return sorted(range(len(starts)), key=starts.__getitem__)
