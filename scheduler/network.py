"""A job compiled for planning: tasks with their workable minutes, and all that links them.

All rules become inequalities between the ends of two tasks, ``end of later >= lag(end of
earlier)``, each lag monotone with an exact inverse. A window is the same inequality backwards: the
earlier task may not end before the later one's start less the window.

Of a job that is under way, what was done or begun is a fact: it has its real times, no rule moves
it, and what is open is placed from now on.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache, cached_property
from itertools import accumulate
from typing import TypeVar

import networkx as nx

from scheduler.busy import Roster
from scheduler.clock import DAY, day_end, day_of, day_start, to_minute
from scheduler.graph import ring_in_words, rings, task_graph
from scheduler.hours import NEVER, Spans, booked_of, hours_of, intersect, spans, subtract, too_soon
from scheduler.model import Dated, Job, ReasonKind, Task
from scheduler.progress import Ready, ready, workable_air
from scheduler.steps import Arc, Begun, Choice, Closure, Lag, Limit, Offset, Step, begun, choice
from scheduler.ways import as_begun, done, done_like, hand, may_do

_Of = TypeVar("_Of", Arc, Closure)

_MADE = 200
"""Networks with every choice made that are kept at hand: a long search makes thousands."""


@dataclass(frozen=True)
class Network:
    """A job with its hours, air and waits compiled over ``[start, end)``.

    ``gone`` are the links between tasks begun: they bind nothing any more, but tell how it came.
    A task that can be done in several ways is a ``Choice`` as long as none is taken.
    """

    job: Job
    end: int
    hours: Mapping[str, Spans]
    steps: tuple[Step, ...]
    arcs: tuple[Arc, ...]
    closures: tuple[Closure, ...]
    gone: tuple[Arc, ...] = ()
    limits: tuple[Limit, ...] = ()

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
        """The steps that each person works on; those that hold nobody are left out."""
        return {
            person: tuple(step.index for step in self.steps if person in step.hands)
            for person in self.job.people
        }

    @cached_property
    def roster(self) -> Roster:
        """What each step takes of the people, as it is counted where steps are placed."""
        return Roster([way for step in self.steps for way in step.ways], self.job.people)

    @cached_property
    def slots(self) -> Sequence[int]:
        """The place of the first way of each step in the roster."""
        return [0, *accumulate(len(step.ways) for step in self.steps)][:-1]

    @cached_property
    def into(self) -> Sequence[Sequence[Arc]]:
        """Of each step, the arcs from what it waits for; windows are left out."""
        return self._by_step((arc.after, arc) for arc in self.arcs if not arc.backward)

    @cached_property
    def out(self) -> Sequence[Sequence[Arc]]:
        """Of each step, the arcs to what waits for it; windows are left out."""
        return self._by_step((arc.before, arc) for arc in self.arcs if not arc.backward)

    @cached_property
    def windows(self) -> Sequence[Sequence[Arc]]:
        """Of each step, the windows it must start or finish in, which hold what it follows."""
        return self._by_step((arc.before, arc) for arc in self.arcs if arc.backward)

    @cached_property
    def lasts(self) -> tuple[int, ...]:
        """The steps of which one is done last, whatever is planned.

        Nothing waits for them to be done; what has begun waits for nothing any more.
        """
        followed = {arc.before for arc in self.arcs if arc.in_sequence}
        return tuple(j for j in range(len(self.steps)) if j not in followed)

    @cached_property
    def shared_days(self) -> Sequence[Sequence[Arc]]:
        """Of each step, the arcs by which it comes no sooner than on the day of another."""
        return self._by_step((arc.after, arc) for arc in self.arcs if arc.kind == "visits")

    @cached_property
    def held(self) -> Sequence[Sequence[Arc]]:
        """Of each step, the windows that hold it, as what comes after it must come in them."""
        return self._by_step((arc.after, arc) for arc in self.arcs if arc.backward)

    @cached_property
    def closing(self) -> Sequence[Sequence[Closure]]:
        """Of each step, the closures to come that it makes."""
        return self._by_step((closure.by, closure) for closure in self.undecided)

    @cached_property
    def closed(self) -> Sequence[Sequence[Closure]]:
        """Of each step, the closures to come in which it must not be."""
        return self._by_step((j, closure) for closure in self.undecided for j in closure.others)

    def _by_step(self, pairs: Iterable[tuple[int, _Of]]) -> Sequence[Sequence[_Of]]:
        of: list[list[_Of]] = [[] for _ in self.steps]
        for j, one in pairs:
            of[j].append(one)
        return of

    @cached_property
    def choices(self) -> tuple[tuple[int, ...], ...]:
        """The steps in which there is a choice of who does it; those of one hand together."""
        found: dict[str, list[int]] = {}
        for step in self.steps:
            if isinstance(step, Choice):
                found.setdefault(hand(step.task), []).append(step.index)
        return tuple(map(tuple, found.values()))

    def made(self, ways: Sequence[int]) -> "Network":
        """The same network with every choice made: of each, the number of its way."""
        known = self._made.get(tuple(ways))
        if known is None:
            if len(self._made) >= _MADE:
                self._made.clear()
            pairs = zip(self.choices, ways, strict=True)
            made = {j: self.steps[j].ways[way] for members, way in pairs for j in members}
            known = self._made[tuple(ways)] = self.doing(made)
        return known

    @cached_property
    def _made(self) -> "dict[tuple[int, ...], Network]":
        """What was made of it before."""
        return {}

    def taking(self, choice: Iterable[int], way: int) -> "Network":
        """The same network with a choice made: its steps are done in their ``way``-th way."""
        return self.doing({j: self.steps[j].ways[way] for j in choice})

    def doing(self, made: Mapping[int, Step]) -> "Network":
        """The same network with choices made: some steps, by their index, as they are done."""
        if not made:
            return self
        steps = tuple(made.get(step.index, step) for step in self.steps)
        tasks = tuple(
            done_like(task, made[n].task) if n in made else task
            for n, task in enumerate(self.job.tasks)
        )
        return replace(self, job=replace(self.job, tasks=tasks), steps=steps)

    @cached_property
    def undecided(self) -> tuple[Closure, ...]:
        """Closures that are still to come: what is closed already is among the arcs."""
        return tuple(c for c in self.closures if not isinstance(self.steps[c.by], Begun))

    @cached_property
    def visitors(self) -> Mapping[str, tuple[int, ...]]:
        """The steps for which each person comes, milestones too."""
        return {
            person: tuple(s.index for s in self.steps if person in s.task.who)
            for person in self.job.people
        }

    @cached_property
    def sure_days(self) -> Mapping[str, frozenset[date]]:
        """The local calendar days on which each person comes whatever is planned.

        They come for tasks begun, and on days to come that are booked. What is booked in a crew
        file may be for another house, and is no such day.
        """
        return {person: self._sure_days(person) for person in self.job.people}

    def _sure_days(self, person: str) -> frozenset[date]:
        job, zone = self.job, self.job.timezone
        begun = (s for j in self.visitors[person] if isinstance(s := self.steps[j], Begun))
        there = [span for step in begun for span in presence(step, step.begun)]
        if not job.people[person].crew:
            to_come = max(asked_at(job), default=job.now), NEVER
            there += intersect(booked_of(job.people[person], zone), spans([to_come]))
        return frozenset(days_of(spans(there), zone))

    def by_itself(self) -> "Network":
        """The same network with nobody ever held by other jobs."""
        return replace(self, steps=tuple(step.unheld for step in self.steps))

    def kept_to(self, hours: Mapping[str, Spans]) -> "Network":
        """The same network, each task at times that lie in fewer hours of its people.

        Work still goes on in every workable minute until it is done, so a task that would run on
        into hours left out starts when it does not.
        """

        @cache  # many tasks share their people and their minutes
        def kept(who: tuple[str, ...], workable: Spans) -> Spans:
            there = _all_present(who, hours, workable)
            between = subtract(spans([(-NEVER, NEVER)]), subtract(workable, there))
            return spans(span for span in between if there.next(span[0]) < span[1])

        return replace(
            self,
            steps=tuple(
                step
                if isinstance(step, Begun)
                else _within(step, kept(step.task.who, step.workable))
                for step in self.steps
            ),
        )

    def held_back(self, floors: Mapping[int, int]) -> "Network":
        """The same network, some open steps not before a minute, by their index."""
        steps = [*self.steps]
        for j, minute in floors.items():
            if not isinstance(steps[j], Begun):
                steps[j] = steps[j].within(spans([(minute, NEVER)]))
        return replace(self, steps=tuple(steps))


def _within(step: Step, kept: Spans) -> Step:
    """The step, worked on in one of some spans."""
    starts = ((start, min(step.last_start(end), end - 1) + 1) for start, end in kept)
    return step.within(spans(starts))


def _all_present(who: Iterable[str], hours: Mapping[str, Spans], free: Spans) -> Spans:
    for person in who:
        free = intersect(free, hours[person])
    return free


def asked_at(job: Job) -> tuple[int, ...]:
    """The moment from which notice counts [UTC min], where anybody says."""
    known = (job.asked, None if job.past is None else job.past.now)
    moments = [moment for moment in known if moment is not None]
    return (max(moments),) if moments else ()


def horizon(job: Job, days: int) -> int:
    """The end of the time looked at: ``days`` past now and the last date in the job.

    What is foreseen of the air ends on such a date, too: only after it every day is alike.
    """
    dates = [job.now, *(t for task in job.tasks for t in (task.not_before, task.must_finish_by)
                          if t is not None)]  # fmt: skip
    for person in job.people.values():
        dates += [asked + person.notice for asked in asked_at(job)]
        dates += [to_minute(away.end, job.timezone) for away in person.away]
        windows = (*person.hours, *person.booked)
        dates += [day_end(h.day, job.timezone) for h in windows if isinstance(h, Dated)]
    airs = (job.air, *(room.air for room in job.rooms.values()))
    dates += [air.course.minutes[-1] for air in airs if air.course is not None]
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
        if days == REACHES[-1] or work_fits(network):
            yield network


def work_fits(network: Network) -> bool:
    """Whether nobody's work fills half of the time looked at."""
    now, hours = network.job.now, network.hours
    half = (now + network.end) // 2
    return all(
        sum(network.steps[j].load * network.steps[j].hands[person] for j in members)
        <= (hours[person].count(half) - hours[person].count(now)) * network.job.people[person].count
        for person, members in network.crews.items()
    )


