"""One job asked about, with the jobs beside it that share its people."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.console import tell
from scheduler.errands import ForecastFile, check_task, job_now
from scheduler.severalfiles import jobs_now
from scheduler.wording import listed

if TYPE_CHECKING:
    from scheduler.model import Job, Plan
    from scheduler.network import Network
    from scheduler.portfolio.elsewhere import Taken


@dataclass(frozen=True)
class Among:
    """A job, its plan and the present moment [UTC min].

    ``elsewhere`` is where the jobs that it was planned with have its people.
    """

    job: "Job"
    plan: "Plan"
    now: int
    elsewhere: "tuple[Taken, ...]" = ()

    @property
    def network(self) -> "Network":
        """The job compiled to past its plan, its people held where other jobs have them."""
        from scheduler.portfolio.elsewhere import with_holds
        from scheduler.ready import network_of

        return with_holds(network_of(self.job, self.plan), self.elsewhere)


def planned_among(
    path: str,
    others: Sequence[str] | None,
    now: str | None,
    sky: ForecastFile,
    task: str | None = None,
) -> Among:
    """The job of a file, planned by itself or together with others.

    Args:
        path: of the job file.
        others: files of the other jobs.
        now: what to take for the present moment, if not the clock.
        sky: a forecast of the air.
        task: one that the job must have.
    """
    if not others:
        return _alone(path, now, sky, task)
    from scheduler.portfolio import plan_together
    from scheduler.portfolio.elsewhere import taken_by

    jobs, moment = jobs_now([path, *others], now, sky)
    if task is not None:
        check_task(jobs[0], task)
    (job, plan), *rest = plan_together(jobs).planned
    return Among(job, plan, moment, taken_by(job, rest))


def _alone(path: str, now: str | None, sky: ForecastFile, task: str | None) -> Among:
    from scheduler.planner import plan_job

    job, moment = job_now(path, now, sky)
    if task is not None:
        check_task(job, task)
    tell_unseen(job)
    return Among(job, plan_job(job), moment)


def tell_unseen(job: "Job", way_out: str = "; name their files: --with FILE") -> None:
    """Say of whom it is not known where other jobs have them."""
    from scheduler.ways import may_do

    working = {who for task in job.tasks for who in may_do(task)}
    if shared := [who for who, person in job.people.items() if person.crew and who in working]:
        tell(f"where other jobs have {listed(shared)} is not looked at{way_out}")
