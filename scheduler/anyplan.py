"""Whether a job has a plan at all, and one if so: quick tries first, then part by part, exactly.

The parts are those of ``scheduler.parts``: each knot by itself, what dates hold down together, and
the rest after that. Each is settled by taking orders in turn, or else by the constraint model.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NoReturn

import networkx as nx

from scheduler.bound import Bounds, sequence
from scheduler.branching import TooMany, fitting
from scheduler.clock import DAY
from scheduler.firstplan import first_plan
from scheduler.hours import NEVER
from scheduler.network import Network
from scheduler.parts import (
    Stretch,
    ahead,
    calm_time,
    from_then_on,
    halves,
    in_a_row,
    knots,
    narrowed,
    odd_times,
    over,
    part,
    settled,
)
from scheduler.passes import (
    Schedule,
    Starts,
    ceilings,
    earliest,
    finish_of,
    floors,
    in_time,
    latest,
    order_arcs,
    point,
    release,
    way_of,
)
from scheduler.steps import Arc, Begun, Choice, Offset, Step

_CHOICES, _FEW = 300, 30
"""Orders taken in turn before the constraint model is asked; before a time is halved."""

_GATHERINGS, _WEEKS = 100, 28 * DAY
"""The same where people come on few days only; how long they are looked for by the model."""

_PATIENCE = 30
"""Looks at each step in a short look for the least starts."""

_LATER = (0, 1, 2)
"""Weeks to put a part off by, where a clock change is in its way."""

_WIDEST = 300_000
"""Starts, over all steps, up to which a constraint model of a part is worth building."""

_HANDS = 60
"""Choices taken in turn of who does what in several parts."""

_MOST = 400
"""Steps up to which it is."""


class Unsolved(Exception):
    """No plan was found; ``proven`` where there can be none within the network's time.

    ``final`` says that more time ahead does not help: a date is missed, or what fits for each task
    alone does not for all of them together, and hours come back every week. ``part`` names tasks
    that have no plan even by themselves, where that is known.
    """

    def __init__(self, *, proven: bool, final: bool, part: Iterable[str] = ()) -> None:
        self.proven, self.final, self.part = proven, final, tuple(part)
        super().__init__("no plan")


class _Unclear(Exception):
    """Neither a plan of a part was found, nor a proof that there is none."""


def any_plan(network: Network, tries: int, effort: float) -> Schedule:
    """A plan of a compiled job, whichever comes first.

    ``tries`` are orders for a first plan; ``effort`` is the constraint solver's deterministic time
    for each part that needs it.

    Raises:
        Unsolved: there is none before the network's end, or none was found.
    """
    floor = soon(network)
    if floor is not None and in_time(network, floor):
        if not network.choices and order_arcs(network, floor) is not None:
            return Schedule(network, floor)
        if found := first_plan(network, floor, NEVER, tries):  # any finish is good enough
            return found
    return by_parts(network, effort)


def soon(network: Network) -> list[int] | None:
    """The least starts with nobody contended, if a short look is enough to find them.

    Windows that contradict each other chase one another for long; by parts that is told sooner.
    """
    return earliest(network, network.arcs, patience=_PATIENCE * len(network.steps))


def by_parts(network: Network, effort: float) -> Schedule:
    """A plan put together of the plans of its parts.

    Raises:
        Unsolved: a part has none, or none was found.
    """
    return _of_one_hand(network, effort, [_HANDS])


def _of_one_hand(network: Network, effort: float, left: list[int]) -> Schedule:
    """The same, with what is to be done by the same people done by them in all parts.

    Each part has a plan by itself; where two of them chose other people, these are taken in turn.
    ``left`` counts how often that may be.
    """
    found = _Parts(network, effort).plan()
    torn = (members for members in network.choices
            if len({way_of(network, found, j) for j in members}) > 1)  # fmt: skip
    choice = next(torn, None)
    if choice is None:
        return found
    proven = True
    for way in range(len(network.steps[choice[0]].ways)):
        left[0] -= 1
        if left[0] < 0:
            raise Unsolved(proven=False, final=True)
        try:
            return _of_one_hand(network.taking(choice, way), effort, left)
        except Unsolved as unsolved:
            proven = proven and unsolved.proven and unsolved.final
    raise Unsolved(proven=proven, final=proven)


class _Parts:
    """A job taken apart.

    ``held`` are the steps that can't wait, each with its first and last start; ``alone`` are plans
    of parts by themselves; ``made`` the steps placed so far in which there was a choice, in the way
    that was taken.
    """

    def __init__(self, network: Network, effort: float) -> None:
        self.whole = network
        self.network = replace(network, arcs=(*network.arcs, *orders_given(network)))
        self.effort, self.unclear = effort, False
        self.held: dict[int, tuple[int, int]] = {}
        self.alone: dict[tuple[int, ...], Schedule] = {}
        self.made: dict[int, Step] = {}
        lags = [*(arc.lag for arc in network.arcs), *(c.lag for c in network.closures)]
        self.long_enough = all(lag.after(settled(network.job)) < NEVER for lag in lags)

    def plan(self) -> Schedule:
        """A plan of the whole; what is to be done by the same people may not be in all parts."""
        self._check_waits()
        groups = knots(self.network)
        for knot in sorted(groups, key=len):
            self._check_knot(knot)
        placed = self._place_held()
        if self.unclear:
            raise Unsolved(proven=False, final=True)
        for knot in groups:
            if knot[0] not in placed:
                placed |= self._place_after(placed, knot)
        starts = [placed[step.index] for step in self.network.steps]
        found = Schedule(self.whole.doing(self.made), starts)
        if order_arcs(*found) is None:
            raise Unsolved(proven=False, final=True)
        return found

    def _taken(self, own: Sequence[int], found: Schedule) -> dict[int, int]:
        """The starts of a part, whose choices stand from now on."""
        for j, step in zip(own, found.network.steps, strict=True):
            if isinstance(self.network.steps[j], Choice):
                self.made[j] = step.numbered(j)
        return dict(zip(own, found.starts, strict=True))

    def _none(self, members: Iterable[int]) -> NoReturn:
        own = sorted(members)
        tasks = [self.network.steps[j].task.id for j in own]
        apart = any(not set(own).isdisjoint(limit.steps) for limit in self.network.limits)
        final = self.long_enough and (not apart or in_a_row(part(self.network, own)))
        raise Unsolved(proven=True, final=final, part=tasks)

    def _check_waits(self) -> None:
        """Each task must be possible some day, and each wait over some day."""
        first = floors(self.network)
        for j, start in enumerate(first):
            if start >= NEVER:
                self._none([j])
        for arc in self.network.arcs:
            if release(self.network, arc, first) >= NEVER:
                self._none(between(self.network, arc.before, arc.after))

    def _check_knot(self, knot: tuple[int, ...]) -> None:
        """A knot must have a plan by itself; one without any in calm times to come can't wait."""
        alone = part(self.network, knot)
        dated = any(map(_is_dated, alone.steps))
        try:
            calm = None if dated else calm_time(alone)
            if calm and search(alone, calm, self.effort):
                return
            found = [(time, at) for time in odd_times(alone, calm)
                     if (at := search(alone, time, self.effort))]  # fmt: skip
        except _Unclear:
            self.unclear = True
            return
        if not found:
            self._none(knot)
        self.alone[knot] = found[0][1]
        early = map(min, zip(*(time.early for time, _ in found), strict=True))
        late = map(max, zip(*(time.late for time, _ in found), strict=True))
        self.held |= dict(zip(knot, zip(early, late, strict=True), strict=True))

    def _place_held(self) -> dict[int, int]:
        """Starts of what can't wait, and of all ahead of it; each date is looked at alone first."""
        members = ahead(self.network, self.held)
        for j in self.held:
            before = ahead(self.network, [j])
            if len(before) < len(members):
                self._place_together(before)
        return self._place_together(members) if members else {}

    def _place_together(self, members: Collection[int]) -> dict[int, int]:
        own = tuple(sorted(members))
        if own not in self.alone:
            together = part(self.network, own)
            try:
                time = self._held_to(together, own)
                found = search(together, time, self.effort) if time else None
            except _Unclear:
                self.unclear = True
                return {}
            if found is None:
                self._none(own)
            self.alone[own] = found
        return self._taken(own, self.alone[own])

    def _held_to(self, together: Network, own: Sequence[int]) -> Stretch | None:
        """The time in which steps that can't wait, and those ahead of them, have to be."""
        early, top = floors(together), ceilings(together, together.end)
        for n, j in enumerate(own):
            if j in self.held:
                first, last = self.held[j]
                early[n], top[n] = max(early[n], first), min(top[n], last)
        late = latest(together, together.arcs, together.end, top)
        return None if late is None else Stretch(tuple(early), tuple(late))

    def _place_after(self, placed: dict[int, int], knot: Sequence[int]) -> dict[int, int]:
        """Starts of a knot that can wait, once all that is placed is over."""
        alone, since = part(self.network, knot), self._over(placed, knot)
        for weeks in _LATER:
            stretch = from_then_on(alone, since + weeks * 7 * DAY)
            try:
                found = search(alone, stretch, self.effort) if stretch else None
            except _Unclear:
                continue
            if found:
                return self._taken(knot, found)
        raise Unsolved(proven=False, final=False)

    def _over(self, placed: dict[int, int], knot: Sequence[int]) -> int:
        """The minute from which on nothing that is placed is in the way of a knot."""
        network = self.network.doing(self.made)
        steps = network.steps
        done = over(part(network, placed), [placed[j] for j in sorted(placed)])
        waits = (
            arc.lag.after(point(steps[arc.before], arc.of, placed[arc.before]))
            for arc in self.network.arcs
            if arc.before in placed and arc.after in knot
        )
        return max(done, settled(self.network.job), *waits)


