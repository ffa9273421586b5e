"""The verifier's rules about what a plan says of itself: finish, days, floats, reasons."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import get_args

from scheduler.model import PlannedTask, Reason, ReasonKind
from scheduler.verify.case import Breach, Case, Rule, minutes_of, span_in_words
from scheduler.verify.clocks import local_days
from scheduler.verify.trades import booked_days


def _job(case: Case) -> Iterator[Breach]:
    """The plan is of this job."""
    job, plan = case.job, case.plan
    if (plan.job, plan.timezone, plan.start) != (job.name, job.timezone, job.start):
        yield Breach("job", None, "the plan has another name, time zone or start than the job")


def _finish(case: Case) -> Iterator[Breach]:
    """The plan finishes with its last task."""
    last = max((p.finish for p in case.plan.tasks), default=case.job.start)
    if case.plan.finish != last:
        text = f"the plan says it finishes {case.when(case.plan.finish)}"
        yield Breach("finish", None, f"{text}, but its last task does so {case.when(last)}")


def _bound(case: Case) -> Iterator[Breach]:
    """A bound is no later than the finish, and a proof is a bound that meets it."""
    plan = case.plan
    if not plan.start <= plan.finish_bound <= plan.finish:
        yield Breach("bound", None, "the earliest possible finish is not from start to finish")
    elif plan.proven_earliest and plan.finish_bound != plan.finish:
        yield Breach("bound", None, "the finish is called proven, but the bound is earlier")


def _visits(case: Case) -> Iterator[Breach]:
    """Visits are the local days on which each person comes, and no fewer than their bound."""
    visits = {
        (who, day)
        for task, placed in case.pairs
        for span in minutes_of(placed)
        for day in local_days(case.job.timezone, *span)
        for who in task.who
    } | {(who, day) for who in case.job.people for day in booked_days(case, who)}
    if case.plan.visits != len(visits):
        text = f"the plan counts {case.plan.visits} visits, there are {len(visits)}"
        yield Breach("visits", None, text)
    if not 0 <= case.plan.visits_bound <= case.plan.visits:
        yield Breach("visits", None, "the least number of visits is above the number of visits")


def _without(case: Case) -> Iterator[Breach]:
    """What the household does without, and on how many local days, is as its tasks say."""
    told = {each.of: (each.start, each.end, each.days) for each in case.plan.days_without}
    closed = {name for task, _ in case.pairs for name in task.closes}
    for name in sorted(closed | told.keys()):
        since, until = _closed(case, name) if name in closed else (0, 0)
        days = len(local_days(case.job.timezone, since, until)) if since < until else 0
        if told.get(name) != (since, until, days):
            text = f"the {name} is closed from {case.when(since)} until {case.when(until)}"
            yield Breach("without", None, f"{text}, {days} days: the plan says otherwise")
    if len(told) < len(case.plan.days_without):
        yield Breach("without", None, "the plan tells something closed twice")
    if not 0 <= case.plan.days_without_bound <= sum(days for _, _, days in told.values()):
        yield Breach("without", None, "the fewest days without are above the days without")


def _closed(case: Case, name: str) -> tuple[int, int]:
    """From the first start that closes it to the last finish that reopens it, or of the job."""
    since = min(placed.start for task, placed in case.pairs if name in task.closes)
    reopening = [placed for task, placed in case.pairs if name in task.reopens]
    until = max(placed.finish for placed in reopening or case.plan.tasks)
    return since, max(until, since + 1)


def _time_split(case: Case) -> Iterator[Breach]:
    """Where the time goes: no part is negative, and together they are the whole."""
    parts: dict[str, int] = asdict(case.plan.where_time_goes)
    for part, minutes in parts.items():
        if minutes < 0:
            yield Breach("time", None, f"{part} takes {span_in_words(minutes)}")
    whole = case.plan.finish - case.plan.start
    if sum(parts.values()) != whole:
        text = f"the parts of the time are {span_in_words(sum(parts.values()))} together"
        yield Breach("time", None, f"{text}, the whole is {span_in_words(whole)}")


def _floats(case: Case) -> Iterator[Breach]:
    """Floats are what the latest dates leave, and nest: free in total in logic."""
    for task, placed in case.pairs:
        wrong = {
            "its float is not latest start less start": (
                placed.float_minutes != placed.latest_start - placed.start
            ),
            "its float is negative": placed.float_minutes < 0,
            "its free float is not from 0 to its float": (
                not 0 <= placed.free_float_minutes <= placed.float_minutes
            ),
            "its logic float is less than its float": (
                placed.logic_float_minutes < placed.float_minutes
            ),
            "its latest finish is not from its finish to the plan's": (
                not placed.finish <= placed.latest_finish <= case.plan.finish
            ),
            "its work does not fit between its latest dates": (
                case.is_open(task.id) and placed.latest_finish - placed.latest_start < task.work
            ),
            "it has begun, and yet has later dates": not case.is_open(task.id)
            and (placed.latest_start, placed.latest_finish) != (placed.start, placed.finish),
        }
        for text in (text for text, is_wrong in wrong.items() if is_wrong):
            yield Breach("floats", task.id, f"{task.id}: {text}")


def _critical(case: Case) -> Iterator[Breach]:
    """Critical is what has no float."""
    for task, placed in case.pairs:
        if placed.critical != (placed.float_minutes == 0):
            text = "critical, with float" if placed.critical else "not critical, without float"
            yield Breach("critical", task.id, f"{task.id} is called {text}")


# Reasons ----------------------------------------------------------------------------------------


def _because(case: Case) -> Iterator[Breach]:
    """Every start has a reason that can be one."""
    for _, placed in case.pairs:
        for text in _implausible(case, placed, placed.because):
            yield Breach("because", placed.id, f"{placed.id}: {text}")


def _implausible(case: Case, placed: PlannedTask, why: Reason) -> Iterator[str]:
    if why.kind not in get_args(ReasonKind):
        yield f"its reason is of no known kind ('{why.kind}')"
    if not why.text.strip():
        yield "its reason has no words"
    if (why.kind == "elsewhere") != (why.job is not None and why.task is not None):
        yield "a reason elsewhere names the other job and its task, and no other does"
    elif why.kind == "elsewhere":
        if not placed.who or why.job == case.job.name:
            yield f"its reason names '{why.job}', which can't hold anybody of it"
    elif why.task is not None and (why.task not in case.job.task or why.task == placed.id):
        yield f"its reason names '{why.task}', which is no other task"
    elif not _holds(case, placed, why):
        yield f"its reason ('{why.kind}', {why.task}, {why.stage}) is nothing the job says"


def _holds(case: Case, placed: PlannedTask, why: Reason) -> bool:
    """Whether the job has the rule that a reason speaks of."""
    task = case.job.task[placed.id]
    other = case.job.task.get(why.task or "")
    if (why.kind == "log") == case.is_open(placed.id):
        return False
    if why.kind in {"link", "stage"}:
        stage = why.stage if why.kind == "stage" else None
        return any((link.task, link.stage) == (why.task, stage) for link in task.after)
    if why.kind == "people":
        return other is not None and bool(set(task.who) & set(other.who))
    if why.kind in {"room", "dust"}:
        return task.room is not None and (other is None or other.room == task.room)
    notice = any(case.job.people[who].notice for who in task.who)
    few = any(case.job.people[who].at_most or case.job.people[who].visits_of for who in placed.who)
    holding = {"date": task.not_before is not None, "notice": notice, "visits": few}
    holding["without"] = bool(task.closes)
    return holding.get(why.kind, True)


def _chain(case: Case) -> Iterator[Breach]:
    """The driving chain is of tasks, each once, and ends with one that finishes last."""
    chain = case.plan.chain
    if unknown := [task_id for task_id in chain if task_id not in case.placed]:
        yield Breach("chain", None, f"the driving chain names {', '.join(unknown)}: no such task")
    elif len(set(chain)) < len(chain):
        yield Breach("chain", None, "the driving chain comes twice to the same task")
    elif bool(chain) != bool(case.placed):
        yield Breach("chain", None, "the driving chain is empty")
    elif chain and case.placed[chain[-1]].finish != max(p.finish for p in case.plan.tasks):
        text = f"the driving chain ends with {chain[-1]}, which is not what finishes last"
        yield Breach("chain", chain[-1], text)


RULES: tuple[Rule, ...] = (
    _job,
    _finish,
    _bound,
    _visits,
    _without,
    _time_split,
    _floats,
    _critical,
    _because,
    _chain,
)
