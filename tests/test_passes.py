"""The passes forward and backward, against looking at every combination of starts there is."""

from collections.abc import Iterator, Sequence
from itertools import product as combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.clock import HOUR
from scheduler.firstplan import pull_forward
from scheduler.hours import spans
from scheduler.model import Air, End, Job, Person, Task
from scheduler.network import Network, compile_job, horizon
from scheduler.passes import (
    ceilings,
    collide,
    earliest,
    finish_of,
    floors,
    in_time,
    latest,
    order_arcs,
    point,
)
from scheduler.progress import Progress, Ready
from scheduler.steps import Arc, Closure, Offset, Step
from tests.support.examples import examples
from tests.support.planned import planned, read

END = 24  # the minutes looked at


def network(steps: tuple[Step, ...], arcs: tuple[Arc, ...]) -> Network:
    job = Job("Random", "Etc/UTC", 0, Air(20, 0.5), {}, {}, {}, tuple(step.task for step in steps))
    return Network(job, END, {}, steps, arcs, ())


def feasible(net: Network, finish: int = END) -> Iterator[tuple[int, ...]]:
    """Every combination of starts that obeys the arcs and is done by ``finish``."""
    candidates = [
        [
            s
            for a, b in step.starts
            for s in range(a, b)
            if s >= (step.task.not_before or 0) and step.finish(s) <= finish
        ]
        for step in net.steps
    ]
    for starts in combinations(*candidates):
        if all(obeyed(net, arc, starts) for arc in net.arcs):
            yield starts


def obeyed(net: Network, arc: Arc, starts: tuple[int, ...]) -> bool:
    since = point(net.steps[arc.before], arc.of, starts[arc.before])
    until = point(net.steps[arc.after], arc.to, starts[arc.after])
    return until >= arc.lag.after(since)


ends: st.SearchStrategy[End] = st.sampled_from(("start", "finish"))
# A wait that grows and shrinks over the clock but never lets a later start end earlier.
swinging = Ready(
    Progress([0, 6, 12, 20, 40], [0.0, 6.0, 7.5, 16.0, 20.0]), need=2, floor=1
)  # fmt: skip
lags = st.one_of(st.integers(-9, 6).map(Offset), st.just(swinging))


@st.composite
def networks(draw: st.DrawFn) -> Network:
    steps = []
    for n in range(draw(st.integers(2, 3))):
        pairs = draw(st.lists(st.tuples(st.integers(0, END), st.integers(0, END)), max_size=3))
        free = spans([*pairs, (2, 5), (15, 18)])
        dates = st.one_of(st.none(), st.integers(0, 12))
        work, split = draw(st.sampled_from((0, 1, 3, 4))), draw(st.booleans())
        task = Task(f"t{n}", f"T{n}", work, split=split, not_before=draw(dates))
        steps.append(Step(n, task, free, free))
    indexes = st.integers(0, len(steps) - 1)
    arcs = draw(
        st.lists(
            st.builds(Arc, indexes, ends, indexes, ends, lags, st.just("link")).filter(
                lambda arc: arc.before != arc.after
            ),
            max_size=4,
        )
    )
    return network(tuple(steps), tuple(arcs))


@given(networks())
@examples()
def test_the_forward_pass_is_the_least_of_all_combinations(net: Network) -> None:
    every = list(feasible(net))
    found = earliest(net, net.arcs)
    if found is None:
        assert not every
    else:
        assert tuple(found) in every
        assert found == [min(starts) for starts in zip(*every, strict=True)]


@given(networks(), st.integers(10, END))
@examples()
def test_the_backward_pass_is_the_greatest_of_all_combinations(net: Network, finish: int) -> None:
    dateless = tuple(
        Step(s.index, Task(s.task.id, "T", s.task.work, split=s.task.split), s.present, s.workable)
        for s in net.steps
    )
    net = network(dateless, net.arcs)
    every = list(feasible(net, finish))
    found = latest(net, net.arcs, finish)
    if found is None:
        assert not every
    else:
        assert tuple(found) in every
        assert found == [max(starts) for starts in zip(*every, strict=True)]


@given(networks())
@examples()
def test_the_forward_pass_starts_from_a_given_floor(net: Network) -> None:
    floor = [max(first, 8) for first in floors(net)]
    steps = net.steps
    floor = [step.first(first) for step, first in zip(steps, floor, strict=True)]
    every = [
        starts
        for starts in feasible(net)
        if all(s >= f for s, f in zip(starts, floor, strict=True))
    ]
    found = earliest(net, net.arcs, floor)
    assert found == ([min(s) for s in zip(*every, strict=True)] if every else None)


