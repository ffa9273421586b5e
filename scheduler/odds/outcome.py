"""What came out of many runs of a job: plain data, a column for each run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from scheduler.progress import Minutes, Reals


@dataclass(frozen=True)
class Source:
    """A source of chance: ``work`` or ``hold`` of a task, a ``product``, the ``air`` of a room."""

    kind: str
    of: str


@dataclass(frozen=True)
class Runs:
    """What came out of many runs, one column each; tasks in the order of the job.

    Args:
        starts, finishes: of each task [UTC min]; ``NEVER`` where it never comes to it.
        free: from when dates and what comes before each task let it start; its people's hours and
            the air in which it may be done not counted.
        critical: how many runs each task was on the driving chain of.
        missed: for each window of the network, in how many runs it was missed.
        luck: how each source of chance fell, by run; what is certain is left out.
    """

    starts: Minutes
    finishes: Minutes
    free: Minutes
    critical: Minutes
    missed: Mapping[int, int]
    luck: Mapping[Source, Reals]

    @cached_property
    def finish(self) -> Minutes:
        """The finish of the whole job, by run."""
        return np.asarray(self.finishes.max(axis=0))


def joined(lots: Sequence[Runs]) -> Runs:
    """The runs of several lots, one after the other."""
    first = lots[0]
    return Runs(
        starts=np.concatenate([lot.starts for lot in lots], axis=1),
        finishes=np.concatenate([lot.finishes for lot in lots], axis=1),
        free=np.concatenate([lot.free for lot in lots], axis=1),
        critical=np.sum([lot.critical for lot in lots], axis=0),
        missed={arc: sum(lot.missed[arc] for lot in lots) for arc in first.missed},
        luck={s: np.concatenate([lot.luck[s] for lot in lots]) for s in first.luck},
    )
