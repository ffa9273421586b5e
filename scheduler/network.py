"""A job compiled for planning: tasks with their workable minutes, and all that links them.

All rules become inequalities between the ends of two tasks, ``end of later >= lag(end of
earlier)``, each lag monotone with an exact inverse. A window is the same inequality backwards: the
earlier task may not end before the later one's start less the window.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Protocol

import networkx as nx

from scheduler.clock import DAY, day_end, day_of, day_start, to_minute
from scheduler.graph import ring_in_words, rings, task_graph
from scheduler.hours import NEVER, Spans, hours_of, intersect, spans, subtract
from scheduler.model import Dated, End, Job, Link, ReasonKind, Task
from scheduler.progress import Ready, ready, workable_air


class Lag(Protocol):
    """A monotone map from the earliest moment of one end to that of another."""

    def after(self, minute: int, /) -> int:
        """The earliest moment that follows from ``minute``."""

    def before(self, minute: int, /) -> int:
        """The latest moment from which no more than ``minute`` follows."""


@dataclass(frozen=True)
class Offset:
    """A fixed number of elapsed minutes, negative for a lead or a window."""

    minutes: int

    def after(self, minute: int) -> int:
        """``minutes`` later."""
        return min(minute + self.minutes, NEVER)

    def before(self, minute: int) -> int:
        """``minutes`` earlier."""
        return minute - self.minutes


@dataclass(frozen=True)
class Step:
    """A task compiled: when it may be worked on, and the four maps between its start and finish.

    ``present`` are the minutes in which all of its people are in their hours; ``workable`` those
    of them in which the air is within the product's limits; ``starts`` the minutes at which it may
    start so that it can be finished, too, and of those only the ones in ``only``, if given.
    """

    index: int
    task: Task
    present: Spans
    workable: Spans
    only: Spans | None = None

    @cached_property
    def starts(self) -> Spans:
        """The minutes at which the task may start."""
        starts = self._finishing()
        return starts if self.only is None else intersect(starts, self.only)

    def _finishing(self) -> Spans:
        work, free = self.task.work, self.workable
        if work == 0:
            return free
        if self.task.split:
            return spans(free.within(-NEVER, free.minute(free.total - work) + 1))
        return spans((start, end - work + 1) for start, end in free if end - start >= work)

    def first(self, minute: int) -> int:
        """The first start at or after ``minute``; ``NEVER`` if none."""
        return self.starts.next(minute)

    def finish(self, start: int) -> int:
        """The finish of a start: the end of the last worked minute."""
        work = self.task.work
        if work == 0 or not self.task.split:
            return start + work
        return self.workable.minute(self.workable.count(start) + work - 1) + 1

    def last_start(self, finish: int) -> int:
        """The last start whose finish is at or before ``finish``; ``-NEVER`` if none."""
        work = self.task.work
        if work == 0 or not self.task.split:
            return self.starts.last(finish - work)
        return self.starts.last(self.workable.minute(self.workable.count(finish) - work))

    def first_start(self, finish: int) -> int:
        """The first start whose finish is at or after ``finish``; ``NEVER`` if none."""
        work = self.task.work
        if work == 0 or not self.task.split:
            return self.first(finish - work)
        return self.first(self.workable.minute(max(self.workable.count(finish - 1) - work + 1, 0)))

    def sessions(self, start: int) -> tuple[tuple[int, int], ...]:
        """The spans worked when it starts at ``start``; a milestone has none."""
        if self.task.work == 0:
            return ()
        return self.workable.within(start, self.finish(start))


@dataclass(frozen=True)
class Arc:
    """``to`` of step ``after`` comes no earlier than ``lag`` after ``of`` of step ``before``."""

    before: int
    of: End
    after: int
    to: End
    lag: Lag
    kind: ReasonKind
    link: Link | None = None
    stage: str | None = None
    who: str | None = None


@dataclass(frozen=True)
class Closure:
    """While ``by`` runs and until its product reaches ``stage``, none of ``others`` may run."""

    by: int
    others: tuple[int, ...]
    lag: Ready
    stage: str
    kind: ReasonKind


@dataclass(frozen=True)
class Network:
    """A job with its hours, air and waits compiled over ``[start, end)``."""

    job: Job
    end: int
    hours: Mapping[str, Spans]
    steps: tuple[Step, ...]
    arcs: tuple[Arc, ...]
    closures: tuple[Closure, ...]

    @cached_property
    def order(self) -> tuple[int, ...]:
        """The steps in an order that every link allows; file order where links don't say."""
        graph = task_graph(self.job)
        place = {task.id: i for i, task in enumerate(self.job.tasks)}
        return tuple(
            place[t] for t in nx.lexicographical_topological_sort(graph, key=place.__getitem__)
        )

    @cached_property
    def crews(self) -> Mapping[str, tuple[int, ...]]:
        """The steps that each person works on; a milestone holds nobody and is left out."""
        return {
            person: tuple(s.index for s in self.steps if person in s.task.who and s.task.work)
            for person in self.job.people
        }

    @cached_property
    def visitors(self) -> Mapping[str, tuple[int, ...]]:
        """The steps for which each person comes, milestones too."""
        return {
            person: tuple(s.index for s in self.steps if person in s.task.who)
            for person in self.job.people
        }

    def kept_to(self, hours: Mapping[str, Spans]) -> "Network":
        """The same network, each task at times that lie in fewer hours of its people.

        Work still goes on in every workable minute until it is done, so a task that would run on
        into hours left out starts when it does not.
        """
        return replace(self, steps=tuple(_kept_to(step, hours) for step in self.steps))


