"""Where the elapsed time of a job goes: split over its driving chain, without remainder."""

from collections.abc import Mapping, Sequence

from scheduler.hours import NEVER, Spans, subtract
from scheduler.model import TimeSplit
from scheduler.network import Network
from scheduler.passes import Starts, finish_of, point
from scheduler.reasons import Binding
from scheduler.steps import Step


def time_split(
    network: Network, starts: Starts, chain: Sequence[int], bound: Sequence[Binding]
) -> TimeSplit:
    """The elapsed time from the job's start to its finish along the driving chain.

    The chain is walked back from the finish; each stretch counts from where the last one began, so
    that nothing is left over and nothing counts twice.
    """
    split = _Split(network, finish_of(network, starts))
    stood_ready = NEVER
    for j in chain:
        binding, step = bound[j], network.steps[j]
        split.worked(step, starts[j], stood_ready)
        split.idle(step, binding.released)
        split.slipped(step, binding.free)
        stood_ready = NEVER
        if binding.arc is None:
            split.rest("dates")
        else:
            of = point(network.steps[binding.arc.before], binding.arc.of,
                       starts[binding.arc.before])  # fmt: skip
            closed = binding.arc.kind in {"room", "dust"}
            split.take(of, "room_closed" if closed else "waiting")
            if binding.arc.kind == "people":
                stood_ready = binding.ready
    split.rest("outside_hours")
    return TimeSplit(**split.minutes)


class _Split:
    """Minutes by kind, taken from the finish backwards."""

    def __init__(self, network: Network, finish: int) -> None:
        self.start, self.cursor = network.job.start, finish
        self.minutes: dict[str, int] = {}

    def take(self, since: int, kind: str) -> None:
        """What lies between ``since`` and the cursor is of that kind."""
        since = max(since, self.start)
        if since < self.cursor:
            self.minutes[kind] = self.minutes.get(kind, 0) + self.cursor - since
            self.cursor = since

    def rest(self, kind: str) -> None:
        """All that is left is of that kind."""
        self.take(self.start, kind)

    def worked(self, step: Step, start: int, stood_ready: int) -> None:
        """A task on the chain; what follows it stood ready from ``stood_ready``."""
        for since, until in reversed(step.sessions(start)):
            self.idle(step, until)
            self.take(max(since, stood_ready), "people_busy")
            self.take(since, "work")
        self.take(start, "work")

    def idle(self, step: Step, since: int) -> None:
        """Minutes in which a task can't be worked on: the air is wrong, or nobody is there."""
        self._off(step, since, {"air": subtract(step.present, step.workable)})

    def slipped(self, step: Step, since: int) -> None:
        """Minutes in which nobody did a task though nothing but hours and air kept them from it."""
        bad_air = subtract(step.present, step.workable)
        self._off(step, since, {"air": bad_air, "dates": step.workable})

    def _off(self, step: Step, since: int, kinds: Mapping[str, Spans]) -> None:
        since = max(since, self.start)
        if since >= self.cursor:
            return
        otherwise = "outside_hours" if step.task.who else "air"  # too short a while of good air
        cursor = self.cursor
        parts = ((*p, kind) for kind, free in kinds.items() for p in free.within(since, cursor))
        for start, end, kind in sorted(parts, reverse=True):
            self.take(end, otherwise)
            self.take(start, kind)
        self.take(since, otherwise)
