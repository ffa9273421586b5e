"""A job run many times, each time with other luck, in the order of crews and rooms of its plan.

A pass forward over all runs at once: every task starts as early as what comes before it, people's
hours and the air let it in that run. What the plan puts off though no rule does, so that somebody
comes on fewer days or a window can be kept, is not begun earlier in any run. Windows are not
enforced: whether one is missed is counted. With nothing left to chance every run is the plan.

What was done is a fact, and what is running takes longer than it has taken already.
"""

from collections.abc import Callable

from scheduler.model import Plan
from scheduler.network import Network
from scheduler.odds.lot import Lot
from scheduler.odds.luck import Seed
from scheduler.odds.order import Order
from scheduler.odds.outcome import Runs, joined
from scheduler.oddsfile import Odds

LOT = 2_500
"""Runs made at once: bounds the memory."""

Progressed = Callable[[int, int], None]


def make_runs(  # noqa: PLR0917, PLR0913
    network: Network, plan: Plan, odds: Odds, n: int, seed: int,
    up_to: int | None = None, progressed: Progressed = lambda done, of: None,
) -> Runs:  # fmt: skip
    """A job run ``n`` times.

    Args:
        network: the job compiled, far past the plan's finish.
        plan: whose order of crews and rooms is kept.
        odds: what is uncertain where the job doesn't say it.
        n: how many runs, 1 or more.
        seed: the same number, the same luck.
        up_to: a step of that index and what comes before it is all that is wanted.
        progressed: told now and then how many runs are made, of how many.
    """
    order = Order(network, plan, odds)
    lots = []
    for part, first in enumerate(range(0, n, LOT)):
        size = min(LOT, n - first)
        lots.append(Lot(order, size, Seed(seed, part)).runs(up_to))
        progressed(first + size, n)
    return joined(lots)
