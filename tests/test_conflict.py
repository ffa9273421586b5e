"""Where no plan can be: a set of rules that can't all hold, shown to be a smallest one."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given

from scheduler.clock import DAY
from scheduler.conflict import Conflict, can_be_planned, conflict, kept, told
from scheduler.errors import NoPlan
from scheduler.model import Job
from scheduler.planner import plan_job
from scheduler.rules import rules_of
from scheduler.verify import check
from tests.support.examples import examples
from tests.support.jobs import household
from tests.support.planned import read
from tests.support.tightjobs import tight_jobs

JOB = """
job: No way
timezone: America/Toronto
start: 2027-01-08 17:00
air: {{temperature: {air}, humidity: 50 %}}
people:
  me: {{hours: [{hours}]}}
  plumber: {{hours: [mon-fri 8:00-16:00]}}
rooms:
  shower: {{}}
tasks:
{tasks}
"""

COATS = """
  coat-1: {who: me, room: shower, work: 1 h, applies: liquid-membrane}
  coat-2:
    who: me
    room: shower
    work: 45 min
    applies: liquid-membrane
    after: {coat-1: recoat}
"""


def job(tasks: str, hours: str = "sat-sun 9:00-17:00", air: str = "68 F") -> Job:
    return read(JOB.format(tasks=tasks, hours=hours, air=air))


CASES = {
    "too late": (
        job(COATS + "    must_finish_by: 2027-01-09 11:00"),
        {
            ("must finish by", ("coat-2",)),
            ("hours", ("me",)),
            ("stage", ("coat-1", "coat-2", "0")),
        },
    ),
    "longer than any stretch": (
        job("  tile: {who: me, work: 9 h, split: no}"),
        {("hours", ("me",)), ("one go", ("tile",))},
    ),
    "window between two Saturdays": (
        job(
            "  a: {who: me, work: 4 h, split: no}\n"
            "  b: {who: me, work: 4 h, split: no, after: [{task: a, within: 3 d}]}",
            "sat 9:00-13:00",
        ),
        {("within", ("a", "b", "0")), ("hours", ("me",)), ("one go", ("a",))},
    ),
    "too cold to apply": (job(COATS, air="40 F"), {("limits", ("liquid-membrane",))}),
    "a cure that takes too long": (
        job(
            "  pour: {who: me, room: shower, work: 1 h, applies: silicone}\n"
            "  rinse: {work: 0 min, after: {pour: water}, must_finish_by: 2027-01-10}"
        ),
        {("must finish by", ("rinse",)), ("stage", ("pour", "rinse", "0"))},
    ),
    "away too long": (
        read(
            JOB.format(
                tasks="  a: {who: me, work: 1 h, must_finish_by: 2027-01-10}",
                hours="always], away: [2027-01-08..2027-01-12",
                air="68 F",
            )
        ),
        {("must finish by", ("a",)), ("away", ("me",))},
    ),
    "a fresh floor in the way": (
        job(
            "  pour: {who: me, room: shower, work: 1 h, applies: self-leveler,"
            " must_finish_by: 2027-01-09 10:00}\n"
            "  look: {who: me, room: shower, work: 1 h, must_finish_by: 2027-01-09 11:00}"
        ),
        {
            ("must finish by", ("pour",)),
            ("must finish by", ("look",)),
            ("hours", ("me",)),
            ("closed", ("self-leveler",)),
        },
    ),
    "a fixed wait": (
        job(
            "  a: {who: me, work: 1 h}\n"
            "  b: {who: me, work: 1 h, after: [{task: a, wait: 9 d, within: 10 d}],"
            " must_finish_by: 2027-01-12}"
        ),
        {("must finish by", ("b",)), ("wait", ("a", "b", "0"))},
    ),
    "two who never meet": (
        job("  fit: {who: [me, plumber], work: 1 h}"),
        {("hours", ("me",)), ("hours", ("plumber",)), ("together", ("fit",))},
    ),
    "two at once": (
        job(
            "  a: {who: plumber, work: 3 h, must_finish_by: 2027-01-11 12:00}\n"
            "  b: {who: plumber, work: 3 h, must_finish_by: 2027-01-11 12:00}"
        ),
        {
            ("must finish by", ("a",)),
            ("must finish by", ("b",)),
            ("hours", ("plumber",)),
            ("people", ("plumber",)),
        },
    ),
    "a fresh floor that stays closed longer than the window": (
        read("""
            job: Closed
            timezone: America/Toronto
            start: 2027-01-08 17:00
            air: {temperature: 70 F, humidity: 50 %, swing: 8 F}
            rooms: {bath: {}}
            tasks:
              pour: {room: bath, work: 90 min, applies: self-leveler}
              lay: {room: bath, work: 1 h, after: [{task: pour, within: 3 h}]}
              coat: {room: bath, work: 1 h, applies: liquid-membrane}
              saw: {room: bath, work: 1 h, dusty: yes, after: coat}
        """),
        {("within", ("pour", "lay", "0")), ("closed", ("self-leveler",))},
    ),
    "two to be done within two hours of a third, by one pair of hands": (
        read("""
            job: Three
            timezone: America/Toronto
            start: 2027-01-08 17:00
            air: {temperature: 70 F, humidity: 50 %}
            people: {me: {hours: [mon-tue 18:00-21:00, tue-thu 18:00-21:00]}}
            tasks:
              t0: {who: me, work: 1 h, split: no}
              t1: {who: me, work: 2 h, split: no, after: [{task: t0, to: finish, within: 2 h}]}
              t2: {who: me, work: 1 h, split: no, after: [{task: t0, to: finish, within: 2 h}]}
        """),
        {
            ("within", ("t0", "t1", "0")),
            ("within", ("t0", "t2", "0")),
            ("people", ("me",)),
        },
    ),
}


def of(found: Conflict) -> set[tuple[str, tuple[str, ...]]]:
    return {(rule.kind, rule.of) for rule in found.rules}


def lifted_one_by_one(job: Job, found: Conflict) -> Iterator[Job]:
    """The job with the rules of a conflict alone, each of them lifted in turn."""
    alone = kept(job, found.rules, tuple(rules_of(job)))
    return (rule.lift(alone) for rule in found.rules)


@pytest.mark.parametrize(("case", "rules"), CASES.values(), ids=CASES.keys())
def test_the_rules_blamed_are_those_in_the_way(
    case: Job, rules: set[tuple[str, tuple[str, ...]]]
) -> None:
    with pytest.raises(NoPlan) as stopped:
        plan_job(case)
    assert of(stopped.value.conflict) == rules
    assert stopped.value.conflict.smallest


@pytest.mark.parametrize("case", [case for case, _ in CASES.values()], ids=CASES.keys())
def test_without_any_one_of_the_rules_the_others_can_be_kept(case: Job) -> None:
    found = conflict(case)
    alone = kept(case, found.rules, tuple(rules_of(case)))
    assert can_be_planned(alone) is False
    for plainer in lifted_one_by_one(case, found):
        assert check(plainer, plan_job(plainer)) == ()


def test_a_job_of_sixty_tasks_has_its_conflict_named_too() -> None:
    home = household(1, 60)
    soon = replace(home.tasks[13], must_finish_by=home.start + 14 * DAY)
    case = replace(home, tasks=(*home.tasks[:13], soon, *home.tasks[14:]))
    found = conflict(case)
    assert found.smallest
    assert 1 <= len(found.rules) <= 8
    for plainer in lifted_one_by_one(case, found):
        assert can_be_planned(plainer)


@given(tight_jobs())
@examples(150)
def test_the_conflict_of_any_tight_job_is_shown_to_be_a_smallest_one(job: Job) -> None:
    found = conflict(job)
    if not found.rules:
        assert check(job, plan_job(job)) == ()
        return
    assert found.smallest
    assert can_be_planned(kept(job, found.rules, tuple(rules_of(job)))) is False
    for plainer in lifted_one_by_one(job, found):
        assert check(plainer, plan_job(plainer)) == ()


def test_a_conflict_is_told_in_words() -> None:
    case, _ = CASES["too late"]
    assert told(conflict(case)) == (
        "no plan is possible: these rules cannot all be kept:\n"
        "  - 'Coat 2' must be finished by Sat 9 Jan 2027 11:00\n"
        "  - me has hours Sat Sun 09:00-17:00\n"
        "  - 'Coat 2' waits until 'Coat 1' is ready to recoat"
        " (about 2 h 25 min in its air, 20 C 50 %)"
    )


def test_one_rule_alone_is_told_as_one() -> None:
    case, _ = CASES["too cold to apply"]
    assert told(conflict(case)).splitlines()[0] == (
        "no plan is possible: this rule cannot be kept:"
    )


def test_a_job_that_can_be_planned_has_no_conflict() -> None:
    assert conflict(job(COATS)) == Conflict((), smallest=False)


def test_lifting_every_rule_always_leaves_a_plan() -> None:
    for case, _ in CASES.values():
        assert can_be_planned(kept(case, (), tuple(rules_of(case))))
