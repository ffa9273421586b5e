"""A task asked to start at a minute, every other task being where the plan has it.

Each rule is two things: the first start at or after a minute that it lets pass (a monotone map, so
that rules together are a fixpoint), and what it says of the start asked for.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from scheduler.clock import day_of
from scheduler.hours import NEVER, Spans, spans
from scheduler.model import End, Job, Plan, Task
from scheduler.network import Network
from scheduler.passes import latest_start, point
from scheduler.ready.verdict import Finding, FindingKind
from scheduler.steps import Arc, Hold, Step
from scheduler.wording import dated, in_quotes, moment, tidy

First = Callable[[int], int]
"""The first start at or after a minute that a rule lets pass; ``NEVER`` if none."""


@dataclass(frozen=True)
class Rule:
    """A rule for the start of a task; without a finding where it goes without saying."""

    first: First
    finding: Finding | None = None


@dataclass(frozen=True)
class Block:
    """No start strictly between two minutes, because of tasks that are on from ``start``.

    ``by`` are the names of these, quoted.
    """

    after: int
    before: int
    by: tuple[str, ...]
    start: int

    def holds(self, minute: int) -> bool:
        """Whether it forbids a start at that minute."""
        return self.after < minute < self.before


@dataclass(frozen=True)
class Case:
    """The question: ``step`` at ``at``.

    ``elsewhere`` is where other jobs have people of this one, and how many of them.
    """

    job: Job
    network: Network
    plan: Plan
    step: Step
    at: int
    elsewhere: Sequence[tuple[Hold, int]] = ()

    @property
    def me(self) -> int:
        """The index of the task asked for."""
        return self.step.index

    @property
    def task(self) -> Task:
        """The task asked for."""
        return self.step.task

    @cached_property
    def finish(self) -> int:
        """When it would be done if it started as asked; ``NEVER`` or later if never."""
        return self.step.finish(self.at)

    def span(self, other: int) -> tuple[int, int]:
        """Start and finish of another step, as planned."""
        placed = self.plan.task[self.network.steps[other].task.id]
        return placed.start, placed.finish

    def end(self, other: int, end: End) -> int:
        """One end of another step, as planned; what is not logged by now has not happened."""
        planned = self.span(other)[end == "finish"]
        return planned if self.happened(other, end) else max(planned, self.job.now + 1)

    def happened(self, other: int, end: End) -> bool:
        """Whether that end of another step is a fact; all is as planned where nothing is logged."""
        known = self.job.actual(self.network.steps[other].task.id)
        at = known.started if end == "start" else known.finished
        return self.job.past is None or at is not None

    def name(self, other: int) -> str:
        """The quoted name of a step's task."""
        return in_quotes(self.network.steps[other].task)

    def when(self, minute: int, *, ends: bool = False) -> str:
        """A moment in words, only the time where it is on the day asked for."""
        if abs(minute) >= NEVER:
            return "never"
        zone = self.job.timezone
        seen = day_of(self.at, zone)
        if day_of(minute - ends, zone) == seen:
            return moment(minute, zone, seen, ends=ends)
        return dated(minute, zone, ends=ends)

    def last_start(self, end: End, by: int) -> int:
        """The last start with that end of the task at or before ``by``, workable or not."""
        if end == "start" or self.task.work == 0:
            return by
        return self.step.last_start(by) if self.task.split else by - self.task.work

    def block(self, other: int, since: int, until: int, start: int) -> Block:
        """No overlap with ``[since, until)``, where the plan has another step.

        What follows this task is in nobody's way once this start itself puts it off.
        """
        before = min(until, self._keeps(other) + 1)
        return Block(self.last_start("finish", since), before, (self.name(other),), start)

    def block_elsewhere(self, hold: Hold, since: int, until: int) -> Block:
        """No overlap with ``[since, until)``, where another job has somebody; it stays there."""
        name = f"'{tidy(hold.name)}' of {tidy(hold.job)}"
        return Block(self.last_start("finish", since), until, (name,), since)

    @cached_property
    def _into(self) -> list[list[Arc]]:
        """The links that lead to each step."""
        into: list[list[Arc]] = [[] for _ in self.network.steps]
        for arc in self.network.arcs:
            if arc.kind != "window":
                into[arc.after].append(arc)
        return into

    def _keeps(self, other: int) -> int:
        """The last start that lets another step be where it is; ``NEVER`` if it does not follow."""
        steps, late = self.network.steps, {other: self.span(other)[0]}
        for j in reversed(self.network.order):
            for arc in self._into[j] if j in late else ():
                bound = arc.lag.before(point(steps[j], arc.to, late[j]))
                start = latest_start(steps[arc.before], arc.of, bound)
                late[arc.before] = min(start, late.get(arc.before, NEVER))
        return late.get(self.me, NEVER)

    def rule(
        self, kind: FindingKind, first: First, *, good: str, bad: str, until: int | None = None
    ) -> Rule:
        """A rule with its finding for the start asked for.

        Args:
            kind: what rule.
            first: the first start it lets pass.
            good: what it says where it lets the task start.
            bad: what it says where it does not.
            until: how long the good lasts [UTC min].
        """
        opens = first(self.at)
        if opens == self.at:
            return Rule(first, Finding(kind, True, good, until))
        return Rule(first, Finding(kind, False, bad, None if opens >= NEVER else opens))


def end_of(free: Spans, minute: int) -> int:
    """The end of the span that holds the minute, or of the next one."""
    i = bisect_right(free.ends, minute)
    return free.ends[i] if i < len(free.ends) else NEVER


def out_of(blocks: Iterable[Block]) -> First:
    """The first start at or after a minute that none of the blocks forbids."""
    forbidden = spans((block.after + 1, block.before) for block in blocks)
    return lambda minute: end_of(forbidden, minute) if minute in forbidden else minute


def ahead(case: Case, blocks: Iterable[Block]) -> Block | None:
    """The next block that a start after the one asked for would meet."""
    return min((b for b in blocks if b.after >= case.at), key=lambda b: b.after, default=None)
