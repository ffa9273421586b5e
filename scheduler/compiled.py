"""Tasks placed by machine code, minute for minute as ``firstplan`` and ``justify`` place them.

A long search places tasks in thousands of orders. What that takes is stated here once more, on
arrays (``tables``), in the part of Python that Numba compiles: some twenty times as fast. Compiling
takes seconds and is kept on disk, so only what searches for long comes here; ``Placing`` is the
door. What each function is to give is said where the others state it.
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple, TypeVar

import numba
import numpy as np

from scheduler.hours import NEVER
from scheduler.passes import Starts
from scheduler.pieces import Array
from scheduler.progress import SLACK, Reals
from scheduler.tables import MORNING, OFFSET, Table, Tables, nothing

_NONE = -1  # in place of a step

_MOMENT = np.dtype([("minute", np.int64), ("busy", np.int64)])

_Function = TypeVar("_Function", bound=Callable[..., Any])


def _machine(function: _Function) -> _Function:
    """The same in machine code, which lets other threads run meanwhile.

    It makes no arrays, so that none are counted: that took more time than all the rest.
    """
    compiled: _Function = numba.njit(cache=True, nogil=True, _nrt=False)(function)  # type: ignore[call-overload]
    return compiled


class Busy(NamedTuple):
    """Of each person some moments in a row, and how many are busy from each to the next."""

    several: Array
    moments: Table


class Placed(NamedTuple):
    """The steps placed so far, in what order they are taken, and where the next can go.

    Args:
        order: the steps, as they are taken.
        place: of each step in that order.
        starts: of the steps placed; ``NEVER`` of the others.
        finishes: likewise.
        floor: the least starts.
        opens: when the room of each closure opens, of steps placed.
        busy: who is busy when.
        waiting: for how many others each step waits that are not in the order yet.
        ready: steps that wait for none.
        out: whether a step is taken out.
    """

    order: Array
    place: Array
    starts: Array
    finishes: Array
    floor: Array
    opens: Array
    busy: Busy
    waiting: Array
    ready: Array
    out: Array


class Placing:
    """Orders of a network's tasks placed, and schedules pushed to the right; one at a time.

    Args:
        at: the network.
    """

    def __init__(self, at: Tables) -> None:
        self._tables = at
        people, count = len(at.there), len(at.steps) - 1
        moments = np.zeros((people, 2 * count + 2), _MOMENT)  # two of each task, and two in between
        busy = Busy(np.zeros(people, np.int64), moments)
        order, place, starts, finishes, least, *others = np.zeros((8, count), np.int64)
        opens = np.zeros(len(at.closures), np.int64)
        self._placed = Placed(order, place, starts, finishes, least, opens, busy, *others)

    def generated(self, key: Sequence[float] | Reals) -> Array | None:
        """Starts of all steps, placed by rising key, each after all it waits for.

        None where a step finds no place. It is ``firstplan.generated`` in a ``priority_order``.
        """
        found = _generated(self._tables, self._placed, np.asarray(key, dtype=np.float64))
        return self._placed.starts.copy() if found else None

    def pushed(self, starts: Starts | Array, by: Sequence[int] | Array) -> Array:
        """Starts, each as late as what follows and its people leave, and done by some minutes.

        It is ``justify.right_justified``.
        """
        placed = self._placed
        placed.starts[:] = starts
        placed.finishes[:] = self.finishes(placed.starts)
        placed.order[:] = np.lexsort((-placed.starts, -placed.finishes))
        _push(self._tables, placed, np.asarray(by, dtype=np.int64))
        return placed.starts.copy()

    def finishes(self, starts: Array) -> Array:
        """The finishes of starts."""
        finishes = np.empty_like(starts)
        _finishes(self._tables, starts, finishes)
        return finishes


def compile_all() -> None:
    """Have everything compiled, and kept on disk."""
    placing = Placing(nothing())
    placing.generated([])
    placing.pushed([], [])


# ------------------------------------------------------------------ sets of minutes, as ``Spans``


@_machine
def _next(spans: Table, first: int, end: int, minute: int) -> int:
    low, high = first, end
    while low < high:
        middle = (low + high) // 2
        if spans[middle].end > minute:
            high = middle
        else:
            low = middle + 1
    return max(minute, spans[low].start) if low < end else NEVER


@_machine
def _span(spans: Table, first: int, end: int, minute: int) -> int:
    """The last span that has begun by a minute; that before the first if none."""
    while first < end:
        middle = (first + end) // 2
        if spans[middle].start > minute:
            end = middle
        else:
            first = middle + 1
    return first - 1


@_machine
def _last(spans: Table, first: int, end: int, minute: int) -> int:
    i = _span(spans, first, end, minute)
    return min(minute, spans[i].end - 1) if i >= first else -NEVER


@_machine
def _count(spans: Table, first: int, end: int, minute: int) -> int:
    i = _span(spans, first, end, minute)
    if i < first:
        return 0
    return spans[i].before + min(minute, spans[i].end) - spans[i].start


@_machine
def _minute(spans: Table, first: int, end: int, n: int) -> int:
    if n < 0:
        return -NEVER
    if first == end or n >= spans[end - 1].before + spans[end - 1].end - spans[end - 1].start:
        return NEVER
    while end - first > 1:
        middle = (first + end) // 2
        if spans[middle].before > n:
            end = middle
        else:
            first = middle
    return spans[first].start + n - spans[first].before


# ------------------------------------------------------------------------ what steps and lags do


@_machine
def _next_start(steps: Table, spans: Table, j: int, minute: int) -> int:
    return _next(spans, steps[j].starts, steps[j].starts_end, minute)


@_machine
def _finish(steps: Table, spans: Table, j: int, start: int) -> int:
    if steps[j].finish < NEVER:
        return steps[j].finish
    work, first, end = steps[j].work, steps[j].workable, steps[j].workable_end
    if steps[j].unbroken:
        return start + work
    i = _span(spans, first, end, start)
    if i >= first and start + work <= spans[i].end:
        return start + work
    worked = spans[i].before + min(start, spans[i].end) - spans[i].start if i >= first else 0
    return _minute(spans, first, end, worked + work - 1) + 1


@_machine
def _last_start(steps: Table, spans: Table, j: int, finish: int) -> int:
    if steps[j].finish < NEVER:
        return steps[j].begun if steps[j].finish <= finish else -NEVER
    latest, first, end = finish - steps[j].work, steps[j].workable, steps[j].workable_end
    if not steps[j].unbroken:
        latest = _minute(spans, first, end, _count(spans, first, end, finish) - steps[j].work)
    return _last(spans, steps[j].starts, steps[j].starts_end, latest)


@_machine
def _first_start(steps: Table, spans: Table, j: int, finish: int) -> int:
    if steps[j].finish < NEVER:
        return steps[j].begun if steps[j].finish >= finish else NEVER
    earliest, first, end = finish - steps[j].work, steps[j].workable, steps[j].workable_end
    if not steps[j].unbroken:
        worked = _count(spans, first, end, finish - 1) - steps[j].work + 1
        earliest = _minute(spans, first, end, max(worked, 0))
    return _next_start(steps, spans, j, earliest)


@_machine
def _earliest_start(steps: Table, spans: Table, j: int, to: int, bound: int) -> int:
    if bound >= NEVER:
        return NEVER
    if to:
        return _first_start(steps, spans, j, bound)
    return _next_start(steps, spans, j, bound)


@_machine
def _latest_start(steps: Table, spans: Table, j: int, of: int, bound: int) -> int:
    if of:
        return _last_start(steps, spans, j, bound)
    return _last(spans, steps[j].starts, steps[j].starts_end, bound)


@_machine
def _collected(nodes: Table, first: int, end: int, minute: int) -> float:
    """The label minutes collected up to a minute."""
    low, high = first + 1, end - 1
    while low < high:
        middle = (low + high) // 2
        if nodes[middle].minute > minute:
            high = middle
        else:
            low = middle + 1
    left, right = nodes[low - 1].minute, nodes[low].minute
    lower, upper = nodes[low - 1].collected, nodes[low].collected
    return lower + (upper - lower) * (minute - left) / (right - left)


@_machine
def _reach(nodes: Table, first: int, end: int, amount: float) -> int:
    """The first minute by which so many label minutes are collected."""
    low, high = first, end
    while low < high:
        middle = (low + high) // 2
        if nodes[middle].collected < amount - SLACK:
            low = middle + 1
        else:
            high = middle
    if low == end:
        return NEVER
    if low == first:
        return nodes[first].minute
    left, right = nodes[low - 1].minute, nodes[low].minute
    lower, upper = nodes[low - 1].collected, nodes[low].collected
    return left + int(np.ceil((amount - SLACK - lower) / (upper - lower) * (right - left)))


@_machine
def _ready(at: Tables, k: int, finish: int) -> int:
    lag = at.lags[k]
    collected = _collected(at.nodes, lag.nodes, lag.nodes_end, finish)
    reached = _reach(at.nodes, lag.nodes, lag.nodes_end, collected + lag.need)
    cold = finish
    if lag.cold < lag.cold_end:
        cold = _last(at.spans, lag.cold, lag.cold_end, finish) + lag.cold_minutes
    return max(finish + lag.minutes, cold, reached)


@_machine
def _ready_before(at: Tables, k: int, reached: int) -> int:
    lag = at.lags[k]
    latest = reached - lag.minutes
    if _ready(at, k, latest) <= reached:
        return latest
    first = at.nodes[lag.nodes].minute - 1
    collected = _collected(at.nodes, lag.nodes, lag.nodes_end, reached)
    guess = _reach(at.nodes, lag.nodes, lag.nodes_end, collected - lag.need)
    low, high, stride = min(max(guess, first), latest), latest, 1
    while low > first and _ready(at, k, low) > reached:
        low, high, stride = max(low - stride, first), low, 2 * stride
    if _ready(at, k, min(low + 2, latest)) > reached:
        high = min(low + 2, high)
    while high - low > 1:
        middle = (low + high) // 2
        if _ready(at, k, middle) <= reached:
            low = middle
        else:
            high = middle
    return low if low > first else -NEVER


@_machine
def _day(days: Array, minute: int) -> int:
    """The first minute of the day of a minute."""
    low, high = 0, len(days)
    while low < high:
        middle = (low + high) // 2
        if days[middle] > minute:
            high = middle
        else:
            low = middle + 1
    return days[low - 1]


@_machine
def _after(at: Tables, k: int, minute: int) -> int:
    lag = at.lags[k]
    if lag.kind == OFFSET:
        return min(minute + lag.minutes, NEVER)
    if lag.kind == MORNING:
        return _day(at.days, minute - lag.minutes) + lag.need
    return _ready(at, k, minute)


@_machine
def _before(at: Tables, k: int, minute: int) -> int:
    """The latest minute from which no more follows; mornings are never asked."""
    if at.lags[k].kind == OFFSET:
        return minute - at.lags[k].minutes
    return _ready_before(at, k, minute)


# -------------------------------------------------------------------------------- who is busy when


@_machine
def _nobody(busy: Busy) -> None:
    """Nobody is busy."""
    for who in range(len(busy.several)):
        busy.several[who] = 0


@_machine
def _hold(at: Tables, busy: Busy, j: int, start: int, finish: int) -> None:
    for h in range(at.steps[j].hands, at.steps[j + 1].hands if start < finish else 0):
        who = at.hands[h].who
        since, until = _cut(busy, who, start), _cut(busy, who, finish)
        for i in range(since, until):
            busy.moments[who, i].busy += at.hands[h].number


@_machine
def _let_go(at: Tables, busy: Busy, j: int, start: int, finish: int) -> None:
    for h in range(at.steps[j].hands, at.steps[j + 1].hands if start < finish else 0):
        who = at.hands[h].who
        since, until = _cut(busy, who, start), _cut(busy, who, finish)
        for i in range(since, until):
            busy.moments[who, i].busy -= at.hands[h].number
        _mend(busy, who, until)
        _mend(busy, who, since)


@_machine
def _from(moments: Table, several: int, minute: int) -> int:
    """The place of the first moment at a minute or later."""
    low, high = 0, several
    while low < high:
        middle = (low + high) // 2
        if moments[middle].minute >= minute:
            high = middle
        else:
            low = middle + 1
    return low


@_machine
def _cut(busy: Busy, who: int, minute: int) -> int:
    """The place of the moment at a minute, which is put in if it is missing."""
    moments, several = busy.moments[who], busy.several[who]
    place = _from(moments, several, minute)
    if place == several or moments[place].minute > minute:
        for i in range(several, place, -1):
            moments[i].minute, moments[i].busy = moments[i - 1].minute, moments[i - 1].busy
        moments[place].minute = minute
        moments[place].busy = moments[place - 1].busy if place > 0 else 0
        busy.several[who] += 1
    return place


@_machine
def _mend(busy: Busy, who: int, place: int) -> None:
    """Take a moment out at which nothing changes."""
    moments = busy.moments[who]
    if moments[place].busy == (moments[place - 1].busy if place > 0 else 0):
        busy.several[who] -= 1
        for i in range(place, busy.several[who]):
            moments[i].minute, moments[i].busy = moments[i + 1].minute, moments[i + 1].busy


@_machine
def _free_from(at: Tables, busy: Busy, j: int, start: int, finish: int) -> int:
    """``start`` if a step's people are free until ``finish``; else a later minute to try."""
    free = start
    for h in range(at.steps[j].hands, at.steps[j + 1].hands if start < finish else 0):
        who = at.hands[h].who
        moments, left = busy.moments[who], at.there[who] - at.hands[h].number
        i = _from(moments, busy.several[who], finish) - 1
        while i >= 0 and moments[i].busy <= left and moments[i].minute > free:
            i -= 1
        if i >= 0 and moments[i].busy > left:
            free = max(free, moments[i + 1].minute)
    return free


