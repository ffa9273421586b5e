"""The verifier's rules about when work can happen: people's hours, and air to apply things in."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from scheduler.model import Task
from scheduler.verify.air import Weather, may_apply, weather
from scheduler.verify.case import Breach, Case, Rule
from scheduler.verify.clocks import Flags, in_hours
from scheduler.verify.trades import can_be_had


def _hours(case: Case) -> Iterator[Breach]:
    """Work happens in the hours of everybody who does it."""
    for task, placed in case.pairs:
        for first, last in case.to_come(task, placed):
            for who in task.who:
                out = ~in_hours(case.job.people[who], case.job.timezone, first, last)
                if out.any():
                    text = f"{task.id}: {who} has no hours {_when_out(case, out, first)}"
                    yield Breach("hours", task.id, text)


def _air(case: Case) -> Iterator[Breach]:
    """A product is applied in air within its limits."""
    for task, placed in case.pairs:
        if (product := case.job.product_of(task)) is None:
            continue
        for first, last in case.to_come(task, placed):
            out = ~may_apply(product.limits, _air_of(case, task, first, last), doubt=1)
            if out.any():
                text = f"{task.id}: the air is out of the limits of {product.id}"
                yield Breach("air", task.id, f"{text} {_when_out(case, out, first)}")


def _idle(case: Case) -> Iterator[Breach]:
    """Work that was begun uses every workable minute until it is done."""
    for task, placed in case.pairs:
        since = () if case.is_open(task.id) else ((case.now, case.now),)
        for (_, first), (last, _) in pairwise((*since, *case.to_come(task, placed))):
            if first < last and (idle := workable(case, task, first, last, doubt=-1)).any():
                text = f"{task.id} rests in minutes that could be worked"
                yield Breach("idle", task.id, f"{text} {_when_out(case, idle, first)}")


def workable(case: Case, task: Task, first: int, last: int, *, doubt: int) -> Flags:
    """For each minute of ``[first, last)``, whether a task could be worked on.

    ``doubt`` is that of ``may_apply``: +1 counts what is within rounding of a limit as workable.
    """
    fine = np.ones(last - first, dtype=np.bool_)
    for who in task.who:
        fine &= in_hours(case.job.people[who], case.job.timezone, first, last)
        if case.is_open(task.id):
            fine &= can_be_had(case, case.job.people[who], first, last)
    if (product := case.job.product_of(task)) is not None:
        fine &= may_apply(product.limits, _air_of(case, task, first, last), doubt=doubt)
    return fine


def _air_of(case: Case, task: Task, first: int, last: int) -> Weather:
    return weather(case.job.air_of(task.room), case.job.timezone, first, last)


def last_start(case: Case, task: Task, first: int, closes: int, *, doubt: int) -> int | None:
    """The last moment from ``first`` on at which a task can start to be done by ``closes``."""
    last = closes if task.work else closes + 1
    free = first + np.flatnonzero(workable(case, task, first, max(first, last), doubt=doubt))
    starts = free[: max(0, len(free) - task.work + 1)] if task.work else free
    if task.work and not task.split:
        starts = starts[free[task.work - 1 :] - starts == task.work - 1]
    return int(starts[-1]) if len(starts) else None


def _when_out(case: Case, out: Flags, first: int) -> str:
    """The first run of flagged minutes, in words."""
    start = int(np.argmax(out))
    end = start + int(np.argmin(out[start:])) if not out[start:].all() else len(out)
    return f"from {case.when(first + start)} to {case.when(first + end)}"


RULES: tuple[Rule, ...] = (_hours, _air, _idle)
