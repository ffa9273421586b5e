"""What did not go as planned, in words, each with what to do about it."""

from collections.abc import Collection, Iterator

from scheduler.model import Job, Link, Person, Task
from scheduler.network import Network
from scheduler.quantities import show_duration
from scheduler.steps import STILL_TO_GO, Begun
from scheduler.windows import Window, anew
from scheduler.wording import GLUE, dated, in_quotes, listed


def setbacks(network: Network, missed: Collection[Window]) -> Iterator[str]:
    """A sentence for each thing that went wrong and is not mended yet.

    Args:
        network: the job as it stands, compiled.
        missed: the windows that had to be lifted for it.
    """
    job = network.job
    for window in sorted(missed, key=lambda w: (w.closes, w.task, w.n)):
        yield _called_out(job, window)
    for step in network.steps:
        yield from _came_late(job, step.task)
        yield from _failed(job, step.task)
        if isinstance(step, Begun):
            yield from _overdue(step)
            yield from _missed_date(job, step)
    for person in job.people.values():
        yield from _at_once(network, person)


def _called_out(job: Job, window: Window) -> str:
    """A window that cannot be kept, and what the product's class says to do."""
    before, after = job.task[window.link.task], job.task[window.task]
    within = show_duration(window.link.within or 0)
    closed = "closed" if window.closes < job.now else "closes"
    to_do = _to_do(job, window.link)
    return (
        f"too late for {in_quotes(after)}: its window, within {within} of {in_quotes(before)},"
        f" {closed} {_at(window.closes, job)} and cannot be kept{to_do}"
        f"{f' {anew(before.id)}' if to_do else ''}"
    )


def _came_late(job: Job, task: Task) -> Iterator[str]:
    """Windows that a task missed when it was done, as long as something that follows is open."""
    if not _uncovered(job, task):
        return
    for link in task.after:
        if (late := _late(job, task, link)) > 0:
            yield (
                f"{in_quotes(task)} came {show_duration(late)} after its window had closed, within"
                f" {show_duration(link.within or 0)} of {in_quotes(job.task[link.task])}"
                f"{_to_do(job, link)}"
            )


def _late(job: Job, task: Task, link: Link) -> int:
    """How long after its window a task came that has begun [min]."""
    before, after = job.actual(link.task), job.actual(task.id)
    since = before.started if link.of == "start" else before.finished
    until = after.started if link.to == "start" else after.finished
    if link.within is None or since is None or until is None:
        return 0
    return until - since - link.within


def _uncovered(job: Job, task: Task) -> bool:
    followers = (t for t in job.tasks if any(link.task == task.id for link in t.after))
    return any(job.actual(follower.id).state == "open" for follower in followers)


def _to_do(job: Job, link: Link) -> str:
    product = job.product_of(job.task[link.task])
    says = product.on_missed_window if product and link.stage else ""
    return f". {says}" if says else ""


def _failed(job: Job, task: Task) -> Iterator[str]:
    failed = job.actual(task.id).failed
    if failed is not None:
        yield (
            f"{in_quotes(task)} failed {_at(failed, job)} and is planned again: find what is wrong,"
            " mend it, test again; log 'undone' for every task that is done anew"
        )


def _overdue(step: Begun) -> Iterator[str]:
    """A running task whose time is up."""
    if step.overdue:
        yield (
            f"{in_quotes(step.task)} has had its time, {show_duration(step.task.work)}, and nobody"
            f" logged that it is done: {show_duration(STILL_TO_GO)} are supposed to be left"
        )


def _at_once(network: Network, person: Person) -> Iterator[str]:
    """Somebody who by the log is at more tasks at once than can be."""
    running = [
        step
        for step in network.steps
        if isinstance(step, Begun) and step.state == "running"
        if step.task.work and person.id in step.task.who
    ]
    if sum(step.task.hands[person.id] for step in running) > person.count and running[1:]:
        each = [
            f"{in_quotes(s.task)} since {_at(s.begun, network.job, ends=False)}" for s in running
        ]
        yield (
            f"{person.id} is at {listed(each)}, all at once: log the one that is done as 'done',"
            " and 'undone' for one that was stopped or never begun"
        )


def _missed_date(job: Job, step: Begun) -> Iterator[str]:
    """A task begun that the date it must be finished by binds no more."""
    by = step.task.must_finish_by
    if by is not None and step.end > by:
        yield (
            f"{in_quotes(step.task)} had to be finished by {_at(by, job)}, and is"
            f" {show_duration(step.end - by)} late"
        )


def _at(minute: int, job: Job, *, ends: bool = True) -> str:
    return dated(minute, job.timezone, ends=ends).replace(GLUE, " ")
