"""A plan of several jobs improved: some tasks freed at a time, the others kept in their order.

Chance says which are freed: most times all those of some jobs, else tasks of any. All the others
follow one another with each person as they do, but at no fixed times: what is freed may go between
them, and they move up behind it. The constraint model finds the best of that, in a few seconds at
the most (large neighbourhood search, P. Shaw 1998, with orders instead of times kept, D. Godard,
P. Laborie and W. Nuijten 2005; both from memory).
"""

import random
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.clock import DAY
from scheduler.hours import NEVER
from scheduler.passes import Starts, ceilings, earliest, latest
from scheduler.portfolio.aim import Alone, short
from scheduler.portfolio.crossing import Beside, Nobody
from scheduler.portfolio.elsewhere import between, placed
from scheduler.portfolio.join import Portfolio
from scheduler.steps import Arc, Offset
from scheduler.watch import Patience

if TYPE_CHECKING:
    from scheduler.cpmodel import Outcome

_NOBODY = Nobody()

_MOST = 400
"""Steps in a model: of more, only those of some jobs are looked at, the others stay as they are.
With 200, what the others hold leaves so little room that nearly every model proves that nothing
moves: of ten jobs of 40 steps that gained half as much in the same time."""

_REACH = 2 * DAY
"""How far a task that is not freed may move [min]: what reaches further makes larger models."""

_FAR = 7 * DAY
"""How far one that is freed may move [min]; anywhere takes twice the time, for little more. Only
where all are freed, or the steps are few, they may."""

_FEW = 100  # steps in a model

_SOLVING = 0.4
"""The constraint solver's deterministic time for each model."""

_FREE = 120
"""How many tasks are freed at first, at the most."""

_MORE = 1.1
"""How many times as many next, where that was soon solved; else so many times fewer."""

_WHOLE_JOBS = 0.9
"""How often they are all those of some jobs."""


def improved(
    jobs: Portfolio,
    each: Sequence[Alone],
    starts: list[int],
    rounds: int,
    beside: Beside = _NOBODY,
) -> list[int]:
    """A plan that is no worse in lateness and finishes.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        starts: of the plan.
        rounds: how many times some tasks are freed; fewer where that is soon proven to be best.
        beside: looks for plans, too, while the constraint solver does, and may end it.
    """
    random_, free = random.Random(rounds), float(_FREE)
    for _ in range(rounds):
        if beside.enough():
            break
        looked_at = _some_jobs(jobs, _MOST, random_)
        every = len(looked_at) == len(jobs.members)
        some = jobs if every else between(jobs, starts, looked_at)
        here = [start for k in looked_at for start in jobs.of_job(k, starts)]
        floor = [start for k in looked_at for start in each[k].early]
        moving = to_free(some, round(free), random_)
        outcome = _anew(some, floor, here, moving, _SOLVING, beside)
        if outcome is None:
            continue
        free *= _MORE if outcome.effort < _SOLVING / 2 else 1 / _MORE
        if outcome.found is not None:
            moved = placed(jobs, starts, some, looked_at, outcome.found.starts)
            starts = min(starts, moved, key=lambda s: short(jobs, s))
        starts = beside.join(starts)
        if every and len(moving) == len(here) and outcome.effort < _SOLVING:
            break
    return starts


def all_at_once(
    jobs: Portfolio,
    each: Sequence[Alone],
    starts: list[int],
    effort: float,
    beside: Beside = _NOBODY,
) -> list[int]:
    """A plan that is no worse, all tasks freed up to the last finish, if they are not too many.

    ``effort`` is the constraint solver's deterministic time; the rest is as for ``improved``.
    """
    from scheduler.portfolio.model import JobsModel

    if len(starts) > _MOST:
        return starts
    network, finishes = jobs.network, jobs.finishes(starts)
    early, end = [start for own in each for start in own.early], max(finishes)
    late = latest(network, network.arcs, end, ceilings(network, end))
    if late is None or any(not a <= s <= b for a, s, b in zip(early, starts, late, strict=True)):
        return starts
    model = JobsModel(jobs, early, late, [end] * len(finishes), beside)
    found = model.soonest(starts, effort).found
    if found is not None:
        starts = min(starts, [*found.starts], key=lambda s: short(jobs, s))
    return beside.join(starts)


def _some_jobs(jobs: Portfolio, most: int, random_: random.Random) -> list[int]:
    """As many jobs, by chance, as have no more tasks together; one at least."""
    ks, left = [*range(len(jobs.members))], most
    random_.shuffle(ks)
    found: list[int] = []
    for k in ks:
        left -= len(jobs.parts[k])
        if left >= 0 or not found:
            found.append(k)
    return sorted(found)


def to_free(jobs: Portfolio, most: int, random_: random.Random) -> set[int]:
    """Tasks to be freed: those of some jobs, or of any."""
    among = [*range(len(jobs.network.steps))]
    if random_.random() < _WHOLE_JOBS:
        among = [j for k in _some_jobs(jobs, most, random_) for j in jobs.parts[k]]
    return {*random_.sample(among, min(most, len(among)))}


def _anew(  # noqa: PLR0913, PLR0917 (a question with all that it takes)
    jobs: Portfolio,
    floor: Starts,
    here: Starts,
    freed: Collection[int],
    effort: float,
    watch: Patience,
) -> "Outcome | None":
    """The best that the model finds where some tasks are freed; None where nothing can move."""
    from scheduler.portfolio.model import JobsModel

    steps = jobs.network.steps
    network = replace(jobs.network, arcs=(*jobs.network.arcs, *_in_order(jobs, here, freed)))
    jobs = replace(jobs, network=network)
    anywhere = len(here) <= _FEW or len(freed) == len(here)  # of all there is to be a proof
    reach = [_REACH if j not in freed else NEVER if anywhere else _FAR for j in range(len(here))]
    first = [
        min(start, step.first(max(least, start - far)))
        for step, least, start, far in zip(steps, floor, here, reach, strict=True)
    ]
    early = earliest(network, network.arcs, first)
    if early is None:
        return None
    most = _last_finishes(jobs, early, here)
    ends = (most[k] for k, part in enumerate(jobs.parts) for _ in part)
    last = [
        max(start, min(step.last_start(end), step.starts.last(start + far)))
        for step, end, start, far in zip(steps, ends, here, reach, strict=True)
    ]
    late = latest(network, network.arcs, max(most), last)
    if late is None or early == late:
        return None
    return JobsModel(jobs, early, late, most, watch).soonest(here, effort)


def _last_finishes(jobs: Portfolio, early: Starts, here: Starts) -> list[int]:
    """How late each job may be done if the others gain all they can."""
    done, least = jobs.finishes(here), jobs.finishes(early)
    gain = sum(done) - sum(least)
    return [min(d + _REACH, e + gain) for d, e in zip(done, least, strict=True)]


def _in_order(jobs: Portfolio, here: Starts, freed: Collection[int]) -> Iterator[Arc]:
    """The order of each person's tasks, those freed left out; not where several are alike."""
    network = jobs.network
    for who, members in network.crews.items():
        if network.job.people[who].count == 1:
            kept = (j for j in members if j not in freed and network.steps[j].state == "open")
            for i, j in pairwise(sorted(kept, key=lambda j: here[j])):
                yield Arc(i, "finish", j, "start", Offset(0), "people", who=who)
