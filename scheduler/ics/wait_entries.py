"""The waits and windows of a plan as calendar entries, none of which takes anybody's time.

A wait is a free span; one of a day or more is only its end, because month views lift long spans
into the all-day strip, where they hide the work. A window is a short entry that *ends* when the
window closes, so that nobody reads its block as time still left.
"""

from collections.abc import Iterator
from datetime import datetime, time, timedelta

from scheduler.air import mean
from scheduler.clock import DAY, HOUR, day_of, to_minute
from scheduler.ics.entries import (
    LABEL_FIRST,
    SHORT,
    Due,
    Entry,
    brief,
    closing,
    dues,
    entry_uid,
    next_line,
    next_lines,
    product_words,
    ready_not_before,
    when,
)
from scheduler.model import Conditions, Job, Plan, Product, Wait
from scheduler.quantities import show_duration, show_humidity, show_temperature
from scheduler.wording import READY

_ALARM = 3 * HOUR
_EVENING = time(19, 0)

_MEANWHILE = {
    "hydration": "setting",
    "gypsum-set": "setting",
    "drying": "drying",
    "thick-drying": "drying",
    "moisture-cure": "curing",
}


def wait_entries(job: Job, plan: Plan) -> Iterator[Entry]:
    """The entries of every wait, and of every window that closes."""
    for due in dues(plan):
        if due.wait.minutes > 0:
            yield _waiting(job, plan, due)
        for waiter, closes in due.waiters.items():
            if closes is not None:
                yield _window(job, plan, due, waiter, closes)


def _waiting(job: Job, plan: Plan, due: Due) -> Entry:
    wait = due.wait
    long = wait.minutes >= DAY
    alone = (wait.for_task or "", *_held(due)) if not wait.stage else ("",)
    return Entry(
        uid=entry_uid(job.name, "wait", wait.task, wait.stage or "", *alone),
        start=wait.end if long else wait.start,
        end=wait.end + SHORT if long else wait.end,
        summary=_ended(plan, due) if long else _until(job, plan, due),
        description="\n".join(_lines(job, plan, due)),
        category="Wait",
    )


def _held(due: Due) -> tuple[str, ...]:
    """Tells a wait that holds a finish from one of the same tasks that holds a start."""
    return ("finish",) if due.wait.to == "finish" else ()


def _until(job: Job, plan: Plan, due: Due) -> str:
    """The title of a wait, e.g. ``Second coat not before 21:40 (First coat: drying)``."""
    until = brief(plan, due.wait.end, due.wait.start)
    starting = [name for waiter, name in _names(plan, due) if waiter not in due.finishing]
    finishing = [name for waiter, name in _names(plan, due) if waiter in due.finishing]
    if not due.waiters:
        starting = [_sentence(READY[due.wait.stage]) if due.wait.stage else "Next"]
    facts = [f"{', '.join(starting)} not before {until}"] if starting else []
    facts += [f"{', '.join(finishing)} may not be done before {until}"] if finishing else []
    return f"{'; '.join(facts)} ({_meanwhile(job, plan, due.wait)})"


def _names(plan: Plan, due: Due) -> list[tuple[str, str]]:
    return [(waiter, plan.task[waiter].name) for waiter in due.waiters]


def _ended(plan: Plan, due: Due) -> str:
    """The title of the end of a long wait: what to expect, and when the plan goes on."""
    name = plan.task[due.wait.task].name
    stage = due.wait.stage
    fact = f"{name} should be {READY[stage]}" if stage else f"Wait after {name} is over"
    following = [_planned(plan, due, waiter) for waiter in due.waiters]
    if not following:
        return fact
    moment, words = min(following)
    return f"{fact}; {words} {brief(plan, moment, due.wait.end)}"


def _planned(plan: Plan, due: Due, waiter: str) -> tuple[int, str]:
    """The end of a task that a wait holds, and how its title leads up to it."""
    task = plan.task[waiter]
    if waiter in due.finishing:
        return task.finish, f"{task.name} is planned to be done"
    return task.start, f"{task.name} is planned for"


