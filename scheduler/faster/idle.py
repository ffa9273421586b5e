"""Levers that bring nothing forward, proven of many at once.

More hours and more hands take nothing away: a plan with one of them is a plan with all of them, no
task ending later. So where all together bring nothing forward, none does alone, and one question
answers for dozens. Where it has no such answer, it is asked of each half.
"""

from collections.abc import Callable, Iterator, Sequence

from scheduler.faster.lever import Lever
from scheduler.network import Network


def idle(levers: Sequence[Lever], help_: Callable[[Sequence[Lever]], bool]) -> Iterator[Lever]:
    """Those that bring nothing forward, given a test of whether some together may help."""
    if not levers:
        return
    if not help_(levers):
        yield from levers
    elif len(levers) > 1:
        half = len(levers) // 2
        yield from idle(levers[:half], help_)
        yield from idle(levers[half:], help_)


def adds(lever: Lever) -> bool:
    """Whether it does nothing but add hours or hands."""
    return lever.kind in {"hours", "day", "hands"}


def only_adds(network: Network, levers: Sequence[Lever]) -> bool:
    """Whether what is planned with some of the levers can be planned with all of them.

    Work that splits may end sooner with more hours, which breaks what says how early that may be:
    a window behind it, or a wait up to its end.
    """
    people = frozenset[str]().union(*(lever.people for lever in levers))
    held = (network.steps[arc.after] for arc in network.arcs if arc.to == "finish")
    ways = (way.task for step in held for way in step.ways)
    return not any(task.split and not people.isdisjoint(task.who) for task in ways)
