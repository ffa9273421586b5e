"""Are the answers of ``ready`` as sure as they say? Jobs with a hidden truth, drawn forward.

    python -m tests.benchmarks.calibration [--jobs 2000] [--first 0] [--runs 10000] [--workers 2]

For each job a true air, a true product and true working times are drawn from what
``data/odds.yaml`` supposes, from beginning to end and without a look at what anybody will know.
Then a person comes by, at a moment that has nothing to do with that: reads the air with a sensor
that is off, or doesn't; writes down what has begun and what is done; and asks when the next task
can start. Nothing here shares code with the runs that answer: the air goes by quarters of an hour,
and the wait is summed up.

A start that is said to be 90 % sure should be so in 90 of 100 jobs. Where it is sure at once, more
than 90 may well be, so that only answers later than now count. Of the answers "yes", which want 95
%, no more than 5 in 100 may be wrong.
"""

import argparse
import random
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import repeat
from math import exp, sqrt

import numpy as np

from scheduler import laws
from scheduler.air import temperatures
from scheduler.history import as_it_stands
from scheduler.model import (
    ALWAYS,
    Air,
    Event,
    Job,
    Link,
    Log,
    Person,
    Reading,
    Room,
    Stage,
    Task,
)
from scheduler.oddsfile import Straying, odds
from scheduler.planner import plan_job
from scheduler.progress import Minutes, Reals
from scheduler.ready import Verdict, network_of, ready
from tests.support.jobs import START, ZONE, products

WAITS = (
    ("liquid-membrane", "tile"),
    ("liquid-membrane", "recoat"),
    ("thinset", "grout"),
    ("ready-mixed-compound", "recoat"),
    ("wall-paint", "recoat"),
    ("self-leveler", "walk"),
)
"""What is waited for: slow in the cold and damp, so that no label's minimum decides."""

STEP = 15  # minutes
DAYS = 60


@dataclass(frozen=True)
class Told:
    """What came of one job.

    Args:
        now: when it was asked [UTC min].
        true: when the task could really start [UTC min].
        earliest: by per cent, from when it can, as answered.
        yes_at: the first start that gets a yes.
        asked_at, yes: another start, drawn at random, and whether it got a yes.
        read: how many readings there were.
    """

    now: int
    true: int
    earliest: dict[int, int | None]
    yes_at: int | None
    asked_at: int
    yes: bool
    read: int


# ------------------------------------------------------------------ the truth


@dataclass(frozen=True)
class Truth:
    """The air of a room from ``START`` on by quarters of an hour, and how fast the product is."""

    air: Air
    warmer: Reals
    damper: Reals
    share: float

    def at(self, minutes: Minutes) -> tuple[Reals, Reals]:
        """Temperature [°C] and humidity [0..1]."""
        quarters = (minutes - START) / STEP
        grid = np.arange(len(self.warmer))
        warm = temperatures(self.air, minutes, ZONE) + np.interp(quarters, grid, self.warmer)
        damp = self.air.humidity + np.interp(quarters, grid, self.damper)
        return warm, np.clip(damp, 0.0, 1.0)

    def ready(self, of: Stage, finish: int) -> int:
        """When the stage is reached: the law summed up over the true air, minute by minute."""
        minutes = np.arange(finish, START + STEP * (len(self.warmer) - 1))
        speed = laws.rate(of.law, *self.at(minutes), of.at)
        reached = finish + 1 + int(np.searchsorted(np.cumsum(speed), of.minutes * self.share))
        label = 0 if of.shorten else of.minutes
        return max(finish + max(label, of.least), reached)


def stray(of: Straying, n: int, draw: random.Random) -> Reals:
    """A path of the deviation, a quarter of an hour at a time."""
    keeps = exp(-STEP / of.fades)
    fresh = of.strays * sqrt(1 - keeps**2)
    path = [draw.gauss(0, of.strays)]
    for _ in range(n - 1):
        path.append(keeps * path[-1] + draw.gauss(0, fresh))
    return np.array(path)


def worked(usual: int, draw: random.Random) -> int:
    """A true working time of a handy person [min]."""
    stretch = odds().work.handy
    low, high = usual * stretch.shortest, usual * stretch.longest
    alpha = 1 + 4 * (usual - low) / (high - low)
    return round(low + (high - low) * draw.betavariate(alpha, 6 - alpha))


# ------------------------------------------------------------------ the job


def job_of(draw: random.Random) -> tuple[Job, str, str]:
    """A board hung, something applied to it, something that waits for a stage of that."""
    name, stage = draw.choice(WAITS)
    air = Air(draw.uniform(10.5, 15.0), draw.uniform(0.55, 0.72), draw.choice((0.0, 1.5, 3.0)))
    product = replace(products()[name], limits=type(products()[name].limits)())
    tasks = (
        Task("board", "Board", draw.choice((90, 180, 300)), ("me",), "bath"),
        Task("apply", "Apply", draw.choice((45, 60, 120)), ("me",), "bath", name, False,
             (Link("board"),)),
        Task("next", "Next", 60, ("me",), "bath", after=(Link("apply", stage),)),
    )  # fmt: skip
    people = {"me": Person("me", ALWAYS)}
    rooms = {"bath": Room("bath", air)}
    return Job("Hidden", ZONE, START, air, people, rooms, {name: product}, tasks), name, stage


