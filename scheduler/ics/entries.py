"""What a plan puts into a calendar, before any file format: entries, their identity and words.

An entry never says that a task may start: other waits, a test or a closed room may still hold it.
It says what is ready, and when the next task is planned.
"""

import json
import re
import unicodedata
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from scheduler.clock import day_of
from scheduler.model import End, Plan, Product, Wait
from scheduler.wording import GLUE, READY, moment

Category = Literal["Work", "Unattended", "Milestone", "Wait", "Window", "Closed", "Booking"]

SHORT = 15
"""How long the entry of a moment is [min]: some calendars hide entries without any length."""

LABEL_FIRST = "The product's label beats this calendar."

_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_DNS, "thenwait.invalid")


@dataclass(frozen=True)
class Entry:
    """One entry of a calendar: ``start`` and ``end`` in UTC minutes.

    ``busy`` is whether it takes somebody's time. ``alarms`` are minutes before ``start`` at which
    ``alarm_text`` is shown. ``depends_on`` are the uids of entries that come before it, each with
    the lag [min] after its end, or None where there is none to speak of. ``where`` is the job,
    in a calendar that has several.
    """

    uid: str
    start: int
    end: int
    summary: str
    description: str
    category: Category
    busy: bool = False
    alarms: tuple[int, ...] = ()
    alarm_text: str = ""
    depends_on: tuple[tuple[str, int | None], ...] = ()
    where: str = ""


@dataclass(frozen=True)
class Due:
    """Waits that are one in a calendar: the same stage of the same task, whoever waits for it.

    ``wait`` is the one that ends last; ``waiters`` are the tasks that wait for it, each with the
    first of the moments at which it must have started, if there is any. ``finishing`` are those of
    them that may start before its end and only not be done before it.
    """

    wait: Wait
    waiters: Mapping[str, int | None]
    finishing: frozenset[str]


def dues(plan: Plan) -> tuple[Due, ...]:
    """The waits of a plan, put together."""
    groups: dict[tuple[str, str | None, str | None, End | None], list[Wait]] = {}
    for wait in plan.waits:
        alone = (None, None) if wait.stage else (wait.for_task, wait.to)
        key = (wait.task, wait.stage, *alone)
        groups.setdefault(key, []).append(wait)
    return tuple(map(_due, groups.values()))


def _due(waits: list[Wait]) -> Due:
    waiters: dict[str, int | None] = {}
    for wait in waits:
        if wait.for_task is not None:
            known = waiters.get(wait.for_task)
            closings = [moment for moment in (known, wait.close_by) if moment is not None]
            waiters[wait.for_task] = min(closings, default=None)
    starting = {wait.for_task for wait in waits if wait.to == "start"}
    last = max(waits, key=lambda wait: wait.end)
    return Due(last, waiters, frozenset(waiters.keys() - starting))


# ------------------------------------------------------------------------------ identity


def job_uid(job_name: str) -> str:
    """The identity of a job's calendar; upper case and punctuation of the name don't matter."""
    return f"{_job_uuid(job_name)}@thenwait.invalid"


def entry_uid(job_name: str, *ids: str | int) -> str:
    """The identity of an entry, from ids alone: never from a title, a date or a position."""
    return f"{uuid.uuid5(_job_uuid(job_name), json.dumps(ids))}@thenwait.invalid"


def _job_uuid(job_name: str) -> uuid.UUID:
    plain = unicodedata.normalize("NFKC", job_name).casefold()
    return uuid.uuid5(_NAMESPACE, re.sub(r"[\W_]+", "-", plain).strip("-"))


# --------------------------------------------------------------------------------- words


def when(plan: Plan, minute: int) -> str:
    """Day and time in full, e.g. ``Sun 10 Jan 2027 09:10``."""
    return moment(minute, plan.timezone).replace(GLUE, " ")


def brief(plan: Plan, minute: int, beside: int) -> str:
    """The time for somebody who is looking at the moment ``beside``; the day if it is another."""
    return moment(minute, plan.timezone, day_of(beside, plan.timezone)).replace(GLUE, " ")


def product_words(product: Product) -> str:
    """Its name in the job file and its class in words."""
    return f"{product.id} ({product.title})" if product.title else product.id


def ready_not_before(plan: Plan, wait: Wait) -> str:
    """E.g. ``ready for tile not before Sun 10 Jan 2027, 09:10``."""
    fact = READY[wait.stage] if wait.stage else "over"
    return f"{fact} not before {when(plan, wait.end)}"


def closing(due: Due, waiter: str, window: str) -> str:
    """Why a waiter must start by some moment: that of the window itself, or to be done in it."""
    if waiter in due.finishing:
        return f", so that it is done before {window} closes"
    return f": {window} closes then"


def next_lines(plan: Plan, due: Due) -> Iterator[str]:
    """When each task that waits and has not begun is planned."""
    return (next_line(plan, each, due) for each in due.waiters if plan.task[each].state == "open")


def next_line(plan: Plan, task: str, due: Due | None = None) -> str:
    """When a task is planned; that it may not be done before, where it may start."""
    if due is not None and task in due.finishing:
        done = when(plan, plan.task[task].finish)
        return f"{plan.task[task].name} may not be done before then; planned to be done {done}."
    return f"Next: {plan.task[task].name}, planned for {when(plan, plan.task[task].start)}."
