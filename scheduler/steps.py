"""A task compiled: when it may be worked on, and what links it to others, as monotone maps."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property, lru_cache
from typing import Protocol

from scheduler.clock import day_end, day_of, day_start
from scheduler.hours import NEVER, NOWHEN, Spans, intersect, spans, subtract
from scheduler.model import Actual, End, Link, ReasonKind, State, Task, Way
from scheduler.progress import ANSWERS, Ready


class Lag(Protocol):
    """A monotone map from the earliest moment of one end to that of another."""

    def after(self, minute: int, /) -> int:
        """The earliest moment that follows from ``minute``."""

    def before(self, minute: int, /) -> int:
        """The latest moment from which no more than ``minute`` follows."""


@dataclass(frozen=True)
class Offset:
    """A fixed number of elapsed minutes, negative for a lead or a window."""

    minutes: int

    def after(self, minute: int) -> int:
        """``minutes`` later."""
        return min(minute + self.minutes, NEVER)

    def before(self, minute: int) -> int:
        """``minutes`` earlier."""
        return minute - self.minutes


@dataclass(frozen=True)
class Morning:
    """What comes no sooner than on the day of another end; which day that is changes at midnight.

    A start belongs to the day of its minute, a finish to that of the minute before: ``of`` and
    ``to`` are 1 where that is the end counted from and to, else 0.
    """

    zone: str
    of: int
    to: int

    def after(self, minute: int) -> int:
        """The first moment of ``to`` on the day of ``minute``."""
        if minute >= NEVER:
            return NEVER
        return day_start(day_of(minute - self.of, self.zone), self.zone) + self.to

    def before(self, minute: int) -> int:
        """The last moment of ``of`` on the day of ``minute``."""
        return day_end(day_of(minute - self.to, self.zone), self.zone) - 1 + self.of


@dataclass(frozen=True)
class Hold:
    """A person held by a task of another job, from ``start`` to ``end``.

    ``job`` is that job's name; ``task`` and ``name`` are the task's.
    """

    who: str
    job: str
    task: str
    name: str
    start: int
    end: int


@dataclass(frozen=True)
class Step:
    """A task compiled: when it may be worked on, and the four maps between its start and finish.

    ``present`` are the minutes in which all of its people are in their hours; ``workable`` those
    of them in which the air is within the product's limits; ``starts`` the minutes at which it may
    start so that it can be finished, too, and of those only the ones in ``only``, if given, at
    which none of its people is held ``elsewhere`` before it is finished. ``short`` are minutes of
    their hours that are none for it, since somebody who wants notice can't be had so soon.
    """

    index: int
    task: Task
    present: Spans
    workable: Spans
    only: Spans | None = None
    elsewhere: tuple[Hold, ...] = ()
    short: Spans = NOWHEN

    @property
    def state(self) -> State:
        """How far the task is."""
        return "open"

    @property
    def ways(self) -> "tuple[Step, ...]":
        """The ways to do it; itself where there is no choice."""
        return (self,)

    def numbered(self, index: int) -> "Step":
        """The same at another place."""
        return replace(self, index=index)

    def within(self, only: Spans) -> "Step":
        """The same, started in some minutes only."""
        both = only if self.only is None else intersect(self.only, only)
        narrower = replace(self, only=both)
        vars(narrower)["starts"] = intersect(self.starts, only)  # the rest of them is known
        return narrower

    @cached_property
    def hands(self) -> Mapping[str, int]:
        """How many of each person it holds from its start to its finish; a milestone, nobody."""
        return self.task.hands if self.task.work else {}

    @property
    def load(self) -> int:
        """The minutes of their hours that it takes of each pair of hands."""
        return self.task.work

    @property
    def not_before(self) -> int:
        """The first minute that its own date allows."""
        return -NEVER if self.task.not_before is None else self.task.not_before

    @property
    def deadline(self) -> int:
        """The minute by which it must be finished."""
        return NEVER if self.task.must_finish_by is None else self.task.must_finish_by

    @cached_property
    def starts(self) -> Spans:
        """The minutes at which the task may start."""
        if self.elsewhere:
            shut_out = spans(self._shut_out(*span) for span in self.held)
            return subtract(self.unheld.starts, shut_out)
        starts = self._finishing()
        return starts if self.only is None else intersect(starts, self.only)

    def _shut_out(self, start: int, end: int) -> tuple[int, int]:
        """The starts at which the task would hold somebody who is held elsewhere in a span."""
        before = self.unheld.last_start(start)
        return max(before, -NEVER) + 1, end

    @cached_property
    def held(self) -> Spans:
        """The minutes in which other jobs hold one of its people."""
        return spans((hold.start, hold.end) for hold in self.elsewhere)

    def held_by(self, elsewhere: tuple[Hold, ...], bare: "Step") -> "Step":
        """The same while other jobs hold some of its people; ``bare`` is it when they don't."""
        step = replace(self, elsewhere=elsewhere)
        vars(step)["unheld"] = bare
        return step

    @cached_property
    def unheld(self) -> "Step":
        """The same with its people never held elsewhere."""
        return replace(self, elsewhere=()) if self.elsewhere else self

    @cached_property
    def busy(self) -> Spans:
        """The minutes of its people's hours in which other jobs hold one of them."""
        return intersect(self.present, self.held)

    @cached_property
    def bad_air(self) -> Spans:
        """The minutes of its people's hours in which the air is beyond the product's limits."""
        return subtract(self.present, self.workable)

    @cached_property
    def free(self) -> Spans:
        """The workable minutes in which no other job holds its people."""
        return subtract(self.workable, self.busy)

    def _finishing(self) -> Spans:
        work, free = self.task.work, self.workable
        if work == 0:
            return free
        if self.task.split:
            return intersect(free, spans([(-NEVER, free.minute(free.total - work) + 1)]))
        long = [(start, end - work + 1) for start, end in free if end - start >= work]
        return Spans(tuple(start for start, _ in long), tuple(end for _, end in long))

    @cached_property
    def unbroken(self) -> bool:
        """Whether it takes its work and no longer, whenever it starts."""
        return not self.task.work or not self.task.split or len(self.workable.starts) == 1

    def first(self, minute: int) -> int:
        """The first start at or after ``minute``; ``NEVER`` if none."""
        return self.starts.next(minute)

    def finish(self, start: int) -> int:
        """The finish of a start: the end of the last worked minute."""
        return start + self.task.work if self.unbroken else self._finishes(start)

    def last_finish(self, start: int) -> int:
        """The last finish of what starts no later than ``start``, itself a start."""
        return self.finish(start)

    def last_start(self, finish: int) -> int:
        """The last start whose finish is at or before ``finish``; ``-NEVER`` if none."""
        if self.unbroken:
            return self.starts.last(finish - self.task.work)
        return self._last_starts(finish)

    @cached_property
    def _finishes(self) -> Callable[[int], int]:
        """The finishes of a step that may run on past its people's hours."""
        free, work = self.workable, self.task.work
        return lru_cache(ANSWERS)(lambda start: free.end_of(start, work))

    @cached_property
    def _last_starts(self) -> Callable[[int], int]:
        """Its last starts."""
        free, starts, work = self.workable, self.starts, self.task.work
        return lru_cache(ANSWERS)(lambda finish: starts.last(free.start_of(finish, work)))

    def first_start(self, finish: int) -> int:
        """The first start whose finish is at or after ``finish``; ``NEVER`` if none."""
        work = self.task.work
        if self.unbroken:
            return self.first(finish - work)
        return self.first(self.workable.minute(max(self.workable.count(finish - 1) - work + 1, 0)))

    def sessions(self, start: int) -> tuple[tuple[int, int], ...]:
        """The spans worked when it starts at ``start``; a milestone has none."""
        if self.task.work == 0:
            return ()
        return self.workable.within(start, self.finish(start))


