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
from itertools import takewhile
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from scheduler import machinecode
from scheduler.firstplan import (
    Given,
    generated,
    given_near,
    least_slack,
    priority_order,
    shaken,
)
from scheduler.justify import right_justified
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, finish_of
from scheduler.pieces import Array
from scheduler.progress import Reals
from scheduler.tables import tables
from scheduler.watch import Watch

if TYPE_CHECKING:
    from scheduler.compiled import Placing

Key = Sequence[float] | Reals
"""What steps are ordered by, the least first."""

_MORE = 200
"""Schedules made for which there may be one more in stock, so that they stay apart."""
_MOVED = 0.05
"""The share of tasks that are moved from where the two orders have them."""
_MOMENT = 1000
"""Tasks put into an order before the one who asked is answered."""
_FASTER = 20
"""How many times as many are placed meanwhile by machine code."""
_WORTH = 10_000
"""Tasks placed before machine code is asked for, which takes a moment to be at hand."""


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
        self._random, self._chance = random.Random(2), np.random.default_rng(2)
        self._stock: list[Kept] = []  # the best first
        self._made, self._bound = 0, finish_of(network, early)
        self._fresh_until = self.size
        self._compiled: Placing | None = None

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
        moment = _MOMENT if self._placing is None else _FASTER * _MOMENT
        for _ in range(max(1, moment // max(len(self.network.steps), 1))):
            if self.done():
                return True
            self._try()
        return False

    def done(self) -> bool:
        """Whether the search is to end."""
        reached = bool(self._stock) and self._stock[0].score[0] <= self._bound
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
        late = self._made > self._fresh_until and len(self._stock) > 1
        key, near = self._bred() if late else self._fresh()
        at = self._placed(key, near)
        if at is not None:
            self.add(at)

    def _placed(self, key: Key, near: Schedule | None) -> Schedule | None:
        """A schedule by priorities, choices made as in the one that these are most like."""
        given = given_near(near, self.network, self._random) if near else None
        at = self._generated(self.network, key, given)
        return at and (self._generated(at.network, self.pushed(at)) or at)

    def _generated(self, network: Network, key: Key, given: Given | None = None) -> Schedule | None:
        """A schedule placed by priorities; in machine code once that is at hand."""
        placing = self._placing
        if placing is None:
            order = priority_order(network, [*map(float, key)])
            return generated(network, self._early, order, given)
        starts = placing.generated(key)
        return None if starts is None else Schedule(network, starts.tolist())

    @property
    def _placing(self) -> "Placing | None":
        """Machine code for the network, where it has no choices, once so much is placed."""
        if self._compiled is None and self._long and machinecode.at_hand():
            from scheduler.compiled import Placing

            self._compiled = Placing(tables(self.network, self._early))
        return self._compiled

    @property
    def _long(self) -> bool:
        return self._made * len(self.network.steps) >= _WORTH and not self.network.choices

    def _fresh(self) -> tuple[Key, Schedule | None]:
        """Priorities that owe nothing to any schedule."""
        return shaken(self._late, self._random), None

    def _bred(self) -> tuple[Key, Schedule | None]:
        """Priorities out of schedules in stock, and the one that they are most like."""
        outer, inner = self.drawn(), self.drawn()
        return self.crossed(outer.order, inner.order), outer.at

    def pushed(self, at: Schedule) -> Starts:
        """A schedule pushed to the right."""
        return self._pushed(at, [finish_of(*at)] * len(at.starts))

    def _pushed(self, at: Schedule, by: Sequence[int]) -> Starts:
        """The same, each step done by some minute."""
        placing = self._placing
        if placing is None:
            return right_justified(*at, by)
        return list[int](placing.pushed(at.starts, by).tolist())

    def add(self, at: Schedule) -> None:
        """Take a schedule into stock, if it is good enough."""
        self._take(Kept(at, (finish_of(*at), sum(at.starts)), self.pushed))

    def _take(self, new: "Kept") -> None:
        """The same of one with its score."""
        place = bisect_left(self._stock, new.score, key=attrgetter("score"))
        for alike in takewhile(lambda each: each.score == new.score, self._stock[place:]):
            if tuple(alike.at.starts) == tuple(new.at.starts):
                return
            place += 1
        self._stock.insert(place, new)
        del self._stock[self.size + self._made // _MORE :]
        if place == 0:
            self._best(new.at)

    def _best(self, at: Schedule) -> None:
        """Tell of the best that there is."""
        self._watch.found(finish_of(*at))

    def drawn(self) -> "Kept":
        """The better of two in stock at random."""
        return self._stock[min(self._random.choices(range(len(self._stock)), k=2))]

    def crossed(self, outer: Array, inner: Array) -> Reals:
        """The places of tasks in an order, of those in between in another's; some are moved."""
        count = len(outer)
        first, last = sorted(self._random.choices(range(count + 1), k=2))
        gone = np.zeros(count, dtype=np.bool_)
        gone[outer[:first]] = True
        between = inner[~gone[inner]][: last - first]
        gone[between] = True
        key = np.empty(count)
        key[np.concatenate((outer[:first], between, outer[~gone[outer]]))] = np.arange(count)
        moved = self._chance.random(count) < _MOVED
        key[moved] = self._chance.normal(key[moved], count / 15)
        return key


class Kept:
    """A schedule in stock, by its score; its order, and itself pushed to the right, once asked for.

    Args:
        at: the schedule.
        score: what it is compared by, the less the better.
        push: how it is pushed.
    """

    def __init__(
        self, at: Schedule, score: tuple[float, int], push: Callable[[Schedule], Starts]
    ) -> None:
        self.at, self.score, self._push = at, score, push

    @cached_property
    def pushed(self) -> Starts:
        """Its starts, pushed to the right."""
        return self._push(self.at)

    @cached_property
    def order(self) -> Array:
        """Its steps by their starts."""
        return _order(self.at.starts)

    @cached_property
    def order_pushed(self) -> Array:
        """The same of the starts pushed to the right."""
        return _order(self.pushed)


def _order(starts: Starts) -> Array:
    """The steps by their starts."""
    return np.argsort(np.asarray(starts), kind="stable")
