"""A job compiled: the maps of a task between start and finish, its links, rooms and days."""

from dataclasses import replace
from datetime import date
from typing import NamedTuple

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.clock import DAY, HOUR
from scheduler.hours import NEVER, Spans, spans
from scheduler.model import Course, Job, Task
from scheduler.network import Network, compile_job, days_of, horizon, on_days, presence
from scheduler.steps import Hold, Step
from tests.support.examples import examples
from tests.support.planned import at, read, wall

ZONE = "America/Toronto"
LAST = 70  # minutes looked at


def compiled(text: str, days: int = 30) -> Network:
    job = read(text)
    return compile_job(job, horizon(job, days))


# The four maps of a task -------------------------------------------------------------------------


class Enumerated(NamedTuple):
    """Every start of a task with its finish, found minute by minute."""

    starts: dict[int, int]

    def first(self, minute: int) -> int:
        return min((s for s in self.starts if s >= minute), default=NEVER)

    def last_start(self, finish: int) -> int:
        return max((s for s, f in self.starts.items() if f <= finish), default=-NEVER)

    def first_start(self, finish: int) -> int:
        return min((s for s, f in self.starts.items() if f >= finish), default=NEVER)


def enumerated(step: Step) -> Enumerated:
    free = [m for start, end in step.workable for m in range(start, end)]
    work, starts = step.task.work, {}
    for i, start in enumerate(free):
        worked = free[i : i + work]
        whole = len(worked) == work
        if work and whole and not step.task.split:
            whole = worked[-1] - start == work - 1
        if whole and (step.only is None or start in step.only):
            starts[start] = worked[-1] + 1 if work else start
    return Enumerated(starts)


some_hours = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=5).map(spans)
steps = st.builds(
    lambda free, work, split, only: Step(0, Task("t", "T", work, split=split), free, free, only),
    some_hours,
    st.sampled_from((0, 1, 2, 5, 11)),
    st.booleans(),
    st.one_of(st.none(), some_hours),
)


@given(steps)
@examples()
def test_the_maps_between_start_and_finish_are_those_of_counting_minutes(step: Step) -> None:
    all_of = enumerated(step)
    assert {m for a, b in step.starts for m in range(a, b)} == set(all_of.starts)
    assert {s: step.finish(s) for s in all_of.starts} == all_of.starts
    for minute in range(-3, LAST):
        assert step.first(minute) == all_of.first(minute)
        assert step.last_start(minute) == all_of.last_start(minute), minute
        assert step.first_start(minute) == all_of.first_start(minute), minute
    assert step.first_start(NEVER) == NEVER


@given(steps)
@examples()
def test_sessions_are_all_workable_minutes_from_start_to_finish(step: Step) -> None:
    for start, finish in enumerated(step).starts.items():
        sessions = step.sessions(start)
        worked = [m for a, b in sessions for m in range(a, b)]
        free = {m for a, b in step.workable for m in range(a, b)}
        assert worked == sorted(free & set(range(start, finish)))
        assert len(worked) == step.task.work


@given(steps)
@examples()
def test_a_later_start_never_finishes_earlier(step: Step) -> None:
    finishes = [step.finish(minute) for a, b in step.starts for minute in range(a, b)]
    assert finishes == sorted(finishes)


@given(steps, some_hours)
@examples()
def test_a_task_kept_to_some_hours_works_in_no_others(step: Step, hours: Spans) -> None:
    task = Task("t", "T", step.task.work, ("me",), split=step.task.split)
    free = Step(0, task, step.present, step.workable)
    network = Network(read(ONE_TASK), LAST, {"me": step.workable}, (free,), (), ())
    (kept,) = network.kept_to({"me": hours}).steps
    inside = {m for a, b in hours for m in range(a, b)}
    expected = {
        start: finish
        for start, finish in enumerated(free).starts.items()
        if all(m in inside for a, b in presence(free, start) for m in range(a, b))
    }
    assert enumerated(kept).starts == expected
    assert {m for a, b in kept.starts for m in range(a, b)} == expected.keys()


