"""A job in parts, each of which can be planned by itself.

Tasks that windows tie to each other stand or fall together: a *knot*, a strongly connected part of
the inequalities between tasks. From knot to knot inequalities point one way only, as long as
possible after. So what has no date to meet can wait until all else is over, knot by knot, and a
job has a plan where each knot has one at times as late as may be, and the tasks that dates hold
down have one together.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import lru_cache

import networkx as nx

from scheduler.clock import DAY, day_end, day_of, day_start
from scheduler.hours import NEVER, spans
from scheduler.model import Job, Person, Weekly
from scheduler.network import Network, horizon
from scheduler.passes import Starts, ceilings, last_point, latest_start
from scheduler.steps import Begun, Step
from scheduler.ways import may_do

_WEEK = 7 * DAY


def job_part(job: Job, tasks: Collection[str]) -> Job:
    """The job with some of its tasks alone, and what they need; links to others go.

    People of a crew file stay: what changes for them in other jobs changes here, too.
    """
    kept = tuple(
        replace(task, after=tuple(link for link in task.after if link.task in tasks))
        for task in job.tasks
        if task.id in tasks
    )
    people = {who for task in kept for who in may_do(task)}
    rooms = {task.room for task in kept}
    products = {task.applies for task in kept}
    return replace(
        job,
        tasks=kept,
        people={
            key: _with_less(person, job, tasks) if person.visits_of else person
            for key, person in job.people.items()
            if key in people or person.crew
        },
        rooms={key: room for key, room in job.rooms.items() if key in rooms},
        products={key: product for key, product in job.products.items() if key in products},
    )


def _with_less(person: Person, job: Job, tasks: Collection[str]) -> Person:
    """Somebody who with less to do there, if it is less, may come for less."""
    left_out = (task for task in job.tasks if task.id not in tasks)
    return replace(person, visits_of=0) if any(person.id in may_do(t) for t in left_out) else person


def part(network: Network, members: Collection[int]) -> Network:
    """The network of some of its steps alone, numbered anew in the same order."""
    old = sorted(members)
    new = {j: n for n, j in enumerate(old)}
    job = job_part(network.job, {network.steps[j].task.id for j in old})
    return replace(
        network,
        job=job,
        hours={person: network.hours[person] for person in job.people},
        steps=tuple(network.steps[j].numbered(new[j]) for j in old),
        arcs=tuple(
            replace(arc, before=new[arc.before], after=new[arc.after])
            for arc in network.arcs
            if arc.before in new and arc.after in new
        ),
        closures=tuple(
            replace(closure, by=new[closure.by], others=others)
            for closure in network.closures
            if closure.by in new and (others := tuple(new[j] for j in closure.others if j in new))
        ),
        gone=(),
        limits=tuple(
            replace(limit, steps=steps, least=limit.least if len(steps) == len(limit.steps) else 0)
            for limit in network.limits
            if (steps := tuple(new[j] for j in limit.steps if j in new))
        ),
    )


def narrowed(network: Network, early: Starts, late: Starts) -> Network:
    """The network with each start in ``[early, late]`` only."""
    steps = zip(network.steps, early, late, strict=True)
    narrow = (step.within(spans([(a, b + 1)])) for step, a, b in steps)
    return replace(network, steps=tuple(narrow))


def knots(network: Network) -> list[tuple[int, ...]]:
    """The steps that stand or fall together, each knot after all it waits for."""
    graph = _tied(network)
    found = [tuple(sorted(knot)) for knot in nx.strongly_connected_components(graph)]
    return found[::-1]  # the library has them in reverse


def ahead(network: Network, members: Collection[int]) -> set[int]:
    """The steps, and all that they wait for."""
    graph = _tied(network)
    return {*members, *(i for j in members for i in nx.ancestors(graph, j))}


def _tied(network: Network) -> "nx.DiGraph[int]":
    """Steps as nodes, an edge to each that waits; who comes on few days ties all they come for."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(network.steps)))
    graph.add_edges_from((arc.before, arc.after) for arc in network.arcs)
    for limit in network.limits:
        ring = zip(limit.steps, (*limit.steps[1:], *limit.steps[:1]), strict=True)
        graph.add_edges_from(ring)
    return graph


def over(network: Network, starts: Starts) -> int:
    """The minute by which all steps of a schedule are done and their rooms open again."""
    pairs = zip(network.steps, starts, strict=True)
    finishes = [step.last_finish(start) for step, start in pairs]
    opens = (closure.lag.after(finishes[closure.by]) for closure in network.closures)
    return max(finishes + [at for at in opens if at < NEVER], default=network.job.start)


# When it is enough to look --------------------------------------------------------------------


@dataclass(frozen=True)
class Stretch:
    """A time in which a plan of a part is looked for: every start within ``[early, late]``.

    ``since`` and ``until`` are given where its first start lies in ``[since, until)``; ``empty``
    says that nothing can be in it.
    """

    early: tuple[int, ...]
    late: tuple[int, ...]
    since: int = 0
    until: int = 0
    empty: bool = False


def settled(job: Job) -> int:
    """The minute from which on a job's world repeats itself: no date, no absence lies after it."""
    return horizon(job, 1)  # a dated shift may run over midnight


