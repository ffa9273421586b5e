"""What is left to chance in a job, drawn: work, products, tests.

Every source of chance has a stream of random numbers of its own, named after it, so that one more
task in a file leaves the draws of the others as they were.
"""

from dataclasses import dataclass
from zlib import crc32

import numpy as np

from scheduler.model import Job, Task
from scheduler.oddsfile import Hold, Odds
from scheduler.progress import Minutes, Reals

_MOST_TRIES = 6
"""How often a test fails in one run at most."""

_REDRAWN = 60
"""How often a draw that can't be is drawn again."""


@dataclass(frozen=True)
class Seed:
    """Where random numbers come from: ``number`` is the user's, ``part`` which lot of runs."""

    number: int
    part: int = 0

    def stream(self, *name: str) -> np.random.Generator:
        """The random numbers of one source of chance."""
        return np.random.default_rng([self.number, self.part, crc32("/".join(name).encode())])


def three_points(job: Job, task: Task, odds: Odds) -> tuple[float, float, float]:
    """The shortest, usual and longest time of a task's work [min]."""
    if task.work_range is not None:
        return task.work_range[0], task.work, task.work_range[1]
    stretches = [odds.work.of(job.people[who].skill) for who in task.who]
    shortest = min((s.shortest for s in stretches), default=1.0)
    longest = max((s.longest for s in stretches), default=1.0)
    return task.work * shortest, task.work, task.work * longest


def pert(points: tuple[float, float, float], n: int, draw: np.random.Generator) -> Reals:
    """Draws from the beta distribution of three points.

    alpha = 1 + 4 (m - o) / (p - o), beta = 1 + 4 (p - m) / (p - o), between o and p; its mean is
    (o + 4 m + p) / 6.

    Args:
        points: the least o, the most likely m and the greatest p.
        n: how many.
        draw: random numbers.

    Source: Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959), for the mean (from
    memory); these parameters are the usual ones of the beta-PERT distribution (from memory).
    """
    low, mode, high = points
    if low >= high:
        return np.full(n, float(mode))
    alpha = 1 + 4 * (mode - low) / (high - low)
    beta = 1 + 4 * (high - mode) / (high - low)
    return np.asarray(low + (high - low) * draw.beta(alpha, beta, n))


QUARTER = 15
"""What is to go at least of work that is not logged as done [min]."""


@dataclass(frozen=True)
class Luck:
    """The draws of one lot of ``n`` runs."""

    job: Job
    odds: Odds
    n: int
    seed: Seed

    def work(self, task: Task) -> Minutes:
        """Working times of a task [min]."""
        points = three_points(self.job, task, self.odds)
        return _whole(pert(points, self.n, self.seed.stream("work", task.id)))

    def work_beyond(self, task: Task, done: int) -> Minutes:
        """Working times of a task that was worked on for ``done`` minutes and is not done [min].

        Draws that are over by then are drawn again; where nearly all are, a quarter of an hour is
        to go.
        """
        points = three_points(self.job, task, self.odds)
        draw = self.seed.stream("work", task.id)
        times = _whole(pert(points, self.n, draw))
        for _ in range(_REDRAWN if points[0] < points[2] else 0):
            over = times <= done
            times[over] = _whole(pert(points, int(over.sum()), draw))
        return np.asarray(np.where(times <= done, done + QUARTER, times))

    def products(self) -> dict[str, Reals]:
        """For each product, the true time to its stages as a share of the stated one [1]."""
        median, sd = self.odds.product.median, self.odds.product.sd
        return {
            each: median * np.exp(sd * self.seed.stream("product", each).standard_normal(self.n))
            for each in self.job.products
        }

    def failures(self, task: Task) -> Minutes:
        """How often a hold point fails before it passes."""
        fails, _ = failures_of(self.job, task, self.odds)
        draw = self.seed.stream("hold", task.id).random((_MOST_TRIES, self.n))
        return np.asarray(np.cumprod(draw < fails, axis=0).sum(axis=0))


def _whole(times: Reals) -> Minutes:
    return np.rint(times).astype(np.int64)


def failures_of(job: Job, task: Task, odds: Odds) -> tuple[float, int]:
    """How often a hold point fails [0..1], and how long until the next try [min]."""
    usual = _usual(job, task, odds)
    return (
        usual.fails if task.fails is None else task.fails,
        usual.redo if task.redo is None else task.redo,
    )


def _usual(job: Job, task: Task, odds: Odds) -> Hold:
    """What is usual for such a test; what needs nobody is only news to wait for."""
    if is_flood_test(job, task):
        return odds.holds.flood
    return odds.holds.inspection if task.who else Hold()


def is_flood_test(job: Job, task: Task) -> bool:
    """Whether a task, or what it reads or ends, waits for something to be fit for flooding."""
    if any(link.stage == "flood" for link in task.after):
        return True
    before = (job.task[link.task] for link in task.after)
    return any(is_flood_test(job, t) for t in before if not (t.hold or t.applies))
