"""What is planned as one: a job, or several that share people (``scheduler.portfolio.sites``)."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from typing import Self

from scheduler.model import Job
from scheduler.network import Network, networks
from scheduler.parts import job_part
from scheduler.rules import Rule, rules_of

Edit = Callable[[Job], Job]


@dataclass(frozen=True)
class Site:
    """One job to be planned; what is said of several is so that it fits them, too.

    Jobs are known by their place in ``jobs``, tasks by the ids that they have in the network.
    """

    jobs: tuple[Job, ...]

    @property
    def job(self) -> Job:
        """The first of them: their time zone and units are those of all."""
        return self.jobs[0]

    def networks(self) -> Iterator[Network]:
        """The site compiled over ever longer times, as ``scheduler.network.networks``."""
        return networks(self.job)

    def rules(self) -> Iterator[Rule]:
        """Every rule that could give, those first that are blamed first."""
        return rules_of(self.job)

    def task_id(self, k: int, task: str) -> str:
        """The id in the network of a task of the ``k``-th job."""
        return task

    def named(self, text: str, which: tuple[int, ...]) -> str:
        """What is said of some of its jobs, with their name where there are others."""
        return text

    def edited(self, edit: Edit, which: Collection[int] = (0,)) -> Self:
        """The site with some of its jobs edited."""
        jobs = (edit(job) if k in which else job for k, job in enumerate(self.jobs))
        return replace(self, jobs=tuple(jobs))

    def without(self, rule: Rule) -> Self:
        """The site with a rule lifted."""
        return self.edited(rule.lift, rule.jobs)

    def part(self, tasks: Collection[str]) -> Self:
        """The site with some of its tasks alone."""
        jobs = (
            job_part(job, {t.id for t in job.tasks if self.task_id(k, t.id) in tasks})
            for k, job in enumerate(self.jobs)
        )
        return replace(self, jobs=tuple(jobs))

    def tasks(self) -> Collection[str]:
        """The ids of all tasks."""
        return {self.task_id(k, t.id) for k, job in enumerate(self.jobs) for t in job.tasks}
