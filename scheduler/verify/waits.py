"""The verifier's rules about the waits that a plan lists."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduler.model import End, Link, PlannedTask, Wait
from scheduler.verify.case import Breach, Case, Rule, end_of
from scheduler.verify.windows import is_called_out
from scheduler.verify.working import last_start


@dataclass(frozen=True)
class _Due:
    """What a listed wait should say; ``closes`` when its window may close: from, to, or never."""

    product: str | None
    start: int
    earliest: float
    latest: float
    label: int
    to: End = "start"
    closes: tuple[tuple[int, int] | None, ...] = (None,)


def _waits(case: Case) -> Iterator[Breach]:
    """Each listed wait is one the job asks for, and its moments are right."""
    for wait in case.plan.waits:
        dues = list(_dues(case, wait))
        faults = [_faults(case, wait, due) for due in dues]
        if not dues:
            yield Breach("waits", wait.task, f"{_title(wait)}: nothing in the job asks for it")
        elif all(faults):
            yield Breach("waits", wait.task, f"{_title(wait)}: {'; '.join(faults[0])}")


def _dues(case: Case, wait: Wait) -> Iterator[_Due]:
    """Everything in the job that a listed wait can stand for."""
    if wait.task not in case.placed:
        return
    if wait.for_task is None:
        product = case.job.product_of(case.job.task[wait.task])
        opens = set() if product is None else {product.closes, product.dust_shy}
        if wait.stage is not None and wait.stage in opens:
            yield _stage_due(case, wait.task, wait.stage)
    for link, before, after in case.links:
        if (before.id, link.stage, after.id) == (wait.task, wait.stage, wait.for_task):
            yield _link_due(case, link, before, after)


def _stage_due(case: Case, task_id: str, stage: str) -> _Due:
    product = case.job.product_of(case.job.task[task_id])
    assert product is not None, "a job that validates has stages of products only"
    reach, label = case.reach(task_id, stage), product.stage(stage).minutes
    return _Due(product.id, case.placed[task_id].finish, reach.earliest, reach.latest, label)


def _link_due(case: Case, link: Link, before: PlannedTask, after: PlannedTask) -> _Due:
    closes = _closes(case, link, before, after)
    if link.stage is not None:
        return replace(_stage_due(case, before.id, link.stage), to=link.to, closes=closes)
    origin = end_of(before, link.of)
    wait = max(link.wait, 0)  # an overlap is nothing to wait for
    return _Due(None, origin, origin + wait, origin + wait, wait, link.to, closes)


def _closes(
    case: Case, link: Link, before: PlannedTask, after: PlannedTask
) -> tuple[tuple[int, int] | None, ...]:
    """The last moment to start a task so that the end linked is in its window; None for never.

    Two moments, as far as air on the edge of its limits leaves it open how long the task takes. A
    window that was lifted and called out never closes.
    """
    if link.within is None:
        return (None,)
    lifted = (None,) if is_called_out(case, link, after.id) else ()
    end = end_of(before, link.of) + link.within
    if link.to == "start":
        return (end, end), *lifted
    task = case.job.task[after.id]
    early, late = (last_start(case, task, after.start, end, doubt=doubt) for doubt in (-1, 1))
    span = after.start if early is None else early, end if late is None else late
    return span, *lifted


def _faults(case: Case, wait: Wait, due: _Due) -> list[str]:
    """What is wrong with a listed wait, in words; empty when it is right."""
    faults = []
    if wait.product != due.product:
        faults.append(f"product {wait.product}, should be {due.product}")
    if wait.start != due.start:
        faults.append(f"starts {case.when(wait.start)}, should be {case.when(due.start)}")
    if not due.earliest <= wait.end <= due.latest:
        faults.append(f"ends {case.when(wait.end)}, should be {case.when(due.earliest)}")
    if wait.label_minutes != due.label:
        faults.append(f"label {wait.label_minutes} min, should be {due.label} min")
    if wait.to != due.to:
        faults.append(f"holds the {wait.to} of what waits, should hold its {due.to}")
    if not any(_closes_right(wait.close_by, closes) for closes in due.closes):
        faults.append("the last moment to start after it is wrong")
    return faults


def _closes_right(close_by: int | None, closes: tuple[int, int] | None) -> bool:
    if close_by is None or closes is None:
        return close_by is None and closes is None
    return closes[0] <= close_by <= closes[1]


def _waits_complete(case: Case) -> Iterator[Breach]:
    """Every link to a stage has its wait, once, and the wait is over when the task comes."""
    for link, before, after in case.binding:
        key = (before.id, link.stage, after.id)
        listed = [w for w in case.plan.waits if (w.task, w.stage, w.for_task) == key]
        twins = sum(1 for other, b, a in case.links if (b.id, other.stage, a.id) == key)
        if link.stage is not None and not 1 <= len(listed) <= twins:
            text = f"the wait of {after.id} for '{link.stage}' of {before.id} is listed"
            yield Breach("waits", before.id, f"{text} {len(listed)} times")
        if link.stage is not None and any(w.end > end_of(after, link.to) for w in listed):
            text = f"{after.id} comes before the end of its listed wait for '{link.stage}'"
            yield Breach("waits", after.id, text)


def _title(wait: Wait) -> str:
    what = "fixed wait" if wait.stage is None else f"'{wait.stage}'"
    return f"wait for {what} of {wait.task}" + (f", for {wait.for_task}" if wait.for_task else "")


RULES: tuple[Rule, ...] = (_waits, _waits_complete)
