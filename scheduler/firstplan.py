"""A first plan in milliseconds: tasks placed one after another, each as early as it can be.

Serial schedule generation: tasks are taken in the order of a priority, links first, and each goes
to the earliest place its links, people and rooms leave. A window that breaks moves the earlier
task to the first start that keeps it, and everything placed since is placed anew. Many orders are
tried from a fixed seed, the same on every run.
"""

import heapq
import random
from collections.abc import Sequence

from scheduler.busy import Busy
from scheduler.clock import DAY
from scheduler.hours import NEVER
from scheduler.justify import right_justified
from scheduler.network import Network
from scheduler.passes import (
    Starts,
    collide,
    earliest_start,
    finish_of,
    floors,
    latest,
    release,
)
from scheduler.watch import UNWATCHED, Watch

_NEAR = 0.7
"""How often further orders are sought near the best schedule, and not near the least slack."""


class _Placement:
    """The tasks placed so far, and where the next can go."""

    def __init__(self, network: Network, floor: Starts) -> None:
        self.network = network
        self.floor = list(floor)
        self.starts = [NEVER] * len(network.steps)
        self.finishes = [NEVER] * len(network.steps)
        self.busy = Busy(network.roster)

    def place(self, j: int) -> bool:
        """Put a step at its earliest place; False if there is none."""
        step, start = self.network.steps[j], self.floor[j]
        for arc in self.network.into[j]:
            before = (self.finishes if arc.of == "finish" else self.starts)[arc.before]
            bound = arc.lag.after(before)
            if bound > start or arc.to == "finish":
                start = max(start, earliest_start(step, arc.to, bound))
        while start < NEVER:
            finish = step.finish(start)
            free = self._free_from(j, start, finish)
            if free <= start:
                self._put(j, start, finish)
                return finish <= step.deadline
            start = step.first(free)
        return False

    def _put(self, j: int, start: int, finish: int) -> None:
        self.starts[j], self.finishes[j] = start, finish
        self.busy.hold(j, start, finish)

    def remove(self, j: int) -> None:
        """Take a step out again."""
        if self.starts[j] < NEVER:
            self.busy.let_go(j, self.starts[j], self.finishes[j])
            self.starts[j] = self.finishes[j] = NEVER

    def put(self, starts: Starts) -> None:
        """Place every step where a schedule has it."""
        for step, start in zip(self.network.steps, starts, strict=True):
            self._put(step.index, start, step.finish(start))

    def pull(self, j: int) -> bool:
        """Move a step to its earliest place among all the others; False if it is there."""
        step, floor = self.network.steps[j], self.floor[j]
        start, finish = self.starts[j], self.finishes[j]
        self.remove(j)
        for arc in self.network.held[j]:
            bound = release(self.network, arc, self.starts)
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
            bound = release(self.network, arc, self.starts)
            mended = earliest_start(self.network.steps[i], arc.to, bound)
            if mended > self.starts[i]:
                return i, mended
        return None

    def _free_from(self, j: int, start: int, finish: int) -> int:
        """``start`` if its people and room are free then; else the next moment to try."""
        free = self.busy.free_from(j, start, finish)
        return max(free, self._room_free_from(j, start, finish))

    def _room_free_from(self, j: int, start: int, finish: int) -> int:
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
    """Starts of all steps, placed in an order that every link allows; None where one finds none."""
    placement = _Placement(network, floor)
    place_of = {j: n for n, j in enumerate(order)}
    n, patience = 0, 30 * len(order) + 100
    while n < len(order) and patience:
        patience -= 1
        if not placement.place(order[n]):
            return None
        broken = placement.broken_window(order[n])
        if broken is None:
            n += 1
            continue
        i, mended = broken
        for j in order[place_of[i] : n + 1]:
            placement.remove(j)
        placement.floor[i] = mended
        n = place_of[i]
    return placement.starts if n == len(order) else None


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
) -> list[int] | None:
    """The best starts of several orders: by least slack first, then shaken; None if none works.

    Every other order is that of the last schedule pushed to the right. Stops as soon as a plan
    finishes at ``bound``, before which none can.
    """
    loose = finish_of(network, floor) + sum(step.task.work for step in network.steps)
    late = latest(network, network.arcs, min(loose, network.end)) or list(floor)
    random_ = random.Random(1)
    best, starts = None, None
    best_score: tuple[int, int] = (NEVER, NEVER)
    base: Starts = late
    for attempt in range(tries):
        if attempt % 2 and starts is not None:
            key: Sequence[float] = right_justified(network, starts)
        else:
            key = _shaken(base, random_) if attempt else base
        starts = serial(network, floor, priority_order(network, key))
        if starts is None:
            continue
        score = finish_of(network, starts), sum(starts)
        if score <= best_score:  # an equal one leads elsewhere, but what came first stays
            base = right_justified(network, starts) if random_.random() < _NEAR else late
        if score < best_score:
            best, best_score = starts, score
            watch.found(score[0])
        if score[0] <= bound or watch.enough():
            break
    return best


def _shaken(base: Starts, random_: random.Random) -> list[float]:
    """A priority with chance in it: days for a job of weeks, minutes for one of hours."""
    some = min(DAY, (max(base) - min(base)) / 20) * random_.choice((0.3, 1, 3, 5))
    return [priority + random_.gauss(0, some) for priority in base]
