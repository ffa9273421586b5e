"""What a job costs, by product and by trade, as far as the owner gave prices. None is invented."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from scheduler.model import Job, Plan
from scheduler.shopping.lines import Line, Shopping
from scheduler.shopping.parts import Part, part_of

_CENT = Decimal("0.01")


@dataclass(frozen=True)
class Labour:
    """What somebody's hours in a plan cost; ``cost`` is None where no hour has a price."""

    person: str
    minutes: int
    cost: Decimal | None


@dataclass(frozen=True)
class Share:
    """What waterproofing costs, and what the tile work costs that it is a part of.

    ``unpriced`` are the items and people in the tile work that have no price: while there are any,
    the share is not known.
    """

    waterproofing: Decimal
    tile_work: Decimal
    unpriced: tuple[str, ...]

    @property
    def percent(self) -> int | None:
        """The share in whole percent; None where it is not known."""
        if self.unpriced or not self.tile_work:
            return None
        return int((100 * self.waterproofing / self.tile_work).quantize(Decimal(1), ROUND_HALF_UP))


@dataclass(frozen=True)
class Costs:
    """What a job costs, in its currency, as far as prices are given.

    Args:
        materials: by item id, in the order of the list.
        labour: by person, in the order of the file; only of those who work.
        unpriced: items to buy and people at work without a price.
        share: of waterproofing in the tile work.
    """

    materials: dict[str, Decimal]
    labour: tuple[Labour, ...]
    unpriced: tuple[str, ...]
    share: Share

    @property
    def known(self) -> bool:
        """Whether there is any price at all."""
        return bool(self.materials) or any(each.cost is not None for each in self.labour)

    @property
    def total(self) -> Decimal:
        """The sum of what is known."""
        labour = (each.cost for each in self.labour if each.cost is not None)
        return sum((*self.materials.values(), *labour), Decimal(0))


def costs(job: Job, plan: Plan, bought: Shopping) -> Costs:
    """What packs and hours cost: whole packs, and the hours worked in the plan."""
    labour = tuple(_labour(job, plan))
    to_buy = [line for line in bought.lines if line.needed_by is not None]
    unpriced = [line.item.id for line in to_buy if line.cost is None or line.unknown]
    unpriced += [each.person for each in labour if each.cost is None]
    return Costs(
        materials={line.item.id: line.cost for line in to_buy if line.cost is not None},
        labour=labour,
        unpriced=tuple(unpriced),
        share=_share(job, plan, to_buy),
    )


def _labour(job: Job, plan: Plan) -> Iterator[Labour]:
    for who, person in job.people.items():
        minutes = sum(
            worked(plan, task.id) * task.hands[who] for task in plan.tasks if who in task.who
        )
        if minutes:
            yield Labour(who, minutes, _paid(minutes, person.price_per_hour))


def worked(plan: Plan, task: str) -> int:
    """Minutes worked on a task."""
    return sum(end - start for start, end in plan.task[task].sessions)


def _paid(minutes: int, price: Decimal | None) -> Decimal | None:
    return None if price is None else (price * minutes / 60).quantize(_CENT, ROUND_HALF_UP)


def _share(job: Job, plan: Plan, to_buy: list[Line]) -> Share:
    sums: dict[Part, Decimal] = {"waterproofing": Decimal(0), "tile-work": Decimal(0)}
    unpriced: dict[str, None] = {}
    for part, what, cost in (*_hours_by_part(job, plan), *_packs_by_part(job, to_buy)):
        if part == "other":
            continue
        if cost is None:
            unpriced[what] = None
        else:
            sums[part] += cost
    waterproofing = sums["waterproofing"].quantize(_CENT, ROUND_HALF_UP)
    whole = sum(sums.values(), Decimal(0)).quantize(_CENT, ROUND_HALF_UP)
    return Share(waterproofing, whole, tuple(unpriced))


def _hours_by_part(job: Job, plan: Plan) -> Iterator[tuple[Part, str, Decimal | None]]:
    for task in job.tasks:
        minutes = worked(plan, task.id)
        for who, hands in plan.task[task.id].hands.items() if minutes else ():
            yield part_of(job, task), who, _paid(minutes * hands, job.people[who].price_per_hour)


def _packs_by_part(job: Job, to_buy: list[Line]) -> Iterator[tuple[Part, str, Decimal | None]]:
    """What the packs cost, shared out over the tasks by what they take of them."""
    for line in to_buy:
        for need in line.needs:
            part = part_of(job, job.task[need.task])
            if line.cost is None or need.amount is None or not line.net:
                yield part, line.item.id, None
            else:
                yield part, line.item.id, line.cost * Decimal(need.amount / line.net)
