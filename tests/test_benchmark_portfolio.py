"""The benchmark of several jobs in a short form, untimed: its plans are right, its bounds hold."""

from tests.benchmarks.portfolio import head, line, measured
from tests.support.portfolios import generated


def test_plans_verify_bounds_hold_and_searching_makes_nothing_worse() -> None:
    """Of few tasks CP-SAT alone proves what is least, so that our plans come to the same."""
    figures = measured(generated(3, 3, 8), [1.0])
    assert figures.broken == 0
    assert figures.tasks == 24
    first, last = figures.made
    assert last.aim[:2] <= first.aim[:2]
    for made in figures.made:
        assert made.bound[:2] <= made.aim[:2]
    assert figures.finishes is not None
    assert last.aim.finishes == sum(figures.finishes)
    assert len(line(figures).split()) == len(head([2]).replace("2 s", "2s").split())
