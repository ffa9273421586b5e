"""``thenwait plan`` of several jobs: read, planned together, checked and told."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.console import put, read_file, talk, text_width
from scheduler.errands import ForecastFile, in_json, preferring, search_time, write_calendar
from scheduler.errors import BadInput, ThenwaitError
from scheduler.model import Prefer
from scheduler.severalfiles import jobs_now
from scheduler.vigil import VigilOverSeveral
from scheduler.wording import counted, tidy

if TYPE_CHECKING:
    from scheduler.earlierplan import EarlierPlan
    from scheduler.model import Job
    from scheduler.news import Headline
    from scheduler.portfolio import Together


@dataclass(frozen=True)
class SeveralJobs:
    """What was said on the command line, of several jobs."""

    paths: Sequence[str]
    as_json: bool
    ics: Path | None
    keep: Path | None
    time: str | None
    prefer: Prefer | None
    check: bool
    sky: ForecastFile
    now: str | None
    width: int | None


def plan_several(said: SeveralJobs) -> None:
    """Plan several jobs together and print it."""
    from scheduler.earlierplan import moved, read_plans
    from scheduler.portfolio.asjson import together_json
    from scheduler.portfolio.text import together_text

    read, now = jobs_now(said.paths, said.now, said.sky)
    jobs = preferring(read, said.prefer)
    earlier = read_plans(read_file(said.keep), str(said.keep), jobs) if said.keep else None
    with VigilOverSeveral(len(jobs), jobs[0].timezone, search_time(said.time)) as vigil:
        made, first = _planned(jobs, earlier, vigil)
    notes = [stopped] if (stopped := vigil.said()) else []
    notes += [checked_together(made)] if said.check else []
    notes += _calendars(said.ics, made, now) if said.ics else []
    news = _news(made, first, earlier or {})
    if said.as_json:
        ids = {plan.job: [task.id for task in moved(earlier[plan.job], plan)]
               for plan in made.plans if earlier and plan.job in earlier}  # fmt: skip
        put(in_json(together_json(made, news, ids, first)))
    else:
        put(together_text(made, text_width(said.width), news, first))
    for note in notes:
        talk(note)


def _planned(
    jobs: "Sequence[Job]",
    earlier: "Mapping[str, EarlierPlan] | None",
    vigil: VigilOverSeveral,
) -> "tuple[Together, Together | None]":
    """The plans of jobs, and of jobs under way their first ones, if the files alone have any."""
    from scheduler.portfolio import plan_again, plan_together
    from scheduler.portfolio.search import NORMAL

    effort = replace(NORMAL, on=vigil.most is not None, watch=vigil)
    keep = None if earlier is None else {job: plan.kept for job, plan in earlier.items()}
    if all(job.past is None for job in jobs):
        return plan_together(jobs, effort, keep), None
    return plan_again(jobs, effort, keep)


def _news(
    made: "Together", first: "Together | None", earlier: "Mapping[str, EarlierPlan]"
) -> "dict[str, tuple[Headline, ...]]":
    """What became of an earlier plan of each job, and of the first one of those under way."""
    from scheduler.earlierplan import kept_line
    from scheduler.news import news

    firsts = {} if first is None else {plan.job: plan for plan in first.plans}
    return {
        plan.job: (
            *((kept_line(earlier[plan.job], plan),) if plan.job in earlier else ()),
            *(news(job, firsts.get(plan.job), plan) if job.past is not None else ()),
        )
        for job, plan in made.planned
    }


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
        works = any(who in task.who for _, plan in theirs for task in plan.tasks)
        if works or path.exists():
            yield write_calendar(path, partial(person_calendar, who, theirs, now))


def _file_name(name: str) -> str:
    """A name fit for a file on any system."""
    return re.sub(r"[^\w. -]+", "-", tidy(name)).strip(" .") or "unnamed"


def checked_together(made: "Together") -> str:
    """What the verifier says of plans, each by itself and all with each other."""
    from scheduler.verify import check, check_together

    planned = made.planned
    breaches = [f"{job.name}: {b}" for job, plan in planned for b in check(job, plan, planned)]
    breaches += map(str, check_together(planned))
    if breaches:
        listed = "".join(f"\n  - {breach}" for breach in breaches)
        raise ThenwaitError(
            f"the plans break {counted(len(breaches), 'rule')}, which is a mistake in thenwait:"
            f"{listed}\nplease report it, with the job files"
        )
    return f"{counted(len(planned), 'plan')} checked, and with each other: nothing broken"
