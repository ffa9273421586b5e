"""The shopping list as plain text, in the order in which things are needed."""

from collections.abc import Iterator

from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job, Plan, Stock
from scheduler.shopping.cost import Costs
from scheduler.shopping.lines import Line, Shopping
from scheduler.shopping.needs import Item, Need
from scheduler.shopping.stock import good_until, held_in_words, in_words
from scheduler.shopping.words import packs, size_in_words, worked
from scheduler.wording import dated, day, duration, glued, in_quotes, listed, moment, tidy

_LEAST_WIDTH = 20  # columns


def shopping_text(  # noqa: PLR0913, PLR0917 (a list, its cost, and who reads it where and when)
    job: Job, plan: Plan, bought: Shopping, cost: Costs, width: int, now: int
) -> str:
    """The list as text of at most ``width`` columns, times in the job's zone.

    Args:
        job: the job.
        plan: its plan.
        bought: the list.
        cost: what it costs.
        width: columns.
        now: what is to be ordered before this UTC minute is late.
    """
    show = _Show(job, plan)
    wanted = [line for line in bought.lines if line.needed_by is not None]
    to_buy = [line for line in wanted if line.net]
    open_ = [line for line in wanted if not line.net]
    enough = [line for line in bought.lines if line.needed_by is None]
    sections = (
        Section(f"{tidy(job.name)}: what to buy", (_head(job, plan),)),
        Section("LOOK AT THIS FIRST", tuple(show.warnings(bought, now))),
        Section("TO BUY", tuple(show.line(line) for line in to_buy)),
        Section("NEEDED, BUT HOW MUCH IS NOT KNOWN", tuple(show.open(open_))),
        Section("ENOUGH ON HAND", tuple(show.enough(line) for line in enough)),
        Section("WHAT IT COSTS", tuple(show.costs(cost))),
        Section("BEFORE YOU ORDER", tuple(_cautions(to_buy))),
    )
    return laid_out((s for s in sections if s.entries), max(width, _LEAST_WIDTH))


def _head(job: Job, plan: Plan) -> Entry:
    finish = moment(plan.finish, plan.timezone, ends=True)
    start = moment(plan.start, plan.timezone)
    used = (
        " Listed is what is still needed: what is done took from what was on hand first, and what"
        " was bought for it is in no cost."
    )
    done = any(task.state == "done" for task in plan.tasks)
    words = f"For the plan from {start} to {finish} ({job.timezone}).{used if done else ''}"
    return Entry("", words)


def _cautions(to_buy: list[Line]) -> Iterator[Entry]:
    if any(line.packs is not None and not line.item.supply.own_pack for line in to_buy):
        yield Entry("", "A 'usual pack' is supposed: write the 'pack' you can get into the file.")
    if to_buy:
        yield Entry(
            "", "Quantities are estimates with waste. The label of the product says what it covers."
        )


