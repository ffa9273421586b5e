"""A job run many times, each time with other luck, in the order of crews and rooms of its plan.

A pass forward over all runs at once: every task starts as early as what comes before it, people's
hours and the air let it in that run. What the plan puts off though no rule does, so that somebody
comes on fewer days or a window can be kept, is not begun earlier in any run. Windows are not
enforced: whether one is missed is counted. With nothing left to chance every run is the plan.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import networkx as nx
import numpy as np

from scheduler.hours import NEVER
from scheduler.model import Conditions, Plan, Stage
from scheduler.network import Network
from scheduler.odds.luck import Luck, Seed, failures_of
from scheduler.odds.many import ManySteps
from scheduler.odds.roomair import STRETCH, Clockwork, Given, RoomAir
from scheduler.oddsfile import Odds
from scheduler.passes import order_arcs, release
from scheduler.progress import Flags, Minutes, Progress, Ready, Reals
from scheduler.steps import Arc

LOT = 2_500
"""Runs made at once: bounds the memory."""

_ROUNDS = 50
"""How often air out of limits is waited out before a start, a stretch at a time."""

Progressed = Callable[[int, int], None]
GivenAir = Callable[[str | None, Minutes], tuple[Given, Given]]


@dataclass(frozen=True)
class Source:
    """A source of chance: ``work`` or ``hold`` of a task, a ``product``, the ``air`` of a room."""

    kind: str
    of: str


@dataclass(frozen=True)
class Runs:
    """What came out of many runs, one column each; tasks in the order of the job.

    Args:
        starts, finishes: of each task [UTC min]; ``NEVER`` where it never comes to it.
        free: from when what comes before each task let it start, its hours and air not counted.
        critical: how many runs each task was on the driving chain of.
        missed: for each window of the network, in how many runs it was missed.
        luck: how each source of chance fell, by run; what is certain is left out.
    """

    starts: Minutes
    finishes: Minutes
    free: Minutes
    critical: Minutes
    missed: Mapping[int, int]
    luck: Mapping[Source, Reals]

    @cached_property
    def finish(self) -> Minutes:
        """The finish of the whole job, by run."""
        return np.asarray(self.finishes.max(axis=0))


def make_runs(  # noqa: PLR0917, PLR0913
    network: Network, plan: Plan, odds: Odds, n: int, seed: int, given: GivenAir | None = None,
    progressed: Progressed = lambda done, of: None,
) -> Runs:  # fmt: skip
    """A job run ``n`` times.

    Args:
        network: the job compiled, far past the plan's finish.
        plan: whose order of crews and rooms is kept.
        odds: what is uncertain where the job doesn't say it.
        n: how many runs, 1 or more.
        seed: the same number, the same luck.
        given: what is known of a room's air over the first stretches.
        progressed: told now and then how many runs are made, of how many.
    """
    order = _Order(network, plan)
    lots = []
    for part, first in enumerate(range(0, n, LOT)):
        size = min(LOT, n - first)
        lots.append(_Lot(order, odds, size, Seed(seed, part), given).runs())
        progressed(first + size, n)
    return _joined(lots)


def _joined(lots: Sequence[Runs]) -> Runs:
    first = lots[0]
    return Runs(
        starts=np.concatenate([lot.starts for lot in lots], axis=1),
        finishes=np.concatenate([lot.finishes for lot in lots], axis=1),
        free=np.concatenate([lot.free for lot in lots], axis=1),
        critical=np.sum([lot.critical for lot in lots], axis=0),
        missed={arc: sum(lot.missed[arc] for lot in lots) for arc in first.missed},
        luck={s: np.concatenate([lot.luck[s] for lot in lots]) for s in first.luck},
    )


class _Order:
    """What all runs have in common: the arcs that lead to each step, and the order of steps."""

    def __init__(self, network: Network, plan: Plan) -> None:
        self.network, self.job = network, network.job
        self.starts = [plan.task[step.task.id].start for step in network.steps]
        crews = order_arcs(network, self.starts)
        assert crews is not None  # a plan has no collisions
        self.windows = [i for i, arc in enumerate(network.arcs) if arc.kind == "window"]
        self.into: list[list[Arc]] = [[] for _ in network.steps]
        for arc in (*network.arcs, *crews):
            if arc.kind != "window":
                self.into[arc.after].append(arc)
        self.order, self.at_once = self._sorted()

    def _sorted(self) -> tuple[tuple[int, ...], bool]:
        """The steps, each after those that release it; and whether there is such an order.

        A lead or a link between finishes may go against the order of a crew; then as planned.
        """
        graph = nx.DiGraph((arc.before, arc.after) for arcs in self.into for arc in arcs)
        graph.add_nodes_from(range(len(self.into)))
        if nx.is_directed_acyclic_graph(graph):
            return tuple(nx.lexicographical_topological_sort(graph)), True
        return tuple(sorted(range(len(self.into)), key=lambda j: (self.starts[j], j))), False

    @cached_property
    def floors(self) -> list[int]:
        """The minute before which no run begins a step.

        As its own date says; or as planned, where no date, link, crew or room has it start so late.
        """
        return [self._floor(j) for j in range(len(self.into))]

    def _floor(self, j: int) -> int:
        step, start = self.network.steps[j], self.starts[j]
        own = max(self.job.start, step.task.not_before or self.job.start)
        earliest = step.first(own)
        for arc in self.into[j]:
            bound = release(self.network, arc, self.starts)
            at = step.first(bound) if arc.to == "start" else step.first_start(bound)
            earliest = max(earliest, at)
        return own if start <= earliest else start


class _Lot:
    """Runs made at once."""

    def __init__(
        self, order: _Order, odds: Odds, n: int, seed: Seed, given: GivenAir | None
    ) -> None:
        self.order, self.network, self.job = order, order.network, order.job
        self.odds, self.n, self.seed, self.given = odds, n, seed, given
        luck = Luck(self.job, odds, n, seed)
        self.rooms: dict[str | None, RoomAir] = {}
        self.clockworks: dict[tuple[str | None, str, Conditions], Clockwork] = {}
        self.shares = luck.products()
        self.steps = [ManySteps(s, luck.work(s.task)) for s in self.network.steps]
        self.fails = {s.index: luck.failures(s.task) for s in self.network.steps if s.task.hold}
        shape = (len(self.steps), n)
        self.starts = np.zeros(shape, dtype=np.int64)
        self.finishes, self.freed, self.free = (np.zeros(shape, dtype=np.int64) for _ in range(3))
        self.driver = np.full(shape, -1, dtype=np.int32)
        self.speeds: dict[tuple[str | None, int, str], tuple[Reals, Reals]] = {}

    def runs(self) -> Runs:
        """Run them all."""
        for _ in range(1 if self.order.at_once else len(self.steps)):
            before = self.starts.copy()
            for j in self.order.order:
                self._place(j)
            if (before == self.starts).all():
                break
        return Runs(
            self.starts,
            self.finishes,
            self.free,
            self._critical().sum(axis=1),
            {arc: self._missed(self.network.arcs[arc]) for arc in self.order.windows},
            dict(self._luck()),
        )

    def _place(self, j: int) -> None:
        step = self.steps[j]
        bound = np.full(self.n, self.order.floors[j])
        driver = np.full(self.n, -1, dtype=np.int32)
        for i, arc in enumerate(self.order.into[j]):
            free = self._release(arc)
            if arc.to == "finish":
                free = step.first_start(free)
            driver[free > bound] = i
            bound = np.maximum(bound, free)
        self.free[j], self.driver[j] = bound, driver
        self.starts[j] = self._start(j, bound)
        self.finishes[j] = self.freed[j] = step.finish(self.starts[j])
        if j in self.fails:
            self._repeat(j, self.fails[j])

    def _start(self, j: int, bound: Minutes) -> Minutes:
        """The first starts that hours and air allow."""
        step = self.steps[j]
        starts = step.first(bound)
        product = self.job.product_of(step.step.task)
        if product is None:
            return starts
        room = self._room(step.step.task.room)
        for _ in range(_ROUNDS):
            good = room.allows(product.limits, starts)
            if good.all():
                break
            later = room.start + (room.stretch(starts) + 1) * STRETCH
            starts = np.where(good, starts, step.first(np.maximum(later, starts)))
        return starts

    def _repeat(self, j: int, failures: Minutes) -> None:
        """Try what failed again; its people are free meanwhile."""
        _, redo = failures_of(self.job, self.steps[j].step.task, self.odds)
        for tried in range(int(failures.max(initial=0))):
            again = self.steps[j].finish(self.steps[j].first(self.finishes[j] + redo))
            self.finishes[j] = np.where(failures > tried, again, self.finishes[j])

    def _release(self, arc: Arc) -> Minutes:
        """The minutes before which an arc does not let its later end happen."""
        if arc.kind == "people":
            return np.asarray(self.freed[arc.before])
        ends = self.starts[arc.before] if arc.of == "start" else self.finishes[arc.before]
        if isinstance(arc.lag, Ready) and arc.stage is not None:
            return self._ready(arc.before, arc.stage, arc.lag, ends)
        return np.asarray(np.where(ends >= NEVER, NEVER, ends + arc.lag.after(0)))

    def _ready(self, by: int, name: str, planned: Ready, finishes: Minutes) -> Minutes:
        """When what a step applied reaches a stage."""
        task = self.network.steps[by].task
        product = self.job.product_of(task)
        assert product is not None  # a stage is always that of a product
        stage = product.stage(name)
        clockwork = self._clockwork(task.room, stage, planned.progress)
        need = planned.need * self.shares[product.id]
        reached = clockwork.reached(finishes, need)
        self.speeds[task.room, by, name] = _speed(planned, need, finishes, reached)
        least = planned.least_many(finishes)
        if stage.cold_below is not None:
            label = 0 if stage.shorten else stage.minutes
            cold = self._room(task.room).colder_within_a_day(stage.cold_below, finishes)
            least = np.maximum(least, np.where(cold, finishes + max(stage.cold_least, label), 0))
        return np.asarray(np.minimum(np.maximum(least, reached), NEVER))

    def _room(self, room: str | None) -> RoomAir:
        if room not in self.rooms:
            air, name = self.job.air_of(room), room or ""
            start, end = self.job.start, self.network.end
            given = () if self.given is None else (self.given(room, _middles(start, end)),)
            self.rooms[room] = RoomAir(
                air, self.job.timezone, start, end, self.odds.air, self.n, self.seed, name, *given
            )
        return self.rooms[room]

    def _clockwork(self, room: str | None, stage: Stage, table: Progress) -> Clockwork:
        key = room, stage.law, stage.at
        if key not in self.clockworks:
            self.clockworks[key] = Clockwork(stage.law, stage.at, self._room(room), table)
        return self.clockworks[key]

    def _critical(self) -> Flags:
        """Whether each step was on the driving chain of each run: walked back from the finish."""
        critical: Flags = self.finishes == self.finishes.max(axis=0)
        for j in reversed(self.order.order):
            for i, arc in enumerate(self.order.into[j]):
                critical[arc.before] |= critical[j] & (self.driver[j] == i)
        return critical

    def _missed(self, arc: Arc) -> int:
        """In how many runs a window was missed."""
        late = self.starts if arc.of == "start" else self.finishes
        early = self.starts if arc.to == "start" else self.finishes
        closes = early[arc.after] - arc.lag.after(0)
        return int(np.count_nonzero((late[arc.before] > closes) & (early[arc.after] < NEVER)))

    def _luck(self) -> Iterator[tuple[Source, Reals]]:
        """How each source of chance fell, but those that are certain or of no account."""
        for step in self.steps:
            yield from _unless_certain("work", step.step.task.id, step.work.astype(float))
        for j, failures in self.fails.items():
            yield from _unless_certain("hold", self.job.tasks[j].id, failures.astype(float))
        for product, share in self.shares.items():
            yield from _unless_certain("product", product, share)
        for room in self.rooms:
            speeds = [each for (of, _, _), each in self.speeds.items() if of == room]
            if speeds:
                took, planned = (np.sum(each, axis=0) for each in zip(*speeds, strict=True))
                yield from _unless_certain("air", room or "", took / np.maximum(planned, 1.0))


def _middles(start: int, end: int) -> Minutes:
    """The middle of each stretch between two minutes."""
    return start + STRETCH // 2 + STRETCH * np.arange(max((end - start) // STRETCH, 1))


def _speed(planned: Ready, need: Reals, finishes: Minutes, reached: Minutes) -> tuple[Reals, Reals]:
    """Label minutes that a wait collected, and those that the planned air has for such a while."""
    never = reached >= NEVER
    nodes, collected = planned.progress.arrays
    since = np.interp(np.where(never, nodes[0], finishes), nodes, collected)
    gained = np.interp(np.where(never, nodes[0], reached), nodes, collected) - since
    return np.where(never, 0.0, need), gained


def _unless_certain(kind: str, of: str, values: Reals) -> Iterator[tuple[Source, Reals]]:
    if len(values) and values.min() < values.max():
        yield Source(kind, of), values
