"""Jobs and plans made by hand, for testing the verifier: no planner and no file is in them.

The sample is a shower over one weekend, in air at the label's own conditions (23 °C, 50 %), so that
its waits are the labels' and can be read off.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.model import (
    ALWAYS,
    Air,
    Away,
    Dated,
    Job,
    Limits,
    Link,
    Person,
    Plan,
    PlannedTask,
    Product,
    Room,
    Task,
    Wait,
    Weekly,
)
from scheduler.verify import check
from tests.planfactory import HOUR, ZONE, at, placed, plan_of, stage

LAB = Air(23.0, 0.50)
Spans = Sequence[tuple[str, str]]


# A little language for plans --------------------------------------------------------------------


def job(tasks: Iterable[Task], **more: Any) -> Job:
    given: dict[str, Any] = {
        "name": "Larch Row shower",
        "timezone": ZONE,
        "start": at("2027-01-08 17:00"),
        "air": LAB,
        "people": {p.id: p for p in (ME, INSPECTOR, PAIR, NEVER_AWAY)},
        "rooms": {r.id: r for r in (Room("shower", LAB), Room("floor", LAB))},
        "products": {p.id: p for p in (MEMBRANE, LEVELER)},
    }
    return Job(tasks=tuple(tasks), **(given | more))


def plan(job: Job, spans: Mapping[str, Spans], waits: Iterable[Wait] = (), visits: int = 1) -> Plan:
    """A plan that is right wherever the spans and waits given are."""
    tasks = [spanned(task, spans[task.id], job.timezone) for task in job.tasks]
    last = max(tasks, key=lambda task: task.finish)
    return plan_of(job, tasks, waits=waits, visits=visits, chain=(last.id,))


def spanned(task: Task, spans: Spans, zone: str) -> PlannedTask:
    """A task placed into spans on the wall; a milestone into an empty one."""
    sessions = [(at(start, zone), at(end, zone)) for start, end in spans]
    return placed(task, *sessions) if task.work else placed(task, at=sessions[0][0])


def rules(job: Job, plan: Plan) -> set[str]:
    return {breach.rule for breach in check(job, plan)}


def change(plan: Plan, task_id: str, **fields: Any) -> Plan:
    tasks = (replace(t, **fields) if t.id == task_id else t for t in plan.tasks)
    return replace(plan, tasks=tuple(tasks))


# The sample -------------------------------------------------------------------------------------

EVENINGS = Weekly(frozenset(range(5)), 18 * HOUR, 21 * HOUR + 30)
WEEKENDS = Weekly(frozenset({5, 6}), 9 * HOUR, 17 * HOUR)
ME = Person("me", (EVENINGS, WEEKENDS), (Away(datetime(2027, 1, 13), datetime(2027, 1, 14)),))  # noqa: DTZ001 (wall time)
INSPECTOR = Person("inspector", (Dated(date(2027, 1, 9), 10 * HOUR, 12 * HOUR),))
PAIR = Person("pair", ALWAYS, count=2)
NEVER_AWAY = Person("anyone", ALWAYS)
MEMBRANE = Product(
    id="membrane",
    class_name="liquid-membrane",
    title="liquid-applied membrane, ANSI A118.10",
    stages=(
        stage("touch", 60),
        stage("recoat", 120),
        stage("tile", 720),
        # ASTM D5957-98(2021) 5.4: 24 h before a flood test, 48 h if installed below 10 °C.
        stage("flood", 720, least=24 * HOUR, cold_below=10.0, cold_least=48 * HOUR),
    ),
    limits=Limits(temperature_min=5.0, temperature_max=35.0, humidity_max=0.85, dew_margin=3.0),
    one_go=True,
    dust_shy="touch",
)
LEVELER = Product(
    id="leveler",
    class_name="self-leveler",
    title="self-leveling underlayment",
    stages=(stage("walk", 240, "hydration"), stage("tile", 960, "hydration")),
    one_go=True,
    closes="walk",
)
SHOWER = job([
    Task("frame", "Repair the framing", 300, ("me",), "shower"),
    Task("inspect", "Inspection passed", 0, ("inspector",), "shower", after=(Link("frame"),)),
    Task(
        "coat-1", "First coat", 60, ("me",), "shower", "membrane", split=False,
        after=(Link("inspect"),),
    ),
    Task(
        "coat-2", "Second coat", 45, ("me",), "shower", "membrane", split=False,
        after=(Link("coat-1", "recoat", within=24 * HOUR),),
    ),
    Task("pour", "Pour the floor", 30, ("me",), "floor", "leveler", split=False),
    Task("cut", "Cut tile", 60, ("me",), "floor", dusty=True),
    Task("tile", "Set wall tile", 420, ("me",), "shower", after=(Link("coat-2", "tile"),)),
])  # fmt: skip
SPANS: Mapping[str, Spans] = {
    "frame": [
        ("2027-01-08 18:00", "2027-01-08 21:30"),
        ("2027-01-09 09:00", "2027-01-09 10:30"),
    ],
    "inspect": [("2027-01-09 10:30", "2027-01-09 10:30")],
    "coat-1": [("2027-01-09 10:30", "2027-01-09 11:30")],
    "coat-2": [("2027-01-09 13:30", "2027-01-09 14:15")],
    "pour": [("2027-01-09 14:15", "2027-01-09 14:45")],
    "cut": [("2027-01-10 09:00", "2027-01-10 10:00")],
    "tile": [("2027-01-10 10:00", "2027-01-10 17:00")],
}
RECOAT = Wait(
    "coat-1", "membrane", "recoat", "coat-2",
    at("2027-01-09 11:30"), at("2027-01-09 13:30"), 120, at("2027-01-10 11:30"),
)  # fmt: skip
TILE = Wait(
    "coat-2", "membrane", "tile", "tile", at("2027-01-09 14:15"), at("2027-01-10 02:15"), 720
)
WALK = Wait("pour", "leveler", "walk", None, at("2027-01-09 14:45"), at("2027-01-09 18:45"), 240)
GOOD = plan(SHOWER, SPANS, (RECOAT, TILE, WALK), visits=4)


def moved(waits: Iterable[Wait] = GOOD.waits, **spans: Spans) -> Plan:
    """The sample with some tasks elsewhere; underscores stand for hyphens."""
    elsewhere = {**SPANS, **{name.replace("_", "-"): where for name, where in spans.items()}}
    moved = plan(SHOWER, elsewhere, waits)
    visits = days_of_work(moved)
    return replace(moved, visits=visits, visits_bound=visits)


def days_of_work(plan: Plan) -> int:
    """Each person's local days; nothing in the sample runs over midnight."""
    return len({
        (who, datetime.fromtimestamp(session[0] * 60, ZoneInfo(plan.timezone)).date())
        for task in plan.tasks
        for session in task.sessions or ((task.start, task.finish),)
        for who in task.who
    })  # fmt: skip