def compile_job(job: Job, end: int) -> Network:
    """Compile a job over ``[job.start, end)``.

    Raises:
        ValueError: tasks wait for each other in a ring, or one takes more of a person than there
            are (no job read from a file has either).
    """
    if found := rings(job):
        raise ValueError(ring_in_words(found[0]))
    made = [done(task, way) for task in job.tasks for way in task.ways]
    if short := [(t.id, who) for t in (*job.tasks, *made) for who in t.who
                 if t.hands[who] > job.people[who].count]:  # fmt: skip
        raise ValueError("there are fewer of {1!r} than task {0!r} takes".format(*short[0]))
    job = as_begun(job)
    zone, start = job.timezone, job.start
    hours = {p.id: hours_of(p, zone, start, end) for p in job.people.values()}
    calendars = _Calendars(job, hours, end)
    compiled = (_step(job, i, task, calendars, end) for i, task in enumerate(job.tasks))
    steps = with_hands(compiled, job)
    closures = tuple(_closures(job, end))
    links = [arc for step in steps if step.state == "open" for arc in _arcs(job, step, end)]
    gone = [arc for step in steps if step.state != "open" for arc in _arcs(job, step, end)]
    arcs = (*links, *_closed(closures, steps))
    network = Network(job, end, hours, steps, arcs, closures, tuple(gone))
    return replace(network, limits=tuple(_limits(network)))


