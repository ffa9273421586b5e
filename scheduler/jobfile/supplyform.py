"""The part of a job file's form that says how things are bought and what of them is on hand."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from scheduler.jobfile.values import DAY_ONLY, PRICE, SHARE, STUFF
from scheduler.model import Measure
from scheduler.yamlform.amounts import DURATION, LINE
from scheduler.yamlform.fields import Many
from scheduler.yamlform.forms import Entry, Form, key


@dataclass(frozen=True)
class StockEntry(Entry):
    """What is on hand, in one piece."""

    amount: Measure | None = key(
        STUFF, "How much is left of it.", None, required="how much is left, such as 5 kg"
    )
    opened: date | None = key(DAY_ONLY, "The day it was opened; left out, it is sealed.", None)
    best_before: date | None = key(DAY_ONLY, "The last day on which it is good.", None)


STOCK = Form(StockEntry, "{amount: 5 kg, opened: 2026-11-01}")


@dataclass(frozen=True)
class SupplyEntry(Entry):
    """How something is bought."""

    pack: Measure | None = key(STUFF, "What one pack holds, as 50 lb or 1 gal.", None)
    waste: float | None = key(SHARE, "What is lost of it to pail, tools and offcuts.", None)
    price: Decimal | None = key(PRICE, "What one pack costs, in the job's currency.", None)
    lead_time: int = key(DURATION, "From the order until it is there, as 3 d.", 0)
    stock: tuple[StockEntry, ...] = key(Many(STOCK), "What is on hand of it already.", ())


@dataclass(frozen=True)
class GoodsEntry(SupplyEntry):
    """What tasks use that is no product class."""

    name: str = key(LINE, "What it is, in words; the id if left out.", "")