@dataclass(frozen=True, kw_only=True)
class Begun(Step):
    """A task done or running: its start is a fact, and so is its finish, or it follows from that.

    Dates that a file gives it bind it no more.

    Args:
        begun: its start.
        end: its finish; ``NEVER`` where the hours left don't bring it.
        parts: the spans in which it is worked on.
        state: done or running.
        hands: how many of each person it still holds.
        load: the minutes of their hours that it still takes.
        overdue: whether it should be done by now, and nobody said so.
    """

    begun: int
    end: int
    parts: tuple[tuple[int, int], ...]
    state: State = "done"
    hands: Mapping[str, int] = field(default_factory=dict)
    load: int = 0
    overdue: bool = False

    @property
    def not_before(self) -> int:
        """No date holds it any more."""
        return -NEVER

    @property
    def deadline(self) -> int:
        """No date holds it any more."""
        return NEVER

    def _finishing(self) -> Spans:
        return spans([(self.begun, self.begun + 1)] if self.end < NEVER else [])

    def finish(self, start: int) -> int:
        """The finish, whatever the start."""
        return self.end

    def last_start(self, finish: int) -> int:
        """The start, if it is finished by ``finish``; else ``-NEVER``."""
        return self.begun if self.end <= finish else -NEVER

    def first_start(self, finish: int) -> int:
        """The start, if it is not finished before ``finish``; else ``NEVER``."""
        return self.begun if self.end >= finish else NEVER

    def sessions(self, start: int) -> tuple[tuple[int, int], ...]:
        """The spans in which it was worked on, and will be."""
        return self.parts


