"""A schedule pushed to the right: everything as late as its finish leaves, hands counted.

Taken from the last finish back, the mirror of placing tasks as early as can be. Where it starts
things is a good order to place them in anew: what turned out to have room goes later, and the
whole gets shorter or stays (justification; V. Valls, F. Ballestín and S. Quintanilla, European
Journal of Operational Research 165, 2005, from memory).
"""

from scheduler.busy import Busy
from scheduler.network import Network
from scheduler.passes import Starts, ceilings, latest_start


def right_justified(network: Network, starts: Starts, finishes: Starts | None = None) -> list[int]:
    """The starts, each as late as what follows and the people on it leave; rooms are not looked at.

    It serves to order tasks, and need not be a plan. ``finishes`` are by when each step must be
    done; without them, by the last finish of all.
    """
    pushed = _Pushed(network, starts, finishes)
    ends = tuple(pushed.finishes)
    for j in sorted(range(len(starts)), key=lambda j: (-ends[j], -starts[j])):
        pushed.push(j)
    return pushed.starts


class _Pushed:
    """Starts, of which some have been pushed, and when people are busy with those."""

    def __init__(self, network: Network, starts: Starts, by: Starts | None) -> None:
        self.network, self.starts = network, list(starts)
        self.finishes = [s.finish(start) for s, start in zip(network.steps, starts, strict=True)]
        if by is None:
            self.top = ceilings(network, max(self.finishes, default=0))
        else:
            until = zip(network.steps, by, strict=True)
            self.top = [step.last_start(min(end, step.deadline)) for step, end in until]
        self.busy = Busy(network.roster)

    def push(self, j: int) -> None:
        """Start a step as late as it can; nothing that is not pushed yet is in its way."""
        step, start = self.network.steps[j], self._latest(j)
        while start > self.starts[j]:
            finish = step.finish(start)
            until = self.busy.free_until(j, start, finish)
            if until >= finish:
                self.starts[j], self.finishes[j] = start, finish
                break
            start = step.last_start(until)
        self.busy.hold(j, self.starts[j], self.finishes[j])

    def _latest(self, j: int) -> int:
        """The last start that its dates and what follows leave."""
        step, start = self.network.steps[j], self.top[j]
        for arc in self.network.out[j]:
            after = (self.starts if arc.to == "start" else self.finishes)[arc.after]
            start = min(start, latest_start(step, arc.of, arc.lag.before(after)))
        return start
