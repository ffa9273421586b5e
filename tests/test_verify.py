"""Broken plans: the verifier must name exactly the rule that is broken, and no other."""

import ast
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import pytest

import scheduler
from scheduler.model import Plan, Reason, ReasonKind, TimeSplit, Wait, Without
from scheduler.verify import check
from tests.handmade import (
    GOOD,
    RECOAT,
    SHOWER,
    TILE,
    WALK,
    change,
    job,
    moved,
    rules,
)
from tests.planfactory import HOUR, ZONE


def test_a_right_plan_has_no_breach() -> None:
    assert check(SHOWER, GOOD) == ()


def test_a_job_of_no_tasks_is_finished_when_it_starts() -> None:
    empty = job([])
    done = Plan(
        empty.name, ZONE, empty.start, empty.start, True, empty.start, 0, 0, (), (), TimeSplit(), ()
    )
    assert check(empty, done) == ()
    assert rules(empty, replace(done, finish=empty.start + 1)) == {"finish", "bound", "time"}


# Broken plans -----------------------------------------------------------------------------------


def claims(**fields: Any) -> Plan:
    return replace(GOOD, **fields)


def of(task_id: str, **fields: Any) -> Plan:
    return change(GOOD, task_id, **fields)


def because(task_id: str, kind: str, text: str = "so", **fields: Any) -> Plan:
    return change(GOOD, task_id, because=Reason(kind, text, **fields))  # type: ignore[arg-type]


def listed(*waits: Wait) -> Plan:
    return replace(GOOD, waits=waits)


def shifted(wait: Wait, minutes: int) -> Wait:
    return replace(wait, start=wait.start + minutes, end=wait.end + minutes)


CUT, FRAME, LAST = GOOD.task["cut"], GOOD.task["frame"], GOOD.task["tile"]