# Windows -----------------------------------------------------------------------------------------


def test_a_window_pushes_the_earlier_task_as_far_as_it_must() -> None:
    # Computed: coat 1 takes 1 h, waits 4 h at the least and 24 h at the most, and coat 2 can't be
    # before hour 40: so coat 1 starts in [15, 35]. Maximal time lags as arcs backwards: Neumann,
    # Schwindt and Zimmermann, Project Scheduling with Time Windows (from memory).
    _, plan = planned(
        """
        job: Two coats
        timezone: Etc/UTC
        start: 2025-03-03
        tasks:
          coat-1: {work: 1 h}
          coat-2:
            work: 1 h
            not_before: 2025-03-04 16:00
            after: {task: coat-1, wait: 4 h, within: 24 h}
        """
    )
    coat_1, coat_2 = plan.tasks
    assert (coat_1.start - plan.start, coat_1.latest_start - plan.start) == (15 * HOUR, 35 * HOUR)
    assert (coat_2.start - plan.start, coat_2.float_minutes) == (40 * HOUR, 0)
    assert coat_1.because.kind == "window"
    assert coat_1.because.task == "coat-2"
    # It may end later by itself, until the 4 h before coat 2: at hour 36.
    assert coat_1.free_float_minutes == 20 * HOUR


def test_windows_push_a_whole_chain() -> None:
    _, plan = planned(
        """
        job: Chain
        timezone: Etc/UTC
        start: 2025-03-03
        tasks:
          prime: {work: 1 h}
          pour: {work: 2 h, after: {task: prime, wait: 3 h, within: 10 h}}
          level: {work: 1 h, after: {task: pour, within: 5 h}, not_before: 2025-03-04 06:00}
        """
    )
    hours = [(task.start - plan.start) / HOUR for task in plan.tasks]
    assert hours == [12, 23, 30]


def test_windows_that_contradict_each_other_have_no_start() -> None:
    job = read(
        """
        job: Contradiction
        timezone: Etc/UTC
        start: 2025-03-03
        tasks:
          first: {work: 1 h}
          second: {work: 1 h, after: {task: first, wait: 8 h}}
          third: {work: 1 h, after: [{task: first, within: 4 h}, {task: second}]}
        """
    )
    net = compile_job(job, horizon(job, 20))
    assert earliest(net, net.arcs) is None
    assert latest(net, net.arcs, net.end) is None


# Dates and finishes ------------------------------------------------------------------------------

DATED = """
    job: Dates
    timezone: Etc/UTC
    start: 2025-03-03
    people: {me: {hours: daily 9:00-12:00}}
    tasks:
      cut: {who: me, work: 4 h, not_before: 2025-03-05 10:00, must_finish_by: 2025-03-06 11:00}
      haul: {work: 1 h}
"""


def test_floors_and_ceilings_are_the_dates_and_hours_of_each_task() -> None:
    job = read(DATED)
    net = compile_job(job, horizon(job, 20))
    day = 24 * HOUR
    assert [s - job.start for s in floors(net)] == [2 * day + 10 * HOUR, 0]
    finish = job.start + 10 * day
    late = [s - job.start for s in ceilings(net, finish)]
    assert late == [2 * day + 10 * HOUR, 10 * day - HOUR]  # 2 h on the 5th, 2 h on the 6th
    assert in_time(net, floors(net))
    assert not in_time(net, [net.steps[0].first(late[0] + job.start + 1), job.start])
    assert finish_of(net, floors(net)) == job.start + 3 * day + 11 * HOUR


# Orders of crews and rooms -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other", "meet", "why"),
    [
        ((0, 5), (5, 9), False, "one ends as the other starts"),
        ((0, 5), (4, 9), True, "they share a minute"),
        ((2, 3), (0, 9), True, "one inside the other"),
        ((5, 5), (5, 9), False, "an empty span on the edge"),
        ((9, 9), (5, 9), False, "an empty span on the edge"),
        ((7, 7), (5, 9), True, "an empty span strictly inside"),
        ((7, 7), (7, 7), False, "two empty spans"),
    ],
)
def test_spans_collide(one: tuple[int, int], other: tuple[int, int], meet: bool, why: str) -> None:
    assert collide(*one, *other) is meet, why
    assert collide(*other, *one) is meet, why


