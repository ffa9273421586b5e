"""The verifier's rules about a job under way: what happened is a fact, the rest is to come."""

from collections.abc import Iterator

import numpy as np

from scheduler.model import PlannedTask, Task
from scheduler.verify.case import Breach, Case, Rule, span_in_words
from scheduler.verify.working import workable

STILL_TO_GO = 15
"""Minutes supposed to be left of what should be done by now, where nobody said that it is."""


def _state(case: Case) -> Iterator[Breach]:
    """What is done or running is told as such."""
    for task, placed in case.pairs:
        if placed.state != (state := case.state(task.id)):
            yield Breach("state", task.id, f"{task.id} is told as {placed.state} and is {state}")


def _facts(case: Case) -> Iterator[Breach]:
    """Real starts and finishes are kept."""
    for task, placed in case.pairs:
        known = case.known(task.id)
        if known.finished is None and known.started is None:
            continue
        if placed.start != known.started is not None:
            text = f"{task.id} starts {case.when(placed.start)}, but really did so"
            yield Breach("facts", task.id, f"{text} {case.when(known.started)}")
        if placed.finish != known.finished is not None:
            text = f"{task.id} finishes {case.when(placed.finish)}, but really did so"
            yield Breach("facts", task.id, f"{text} {case.when(known.finished)}")


def _now(case: Case) -> Iterator[Breach]:
    """Nothing is placed before now."""
    for task, placed in case.open:
        if case.job.past is not None and placed.start < case.now:
            text = f"{task.id} starts {case.when(placed.start)}, and it is"
            yield Breach("now", task.id, f"{text} {case.when(case.now)}")


def _sessions(case: Case) -> Iterator[Breach]:
    """What has begun is worked on in order and apart, between its start and its finish."""
    for task, placed in case.pairs:
        inside = [minute for session in placed.sessions for minute in session]
        bounds = [placed.start, *inside, placed.finish]
        in_order = sorted(set(inside)) == inside and sorted(bounds) == bounds
        if not in_order and not case.is_open(task.id):
            text = f"{task.id}: sessions not in order and apart between its start and its finish"
            yield Breach("sessions", task.id, text)


def _goes_on(case: Case) -> Iterator[Breach]:
    """What is running goes on from now, for as long as the work that is left.

    What may not split is taken to have gone on since its start.
    """
    for task, placed in case.pairs:
        if case.state(task.id) != "running":
            continue
        worked = sum(end - start for start, end in case.to_come(task, placed))
        done = placed.start + task.work
        through = done if done > case.now else case.now + STILL_TO_GO
        if not _may_rest(task) and placed.sessions != ((placed.start, through),):
            text = f"{task.id} goes on without a break, to finish {case.when(through)}"
            yield Breach("work left", task.id, f"{text} and not {case.when(placed.finish)}")
        if _may_rest(task) and not _is_left(case, task, placed, worked):
            left = span_in_words(max(STILL_TO_GO, _left(case, task, placed, doubt=-1)))
            text = (
                f"{task.id} goes on for {span_in_words(worked)}, until {case.when(placed.finish)}"
            )
            yield Breach("work left", task.id, f"{text}; {left} of work are left")


def _may_rest(task: Task) -> bool:
    return task.split and task.work > 0


def _is_left(case: Case, task: Task, placed: PlannedTask, worked: int) -> bool:
    """Whether that much work can be what is left, and it finishes with it."""
    least, most = (_left(case, task, placed, doubt=doubt) for doubt in (1, -1))
    overdue = least <= 0 and worked == STILL_TO_GO
    in_time = placed.sessions and placed.sessions[-1][1] == placed.finish
    return bool(in_time) and (overdue or max(least, 1) <= worked <= most)


def _left(case: Case, task: Task, placed: PlannedTask, *, doubt: int) -> int:
    """The work less the minutes since the start in which it could be worked on."""
    last = max(placed.start, case.now)
    if not _may_rest(task):
        return task.work - (last - placed.start)
    gone = workable(case, task, placed.start, last, doubt=doubt)
    return task.work - int(np.count_nonzero(gone))


def _told(case: Case) -> Iterator[Breach]:
    """What failed and what should be done by now are called out in the warnings."""
    for task, placed in case.pairs:
        failed = case.known(task.id).failed is not None
        overdue = case.state(task.id) == "running" and _left(case, task, placed, doubt=-1) <= 0
        if (failed or overdue) and not case.is_told(task.id):
            what = "failed" if failed else "should be done by now"
            yield Breach("warnings", task.id, f"{task.id} {what}, and no warning says so")


RULES: tuple[Rule, ...] = (_state, _facts, _now, _sessions, _goes_on, _told)
