"""Air as measured and foreseen: a course laid over the supposed air, and waits and limits in it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.air import humidities, margin_over_dew_point, temperatures
from scheduler.clock import DAY, HOUR
from scheduler.hours import NEVER
from scheduler.laws import rate
from scheduler.model import LABORATORY, Air, Course, Limits, Stage
from scheduler.progress import Ready, ready, workable_air
from tests.support.examples import examples
from tests.support.planned import at

ZONE = "America/Toronto"
START = at("2027-03-12 17:00", ZONE)  # two nights before the clocks change
END = START + 40 * DAY
LAWS = ("hydration", "drying", "thick-drying", "moisture-cure", "fixed")
FLOOD = Stage(
    "flood", "fixed", HOUR, LABORATORY, "from memory", "made up for the test",
    least=24 * HOUR, cold_below=10.0, cold_least=48 * HOUR,
)  # fmt: skip


def course(*nodes: tuple[int, float, float]) -> Course:
    minutes, degrees, damp = zip(*nodes, strict=True)
    return Course(minutes, degrees, damp)


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """Up to some days of air at odd minutes, from before the start of the job or after it."""
    gaps = draw(st.lists(st.integers(1, 500), min_size=1, max_size=25))
    first = START + draw(st.integers(-DAY, 3 * DAY))
    minutes = first + np.cumsum([0, *gaps])
    degrees = st.sampled_from((2.0, 4.5, 8.0, 9.5, 11.0, 16.0, 21.0, 30.0))
    damp = st.sampled_from((0.2, 0.5, 0.85, 0.97, 1.0))
    return course(*((int(minute), draw(degrees), draw(damp)) for minute in minutes))


airs = st.builds(
    Air,
    st.sampled_from((4.0, 9.0, 11.0, 18.0, 25.0)),
    st.sampled_from((0.4, 0.8, 0.97)),
    st.sampled_from((0.0, 0.0, 3.0)),
    course=courses(),
)
stages = st.builds(
    Stage, st.just("flood"), st.sampled_from(LAWS), st.sampled_from((0, 20, 150, 1020)),
    st.just(LABORATORY), st.just("from memory"), st.just("made up for the test"),
    least=st.sampled_from((0, 24 * HOUR)), cold_below=st.sampled_from((None, 9.0, 10.0)),
    cold_least=st.just(48 * HOUR), shorten=st.booleans(),
)  # fmt: skip
finishes = st.integers(START, START + 6 * DAY)


# The air itself ----------------------------------------------------------------------------------


def test_inside_a_course_the_air_is_linear_between_its_nodes() -> None:
    air = Air(20, 0.5, 3, course=course((START + 100, 10, 0.8), (START + 200, 14, 0.6)))
    minutes = np.array([START + 100, START + 125, START + 200])
    assert temperatures(air, minutes, ZONE).tolist() == pytest.approx([10, 11, 14])
    assert humidities(air, minutes).tolist() == pytest.approx([0.8, 0.75, 0.6])


def test_outside_a_course_the_air_is_as_supposed() -> None:
    plain = Air(20, 0.5, 3)
    air = replace(plain, course=course((START + 100, 10, 0.8), (START + 200, 14, 0.6)))
    minutes = np.array([START - DAY, START + 99, START + 201, START + DAY])
    expected = temperatures(plain, minutes, ZONE)
    assert temperatures(air, minutes, ZONE).tolist() == expected.tolist()
    assert humidities(air, minutes).tolist() == [0.5] * 4


@given(airs)
@examples(30)
def test_a_course_that_says_what_is_supposed_changes_no_wait(air: Air) -> None:
    plain = replace(air, course=None)
    minutes = np.arange(START - START % 15, START + 5 * DAY, 15)
    degrees = temperatures(plain, minutes, ZONE)
    same = course(*zip(minutes.tolist(), degrees.tolist(), humidities(plain, minutes).tolist(),
                       strict=True))  # fmt: skip
    for stage in (FLOOD, replace(FLOOD, law="drying", least=0, cold_below=None, shorten=True)):
        supposed = ready(stage, plain, ZONE, START, END)
        measured = ready(stage, replace(plain, course=same), ZONE, START, END)
        for finish in range(START, START + 6 * DAY, 1111):
            expected = supposed.after(finish)
            assert measured.after(finish) == pytest.approx(expected, abs=0 if expected > END else 1)


# Waits -------------------------------------------------------------------------------------------


def wait(stage: Stage, air: Air) -> Ready:
    return ready(stage, air, ZONE, START, END)


@given(stages, airs, finishes, st.integers(0, 2 * DAY))
@examples()
def test_waits_stay_monotone_with_an_exact_inverse(
    stage: Stage, air: Air, finish: int, later: int
) -> None:
    lag = wait(stage, air)
    reached = lag.after(finish)
    assert finish + lag.floor <= reached <= lag.after(finish + later)
    if reached < NEVER:
        last = lag.before(reached)
        assert last >= finish
        assert lag.after(last) <= reached < lag.after(last + 1)


@given(stages, airs, finishes)
@examples()
def test_many_waits_at_once_are_each_as_one_alone(stage: Stage, air: Air, finish: int) -> None:
    some = np.arange(finish, finish + 3 * HOUR, 7, dtype=np.int64)
    lag = wait(stage, air)
    assert lag.after_many(some).tolist() == [lag.after(int(one)) for one in some]


@given(st.sampled_from(LAWS), st.sampled_from((20, 150, 1020)), airs, finishes)
@examples()
def test_a_wait_in_measured_air_is_the_sum_of_its_minutes(
    law: str, minutes: int, air: Air, finish: int
) -> None:
    """Reference: every minute by itself, at the temperature and humidity of its middle."""
    stage = replace(FLOOD, law=law, minutes=minutes, least=0, cold_below=None, shorten=True)
    found = wait(stage, air).after(finish)
    middles = np.arange(finish + 0.5, finish + 20 * DAY, dtype=np.float64)
    rates = rate(law, temperatures(air, middles, ZONE), humidities(air, middles), LABORATORY)
    gained = np.concatenate(([0], np.cumsum(rates)))
    if found > finish + 20 * DAY:
        assert gained[-1] < minutes * 1.01 + 1
        return
    # Rates bend between nodes a quarter of an hour apart, and jump at the edges of laws.
    doubt = 2 + 0.01 * minutes + (found - finish) / DAY
    assert gained[found - finish - 1] <= minutes + doubt
    assert gained[found - finish] >= minutes - doubt


def test_a_leap_within_minutes_is_no_straight_line_of_rates() -> None:
    """Rates of drying curve with the temperature: a line across a leap collects too much.

    Reference: every minute by itself, at the temperature of its middle.
    """
    air = Air(9.0, 0.3, course=course((START, 2, 0.3), (START + 60, 38, 0.3)))
    stage = replace(FLOOD, law="drying", minutes=40, least=0, cold_below=None, shorten=True)
    middles = np.arange(START + 0.5, START + 60, dtype=np.float64)
    rates = rate("drying", temperatures(air, middles, ZONE), humidities(air, middles), LABORATORY)
    summed = START + 1 + int(np.searchsorted(np.cumsum(rates), stage.minutes - 1e-6))
    assert wait(stage, air).after(START) == summed


@given(airs, finishes)
@examples()
def test_the_longer_minimum_holds_where_cold_follows_and_runs_on(air: Air, finish: int) -> None:
    """Reference: every minute of a day after every earlier finish, as decision 6 reads."""
    minutes = np.arange(START, finish + DAY)
    cold = temperatures(air, minutes, ZONE) < 10.0
    ahead = np.convolve(cold, np.ones(DAY), "full")[DAY - 1 : DAY - 1 + finish + 1 - START] > 0.5
    expected = max(
        t + (48 if is_cold else 24) * HOUR
        for t, is_cold in zip(range(START, finish + 1), ahead, strict=True)
    )
    assert wait(FLOOD, air).after(finish) == expected


def test_a_cold_night_that_was_measured_makes_the_flood_test_wait() -> None:
    # ASTM D5957-98(2021) 5.4 (read): 24 h, or 48 h where it is below 50 F (10 C).
    night = course((START, 18, 0.5), (START + 10 * HOUR, 9, 0.5), (START + 20 * HOUR, 18, 0.5))
    lag = wait(FLOOD, Air(18, 0.5, course=night))
    assert lag.after(START) == START + 48 * HOUR
    warm_again = START + 12 * HOUR  # a finish after the night waits no longer than one before it
    assert lag.after(warm_again) == START + 11 * HOUR + 6 + 48 * HOUR
    assert lag.after(START + 4 * DAY) == START + 5 * DAY


def test_a_damp_day_that_was_measured_makes_a_coat_wait() -> None:
    coat = Stage("recoat", "drying", 2 * HOUR, LABORATORY, "from memory", "made up")
    plain = Air(21, 0.5)
    damp = course((START, 21, 0.99), (START + 6 * HOUR, 21, 0.99))
    measured = wait(coat, replace(plain, course=damp)).after(START)
    supposed = wait(coat, plain).after(START)
    # The drying law gives no credit above 98 %, so that nothing dries in the first six hours.
    assert measured == pytest.approx(supposed + 6 * HOUR, abs=1)


# Application limits ------------------------------------------------------------------------------


@given(
    st.builds(
        Limits,
        st.sampled_from((None, 5.0, 10.0)),
        st.sampled_from((None, 29.0)),
        st.sampled_from((None, 0.85)),
        st.sampled_from((None, 3.0)),
    ),
    airs,
)
@examples(50)
def test_the_minutes_for_applying_are_right_in_measured_air(limits: Limits, air: Air) -> None:
    """Reference: the limits asked of every minute by itself."""
    end = START + 4 * DAY
    minutes = np.arange(START, end)
    found = workable_air(limits, air, ZONE, START, end)
    degrees, damp = temperatures(air, minutes, ZONE), humidities(air, minutes)
    allowed = np.ones(len(minutes), dtype=bool)
    allowed &= degrees >= (limits.temperature_min or -99) - 1e-9
    allowed &= degrees <= (limits.temperature_max or 99) + 1e-9
    allowed &= damp <= (limits.humidity_max or 2) + 1e-9
    if limits.dew_margin is not None:
        allowed &= margin_over_dew_point(degrees, damp) >= limits.dew_margin - 1e-9
    wrong = [m for m, a in zip(minutes.tolist(), allowed, strict=True) if (m in found) != a]
    # The margin over the dew point bends between two nodes; of a touch of a limit there, a minute
    # or two may be missed.
    assert len(wrong) <= (0 if limits.dew_margin is None else 8)


def test_a_damp_evening_is_no_evening_for_a_coat() -> None:
    damp = course((START, 20, 0.6), (START + 60, 20, 0.9), (START + 120, 20, 0.9),
                  (START + 180, 20, 0.6))  # fmt: skip
    air = Air(20, 0.5, course=damp)
    found = workable_air(Limits(humidity_max=0.85), air, ZONE, START, END)
    assert list(found) == [(START, START + 51), (START + 130, END)]
