"""The shopping list as a table for spreadsheets: CSV as RFC 4180 has it.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-`` or ``@`` for a formula and runs it,
whoever wrote it; names in a job file may be anybody's. Such cells get an apostrophe in front, which
makes them text. Numbers are never negative, so none of them is touched. Source of the list of
characters: OWASP, "CSV Injection" (from memory).
"""

import csv
import re
from collections.abc import Iterator
from io import StringIO

from scheduler.clock import to_local
from scheduler.model import Job
from scheduler.shopping.lines import Line, Shopping
from scheduler.wording import tidy, title

COLUMNS = (
    "item", "description", "unit", "net", "with_waste", "on_hand", "to_buy", "pack", "packs",
    "for", "unknown_for", "needed_by", "order_by", "price", "cost", "currency", "past_its_date",
)  # fmt: skip
_BOM = b"\xef\xbb\xbf"  # without it some spreadsheets take UTF-8 for something else
_FORMULA = re.compile(r"(^|[;\t])(\s*)(?=[=+\-@＝＋－＠|%])")


def shopping_csv(job: Job, bought: Shopping, zone: str) -> bytes:
    """The list as a CSV file, one line for each product or goods, amounts in its ``unit``."""
    out = StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for line in bought.lines:
        table.writerow(_row(job, line, zone))
    return _BOM + out.getvalue().encode()


def _row(job: Job, line: Line, zone: str) -> Iterator[str]:
    of = line.item
    price, cost = of.supply.price, line.cost
    yield safe(of.id)
    yield safe(of.title)
    yield of.unit or ""
    for size in (line.net, line.gross, line.on_hand, line.to_buy):
        yield _number(size)
    yield "" if of.pack is None else _number(of.pack)
    yield "" if line.packs is None else str(line.packs)
    yield _names(job, (need.task for need in line.needs if need.amount is not None))
    yield _names(job, (need.task for need in line.unknown))
    for minute in (line.needed_by, line.order_by):
        yield "" if minute is None else f"{to_local(minute, zone):%Y-%m-%d %H:%M}"
    for money in (price, cost):
        yield "" if money is None else f"{money:.2f}"
    yield job.currency
    yield _names(job, (stale.task for stale in line.stale))


def _names(job: Job, tasks: Iterator[str]) -> str:
    once = dict.fromkeys(tasks)
    return safe("; ".join(title(job.task[task]) for task in once))


def _number(size: float) -> str:
    return f"{size:.3f}".rstrip("0").rstrip(".")


def safe(text: str) -> str:
    """The text so that no spreadsheet takes it, or a part behind a semicolon, for a formula.

    >>> safe("=1+1"), safe("Tile - walls"), safe("a;-b")
    ("'=1+1", 'Tile - walls', "a;'-b")
    """
    return _FORMULA.sub(r"\1\2'", tidy(text))
