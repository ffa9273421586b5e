"""The shopping list as plain values for JSON, version 1: what other programs read.

Amounts are in the ``unit`` of the item (kg, L, m, m2 or each), money in ``currency`` and with two
decimals, times RFC 3339 with the offset of the job's zone. Every key is always there; null is what
is not known, or ``needed_by`` where nothing must be bought.
"""

from collections.abc import Callable
from decimal import Decimal

from scheduler.clock import rfc3339
from scheduler.model import Job, Plan, Stock
from scheduler.shopping.cost import Costs
from scheduler.shopping.lines import Line, Shopping
from scheduler.shopping.needs import Item
from scheduler.shopping.stock import good_until

_Time = Callable[[int | None], str | None]


def shopping_json(
    job: Job, plan: Plan, bought: Shopping, cost: Costs, now: int
) -> dict[str, object]:
    """The list and what it costs as a tree of dicts, lists, strings, numbers and None."""

    def time(minute: int | None) -> str | None:
        return None if minute is None else rfc3339(minute, plan.timezone)

    return {
        "version": 1,
        "job": job.name,
        "timezone": plan.timezone,
        "currency": job.currency or None,
        "items": [_line(line, time, now) for line in bought.lines],
        "cost": _cost(cost),
    }


def _line(line: Line, time: _Time, now: int) -> dict[str, object]:
    of = line.item
    return {
        "id": of.id,
        "title": of.title,
        "unit": of.unit,
        "net": _size(line.net),
        "with_waste": _size(line.gross),
        "on_hand": _size(line.on_hand),
        "to_buy": _size(line.to_buy),
        "pack": None if of.pack is None else _size(of.pack),
        "pack_given": of.supply.own_pack,
        "packs": line.packs,
        "needed_by": time(line.needed_by),
        "arrives": time(line.arrives),
        "order_by": time(line.order_by),
        "late": line.order_by is not None and line.order_by < now,
        "price": _money(of.supply.price),
        "cost": _money(line.cost),
        "for": [
            {"task": need.task, "amount": None if need.amount is None else _size(need.amount),
             "start": time(need.start)}
            for need in line.needs
        ],
        "stock": [_stock(stock, of) for stock in of.supply.stock],
        "past_its_date": [
            {"amount": _size(stale.stock.amount), "good_until": stale.good_until.isoformat(),
             "task": stale.task, "wanted": stale.wanted.isoformat()}
            for stale in line.stale
        ],
    }  # fmt: skip


def _stock(stock: Stock, of: Item) -> dict[str, object]:
    until = good_until(stock, of)
    return {
        "amount": _size(stock.amount),
        "opened": stock.opened.isoformat() if stock.opened else None,
        "good_until": until.isoformat() if until else None,
    }


def _cost(cost: Costs) -> dict[str, object]:
    share = cost.share
    return {
        "total": _money(cost.total) if cost.known else None,
        "materials": {key: _money(each) for key, each in cost.materials.items()},
        "labour": {
            each.person: {"minutes": each.minutes, "cost": _money(each.cost)}
            for each in cost.labour
        },
        "without_price": [*cost.unpriced],
        "waterproofing": _money(share.waterproofing) if share.percent is not None else None,
        "tile_work": _money(share.tile_work) if share.percent is not None else None,
        "waterproofing_percent": share.percent,
    }


def _size(size: float) -> float:
    return round(size, 3) + 0.0


def _money(sum_of: Decimal | None) -> float | None:
    return None if sum_of is None else float(round(sum_of, 2))
