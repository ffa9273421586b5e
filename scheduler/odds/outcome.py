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
        critical: how many runs each task was on the driving chain of.
        missed: for each window of the network, in how many runs it was missed.
        luck: how each source of chance fell, by run; what is certain is left out.
        asked: the first starts that a task asked for could have, by run; see ``Question``.
    """

    starts: Minutes
    finishes: Minutes
    critical: Minutes
    missed: Mapping[int, int]
    luck: Mapping[Source, Reals]
    asked: "Asked | None" = None

    @cached_property
    def finish(self) -> Minutes:
        """The finish of the whole job, by run."""
        return np.asarray(self.finishes.max(axis=0))


@dataclass(frozen=True)
class Question:
    """Can the task of that index start at a minute? What comes after it does not matter."""

    step: int
    at: int


@dataclass(frozen=True)
class Asked:
    """The first starts that what comes before a task, its hours and the air let it have, by run.

    Args:
        from_now: from now on.
        from_then: from the minute asked for on.
    """

    from_now: Minutes
    from_then: Minutes


def joined(lots: Sequence[Runs]) -> Runs:
    """The runs of several lots, one after the other."""
    first = lots[0]
    return Runs(
        starts=np.concatenate([lot.starts for lot in lots], axis=1),
        finishes=np.concatenate([lot.finishes for lot in lots], axis=1),
        critical=np.sum([lot.critical for lot in lots], axis=0),
        missed={arc: sum(lot.missed[arc] for lot in lots) for arc in first.missed},
        luck={s: np.concatenate([lot.luck[s] for lot in lots]) for s in first.luck},
        asked=_all_asked([lot.asked for lot in lots if lot.asked is not None]),
    )


def _all_asked(parts: Sequence[Asked]) -> Asked | None:
    if not parts:
        return None
    return Asked(
        np.concatenate([part.from_now for part in parts]),
        np.concatenate([part.from_then for part in parts]),
    )
