"""Several jobs planned together: seconds to a first plan, what improving brings, the gap, memory.

    python -m tests.benchmarks.portfolio [--jobs 3 10 30] [--size 40] [--seeds 1]

Each portfolio runs in a process of its own. Seconds are the processor's, without imports.
"""

import argparse
import resource
import subprocess
import sys
import time
from collections.abc import Sequence

from scheduler.portfolio import together
from scheduler.portfolio.search import Effort
from scheduler.verify import check, check_together
from tests.support.portfolios import generated

_FIRST = Effort(rounds=0, tasks=0)


def case(seed: int, number: int, size: int) -> str:
    """One portfolio in figures, a line."""
    jobs = generated(seed, number, size)
    tasks = [task for job in jobs for task in job.tasks]
    links = [link for task in tasks for link in task.after]
    windows = sum(link.within is not None for link in links)
    started = time.process_time()
    first = together.plan_together(jobs, _FIRST)
    to_first = time.process_time() - started
    started = time.process_time()
    best = together.plan_together(jobs)
    spent = time.process_time() - started
    elapsed = sum(plan.finish - plan.start for plan in best.plans)
    broken = [
        b
        for made in (first, best)
        for job, plan in made.planned
        for b in check(job, plan, made.planned)
    ]
    broken += [b for made in (first, best) for b in check_together(made.planned)]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    gaps = " ".join(
        f"{100 * (made.aim.finishes - best.bound.finishes) / elapsed:7.1f}"
        for made in (first, best)
    )
    late = f"{best.aim.lateness / 1440:8.1f} {best.bound.lateness / 1440:8.1f}"
    return (
        f"{number:4} {len(tasks):5} {windows / max(len(links), 1):7.0%} {to_first:7.1f}"
        f" {spent:6.1f} {gaps} {late} {first.aim.visits:5} {best.aim.visits:5} {memory:6}"
        f" {len(broken):6}"
    )


HEAD = (
    "jobs tasks windows first/s  all/s  gap 1st    best   late d  bound d visit  best     MB broken"
)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a line for each portfolio."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--jobs", type=int, nargs="+", default=[3, 10, 30])
    options.add_argument("--size", type=int, default=40, help="tasks of a job")
    options.add_argument("--seeds", type=int, default=1)
    options.add_argument("--alone", action="store_true", help="in this process")
    said = options.parse_args(arguments)
    if said.alone:
        sys.stdout.write(case(said.seeds, said.jobs[0], said.size) + "\n")
        return
    sys.stdout.write(HEAD + "\n")
    for number in said.jobs:
        for seed in range(said.seeds):
            command = ["--alone", "--jobs", f"{number}", "--size", f"{said.size}"]
            here = [sys.executable, "-m", "tests.benchmarks.portfolio", *command]
            sys.stdout.write(_line([*here, "--seeds", f"{seed}"]))
            sys.stdout.flush()


def _line(command: Sequence[str]) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


if __name__ == "__main__":
    main()
