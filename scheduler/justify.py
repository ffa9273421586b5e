"""A schedule pushed to the right: everything as late as its finish leaves, hands counted.

Taken from the last finish back, the mirror of placing tasks as early as can be. Where it starts
things is a good order to place them in anew: what turned out to have room goes later, and the
whole gets shorter or stays (justification; V. Valls, F. Ballestín and S. Quintanilla, European
Journal of Operational Research 165, 2005, from memory).
"""

from scheduler.network import Network
from scheduler.passes import Starts, ceilings, finish_of, latest_start, point


def right_justified(network: Network, starts: Starts) -> list[int]:
    """The starts, each as late as what follows and the people on it leave; rooms are not looked at.

    It serves to order tasks, and need not be a plan.
    """
    pushed = _Pushed(network, starts)
    ends = [step.finish(start) for step, start in zip(network.steps, starts, strict=True)]
    for j in sorted(range(len(starts)), key=lambda j: (-ends[j], -starts[j])):
        pushed.push(j)
    return pushed.starts


class _Pushed:
    """Starts, of which some have been pushed, and when people are busy with those."""

    def __init__(self, network: Network, starts: Starts) -> None:
        self.network, self.starts = network, list(starts)
        self.top = ceilings(network, finish_of(network, starts))
        self.busy: dict[str, list[tuple[int, int, int]]] = {who: [] for who in network.job.people}
        self.out = [
            [arc for arc in network.arcs if arc.before == j and arc.kind != "window"]
            for j in range(len(starts))
        ]

    def push(self, j: int) -> None:
        """Start a step as late as it can; nothing that is not pushed yet is in its way."""
        step, steps = self.network.steps[j], self.network.steps
        start = self.top[j]
        for arc in self.out[j]:
            after = point(steps[arc.after], arc.to, self.starts[arc.after])
            start = min(start, latest_start(step, arc.of, arc.lag.before(after)))
        while start > self.starts[j]:
            until = self._free_until(j, start, step.finish(start))
            if until >= step.finish(start):
                break
            start = step.last_start(until)
        self.starts[j] = max(start, self.starts[j])
        for who, hands in step.hands.items():
            self.busy[who].append((self.starts[j], step.finish(self.starts[j]), hands))

    def _free_until(self, j: int, start: int, finish: int) -> int:
        """``finish`` if enough of its people are free; else the start of the last crowd."""
        until = finish
        for who, wanted in self.network.steps[j].hands.items():
            most = self.network.job.people[who].count - wanted
            until = min(until, _enough_until(self.busy[who], most, start, finish))
        return until


def _enough_until(busy: list[tuple[int, int, int]], most: int, start: int, finish: int) -> int:
    """``finish`` if no more than ``most`` are busy from ``start`` on.

    Else where the last crowd begins: any later finish meets it, too.
    """
    changes: list[tuple[int, int]] = []
    for since, until, hands in busy:
        if since < finish and start < until:
            changes += (-min(until, finish), hands), (-since, -hands)
    there, crowded = 0, False
    for at, more in sorted(changes):
        there += more
        if crowded and there <= most:
            return -at
        crowded = crowded or there > most
    return finish