@_machine
def _free_until(at: Tables, busy: Busy, j: int, start: int, finish: int) -> int:
    """``finish`` if a step's people are free from ``start`` on; else an earlier minute to try."""
    free = finish
    for h in range(at.steps[j].hands, at.steps[j + 1].hands if start < finish else 0):
        who = at.hands[h].who
        moments, left = busy.moments[who], at.there[who] - at.hands[h].number
        i = max(_from(moments, busy.several[who], start + 1) - 1, 0)
        while i < busy.several[who] and moments[i].busy <= left and moments[i].minute < free:
            i += 1
        if i < busy.several[who] and moments[i].busy > left:
            free = min(free, moments[i].minute)
    return free


# ------------------------------------------------------------------------------- placing in orders


@_machine
def _finishes(at: Tables, starts: Array, finishes: Array) -> None:
    for j in range(len(starts)):
        finishes[j] = _finish(at.steps, at.spans, j, starts[j])


@_machine
def _generated(at: Tables, placed: Placed, key: Reals) -> bool:
    """Place all steps by rising key; whether there is room for all of them."""
    count, order = len(placed.starts), placed.order
    _sort(at, placed, key)
    _nobody(placed.busy)
    for j in range(count):
        placed.starts[j] = placed.finishes[j] = NEVER
        placed.floor[j] = at.steps[j].floor
    n, reach, patience = 0, 0, 30 * count + 100
    while n < count and patience > 0:
        patience, reach = patience - 1, max(reach, n)
        if placed.starts[order[n]] >= NEVER and not _put(at, placed, order[n]):
            return False
        broken, mended = _broken_window(at, placed, order[n])
        if broken == _NONE:
            n += 1
            continue
        n = placed.place[broken]
        _take_out(at, placed, n, reach)
        placed.floor[broken] = mended
    return n == count


