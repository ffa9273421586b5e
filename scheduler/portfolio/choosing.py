"""A day chosen for each of several jobs, so that all work fits into people's hours.

Choosing days is a small program in integers, or in parts of days a linear one, which takes no time.
Of all the pairs of minutes between which work must fit only those are stated that some choice
breaks.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from scheduler.cpsolver import solver_of, watched
from scheduler.portfolio.energy import FINE, Calendar, Pair, Row, Shares, Worth
from scheduler.watch import UNWATCHED, Patience, Unheard

_ROUNDS = 60  # of finding what a choice breaks; a dozen is nearly always enough

_PRICE = 1 << 20
"""Into how many parts prices are divided: whole numbers are exact."""

Limits = Sequence[tuple[Worth, int]]
"""Other numbers of days, and what they may come to at most."""


def least_together(
    days: Calendar, late: float, effort: float, watch: Patience = UNWATCHED
) -> tuple[float, int]:
    """The least weighted lateness [min], and with no more than ``late`` the least sum of finishes.

    ``effort`` is the solver's deterministic time for each; the watch may have enough of it.
    """
    program, lateness = _Program(days, watch), days.lateness
    least = program.least(lateness, effort) if late else 0
    total = program.least(days.finishes, effort, [(lateness, math.ceil(FINE * late))])
    return least / FINE, total


def scarce(days: Calendar, late: float) -> frozenset[str]:
    """The people who have too few hours for all jobs to be done on the days that suit them best."""
    parts = InParts(days, [(days.lateness, math.ceil(FINE * late))])
    parts.least(days.finishes)
    return frozenset(pair.who for pair in parts.rows)


class InParts:
    """Parts of days chosen for jobs, as often as it is asked.

    Args:
        days: to choose from.
        limits: what is kept to in every choice.
        known: pairs of minutes that some choice broke.
    """

    def __init__(
        self, days: Calendar, limits: Limits = (), known: Mapping[Pair, Row] | None = None
    ) -> None:
        self.days, self.limits = days, limits
        self.rows: dict[Pair, Row] = {}
        self._most: dict[Pair, pywraplp.Constraint] = {}
        self._program = program = pywraplp.Solver.CreateSolver("GLOP")
        self._shares = [[program.NumVar(0, 1, "") for _ in of.first] for of in days.days]
        for of in self._shares:
            program.Add(sum(of) == 1)
        self._limits = [
            program.Add(_total(others, self._shares) <= most) for others, most in limits
        ]
        self._prices: Sequence[int] = ()
        self._state(known or {})

    def least(self, worth: Sequence[Sequence[float]], used: float = 1) -> Shares | None:
        """The parts that come to least, where so much of people's hours can be used.

        None where there are none.
        """
        lowest = [[each - min(of) for each in of] for of in worth]  # large numbers are not exact
        self._program.Minimize(_total(lowest, self._shares))
        for pair, most in self._most.items():
            most.SetUb(used * self.rows[pair].hours)
        shares = None
        for _ in range(_ROUNDS):
            if self._program.Solve() != pywraplp.Solver.OPTIMAL:
                return None
            self._prices = [*map(_price, [*self._limits, *self._most.values()])]
            shares = [np.array([day.solution_value() for day in of]) for of in self._shares]
            new = _broken(self.days, shares, self.rows, used)
            if not new:
                break
            self._state(new, used)
        return shares

    def no_less_than(self, worth: Worth) -> int:
        """What whole days come to at least, by the prices at which parts were last least.

        Exact whatever the prices are (Lagrange): a choice that keeps to all rows is worth no less
        where what it takes, less what it may take, is reckoned at a price on top.
        """
        dear, allowed = [[each * _PRICE for each in of] for of in worth], 0
        for price, (taken, most) in zip(self._prices, self._stated(), strict=False):
            allowed += price * most
            for (k, day), each in taken if price else ():
                dear[k][day] += price * each
        return -((allowed - sum(map(min, dear))) // _PRICE)

    def _stated(self) -> Iterator[tuple[Iterable[tuple[tuple[int, int], int]], int]]:
        """What each row has every day take, and the most that it allows."""
        for others, most in self.limits:
            of_days = (((k, d), each) for k, of in enumerate(others) for d, each in enumerate(of))
            yield of_days, most
        for row in self.rows.values():
            yield row.work.items(), row.hours

    def _state(self, rows: Mapping[Pair, Row], used: float = 1) -> None:
        for pair, row in rows.items():
            most = self._program.Constraint(-self._program.infinity(), used * row.hours)
            for (k, day), work in row.work.items():
                most.SetCoefficient(self._shares[k][day], work)
            self._most[pair] = most
        self.rows.update(rows)


class _Program:
    """Days to be chosen for jobs, and what was found so far that they have to keep to."""

    def __init__(self, days: Calendar, watch: Patience) -> None:
        self.days, self.watch = days, Unheard(watch)
        self.rows: dict[Pair, Row] = {}

    def least(self, worth: Worth, effort: float, limits: Limits = ()) -> int:
        """What the numbers of the days come to at least, whichever are chosen."""
        parts = InParts(self.days, limits, self.rows)
        parts.least(worth)
        self.rows.update(parts.rows)
        least = parts.no_less_than(worth)
        while effort > 0 and not self.watch.enough():
            chosen, bound, spent = self._in_days(worth, limits, effort)
            least, effort = max(least, bound), effort - max(spent, effort / 8)
            new = {} if chosen is None else _broken(self.days, chosen, self.rows)
            if not new:
                break
            self.rows |= new
        return least

    def _in_days(
        self, worth: Worth, limits: Limits, effort: float
    ) -> tuple[Shares | None, int, float]:
        """The best whole days known, what none comes to less than, and the effort it took."""
        model = cp_model.CpModel()
        days = [[model.new_bool_var("") for _ in of.first] for of in self.days.days]
        for of in days:
            model.add_exactly_one(of)
        for others, most in limits:
            model.add(_total(others, days) <= most)
        for row in self.rows.values():
            model.add(_work(row, days) <= row.hours)
        model.minimize(_total(worth, days))
        solver = solver_of(effort)
        solver.parameters.linearization_level = 2
        status = watched(solver, model, None, self.watch)
        chosen = None
        if status in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            chosen = [np.array([float(solver.value(day)) for day in of]) for of in days]
        bound = math.ceil(solver.best_objective_bound - 1e-6)
        return chosen, bound, solver.response_proto.deterministic_time


def _broken(
    days: Calendar, shares: Shares, known: Mapping[Pair, Row], used: float = 1
) -> dict[Pair, Row]:
    """What a choice breaks that was not known yet."""
    return {pair: days.row(pair) for pair in days.broken(shares, used) if pair not in known}


def _price(row: pywraplp.Constraint) -> int:
    """How much less a unit more of what is allowed would make the least, in parts."""
    return max(round(-float(row.dual_value()) * _PRICE), 0)


def _total(worth: Sequence[Sequence[float]], days: Any) -> Any:
    """The sum of what the days chosen are worth."""
    pairs = (pair for of in zip(worth, days, strict=True) for pair in zip(*of, strict=True))
    return sum(each * day for each, day in pairs)


def _work(row: Row, days: Any) -> Any:
    """The work between two minutes that the days chosen bring."""
    return sum(work * days[k][day] for (k, day), work in row.work.items())
