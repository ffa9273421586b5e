"""Benchmark on public instances of project scheduling, run by hand beside bare CP-SAT.

``python -m tests.benchmarks.psplib FOLDER [--sets j30 j120 ubo100] [--sample "*_1.*"] [--every 3]
[--limit 5 30]``: the folder has a folder of instances for each set and, beside that,
``best_SET.csv`` with the columns ``problem`` and ``optimum`` (a number, ``least..most`` where it is
open, ``unsat``). Of the files that the sample's pattern fits, in the order of the numbers in their
names, every so many are taken.

Each instance becomes a job and is planned, as ``--time`` does; then the same is stated in CP-SAT
alone, with two workers and no hint. Both have the same time for it, and end once the makespan is
proven. With ``--clock processor`` it is the processor's, for a machine that is busy otherwise.
"""

import argparse
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean
from time import perf_counter, process_time, thread_time

from ortools.sat.python import cp_model

from scheduler.anyplan import Unsolved
from scheduler.cpsolver import watched
from scheduler.network import networks
from scheduler.passes import finish_of
from scheduler.plan import make_plan
from scheduler.solve import Effort, solve
from scheduler.verify import check
from tests.benchmarks.instances import Instance, best_known, job_of, read

WORKERS = 2

Clock = Callable[[], float]


def wall() -> Clock:
    """Seconds that pass."""
    return perf_counter


def processor() -> Clock:
    """The processor's seconds: those of this thread, or of all of them shared by two cores.

    Whichever are more: planning keeps this thread busy, or waits for what the solver's take.
    """
    own, every = thread_time(), process_time()
    return lambda: max(thread_time() - own, (process_time() - every) / WORKERS)


CLOCKS = {"wall": wall, "processor": processor}


class Until:
    """A watch that has enough after some seconds, or once the makespan is proven."""

    def __init__(self, seconds: float, clock: Clock) -> None:
        self._clock, self._end = clock, clock() + seconds
        self._found, self._bound = float("inf"), float("-inf")

    def found(self, finish: int, /) -> None:
        """There is a schedule with that makespan."""
        self._found = min(self._found, finish)

    def bounded(self, finish: int, /) -> None:
        """No schedule has a lesser makespan."""
        self._bound = max(self._bound, finish)

    def enough(self) -> bool:
        """Whether the time is up, or nothing is left to find."""
        return self._found <= self._bound or self._clock() >= self._end


@dataclass(frozen=True)
class Answer:
    """What became of an instance.

    Args:
        makespan: the least that was found; None where no schedule was.
        proven: whether it is the least there is, or that there is none.
        seconds: it took.
    """

    makespan: int | None
    proven: bool
    seconds: float

    @property
    def none(self) -> bool:
        """Whether it is proven that there is no schedule."""
        return self.proven and self.makespan is None


@dataclass(frozen=True)
class Case:
    """An instance with both answers, and the best bounds known of it; None where it has none."""

    name: str
    known: tuple[int, int] | None
    ours: Answer
    bare: Answer
    breaches: int

    @property
    def gaps(self) -> tuple[float, float] | None:
        """How far over the best known both are [%]; None where not both have a schedule."""
        ours, bare = self.ours.makespan, self.bare.makespan
        if ours is None or bare is None or self.known is None:
            return None
        least = min(self.known[1], ours, bare)  # the best known may well be bettered
        return 100 * (ours - least) / least, 100 * (bare - least) / least


def planned(instance: Instance, limit: float, clock: Clock = perf_counter) -> tuple[Answer, int]:
    """What planning finds in so many seconds, with the breaches that the verifier finds in it."""
    watch, begun = Until(limit, clock), clock()
    job = job_of(instance)
    network = next(iter(networks(job)))
    try:
        solution = solve(network, Effort(on=True, watch=watch))
    except Unsolved as unsolved:
        return Answer(None, unsolved.proven, clock() - begun), 0
    seconds = clock() - begun
    finish = finish_of(solution.network, solution.starts)
    breaches = len(check(job, make_plan(solution.network, solution)))
    return Answer(finish, finish <= solution.finish_bound, seconds), breaches


