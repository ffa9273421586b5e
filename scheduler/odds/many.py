"""``Spans`` and the maps of a ``Step``, for many minutes at once.

What the classes of one minute say holds here too; ``NEVER`` goes in and comes out.
"""

from functools import cached_property

import numpy as np

from scheduler.hours import NEVER, Spans
from scheduler.progress import Minutes
from scheduler.steps import Step


class ManyMinutes:
    """Spans of minutes, looked up for arrays of them."""

    def __init__(self, spans: Spans) -> None:
        self._starts = np.array((*spans.starts, NEVER), dtype=np.int64)
        self._ends = np.array(spans.ends, dtype=np.int64)
        lengths = self._ends - self._starts[:-1]
        self._before = np.concatenate(([0], np.cumsum(lengths)))

    def next(self, minutes: Minutes) -> Minutes:
        """The first minutes at or after these; ``NEVER`` where there is none."""
        i = np.searchsorted(self._ends, minutes, side="right")
        return np.asarray(np.maximum(minutes, self._starts[i]))

    def count(self, minutes: Minutes) -> Minutes:
        """How many of the minutes of the spans lie before these."""
        i = np.searchsorted(self._starts[:-1], minutes, side="right") - 1
        if not len(self._ends):
            return np.zeros_like(minutes)
        inside = np.minimum(minutes, self._ends[i]) - self._starts[i]
        return np.asarray(np.where(i < 0, 0, self._before[i] + inside))

    def minute(self, n: Minutes) -> Minutes:
        """The ``n``-th minutes of the spans, counted from 0; ``NEVER`` past the last."""
        i = np.searchsorted(self._before, n, side="right") - 1
        return np.asarray(
            np.where(i < len(self._ends), self._starts[i] + n - self._before[i], NEVER)
        )


class ManySteps:
    """A task in many runs, its work of another length in each.

    Nobody knows beforehand how long it will take. So it starts where what is planned for it fits;
    what may not stop then runs on past people's hours.
    """

    def __init__(self, step: Step, work: Minutes) -> None:
        self.step, self.work = step, work

    @cached_property
    def _starts(self) -> ManyMinutes:
        return ManyMinutes(self.step.starts)

    @cached_property
    def _workable(self) -> ManyMinutes:
        return ManyMinutes(self.step.workable)

    @property
    def _goes_on(self) -> bool:
        return self.step.task.split and self.step.task.work > 0

    def first(self, minutes: Minutes) -> Minutes:
        """The first starts at or after these."""
        return self._starts.next(minutes)

    def finish(self, starts: Minutes) -> Minutes:
        """The finishes of starts."""
        if self._goes_on:
            worked = self._workable.count(starts) + self.work
            ends = self._workable.minute(worked - 1) + 1
        else:
            ends = starts + self.work
        return np.asarray(np.where(starts >= NEVER, NEVER, np.minimum(ends, NEVER)))

    def first_start(self, finishes: Minutes) -> Minutes:
        """The first starts whose finishes are at or after these."""
        if not self._goes_on:
            return self.first(finishes - self.work)
        worked = np.maximum(self._workable.count(finishes - 1) - self.work + 1, 0)
        starts = self.first(self._workable.minute(worked))
        return np.asarray(np.where(finishes >= NEVER, NEVER, starts))
