"""How far dates, windows and fixed waits could give."""

from scheduler.clock import DAY
from scheduler.model import Job, Link, Stage, Task
from scheduler.rules import Rule, on_link, on_task
from scheduler.wayout.change import Asks, Change, Give, least_by
from scheduler.wayout.steps import earlier_moment, later_moment, longer_span, shorter_span, unit_of
from scheduler.wording import duration, glued, moment

_LATEST = 730  # days after a date that are looked at
_WIDEST = 120 * DAY  # a window that is looked at


def later_date(rule: Rule, job: Job) -> Give:
    """A later date by which a task must be finished."""
    task = job.task[rule.of[0]]
    by = _given(task.must_finish_by)

    def until(minute: int) -> Change:
        when, was = (moment(each, job.timezone, ends=True) for each in (minute, by))
        return Change(
            rule.kind, rule.of, f"let {task.name!r} finish by {when} (now {was})",
            on_task(task.id, must_finish_by=minute), rule.jobs, Asks.OWNER,
            (minute - by) / max(by - job.now, DAY), data={"was_at": by, "at": minute},
        )  # fmt: skip

    least = least_by(lambda does: later_moment(does, by, job.timezone, _LATEST), until)
    return Give(rule, least, f"No later date for {task.name!r} would be enough.")


def sooner_date(rule: Rule, job: Job) -> Give:
    """An earlier date from which a task may start."""
    task = job.task[rule.of[0]]
    since = _given(task.not_before)

    def from_(minute: int) -> Change:
        when, was = (moment(each, job.timezone) for each in (minute, since))
        return Change(
            rule.kind, rule.of, f"let {task.name!r} start from {when} on (now {was})",
            on_task(task.id, not_before=minute), rule.jobs, Asks.OTHERS,
            (since - minute) / max(since - job.now, DAY), "ask whether it can be had so soon",
            {"was_at": since, "at": minute},
        )  # fmt: skip

    least = least_by(lambda does: earlier_moment(does, since, job.timezone, job.now), from_)
    return Give(rule, least, f"No earlier date for {task.name!r} would be enough.")


def wider_window(rule: Rule, job: Job) -> Give:
    """A longer window."""
    before, task, link = _link(rule, job)
    within = _given(link.within)

    def of(minutes: int) -> Change:
        label = _label(job, before, link, minutes)
        return Change(
            rule.kind, rule.of,
            f"allow {task.name!r} within {duration(minutes)} of {before.name!r}"
            f" (now {duration(within)})",
            on_link(task.id, int(rule.of[2]), within=minutes), rule.jobs,
            Asks.LABEL if label else Asks.OWNER, (minutes - within) / max(within, 1), label,
            {"was_minutes": within, "minutes": minutes},
            wider=lambda: of((minutes // unit_of(within) + 1) * unit_of(within)),
        )  # fmt: skip

    least = least_by(lambda does: longer_span(does, within, _WIDEST), of)
    return Give(rule, least, f"No longer window for {task.name!r} would be enough.")


def _label(job: Job, before: Task, link: Link, minutes: int) -> str:
    """What to say where a window is that of the product; empty where the file alone asks for it."""
    stage = _stage(job, before, link)
    if stage is None or stage.within is None or minutes <= stage.within:
        return ""
    ready = duration(stage.minutes)
    return (
        f"the label of {before.applies} decides: if it allows that, write"
        f" '{glued(f'{stage.name}: {ready}..{duration(minutes)}')}' there"
    )


def _stage(job: Job, before: Task, link: Link) -> Stage | None:
    product = job.product_of(before)
    return None if link.stage is None or product is None else product.stage(link.stage)


def shorter_wait(rule: Rule, job: Job) -> Give:
    """A shorter fixed wait."""
    before, task, link = _link(rule, job)

    def of(minutes: int) -> Change:
        return Change(
            rule.kind, rule.of,
            f"let {task.name!r} come {duration(minutes)} after {before.name!r}"
            f" (now {duration(link.wait)})",
            on_link(task.id, int(rule.of[2]), wait=minutes), rule.jobs, Asks.LABEL,
            (link.wait - minutes) / link.wait,
            "only if what the wait is there for, a label or a code, allows it",
            {"was_minutes": link.wait, "minutes": minutes},
        )  # fmt: skip

    least = least_by(lambda does: shorter_span(does, link.wait), of)
    return Give(rule, least, f"No shorter wait of {task.name!r} would be enough.")


def in_parts(rule: Rule, job: Job) -> Give:
    """Work in parts, where it is not the product that goes on in one go."""
    task = job.task[rule.of[0]]
    product = job.product_of(task)
    if product is not None and product.one_go:
        return Give(
            rule, lambda _: None, f"That {product.id} goes on in one go, its label decides."
        )
    parts = Change(
        rule.kind, rule.of, f"do {task.name!r} in parts (split: yes)",
        on_task(task.id, split=True), rule.jobs, Asks.OWNER, 0.25,
    )  # fmt: skip
    return Give(
        rule,
        lambda able: parts if able(parts) else None,
        f"Doing {task.name!r} in parts would not be enough.",
    )


def _link(rule: Rule, job: Job) -> tuple[Task, Task, Link]:
    before, after, n = rule.of
    task = job.task[after]
    return job.task[before], task, task.after[int(n)]


def _given(minutes: int | None) -> int:
    assert minutes is not None  # else there would be no such rule
    return minutes
