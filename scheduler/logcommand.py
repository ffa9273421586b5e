"""``thenwait log``: what really happened, written down and shown."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.console import append, put, read_file, read_log_file, tell, text_width
from scheduler.errands import clock_seconds, log_beside, moment_of, present, read_job
from scheduler.errors import BadInput, did_you_mean
from scheduler.options import DayFirst, Now, Width

if TYPE_CHECKING:
    from scheduler.log.entry import Asked
    from scheduler.model import Job

_OPTIONS = ("--at", "--until", "--room", "--note", "--file", "--day-first", "--now", "--width")


def log(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job file (YAML).")],
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="WHAT",
            help="A task and started, done, passed, failed or undone; a product and delivered; "
            "or air and what the instrument shows, such as: air 68 F 55 %.",
        ),
    ] = None,
    at: Annotated[str | None, typer.Option(metavar="TIME", help="When it was, if not now.")] = None,
    note: Annotated[str, typer.Option(metavar="TEXT", help="A remark to keep with it.")] = "",
    room: Annotated[
        str | None, typer.Option(metavar="ROOM", help="The room in which the air was read.")
    ] = None,
    until: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="With air undone: the last reading to take back."),
    ] = None,
    file: Annotated[
        Path | None, typer.Option(metavar="FILE", help="With air: the file of a logger.")
    ] = None,
    day_first: DayFirst = None,
    now: Now = None,
    width: Width = None,
) -> None:
    """Write down what really happened on a job, in the file beside it, or show what is there.

    Nothing is ever changed in that file. What was wrong is undone by a line of its own.
    """
    read = read_job(job)
    moment = present(now, read.timezone)
    if not words:
        _show(job, read, moment, text_width(width))
        return
    _refuse_options(words)
    asked = _asked(read, words, moment, {"--at": at, "--until": until}, room, note)
    written = clock_seconds() if now is None else moment * 60
    if file is not None:
        _add_file(job, read, asked, file, day_first, written)
    else:
        _add(job, read, asked, written)


def _asked(
    job: "Job",
    words: list[str],
    now: int,
    times: dict[str, str | None],
    room: str | None,
    note: str,
) -> "Asked":
    """What is to be logged, with the moments that are meant."""
    from scheduler.log.entry import Asked

    at, until = (
        None if text is None else moment_of(option, text, now, job.timezone, past=True)
        for option, text in times.items()
    )
    return Asked(tuple(words), now, at, until, room, note)


def _refuse_options(words: list[str]) -> None:
    """What looks like an option and isn't one; a temperature may begin with a minus."""
    for word in words:
        if word.startswith("-") and not word[1:2].isdigit():
            raise BadInput(f"no such option: {word}{did_you_mean(word, _OPTIONS)}")


def _add(path: str, job: "Job", asked: "Asked", written: int) -> None:
    from scheduler.log.adding import added

    log = log_beside(path)
    for sentence in append(log, lambda content: added(content, str(log), job, asked, written)):
        tell(sentence)


def _add_file(
    path: str, job: "Job", asked: "Asked", file: Path, day_first: str | None, written: int
) -> None:
    """The readings of a logger's file, one for each quarter of an hour, written all at once."""
    from scheduler import loggerfile
    from scheduler.log.adding import added_readings
    from scheduler.log.loggers import logged_air

    log = log_beside(path)
    first = None if day_first is None else day_first == "yes"
    found = loggerfile.read(read_file(file), str(file), job.timezone, first)
    readings, left_out = logged_air(found.rows, job, asked)
    for note in (*found.notes, *left_out):
        tell(f"{file}: {note}")
    told = append(log, lambda content: added_readings(content, str(log), job, readings, written))
    for sentence in told:
        tell(sentence)


def _show(path: str, job: "Job", now: int, width: int) -> None:
    """The log on standard output; what can't be read in it is an error as in any file."""
    from scheduler.log.checks import sound
    from scheduler.log.reading import read_log
    from scheduler.log.text import log_text

    log = log_beside(path)
    file = read_log(read_log_file(log) if log.exists() else b"", str(log))
    put(log_text(job, file, now, width))
    sound(file, job)
