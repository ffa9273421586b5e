"""What a job file says of buying: packs, prices, stock, and what tasks use up.

Everything of a product or of goods ends up in its one unit; what can't be turned into it is
reported where it stands.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import cast

from scheduler.jobfile.form import ProductEntry, TaskEntry
from scheduler.jobfile.supplyform import GoodsEntry, StockEntry, SupplyEntry
from scheduler.measures import UNIT_WORDS
from scheduler.model import (
    Amount,
    Goods,
    Measure,
    Product,
    Stock,
    Supply,
    Unit,
)
from scheduler.rates import goods as listed_goods
from scheduler.yamlform.forms import Entry
from scheduler.yamlform.tree import Report

_OWN_WASTE = 0.1  # of goods that nobody has figures for; common practice, no published source


def supplied(product: Product, entry: ProductEntry, report: Report) -> Product:
    """The product with the owner's own usage, pack, waste, price and stock."""
    amount = _amount(product, entry, report)
    unit = amount.unit if amount else _own_unit(entry)
    if unit is None:
        return product
    density = amount.density if amount else None
    return replace(product, amount=amount, supply=_supply(entry, unit, density, report))


def _amount(product: Product, entry: ProductEntry, report: Report) -> Amount | None:
    """How much of it is used, as the class says and the owner knows better."""
    amount = product.amount
    if amount is None:
        return None
    if entry.use is not None:
        used = _in_unit(Measure(entry.use.size, entry.use.unit), amount.unit, amount.density)
        if used is None:
            _wrong_unit(entry, "use", amount.unit, report)
        else:
            amount = replace(
                amount, use=used, per=entry.use.per, basis="owner's label", source="the job file"
            )
    if entry.pack is not None:
        pack = _read(entry, "pack", entry.pack, amount.unit, amount.density, report)
        amount = replace(amount, pack=pack or amount.pack)
    return amount if entry.waste is None else replace(amount, waste=entry.waste)


def goods(key: str, entry: GoodsEntry | None, used: Measure | None, report: Report) -> Goods:
    """Goods of the file, or of the list where the file says nothing of them.

    Args:
        key: their id.
        entry: what the file says of them, if anything.
        used: an amount that some task uses of them, for the unit where nothing else gives it.
        report: takes what is wrong.
    """
    known = listed_goods().get(key)
    own = _own_unit(entry) if entry else None
    unit = known.unit if known else own or cast(Unit, used.unit if used else "each")
    title, pack = (known.title, known.pack) if known else (key, None)
    waste = known.waste if known else _OWN_WASTE
    if entry is None:
        return Goods(key, title, unit, pack, waste)
    if entry.pack is not None:
        pack = _read(entry, "pack", entry.pack, unit, None, report)
    return Goods(
        id=key,
        title=entry.name or title,
        unit=unit,
        pack=pack,
        waste=waste if entry.waste is None else entry.waste,
        supply=_supply(entry, unit, None, report),
    )


def _own_unit(entry: SupplyEntry) -> Unit | None:
    """The unit in which the owner speaks of it."""
    said = (entry.pack, *(stock.amount for stock in entry.stock))
    return next((cast(Unit, measure.unit) for measure in said if measure), None)


def _supply(entry: SupplyEntry, unit: Unit, density: float | None, report: Report) -> Supply:
    stock = (_stock(each, unit, density, report) for each in entry.stock)
    return Supply(
        price=entry.price,
        lead_time=entry.lead_time,
        stock=tuple(each for each in stock if each),
        own_pack=entry.pack is not None,
    )


def _stock(entry: StockEntry, unit: Unit, density: float | None, report: Report) -> Stock | None:
    if entry.amount is None:
        return None
    amount = _read(entry, "amount", entry.amount, unit, density, report)
    return None if amount is None else Stock(amount, entry.opened, entry.best_before)


def uses(
    entry: TaskEntry, known: Mapping[str, tuple[Unit, float | None]], report: Report
) -> tuple[tuple[str, float], ...]:
    """What a task uses up by the owner's word, each in its unit.

    ``known`` are unit and density [kg/L] of the products and goods.
    """
    read = (
        (key, _read(entry, "uses", measure, *known[key], report))
        for key, measure in entry.uses.items()
        if measure is not None and key in known
    )
    return tuple((key, size) for key, size in read if size is not None)


def _read(  # noqa: PLR0913, PLR0917 (a value, its place, and what it must become)
    entry: Entry, key: str, said: Measure, unit: Unit, density: float | None, report: Report
) -> float | None:
    """An amount in the unit of what it is an amount of; reported where it can't be."""
    size = _in_unit(said, unit, density)
    if size is None:
        _wrong_unit(entry, key, unit, report)
    return size


def _wrong_unit(entry: Entry, key: str, unit: Unit, report: Report) -> None:
    words = f"'{key}' must be {UNIT_WORDS[unit]}: that is what this is measured in"
    report.add(entry.marks[key], words)


def _in_unit(said: Measure, unit: Unit, density: float | None) -> float | None:
    if said.unit == unit or said.size == 0:
        return said.size
    if density is not None and {said.unit, unit} == {"kg", "L"}:
        return said.size / density if unit == "L" else said.size * density
    return None
