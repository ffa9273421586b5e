"""What else a day brings: cautions, what must be on site or ordered, what spoils."""

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.cautions import Due, cautions_due
from scheduler.clock import day_start
from scheduler.layout import Entry
from scheduler.model import Job, Plan
from scheduler.shopping.lines import Line, shopping
from scheduler.shopping.stock import held_in_words
from scheduler.shopping.words import packs_in_words
from scheduler.text.days import Days, era
from scheduler.wording import listed, tidy


@dataclass(frozen=True)
class Notes:
    """The cautions of a plan, and the lines of its shopping list of which anything is known."""

    cautions: tuple[Due, ...]
    lines: tuple[Line, ...]


def notes_of(job: Job, plan: Plan) -> Notes:
    """The notes of a whole plan, worked out once."""
    known = (line for line in shopping(job, plan).lines if line.item.unit is not None)
    return Notes(cautions_due(job, plan), tuple(known))


def cautions(days: Days, notes: Notes) -> Iterator[Entry]:
    """What can hurt people, on the first day on which it can."""
    for each in notes.cautions:
        if days.holds(each.minute):
            yield Entry("caution", each.text())


def supplies(days: Days, notes: Notes) -> Iterator[Entry]:
    """What is to be bought by these days, what is to be ordered in them, what spoils."""
    wanted = [line for line in notes.lines if _within(days, line.needed_by)]
    if wanted:
        yield Entry("on site", f"{listed(packs_in_words(days.job, line) for line in wanted)}.")
    to_order = [line for line in notes.lines if _has_lead(line) and _within(days, line.order_by)]
    for line in to_order:
        by = days.when(line.order_by or 0)
        yield Entry("order", f"{packs_in_words(days.job, line)}, by {by} at the latest.")
    for line in notes.lines:
        if _is_overdue(days, line):
            by = days.when(line.order_by or 0)
            yield Entry("order", f"{packs_in_words(days.job, line)}, overdue since {by}.")
    yield from _spoiling(days, notes)


def _within(days: Days, minute: int | None) -> bool:
    return minute is not None and days.holds(minute)


def _is_overdue(days: Days, line: Line) -> bool:
    """Whether it should have been ordered before today, for work that is still to come."""
    if era(days.job, days.first) != "today" or line.order_by is None or line.needed_by is None:
        return False
    return _has_lead(line) and line.order_by < days.start and line.needed_by >= days.job.now


def _has_lead(line: Line) -> bool:
    return line.item.supply.lead_time > 0


def _spoiling(days: Days, notes: Notes) -> Iterator[Entry]:
    """What is on hand and will be past its date, on its last good day (the first day at least)."""
    zone, plan = days.plan.timezone, days.plan
    for line in notes.lines:
        for stale in line.stale:
            if days.holds(max(plan.start, day_start(stale.good_until, zone))):
                held = held_in_words(stale.stock, line.item, days.job.units)
                task, when = days.name(stale.task), days.when(plan.task[stale.task].start)
                late = "is past its date" if stale.good_until < days.first else "is good today only"
                yield Entry(
                    "stock", f"{tidy(line.item.id)}, {held}, {late}: '{task}' wants it {when}."
                )
