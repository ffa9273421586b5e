"""What all runs of a job have in common."""

from functools import cached_property
from typing import NamedTuple

import networkx as nx

from scheduler.hours import NEVER
from scheduler.model import Plan
from scheduler.network import Network
from scheduler.odds.knownair import Known, known_air
from scheduler.odds.stretches import Stretches, stretches
from scheduler.oddsfile import Odds
from scheduler.passes import order_arcs, release
from scheduler.steps import Arc


class Place(NamedTuple):
    """A room: its air as planned, and how far temperature and humidity are known to stray."""

    planned: Stretches
    known: tuple[Known, Known]


class Order:
    """What all runs have in common: the arcs that lead to each step, and the order of steps."""

    def __init__(self, network: Network, plan: Plan, odds: Odds) -> None:
        self.network, self.job, self.odds = network, network.job, odds
        self.starts = [plan.task[step.task.id].start for step in network.steps]
        crews = order_arcs(network, self.starts)
        assert crews is not None  # a plan has no collisions
        self.windows = [i for i, arc in enumerate(network.arcs) if arc.kind == "window"]
        self.into: list[list[Arc]] = [[] for _ in network.steps]
        for arc in (*network.arcs, *crews):
            if not arc.backward:
                self.into[arc.after].append(arc)
        self.order, self.at_once = self._sorted()
        self._places: dict[str | None, Place] = {}

    def up_to(self, step: int) -> tuple[int, ...]:
        """The steps that come before one, and that one, in order."""
        wanted, ahead = {step}, [step]
        while ahead:
            fresh = {arc.before for arc in self.into[ahead.pop()]} - wanted
            wanted |= fresh
            ahead += fresh
        return tuple(j for j in self.order if j in wanted)

    def place(self, room: str | None) -> Place:
        """A room with the air planned for it, and what was read of it."""
        if room not in self._places:
            job = self.job
            by = stretches(job.air_of(room), job.timezone, job.start, self.network.end)
            self._places[room] = Place(by, known_air(job, room, self.odds.air, by))
        return self._places[room]

    def _sorted(self) -> tuple[tuple[int, ...], bool]:
        """The steps, each after those that release it; and whether there is such an order.

        A lead or a link between finishes may go against the order of a crew; then as planned.
        """
        graph = self._graph
        if nx.is_directed_acyclic_graph(graph):
            return tuple(nx.lexicographical_topological_sort(graph)), True
        return tuple(sorted(range(len(self.into)), key=lambda j: (self.starts[j], j))), False

    @cached_property
    def _graph(self) -> "nx.DiGraph[int]":
        graph = nx.DiGraph((arc.before, arc.after) for arcs in self.into for arc in arcs)
        graph.add_nodes_from(range(len(self.into)))
        return graph

    @cached_property
    def _in_rings(self) -> set[int]:
        """The steps that hold one another up: none of them can be asked alone what holds it."""
        rings = nx.strongly_connected_components(self._graph)
        return {j for ring in rings if len(ring) > 1 for j in ring}

    @cached_property
    def dates(self) -> list[int]:
        """The minute before which no date lets a step begin."""
        first = self.job.start
        return [max(first, step.task.not_before or first) for step in self.network.steps]

    @cached_property
    def put_off(self) -> list[int]:
        """The minute before which no run begins a step though all else would let it.

        As planned, where no date, link, crew or room has it start so late; and where steps hold
        one another up, of which all may be put off together.
        """
        return [self._put_off(j) for j in range(len(self.into))]

    def _put_off(self, j: int) -> int:
        step, start = self.network.steps[j], self.starts[j]
        if j in self._in_rings:
            return start
        earliest = step.first(self.dates[j])
        for arc in self.into[j]:
            bound = release(self.network, arc, self.starts)
            at = step.first(bound) if arc.to == "start" else step.first_start(bound)
            earliest = max(earliest, at)
        return start if start > earliest else -NEVER
