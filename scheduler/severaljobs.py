"""``thenwait plan`` of several jobs: read, planned together, checked and told."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.console import put, talk, text_width
from scheduler.errands import STDIN, ForecastFile, in_json, job_now
from scheduler.errors import BadFile, BadInput, Problem, ThenwaitError
from scheduler.model import Prefer
from scheduler.wording import counted

if TYPE_CHECKING:
    from scheduler.model import Job
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
    made = plan_together(_jobs_now(said.paths, said.now))
    notes = [checked_together(made)] if said.check else []
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
    one = {"--keep": said.keep, "--time": said.time, "--forecast": said.sky.path, "--ics": said.ics}
    one["--prefer"] = None if said.prefer == "finish" else said.prefer
    for option, value in one.items():
        if value is not None:
            raise BadInput(f"{option} goes with one job; plan that one by itself")


def _jobs_now(paths: Sequence[str], now: str | None) -> "list[Job]":
    """The jobs as they stand; every problem of every file at once."""
    jobs, problems = [], list[Problem]()
    for path in paths:
        try:
            jobs.append(job_now(path, now)[0])
        except BadFile as bad:
            problems += bad.problems
    if problems:
        raise BadFile(problems)
    return jobs


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
