"""What sets and dries on a day, which rooms that keeps people or dust out of, what must start."""

from collections.abc import Iterator

from scheduler.clock import DAY
from scheduler.layout import Entry
from scheduler.model import Job, Product, Wait
from scheduler.text.days import Days
from scheduler.wording import READY, duration, listed

_VERBS = {
    "hydration": "sets",
    "gypsum-set": "sets",
    "drying": "dries",
    "thick-drying": "dries",
    "moisture-cure": "cures",
}


def waits(days: Days) -> Iterator[Entry]:
    """What sets, dries and cures, by end; between its first and its last day in short."""
    short = []
    for together in _by_end(days):
        wait = together[0]
        if days.quiet or _begins(days, wait) or days.holds(wait.end - 1):
            yield _wait(days, together)
        else:
            short.append(_until(days, wait))
    if short:
        yield Entry("still", short[0], tuple(short[1:]))


def _by_end(days: Days) -> list[list[Wait]]:
    """The waits of these days in the order they end, those of one task for one stage together."""
    found: dict[tuple[int, str, str | None], list[Wait]] = {}
    for wait in sorted(days.plan.waits, key=lambda wait: wait.end):
        only_keeps_off = wait.for_task is None and _keeps_off(days.job, wait)
        if wait.minutes > 0 and not only_keeps_off and days.meets(_applied(days, wait), wait.end):
            found.setdefault((wait.end, wait.task, wait.stage), []).append(wait)
    return list(found.values())


def _applied(days: Days, wait: Wait) -> int:
    """A minute of the day on which a wait begins: work done at 24:00 is work of that day."""
    return max(days.plan.task[wait.task].start, wait.start - 1)


def _begins(days: Days, wait: Wait) -> bool:
    return days.holds(_applied(days, wait))


def _keeps_off(job: Job, wait: Wait) -> bool:
    """Whether the stage ends a time in which its room is closed or kept free of dust."""
    product = _product(job, wait)
    where = job.task[wait.task].room
    return product is not None and bool(where) and wait.stage in {product.closes, product.dust_shy}


def _product(job: Job, wait: Wait) -> Product | None:
    return None if wait.product is None else job.products[wait.product]


def _wait(days: Days, together: list[Wait]) -> Entry:
    wait = together[0]
    names = dict.fromkeys(
        days.name(each.for_task) for each in together if each.for_task is not None
    )
    waiting = f", for {listed(names)}" if names else ""
    length = f" ({_length(days.job, wait)})" if _begins(days, wait) else ""
    return Entry(_verb(days.job, wait), f"{_until(days, wait)}{waiting}{length}")


def _until(days: Days, wait: Wait) -> str:
    return f"until {days.when(wait.end)}: {_what(days, wait)}"


def _what(days: Days, wait: Wait) -> str:
    if wait.product is None or wait.stage is None:
        return f"after {days.name(wait.task)}"
    return f"{wait.product} ({days.name(wait.task)}) {READY[wait.stage]}"


def _verb(job: Job, wait: Wait) -> str:
    product = _product(job, wait)
    if product is None or wait.stage is None:
        return "waits"
    return _VERBS.get(product.stage(wait.stage).law, "waits")


def _length(job: Job, wait: Wait) -> str:
    """How long it takes, and what label or catalogue say where the air makes it another time."""
    product = _product(job, wait)
    if wait.minutes == wait.label_minutes or product is None or wait.stage is None:
        return duration(wait.minutes)
    own = product.stage(wait.stage).basis == "owner's label"
    said = "label" if own else "catalogue"
    return f"{duration(wait.minutes)}, {said} {duration(wait.label_minutes)}"


def kept_off(days: Days) -> Iterator[Entry]:
    """Rooms that are closed, and rooms to be kept free of dust, by end."""
    one_each = {(wait.task, wait.stage): wait for wait in reversed(days.plan.waits)}
    for wait in sorted(one_each.values(), key=lambda wait: wait.end):
        start = days.plan.task[wait.task].start
        if _keeps_off(days.job, wait) and days.meets(start, wait.end):
            yield from _closing(days, wait)


def _closing(days: Days, wait: Wait) -> Iterator[Entry]:
    product, room = _product(days.job, wait), days.job.task[wait.task].room
    if product is not None:
        text = f"until {days.when(wait.end)}: {room}, {_what(days, wait)}"
        if wait.stage == product.closes:
            yield Entry("closed", text)
        if wait.stage == product.dust_shy:
            yield Entry("no dust", text)


def must_start(days: Days) -> Iterator[Entry]:
    """Windows: on the day the earlier task is done and on the day they close.

    On the day for which the later task is planned too, where a day's delay would miss the window.
    """
    found = dict.fromkeys(
        entry
        for wait in sorted(days.plan.waits, key=lambda wait: wait.close_by or 0)
        for entry in _window(days, wait)
    )
    yield from found


def _window(days: Days, wait: Wait) -> Iterator[Entry]:
    if wait.close_by is None or wait.for_task is None:
        return
    start, closes = days.plan.task[wait.for_task].start, days.holds(wait.close_by - 1)
    slips_once = wait.close_by - start < DAY  # put off by a day it would be too late
    if closes or _begins(days, wait) or (days.holds(start) and slips_once):
        product = _product(days.job, wait)
        missed = product.on_missed_window if product and closes else ""
        planned = f"(planned {days.when(start)})"
        yield Entry(
            "must start",
            f"by {days.when(wait.close_by, ends=True)}: {days.name(wait.for_task)} {planned}",
            (f"If missed: {missed}",) if missed else (),
        )
