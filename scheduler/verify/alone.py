"""The verifier's rules about what a task is by itself: its dates, its sessions, its work."""

from collections.abc import Iterator

from scheduler.model import PlannedTask, Task
from scheduler.verify.case import Breach, Case, Rule, span_in_words


def _tasks(case: Case) -> Iterator[Breach]:
    """Every task is placed once, in the order of the file, as the file describes it."""
    wanted, found = [t.id for t in case.job.tasks], [p.id for p in case.plan.tasks]
    for task_id in wanted:
        if found.count(task_id) != 1:
            yield Breach("tasks", task_id, f"{task_id} is placed {found.count(task_id)} times")
    for task_id in dict.fromkeys(found):
        if task_id not in wanted:
            yield Breach("tasks", task_id, f"{task_id} is placed, but the job has no such task")
    if sorted(wanted) == sorted(found) and wanted != found:
        yield Breach("tasks", None, "the tasks are not in the order of the file")
    for task, placed in case.pairs:
        if _what(placed) != _what(task):
            yield Breach("tasks", task.id, f"{task.id} has another name, people or room")


def _what(task: Task | PlannedTask) -> tuple[object, ...]:
    return task.name, task.who, task.several, task.room


def _start(case: Case) -> Iterator[Breach]:
    """Nothing is placed before the job starts."""
    for task, placed in case.pairs:
        if placed.start < case.job.start:
            text = f"{task.id} starts {case.when(placed.start)}, before the job's start"
            yield Breach("start", task.id, f"{text} {case.when(case.job.start)}")


def _dates(case: Case) -> Iterator[Breach]:
    """``not_before`` and ``must_finish_by``."""
    for task, placed in case.open:
        if task.not_before is not None and placed.start < task.not_before:
            text = f"{task.id} starts {case.when(placed.start)}"
            yield Breach("not before", task.id, f"{text}, before {case.when(task.not_before)}")
        if task.must_finish_by is not None and placed.finish > task.must_finish_by:
            text = f"{task.id} finishes {case.when(placed.finish)}"
            yield Breach("must finish by", task.id, f"{text}, due {case.when(task.must_finish_by)}")


def _sessions(case: Case) -> Iterator[Breach]:
    """Sessions run from the start to the finish, in order and apart; a milestone has none."""
    for task, placed in case.open:
        if task.work == 0:
            if placed.sessions or placed.start != placed.finish:
                yield Breach("sessions", task.id, f"{task.id} is a milestone but takes time")
            continue
        inside = [minute for session in placed.sessions for minute in session]
        if sorted(set(inside)) != inside:
            yield Breach("sessions", task.id, f"{task.id}: sessions not in order and apart")
        elif not inside or (inside[0], inside[-1]) != (placed.start, placed.finish):
            text = f"{task.id}: the sessions do not run from its start to its finish"
            yield Breach("sessions", task.id, text)


def _work(case: Case) -> Iterator[Breach]:
    """Sessions add up to the work."""
    for task, placed in case.open:
        worked = sum(end - start for start, end in placed.sessions)
        if worked != task.work:
            text = f"{task.id} is worked {span_in_words(worked)}"
            yield Breach("work", task.id, f"{text} instead of {span_in_words(task.work)}")


def _one_go(case: Case) -> Iterator[Breach]:
    """What may not be split is one session."""
    for task, placed in case.open:
        if not task.split and len(placed.sessions) > 1:
            text = f"{task.id} must go on in one go but has {len(placed.sessions)} sessions"
            yield Breach("one go", task.id, text)


RULES: tuple[Rule, ...] = (_tasks, _start, _dates, _sessions, _work, _one_go)
