"""What the household does without while it is closed: counted, kept to, and the fewest days of it.

A day counts when the thing is not to be had at any minute of it: a shower closed on Friday evening
and open again on Sunday at noon is three days without. Nights would be one fewer each time, so that
the same plans are best by both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.bound import Bounds
from scheduler.clock import day_of, day_start
from scheduler.hours import NEVER
from scheduler.limits import anchored, in_place
from scheduler.model import Without
from scheduler.network import Network
from scheduler.passes import Starts, ceilings, earliest, finish_of, latest, order_arcs
from scheduler.visits import days_on_site, on_site


@dataclass(frozen=True)
class Outage:
    """The steps that close something and those that reopen it; all of them where none does."""

    of: str
    closers: tuple[int, ...]
    reopeners: tuple[int, ...]


def outages(network: Network) -> tuple[Outage, ...]:
    """What is closed in a job, in the order of the file."""
    names = dict.fromkeys(name for step in network.steps for name in step.task.closes)
    every = tuple(range(len(network.steps)))
    return tuple(
        Outage(
            name,
            tuple(s.index for s in network.steps if name in s.task.closes),
            tuple(s.index for s in network.steps if name in s.task.reopens) or every,
        )
        for name in names
    )


def days_without(network: Network, starts: Starts) -> tuple[Without, ...]:
    """What the household does without in a schedule, and when.

    What is reopened as it is closed is closed for a minute all the same.
    """
    zone, found = network.job.timezone, []
    for outage in outages(network):
        start, end = _span(network, outage, starts)
        days = (day_of(end - 1, zone) - day_of(start, zone)).days + 1
        found.append(Without(outage.of, start, end, days))
    return tuple(found)


def _span(network: Network, outage: Outage, starts: Starts) -> tuple[int, int]:
    start = min(starts[j] for j in outage.closers)
    end = max(network.steps[j].finish(starts[j]) for j in outage.reopeners)
    return start, max(end, start + 1)


def is_without(network: Network, outage: Outage, starts: Starts, start: int, end: int) -> bool:
    """Whether something is not to be had in some of the minutes ``[start, end)``."""
    since, until = _span(network, outage, starts)
    return since < end and start < until


def count_days_without(network: Network, starts: Starts) -> int:
    """All the days without something, those of each thing apart."""
    return sum(each.days for each in days_without(network, starts))


def held(network: Network, starts: Starts) -> dict[int, int]:
    """The minute before which each step that closes something would make it one more day."""
    zone, floors = network.job.timezone, dict[int, int]()
    for outage in outages(network):
        first = day_start(day_of(min(starts[j] for j in outage.closers), zone), zone)
        for j in outage.closers:
            floors[j] = max(floors.get(j, first), first)
    return floors


def as_it_is(network: Network, starts: Starts) -> Network:
    """The network with people there only on the days they come, and nothing closed days earlier.

    Who comes for so much work at the least does it on the same days.
    """
    site = on_site(in_place(network, starts), days_on_site(network, starts))
    return site.held_back(held(network, starts))


def drawn_together(network: Network, starts: Starts) -> Starts:
    """The same order of crews and rooms, with everything closed as late as that reopens it.

    The finish and what is reopened stay where they are.
    """
    closed = outages(network)
    if not closed:
        return starts
    order = order_arcs(network, starts)
    assert order is not None  # it is a schedule
    network = anchored(network, starts)
    arcs, zone = (*network.arcs, *order), network.job.timezone
    ceiling = ceilings(network, finish_of(network, starts))
    for outage in closed:
        if len(outage.reopeners) < len(starts):
            for j in outage.reopeners:
                ceiling[j] = starts[j]
    late = latest(network, arcs, finish_of(network, starts), ceiling)
    assert late is not None  # the schedule itself
    floor = list(starts)
    for j in {j for outage in closed for j in outage.closers}:
        morning = day_start(day_of(late[j], zone), zone)
        floor[j] = max(starts[j], min(late[j], network.steps[j].first(morning)))
    found = earliest(network, arcs, floor)
    return starts if found is None or order_arcs(network, found) is None else found


@dataclass(frozen=True)
class Opening:
    """Where something is closed on ``day`` or later: least starts of all steps, and days of it."""

    day: date
    starts: Sequence[int]
    days: int


def openings(bounds: Bounds, outage: Outage, early: Starts, late: Starts) -> tuple[Opening, ...]:
    """For each day on which something may be closed first, what follows for all that comes after.

    Args:
        bounds: of the job.
        outage: what is closed.
        early: least starts.
        late: greatest starts; later days are not looked at.
    """
    network, found, starts = bounds.network, list[Opening](), list(early)
    zone = network.job.timezone
    day = day_of(min(early[j] for j in outage.closers), zone)
    last = day_of(min(late[j] for j in outage.closers), zone)
    while day <= last:
        raised = _closed_from(network, outage, starts, day_start(day, zone))
        again = None if raised is None else bounds.early(raised)
        if again is None or any(a > b for a, b in zip(again, late, strict=True)):
            break
        starts = again
        end = max(network.steps[j].finish(starts[j]) for j in outage.reopeners)
        found.append(Opening(day, starts, max((day_of(end - 1, zone) - day).days + 1, 1)))
        day += timedelta(days=1)
    return tuple(found)


def _closed_from(
    network: Network, outage: Outage, starts: Sequence[int], minute: int
) -> list[int] | None:
    """The least starts with nothing of it closed before a minute; None if that can't be."""
    raised = list(starts)
    for j in outage.closers:
        raised[j] = max(raised[j], network.steps[j].first(minute))
    return None if max(raised) >= NEVER else raised
