"""Benchmark of planning a household's job, run by hand.

``python -m tests.benchmarks.household [--sizes 12 60 200] [--cases 10] [--json FILE]`` plans
generated jobs of each size, each in a fresh process (so that its import and its memory are its
own), and prints medians. With ``--clock processor`` seconds are those of the processor, which say
more where other programs keep the machine busy; threads add up.
"""

# Imports nothing heavy: on some systems a new process inherits the peak memory of its parent.
import argparse
import json
import os
import platform
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path

from tests.benchmarks.case import CLOCKS, Case
from tests.benchmarks.table import remarks, table

_ROOT = Path(__file__).parents[2]


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure, print, keep; 1 if the verifier found a plan wrong."""
    options = _options(arguments)
    about = _about(options.clock)
    cases = list(_measured(options))
    lines = [", ".join(f"{k} {v}" for k, v in about.items()), "", *table(cases), *remarks(cases)]
    sys.stdout.write("\n".join(lines) + "\n")
    if options.json:
        kept = {"about": about, "cases": [asdict(case) for case in cases]}
        options.json.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    return int(any(case.breaches for case in cases))


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Benchmark of planning generated jobs.")
    parser.add_argument("--sizes", nargs="+", type=int, default=[12, 60, 200], help="tasks")
    parser.add_argument("--cases", type=int, default=10, help="jobs of each size")
    parser.add_argument("--first", type=int, default=0, help="seed of the first job")
    parser.add_argument("--clock", choices=CLOCKS, default="wall", help="which seconds to take")
    parser.add_argument("--json", type=Path, help="file for the figures of every job")
    return parser.parse_args(arguments)


def _about(clock: str) -> dict[str, str]:
    """What was measured with; the load says whether the machine was quiet."""
    return {
        "Python": platform.python_version(),
        "ortools": version("ortools"),
        "numpy": version("numpy"),
        "cores": str(os.cpu_count()),
        "load": f"{os.getloadavg()[0]:.1f}",
        "clock": clock,
    }


def _measured(options: argparse.Namespace) -> Iterator[Case]:
    for size in options.sizes:
        for seed in range(options.first, options.first + options.cases):
            sys.stderr.write(f"\r{size} tasks, seed {seed} ")
            yield _in_a_fresh_process(seed, size, options.clock)
    sys.stderr.write("\r")


def _in_a_fresh_process(seed: int, size: int, clock: str) -> Case:
    command = [sys.executable, "-m", "tests.benchmarks.case", str(seed), str(size), clock]
    run = subprocess.run(command, cwd=_ROOT, stdout=subprocess.PIPE, check=True, text=True)
    return Case.from_json(run.stdout)


if __name__ == "__main__":
    sys.exit(main())
