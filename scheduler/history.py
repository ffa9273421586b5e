"""The job as it stands: what was logged, folded into the job that was planned."""

from collections.abc import Iterable
from dataclasses import replace
from functools import reduce
from typing import TYPE_CHECKING

from scheduler.clock import DAY
from scheduler.hours import NEVER, Spans, hours_of, intersect
from scheduler.model import Actual, Event, Job, Log, Past, Task

if TYPE_CHECKING:
    from scheduler.forecast import Forecast

_BACK = 90 * DAY  # how far the hours of people are counted back for a start that nobody wrote down
_NOTHING = Actual()


def as_it_stands(job: Job, log: Log, now: int, forecast: "Forecast | None" = None) -> Job:
    """The job with its past, in the air as it was read and as it is foreseen from that.

    Args:
        job: as its file has it.
        log: of this job; what it says of tasks that the job lacks counts for nothing.
        now: the present moment [UTC min]; where something happened later, it is that moment.
        forecast: of the air.

    Returns:
        The job itself where nothing is logged and nothing forecast. Else the job with its ``past``
        and with the ``course`` of its air; it starts with the first thing that was done for it,
        where that was before the start in the file.
    """
    return in_its_air(with_past(job, log, now), log, now, forecast)[0]


def in_its_air(
    job: Job, log: Log, now: int, forecast: "Forecast | None" = None
) -> tuple[Job, tuple[str, ...]]:
    """The job in the air as read and foreseen, and how that came about, in words.

    Args:
        job: with its past, if it has one.
        log: of this job; here its readings count.
        now: the present moment [UTC min].
        forecast: of the air.
    """
    if not log.readings and forecast is None:
        return job, ()
    from scheduler.readings import laid_over

    if job.past is None:  # nothing is logged: the plan is made from the start
        return laid_over(job, (), now, forecast)
    past = replace(job.past, readings=log.readings)
    return laid_over(replace(job, past=past), log.readings, past.now, forecast)


def with_past(job: Job, log: Log, now: int) -> Job:
    """The job with what is known of its tasks, in the air as supposed; as ``as_it_stands``."""
    if not log.events and not log.readings:
        return job
    delivered = {event.of: event.at for event in log.events if event.kind == "delivered"}
    actual = {task.id: _actual(task, log.events, delivered) for task in job.tasks}
    known = {task: what for task, what in actual.items() if what != _NOTHING}
    known |= {task: _begun(job, task, what) for task, what in known.items()
              if max(_moments(what)) <= job.start}  # fmt: skip
    start = min((job.start, *(first for what in known.values() for first in _moments(what))))
    begun = {task: _begun(job, task, what, start) for task, what in known.items()}
    moment = max((now, *(event.at for event in log.events)))
    planned = job.start if start < job.start else None
    return replace(job, start=start, past=Past(moment, begun, delivered, start=planned))


def _moments(what: Actual) -> Iterable[int]:
    each = (what.started, what.finished, what.passed, what.failed)
    return (minute for minute in each if minute is not None)


def _actual(task: Task, events: Iterable[Event], delivered: dict[str, int]) -> Actual:
    """What the events tell of a task; one that delivers is done once all it delivers is there."""
    of_task = (event for event in events if event.of == task.id and event.kind != "delivered")
    known = reduce(_after, of_task, _NOTHING)
    all_there = {*task.delivers} <= {*delivered}
    if not task.delivers or not all_there or known.finished is not None:
        return known
    there = max(delivered[each] for each in task.delivers)
    if known.failed is None and (known.started or there) <= there:
        return replace(known, finished=there)
    return known


def _after(known: Actual, event: Event) -> Actual:
    """What is known of a task once one more thing has happened to it."""
    if event.kind == "failed":
        return Actual(failed=event.at)
    if event.kind == "started":
        at_once = known.finished == event.at  # begun and done within a minute, told in any order
        return replace(known if at_once else _NOTHING, started=event.at)
    passed = event.at if event.kind == "passed" else known.passed
    done_before = event.kind == "passed" and known.finished is not None
    finished = known.finished if done_before else event.at
    return replace(known, finished=finished, passed=passed, failed=None)


def _begun(job: Job, task: str, what: Actual, floor: int = -NEVER) -> Actual:
    """With the start that the finish suggests, where nobody wrote down the start."""
    if what.finished is None or what.started is not None:
        return what
    suggested = _counted_back(job, job.task[task], what.finished)
    return replace(what, started=min(max(suggested, floor), what.finished))


def _counted_back(job: Job, task: Task, finished: int) -> int:
    """When work that took as long as planned was begun, counted back through people's hours."""
    straight = finished - task.work
    if not task.split or not task.who or not task.work:
        return straight
    hours = _present(job, task, finished)
    before = hours.count(finished) - task.work
    return hours.minute(before) if before >= 0 else straight


def _present(job: Job, task: Task, finished: int) -> Spans:
    """The hours that all of a task's people had in the months before its finish."""
    each = (hours_of(job.people[who], job.timezone, finished - _BACK, finished) for who in task.who)
    return reduce(intersect, each)