def _kept_to(step: Step, hours: Mapping[str, Spans]) -> Step:
    out = subtract(step.workable, _all_present(step.task, hours, step.workable))
    starts = []
    for start, end in subtract(spans([(-NEVER, NEVER)]), out):
        last = min(step.last_start(end), end - 1)
        starts.append((start, last + 1))
    return replace(step, only=spans(starts))


def _all_present(task: Task, hours: Mapping[str, Spans], free: Spans) -> Spans:
    for person in task.who:
        free = intersect(free, hours[person])
    return free


def horizon(job: Job, days: int) -> int:
    """The end of the time looked at: ``days`` after the start and the last date in the job."""
    dates = [job.start, *(t for task in job.tasks for t in (task.not_before, task.must_finish_by)
                          if t is not None)]  # fmt: skip
    for person in job.people.values():
        dates += [to_minute(away.end, job.timezone) for away in person.away]
        dates += [day_end(h.day, job.timezone) for h in person.hours if isinstance(h, Dated)]
    return max(dates) + days * DAY


REACHES = (150, 800)
"""How far ahead plans are looked for [days past the last date of the job], one after the other."""


def networks(job: Job) -> Iterator[Network]:
    """A job compiled over ever longer times; at first so long that nobody's work fills half of it.

    So where a network has no plan because of people, a longer one has none either: their hours
    come back every week.
    """
    for days in REACHES:
        network = compile_job(job, horizon(job, days))
        if days == REACHES[-1] or _work_fits(network):
            yield network


def _work_fits(network: Network) -> bool:
    half = (network.job.start + network.end) // 2
    return all(
        sum(network.steps[j].task.work for j in members)
        <= network.hours[person].count(half) * network.job.people[person].count
        for person, members in network.crews.items()
    )


def compile_job(job: Job, end: int) -> Network:
    """Compile a job over ``[job.start, end)``.

    Raises:
        ValueError: tasks wait for each other in a ring (no job read from a file has one).
    """
    if found := rings(job):
        raise ValueError(ring_in_words(found[0]))
    zone, start = job.timezone, job.start
    hours = {p.id: hours_of(p, zone, start, end) for p in job.people.values()}
    steps = tuple(_step(job, i, task, hours, end) for i, task in enumerate(job.tasks))
    return Network(job, end, hours, steps, _arcs(job, end), _closures(job, end))


def _step(job: Job, index: int, task: Task, hours: Mapping[str, Spans], end: int) -> Step:
    present = _all_present(task, hours, spans([(job.start, end)]))
    product = job.product_of(task)
    workable = present
    if product:
        good = workable_air(product.limits, job.air_of(task.room), job.timezone, job.start, end)
        workable = intersect(present, good)
    return Step(index, task, present, workable)


def _ready(job: Job, task: Task, stage: str, end: int) -> Ready:
    product = job.product_of(task)
    assert product is not None  # the job file reader saw to it
    air = job.air_of(task.room)
    return ready(product.stage(stage), air, job.timezone, job.start, end)


def _arcs(job: Job, end: int) -> tuple[Arc, ...]:
    place = {task.id: i for i, task in enumerate(job.tasks)}
    arcs = []
    for j, task in enumerate(job.tasks):
        for link in task.after:
            i = place[link.task]
            if link.stage:
                lag: Lag = _ready(job, job.tasks[i], link.stage, end)
                kind: ReasonKind = "stage"
            else:
                lag, kind = Offset(link.wait), "link"
            arcs.append(Arc(i, link.of, j, link.to, lag, kind, link, link.stage))
            if link.within is not None:
                back = Offset(-link.within)
                arcs.append(Arc(j, link.to, i, link.of, back, "window", link, link.stage))
    return tuple(arcs)


def _closures(job: Job, end: int) -> tuple[Closure, ...]:
    found = []
    for i, task in enumerate(job.tasks):
        product = job.product_of(task)
        if product is None or task.room is None:
            continue
        same_room = [j for j, t in enumerate(job.tasks) if t.room == task.room and j != i]
        dusty = tuple(j for j in same_room if job.tasks[j].dusty)
        if product.closes:
            lag = _ready(job, task, product.closes, end)
            found.append(Closure(i, tuple(same_room), lag, product.closes, "room"))
        if product.dust_shy and dusty:
            lag = _ready(job, task, product.dust_shy, end)
            found.append(Closure(i, dusty, lag, product.dust_shy, "dust"))
    return tuple(found)


def days_of(hours: Spans, zone: str) -> dict[date, tuple[int, int]]:
    """The local calendar days that hold some of the minutes, each with its bounds."""
    found: dict[date, tuple[int, int]] = {}
    for start, end in hours:
        day = day_of(start, zone)
        while day_start(day, zone) < end:
            found[day] = (day_start(day, zone), day_end(day, zone))
            day += timedelta(days=1)
    return found


def presence(step: Step, start: int) -> Spans:
    """The minutes in which a step's people are there; of a milestone, the one at which it is."""
    return spans(step.sessions(start) if step.task.work else [(start, start + 1)])


def on_days(hours: Spans, days: Collection[date], zone: str) -> Spans:
    """The minutes that fall on some local calendar days."""
    return intersect(hours, spans((day_start(d, zone), day_end(d, zone)) for d in days))
