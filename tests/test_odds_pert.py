"""Networks of the handbooks with three times for each activity: the classical figures, and ours.

The classical answer takes the critical path of the mean times, adds up means (o + 4 m + p) / 6
and variances ((p - o) / 6)^2 along it, and reads the chance from the normal distribution: Malcolm,
Roseboom, Clark and Fazar, Operations Research 7 (1959), from memory. It forgets that other paths
may be longer, so the true chance is a little lower: MacCrimmon and Ryavec, Operations Research 12
(1964), from memory. Where the figures are from:

7    Hillier and Lieberman, Introduction to Operations Research: durations read, three times,
     variance 9 and the printed 0.84 from memory.
10   Render, Stair and Hanna, Quantitative Analysis for Management: all from memory, printed
     P(T <= 16) = 0.71566.
11   Taylor, Introduction to Management Science: times, path 1-3-5-7, 24 and 0.9633 read. The
     arrows were not, so that only the path is a network here.
14   A worked answer, read: 26 weeks with a variance of 4.11, P(25) = 0.311 and P(30) = 0.975.

The simulated values were computed apart, with numpy's default_rng(1) and 400 000 trials.
"""

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
import pytest

from scheduler.model import Air, Job, Link, Task
from scheduler.odds.runs import make_runs
from scheduler.oddsfile import odds
from scheduler.ready import network_of
from tests.support.planned import verified

UNIT = 2000  # minutes, so that rounding to whole ones is of no account
RUNS = 100_000


@dataclass(frozen=True)
class Activity:
    """The three times of an activity, and what it follows."""

    times: tuple[float, float, float]
    after: str = ""

    @property
    def mean(self) -> float:
        low, mode, high = self.times
        return (low + 4 * mode + high) / 6

    @property
    def variance(self) -> float:
        return ((self.times[2] - self.times[0]) / 6) ** 2


RELIABLE = {
    "A": Activity((1, 2, 3)), "B": Activity((2, 3.5, 8), "A"), "C": Activity((6, 9, 18), "B"),
    "D": Activity((4, 5.5, 10), "C"), "E": Activity((1, 4.5, 5), "C"),
    "F": Activity((4, 4, 10), "E"), "G": Activity((5, 6.5, 11), "D"),
    "H": Activity((5, 8, 17), "EG"), "I": Activity((3, 7.5, 9), "C"),
    "J": Activity((3, 9, 9), "FI"), "K": Activity((4, 4, 4), "J"), "L": Activity((1, 5.5, 7), "J"),
    "M": Activity((1, 2, 3), "H"), "N": Activity((5, 5.5, 9), "KL"),
}  # fmt: skip
FOUNDRY = {
    "A": Activity((1, 2, 3)), "B": Activity((2, 3, 4)), "C": Activity((1, 2, 3), "A"),
    "D": Activity((2, 4, 6), "B"), "E": Activity((1, 4, 7), "C"), "F": Activity((1, 2, 9), "C"),
    "G": Activity((3, 4, 11), "DE"), "H": Activity((1, 2, 3), "FG"),
}  # fmt: skip
SEVEN = {
    "1": Activity((5, 8, 17)), "3": Activity((3, 5, 7), "1"), "5": Activity((4, 6, 8), "3"),
    "7": Activity((3, 4, 5), "5"),
}  # fmt: skip
Activities = dict[str, Activity]


def job_of(activities: Activities, *, mean: bool) -> Job:
    """The network as a job that needs nobody: with the mean times, or with all three."""
    tasks = tuple(
        Task(
            id=name,
            name=name,
            work=round((of.mean if mean else of.times[1]) * UNIT),
            after=tuple(Link(before) for before in of.after),
            work_range=(round(of.times[0] * UNIT), round(of.times[2] * UNIT)),
        )
        for name, of in activities.items()
    )
    return Job("Network", "Etc/UTC", 0, Air(20.0, 0.5), {}, {}, {}, tasks)


