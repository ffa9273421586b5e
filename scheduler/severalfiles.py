"""Several job files read, each with its log and a forecast of the air: the jobs as they stand."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from scheduler.console import tell
from scheduler.errands import STDIN, ForecastFile, read_forecast, read_job, standing
from scheduler.errors import BadFile, BadInput, Problem, did_you_mean
from scheduler.wording import listed, tidy

if TYPE_CHECKING:
    from scheduler.forecast import Forecast
    from scheduler.model import Job


def jobs_now(
    paths: Sequence[str], now: str | None, sky: ForecastFile
) -> "tuple[tuple[Job, ...], int]":
    """The jobs of files as they stand at one moment, and that moment [UTC min].

    Args:
        paths: of the job files; the log of each is the file beside it.
        now: what to take for the present moment, if not the clock.
        sky: a forecast of the air.
    """
    from scheduler.portfolio import at_one_time

    jobs = _sound(paths)
    skies = _skies(sky, jobs)
    read = [
        standing(job, path, now, forecast, partial(_tell_of, job))
        for job, path, forecast in zip(jobs, paths, skies, strict=True)
    ]
    stands = at_one_time([job for job, _ in read])
    for (job, _), each in zip(read, stands, strict=True):
        if each is not job:
            _tell_of(job, "nothing is logged, so it is planned from now on with nothing done")
    return stands, max(moment for _, moment in read)


def _sound(paths: Sequence[str]) -> "list[Job]":
    """The jobs of files, once every problem of every one of them is told."""
    if STDIN in paths:
        raise BadInput("several jobs are read from files, each beside its log, and not from a pipe")
    jobs, problems = list["Job"](), list[Problem]()
    for path in paths:
        try:
            jobs.append(read_job(path))
        except BadFile as bad:
            problems += bad.problems
    if problems:
        raise BadFile(problems)
    return jobs


def _tell_of(job: "Job", note: str) -> None:
    tell(f"{tidy(job.name)}: {note}")


def _skies(sky: ForecastFile, jobs: "Sequence[Job]") -> "list[Forecast | None]":
    """What a forecast says to each job: of the air outdoors to all, of a room to the one it is in.

    All that was supposed of it is told once.
    """
    room, path = sky.room_and_path()
    if path is None:
        return [None] * len(jobs)
    theirs = jobs if room is None else [_with_room(room, jobs)]
    found = {job.name: read_forecast(sky, path, room, job) for job in theirs}
    if room is None and not all(forecast.outdoor for forecast in found.values()):
        raise BadInput(
            f"--forecast: {path} is of the air indoors, and these jobs are several houses: say"
            f" which room it is of, as ROOM={path}, or that it is outdoors with --outdoor"
        )
    for note in dict.fromkeys(note for forecast in found.values() for note in forecast.notes):
        tell(f"{path}: {note}")
    return [found.get(job.name) for job in jobs]


def _with_room(room: str, jobs: "Sequence[Job]") -> "Job":
    """The one job that has a room."""
    having = [job for job in jobs if room in job.rooms]
    if len(having) == 1:
        return having[0]
    if having:
        names = listed(f"'{tidy(job.name)}'" for job in having)
        raise BadInput(f"--forecast: {names} have a room '{room}' each; give one another id")
    near = did_you_mean(room, [known for job in jobs for known in job.rooms])
    raise BadInput(f"--forecast: none of the jobs has a room '{room}'{near}")
