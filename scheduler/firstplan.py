"""A first plan in milliseconds: tasks placed one after another, each as early as it can be.

Serial schedule generation: tasks are taken in the order of a priority, links first, and each goes
to the earliest place its links, people and rooms leave. A window that breaks moves the earlier
task to the first start that keeps it, and what waits for that task is placed anew. Many orders are
tried from a fixed seed, the same on every run.
"""

import heapq
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.busy import Busy
from scheduler.clock import DAY
from scheduler.hours import NEVER
from scheduler.justify import right_justified
from scheduler.limits import Tie, tied, ways_out
from scheduler.network import Network
from scheduler.passes import (
    Schedule,
    Starts,
    collide,
    earliest,
    earliest_start,
    finish_of,
    floors,
    latest,
    way_of,
)
from scheduler.steps import Arc
from scheduler.watch import UNWATCHED, Watch

_NEAR = 0.7
"""How often further orders are sought near the best schedule, and not near the least slack."""

_SAME, _OTHER = 0.6, 0.2
"""How often a choice is made as in the best schedule; how often by chance. Else it is left open."""

_GATHERED, _SHORT = 40, 20_000
"""How often tasks are brought together; steps looked at to see whether they can be."""

Given = Mapping[int, int]
"""The way that is taken of some choices, by their number."""


class _Placement:
    """The tasks placed so far, and where the next can go.

    Of a task that can be done in several ways that one is taken that is over first, unless it is
    ``given`` by the number of its choice; whoever is placed first decides for all of its hand.
    """

    def __init__(self, network: Network, floor: Starts, given: Given | None = None) -> None:
        self.network = network
        self.steps = list(network.steps)
        self.slots = list(network.slots)
        self.given = given or {}
        self.choice = {j: n for n, members in enumerate(network.choices) for j in members}
        self.ways = [0] * len(network.choices)
        self.decided: dict[int, int] = {}
        self.floor = list(floor)
        self.starts = [NEVER] * len(network.steps)
        self.finishes = [NEVER] * len(network.steps)
        self.busy = Busy(network.roster)

    @property
    def schedule(self) -> Schedule:
        """What is placed, once that is all."""
        return Schedule(self.network.made(self.ways), self.starts)

    def place(self, j: int) -> bool:
        """Put a step at its earliest place; False if there is none."""
        if j in self.choice and len(self.steps[j].ways) > 1:
            self._choose(j)
        start, finish = self._earliest(j)
        if start >= NEVER:
            return False
        self._put(j, start, finish)
        return finish <= self.steps[j].deadline

    def _choose(self, j: int) -> None:
        """Take the way in which a step is over first, the first of those alike."""
        n = self.choice[j]
        ways = range(len(self.steps[j].ways)) if n not in self.given else [self.given[n]]
        over = {}
        for way in ways:
            self._take(n, way)
            over[way] = self._earliest(j)[1]
        self._take(n, min(over, key=over.__getitem__))
        self.decided[j] = n

    def _take(self, n: int, way: int) -> None:
        self.ways[n] = way
        for j in self.network.choices[n]:
            self.steps[j] = self.network.steps[j].ways[way]
            self.slots[j] = self.network.slots[j] + way

    def _earliest(self, j: int) -> tuple[int, int]:
        """The earliest start that is free for a step, and its finish; ``NEVER`` if none."""
        step, start = self.steps[j], self.steps[j].first(self.floor[j])
        for arc in self.network.into[j]:
            bound = self._release(arc)
            if bound > start or arc.to == "finish":
                start = max(start, earliest_start(step, arc.to, bound))
        for arc in self.network.shared_days[j]:
            if self.starts[arc.before] < NEVER:
                start = max(start, earliest_start(step, arc.to, self._release(arc)))
        slot, free_from, first = self.slots[j], self.busy.free_from, step.starts.next
        while start < NEVER:
            finish = step.finish(start)
            free = free_from(slot, start, finish)
            if free <= start and (free := self._room_free_from(j, start, finish)) <= start:
                return start, finish
            start = first(free)
        return NEVER, NEVER

    def _release(self, arc: Arc) -> int:
        """The minute before which an arc does not let its later end happen."""
        return arc.lag.after((self.finishes if arc.of == "finish" else self.starts)[arc.before])

    def _put(self, j: int, start: int, finish: int) -> None:
        self.starts[j], self.finishes[j] = start, finish
        self.busy.hold(self.slots[j], start, finish)

    def remove(self, j: int) -> None:
        """Take a step out again; those of its hand that came after it are out already."""
        if self.starts[j] < NEVER:
            self.busy.let_go(self.slots[j], self.starts[j], self.finishes[j])
            self.starts[j] = self.finishes[j] = NEVER
        if j in self.decided:
            for i in self.network.choices[self.decided.pop(j)]:
                self.steps[i] = self.network.steps[i]

    def take_out(self, since: Sequence[int]) -> None:
        """Remove the first of some steps, in the order of placing, and what waits for it.

        It is all of them where one decides for others: who does a task, or on which day it is.
        """
        network = self.network
        out = {*since} if network.choices or any(network.shared_days) else {since[0]}
        for j in since:
            if any(arc.before in out for arc in network.into[j]):
                out.add(j)
        for j in reversed(since):
            if j in out:
                self.remove(j)

    def put(self, starts: Starts) -> None:
        """Place every step where a schedule has it."""
        for step, start in zip(self.network.steps, starts, strict=True):
            self._put(step.index, start, step.finish(start))

    def pull(self, j: int) -> bool:
        """Move a step to its earliest place among all the others; False if it is there."""
        step, floor = self.steps[j], self.floor[j]
        start, finish = self.starts[j], self.finishes[j]
        self.remove(j)
        for arc in self.network.held[j]:
            bound = self._release(arc)
            self.floor[j] = max(self.floor[j], earliest_start(step, arc.to, bound))
        moved = self.place(j) and self.starts[j] < start
        if not moved:
            self.remove(j)
            self._put(j, start, finish)
        self.floor[j] = floor
        return moved

    def broken_window(self, j: int) -> tuple[int, int] | None:
        """The earlier step of a window that ``j`` now breaks, and the first start that mends it."""
        for arc in self.network.windows[j]:
            i = arc.after
            mended = earliest_start(self.steps[i], arc.to, self._release(arc))
            if mended > self.starts[i]:
                return i, mended
        return None

    def _room_free_from(self, j: int, start: int, finish: int) -> int:
        """``start`` if its room is free then; else the next moment to try."""
        for closure in self.network.closing[j]:
            closed_until = closure.lag.after(finish)
            for i in closure.others:
                if collide(self.starts[i], self.finishes[i], start, closed_until):
                    return max(self.finishes[i], start + 1)
        for closure in self.network.closed[j]:
            k = closure.by
            if self.starts[k] < NEVER:
                closed_until = closure.lag.after(self.finishes[k])
                if collide(start, finish, self.starts[k], closed_until):
                    return closed_until
        return start


