"""``thenwait plan`` of several jobs: read, planned together, checked and told."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.console import put, talk, text_width
from scheduler.errands import STDIN, ForecastFile, in_json, job_now, read_job, write_calendar
from scheduler.errors import BadFile, BadInput, Problem, ThenwaitError
from scheduler.model import Prefer
from scheduler.wording import counted, tidy

if TYPE_CHECKING:
    from scheduler.portfolio import Together


@dataclass(frozen=True)
class SeveralJobs:
    """What was said on the command line, of several jobs."""

    paths: Sequence[str]
    as_json: bool
    ics: Path | None
    keep: Path | None
    time: str | None
    prefer: Prefer
    check: bool
    sky: ForecastFile
    now: str | None
    width: int | None


def plan_several(said: SeveralJobs) -> None:
    """Plan several jobs together and print it."""
    from scheduler.portfolio import plan_together
    from scheduler.portfolio.asjson import together_json
    from scheduler.portfolio.text import together_text

    _check_options(said)
    read = [job_now(path, said.now) for path in _sound(said.paths)]
    made = plan_together([job for job, _ in read])
    notes = [checked_together(made)] if said.check else []
    notes += _calendars(said.ics, made, max(now for _, now in read)) if said.ics else []
    if said.as_json:
        put(in_json(together_json(made)))
    else:
        put(together_text(made, text_width(said.width)))
    for note in notes:
        talk(note)


def _check_options(said: SeveralJobs) -> None:
    """Refuse what only one job has: a pipe, a forecast of its air, an earlier plan of it."""
    if STDIN in said.paths:
        raise BadInput("several jobs are read from files, each beside its log, and not from a pipe")
    one = {"--keep": said.keep, "--time": said.time, "--forecast": said.sky.path}
    one["--prefer"] = None if said.prefer == "finish" else said.prefer
    for option, value in one.items():
        if value is not None:
            raise BadInput(f"{option} goes with one job; plan that one by itself")


def _sound(paths: Sequence[str]) -> Sequence[str]:
    """The files, once every problem of every one of them is told."""
    problems = list[Problem]()
    for path in paths:
        try:
            read_job(path)
        except BadFile as bad:
            problems += bad.problems
    if problems:
        raise BadFile(problems)
    return paths


def _calendars(folder: Path, made: "Together", now: int) -> Iterator[str]:
    """A calendar of each job and of each person, in a folder; the answers tell of each."""
    from scheduler.ics import calendar, person_calendar
    from scheduler.portfolio.days import by_person

    if folder.exists() and not folder.is_dir():
        raise BadInput(f"--ics {folder}: of several jobs it needs the name of a folder")
    folder.mkdir(parents=True, exist_ok=True)
    for job, plan in made.planned:
        path = folder / f"job {_file_name(job.name)}.ics"
        yield write_calendar(path, partial(calendar, job, plan, now))
    for name, (who, theirs) in by_person(made.planned).items():
        path = folder / f"person {_file_name(name)}.ics"
        yield write_calendar(path, partial(person_calendar, who, theirs, now))


def _file_name(name: str) -> str:
    """A name fit for a file on any system."""
    return re.sub(r"[^\w. -]+", "-", tidy(name)).strip(" .") or "unnamed"


def checked_together(made: "Together") -> str:
    """What the verifier says of plans, each by itself and all with each other."""
    from scheduler.verify import check, check_together

    planned = made.planned
    breaches = [f"{job.name}: {b}" for job, plan in planned for b in check(job, plan)]
    breaches += map(str, check_together(planned))
    if breaches:
        listed = "".join(f"\n  - {breach}" for breach in breaches)
        raise ThenwaitError(
            f"the plans break {counted(len(breaches), 'rule')}, which is a mistake in thenwait:"
            f"{listed}\nplease report it, with the job files"
        )
    return f"{counted(len(planned), 'plan')} checked, and with each other: nothing broken"
