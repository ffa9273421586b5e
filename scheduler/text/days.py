"""A plan cut into calendar days, each under one heading that says who comes.

Every day from the start to the finish is under some heading, so that today can be found; days in a
row on which nobody comes and nothing begins share one.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import groupby
from typing import Literal

from scheduler.clock import day_end, day_of, day_start, to_local
from scheduler.layout import Entry
from scheduler.model import Job, Plan, PlannedTask
from scheduler.wording import dated, day, day_run, duration, listed, moment, title


@dataclass(frozen=True)
class Days:
    """Local calendar days of a plan under one heading, ``first`` and ``last`` included.

    ``quiet`` are those on which nobody comes and nothing begins; only they are several.
    """

    job: Job
    plan: Plan
    first: date
    last: date
    quiet: bool

    @cached_property
    def start(self) -> int:
        """The first UTC minute."""
        return day_start(self.first, self.plan.timezone)

    @cached_property
    def end(self) -> int:
        """The UTC minute after the last."""
        return day_end(self.last, self.plan.timezone)

    def holds(self, minute: int) -> bool:
        """Whether the minute lies in them."""
        return self.start <= minute < self.end

    def meets(self, start: int, end: int) -> bool:
        """Whether a span, or a moment where it is empty, lies in them in part."""
        return start < self.end and self.start < max(end, start + 1)

    def when(self, minute: int, *, ends: bool = False) -> str:
        """The moment as it reads under this heading; see ``wording.moment``."""
        zone, seen = self.plan.timezone, self.first
        if self.first != self.last and day_of(minute - ends, zone) == seen:
            return dated(minute, zone, ends=ends)
        return moment(minute, zone, seen, ends=ends)

    def name(self, task: str) -> str:
        """A task's name, fit to stand in a sentence."""
        return title(self.job.task[task])


def by_heading(job: Job, plan: Plan) -> Iterator[Days]:
    """The days of a plan, from the start to the finish, as they share headings.

    Of days gone by only those on which something was done.
    """
    first = day_of(plan.start, plan.timezone)
    dates = [first + timedelta(days=n) for n in range((_last_day(plan) - first).days + 1)]
    for (when, quiet), run in groupby(dates, lambda on: (era(job, on), _is_quiet(job, plan, on))):
        alike = list(run)
        if quiet and when == "gone":
            continue
        if quiet:
            yield Days(job, plan, alike[0], alike[-1], quiet=True)
        else:
            yield from (Days(job, plan, on, on, quiet=False) for on in alike)


Era = Literal["gone", "today", "to come"]


def era(job: Job, on: date) -> Era:
    """Where a day stands to the present; all are to come as long as nothing is logged."""
    if job.past is None:
        return "to come"
    today = day_of(job.now, job.timezone)
    return "gone" if on < today else "today" if on == today else "to come"


def _last_day(plan: Plan) -> date:
    """The day of the finish; work that ends at midnight belongs to the day before."""
    begun = (start for task in plan.tasks for start, _ in pieces(task))
    return day_of(max(plan.start, plan.finish - 1, *begun), plan.timezone)


def _is_quiet(job: Job, plan: Plan, on: date) -> bool:
    days = Days(job, plan, on, on, quiet=True)
    return not any(
        days.holds(start) or (task.who and days.meets(start, end))
        for task in plan.tasks
        for start, end in pieces(task)
    )


def pieces(task: PlannedTask) -> tuple[tuple[int, int], ...]:
    """The sessions of a task; of a milestone its moment."""
    return task.sessions or ((task.start, task.finish),)


def heading(days: Days) -> str:
    """The dates and who comes; the year too where a plan runs over the end of one."""
    zone = days.plan.timezone
    years = day_of(days.plan.start, zone).year != _last_day(days.plan).year
    who = dict.fromkeys(
        person
        for task in sorted(days.plan.tasks, key=lambda task: task.start)
        if any(days.meets(*piece) for piece in pieces(task))
        for person in task.who
    )
    run, when = day_run(days.first, days.last, years), era(days.job, days.first)
    nobody = "nobody came" if when == "gone" else "nobody comes"
    today = ", TODAY" if when == "today" else ""
    return f"{run}{today}: {listed(who) if who else nobody}"


def clock_changes(days: Days) -> Iterator[Entry]:
    """What the clocks do on these days, where they do anything."""
    zone = days.plan.timezone
    for n in range((days.last - days.first).days + 1):
        on = days.first + timedelta(days=n)
        start, end = day_start(on, zone), day_end(on, zone)
        if shift := _offset(end, zone) - _offset(start, zone):
            change = _change(start, end, zone)
            old = to_local(change - 1, zone) + timedelta(minutes=1)
            where = "" if days.first == days.last else f" on {day(on)}"
            way = "forward" if shift > 0 else "back"
            becomes = f"{old:%H:%M} becomes {to_local(change, zone):%H:%M}"
            text = (
                f"go {way} {duration(abs(shift))}{where}: {becomes}. Waits keep their true length."
            )
            yield Entry("clocks", text)


def _offset(minute: int, zone: str) -> int:
    """Minutes ahead of UTC."""
    offset = to_local(minute, zone).utcoffset() or timedelta()
    return offset // timedelta(minutes=1)


def _change(start: int, end: int, zone: str) -> int:
    """The first minute in ``(start, end]`` with the offset of ``end``."""
    offset = _offset(end, zone)
    while end - start > 1:
        middle = (start + end) // 2
        start, end = (start, middle) if _offset(middle, zone) == offset else (middle, end)
    return end
