"""The constraint model: which task goes first, where people, windows and rooms are contended.

Starts are minutes, their domains the minutes at which a task may start, cut to what the finish of
a plan already found leaves. What a finish or a wait does over those minutes is piecewise: flat
(nobody is there when it is ready) or parallel to the clock, in short runs where a swinging air
bends it; each piece is one clause or one enforced inequality, exact to the minute. OR-Tools CP-SAT
decides the order and proves the bound; the passes give the dates.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from scheduler.clock import day_of, day_start
from scheduler.cpsolver import Told, solver_of, watched
from scheduler.hours import NEVER, spans
from scheduler.network import Network, days_of, presence
from scheduler.passes import Starts, finish_of
from scheduler.pieces import Array, finishes_of, next_of, pieces
from scheduler.progress import Ready
from scheduler.steps import Closure, Step
from scheduler.watch import UNWATCHED, Watch
from scheduler.without import Opening, Outage, is_without

Expression = Any  # the library's linear expressions have no public type


@dataclass(frozen=True)
class Outcome:
    """What a search brought: starts if any were found, and a bound that no plan beats.

    ``impossible`` says it is proven that there is no plan at all; ``effort`` what it took.
    """

    starts: list[int] | None
    bound: int
    impossible: bool = False
    effort: float = 0.0


class Model:
    """The job as a constraint model, every start within ``[early, late]``."""

    def __init__(
        self, network: Network, early: Starts, late: Starts, watch: Watch = UNWATCHED
    ) -> None:
        self.network, self.early, self.late, self.watch = network, early, late, watch
        self.cp = cp_model.CpModel()
        self._literals: dict[tuple[int, int], Expression] = {}
        self._hints: list[tuple[Expression, Callable[[Starts], int]]] = []
        self._no = self.cp.new_constant(0)
        self._yes = self.cp.new_constant(1)
        self.minutes = [self._starts(step) for step in network.steps]
        self.start = [self._start(step) for step in network.steps]
        self.finish = [self._finish(step) for step in network.steps]
        self._links()
        self._crews()
        for closure in network.undecided:
            self._close(closure)

    # -- variables ---------------------------------------------------------------------------

    def _start(self, step: Step) -> Expression:
        j = step.index
        open_ = step.starts.within(self.early[j], self.late[j] + 1)
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in open_])
        var = self.cp.new_int_var_from_domain(domain, f"start of {step.task.id}")
        self._hints.append((var, lambda starts: starts[j]))
        return var

    def _finish(self, step: Step) -> Expression:
        """The finish as an expression of the start; one length a stretch for work that splits."""
        j, start = step.index, self.start[step.index]
        starts = self.minutes[step.index]
        lengths = finishes_of(step, starts) - starts
        kinds = np.unique(lengths)
        if len(kinds) == 1:
            return start + int(kinds[0])
        finish = self.cp.new_int_var(
            int(starts[0] + lengths[0]), int(starts[-1] + lengths[-1]), f"finish of {step.task.id}"
        )
        self._hints.append((finish, lambda s: step.finish(s[j])))
        chosen = [self._of_length(step, finish, starts[lengths == k], int(k)) for k in kinds]
        self.cp.add_exactly_one(chosen)
        return finish

    def _of_length(self, step: Step, finish: Expression, starts: Array, length: int) -> Expression:
        j = step.index
        chosen = self.cp.new_bool_var(f"{step.task.id} takes {length}")
        self._hints.append((chosen, lambda s: int(step.finish(s[j]) - s[j] == length)))
        domain = cp_model.Domain.from_values(starts.tolist())
        self.cp.add_linear_expression_in_domain(self.start[j], domain).only_enforce_if(chosen)
        self.cp.add(finish == self.start[j] + length).only_enforce_if(chosen)
        return chosen

    def _starts(self, step: Step) -> Array:
        j = step.index
        parts = [np.arange(a, b) for a, b in step.starts.within(self.early[j], self.late[j] + 1)]
        return np.concatenate(parts)

    def not_before(self, j: int, minute: int) -> Expression:
        """The literal that step ``j`` starts at ``minute`` or later."""
        minute = self.network.steps[j].first(minute)
        if minute <= self.early[j]:
            return self._yes
        if minute > self.late[j]:
            return self._no
        literal = self._literals.get((j, minute))
        if literal is None:
            literal = self._literals[j, minute] = self.cp.new_bool_var(f"{j} >= {minute}")
            self.cp.add(self.start[j] >= minute).only_enforce_if(literal)
            self.cp.add(self.start[j] < minute).only_enforce_if(~literal)
            self._hints.append((literal, lambda starts: int(starts[j] >= minute)))
        return literal

    # -- rules -------------------------------------------------------------------------------

    def _links(self) -> None:
        for arc in self.network.arcs:
            to = (self.start if arc.to == "start" else self.finish)[arc.after]
            if isinstance(arc.lag, Ready):
                target = arc.after if arc.to == "start" else None
                self._ready(self.network.steps[arc.before], arc.lag, to, target)
            else:
                of = (self.start if arc.of == "start" else self.finish)[arc.before]
                self.cp.add(to >= of + arc.lag.after(0))

    def _ready(self, step: Step, lag: Ready, to: Expression, target: int | None) -> None:
        """``to`` is not before the stage; ``target`` is the step whose start ``to`` is, if any."""
        i, finish = step.index, self.finish[step.index]
        starts = self.minutes[step.index]
        finishes = finishes_of(step, starts)
        reached = lag.after_many(finishes)
        if target is not None:
            reached = next_of(self.network.steps[target].starts, reached)
        self.cp.add(to >= finish + int((reached - finishes).min()))
        for piece in pieces(starts, finishes, reached):
            from_here = self.not_before(i, piece.first)
            if piece.flat and target is not None:
                self.cp.add_implication(from_here, self.not_before(target, piece.value))
            elif piece.flat:
                self.cp.add(to >= piece.value).only_enforce_if(from_here)
            else:
                past = self.not_before(i, piece.last + 1)
                self.cp.add(to >= finish + piece.value).only_enforce_if(from_here, ~past)

    def _crews(self) -> None:
        intervals = {j: self._span(j) for members in self.network.crews.values() for j in members}
        for person, members in self.network.crews.items():
            count = self.network.job.people[person].count
            spans_, hands = [intervals[j] for j in members], self._hands(person, members)
            if count == 1:
                self.cp.add_no_overlap(spans_)
            elif sum(hands) > count:
                self.cp.add_cumulative(spans_, hands, count)

    def _hands(self, person: str, members: Sequence[int]) -> list[int]:
        return [self.network.steps[j].hands[person] for j in members]

    def _span(self, j: int) -> Expression:
        step = self.network.steps[j]
        starts = self.minutes[step.index]
        lengths = finishes_of(step, starts) - starts
        low, high = int(lengths.min()), int(lengths.max())
        size: Expression = low
        if low < high:
            size = self.cp.new_int_var(low, high, f"length of {step.task.id}")
            self._hints.append((size, lambda s: step.finish(s[j]) - s[j]))
        return self.cp.new_interval_var(self.start[j], size, self.finish[j], step.task.id)

    def _close(self, closure: Closure) -> None:
        """Every other task in the room is over before, or starts when the room opens."""
        by, lag = self.network.steps[closure.by], closure.lag
        last = lag.after(by.finish(self.late[closure.by]))
        opens = self.cp.new_int_var(0, min(last, NEVER), f"{by.task.id} opens")
        self._hints.append((opens, lambda s: lag.after(by.finish(s[closure.by]))))
        self._ready(by, lag, opens, None)
        for j in closure.others:
            after = self.cp.new_bool_var(f"{j} after {closure.by} opens")
            self._hints.append((after, partial(_starts_later, j, closure.by)))
            self.cp.add(self.start[j] >= opens).only_enforce_if(after)
            self.cp.add(self.finish[j] <= self.start[closure.by]).only_enforce_if(~after)

    # -- objectives --------------------------------------------------------------------------

    def earliest_finish(self, bound: int, hint: Starts | None, effort: float) -> Outcome:
        """Search for the least finish; nothing under ``bound`` is looked at."""
        top = max(
            step.finish(late) for step, late in zip(self.network.steps, self.late, strict=True)
        )
        done = self.cp.new_int_var(bound, top, "done")
        self._hints.append((done, lambda starts: max(finish_of(self.network, starts), bound)))
        for finish in self.finish:
            self.cp.add(done >= finish)
        self.cp.minimize(done)
        solver = solver_of(effort)
        solver.best_bound_callback = self._bounded(top)
        return self._solve(solver, hint, Told(self.watch))

    def any_plan(self, effort: float) -> Outcome:
        """Search for any schedule at all."""
        return self._solve(solver_of(effort), None)

    def fewest(
        self, days: Sequence[Expression], hint: Starts, effort: float, *, by_core: bool
    ) -> Outcome:
        """Search for the fewest of some days, each a literal: those of coming, or without.

        By core it proves far sooner, but finds little better where starts are free for weeks.
        """
        self.cp.minimize(sum(days))
        solver = solver_of(effort)
        solver.parameters.optimize_with_core = by_core
        return self._solve(solver, hint)

    def at_most(self, days: Sequence[Expression], number: int) -> None:
        """From now on no more than that many of some days."""
        self.cp.add(sum(days) <= number)

    def all_early(self, hint: Starts, effort: float) -> Outcome:
        """Search for the least sum of starts."""
        self.cp.minimize(sum(self.start))
        return self._solve(solver_of(effort), hint)

    def without(self, outage: Outage, known: Sequence[Opening]) -> list[Expression]:
        """For each day, whether the household does without something.

        ``known`` says what follows where it is closed on a day or later: that is proven already.
        """
        zone, steps = self.network.job.timezone, self.network.steps
        for j in outage.reopeners:
            for opening in known[1:]:
                open_ = self.not_before(j, opening.starts[j])
                later = [self.not_before(c, day_start(opening.day, zone)) for c in outage.closers]
                self.cp.add_bool_or(open_, *(~literal for literal in later))
        since = day_start(day_of(min(self.early[j] for j in outage.closers), zone), zone)
        until = max(steps[j].finish(self.late[j]) for j in outage.reopeners)
        days = days_of(spans([(since, max(until, since + 1))]), zone)
        return [self._without(outage, *bounds) for bounds in days.values()]

    def _without(self, outage: Outage, start: int, end: int) -> Expression:
        """Whether something is closed before the end of a day and open only after its start."""
        missed = self.cp.new_bool_var(f"without {outage.of} at {start}")
        steps = self.network.steps
        still = [self.not_before(j, steps[j].first_start(start + 1)) for j in outage.reopeners]
        for c in outage.closers:
            for open_later in still:
                self.cp.add_bool_or(missed, self.not_before(c, end), ~open_later)
        self._hints.append((missed, lambda s: int(is_without(self.network, outage, s, start, end))))
        return missed

    @cached_property
    def visits(self) -> list[Expression]:
        """For each person and day, whether they come."""
        return [visit for person in self.network.visitors for visit in self._visits_of(person)]

    def _visits_of(self, person: str) -> list[Expression]:
        members = self.network.visitors[person]
        visits: dict[date, Expression] = {}
        come = self.network.days_begun(members)
        for j in members:
            for day, (first, last) in self._days(j).items():
                if day in come:
                    continue
                if day not in visits:
                    visits[day] = self.cp.new_bool_var(f"{person} comes on {day}")
                gone = self.not_before(j, last + 1)
                there = self.not_before(j, self._first_reaching(j, first))
                self.cp.add_bool_or(visits[day], gone, ~there)
        for day, visit in visits.items():
            self._hints.append((visit, partial(self._comes, person, day)))
        return [self._yes] * len(come) + list(visits.values())

    def _days(self, j: int) -> dict[date, tuple[int, int]]:
        """The days on which step ``j`` may be worked on: first and last workable minute."""
        step, zone = self.network.steps[j], self.network.job.timezone
        free = step.workable.within(self.early[j], max(step.finish(self.late[j]), self.late[j] + 1))
        days = days_of(spans(free), zone)
        bounds = {}
        for day, (start, end) in days.items():
            parts = step.workable.within(start, end)
            bounds[day] = parts[0][0], parts[-1][1] - 1
        return bounds

    def _comes(self, person: str, day: date, starts: Starts) -> int:
        zone = self.network.job.timezone
        return any(
            day in days_of(presence(self.network.steps[j], starts[j]), zone)
            for j in self.network.visitors[person]
        )

    def _first_reaching(self, j: int, minute: int) -> int:
        """The first start of step ``j`` that has it there at ``minute`` or later."""
        step = self.network.steps[j]
        return step.first_start(minute + 1) if step.task.work else step.first(minute)

    def _bounded(self, top: int) -> Callable[[float], None]:
        """Tells the watch of bounds; over ``top`` they say only that this model has no plan."""

        def tell(bound: float) -> None:
            if bound <= top:
                self.watch.bounded(round(bound))

        return tell

    def _solve(
        self, solver: cp_model.CpSolver, hint: Starts | None, told: Told | None = None
    ) -> Outcome:
        self.cp.clear_hints()  # type: ignore[no-untyped-call]
        for var, value in self._hints if hint is not None else ():
            assert hint is not None
            self.cp.add_hint(var, value(hint))
        status = watched(solver, self.cp, told, self.watch)
        spent = solver.response_proto.deterministic_time
        if status == cp_model.INFEASIBLE:
            return Outcome(None, NEVER, impossible=True, effort=spent)
        bound = round(solver.best_objective_bound)
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return Outcome(None, bound, effort=spent)
        return Outcome([solver.value(var) for var in self.start], bound, effort=spent)


def _starts_later(j: int, k: int, starts: Starts) -> int:
    return int(starts[j] > starts[k])
