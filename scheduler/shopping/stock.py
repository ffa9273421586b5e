"""What is on hand, and whether it is still good on the day on which a task wants it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from scheduler.clock import DAY, day_of
from scheduler.measures import show_measure
from scheduler.model import Job, Plan, Stock
from scheduler.quantities import Units
from scheduler.shopping.needs import Item, Need, item, needs
from scheduler.wording import GLUE, day, glued, in_quotes, tidy


@dataclass(frozen=True)
class Stale:
    """Something on hand that is past its date by the day on which a task would use it.

    ``good_until`` is the last day on which it is good, ``wanted`` the day of the use.
    """

    stock: Stock
    good_until: date
    task: str
    wanted: date


@dataclass
class Shelf:
    """What is on hand of one item, while tasks take from it, one after the other."""

    item: Item
    zone: str
    stale: list[Stale] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Lay out the stock, what spoils first in front."""
        dated = ((good_until(stock, self.item), stock) for stock in self.item.supply.stock)
        self._lots = sorted(dated, key=lambda lot: lot[0] or date.max)
        self._left = [stock.amount for _, stock in self._lots]

    def take(self, need: Need, amount: float) -> float:
        """Take what can be had for a task; the answer is how much that is.

        A task uses to its last day what it takes, so that day counts. What is done has used it,
        whatever its date.
        """
        wanted, taken = day_of(max(need.start, need.finish - 1), self.zone), 0.0
        for n, (until, stock) in enumerate(self._lots):
            missing = amount - taken
            if missing <= 0 or self._left[n] <= 0:
                continue
            if until is not None and until < wanted and not need.done:
                self._note(Stale(stock, until, need.task, wanted))
                continue
            got = min(missing, self._left[n])
            self._left[n] -= got
            taken += got
        return taken

    def _note(self, stale: Stale) -> None:
        if all(each.stock is not stale.stock for each in self.stale):
            self.stale.append(stale)


def good_until(stock: Stock, of: Item) -> date | None:
    """The last day on which it is good; None where nobody says."""
    ends = [stock.best_before] if stock.best_before else []
    if stock.opened and of.opened_life is not None:
        ends.append(stock.opened + timedelta(days=of.opened_life // DAY))
    return min(ends, default=None)


def stock_warnings(job: Job, plan: Plan) -> Iterator[str]:
    """A sentence for each thing on hand that is past its date by the day of its use.

    It stands on top of the plan: on the day itself it would be too late to buy another.
    """
    wanted = needs(job, plan)
    for key in dict.fromkeys(need.item for need in wanted):
        for stale in stale_of(item(job, key), wanted, plan.timezone):
            words = in_words(job, item(job, key), stale).replace(GLUE, " ")
            yield f"{tidy(key)}: {words}; buy fresh"


def stale_of(of: Item, wanted: Iterable[Need], zone: str) -> tuple[Stale, ...]:
    """What is on hand of an item and too old for a task that wants it."""
    shelf = Shelf(of, zone)
    for need in wanted:
        if need.item == of.id:
            shelf.take(need, float("inf") if need.amount is None else need.amount * (1 + of.waste))
    return tuple(shelf.stale)


def in_words(job: Job, of: Item, stale: Stale) -> str:
    """E.g. ``5 kg opened Sun 1 Nov 2026 is good until ..., past its date when ...``."""
    held = held_in_words(stale.stock, of, job.units)
    return (
        f"{held} is good until {day(stale.good_until, year=True)} and past its date when "
        f"{in_quotes(job.task[stale.task])} wants it, {day(stale.wanted, year=True)}"
    )


def held_in_words(stock: Stock, of: Item, units: Units) -> str:
    """How much is on hand, and since when it has been open."""
    amount = glued(show_measure(stock.amount, of.unit or "each", units))
    return f"{amount} opened {day(stock.opened, year=True)}" if stock.opened else amount
