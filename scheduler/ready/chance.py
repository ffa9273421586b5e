"""How surely a task can start at a time, where something is known of the job by now.

What comes before it is run many times: work takes its time, the air strays as far as readings leave
it open, products get ready sooner or later than their labels say.
"""

from collections.abc import Iterator
from math import floor, sqrt

import numpy as np

from scheduler.hours import NEVER
from scheduler.odds.outlook import quantile
from scheduler.odds.runs import make_runs
from scheduler.oddsfile import odds
from scheduler.progress import Minutes
from scheduler.ready.case import Case, Rule
from scheduler.ready.verdict import FindingKind
from scheduler.wording import glued

SURE = 0.95
"""How sure a yes has to be, where something is logged [0..1]."""

TOLD = (50, 90, 99)
"""At which per cent the earliest start is told."""

DRAWN: tuple[FindingKind, ...] = ("link", "stage", "room", "dust")
"""The rules that hang on when something gets done or ready: the runs draw that."""

RUNS, SEED = 10_000, 1


def drawn(case: Case, runs: int) -> Minutes | None:
    """From when what comes before the task lets it start, in many runs.

    Its people's hours and the air to do it in are no matter of luck here: they are looked at for
    themselves, and the air on site. None where nothing is logged.
    """
    if case.job.past is None:
        return None
    found = make_runs(case.network, case.plan, odds(), runs, SEED, up_to=case.me)
    return np.asarray(found.free[case.me])


def share(free: Minutes, at: int) -> float:
    """In what share of the runs the task is ready to be started by then [0..1]."""
    return float(np.mean(free <= at))


def rule(case: Case, free: Minutes, sure: float) -> Rule:
    """No start that is not sure enough, beyond what the draw of the runs leaves open.

    Two standard deviations of a share out of so many runs: no yes comes of luck.
    """
    margin = 2 * sqrt(sure * (1 - sure) / free.size)
    wanted = min(sure + margin, 1 - 1 / free.size)
    opens = quantile(free, wanted * 100) or NEVER
    text = (
        f"ready by then in {_exact(share(free, case.at))} of {free.size} runs; yes wants"
        f" {_exact(wanted)}, a margin for the draw included"
    )
    return case.rule("chance", lambda minute: max(minute, opens), good=text, bad=text)


def _exact(size: float) -> str:
    """A share in per cent, with a decimal; rounded down, as a yes is nothing to round up to."""
    return glued(f"{floor(size * 1000) / 10} %")


def sure_from(case: Case, free: Minutes) -> Iterator[tuple[int, int]]:
    """From when on it is ready in so many per cent of the runs; ``NEVER`` if in too few."""
    for percents in TOLD:
        yield percents, max(quantile(free, percents) or NEVER, case.job.now)
