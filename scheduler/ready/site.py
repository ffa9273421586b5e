"""What to look at on site: a plan is a forecast, and the surface has the last word."""

from collections.abc import Iterable, Iterator

from scheduler.model import Job, Product, Task
from scheduler.ready.case import Case
from scheduler.ready.words import air_words, limits_words
from scheduler.wording import READY, in_quotes, listed

_LAST_WORD = "The label and the surface have the last word: where in doubt, wait."


def check_on_site(case: Case, held: Iterable[Task]) -> tuple[str, ...]:
    """What to look at before the task starts.

    Args:
        case: the question.
        held: the hold points that must be behind it.
    """
    found = (*_stages(case), *_passed(held), *_air_of_waits(case), *_own_air(case), _LAST_WORD)
    return tuple(dict.fromkeys(found))


def _stages(case: Case) -> Iterator[str]:
    """Each stage waited for, and how it looks and feels when it is reached."""
    for task, product, stage in _waited_for(case):
        look = dict(product.checks).get(stage, f"see that it is {READY[stage]} all over.")
        yield f"{in_quotes(task)}: {look}"


def _waited_for(case: Case) -> Iterator[tuple[Task, Product, str]]:
    for link in case.task.after:
        task = case.job.task[link.task]
        product = case.job.product_of(task)
        if product is not None and link.stage is not None:
            yield task, product, link.stage


def _passed(held: Iterable[Task]) -> Iterator[str]:
    if names := listed(map(in_quotes, held)):
        yield f"Must have been passed: {names}. If not, do not start."


def holds(case: Case, at: int) -> tuple[Task, ...]:
    """The hold points upstream that the plan has done by a minute, as they come in the file."""
    return tuple(task for task in hold_points(case) if case.plan.task[task.id].finish <= at)


def hold_points(case: Case) -> tuple[Task, ...]:
    """The hold points upstream, as they come in the file."""
    behind = upstream(case.job, case.task)
    return tuple(task for task in case.job.tasks if task.hold and task.id in behind)


def skipped(case: Case) -> Iterator[tuple[Task, Task]]:
    """What should have been done by the log, and was not: with it what followed it all the same."""
    ahead = upstream(case.job, case.task)
    for later in (task for task in case.job.tasks if task.id in ahead):
        for link in later.after if case.job.actual(later.id).finished is not None else ():
            known = case.job.actual(link.task)
            behind = known.finished if link.of == "finish" else known.started
            if behind is None and link.wait >= 0:
                yield case.job.task[link.task], later


def upstream(job: Job, task: Task) -> set[str]:
    """Every task that this one waits for, and what those wait for."""
    found: set[str] = set()
    ahead = [link.task for link in task.after]
    while ahead:
        if (before := ahead.pop()) not in found:
            found.add(before)
            ahead += [link.task for link in job.task[before].after]
    return found


def _air_of_waits(case: Case) -> Iterator[str]:
    for task, _, _ in _waited_for(case):
        since = case.plan.task[task.id].finish
        air = air_words(case.job, case.job.air_of(task.room), since, case.at)
        forecast = f"the wait is worked out for {air}. Colder or damper means later."
        yield f"Measure the air {_in(task)}: {forecast}"


def _in(task: Task) -> str:
    return f"in the {task.room}" if task.room else f"where {in_quotes(task)} was done"


def _own_air(case: Case) -> Iterator[str]:
    product = case.job.product_of(case.task)
    if product is not None and (limits := limits_words(product, case.job)):
        yield f"Air and surface fit to apply {product.id}: {limits}."
