"""A bare constraint model of a job, to measure by: no calendars, every wait a fixed number.

Precedence with waits and windows, people, closed rooms; the solver as it comes, with two workers
and no hint. What it leaves out (hours, air, visits) is what planning adds, so the ratio of the two
says what that costs. Its finish is no bound of ours: a wait in warm air may be shorter.
"""

from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter
from typing import Any

from ortools.sat.python import cp_model

from scheduler.clock import DAY
from scheduler.model import Job, Link, Task

WORKERS = 2
LIMIT = 10.0
"""Seconds of solving."""

END = 1000 * DAY
"""Later than any finish."""

Expression = Any  # the library's linear expressions have no public type


@dataclass(frozen=True)
class Bare:
    """What the bare model took: seconds to state and to solve it; the finish [min from start]."""

    seconds: float
    proven: bool
    finish: int | None


def solve_bare(job: Job, limit: float = LIMIT, clock: Callable[[], float] = perf_counter) -> Bare:
    """State and solve the bare model of a job."""
    begun = clock()
    model = _Bare(job)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = limit
    status = solver.solve(model.cp)
    found = status in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return Bare(
        seconds=clock() - begun,
        proven=status in {cp_model.OPTIMAL, cp_model.INFEASIBLE},
        finish=round(solver.objective_value) if found else None,
    )


class _Bare:
    def __init__(self, job: Job) -> None:
        self.job, self.cp = job, cp_model.CpModel()
        self.start = {t.id: self.cp.new_int_var(0, END, t.id) for t in job.tasks}
        self.finish = {t.id: self.start[t.id] + t.work for t in job.tasks}
        self.span = {t.id: self._span(t, t.work) for t in job.tasks}
        for task in job.tasks:
            for link in task.after:
                self._link(task, link)
            self._close(task)
        self._crews()
        done = self.cp.new_int_var(0, END, "done")
        self.cp.add_max_equality(done, self.finish.values())
        self.cp.minimize(done)

    def _span(self, task: Task, length: int) -> Expression:
        return self.cp.new_fixed_size_interval_var(self.start[task.id], length, task.id)

    def _wait(self, link: Link) -> int:
        if link.stage is None:
            return link.wait
        return self._label(self.job.task[link.task], link.stage)

    def _label(self, task: Task, stage: str) -> int:
        product = self.job.product_of(task)
        assert product is not None  # a stage is always that of a product
        return product.stage(stage).minutes

    def _link(self, task: Task, link: Link) -> None:
        of = (self.start if link.of == "start" else self.finish)[link.task]
        to = (self.start if link.to == "start" else self.finish)[task.id]
        self.cp.add(to >= of + self._wait(link))
        if link.within is not None:
            self.cp.add(to <= of + link.within)

    def _crews(self) -> None:
        for person in self.job.people.values():
            tasks = [t for t in self.job.tasks if person.id in t.who and t.work]
            spans, hands = [self.span[t.id] for t in tasks], [t.hands[person.id] for t in tasks]
            if person.count == 1:
                self.cp.add_no_overlap(spans)
            else:
                self.cp.add_cumulative(spans, hands, person.count)

    def _close(self, task: Task) -> None:
        product = self.job.product_of(task)
        if product is None or task.room is None:
            return
        others = [t for t in self.job.tasks if t.room == task.room and t is not task]
        shy = [t for t in others if t.dusty]
        for stage, kept_out in ((product.closes, others), (product.dust_shy, shy)):
            if stage is not None:
                closed = self._span(task, task.work + self._label(task, stage))
                for other in kept_out:
                    self.cp.add_no_overlap([closed, self.span[other.id]])
