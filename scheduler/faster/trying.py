"""Levers tried one at a time, then in pairs, and ranked by what they win."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations

from scheduler.anyplan import Unsolved
from scheduler.bound import Bounds
from scheduler.clock import DAY
from scheduler.errors import NoPlan
from scheduler.faster.idle import adds, idle, only_adds
from scheduler.faster.lever import Declined, Lever, drives, pulled
from scheduler.faster.offers import offers
from scheduler.faster.price import Price, price
from scheduler.faster.why import gained, nothing_gained
from scheduler.model import Job, Plan
from scheduler.network import Network, compile_job
from scheduler.planner import by_step, plan_job, planned
from scheduler.questions import may_beat, visits_apart
from scheduler.solve import Effort, least_starts, sharpened
from scheduler.ways import as_planned, kept
from scheduler.windows import Window, lifted, unkept

EFFORT = Effort(tries=20, finish=0.4, visits=0.1, early=0.0)
"""For each try: a third of what a plan gets."""

MOST_PAIRS = 20
"""Pairs that are tried, those that promise most."""

MOST_OF_A_KIND = 5
"""Of levers of which only the best is told, how many are tried."""

_BEYOND = 30 * DAY
"""How far beyond the finish of the plan as it is a plan with levers is looked for first [min]."""

Progress = Callable[[int, int], None]
"""Told how many tries of how many are made."""


@dataclass(frozen=True)
class Outcome:
    """What came of some levers.

    Args:
        levers: one, or two.
        plan: the best plan found with them; None where there is none.
        won: how much earlier it finishes [min], negative where it is later.
        visits: days of coming that it saves, negative where it takes more.
        why: what it rests on, or why nothing is won, in sentences.
        price: what it costs.
        open: a better plan with them is not ruled out.
    """

    levers: tuple[Lever, ...]
    plan: Plan | None
    won: int
    visits: int
    why: tuple[str, ...]
    price: Price
    open: bool

    @property
    def helps(self) -> bool:
        """Whether it brings the finish forward, or saves visits at the same finish."""
        return self.won > 0 or (self.won == 0 and self.visits > 0)


@dataclass(frozen=True)
class Faster:
    """What would bring a job forward.

    Args:
        plan: the plan as it is.
        alone: single levers that help, the best first.
        pairs: pairs that win more than the better of the two alone, the best first.
        nothing: levers that don't help.
        declined: what was not tried.
        tried, tried_pairs: how many were.
    """

    plan: Plan
    alone: tuple[Outcome, ...]
    pairs: tuple[Outcome, ...]
    nothing: tuple[Outcome, ...]
    declined: tuple[Declined, ...]
    tried: int
    tried_pairs: int


def _silent(done: int, of: int) -> None:
    """Nobody wants to know."""


def faster(job: Job, progress: Progress = _silent) -> Faster:
    """Try all levers on a job, alone and in pairs.

    Raises:
        NoPlan: the job as it is has no plan.
    """
    trial = _Trial(job, plan_job(job))
    levers, declined = offers(job, trial.base)
    levers = tuple(trial.promising(levers))
    nothing = trial.idle(levers)
    alone = []
    for n, lever in enumerate(levers):
        progress(n, len(levers) + MOST_PAIRS)
        alone.append(trial.alone(lever, in_vain=lever.id in nothing))
    told = [*_best_of_each(alone)]
    chosen = _pairs(job, told)
    pairs: list[Outcome] = []
    for n, (one, other) in enumerate(chosen):
        progress(len(levers) + n, len(levers) + len(chosen))
        pairs += trial.pair(one, other)
    progress(len(levers) + len(chosen), len(levers) + len(chosen))
    return Faster(
        plan=trial.base,
        alone=_ranked(each for each in told if each.helps),
        pairs=_ranked(pairs),
        nothing=tuple(each for each in told if not each.helps),
        declined=declined,
        tried=len(levers),
        tried_pairs=len(chosen),
    )


@dataclass(frozen=True)
class _Case:
    """A job with levers, compiled, without the windows that can't be kept any more."""

    levers: tuple[Lever, ...]
    job: Job
    missed: frozenset[Window]
    network: Network

    def soonest(self, finish: int) -> int:
        """A finish that no plan of it beats; at most ``finish``."""
        bounds = Bounds(self.network)
        try:
            return bounds.finish(sharpened(bounds, least_starts(self.network)), finish)
        except Unsolved:
            return finish

    def may_beat(self, finish: int) -> bool:
        """Whether a plan of it may be done before ``finish``; if not, that is proven."""
        bounds = Bounds(self.network)
        try:
            early = sharpened(bounds, least_starts(self.network))
        except Unsolved:
            return False
        return may_beat(bounds, early, finish, EFFORT.finish / 4)

    def saves(self, plan: Plan, people: frozenset[str]) -> bool:
        """Whether some people come on fewer days than in ``plan``, others' work as it is there."""
        network, keep = by_step(self.network, kept(plan))
        try:
            floor = least_starts(network)
        except Unsolved:
            return False
        visits = visits_apart(Bounds(network), floor, keep, people, EFFORT.visits)
        return visits is not None and visits < plan.visits


