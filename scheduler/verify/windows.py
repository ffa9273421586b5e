"""The verifier's rule about windows: they never stretch, and give way to nothing but facts.

Where what was done or begun leaves no way to keep a window, it is lifted and called out. That there
is none is not proven here; but where moving that task alone keeps it, there was one.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from scheduler.model import Link, PlannedTask, Task
from scheduler.verify import alone, begun, between, working
from scheduler.verify.case import Breach, Case, Rule, end_of, span_in_words
from scheduler.verify.clocks import DAY, Minutes

_OTHERS = (*alone.RULES, *begun.RULES, *working.RULES, *between.RULES)

Bond = tuple[Link, PlannedTask, PlannedTask]
"""A link with the task it comes from and the one it leads to."""


def _windows(case: Case) -> Iterator[Breach]:
    """A task comes within its window, or that was lifted, with a reason and not in silence."""
    for link, before, after in _missed(case):
        gap = end_of(after, link.to) - end_of(before, link.of)
        text = f"{after.id}: {link.to} {span_in_words(gap)} after the {link.of} of {before.id}"
        text = f"{text}, at most {span_in_words(link.within or 0)}"
        if case.is_open(before.id):
            yield Breach("window", after.id, text)
        elif not is_called_out(case, link, after.id):
            yield Breach("window", after.id, f"{text}, and no warning calls it out")
        elif (start := _in_time(case, (link, before, after))) is not None:
            text = f"{text}; but starting {case.when(start)} it would be in time"
            yield Breach("window", after.id, text)


def _missed(case: Case) -> list[Bond]:
    return [
        (link, before, after)
        for link, before, after in case.binding
        if link.within is not None
        and end_of(after, link.to) - end_of(before, link.of) > link.within
    ]


def is_called_out(case: Case, link: Link, after: str) -> bool:
    """Whether a warning says that the window of a task done or begun was lifted."""
    return not case.is_open(link.task) and case.is_told(link.task, after)


def _in_time(case: Case, bond: Bond) -> int | None:
    """A start in its window that keeps every rule, all other tasks as they are; None if none."""
    task = case.job.task[bond[2].id]
    closes = end_of(bond[1], bond[0].of) + (bond[0].within or 0)
    if closes < case.now:
        return None
    free = case.now + np.flatnonzero(
        working.workable(case, task, case.now, closes + task.work + 7 * DAY, doubt=-1)
    )
    return next((s for s in _worth_trying(case, free, closes) if _fits(case, bond, free, s)), None)


def _worth_trying(case: Case, free: Minutes, closes: int) -> list[int]:
    """Where a start may become possible: as hours and air begin, as other tasks and waits end."""
    begins = free[np.diff(free, prepend=-1) != 1].tolist()
    ends = [placed.finish for placed in case.placed.values()]
    ends += [wait.end for wait in case.plan.waits]
    later = [int(free[i]) for i in np.searchsorted(free, ends) if i < len(free)]
    return sorted({start for start in (*begins, *later) if start <= closes})


def _fits(case: Case, bond: Bond, free: Minutes, start: int) -> bool:
    """Whether a task may be moved to a start: no rule is broken that is not broken anyhow."""
    link, before, after = bond
    placed = _placed_at(case.job.task[after.id], after, free, start)
    if placed is None or end_of(placed, link.to) - end_of(before, link.of) > (link.within or 0):
        return False
    if _people_are_elsewhere(case, placed):
        return False
    tasks = tuple(placed if p.id == after.id else p for p in case.plan.tasks)
    moved = Case(case.job, replace(case.plan, tasks=tasks))
    return _broken(moved) <= _broken(case)


def _people_are_elsewhere(case: Case, placed: PlannedTask) -> bool:
    """Whether other jobs leave too few of a task's people at some moment of it."""
    for who, wanted in placed.hands.items():
        person = case.job.people[who]
        taken = [
            other
            for beside in case.beside
            if person.crew and beside.job.people.get(who) == person
            for task, other in beside.pairs
            if who in other.hands and task.work and beside.state(task.id) != "done"
        ]
        for start in (placed.start, *(other.start for other in taken)):
            on = [other for other in taken if other.start <= start < other.finish]
            full = sum(other.hands[who] for other in on) + wanted > person.count
            if full and placed.start <= start < placed.finish:
                return True
    return False


def _broken(case: Case) -> set[object]:
    """Whatever rule of placing a plan breaks, and the windows it misses."""
    missed = {(link, before.id, after.id) for link, before, after in _missed(case)}
    return {*missed, *(breach for rule in _OTHERS for breach in rule(case))}


def _placed_at(task: Task, after: PlannedTask, free: Minutes, start: int) -> PlannedTask | None:
    """The task worked on from a start in the next free minutes; None where they don't suffice."""
    if task.work == 0:
        return replace(after, start=start, finish=start, sessions=())
    worked = free[np.searchsorted(free, start) :][: task.work]
    breaks = np.flatnonzero(np.diff(worked) != 1)
    if len(worked) < task.work or (len(breaks) and not task.split):
        return None
    starts = worked[[0, *(breaks + 1)]].tolist()
    ends = (worked[[*breaks, -1]] + 1).tolist()
    sessions = tuple(zip(starts, ends, strict=True))
    return replace(after, start=start, finish=ends[-1], sessions=sessions)


RULES: tuple[Rule, ...] = (_windows,)