@dataclass(frozen=True, kw_only=True)
class Choice(Step):
    """A task that can be done in several ways, as far as they have it in common.

    Its maps are bounds that hold whichever way is taken: ``finish`` is the first that a start at
    that minute or later can have, ``first_start`` the first start with which it need not be over
    before. Its ``task`` takes the least work, and only those hands that every way takes.
    """

    ways: tuple[Step, ...] = ()

    def numbered(self, index: int) -> "Step":
        """The same at another place."""
        ways = tuple(way.numbered(index) for way in self.ways)
        return replace(self, index=index, ways=ways)

    def within(self, only: Spans) -> "Step":
        """The same, started in some minutes only."""
        return replace(self, ways=tuple(way.within(only) for way in self.ways))

    @cached_property
    def starts(self) -> Spans:
        """The minutes at which it may start in some way."""
        return spans(span for way in self.ways for span in way.starts)

    @property
    def load(self) -> int:
        """The least that it takes."""
        return min(way.load for way in self.ways)

    def finish(self, start: int) -> int:
        """The first finish of what starts at that minute or later; ``NEVER`` if none."""
        firsts = ((way, way.first(start)) for way in self.ways)
        return min((way.finish(at) for way, at in firsts if at < NEVER), default=NEVER)

    def last_finish(self, start: int) -> int:
        """The last finish of what starts no later than ``start``; ``-NEVER`` if none."""
        lasts = ((way, way.starts.last(start)) for way in self.ways)
        return max((way.finish(at) for way, at in lasts if at > -NEVER), default=-NEVER)

    def last_start(self, finish: int) -> int:
        """The last start with which it may be over by ``finish``; ``-NEVER`` if none."""
        return max(way.last_start(finish) for way in self.ways)

    def first_start(self, finish: int) -> int:
        """The first start with which it may be over at ``finish`` or later; ``NEVER`` if none."""
        return min(way.first_start(finish) for way in self.ways)


def choice(ways: Sequence[Step]) -> Choice:
    """The ways to do a task as one step."""
    one, *others = (way.task for way in ways)
    hands = {who: min(n, *(task.hands.get(who, 0) for task in others))
             for who, n in one.hands.items()}  # fmt: skip
    in_common = replace(
        one,
        work=min(way.task.work for way in ways),
        who=tuple(who for who, n in hands.items() if n),
        several=tuple((who, n) for who, n in hands.items() if n > 1),
        ways=tuple(
            Way(task.work, task.who, task.several, task.work_range) for task in (one, *others)
        ),
    )
    present = spans(span for way in ways for span in way.present)
    workable = spans(span for way in ways for span in way.workable)
    return Choice(ways[0].index, in_common, present, workable, ways=tuple(ways))


STILL_TO_GO = 15
"""Minutes supposed to be left of a task whose time is up, where nobody said that it is done."""


