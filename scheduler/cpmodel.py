"""The constraint model: which task goes first, where people, windows and rooms are contended.

Starts are minutes, their domains the minutes at which a task may start, cut to what the finish of
a plan already found leaves. What a finish or a wait does over those minutes is piecewise: flat
(nobody is there when it is ready) or parallel to the clock, in short runs where a swinging air
bends it; each piece is one clause or one enforced inequality, exact to the minute. OR-Tools CP-SAT
decides the order and proves the bound; the passes give the dates.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from scheduler.clock import day_end, day_of, day_start
from scheduler.cpsolver import Told, solver_of, watched
from scheduler.hours import NEVER, spans
from scheduler.network import Network, days_of, presence
from scheduler.passes import Schedule, Starts, finish_of, way_of
from scheduler.pieces import Array, finishes_of, next_of, pieces, slopes, worked_within
from scheduler.progress import Ready
from scheduler.steps import Closure, Limit, Offset, Step
from scheduler.watch import UNWATCHED, Watch
from scheduler.without import Opening, Outage, is_without

Expression = Any  # the library's linear expressions have no public type


@dataclass(frozen=True)
class Outcome:
    """What a search brought: a schedule if any was found, and a bound that no plan beats.

    ``impossible`` says it is proven that there is no plan at all; ``effort`` what it took.
    """

    found: Schedule | None
    bound: int
    impossible: bool = False
    effort: float = 0.0


@dataclass(frozen=True, eq=False)
class _Way:
    """A way to do a step: the literal that it is taken, and the minutes at which it may start."""

    step: Step
    taken: Expression
    minutes: Array

    @cached_property
    def finishes(self) -> Array:
        """The finish of each of those starts."""
        return finishes_of(self.step, self.minutes)


class Model:
    """The job as a constraint model, every start within ``[early, late]`` and all done in time.

    Args:
        network: the job, compiled.
        early: the first start of each step that is looked at.
        late: the last.
        watch: may end a search.
        finish: by when all is to be done: where there is a choice, a last start of one way is too
            late for another.
    """

    def __init__(
        self,
        network: Network,
        early: Starts,
        late: Starts,
        watch: Watch = UNWATCHED,
        finish: int = NEVER,
    ) -> None:
        self.network, self.early, self.late, self.watch = network, early, late, watch
        self.latest = finish
        self.cp = cp_model.CpModel()
        self._literals: dict[tuple[int, int], Expression] = {}
        self._hints: list[tuple[Expression, Callable[[Schedule], int]]] = []
        self._coming: dict[tuple[str, tuple[int, ...]], dict[date, Expression]] = {}
        self._no = self.cp.new_constant(0)
        self._yes = self.cp.new_constant(1)
        self.choices = [self._choice(members) for members in network.choices]
        self.ways = self._ways()
        self.start = [self._start(step) for step in network.steps]
        self.finish = [self._finish(step) for step in network.steps]
        self._links()
        self._crews()
        for closure in network.undecided:
            self._close(closure)
        for limit in network.limits:
            self._limit(limit)

    # -- variables ---------------------------------------------------------------------------

    def _choice(self, members: Sequence[int]) -> list[Expression]:
        """A literal for each way of a choice, of which exactly one is taken."""
        ways = self.network.steps[members[0]].ways
        taken = [self.cp.new_bool_var(f"{members} in way {n}") for n in range(len(ways))]
        for n, literal in enumerate(taken):
            self._hints.append((literal, partial(self._is_taken, members[0], n)))
        self.cp.add_exactly_one(taken)
        return taken

    def _is_taken(self, j: int, way: int, at: Schedule) -> int:
        return int(way_of(self.network, at, j) == way)

    def _ways(self) -> list[list[_Way]]:
        """The ways of each step that have a start; the others are ruled out."""
        taken: dict[int, Sequence[Expression]] = {
            j: literals
            for members, literals in zip(self.network.choices, self.choices, strict=True)
            for j in members
        }
        found = []
        for step in self.network.steps:
            pairs = [*zip(step.ways, taken.get(step.index, [self._yes]), strict=True)]
            ways = [_Way(way, literal, self._in_time(way)) for way, literal in pairs]
            for way in ways:
                if not way.minutes.size:
                    self.cp.add(way.taken == 0)
            if not any(way.minutes.size for way in ways):  # there is no plan, as is stated above
                ways = [_Way(way, literal, self._starts(way)) for way, literal in pairs]
            found.append([way for way in ways if way.minutes.size])
        return found

    def _start(self, step: Step) -> Expression:
        j = step.index
        open_ = step.starts.within(self.early[j], self.late[j] + 1)
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in open_])
        var = self.cp.new_int_var_from_domain(domain, f"start of {step.task.id}")
        self._hints.append((var, lambda at: at.starts[j]))
        return var

    def _finish(self, step: Step) -> Expression:
        """The finish as an expression of the start; one length a stretch for work that splits."""
        j, ways = step.index, self.ways[step.index]
        lengths = [np.unique(way.finishes - way.minutes) for way in ways]
        if len(step.ways) == 1 and len(lengths[0]) == 1:
            return self.start[j] + int(lengths[0][0])
        first = min(int(way.finishes[0]) for way in ways)
        last = max(int(way.finishes[-1]) for way in ways)
        finish = self.cp.new_int_var(first, last, f"finish of {step.task.id}")
        self._hints.append((finish, partial(_finish_of, j)))
        for way, kinds in zip(ways, lengths, strict=True):
            chosen = [self._of_length(way, finish, int(length)) for length in kinds]
            self.cp.add_exactly_one([*chosen, ~way.taken] if len(step.ways) > 1 else chosen)
        return finish

    def _of_length(self, way: _Way, finish: Expression, length: int) -> Expression:
        """The literal that a step takes so long in a way; then it starts where it does."""
        step, starts = way.step, way.minutes[way.finishes - way.minutes == length]
        j = step.index
        chosen = self.cp.new_bool_var(f"{step.task.id} takes {length}")
        self._hints.append((chosen, partial(_takes, step, length)))
        domain = cp_model.Domain.from_values(starts.tolist())
        self.cp.add_linear_expression_in_domain(self.start[j], domain).only_enforce_if(chosen)
        self.cp.add(finish == self.start[j] + length).only_enforce_if(chosen)
        return chosen

    def _starts(self, step: Step) -> Array:
        j = step.index
        parts = [np.arange(a, b) for a, b in step.starts.within(self.early[j], self.late[j] + 1)]
        return np.concatenate(parts) if parts else np.arange(0)

    def _in_time(self, way: Step) -> Array:
        """The starts of a way with which it is done in time."""
        starts = self._starts(way)
        return starts[starts <= way.last_start(min(self.latest, way.deadline))]

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
            self._hints.append((literal, lambda at: int(at.starts[j] >= minute)))
        return literal

    # -- rules -------------------------------------------------------------------------------

    def _links(self) -> None:
        for arc in self.network.arcs:
            to = (self.start if arc.to == "start" else self.finish)[arc.after]
            if isinstance(arc.lag, Ready):
                target = arc.after if arc.to == "start" else None
                self._ready(arc.before, arc.lag, to, target)
            else:
                assert isinstance(arc.lag, Offset)  # what shares a day is a rule of its own here
                of = (self.start if arc.of == "start" else self.finish)[arc.before]
                self.cp.add(to >= of + arc.lag.after(0))

    def _ready(self, i: int, lag: Ready, to: Expression, target: int | None) -> None:
        """``to`` is not before step ``i`` reaches the stage.

        ``target`` is the step whose start ``to`` is, if any.
        """
        for way in self.ways[i]:
            taken = [way.taken] if len(self.network.steps[i].ways) > 1 else []
            self._ready_in(way, taken, lag, to, target)

    def _ready_in(
        self, way: _Way, taken: list[Expression], lag: Ready, to: Expression, target: int | None
    ) -> None:
        i, finish, finishes = way.step.index, self.finish[way.step.index], way.finishes
        reached = lag.after_many(finishes)
        if target is not None:
            reached = next_of(self.network.steps[target].starts, reached)
        least = self.cp.add(to >= finish + int((reached - finishes).min()))
        if taken:
            least.only_enforce_if(*taken)
        for piece in pieces(way.minutes, finishes, reached):
            from_here = self.not_before(i, piece.first)
            if piece.flat and target is not None:
                later = self.not_before(target, piece.value)
                self.cp.add_bool_or(~from_here, later, *(~literal for literal in taken))
            elif piece.flat:
                self.cp.add(to >= piece.value).only_enforce_if(from_here, *taken)
            else:
                past = self.not_before(i, piece.last + 1)
                enough = self.cp.add(to >= finish + piece.value)
                enough.only_enforce_if(from_here, ~past, *taken)

    def _crews(self) -> None:
        for person, busy in self._busy().items():
            count = self.network.job.people[person].count
            spans_, hands = [span for span, _ in busy], [n for _, n in busy]
            if count == 1:
                self.cp.add_no_overlap(spans_)
            elif sum(hands) > count:
                self.cp.add_cumulative(spans_, hands, count)

    def _busy(self) -> Mapping[str, Sequence[tuple[Expression, int]]]:
        """For each person the intervals of the steps that hold them, and how many each holds."""
        busy: dict[str, list[tuple[Expression, int]]] = {who: [] for who in self.network.job.people}
        for j, ways in enumerate(self.ways):
            always = {
                who: n
                for who, n in ways[0].step.hands.items()
                if all(way.step.hands.get(who) == n for way in ways)
            }
            if always:
                span = self._span(j, ways, None)
                for who, n in always.items():
                    busy[who].append((span, n))
            for way in ways:
                more = {who: n for who, n in way.step.hands.items() if who not in always}
                if more:
                    span = self._span(j, [way], way.taken)
                    for who, n in more.items():
                        busy[who].append((span, n))
        return busy

    def _span(self, j: int, ways: Sequence[_Way], taken: Expression | None) -> Expression:
        """The interval in which a step runs; only where it is ``taken`` in a way, if that is given.

        The length of one that is not taken is of no matter.
        """
        name = self.network.steps[j].task.id
        lengths = np.concatenate([way.finishes - way.minutes for way in ways])
        low, high = int(lengths.min()), int(lengths.max())
        size: Expression = low
        if low < high:
            size = self.cp.new_int_var(low, high, f"length of {name}")
            self._hints.append((size, lambda at: min(max(_length_of(j, at), low), high)))
        if taken is None:
            return self.cp.new_interval_var(self.start[j], size, self.finish[j], name)
        return self.cp.new_optional_interval_var(
            self.start[j], size, self.finish[j], taken, f"{name} in a way"
        )

    def _close(self, closure: Closure) -> None:
        """Every other task in the room is over before, or starts when the room opens."""
        by, lag = self.network.steps[closure.by], closure.lag
        last = lag.after(by.last_finish(self.late[closure.by]))
        others = [j for j in closure.others if not self._apart(j, closure.by, last)]
        if not others:
            return
        opens = self.cp.new_int_var(0, min(last, NEVER), f"{by.task.id} opens")
        self._hints.append((opens, lambda at: lag.after(_finish_of(closure.by, at))))
        self._ready(closure.by, lag, opens, None)
        for j in others:
            after = self.cp.new_bool_var(f"{j} after {closure.by} opens")
            self._hints.append((after, partial(_starts_later, j, closure.by)))
            self.cp.add(self.start[j] >= opens).only_enforce_if(after)
            self.cp.add(self.finish[j] <= self.start[closure.by]).only_enforce_if(~after)

    def _apart(self, j: int, by: int, opens: int) -> bool:
        """Whether a step is over before another closes its room, or starts after, whatever else."""
        over = self.network.steps[j].last_finish(self.late[j])
        return over <= self.early[by] or self.early[j] >= opens

    def _limit(self, limit: Limit) -> None:
        """Somebody comes on no more days than they may, for no less work on any but the last."""
        come = self._come(limit.who, limit.steps, limit.sure)
        if len(come) > limit.left:
            self.cp.add(sum(come.values()) <= limit.left)
        theirs = [way for j in limit.steps for way in self.ways[j] if limit.who in way.step.hands]
        for day, visit in come.items() if limit.least else ():
            later = self.cp.new_bool_var(f"{limit.who} works after {day}")
            self._hints.append((later, partial(_works_after, limit, day)))
            end = day_end(day, self.network.job.timezone)
            for way in theirs:
                goes_on = self.not_before(way.step.index, way.step.first_start(end + 1))
                self.cp.add_bool_or(later, ~goes_on, ~way.taken)
            work = sum(way.step.hands[limit.who] * self._worked_on(way, day) for way in theirs)
            self.cp.add(work >= limit.least).only_enforce_if(visit, later)

    def _worked_on(self, way: _Way, day: date) -> Expression:
        """The minutes of a step that fall on a day, or fewer; none where it is done otherwise."""
        zone, starts, j = self.network.job.timezone, way.minutes, way.step.index
        minutes = worked_within(way.step, starts, day_start(day, zone), day_end(day, zone))
        some = np.flatnonzero(minutes)
        if not some.size:
            return 0
        first, last = int(some[0]), int(some[-1])
        worked = self.cp.new_int_var(0, int(minutes.max()), f"{way.step.task.id} on {day}")
        self._hints.append((worked, partial(_works_on, way.step, day)))
        self.cp.add(worked == 0).only_enforce_if(~way.taken)
        self.cp.add(worked == 0).only_enforce_if(~self.not_before(j, int(starts[first])))
        if last + 1 < len(starts):
            self.cp.add(worked == 0).only_enforce_if(self.not_before(j, int(starts[last + 1])))
        for run in slopes(starts[first : last + 1], minutes[first : last + 1]):
            within = [self.not_before(j, run.first), ~self.not_before(j, run.last + 1)]
            most = run.value + run.slope * (self.start[j] - run.first)
            self.cp.add(worked <= most).only_enforce_if(*within, way.taken)
        return worked

    # -- objectives --------------------------------------------------------------------------

    def earliest_finish(self, bound: int, hint: Schedule | None, effort: float) -> Outcome:
        """Search for the least finish; nothing under ``bound`` is looked at."""
        top = max(
            step.last_finish(late) for step, late in zip(self.network.steps, self.late, strict=True)
        )
        done = self.cp.new_int_var(bound, top, "done")
        self._hints.append((done, lambda at: max(finish_of(*at), bound)))
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
        self, days: Sequence[Expression], hint: Schedule, effort: float, *, by_core: bool
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

    def all_early(self, hint: Schedule, effort: float) -> Outcome:
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
        until = max(steps[j].last_finish(self.late[j]) for j in outage.reopeners)
        days = days_of(spans([(since, max(until, since + 1))]), zone)
        return [self._without(outage, *bounds) for bounds in days.values()]

    def _without(self, outage: Outage, start: int, end: int) -> Expression:
        """Whether something is closed before the end of a day and open only after its start."""
        missed = self.cp.new_bool_var(f"without {outage.of} at {start}")
        still = [
            (self.not_before(j, way.step.first_start(start + 1)), way.taken)
            for j in outage.reopeners
            for way in self.ways[j]
        ]
        for c in outage.closers:
            for open_later, taken in still:
                self.cp.add_bool_or(missed, self.not_before(c, end), ~open_later, ~taken)
        self._hints.append(
            (missed, lambda at: int(is_without(at.network, outage, at.starts, start, end)))
        )
        return missed

    @cached_property
    def visits(self) -> list[Expression]:
        """For each person and day, whether they come."""
        every = tuple(range(len(self.network.steps)))
        people = self.network.sure_days.items()
        come = [day for who, sure in people for day in self._come(who, every, sure).values()]
        return [self._yes] * sum(len(sure) for _, sure in people) + come

    def _come(
        self, person: str, steps: tuple[int, ...], sure: Collection[date]
    ) -> Mapping[date, Expression]:
        """Whether somebody comes for some steps on a day, of those on which they need not."""
        if (person, steps) in self._coming:
            return self._coming[person, steps]
        theirs = [way for j in steps for way in self.ways[j] if person in way.step.task.who]
        visits = self._coming[person, steps] = dict[date, Expression]()
        for way in theirs:
            j = way.step.index
            for day, (first, last) in self._days(way.step).items():
                if day in sure:
                    continue
                if day not in visits:
                    visits[day] = self.cp.new_bool_var(f"{person} comes on {day}")
                gone = self.not_before(j, last + 1)
                there = self.not_before(j, _first_reaching(way.step, first))
                self.cp.add_bool_or(visits[day], gone, ~there, ~way.taken)
        for day, visit in visits.items():
            self._hints.append((visit, partial(_comes, person, steps, day)))
        return visits

    def _days(self, step: Step) -> dict[date, tuple[int, int]]:
        """The days on which a step may be worked on in a way: first and last workable minute."""
        zone, j = self.network.job.timezone, step.index
        last = step.starts.last(self.late[j])
        free = step.workable.within(self.early[j], max(step.finish(last), last + 1))
        days = days_of(spans(free), zone)
        bounds = {}
        for day, (start, end) in days.items():
            parts = step.workable.within(start, end)
            bounds[day] = parts[0][0], parts[-1][1] - 1
        return bounds

    def _bounded(self, top: int) -> Callable[[float], None]:
        """Tells the watch of bounds; over ``top`` they say only that this model has no plan."""

        def tell(bound: float) -> None:
            if bound <= top:
                self.watch.bounded(round(bound))

        return tell

    def _solve(
        self, solver: cp_model.CpSolver, hint: Schedule | None, told: Told | None = None
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
        return Outcome(self._schedule(solver), bound, effort=spent)

    def _schedule(self, solver: cp_model.CpSolver) -> Schedule:
        """What the solver found."""
        ways = [[solver.value(literal) for literal in taken].index(1) for taken in self.choices]
        starts = [solver.value(var) for var in self.start]
        return Schedule(self.network.made(ways), starts)


# What a schedule makes of it, for hints --------------------------------------------------------


def _starts_later(j: int, k: int, at: Schedule) -> int:
    return int(at.starts[j] > at.starts[k])


def _finish_of(j: int, at: Schedule) -> int:
    return at.network.steps[j].finish(at.starts[j])


def _length_of(j: int, at: Schedule) -> int:
    return _finish_of(j, at) - at.starts[j]


def _takes(step: Step, length: int, at: Schedule) -> int:
    """Whether a step takes so long in that way."""
    same = at.network.steps[step.index].task.hands == step.task.hands
    return int(same and _length_of(step.index, at) == length)


def _comes(person: str, steps: Iterable[int], day: date, at: Schedule) -> int:
    zone = at.network.job.timezone
    return any(
        day in days_of(presence(at.network.steps[j], at.starts[j]), zone)
        for j in steps
        if person in at.network.steps[j].task.who
    )


def _works_on(step: Step, day: date, at: Schedule) -> int:
    """The minutes that a step is worked on on a day, where it is done in that way."""
    made, zone = at.network.steps[step.index], at.network.job.timezone
    if made.task.hands != step.task.hands:
        return 0
    parts = spans(made.sessions(at.starts[step.index]))
    return sum(b - a for a, b in parts.within(day_start(day, zone), day_end(day, zone)))


def _works_after(limit: Limit, day: date, at: Schedule) -> int:
    """Whether somebody has work after a day."""
    end, steps = day_end(day, at.network.job.timezone), at.network.steps
    theirs = (j for j in limit.steps if limit.who in steps[j].hands)
    return any(steps[j].finish(at.starts[j]) > end for j in theirs)


def _first_reaching(step: Step, minute: int) -> int:
    """The first start of a step that has it there at ``minute`` or later."""
    return step.first_start(minute + 1) if step.task.work else step.first(minute)
