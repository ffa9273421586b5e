"""From a compiled job to starts: exact passes, a first plan, a bound, and proof where needed.

In the order of the objective, where none is preferred: the earliest finish of the whole job; then,
at that finish, the fewest days on which anybody has to come; then the fewest days without what the
household uses; then everything as early as that allows.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import partial

from scheduler.anyplan import Unsolved, by_parts, soon
from scheduler.bound import Bounds
from scheduler.clock import day_end, day_of
from scheduler.crossing import Crossing
from scheduler.firstplan import first_plan
from scheduler.goals import LATER, MOST, ORDERS, Goal, Search, measure, plainest, score
from scheduler.network import Network
from scheduler.passes import (
    Schedule,
    Starts,
    earliest,
    finish_of,
    in_time,
    order_arcs,
)
from scheduler.questions import may_beat
from scheduler.retime import as_early, kept_to_order, settled
from scheduler.visits import days_on_site
from scheduler.watch import UNWATCHED, Unheard, Watch


@dataclass(frozen=True)
class Effort:
    """How hard to search; counted in steps, not seconds, so that a plan does not hang on a clock.

    ``tries`` are orders for a first plan; ``finish``, ``visits``, ``without`` (days without
    something) and ``early`` the constraint solver's deterministic time for the objectives,
    ``first`` that for one that comes before the finish; what has none is left out. ``on`` goes on
    after that, with twice the effort each time, until all is proven. ``watch`` is told what is
    found, and ends the search once it has enough; ``beside`` looks for plans, too, while the
    constraint solver does.
    """

    tries: int = 40
    finish: float = 1.2
    visits: float = 0.8
    early: float = 0.3
    without: float = 0.8
    first: float = 6.0
    on: bool = False
    watch: Watch = UNWATCHED
    beside: Crossing | None = None

    def twice(self) -> "Effort":
        """Twice of everything."""
        return replace(
            self,
            tries=2 * self.tries,
            finish=2 * self.finish,
            visits=2 * self.visits,
            early=2 * self.early,
            without=2 * self.without,
            first=2 * self.first,
        )


NORMAL = Effort()


@dataclass(frozen=True)
class Solution:
    """Starts of all steps of a network with every choice made, with what is proven of them.

    ``days`` are the days on which each person comes; ``visits`` counts them. ``without_bound`` is
    the fewest days without something, ``soonest`` the finish of a plan made for an early finish.
    """

    network: Network
    starts: tuple[int, ...]
    finish_bound: int
    visits_bound: int
    days: Mapping[str, frozenset[date]]
    without_bound: int = 0
    soonest: int | None = None

    @property
    def visits(self) -> int:
        """The days on which somebody comes, each person's days apart."""
        return sum(map(len, self.days.values()))


@dataclass(frozen=True)
class _Found:
    """A schedule, and the least by each goal as far as proven, of those no worse by those before.

    ``earliest`` says that no starts that are as good by every goal have a lesser sum.
    """

    at: Schedule
    least: Mapping[Goal, int] = field(default_factory=dict)
    earliest: bool = False

    @property
    def proven(self) -> bool:
        """Whether nothing better is possible."""
        goals = ORDERS[self.at.network.job.prefer]
        return self.earliest and all(measure(goal, *self.at) <= self.least[goal] for goal in goals)


