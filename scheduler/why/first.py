"""What would move a task's start first: the largest part of the time before it, and what that is.

It is where to look, not a promise: what else holds the task may hold it then. Trying things is
what ``scheduler.faster`` does.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from scheduler.chain import Spent, Stretch
from scheduler.laws import LAWS
from scheduler.model import Job, Wait
from scheduler.text.summary import SPENT, UNUSED
from scheduler.why.account import Account, Held
from scheduler.wording import READY, dated, duration, in_quotes, listed


@dataclass(frozen=True)
class First:
    """The largest part of the time, the task that most of it goes into, and what to do about it.

    Args:
        kind: what the time goes into.
        minutes: how much of it there is in all [min].
        held: the task of the chain that most of that goes into.
        own: how much of it that is [min].
        text: what would move the start, in a sentence.
    """

    kind: Spent
    minutes: int
    held: Held
    own: int
    text: str


def first(account: Account) -> First | None:
    """The largest part of the time before a task; None where no time goes by."""
    minutes = _sums((part.kind, part) for part in account.parts)
    if not minutes:
        return None
    kind = max(minutes, key=minutes.__getitem__)
    own = {held.task.id: sum(p.minutes for p in _of(held, kind)) for held in account.chain}
    held = max(account.chain, key=lambda held: own[held.task.id])
    words = SPENT if account.job.past is None else SPENT | {"dates": UNUSED}
    largest = f"The largest part is {words[kind]}, {duration(minutes[kind])}"
    share = "" if own[held.task.id] == minutes[kind] else f" ({duration(own[held.task.id])} of it)"
    text = f"{largest}: look first at {_WHAT[kind](account.job, held)}{share}."
    return First(kind, minutes[kind], held, own[held.task.id], text)


def _sums(parts: Iterable[tuple[Spent, Stretch]]) -> dict[Spent, int]:
    sums: dict[Spent, int] = {}
    for key, part in parts:
        sums[key] = sums.get(key, 0) + part.minutes
    return sums


def _of(held: Held, kind: Spent) -> tuple[Stretch, ...]:
    return tuple(part for part in (*held.before, *held.within) if part.kind == kind)


def _work(job: Job, held: Held) -> str:
    return f"another pair of hands for {in_quotes(held.task)}, the longest work there"


def _waiting(job: Job, held: Held) -> str:
    wait = held.wait
    if wait is None or wait.product is None or wait.stage is None:
        return f"what {in_quotes(held.task)} waits for by a fixed time"
    what = f"until {in_quotes(job.task[wait.task])} is {READY[wait.stage]}"
    return f"{_quicker(job, wait)} {what}"


def _quicker(job: Job, wait: Wait) -> str:
    """What makes a wait shorter: the air that its law likes, down to the label, or the product."""
    law = LAWS[job.products[wait.product or ""].stage(wait.stage or "").law]
    if wait.minutes <= wait.label_minutes or not law.affected_by_air:
        return f"a faster product than {wait.product}, as air does no more for the wait"
    air = "damper" if law.likes_damp else "warmer" if law.name == "hydration" else "warmer or drier"
    where = job.task[wait.task].room
    return f"{air} air{f' in {where}' if where else ''}, or a faster product, for the wait"


def _outside_hours(job: Job, held: Held) -> str:
    longest = max(_of(held, "outside_hours"), key=lambda part: part.minutes)
    who = listed(held.task.who) or "somebody"
    since, until = (dated(minute, job.timezone) for minute in (longest.start, longest.end))
    between = f"between {since} and {until}"
    if held.task.because.kind == "trip":
        return f"one more day of {who} {between}, ahead of {in_quotes(held.task)}"
    return f"hours of {who} {between}, for {in_quotes(held.task)}"


def _people_busy(job: Job, held: Held) -> str:
    who = listed(held.task.who)
    return f"somebody else to do {in_quotes(held.task)}, which keeps {who} from what is ready"


def _room_closed(job: Job, held: Held) -> str:
    by = in_quotes(job.task[held.wait.task] if held.wait else held.task)
    return f"the room that {by} keeps closed to {in_quotes(held.task)}"


def _air(job: Job, held: Held) -> str:
    where = held.task.room or "the room"
    return f"the air in {where}, out of the product's limits for {in_quotes(held.task)}"


def _dates(job: Job, held: Held) -> str:
    if job.past is None:
        return f"the date that {in_quotes(held.task)} waits for"
    return f"hours that {in_quotes(held.task)} could have been done in"


_WHAT: Mapping[Spent, Callable[[Job, Held], str]] = {
    "work": _work,
    "waiting": _waiting,
    "outside_hours": _outside_hours,
    "people_busy": _people_busy,
    "room_closed": _room_closed,
    "air": _air,
    "dates": _dates,
}
