"""Several jobs as one site: the rules of all of them, what they share counted once."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduler.model import Job
from scheduler.network import Network, work_fits
from scheduler.portfolio.join import far_enough, member, name_among, portfolio
from scheduler.rules import FINDERS, OF_PEOPLE, Rule
from scheduler.site import Site


@dataclass(frozen=True)
class Sites(Site):
    """Jobs to be planned together, windows that were missed lifted already."""

    def networks(self) -> Iterator[Network]:
        """The jobs side by side over ever longer times; not those in which work would not fit."""
        *ends, last = far_enough(self.jobs)
        for end in (*ends, last):
            members = [member(job, frozenset(), end) for job in self.jobs]
            network = portfolio(members).open
            if end == last or work_fits(network):
                yield network

    def rules(self) -> Iterator[Rule]:
        """The rules of all jobs by their kinds; those of people whom jobs share once."""
        seen = set[tuple[str, tuple[str, ...], str]]()
        for find in FINDERS:
            for k, job in enumerate(self.jobs):
                for rule in find(job):
                    crew = _crew(job, rule)
                    if crew and (rule.kind, rule.of, crew) in seen:
                        continue
                    seen.add((rule.kind, rule.of, crew))
                    yield self._among(rule, self._sharing(crew, rule.of[0]) if crew else (k,))

    def _sharing(self, crew: str, who: str) -> tuple[int, ...]:
        """The jobs in which somebody of a crew file is."""
        return tuple(
            k
            for k, job in enumerate(self.jobs)
            if who in job.people and job.people[who].crew == crew
        )

    def _among(self, rule: Rule, jobs: tuple[int, ...]) -> Rule:
        text, way_out = (self.named(words, jobs) for words in (rule.text, rule.way_out))
        return replace(rule, text=text, way_out=way_out, jobs=jobs)

    def task_id(self, k: int, task: str) -> str:
        """The id among all jobs of a task of the ``k``-th."""
        return name_among(self.jobs[k], task)

    def named(self, text: str, which: tuple[int, ...]) -> str:
        """What is said of one job alone, with its name."""
        return text if len(which) > 1 else f"{self.jobs[which[0]].name}: {text}"


def _crew(job: Job, rule: Rule) -> str:
    """The crew file of the person whom a rule is of; empty for a person of the job alone."""
    return job.people[rule.of[0]].crew if rule.kind in OF_PEOPLE else ""
