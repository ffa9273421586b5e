"""A network as tables of numbers, for machine code to read.

What a step, a lag or a closure has several of lies in a row in a table of its own: it has the place
of the first, and of the end. Steps are followed by one that is none, so that the first of the next
is the end.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import timedelta
from typing import Any, NamedTuple

import numpy as np

from scheduler.clock import day_of, day_start
from scheduler.hours import NEVER, Spans
from scheduler.network import Network
from scheduler.passes import Starts
from scheduler.pieces import Array
from scheduler.progress import Progress, Ready
from scheduler.steps import Arc, Begun, Lag, Morning, Offset, Step

Table = np.ndarray[Any, Any]
"""Rows with named fields."""

OFFSET, READY, MORNING = range(3)
"""The kinds of lags."""

_AROUND = 8
"""How many days before a network's start and after its end are told apart."""

_WHOLE = np.int64

STEP = np.dtype([
    (name, _WHOLE)
    for name in (
        "work",  # the minutes it takes
        "unbroken",  # whether of the clock, too, whenever it starts
        "begun",  # its start where it has begun; else NEVER
        "finish",  # its finish there
        "floor",  # its least start
        "deadline",
        "starts",  # the first span of minutes at which it may start
        "starts_end",
        "workable",  # the first span in which it may be worked on
        "workable_end",
        "hands",  # its first row in the table of hands, and so on
        "into",
        "out",
        "windows",
        "shared_days",
        "closing",
        "closed",
    )
])  # fmt: skip

SPAN = np.dtype([("start", _WHOLE), ("end", _WHOLE), ("before", _WHOLE)])
"""Of a span of minutes, and how many minutes of its set lie before it."""

HAND = np.dtype([("who", _WHOLE), ("number", _WHOLE)])

ARC = np.dtype([("step", _WHOLE), ("of", _WHOLE), ("to", _WHOLE), ("lag", _WHOLE)])
"""An arc as its step has it: the one at the other end, whether finishes are meant, its lag."""

LAG = np.dtype([
    (name, _WHOLE)
    for name in (
        "kind",
        "minutes",  # that it takes at least; of a morning, 1 where a finish is counted from
        "need",  # label minutes to collect; of a morning, 1 where a finish is counted to
        "nodes",  # the first node of its progress
        "nodes_end",
        "cold",  # the first span of finishes that cold air follows; none where that is no matter
        "cold_end",
        "cold_minutes",  # that it takes at least after those
    )
])  # fmt: skip

NODE = np.dtype([("minute", _WHOLE), ("collected", np.float64)])

CLOSURE = np.dtype([("by", _WHOLE), ("lag", _WHOLE), ("others", _WHOLE), ("others_end", _WHOLE)])


class Tables(NamedTuple):
    """A network, every choice made.

    Args:
        steps: ``STEP``.
        spans: ``SPAN``, of sets of minutes.
        hands: ``HAND``, whom steps hold.
        there: how many there are of each person.
        arcs: ``ARC``, of all kinds.
        lags: ``LAG``.
        nodes: ``NODE``, of all progresses.
        closures: ``CLOSURE``.
        lists: the closures that a step makes, those in which it must not be, the others of those.
        days: the first minute of each day.
    """

    steps: Table
    spans: Table
    hands: Table
    there: Array
    arcs: Table
    lags: Table
    nodes: Table
    closures: Table
    lists: Array
    days: Array


def tables(network: Network, floor: Starts) -> Tables:
    """A network as tables, its steps no sooner than their least starts.

    Every choice in it must have been made.
    """
    return _Made(network, floor).tables()


def nothing() -> Tables:
    """A network without steps."""
    whole = np.zeros(0, dtype=_WHOLE)
    return Tables(
        steps=np.zeros(1, dtype=STEP),
        spans=np.zeros(0, dtype=SPAN),
        hands=np.zeros(0, dtype=HAND),
        there=whole,
        arcs=np.zeros(0, dtype=ARC),
        lags=np.zeros(0, dtype=LAG),
        nodes=np.zeros(0, dtype=NODE),
        closures=np.zeros(0, dtype=CLOSURE),
        lists=whole,
        days=whole,
    )