def simulated(number: int, runs: int) -> Told:
    """One job: its truth, what is known of it at some moment, the answers."""
    draw = random.Random(f"calibration {number}")
    job, name, stage = job_of(draw)
    board, applying = worked(job.tasks[0].work, draw), worked(job.tasks[1].work, draw)
    finish = START + board + applying
    truth = _truth(job, draw)
    true = truth.ready(job.products[name].stage(stage), finish)
    now = START + round(draw.uniform(0.02, 0.95) * (plan_job(job).task["next"].start - START))
    readings = tuple(_readings(truth, now, draw))
    stands = as_it_stands(job, Log(tuple(_events(board, finish, now)), readings), now)
    return _answered(stands, true, draw, runs, len(readings))


def _truth(job: Job, draw: random.Random) -> Truth:
    strays, product = odds().air, odds().product
    share = product.median * exp(product.sd * draw.gauss(0, 1))
    warmer, damper = (stray(of, DAYS * 96, draw) for of in (strays.temperature, strays.humidity))
    return Truth(job.rooms["bath"].air, warmer, damper, share)


def _events(board: int, finish: int, now: int) -> Iterator[Event]:
    """What is written down by now."""
    known = [
        Event(START, "started", "board"), Event(START + board, "done", "board"),
        Event(START + board, "started", "apply"), Event(finish, "done", "apply"),
    ]  # fmt: skip
    return (event for event in known if event.at <= now)


def _readings(truth: Truth, now: int, draw: random.Random) -> Iterator[Reading]:
    """What a sensor shows: each hour, now and then, or nothing at all."""
    strays = odds().air
    bias = draw.gauss(0, strays.temperature.bias), draw.gauss(0, strays.humidity.bias)
    every = draw.choice((60, 60, 7 * 60, 0))
    for minute in range(START + draw.randrange(60), now + 1, every) if every else ():
        warm, damp = (float(each[0]) for each in truth.at(np.array([minute])))
        t = warm + bias[0] + draw.gauss(0, strays.temperature.noise)
        rh = damp + bias[1] + draw.gauss(0, strays.humidity.noise)
        yield Reading(minute, None, t, min(max(rh, 0.01), 1.0))


def _answered(job: Job, true: int, draw: random.Random, runs: int, read: int) -> Told:
    plan = plan_job(job)
    network = network_of(job, plan)

    def answer(at: int) -> Verdict:
        return ready(job, network, plan, "next", at, runs=runs)

    first = answer(job.now)
    asked_at = job.now + round(draw.uniform(0, 2) * (plan.task["next"].start - job.now))
    assert first.chance is not None
    return Told(
        now=job.now,
        true=max(true, job.now),
        earliest=dict(first.chance.earliest),
        yes_at=first.earliest,
        asked_at=asked_at,
        yes=answer(asked_at).yes,
        read=read,
    )


# ------------------------------------------------------------------ what came of it


def told(first: int, jobs: int, runs: int, workers: int = 1) -> list[Told]:
    """Many jobs."""
    numbers = range(first, first + jobs)
    if workers == 1:
        return [simulated(number, runs) for number in numbers]
    with ProcessPoolExecutor(workers) as pool:
        return [*pool.map(simulated, numbers, repeat(runs), chunksize=10)]


def kept(found: Sequence[Told], chance: int) -> float:
    """In what share of the jobs it could start when that was so many per cent sure."""
    later = [each for each in found if each.earliest[chance] != each.now]
    return float(np.mean([_in_time(each, each.earliest[chance]) for each in later]))


def _in_time(each: Told, minute: int | None) -> bool:
    return minute is not None and each.true <= minute


def wrong(found: Sequence[Told]) -> tuple[float, float, int]:
    """The share of wrong yeses: at the first that is one; and at starts drawn at random."""
    random_yes = [each.true > each.asked_at for each in found if each.yes]
    first = [not _in_time(each, each.yes_at) for each in found]
    return float(np.mean(first)), float(np.mean(random_yes)), len(random_yes)


def table(found: Sequence[Told]) -> str:
    """The figures, for people."""
    first, at_random, yeses = wrong(found)
    lines = [f"{'jobs':44}{len(found):>8}"]
    lines += [f"{f'{c} % sure: could start then':44}{kept(found, c):>8.1%}" for c in (50, 90, 99)]
    for words, some in (
        ("with readings", [each for each in found if each.read]),
        ("with none", [each for each in found if not each.read]),
    ):
        lines.append(f"{f'90 % sure, {words} ({len(some)} jobs)':44}{kept(some, 90):>8.1%}")
    lines.append(f"{'wrong of the earliest yes':44}{first:>8.1%}")
    lines.append(f"{f'wrong of a yes at a random time ({yeses})':44}{at_random:>8.1%}")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Simulate, and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=2000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--runs", type=int, default=10_000)
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    print(table(told(given.first, given.jobs, given.runs, given.workers)), end="")  # noqa: T201


if __name__ == "__main__":
    main()
