"""Jobs that are under way: what was logged of them, made from a plan or written down by hand."""

from scheduler.history import as_it_stands
from scheduler.model import Event, EventKind, Job, Log, Plan
from tests.support.planned import at


def on_plan(job: Job, plan: Plan, now: int) -> Job:
    """The job at a moment, every task so far logged at the very times it was planned for."""
    events = [Event(task.start, "started", task.id) for task in plan.tasks if task.start <= now]
    for task in plan.tasks:
        if task.finish <= now and task.start <= now:
            kind: EventKind = "passed" if job.task[task.id].hold else "done"
            events.append(Event(task.finish, kind, task.id))
    return as_it_stands(job, Log(tuple(events)), now)


def moments(plan: Plan) -> list[int]:
    """The moments at which something can be logged, in their order."""
    return sorted({minute for task in plan.tasks for minute in (task.start, task.finish)})


def happened(job: Job, now: str, *lines: str) -> Job:
    """The job with a log by hand: lines such as ``2027-01-09 11:30 done pan``, local time."""
    zone = job.timezone
    events = []
    for line in lines:
        day, clock, kind, of = line.split()
        assert kind in {"started", "done", "passed", "failed", "delivered"}
        events.append(Event(_at(f"{day} {clock}", zone), kind, of))  # type: ignore[arg-type]
    return as_it_stands(job, Log(tuple(sorted(events, key=lambda e: e.at))), _at(now, zone))


def _at(wall: str, zone: str) -> int:
    day, clock = wall.split()
    return at(f"{day} {clock:0>5}", zone)
