"""From a compiled job to starts: exact passes, a first plan, a bound, and proof where needed.

In the order of the objective: the earliest finish of the whole job; then, at that finish, the
fewest days on which anybody has to come; then everything as early as that allows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.bound import Bounds
from scheduler.clock import day_of
from scheduler.firstplan import first_plan
from scheduler.hours import Spans, intersect, spans
from scheduler.network import Network, days_of, on_days, presence
from scheduler.passes import (
    Starts,
    earliest,
    finish_of,
    in_time,
    latest,
    order_arcs,
)


@dataclass(frozen=True)
class Effort:
    """How hard to search; counted in steps, not seconds, so that a plan does not hang on a clock.

    ``tries`` are orders for a first plan; ``finish``, ``visits`` and ``early`` the constraint
    solver's deterministic time for the three objectives.
    """

    tries: int = 80
    finish: float = 1.5
    visits: float = 1.0
    early: float = 0.5


NORMAL = Effort()


@dataclass(frozen=True)
class Solution:
    """Starts of all steps, with what is proven of them.

    ``days`` are the days on which each person comes; ``visits`` counts them.
    """

    starts: tuple[int, ...]
    finish_bound: int
    visits_bound: int
    days: Mapping[str, frozenset[date]]

    @property
    def visits(self) -> int:
        """The days on which somebody comes, each person's days apart."""
        return sum(map(len, self.days.values()))


class Unsolved(Exception):
    """No plan was found; ``proven`` where there can be none within the network's time."""

    def __init__(self, *, proven: bool) -> None:
        self.proven = proven
        super().__init__("no plan")


def solve(network: Network, effort: Effort = NORMAL) -> Solution:
    """The best plan of a compiled job.

    Raises:
        Unsolved: there is none before the network's end, or none was found.
    """
    floor = _floor(network)
    starts, bound = _earliest_finish(network, floor, effort)
    starts = _as_early(network, starts)
    starts, visits_bound = _fewest_visits(network, floor, starts, effort)
    return Solution(tuple(starts), bound, visits_bound, days_on_site(network, starts))


def _floor(network: Network) -> list[int]:
    """The least starts with nobody contended."""
    floor = earliest(network, network.arcs)
    if floor is None or not in_time(network, floor):
        raise Unsolved(proven=True)
    return floor


def _earliest_finish(network: Network, floor: Starts, effort: Effort) -> tuple[Starts, int]:
    bound = finish_of(network, floor)
    if order_arcs(network, floor) is not None:
        return floor, bound
    starts = first_plan(network, floor, bound, effort.tries)
    if starts is None:
        return search_cold(network, floor, effort)
    bounds = Bounds(network)
    floor = bounds.early(floor)
    bound = bounds.finish(floor, finish_of(network, starts))
    if finish_of(network, starts) <= bound:
        return starts, bound
    return _search(network, floor, starts, bound, effort)


def _search(
    network: Network, floor: Starts, starts: Starts, bound: int, effort: Effort
) -> tuple[Starts, int]:
    """Improve a plan, or prove that it can't be."""
    from scheduler.cpmodel import Model

    late = latest(network, network.arcs, finish_of(network, starts))
    assert late is not None  # the plan itself keeps that finish
    outcome = Model(network, floor, late).earliest_finish(bound, starts, effort.finish)
    found = starts if outcome.starts is None else outcome.starts
    return found, max(bound, outcome.bound)


def search_cold(network: Network, floor: Starts, effort: Effort) -> tuple[Starts, int]:
    """A plan where no order of tasks gave one, with ever more time to place them in."""
    from scheduler.cpmodel import Model

    reach = finish_of(network, floor)
    for extra in (0.1, 0.3, 1.0):
        finish = reach + round((network.end - reach) * extra)
        late = latest(network, network.arcs, finish)
        if late is None:
            continue
        outcome = Model(network, floor, late).earliest_finish(reach, None, effort.finish)
        if outcome.starts is not None:
            return outcome.starts, outcome.bound
        if extra == 1.0:
            raise Unsolved(proven=outcome.impossible)
    raise Unsolved(proven=False)


