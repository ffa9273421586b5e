"""A plan made earlier, read back from its JSON, to be kept to; what moves against it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from scheduler.clock import instant
from scheduler.errors import BadInput
from scheduler.model import Job, Plan, PlannedTask
from scheduler.news import Headline
from scheduler.wording import counted, dated, in_quotes, tidy

VERSION = 1
"""Of the JSON that is read."""

_WANTED = "it must be a plan as 'thenwait plan JOB --json' prints it"


@dataclass(frozen=True)
class EarlierPlan:
    """Starts of tasks by their ids [UTC min], and the name of the file they are from."""

    file: str
    starts: Mapping[str, int]


def read_plan(content: bytes, file: str, job: Job) -> EarlierPlan:
    """The plan in a file's bytes; it may lack tasks of the job, and have tasks that it had once.

    Raises:
        BadInput: it is no plan, or none of this job, or of a version unknown here.
    """
    tree = _tree(content, file)
    if not isinstance(tree, dict) or not isinstance(tree.get("tasks"), list):
        raise BadInput(f"{file}: {_WANTED}")
    if (version := tree.get("version")) is not VERSION:
        found = json.dumps(version)
        raise BadInput(f"{file}: a plan of version {VERSION} can be kept to (found {found})")
    if (name := tree.get("job")) != job.name:
        raise BadInput(f"{file}: this is a plan of {_quoted(name)}, not of {_quoted(job.name)}")
    starts: dict[str, int] = {}
    for n, entry in enumerate(tree["tasks"], 1):
        key, start = _start(entry, f"{file}: task {n}")
        if key in starts:
            raise BadInput(f"{file}: task {n}: there is a task {_quoted(key)} before it already")
        starts[key] = start
    return EarlierPlan(file, starts)


def _tree(content: bytes, file: str) -> object:
    try:
        tree: object = json.loads(content)
    except json.JSONDecodeError as error:
        where = f"{file}:{error.lineno}:{error.colno}"
        raise BadInput(f"{where}: this is no JSON; {_WANTED}") from None
    except (UnicodeDecodeError, RecursionError, ValueError):
        raise BadInput(f"{file}: this is no JSON; {_WANTED}") from None
    return tree


def _start(entry: object, where: str) -> tuple[str, int]:
    if not isinstance(entry, dict) or not isinstance(entry.get("id"), str):
        raise BadInput(f"{where} has no 'id'; {_WANTED}")
    start = entry.get("start")
    try:
        at = datetime.fromisoformat(start if isinstance(start, str) else "")
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        wanted = "'start' must be a time with its offset, as 2027-01-08T17:00:00-05:00"
        raise BadInput(f"{where}: {wanted} (found {json.dumps(start)})")
    return entry["id"], instant(at)


def _quoted(name: object) -> str:
    return f"'{tidy(name)}'" if isinstance(name, str) else "no job at all"


def moved(earlier: EarlierPlan, plan: Plan) -> tuple[PlannedTask, ...]:
    """The tasks still to do that start at another time than in an earlier plan, as they come."""
    found = (task for task in _known(earlier, plan) if task.start != earlier.starts[task.id])
    return tuple(sorted(found, key=lambda task: task.start))


def _known(earlier: EarlierPlan, plan: Plan) -> tuple[PlannedTask, ...]:
    return tuple(t for t in plan.tasks if t.state == "open" and t.id in earlier.starts)


def kept_line(earlier: EarlierPlan, plan: Plan) -> Headline:
    """How much of an earlier plan still stands, and what moves next."""
    known, other = _known(earlier, plan), moved(earlier, plan)
    of = counted(len(known), "task")
    if not other:
        return Headline("kept", f"{of} still to do, all as in {earlier.file}: nothing moves")
    stay = f"{len(known) - len(other)} of {of} still to do, as in {earlier.file}"
    return Headline("kept", f"{stay}; {len(other)} moved, next {_to(earlier, plan, other[0])}")


def _to(earlier: EarlierPlan, plan: Plan, task: PlannedTask) -> str:
    at, was = (dated(m, plan.timezone) for m in (task.start, earlier.starts[task.id]))
    return f"{in_quotes(task)} to {at}, not {was}"
