"""How long work takes by quantity and rate, and what waits for a delivery."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from math import ceil

from scheduler.jobfile.form import TaskEntry
from scheduler.measures import UNIT_WORDS
from scheduler.model import Link, Person, Task
from scheduler.rates import STEP, Rate, rates
from scheduler.yamlform.tree import Report, quoted


def work(entry: TaskEntry, who: Iterable[str], people: Mapping[str, Person]) -> int:
    """The working time of a task [min]: the file's own, or what its quantity takes.

    The time of the rate is for one at work; with several it is that of the slowest.
    """
    if entry.has("work"):
        return entry.work.usual
    rate = rates().get(entry.rate.value) if entry.rate else None
    if rate is None or entry.quantity is None or rate.per != entry.quantity.unit:
        return 0
    there = [people[name] for name in who if name in people]
    return max((minutes(rate, entry.quantity.size, each) for each in there), default=0)


def check_quantity(key: str, entry: TaskEntry, report: Report) -> None:
    """Report a quantity that no time can be made of."""
    rate = rates().get(entry.rate.value) if entry.rate else None
    if entry.has("work") or rate is None or entry.quantity is None:
        return
    if not entry.who and entry.same_person_as is None:
        report.add(
            entry.marks["quantity"],
            f"task {quoted(key)} has a 'quantity' but no 'who', so nobody whose time it takes: "
            "say who does it, or give 'work'",
        )
    if rate.per != entry.quantity.unit:
        report.add(
            entry.marks["quantity"],
            f"'quantity' must be {UNIT_WORDS[rate.per]}: that is what {rate.name} is counted in",
        )


def minutes(rate: Rate, quantity: float, who: Person) -> int:
    """The time [min] that somebody takes for a quantity, up to the next 5 min."""
    exact = rate.minutes(quantity, who.skill) * who.pace
    return ceil(round(exact, 6) / STEP) * STEP


def taken(task: Task) -> Iterator[str]:
    """The ids of all products and goods that a task takes."""
    if task.applies:
        yield task.applies
    yield from (key for key, _ in task.uses)
    if task.rate:
        yield from rates()[task.rate].uses


def with_deliveries(tasks: Iterable[Task]) -> tuple[Task, ...]:
    """The tasks, each with a link to the deliveries of what it takes."""
    tasks = tuple(tasks)
    deliveries = [task for task in tasks if task.delivers]
    return tuple(_waiting(task, deliveries) for task in tasks) if deliveries else tasks


def _waiting(task: Task, deliveries: Iterable[Task]) -> Task:
    wanted, linked = {*taken(task)}, {link.task for link in task.after if _is_plain(link)}
    more = tuple(
        Link(each.id)
        for each in deliveries
        if each is not task and each.id not in linked and wanted & {*each.delivers}
    )
    return replace(task, after=(*task.after, *more)) if more else task


def _is_plain(link: Link) -> bool:
    """Whether it says as much as a delivery's link would."""
    return (link.of, link.to) == ("finish", "start") and link.wait >= 0
