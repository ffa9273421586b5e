"""Starts and finishes that no plan can beat: work that must be done against hours to do it in.

The passes are blind to a person needed by many tasks at once. But all that a task waits for, and
the task itself, must fit into the hours of the person who does it before the task can be done; all
that waits for it must fit in after. And for a finish to be possible, the work of every set of tasks
that can't start before one minute and may not end after another must fit into the hours between
them (destructive improvement with an energy test).
"""

from collections.abc import Set

import networkx as nx

from scheduler.hours import NEVER
from scheduler.network import Network
from scheduler.passes import Starts, earliest, finish_of, latest

_ROUNDS = 5  # of sharpening against passing on; two are nearly always enough


class Bounds:
    """Least and greatest starts, people's work counted in."""

    def __init__(self, network: Network) -> None:
        self.network = network
        graph = sequence(network)
        self._ahead = [{j} | nx.ancestors(graph, j) for j in graph]
        self._behind = [{j} | nx.descendants(graph, j) for j in graph]
        self._crews = {person: {*members} for person, members in network.crews.items()}

    def early(self, floor: Starts) -> list[int] | None:
        """Starts that no plan is under, given some; None if there is no plan before the horizon."""
        starts: list[int] | None = list(floor)
        for _ in range(_ROUNDS):
            if starts is None:
                return None
            before = list(starts)
            for j in self.network.order:
                self._push(starts, j)
            starts = earliest(self.network, self.network.arcs, starts)
            if starts == before:
                break
        return starts

    def late(self, finish: int, early: Starts) -> list[int] | None:
        """Starts that no plan done by ``finish`` is over; None if there is no such plan."""
        starts = self._latest(finish)
        if starts is None or any(a > b for a, b in zip(early, starts, strict=True)):
            return None
        return starts

    def _latest(self, finish: int) -> list[int] | None:
        starts = latest(self.network, self.network.arcs, finish)
        for _ in range(_ROUNDS):
            if starts is None:
                return None
            before = list(starts)
            for j in reversed(self.network.order):
                self._pull(starts, j)
            starts = latest(self.network, self.network.arcs, finish, starts)
            if starts == before:
                break
        return starts

    def finish(self, early: Starts, finish: int, above: int = 0) -> int:
        """The first minute by which the job may be done; no plan is earlier.

        It is looked for after ``above``, up to ``finish``.
        """
        low, high = max(finish_of(self.network, early) - 1, above), finish
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.possible(early, middle) else (middle, high)
        return high

    def possible(self, early: Starts, finish: int) -> bool:
        """Whether the test leaves a chance that all is done by ``finish``."""
        return self.room(early, finish) is not None

    def room(self, early: Starts, finish: int) -> list[int] | None:
        """The starts that no plan done by ``finish`` is over; None if the test rules all out."""
        late = self.late(finish, early)
        if late is None:
            return None
        fit = all(self.fits(early, late, person) for person in self.network.crews)
        return late if fit else None

    def _push(self, starts: list[int], j: int) -> None:
        """Start ``j`` so that all its people must do up to its end is done then."""
        step = self.network.steps[j]
        for person in step.hands:
            hours, count = self.network.hours[person], self.network.job.people[person].count
            load = 0
            for head, work in sorted(self._work(person, self._ahead[j], starts), reverse=True):
                load += work
                done = hours.minute(hours.count(head) + -(-load // count) - 1) + 1
                if done > step.finish(starts[j]):
                    starts[j] = max(starts[j], step.first_start(min(done, NEVER)))
                    if starts[j] >= NEVER:
                        return

    def _pull(self, starts: list[int], j: int) -> None:
        """Start ``j`` early enough for all its people must do from then on."""
        step, steps = self.network.steps[j], self.network.steps
        for person in step.hands:
            hours, count = self.network.hours[person], self.network.job.people[person].count
            members = self._behind[j] & self._crews[person]
            ends = sorted((steps[i].last_finish(starts[i]), self._load(person, i)) for i in members)
            load = 0
            for end, work in ends:
                load += work
                begun = hours.minute(hours.count(end) - -(-load // count))
                if begun < starts[j]:
                    starts[j] = step.starts.last(begun)

    def _work(self, person: str, members: Set[int], starts: Starts) -> list[tuple[int, int]]:
        """When each of their tasks among some begins or goes on at the earliest, and its load."""
        now = self.network.job.now
        mine = members & self._crews[person]
        return [(max(starts[i], now), self._load(person, i)) for i in mine]

    def _load(self, person: str, j: int) -> int:
        """The minutes of a person's hours that a task takes, of all its hands together."""
        return self.network.steps[j].load * self.network.steps[j].hands[person]

    def fits(self, early: Starts, late: Starts, person: str) -> bool:
        """Whether the energy test leaves a chance that a person's work is done in between."""
        hours, count = self.network.hours[person], self.network.job.people[person].count
        steps, members = self.network.steps, self._crews[person]
        heads = {j: max(early[j], self.network.job.now) for j in members}
        ends = sorted(
            (steps[j].last_finish(late[j]), heads[j], self._load(person, j)) for j in members
        )
        for head in sorted({*heads.values()}):
            before, load = hours.count(head), 0
            for end, start, work in ends:
                if start >= head:
                    load += work
                    if load > count * (hours.count(end) - before):
                        return False
        return True


def sequence(network: Network) -> "nx.DiGraph[int]":
    """Steps as nodes, an edge to each that can't start before the other is done."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(network.steps)))
    graph.add_edges_from(
        (arc.before, arc.after)
        for arc in network.arcs
        if (arc.of, arc.to) == ("finish", "start") and arc.lag.after(0) >= 0
    )
    return graph
