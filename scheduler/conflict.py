"""No plan is an answer too: a smallest set of rules that cannot all hold, in words.

The rules that could give are listed; each can be lifted from a job, which gives a plainer job.
What can't be lifted (that work takes its time, that a task follows another) is background. The
smallest set is found by halving (QuickXplain, Junker 2004), asking of plainer jobs whether they can
be planned. Rules are tried in an order that blames windows and dates before hours, and hours before
what a product needs.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from scheduler.anyplan import Unsolved, any_plan
from scheduler.errors import ThenwaitError
from scheduler.model import Job
from scheduler.network import networks
from scheduler.parts import job_part
from scheduler.rules import Rule, rules_of

_TRIES = 20
"""Orders tried for a plan of a plainer job."""

_EFFORT = 3.0
"""The constraint solver's deterministic time for one of its parts."""


@dataclass(frozen=True)
class Conflict:
    """Rules that cannot all hold; without any one of them the others can.

    ``smallest`` is false where the search could not show that for every one of them.
    """

    rules: tuple[Rule, ...]
    smallest: bool = True


class NoPlan(ThenwaitError):
    """No plan can exist; says which rules cannot all hold, and what would have to give."""

    prose = True

    def __init__(self, conflict: Conflict) -> None:
        self.conflict = conflict
        super().__init__(told(conflict))


def told(conflict: Conflict) -> str:
    """A conflict in words, a rule a line."""
    rules = conflict.rules
    if not rules:
        return "no plan was found in the effort allowed, and no rule could be shown to prevent one"
    alone = len(rules) == 1
    lead = "this rule cannot be kept" if alone else "these rules cannot all be kept"
    give = "It would have to give" if alone else "One of them would have to give"
    return "\n".join(
        [f"no plan is possible: {lead}:"]
        + [f"  - {rule.text}" for rule in rules]
        + [f"{give}:"]
        + [f"  - {rule.way_out}" for rule in rules]
        + ([] if conflict.smallest else ["Fewer of them may be enough; the search stopped there."])
    )


def conflict(job: Job) -> Conflict:
    """A smallest set of rules of the job that cannot all hold; empty if none is found."""
    rules, answer = tuple(rules_of(job)), planned(job)
    if answer.able is not False:
        return Conflict((), smallest=False)
    alone = answer.part or job.task
    near = _Oracle(job, rules, alone)
    found = _smallest(near, (), near.rules, changed=False)
    return _needed(_Oracle(job, rules, job.task), found or near.rules)


def _needed(able: "_Oracle", found: Sequence[Rule]) -> Conflict:
    """Of rules found in a part of the job, those that the whole job needs for a conflict.

    Starts again with all that the part has, where a search that couldn't tell had left one out.
    """
    smallest = True
    for rule in reversed(found):
        fewer = tuple(kept for kept in found if kept != rule)
        answer = able.answer(fewer)
        if answer is False:
            found = fewer
        smallest = smallest and answer is not None
    return Conflict(tuple(found), smallest)


def kept(job: Job, keep: Collection[Rule], rules: Sequence[Rule]) -> Job:
    """The job with only those of its ``rules`` that are in ``keep``; the others are lifted."""
    for rule in rules:
        if rule not in keep:
            job = rule.lift(job)
    return job


class _Oracle:
    """Whether some tasks of a job can be planned, with only some of its rules."""

    def __init__(self, job: Job, rules: Sequence[Rule], tasks: Collection[str]) -> None:
        self.job, self.tasks = job, tasks
        alone = job_part(job, tasks)
        self.rules = tuple(rule for rule in rules if job_part(rule.lift(job), tasks) != alone)
        self._answers: dict[frozenset[tuple[str, tuple[str, ...]]], bool | None] = {}

    def __call__(self, rules: Sequence[Rule]) -> bool:
        return self.answer(rules) is not False

    def answer(self, rules: Sequence[Rule]) -> bool | None:
        """Whether the tasks can be planned with those rules; None where the search can't tell."""
        key = frozenset((rule.kind, rule.of) for rule in rules)
        if key not in self._answers:
            plainer = kept(self.job, rules, self.rules)
            self._answers[key] = can_be_planned(job_part(plainer, self.tasks))
        return self._answers[key]


@dataclass(frozen=True)
class Answer:
    """Whether a job has a plan, None where the search can't tell; ``part`` are tasks without."""

    able: bool | None
    part: tuple[str, ...] = ()


def can_be_planned(job: Job) -> bool | None:
    """Whether a job has a plan at all; None where the search can't tell."""
    return planned(job).able


def planned(job: Job) -> Answer:
    """Whether a job has a plan at all, and which tasks have none."""
    answer = Answer(None)
    for network in networks(job):
        try:
            any_plan(network, _TRIES, _EFFORT)
        except Unsolved as unsolved:
            answer = Answer(False if unsolved.proven else None, unsolved.part)
            if unsolved.final:
                break
        else:
            return Answer(True)
    return answer


def _smallest(
    able: _Oracle, background: Sequence[Rule], rules: Sequence[Rule], *, changed: bool
) -> tuple[Rule, ...]:
    """The smallest part of ``rules`` that conflicts with ``background`` (which alone does not)."""
    if changed and not able(background):
        return ()
    if len(rules) <= 1:
        return tuple(rules)
    half = len(rules) // 2
    first, second = rules[:half], rules[half:]
    in_second = _smallest(able, (*background, *first), second, changed=True)
    in_first = _smallest(able, (*background, *in_second), first, changed=bool(in_second))
    return (*in_first, *in_second)