def pull_forward(network: Network, starts: Starts) -> list[int]:
    """A schedule with every task moved, by itself, to the earliest place that the others leave.

    Again and again, until none moves.
    """
    placement = _Placement(network, floors(network))
    placement.put(starts)
    order = sorted(range(len(starts)), key=starts.__getitem__)
    while sum(placement.pull(j) for j in order):
        continue
    return placement.starts


def serial(network: Network, floor: Starts, order: Sequence[int]) -> list[int] | None:
    """Starts of all steps, placed in an order that every link allows; None where one finds none.

    There is no choice in the network; else take ``generated``.
    """
    found = generated(network, floor, order)
    return None if found is None else list(found.starts)


def generated(
    network: Network, floor: Starts, order: Sequence[int], given: Given | None = None
) -> Schedule | None:
    """A schedule, placed in an order that every link allows; None where a step finds no place.

    ``given`` says by its number which way is taken of a choice; the others are taken as they come.
    """
    placement = _Placement(network, floor, given)
    place_of = {j: n for n, j in enumerate(order)}
    n, reach, patience = 0, 0, 30 * len(order) + 100
    while n < len(order) and patience:
        patience, reach = patience - 1, max(reach, n)
        if placement.starts[order[n]] >= NEVER and not placement.place(order[n]):
            return None
        broken = placement.broken_window(order[n])
        if broken is None:
            n += 1
            continue
        i, mended = broken
        placement.take_out(order[place_of[i] : reach + 1])
        placement.floor[i] = mended
        n = place_of[i]
    return placement.schedule if n == len(order) else None


def priority_order(network: Network, key: Sequence[float]) -> list[int]:
    """The steps by rising key, each after all it waits for."""
    waiting = [len(arcs) for arcs in network.into]
    heap = [(key[j], j) for j, n in enumerate(waiting) if n == 0]
    heapq.heapify(heap)
    order = []
    while heap:
        _, i = heapq.heappop(heap)
        order.append(i)
        for arc in network.out[i]:
            j = arc.after
            waiting[j] -= 1
            if not waiting[j]:
                heapq.heappush(heap, (key[j], j))
    return order


