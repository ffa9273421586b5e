"""A plan, or a verdict, as plain values for JSON, version 1: what other programs read.

The keys and their order are a promise; a new key needs a new version, or something new to tell.
Times are RFC 3339 with the offset of the job's zone, spans are whole minutes. Every key is always
there: ``because`` has ``task`` and ``stage`` null where the reason names none; a wait has
``product`` and ``stage`` null where it is a fixed one, ``for`` null where it only opens a room or
ends a dust-shy time, and ``close_by`` null where no window closes; a task without a room has
``room`` null. Where anything is logged a plan has ``now`` and ``news``, too, and each of its tasks
a ``state``. A verdict has ``earliest`` null where no start can do, and a reason of it ``until``
null where it is for good; where anything is logged it has the ``chance`` [0..1] that the task is
ready by then, and from when it is at 50, 90 and 99 % (``earliest_at``, null where it never is).
Where a task closes something, or not the finish is preferred, a plan has ``prefer``, ``visits`` and
``days_without`` with what is proven of them; each bound, that of the finish too, is then of plans
no worse by what is preferred to it. Where an earlier plan was to be kept to, a plan has ``moved``:
the ids of the tasks still to do that start at another time than there, as they come. Where somebody
wants notice, is booked, or comes on few days only or for so much at the least, a plan has their
days to come as ``bookings``: ``tasks`` is empty where a booking is for nothing, ``book_by`` null
where nobody needs to be asked in time.
"""

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from scheduler.clock import rfc3339
from scheduler.model import Plan, PlannedTask, Reason, TimeSplit, Wait
from scheduler.wording import tidy

if TYPE_CHECKING:
    from scheduler.ready.verdict import Finding, Verdict


def plan_json(
    plan: Plan,
    now: int | None = None,
    news: Iterable[object] = (),
    moved: Iterable[str] | None = None,
) -> dict[str, object]:
    """The plan as a tree of dicts, lists, strings, numbers, booleans and None.

    Args:
        plan: the plan.
        now: the present moment [UTC min], where anything is logged; None where nothing is.
        news: what became of the first plan, a line each.
        moved: the tasks that moved against an earlier plan; None where there was none to keep to.
    """

    def time(minute: int) -> str:
        return rfc3339(minute, plan.timezone)

    tree = _plan(plan, time)
    if now is not None:
        for task, planned in zip(plan.tasks, tree["tasks"], strict=True):
            planned["state"] = task.state
        tree |= {"now": time(now), "news": [str(line) for line in news]}
    return tree if moved is None else tree | {"moved": [*moved]}


def _plan(plan: Plan, time: Callable[[int], str]) -> dict[str, Any]:
    return (
        {
            "version": 1,
            "job": plan.job,
            "timezone": plan.timezone,
            "start": time(plan.start),
            "finish": time(plan.finish),
            "proven_earliest": plan.proven_earliest,
            "finish_bound": time(plan.finish_bound),
            "tasks": [_task(task, time) for task in plan.tasks],
            "waits": [wait_json(wait, time) for wait in plan.waits],
            "where_time_goes": split_json(plan.where_time_goes),
            "warnings": [*plan.warnings],
        }
        | _goals(plan, time)
        | _bookings(plan, time)
    )


def _goals(plan: Plan, time: Callable[[int], str]) -> dict[str, object]:
    """What the plan is best at, where something is closed or a goal was preferred; else nothing."""
    if not plan.days_without and plan.prefer == "finish":
        return {}
    return {
        "prefer": plan.prefer,
        "visits": plan.visits,
        "visits_bound": plan.visits_bound,
        "days_without": [
            {"of": w.of, "start": time(w.start), "end": time(w.end), "days": w.days}
            for w in plan.days_without
        ],
        "days_without_bound": plan.days_without_bound,
    }


def _bookings(plan: Plan, time: Callable[[int], str]) -> dict[str, object]:
    """When those come who don't come just like that, where there are any; else nothing."""
    if not plan.bookings:
        return {}
    return {
        "bookings": [
            {
                "who": each.who,
                "start": time(each.start),
                "end": time(each.end),
                "tasks": [*each.tasks],
                "booked": each.booked,
                "book_by": None if each.by is None else time(each.by),
            }
            for each in plan.bookings
        ]
    }


def _task(task: PlannedTask, time: Callable[[int], str]) -> dict[str, object]:
    several = {"several": dict(task.several)} if task.several else {}
    return {
        "id": task.id,
        "name": task.name,
        "who": [*task.who],
        **several,
        "room": task.room,
        "start": time(task.start),
        "finish": time(task.finish),
        "sessions": [[time(start), time(end)] for start, end in task.sessions],
        "latest_start": time(task.latest_start),
        "latest_finish": time(task.latest_finish),
        "float_minutes": task.float_minutes,
        "free_float_minutes": task.free_float_minutes,
        "logic_float_minutes": task.logic_float_minutes,
        "critical": task.critical,
        "because": reason_json(task.because),
    }


def reason_json(because: Reason) -> dict[str, object]:
    """The reason of a start; of one that another job held, which and for how long, too."""
    other = {"job": because.job, "minutes": because.delay} if because.job is not None else {}
    return {
        "kind": because.kind,
        "task": because.task,
        "stage": because.stage,
        "text": because.text,
    } | other


def wait_json(wait: Wait, time: Callable[[int], str]) -> dict[str, object]:
    """A wait."""
    return {
        "task": wait.task,
        "product": wait.product,
        "stage": wait.stage,
        "for": wait.for_task,
        "start": time(wait.start),
        "end": time(wait.end),
        "minutes": wait.minutes,
        "label_minutes": wait.label_minutes,
        "close_by": None if wait.close_by is None else time(wait.close_by),
    }


def split_json(split: TimeSplit) -> dict[str, object]:
    """Where time goes [min]."""
    return {
        "work": split.work,
        "waiting": split.waiting,
        "outside_hours": split.outside_hours,
        "people_busy": split.people_busy,
        "room_closed": split.room_closed,
        "air": split.air,
        "dates": split.dates,
    }


def ready_json(verdict: "Verdict") -> dict[str, object]:
    """The verdict as a tree of dicts, lists, strings, numbers, booleans and None."""

    def time(minute: int | None) -> str | None:
        return None if minute is None else rfc3339(minute, verdict.timezone)

    return {
        "version": 1,
        "task": verdict.task,
        "at": time(verdict.at),
        "verdict": "yes" if verdict.yes else "no",
        "earliest": time(verdict.earliest),
        "reasons": [_finding(finding, time) for finding in verdict.findings],
        "check_on_site": [tidy(text) for text in verdict.check_on_site],
    } | _chance(verdict, time)


def _chance(verdict: "Verdict", time: Callable[[int | None], str | None]) -> dict[str, object]:
    """How sure it is, where something is logged; else nothing."""
    if verdict.chance is None:
        return {}
    return {
        "chance": round(verdict.chance.at_that_time, 4),
        "earliest_at": {
            str(chance): time(minute) for chance, minute in verdict.chance.earliest.items()
        },
    }


def _finding(finding: "Finding", time: Callable[[int | None], str | None]) -> dict[str, object]:
    return {
        "kind": finding.kind,
        "ok": finding.ok,
        "text": tidy(finding.text),
        "until": time(finding.until),
    }
