"""Questions about a compiled job that are answered far sooner than a plan is made."""

from scheduler.bound import Bounds
from scheduler.goals import MOST
from scheduler.passes import Schedule, Starts, finish_of
from scheduler.retime import kept_to_order
from scheduler.visits import count_visits
from scheduler.watch import UNWATCHED, Watch


def may_beat(
    bounds: Bounds, early: Starts, finish: int, effort: float, watch: Watch = UNWATCHED
) -> bool:
    """Whether a plan may be done before ``finish``; if not, that is proven.

    One question that is nearly always answered at once, where a search asks for day after day.
    """
    late = bounds.room(early, finish - 1)
    if late is None or len(bounds.network.steps) > MOST:
        return late is not None
    from scheduler.cpmodel import Model

    model = Model(bounds.network, early, late, watch, finish - 1)
    return not model.any_plan(effort).impossible


def visits_apart(
    bounds: Bounds, floor: Starts, keep: Starts, people: frozenset[str], effort: float
) -> int | None:
    """The visits of an earlier plan in which only some people's tasks are placed anew.

    Every choice is made in the network.

    The fewest found; None where the order of that plan does not work any more, or would take too
    large a model.
    """
    network = bounds.network
    kept = kept_to_order(network, floor, keep)
    late = None if kept is None else bounds.late(finish_of(network, kept), floor)
    if kept is None or late is None or len(network.steps) > MOST:
        return None
    from scheduler.cpmodel import Model

    theirs = [not people.isdisjoint(step.task.who) for step in network.steps]
    first = [least if own else start for own, least, start in zip(theirs, floor, kept, strict=True)]
    last = [most if own else start for own, most, start in zip(theirs, late, kept, strict=True)]
    model = Model(network, first, last)
    at = Schedule(network, kept)
    found = model.fewest(model.visits, at, effort, by_core=True).found
    return count_visits(*(found or at))
