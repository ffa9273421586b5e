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


def next_of(free: Spans, minutes: Array) -> Array:
    """``Spans.next`` of many minutes at once."""
    starts = np.append(np.array(free.starts, dtype=np.int64), NEVER)
    span = np.searchsorted(np.array(free.ends, dtype=np.int64), minutes, side="right")
    return np.asarray(np.maximum(minutes, starts[span]))


def pieces(starts: Array, finishes: Array, values: Array) -> list[Piece]:
    """Cut a nondecreasing map of starts into its longest flat or parallel runs."""
    flat = values[1:] == values[:-1]
    parallel = (values - finishes)[1:] == (values - finishes)[:-1]
    pieces, i, n = [], 0, len(starts)
    while i < n:
        is_flat = i + 1 < n and bool(flat[i])
        kin = flat if is_flat else parallel
        j = i
        while j + 1 < n and kin[j]:
            j += 1
        value = int(values[i] if is_flat else values[i] - finishes[i])
        pieces.append(Piece(int(starts[i]), int(starts[j]), value, is_flat))
        i = j + 1
    return pieces
