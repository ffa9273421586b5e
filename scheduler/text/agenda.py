"""A plan day by day: what to do, what sets and dries meanwhile, what is closed, what must start."""

from collections.abc import Iterator

from scheduler.batches import batches, in_words
from scheduler.layout import Entry, Section
from scheduler.model import Job, Plan, PlannedTask, Product
from scheduler.text.days import Days, by_heading, clock_changes, era, heading, pieces
from scheduler.text.meanwhile import kept_off, must_start, waits
from scheduler.text.notes import Notes, cautions, notes_of, supplies
from scheduler.wording import GLUE, clock, crew, glued, listed, tidy


def agenda(job: Job, plan: Plan) -> tuple[Section, ...]:
    """The plan by day: headings with weekday, date and who comes; entries in the order of the day.

    The entries of a day are: a change of the clocks; cautions; what must be on site, ordered or
    used up; the work, by start; what sets and dries; rooms closed or to be kept free of dust; what
    must start by when.
    """
    notes = notes_of(job, plan)
    return tuple(Section(heading(days), _entries(days, notes)) for days in by_heading(job, plan))


def _entries(days: Days, notes: Notes) -> tuple[Entry, ...]:
    if era(days.job, days.first) == "gone":
        return tuple(_work(days))
    found = (
        *clock_changes(days),
        *cautions(days, notes),
        *supplies(days, notes),
        *_work(days),
        *waits(days),
        *kept_off(days),
        *must_start(days),
    )
    return found or (Entry("", "Nothing to do; nothing sets or dries."),)


def _work(days: Days) -> Iterator[Entry]:
    found = (
        (start, end, part, task)
        for task in days.plan.tasks
        for part, (start, end) in enumerate(pieces(task), 1)
        if days.meets(start, end)
    )
    for start, end, part, task in sorted(found, key=lambda piece: piece[:2]):
        yield _piece(days, task, part, start, end)


def _piece(days: Days, planned: PlannedTask, part: int, start: int, end: int) -> Entry:
    parts = len(planned.sessions)
    which = f" ({glued(f'part {part} of {parts}')})" if parts > 1 else ""
    label, until = _hours(days, start, end)
    kind = "" if end > start else "Milestone: "
    if planned.state == "done":
        title = f"{until}Done: {days.name(planned.id)}{which}{_crew(days, planned)}"
        return Entry(label, title, (*_not_passed(days, planned),))
    begun = "Running: " if planned.state == "running" else ""
    title = f"{until}{begun}{kind}{days.name(planned.id)}{which}{_crew(days, planned)}"
    hold = days.job.task[planned.id].hold
    details = (
        *(("HOLD POINT: go on only when it is passed.",) if hold else ()),
        *(_beginning(days, planned) if part == 1 and days.holds(start) else ()),
        *(_mixing(days, planned, (start, end)) if days.holds(start) and end > start else ()),
    )
    return Entry(label, title, details)


def _not_passed(days: Days, planned: PlannedTask) -> Iterator[str]:
    if days.job.task[planned.id].hold and days.job.actual(planned.id).passed is None:
        yield "HOLD POINT, not logged as passed: what follows waits for that."


def _crew(days: Days, planned: PlannedTask) -> str:
    alone = "needs nobody" if planned.finish > planned.start else ""
    who = listed(crew(planned.hands)) if planned.who else alone
    where = f"in {planned.room}" if planned.room else ""
    words = ", ".join(part for part in (who, where) if part)
    return f"{GLUE}— {words}" if words else ""


def _hours(days: Days, start: int, end: int) -> tuple[str, str]:
    """The label of a piece of work, and until when where the label does not say."""
    zone = days.plan.timezone
    if start == end:
        return clock(start, zone), ""
    until = days.when(end, ends=True)
    if not days.holds(start):
        return "goes on", f"until {until}: "
    if end > days.end:
        return glued(f"from {clock(start, zone)}"), f"until {until}: "
    return f"{clock(start, zone)}–{until}", ""


def _beginning(days: Days, planned: PlannedTask) -> Iterator[str]:
    """What is to be known where a task begins."""
    task = days.job.task[planned.id]
    product = days.job.product_of(task)
    if product is not None:
        named = product.title and _first_use(days, product) == planned.id
        yield f"Applies {product.id}{f': {product.title}' if named else ''}."
    if task.delivers:
        yield f"Brings {listed(tidy(key) for key in task.delivers)}."
    if not _obvious(days, planned):
        yield f"Why then: {planned.because.text}"
    if task.dusty:
        yield "Makes dust."
    if task.must_finish_by is not None:
        yield f"Must be finished by {days.when(task.must_finish_by, ends=True)}."
    if task.notes:
        yield f"Note: {task.notes}"


def _mixing(days: Days, planned: PlannedTask, session: tuple[int, int]) -> Iterator[str]:
    """How much to mix at a time."""
    found = batches(days.job, planned, session)
    if found is not None and (words := in_words(days.job, found)):
        yield words


def _first_use(days: Days, product: Product) -> str:
    """The first task that applies it: there its title is told."""
    users = (task for task in days.plan.tasks if days.job.task[task.id].applies == product.id)
    return min(users, key=lambda task: task.start).id


def _obvious(days: Days, planned: PlannedTask) -> bool:
    """The job's beginning, and what follows the end of another task without a break."""
    because = planned.because
    if because.kind in {"link", "people"} and because.task is not None:
        return planned.start == days.plan.task[because.task].finish
    return because.kind == "start" or not because.text
