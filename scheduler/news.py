"""What became of the first plan: how far the finish has moved, what slipped most, what moved."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.model import Job, Plan, PlannedTask
from scheduler.wording import counted, crew, dated, duration, in_quotes, listed, tidy

_NEXT = 2
"""How many of the tasks that moved are named with their times."""


@dataclass(frozen=True)
class Headline:
    """A line of the news: a word in front, and a sentence that stands by itself after it."""

    label: str
    text: str

    def __str__(self) -> str:
        return tidy(f"{self.label}: {self.text}")


def news(job: Job, first: Plan | None, plan: Plan) -> tuple[Headline, ...]:
    """What is new since the first plan, in three lines at most; one where nothing moved.

    Args:
        job: as it stands.
        first: the plan of the job's file alone; None where it has none.
        plan: made from now on.
    """
    if first is None:
        text = "the job's file alone has no plan to compare this one with"
        return (Headline("no first plan", text),)
    moved = [task for task in plan.tasks if _has_moved(first, task)]
    at = dated(plan.finish, job.timezone, ends=True)
    if not moved and plan.finish == first.finish:
        stands = f"the finish stands, {at}, and nothing that is still to do moves"
        return (Headline("on plan", stands),)
    return (
        _finish(first, plan),
        *_slipped(job, first, plan),
        *((_moved(first, plan, moved),) if moved else ()),
    )


def _has_moved(first: Plan, task: PlannedTask) -> bool:
    """Whether a task still to be done has another time, or is done by others, than at first."""
    planned = first.task[task.id]
    if task.state == "running":
        return task.finish != planned.finish
    return task.state == "open" and (task.start, task.hands) != (planned.start, planned.hands)


def _finish(first: Plan, plan: Plan) -> Headline:
    zone, late = plan.timezone, plan.finish - first.finish
    now, then = (dated(minute, zone, ends=True) for minute in (plan.finish, first.finish))
    if late == 0:
        return Headline("finish", f"as first planned, {now}")
    word = "later" if late > 0 else "earlier"
    return Headline(word, f"the finish, by {duration(abs(late))}: {now}, not {then}")


def _slipped(job: Job, first: Plan, plan: Plan) -> Iterator[Headline]:
    """The task at which most of the delay of the driving chain arises, or of any that is late."""
    if plan.finish < first.finish:
        return
    chain = [plan.task[key] for key in plan.chain]
    begun = [task for task in plan.tasks if task.state != "open"]
    added = _delays(first, chain) or {task.id: _late(first, task) for task in begun}
    most = max(added, key=added.__getitem__, default=None)
    if most is not None and added[most] > 0:
        yield Headline("slipped", _how(job, first, plan.task[most]))


def _delays(first: Plan, chain: Sequence[PlannedTask]) -> dict[str, int]:
    """How much later each task of a chain made those after it [min], as far as it did.

    Of those still open only what nothing held but that nobody began it, if there is any such.
    """
    late = {task.id: _late(first, task) for task in chain}
    added = {task.id: late[task.id] - (late[before.id] if before else 0)
             for before, task in zip((None, *chain), chain, strict=False)}  # fmt: skip
    added = {task: delay for task, delay in added.items() if delay > 0 and late[task] > 0}
    own = {task.id for task in chain if task.state != "open" or task.because.task is None}
    return {task: delay for task, delay in added.items() if task in own} or added


def _late(first: Plan, task: PlannedTask) -> int:
    """How much later it is done [min], or begun where it is still open."""
    planned = first.task[task.id]
    return task.start - planned.start if task.state == "open" else task.finish - planned.finish


def _how(job: Job, first: Plan, task: PlannedTask) -> str:
    planned, zone = first.task[task.id], first.timezone
    by = f"{in_quotes(task)}, by {duration(_late(first, task))}"
    if task.state == "open":
        failed = "" if job.actual(task.id).failed is None else "failed, "
        return f"{by}: {failed}starts {dated(task.start, zone)}, not {dated(planned.start, zone)}"
    word = "done" if task.state == "done" else "under way, done"
    at, was = (dated(minute, zone, ends=True) for minute in (task.finish, planned.finish))
    return f"{by}: {word} {at}, not {was}"


def _moved(first: Plan, plan: Plan, moved: list[PlannedTask]) -> Headline:
    """How many tasks move, and the next of them."""
    still = sum(task.state != "done" for task in plan.tasks)
    ahead = sorted((task for task in moved if task.state == "open"), key=lambda task: task.start)
    named = listed(_to(first, task) for task in ahead[:_NEXT])
    of = "all" if len(moved) == still else f"{len(moved)} of"
    count = f"{of} {counted(still, 'task')} still to do"
    return Headline("moved", f"{count}; next {named}" if named else count)


def _to(first: Plan, task: PlannedTask) -> str:
    planned = first.task[task.id]
    return moved_to(task, planned.start, planned.hands, first.timezone)


def moved_to(task: PlannedTask, start: int, hands: Mapping[str, int], zone: str) -> str:
    """When a task starts and who does it, as far as that was otherwise in an earlier plan.

    Args:
        task: as planned now.
        start: when it started there [UTC min].
        hands: how many of whom did it there; empty where that isn't known.
        zone: of the house.
    """
    said = []
    if task.start != start:
        at, was = (dated(minute, zone) for minute in (task.start, start))
        said.append(f"to {at}, not {was}")
    if hands and task.hands != hands:
        by, not_by = (listed(crew(each)) for each in (task.hands, hands))
        said.append(f"by {by}, not {not_by}")
    return f"{in_quotes(task)} {'; '.join(said)}"
