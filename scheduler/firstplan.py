"""A first plan in milliseconds: tasks placed one after another, each as early as it can be.

Serial schedule generation: tasks are taken in the order of a priority, links first, and each goes
to the earliest place its links, people and rooms leave. A window that breaks moves the earlier
task to the first start that keeps it, and everything placed since is placed anew. Many orders are
tried from a fixed seed, the same on every run.
"""

import heapq
import random
from collections.abc import Sequence

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
from scheduler.steps import Arc, Closure
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
        self.crews: dict[str, list[int]] = {person: [] for person in network.job.people}
        self.into: list[list[Arc]] = [[] for _ in network.steps]
        self.windows: list[list[Arc]] = [[] for _ in network.steps]
        self.held: list[list[Arc]] = [[] for _ in network.steps]
        self.closing: list[list[Closure]] = [[] for _ in network.steps]
        self.closed: list[list[Closure]] = [[] for _ in network.steps]
        for closure in network.undecided:
            self.closing[closure.by].append(closure)
            for i in closure.others:
                self.closed[i].append(closure)
        for arc in network.arcs:
            if arc.kind == "window":
                self.windows[arc.before].append(arc)
                self.held[arc.after].append(arc)
            else:
                self.into[arc.after].append(arc)

    def place(self, j: int) -> bool:
        """Put a step at its earliest place; False if there is none."""
        step, start = self.network.steps[j], self.floor[j]
        for arc in self.into[j]:
            bound = release(self.network, arc, self.starts)
            start = max(start, earliest_start(step, arc.to, bound))
        while start < NEVER:
            finish = step.finish(start)
            free = self._free_from(j, start, finish)
            if free <= start:
                break
            start = step.first(free)
        if start >= NEVER or step.finish(start) > step.deadline:
            return False
        self._put(j, start)
        return True

    def _put(self, j: int, start: int) -> None:
        step = self.network.steps[j]
        self.starts[j], self.finishes[j] = start, step.finish(start)
        for person in step.hands:
            self.crews[person].append(j)

    def remove(self, j: int) -> None:
        """Take a step out again."""
        self.starts[j] = self.finishes[j] = NEVER
        for person in self.network.steps[j].hands:
            if j in self.crews[person]:
                self.crews[person].remove(j)

    def put(self, starts: Starts) -> None:
        """Place every step where a schedule has it."""
        for j, start in enumerate(starts):
            self._put(j, start)

    def pull(self, j: int) -> bool:
        """Move a step to its earliest place among all the others; False if it is there."""
        step, start, floor = self.network.steps[j], self.starts[j], self.floor[j]
        self.remove(j)
        for arc in self.held[j]:
            bound = release(self.network, arc, self.starts)
            self.floor[j] = max(self.floor[j], earliest_start(step, arc.to, bound))
        moved = self.place(j) and self.starts[j] < start
        if not moved:
            self.remove(j)
            self._put(j, start)
        self.floor[j] = floor
        return moved

    def broken_window(self, j: int) -> tuple[int, int] | None:
        """The earlier step of a window that ``j`` now breaks, and the first start that mends it."""
        for arc in self.windows[j]:
            i = arc.after
            bound = release(self.network, arc, self.starts)
            mended = earliest_start(self.network.steps[i], arc.to, bound)
            if mended > self.starts[i]:
                return i, mended
        return None

    def _free_from(self, j: int, start: int, finish: int) -> int:
        """``start`` if its people and room are free then; else the next moment to try."""
        return max(self._crew_free_from(j, start, finish), self._room_free_from(j, start, finish))

    def _crew_free_from(self, j: int, start: int, finish: int) -> int:
        for person, wanted in self.network.steps[j].hands.items():
            left = self.network.job.people[person].count - wanted
            free = self._enough_from(person, left, start, finish)
            if free > start:
                return free
        return start

    def _enough_from(self, person: str, most: int, start: int, finish: int) -> int:
        """``start`` if no more than ``most`` of a person are busy until ``finish``.

        Else the end of the first crowd of more: what starts before that meets it, too.
        """
        changes: list[tuple[int, int]] = []
        for i in self.crews[person]:
            if self.starts[i] < finish and start < self.finishes[i]:
                hands = self.network.steps[i].hands[person]
                changes += (max(self.starts[i], start), hands), (self.finishes[i], -hands)
        busy, crowded = 0, False
        for at, more in sorted(changes):  # at the same minute, who leaves before who comes
            busy += more
            if crowded and busy <= most:
                return at
            crowded = crowded or busy > most
        return start

    def _room_free_from(self, j: int, start: int, finish: int) -> int:
        for closure in self.closing[j]:
            closed_until = closure.lag.after(finish)
            for i in closure.others:
                if collide(self.starts[i], self.finishes[i], start, closed_until):
                    return max(self.finishes[i], start + 1)
        for closure in self.closed[j]:
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
    waiting = [0] * len(network.steps)
    out: list[list[int]] = [[] for _ in network.steps]
    for arc in network.arcs:
        if arc.kind != "window":
            waiting[arc.after] += 1
            out[arc.before].append(arc.after)
    heap = [(key[j], j) for j, n in enumerate(waiting) if n == 0]
    heapq.heapify(heap)
    order = []
    while heap:
        _, i = heapq.heappop(heap)
        order.append(i)
        for j in out[i]:
            waiting[j] -= 1
            if waiting[j] == 0:
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
