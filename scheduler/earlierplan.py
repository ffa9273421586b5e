"""A plan made earlier, read back from its JSON, to be kept to; what moves against it."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduler.clock import instant
from scheduler.errors import BadInput
from scheduler.model import Job, Kept, Plan, PlannedTask
from scheduler.news import Headline, moved_to
from scheduler.wording import counted, listed, tidy

VERSION = 1
"""Of the JSON that is read."""

KEPT = "kept"
"""What stands in front of the line that says how much of an earlier plan is kept."""

_WANTED = "it must be a plan as 'thenwait plan JOB --json' prints it"


@dataclass(frozen=True)
class EarlierPlan:
    """What is kept to, and the name of the file it is from."""

    file: str
    kept: Kept

    @property
    def starts(self) -> Mapping[str, int]:
        """Starts of tasks by their ids [UTC min]."""
        return self.kept.starts


def read_plan(content: bytes, file: str, job: Job) -> EarlierPlan:
    """The plan in a file's bytes; it may lack tasks of the job, and have tasks that it had once.

    Raises:
        BadInput: it is no plan, or none of this job, or of a version unknown here.
    """
    return read_plans(content, file, [job])[job.name]


def read_plans(content: bytes, file: str, jobs: Sequence[Job]) -> dict[str, EarlierPlan]:
    """The plans in a file's bytes, by the names of their jobs: of one job, or of several together.

    It may lack some of the jobs, and have others.

    Raises:
        BadInput: it has no plan, or none of these jobs, or is of a version unknown here.
    """
    trees = _plans(_tree(content, file), file)
    known = [job.name for job in jobs]
    found = {tree["job"]: _plan(tree, file) for tree in trees if tree.get("job") in known}
    if not found:
        names = listed(_quoted(tree.get("job")) for tree in trees)
        wanted = " or ".join(map(_quoted, known))
        raise BadInput(f"{file}: this is a plan of {names}, not of {wanted}")
    return found


def _plans(tree: object, file: str) -> list[dict[str, Any]]:
    """What a file has a plan in for each job."""
    if not isinstance(tree, dict):
        raise BadInput(f"{file}: {_WANTED}")
    plans = tree["jobs"] if "tasks" not in tree and isinstance(tree.get("jobs"), list) else [tree]
    if not plans or not all(
        isinstance(p, dict) and isinstance(p.get("tasks"), list) for p in plans
    ):
        raise BadInput(f"{file}: {_WANTED}")
    for each in (tree, *plans):
        if (version := each.get("version")) is not VERSION:
            wrong = json.dumps(version)
            raise BadInput(f"{file}: a plan of version {VERSION} can be kept to (found {wrong})")
    return plans


def _plan(tree: dict[str, Any], file: str) -> EarlierPlan:
    starts: dict[str, int] = {}
    hands: dict[str, dict[str, int]] = {}
    for n, entry in enumerate(tree["tasks"], 1):
        key, start = _start(entry, f"{file}: task {n}")
        if key in starts:
            raise BadInput(f"{file}: task {n}: there is a task {_quoted(key)} before it already")
        starts[key] = start
        hands[key] = _hands(entry)
    return EarlierPlan(file, Kept(starts, hands))


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


def _hands(entry: Mapping[str, object]) -> dict[str, int]:
    """By how many of whom a task is done, as far as that can be read."""
    who, several = entry.get("who"), entry.get("several", {})
    hands = {name: 1 for name in who if isinstance(name, str)} if isinstance(who, list) else {}
    more = several.items() if isinstance(several, dict) else ()
    return hands | {name: n for name, n in more if name in hands and isinstance(n, int)}


def _quoted(name: object) -> str:
    return f"'{tidy(name)}'" if isinstance(name, str) else "no job at all"


def moved(earlier: EarlierPlan, plan: Plan) -> tuple[PlannedTask, ...]:
    """The tasks still to do that start at another time than in an earlier plan, as they come.

    And those that others do.
    """
    found = (task for task in _known(earlier, plan) if _is_other(earlier.kept, task))
    return tuple(sorted(found, key=lambda task: task.start))


def _is_other(kept: Kept, task: PlannedTask) -> bool:
    hands = kept.hands.get(task.id) or task.hands
    return (task.start, task.hands) != (kept.starts[task.id], hands)


def _known(earlier: EarlierPlan, plan: Plan) -> tuple[PlannedTask, ...]:
    return tuple(t for t in plan.tasks if t.state == "open" and t.id in earlier.starts)


def kept_line(earlier: EarlierPlan, plan: Plan) -> Headline:
    """How much of an earlier plan still stands, and what moves next."""
    known, other = _known(earlier, plan), moved(earlier, plan)
    of = counted(len(known), "task")
    if not other:
        return Headline(KEPT, f"{of} still to do, all as in {earlier.file}: nothing moves")
    stay = f"{len(known) - len(other)} of {of} still to do, as in {earlier.file}"
    return Headline(KEPT, f"{stay}; {len(other)} moved, next {_to(earlier, plan, other[0])}")


def _to(earlier: EarlierPlan, plan: Plan, task: PlannedTask) -> str:
    kept = earlier.kept
    return moved_to(task, kept.starts[task.id], kept.hands.get(task.id, {}), plan.timezone)