some_holds = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 20)), max_size=5)


@given(steps, some_holds, some_hours)
@examples()
def test_a_task_starts_when_nobody_holds_its_people_before_it_is_done(
    step: Step, held: list[tuple[int, int]], only: Spans
) -> None:
    assume(step.task.work > 0)  # a milestone holds nobody
    holds = tuple(Hold("me", "Other", "a", "A", a, a + length) for a, length in held)
    between = replace(step, elsewhere=holds)
    expected = {
        start
        for start, finish in enumerated(step).starts.items()
        if all(finish <= hold.start or hold.end <= start for hold in holds)
    }
    assert {m for a, b in between.starts for m in range(a, b)} == expected
    narrower = between.within(only)
    assert {m for a, b in narrower.starts for m in range(a, b)} == {
        start for start in expected if start in only
    }
    assert replace(narrower).starts == narrower.starts


ONE_TASK = """
    job: One task
    timezone: America/Toronto
    start: 2027-01-04
    tasks: {only: {work: 1 h}}
"""


# Compiling ---------------------------------------------------------------------------------------

SHOWER = """
    job: Shower
    timezone: America/Toronto
    start: 2027-01-04 12:00            # a Monday
    air: {temperature: 20 C, humidity: 50 %}
    people:
      me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00], away: 2027-01-06}
      helper: {hours: daily 20:00-23:00, count: 2}
    rooms:
      shower: {air: {temperature: 8 C, swing: 4 C}}
      floor: {}
    products:
      membrane: {class: liquid-membrane}
    tasks:
      carry: {who: [me, helper], room: shower, work: 30 min}
      coat: {who: me, room: shower, work: 1 h, applies: membrane}
      check: {who: me, room: shower, work: 0 min, after: coat}
      saw: {who: helper, room: shower, work: 1 h, dusty: yes}
      pour: {who: me, room: floor, work: 1 h, applies: self-leveler}
      rest: {work: 2 h, after: {coat: recoat}}
"""


def test_a_task_is_workable_while_all_its_people_are_there() -> None:
    network = compiled(SHOWER)
    carry = network.steps[0]
    first = [(wall(a, ZONE), wall(b, ZONE)) for a, b in carry.workable][:3]
    assert first == [
        ("Mon 2027-01-04 20:00", "Mon 2027-01-04 21:00"),
        ("Tue 2027-01-05 20:00", "Tue 2027-01-05 21:00"),
        ("Thu 2027-01-07 20:00", "Thu 2027-01-07 21:00"),  # away on Wednesday
    ]


def test_a_product_is_applied_only_while_its_air_and_its_people_allow() -> None:
    # 8 + 4 cos(pi/3) = 10 C (50 F, the class's limit) four hours from 15:00: at 11:00 and 19:00.
    coat = compiled(SHOWER).steps[1]
    evenings = [(wall(a, ZONE), wall(b, ZONE)) for a, b in coat.workable][:2]
    assert evenings == [
        ("Mon 2027-01-04 18:00", "Mon 2027-01-04 19:01"),
        ("Tue 2027-01-05 18:00", "Tue 2027-01-05 19:01"),
    ]
    assert coat.present.within(*coat.present.within(0, NEVER)[0]) == (
        (at("2027-01-04 18:00", ZONE), at("2027-01-04 21:00", ZONE)),
    )
    cold = SHOWER.replace("swing: 4 C", "swing: 4 C, humidity: 86 %")
    assert not list(compiled(cold).steps[1].workable)  # the class's limit is 85 %


def test_a_task_that_needs_nobody_is_workable_round_the_clock() -> None:
    network = compiled(SHOWER)
    assert list(network.steps[5].workable) == [(network.job.start, network.end)]


