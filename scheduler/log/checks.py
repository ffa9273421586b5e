"""What a log says that its job doesn't know, or that can't both be true."""

from collections.abc import Iterator

from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.log.entry import too_early
from scheduler.log.folding import Standing, folded
from scheduler.log.lines import Line
from scheduler.log.reading import LogFile
from scheduler.log.words import on_site
from scheduler.model import Event, Job, Log, Reading


def sound(file: LogFile, job: Job) -> Log:
    """The log that a file holds.

    Raises:
        BadFile: something in it can't be read, or can't be; what it would have forbidden nobody
            knows, so nothing may be planned from it.
    """
    standing = folded(file.lines)
    if wrong := (*file.problems, *problems(standing, job, file.name)):
        raise BadFile(wrong)
    return standing.log


def problems(standing: Standing, job: Job, name: str) -> tuple[Problem, ...]:
    """Everything in a log that could lead to a wrong answer, in the order of the file.

    Args:
        standing: how the log stands.
        job: of which it is the log.
        name: what the log's file is called in messages.
    """
    early = (line for line in standing.events if too_early(line.at, job))
    found = [
        *(
            (line, f"{on_site(line.at, job.timezone)} is long before the job's start")
            for line in early
        ),
        *((line, _unknown(line, job)) for line in (*standing.events, *standing.readings)),
        *((line, message) for task in job.task for line, message in _late(standing, job, task)),
    ]
    return tuple(sorted(Problem(name, x.row, x.column, words) for x, words in found if words))


def _unknown(line: Line, job: Job) -> str:
    """What is wrong with the name that a line gives; empty if nothing is."""
    match line.said:
        case Event(kind="delivered", of=of) if of not in {*job.products, *job.goods}:
            near = did_you_mean(of, (*job.products, *job.goods))
            return f"the job has no product or goods '{of}'{near or _back(of, 'undelivered')}"
        case Event(kind=kind, of=of) if kind != "delivered" and of not in job.task:
            return f"the job has no task '{of}'{did_you_mean(of, job.task) or _back(of, 'undone')}"
        case Reading(room=str(room)) if room not in job.rooms:
            return f"the job has no room '{room}'{did_you_mean(room, job.rooms)}"
    return ""


def _back(of: str, verb: str) -> str:
    return f"; if it is gone for good, take this back: thenwait log JOB {of} {verb}"


def _late(standing: Standing, job: Job, task: str) -> Iterator[tuple[Line, str]]:
    """A task that was started after it was done: one of the two lines must be wrong."""
    said = standing.attempt(task)
    done = said.get("done") or said.get("passed")
    started = said.get("started")
    if done and started and started.at > done.at:
        yield max(started, done), _contradiction(task, started.at, done.at, job.timezone)


def _contradiction(task: str, started: int, done: int, zone: str) -> str:
    return (
        f"'{task}' can't have been started {on_site(started, zone)}, after it was done "
        f"{on_site(done, zone)}: take both back with 'thenwait log JOB {task} undone' and log what "
        "is right"
    )