@dataclass(frozen=True)
class _Trial:
    """A job and its plan as it is, against which levers are tried."""

    job: Job
    base: Plan

    def promising(self, levers: Sequence[Lever]) -> Iterator[Lever]:
        """Those worth a try: of those of which only the best is told, the most promising."""
        groups: dict[str, list[tuple[int, int]]] = {}
        for n, lever in enumerate(levers):
            if lever.one_of:
                soonest = self.case((lever,)).soonest(self.base.finish)
                groups.setdefault(lever.group, []).append((soonest, n))
        kept = {n for group in groups.values() for n in self._most_promising(group)}
        yield from (each for n, each in enumerate(levers) if not each.one_of or n in kept)

    def _most_promising(self, group: list[tuple[int, int]]) -> Iterator[int]:
        """The first of a group by their bounds; those that can't win are told by one of them."""
        for place, (soonest, n) in enumerate(sorted(group)[:MOST_OF_A_KIND]):
            if place == 0 or soonest < self.base.finish:
                yield n

    def case(self, levers: tuple[Lever, ...]) -> _Case:
        """The job with levers, compiled as far as a plan that is worth having may reach."""
        job = pulled(self.job, levers)
        missed = unkept(job)
        network = compile_job(lifted(job, missed), self.base.finish + _BEYOND)
        return _Case(levers, job, missed, network)

    def plan(self, case: _Case) -> Plan:
        """A plan with levers, in which nothing moves without a gain."""
        keep = kept(self.base)
        try:
            plan = planned(case.job, case.network, case.missed, EFFORT, keep)
        except Unsolved:  # much later than it was
            return plan_job(case.job, EFFORT, keep)
        far = any(wait.end >= case.network.end for wait in plan.waits)
        return plan_job(case.job, EFFORT, keep) if far else plan

    def idle(self, levers: Sequence[Lever]) -> frozenset[str]:
        """The levers that drive nothing, and are proven to bring no earlier finish."""
        some = [each for each in levers if adds(each) and not drives(self.job, self.base, each)]
        return frozenset(each.id for each in idle(some, self._may_help))

    def _may_help(self, levers: Sequence[Lever]) -> bool:
        case = self.case(tuple(levers))
        return not only_adds(case.network, levers) or case.may_beat(self.base.finish)

    def alone(self, lever: Lever, *, in_vain: bool) -> Outcome:
        """What comes of one lever; ``in_vain`` if it is known to bring nothing forward."""
        case = self.case((lever,))
        if (
            drives(self.job, self.base, lever)
            or (not in_vain and case.may_beat(self.base.finish))
            or (adds(lever) and case.saves(self.base, lever.people))
        ):
            return self.outcome(case)
        return self.told(case, self.base)

    def outcome(self, case: _Case) -> Outcome:
        """What comes of levers."""
        try:
            plan = self.plan(case)
        except NoPlan as none:
            why = f"With it there is no plan: {none}"
            return Outcome(case.levers, None, 0, 0, (why,), Price(), open=False)
        if plan.finish > self.base.finish >= plan.finish_bound:  # the search fell short
            plan = replace(self.base, proven_earliest=False)
        return self.told(case, plan)

    def told(self, case: _Case, plan: Plan) -> Outcome:
        """A plan with levers, compared with the plan as it is."""
        won, saved = self.base.finish - plan.finish, self.base.visits - plan.visits
        helps = won > 0 or (won == 0 and saved > 0)
        say = gained if helps else nothing_gained
        before, after = as_planned(self.job, self.base), as_planned(case.job, plan)
        why = tuple(say(before, self.base, after, plan, case.levers))
        cost = price(before, self.base, after, plan, case.levers)
        return Outcome(case.levers, plan, won, saved, why, cost, not plan.proven_earliest)

    def pair(self, one: Outcome, other: Outcome) -> Iterator[Outcome]:
        """What comes of two levers, where it is more than the better of them brings alone."""
        case = self.case((*one.levers, *other.levers))
        best = self.base.finish - max(one.won, other.won, 0)
        if not case.may_beat(best):
            return
        both = self.outcome(case)
        if both.plan is not None and both.plan.finish < best:
            yield both


def _best_of_each(outcomes: Sequence[Outcome]) -> Iterator[Outcome]:
    """All outcomes, but of levers of which only the best is told just that."""
    best: dict[str, Outcome] = {}
    for each in _ranked(outcomes):
        best.setdefault(each.levers[0].group, each)
    for each in outcomes:
        lever = each.levers[0]
        if not lever.one_of or each is best[lever.group]:
            yield each


def _pairs(job: Job, alone: Sequence[Outcome]) -> list[tuple[Outcome, Outcome]]:
    """The pairs that promise most: of levers that win, or work on the chain that another leaves."""
    found = []
    for one, other in combinations(alone, 2):
        best, second = (one, other) if one.won >= other.won else (other, one)
        apart = one.levers[0].group != other.levers[0].group
        if apart and best.won > 0 and (second.won > 0 or _takes_on(job, second, best)):
            found.append((best, second))
    found.sort(key=lambda pair: -(pair[0].won + max(pair[1].won, 0)))
    return found[:MOST_PAIRS]


def _takes_on(job: Job, second: Outcome, first: Outcome) -> bool:
    """Whether a lever works on the driving chain that is left after another."""
    plan = first.plan
    assert plan is not None  # it won
    return drives(pulled(job, first.levers), plan, second.levers[0])


def _ranked(outcomes: Iterator[Outcome] | Sequence[Outcome]) -> tuple[Outcome, ...]:
    """By what they win, then the cheaper, then the fewer visits, then the order of the offers."""
    return tuple(sorted(outcomes, key=_rank))


def _rank(outcome: Outcome) -> tuple[int, bool, Decimal, int]:
    more = outcome.price.more
    return (-outcome.won, more is None, more or Decimal(0), -outcome.visits)