WRONG_LISTS = [
    ("a task is left out", claims(tasks=tuple(t for t in GOOD.tasks if t is not CUT))),
    ("a task is there twice", claims(tasks=(*GOOD.tasks, CUT))),
    ("two tasks change places", claims(tasks=(GOOD.tasks[1], FRAME, *GOOD.tasks[2:]))),
    ("a task nobody asked for", claims(tasks=(*GOOD.tasks, replace(CUT, id="paint")))),
    ("other people", of("cut", who=("pair",))),
    ("another room", of("cut", room="shower")),
    ("another name", of("cut", name="Grout")),
]
WRONG_JOBS = [
    ("another name of the job", claims(job="Another")),
    ("another time zone", claims(timezone="Europe/Berlin")),
]
WRONG_SESSIONS = [
    (
        "a start before the first session",
        of("frame", start=FRAME.start - 30, latest_start=FRAME.start - 30),
    ),
    ("a finish before the end of the last session", of("cut", finish=CUT.finish - 1)),
    ("sessions in the wrong order", of("frame", sessions=FRAME.sessions[::-1])),
    (
        "two sessions that touch are one",
        of("cut", sessions=((CUT.start, CUT.start + 20), (CUT.start + 20, CUT.finish))),
    ),
]
WRONG_WORK = [
    (
        "a minute too little",
        change(
            moved(cut=[("2027-01-10 09:00", "2027-01-10 09:59")]), "cut", latest_finish=CUT.finish
        ),
    ),
    (
        "a minute too much",
        moved(
            pour=[("2027-01-09 14:15", "2027-01-09 14:46")], waits=(RECOAT, TILE, shifted(WALK, 1))
        ),
    ),
]
WRONG_HOURS = [
    ("a minute before hours", moved(cut=[("2027-01-10 08:59", "2027-01-10 09:59")])),
    ("a minute after hours", moved(tile=[("2027-01-10 10:01", "2027-01-10 17:01")])),
    ("a day off", moved(cut=[("2027-01-13 18:00", "2027-01-13 19:00")])),
]
WRONG_PEOPLE = [
    ("one person on two tasks", moved(cut=[("2027-01-10 09:01", "2027-01-10 10:01")])),
]
WRONG_LINKS = [
    ("before the task before is done", moved(inspect=[("2027-01-09 10:29", "2027-01-09 10:29")])),
]
WRONG_WINDOWS = [
    (
        "a minute past 24 h after the first coat",
        moved(
            coat_2=[("2027-01-10 11:31", "2027-01-10 12:16")],
            cut=[("2027-01-11 18:00", "2027-01-11 19:00")],
            tile=[
                ("2027-01-11 19:00", "2027-01-11 21:30"),
                ("2027-01-12 18:00", "2027-01-12 21:30"),
                ("2027-01-14 18:00", "2027-01-14 19:00"),
            ],
            waits=(RECOAT, shifted(TILE, 22 * HOUR + 1), WALK),
        ),
    ),
]
WRONG_WAITS = [
    ("a wait is missing", listed(RECOAT, WALK)),
    ("a wait is there twice", listed(RECOAT, TILE, TILE, WALK)),
    ("a wait for nothing", listed(*GOOD.waits, replace(RECOAT, for_task="tile"))),
    (
        "a wait that opens nothing",
        listed(*GOOD.waits, replace(RECOAT, for_task=None, close_by=None)),
    ),
    ("a wait of no task", listed(*GOOD.waits, replace(RECOAT, task="paint"))),
    ("a wait that starts early", listed(replace(RECOAT, start=RECOAT.start - 1), TILE, WALK)),
    ("a wait under the label", listed(RECOAT, replace(TILE, end=TILE.end - 1), WALK)),
    ("a wait that ends too late", listed(RECOAT, replace(TILE, end=TILE.end + 8), WALK)),
    ("another label", listed(RECOAT, TILE, replace(WALK, label_minutes=239))),
    ("another product", listed(RECOAT, TILE, replace(WALK, product="membrane"))),
    ("a window that closes later", listed(replace(RECOAT, close_by=CUT.start + 151), TILE, WALK)),
    ("a window where there is none", listed(RECOAT, replace(TILE, close_by=LAST.start), WALK)),
    ("a wait that outlasts the start", listed(replace(RECOAT, end=RECOAT.end + 1), TILE, WALK)),
]
WRONG_FINISHES = [
    (
        "an hour after the last task",
        claims(
            finish=GOOD.finish + HOUR,
            finish_bound=GOOD.finish + HOUR,
            where_time_goes=TimeSplit(work=49 * HOUR),
        ),
    ),
]
WRONG_BOUNDS = [
    ("a bound after the finish", claims(finish_bound=GOOD.finish + 1)),
    ("a proof whose bound is earlier", claims(finish_bound=GOOD.finish - 1)),
    ("a bound before the start", claims(finish_bound=GOOD.start - 1, proven_earliest=False)),
]
WRONG_VISITS = [
    ("a visit forgotten", claims(visits=3, visits_bound=3)),
    ("a visit too many", claims(visits=5)),
    ("a bound above the visits", claims(visits_bound=5)),
]
WRONG_TIMES = [
    ("time that went nowhere", claims(where_time_goes=TimeSplit(work=48 * HOUR - 1))),
    ("less than no time", claims(where_time_goes=TimeSplit(work=48 * HOUR + 5, waiting=-5))),
]
WRONG_FLOATS = [
    ("no later dates", of("cut", float_minutes=5, logic_float_minutes=5, critical=False)),
    (
        "negative float",
        of(
            "tile",
            latest_start=LAST.start - 5,
            float_minutes=-5,
            free_float_minutes=-5,
            critical=False,
        ),
    ),
    ("negative free float", of("cut", free_float_minutes=-1)),
    ("more free float than float", of("cut", free_float_minutes=1)),
    ("less logic float than float", of("cut", logic_float_minutes=-1)),
    ("a latest finish before the finish", of("frame", latest_finish=FRAME.finish - 1)),
    ("a latest finish after the plan's", of("cut", latest_finish=GOOD.finish + 1)),
    (
        "work that does not fit between its latest dates",
        of(
            "cut",
            latest_start=CUT.start + 1,
            float_minutes=1,
            logic_float_minutes=1,
            critical=False,
        ),
    ),
]
WRONG_CRITICAL = [
    (
        "float and yet critical",
        of(
            "cut",
            latest_start=CUT.start + 5,
            latest_finish=CUT.finish + 5,
            float_minutes=5,
            logic_float_minutes=5,
        ),
    ),
    ("no float and yet not critical", of("tile", critical=False)),
]
WRONG_REASONS = [
    ("an unknown kind", because("cut", "mood")),
    ("no words", because("cut", "hours", " ")),
    ("a task that is not there", because("cut", "hours", task="paint")),
    ("itself", because("cut", "people", task="cut")),
    ("a link that is not there", because("cut", "link", task="tile")),
    ("a stage nobody waits for", because("tile", "stage", task="coat-2", stage="touch")),
    ("a stage told as a plain link", because("tile", "link", task="coat-2")),
    ("people busy with nothing", because("cut", "people")),
    ("people busy with others' work", because("cut", "people", task="inspect")),
    ("another room that is closed", because("tile", "room", task="pour")),
    ("a date the job does not name", because("cut", "date")),
]
WRONG_CHAINS = [
    ("ends with a task that does not finish last", claims(chain=("tile", "cut"))),
    ("names no task", claims(chain=("paint", "tile"))),
    ("twice the same", claims(chain=("tile", "cut", "tile"))),
    ("empty", claims(chain=())),
]
WRONG_WITHOUT = [
    ("something that nothing closes", claims(days_without=(Without("bath", 0, 1440, 1),))),
    ("fewest days above the days", claims(days_without_bound=1)),
]
BROKEN = {
    "tasks": WRONG_LISTS,
    "job": WRONG_JOBS,
    "sessions": WRONG_SESSIONS,
    "work": WRONG_WORK,
    "hours": WRONG_HOURS,
    "people": WRONG_PEOPLE,
    "link": WRONG_LINKS,
    "window": WRONG_WINDOWS,
    "waits": WRONG_WAITS,
    "finish": WRONG_FINISHES,
    "bound": WRONG_BOUNDS,
    "visits": WRONG_VISITS,
    "without": WRONG_WITHOUT,
    "time": WRONG_TIMES,
    "floats": WRONG_FLOATS,
    "critical": WRONG_CRITICAL,
    "because": WRONG_REASONS,
    "chain": WRONG_CHAINS,
}


