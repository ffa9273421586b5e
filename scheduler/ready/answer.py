"""Can this task start at that time? Every rule is looked at for itself; one no is a no."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduler.clock import DAY
from scheduler.hours import NEVER
from scheduler.model import Job, Plan, Task
from scheduler.network import Network, compile_job, horizon
from scheduler.progress import Minutes
from scheduler.ready.asread import as_read
from scheduler.ready.case import Case, Rule
from scheduler.ready.chance import DRAWN, RUNS, SURE, drawn, rule, share, sure_from
from scheduler.ready.links import links
from scheduler.ready.presence import air, dates, fit, hours, notice, people, visits, worthwhile
from scheduler.ready.rooms import rooms
from scheduler.ready.site import check_on_site, hold_points, holds, skipped
from scheduler.ready.verdict import Chance, Finding, Verdict
from scheduler.ready.ways import by_others, by_the_same, in_each_way, nor_by
from scheduler.steps import Begun, Hold
from scheduler.ways import as_planned
from scheduler.wording import in_quotes, listed

REACH = 150
"""How far past the plan's finish, or the last date of the job, a start is looked for [days]."""


def network_of(job: Job, plan: Plan) -> Network:
    """The job, its choices made as planned, compiled far enough past a plan to be asked about."""
    job = as_planned(job, plan)
    return compile_job(job, max(horizon(job, REACH), plan.finish + REACH * DAY))


def ready(  # noqa: PLR0913, PLR0917
    job: Job, network: Network, plan: Plan, task_id: str, at: int, sure: float = SURE,
    runs: int = RUNS, elsewhere: Sequence[tuple[Hold, int]] = (),
) -> Verdict:  # fmt: skip
    """Whether a task can start at a time, every other task being where the plan has it.

    Where the plan has the task itself does not count, nor does what waits for it and would be put
    off by such a start. A window behind the task is a no only where what follows can't keep it by
    its own hours and air; where only the plan has it elsewhere that is said beside a yes. A task
    that can be done in several ways is asked for in each: the answer is that of the first with
    which it may start, else of the one with which it can start first.

    Args:
        job: the job.
        network: the same, compiled to past the plan's finish; see ``network_of``.
        plan: a plan of it.
        task_id: the task.
        at: the start asked for [UTC min].
        sure: how sure a yes has to be, where something is logged [0..1].
        runs: how many to make then.
        elsewhere: where other jobs have people of this one, and how many of them, by start.

    Raises:
        KeyError: there is no such task.
    """
    j = job.tasks.index(job.task[task_id])
    found: dict[int, tuple[Case, Verdict]] = {}
    for n, way in enumerate(in_each_way(job, network, plan, j, at, elsewhere)):
        case = Case(job, way, plan, way.steps[j], at, elsewhere)
        verdict = _answer(case, sure, runs)
        if verdict.yes:
            return verdict
        found[n] = case, verdict
    best = min(found, key=lambda n: (_opens(found[n][1]), n))
    verdict = found.pop(best)[1]
    others = (nor_by(case.task.hands, other.earliest) for case, other in found.values())
    return replace(verdict, findings=(*verdict.findings, *others))


def _opens(verdict: Verdict) -> int:
    return NEVER if verdict.earliest is None else verdict.earliest


def _answer(case: Case, sure: float, runs: int) -> Verdict:
    """Whether a task can start in one way."""
    task_id, job, at = case.task.id, case.job, case.at
    if isinstance(case.step, Begun):
        return Verdict(task_id, job.timezone, at, (_begun(case, case.step),), None, ())
    rules, free = [*_rules(case)], drawn(case, runs)
    certain = [*rules] if free is None else [*rules, rule(case, free, sure)]
    earliest = _earliest(certain, at)
    upstream = _to_see(case, at if earliest is None else earliest)
    findings = _kept(case, certain) if earliest is None else _looked_at(certain)
    return Verdict(
        task=task_id,
        timezone=job.timezone,
        at=at,
        findings=(
            *findings,
            *_skipped(case),
            *_passed(case),
            *_planned(case),
            *by_the_same(job, case.plan, case.me, at),
            *by_others(case.task.hands, case.plan.task[task_id].hands),
        ),
        earliest=earliest,
        check_on_site=check_on_site(case, upstream),
        chance=None if free is None else _chance(case, free, rules),
    )


