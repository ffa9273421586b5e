"""What a line that was just logged means for the job, in a few sentences."""

from collections.abc import Iterator, Mapping

from scheduler.clock import DAY
from scheduler.history import in_its_air, with_past
from scheduler.hours import NEVER
from scheduler.log.folding import Standing
from scheduler.log.lines import Line, Undone, Unread
from scheduler.log.words import named, place, state
from scheduler.model import Actual, Air, Event, Job, Link, Reading, Task
from scheduler.progress import ready
from scheduler.quantities import show_humidity, show_temperature
from scheduler.wording import READY, counted, dated

_FARTHEST = 60 * DAY  # how far a wait is followed


def meaning(job: Job, standing: Standing, line: Line, now: int) -> tuple[str, ...]:
    """What a line says and what follows from it, a sentence or two each.

    Args:
        job: as its file has it.
        standing: how the log stands with that line.
        line: the newest one.
        now: the present moment [UTC min].
    """
    match line.said:
        case Reading():
            return (_reading(job, line.said),)
        case Unread():
            gone = counted(sum(by == line for _, by in standing.undone), "reading")
            return (f"Air of {place(line.said.room)}: {gone} taken back",)
        case Undone(of=of, delivery=True) | Event(kind="delivered", of=of):
            there = isinstance(line.said, Event)
            at = dated(line.at, job.timezone)
            said = f"'{of}' is there since {at}" if there else f"'{of}' is not there after all"
            return (said, *_brought(job, standing, of))
        case Undone(of=of) | Event(of=of):
            return tuple(_of_task(job, standing, line, of, now))


def _reading(job: Job, read: Reading) -> str:
    supposed = job.air_of(read.room)
    return (
        f"Air of {place(read.room)}: {state(job, read)}, {dated(read.at, job.timezone)}; supposed "
        f"on average: {_average(job, supposed)}"
    )


def _average(job: Job, air: Air) -> str:
    return f"{show_temperature(air.temperature, job.units)} and {show_humidity(air.humidity)}"


def _brought(job: Job, standing: Standing, of: str) -> Iterator[str]:
    """The tasks that deliver something and are done by that."""
    past = with_past(job, standing.log, job.start).past
    for task in job.tasks:
        if past and of in task.delivers and task.id in past.actual:
            finished = past.actual[task.id].finished
            if finished is not None:
                yield f"So {named(job, task.id)} is done since {dated(finished, job.timezone)}"


def _of_task(job: Job, standing: Standing, line: Line, of: str, now: int) -> Iterator[str]:
    stands = with_past(job, standing.log, now)
    past = stands.past
    if past is None or of not in past.actual or of not in job.task:
        yield f"{named(job, of)}: all that was logged of it is taken back"
        return
    known, task = past.actual[of], job.task[of]
    yield _stands(job, task, known)
    if isinstance(line.said, Event) and line.said.kind != "failed":
        begun = standing.attempt(of).get("started", line).at
        yield from _out_of_order(job, task, past.actual, begun)
    if known.finished is not None:
        in_air, _ = in_its_air(stands, standing.log, now)
        yield from _waits(in_air, task, known.finished)


def _stands(job: Job, task: Task, known: Actual) -> str:
    name, zone = named(job, task.id), job.timezone
    if known.failed is not None:
        return (
            f"{name} failed {dated(known.failed, zone)}: mend what is wrong and repeat it; what "
            "follows is not ready until it is logged as passed"
        )
    if known.finished is None:
        return f"{name} is under way since {dated(known.started or 0, zone)}"
    if known.passed is not None:
        return f"{name} passed {dated(known.passed, zone)}"
    done = f"{name} is done since {dated(known.finished, zone)}"
    return f"{done}; what follows is not ready until it is logged as passed" if task.hold else done


def _waits(job: Job, task: Task, finished: int) -> Iterator[str]:
    """When the stages are reached that others wait for, and until when these may start."""
    links = ((later, link) for later in job.tasks for link in later.after if link.task == task.id)
    told = [
        _wait(job, task, link, later, finished)
        for later, link in links
        if link.of == "finish" and (link.stage or link.within is not None)
    ]
    yield from dict.fromkeys(told)


def _wait(job: Job, task: Task, link: Link, later: Task, finished: int) -> str:
    zone = job.timezone
    by = (
        f"{named(job, later.id)} must {link.to} by {dated(finished + link.within, zone)}"
        if link.within is not None
        else ""
    )
    if link.stage is None:
        return by
    reached = f"It is {READY[link.stage]} not before {_reached(job, task, link.stage, finished)}"
    return f"{reached}; {by}" if by else reached


def _reached(job: Job, task: Task, stage: str, finished: int) -> str:
    if (product := job.product_of(task)) is None:
        return "it is applied"
    air, zone = job.air_of(task.room), job.timezone
    wait = ready(product.stage(stage), air, zone, finished - DAY, finished + _FARTHEST)
    minute = wait.after(finished)
    return "its air gets warmer or drier" if minute >= NEVER else dated(minute, zone)


def _out_of_order(job: Job, task: Task, actual: Mapping[str, Actual], begun: int) -> Iterator[str]:
    """What should have come before and hadn't; facts are facts, but it may be a slip."""
    for link in task.after:
        if (link.of, link.to) == ("finish", "start") and link.wait >= 0:
            known, hold = actual.get(link.task, Actual()), job.task[link.task].hold
            over = known.passed if hold else known.finished
            name = named(job, link.task)
            if over is None:
                word = "passed" if hold else "done"
                yield f"Mind: {name} comes before it and is not logged as {word}"
            elif over > begun:
                yield f"Mind: {name} comes before it and was over {dated(over, job.timezone)} only"
