"""A schedule re-timed: its order of crews and rooms kept, or only what moves earlier by itself."""

from scheduler.firstplan import priority_order, pull_forward, serial
from scheduler.hours import NEVER
from scheduler.limits import anchored, gathered
from scheduler.network import Network
from scheduler.passes import Starts, earliest, in_time, order_arcs
from scheduler.without import as_it_is


def as_early(network: Network, starts: Starts) -> list[int]:
    """The same order of crews and rooms, everything as early as that order allows."""
    arcs = order_arcs(network, starts)
    assert arcs is not None
    fixed = anchored(network, starts)
    early = earliest(fixed, (*fixed.arcs, *arcs))
    assert early is not None
    return early


def settled(network: Network, starts: Starts) -> list[int]:
    """Everything as early as the days on which people come allow, moving one task at a time.

    The passes keep the order of crews and rooms; a task that fits in ahead of others changes it.
    Nothing that the household uses is closed on an earlier day.
    """
    site = as_it_is(network, starts)
    while (early := pull_forward(site, as_early(site, starts))) != starts:
        starts = early
    return list(starts)


def kept_to_order(network: Network, floor: Starts, keep: Starts) -> list[int] | None:
    """An earlier plan as the network now has it; None where its order does not work any more.

    Nothing is placed before its time there, so that room is left for what is late; what could be
    earlier after all is settled last.
    """
    held = no_earlier(network, floor, keep)
    starts: Starts | None = held
    if not stands(network, held):
        together = gathered(network, keep)
        starts = serial(together, held, priority_order(together, keep))
    if starts is None or order_arcs(network, starts) is None:
        return None
    return settled(network, starts)


def no_earlier(network: Network, floor: Starts, keep: Starts) -> list[int]:
    """Each step where an earlier plan has it, or the first time after that at which it may start.

    What has none starts at its least.
    """
    return [
        start if (start := step.first(max(least, kept))) < NEVER else least
        for step, least, kept in zip(network.steps, floor, keep, strict=True)
    ]


def stands(network: Network, starts: Starts) -> bool:
    """Whether a schedule keeps every rule, each step being where it may start by itself."""
    return (
        in_time(network, starts)
        and earliest(network, network.arcs, starts) == list(starts)
        and order_arcs(network, starts) is not None
    )
