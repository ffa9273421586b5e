"""The verifier's rules about what a plan says of itself: waits, finish, visits, floats, reasons."""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import get_args

from scheduler.model import Link, PlannedTask, Reason, ReasonKind, Wait
from scheduler.verify.case import Breach, Case, attended, end_of, span_in_words
from scheduler.verify.world import local_days

# Waits ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Due:
    """What a listed wait should say; ``free_close`` where no single last start exists."""

    product: str | None
    start: int
    earliest: float
    latest: float
    label: int
    close_by: int | None = None
    free_close: bool = False


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
            yield _link_due(case, link, before)


def _stage_due(case: Case, task_id: str, stage: str) -> _Due:
    product = case.job.product_of(case.job.task[task_id])
    assert product is not None, "a job that validates has stages of products only"
    reach, label = case.reach(task_id, stage), product.stage(stage).minutes
    return _Due(product.id, case.placed[task_id].finish, reach.earliest, reach.latest, label)


def _link_due(case: Case, link: Link, before: PlannedTask) -> _Due:
    origin = end_of(before, link.of)
    close_by = None if link.within is None else origin + link.within
    if link.stage is None:
        wait = max(link.wait, 0)  # an overlap is nothing to wait for
        end = origin + wait
        return _Due(None, origin, end, end, wait, close_by, link.to == "finish")
    due = _stage_due(case, before.id, link.stage)
    return _Due(**{**asdict(due), "close_by": close_by, "free_close": link.to == "finish"})


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
    if wait.close_by != due.close_by and not due.free_close:
        faults.append("the last moment to start after it is wrong")
    return faults


def _waits_complete(case: Case) -> Iterator[Breach]:
    """Every link to a stage has its wait, once, and the wait is over when the task comes."""
    for link, before, after in case.links:
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


# Figures ----------------------------------------------------------------------------------------


def _job(case: Case) -> Iterator[Breach]:
    """The plan is of this job."""
    job, plan = case.job, case.plan
    if (plan.job, plan.timezone, plan.start) != (job.name, job.timezone, job.start):
        yield Breach("job", None, "the plan has another name, time zone or start than the job")


def _finish(case: Case) -> Iterator[Breach]:
    """The plan finishes with its last task."""
    last = max((p.finish for p in case.plan.tasks), default=case.job.start)
    if case.plan.finish != last:
        text = f"the plan says it finishes {case.when(case.plan.finish)}"
        yield Breach("finish", None, f"{text}, but its last task does so {case.when(last)}")


def _bound(case: Case) -> Iterator[Breach]:
    """A bound is no later than the finish, and a proof is a bound that meets it."""
    plan = case.plan
    if not plan.start <= plan.finish_bound <= plan.finish:
        yield Breach("bound", None, "the earliest possible finish is not from start to finish")
    elif plan.proven_earliest and plan.finish_bound != plan.finish:
        yield Breach("bound", None, "the finish is called proven, but the bound is earlier")


def _visits(case: Case) -> Iterator[Breach]:
    """Visits are the local days for which each person comes, and no fewer than their bound."""
    visits = {
        (who, day)
        for task, placed in case.pairs
        for span in attended(task, placed)
        for day in local_days(case.job.timezone, *span)
        for who in task.who
    }
    if case.plan.visits != len(visits):
        text = f"the plan counts {case.plan.visits} visits, there are {len(visits)}"
        yield Breach("visits", None, text)
    if not 0 <= case.plan.visits_bound <= case.plan.visits:
        yield Breach("visits", None, "the least number of visits is above the number of visits")


def _time_split(case: Case) -> Iterator[Breach]:
    """Where the time goes: no part is negative, and together they are the whole."""
    parts: dict[str, int] = asdict(case.plan.where_time_goes)
    for part, minutes in parts.items():
        if minutes < 0:
            yield Breach("time", None, f"{part} takes {span_in_words(minutes)}")
    whole = case.plan.finish - case.plan.start
    if sum(parts.values()) != whole:
        text = f"the parts of the time are {span_in_words(sum(parts.values()))} together"
        yield Breach("time", None, f"{text}, the whole is {span_in_words(whole)}")


