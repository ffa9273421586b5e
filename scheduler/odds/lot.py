"""Runs of a job made at once: a pass forward, numpy across the runs."""

from collections.abc import Iterator

import numpy as np

from scheduler.hours import NEVER
from scheduler.model import Actual, Conditions, Job, Stage, Task
from scheduler.odds.luck import Luck, Seed, failures_of
from scheduler.odds.many import ManySteps
from scheduler.odds.order import Order
from scheduler.odds.outcome import Runs, Source
from scheduler.odds.roomair import Clockwork, RoomAir
from scheduler.odds.stretches import LENGTH
from scheduler.progress import Flags, Minutes, Progress, Ready, Reals
from scheduler.steps import Arc, Step

_ROUNDS = 50
"""How often air out of limits is waited out before a start, a stretch at a time."""


def fact_of(job: Job, task: Task) -> Actual | None:
    """What is known of a task that has begun."""
    known = None if job.past is None else job.past.actual.get(task.id)
    return known if known and known.started is not None else None


def plain(step: Step) -> Step:
    """The step as if nothing was known of it: what is begun goes on like that."""
    return Step(step.index, step.task, step.present, step.workable, step.only)


def worked(step: Step, started: int, now: int) -> int:
    """How long a running task has been worked on [min]; what may not stop went on all the time."""
    if step.task.split and step.task.work:
        return step.workable.count(now) - step.workable.count(started)
    return now - started


class Lot:
    """Runs made at once."""

    def __init__(self, order: Order, n: int, seed: Seed) -> None:
        self.order, self.network, self.job = order, order.network, order.job
        self.n, self.seed = n, seed
        self.luck = Luck(self.job, order.odds, n, seed)
        self.rooms: dict[str | None, RoomAir] = {}
        self.clockworks: dict[tuple[str | None, str, Conditions], Clockwork] = {}
        self.shares = self.luck.products()
        self.facts = [fact_of(self.job, step.task) for step in self.network.steps]
        self.steps = [ManySteps(plain(s), self._work(s)) for s in self.network.steps]
        self.fails = {
            step.index: self.luck.failures(step.task)
            for step, fact in zip(self.network.steps, self.facts, strict=True)
            if step.task.hold and (fact is None or fact.finished is None)
        }
        shape = (len(self.steps), n)
        self.starts = np.zeros(shape, dtype=np.int64)
        self.finishes, self.freed, self.free = (np.zeros(shape, dtype=np.int64) for _ in range(3))
        self.driver = np.full(shape, -1, dtype=np.int32)
        self.speeds: dict[tuple[str | None, int, str], tuple[Reals, Reals]] = {}

    def _work(self, step: Step) -> Minutes:
        """How long it takes in each run; what is done took what it took."""
        fact = self.facts[step.index]
        if fact is None or fact.started is None:
            return self.luck.work(step.task)
        if fact.finished is not None or self.job.past is None:
            return np.full(self.n, step.task.work)
        return self.luck.work_beyond(step.task, worked(step, fact.started, self.job.past.now))

    def runs(self, up_to: int | None) -> Runs:
        """Run them all, or up to a step of that index: what does not come before it stays at 0."""
        wanted = self.order.order if up_to is None else self.order.up_to(up_to)
        for _ in range(1 if self.order.at_once else len(self.steps)):
            before = self.starts.copy()
            for j in wanted:
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
        step, fact = self.steps[j], self.facts[j]
        if fact is None or fact.started is None:
            self.starts[j] = self._start(j, np.maximum(self._free(j), self.order.put_off[j]))
        else:
            self.starts[j] = fact.started
        self.finishes[j] = step.finish(self.starts[j])
        if fact is not None and fact.finished is not None:
            self.finishes[j] = fact.finished
        self.freed[j] = self.finishes[j]
        if j in self.fails:
            self._repeat(j, self.fails[j])

    def _free(self, j: int) -> Minutes:
        """From when dates and what comes before let a step start; notes what held it last."""
        bound = np.full(self.n, self.order.dates[j])
        driver = np.full(self.n, -1, dtype=np.int32)
        for i, arc in enumerate(self.order.into[j]):
            free = self._release(arc)
            if arc.to == "finish":
                free = self.steps[j].first_start(free)
            driver[free > bound] = i
            bound = np.maximum(bound, free)
        self.free[j] = bound
        self.driver[j] = np.where(bound < self.order.put_off[j], -1, driver)
        return bound

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
            later = room.planned.start + (room.stretch(starts) + 1) * LENGTH
            starts = np.where(good, starts, step.first(np.maximum(later, starts)))
        return starts

    def _repeat(self, j: int, failures: Minutes) -> None:
        """Try what failed again; its people are free meanwhile."""
        _, redo = failures_of(self.job, self.steps[j].step.task, self.order.odds)
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
            place, name = self.order.place(room), room or ""
            draws = (self.seed.stream("air", name, "t"), self.seed.stream("air", name, "rh"))
            self.rooms[room] = RoomAir(
                place.planned, self.order.odds.air, self.n, draws, place.known
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
