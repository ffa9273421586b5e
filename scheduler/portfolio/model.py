"""Several jobs as one constraint model: the least sum of finishes, with no more lateness."""

import math
from collections.abc import Iterator, Sequence

from scheduler.cpmodel import Expression, Model, Outcome
from scheduler.cpsolver import solver_of
from scheduler.passes import Schedule, Starts
from scheduler.portfolio.aim import LATE, lateness
from scheduler.portfolio.join import Portfolio
from scheduler.watch import UNWATCHED, Patience, Unheard

_FINE = 100
"""Into how many parts the model divides a priority of 1; plans are compared by all of it."""


class JobsModel(Model):
    """The constraint model of jobs side by side, every start within ``[early, late]``.

    Args:
        jobs: the jobs.
        early: the first start of each step that is looked at.
        late: the last.
        most: the last finish of each job that is looked at [UTC min].
        watch: may end the search.
    """

    def __init__(
        self,
        jobs: Portfolio,
        early: Starts,
        late: Starts,
        most: Sequence[int],
        watch: Patience = UNWATCHED,
    ) -> None:
        super().__init__(jobs.network, early, late, Unheard(watch))
        self.jobs, self.least, self.most = jobs, jobs.finishes(early), most

    def soonest(self, hint: Starts, effort: float, workers: int = 1) -> Outcome:
        """Search for the least sum of finishes with no more weighted lateness than the ``hint``.

        Lateness gets less where that costs the sum little. The bound is of both, weighted so. With
        more ``workers`` than one what is found hangs on chance.
        """
        allowed = lateness(self.jobs.members, self.jobs.finishes(hint))
        done = [self._done(k) for k in range(len(self.most))]
        late = [term for k, finish in enumerate(done) for term in self._late(k, finish)]
        self.cp.add(sum(late) <= math.ceil(_FINE * allowed))
        after = sum(finish - least for finish, least in zip(done, self.least, strict=True))
        self.cp.minimize(_FINE * after + LATE * sum(late))
        solver = solver_of(effort)
        solver.parameters.num_workers = workers
        if workers == 1:  # from the bound up it is proven sooner; presolve takes more than it saves
            solver.parameters.use_objective_lb_search = True
            solver.parameters.cp_model_presolve = False
        return self._solve(solver, Schedule(self.network, hint))

    def _done(self, k: int) -> Expression:
        """The finish of a job."""
        done = self.cp.new_int_var(self.least[k], self.most[k], f"job {k} is done")
        self._hints.append((done, lambda at: self.jobs.finishes(at.starts)[k]))
        for j in self.jobs.parts[k]:
            self.cp.add(done >= self.finish[j])
        return done

    def _late(self, k: int, done: Expression) -> Iterator[Expression]:
        """The weighted lateness of a job, if it can be late."""
        job, most = self.jobs.members[k].job, self.most[k]
        by = most if job.finish_by is None else job.finish_by
        if by < most:
            late = self.cp.new_int_var(0, most - by, f"job {k} is late")
            self._hints.append((late, lambda at: max(0, self.jobs.finishes(at.starts)[k] - by)))
            self.cp.add(late >= done - by)
            yield math.floor(_FINE * job.priority) * late
