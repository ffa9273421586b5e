"""The shopping list: what a plan takes, less what is on hand, in whole packs, by when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from scheduler.model import Job, Plan
from scheduler.shopping.needs import Item, Need, item, needs
from scheduler.shopping.stock import Shelf, Stale
from scheduler.takeoff import packs, with_waste

_DUST = 1e-9  # of a pack: what is left over when floats are added is nothing to buy


@dataclass(frozen=True)
class Line:
    """One product or goods of the list.

    Args:
        item: what it is.
        needs: what the tasks take of it that are not done, by start.
        net: what they take in all [the item's unit], as far as it is known.
        gross: the same with waste.
        on_hand: how much of that is on hand and good on the day of its use.
        to_buy: the rest.
        packs: whole packs for the rest; None where nobody knows what a pack holds.
        needed_by: start of the first task for which it must be bought; None where all is on hand.
        arrives: when a delivery in the plan brings it; None where none does, or nothing is to buy.
        delivered: when it was delivered, by the log: then nothing of it is to buy any more.
        order_by: when to order at the latest.
        stale: what is on hand and past its date by the day of its use.
    """

    item: Item
    needs: tuple[Need, ...]
    net: float
    gross: float
    on_hand: float
    to_buy: float
    packs: int | None
    needed_by: int | None
    arrives: int | None
    order_by: int | None
    delivered: int | None
    stale: tuple[Stale, ...]

    @property
    def unknown(self) -> tuple[Need, ...]:
        """Needs of which nobody knows how much they are."""
        return tuple(need for need in self.needs if need.amount is None)

    @property
    def cost(self) -> Decimal | None:
        """What the packs cost; None where price or number are not known."""
        price = self.item.supply.price
        return None if price is None or self.packs is None else price * self.packs


@dataclass(frozen=True)
class Shopping:
    """All that a plan takes, what is needed first in front; what needs no buying last."""

    lines: tuple[Line, ...]

    def late(self, now: int) -> tuple[Line, ...]:
        """What should have been ordered by now."""
        return tuple(
            line for line in self.lines if line.order_by is not None and line.order_by < now
        )


def shopping(job: Job, plan: Plan) -> Shopping:
    """What to buy for a plan.

    What is on hand goes to the tasks in the order in which they start. What is needed by when is
    the start of the first task that can't be served from it; to be ordered that much earlier as
    its ``lead_time`` is. Where a task of the plan delivers it, the delivery counts. Tasks that are
    done have taken theirs from what was on hand first, and need nothing any more.
    """
    wanted = needs(job, plan)
    lines = (
        _line(item(job, key), [need for need in wanted if need.item == key], job, plan)
        for key in dict.fromkeys(need.item for need in wanted if not need.done)
    )
    return Shopping(tuple(sorted(lines, key=lambda line: (line.needed_by is None, line.needed_by))))


def _line(of: Item, wanted: list[Need], job: Job, plan: Plan) -> Line:
    shelf, delivered = Shelf(of, plan.timezone), _delivered(of.id, job)
    short = list(_short(of, wanted, shelf)) if delivered is None else []
    wanted = [need for need in wanted if not need.done]
    net = sum(need.amount or 0.0 for need in wanted)
    gross = _whole(of, with_waste(net, of.waste))
    to_buy = _whole(of, sum(missing for _, missing in short))
    needed_by = min((need.start for need, _ in short), default=None)
    arrives = _arrives(of.id, job, plan) if needed_by is not None else None
    there = needed_by if arrives is None else arrives
    return Line(
        item=of,
        needs=tuple(wanted),
        net=net,
        gross=gross,
        on_hand=_solid(of, gross - to_buy),
        to_buy=to_buy,
        packs=_packs(of, wanted, to_buy),
        needed_by=needed_by,
        arrives=arrives,
        order_by=None if there is None else there - of.supply.lead_time,
        delivered=delivered,
        stale=tuple(shelf.stale),
    )


def _whole(of: Item, size: float) -> float:
    """What is counted comes in whole pieces."""
    return float(packs(size, 1.0)) if of.unit == "each" else size


def _short(of: Item, wanted: Iterable[Need], shelf: Shelf) -> Iterator[tuple[Need, float]]:
    """Each need that what is on hand can't serve, with what is missing for it."""
    for need in wanted:
        if need.amount is None:
            shelf.take(need, float("inf"))
            if not need.done:
                yield need, 0.0
            continue
        gross = with_waste(need.amount, of.waste)
        missing = gross - shelf.take(need, gross)
        if _solid(of, missing) and not need.done:
            yield need, missing


def _solid(of: Item, size: float) -> float:
    """A size, or nothing where it is no more than dust."""
    return size if size > _DUST * (of.pack or 1.0) else 0.0


def _packs(of: Item, wanted: Iterable[Need], to_buy: float) -> int | None:
    """Whole packs; None where a pack, or how much all of it is, is not known."""
    if of.pack is None or all(need.amount is None for need in wanted):
        return None
    return packs(to_buy, of.pack)


def _delivered(key: str, job: Job) -> int | None:
    """When it was delivered, by the log; None where it was not, or more of it is to come."""
    by = [job.actual(task.id).finished for task in job.tasks if key in task.delivers]
    logged = None if job.past is None else job.past.delivered.get(key)
    there = [each for each in (*by, logged) if each is not None]
    return max(there) if there and (logged is not None or None not in by) else None


def _arrives(key: str, job: Job, plan: Plan) -> int | None:
    """When the first delivery of it is there."""
    found = (plan.task[task.id].start for task in job.tasks if key in task.delivers)
    return min(found, default=None)