def classical(activities: Activities) -> tuple[str, float, float]:
    """The critical path of the mean times, its mean and its variance."""
    path = verified(job_of(activities, mean=True)).chain
    return (
        "".join(path),
        sum(activities[each].mean for each in path),
        sum(activities[each].variance for each in path),
    )


def normal(deadline: float, mean: float, variance: float) -> float:
    return (1 + erf((deadline - mean) / sqrt(2 * variance))) / 2


def simulated(activities: Activities) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The duration of the network in many runs."""
    job = job_of(activities, mean=False)
    plan = verified(job)
    runs = make_runs(network_of(job, plan), plan, odds(), RUNS, 1)
    duration: np.ndarray[tuple[int], np.dtype[np.float64]] = runs.finish / UNIT
    return duration


@pytest.mark.parametrize(
    ("activities", "path", "mean", "variance", "deadline", "printed", "rounding"),
    [
        (RELIABLE, "ABCEFJLN", 44, 9, 47, 0.84, 0.005),
        (FOUNDRY, "ACEGH", 15, 112 / 36, 16, 0.71566, 0.0015),
        (SEVEN, "1357", 24, 5, 28, 0.9633, 0.0002),
    ],
    ids=["7", "10", "11"],
)
def test_the_classical_answer_is_the_printed_one(  # noqa: PLR0913, PLR0917
    activities: Activities, path: str, mean: float, variance: float, deadline: float,
    printed: float, rounding: float,
) -> None:  # fmt: skip
    assert classical(activities)[0] == path
    assert classical(activities)[1:] == pytest.approx((mean, variance))
    assert normal(deadline, mean, variance) == pytest.approx(printed, abs=rounding)


@pytest.mark.parametrize(("deadline", "printed"), [(25, 0.311), (30, 0.975)])
def test_the_classical_answer_from_a_mean_and_a_variance_is_the_printed_one(
    deadline: float, printed: float
) -> None:
    """Example 14."""
    assert normal(deadline, 26, 4.11) == pytest.approx(printed, abs=0.001)


@pytest.mark.parametrize(
    ("activities", "deadline", "mean", "variance", "chance", "below"),
    [
        (RELIABLE, 47, 44.33, 8.62, 0.816, 0.8413),
        (FOUNDRY, 16, 15.24, 2.93, 0.690, 0.7146),
    ],
    ids=["7", "10"],
)
def test_simulated_the_chance_is_a_little_below_the_printed_one(  # noqa: PLR0913, PLR0917
    activities: Activities, deadline: float, mean: float, variance: float, chance: float,
    below: float,
) -> None:  # fmt: skip
    """A little below: MacCrimmon and Ryavec. Sampling leaves 0.0013 in a chance of 0.8."""
    durations = simulated(activities)
    in_time = float(np.mean(durations <= deadline))
    assert durations.mean() == pytest.approx(mean, abs=0.03)
    assert durations.var() == pytest.approx(variance, rel=0.02)
    assert in_time == pytest.approx(chance, abs=0.005)
    assert below - 0.04 < in_time < below


def test_simulated_a_single_path_has_the_classical_mean_but_a_spread_of_its_own() -> None:
    """Example 11, nothing beside the path: a beta's variance is (p - o)^2 alpha beta / 252.

    For these shapes alpha + beta is 6 (any textbook on the beta distribution, from memory).
    """
    durations = simulated(SEVEN)
    variance = sum(beta_variance(*of.times) for of in SEVEN.values())
    assert durations.mean() == pytest.approx(24, abs=0.03)
    assert durations.var() == pytest.approx(variance, rel=0.02)
    assert 0.9633 - 0.04 < np.mean(durations <= 28) < 0.9633


def beta_variance(low: float, mode: float, high: float) -> float:
    alpha = 1 + 4 * (mode - low) / (high - low)
    return (high - low) ** 2 * alpha * (6 - alpha) / 252