def _limits(network: Network) -> Iterator[Limit]:
    """On how many days people may come, and for how much."""
    for person in network.job.people.values():
        if person.at_most is not None or person.visits_of:
            steps = (n for n, task in enumerate(network.job.tasks) if person.id in may_do(task))
            sure = network.sure_days[person.id]
            yield Limit(person.id, tuple(steps), person.at_most, person.visits_of, sure)


def _in_time(job: Job, hours: Mapping[str, Spans]) -> Mapping[str, Spans]:
    """The hours in which people can be had who are asked now: those who want notice, later.

    Of a job under way, what is past is past: whoever was not asked in time could have been.
    """
    since = spans([(-NEVER if job.past is None else job.now, NEVER)])
    free = dict(hours)
    for person in job.people.values():
        for asked in asked_at(job):
            late = intersect(too_soon(person, job.timezone, asked), since)
            free[person.id] = subtract(hours[person.id], late)
    return free


class _Calendars:
    """When people are there together, and for which of that they can still be had."""

    def __init__(self, job: Job, hours: Mapping[str, Spans], end: int) -> None:
        whole, in_time = spans([(job.start, end)]), _in_time(job, hours)

        @cache  # many tasks share their people
        def present(who: tuple[str, ...]) -> Spans:
            return _all_present(who, hours, whole)

        @cache
        def free(who: tuple[str, ...]) -> Spans:
            return _all_present(who, in_time, present(who))

        self.present, self.free = present, free


