"""The forward and the backward pass, exact to the minute, over links of every kind.

Both are fixpoints of monotone maps, so they also settle windows (which push the earlier task) and
any order of crews given as further arcs. The pass forward gives the least starts that obey every
arc; the pass backward the greatest.
"""

import heapq
from collections import deque
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import islice
from typing import NamedTuple

from scheduler.hours import NEVER
from scheduler.limits import order_of_days
from scheduler.model import End
from scheduler.network import Network
from scheduler.steps import Arc, Offset, Step

Starts = Sequence[int]


class Schedule(NamedTuple):
    """A start of each step of a network in which every choice is made."""

    network: Network
    starts: Starts


_PATIENCE = 300_000
"""Steps looked at in one forward pass. Windows that contradict each other chase one another to the
horizon; where they gain a minute a round that is this long a chase."""


def point(step: Step, end: End, start: int) -> int:
    """The minute of one end of a step that starts at ``start``."""
    return start if end == "start" else step.finish(start)


def way_of(network: Network, made: Schedule, j: int) -> int:
    """Which way of a step in a network a schedule of it takes, by its number."""
    taken = made.network.steps[j].task.hands
    return next(n for n, way in enumerate(network.steps[j].ways) if way.task.hands == taken)


def last_point(step: Step, end: End, start: int) -> int:
    """The last minute that one end of a step can have that starts by ``start``."""
    return start if end == "start" else step.last_finish(start)


def release(network: Network, arc: Arc, starts: Starts) -> int:
    """The minute before which the arc does not let its later end happen."""
    return arc.lag.after(point(network.steps[arc.before], arc.of, starts[arc.before]))


def earliest_start(step: Step, end: End, bound: int) -> int:
    """The first start that has ``end`` at or after ``bound``."""
    if bound >= NEVER:
        return NEVER
    return step.first(bound) if end == "start" else step.first_start(bound)


def latest_start(step: Step, end: End, bound: int) -> int:
    """The last start that has ``end`` at or before ``bound``."""
    return step.starts.last(bound) if end == "start" else step.last_start(bound)


def floors(network: Network) -> list[int]:
    """The first start of each step that its own dates and hours allow; ``NEVER`` if none."""
    return [step.first(step.not_before) for step in network.steps]


class _Agenda:
    """Steps still to look at, first come first served, none of them twice."""

    def __init__(self, steps: Iterable[int]) -> None:
        self._queue = deque(steps)
        self._queued = set(self._queue)

    def __iter__(self) -> Iterator[int]:
        while self._queue:
            step = self._queue.popleft()
            self._queued.remove(step)
            yield step

    def add(self, step: int) -> None:
        if step not in self._queued:
            self._queue.append(step)
            self._queued.add(step)


def earliest(
    network: Network,
    arcs: Iterable[Arc],
    floor: Starts | None = None,
    patience: int = _PATIENCE,
) -> list[int] | None:
    """The least starts at or after ``floor`` that obey all arcs; None if the horizon has none.

    Dates by which tasks must finish are not looked at: compare with ``in_time``. With ``patience``
    for fewer steps to look at, None may also mean that it ran out.
    """
    steps, starts = network.steps, list(floor or floors(network))
    if any(start >= NEVER for start in starts):
        return None
    out: list[list[Arc]] = [[] for _ in steps]
    for arc in arcs:
        out[arc.before].append(arc)
    agenda = _Agenda(network.order)
    for i in islice(agenda, patience):
        for arc in out[i]:
            j = arc.after
            start = earliest_start(steps[j], arc.to, release(network, arc, starts))
            if start >= NEVER:
                return None
            if start > starts[j]:
                starts[j] = start
                agenda.add(j)
    return starts if next(iter(agenda), None) is None else None


def ceilings(network: Network, finish: int) -> list[int]:
    """The last start of each step that its own dates and hours allow; ``-NEVER`` if none."""
    return [step.last_start(min(finish, step.deadline)) for step in network.steps]