def solve(network: Network, effort: Effort = NORMAL, keep: Schedule | None = None) -> Solution:
    """The best plan of a compiled job.

    Args:
        network: the job, compiled.
        effort: how hard to search.
        keep: an earlier plan: starts, and the same network with its choices made as there.
            Nothing moves from there without a gain: an earlier finish, fewer visits or a lesser
            sum of starts.

    Raises:
        Unsolved: there is none before the network's end, or none was found.
    """
    bounds, floor = Bounds(network), least_starts(network, effort)
    early = sharpened(bounds, floor)
    kept = None if keep is None else _kept(floor, keep)
    if effort.on:
        effort = replace(effort, beside=Crossing(network, early, effort.watch))
    at, bound = _finish(bounds, floor, early, kept, effort)
    at = Schedule(at.network, as_early(*at))
    if network.choices:  # made as they are now, there is far less to look at
        alone = solve(at.network, replace(effort, on=False, watch=Unheard(effort.watch)))
        at = min(Schedule(alone.network, alone.starts), at, key=lambda each: score(*each))
    found = _at_finish(bounds, early, _Found(at, {"finish": bound}), effort)
    soonest = finish_of(*found.at)
    if ORDERS[network.job.prefer][0] == "finish":
        improved = _improved
    else:
        improved = partial(_preferred, until=min(soonest + LATER, network.end))
        found = improved(bounds, early, replace(found, least={"finish": bound}), effort)
    while effort.on and not found.proven and not effort.watch.enough():
        effort = effort.twice()
        found = improved(bounds, early, found, effort)
    at = plainest(network, found.at)
    if keep is not None and kept is not None:
        at = min(kept, at, key=lambda each: (score(*each), _moved(each, keep)))
    days, least = days_on_site(*at), found.least
    return Solution(
        at.network, tuple(at.starts),
        least["finish"], least["visits"], days, least["without"], soonest,
    )  # fmt: skip


def _kept(floor: Starts, keep: Schedule) -> Schedule | None:
    """An earlier plan as the network now has it; None where its order does not work any more."""
    starts = kept_to_order(keep.network, floor, keep.starts)
    return None if starts is None else Schedule(keep.network, starts)


def least_starts(network: Network, effort: Effort = NORMAL) -> list[int]:
    """The least starts with nobody contended."""
    starts = soon(network)
    if starts is None:
        by_parts(network, effort.finish)  # raises where there is no plan
        starts = earliest(network, network.arcs)
    if starts is None:
        raise Unsolved(proven=True, final=False)
    if not in_time(network, starts):
        raise Unsolved(proven=True, final=True)
    return starts


def sharpened(bounds: Bounds, floor: Starts) -> list[int]:
    """The least starts, the work of people counted in."""
    starts = bounds.early(floor)
    if starts is None or not in_time(bounds.network, starts):
        raise Unsolved(proven=True, final=True)
    return starts


def _finish(
    bounds: Bounds, floor: Starts, early: Starts, kept: Schedule | None, effort: Effort
) -> tuple[Schedule, int]:
    """As ``_earliest_finish``; an earlier plan stands where none is proven to finish before it."""
    if kept is None:
        return _earliest_finish(bounds, floor, early, effort)
    finish = finish_of(*kept)
    effort.watch.found(finish)
    if not may_beat(bounds, early, finish, effort.finish / 4, effort.watch):
        effort.watch.bounded(finish)
        return kept, finish
    at, bound = _earliest_finish(bounds, floor, early, effort)
    return min(at, kept, key=lambda each: finish_of(*each)), bound


def _earliest_finish(
    bounds: Bounds, floor: Starts, early: Starts, effort: Effort
) -> tuple[Schedule, int]:
    """A schedule of the earliest finish that was found, and a finish that none can beat."""
    network = bounds.network
    if not network.choices and order_arcs(network, floor) is not None:
        return Schedule(network, floor), finish_of(network, floor)
    at = first_plan(
        network, early, finish_of(network, early), _tries(network, effort), effort.watch
    ) or by_parts(network, effort.finish)
    at = Schedule(at.network, as_early(*at))
    effort.watch.found(finish_of(*at))
    bound = bounds.finish(early, finish_of(*at))
    effort.watch.bounded(bound)
    if finish_of(*at) <= bound or len(network.steps) > MOST:
        return at, bound
    return _search(bounds, early, _Found(at, {"finish": bound}), effort)


