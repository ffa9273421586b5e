"""Plans of several jobs as plain text: the week of the people, then the plan of each job."""

from collections.abc import Iterator

from scheduler.layout import Entry, Section, laid_out
from scheduler.portfolio.days import Stay, delays, week
from scheduler.portfolio.together import Together
from scheduler.text import plan_text
from scheduler.wording import clock, counted, day, duration, glued, moment, tidy

_TOLD = 3  # tasks named of those that wait for one other job


def together_text(made: Together, width: int) -> str:
    """What jobs come to together, who is where, who waits for whom; then each job's own plan.

    Args:
        made: the plans.
        width: columns; see ``scheduler.text.plan_text``.
    """
    planned = made.planned
    sections = (
        Section(f"{len(planned)} JOBS TOGETHER", (*_jobs(made), *_whole(made))),
        *_weeks(made),
        Section("WHAT THE JOBS DO TO EACH OTHER", tuple(_delays(made))),
    )
    top = laid_out((section for section in sections if section.entries), width)
    return "\n\n".join([top, *(plan_text(job, plan, width) for job, plan in planned)])


def _jobs(made: Together) -> Iterator[Entry]:
    """When each job is done, the first first."""
    for job, plan in sorted(made.planned, key=lambda p: p[1].finish):
        zone = plan.timezone
        done = f"finishes {moment(plan.finish, zone, ends=True)}"
        details = []
        if job.finish_by is not None:
            spare = job.finish_by - plan.finish
            wanted = f"to be finished by {moment(job.finish_by, zone, ends=True)}"
            weight = "" if job.priority == 1 else f", priority {job.priority:g}"
            late = f"TOO LATE by {duration(-spare)}" if spare < 0 else "In time"
            details.append(f"{late}: {wanted}{weight}.")
        gain = plan.finish - plan.finish_bound
        alone = f"{duration(gain)} earlier at most" if gain else "no earlier"
        details.append(f"With everybody to itself it would finish {alone}.")
        yield Entry("", f"{tidy(job.name)}: {done}", tuple(details))


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
        yield Entry("", "Proven: no plan has a lesser sum of finishes.")
    else:
        share = f"{100 * gap / max(elapsed, 1):.1f} % of the time they take"
        yield Entry("", f"A better plan could finish {duration(gap // jobs)} earlier on average"
                        f" at most, {share}.")  # fmt: skip
    days = [on for theirs in week(made.planned).values() for on in theirs]
    yield Entry(
        "", f"{counted(len(days), 'visit')}: a day counts once, whichever houses it goes to."
    )


def _weeks(made: Together) -> Iterator[Section]:
    """Where each person is, a line a day."""
    zone = made.jobs[0].timezone
    for who, days in week(made.planned).items():
        entries = (
            Entry(day(on), "; ".join(_stay(stay, zone) for stay in stays))
            for on, stays in days.items()
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
