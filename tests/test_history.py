"""What was logged, folded into the job: `as_it_stands`."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import DAY
from scheduler.history import as_it_stands
from scheduler.model import Actual, Event, EventKind, Job, Log, Past, Reading
from tests.support.examples import examples
from tests.support.planned import at, read

ZONE = "America/Toronto"
JOB = read("""
    job: Larch Row shower
    timezone: America/Toronto
    start: 2027-01-08 17:00
    people:
      me: {hours: [mon-fri 18:00-21:30, sat-sun 9:00-17:00]}
      mate: {hours: sat 8:00-12:00}
    products: {membrane: {class: liquid-membrane}, thinset: {class: thinset}}
    tasks:
      goods: {work: 0 min, delivers: [membrane, thinset]}
      board: {who: me, work: 5 h}
      lift: {who: [me, mate], work: 1 h, after: [board]}
      coat: {who: me, work: 90 min, applies: membrane, after: [board]}
      stand: {work: 24 h, after: [coat]}
      test: {who: me, work: 15 min, hold: yes, after: [stand]}
""")


def minute(wall: str) -> int:
    day, clock = wall.split()
    return at(f"2027-01-{day} {clock:0>5}", ZONE)


NOW = minute("17 12:00")


def happened(kind: EventKind, of: str, wall: str) -> Event:
    return Event(minute(wall), kind, of)


def stands(*events: Event, now: int = NOW) -> Job:
    return as_it_stands(JOB, Log(events), now)


def known(*events: Event) -> Actual:
    """What is known of the one task that something happened to."""
    past = stands(*events).past
    assert past is not None
    (what,) = past.actual.values()
    return what


def test_where_nothing_is_logged_the_job_is_as_its_file_has_it() -> None:
    assert as_it_stands(JOB, Log(), NOW) is JOB


def test_a_reading_alone_makes_a_past() -> None:
    reading = Reading(NOW - DAY, None, 12.0, None)
    job = as_it_stands(JOB, Log(readings=(reading,)), NOW)
    assert job.past == Past(NOW, readings=(reading,))
    # What was read is the air of the job from then on, and before that nothing is known.
    assert job.air.course is not None
    assert (job.air.course.minutes[0], job.air.course.temperatures[0]) == (NOW - DAY, 12.0)


def test_what_was_done_keeps_its_real_times() -> None:
    what = known(happened("started", "board", "09 9:20"), happened("done", "board", "09 15:00"))
    assert what == Actual(started=minute("09 9:20"), finished=minute("09 15:00"))


@pytest.mark.parametrize(
    ("of", "done", "begun"),
    [
        ("board", "09 15:00", "09 10:00"),  # 5 h of a Saturday
        ("board", "10 11:00", "09 14:00"),  # over the night: 2 h on Sunday, 3 h on Saturday
        ("board", "09 18:30", "09 12:00"),  # worked past the hours: these count back from 17:00
        ("lift", "16 12:30", "16 11:00"),  # both of them are there until 12:00
        ("coat", "10 10:00", "10 8:30"),  # in one go, so from no other day
        ("stand", "10 10:00", "09 10:00"),  # nobody needed
        ("goods", "09 10:00", "09 10:00"),  # a milestone
        ("board", "08 19:00", "08 17:00"),  # not before the job began
    ],
)
def test_a_start_that_nobody_wrote_down_is_counted_back(of: str, done: str, begun: str) -> None:
    assert known(happened("done", of, done)).started == minute(begun)


def test_what_was_begun_runs() -> None:
    assert known(happened("started", "board", "09 9:00")) == Actual(started=minute("09 9:00"))


def test_begun_and_done_in_one_minute_may_be_told_in_any_order() -> None:
    told = [happened("done", "goods", "09 9:00"), happened("started", "goods", "09 9:00")]
    both = Actual(started=minute("09 9:00"), finished=minute("09 9:00"))
    assert (known(*told), known(*reversed(told))) == (both, both)


def test_a_hold_point_that_passed_is_done() -> None:
    what = known(happened("passed", "test", "12 19:00"))
    assert (what.passed, what.finished) == (minute("12 19:00"), minute("12 19:00"))
    what = known(happened("done", "test", "12 18:30"), happened("passed", "test", "12 19:00"))
    assert (what.passed, what.finished) == (minute("12 19:00"), minute("12 18:30"))


def test_done_is_not_passed() -> None:
    assert known(happened("done", "test", "12 19:00")).passed is None


def test_what_failed_is_open_again_until_it_is_repeated() -> None:
    first = [happened("started", "test", "12 18:30"), happened("failed", "test", "12 19:00")]
    assert known(*first) == Actual(failed=minute("12 19:00"))
    again = [*first, happened("started", "test", "14 18:00")]
    assert known(*again) == Actual(started=minute("14 18:00"))
    passed = known(*again, happened("passed", "test", "14 18:20"))
    assert passed == Actual(minute("14 18:00"), minute("14 18:20"), minute("14 18:20"))


def test_a_delivery_task_is_done_once_all_that_it_delivers_is_there() -> None:
    part = stands(happened("delivered", "membrane", "09 10:00")).past
    assert part is not None
    assert (part.actual, part.delivered) == ({}, {"membrane": minute("09 10:00")})
    both = [happened("delivered", name, f"{day} 10:00")
            for name, day in (("membrane", "09"), ("thinset", "11"))]  # fmt: skip
    assert known(*both) == Actual(minute("11 10:00"), minute("11 10:00"))


def test_a_delivery_task_that_is_logged_as_done_is_done_then() -> None:
    past = stands(
        happened("done", "goods", "10 10:00"),
        happened("delivered", "membrane", "11 10:00"),
        happened("delivered", "thinset", "11 10:00"),
    ).past
    assert past is not None
    assert past.actual["goods"].finished == minute("10 10:00")


def test_a_job_that_was_begun_early_starts_then() -> None:
    early = stands(happened("started", "board", "07 19:00"), happened("done", "board", "09 12:00"))
    assert early.start == minute("07 19:00")
    # 5 h of work: Thursday's from 18:00, all of Wednesday's 3.5 h, and Tuesday's last half hour.
    assert stands(happened("done", "board", "07 19:00")).start == minute("05 21:00")
    # A pail in the cellar for weeks makes no job start.
    assert stands(happened("delivered", "membrane", "02 10:00")).start == JOB.start


def test_now_is_never_before_what_has_happened() -> None:
    past = stands(happened("started", "board", "09 9:00"), now=minute("08 9:00")).past
    assert past is not None
    assert past.now == minute("09 9:00")


KINDS: tuple[EventKind, ...] = ("started", "done", "passed", "failed", "delivered")
events = st.lists(
    st.builds(
        Event,
        st.integers(JOB.start - 5 * DAY, JOB.start + 20 * DAY),
        st.sampled_from(KINDS),
        st.sampled_from((*JOB.task, *JOB.products, "nothing")),
    ),
    min_size=1,
    max_size=12,
).map(lambda some: tuple(sorted(some, key=lambda event: event.at)))


@given(events, st.integers(JOB.start, JOB.start + 20 * DAY))
@examples(300)
def test_whatever_is_logged_times_are_in_order(some: tuple[Event, ...], now: int) -> None:
    job = stands(*some, now=now)
    assert job.past is not None
    assert job.past.now >= max(now, *(event.at for event in some))
    assert {*job.past.actual} <= {*JOB.task}
    for what in job.past.actual.values():
        moments = (what.started, what.finished, what.passed, what.failed)
        assert all(job.start <= moment <= job.past.now for moment in moments if moment is not None)
        assert what.finished is None or (what.started or 0) <= what.finished
        assert what.passed is None or what.finished is not None
        assert what.failed is None or (what.started, what.finished) == (None, None)
    assert replace(job, past=None, start=JOB.start) == JOB


def test_a_start_nobody_wrote_down_before_the_job_s_own_is_counted_back() -> None:
    # 5 h of work by Fri 8 Jan 16:00: 3.5 h on Thursday evening, and 1.5 h before on Wednesday.
    job = stands(happened("done", "board", "08 16:00"))
    assert job.start == minute("06 20:00")
    assert job.past is not None
    assert job.past.start == JOB.start
    assert job.past.actual["board"] == Actual(minute("06 20:00"), minute("08 16:00"))
    # What was done after that beginning was not begun before it.
    later = stands(happened("done", "goods", "08 16:00"), happened("done", "board", "08 18:30"))
    assert later.past is not None
    assert later.past.actual["board"] == Actual(minute("08 16:00"), minute("08 18:30"))
