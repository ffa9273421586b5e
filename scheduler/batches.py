"""How much to mix at a time: what can be placed while a mix stays usable, in the room's own air.

A mix is as old as its warmest minute makes it, so the working time of a session is taken at the
warmest that the room gets in it, and rounded down.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np

from scheduler.air import temperatures
from scheduler.measures import show_measure
from scheduler.model import Job, PlannedTask, Product, Task, Unit
from scheduler.quantities import show_temperature
from scheduler.shopping.needs import taken
from scheduler.takeoff import with_waste, working_minutes
from scheduler.wording import duration, glued


@dataclass(frozen=True)
class Batches:
    """What is mixed, or opened, in one session of work.

    Args:
        product: its id.
        working: how long a mix stays usable [min]; None where it comes ready to use.
        temperature: the warmest that the room gets in the session [°C].
        number: how many mixes; 1 where it comes ready to use.
        size: how much one is, with waste [``unit``]; None where nobody knows.
        unit: of ``size``.
    """

    product: str
    working: int | None
    temperature: float
    number: int
    size: float | None
    unit: Unit


def batches(job: Job, placed: PlannedTask, session: tuple[int, int]) -> Batches | None:
    """The mixes of one session; None where nothing is known of what is applied.

    They are alike: the least number, none of which outlasts the working time.
    """
    task = job.task[placed.id]
    product = job.product_of(task)
    if product is None or product.amount is None:
        return None
    warmest = _warmest(job, task, session)
    working = working_minutes(product.amount, warmest, job.air_of(task.room).humidity)
    minutes = session[1] - session[0]
    number = 1 if working is None else max(1, ceil(minutes / max(working, 1)))
    size = _share(job, task, product, minutes / _worked(placed))
    return Batches(
        product=product.id,
        working=working,
        temperature=warmest,
        number=number,
        size=None if size is None else size / number,
        unit=product.amount.unit,
    )


def _warmest(job: Job, task: Task, session: tuple[int, int]) -> float:
    """The warmest minute of a session [°C]."""
    minutes = np.arange(session[0], session[1], dtype=np.int64)
    return float(temperatures(job.air_of(task.room), minutes, job.timezone).max())


def _worked(placed: PlannedTask) -> int:
    return sum(end - start for start, end in placed.sessions)


def _share(job: Job, task: Task, product: Product, share: float) -> float | None:
    """How much goes on in a share of the work, with waste."""
    net = dict(taken(job, task))[product.id]
    if not net or product.amount is None:
        return None
    return with_waste(net, product.amount.waste) * share


def in_words(job: Job, of: Batches) -> str:
    """What to tell whoever mixes, e.g. ``Mix 6 batches of 2.1 kg, one after the other ...``."""
    much = "" if of.size is None else glued(show_measure(of.size, of.unit, job.units))
    if of.working is None:
        return f"Takes about {much}." if much else ""
    air = glued(show_temperature(of.temperature, job.units))
    usable = f"usable for {duration(of.working)} at {air}"
    if of.number == 1:
        return f"Mix {much or 'it'} at once: {usable}."
    size = f" of {much}" if much else ""
    return f"Mix {of.number} batches{size}, one after the other: each is {usable}."