def first_plan(
    network: Network, floor: Starts, bound: int, tries: int, watch: Watch = UNWATCHED
) -> Schedule | None:
    """The best schedule of several orders; None if none works.

    Where somebody may come on few days only, or for so much at the least, tasks are brought
    together as that needs, the nearest first, until a schedule keeps it.
    """
    if not network.limits:
        return _of_orders(network, floor, bound, tries, watch)
    waiting: list[tuple[Network, Starts]] = [(network, floor)]
    best: Schedule | None = None
    for _ in range(_GATHERED):
        if not waiting or (best and (finish_of(*best) <= bound or watch.enough())):
            break
        together, least = waiting.pop()
        found = _of_orders(together, least, bound, max(tries // _GATHERED, 2), UNWATCHED)
        mending = ways_out(*found) if found else None
        if mending:
            waiting += _tied(together, least, mending.ties)
        elif found:
            found = _as_in(network, found)
            best = min(best or found, found, key=lambda at: (finish_of(*at), sum(at.starts)))
            watch.found(finish_of(*best))
    return best


def _tied(network: Network, floor: Starts, ties: Iterable[Tie]) -> Iterator[tuple[Network, Starts]]:
    """The network with tasks brought together, and its least starts; the first tie comes last."""
    for tie in reversed([*ties]):
        narrower = tied(network, tie)
        starts = earliest(narrower, narrower.arcs, _starting(narrower, floor), _SHORT)
        if starts is not None:
            yield narrower, starts


def _starting(network: Network, floor: Starts) -> list[int]:
    """The first starts of steps no sooner than a floor."""
    return [step.first(start) for step, start in zip(network.steps, floor, strict=True)]


def _as_in(network: Network, found: Schedule) -> Schedule:
    """A schedule of a narrower network as one of the whole."""
    ways = [way_of(network, found, members[0]) for members in network.choices]
    return Schedule(network.made(ways), found.starts)


def _of_orders(
    network: Network, floor: Starts, bound: int, tries: int, watch: Watch
) -> Schedule | None:
    """The best schedule of several orders: by least slack first, then shaken; None if none works.

    Every other order is that of the last schedule pushed to the right. Stops as soon as a plan
    finishes at ``bound``, before which none can.
    """
    late, random_ = least_slack(network, floor), random.Random(1)
    best: Schedule | None = None
    last: Schedule | None = None
    best_score: tuple[int, int] = (NEVER, NEVER)
    base: Starts = late
    for attempt in range(tries):
        if attempt % 2 and last is not None:
            key: Sequence[float] = right_justified(*last)
        else:
            key = shaken(base, random_) if attempt else base
        given = given_near(best, network, random_) if best else None
        last = generated(network, floor, priority_order(network, key), given)
        if last is None:
            continue
        score = finish_of(*last), sum(last.starts)
        if score <= best_score:  # an equal one leads elsewhere, but what came first stays
            base = right_justified(*last) if random_.random() < _NEAR else late
        if score < best_score:
            best, best_score = last, score
            watch.found(score[0])
        if score[0] <= bound or watch.enough():
            break
    return best


def least_slack(network: Network, floor: Starts) -> Starts:
    """The last starts that a loose finish leaves: who has least to wait for goes first."""
    loose = finish_of(network, floor) + sum(step.task.work for step in network.steps)
    return latest(network, network.arcs, min(loose, network.end)) or floor


def shaken(base: Starts, random_: random.Random) -> list[float]:
    """A priority with chance in it: days for a job of weeks, minutes for one of hours."""
    some = min(DAY, (max(base) - min(base)) / 20) * random_.choice((0.3, 1, 3, 5))
    return [priority + random_.gauss(0, some) for priority in base]


def given_near(best: Schedule, network: Network, random_: random.Random) -> dict[int, int]:
    """Choices made mostly as in the best schedule, some otherwise; the rest as they come."""
    given: dict[int, int] = {}
    for n, (j, *_) in enumerate(network.choices):
        ways, luck = network.steps[j].ways, random_.random()
        if luck < _SAME:
            given[n] = way_of(network, best, j)
        elif luck < _SAME + _OTHER:
            given[n] = random_.randrange(len(ways))
    return given
