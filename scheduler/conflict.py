"""No plan is an answer too: a smallest set of rules that cannot all hold, in words.

The rules that could give are listed; each can be lifted from a job, which gives a plainer job.
What can't be lifted (that work takes its time, that a task follows another) is background. The
smallest set is found by halving (QuickXplain, Junker 2004), asking of plainer jobs whether they can
be planned. Rules are tried in an order that blames windows and dates before hours, and hours before
what a product needs.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from scheduler.errors import ThenwaitError
from scheduler.model import Job
from scheduler.network import networks
from scheduler.rules import Rule, rules_of
from scheduler.solve import Effort, Unsolved, any_plan

_EFFORT = Effort(tries=20, finish=3.0)


@dataclass(frozen=True)
class Conflict:
    """Rules that cannot all hold; without any one of them the others can.

    ``smallest`` is false where the search could not show that for every one of them.
    """

    rules: tuple[Rule, ...]
    smallest: bool = True


class NoPlan(ThenwaitError):
    """No plan can exist; says which rules cannot all hold, and what would have to give."""

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
    able = _Oracle(job)
    if able(able.rules):
        return Conflict((), smallest=False)
    found = _smallest(able, (), able.rules, changed=False)
    return Conflict(tuple(r for r in able.rules if r in found), smallest=not able.unsure)


def kept(job: Job, keep: Collection[Rule], rules: Sequence[Rule]) -> Job:
    """The job with only those of its ``rules`` that are in ``keep``; the others are lifted."""
    for rule in rules:
        if rule not in keep:
            job = rule.lift(job)
    return job


class _Oracle:
    """Whether a job with some of its rules can be planned."""

    def __init__(self, job: Job) -> None:
        self.job, self.rules, self.unsure = job, tuple(rules_of(job)), False

    def __call__(self, rules: Sequence[Rule]) -> bool:
        answer = can_be_planned(kept(self.job, rules, self.rules))
        if answer is None:
            self.unsure = True
        return answer is not False


def can_be_planned(job: Job) -> bool | None:
    """Whether a job has a plan at all; None where the search can't tell."""
    for network in networks(job):
        try:
            any_plan(network, _EFFORT)
        except Unsolved as unsolved:
            if unsolved.final:
                return False if unsolved.proven else None
        else:
            return True
    return False


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
