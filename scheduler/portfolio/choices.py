"""Who does what in several jobs, where there is a choice: decided before the rest is planned."""

import random
from collections.abc import Sequence

from scheduler.firstplan import generated, given_near, priority_order
from scheduler.passes import Schedule, way_of
from scheduler.portfolio.aim import Alone, lateness
from scheduler.portfolio.join import Portfolio
from scheduler.portfolio.search import Effort, keys, tries_of


def decided(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> Portfolio:
    """The jobs with every choice made as in the best of several orders.

    In each order whoever is over first takes a task; near the best so far some are made otherwise.
    Where no order works, every first way is taken.
    """
    network = jobs.open
    if not network.choices:
        return jobs
    floor = [start for own in each for start in own.early]
    best: Schedule | None = None
    random_ = random.Random(4)
    for n, key in enumerate(keys(jobs, each, max(tries_of(jobs, effort), 4))):
        given = given_near(best, network, random_) if best and n % 2 else None
        found = generated(network, floor, priority_order(network, key), given)
        if found and (best is None or _worth(jobs, found) < _worth(jobs, best)):
            best = found
        if best is not None and effort.watch.enough():
            break
    if best is None:
        return jobs.made([0] * len(network.choices))
    return jobs.made([way_of(network, best, members[0]) for members in network.choices])


def _worth(jobs: Portfolio, at: Schedule) -> tuple[float, int, int]:
    """What is to be least, as far as it is told in no time."""
    steps = at.network.steps
    finishes = [
        max((steps[j].finish(at.starts[j]) for j in part), default=m.job.start)
        for m, part in zip(jobs.members, jobs.parts, strict=True)
    ]
    return lateness(jobs.members, finishes), sum(finishes), sum(at.starts)
