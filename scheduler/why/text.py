"""Why a task starts when it does, as plain text: each step back in sentences with their dates."""

from collections.abc import Iterable, Iterator

from scheduler.chain import Spent, Stretch
from scheduler.clock import day_of
from scheduler.layout import Entry, Section, laid_out
from scheduler.model import Job, Wait
from scheduler.ready.words import air_words
from scheduler.text.summary import spent
from scheduler.why.account import Account, Held
from scheduler.why.first import first
from scheduler.wording import (
    GLUE,
    READY,
    counted,
    crew,
    dated,
    duration,
    in_quotes,
    listed,
    moment,
    title,
)

_LEAST_WIDTH = 20  # columns; narrower than the longest date no text can be


def why_text(account: Account, width: int) -> str:
    """The way back from a task's start, where the time went, and what would move it first.

    Args:
        account: of the task.
        width: columns; as ``text.plan_text``.
    """
    sections = (
        Section(title(account.chain[0].task), tuple(_top(account))),
        Section("STEP BY STEP BACK", tuple(_back(account))),
        Section("WHERE THAT TIME GOES", tuple(_spent(account))),
        Section("WHAT WOULD MOVE IT FIRST", tuple(_first(account))),
    )
    return laid_out((s for s in sections if s.entries), max(width, _LEAST_WIDTH))


def _top(account: Account) -> Iterator[Entry]:
    zone, task = account.job.timezone, account.task
    label = "starts" if task.state == "open" else "started"
    yield Entry(label, moment(task.start, zone))
    if task.state == "done":
        yield Entry("done", moment(task.finish, zone, ends=True))
    if account.job.past is not None:
        yield Entry("now", moment(account.job.now, zone))


def _back(account: Account) -> Iterator[Entry]:
    zone = account.job.timezone
    for n, held in enumerate(account.chain):
        why = f"{GLUE}— {held.task.because.text}" if held.task.because.text else ""
        details = (
            *_work(account, held, n), *_before(account.job, held), *_others(account.job, held)
        )  # fmt: skip
        yield Entry(dated(held.task.start, zone), f"{title(held.task)}{why}", details)


def _work(account: Account, held: Held, n: int) -> Iterator[str]:
    """What of a task's own time what comes after it waits for."""
    work, busy, off = (
        _minutes(held.within, kind) for kind in ("work", "people_busy", "outside_hours")
    )
    if work or busy:
        until = held.within[-1].end if held.within else held.task.finish
        nights = f", with {_off(held.within, account.job)} outside hours" if off else ""
        end = dated(until, account.job.timezone, ends=True)
        yield f"Work of {duration(work + busy)}{nights}, until {end}."
    if busy:
        ready = f"{in_quotes(account.chain[n - 1].task)} stands ready and waits for {_who(held)}"
        yield f"For {duration(busy)} of it {ready}."
    if air := _minutes(held.within, "air"):
        yield f"The air stops it for {duration(air)}."


def _who(held: Held) -> str:
    return listed(held.task.who) or "hands"


def _before(job: Job, held: Held) -> Iterator[str]:
    """What goes by before a task can start, in the order it does."""
    if held.wait is not None:
        yield _waited(job, held.wait)
    if _minutes(held.before, "outside_hours"):
        yield f"Outside hours of {_who(held)}: {_off(held.before, job)}."
    if air := _minutes(held.before, "air"):
        yield f"The air is out of the product's limits for {duration(air)}."
    if gone := _minutes(held.before, "dates"):
        why = "waits for its date" if job.past is None else "could have been begun, and was not"
        yield f"It {why}: {duration(gone)}."


def _waited(job: Job, wait: Wait) -> str:
    """How long a wait takes, and in what air."""
    until = dated(wait.end, job.timezone)
    if wait.product is None or wait.stage is None:
        return f"A fixed wait of {duration(wait.minutes)}, until {until}."
    stage = job.products[wait.product].stage(wait.stage)
    said = "label" if stage.basis == "owner's label" else "catalogue"
    air = air_words(job, job.air_of(job.task[wait.task].room), wait.start, wait.end)
    return (
        f"A wait of {duration(wait.minutes)} at {air} ({said} {duration(wait.label_minutes)}) until"
        f" {wait.product} is {READY[wait.stage]}, {until}."
    )


def _others(job: Job, held: Held) -> Iterator[str]:
    """Who else may do a task that is still to do."""
    ways = [way.hands for way in job.task[held.task.id].ways if way.hands != held.task.hands]
    if ways and held.task.state == "open":
        others, done_by = " or ".join(listed(crew(hands)) for hands in ways), held.task.hands
        yield f"The plan has it done by {listed(crew(done_by))}; it may be done by {others}."


def _minutes(parts: Iterable[Stretch], kind: Spent) -> int:
    return sum(part.minutes for part in parts if part.kind == kind)


def _off(parts: Iterable[Stretch], job: Job) -> str:
    """How long nobody is in hours, and how many nights that is."""
    off = [part for part in parts if part.kind == "outside_hours"]
    nights = sum(
        (day_of(part.end, job.timezone) - day_of(part.start, job.timezone)).days for part in off
    )
    length = duration(sum(part.minutes for part in off))
    return f"{length} ({counted(nights, 'night')})" if nights else length


def _spent(account: Account) -> Iterator[Entry]:
    since, until = account.since, account.task.start
    if since < until:
        whole = f"{duration(until - since)} from {_at(account, since)} to {_at(account, until)}:"
        yield Entry("", whole)
        yield from spent(account.job, account.split)


def _at(account: Account, minute: int) -> str:
    return dated(minute, account.job.timezone)


def _first(account: Account) -> Iterator[Entry]:
    found = first(account)
    if found is not None:
        yield Entry("", found.text)