class _Show:
    """Words for the lines of a list, in the job's units, currency and zone."""

    def __init__(self, job: Job, plan: Plan) -> None:
        self.job = job
        self.zone = plan.timezone
        self.plan = plan

    def warnings(self, bought: Shopping, now: int) -> Iterator[Entry]:
        """What is late or past its date, and what nobody knows the amount of."""
        for line in bought.late(now):
            yield Entry("", f"! {self._late(line, now)}")
        for line in bought.lines:
            for stale in line.stale:
                words = in_words(self.job, line.item, stale)
                yield Entry("", f"! {tidy(line.item.id)}: {words}; buy fresh.")

    def _late(self, line: Line, now: int) -> str:
        lead, order = line.item.supply.lead_time, self._when(line.order_by or 0)
        if not lead:
            return f"{line.item.id}: needed since {order} and still on the list."
        there = self._when(now + lead)
        return (
            f"{line.item.id}: order by {order} is past. Ordered now it is there {there}, "
            f"and it is wanted {self._when(line.arrives or line.needed_by or 0)}."
        )

    def line(self, line: Line) -> Entry:
        """One product or goods to buy."""
        details = (*self._amount(line), *self._tasks(line), *self._order(line), *self._price(line))
        return Entry(dated(line.needed_by or 0, self.zone), self._what(line), details)

    def _what(self, line: Line) -> str:
        of = line.item
        title = f" ({tidy(of.title)})" if of.title and of.title != of.id else ""
        if line.packs is None or of.pack is None or (line.unknown and not line.packs):
            much = f": {self._size(of, line.to_buy)}" if line.to_buy else ""
            return f"{tidy(of.id)}{title}{much}"
        more = " and more" if line.unknown else ""
        return f"{tidy(of.id)}{title}: {packs(self.job, line, of.pack)}{more}"

    def _amount(self, line: Line) -> Iterator[str]:
        of = line.item
        if line.net:
            waste = f" with {round(of.waste * 100)} % waste" if of.waste else ""
            hand = f", {self._size(of, line.on_hand)} of it on hand" if line.on_hand > 0 else ""
            yield f"Takes {self._size(of, line.gross)}{waste}{hand}."
        if line.unknown:
            yield f"And more, nobody knows how much, for {self._names(line.unknown)}."

    def _tasks(self, line: Line) -> Iterator[str]:
        yield f"For {self._names(tuple(need for need in line.needs if need.amount is not None))}."

    def open(self, lines: list[Line]) -> Iterator[Entry]:
        """What is needed of which nobody knows how much, and what would tell it."""
        for line in lines:
            details = (*self._order(line),)
            words = f"{self._what(line)}, for {self._names(line.needs)}"
            yield Entry(dated(line.needed_by or 0, self.zone), words, details)
        if lines:
            yield Entry(
                "",
                "Give these tasks a 'quantity', such as 42 sq ft or 9.2 m2, or say under 'uses' "
                "what they take.",
            )

    def _names(self, needs: tuple[Need, ...]) -> str:
        return listed(dict.fromkeys(self._name(need.task) for need in needs))

    def _name(self, task: str) -> str:
        return in_quotes(self.job.task[task])

    def _order(self, line: Line) -> Iterator[str]:
        if line.arrives is not None:
            yield f"Delivered in the plan {self._when(line.arrives)}."
        if line.item.supply.lead_time and line.order_by is not None:
            lead = duration(line.item.supply.lead_time)
            yield f"Order by {self._when(line.order_by)}: it takes {lead} to come."

    def _price(self, line: Line) -> Iterator[str]:
        if line.cost is not None and line.packs:
            each = "" if line.packs == 1 else f" ({line.packs} at {line.item.supply.price:.2f})"
            yield f"Costs {self._money(line.cost)}{each}."

    def enough(self, line: Line) -> Entry:
        """One product or goods of which there is enough."""
        of = line.item
        held = listed(self._held(each, of) for each in of.supply.stock)
        size = self._size(of, line.gross)
        if line.delivered is not None:
            came = f"delivered {self._when(line.delivered)}"
            held = f"{held}; {came}" if held else came
        return Entry("", f"{tidy(of.id)}: {held}; {size} for {self._names(line.needs)}.")

    def _held(self, stock: Stock, of: Item) -> str:
        """A thing on hand and how long it is good; a product without a date is to be looked at."""
        held, until = held_in_words(stock, of, self.job.units), good_until(stock, of)
        if until is not None:
            return f"{held} (good until {day(until, year=True)})"
        return f"{held} (no date given: look at it first)" if of.id in self.job.products else held

    def costs(self, cost: Costs) -> Iterator[Entry]:
        """What is known of the cost."""
        if not cost.known:
            return
        yield Entry(self._money(cost.total), "in all, as far as prices are given")
        if cost.materials:
            yield Entry(self._money(sum(cost.materials.values())), "for what is to be bought")
        for each in cost.labour:
            if each.cost is not None:
                yield Entry(self._money(each.cost), f"{each.person}, {worked(each.minutes)}")
        yield from self._shares(cost)
        if cost.unpriced:
            yield Entry("", f"Not in it, for want of a price: {listed(cost.unpriced)}.")

    def _shares(self, cost: Costs) -> Iterator[Entry]:
        share = cost.share
        if share.percent is not None:
            whole, part = self._money(share.tile_work), self._money(share.waterproofing)
            yield Entry(
                glued(f"{share.percent} %"), f"of the tile work ({whole}) is waterproofing ({part})"
            )
        elif share.tile_work:
            yield Entry(
                "",
                "The share of waterproofing in the tile work is not known: no price for "
                f"{listed(share.unpriced)}.",
            )

    def _when(self, minute: int) -> str:
        return moment(minute, self.zone)

    def _size(self, of: Item, size: float) -> str:
        return size_in_words(self.job, of, size)

    def _money(self, money: object) -> str:
        return glued(f"{money:.2f} {self.job.currency}".strip())
