"""Plans of several jobs as plain text: the week of the people, then the plan of each job."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from scheduler.clock import day_of
from scheduler.earlierplan import KEPT
from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job, Plan
from scheduler.news import Headline
from scheduler.portfolio.days import Stay, at_once, delays, week
from scheduler.portfolio.slips import Change, Root, Slip, other_days, slips
from scheduler.portfolio.together import Together
from scheduler.text import plan_text
from scheduler.text.proofs import days_without
from scheduler.wording import (
    clock,
    counted,
    dated,
    day,
    duration,
    glued,
    in_quotes,
    listed,
    moment,
    tidy,
)

_TOLD = 3  # tasks named of those that wait for one other job


def together_text(
    made: Together,
    width: int,
    news: Mapping[str, Iterable[Headline]] | None = None,
    first: Together | None = None,
) -> str:
    """What jobs come to together, who is where, who waits for whom; then each job's own plan.

    Args:
        made: the plans.
        width: columns; see ``scheduler.text.plan_text``.
        news: by jobs, what became of an earlier plan; it stands on top of the job's own.
        first: the first plans of jobs under way; None where nothing is logged.
    """
    planned = made.planned
    sections = (
        Section(f"{len(planned)} JOBS TOGETHER", (*_jobs(made, news or {}), *_whole(made))),
        Section("WARNINGS", tuple(Entry("", f"! {text}") for text in at_once(planned))),
        Section("SINCE THE FIRST PLAN", tuple(_since_first(made, first))),
        Section("OTHER DAYS THAN FIRST PLANNED", tuple(_changes(made, first))),
        *_weeks(made),
        Section("WHAT THE JOBS DO TO EACH OTHER", tuple(_delays(made))),
    )
    top = laid_out((section for section in sections if section.entries), width)
    texts = (plan_text(job, plan, width, (news or {}).get(job.name, ())) for job, plan in planned)
    return "\n\n".join([top, *texts])


def _jobs(made: Together, news: Mapping[str, Iterable[Headline]]) -> Iterator[Entry]:
    """When each job is done, the first first, and how much of an earlier plan it keeps."""
    for job, plan in sorted(made.planned, key=lambda p: p[1].finish):
        over = bool(plan.tasks) and all(task.state == "done" for task in plan.tasks)
        done = (
            f"{'finished' if over else 'finishes'} {moment(plan.finish, plan.timezone, ends=True)}"
        )
        details = [*_wish(job, plan), *([] if over else _alone(plan))]
        details += [f"{text}." for text in days_without(plan)]
        kept = (line.text for line in news.get(job.name, ()) if line.label == KEPT)
        details += [] if over else [f"Kept: {text}." for text in kept]
        yield Entry("", f"{tidy(job.name)}: {done}", tuple(details))


def _wish(job: Job, plan: Plan) -> Iterator[str]:
    if job.finish_by is None:
        return
    spare = job.finish_by - plan.finish
    wanted = f"to be finished by {moment(job.finish_by, plan.timezone, ends=True)}"
    weight = "" if job.priority == 1 else f", priority {job.priority:g}"
    late = f"TOO LATE by {duration(-spare)}" if spare < 0 else "In time"
    yield f"{late}: {wanted}{weight}."


def _alone(plan: Plan) -> Iterator[str]:
    gain = plan.finish - plan.finish_bound
    alone = f"{duration(gain)} earlier at most" if gain else "no earlier"
    yield f"With everybody to itself it would finish {alone}."


def _whole(made: Together) -> Iterator[Entry]:
    """What it comes to, and how far it may be from the best."""
    aim, bound = made.aim, made.bound
    late, least = round(aim.lateness), round(bound.lateness)
    if late:
        text = f"Late in all, each job times its priority: {duration(late)}"
        best = "no plan is less late" if least >= late else f"at least {duration(least)}"
        yield Entry("", f"{text}; {best}.")
    gap, jobs = aim.finishes - bound.finishes, len(made.jobs)
    elapsed = aim.finishes - sum(plan.start for plan in made.plans)
    if gap <= 0:
        wished = any(job.finish_by is not None for job in made.jobs)
        like = " that is as little late" if wished else ""
        yield Entry("", f"Proven: no plan{like} has a lesser sum of finishes.")
    else:
        share = f"{100 * gap / max(elapsed, 1):.1f} % of the time they take"
        yield Entry("", f"A better plan could finish {duration(gap // jobs)} earlier on average"
                        f" at most, {share}.")  # fmt: skip
    few = _fewest(aim.visits, bound.visits)
    once = "A day counts once, whichever houses it goes to."
    yield Entry("", f"{counted(aim.visits, 'visit')}; {few}. {once}")
    if aim.without:
        few = _fewest(aim.without, bound.without)
        yield Entry("", f"{counted(aim.without, 'day')} without something in all; {few}.")


def _fewest(number: int, least: int) -> str:
    """How many days there are at least, of plans that are no later."""
    return "no plan as early has fewer" + (f" than {least}" if least < number else "")


def _since_first(made: Together, first: Together | None) -> Iterator[Entry]:
    """Which jobs have moved since their first plans, and what that goes back to."""
    if first is None:
        return
    told = [_slip(slip, made.jobs[0].timezone) for slip in slips(first, made)]
    yield from told or [Entry("", "Nothing has moved: every job is as first planned.")]


def _changes(made: Together, first: Together | None) -> Iterator[Entry]:
    """Who is to be told of another day or another house."""
    for who, changes in other_days(first, made).items() if first is not None else ():
        yield Entry(who, "; ".join(map(_change, changes)))


def _change(change: Change) -> str:
    houses, before = ({*map(tidy, each)} for each in (change.now, change.first))
    new = [name for name in map(tidy, change.now) if name not in before]
    gone = [name for name in map(tidy, change.first) if name not in houses]
    told = [*new, f"not {listed(gone)}"] if gone else new
    return f"{glued(day(change.on))} {', '.join(told)}"


def _slip(slip: Slip, zone: str) -> Entry:
    word = "later" if slip.later > 0 else "earlier"
    finish = f"{duration(abs(slip.later))} {word}" if slip.later else "as first planned"
    moved = f"; {counted(slip.moved, 'task')} still to do moved" if slip.moved else ""
    roots = tuple(_root(root, slip.job, zone) for root in slip.roots[:_TOLD])
    return Entry("", f"{tidy(slip.job)}: finishes {finish}{moved}", roots)


def _root(root: Root, job: str, zone: str) -> str:
    """What some tasks are later for: it is late itself, or another job's has gone ahead."""
    where = "" if root.job == job else f" of {tidy(root.job)}"
    tasks = counted(root.tasks, "task")
    if root.late <= 0:
        return f"{tasks} later, as {in_quotes(root.task)}{where} goes first."
    at = dated(root.task.start, zone), dated(root.first.start, zone)
    how = f"starts {at[0]}, not {at[1]}"
    if root.task.state != "open":
        ends = (dated(each.finish, zone, ends=True) for each in (root.task, root.first))
        how = "done {}, not {}".format(*ends)
    return f"{tasks} later for {in_quotes(root.task)}{where}: {how}."


