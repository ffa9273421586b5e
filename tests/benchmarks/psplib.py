"""Benchmark on public instances of project scheduling, run by hand beside bare CP-SAT.

``python -m tests.benchmarks.psplib FOLDER [--sets j30 j120 ubo100] [--every 10] [--limit 5]``: the
folder has a folder of instances for each set and, beside that, ``best_SET.csv`` with the columns
``problem`` and ``optimum`` (a number, ``least..most`` where it is open, ``unsat``). Each instance
becomes a job and is planned; then the same is stated in CP-SAT alone, with two workers and no hint.
Both have the same time for it; with
``--clock processor`` it is the processor's, for a machine that is busy otherwise.
"""

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter, process_time

from ortools.sat.python import cp_model

from scheduler.anyplan import Unsolved
from scheduler.cpsolver import watched
from scheduler.network import Network, networks
from scheduler.passes import finish_of
from scheduler.plan import make_plan
from scheduler.solve import Effort, Solution, solve
from scheduler.verify import check
from tests.benchmarks.case import CLOCKS
from tests.benchmarks.instances import Instance, best_known, job_of, read

WORKERS = 2
BOUNDLESS = 1e6
"""Deterministic effort that no limit in seconds is enough for."""


Clock = Callable[[], float]


class Until:
    """A watch that has enough after some seconds."""

    def __init__(self, seconds: float, clock: Clock) -> None:
        self._clock, self._end = clock, clock() + seconds

    def found(self, finish: int, /) -> None:
        """The solution will say."""

    def bounded(self, finish: int, /) -> None:
        """The solution will say."""

    def enough(self) -> bool:
        """Whether the time is up."""
        return self._clock() >= self._end


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


@dataclass(frozen=True)
class Case:
    """An instance with both answers, and the best bounds known of it; None where it has none."""

    name: str
    known: tuple[int, int] | None
    ours: Answer
    bare: Answer
    breaches: int

    def gap(self, answer: Answer) -> float | None:
        """How far over the best known a makespan is [%]."""
        best = [a.makespan for a in (self.ours, self.bare) if a.makespan is not None]
        if answer.makespan is None or self.known is None:
            return None
        least = min(self.known[1], *best)  # ours may well be better than what is known
        return 100 * (answer.makespan - least) / least


def planned(instance: Instance, limit: float, clock: Clock = perf_counter) -> tuple[Answer, int]:
    """What planning finds in so many seconds, with the breaches that the verifier finds in it."""
    begun = clock()
    job = job_of(instance)
    network = next(iter(networks(job)))
    effort = Effort(finish=BOUNDLESS, visits=0.01, early=0.01, watch=Until(limit, clock))
    try:
        solution = solve(network, effort)
    except Unsolved as unsolved:
        return Answer(None, unsolved.proven, clock() - begun), 0
    seconds = clock() - begun
    breaches = len(check(job, make_plan(network, solution)))
    return _answer(network, solution, seconds), breaches


def _answer(network: Network, solution: Solution, seconds: float) -> Answer:
    finish = finish_of(network, solution.starts)
    return Answer(finish, finish <= solution.finish_bound, seconds)


def bare(instance: Instance, limit: float, clock: Clock = perf_counter) -> Answer:
    """What CP-SAT finds by itself in so many seconds; of the processor's, in as many per worker."""
    begun = clock()
    model = _stated(instance)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    watch = Until(WORKERS * limit if clock is process_time else limit, clock)
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


def measured(
    folder: Path, name: str, every: int, limit: float, clock: Clock = perf_counter
) -> Iterator[Case]:
    """Every so many instances of a set, in the order of their names."""
    known = best_known(_the(folder, f"best_{name}.csv"))
    for path in sorted(_the(folder, name).iterdir())[::every]:
        instance = read(path)
        ours, breaches = planned(instance, limit, clock)
        yield Case(path.name, known[path.name], ours, bare(instance, limit, clock), breaches)


def _the(folder: Path, name: str) -> Path:
    found = [path for path in sorted(folder.rglob(name)) if path.exists()]
    if not found:
        raise SystemExit(f"there is no {name} in {folder}")
    return found[0]


def row(name: str, limit: float, cases: Sequence[Case]) -> str:
    """A set's line of the table."""
    cells = [f"{name:8}{limit:5g} s{len(cases):5}"]
    for answers in ([case.ours for case in cases], [case.bare for case in cases]):
        pairs = zip(cases, answers, strict=True)
        gaps = [gap for case, answer in pairs if (gap := case.gap(answer)) is not None]
        mean = f"{sum(gaps) / len(gaps):.2f} ({len(gaps)})" if gaps else "-"
        proven = sum(answer.proven for answer in answers)
        seconds = sum(answer.seconds for answer in answers) / len(answers)
        cells.append(f"{mean:>11}{proven:5}{seconds:6.1f}")
    return " ".join(cells)


_EACH = f"{'gap [%]':>11}{'prov':>5}{'[s]':>6}"
HEAD = f"{'':20}{'planned':>22} {'bare CP-SAT':>22}\n{'set':8}{'limit':>7}{'of':>5} {_EACH} {_EACH}"
"""Gap to the best known on average, over how many; how many proven; seconds on average."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 1 if the verifier found a plan wrong."""
    options = _options(arguments)
    sys.stdout.write(HEAD + "\n")
    broken: list[str] = []
    for name in options.sets:
        for limit in options.limit:
            clock = CLOCKS[options.clock]
            cases = list(measured(options.folder, name, options.every, limit, clock))
            sys.stdout.write(row(name, limit, cases) + "\n")
            sys.stdout.flush()
            broken += [case.name for case in cases if case.breaches]
    sys.stdout.write(f"the verifier finds {', '.join(broken) or 'nothing'} wrong\n")
    return int(bool(broken))


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Benchmark on public instances.")
    parser.add_argument("folder", type=Path, help="where the sets are, and their best_SET.csv")
    parser.add_argument("--sets", nargs="+", default=["j30", "j120", "ubo100"])
    parser.add_argument("--every", type=int, default=10, help="take every so many instances")
    parser.add_argument("--clock", choices=CLOCKS, default="wall", help="which seconds to take")
    parser.add_argument("--limit", nargs="+", type=float, default=[5.0], help="seconds for each")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
