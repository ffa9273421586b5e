"""How surely a task can start at a time, where something is known of the job by now.

What comes before it is run many times: work takes its time, the air strays as far as readings leave
it open, products get ready sooner or later than their labels say.
"""

from collections.abc import Iterator

import numpy as np

from scheduler.hours import NEVER
from scheduler.odds.outlook import quantile
from scheduler.odds.runs import make_runs
from scheduler.odds.text import percent
from scheduler.oddsfile import odds
from scheduler.progress import Minutes
from scheduler.ready.case import Case, Rule
from scheduler.ready.verdict import FindingKind

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
    """No start that is not sure enough."""
    opens = quantile(free, sure * 100) or NEVER
    words = f"ready by then in {percent(share(free, case.at))} of many runs; yes wants"
    text = f"{words} {percent(sure)}"
    return case.rule("chance", lambda minute: max(minute, opens), good=text, bad=text)


def sure_from(case: Case, free: Minutes) -> Iterator[tuple[int, int]]:
    """From when on it is ready in so many per cent of the runs; ``NEVER`` if in too few."""
    for percents in TOLD:
        yield percents, max(quantile(free, percents) or NEVER, case.job.now)
