"""The deviation of the air given readings, against formulas worked in other ways."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler import straying
from scheduler.oddsfile import Straying, odds
from scheduler.straying import Minutes, Readings, Reals

HOUR = 60
OF = Straying(strays=1.5, fades=48 * HOUR, noise=1.0, bias=0.5)
TIMES = st.lists(st.integers(0, 200), min_size=1, max_size=12, unique=True).map(sorted)
VALUES = st.floats(-8, 8)


def read_at(hours: list[int], values: list[float]) -> Readings:
    return Readings(np.array(hours) * HOUR, np.array(values))


def test_it_is_the_posterior_of_the_textbook() -> None:
    """Rasmussen and Williams 2006, eqs. 2.23 and 2.24 (from memory), worked out entry by entry."""
    hours, values = [0, 1, 5, 30], [2.0, 1.0, -0.5, 3.0]
    nodes = [-10, 0, 12, 31, 100]
    n = len(hours)

    def k(t: int, u: int) -> float:
        return 1.5**2 * float(np.exp(-abs(t - u) / 48))

    c = np.array(
        [[k(a, b) + 0.25 + (1.0 if i == j else 0) for j, b in enumerate(hours)]
         for i, a in enumerate(hours)]
    )  # fmt: skip
    inverse = np.linalg.inv(c)
    found = straying.given(OF, read_at(hours, values), np.array(nodes) * HOUR)
    for i, t in enumerate(nodes):
        row = [k(t, hours[j]) for j in range(n)]
        expected = sum(row[j] * inverse[j, m] * values[m] for j in range(n) for m in range(n))
        assert found.mean[i] == pytest.approx(expected)
        for h, u in enumerate(nodes):
            other = [k(u, hours[m]) for m in range(n)]
            told = sum(row[j] * inverse[j, m] * other[m] for j in range(n) for m in range(n))
            assert found.covariance[i, h] == pytest.approx(k(t, u) - told)


@given(TIMES, st.data())
@settings(max_examples=50)
def test_it_is_what_a_filter_finds_reading_by_reading(
    hours: list[int], data: st.DataObject
) -> None:
    """A Kalman filter of two states, deviation and bias, knows as much after the last reading.

    R. E. Kalman, A New Approach to Linear Filtering and Prediction Problems, J. Basic Eng. 82
    (1960), from memory.
    """
    values = [data.draw(VALUES) for _ in hours]
    state, p = np.zeros(2), np.diag([1.5**2, 0.5**2])
    see, last = np.array([1.0, 1.0]), hours[0]
    for hour, value in zip(hours, values, strict=True):
        keep = np.diag([np.exp(-(hour - last) / 48), 1.0])
        state = keep @ state
        p = keep @ p @ keep.T + np.diag([1.5**2 * (1 - keep[0, 0] ** 2), 0.0])
        gain = p @ see / (see @ p @ see + 1.0)
        state, p, last = state + gain * (value - see @ state), p - np.outer(gain, see @ p), hour
    found = straying.given(OF, read_at(hours, values), np.array([hours[-1] * HOUR]))
    assert found.mean[0] == pytest.approx(state[0], abs=1e-9)
    assert found.covariance[0, 0] == pytest.approx(p[0, 0], abs=1e-9)


def now(hours: list[int], values: list[float]) -> float:
    """The deviation expected at the last reading."""
    return float(straying.mean(OF, read_at(hours, values), np.array([hours[-1] * HOUR]))[0])


def test_a_day_of_readings_moves_more_than_one() -> None:
    once, day = now([0], [3.0]), now(list(range(24)), [3.0] * 24)
    assert 1.5 < once < 2.0
    assert 2.4 < day < 3.0


def test_one_odd_reading_among_a_day_of_them_moves_little() -> None:
    usual = [0.0] * 23
    assert abs(now(list(range(24)), [*usual[:12], 10.0, *usual[12:]])) < 0.5


@pytest.mark.parametrize("of", [odds().air.temperature, odds().air.humidity])
def test_it_fades_to_nothing_and_never_turns_round(of: Straying) -> None:
    nodes = np.arange(0, 30 * 24) * HOUR
    mean = straying.mean(of, read_at([0], [of.strays]), nodes)
    assert (np.diff(mean) < 0).all()
    assert mean[0] > of.strays / 3
    assert 0 < mean[-1] < of.strays / 1000
    assert mean[48] == pytest.approx(mean[0] * np.exp(-48 * HOUR / of.fades))


@given(TIMES, st.data())
@settings(max_examples=50)
def test_a_reading_never_makes_it_less_sure(hours: list[int], data: st.DataObject) -> None:
    nodes = np.array([0, 50, 210]) * HOUR
    less = straying.given(OF, read_at(hours[:-1], [0.0] * (len(hours) - 1)), nodes)
    more = straying.given(OF, read_at(hours, [data.draw(VALUES) for _ in hours]), nodes)
    assert (np.diag(more.covariance) <= np.diag(less.covariance) + 1e-9).all()
    assert (np.diag(more.covariance) <= 1.5**2 + 1e-9).all()


def test_nothing_read_leaves_all_open() -> None:
    nodes = np.array([0, 60])
    nothing = Readings(np.array([], dtype=np.int64), np.array([]))
    found = straying.given(OF, nothing, nodes)
    assert found.mean.tolist() == [0, 0]
    assert found.covariance[0, 1] == pytest.approx(1.5**2 * np.exp(-1 / 48))
    assert straying.mean(OF, nothing, nodes).tolist() == [0, 0]


def test_samples_have_the_covariance_that_is_left() -> None:
    nodes = np.array([0, 6, 24, 100]) * HOUR
    found = straying.given(OF, read_at([0, 3], [1.0, 1.2]), nodes)
    assert found.factor @ found.factor.T == pytest.approx(found.covariance, abs=1e-9)


def hours_of(at: Minutes, values: Reals) -> tuple[list[int], list[float]]:
    found = straying.hourly(at, values)
    return found.at.tolist(), found.values.tolist()


def test_readings_count_by_the_hour() -> None:
    at = np.array([0, 20, 40, 60, 170])
    assert hours_of(at, np.array([1.0, 2.0, 3.0, 5.0, 7.0])) == ([20, 60, 170], [2.0, 5.0, 7.0])


def test_only_the_last_days_count() -> None:
    day = 24 * HOUR
    at = np.array([0, day, 2 * day, 6 * day])
    assert hours_of(at, np.array([9.0, 9.0, 1.0, 2.0])) == ([2 * day, 6 * day], [1.0, 2.0])