def _lines(job: Job, plan: Plan, due: Due) -> Iterator[str]:
    wait = due.wait
    product = job.products[wait.product] if wait.product else None
    yield f"Job: {job.name}"
    yield f"{_meanwhile(job, plan, wait)} since {when(plan, wait.start)}."
    if product:
        yield f"Product: {product_words(product)}"
    if room := plan.task[wait.task].room:
        yield f"Room: {room}"
    label = f"; its label asks for {show_duration(wait.label_minutes)}" if product else ""
    ready = _sentence(ready_not_before(plan, wait))
    yield f"{ready} ({show_duration(wait.minutes)}{label})."
    yield from next_lines(plan, due)
    for waiter, closes in due.waiters.items():
        if closes is not None:
            by = f"Start {plan.task[waiter].name} by {when(plan, closes)}"
            yield f"{by}{closing(due, waiter, 'its window')}."
    if product:
        yield from _cautions(job, plan, wait, product)


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def _meanwhile(job: Job, plan: Plan, wait: Wait) -> str:
    """What is happening, e.g. ``First coat: drying``."""
    return f"{plan.task[wait.task].name}: {_MEANWHILE.get(_law(job, wait), 'waiting')}"


def _law(job: Job, wait: Wait) -> str:
    if wait.product is None or wait.stage is None:
        return "fixed"
    return job.products[wait.product].stage(wait.stage).law


def _cautions(job: Job, plan: Plan, wait: Wait, product: Product) -> Iterator[str]:
    """What to keep off a fresh surface and until when, and what the time rests on."""
    yield "Until then do not cover it, load it or wet it."
    if product.closes:
        rule = "Do not walk on it: the room is closed until"
        yield f"{rule} it is {READY[product.closes]}{_at(plan, wait.task, product.closes)}."
    if product.dust_shy:
        rule = "No dusty work in the room until"
        yield f"{rule} it is {READY[product.dust_shy]}{_at(plan, wait.task, product.dust_shy)}."
    if _law(job, wait) != "fixed":
        yield _air(job, wait)
    yield LABEL_FIRST


def _at(plan: Plan, task: str, stage: str) -> str:
    ends = [wait.end for wait in plan.waits if (wait.task, wait.stage) == (task, stage)]
    return f", {when(plan, max(ends))}" if ends else ""


def _air(job: Job, wait: Wait) -> str:
    air = job.air_of(job.task[wait.task].room)
    source = "assumed, nobody gave it" if air.assumed else "as the job file says"
    around = Conditions(air.temperature, air.humidity)
    if air.course is not None:
        around = mean(air, wait.start, wait.end, job.timezone)
        source = "on average, as read and foreseen"
    state = f"{show_temperature(around.temperature, job.units)}, {show_humidity(around.humidity)}"
    return (
        f"Reckoned for air of {state} ({source}). Other air makes another wait:"
        " check the surface before you go on."
    )


def _window(job: Job, plan: Plan, due: Due, waiter: str, closes: int) -> Entry:
    name, wait = plan.task[waiter].name, due.wait
    alone = () if wait.stage else _held(due)
    by = f"Start {name} by {when(plan, closes)}"
    return Entry(
        uid=entry_uid(job.name, "window", wait.task, wait.stage or "", waiter, *alone),
        start=closes - SHORT,
        end=closes,
        summary=f"Last moment for {name}: start by {brief(plan, closes, closes)}",
        description="\n".join(_window_lines(job, plan, due, waiter, by)),
        category="Window",
        alarms=tuple(lead - SHORT for lead in _leads(wait.start, closes, plan.timezone)),
        alarm_text=f"{by}.",
    )


def _window_lines(job: Job, plan: Plan, due: Due, waiter: str, by: str) -> Iterator[str]:
    product = job.products[due.wait.product] if due.wait.product else None
    missed = product.on_missed_window if product else ""
    yield f"Job: {job.name}"
    window = f"the window after {plan.task[due.wait.task].name}"
    yield f"{by}{closing(due, waiter, window)}."
    yield next_line(plan, waiter)
    yield f"If it is missed: {missed or 'do what the label of the product says.'}"


def _leads(opens: int, closes: int, zone: str) -> tuple[int, ...]:
    """How long before a window closes to say so [min]: the evening before, and 3 hours.

    Half way through a window of less than 6 hours; no evening that lies before its beginning.
    """
    near = min(_ALARM, max(closes - opens, 0) // 2)
    day = day_of(closes, zone) - timedelta(days=1)
    evening = to_minute(datetime.combine(day, _EVENING), zone)
    return (closes - evening, near) if evening > opens else (near,)
