"""A search watched from a terminal: its progress, its time, and Ctrl-C, in a process of its own."""

import json
import os
import re
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pytest

from scheduler import cli
from scheduler.earlierplan import read_plan
from scheduler.planner import plan_job
from scheduler.solve import Effort
from scheduler.verify import check
from scheduler.vigil import Vigil
from tests.support.jobs import household

ROOT = Path(__file__).parents[1]
posix = pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
PATIENCE = 120  # seconds; a busy machine may need them

# Runs the command line on a generated job instead of a file's.
DRIVER = """
import sys
from scheduler import cli, plancommand
from tests.support.jobs import START, household
plancommand.job_now = lambda *_: (household(0, 200), START)
{more}
sys.exit(cli.main(["plan", "generated.yaml", *sys.argv[1:]]))
"""


class Terminal:
    """A command with a pseudo-terminal for its standard error, and a pipe for its output."""

    def __init__(self, *arguments: str, more: str = "") -> None:
        self.screen, theirs = os.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", DRIVER.format(more=textwrap.dedent(more)), *arguments],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80"},
            stdout=subprocess.PIPE,
            stderr=theirs,
        )
        os.close(theirs)
        self.seen = ""

    def wait_for(self, words: str) -> None:
        """Read from the screen until it has shown some words."""
        until = time.monotonic() + PATIENCE
        while words not in self.seen:
            assert time.monotonic() < until, self.seen
            try:
                read = os.read(self.screen, 4096)
            except OSError:  # Linux: nobody is left at the other end
                read = b""
            assert read, f"ended without {words!r}: {self.seen!r}"
            self.seen += read.decode()

    def interrupt(self) -> None:
        self.process.send_signal(signal.SIGINT)

    def end(self) -> tuple[int, str]:
        """Wait for its end: the exit code, and what it printed."""
        out, _ = self.process.communicate(timeout=PATIENCE)
        try:
            while read := os.read(self.screen, 4096):
                self.seen += read.decode()
        except OSError:
            pass
        return self.process.returncode, out.decode()


@contextmanager
def terminal(*arguments: str, more: str = "") -> Iterator[Terminal]:
    opened = Terminal(*arguments, more=more)
    try:
        yield opened
    finally:
        opened.process.kill()
        opened.process.wait()
        os.close(opened.screen)


@posix
def test_ctrl_c_gives_the_best_plan_so_far() -> None:
    # No plan of this job is proven in an hour: only Ctrl-C ends the search.
    with terminal("--json", "--check", "--time", "1 h") as shown:
        shown.wait_for(" s: finishes ")
        shown.interrupt()
        code, out = shown.end()
    assert code == 0
    assert "stopped after" in shown.seen
    assert "checked against every rule: nothing broken" in shown.seen
    job, tree = household(0, 200), json.loads(out)
    assert read_plan(out.encode(), "plan.json", job).starts.keys() == job.task.keys()
    assert tree["finish_bound"] <= tree["finish"]
    assert re.search(r"\r +\rstopped after", shown.seen)  # the progress is wiped before


@posix
def test_ctrl_c_gives_the_best_plans_of_several_jobs_so_far() -> None:
    # Nothing proves the sum of their finishes: only Ctrl-C ends the search.
    more = """
    houses = ["examples/two-houses/hall-floor.yaml", "examples/two-houses/guest-bath.yaml"]
    sys.argv[1:1] = houses
    sys.exit(cli.main(["plan", *sys.argv[1:]]))
    """
    with terminal(
        "--json", "--check", "--time", "1 h", "--now", "2027-03-01 8:00", more=more
    ) as shown:
        shown.wait_for(" on average, none before ")
        shown.interrupt()
        code, out = shown.end()
    assert code == 0
    assert re.search(r" s: done \w+\s\d+\sMar\s\d\d:\d\d on average, none before ", shown.seen)
    assert "stopped after" in shown.seen
    assert "2 plans checked, and with each other: nothing broken" in shown.seen
    assert len(json.loads(out)["jobs"]) == 2


@posix
def test_ctrl_c_before_there_is_a_plan_ends_with_130_and_without_a_word() -> None:
    more = """
    from scheduler import planner
    def never(*_):
        print("searching", file=sys.stderr, flush=True)
        while True:
            pass
    planner.solve = never
    """
    with terminal("--json", more=more) as shown:
        shown.wait_for("searching")
        shown.interrupt()
        code, out = shown.end()
    assert (code, out) == (130, "")
    assert shown.seen.split() == ["searching"]