@_machine
def _sort(at: Tables, placed: Placed, key: Reals) -> None:
    """The steps by rising key, each after all it waits for."""
    waiting, ready, several = placed.waiting, placed.ready, 0
    for j in range(len(key)):
        waiting[j] = at.steps[j + 1].into - at.steps[j].into
        if waiting[j] == 0:
            ready[several] = j
            several += 1
    for n in range(len(key)):
        first = _least(ready, several, key)
        step, several = ready[first], several - 1
        ready[first] = ready[several]
        placed.order[n], placed.place[step] = step, n
        for arc in range(at.steps[step].out, at.steps[step + 1].out):
            j = at.arcs[arc].step
            waiting[j] -= 1
            if waiting[j] == 0:
                ready[several] = j
                several += 1


@_machine
def _least(ready: Array, several: int, key: Reals) -> int:
    """The place of the step with the least key; of those alike, the first step."""
    first = 0
    for i in range(1, several):
        least, other = ready[first], ready[i]
        if key[other] < key[least] or (key[other] == key[least] and other < least):
            first = i
    return first


@_machine
def _put(at: Tables, placed: Placed, j: int) -> bool:
    """Put a step at its earliest place; False if there is none."""
    start = _released(at, placed, j)
    finish = NEVER
    while start < NEVER:
        finish = _finish(at.steps, at.spans, j, start)
        free = _free_from(at, placed.busy, j, start, finish)
        if free <= start:
            free = _room_free_from(at, placed, j, start, finish)
        if free <= start:
            break
        start = _next_start(at.steps, at.spans, j, free)
    if start >= NEVER:
        return False
    placed.starts[j], placed.finishes[j] = start, finish
    _hold(at, placed.busy, j, start, finish)
    for n in range(at.steps[j].closing, at.steps[j + 1].closing):
        placed.opens[at.lists[n]] = _after(at, at.closures[at.lists[n]].lag, finish)
    return bool(finish <= at.steps[j].deadline)


