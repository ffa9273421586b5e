"""What levers cost, as far as the owner gave prices. None is invented."""

from dataclasses import dataclass
from decimal import Decimal

from scheduler.clock import HOUR
from scheduler.faster.lever import Lever
from scheduler.hours import spans
from scheduler.model import Job, Plan
from scheduler.shopping import costs, shopping


@dataclass(frozen=True)
class Price:
    """What levers cost.

    Args:
        more: what the job costs more than as it is [the job's currency], negative for less; None
            where that is not known.
        unknown: what has no price, in words.
        energy: what machines draw at most [kWh].
    """

    more: Decimal | None = None
    unknown: tuple[str, ...] = ()
    energy: int = 0


def price(job: Job, base: Plan, edited: Job, plan: Plan, levers: tuple[Lever, ...]) -> Price:
    """What levers cost, packs and hours at the prices of the file."""
    unknown = tuple(dict.fromkeys(words for lever in levers for words in lever.unpriced))
    energy = sum(_energy(job, edited, plan, lever) for lever in levers)
    if unknown:
        return Price(None, unknown, energy)
    return Price(_total(edited, plan) - _total(job, base), (), energy)


def _total(job: Job, plan: Plan) -> Decimal:
    return costs(job, plan, shopping(job, plan)).total


def _energy(job: Job, edited: Job, plan: Plan, lever: Lever) -> int:
    """What a machine draws at most while something in its rooms waits [kWh]."""
    waiting = spans(
        (max(wait.start, job.now), wait.end)
        for wait in plan.waits
        if wait.product is not None and edited.task[wait.task].room in lever.rooms
    )
    return round(waiting.total / HOUR * lever.watts / 1000)