def bare(instance: Instance, limit: float, clock: Clock = perf_counter) -> Answer:
    """What CP-SAT finds by itself in so many seconds."""
    watch, begun = Until(limit, clock), clock()
    model = _stated(instance)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    status = watched(solver, model, None, watch)
    found = status in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return Answer(
        round(solver.objective_value) if found else None,
        status in {cp_model.OPTIMAL, cp_model.INFEASIBLE},
        clock() - begun,
    )


def _stated(instance: Instance) -> cp_model.CpModel:
    model, activities = cp_model.CpModel(), range(len(instance.durations))
    start = [model.new_int_var(0, instance.horizon, f"s{j}") for j in activities]
    spans = [
        model.new_fixed_size_interval_var(start[j], instance.durations[j], f"a{j}")
        for j in activities
    ]
    for i, j, lag in instance.lags:
        model.add(start[j] >= start[i] + lag)
    for k, capacity in enumerate(instance.capacities):
        model.add_cumulative(spans, [requests[k] for requests in instance.requests], capacity)
    model.add(start[0] == 0)
    model.minimize(start[-1])
    return model


def sample(folder: Path, pattern: str, every: int) -> list[Path]:
    """Every so many of the files that fit a pattern, by the numbers in their names."""

    def numbers(path: Path) -> list[int]:
        return [int(number) for number in re.findall(r"\d+", path.stem)]

    return sorted(sorted(folder.glob(pattern)), key=numbers)[::every]


def measured(
    folder: Path, name: str, files: Sequence[Path], limit: float, clock: Callable[[], Clock] = wall
) -> Iterator[Case]:
    """Both answers to some instances of a set."""
    known = best_known(_the(folder, f"best_{name}.csv"))
    for path in files:
        instance = read(path)
        ours, breaches = planned(instance, limit, clock())
        alone = bare(instance, limit, clock())
        yield Case(path.name, known[path.name], ours, alone, breaches)


def _the(folder: Path, name: str) -> Path:
    found = [path for path in sorted(folder.rglob(name)) if path.exists()]
    if not found:
        raise SystemExit(f"there is no {name} in {folder}")
    return found[0]


def row(name: str, limit: float, cases: Sequence[Case]) -> str:
    """A set's line of the table."""
    gaps = [case.gaps for case in cases if case.gaps is not None]
    cells = [f"{name:8}{limit:4g} s {len(cases):3} {len(gaps):4}"]
    for k, answers in enumerate(([case.ours for case in cases], [case.bare for case in cases])):
        mean = f"{fmean(gap[k] for gap in gaps):.2f}" if gaps else "-"
        proven, none = sum(a.proven for a in answers), sum(a.none for a in answers)
        seconds = fmean(answer.seconds for answer in answers)
        cells.append(f"{mean:>8}{proven:5}{none:5}{seconds:6.1f}")
    return "  ".join(cells)


_EACH = f"{'gap [%]':>8}{'prov':>5}{'none':>5}{'[s]':>6}"
HEAD = (
    f"{'':22}  {'planned':>24}  {'bare CP-SAT':>24}\n"
    f"{'set':8}{'limit':6} {'of':>3} {'both':>4}  {_EACH}  {_EACH}"
)
"""How many instances, and how many of them both have a schedule of; of these the gap to the best
known on average; how many answers are proven, of those how many that there is none; seconds."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 1 if the verifier found a plan wrong."""
    options = _options(arguments)
    sys.stdout.write(HEAD + "\n")
    broken: list[str] = []
    for name in options.sets:
        files = sample(_the(options.folder, name), options.sample, options.every)
        for limit in options.limit:
            clock = CLOCKS[options.clock]
            cases = list(measured(options.folder, name, files, limit, clock))
            sys.stdout.write(row(name, limit, cases) + "\n")
            sys.stdout.flush()
            broken += [case.name for case in cases if case.breaches]
    sys.stdout.write(f"the verifier finds {', '.join(broken) or 'nothing'} wrong\n")
    return int(bool(broken))


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Benchmark on public instances.")
    parser.add_argument("folder", type=Path, help="where the sets are, and their best_SET.csv")
    parser.add_argument("--sets", nargs="+", default=["j30", "j120", "ubo100"])
    parser.add_argument("--sample", default="*", help="a pattern of file names")
    parser.add_argument("--every", type=int, default=10, help="take every so many of them")
    parser.add_argument("--clock", choices=CLOCKS, default="wall", help="which seconds to take")
    parser.add_argument("--limit", nargs="+", type=float, default=[5.0], help="seconds for each")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
