"""What levers work on, and why some win nothing: read off the two plans."""

from collections.abc import Iterator
from itertools import pairwise

from scheduler.faster.lever import Lever, drives, on_chain
from scheduler.hours import hours_of, spans, subtract
from scheduler.model import Job, Plan, Wait
from scheduler.wording import READY, counted, dated, duration, in_quotes, listed

_MOST = 2  # things told of a lever

_TIME = {
    "waiting": "setting and drying",
    "outside_hours": "hours in which nobody works",
    "people_busy": "people busy elsewhere",
    "room_closed": "rooms that are closed",
    "air": "air out of the products' limits",
    "dates": "dates in the file",
    "work": "work",
}


def gained(
    job: Job, base: Plan, edited: Job, plan: Plan, levers: tuple[Lever, ...]
) -> Iterator[str]:
    """What the levers work on, in sentences; when all is done where there is no more to be said."""
    told = [*_shorter(job, base, plan, levers)] if plan.finish < base.finish else []
    told += _added_hours(job, edited, plan, levers)
    told += (note for lever in levers for note in lever.notes)
    yield from told or (f"With it all is done {dated(plan.finish, plan.timezone, ends=True)}.",)


def _shorter(job: Job, base: Plan, plan: Plan, levers: tuple[Lever, ...]) -> Iterator[str]:
    """The waits on the driving chain that became shorter the most."""
    both = [(before, after) for before, after in _same_waits(job, base, plan, levers)
            if before.for_task in base.chain and after.minutes < before.minutes]  # fmt: skip
    both.sort(key=lambda pair: pair[1].minutes - pair[0].minutes)
    for before, after in both[:_MOST]:
        yield (
            f"{_stage(job, before)} {duration(after.minutes)} after it is done instead of"
            f" {duration(before.minutes)}."
        )


def _same_waits(
    job: Job, base: Plan, plan: Plan, levers: tuple[Lever, ...]
) -> Iterator[tuple[Wait, Wait]]:
    """Each wait that levers can work on, in the plan as it is and with them."""
    after = {_key(wait): wait for wait in plan.waits}
    for wait in base.waits:
        cured = any(lever.cures(job.task[wait.task]) for lever in levers)
        if wait.product is not None and cured and _key(wait) in after:
            yield wait, after[_key(wait)]


def _key(wait: Wait) -> tuple[str, str | None, str | None]:
    return wait.task, wait.stage, wait.for_task


def _stage(job: Job, wait: Wait) -> str:
    return f"{in_quotes(job.task[wait.task])} is {READY[wait.stage or 'set']}"


def _added_hours(job: Job, edited: Job, plan: Plan, levers: tuple[Lever, ...]) -> Iterator[str]:
    """How much is worked in hours that were none before, and on what."""
    for who in sorted({person for lever in levers for person in lever.people}):
        old = hours_of(job.people[who], job.timezone, job.start, plan.finish)
        worked = {
            task.id: subtract(spans(task.sessions), old).total
            for task in plan.tasks
            if who in edited.task[task.id].who and task.state != "done"
        }
        used = sorted((t for t in worked if worked[t]), key=lambda t: -worked[t])
        if used:
            names = listed(in_quotes(job.task[task]) for task in used[:_MOST])
            more = f" and {counted(len(used) - _MOST, 'more task')}" if len(used) > _MOST else ""
            yield f"Uses {duration(sum(worked.values()))} of the added time, for {names}{more}."


def nothing_gained(
    job: Job, base: Plan, edited: Job, plan: Plan, levers: tuple[Lever, ...]
) -> Iterator[str]:
    """Why the levers don't bring the finish forward, in a sentence or two."""
    (lever, *_) = levers
    if plan.finish > base.finish:
        yield from _slower(job, base, plan, levers)
        return
    if not drives(job, base, lever):
        yield f"{_nothing_of(lever)} drives the finish: {_mostly(base)}."
        return
    if (stuck := _stuck(job, base, plan, levers)) is not None:
        yield stuck
        return
    yield next(_held(job, base, plan, lever), f"The finish hangs on other things: {_mostly(base)}.")


