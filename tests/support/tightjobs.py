"""A strategy for tight jobs: windows, dates and work in one go, so that many have no plan."""

from dataclasses import replace

from hypothesis import strategies as st

from scheduler.clock import DAY, HOUR
from scheduler.model import Job, Link, Task
from tests.support.randomjobs import WITHOUT_LIMITS, jobs

_SHORT = st.sampled_from((0, 20, HOUR, 3 * HOUR, 10 * HOUR, DAY, 3 * DAY))


@st.composite
def _link(draw: st.DrawFn, link: Link) -> Link:
    if draw(st.booleans()):
        return link
    return replace(link, within=max(link.wait, 0) + draw(_SHORT))


@st.composite
def _task(draw: st.DrawFn, task: Task, start: int) -> Task:
    soon = draw(st.sampled_from((None,) * 9 + (DAY, 3 * DAY, 8 * DAY)))
    return replace(
        task,
        split=task.split and draw(st.booleans()),
        after=tuple(draw(_link(link)) for link in task.after),
        must_finish_by=task.must_finish_by if soon is None else start + soon,
    )


@st.composite
def tight_jobs(draw: st.DrawFn, most: int = 8) -> Job:
    """A job of up to ``most`` tasks, often without a plan."""
    job = draw(jobs(most=most))
    return replace(job, tasks=tuple(draw(_task(task, job.start)) for task in job.tasks))


@st.composite
def crowded_jobs(draw: st.DrawFn, most: int = 6) -> Job:
    """A job of which all is done by the same person in the same room within a few days."""
    job = draw(jobs(most=most, products=WITHOUT_LIMITS, people_most=2))
    soon = job.start + draw(st.integers(1, 5)) * DAY
    crew, room = tuple(job.people)[:1], next(iter(job.rooms), None)
    return replace(
        job,
        tasks=tuple(
            replace(
                task,
                who=task.who and crew,
                several=tuple(hands for hands in task.several if hands[0] in crew),
                room=room,
                not_before=None,
                must_finish_by=soon,
            )
            for task in job.tasks
        ),
    )
