"""How much of people's first days goes by unused: what they are there for is not ready yet.

Bounds by hours take it that somebody works from the first minute to the last. But houses begin with
much the same tasks, for one person after another, and those who come second wait. What can be done
in the first few days is little enough to be planned by itself: not for the least finish, but for
the most work of one person by the end of a day. Of all rules there are waits, hours and that nobody
is in two places; all times are taken at the start of their quarter of an hour, which leaves more
room than there is, so that no plan does more.
"""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

from ortools.sat.python import cp_model

from scheduler.clock import DAY, day_end, day_of
from scheduler.cpsolver import solver_of, watched
from scheduler.hours import NEVER
from scheduler.passes import earliest_start, point
from scheduler.portfolio.aim import Alone
from scheduler.portfolio.join import Portfolio, jobs_with
from scheduler.steps import Arc, Begun, Step
from scheduler.watch import Patience, Unheard

_SLOT = 15  # minutes that are taken as one

_MOST = 50
"""Tasks that may begin in the days looked at: of more the most is not soon found."""

_LONGEST = 14 * DAY  # of the time looked at [min]


class Idle(NamedTuple):
    """Minutes of somebody's hours before a moment, from when all begin, that no plan can use."""

    since: int
    until: int
    minutes: int


def idle(
    jobs: Portfolio,
    each: Sequence[Alone],
    people: Collection[str],
    effort: float,
    watch: Patience,
) -> Mapping[str, Idle]:
    """What of the first days of some people whom several jobs share goes by unused at least.

    Args:
        jobs: the jobs.
        each: what each can come to by itself.
        people: who is asked about.
        effort: the constraint solver's deterministic time for each of them.
        watch: may have enough of it.
    """
    early = [
        max(start, m.job.now) for m, own in zip(jobs.members, each, strict=True)
        for start in own.early
    ]  # fmt: skip
    days = _FirstDays(jobs, early)
    return {
        who: days.idle(who, effort, watch)
        for who in jobs.open.crews
        if who in people
        if jobs.open.job.people[who].count == 1 and len(jobs_with(jobs, who)) > 1
        if not watch.enough()
    }