def _step(job: Job, index: int, task: Task, people: _Calendars, end: int) -> Step:
    """A task compiled: one begun in all hours of its people, one that is open in free ones."""
    if task.ways:
        return choice([_step(job, index, done(task, way), people, end) for way in task.ways])
    known, present = job.actual(task.id), people.present(task.who)
    step = Step(index, task, present, present)
    if known.state == "open":
        free = people.free(task.who)
        short = subtract(present, free)
        only = None if job.past is None else spans([(job.now, NEVER)])
        step = replace(step, present=free, workable=free, short=short, only=only)
    if product := job.product_of(task):
        good = workable_air(product.limits, job.air_of(task.room), job.timezone, job.start, end)
        step = replace(step, workable=intersect(step.present, good))
    return step if known.state == "open" else begun(step, known, job.now)


def with_hands(steps: Iterable[Step], job: Job) -> tuple[Step, ...]:
    """The steps, with running ones holding no more of a person than there are.

    Those that go on longest come first. If more were begun, that is so, and no rule mends it.
    """
    steps = list(steps)
    for who, person in job.people.items():
        held = [step for step in steps if isinstance(step, Begun) and who in step.hands]
        held.sort(key=lambda step: -step.end)
        left = person.count
        for step in held:
            here = min(step.hands[who], left)
            left -= here
            hands = {key: n for key, n in {**step.hands, who: here}.items() if n}
            steps[step.index] = replace(step, hands=hands)
    return tuple(steps)


def _ready(job: Job, task: Task, stage: str, end: int) -> Ready:
    product = job.product_of(task)
    assert product is not None  # the job file reader saw to it
    air = job.air_of(task.room)
    return ready(product.stage(stage), air, job.timezone, job.start, end)


def _arcs(job: Job, step: Step, end: int) -> Iterator[Arc]:
    """What a task follows, and its windows."""
    place, j = {task.id: i for i, task in enumerate(job.tasks)}, step.index
    for link in step.task.after:
        i = place[link.task]
        if link.stage:
            lag: Lag = _ready(job, job.tasks[i], link.stage, end)
            kind: ReasonKind = "stage"
        else:
            lag, kind = Offset(link.wait), "link"
        yield Arc(i, link.of, j, link.to, lag, kind, link, link.stage)
        if link.within is not None:
            back = Offset(-link.within)
            yield Arc(j, link.to, i, link.of, back, "window", link, link.stage)


def _closures(job: Job, end: int) -> Iterator[Closure]:
    for i, task in enumerate(job.tasks):
        product = job.product_of(task)
        if product is None or task.room is None:
            continue
        met = tuple(j for j, other in enumerate(job.tasks) if _may_meet(job, task, other))
        dusty = tuple(j for j in met if job.tasks[j].dusty)
        if product.closes:
            lag = _ready(job, task, product.closes, end)
            yield Closure(i, met, lag, product.closes, "room")
        if product.dust_shy and any(other.dusty for other in _in_room(job, task)):
            lag = _ready(job, task, product.dust_shy, end)
            yield Closure(i, dusty, lag, product.dust_shy, "dust")


def _in_room(job: Job, task: Task) -> Iterator[Task]:
    return (other for other in job.tasks if other.room == task.room and other is not task)


def _may_meet(job: Job, task: Task, other: Task) -> bool:
    """Whether another task in the room can still be kept from meeting what a task applies."""
    if other is task or other.room != task.room:
        return False
    states = job.actual(task.id).state, job.actual(other.id).state
    return "open" in states and states[1] != "done"


def _closed(closures: Iterable[Closure], steps: Sequence[Step]) -> Iterator[Arc]:
    """What is closed already: whatever is open comes when it opens."""
    for c in closures:
        if isinstance(steps[c.by], Begun):
            for j in c.others:
                yield Arc(c.by, "finish", j, "start", c.lag, c.kind, stage=c.stage)


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
    return spans(step.sessions(start) or [(start, start + 1)])


def on_days(hours: Spans, days: Collection[date], zone: str) -> Spans:
    """The minutes that fall on some local calendar days."""
    return intersect(hours, spans((day_start(d, zone), day_end(d, zone)) for d in days))