class _Made:
    """Tables in the making."""

    def __init__(self, network: Network, floor: Starts) -> None:
        self.network = network
        self.place = {who: n for n, who in enumerate(network.job.people)}
        self.spans: list[tuple[int, ...]] = []
        self.nodes: list[Table] = []
        self.hands: list[tuple[int, ...]] = []
        self.arcs: list[tuple[int, ...]] = []
        self.lags: list[tuple[int, ...]] = []
        self.lists: list[int] = []
        self._sets: dict[Spans, tuple[int, int]] = {}
        self._progresses: dict[int, tuple[int, int]] = {}
        self._lags: dict[int, int] = {}
        self.closures = [self._closure(closure.by, closure.lag, closure.others)
                         for closure in network.undecided]  # fmt: skip
        self._closures = {id(closure): n for n, closure in enumerate(network.undecided)}
        parts = [self._facts(step, least) for step, least in zip(network.steps, floor, strict=True)]
        firsts = self._parts()
        self.steps = [(*known, *first) for known, first in zip(parts, firsts, strict=False)]
        self.steps.append((*(NEVER for _ in parts[0]), *firsts[-1]))

    def tables(self) -> Tables:
        """All of them."""
        people, zone = self.network.job.people, self.network.job.timezone
        first, last = (day_of(t, zone) for t in (self.network.job.start, self.network.end))
        every = range(-_AROUND, (last - first).days + _AROUND)
        return Tables(
            steps=np.array(self.steps, dtype=STEP),
            spans=np.array(self.spans, dtype=SPAN),
            hands=np.array(self.hands, dtype=HAND),
            there=np.array([person.count for person in people.values()], dtype=_WHOLE),
            arcs=np.array(self.arcs, dtype=ARC),
            lags=np.array(self.lags, dtype=LAG),
            nodes=np.concatenate([np.zeros(0, dtype=NODE), *self.nodes]),
            closures=np.array(self.closures, dtype=CLOSURE),
            lists=np.array(self.lists, dtype=_WHOLE),
            days=np.array([day_start(first + timedelta(n), zone) for n in every], dtype=_WHOLE),
        )

    def _facts(self, step: Step, floor: int) -> tuple[int, ...]:
        """The fields of a step up to those that other tables have."""
        begun, finish = (step.begun, step.end) if isinstance(step, Begun) else (NEVER, NEVER)
        return (
            step.task.work, step.unbroken, begun, finish, floor, step.deadline,
            *self._set(step.starts), *self._set(step.workable),
        )  # fmt: skip

    def _parts(self) -> list[list[int]]:
        """Where each step's rows begin in each of the other tables, and where the last ones end."""
        network, closures = self.network, self._closures
        hands = [[(self.place[who], n) for who, n in s.hands.items()] for s in network.steps]
        made = [[closures[id(c)] for c in of] for of in network.closing]
        kept = [[closures[id(c)] for c in of] for of in network.closed]
        firsts = [
            _filed(self.hands, hands),
            _filed(self.arcs, self._ends(network.into, lambda arc: arc.before)),
            _filed(self.arcs, self._ends(network.out, lambda arc: arc.after)),
            _filed(self.arcs, self._ends(network.windows, lambda arc: arc.after)),
            _filed(self.arcs, self._ends(network.shared_days, lambda arc: arc.before)),
            _filed(self.lists, made),
            _filed(self.lists, kept),
        ]
        return [list(of) for of in zip(*firsts, strict=True)]

    def _ends(
        self, of: Sequence[Sequence[Arc]], other: Callable[[Arc], int]
    ) -> list[list[tuple[int, ...]]]:
        return [
            [
                (other(arc), arc.of == "finish", arc.to == "finish", self._lag(arc.lag))
                for arc in arcs
            ]
            for arcs in of
        ]

    def _closure(self, by: int, lag: Lag, others: Iterable[int]) -> tuple[int, ...]:
        first = len(self.lists)
        self.lists += others
        return by, self._lag(lag), first, len(self.lists)

    def _lag(self, lag: Lag) -> int:
        """The row of a lag."""
        if id(lag) not in self._lags:
            self._lags[id(lag)] = len(self.lags)
            self.lags.append(self._fields(lag))
        return self._lags[id(lag)]

    def _fields(self, lag: Lag) -> tuple[int, ...]:
        if isinstance(lag, Offset):
            return OFFSET, lag.minutes, 0, 0, 0, 0, 0, 0
        if isinstance(lag, Morning):
            return MORNING, lag.of, lag.to, 0, 0, 0, 0, 0
        assert isinstance(lag, Ready)
        nodes, cold = self._progress(lag.progress), lag.cold
        if cold is None:
            return READY, lag.floor, lag.need, *nodes, 0, 0, 0
        return READY, lag.floor, lag.need, *nodes, *self._set(cold.finishes), cold.floor

    def _set(self, of: Spans) -> tuple[int, int]:
        """Where a set of minutes begins and ends in the table of spans."""
        if of not in self._sets:
            first = len(self.spans)
            self.spans += [(start, end, of.count(start)) for start, end in of]
            self._sets[of] = first, len(self.spans)
        return self._sets[of]

    def _progress(self, of: Progress) -> tuple[int, int]:
        """Where a progress begins and ends in the table of nodes."""
        if id(of) not in self._progresses:
            first = sum(map(len, self.nodes))
            nodes = np.zeros(len(of.nodes), dtype=NODE)
            nodes["minute"], nodes["collected"] = of.nodes, of.collected
            self.nodes.append(nodes)
            self._progresses[id(of)] = first, first + len(nodes)
        return self._progresses[id(of)]


def _filed(table: list[Any], of: Iterable[Iterable[Any]]) -> list[int]:
    """Put what each step has into a table; where each begins there, and where the last ends."""
    firsts = [len(table)]
    for rows in of:
        table += rows
        firsts.append(len(table))
    return firsts
