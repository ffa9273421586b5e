"""How a quantity of the air strays from what is supposed of it, given what was read.

The deviation d(t) is an Ornstein-Uhlenbeck process, a Gaussian process with the covariance

    k(t, u) = s^2 exp(-|t - u| / tau).

A reading of it is y = d(t) + b + e: ``b`` is the same for all readings of a sensor, ``e`` anew in
each hour, both normal. What is known of d is then normal, too, with

    mean = K* C^-1 y,   covariance = K** - K* C^-1 K*^T,   C = K + beta^2 1 1^T + sigma^2 I.

So one odd reading moves little, a day of them much, and all of it fades with ``tau``.

Source: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning (2006), eqs.
2.22 to 2.24 and 4.18 with nu = 1/2 (from memory).
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from scheduler.clock import DAY, HOUR
from scheduler.oddsfile import Straying

Minutes = np.ndarray[Any, np.dtype[np.int64]]
Reals = np.ndarray[Any, np.dtype[np.float64]]

REMEMBERED = 5 * DAY
"""How far back from the last reading the others still say something [min]."""


@dataclass(frozen=True)
class Readings:
    """Deviations as read, an hour's mean each: when [UTC min] and how far [K, or 0..1]."""

    at: Minutes
    values: Reals

    @property
    def key(self) -> tuple[tuple[int, ...], tuple[float, ...]]:
        """The same as plain values, which can be looked up."""
        return tuple(self.at.tolist()), tuple(self.values.tolist())


@dataclass(frozen=True)
class Deviation:
    """What is known of a deviation at some minutes: normal, with this mean and covariance."""

    mean: Reals
    covariance: Reals

    @cached_property
    def factor(self) -> Reals:
        """A matrix ``f`` with ``f @ f.T`` the covariance: ``mean + f @ z`` samples it."""
        size, direction = np.linalg.eigh(self.covariance)
        return np.asarray(direction * np.sqrt(np.maximum(size, 0.0)))


def hourly(at: Minutes, values: Reals, remembered: int = REMEMBERED) -> Readings:
    """Readings as means of an hour each, of the last days only.

    Args:
        at: rising UTC minutes.
        values: deviations read then.
        remembered: how far back from the last of them [min].
    """
    late = at > at.max(initial=0) - remembered
    _, hour = np.unique(at[late] // HOUR, return_inverse=True)
    count = np.bincount(hour)
    middle = np.bincount(hour, at[late].astype(float)) / np.maximum(count, 1)
    mean = np.bincount(hour, values[late]) / np.maximum(count, 1)
    return Readings(middle.astype(np.int64), mean)


def mean(of: Straying, read: Readings, nodes: Minutes) -> Reals:
    """The deviation to be expected at ``nodes``."""
    return np.asarray(_covariance(of, nodes, read.at) @ _weights(of, *read.key))


@lru_cache(maxsize=64)
def _weights(of: Straying, at: tuple[int, ...], values: tuple[float, ...]) -> Reals:
    """``C^-1 y``; the same readings are asked for more than once."""
    return _solved(of, Readings(np.array(at, dtype=np.int64), np.array(values)), np.array(values))


def given(of: Straying, read: Readings, nodes: Minutes) -> Deviation:
    """All that is known of the deviation at ``nodes``."""
    between = _covariance(of, nodes, read.at)
    left = _covariance(of, nodes, nodes) - between @ _solved(of, read, between.T)
    return Deviation(between @ _weights(of, *read.key), left)


def _covariance(of: Straying, some: Minutes, others: Minutes) -> Reals:
    apart = np.abs(some[:, None] - others[None, :])
    return np.asarray(of.strays**2 * np.exp(-apart / of.fades))


def _solved(of: Straying, read: Readings, right: Reals) -> Reals:
    """``C^-1 right`` with the covariance of the readings."""
    noise = of.noise**2 * np.eye(len(read.at))
    read_covariance = _covariance(of, read.at, read.at) + of.bias**2 + noise
    return np.asarray(np.linalg.solve(read_covariance, right))
