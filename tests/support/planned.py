"""Plans for tests: made from a job file, and every one of them verified."""

from datetime import datetime
from textwrap import dedent

from scheduler.anyplan import Unsolved
from scheduler.clock import DAY, to_local, to_minute
from scheduler.jobfile import parse
from scheduler.model import Job, Plan
from scheduler.network import REACHES, compile_job, horizon
from scheduler.plan import make_plan
from scheduler.planner import plan_job
from scheduler.solve import solve
from scheduler.verify import check


def planned(text: str) -> tuple[Job, Plan]:
    """The job of a file's text, and its verified plan."""
    job = read(text)
    return job, verified(job)


def read(text: str) -> Job:
    """The job of a file's text; it may be indented as a whole."""
    return parse(dedent(text).encode(), "job.yaml")


def verified(job: Job) -> Plan:
    """The plan of a job, which must keep every rule."""
    plan = plan_job(job)
    breaches = check(job, plan)
    assert not breaches, "\n".join(map(str, breaches))
    return plan


def verified_within(job: Job, days: int) -> tuple[Plan | None, bool]:
    """The plan of a job in its first days, if any, which must keep every rule; whether proven."""
    try:
        solution = solve(compile_job(job, job.start + days * DAY))
    except Unsolved as unsolved:
        return None, unsolved.proven
    plan = make_plan(compile_job(job, horizon(job, REACHES[0])), solution)
    assert not (breaches := check(job, plan)), breaches
    return plan, True


def at(wall: str, zone: str) -> int:
    """The UTC minute of a local wall time such as ``2027-01-09 14:05``."""
    return to_minute(datetime.fromisoformat(wall), zone)


def wall(minute: int, zone: str) -> str:
    """The local wall time of a UTC minute: ``Sat 2027-01-09 14:05``."""
    return f"{to_local(minute, zone):%a %Y-%m-%d %H:%M}"


def starts(plan: Plan) -> dict[str, str]:
    """When each task starts, in local wall time."""
    return {task.id: wall(task.start, plan.timezone) for task in plan.tasks}


def finishes(plan: Plan) -> dict[str, str]:
    """When each task finishes, in local wall time."""
    return {task.id: wall(task.finish, plan.timezone) for task in plan.tasks}
