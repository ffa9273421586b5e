"""What a command does, a step each: reads a job, tells the time, writes a calendar or a table."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.clock import instant
from scheduler.console import (
    put,
    read_file,
    read_log_file,
    read_stdin,
    talk,
    tell,
    write_file,
)
from scheduler.errors import BadInput, ThenwaitError, did_you_mean
from scheduler.wording import counted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scheduler.forecast import Forecast
    from scheduler.jobfile import CrewFile
    from scheduler.model import Job, Log, Plan, Prefer

STDIN = "-"
"""Instead of a file's name: the pipe."""


@dataclass(frozen=True)
class ForecastFile:
    """What was said of a forecast on the command line.

    Args:
        path: of its file, perhaps behind ``ROOM=``; None for no forecast.
        outdoor: whether a table is of the air outdoors.
        day_first: ``yes`` where 3/2 is the 3rd of February, ``no`` where it is March 2nd.
    """

    path: str | None
    outdoor: bool = False
    day_first: str | None = None

    @property
    def day_is_first(self) -> bool | None:
        """The same, or None where nobody says."""
        return None if self.day_first is None else self.day_first == "yes"

    def room_and_path(self) -> tuple[str | None, str | None]:
        """Of which room it is, if that is said, and its file."""
        if self.path is None:
            if self.outdoor or self.day_first:
                raise BadInput("--outdoor and --day-first go with --forecast FILE")
            return None, None
        room, equals, path = self.path.partition("=")
        return (None, self.path) if not equals or Path(self.path).exists() else (room, path)


def read_job(path: str) -> "Job":
    """The job of a file, or of the pipe."""
    from scheduler.jobfile import parse

    if path == STDIN:
        return parse(read_stdin(), "standard input")
    return parse(read_file(Path(path)), path, partial(crew_file, Path(path).parent))


def crew_file(folder: Path, name: str) -> "CrewFile":
    """The crew file of a name that stands in a job file of a folder."""
    from scheduler.jobfile import CrewFile

    path = folder / name
    return CrewFile(read_file(path), str(path), str(path.resolve()))


def job_now(path: str, now: str | None, sky: ForecastFile | None = None) -> "tuple[Job, int]":
    """The job as it stands by its file, its log and a forecast, and the present moment [UTC min].

    Args:
        path: of the job file, or ``STDIN``; its log is the file beside it.
        now: what to take for the present moment, if not the clock.
        sky: a forecast of the air.
    """
    job = read_job(path)
    return standing(job, path, now, None if sky is None else forecast_now(sky, job))


def standing(
    job: "Job",
    path: str,
    now: str | None,
    forecast: "Forecast | None" = None,
    told: "Callable[[str], None]" = tell,
) -> "tuple[Job, int]":
    """A job of a file as it stands, and the present moment; as ``job_now``, once it is read.

    ``told`` takes what there is to tell of its log and its air.
    """
    moment = present(now, job.timezone)
    job = replace(job, asked=moment)
    beside = None if path == STDIN else log_beside(path)
    logged = beside is not None and beside.exists()
    if forecast is None and not logged:
        return job, moment
    from scheduler.history import in_its_air, with_past
    from scheduler.model import Log

    log = log_now(beside, job) if beside is not None and logged else Log()
    stands, notes = in_its_air(with_past(job, log, moment), log, moment, forecast)
    for note in (*_ahead(stands, moment), *notes):
        told(note)
    return stands, moment


def _ahead(job: "Job", now: int) -> tuple[str, ...]:
    """What to tell where a log knows more than the clock: one of them may be wrong."""
    from scheduler.log.words import on_site

    if job.past is None or job.past.now <= now:
        return ()
    last, present_moment = (on_site(each, job.timezone) for each in (job.past.now, now))
    return (f"the log goes on until {last}, and now is {present_moment}: taken from the log",)


def log_now(path: Path, job: "Job") -> "Log":
    """The log of a job; lines that were cut off are told."""
    from scheduler.log.checks import sound
    from scheduler.log.reading import cut_off_in_words, read_log

    file = read_log(read_log_file(path), str(path))
    for remark in cut_off_in_words(file):
        tell(remark)
    return sound(file, job)


def forecast_now(sky: ForecastFile, job: "Job") -> "Forecast | None":
    """The forecast of a file; all that was supposed of it is told."""
    room, path = sky.room_and_path()
    if path is None:
        return None
    if room is not None and room not in job.rooms:
        raise BadInput(f"--forecast: no room '{room}'{did_you_mean(room, job.rooms)}")
    found = read_forecast(sky, path, room, job)
    for note in found.notes:
        tell(f"{path}: {note}")
    return found


def read_forecast(sky: ForecastFile, path: str, room: str | None, job: "Job") -> "Forecast":
    """What the file of a forecast says to a job, of a room of it or of its air."""
    from scheduler import forecast

    found = forecast.read(
        read_file(Path(path)), path, job.timezone, job.start, sky.outdoor, sky.day_is_first
    )
    if found.outdoor and room is not None:
        raise BadInput(f"{path} is of the air outdoors, so of no room: leave out '{room}='")
    return replace(found, room=room)


def log_beside(path: str) -> Path:
    """The log of a job file: beside it, of the same name."""
    if path == STDIN:
        raise BadInput("a job from a pipe has no log; give the name of its file")
    log = Path(path).with_suffix(".log")
    if log == Path(path):
        raise BadInput(f"{path}: a job file needs another ending, such as .yaml; .log is its log's")
    return log


