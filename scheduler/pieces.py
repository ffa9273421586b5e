"""Maps of many starts at once, cut into pieces of which each is one constraint."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.hours import NEVER, Spans
from scheduler.steps import Begun, Step

Array = np.ndarray[Any, np.dtype[np.int64]]


@dataclass(frozen=True)
class Piece:
    """A run of a nondecreasing map of starts: its value stays, or its distance to the finish."""

    first: int
    last: int
    value: int
    flat: bool


@dataclass(frozen=True)
class Slope:
    """A run of a map of starts in a row that goes on at ``slope`` a minute from its first value."""

    first: int
    last: int
    value: int
    slope: int


def finishes_of(step: Step, starts: Array) -> Array:
    """``Step.finish`` of many starts at once."""
    if isinstance(step, Begun):
        return np.full_like(starts, step.end)
    work = step.task.work
    if work == 0 or not step.task.split:
        return starts + work
    first = np.array(step.workable.starts, dtype=np.int64)
    lengths = np.array(step.workable.ends, dtype=np.int64) - first
    before = np.concatenate(([0], np.cumsum(lengths)))
    span = np.searchsorted(first, starts, side="right") - 1
    last = before[span] + starts - first[span] + work - 1
    span = np.searchsorted(before, last, side="right") - 1
    return np.asarray(first[span] + last - before[span] + 1, dtype=np.int64)


def worked_within(step: Step, starts: Array, since: int, until: int) -> Array:
    """How many minutes of ``[since, until)`` a step is worked on, for many starts at once."""
    finishes = finishes_of(step, starts)
    if not step.task.split:
        first, last = np.maximum(starts, since), np.minimum(finishes, until)
    else:
        first = _counted(step.workable, np.maximum(starts, since))
        last = _counted(step.workable, np.minimum(finishes, until))
    return np.asarray(np.maximum(last - first, 0), dtype=np.int64)


def _counted(free: Spans, minutes: Array) -> Array:
    """``Spans.count`` of many minutes at once."""
    if not free.starts:
        return np.zeros_like(minutes)
    first = np.array(free.starts, dtype=np.int64)
    last = np.array(free.ends, dtype=np.int64)
    before = np.concatenate(([0], np.cumsum(last - first)))
    span = np.searchsorted(first, minutes, side="right") - 1
    within = np.minimum(minutes, last[span]) - first[span]
    return np.asarray(np.where(span < 0, 0, before[span] + within), dtype=np.int64)


def next_of(free: Spans, minutes: Array) -> Array:
    """``Spans.next`` of many minutes at once."""
    starts = np.append(np.array(free.starts, dtype=np.int64), NEVER)
    span = np.searchsorted(np.array(free.ends, dtype=np.int64), minutes, side="right")
    return np.asarray(np.maximum(minutes, starts[span]))


def pieces(starts: Array, finishes: Array, values: Array) -> list[Piece]:
    """Cut a nondecreasing map of starts into its longest flat or parallel runs."""
    flat = np.diff(values) == 0
    found, i, n = [], 0, len(starts)
    ends_flat, ends_parallel = _ends(flat), _ends(np.diff(values - finishes) == 0)
    while i < n:
        is_flat = i + 1 < n and bool(flat[i])
        ends = ends_flat if is_flat else ends_parallel
        j = int(ends[np.searchsorted(ends, i)])
        value = int(values[i] if is_flat else values[i] - finishes[i])
        found.append(Piece(int(starts[i]), int(starts[j]), value, is_flat))
        i = j + 1
    return found


def _ends(kin: Array) -> Array:
    """Where a run ends, if each but the last is said to be kin of the next or not."""
    return np.append(np.flatnonzero(~kin), len(kin))


def slopes(starts: Array, values: Array) -> list[Slope]:
    """Cut any map of starts into runs of which each is flat or changes by a minute a minute."""
    found, i, n = [], 0, len(starts)
    apart, change = np.diff(starts), np.diff(values)
    while i < n:
        j, slope = i, 0
        if i + 1 < n and apart[i] == 1 and abs(int(change[i])) == 1:
            slope = int(change[i])
        while j + 1 < n and change[j] == slope * apart[j] and (slope == 0 or apart[j] == 1):
            j += 1
        found.append(Slope(int(starts[i]), int(starts[j]), int(values[i]), slope))
        i = j + 1
    return found
