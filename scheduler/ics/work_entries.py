"""The work of a plan as calendar entries: one for each session, a short one for a milestone."""

from collections.abc import Iterator
from dataclasses import replace

from scheduler.batches import batches, in_words
from scheduler.cautions import Due, cautions_due
from scheduler.ics.entries import (
    LABEL_FIRST,
    SHORT,
    Category,
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
from scheduler.model import Job, Link, Plan, PlannedTask, Product, Task
from scheduler.wording import GLUE, READY, crew


def work_entries(job: Job, plan: Plan) -> Iterator[Entry]:
    """The entries of every task, busy where somebody has to be there."""
    told = cautions_due(job, plan)
    for placed in plan.tasks:
        spans = placed.sessions or ((placed.start, placed.start + SHORT),)
        for part, (start, end) in enumerate(spans, 1):
            yield Entry(
                uid=entry_uid(job.name, "work", placed.id, part),
                start=start,
                end=end,
                summary=_summary(plan, placed, part),
                description="\n".join(_lines(job, plan, placed, part, told)),
                category=_category(placed),
                busy=_category(placed) == "Work",
                depends_on=_depends_on(job, plan, placed, part),
            )


def person_entries(who: str, job: Job, plan: Plan) -> Iterator[Entry]:
    """The entries of the tasks in which a person of one job or several has a part.

    They are not those of the job's own calendar, so that somebody may keep both.
    """
    theirs = {
        entry_uid(job.name, "work", task.id, part): entry_uid(job.name, "of", who, task.id, part)
        for task in plan.tasks
        if who in task.who
        for part in range(1, max(len(task.sessions), 1) + 1)
    }
    for entry in work_entries(job, plan):
        if entry.uid in theirs:
            summary = f"{job.name}: {entry.summary}"
            yield replace(
                entry, uid=theirs[entry.uid], summary=summary, depends_on=(), where=job.name
            )


def _category(placed: PlannedTask) -> Category:
    if not placed.sessions:
        return "Milestone"
    return "Work" if placed.who else "Unattended"


def _summary(plan: Plan, placed: PlannedTask, part: int) -> str:
    parts = len(placed.sessions)
    if parts > 1:
        return f"{placed.name} (part {part} of {parts})"
    if _category(placed) == "Unattended":
        return f"{placed.name} (by itself, until {brief(plan, placed.finish, placed.start)})"
    return placed.name


def _lines(
    job: Job, plan: Plan, placed: PlannedTask, part: int, told: tuple[Due, ...]
) -> Iterator[str]:
    task = job.task[placed.id]
    product = job.product_of(task)
    yield f"Job: {job.name}"
    yield f"With: {', '.join(crew(placed.hands))}" if placed.who else "Nobody has to be there."
    if placed.room:
        yield f"Room: {placed.room}"
    if product:
        yield f"Applies: {product_words(product)}"
    if placed.state != "done":
        yield from _mixing(job, placed, part)
    if task.delivers:
        yield f"Brings: {', '.join(task.delivers)}"
    yield from _before(plan, task, placed, part)
    yield from _after(job, plan, placed, part)
    if task.notes:
        yield f"Notes: {task.notes}"
    if task.hold and job.actual(task.id).passed is None:
        yield "Hold point: what follows may start only when this has passed."
    yield from _cautions(task, product)
    if part == 1 and placed.state != "done":
        yield from (f"Caution: {each.text()}" for each in told if each.task == task.id)


def _mixing(job: Job, placed: PlannedTask, part: int) -> Iterator[str]:
    found = batches(job, placed, placed.sessions[part - 1]) if placed.sessions else None
    if found is not None and (words := in_words(job, found)):
        yield words.replace(GLUE, " ")


def _before(plan: Plan, task: Task, placed: PlannedTask, part: int) -> Iterator[str]:
    """Why this part comes now, and the moments that bound it."""
    if placed.state != "open":
        yield f"{placed.because.text[:1].upper()}{placed.because.text[1:]}."
    elif part == 1:
        yield f"Why now: {placed.because.text}"
        yield from _not_before(plan, task)
        yield from _start_by(plan, task)
    else:
        yield f"Goes on from {when(plan, placed.sessions[part - 2][1])}."
    if task.must_finish_by is not None and placed.state != "done":
        yield f"Must be finished by {when(plan, task.must_finish_by)}."


def _not_before(plan: Plan, task: Task) -> Iterator[str]:
    if task.not_before is not None:
        yield f"Not before {when(plan, task.not_before)}."
    for due in dues(plan):
        wait = due.wait
        if task.id in due.waiters and wait.minutes > 0:
            name = plan.task[wait.task].name
            fact = f"{name} is {READY[wait.stage]} then" if wait.stage else f"a wait after {name}"
            held = "May not be done" if task.id in due.finishing else "Not"
            yield f"{held} before {when(plan, wait.end)}: {fact}."


def _start_by(plan: Plan, task: Task) -> Iterator[str]:
    for due in dues(plan):
        closes = due.waiters.get(task.id)
        if closes is not None:
            window = f"the window after {plan.task[due.wait.task].name}"
            yield f"Start by {when(plan, closes)}{closing(due, task.id, window)}."


def _after(job: Job, plan: Plan, placed: PlannedTask, part: int) -> Iterator[str]:
    """When the work goes on; or what it waits for once it is done, and what comes next."""
    if part < len(placed.sessions):
        goes = "Went" if placed.state == "done" else "Goes"
        yield f"{goes} on {when(plan, placed.sessions[part][0])}."
        return
    waited = [due for due in dues(plan) if due.wait.task == placed.id and due.wait.minutes > 0]
    for due in waited:
        yield f"Then wait: {ready_not_before(plan, due.wait)}."
        yield from next_lines(plan, due)
    told = {waiter for due in waited for waiter in due.waiters}
    for other in job.tasks:
        to_come = other.id not in told and plan.task[other.id].state == "open"
        if to_come and any(link.task == placed.id for link in other.after):
            yield next_line(plan, other.id)


def _cautions(task: Task, product: Product | None) -> Iterator[str]:
    if task.dusty:
        yield (
            "Dusty: keep it away from fresh surfaces. Dust can harm the lungs: protect yourself"
            " and others as the makers of material and tool say."
        )
    if product and product.closes:
        yield f"Keep everybody out of the room until it is {READY[product.closes]}."
    if product and product.dust_shy:
        yield f"No dusty work in the room until it is {READY[product.dust_shy]}."
    if product:
        yield LABEL_FIRST
    if task.work or task.hold:
        yield "Local codes and licensed trades come first."


def _depends_on(
    job: Job, plan: Plan, placed: PlannedTask, part: int
) -> tuple[tuple[str, int | None], ...]:
    """The entries before this one, each once, with the longest lag that counts from its end."""
    lags: dict[str, int | None] = {}
    for link in job.task[placed.id].after:
        if part == (1 if link.to == "start" else _parts(placed)):
            earlier = plan.task[link.task]
            other = entry_uid(job.name, "work", link.task, _part_of(link, earlier))
            known = [lag for lag in (lags.get(other), _lag(plan, link)) if lag is not None]
            lags[other] = max(known, default=None)
    return tuple(lags.items())


def _parts(placed: PlannedTask) -> int:
    return len(placed.sessions) or 1


def _part_of(link: Link, earlier: PlannedTask) -> int:
    return 1 if link.of == "start" else _parts(earlier)


def _lag(plan: Plan, link: Link) -> int | None:
    """The wait as planned now [min]; None where it doesn't lie between a finish and a start."""
    if (link.of, link.to) != ("finish", "start"):
        return None
    if link.stage is None:
        return link.wait
    waits = [wait for wait in plan.waits if (wait.task, wait.stage) == (link.task, link.stage)]
    return max((wait.minutes for wait in waits), default=None)