@posix
def test_a_second_ctrl_c_ends_it_at_once() -> None:
    more = """
    from scheduler import planner
    def deaf(network, effort, keep):
        effort.watch.found(START)
        print("searching", file=sys.stderr, flush=True)
        while not effort.watch.stopped:
            pass
        print("heard", file=sys.stderr, flush=True)
        while True:
            pass
    planner.solve = deaf
    """
    with terminal("--json", more=more) as shown:
        shown.wait_for("searching")
        shown.interrupt()
        shown.wait_for("heard")
        shown.interrupt()
        code, out = shown.end()
    assert (code, out) == (130, "")
    assert "Traceback" not in shown.seen


def test_ctrl_c_is_heard_while_the_constraint_solver_searches() -> None:
    job = household(3, 60)  # whose last half a day nothing has proven so far

    def press(vigil: Vigil) -> None:
        while vigil.bound is None:  # a plan is at hand, and the solver's turn comes next
            time.sleep(0.01)
        time.sleep(1)
        os.kill(os.getpid(), signal.SIGINT)

    with Vigil(job.timezone, None) as vigil:
        pressing = Thread(target=press, args=[vigil])
        pressing.start()
        plan = plan_job(job, Effort(finish=1e6, watch=vigil))  # days of searching
        pressing.join()
    assert vigil.stopped
    assert check(job, plan) == ()
    assert not plan.proven_earliest
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


class Patience:
    """A watch that has enough after so many questions, and remembers what it was told."""

    def __init__(self, questions: int) -> None:
        self.left = questions
        self.finishes: list[int] = []
        self.bounds: list[int] = []

    def found(self, finish: int, /) -> None:
        self.finishes.append(finish)

    def bounded(self, finish: int, /) -> None:
        self.bounds.append(finish)

    def enough(self) -> bool:
        self.left -= 1
        return self.left < 0


QUICK = Effort(tries=2, finish=0.002, visits=0.002, early=0.002)


@pytest.mark.parametrize("questions", [0, 1, 2, 5, 20])
def test_whoever_has_enough_gets_a_whole_plan_that_keeps_every_rule(questions: int) -> None:
    job, watch = household(2, 40), Patience(questions)
    plan = plan_job(job, Effort(watch=watch))
    assert check(job, plan) == ()
    assert watch.left <= 0
    assert plan.finish_bound >= max(watch.bounds)
    assert plan.finish <= min(watch.finishes)


def test_who_only_watches_changes_nothing_and_is_told_what_is_found() -> None:
    job, watch = household(2, 40), Patience(10**9)
    plan = plan_job(job, Effort(watch=watch))
    assert plan == plan_job(job)
    assert min(watch.finishes) == plan.finish
    assert max(watch.bounds) == plan.finish_bound


def test_searching_on_ends_with_the_proof() -> None:
    job = household(2, 40)
    short, on = plan_job(job, QUICK), plan_job(job, replace(QUICK, on=True))
    assert check(job, on) == ()
    assert not short.proven_earliest
    assert on.proven_earliest
    assert on.visits == on.visits_bound


def test_searching_on_ends_when_the_time_is_up() -> None:
    job = household(3, 60)
    with Vigil(job.timezone, 6.0) as vigil:
        plan = plan_job(job, replace(QUICK, on=True, watch=vigil))
    assert vigil.seconds >= 6  # it is not proven before
    assert (vigil.stopped, vigil.said()) == (False, None)
    assert check(job, plan) == ()
    assert vigil.best == plan.finish
    assert plan.finish <= plan_job(job, QUICK).finish


@pytest.mark.parametrize("time", ["30s", "30 s", "0.5 min", "PT30S", "1 min 30 s"])
def test_time_in_any_spelling(
    time: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("job: A\ntimezone: UTC\nstart: 2027-01-04\ntasks: {a: {work: 1 h}}\n", "utf-8")
    assert cli.main(["plan", str(file), "--time", time]) == 0
    assert "Proven: no plan finishes earlier." in capsys.readouterr().out


@pytest.mark.parametrize("time", ["ninety", "30", "0", "0 s", "-5 s", ""])
def test_what_is_no_time_is_refused(time: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["plan", str(ROOT / "examples/small-floor.yaml"), "--time", time]) == 2
    told = f"error: --time must be a time such as 30 s or 2 min (found {time!r})\n"
    assert capsys.readouterr().err == told