def check_free(path: str, force: bool) -> None:
    """Refuse to write over a file: it is its owner's, and may have been edited for weeks.

    A log that lies there would be taken for the new job's: what was done in another house.
    """
    if path == STDIN:
        return
    if (log := log_beside(path)).exists():
        raise ThenwaitError(
            f"{log}: this log of another job is there already; give another name, or move it away"
        )
    if Path(path).exists() and not (force and Path(path).is_file()):
        raise ThenwaitError(
            f"{path}: this file is there already; give another name"
            + ("" if force else ", or --force to write over it")
        )


def put_job(path: str, text: str) -> None:
    """Write a new job file, once it has been read back."""
    from scheduler.jobfile import parse

    tasks = counted(len(parse(text.encode(), path).tasks), "task")
    if path == STDIN:
        put(text)
        return
    write_file(Path(path), text.encode())
    talk(f"wrote {path}: {tasks}; edit it as you like, then: thenwait plan {path}")


def in_json(data: object) -> str:
    """ASCII, so that a pipe of any encoding carries it unchanged."""
    return json.dumps(data, indent=2) + "\n"


def checked(job: "Job", made: "Plan") -> str:
    """What the verifier says of a plan, which is of no use to anybody if it breaks a rule."""
    from scheduler.verify import check

    if breaches := check(job, made):
        listed = "".join(f"\n  - {breach}" for breach in breaches)
        raise ThenwaitError(
            f"the plan breaks {counted(len(breaches), 'rule')}, which is a mistake in thenwait:"
            f"{listed}\nplease report it, with the job file"
        )
    return "checked against every rule: nothing broken"


def check_task(job: "Job", task: str) -> None:
    """Refuse a task that the job does not have, with the nearest that it has."""
    if task not in job.task:
        near = did_you_mean(task, job.task) or f"; the tasks are {', '.join(job.task)}"
        raise BadInput(f"no task '{task}'{near}")


def update_calendar(path: Path, job: "Job", made: "Plan", now: int) -> str:
    """Write the plan as a calendar file; the answer is what to tell of it."""
    from scheduler.ics import calendar

    if str(path) == STDIN:
        raise BadInput("--ics needs the name of a file, such as --ics plan.ics")
    return write_calendar(path, partial(calendar, job, made, now))


def write_calendar(path: Path, make: "Callable[[bytes | None], bytes]") -> str:
    """Write a calendar file, made from the one that is there; the answer is what to tell of it."""
    if path.exists() and not path.is_file():
        raise ThenwaitError(f"{path}: this is no file, so no calendar can take its place")
    previous = read_file(path) if path.exists() else None
    content = make(previous)
    events = counted(content.count(b"BEGIN:VEVENT"), "event")
    if content == previous:
        return f"{path} holds this plan already ({events})"
    write_file(path, content)
    return f"wrote {path}: {events}, for a calendar of their own"


def write_table(path: Path, content: bytes) -> str:
    """Write a table; the answer is what to tell of it."""
    if str(path) == STDIN:
        raise BadInput("--csv needs the name of a file, such as --csv shopping.csv")
    if path.exists() and not path.is_file():
        raise ThenwaitError(f"{path}: this is no file, so no table can take its place")
    write_file(path, content)
    return f"wrote {path}"


def preferring(jobs: "Sequence[Job]", prefer: "Prefer | None") -> "tuple[Job, ...]":
    """The jobs, their plans to be best at that; where nobody says, as their files have it.

    Of several jobs those that close nothing can have few days without it anyhow.
    """
    from scheduler.jobfile.closing import NOTHING_CLOSED

    if prefer is None:
        return tuple(jobs)
    if prefer == "fewest-days-without" and not any(job.closes for job in jobs):
        raise BadInput(f"--prefer {prefer}: {NOTHING_CLOSED}")
    return tuple(
        replace(job, prefer=prefer if job.closes or prefer != "fewest-days-without" else "finish")
        for job in jobs
    )


def search_time(text: str | None) -> float | None:
    """How long ``--time`` says to search [s]; None where nobody says."""
    from scheduler.quantities import seconds
    from scheduler.yamlform.tree import quoted

    try:
        most = None if text is None else seconds(text)
    except ValueError:
        most = 0
    if most == 0:
        raise BadInput(f"--time must be a time such as 30 s or 2 min (found {quoted(text or '')})")
    return most


def present(text: str | None, zone: str) -> int:
    """The present moment [UTC minute]: what the user says it is, or what the clock says."""
    clock = instant(datetime.now(UTC))
    return clock if text is None else moment_of("--now", text, clock, zone)


def clock_seconds() -> int:
    """The present moment by the clock [s since 1970-01-01T00:00Z]."""
    return int(datetime.now(UTC).timestamp())


def moment_of(option: str, text: str, now: int, zone: str, *, past: bool = False) -> int:
    """The moment [UTC minute] that an option names; of what has been, the last such moment."""
    from scheduler.when import when
    from scheduler.yamlform.tree import quoted

    try:
        return when(text, now, zone, past=past)
    except ValueError as error:
        raise BadInput(f"{option} must be {error} (found {quoted(text)})") from None


def share_of(option: str, text: str) -> float:
    """The share [0..1] that an option names, over a half."""
    from scheduler.datafile import share
    from scheduler.yamlform.tree import quoted

    try:
        size = share(text)
    except ValueError:
        size = 0.0
    if not 0.5 <= size < 1:
        words = "a share from 50 % to 99.9 %, such as 95 %"
        raise BadInput(f"{option} must be {words} (found {quoted(text)})")
    return size
