"""What many runs of a job say: when it is done, how surely, and what that hangs on."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from scheduler.hours import NEVER
from scheduler.model import Job, Plan
from scheduler.network import Network
from scheduler.odds.luck import three_points
from scheduler.odds.outcome import Runs, Source
from scheduler.odds.runs import Progressed, make_runs
from scheduler.oddsfile import Odds, odds
from scheduler.progress import Minutes, Reals

CHANCES = (10, 50, 80, 95)
"""At which per cent the finish is told."""

SAMPLES, SEED = 10_000, 1

_LEAST = 0.01
"""What explains less of the spread, or happens in fewer runs, is left out of the lists."""


@dataclass(frozen=True)
class Critical:
    """In what share of the runs a task was on the driving chain [0..1]."""

    task: str
    share: float


@dataclass(frozen=True)
class Missed:
    """In what share of the runs [0..1] ``task`` came later than ``within`` minutes of ``after``."""

    task: str
    after: str
    within: int
    share: float


@dataclass(frozen=True)
class Late:
    """In what share of the runs [0..1] ``task`` was finished after the date ``by`` [UTC min]."""

    task: str
    by: int
    share: float


@dataclass(frozen=True)
class Spread:
    """How much of the spread of the finish goes with a source of chance [0..1]."""

    source: Source
    share: float


@dataclass(frozen=True)
class Outlook:
    """How sure the finish of a plan is.

    Args:
        runs: how many.
        seed: of their luck.
        planned: the finish of the plan [UTC min].
        in_plan: in what share of the runs the job is done by then [0..1].
        finish: by per cent, when the job is done in so many of 100 runs; None where it is not.
        finish_by, in_time: the date wished for, and in what share of the runs it is kept.
        never: in what share of the runs the job does not end within the time looked at.
        critical: tasks that are not done by how often they were on the driving chain.
        missed: windows by how often they were missed.
        late: dates by which tasks must be finished, by how often they were missed.
        spread: sources of chance by how much of the spread of the finish goes with them.
    """

    runs: int
    seed: int
    planned: int
    in_plan: float
    finish: Mapping[int, int | None]
    finish_by: int | None
    in_time: float | None
    never: float
    critical: tuple[Critical, ...]
    missed: tuple[Missed, ...]
    late: tuple[Late, ...]
    spread: tuple[Spread, ...]


def outlook(  # noqa: PLR0917, PLR0913
    network: Network, plan: Plan, n: int = SAMPLES, seed: int = SEED,
    uncertain: Odds | None = None, progressed: Progressed = lambda done, of: None,
) -> Outlook:  # fmt: skip
    """How sure the finish of a plan is.

    Args:
        network: a job, compiled to far past the plan's finish.
        plan: a plan of it.
        n: how many runs.
        seed: the same number, the same luck.
        uncertain: what is uncertain where the job doesn't say; as supposed if left out.
        progressed: told now and then how many runs are made, of how many.
    """
    runs = make_runs(network, plan, uncertain or odds(), n, seed, progressed=progressed)
    finish, wished = runs.finish, network.job.finish_by
    return Outlook(
        runs=n,
        seed=seed,
        planned=plan.finish,
        in_plan=float(np.mean(finish <= plan.finish)),
        finish={chance: quantile(finish, chance) for chance in CHANCES},
        finish_by=wished,
        in_time=None if wished is None else float(np.mean(finish <= wished)),
        never=float(np.mean(finish >= NEVER)),
        critical=_critical(network, runs),
        missed=_missed(network, runs),
        late=_late(network, runs),
        spread=_spread(runs),
    )


def quantile(minutes: Minutes, chance: float) -> int | None:
    """The first minute by which ``chance`` per cent of the runs are there; None if too few are."""
    found = int(np.quantile(minutes, chance / 100, method="inverted_cdf"))
    return None if found >= NEVER else found


def _critical(network: Network, runs: Runs) -> tuple[Critical, ...]:
    n = runs.finish.size
    shares = (
        Critical(step.task.id, float(count) / n)
        for step, count in zip(network.steps, runs.critical, strict=True)
        if step.state != "done"
    )
    return tuple(sorted((c for c in shares if c.share), key=lambda c: -c.share))


def _missed(network: Network, runs: Runs) -> tuple[Missed, ...]:
    shares = (
        Missed(
            network.steps[network.arcs[i].before].task.id,
            network.steps[network.arcs[i].after].task.id,
            -network.arcs[i].lag.after(0),
            count / runs.finish.size,
        )
        for i, count in runs.missed.items()
    )
    return tuple(sorted((m for m in shares if m.share >= _LEAST), key=lambda m: -m.share))


def _late(network: Network, runs: Runs) -> tuple[Late, ...]:
    shares = (
        Late(step.task.id, step.deadline, float(np.mean(finishes > step.deadline)))
        for step, finishes in zip(network.steps, runs.finishes, strict=True)
        if step.deadline < NEVER
    )
    return tuple(sorted((d for d in shares if d.share >= _LEAST), key=lambda d: -d.share))


def _spread(runs: Runs) -> tuple[Spread, ...]:
    """Squared rank correlation of each source's luck with the finish (Spearman)."""
    if runs.finish.min() == runs.finish.max():
        return ()
    finish = _ranks(runs.finish)
    shares = (Spread(s, _squared(_ranks(fell), finish)) for s, fell in runs.luck.items())
    return tuple(sorted((s for s in shares if s.share >= _LEAST), key=lambda s: -s.share))


def _ranks(values: Minutes | Reals) -> Reals:
    """Ranks about their mean, the mean rank for what is equal."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    ranks = np.cumsum(counts) - (counts - 1) / 2
    spread: Reals = ranks[inverse] - ranks[inverse].mean()
    return spread


def _squared(a: Reals, b: Reals) -> float:
    return float(np.dot(a, b) ** 2 / (np.dot(a, a) * np.dot(b, b)))


def points_of(job: Job, task: str, uncertain: Odds) -> tuple[int, int, int]:
    """The shortest, usual and longest time of a task's work, as drawn from [min]."""
    low, mode, high = three_points(job, job.task[task], uncertain)
    return round(low), round(mode), round(high)
