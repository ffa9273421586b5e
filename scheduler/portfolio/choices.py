"""Who does what in several jobs, where there is a choice: decided before the rest is planned."""

import random
from collections.abc import Sequence
from itertools import islice

from scheduler.clock import DAY
from scheduler.firstplan import generated, given_near, priority_order
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, way_of
from scheduler.portfolio.aim import Alone, lateness
from scheduler.portfolio.crossing import keys, tries_of
from scheduler.portfolio.join import Portfolio
from scheduler.portfolio.search import Effort


def decided(jobs: Portfolio, each: Sequence[Alone], effort: Effort) -> Portfolio:
    """The jobs with every choice made as in the best of several orders.

    In each order whoever is over first takes a task; near the best so far some are made otherwise,
    in the end one or two at a time. Where no order works, every first way is taken.
    """
    network = jobs.open
    if not network.choices:
        return jobs
    floor = [start for own in each for start in own.early]
    best: Schedule | None = None
    order: list[float] = []
    random_ = random.Random(4)
    for n, key in enumerate(islice(keys(jobs, each), max(tries_of(jobs, effort.tries), 4))):
        given = given_near(best, network, random_) if best and n % 2 else None
        found = generated(network, floor, priority_order(network, key), given)
        if found and (best is None or _worth(jobs, found) < _worth(jobs, best)):
            best, order = found, key
        if best is not None and effort.watch.enough():
            break
    if best is None:
        return jobs.made([0] * len(network.choices))
    best = _climbed(jobs, floor, best, order, effort)
    return jobs.made([way_of(network, best, members[0]) for members in network.choices])


_CLIMB = 200
"""How many tasks are placed for each of the orders of an effort, one or two choices changed."""


def _climbed(
    jobs: Portfolio, floor: Starts, best: Schedule, order: Sequence[float], effort: Effort
) -> Schedule:
    """A schedule no worse than the best so far, one or two choices at a time made otherwise.

    What is over first may be in the way of another house, and one change in an order seldom shows.
    """
    network, random_ = jobs.open, random.Random(5)
    for _ in range(effort.tries * _CLIMB // len(network.steps)):
        if effort.watch.enough():
            break
        apart = random_.choice((0, 0.3, 1, 3)) * DAY
        key = [start + random_.gauss(0, apart) for start in order]
        given = _nearly(best, network, random_)
        found = generated(network, floor, priority_order(network, key), given)
        if found and _worth(jobs, found) < _worth(jobs, best):
            best, order = found, key
    return best


def _nearly(best: Schedule, network: Network, random_: random.Random) -> dict[int, int]:
    """Every choice as in the best schedule, but for two at most."""
    given = {n: way_of(network, best, j) for n, (j, *_) in enumerate(network.choices)}
    for n in random_.sample(sorted(given), min(len(given), random_.choice((0, 1, 1, 2)))):
        given[n] = random_.randrange(len(network.steps[network.choices[n][0]].ways))
    return given


def _worth(jobs: Portfolio, at: Schedule) -> tuple[float, int, int]:
    """What is to be least, as far as it is told in no time."""
    steps = at.network.steps
    finishes = [
        max((steps[j].finish(at.starts[j]) for j in part), default=m.job.start)
        for m, part in zip(jobs.members, jobs.parts, strict=True)
    ]
    return lateness(jobs.members, finishes), sum(finishes), sum(at.starts)
