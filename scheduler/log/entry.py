"""What somebody wants to log, to the line that says it; or why it can't be meant.

Facts are facts: what came in another order than planned is logged and only remarked on. Refused is
what can't have been: a task done before it was started, a state that the log has otherwise.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler import quantities
from scheduler.clock import DAY
from scheduler.errors import BadInput, did_you_mean
from scheduler.log.folding import Standing, subject
from scheduler.log.lines import EVENTS, Line, Said, Undone, Unread
from scheduler.log.words import named, on_site, place, state, what
from scheduler.model import Event, EventKind, Job, Reading, Task
from scheduler.wording import listed
from scheduler.yamlform.tree import quoted

OF_TASKS: tuple[str, ...] = ("started", "done", "passed", "failed", "undone")
OF_PRODUCTS: tuple[str, ...] = ("delivered", "undelivered")
_EARLY = 90 * DAY  # so long before its start nothing of a job has happened: a slip of the year
_DRIEST = 0.01  # an instrument that shows less is broken


@dataclass(frozen=True)
class Asked:
    """What somebody typed after the job, with the moments that it means.

    Args:
        words: a task or product and its state, or ``air`` and what the instrument shows.
        now: the present moment [UTC min].
        at: when it was; None where nobody said, so that it is now.
        until: the last reading to take back, from ``at`` on.
        room: of a reading.
        note: for people.
    """

    words: tuple[str, ...]
    now: int
    at: int | None = None
    until: int | None = None
    room: str | None = None
    note: str = ""

    @property
    def minute(self) -> int:
        """When it was."""
        return self.now if self.at is None else self.at


class Already(Exception):
    """The log says so already; in words."""


def said(asked: Asked, job: Job, standing: Standing) -> Said:
    """What the line will say.

    Raises:
        Already: there is nothing to write.
        BadInput: it can't be meant, with what would be right.
    """
    _check_moment(asked, job)
    if _is_of_air(asked, job):
        return _of_air(asked, job, standing)
    if asked.room is not None or asked.until is not None:
        option = "--until" if asked.room is None else "--room"
        raise BadInput(f"{option} goes with air only, as in: thenwait log JOB air 68 F 55 %")
    name, verb = _name_and_verb(asked)
    if verb in {"undone", "undelivered"}:
        return _undone(asked, job, standing, name, verb)
    if verb == "delivered":
        return _delivered(asked, job, standing, name)
    return _happened(asked, job, standing, name, next(kind for kind in EVENTS if kind == verb))


def _check_moment(asked: Asked, job: Job) -> None:
    zone = job.timezone
    for option, minute in (("--at", asked.at), ("--until", asked.until)):
        if minute is not None and minute > asked.now:
            raise BadInput(
                f"{option} must be a moment that has passed; {on_site(minute, zone)} is still to "
                f"come, for now is {on_site(asked.now, zone)}"
            )
    if too_early(asked.minute, job):
        raise BadInput(
            f"{on_site(asked.minute, zone)} is long before the job's start, "
            f"{on_site(job.start, zone)}; if it was then, give the job an earlier 'start'"
        )


def too_early(minute: int, job: Job) -> bool:
    """Whether nothing of the job can have happened by then."""
    return minute < job.start - _EARLY


# ------------------------------------------------------------------------ tasks and products


def _name_and_verb(asked: Asked) -> tuple[str, str]:
    name, *rest = asked.words
    verbs = (*OF_TASKS, *OF_PRODUCTS)
    verb = " ".join(rest).lower()
    if verb not in verbs:
        hint = did_you_mean(verb, verbs) if len(verb) < 100 else ""
        found = f"found {quoted(' '.join(rest))}" if rest else "nothing is there"
        raise BadInput(f"after {quoted(name)} must come one of {', '.join(verbs)} ({found}){hint}")
    return name, verb


def _undone(asked: Asked, job: Job, standing: Standing, name: str, verb: str) -> Undone:
    if asked.at is not None:
        raise BadInput(
            f"'{verb}' takes no --at: it takes back all that was logged of '{name}'; then log "
            "anew what is right"
        )
    of_task, of_product = standing.of(("task", name)), standing.of(("delivery", name))
    delivery = verb == "undelivered" or (name not in job.task and not of_task)
    if not (of_product if delivery else of_task):
        if name not in {*job.task, *_goods(job)}:
            raise _unknown(name, (*job.task, *_goods(job)), "task or product")
        raise Already(f"nothing is logged of '{name}'")
    return Undone(asked.now, name, delivery)


def _delivered(asked: Asked, job: Job, standing: Standing, name: str) -> Event:
    if name in _goods(job):
        return _of_product(asked, job, standing, name)
    if name in job.task and job.task[name].delivers:
        return _happened(asked, job, standing, name, "done")
    if name in job.task:
        raise BadInput(f"'{name}' is a task that delivers nothing, so it is done, not delivered")
    raise _unknown(name, _goods(job), "product or goods")


def _of_product(asked: Asked, job: Job, standing: Standing, name: str) -> Event:
    before = standing.of(("delivery", name))
    if before:
        _check_same(asked, job, before[-1])
    bringing = [task.id for task in job.tasks if name in task.delivers]
    still = [each for each in bringing if "done" not in standing.attempt(each)]
    if len(bringing) > 1 and still:
        raise BadInput(
            f"{listed(bringing)} deliver '{name}': log the one that came, as in: "
            f"thenwait log JOB {still[0]} done"
        )
    return Event(asked.minute, "delivered", name, asked.note)


def _happened(asked: Asked, job: Job, standing: Standing, name: str, kind: EventKind) -> Event:
    task = _task(job, name, kind)
    known = standing.attempt(name)
    if kind in known:
        _check_same(asked, job, known[kind])
    if kind == "done" and "passed" in known:
        raise Already(f"{named(job, name)} is logged as passed already, so it is done")
    _check_order(asked, job, task, kind, known)
    if kind == "failed" and not known and _failed_then(standing, name, asked.minute):
        raise Already(f"{named(job, name)} is logged as failed then already")
    return Event(asked.minute, kind, name, asked.note)


def _task(job: Job, name: str, kind: EventKind) -> Task:
    if name not in job.task and name in _goods(job):
        raise BadInput(f"'{name}' is no task; a product or goods can be delivered, not {kind}")
    if name not in job.task:
        raise _unknown(name, job.task, "task")
    task = job.task[name]
    if kind in {"passed", "failed"} and not task.hold:
        raise BadInput(
            f"'{name}' is no hold point, so it can be started and done, not {kind}; if it is a "
            "test or an inspection, give it 'hold: yes' in the job file"
        )
    return task


def _unknown(name: str, known: Iterable[str], kind: str) -> BadInput:
    names = [*known]
    near = did_you_mean(name, names) if len(name) < 100 else ""
    there = f"; there are {', '.join(names)}" if names else "; the job has none"
    return BadInput(f"no {kind} {quoted(name)}{near or there}")


def _check_same(asked: Asked, job: Job, line: Line) -> None:
    """The same twice is no mistake; the same at another time is one of them."""
    since = f"{what(job, line.said)} is logged already, {on_site(line.at, job.timezone)}"
    if asked.at in {None, line.at}:
        raise Already(since)
    kind, of = subject(line.said)
    undo = "undelivered" if kind == "delivery" else "undone"
    raise BadInput(f"{since}; if that is wrong, take it back first: thenwait log JOB {of} {undo}")


def _check_order(
    asked: Asked, job: Job, task: Task, kind: EventKind, known: dict[EventKind, Line]
) -> None:
    started, done = known.get("started"), known.get("done") or known.get("passed")
    name, zone = named(job, task.id), job.timezone
    undo = f"take that back first: thenwait log JOB {task.id} undone"
    if kind == "started" and done and asked.minute > done.at:
        raise BadInput(
            f"{name} is done since {on_site(done.at, zone)}, so it can't have been started after "
            f"that; to do it again, {undo}"
        )
    if kind != "started" and started and asked.minute < started.at:
        raise BadInput(
            f"{name} was started {on_site(started.at, zone)}, so it can't have been {kind} "
            f"{on_site(asked.minute, zone)}; if the start is wrong, {undo}"
        )


def _failed_then(standing: Standing, task: str, minute: int) -> bool:
    lines = standing.of(("task", task))
    return any(line.said.kind == "failed" and line.at == minute
               for line in lines if isinstance(line.said, Event))  # fmt: skip


def _goods(job: Job) -> tuple[str, ...]:
    return (*job.products, *job.goods)


# ------------------------------------------------------------------------------------- air


def _is_of_air(asked: Asked, job: Job) -> bool:
    """Whether the words are of air, and not of a task that is called so."""
    first, *rest = asked.words
    of_task = "air" in job.task and len(rest) == 1 and rest[0].lower() in OF_TASKS
    takes_back = rest == ["undone"] and asked.at is not None
    return first.lower() == "air" and (takes_back or not of_task)


def _of_air(asked: Asked, job: Job, standing: Standing) -> Reading | Unread:
    check_room(asked.room, job)
    if [word.lower() for word in asked.words[1:]] == ["undone"]:
        return _unread(asked, job, standing)
    if asked.until is not None:
        raise BadInput("--until goes with 'air undone' only: a reading is of one moment")
    reading = _reading(asked)
    before = standing.log.readings
    if reading in before:
        raise Already(
            f"the air of {place(asked.room)} is logged as {state(job, reading)} already, "
            f"{on_site(reading.at, job.timezone)}"
        )
    return reading


def check_room(room: str | None, job: Job) -> None:
    """Refuse a room that the job does not have."""
    if room is not None and room not in job.rooms:
        raise _unknown(room, job.rooms, "room")


def _reading(asked: Asked) -> Reading:
    text = " ".join(asked.words[1:])
    try:
        warm, damp = quantities.reading(text)
    except ValueError as error:
        raise BadInput(f"air must be {error} (found {quoted(text)})") from None
    if damp is not None and damp < _DRIEST:
        raise BadInput(f"air must be a relative humidity from 1 % to 100 % (found {quoted(text)})")
    return Reading(asked.minute, asked.room, warm, damp)


def _unread(asked: Asked, job: Job, standing: Standing) -> Unread:
    if asked.at is None:
        raise BadInput("'air undone' needs --at, the moment of the reading to take back")
    last = asked.at if asked.until is None else asked.until
    if last < asked.at:
        raise BadInput("--until must not be before --at")
    gone = Unread(asked.room, asked.at, last)
    if any(_lies_in(line, gone) for line in standing.of(("air", asked.room))):
        return gone
    if any(_lies_in(line, gone) for line, _ in standing.undone):
        raise Already(f"the air of {place(asked.room)} then is taken back already")
    raise BadInput(f"no air of {place(asked.room)} is logged then{_nearest(job, standing, gone)}")


def _lies_in(line: Line, span: Unread) -> bool:
    read = line.said
    return isinstance(read, Reading) and read.room == span.room and (
        span.first <= read.at <= span.last
    )  # fmt: skip


def _nearest(job: Job, standing: Standing, span: Unread) -> str:
    readings = standing.of(("air", span.room))
    if not readings:
        rooms = sorted({line.said.room or "" for line in standing.readings
                        if isinstance(line.said, Reading)})  # fmt: skip
        named_rooms = [room for room in rooms if room]
        return f"; there is some with --room {' or '.join(named_rooms)}" if named_rooms else ""
    nearest = min(readings, key=lambda line: abs(line.at - span.first))
    return f"; the nearest reading is of {on_site(nearest.at, job.timezone)}"