def _floats(case: Case) -> Iterator[Breach]:
    """Floats are what the latest dates leave, and nest: free in total in logic."""
    for task, placed in case.pairs:
        wrong = {
            "its float is not latest start less start": (
                placed.float_minutes != placed.latest_start - placed.start
            ),
            "its float is negative": placed.float_minutes < 0,
            "its free float is not from 0 to its float": (
                not 0 <= placed.free_float_minutes <= placed.float_minutes
            ),
            "its logic float is less than its float": (
                placed.logic_float_minutes < placed.float_minutes
            ),
            "its latest finish is not from its finish to the plan's": (
                not placed.finish <= placed.latest_finish <= case.plan.finish
            ),
            "its work does not fit between its latest dates": (
                placed.latest_finish - placed.latest_start < task.work
            ),
        }
        for text in (text for text, is_wrong in wrong.items() if is_wrong):
            yield Breach("floats", task.id, f"{task.id}: {text}")


def _critical(case: Case) -> Iterator[Breach]:
    """Critical is what has no float."""
    for task, placed in case.pairs:
        if placed.critical != (placed.float_minutes == 0):
            text = "critical, with float" if placed.critical else "not critical, without float"
            yield Breach("critical", task.id, f"{task.id} is called {text}")


# Reasons ----------------------------------------------------------------------------------------


def _because(case: Case) -> Iterator[Breach]:
    """Every start has a reason that can be one."""
    for _, placed in case.pairs:
        for text in _implausible(case, placed, placed.because):
            yield Breach("because", placed.id, f"{placed.id}: {text}")


def _implausible(case: Case, placed: PlannedTask, why: Reason) -> Iterator[str]:
    if why.kind not in get_args(ReasonKind):
        yield f"its reason is of no known kind ('{why.kind}')"
    if not why.text.strip():
        yield "its reason has no words"
    if why.task is not None and (why.task not in case.job.task or why.task == placed.id):
        yield f"its reason names '{why.task}', which is no other task"
    elif not _holds(case, placed, why):
        yield f"its reason ('{why.kind}', {why.task}, {why.stage}) is nothing the job says"


def _holds(case: Case, placed: PlannedTask, why: Reason) -> bool:
    """Whether the job has the rule that a reason speaks of."""
    task = case.job.task[placed.id]
    other = case.job.task.get(why.task or "")
    if why.kind in {"link", "stage"}:
        stage = why.stage if why.kind == "stage" else None
        return any((link.task, link.stage) == (why.task, stage) for link in task.after)
    if why.kind == "people":
        return other is not None and bool(set(task.who) & set(other.who))
    if why.kind in {"room", "dust"}:
        return task.room is not None and (other is None or other.room == task.room)
    if why.kind == "date":
        return task.not_before is not None
    return True


def _chain(case: Case) -> Iterator[Breach]:
    """The driving chain is of tasks, each once, and ends with one that finishes last."""
    chain = case.plan.chain
    if unknown := [task_id for task_id in chain if task_id not in case.placed]:
        yield Breach("chain", None, f"the driving chain names {', '.join(unknown)}: no such task")
    elif len(set(chain)) < len(chain):
        yield Breach("chain", None, "the driving chain comes twice to the same task")
    elif bool(chain) != bool(case.placed):
        yield Breach("chain", None, "the driving chain is empty")
    elif chain and case.placed[chain[-1]].finish != max(p.finish for p in case.plan.tasks):
        text = f"the driving chain ends with {chain[-1]}, which is not what finishes last"
        yield Breach("chain", chain[-1], text)


CLAIMS: tuple[Callable[[Case], Iterator[Breach]], ...] = (
    _job,
    _waits,
    _waits_complete,
    _finish,
    _bound,
    _visits,
    _time_split,
    _floats,
    _critical,
    _because,
    _chain,
)
"""Rules about a plan's claims."""