def crowd(count: int, works: tuple[int, ...], several: Sequence[int] = ()) -> Network:
    """Tasks of one kind of people, of whom there are ``count``; each takes one or ``several``."""
    free = spans([(0, 100)])
    hands = several or [1] * len(works)
    tasks = tuple(
        Task(f"t{n}", f"T{n}", work, ("crew",), several=(("crew", hands[n]),))
        for n, work in enumerate(works)
    )
    job = Job("Crew", "Etc/UTC", 0, Air(20, 0.5),
              {"crew": Person("crew", (), (), count)}, {}, {}, tasks)  # fmt: skip
    steps = tuple(Step(n, task, free, free) for n, task in enumerate(tasks))
    return Network(job, 100, {"crew": free}, steps, (), ())


def test_one_crew_hands_over_from_task_to_task() -> None:
    arcs = order_arcs(crowd(1, (5, 5, 0, 5)), (0, 10, 2, 5))
    assert arcs is not None
    assert [(a.before, a.after, a.kind, a.who) for a in arcs] == [
        (0, 3, "people", "crew"),
        (3, 1, "people", "crew"),
    ]  # the milestone holds nobody


def test_nobody_is_in_two_places() -> None:
    assert order_arcs(crowd(1, (5, 5)), (0, 4)) is None
    assert order_arcs(crowd(2, (5, 5)), (0, 4)) is not None
    assert order_arcs(crowd(2, (5, 5, 5)), (0, 4, 4)) is None


placings = st.integers(1, 4).flatmap(
    lambda count: st.tuples(
        st.just(count),
        st.lists(
            st.tuples(st.integers(1, 9), st.integers(0, 20), st.integers(1, count)), max_size=6
        ),
    )
)


def busiest(spans_: Sequence[tuple[int, int, int]]) -> int:
    """The most hands at work in any minute."""
    each = (
        sum(hands for work, start, hands in spans_ if start <= minute < start + work)
        for minute in range(40)
    )
    return max(each, default=0)


@given(placings)
@examples()
def test_a_crew_of_several_is_never_more_than_there_are(
    placing: tuple[int, list[tuple[int, int, int]]],
) -> None:
    count, spans_ = placing
    works, starts, hands = [[span[n] for span in spans_] for n in range(3)]
    net = crowd(count, tuple(works), hands)
    arcs = order_arcs(net, starts)
    assert (arcs is not None) == (busiest(spans_) <= count)
    for arc in arcs or ():
        assert starts[arc.before] + works[arc.before] <= starts[arc.after]
    # Whatever else the order allows has enough hands, too: all pushed on as far as it goes.
    late = None if arcs is None else latest(net, arcs, 60)
    if late is not None:
        assert busiest(list(zip(works, [s - 30 for s in late], hands, strict=True))) <= count


@given(placings, st.integers(1, 9), st.data())
@examples()
def test_a_task_goes_where_enough_hands_are_free_first(
    placing: tuple[int, list[tuple[int, int, int]]], work: int, data: st.DataObject
) -> None:
    count, spans_ = placing
    assume(busiest(spans_) <= count)
    several = data.draw(st.integers(1, count))
    works, starts, hands = [[span[n] for span in spans_] for n in range(3)]
    net = crowd(count, (*works, work), [*hands, several])
    *kept, placed = pull_forward(net, [*starts, 60])
    others = list(zip(works, kept, hands, strict=True))
    fits = [s for s in range(61) if busiest([*others, (work, s, several)]) <= count]
    assert placed == fits[0]


def test_a_closed_room_is_entered_before_or_after() -> None:
    net = crowd(9, (5, 5, 0))
    lag = Ready(Progress([0, 100], [0.0, 100.0]), need=10, floor=10)
    closing = Network(
        net.job, 100, net.hours, net.steps, (), (Closure(0, (1, 2), lag, "walk", "room"),)
    )
    for starts, ends_ in {
        (20, 15, 20): [(1, 0), (2, 0)],  # out at its start
        (20, 35, 35): [(0, 1), (0, 2)],  # in when it opens: 20 + 5 + 10
        (20, 0, 36): [(1, 0), (0, 2)],
    }.items():
        arcs = order_arcs(closing, starts)
        assert arcs is not None
        assert [(a.before, a.after) for a in arcs if a.kind == "room"] == ends_
    for inside in ((20, 16, 0), (20, 34, 0), (20, 0, 21), (20, 0, 34)):
        assert order_arcs(closing, inside) is None
