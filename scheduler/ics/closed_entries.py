"""What the household does without, as calendar entries over the whole of that time.

They take nobody's time, so they are free; month views lift them into the all-day strip, which is
where such a thing is looked for.
"""

from collections.abc import Iterator

from scheduler.ics.entries import Entry, entry_uid, when
from scheduler.model import Job, Plan
from scheduler.wording import counted, listed


def closed_entries(job: Job, plan: Plan) -> Iterator[Entry]:
    """The entries of everything that is closed for a while."""
    for each in plan.days_without:
        yield Entry(
            uid=entry_uid(job.name, "without", each.of),
            start=each.start,
            end=each.end,
            summary=f"No {each.of}",
            description="\n".join(_lines(job, plan, each.of, each.end, each.days)),
            category="Closed",
        )


def _lines(job: Job, plan: Plan, of: str, end: int, days: int) -> Iterator[str]:
    yield f"Job: {job.name}"
    yield f"{counted(days, 'day')} without the {of}, planned until {when(plan, end)}."
    opening = listed(task.name for task in job.tasks if of in task.reopens)
    yield f"To be had again after: {opening}." if opening else "Nothing in the job reopens it."