@_machine
def _released(at: Tables, placed: Placed, j: int) -> int:
    """The first start of a step that all it waits for allows."""
    start = _next_start(at.steps, at.spans, j, placed.floor[j])
    for n in range(at.steps[j].into, at.steps[j + 1].into):
        start = _no_sooner(at, placed, j, n, start)
    for n in range(at.steps[j].shared_days, at.steps[j + 1].shared_days):
        start = _no_sooner(at, placed, j, n, start)
    return start


@_machine
def _no_sooner(at: Tables, placed: Placed, j: int, n: int, start: int) -> int:
    """``start``, or the first one of a step that an arc of it allows, if that is later."""
    arc = at.arcs[n]
    if placed.starts[arc.step] >= NEVER:
        return start
    bound = _after(at, arc.lag, _end(placed, arc.step, arc.of))
    if bound <= start and not arc.to:
        return start
    return max(start, _earliest_start(at.steps, at.spans, j, arc.to, bound))


@_machine
def _end(placed: Placed, j: int, finish: int) -> int:
    """The finish of a step, or its start."""
    return placed.finishes[j] if finish else placed.starts[j]


@_machine
def _room_free_from(at: Tables, placed: Placed, j: int, start: int, finish: int) -> int:
    starts, finishes = placed.starts, placed.finishes
    for n in range(at.steps[j].closing, at.steps[j + 1].closing):
        closure, until = at.closures[at.lists[n]], -NEVER
        for other in range(closure.others, closure.others_end):
            i = at.lists[other]
            if starts[i] < NEVER and start < finishes[i]:
                until = _after(at, closure.lag, finish) if until == -NEVER else until
                if starts[i] < until:
                    return max(finishes[i], start + 1)
    for n in range(at.steps[j].closed, at.steps[j + 1].closed):
        closure = at.lists[n]
        if starts[at.closures[closure].by] < finish and start < placed.opens[closure]:
            return placed.opens[closure]
    return start