def _is_dated(step: Step) -> bool:
    """Whether a step can't be put off for as long as one likes."""
    return isinstance(step, Begun) or step.deadline < NEVER


def orders_given(network: Network) -> Iterator[Arc]:
    """The orders of steps and closed rooms that links or waits without end leave no choice in."""
    graph, first = sequence(network), floors(network)
    for closure in network.undecided:
        k, lag = closure.by, closure.lag
        if first[k] >= NEVER:
            continue
        by, later = network.steps[k], nx.descendants(graph, k)
        for j in closure.others:
            if j in later and (by.task.work or network.steps[j].task.work):
                yield Arc(k, "finish", j, "start", lag, closure.kind, stage=closure.stage)
            elif lag.after(by.finish(first[k])) >= NEVER:
                yield Arc(j, "finish", k, "start", Offset(0), closure.kind)


def between(network: Network, i: int, j: int) -> set[int]:
    """Two steps, and all that is on the way from the one to the other."""
    graph = sequence(network)
    on_the_way = (m for m in nx.descendants(graph, i) if nx.has_path(graph, m, j))
    return {i, j, *on_the_way}


def search(network: Network, stretch: Stretch, effort: float) -> Schedule | None:
    """A plan of a part in a stretch of time; None where it is proven that there is none.

    Raises:
        _Unclear: neither was shown in the effort allowed.
    """
    if stretch.empty:
        return None
    inside = narrowed(network, stretch.early, stretch.late)
    least = earliest(inside, inside.arcs)
    bounds = Bounds(inside)
    early = None if least is None else bounds.early(least)
    late = None if early is None else bounds.late(network.end, early)
    if early is None or late is None:
        return None
    if network.limits:
        return _on_few_days(inside, bounds, early, late, effort)
    parts = halves(network, stretch)
    try:
        return fitting(inside, bounds, early, late, _CHOICES if parts is None else _FEW)
    except TooMany:
        if parts is None:
            return _modelled(inside, early, late, effort)
    found = (search(network, part, effort) for part in parts)
    return next((at for at in found if at), None)


def _on_few_days(
    network: Network, bounds: Bounds, early: Starts, late: Starts, effort: float
) -> Schedule | None:
    """As ``search``, of a part that the days of somebody hold together.

    It can be spread over all of the time, so halves of that are no smaller, and no model is small
    enough to prove anything; but of the first weeks it may find a plan.
    """
    try:
        return fitting(network, bounds, early, late, _GATHERINGS)
    except TooMany:
        last = bounds.late(min(finish_of(network, early) + _WEEKS, network.end), early)
        found = None if last is None else _modelled(network, early, last, effort)
        if found is None:
            raise _Unclear from None
        return found


def _modelled(network: Network, early: Starts, late: Starts, effort: float) -> Schedule | None:
    pairs = zip(network.steps, early, late, strict=True)
    minutes = sum(step.starts.count(b + 1) - step.starts.count(a) for step, a, b in pairs)
    if minutes > _WIDEST or len(network.steps) > _MOST:
        raise _Unclear
    from scheduler.cpmodel import Model

    outcome = Model(network, early, late).earliest_finish(finish_of(network, early), None, effort)
    if outcome.found is None and not outcome.impossible:
        raise _Unclear
    return outcome.found
