"""A plan as plain values for JSON, version 1: what other programs read.

The keys and their order are a promise; a new key needs a new version. Times are RFC 3339 with the
offset of the job's zone, spans are whole minutes. Every key is always there: ``because`` has
``task`` and ``stage`` null where the reason names none; a wait has ``product`` and ``stage`` null
where it is a fixed one, ``for`` null where it only opens a room or ends a dust-shy time, and
``close_by`` null where no window closes; a task without a room has ``room`` null.
"""

from collections.abc import Callable

from scheduler.clock import rfc3339
from scheduler.model import Plan, PlannedTask, Reason, TimeSplit, Wait


def plan_json(plan: Plan) -> dict[str, object]:
    """The plan as a tree of dicts, lists, strings, numbers, booleans and None."""

    def time(minute: int) -> str:
        return rfc3339(minute, plan.timezone)

    return {
        "version": 1,
        "job": plan.job,
        "timezone": plan.timezone,
        "start": time(plan.start),
        "finish": time(plan.finish),
        "proven_earliest": plan.proven_earliest,
        "finish_bound": time(plan.finish_bound),
        "tasks": [_task(task, time) for task in plan.tasks],
        "waits": [_wait(wait, time) for wait in plan.waits],
        "where_time_goes": _split(plan.where_time_goes),
        "warnings": [*plan.warnings],
    }


def _task(task: PlannedTask, time: Callable[[int], str]) -> dict[str, object]:
    return {
        "id": task.id,
        "name": task.name,
        "who": [*task.who],
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
        "because": _reason(task.because),
    }


def _reason(because: Reason) -> dict[str, object]:
    return {
        "kind": because.kind,
        "task": because.task,
        "stage": because.stage,
        "text": because.text,
    }


def _wait(wait: Wait, time: Callable[[int], str]) -> dict[str, object]:
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


def _split(split: TimeSplit) -> dict[str, object]:
    return {
        "work": split.work,
        "waiting": split.waiting,
        "outside_hours": split.outside_hours,
        "people_busy": split.people_busy,
        "room_closed": split.room_closed,
        "air": split.air,
        "dates": split.dates,
    }
