"""How long the runs of a job take, with what comes of them; the planning before not counted.

    python -m tests.benchmarks.odds [--size 60] [--cases 3] [--samples 10000] [--clock wall]

The jobs are those of the household benchmark (``tests/support/jobs.py``).
"""

import argparse
import resource
import sys
from collections.abc import Sequence

from scheduler.odds import outlook
from scheduler.planner import plan_job
from scheduler.ready import network_of
from tests.benchmarks.case import CLOCKS
from tests.support.jobs import household


def seconds(seed: int, size: int, samples: int, clock: str) -> float:
    """Seconds of the runs of one generated job."""
    job = household(seed, size)
    plan = plan_job(job)
    network, now = network_of(job, plan), CLOCKS[clock]
    begun = now()
    outlook(network, plan, samples)
    return now() - begun


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a line a job, and the most memory that was used."""
    parser = argparse.ArgumentParser(description="Seconds of the odds of generated jobs.")
    parser.add_argument("--size", type=int, default=60)
    parser.add_argument("--cases", type=int, default=3)
    parser.add_argument("--samples", type=int, default=10_000)
    parser.add_argument("--clock", choices=CLOCKS, default="wall")
    given = parser.parse_args(arguments)
    for seed in range(given.cases):
        took = seconds(seed, given.size, given.samples, given.clock)
        sys.stdout.write(f"seed {seed}, {given.size} tasks, {given.samples} runs: {took:.2f} s\n")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    sys.stdout.write(f"peak memory: {peak} MB\n")


if __name__ == "__main__":
    main()
