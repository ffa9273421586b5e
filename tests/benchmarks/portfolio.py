"""Several jobs planned together: time to a first plan, the gap after 5 s and 30 s, memory.

    python -m tests.benchmarks.portfolio [--jobs 3 10 30] [--size 40] [--seeds 1] [--limits 5 30]
        [--clock wall]

Each portfolio runs in a process of its own. Seconds to the first plan are the processor's, without
imports; those of the limits, too, unless the clock is that on the wall. Beside it is CP-SAT alone:
the model of all tasks at once, with two workers, the same first plan as its hint and the last
limit.
"""

import argparse
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.clock import DAY
from scheduler.model import Job
from scheduler.passes import Starts, ceilings, latest
from scheduler.portfolio import Together, model, plan_together
from scheduler.portfolio.aim import alone
from scheduler.portfolio.join import far_enough, member, portfolio
from scheduler.portfolio.search import NORMAL, Effort
from scheduler.verify import check, check_together
from tests.support.portfolios import generated

FIRST = replace(NORMAL, crossed=0, rounds=0, tasks=0, days=0)
_WITHOUT_END = 1e9  # of the solver's deterministic time: its limit is the watch's
_OF_SEVEN = 5  # days of a week are worked
Clock = Callable[[], float]


CLOCKS: Mapping[str, Clock] = {"processor": time.process_time, "wall": time.monotonic}


class Seconds:
    """A watch that ends a search after so many seconds of a clock, told of none of it."""

    def __init__(self, limit: float, clock: Clock) -> None:
        self._clock, self._end = clock, clock() + limit

    def found(self, best: object, /) -> None:
        """Nobody wants to know."""

    def bounded(self, bound: object, /) -> None:
        """Nobody wants to know."""

    def enough(self) -> bool:
        """Whether the time is up."""
        return self._clock() >= self._end


@dataclass(frozen=True)
class Figures:
    """What a portfolio comes to.

    Args:
        tasks: of all jobs.
        windows: the share of links that have one.
        first: seconds to the first plan, verified.
        made: the first plans, and those after each limit.
        finishes: of CP-SAT alone, the finish of each job; None where it found nothing.
        broken: rules broken in all those plans.
        memory: the most that was taken, without CP-SAT alone [MB].
    """

    tasks: int
    windows: float
    first: float
    made: tuple[Together, ...]
    finishes: tuple[int, ...] | None
    broken: int
    memory: int

    def gap(self, finishes: int) -> float:
        """How far a sum of finishes is over the last bound [% of the time that all jobs take]."""
        return 100 * (finishes - self._bound) / self._elapsed

    def days(self, finishes: int) -> float:
        """The same in working days of each job, as they lie in a week."""
        return (finishes - self._bound) / len(self.made[-1].plans) / DAY * _OF_SEVEN / 7

    @property
    def _bound(self) -> int:
        return max(made.bound.finishes for made in self.made)

    @property
    def _elapsed(self) -> int:
        return sum(plan.finish - plan.start for plan in self.made[-1].plans)

    @property
    def later(self) -> float | None:
        """How much later the last job is done than by CP-SAT alone [calendar days]."""
        if self.finishes is None:
            return None
        return (max(plan.finish for plan in self.made[-1].plans) - max(self.finishes)) / DAY


def measured(
    jobs: Sequence[Job], limits: Sequence[float], clock: Clock = time.process_time
) -> Figures:
    """A portfolio planned: first, with the limits, and by CP-SAT alone with the last of them."""
    tasks = [task for job in jobs for task in job.tasks]
    links = [link for task in tasks for link in task.after]
    started = time.process_time()
    made = [plan_together(jobs, FIRST)]
    broken = _broken(made[0])
    first = time.process_time() - started
    for limit in limits:
        effort = Effort(on=True, watch=Seconds(limit, clock))
        made.append(plan_together(jobs, effort))
        broken += _broken(made[-1])
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    windows = sum(link.within is not None for link in links) / max(len(links), 1)
    finishes = _by_model(jobs, made[0], Seconds(limits[-1], clock))
    return Figures(len(tasks), windows, first, tuple(made), finishes, broken, memory)


def _broken(made: Together) -> int:
    own = sum(len(check(job, plan, made.planned)) for job, plan in made.planned)
    return own + len(check_together(made.planned))


def _by_model(jobs: Sequence[Job], first: Together, watch: Seconds) -> tuple[int, ...] | None:
    """The finishes that CP-SAT alone comes to; what is done after the first plan's end is not."""
    members = [member(job, frozenset(), next(far_enough(jobs))) for job in jobs]
    each, joined = [alone(m) for m in members], portfolio(members)
    hint: Starts = [task.start for plan in first.plans for task in plan.tasks]
    early = [start for own in each for start in own.early]
    end = max(joined.finishes(hint))
    late = latest(joined.network, joined.network.arcs, end, ceilings(joined.network, end))
    if late is None or any(a > b for a, b in zip(early, hint, strict=True)):
        return None
    stated = model.JobsModel(joined, early, late, [end] * len(jobs), watch)
    found = stated.soonest(hint, _WITHOUT_END, workers=2).found
    return None if found is None else joined.finishes(found.starts)


def line(figures: Figures) -> str:
    """The figures in a row under ``head``."""
    gaps = [made.aim.finishes for made in figures.made]
    beside = figures.finishes
    alone_ = (
        "      -      -"
        if beside is None
        else f"{figures.gap(sum(beside)):7.1f} {figures.later:+6.1f}"
    )
    last = figures.made[-1]
    return " ".join([
        f"{len(last.plans):4} {figures.tasks:5} {figures.windows:7.0%} {figures.first:7.1f}",
        *(f"{figures.gap(each):6.1f} {figures.days(each):5.1f}" for each in gaps),
        alone_,
        f"{last.aim.lateness / DAY:7.1f} {last.bound.lateness / DAY:7.1f}",
        f"{last.aim.visits:6} {figures.memory:5} {figures.broken:6}",
    ])  # fmt: skip


def head(limits: Sequence[float]) -> str:
    """What stands over the columns."""
    gaps = "".join(f"  {name:>5}  days" for name in ("first", *(f"{n:g} s" for n in limits)))
    return f"jobs tasks windows first/s {gaps}   alone  later  late/d bound/d visits    MB broken"


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a line for each portfolio."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--jobs", type=int, nargs="+", default=[3, 10, 30])
    options.add_argument("--size", type=int, default=40, help="tasks of a job")
    options.add_argument("--seeds", type=int, default=1)
    options.add_argument("--limits", type=float, nargs="+", default=[5, 30], help="seconds")
    options.add_argument("--clock", choices=sorted(CLOCKS), default="processor")
    options.add_argument("--alone", action="store_true", help="in this process")
    said = options.parse_args(arguments)
    if said.alone:
        jobs = generated(said.seeds, said.jobs[0], said.size)
        sys.stdout.write(line(measured(jobs, said.limits, CLOCKS[said.clock])) + "\n")
        return
    sys.stdout.write(head(said.limits) + "\n")
    limits = ["--limits", *map(str, said.limits)]
    for number in said.jobs:
        for seed in range(said.seeds):
            command = ["--alone", "--jobs", f"{number}", "--size", f"{said.size}", *limits]
            command += ["--clock", said.clock]
            here = [sys.executable, "-m", "tests.benchmarks.portfolio", *command]
            sys.stdout.write(_line([*here, "--seeds", f"{seed}"]))
            sys.stdout.flush()


def _line(command: Sequence[str]) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


if __name__ == "__main__":
    main()