def in_a_row(network: Network) -> bool:
    """Whether there is time for all steps after the last date, with a period of rest after each.

    Where nothing happens for longer, all that comes later could as well come a period earlier.
    """
    start, rest = settled(network.job), _period(network.job)
    ends = start
    for step in network.steps:
        at = step.first(max(start, step.not_before))
        done = step.last_finish(at) if at < NEVER else NEVER
        arcs = (arc for arc in network.arcs if arc.before == step.index)
        waits = (arc.lag.after(last_point(step, arc.of, at)) for arc in arcs)
        opens = (c.lag.after(done) for c in network.closures if c.by == step.index)
        ends += max(done, *waits, *opens, done) - start + rest
    return ends < network.end


def calm_time(network: Network) -> Stretch | None:
    """A time after the last date that stands for all of them without a clock change.

    Hours come back every week (every day, where they are the same on all days), the air every day,
    on the wall clock. So a part that can begin in such a time could as well begin a period earlier
    or later, and one period is enough. None where no time is long enough for that.
    """
    start, length = settled(network.job), _period(network.job)
    first = _stretch(network, start, start + length)
    if first is None:
        return None
    lasts = over(network, first.late) - start
    changes = clock_changes(network.job.timezone, start, network.end)
    start = _without_change(start, length + lasts, changes)
    calm = _stretch(network, start, start + length)
    if calm is None:
        return None
    lasts = over(network, calm.late) - start
    fits = start + lasts < network.end and start == _without_change(start, lasts, changes)
    return calm if fits else None


def odd_times(network: Network, calm: Stretch | None) -> Iterator[Stretch]:
    """All other times: before the last date, and around each clock change after it."""
    start, end = settled(network.job), network.end
    times = [(network.job.start, start)]
    if calm is None:
        times.append((start, end))
    else:
        lasts = over(network, calm.late) - calm.since
        changes = clock_changes(network.job.timezone, start, end)
        times += [(max(a - lasts, start), b) for a, b in changes]
    return (stretch for a, b in times if (stretch := _stretch(network, a, b)))


def from_then_on(network: Network, start: int) -> Stretch | None:
    """The next time in which a part can begin, if the world has settled by then."""
    return _stretch(network, start, start + _period(network.job))


def halves(network: Network, stretch: Stretch) -> list[Stretch] | None:
    """The stretch by its first start, in two; None where it is no longer than a day."""
    since, until = stretch.since, stretch.until
    if until - since <= DAY:
        return None
    middle = since + -(-(until - since) // (2 * DAY)) * DAY
    found = (_stretch(network, a, b) for a, b in ((since, middle), (middle, until)))
    return [half for half in found if half]


def _stretch(network: Network, start: int, end: int) -> Stretch | None:
    """From ``start`` on, as far as a part reaches whose first start is before ``end``.

    None where a step has no start then.
    """
    early = tuple(_first(step, start) for step in network.steps)
    late, empty = list(early), True
    if any(a >= NEVER for a in early):
        return None
    for j, step in enumerate(network.steps):
        first = step.starts.last(end - 1)
        if early[j] <= first:
            reach, possible = _reach(network, early, j, first)
            late = [max(pair) for pair in zip(late, reach, strict=True)]
            empty = empty and not possible
    return Stretch(early, tuple(late), start, end, empty)


def _reach(network: Network, early: Starts, j: int, first: int) -> tuple[list[int], bool]:
    """How late steps may start where ``j`` starts at ``first`` or before; whether they can at all.

    As many rounds as there are steps lead from each to each. Windows at odds with each other would
    go on for long; what the rounds leave is loose, but true.
    """
    steps, late, possible = network.steps, ceilings(network, network.end), True
    late[j] = min(late[j], first)
    for _ in steps:
        before = list(late)
        for arc in network.arcs:
            i, k = arc.before, arc.after
            bound = arc.lag.before(last_point(steps[k], arc.to, max(late[k], early[k])))
            late[i] = min(late[i], latest_start(steps[i], arc.of, bound))
        possible = possible and all(a <= b for a, b in zip(early, late, strict=True))
        late = [max(pair) for pair in zip(early, late, strict=True)]
        if late == before:
            break
    return late, possible


def _first(step: Step, start: int) -> int:
    """The first start from a minute on; of what has begun, its own."""
    return step.begun if isinstance(step, Begun) else step.first(max(start, step.not_before))


def _period(job: Job) -> int:
    return DAY if all(map(_same_every_day, job.people.values())) else _WEEK


def _same_every_day(person: Person) -> bool:
    return all(len(line.days) == 7 for line in person.hours if isinstance(line, Weekly))


def _without_change(start: int, length: int, changes: Sequence[tuple[int, int]]) -> int:
    """The first minute from which so many minutes are without a clock change."""
    for a, b in changes:
        if start + length > a:
            start = max(start, b)
    return start


@lru_cache(maxsize=64)
def clock_changes(zone: str, start: int, end: int) -> tuple[tuple[int, int], ...]:
    """The local days that are not of 24 h, each with its bounds."""
    day, last = day_of(start, zone), day_of(end, zone)
    found = []
    while day <= last:
        if day_end(day, zone) - day_start(day, zone) != DAY:
            found.append((day_start(day, zone), day_end(day, zone)))
        day += timedelta(days=1)
    return tuple(found)
