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
from scheduler.errors import NoPlan
from scheduler.model import Job
from scheduler.passes import Schedule
from scheduler.rules import Rule
from scheduler.site import Site

_TRIES = 20
"""Orders tried for a plan of a plainer job."""

_EFFORT = 3.0
"""The constraint solver's deterministic time for one of its parts."""


@dataclass(frozen=True)
class Conflict:
    """Rules that cannot all hold; without any one of them the others can.

    ``smallest`` is false where the search could not show that for every one of them. ``part`` are
    the tasks, by their ids in the network, that have no plan even by themselves.
    """

    rules: tuple[Rule, ...]
    smallest: bool = True
    part: tuple[str, ...] = ()


def no_plan(of: Job | Site, name: str = "") -> NoPlan:
    """What to raise of a job that has no plan: the rules that cannot all hold.

    ``name`` is that of the job, where there are others.
    """
    site = _site(of)
    found = conflict(site)
    return NoPlan(told(found, name), site, found)


def _site(of: Job | Site) -> Site:
    return of if isinstance(of, Site) else Site((of,))


def told(conflict: Conflict, name: str = "") -> str:
    """A conflict in words, a rule a line; ``name`` is that of the job, where there are others."""
    rules, of = conflict.rules, f" of '{name}'" if name else ""
    if not rules:
        return (
            f"no plan{of} was found in the effort allowed, and no rule could be shown to prevent"
            " one"
        )
    lead = "this rule cannot be kept" if len(rules) == 1 else "these rules cannot all be kept"
    return "\n".join(
        [f"no plan{of} is possible: {lead}:"]
        + [f"  - {rule.text}" for rule in rules]
        + ([] if conflict.smallest else ["Fewer of them may be enough; the search stopped there."])
    )


def conflict(of: Job | Site) -> Conflict:
    """A smallest set of rules that cannot all hold; empty if none is found."""
    site = _site(of)
    rules, answer = tuple(site.rules()), planned(site)
    if answer.able is not False:
        return Conflict((), smallest=False)
    alone = answer.part or tuple(site.tasks())
    near = _Oracle(site, rules, alone)
    found = _smallest(near, (), near.rules, changed=False)
    return _needed(_Oracle(site, rules, site.tasks()), found or near.rules, alone)


def _needed(able: "_Oracle", found: Sequence[Rule], part: tuple[str, ...]) -> Conflict:
    """Of rules found in a part of the site, those that the whole needs for a conflict.

    Starts again with all that the part has, where a search that couldn't tell had left one out.
    """
    smallest = True
    for rule in reversed(found):
        fewer = tuple(kept for kept in found if kept != rule)
        answer = able.answer(fewer)
        if answer is False:
            found = fewer
        smallest = smallest and answer is not None
    return Conflict(tuple(found), smallest, part)


def kept(job: Job, keep: Collection[Rule], rules: Sequence[Rule]) -> Job:
    """The job with only those of its ``rules`` that are in ``keep``; the others are lifted."""
    return _kept(Site((job,)), keep, rules).job


def _kept(site: Site, keep: Collection[Rule], rules: Sequence[Rule]) -> Site:
    for rule in rules:
        if rule not in keep:
            site = site.without(rule)
    return site


class _Oracle:
    """Whether some tasks of a site can be planned, with only some of its rules."""

    def __init__(self, site: Site, rules: Sequence[Rule], tasks: Collection[str]) -> None:
        self.site, self.tasks = site, tasks
        alone = site.part(tasks)
        self.rules = tuple(rule for rule in rules if site.without(rule).part(tasks) != alone)
        self._answers: dict[frozenset[Rule], bool | None] = {}

    def __call__(self, rules: Sequence[Rule]) -> bool:
        return self.answer(rules) is not False

    def answer(self, rules: Sequence[Rule]) -> bool | None:
        """Whether the tasks can be planned with those rules; None where the search can't tell."""
        key = frozenset(rules)
        if key not in self._answers:
            plainer = _kept(self.site, rules, self.rules)
            self._answers[key] = planned(plainer.part(self.tasks)).able
        return self._answers[key]


@dataclass(frozen=True)
class Answer:
    """Whether a site has a plan, None where the search can't tell; ``part`` are tasks without.

    ``plan`` is one, where it has any.
    """

    able: bool | None
    part: tuple[str, ...] = ()
    plan: Schedule | None = None


def can_be_planned(job: Job) -> bool | None:
    """Whether a job has a plan at all; None where the search can't tell."""
    return planned(Site((job,))).able


def planned(site: Site, tries: int = _TRIES, effort: float = _EFFORT) -> Answer:
    """Whether a site has a plan at all, and which tasks have none.

    ``tries`` are orders for a first plan, ``effort`` the constraint solver's deterministic time for
    each part that needs it.
    """
    answer = Answer(None)
    for network in site.networks():
        try:
            found = any_plan(network, tries, effort)
        except Unsolved as unsolved:
            answer = Answer(False if unsolved.proven else None, unsolved.part)
            if unsolved.final:
                break
        else:
            return Answer(True, plan=found)
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
