"""An independent check of a plan against the rules.

Every rule is one small function that looks at a plan laid beside its job and tells what breaks it.
This module and its three companions (``world``, ``case``, ``claims``) share no
code with what makes plans: of the whole package they import the nouns alone, and they work out
local time, hours, air and waits in their own way. A rule misunderstood in one place shows in the
other.

Labels, standards, windows, hours, people and rooms are judged to the minute; only a wait that is
integrated over the air has a tolerance (``world.TOLERANCE``).
"""

from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np

from scheduler.model import Job, Link, Person, Plan, PlannedTask, Product, Task
from scheduler.verify.case import Breach, Case, attended, end_of, sound_sessions, span_in_words
from scheduler.verify.claims import CLAIMS
from scheduler.verify.world import Flags, Reach, in_hours, may_apply, wall_clock

__all__ = ["Breach", "check"]


def check(job: Job, plan: Plan) -> tuple[Breach, ...]:
    """Everything in a plan that breaks a rule; empty for a plan that keeps them all.

    Args:
        job: a job that validates.
        plan: any plan, also one that makes no sense.

    Returns:
        The breaches, grouped by rule, tasks in the order of the file.
    """
    case = Case(job, plan)
    return tuple(breach for rule in (*PLACING, *CLAIMS) for breach in rule(case))


# What a task is, by itself ----------------------------------------------------------------------


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
        if (placed.name, placed.who, placed.room) != (task.name, task.who, task.room):
            yield Breach("tasks", task.id, f"{task.id} has another name, people or room")


def _start(case: Case) -> Iterator[Breach]:
    """Nothing is placed before the job starts."""
    for task, placed in case.pairs:
        if placed.start < case.job.start:
            text = f"{task.id} starts {case.when(placed.start)}, before the job's start"
            yield Breach("start", task.id, f"{text} {case.when(case.job.start)}")


def _dates(case: Case) -> Iterator[Breach]:
    """``not_before`` and ``must_finish_by``."""
    for task, placed in case.pairs:
        if task.not_before is not None and placed.start < task.not_before:
            text = f"{task.id} starts {case.when(placed.start)}"
            yield Breach("not before", task.id, f"{text}, before {case.when(task.not_before)}")
        if task.must_finish_by is not None and placed.finish > task.must_finish_by:
            text = f"{task.id} finishes {case.when(placed.finish)}"
            yield Breach("must finish by", task.id, f"{text}, due {case.when(task.must_finish_by)}")


def _sessions(case: Case) -> Iterator[Breach]:
    """Sessions run from the start to the finish, in order and apart; a milestone has none."""
    for task, placed in case.pairs:
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
    for task, placed in case.pairs:
        worked = sum(end - start for start, end in placed.sessions)
        if worked != task.work:
            text = f"{task.id} is worked {span_in_words(worked)}"
            yield Breach("work", task.id, f"{text} instead of {span_in_words(task.work)}")


def _one_go(case: Case) -> Iterator[Breach]:
    """What may not be split is one session."""
    for task, placed in case.pairs:
        if not task.split and len(placed.sessions) > 1:
            text = f"{task.id} must go on in one go but has {len(placed.sessions)} sessions"
            yield Breach("one go", task.id, text)


# When work can happen ---------------------------------------------------------------------------


def _hours(case: Case) -> Iterator[Breach]:
    """Work happens in the hours of everybody who does it."""
    for task, placed in case.pairs:
        for first, last in attended(task, placed):
            for who in task.who:
                out = ~in_hours(case.job.people[who], case.job.timezone, first, last)
                if out.any():
                    text = f"{task.id}: {who} has no hours {_when_out(case, out, first)}"
                    yield Breach("hours", task.id, text)


def _air(case: Case) -> Iterator[Breach]:
    """A product is applied in air within its limits."""
    for task, placed in case.pairs:
        if (product := case.job.product_of(task)) is None:
            continue
        for first, last in attended(task, placed):
            out = ~_air_allows(case, task, product, first, last, doubt=1)
            if out.any():
                text = f"{task.id}: the air is out of the limits of {product.id}"
                yield Breach("air", task.id, f"{text} {_when_out(case, out, first)}")


def _idle(case: Case) -> Iterator[Breach]:
    """Work that was begun uses every workable minute until it is done."""
    for task, placed in case.pairs:
        for (_, first), (last, _) in pairwise(sound_sessions(placed)):
            if first < last and (idle := _surely_workable(case, task, first, last)).any():
                text = f"{task.id} rests in minutes that could be worked"
                yield Breach("idle", task.id, f"{text} {_when_out(case, idle, first)}")


def _surely_workable(case: Case, task: Task, first: int, last: int) -> Flags:
    fine = np.ones(last - first, dtype=np.bool_)
    for who in task.who:
        fine &= in_hours(case.job.people[who], case.job.timezone, first, last)
    if (product := case.job.product_of(task)) is not None:
        fine &= _air_allows(case, task, product, first, last, doubt=-1)
    return fine