def _as_early(network: Network, starts: Starts) -> Starts:
    """The same order of crews and rooms, everything as early as that order allows."""
    arcs = order_arcs(network, starts)
    assert arcs is not None
    early = earliest(network, (*network.arcs, *arcs))
    assert early is not None
    return early


def _fewest_visits(
    network: Network, floor: Starts, starts: Starts, effort: Effort
) -> tuple[Starts, int]:
    """Fewer days of coming at the same finish, then everything as early as those days allow."""
    finish = finish_of(network, starts)
    late = latest(network, network.arcs, finish)
    assert late is not None
    visits = count_visits(network, starts)
    bound = least_visits(network, floor, late)
    if visits > bound:
        from scheduler.cpmodel import Model

        model = Model(network, floor, late)
        outcome = model.fewest_visits(starts, effort.visits)
        starts = starts if outcome.starts is None else outcome.starts
        bound = max(bound, outcome.bound)
        visits = count_visits(network, starts)
        outcome = model.all_early(visits, starts, effort.early)
        starts = starts if outcome.starts is None else outcome.starts
    return as_early_on(network, starts, days_on_site(network, starts)), bound


def as_early_on(network: Network, starts: Starts, days: Mapping[str, frozenset[date]]) -> Starts:
    """The same order, everything as early as people who come on just these days allow."""
    return _as_early(on_site(network, days), starts)


def on_site(network: Network, days: Mapping[str, frozenset[date]]) -> Network:
    """The network with people there on some days only."""
    zone = network.job.timezone
    return network.restricted(
        {person: on_days(hours, days[person], zone) for person, hours in network.hours.items()}
    )


def days_on_site(network: Network, starts: Starts) -> dict[str, frozenset[date]]:
    """The local calendar days on which each person comes, in a schedule."""
    zone = network.job.timezone
    days: dict[str, set[date]] = {person: set() for person in network.job.people}
    for step, start in zip(network.steps, starts, strict=True):
        for person in step.task.who:
            days[person] |= days_of(presence(step, start), zone).keys()
    return {person: frozenset(found) for person, found in days.items()}


def count_visits(network: Network, starts: Starts) -> int:
    """The days on which somebody comes, each person's days apart."""
    return sum(map(len, days_on_site(network, starts).values()))


def least_visits(network: Network, early: Starts, late: Starts) -> int:
    """A number of visits that no schedule with starts in ``[early, late]`` is under."""
    return sum(
        max(
            _forced_days(network, members, early, late),
            _days_of_work(network, person, members, early, late),
        )
        for person, members in network.visitors.items()
        if members
    )


def _forced_days(network: Network, members: Sequence[int], early: Starts, late: Starts) -> int:
    """Days that some task can't do without: it starts on that day wherever it starts."""
    zone = network.job.timezone
    forced = set()
    for j in members:
        first, last = day_of(early[j], zone), day_of(late[j], zone)
        if first == last:
            forced.add(first)
    return len(forced)


def _days_of_work(
    network: Network, person: str, members: Sequence[int], early: Starts, late: Starts
) -> int:
    """How many of the longest days the person's work fills."""
    steps, zone = network.steps, network.job.timezone
    start, end = min(early[j] for j in members), max(steps[j].finish(late[j]) for j in members)
    hours: Spans = intersect(network.hours[person], spans([(start, end)]))
    count = network.job.people[person].count
    lengths = sorted(
        (sum(b - a for a, b in hours.within(*day)) for day in days_of(hours, zone).values()),
        reverse=True,
    )
    work, days = sum(steps[j].task.work for j in members), 0
    while work > 0 and days < len(lengths):
        work -= count * lengths[days]
        days += 1
    return days