def _weeks(made: Together) -> Iterator[Section]:
    """Where each person is, a line a day; of jobs under way from the present day on."""
    zone = made.jobs[0].timezone
    today = date.min if made.now is None else day_of(made.now, zone)
    for who, days in week(made.planned).items():
        entries = (
            Entry(day(on), "; ".join(_stay(stay, zone) for stay in stays))
            for on, stays in days.items()
            if on >= today
        )
        yield Section(f"WHERE {who} IS", tuple(entries))


def _stay(stay: Stay, zone: str) -> str:
    hours = clock(stay.start, zone)
    if stay.end > stay.start:
        until = clock(stay.end, zone)
        hours += f"-{'24:00' if until == '00:00' else until}"
    return f"{glued(hours)} {tidy(stay.job)}"


def _delays(made: Together) -> Iterator[Entry]:
    for delay in delays(made.planned):
        named = [
            f"'{tidy(name)}' {duration(minutes)}"
            for name, minutes in zip(delay.tasks[:_TOLD], delay.minutes, strict=False)
        ]
        more = len(delay.tasks) - len(named)
        rest = f" and {more} more" if more else ""
        tasks = f"{counted(len(delay.tasks), 'task')} of {tidy(delay.job)}"
        yield Entry("", f"{tasks}, for people busy in {tidy(delay.other)}:"
                        f" {', '.join(named)}{rest}.")  # fmt: skip