def latest(
    network: Network,
    arcs: Iterable[Arc],
    finish: int,
    ceiling: Starts | None = None,
    moved: Collection[int] | None = None,
) -> list[int] | None:
    """The greatest starts at or before ``ceiling`` that obey all arcs and dates, by ``finish``.

    None if some step then has no start left at or after the job's own. Where the ceiling obeyed
    them before some steps were ``moved``, those are enough to begin with.
    """
    steps, first = network.steps, network.job.start
    starts = list(ceiling or ceilings(network, finish))
    if any(start < first for start in starts):
        return None
    into: list[list[Arc]] = [[] for _ in steps]
    for arc in arcs:
        into[arc.after].append(arc)
    agenda = _Agenda(j for j in reversed(network.order) if moved is None or j in moved)
    for j in agenda:
        for arc in into[j]:
            i = arc.before
            bound = arc.lag.before(last_point(steps[j], arc.to, starts[j]))
            start = latest_start(steps[i], arc.of, bound)
            if start < first:
                return None
            if start < starts[i]:
                starts[i] = start
                agenda.add(i)
    return starts


def finish_of(network: Network, starts: Starts) -> int:
    """The finish of the whole job."""
    ends = (step.finish(start) for step, start in zip(network.steps, starts, strict=True))
    return max(ends, default=network.job.start)


def in_time(network: Network, starts: Starts) -> bool:
    """Whether every task keeps the date by which it must finish."""
    pairs = zip(network.steps, starts, strict=True)
    return all(step.finish(start) <= step.deadline for step, start in pairs)


def collide(a: int, b: int, c: int, d: int) -> bool:
    """Whether the spans ``[a, b)`` and ``[c, d)`` collide.

    An empty span collides only strictly inside the other.
    """
    return a < d and c < b


def order_arcs(network: Network, starts: Starts) -> tuple[Arc, ...] | None:
    """The order of crews and closed rooms in a schedule, and what shares a day, as arcs.

    None if it has a collision, or somebody comes on too many days or for too little.
    """
    crews = _crew_arcs(network, starts)
    rooms = None if crews is None else _closure_arcs(network, starts)
    days = None if rooms is None else order_of_days(network, starts)
    return None if crews is None or rooms is None or days is None else crews + rooms + days


def _crew_arcs(network: Network, starts: Starts) -> tuple[Arc, ...] | None:
    """From each task to those that take over some of its people."""
    arcs: list[Arc] = []
    for person, members in network.crews.items():
        handed_on = _handed_on(network, starts, person, members)
        if handed_on is None:
            return None
        arcs += (
            Arc(i, "finish", j, "start", Offset(0), "people", who=person) for i, j in handed_on
        )
    return tuple(arcs)


def _handed_on(
    network: Network, starts: Starts, person: str, members: Iterable[int]
) -> list[tuple[int, int]] | None:
    """From which task to which a person goes; None where there are not enough of them."""
    handed_on: list[tuple[int, int]] = []
    free = [(-NEVER, -1, network.job.people[person].count)]  # since when, after what, how many
    for j in sorted(members, key=lambda i: (starts[i], i)):
        step, wanted = network.steps[j], network.steps[j].hands[person]
        while wanted:
            since, i, several = heapq.heappop(free) if free else (NEVER, -1, 0)
            if since > starts[j]:  # those free longest go first, so that nobody waits for others
                return None
            taken = min(several, wanted)
            wanted -= taken
            if taken < several:
                heapq.heappush(free, (since, i, several - taken))
            if i >= 0:
                handed_on.append((i, j))
        heapq.heappush(free, (step.finish(starts[j]), j, step.hands[person]))
    return handed_on


def _closure_arcs(network: Network, starts: Starts) -> tuple[Arc, ...] | None:
    arcs = []
    steps = network.steps
    for closure in network.undecided:
        k = closure.by
        opens = closure.lag.after(steps[k].finish(starts[k]))
        for j in closure.others:
            if starts[j] >= opens:
                lag, stage = closure.lag, closure.stage
                arcs.append(Arc(k, "finish", j, "start", lag, closure.kind, stage=stage))
            elif steps[j].finish(starts[j]) <= starts[k]:
                arcs.append(Arc(j, "finish", k, "start", Offset(0), closure.kind))
            else:
                return None
    return tuple(arcs)