class _FirstDays:
    """The tasks that may begin in the first days, each in some quarter of an hour or not yet.

    Args:
        jobs: the jobs.
        early: the first start of each step [UTC min].
    """

    def __init__(self, jobs: Portfolio, early: Sequence[int]) -> None:
        self.network, self.early = jobs.open, early
        self.since = min(early) // _SLOT * _SLOT
        self.until = self._end()
        self.slots = -(-(self.until - self.since) // _SLOT)
        self.steps = [step for step in self.network.steps if early[step.index] < self.until]
        self.begins = {step.index: [*self._begins(step)] for step in self.steps}
        self.cp = cp_model.CpModel()
        self.start = {step.index: self._start(step) for step in self.steps}
        self.finish = {step.index: self._finish(step) for step in self.steps}
        self._links()
        self._crews()

    def _end(self) -> int:
        """The end of the last day up to which few enough tasks may begin; of the first at least."""
        zone, starts = self.network.job.timezone, sorted(self.early)
        most = min([*starts[_MOST : _MOST + 1], self.since + _LONGEST])
        end = day_end(day_of(self.since, zone), zone)
        while (later := day_end(day_of(end, zone), zone)) <= most:
            end = later
        return end

    def _slot(self, minute: int) -> int:
        """The quarter of an hour of a minute; the last for all that is later."""
        return min(max((minute - self.since) // _SLOT, 0), self.slots)

    def _begins(self, step: Step) -> Iterator[tuple[int, int]]:
        """The quarters in which a step may begin, each with its first start there."""
        if isinstance(step, Begun):
            yield self._slot(self.early[step.index]), step.begun
            return
        start = step.first(self.early[step.index])
        while start < self.until:
            slot = self._slot(start)
            yield slot, start
            start = step.first(self.since + (slot + 1) * _SLOT)

    # -- the model, in quarters of an hour -----------------------------------------------------

    def _start(self, step: Step) -> cp_model.IntVar:
        slots = [slot for slot, _ in self.begins[step.index]]
        if not isinstance(step, Begun):
            slots.append(self.slots)  # not in these days
        domain = cp_model.Domain.from_values(slots)
        return self.cp.new_int_var_from_domain(domain, step.task.id)

    def _of_start(self, j: int, values: Mapping[int, int], later: int) -> cp_model.IntVar:
        """What follows from the quarter in which a step begins; ``later`` if it does not."""
        table = [values.get(slot, later) for slot in range(self.slots)] + [later]
        found = self.cp.new_int_var(min(table), max(table), "")
        self.cp.add_element(self.start[j], table, found)
        return found

    def _finish(self, step: Step) -> cp_model.IntVar:
        """The first quarter in which it can be over; hours may take it far beyond these days."""
        ends = {
            slot: (min(step.finish(start), NEVER) - self.since) // _SLOT
            for slot, start in self.begins[step.index]
        }
        return self._of_start(step.index, ends, self.slots)

    def _links(self) -> None:
        for arc in self.network.arcs:
            known = arc.before in self.start and arc.after in self.start
            if known and not arc.backward and not isinstance(self._step(arc.after), Begun):
                after = {
                    slot: self._released(arc, start) for slot, start in self.begins[arc.before]
                }
                later = self._released(arc, self._step(arc.before).first(self.until))
                self.cp.add(self.start[arc.after] >= self._of_start(arc.before, after, later))

    def _released(self, arc: Arc, start: int) -> int:
        """The first quarter for the later task of a link, if the earlier one starts then."""
        if start >= NEVER:
            return self.slots
        released = arc.lag.after(point(self._step(arc.before), arc.of, start))
        return self._slot(earliest_start(self._step(arc.after), arc.to, released))

    def _step(self, j: int) -> Step:
        return self.network.steps[j]

    def _crews(self) -> None:
        people = self.network.job.people
        spans = {step.index: self._span(step) for step in self.steps if step.hands}
        for who, members in self.network.crews.items():
            if people[who].count == 1:
                self.cp.add_no_overlap([spans[j] for j in members if j in spans])

    def _span(self, step: Step) -> cp_model.IntervalVar:
        """When a step runs, if it begins in these days."""
        start, finish = self.start[step.index], self.finish[step.index]
        begins = self.cp.new_bool_var("")
        self.cp.add(start < self.slots).only_enforce_if(begins)
        self.cp.add(start == self.slots).only_enforce_if(~begins)
        size = self.cp.new_int_var(0, NEVER, "")
        return self.cp.new_optional_interval_var(start, size, finish, begins, "")

    # -- what one person can do ------------------------------------------------------------------

    def idle(self, who: str, effort: float, watch: Patience) -> Idle:
        """The minutes of a person's hours in these days that no plan can use."""
        hours = self.network.hours[who]
        there = hours.count(self.until) - hours.count(self.since)
        done = self.cp.new_int_var(0, there, "")
        self.cp.add(done <= sum(self._done(step, who) for step in self.steps if who in step.hands))
        self.cp.maximize(done)
        solver = solver_of(effort)
        status = watched(solver, self.cp, None, Unheard(watch))
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return Idle(self.since, self.until, 0)
        most = math.floor(solver.best_objective_bound + 1e-6)
        return Idle(self.since, self.until, max(there - most, 0))

    def _done(self, step: Step, who: str) -> cp_model.IntVar:
        """How much of a step is done by the end of these days [min of the person's hours]."""
        hours, early = self.network.hours[who], self.early[step.index]
        until = hours.count(self.until)
        done = {
            slot: min(step.load, until - hours.count(max(start, early)))
            for slot, start in self.begins[step.index]
        }
        return self._of_start(step.index, done, 0)