@_machine
def _broken_window(at: Tables, placed: Placed, j: int) -> tuple[int, int]:
    """The earlier step of a window that a step breaks, and the first start that mends it."""
    for n in range(at.steps[j].windows, at.steps[j + 1].windows):
        arc = at.arcs[n]
        bound = _after(at, arc.lag, _end(placed, j, arc.of))
        mended = _earliest_start(at.steps, at.spans, arc.step, arc.to, bound)
        if mended > placed.starts[arc.step]:
            return arc.step, mended
    return _NONE, NEVER


@_machine
def _take_out(at: Tables, placed: Placed, since: int, reach: int) -> None:
    """Remove a step, by its place in the order, and of those up to another what waits for it.

    All of them where one decides on which day others are.
    """
    steps, starts, finishes, out = at.steps, placed.starts, placed.finishes, placed.out
    for j in range(len(starts)):
        out[j] = steps[len(starts)].shared_days > steps[0].shared_days
    out[placed.order[since]] = True
    for place in range(since, reach + 1):
        j = placed.order[place]
        for arc in range(steps[j].into, steps[j + 1].into):
            out[j] |= out[at.arcs[arc].step]
        if out[j] and starts[j] < NEVER:
            _let_go(at, placed.busy, j, starts[j], finishes[j])
            starts[j] = finishes[j] = NEVER


# --------------------------------------------------------------------------- pushing to the right


@_machine
def _push(at: Tables, placed: Placed, by: Array) -> None:
    """Push all steps, in an order, as far as others leave, each to be done by some minute."""
    starts, finishes, busy = placed.starts, placed.finishes, placed.busy
    _nobody(busy)
    for j in placed.order:
        start = _latest(at, placed, j, min(by[j], at.steps[j].deadline))
        while start > starts[j]:
            finish = _finish(at.steps, at.spans, j, start)
            until = _free_until(at, busy, j, start, finish)
            if until >= finish:
                starts[j], finishes[j] = start, finish
                break
            start = _last_start(at.steps, at.spans, j, until)
        _hold(at, busy, j, starts[j], finishes[j])


@_machine
def _latest(at: Tables, placed: Placed, j: int, by: int) -> int:
    """The last start of a step that what follows it leaves, and with which it is done in time."""
    start = _last_start(at.steps, at.spans, j, by)
    for n in range(at.steps[j].out, at.steps[j + 1].out):
        arc = at.arcs[n]
        bound = _before(at, arc.lag, _end(placed, arc.step, arc.to))
        start = min(start, _latest_start(at.steps, at.spans, j, arc.of, bound))
    return start