def _air_allows(  # noqa: PLR0913 (a span of a task, and which way to doubt)
    case: Case, task: Task, product: Product, first: int, last: int, *, doubt: int
) -> Flags:
    clock = wall_clock(case.job.timezone, first, last)
    return may_apply(product.limits, case.job.air_of(task.room), clock, doubt=doubt)


def _when_out(case: Case, out: Flags, first: int) -> str:
    """The first run of flagged minutes, in words."""
    start = int(np.argmax(out))
    end = start + int(np.argmin(out[start:])) if not out[start:].all() else len(out)
    return f"from {case.when(first + start)} to {case.when(first + end)}"


def _people(case: Case) -> Iterator[Breach]:
    """Nobody is on more tasks at a time than there are of them, nights in a task included."""
    for who, person in case.job.people.items():
        holding = [p for t, p in case.pairs if who in t.who and t.work > 0]
        for placed in holding:
            # The number on the go can only rise at a start, so starts are where to count.
            others = [
                p for p in holding if p.start <= placed.start < p.finish and p.id != placed.id
            ]
            if len(others) + 1 > person.count:
                yield _too_many(case, person, placed, others)


def _too_many(case: Case, person: Person, placed: PlannedTask, on: list[PlannedTask]) -> Breach:
    text = f"{placed.id} starts {case.when(placed.start)} while {person.id} is still on"
    many = f" (there are {person.count})" if person.count > 1 else ""
    return Breach("people", placed.id, f"{text} {', '.join(p.id for p in on)}{many}")


# What tasks ask of each other -------------------------------------------------------------------


def _links(case: Case) -> Iterator[Breach]:
    """A task comes its wait after the other one, or when what that one applied is ready."""
    for link, before, after in case.links:
        moment = end_of(after, link.to)
        if link.stage is not None:
            yield from _stage(case, link, after, case.reach(before.id, link.stage))
        elif moment < end_of(before, link.of) + link.wait:
            due = case.when(end_of(before, link.of) + link.wait)
            text = f"{after.id}: {link.to} {case.when(moment)}, but {span_in_words(link.wait)}"
            yield Breach("link", after.id, f"{text} after the {link.of} of {before.id} is {due}")


def _stage(case: Case, link: Link, after: PlannedTask, due: Reach) -> Iterator[Breach]:
    """Names what holds longest: the air, the label's minimum, or the standard's."""
    moment = end_of(after, link.to)
    if moment >= due.earliest:
        return
    rule = "stage"
    if due.earliest == due.standard:
        rule = "standard"
    elif due.earliest == due.label:
        rule = "label"
    text = f"{after.id}: {link.to} {case.when(moment)}, but '{link.stage}' of {link.task} comes"
    yield Breach(rule, after.id, f"{text} {case.when(due.earliest)}")


def _windows(case: Case) -> Iterator[Breach]:
    """A task comes within its window; the window never stretches."""
    for link, before, after in case.links:
        gap = end_of(after, link.to) - end_of(before, link.of)
        if link.within is not None and gap > link.within:
            text = f"{after.id}: {link.to} {span_in_words(gap)} after the {link.of} of {before.id}"
            yield Breach("window", after.id, f"{text}, at most {span_in_words(link.within)}")


def _rooms(case: Case) -> Iterator[Breach]:
    """Nobody works in a closed room."""
    for task, placed in case.pairs:
        product = case.job.product_of(task)
        if task.room is not None and product is not None and product.closes is not None:
            opens = case.reach(task.id, product.closes).earliest
            for other in _meeting(case, task, placed.start, opens):
                text = f"{other.id} is in {task.room}, which {task.id} closes until"
                yield Breach("room", other.id, f"{text} {case.when(opens)}")


def _dust(case: Case) -> Iterator[Breach]:
    """No dust on a fresh surface."""
    for task, placed in case.pairs:
        product = case.job.product_of(task)
        if task.room is not None and product is not None and product.dust_shy is not None:
            until = case.reach(task.id, product.dust_shy).earliest
            for other in _meeting(case, task, placed.start, until):
                if other.dusty:
                    text = f"{other.id} raises dust in {task.room} while {task.id} is fresh, until"
                    yield Breach("dust", other.id, f"{text} {case.when(until)}")


def _meeting(case: Case, task: Task, start: int, end: float) -> Iterator[Task]:
    """The other tasks in the same room that overlap ``[start, end)``; milestones inside it."""
    for other, placed in case.pairs:
        apart = placed.start >= end or placed.finish <= start
        if other.room == task.room and other.id != task.id and not apart:
            yield other


PLACING: tuple[Callable[[Case], Iterator[Breach]], ...] = (
    _tasks,
    _start,
    _dates,
    _sessions,
    _work,
    _one_go,
    _hours,
    _air,
    _idle,
    _people,
    _links,
    _windows,
    _rooms,
    _dust,
)
"""The rules about where tasks are placed; ``CLAIMS`` are those about what a plan says of itself."""