def _tries(network: Network, effort: Effort) -> int:
    """Fewer orders of many tasks: each takes longer, and says less."""
    return max(2, min(effort.tries, effort.tries * 200 // max(len(network.steps), 1)))


def _improved(bounds: Bounds, early: Starts, found: _Found, effort: Effort) -> _Found:
    """What more effort makes of a plan; what was proven at the same finish stays so."""
    network, at, bound = bounds.network, found.at, found.least["finish"]
    if len(network.steps) > MOST:
        assert effort.beside is not None
        at = effort.beside.tried(at, _tries(network, effort))
    else:
        at, bound = _search(bounds, early, found, effort)
    if finish_of(*at) < finish_of(*found.at):
        found = _Found(Schedule(at.network, as_early(*at)))
    found = replace(found, least={**found.least, "finish": bound})
    return _at_finish(bounds, early, found, effort)


def _search(bounds: Bounds, early: Starts, found: _Found, effort: Effort) -> tuple[Schedule, int]:
    """Improve a plan, or prove that it can't be.

    Can all be done on the day of the bound? If not, on the next, in the two after that, the four,
    and so on: the fewer days a model leaves, the smaller it is, but each takes time to state. Days
    that give no answer in half the effort leave the rest of it to improving the plan at hand, and
    so does a plan with no day to win. What is found ``beside`` it meanwhile counts as well.
    """
    from scheduler.cpmodel import Model

    network, zone = bounds.network, bounds.network.job.timezone
    at, bound = found.at, found.least["finish"]
    on_one_day = day_of(bound, zone) == day_of(finish_of(*at) - 1, zone)
    improving = effort.finish if on_one_day else effort.finish / 2
    asking, days = effort.finish - improving, 1
    watch, beside = effort.watch, effort.beside
    while bound < (finish := finish_of(*at)) and asking > 0 and not watch.enough():
        watch.bounded(bound)
        last = day_of(bound, zone) + timedelta(days=days - 1)
        evening = min(day_end(last, zone), finish)
        late = bounds.late(evening, early)
        if late is None:
            bound = bounds.finish(early, finish, above=evening)
            continue
        model = Model(network, early, late, beside or watch, evening)
        outcome = model.earliest_finish(bound, None, asking)
        asking -= outcome.effort
        if outcome.impossible:
            bound, days = bounds.finish(early, finish, above=evening), 2 * days
            continue
        bound = max(bound, outcome.bound)
        if outcome.found is None:
            break
        at = outcome.found
    at = beside.better(at) if beside else at
    if bound < finish_of(*at) and not watch.enough():
        late = bounds.late(finish_of(*at), early)
        assert late is not None  # the schedule at hand keeps that finish
        model = Model(network, early, late, beside or watch, finish_of(*at))
        outcome = model.earliest_finish(bound, at, improving)
        at, bound = outcome.found or at, max(bound, outcome.bound)
        at = beside.better(at) if beside else at
    watch.bounded(bound)
    return at, bound


def _at_finish(
    bounds: Bounds,
    early: Starts,
    found: _Found,
    effort: Effort,
    kept: Mapping[Goal, int] | None = None,
) -> _Found:
    """The goals but the finish and those kept, one by one; then everything as early as they allow.

    What the model finds must be better, not as good: among equals the order of the file stays.
    """
    at = Schedule(found.at.network, settled(*found.at))
    search = Search(bounds, early, finish_of(*at), kept, effort.watch)
    least = {**found.least}
    for goal in ORDERS[bounds.network.job.prefer]:
        if goal != "finish" and goal not in search.kept:
            spend = effort.visits if goal == "visits" else effort.without
            at, least[goal] = search.fewest(goal, at, spend, least.get(goal, 0))
    at, earliest_sum = search.all_early(at, effort.early)
    return _Found(at, least, earliest_sum)


def _preferred(bounds: Bounds, early: Starts, found: _Found, effort: Effort, until: int) -> _Found:
    """The goal that comes before the finish, of plans done by ``until``; then all that follows.

    What was proven of the last goal holds no more: there may be another finish.
    """
    first, second, _ = ORDERS[bounds.network.job.prefer]
    wide = Search(bounds, early, until, None, effort.watch)
    known = found.least.get(first, 0)
    at, fewest = wide.fewest(first, found.at, effort.first, known, thorough=True)
    narrow = Search(bounds, early, finish_of(*at), wide.kept, effort.watch)
    at, bound = narrow.earliest_finish(at, effort.finish)
    least = {first: fewest, second: max(bound, found.least[second])}
    return _at_finish(bounds, early, _Found(at, least), effort, wide.kept)


def _moved(at: Schedule, keep: Schedule) -> int:
    """How many steps start at another time, or are done by others."""
    steps = zip(at.network.steps, at.starts, keep.network.steps, keep.starts, strict=True)
    return sum((a, m.task.hands) != (b, n.task.hands) for m, a, n, b in steps)
