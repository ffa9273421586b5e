"""``thenwait plan``: what to do on which day, and why then."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.amongjobs import tell_unseen
from scheduler.console import put, read_file, talk, text_width
from scheduler.errands import (
    ForecastFile,
    checked,
    in_json,
    job_now,
    preferring,
    search_time,
    update_calendar,
)
from scheduler.model import Prefer
from scheduler.options import AsJson, DayFirst, ForecastPath, JobFiles, Now, Outdoor, Width
from scheduler.severaljobs import SeveralJobs, plan_several
from scheduler.stopped import no_plan_in_json
from scheduler.vigil import Vigil

if TYPE_CHECKING:
    from scheduler.earlierplan import EarlierPlan
    from scheduler.model import Job, Plan
    from scheduler.news import Headline


@no_plan_in_json
def plan(
    jobs: JobFiles,
    as_json: AsJson = False,
    ics: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the plan as a calendar, too, or bring one up to "
                     "date that was written before; of several jobs a folder of them."),
    ] = None,
    keep: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Keep to an earlier plan, written with --json: nothing "
                     "moves without a gain."),
    ] = None,
    time: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="Search on, for 30 s or as long as you say, until it is "
                     "proven that no plan is better."),
    ] = None,
    prefer: Annotated[
        Prefer | None,
        typer.Option(help="What comes before all else, whatever the job file says."),
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Check the plan against every rule, independently.")
    ] = False,
    forecast: ForecastPath = None,
    outdoor: Outdoor = False,
    day_first: DayFirst = None,
    now: Now = None,
    width: Width = None,
) -> None:  # fmt: skip
    """Plan a job: what to do on which day, and what sets and dries meanwhile.

    Several jobs are planned together: people whom they share (people_from) are in one place only.
    """
    sky = ForecastFile(forecast, outdoor, day_first)
    if len(jobs) > 1:
        plan_several(SeveralJobs(jobs, as_json, ics, keep, time, prefer, check, sky, now, width))
        return
    from scheduler.asjson import plan_json
    from scheduler.earlierplan import moved
    from scheduler.text import plan_text

    read, moment = job_now(jobs[0], now, sky)
    (read,) = preferring([read], prefer)
    tell_unseen(read, "; give their files, too")
    earlier = earlier_plan(keep, read) if keep else None
    with Vigil(read.timezone, search_time(time)) as vigil:
        made, news = planned(read, earlier, vigil)
    notes = [said] if (said := vigil.said()) else []
    notes += [checked(read, made)] if check else []
    notes += [update_calendar(ics, read, made, moment)] if ics else []
    if as_json:
        now_if_logged = None if read.past is None else read.now
        ids = None if earlier is None else [task.id for task in moved(earlier, made)]
        put(in_json(plan_json(made, now_if_logged, news, ids)))
    else:
        put(plan_text(read, made, text_width(width), news))
    for note in notes:
        talk(note)


def earlier_plan(path: Path, job: "Job") -> "EarlierPlan":
    """The plan of a file written earlier."""
    from scheduler.earlierplan import read_plan

    return read_plan(read_file(path), str(path), job)


def planned(
    job: "Job", earlier: "EarlierPlan | None" = None, vigil: Vigil | None = None
) -> "tuple[Plan, tuple[Headline, ...]]":
    """The plan of a job, with what became of an earlier one, and where logged, of its first."""
    from scheduler.earlierplan import kept_line
    from scheduler.news import news
    from scheduler.planner import plan_again, plan_job
    from scheduler.solve import NORMAL

    effort = NORMAL
    if vigil is not None:
        effort = replace(effort, on=vigil.most is not None, watch=vigil)
    keep = None if earlier is None else earlier.kept
    if job.past is None:
        made = plan_job(job, effort, keep)
        lines: tuple[Headline, ...] = ()
    else:
        made, first = plan_again(job, effort, keep)
        lines = news(job, first, made)
    return made, lines if earlier is None else (kept_line(earlier, made), *lines)
