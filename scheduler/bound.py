"""Starts and finishes that no plan can beat: work that must be done against hours to do it in.

The passes are blind to a person needed by many tasks at once. But all that a task waits for, and
the task itself, must fit into the hours of the person who does it before the task can be done; all
that waits for it must fit in after. And for a finish to be possible, the work of every set of tasks
that can't start before one minute and may not end after another must fit into the hours between
them (destructive improvement with an energy test).
"""

from collections.abc import Mapping, Set
from typing import NamedTuple

import networkx as nx

from scheduler.hours import NEVER, Spans
from scheduler.network import Network
from scheduler.passes import Starts, earliest, finish_of, latest
from scheduler.steps import Choice

_ROUNDS = 5  # of sharpening against passing on; two are nearly always enough


class _Work(NamedTuple):
    """What a person has to do: their hours, how many are ``alike``, and steps with loads [min].

    A load is what a step takes of their hours, of all its hands together.
    """

    hours: Spans
    alike: int
    loads: Mapping[int, int]


class Bounds:
    """Least and greatest starts, people's work counted in."""

    def __init__(self, network: Network) -> None:
        self.network = network
        graph = sequence(network)
        crews = {person: {*members} for person, members in network.crews.items()}
        ahead = [self._work({j} | nx.ancestors(graph, j), j, crews) for j in graph]
        behind = [self._work({j} | nx.descendants(graph, j), j, crews) for j in graph]
        self._ahead, self._behind = ahead, behind

    def _work(self, members: Set[int], j: int, crews: Mapping[str, Set[int]]) -> list[_Work]:
        """What each person of a step has to do among some steps.

        It is left out where the step is all of it, for that fits wherever the step is; of a choice
        it says more than its maps.
        """
        step, found = self.network.steps[j], []
        for person in step.hands:
            theirs = members & crews[person]
            if theirs != {j} or isinstance(step, Choice):
                loads = {i: self._load(person, i) for i in sorted(theirs)}
                found.append(_Work(*self._hours(person), loads))
        return found

    def _hours(self, person: str) -> tuple[Spans, int]:
        """A person's hours, and how many of them there are."""
        return self.network.hours[person], self.network.job.people[person].count

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
        arcs, moved = self.network.arcs, {*self.network.order}
        starts = latest(self.network, arcs, finish)
        for _ in range(_ROUNDS):
            if starts is None:
                return None
            before = list(starts)
            for j in reversed(self.network.order):
                self._pull(starts, j, moved)
            pulled = _other(starts, before)
            if not pulled:
                break
            starts = latest(self.network, arcs, finish, starts, pulled)
            moved = _other(starts or before, before)
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
        step, now = self.network.steps[j], self.network.job.now
        for hours, alike, loads in self._ahead[j]:
            load = most = 0
            for head, work in sorted(
                ((max(starts[i], now), work) for i, work in loads.items()), reverse=True
            ):
                load += work
                most = max(most, hours.count(head) + -(-load // alike))
            done = hours.minute(most - 1) + 1
            if done > step.finish(starts[j]):
                starts[j] = max(starts[j], step.first_start(min(done, NEVER)))
                if starts[j] >= NEVER:
                    return

    def _pull(self, starts: list[int], j: int, moved: set[int]) -> None:
        """Start ``j`` early enough for all its people must do from then on.

        That is so already where none of those steps has ``moved`` since. If ``j`` moves, it has.
        """
        step, steps = self.network.steps[j], self.network.steps
        for hours, alike, loads in self._behind[j]:
            if moved.isdisjoint(loads):
                continue
            load, least = 0, hours.total
            for end, work in sorted(
                (steps[i].last_finish(starts[i]), work) for i, work in loads.items()
            ):
                load += work
                least = min(least, hours.count(end) - -(-load // alike))
            begun = hours.minute(least)
            if begun < starts[j]:
                starts[j] = step.starts.last(begun)
                moved.add(j)

    def _load(self, person: str, j: int) -> int:
        """The minutes of a person's hours that a task takes, of all its hands together."""
        return self.network.steps[j].load * self.network.steps[j].hands[person]

    def fits(self, early: Starts, late: Starts, person: str) -> bool:
        """Whether the energy test leaves a chance that a person's work is done in between."""
        hours, count = self._hours(person)
        steps, members = self.network.steps, self.network.crews[person]
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


def _other(starts: Starts, before: Starts) -> set[int]:
    """The steps that start at another time than before."""
    return {j for j, (a, b) in enumerate(zip(starts, before, strict=True)) if a != b}


def sequence(network: Network) -> "nx.DiGraph[int]":
    """Steps as nodes, an edge to each that can't start before the other is done."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(network.steps)))
    graph.add_edges_from((arc.before, arc.after) for arc in network.arcs if arc.in_sequence)
    return graph