@pytest.mark.parametrize(
    ("rule", "broken"),
    [
        pytest.param(rule, broken, id=f"{rule}: {why}")
        for rule, plans in BROKEN.items()
        for why, broken in plans
    ],
)
def test_a_broken_plan_names_the_broken_rule_and_no_other(rule: str, broken: Plan) -> None:
    found = check(SHOWER, broken)
    assert {breach.rule for breach in found} == {rule}
    assert all(breach.text for breach in found)


@pytest.mark.parametrize("sessions", [(), ((CUT.finish, CUT.start),)], ids=["none", "backwards"])
def test_sessions_that_are_no_time_are_no_work_either(
    sessions: tuple[tuple[int, int], ...],
) -> None:
    assert rules(SHOWER, of("cut", sessions=sessions)) >= {"sessions", "work"}


def test_reasons_that_the_job_bears_out_are_taken() -> None:
    tried = [
        because("coat-1", "link", task="inspect"),
        because("coat-2", "stage", task="coat-1", stage="recoat"),
        because("cut", "people", task="pour"),
        because("cut", "room", task="pour"),
        because("cut", "dust"),
        because("frame", "start"),
        because("tile", "trip"),
        because("coat-1", "window", task="coat-2"),
    ]
    assert [check(SHOWER, plan) for plan in tried] == [()] * len(tried)


def test_every_kind_of_reason_in_the_model_is_known() -> None:
    unknown = [
        kind
        for kind in get_args(ReasonKind)
        if any("no known kind" in breach.text for breach in check(SHOWER, because("cut", kind)))
    ]
    assert unknown == []


# Independence -----------------------------------------------------------------------------------


def test_the_verifier_shares_no_code_with_what_it_checks() -> None:
    sources = sorted((Path(scheduler.__file__).parent / "verify").glob("*.py"))
    own = {"scheduler.verify", *(f"scheduler.verify.{path.stem}" for path in sources)}
    imported = {
        name
        for path in sources
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for name in _names(node)
        if name.startswith("scheduler")
    }
    assert imported - own == {"scheduler.model"}


def _names(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    return [node.module or ""] if isinstance(node, ast.ImportFrom) else []