def _nothing_of(lever: Lever) -> str:
    if lever.people:
        return f"No task of {listed(sorted(lever.people))}"
    return "Nothing that sets or dries there" if lever.rooms else "Nothing that it works on"


def _held(job: Job, base: Plan, plan: Plan, lever: Lever) -> Iterator[str]:
    """What holds the tasks of the chain that a lever works on."""
    yield from _as_long(job, base, plan, lever)
    for task in reversed(on_chain(job, base)):
        placed = plan.task[task.id]
        held = placed.state == "open" and placed.start == base.task[task.id].start
        if held and lever.touches(task) and not lever.cures(task):
            yield f"{_still(job, plan, task.id)}."


def _slower(job: Job, base: Plan, plan: Plan, levers: tuple[Lever, ...]) -> Iterator[str]:
    longer = [(before, after) for before, after in _same_waits(job, base, plan, levers)
              if after.minutes > before.minutes]  # fmt: skip
    longer.sort(key=lambda pair: pair[0].minutes - pair[1].minutes)
    yield f"It would be {duration(plan.finish - base.finish)} later."
    for before, after in longer[:1]:
        yield (
            f"{_stage(job, before)} only {duration(after.minutes)} after it is done instead of"
            f" {duration(before.minutes)}."
        )
        if job.products[before.product or ""].stage(before.stage or "").law == "moisture-cure":
            yield "It cures with moisture from the air: the machine would have to be off for it."


def _mostly(plan: Plan) -> str:
    """What most of the time to the finish is, work left out."""
    split = {key: getattr(plan.where_time_goes, key) for key in _TIME if key != "work"}
    most = max(split, key=lambda key: split[key])
    return f"most of the time to it is {_TIME[most]}, {duration(split[most])}"


def _stuck(job: Job, base: Plan, plan: Plan, levers: tuple[Lever, ...]) -> str | None:
    """The first task of the chain that starts as before though levers let it start sooner."""
    for before, task in pairwise(base.chain):
        if plan.task[task].start != base.task[task].start:
            continue
        if gain := _sooner(job, base, plan, levers, before, task):
            return f"{in_quotes(job.task[before])} is {gain}, but {_still(job, plan, task)}."
    return None


def _still(job: Job, plan: Plan, task: str) -> str:
    placed = plan.task[task]
    at = dated(placed.start, plan.timezone)
    return f"{in_quotes(job.task[task])} still starts {at}: {placed.because.text}"


def _sooner(  # noqa: PLR0913, PLR0917 (two plans, and the place on their chain)
    job: Job, base: Plan, plan: Plan, levers: tuple[Lever, ...], before: str, task: str
) -> str:
    """What levers brought forward of a task and its wait for the next one; empty for nothing."""
    for was, becomes in _same_waits(job, base, plan, levers):
        shorter = becomes.minutes < was.minutes and becomes.end < was.end
        if (was.task, was.for_task) == (before, task) and shorter:
            return f"ready {duration(was.end - becomes.end)} sooner"
    done = job.task[before]
    gain = base.task[before].finish - plan.task[before].finish
    worked_on = any(lever.touches(done) and not lever.cures(done) for lever in levers)
    return f"done {duration(gain)} sooner" if gain > 0 and worked_on else ""


def _as_long(job: Job, base: Plan, plan: Plan, lever: Lever) -> Iterator[str]:
    """Where all waits of the chain stay as long as they were: the label, the law, the class."""
    chain = {*pairwise(base.chain)}
    waits = [(before, after) for before, after in _same_waits(job, base, plan, (lever,))
             if (before.task, before.for_task) in chain]  # fmt: skip
    if not waits or any(after.minutes < before.minutes for before, after in waits):
        return
    if lever.products:
        yield "It is no sooner at what the finish hangs on."
    elif all(after.minutes <= after.label_minutes for _, after in waits):
        yield "Every wait there that the finish hangs on is at its label's minimum already."
    else:
        yield "What the finish hangs on there takes its time, however dry or warm it is."
