"""Whether a task can start: what must hold for any job, its plan and any time."""

import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.anyplan import Unsolved
from scheduler.asjson import ready_json
from scheduler.clock import DAY
from scheduler.hours import NEVER
from scheduler.jobfile import parse
from scheduler.model import Job, Plan, PlannedTask
from scheduler.network import Network, networks
from scheduler.plan import make_plan
from scheduler.ready import Finding, network_of, ready, verdict_text
from scheduler.solve import solve
from scheduler.verify.case import Breach, Case
from scheduler.verify.rules import PLACING
from scheduler.wording import columns
from tests.support.jobs import household
from tests.support.planned import verified
from tests.support.randomjobs import jobs

EXAMPLES = Path(__file__).parents[1] / "examples"
JOBS = ("larch-row.yaml", "small-floor.yaml", (0, 12), (1, 12), (2, 12), (0, 25))
SAMPLES = 4  # starts asked for, for each task


def example(name: str) -> Job:
    return parse((EXAMPLES / name).read_bytes(), name)


@cache
def job_of(name: str | tuple[int, int]) -> tuple[Job, Network, Plan]:
    job = example(name) if isinstance(name, str) else household(*name)
    plan = verified(job)
    return job, network_of(job, plan), plan


def starts_to_ask(plan: Plan, task: PlannedTask) -> Iterable[int]:
    """Starts spread from before the job to past its end, and those round the planned one."""
    first, last = plan.start - 60, plan.finish + DAY
    spread = (first + (last - first) * n // SAMPLES for n in range(SAMPLES))
    return {*spread, task.start - 1, task.start, task.start + 1, task.finish}


@pytest.mark.parametrize("name", JOBS)
def test_a_task_can_start_when_the_plan_has_it(name: str | tuple[int, int]) -> None:
    job, network, plan = job_of(name)
    for task in plan.tasks:
        verdict = ready(job, network, plan, task.id, task.start)
        assert verdict.yes, (task.id, [f for f in verdict.findings if not f.ok])
        assert verdict.earliest == task.start


@pytest.mark.parametrize("name", JOBS)
def test_a_minute_before_its_reason_a_task_cannot_start_for_that_reason(
    name: str | tuple[int, int],
) -> None:
    job, network, plan = job_of(name)
    kinds = {"start", "link", "stage", "people", "room", "dust", "hours", "air", "date"}
    bound = [task for task in plan.tasks if task.because.kind in kinds]
    assert bound
    for task in bound:
        verdict = ready(job, network, plan, task.id, task.start - 1)
        assert task.because.kind in {f.kind for f in verdict.findings if not f.ok}, task.id


@pytest.mark.parametrize("name", JOBS)
def test_the_earliest_start_is_a_yes_and_never_after_the_planned_one(
    name: str | tuple[int, int],
) -> None:
    job, network, plan = job_of(name)
    for task in plan.tasks:
        for minute in starts_to_ask(plan, task):
            found = ready(job, network, plan, task.id, minute).earliest
            if found is not None:
                assert found >= minute
                assert ready(job, network, plan, task.id, found).yes
            if minute <= task.start:
                assert found is not None
                assert found <= task.start


@pytest.mark.parametrize("name", JOBS)
def test_a_yes_is_what_the_verifier_calls_right(name: str | tuple[int, int]) -> None:
    job, network, plan = job_of(name)
    for task in plan.tasks:
        for minute in starts_to_ask(plan, task):
            agrees_with_the_verifier(job, network, plan, task, minute)


def agrees_with_the_verifier(
    job: Job, network: Network, plan: Plan, task: PlannedTask, minute: int
) -> None:
    """The task at that minute, what follows it left out, breaks a rule if and only if it is a no.

    A no may be for the sake of what follows; and the verifier leaves an integrated wait, and air
    at its limits, a few minutes of doubt.
    """
    verdict = ready(job, network, plan, task.id, minute)
    followers = following(job, task.id)
    breaches = breaches_of(job, network, plan, task.id, minute, followers)
    if verdict.yes:
        assert not breaches, (task.id, minute, breaches)
        return
    no = [finding for finding in verdict.findings if not finding.ok]
    assert breaches or followers or all(in_doubt(job, task, f, minute) for f in no), (task.id, no)


def in_doubt(job: Job, task: PlannedTask, finding: Finding, minute: int) -> bool:
    # The verifier looks at the air of a milestone only where somebody comes for it.
    nobody_comes = job.task[task.id].work == 0 and not task.who
    if finding.kind == "air" and nobody_comes:
        return True
    by_air = finding.kind in {"stage", "room", "dust", "air"}
    return by_air and finding.until is not None and finding.until - minute <= 10


def following(job: Job, task: str) -> set[str]:
    """All that waits for a task."""
    found = {task}
    while more := {
        t.id for t in job.tasks if t.id not in found and any(k.task in found for k in t.after)
    }:
        found |= more
    return found - {task}


def breaches_of(  # noqa: PLR0913, PLR0917 (a plan, and one move in it)
    job: Job, network: Network, plan: Plan, task: str, start: int, without: set[str]
) -> list[Breach] | list[str]:
    """What the verifier says of the plan with one task moved and some left out."""
    step = next(step for step in network.steps if step.task.id == task)
    finish = step.finish(start)
    if finish >= NEVER:
        return ["never done"]
    sessions = step.workable.within(start, finish) if step.task.split else ((start, finish),)
    sessions = sessions if step.task.work else ()
    tasks = (
        replace(placed, start=start, finish=finish, sessions=sessions)
        if placed.id == task
        else placed
        for placed in plan.tasks
        if placed.id not in without
    )
    left = replace(job, tasks=tuple(t for t in job.tasks if t.id not in without))
    looked_at = Case(left, replace(plan, tasks=tuple(tasks)))
    return [breach for rule in PLACING for breach in rule(looked_at)]


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)  # fmt: skip
@given(jobs(most=6), st.integers(0, 10**6))
def test_any_job_gets_answers_that_agree_with_plan_and_verifier(job: Job, draw: int) -> None:
    try:
        network = next(networks(job))
        plan = make_plan(network, solve(network))
    except Unsolved:
        return  # no plan, nothing to ask
    network = network_of(job, plan)
    for task in plan.tasks:
        assert ready(job, network, plan, task.id, task.start).yes
        span = plan.finish + 2 * DAY - plan.start
        for minute in (task.start - 1, plan.start - 60 + draw % span):
            agrees_with_the_verifier(job, network, plan, task, minute)
            verdict = ready(job, network, plan, task.id, minute)
            assert verdict.yes == (verdict.earliest == minute)
            assert json.loads(json.dumps(ready_json(verdict)))["task"] == task.id
            lines = verdict_text(job, verdict, 45).splitlines()
            assert lines[0].startswith(("YES: ", "NOT YET: ", "NO: "))
            assert max(map(columns, lines)) <= 45
