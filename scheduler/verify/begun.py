"""The verifier's rules about a job under way: what happened is a fact, the rest is to come."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from scheduler.model import PlannedTask, Task
from scheduler.verify.case import Breach, Case, Rule, span_in_words
from scheduler.verify.clocks import Flags
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
        if not _may_rest(task) and placed.sessions != _straight_on(case, placed, done, through):
            text = f"{task.id} goes on without a break, to finish {case.when(through)}"
            yield Breach("work left", task.id, f"{text} and not {case.when(placed.finish)}")
        if _may_rest(task) and not _is_left(case, task, placed, worked):
            left = span_in_words(max(STILL_TO_GO, _left(case, task, placed, doubt=-1)))
            text = (
                f"{task.id} goes on for {span_in_words(worked)}, until {case.when(placed.finish)}"
            )
            yield Breach("work left", task.id, f"{text}; {left} of work are left")


def _straight_on(
    case: Case, placed: PlannedTask, done: int, through: int
) -> tuple[tuple[int, int], ...]:
    """The sessions of what goes on without a break, and is taken up again where it takes longer."""
    if done >= case.now:
        return ((placed.start, through),)
    again = (case.now, through)
    return ((placed.start, done), again) if placed.start < done else (again,)


def _came(case: Case) -> Iterator[Breach]:
    """What has begun was worked on in its hours, from its real start to its real finish.

    Out of hours, at either end, for no longer than it is work.
    """
    for task, placed in case.pairs:
        done = case.state(task.id) == "done"
        if case.is_open(task.id) or not (done or _may_rest(task)):
            continue
        last = max(placed.start, placed.finish if done else case.now)
        sure, maybe = _hours_of(case, task, placed.start, last)
        if maybe.any() and not sure.any():
            continue  # by rounding alone
        worked = _worked(placed, last)
        least, most = _with_ends(sure, maybe, task, done), _with_ends(maybe, sure, task, done)
        if (least & ~worked).any() or (worked & ~most).any():
            text = f"{task.id} was not worked on when its sessions until {case.when(last)} say"
            yield Breach("came", task.id, text)


def _hours_of(case: Case, task: Task, first: int, last: int) -> tuple[Flags, Flags]:
    """The minutes in which it surely could be worked on, and those in which perhaps it could."""
    sure, maybe = (workable(case, task, first, last, doubt=doubt) for doubt in (-1, 1))
    if maybe.any():
        return sure, maybe
    there = workable(case, replace(task, applies=None), first, last, doubt=0)
    return there, there


def _with_ends(free: Flags, other: Flags, task: Task, done: bool) -> Flags:
    """Those minutes, with what comes before the first and, of what is done, after the last.

    ``other`` says where those are: the fewer free minutes are sure, the longer the ends may be.
    """
    n, most = len(free), max(task.work, 1)
    if not other.any():
        return np.arange(n) < (n if done else most)
    found = free.copy()
    found[: min(int(np.argmax(other)), most)] = True
    if done:
        found[max(n - int(np.argmax(other[::-1])), n - most) :] = True
    return found


def _worked(placed: PlannedTask, last: int) -> Flags:
    worked = np.zeros(last - placed.start, dtype=np.bool_)
    for start, end in placed.sessions:
        worked[max(start - placed.start, 0) : max(end - placed.start, 0)] = True
    return worked


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


RULES: tuple[Rule, ...] = (_state, _facts, _now, _sessions, _came, _goes_on, _told)