def test_rooms_close_for_all_and_dust_is_kept_off_by_the_dusty() -> None:
    network = compiled(SHOWER)
    found = [(c.kind, c.by, c.others, c.stage) for c in network.closures]
    # The membrane is dust-shy until it is dry to touch; the pour has its room to itself.
    assert found == [("dust", 1, (3,), "touch"), ("room", 4, (), "walk")]


def test_a_link_with_a_window_is_two_arcs() -> None:
    network = compiled(
        SHOWER.replace("after: {coat: recoat}", "after: [{task: coat, stage: recoat}, saw]")
    )
    arcs = [(a.before, a.of, a.after, a.to, a.kind, a.stage) for a in network.arcs]
    assert arcs == [
        (1, "finish", 2, "start", "link", None),
        (1, "finish", 5, "start", "stage", "recoat"),
        (5, "start", 1, "finish", "window", "recoat"),  # the class gives it 24 h
        (3, "finish", 5, "start", "link", None),
    ]
    back = network.arcs[2].lag
    assert back.after(5 * DAY) == 4 * DAY
    assert back.before(4 * DAY) == 5 * DAY


def test_milestones_hold_nobody_but_somebody_comes_for_them() -> None:
    network = compiled(SHOWER)
    assert network.crews == {"me": (0, 1, 4), "helper": (0, 3)}
    assert network.visitors == {"me": (0, 1, 2, 4), "helper": (0, 3)}


def test_the_order_of_steps_follows_links_and_else_the_file() -> None:
    network = compiled(
        """
        job: Order
        timezone: Etc/UTC
        start: 2027-01-04
        tasks:
          last: {work: 1 h, after: [first, middle]}
          free: {work: 1 h}
          middle: {work: 1 h, after: first}
          first: {work: 1 h}
        """
    )
    assert [network.steps[i].task.id for i in network.order] == ["free", "first", "middle", "last"]


def test_a_compiled_job_reaches_past_its_last_date() -> None:
    job: Job = read(SHOWER.replace("count: 2", "count: 2, away: 2027-06-01..2027-06-05"))
    assert horizon(job, 10) == at("2027-06-06", ZONE) + 10 * DAY
    late = read(SHOWER.replace("work: 2 h", "work: 2 h, not_before: 2028-02-01 9:00"))
    assert horizon(late, 1) == at("2028-02-01 09:00", ZONE) + DAY
    foreseen = Course((late.start, horizon(late, 7)), (12.0, 14.0), (0.5, 0.5))
    aired = replace(late, air=replace(late.air, course=foreseen))
    assert horizon(aired, 1) == horizon(late, 7) + DAY
    dated = read(SHOWER.replace("daily 20:00-23:00", "2027-08-14 9:00-12:00"))
    assert horizon(dated, 1) == at("2027-08-15", ZONE) + DAY


# Days --------------------------------------------------------------------------------------------


def test_the_days_of_a_night_are_both_its_days() -> None:
    night = spans([(at("2027-03-13 22:00", ZONE), at("2027-03-14 06:00", ZONE))])
    days = days_of(night, ZONE)
    assert list(days) == [date(2027, 3, 13), date(2027, 3, 14)]
    start, end = days[date(2027, 3, 14)]
    assert end - start == 23 * HOUR  # the clocks go on by an hour that night
    assert on_days(night, [date(2027, 3, 14)], ZONE) == spans([(start, night.ends[0])])


@pytest.mark.parametrize(("end", "days"), [("2027-01-09 00:00", 1), ("2027-01-09 00:01", 2)])
def test_a_day_counts_from_its_first_minute(end: str, days: int) -> None:
    evening = spans([(at("2027-01-08 18:00", ZONE), at(end, ZONE))])
    assert len(days_of(evening, ZONE)) == days


def test_presence_of_a_milestone_is_its_minute() -> None:
    network = compiled(SHOWER)
    moment = at("2027-01-04 18:00", ZONE)
    assert list(presence(network.steps[2], moment)) == [(moment, moment + 1)]
    assert list(presence(network.steps[1], moment)) == [(moment, moment + HOUR)]
