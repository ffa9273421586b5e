"""A plan as plain text: no colour, no box, readable in a pipe, in a message and read aloud."""

from collections.abc import Iterable

from scheduler.layout import Section, laid_out
from scheduler.model import Job, Plan
from scheduler.news import Headline
from scheduler.text.agenda import agenda
from scheduler.text.booking import whom_to_book
from scheduler.text.summary import end, top

_LEAST_WIDTH = 20  # columns; narrower than the longest date no text can be


def plan_text(job: Job, plan: Plan, width: int, news: Iterable[Headline] = ()) -> str:
    """The day-by-day plan: what it comes to, what to do by day, what drives it.

    Args:
        job: the job.
        plan: a plan of it.
        news: what became of its first plan; it stands on top.
        width: columns. From 60 on entries stand in two columns, below that they are a list. No
            line is longer, except one of a single longer word: nothing is cut.

    Returns:
        The text, times in the job's zone, ending in a line feed. ``wording.plain`` makes it fit
        for a stream that is not UTF-8.
    """
    by_day = Section("DAY BY DAY", ())
    sections = (
        *top(job, plan, news),
        *whom_to_book(job, plan),
        by_day,
        *agenda(job, plan),
        *end(job, plan),
    )
    return laid_out(sections, max(width, _LEAST_WIDTH))
