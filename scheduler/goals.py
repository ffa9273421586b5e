"""What a plan is to be best at: one goal after the other, in the order that is preferred.

A goal is asked of plans that are no worse by those before it. What comes before the finish would
have no end to look to, so only plans that finish within ``LATER`` of the earliest are looked at.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from scheduler.bound import Bounds
from scheduler.clock import DAY
from scheduler.model import Prefer
from scheduler.network import Network
from scheduler.passes import Schedule, Starts, finish_of, way_of
from scheduler.retime import settled, stands
from scheduler.visits import count_visits, least_visits
from scheduler.watch import UNWATCHED, Unheard, Watch
from scheduler.without import (
    Opening,
    Outage,
    count_days_without,
    drawn_together,
    openings,
    outages,
)

if TYPE_CHECKING:
    from scheduler.cpmodel import Model

MOST = 400
"""Tasks up to which the constraint model is worth its building; the gap is shown beyond them."""

LATER = 28 * DAY
"""How much later than the earliest finish a plan may be done for another goal's sake [min]."""

Goal = Literal["finish", "visits", "without"]
ORDERS: Mapping[Prefer, tuple[Goal, ...]] = {
    "finish": ("finish", "visits", "without"),
    "fewest-days-without": ("without", "finish", "visits"),
    "fewest-visits": ("visits", "finish", "without"),
}
_MEASURE = {"finish": finish_of, "visits": count_visits, "without": count_days_without}


def measure(goal: Goal, network: Network, starts: Starts) -> int:
    """What of a schedule is to be least by a goal: a minute, or a number of days."""
    return _MEASURE[goal](network, starts)


def score(network: Network, starts: Starts) -> tuple[int, ...]:
    """What is to be least: the goals in the order preferred, then the sum of starts."""
    goals = ORDERS[network.job.prefer]
    return *(measure(goal, network, starts) for goal in goals), sum(starts)


def better(found: Schedule | None, at: Schedule) -> Schedule:
    """What was found, settled, if it is better than a schedule at hand.

    It must be better, not as good: among equals the order of the file stays.
    """
    if found is None or (found.network is at.network and tuple(found.starts) == tuple(at.starts)):
        return at
    found = Schedule(found.network, settled(*found))
    return min(at, found, key=lambda each: score(*each))


def plainest(network: Network, at: Schedule) -> Schedule:
    """The same starts, each choice made in the first of the ways with which that is as good.

    Args:
        network: with its choices open.
        at: a schedule of it.
    """
    for members in network.choices:
        for way in range(way_of(network, at, members[0])):
            made = at.network.doing({j: network.steps[j].ways[way] for j in members})
            fits = all(made.steps[j].first(at.starts[j]) == at.starts[j] for j in members)
            if fits and stands(made, at.starts) and score(made, at.starts) <= score(*at):
                at = Schedule(made, at.starts)
                break
    return at


class Search:
    """The plans done by a finish, no worse by some goals: which of them is best by the next?

    Args:
        bounds: of the job.
        early: least starts.
        finish: by when all is to be done.
        kept: what the plans may be no worse by.
        watch: may have enough of it.
    """

    def __init__(
        self,
        bounds: Bounds,
        early: Starts,
        finish: int,
        kept: Mapping[Goal, int] | None = None,
        watch: Watch = UNWATCHED,
    ) -> None:
        late = bounds.late(finish, early)
        assert late is not None  # there is a schedule that keeps that finish
        self.bounds, self.network, self.early, self.late = bounds, bounds.network, early, late
        self.finish = finish
        self.kept: dict[Goal, int] = dict(kept or {})
        self.watch = Unheard(watch)
        self._stated: set[Goal] = set()

    def fewest(
        self, goal: Goal, at: Schedule, effort: float, known: int = 0, *, thorough: bool = False
    ) -> tuple[Schedule, int]:
        """Fewer days by a goal, kept from then on, and a number that no plan here is under.

        ``known`` is such a number from before. Thorough is first to look for better plans, and only
        then to prove that there are none.
        """
        bound = max(known, self.least(goal))
        if goal == "without" and measure(goal, *at) > bound:
            at = better(Schedule(at.network, drawn_together(*at)), at)
        for by_core in (False, True) if thorough else (True,):
            if measure(goal, *at) > bound and self._worth_it(effort):
                spend = effort / 2 if thorough else effort
                outcome = self.model.fewest(self._days(goal), at, spend, by_core=by_core)
                bound = max(bound, outcome.bound)
                at = better(outcome.found, at)
        self.kept[goal] = measure(goal, *at)
        return at, bound

    def earliest_finish(self, at: Schedule, effort: float) -> tuple[Schedule, int]:
        """An earlier finish, and one that no plan here is before."""
        bound = self._least_finish()
        if finish_of(*at) > bound and self._worth_it(effort):
            outcome = self.model.earliest_finish(bound, at, effort)
            bound = max(bound, outcome.bound)
            at = better(outcome.found, at)
        return at, bound

    def all_early(self, at: Schedule, effort: float) -> tuple[Schedule, bool]:
        """Everything earlier, and whether nothing can be."""
        if sum(at.starts) <= sum(self.early):
            return at, True
        if not self._worth_it(effort):
            return at, False
        outcome = self.model.all_early(at, effort)
        at = better(outcome.found, at)
        return at, sum(at.starts) <= outcome.bound

    def _worth_it(self, effort: float) -> bool:
        """Whether to ask the constraint model."""
        return effort > 0 and len(self.network.steps) <= MOST and not self.watch.enough()

    def least(self, goal: Goal) -> int:
        """A number of days by a goal that no plan here is under."""
        if goal == "visits":
            return least_visits(self.network, self.early, self.late)
        return sum(min(each.days for each in known) for known in self.openings.values())

    @cached_property
    def openings(self) -> Mapping[Outage, Sequence[Opening]]:
        """What follows from closing something on a day or later, for each thing."""
        return {
            outage: openings(self.bounds, outage, self.early, self.late)
            for outage in outages(self.network)
        }

    def _least_finish(self) -> int:
        """A finish that no plan here is before, by the days on which something may be closed."""
        finish = self.bounds.finish(self.early, finish_of(self.network, self.late))
        if "without" in self.kept:
            spare = self.kept["without"] - self.least("without")
            for known in self.openings.values():
                least = min(each.days for each in known)
                first = next(each for each in known if each.days <= least + spare)
                finish = max(finish, finish_of(self.network, first.starts))
        return finish

    @property
    def model(self) -> "Model":
        """The constraint model, with all that is kept stated in it."""
        model = self._model
        for goal, number in self.kept.items():
            if goal != "finish" and goal not in self._stated:
                model.at_most(self._days(goal), number)
                self._stated.add(goal)
        return model

    @cached_property
    def _model(self) -> "Model":
        from scheduler.cpmodel import Model

        return Model(self.network, self.early, self.late, self.watch, self.finish)

    def _days(self, goal: Goal) -> Sequence[Any]:
        return self._model.visits if goal == "visits" else self._days_without

    @cached_property
    def _days_without(self) -> Sequence[Any]:
        found = (self._model.without(*each) for each in self.openings.items())
        return [day for days in found for day in days]
