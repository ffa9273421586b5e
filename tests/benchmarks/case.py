"""One generated job planned in a process of its own.

``python -m tests.benchmarks.case SEED SIZE CLOCK`` prints its figures as JSON. Nothing of the
package is imported until its import is being timed.
"""

import builtins
import importlib
import json
import resource
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from time import perf_counter, process_time
from typing import TYPE_CHECKING, Any

from tests.benchmarks.stopwatch import Stopwatch

if TYPE_CHECKING:
    from scheduler.model import Job, Plan
    from scheduler.network import Network

CLOCKS = {"wall": perf_counter, "processor": process_time}

STAGES = ("import", "import of CP-SAT", "build", "finish", "rest", "tell")
"""What planning consists of: import of what every plan needs; import of the constraint solver,
where it came to be needed; hours, air and waits compiled; first plan, bounds and proof of the
earliest finish; visits and everything early; reasons and floats."""


@dataclass(frozen=True)
class Finish:
    """The finish of a plan: minutes from the job's start, and how far it may be from the earliest.

    ``working_days`` are the days past that of the bound on which somebody has hours.
    """

    elapsed: int
    gap: int
    working_days: int


@dataclass(frozen=True)
class Visits:
    """Days of coming: as early as possible at the earliest finish, then in the plan; the bound."""

    before: int
    after: int
    bound: int


@dataclass(frozen=True)
class Case:
    """The figures of one job: seconds by stage; ``total`` is all of planning, imports left out.

    ``no_plan`` says why there is no plan, and then there are no figures of one.
    """

    seed: int
    size: int
    seconds: Mapping[str, float]
    total: float
    memory_mb: float
    no_plan: str | None = None
    finish: Finish | None = None
    visits: Visits | None = None
    breaches: int = 0
    bare_seconds: float = 0.0
    bare_proven: bool = False

    @property
    def cp_sat_loaded(self) -> bool:
        """Whether something was left to prove by the constraint solver."""
        return "import of CP-SAT" in self.seconds

    @property
    def proven(self) -> bool:
        """Whether no plan finishes earlier."""
        return self.finish is not None and self.finish.gap == 0

    @classmethod
    def from_json(cls, text: str) -> "Case":
        """A case as ``main`` printed it."""
        fields: dict[str, Any] = json.loads(text)
        finish, visits = fields.pop("finish"), fields.pop("visits")
        return cls(
            **fields,
            finish=Finish(**finish) if finish else None,
            visits=Visits(**visits) if visits else None,
        )


def measure(seed: int, size: int, clock: str = "wall") -> Case:
    """Plan a generated job and take its figures; the process must be fresh."""
    watch = Stopwatch(CLOCKS[clock])
    with watch.stage("import"):
        planner = importlib.import_module("scheduler.planner")
    from tests.support.jobs import household

    job = household(seed, size)
    _watch_stages(watch)
    refused, plan = None, None
    with watch.stage("total"):
        try:
            plan = planner.plan_job(job)
        except planner.NoPlan as no_plan:
            refused = " ".join(str(no_plan).split())
    total = sum(watch.seconds[stage] for stage in ("build", "finish", "rest", "tell", "total"))
    seconds = {stage: watch.seconds[stage] for stage in STAGES if stage in watch.seconds}
    case = Case(seed, size, seconds, total, peak_memory_mb(), refused)
    return case if plan is None else _judged(case, job, plan, watch)


def _watch_stages(watch: Stopwatch) -> None:
    from scheduler import network, planner, solve

    watch.watch(network, "compile_job", "build")
    watch.watch(planner, "solve", "finish")
    watch.watch(solve, "_at_finish", "rest")  # within solve, so what is left is the finish
    watch.watch(planner, "make_plan", "tell")
    watch.watch(builtins, "__import__", "import of CP-SAT", _first_of_the_model)


def _first_of_the_model(wanted: str, *_args: object, **_options: object) -> bool:
    return wanted == "scheduler.cpmodel" and wanted not in sys.modules


def peak_memory_mb() -> float:
    """The most memory this process has held so far [MB]."""
    unit = 1 if sys.platform == "darwin" else 1024  # bytes there, KiB elsewhere
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6


def _judged(case: Case, job: "Job", plan: "Plan", watch: Stopwatch) -> Case:
    """The case with what is to be said of its plan, and the bare model's figures beside it."""
    from scheduler.verify import check
    from scheduler.visits import count_visits
    from tests.benchmarks.bare import solve_bare

    bounds, _, first, _ = watch.calls["rest"]
    network = bounds.network
    gap = plan.finish - plan.finish_bound
    days = working_days(network, plan.finish_bound, plan.finish)
    bare = solve_bare(job, clock=watch.clock)
    return replace(
        case,
        finish=Finish(plan.finish - plan.start, gap, days),
        visits=Visits(count_visits(*first.at), plan.visits, plan.visits_bound),
        breaches=len(check(job, plan)),
        bare_seconds=bare.seconds,
        bare_proven=bare.proven,
    )


def working_days(network: "Network", bound: int, finish: int) -> int:
    """The days past that of ``bound``, up to ``finish``, on which somebody has hours."""
    from scheduler.clock import day_end, day_of
    from scheduler.hours import spans
    from scheduler.network import days_of

    zone = network.job.timezone
    morning = day_end(day_of(bound, zone), zone)
    hours = [network.hours[person] for person, steps in network.visitors.items() if steps]
    return len(days_of(spans(part for own in hours for part in own.within(morning, finish)), zone))


def main() -> None:
    """Print the figures of the job of a seed and a size."""
    seed, size, clock = sys.argv[1:]
    sys.stdout.write(json.dumps(asdict(measure(int(seed), int(size), clock))) + "\n")


if __name__ == "__main__":
    main()
