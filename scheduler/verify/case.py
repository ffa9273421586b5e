"""A plan laid beside its job, for the verifier's rules to look at."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from scheduler.model import Actual, End, Job, Link, Plan, PlannedTask, State, Task
from scheduler.verify.clocks import in_words
from scheduler.verify.stages import Reach, reach


@dataclass(frozen=True)
class Breach:
    """One rule that a plan breaks.

    Args:
        rule: its short name, the same for every breach of that rule.
        task: the task that breaks it; None where it is the plan as a whole.
        text: what is wrong, in words and local time.
    """

    rule: str
    task: str | None
    text: str

    def __str__(self) -> str:
        return f"{self.rule}: {self.text}"


@dataclass(frozen=True)
class Case:
    """A plan and the job it claims to be a plan of.

    Rules look only at tasks that both know; that the two lists agree is a rule of its own.
    ``beside`` are the plans of other jobs that may have the same people.
    """

    job: Job
    plan: Plan
    _reaches: dict[tuple[str, str], Reach] = field(default_factory=dict)
    beside: "tuple[Case, ...]" = ()

    @cached_property
    def placed(self) -> Mapping[str, PlannedTask]:
        """The first placing of every task that the job knows."""
        return {p.id: p for p in reversed(self.plan.tasks) if p.id in self.job.task}

    @cached_property
    def pairs(self) -> tuple[tuple[Task, PlannedTask], ...]:
        """Each task with its placing, in the order of the file."""
        return tuple((t, self.placed[t.id]) for t in self.job.tasks if t.id in self.placed)

    @cached_property
    def now(self) -> int:
        """The moment before which nothing open is placed."""
        return self.job.start if self.job.past is None else self.job.past.now

    def known(self, task_id: str) -> Actual:
        """What was logged of a task."""
        return Actual() if self.job.past is None else self.job.past.actual.get(task_id, Actual())

    def state(self, task_id: str) -> State:
        """How far a task is: what failed has neither start nor finish, and is open again."""
        known = self.known(task_id)
        if known.finished is not None:
            return "done"
        return "open" if known.started is None else "running"

    def is_open(self, task_id: str) -> bool:
        """Whether a task is still to be placed; what is done or running is a fact."""
        return self.state(task_id) == "open"

    @cached_property
    def open(self) -> tuple[tuple[Task, PlannedTask], ...]:
        """``pairs`` without what is done or running."""
        return tuple((task, placed) for task, placed in self.pairs if self.is_open(task.id))

    @cached_property
    def binding(self) -> tuple[tuple[Link, PlannedTask, PlannedTask], ...]:
        """``links`` without those to what is done or running: facts are facts."""
        return tuple(each for each in self.links if self.is_open(each[2].id))

    def to_come(self, task: Task, placed: PlannedTask) -> Iterator[tuple[int, int]]:
        """The minutes in which a task happens for which there are still rules.

        What is running and may not split is taken to go on without looking up.
        """
        if self.is_open(task.id):
            yield from minutes_of(placed)
        elif self.state(task.id) == "running" and task.split and task.work:
            for start, end in sound_sessions(placed):
                if end > self.now:
                    yield max(start, self.now), end

    @cached_property
    def links(self) -> tuple[tuple[Link, PlannedTask, PlannedTask], ...]:
        """Each link with the placed task it comes from and the one it leads to."""
        return tuple(
            (link, self.placed[link.task], placed)
            for task, placed in self.pairs
            for link in task.after
            if link.task in self.placed
        )

    def reach(self, task_id: str, stage: str) -> Reach:
        """When what a placed task applied reaches a stage."""
        if (task_id, stage) not in self._reaches:
            task = self.job.task[task_id]
            product = self.job.product_of(task)
            assert product is not None, "a job that validates has stages of products only"
            self._reaches[task_id, stage] = reach(
                product.stage(stage),
                self.job.air_of(task.room),
                self.job.timezone,
                self.placed[task_id].finish,
                self.job.start,
            )
        return self._reaches[task_id, stage]

    def is_told(self, *task_ids: str) -> bool:
        """Whether a warning names all of these tasks, by name or id."""
        names = [(_letters(self.job.task[key].name) or key, key) for key in task_ids]
        warnings = [_letters(text) for text in self.plan.warnings]
        return any(all(n in text or k in text for n, k in names) for text in warnings)

    def when(self, minute: float) -> str:
        """A moment in local words, or "never"."""
        if math.isinf(minute):
            return "never"
        return in_words(math.ceil(minute), self.job.timezone)


def _letters(text: str) -> str:
    """A text without its spaces and what can't be seen, so that it is found however it is set."""
    return "".join(char for char in text if char.isprintable() and not char.isspace())


Rule = Callable[[Case], Iterator[Breach]]
"""One rule: tells what in a plan breaks it."""


def end_of(placed: PlannedTask, end: End) -> int:
    """The start or the finish of a placed task."""
    return placed.start if end == "start" else placed.finish


def sound_sessions(placed: PlannedTask) -> Iterator[tuple[int, int]]:
    """The sessions that run forwards; the others are a breach of their own."""
    return (session for session in placed.sessions if session[0] < session[1])


def minutes_of(placed: PlannedTask) -> Iterator[tuple[int, int]]:
    """The minutes in which a task happens: its sessions; where it takes no time, its minute."""
    if not placed.sessions:
        yield placed.start, placed.start + 1
    yield from sound_sessions(placed)


def span_in_words(minutes: int) -> str:
    """A length of time for a person: ``25 h 05 min``.

    >>> span_in_words(1505), span_in_words(45), span_in_words(-90)
    ('25 h 05 min', '45 min', '-1 h 30 min')
    """
    sign, (hours, rest) = "-" if minutes < 0 else "", divmod(abs(minutes), 60)
    return f"{sign}{hours} h {rest:02} min" if hours else f"{sign}{rest} min"