def begun(step: Step, known: Actual, now: int) -> Begun:
    """A task done or running, as it was logged.

    What is running goes on from ``now`` with the work that the workable minutes since its start
    have left; what may not split is taken to have gone on since its start.
    """
    if known.finished is None:
        return _running(step, known, now)
    start, end = known.started or known.finished, known.finished
    return Begun(
        step.index, step.task, step.present, step.workable,
        begun=start, end=end, parts=_came(step, start, end),
    )  # fmt: skip


def _running(step: Step, known: Actual, now: int) -> Begun:
    assert known.started is not None  # else it is open
    start, free = known.started, step.workable
    gone_on = step.task.work == 0 or not step.task.split
    left = step.task.work - (now - start if gone_on else free.count(now) - free.count(start))
    to_go = left if left > 0 else STILL_TO_GO
    end = now + to_go if gone_on else min(free.minute(free.count(now) + to_go - 1) + 1, NEVER)
    past = [(start, min(start + step.task.work, now))] if gone_on else _since(step, start, now)
    rest = [(now, end)] if gone_on else free.within(now, end)
    return Begun(
        step.index, step.task, step.present, step.workable,
        state="running", begun=start, end=end, parts=tuple(spans([*past, *rest])),
        hands=step.hands, load=_held(step, now, end), overdue=left <= 0,
    )  # fmt: skip


def _came(step: Step, start: int, end: int) -> tuple[tuple[int, int], ...]:
    """The spans from a real start to a real finish in which it will have been worked on.

    Those of its hours; before and after them as much as is work. All of it where no hours lie
    between.
    """
    if not (hours := _hours_in(step, start, end)):
        return ((start, end),) if start < end else ()
    tail = max(hours[-1][1], end - max(step.task.work, 1)), end
    return tuple(spans([*_since(step, start, end), tail]))


def _since(step: Step, start: int, until: int) -> tuple[tuple[int, int], ...]:
    """The spans from a real start in which it will have been worked on up to a moment."""
    hours = _hours_in(step, start, until)
    opens = hours[0][0] if hours else until
    return (start, min(opens, start + max(step.task.work, 1))), *hours


def _hours_in(step: Step, start: int, end: int) -> tuple[tuple[int, int], ...]:
    """Its workable minutes; those of its people alone where the air let nobody work."""
    return step.workable.within(start, end) or step.present.within(start, end)


def _held(step: Step, now: int, end: int) -> int:
    """How much of its people's hours a running task still takes [min]."""
    return step.present.count(end) - step.present.count(now) if step.hands else 0


@dataclass(frozen=True)
class Arc:
    """``to`` of step ``after`` comes no earlier than ``lag`` after ``of`` of step ``before``."""

    before: int
    of: End
    after: int
    to: End
    lag: Lag
    kind: ReasonKind
    link: Link | None = None
    stage: str | None = None
    who: str | None = None

    @property
    def backward(self) -> bool:
        """Whether it may hold a step because of one that comes after it."""
        return self.kind in {"window", "visits"}

    @property
    def in_sequence(self) -> bool:
        """Whether the later step can't start before the earlier is done."""
        return (self.of, self.to) == ("finish", "start") and self.lag.after(0) >= 0


@dataclass(frozen=True)
class Limit:
    """On how many days somebody may come in a job, and for how much work at the least.

    Args:
        who: the person.
        steps: the steps of the job that may need them.
        at_most: the days; None for any number.
        least: the work on each of them but the last, of all hands together [min].
        sure: the local days on which they come anyway, which nothing is asked of.
    """

    who: str
    steps: tuple[int, ...]
    at_most: int | None
    least: int
    sure: frozenset[date]

    @property
    def left(self) -> int:
        """On how many more days they may come."""
        return NEVER if self.at_most is None else max(self.at_most - len(self.sure), 0)


@dataclass(frozen=True)
class Closure:
    """While ``by`` runs and until its product reaches ``stage``, none of ``others`` may run."""

    by: int
    others: tuple[int, ...]
    lag: Ready
    stage: str
    kind: ReasonKind
