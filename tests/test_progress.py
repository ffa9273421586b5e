"""Waits as maps over the clock, and the minutes in which the air lets a product be applied."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.air import temperatures
from scheduler.clock import DAY, HOUR
from scheduler.hours import NEVER
from scheduler.laws import rate
from scheduler.model import LABORATORY, Air, Conditions, Limits, Stage
from scheduler.progress import STEP, Ready, ready, workable_air
from tests.support.examples import examples
from tests.support.planned import at, wall

ZONE = "America/Toronto"
START = at("2027-03-12 17:00", ZONE)  # two nights before the clocks change
END = START + 60 * DAY
LAWS = ("hydration", "drying", "thick-drying", "moisture-cure", "gypsum-set", "fixed")


def stage(law: str = "drying", minutes: int = 2 * HOUR, at: Conditions = LABORATORY) -> Stage:
    return Stage("recoat", law, minutes, at, "from memory", "made up for the test")


def wait(law: str, minutes: int, air: Air, *, shorten: bool = True) -> Ready:
    return ready(replace(stage(law, minutes), shorten=shorten), air, ZONE, START, END)


airs = st.builds(
    Air,
    st.floats(-2, 36).map(lambda t: round(t, 1)),
    st.sampled_from((0.15, 0.5, 0.8, 0.97)),
    st.sampled_from((0.0, 0.5, 3.0, 8.0)),
)
waits = st.builds(
    wait, st.sampled_from(LAWS), st.sampled_from((0, 1, 20, 150, 1020, 4000)), airs,
    shorten=st.booleans(),
)  # fmt: skip
finishes = st.integers(START, START + 10 * DAY)


@given(waits, finishes)
@examples()
def test_before_is_the_exact_inverse_of_after(wait: Ready, finish: int) -> None:
    reached = wait.after(finish)
    if reached >= NEVER:
        return
    last = wait.before(reached)
    assert last >= finish
    assert wait.after(last) <= reached < wait.after(last + 1)


@given(waits, finishes)
@examples()
def test_before_is_the_last_finish_that_is_ready_in_time(wait: Ready, moment: int) -> None:
    last = wait.before(moment)
    if last < START:
        assert wait.after(START) > moment
    else:
        assert wait.after(last) <= moment < wait.after(last + 1)


@given(waits, finishes, st.integers(0, 2 * DAY))
@examples()
def test_later_application_never_gives_an_earlier_stage(
    wait: Ready, finish: int, later: int
) -> None:
    assert finish + wait.floor <= wait.after(finish) <= wait.after(finish + later)


@given(waits, finishes)
@examples()
def test_many_waits_at_once_are_each_as_one_alone(wait: Ready, finish: int) -> None:
    some = np.arange(finish, finish + 3 * HOUR, 7, dtype=np.int64)
    assert wait.after_many(some).tolist() == [wait.after(int(one)) for one in some]


@pytest.mark.parametrize("air", [Air(2, 0.5), Air(2, 0.5, 1), Air(12, 0.99)])
def test_many_waits_without_end_are_never(air: Air) -> None:
    some = np.array([START, START + DAY, END])
    law = "drying" if air.humidity > 0.98 else "hydration"
    assert wait(law, HOUR, air).after_many(some).tolist() == [NEVER] * 3
    assert wait(law, 0, air).after_many(some).tolist() == some.tolist()


@given(
    st.sampled_from(LAWS),
    st.integers(1, 5000),
    st.integers(5, 35),
    st.sampled_from((0.2, 0.5, 0.8)),
)
@examples()
def test_a_wait_in_steady_air_is_the_label_over_the_rate(
    law: str, minutes: int, degrees: int, humidity: float
) -> None:
    speed = float(rate(law, float(degrees), humidity, LABORATORY))
    exactly = minutes / speed
    found = wait(law, minutes, Air(degrees, humidity)).after(START) - START
    assert exactly - 1e-3 <= found < exactly + 1.001


@given(st.sampled_from(LAWS), st.integers(30, 3000), airs, finishes)
@examples()
def test_a_wait_in_swinging_air_is_the_sum_of_its_minutes(
    law: str, minutes: int, air: Air, finish: int
) -> None:
    """Reference: every minute by itself, at the temperature of its middle."""
    found = wait(law, minutes, air).after(finish)
    middles = np.arange(finish + 0.5, finish + 20 * DAY, dtype=np.float64)
    degrees = temperatures(air, middles, ZONE)
    gained = np.concatenate(([0], np.cumsum(rate(law, degrees, air.humidity, LABORATORY))))
    if found > finish + 20 * DAY:
        assert gained[-1] < minutes * 1.001 + 1
        return
    # Compared by what is collected, as a wait that is all but over may miss the last warm minute.
    # The edges of a law, met twice a day, lie within a minute that counts for half or not at all.
    doubt = 1 + 0.001 * minutes + (found - finish) / DAY
    assert gained[found - finish - 1] <= minutes + doubt
    assert gained[found - finish] >= minutes - doubt


def test_a_swing_that_nobody_feels_gives_the_wait_of_steady_air() -> None:
    steady = wait("drying", 17 * HOUR, Air(20, 0.5))
    swinging = wait("drying", 17 * HOUR, Air(20, 0.5, 1e-7))
    for finish in range(START, START + DAY, 97):
        assert swinging.after(finish) == pytest.approx(steady.after(finish), abs=1)


def test_the_same_wait_takes_longer_through_a_cold_night_than_through_a_day() -> None:
    swinging = wait("drying", 4 * HOUR, Air(16, 0.5, 6))
    morning, evening = at("2027-03-13 10:00", ZONE), at("2027-03-13 22:00", ZONE)
    assert swinging.after(morning) - morning < 0.7 * (swinging.after(evening) - evening)


# Floors ------------------------------------------------------------------------------------------


def test_a_label_is_a_minimum_that_warm_air_does_not_bring_down() -> None:
    warm = Air(33, 0.2)
    assert wait("drying", 2 * HOUR, warm, shorten=False).after(START) == START + 2 * HOUR
    assert wait("drying", 2 * HOUR, warm, shorten=True).after(START) < START + HOUR


def test_a_standards_minimum_holds_even_where_waits_may_be_shortened() -> None:
    test = replace(stage("drying", 12 * HOUR), shorten=True, least=24 * HOUR)
    assert ready(test, Air(33, 0.2), ZONE, START, END).after(START) == START + DAY


@pytest.mark.parametrize(
    ("mean", "swing", "hours"),
    [(20, 0, 24), (10, 0, 24), (9.9, 0, 48), (12, 2, 24), (12, 2.5, 48), (30, 25, 48)],
)
def test_cold_air_in_the_first_day_brings_the_longer_minimum(
    mean: float, swing: float, hours: int
) -> None:
    # ASTM D5957-98(2021) 5.4 (read): no flood test in the first 24 h, nor in the first 48 h where
    # the membrane was installed below 50 F (10 C). The fixed law leaves only the minimum to count.
    test = replace(stage("fixed", HOUR), least=24 * HOUR, cold_below=10.0, cold_least=48 * HOUR)
    for finish in range(START, START + DAY, 111):
        reached = ready(test, Air(mean, 0.5, swing), ZONE, START, END).after(finish)
        assert reached == finish + hours * HOUR


# Edges of laws -----------------------------------------------------------------------------------


def test_cement_goes_on_at_5_degrees_and_stands_still_below() -> None:
    # ACI on cold weather (from memory): hydration is greatly retarded below 5 C.
    reached = wait("hydration", HOUR, Air(5.0, 0.5)).after(START)
    assert 2 * HOUR < reached - START < 4 * HOUR
    assert wait("hydration", HOUR, Air(4.9, 0.5)).after(START) == NEVER


def test_cement_collects_only_in_the_warm_half_of_a_day_round_5_degrees() -> None:
    # The mean is at 9:00 and 21:00: the sine of the day is warmest at 15:00, coldest at 3:00.
    air = wait("hydration", 10, Air(5.0, 0.5, 4))
    night, morning = at("2027-03-15 21:05", ZONE), at("2027-03-16 09:00", ZONE)
    assert morning < air.after(night) <= morning + 30
    assert air.after(night) == air.after(night + 5 * HOUR)  # it all waits for the morning
    # At the edge, the minute before 9:00 counts for half.
    assert air.after(morning) - air.after(night) in {0, 1}
    assert air.before(morning) < at("2027-03-15 21:00", ZONE)


def test_the_edge_of_a_law_is_met_to_the_minute_between_two_nodes() -> None:
    air = Air(7.0, 0.5, 5.3)
    reached = wait("hydration", 1, air).after(at("2027-03-16 02:00", ZONE))
    night = np.arange(at("2027-03-16 02:00", ZONE), at("2027-03-16 12:00", ZONE))
    warm = int(night[np.argmax(temperatures(air, night, ZONE) >= 5.0)])
    assert warm % STEP  # the edge lies between two nodes
    assert warm < reached <= warm + 4


@pytest.mark.parametrize("swing", [0.5, 1.0, 3.0])
def test_a_day_that_only_touches_the_edge_of_a_law_brings_nothing(swing: float) -> None:
    # Warmest at 15:00, and then at just the 5 °C below which hydration is credited nothing.
    assert wait("hydration", HOUR, Air(5.0 - swing, 0.5, swing)).after(START) == NEVER
    assert wait("hydration", HOUR, Air(5.01 - swing, 0.5, swing)).after(START) < NEVER


def test_a_table_that_ends_too_soon_says_never() -> None:
    short = ready(stage("drying", 2 * DAY), Air(20, 0.5), ZONE, START, START + DAY)
    assert short.after(START) == NEVER
    assert short.before(START + 10 * HOUR) < START


# Application limits ------------------------------------------------------------------------------


@given(
    st.builds(
        Limits,
        st.sampled_from((None, 5.0, 10.0)),
        st.sampled_from((None, 29.0, 35.0)),
        st.sampled_from((None, 0.85)),
        st.sampled_from((None, 3.0)),
    ),
    st.floats(4, 34).map(lambda t: round(t, 1)),
    st.sampled_from((0.5, 0.82, 0.85, 0.9)),
    st.sampled_from((0.0, 1.0, 6.0)),
)
@examples()
def test_workable_air_is_right_in_every_minute(
    limits: Limits, mean: float, humidity: float, swing: float
) -> None:
    """Reference: the limits asked of every minute by itself."""
    air, end = Air(mean, humidity, swing), START + 3 * DAY
    minutes = np.arange(START, end)
    degrees = temperatures(air, minutes, ZONE)
    found = workable_air(limits, air, ZONE, START, end)
    for minute, t in zip(minutes.tolist(), degrees.tolist(), strict=True):
        assert (minute in found) == _allowed(limits, t, humidity), wall(minute, ZONE)


def _allowed(limits: Limits, t: float, humidity: float) -> bool:
    hair = 1e-9
    gamma = math.log(humidity) + 17.625 * t / (243.04 + t)
    margin = t - 243.04 * gamma / (17.625 - gamma)  # Magnus (Alduchov and Eskridge, 1996)
    return (
        (limits.temperature_min is None or t >= limits.temperature_min - hair)
        and (limits.temperature_max is None or t <= limits.temperature_max + hair)
        and (limits.humidity_max is None or humidity <= limits.humidity_max + hair)
        and (limits.dew_margin is None or margin >= limits.dew_margin - hair)
    )


def test_limits_are_inclusive_to_the_minute_and_follow_the_wall_clock() -> None:
    # 10 C is met at 9:00 and 21:00, whatever the clocks do: Toronto's go on by an hour on Sunday.
    limits = Limits(temperature_min=10.0)
    end = START + 3 * DAY
    found = workable_air(limits, Air(10.0, 0.5, 4), ZONE, START, end)
    assert [(wall(a, ZONE), wall(b, ZONE)) for a, b in found] == [
        ("Fri 2027-03-12 17:00", "Fri 2027-03-12 21:01"),
        ("Sat 2027-03-13 09:00", "Sat 2027-03-13 21:01"),
        ("Sun 2027-03-14 09:00", "Sun 2027-03-14 21:01"),
        ("Mon 2027-03-15 09:00", wall(end, ZONE)),
    ]


def test_steady_air_on_a_limit_is_within_it_in_either_unit() -> None:
    fifty_fahrenheit = (50 - 32) / 1.8
    for degrees in (10.0, fifty_fahrenheit):
        found = workable_air(Limits(temperature_min=10.0), Air(degrees, 0.5), ZONE, START, END)
        assert list(found) == [(START, END)]
    assert not list(workable_air(Limits(temperature_min=10.0), Air(9.99, 0.5), ZONE, START, END))