def _chance(case: Case, free: Minutes, rules: Sequence[Rule]) -> Chance:
    """How sure it is; what the runs drew does not count a second time as forecast."""
    others = [r for r in rules if r.finding is None or r.finding.kind not in DRAWN]
    return Chance(
        share(free, case.at),
        {percent: _earliest(others, minute) for percent, minute in sure_from(case, free)},
    )


def _rules(case: Case) -> Iterator[Rule]:
    for look in (links, dates, hours, notice, visits, worthwhile, fit, people, rooms, air, as_read):
        yield from look(case)


def _earliest(rules: Sequence[Rule], at: int) -> int | None:
    """The first start at or after ``at`` that every rule lets pass: a fixpoint of monotone maps."""
    while at < NEVER:
        opens = max(rule.first(at) for rule in rules)
        if opens == at:
            return at
        at = opens
    return None


def _looked_at(rules: Sequence[Rule]) -> list[Finding]:
    return [rule.finding for rule in rules if rule.finding is not None]


def _kept(case: Case, rules: Sequence[Rule]) -> list[Finding]:
    """What was looked at, where no start is left: by itself an open window would say yes."""
    return [_outlasted(case, rule, rules) for rule in rules if rule.finding is not None]


def _outlasted(case: Case, rule: Rule, rules: Sequence[Rule]) -> Finding:
    """A no for a window that is open when asked for, and closed once all other rules let pass."""
    finding = rule.finding
    assert finding is not None
    opens = _earliest([other for other in rules if other is not rule], case.at)
    if opens is None or not finding.ok or finding.kind != "window" or rule.first(opens) < NEVER:
        return finding
    text = f"{finding.text}, but all else lets it start only {case.when(opens)}"
    return Finding("window", False, text)


def _begun(case: Case, step: Begun) -> Finding:
    """A task that is done or running can't start."""
    if step.state == "done":
        return Finding("log", False, f"it is done since {case.when(step.end)}, as logged")
    return Finding("log", False, f"it is under way since {case.when(step.begun)}, as logged")


def _to_see(case: Case, at: int) -> tuple[Task, ...]:
    """The hold points of which somebody on site must know that they are passed."""
    if case.job.past is None:
        return holds(case, at)
    return tuple(task for task in hold_points(case) if _passed_at(case, task) is None)


def _passed_at(case: Case, task: Task) -> int | None:
    return case.job.actual(task.id).passed


def _passed(case: Case) -> Iterator[Finding]:
    """The hold points upstream: behind it by the plan, or once anything is logged, by the log."""
    if case.job.past is not None:
        for task in hold_points(case):
            yield _logged_hold(case, task)
    elif passed := holds(case, case.at):
        yield Finding("hold", True, f"planned as passed: {listed(map(in_quotes, passed))}")


def _skipped(case: Case) -> Iterator[Finding]:
    """What was left out on the way here, by the log: nobody knows whether it was done."""
    for task, later in skipped(case) if case.job.past is not None else ():
        if not task.hold:  # speaks for itself
            after = f"comes before {in_quotes(later)}, which is done"
            yield Finding("skipped", False, f"{in_quotes(task)} is not logged as done, and {after}")


def _logged_hold(case: Case, task: Task) -> Finding:
    known, name = case.job.actual(task.id), in_quotes(task)
    if known.passed is not None:
        return Finding("hold", True, f"{name} passed {case.when(known.passed)}, as logged")
    if known.failed is not None:
        text = f"{name} failed {case.when(known.failed)}, and has not passed since"
        return Finding("hold", False, text)
    return Finding("hold", False, f"{name} is not logged as passed")


def _planned(case: Case) -> Iterator[Finding]:
    """Where the plan has the task, and what a later start does to the job."""
    placed = case.plan.task[case.task.id]
    where = f"{case.when(placed.start)} to {case.when(placed.finish, ends=True)}"
    if placed.start == placed.finish:
        where = case.when(placed.start)
    text = f"the plan has it {where}"
    if placed.start < case.at:
        text += "; asked as if it were not begun"
    if placed.latest_start < case.at:
        text += f". After {case.when(placed.latest_start)} a start puts off the end of the job"
    yield Finding("plan", True, text)
