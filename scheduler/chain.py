"""The chain of reasons that leads back from a task or the finish, and where the time along it goes.

The chain is walked back; each stretch counts from where the last one began, so that nothing is
left over and nothing counts twice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.hours import NEVER, Spans
from scheduler.model import TimeSplit
from scheduler.network import Network
from scheduler.passes import Starts, finish_of, point
from scheduler.reasons import Binding
from scheduler.steps import Step

Spent = Literal[
    "work", "waiting", "outside_hours", "people_busy", "room_closed", "air", "dates"
]  # fmt: skip
"""What time goes into: the parts of a ``TimeSplit``."""


@dataclass(frozen=True)
class Stretch:
    """Minutes ``[start, end)`` of a chain, what they went into, and the step they went into it for.

    Waiting and hours that nobody has are those of the step that comes after them.
    """

    start: int
    end: int
    kind: Spent
    step: int

    @property
    def minutes(self) -> int:
        """How long it is [min]."""
        return self.end - self.start


def last_done(network: Network, starts: Starts) -> int | None:
    """The step that makes the finish of the job; None where there is nothing to do."""
    finish = finish_of(network, starts)
    return next((s.index for s in network.steps if s.finish(starts[s.index]) == finish), None)


def chain_to(bound: Sequence[Binding], j: int | None) -> tuple[int, ...]:
    """The steps whose reasons lead back from step ``j``, itself first."""
    if j is None:
        return ()
    chain = [j]
    while (arc := bound[chain[-1]].arc) is not None and arc.before not in chain:
        chain.append(arc.before)
    return tuple(chain)


def time_split(
    network: Network, starts: Starts, chain: Sequence[int], bound: Sequence[Binding]
) -> TimeSplit:
    """The elapsed time from the job's start to its finish along the driving chain."""
    span = network.job.start, finish_of(network, starts)
    return split_of(stretches(network, starts, chain, bound, span))


def split_of(parts: Iterable[Stretch]) -> TimeSplit:
    """How much goes into what [min]."""
    minutes: dict[str, int] = {}
    for part in parts:
        minutes[part.kind] = minutes.get(part.kind, 0) + part.minutes
    return TimeSplit(**minutes)


def stretches(
    network: Network,
    starts: Starts,
    chain: Sequence[int],
    bound: Sequence[Binding],
    span: tuple[int, int],
) -> tuple[Stretch, ...]:
    """The minutes of ``span``, which a chain of reasons ends, in the order they come."""
    walk = _Walk(*span)
    stood_ready = NEVER
    for j in chain:
        binding, step = bound[j], network.steps[j]
        walk.worked(step, starts[j], stood_ready)
        if binding.kind != "without":
            walk.idle(step, binding.released)
        walk.slipped(step, min(binding.free, binding.released))
        stood_ready = NEVER
        if binding.arc is None:
            walk.rest("dates", j)
        else:
            arc = binding.arc
            of = point(network.steps[arc.before], arc.of, starts[arc.before])
            walk.take(of, "room_closed" if arc.kind in {"room", "dust"} else "waiting", j)
            if arc.kind == "people":
                stood_ready = binding.ready
    for j in chain[-1:]:
        walk.rest("outside_hours", j)
    return tuple(reversed(walk.parts))


class _Walk:
    """Stretches taken from the end of a span backwards."""

    def __init__(self, start: int, end: int) -> None:
        self.start, self.cursor = start, end
        self.parts: list[Stretch] = []

    def take(self, since: int, kind: Spent, j: int) -> None:
        """What lies between ``since`` and the cursor is of that kind."""
        since = max(since, self.start)
        if since < self.cursor:
            self.parts.append(Stretch(since, self.cursor, kind, j))
            self.cursor = since

    def rest(self, kind: Spent, j: int) -> None:
        """All that is left is of that kind."""
        self.take(self.start, kind, j)

    def worked(self, step: Step, start: int, stood_ready: int) -> None:
        """A task on the chain; what follows it stood ready from ``stood_ready``."""
        for since, until in reversed(step.sessions(start)):
            self.idle(step, until)
            self.take(max(since, stood_ready), "people_busy", step.index)
            self.take(since, "work", step.index)
        self.take(start, "work", step.index)

    def idle(self, step: Step, since: int) -> None:
        """Minutes in which a task can't be worked on: bad air, or its people are not there."""
        kinds: Mapping[Spent, Spans] = {"air": step.bad_air, "people_busy": step.busy}
        self._off(step, since, {**kinds, "dates": step.short})

    def slipped(self, step: Step, since: int) -> None:
        """Minutes in which nobody did a task though nothing but hours and air kept them from it."""
        kinds: Mapping[Spent, Spans] = {"air": step.bad_air, "people_busy": step.busy}
        self._off(step, since, {**kinds, "dates": step.free})

    def _off(self, step: Step, since: int, kinds: Mapping[Spent, Spans]) -> None:
        since = max(since, self.start)
        if since >= self.cursor:
            return
        # Without people it is too short a while of good air.
        otherwise: Spent = "outside_hours" if step.task.who else "air"
        cursor = self.cursor
        parts = [(*p, kind) for kind, free in kinds.items() for p in free.within(since, cursor)]
        for start, end, kind in sorted(parts, reverse=True):
            self.take(end, otherwise, step.index)
            self.take(start, kind, step.index)
        self.take(since, otherwise, step.index)
