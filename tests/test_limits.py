"""On at most so many visits, for so much work at least: rules of whole days.

They are the file's own, so there is nothing outside this project to check against: figures are
worked out by hand beside each test; ``tests/test_trades.py`` looks at every plan of small jobs.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.clock import HOUR
from scheduler.errors import NoPlan
from scheduler.history import as_it_stands
from scheduler.limits import kept, ways_out
from scheduler.model import Event, Job, Log, Plan
from scheduler.network import REACHES, Network, compile_job, horizon
from scheduler.passes import earliest, order_arcs
from scheduler.planner import plan_job
from scheduler.portfolio import plan_together
from scheduler.ready import network_of, ready
from scheduler.solve import NORMAL
from scheduler.text import plan_text
from scheduler.verify import check, check_together
from scheduler.visits import days_on_site
from scheduler.ways import kept as kept_of
from scheduler.wording import GLUE
from tests.support.examples import examples
from tests.support.planned import at, read, starts, verified
from tests.support.randomjobs import jobs

ZONE = "Europe/Berlin"
BASIN = """
    job: Basin
    timezone: Europe/Berlin
    start: 2027-01-11 08:00
    people:
      me: {hours: mon-fri 17:00-21:00}
      plumber: {hours: mon-fri 8:00-16:00, at_most: 2 visits}
    tasks:
      open: {name: Open the wall, who: me, work: 2 h}
      rough: {name: Rough in the pipes, who: plumber, work: 2 h, after: open}
      drain: {name: Move the drain, who: plumber, work: 3 h}
      close: {name: Close the wall, who: me, work: 3 h, after: rough}
      fit: {name: Fit the basin, who: plumber, work: 2 h, after: close}
"""


def changed(*changes: tuple[str, str], text: str = BASIN) -> Job:
    """The job of a text, some of its words changed."""
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return read(text)


def visits(plan: Plan, who: str = "plumber") -> list[str]:
    """The days on which somebody comes."""
    seen = {day[:14] for key, day in starts(plan).items() if who in plan.task[key].who}
    return sorted(seen, key=lambda day: day[4:])


# At most so many ----------------------------------------------------------------------------------


def test_what_could_be_done_earlier_waits_for_a_day_on_which_they_come() -> None:
    """By hand: the drain needs nothing and could be moved on Monday, but that were a third day."""
    plan = verified(changed())
    assert visits(plan) == ["Tue 2027-01-12", "Wed 2027-01-13"]
    free = verified(changed((", at_most: 2 visits", "")))
    assert plan.finish == free.finish


def test_a_visit_less_costs_what_it_has_to() -> None:
    """By hand: the drain has its date, so the basin waits for that day, and is fitted first."""
    later = ("who: plumber, work: 3 h}", "who: plumber, work: 3 h, not_before: 2027-01-18}")
    plan = verified(changed(later))
    assert visits(plan) == ["Tue 2027-01-12", "Mon 2027-01-18"]
    assert plan.proven_earliest
    three = verified(changed(later, ("2 visits", "3 visits")))
    assert plan.finish - three.finish == 2 * HOUR
    assert (plan.visits, three.visits) == (4, 5)


def test_a_task_held_by_the_day_of_another_says_so() -> None:
    """By hand: one visit for the pipes and the drain; pipes alone would be done on Tuesday."""
    one = (
        ("2 visits", "1 visits"),
        ("      fit: {name: Fit the basin, who: plumber, work: 2 h, after: close}\n", ""),
        ("who: plumber, work: 3 h}", "who: plumber, work: 3 h, not_before: 2027-01-15}"),
    )
    plan = verified(changed(*one))
    assert visits(plan) == ["Fri 2027-01-15"]
    because = plan.task["rough"].because
    assert (because.kind, because.task) == ("visits", "drain")
    assert because.text == (
        "not before the day of 'Move the drain', as plumber comes on at most 1 day"
    )


def test_too_few_visits_are_a_rule_that_can_give_and_the_way_out_says_how_many_more() -> None:
    with pytest.raises(NoPlan) as stopped:
        plan_job(changed(("2 visits", "1 visits")))
    rules = {rule.kind: rule for rule in stopped.value.conflict.rules}
    assert rules["at most"].text == "plumber comes on at most 1 day"
    verified(rules["at most"].lift(changed(("2 visits", "1 visits"))))


def test_days_of_the_log_count_and_where_they_are_too_many_no_day_is_added() -> None:
    """By hand: the plumber was there on Tuesday; the drain and the basin are left for one day."""
    log = Log((
        Event(at("2027-01-11 19:00", ZONE), "done", "open"),
        Event(at("2027-01-12 08:00", ZONE), "started", "rough"),
        Event(at("2027-01-12 10:00", ZONE), "done", "rough"),
    ))  # fmt: skip
    plan = verified(as_it_stands(changed(), log, at("2027-01-12 18:00", ZONE)))
    assert visits(plan) == ["Tue 2027-01-12", "Wed 2027-01-13"]
    with pytest.raises(NoPlan):
        plan_job(as_it_stands(changed(("2 visits", "1 visits")), log, at("2027-01-12 18:00", ZONE)))


def test_a_day_that_is_booked_and_to_come_is_one_of_them() -> None:
    """By hand: Friday is booked and would be a third day, so the basin is fitted then."""
    booked = ("at_most: 2 visits", "at_most: 2 visits, booked: [2027-01-15 8:00-12:00]")
    plan = verified(changed(booked))
    assert visits(plan) == ["Tue 2027-01-12", "Fri 2027-01-15"]
    assert plan.warnings == ()


def test_work_that_runs_on_is_on_each_of_its_days() -> None:
    """By hand: nine hours of pipes are two days; the basin needs a third."""
    long = ("name: Rough in the pipes, who: plumber, work: 2 h", "who: plumber, work: 9 h")
    with pytest.raises(NoPlan):
        plan_job(changed(long))
    plan = verified(changed(long, ("2 visits", "3 visits")))
    assert len({day for day, _ in enumerate(plan.task["rough"].sessions)}) == 2


# For so much at least ----------------------------------------------------------------------------

SHORT = ("at_most: 2 visits", "visits_of: 4 h at least")


def test_nobody_comes_for_less_than_agreed_but_for_what_is_left() -> None:
    """By hand: pipes and drain are five hours; the basin's two are the last, and all that is left.

    The pipes alone are no visit, so they wait for the drain, which has a date.
    """
    later = ("who: plumber, work: 3 h}", "who: plumber, work: 3 h, not_before: 2027-01-15}")
    plan = verified(changed(SHORT, later))
    assert starts(plan)["rough"][:14] == starts(plan)["drain"][:14] == "Fri 2027-01-15"
    assert starts(plan)["fit"] == "Mon 2027-01-18 08:00"
    assert plan.task["rough"].because.kind == "visits"


def test_a_first_visit_that_can_not_be_long_enough_is_a_conflict() -> None:
    """By hand: two hours before the wall is closed, two after it, and no day has both."""
    gone = ("      drain: {name: Move the drain, who: plumber, work: 3 h}\n", "")
    with pytest.raises(NoPlan) as stopped:
        plan_job(changed(SHORT, gone))
    assert "visits of" in {rule.kind for rule in stopped.value.conflict.rules}


def test_the_work_of_several_hands_counts_together() -> None:
    """By hand: two plumbers for two hours are four hours of work."""
    two = ("{hours: mon-fri 8:00-16:00, at_most: 2 visits}",
           "{hours: mon-fri 8:00-16:00, count: 2, visits_of: 4 h at least}")  # fmt: skip
    gone = ("      drain: {name: Move the drain, who: plumber, work: 3 h}\n", "")
    both = ("name: Rough in the pipes, who: plumber,", "who: {plumber: 2},")
    assert starts(verified(changed(two, gone, both)))["rough"] == "Tue 2027-01-12 08:00"


# Told -------------------------------------------------------------------------------------------


def test_whom_to_book_says_on_how_many_days_and_for_how_much() -> None:
    job = changed(("at_most: 2 visits", "at_most: 2 visits, visits_of: 4 h at least"))
    text = plan_text(job, verified(job), 80).replace(GLUE, " ")
    section = text.partition("WHOM TO BOOK\n")[2].partition("\n\n")[0]
    assert section.splitlines() == [
        "  plumber      comes on at most 2 days, for 4 h of work at least",
        "               Tue 12 Jan 08:00–13:00, to be booked: Rough in the pipes and Move",
        "                 the drain.",
        "               Wed 13 Jan 08:00–10:00, to be booked: Fit the basin.",
    ]


def test_ready_says_no_on_a_day_too_many_and_yes_on_one_they_come_on() -> None:
    """By hand: by the plan they come on Tuesday and Wednesday for other tasks."""
    job = changed()
    plan = verified(job)
    network = network_of(job, plan)

    def answer(moment: str) -> tuple[bool, str]:
        verdict = ready(job, network, plan, "drain", at(moment, ZONE))
        (said,) = (found for found in verdict.findings if found.kind == "visits")
        return verdict.yes, said.text.replace(GLUE, " ")

    comes = "plumber comes on at most 2 days"
    taken = f"{comes}, and for other tasks Tue 12 Jan and Wed 13 Jan"
    assert answer("2027-01-11 09:00") == (False, taken)
    assert answer("2027-01-14 09:00") == (False, taken)
    assert answer("2027-01-12 11:00") == (True, f"{comes}, this is one of them")


# Kept to, and several jobs -----------------------------------------------------------------------


def test_planning_again_keeps_to_an_earlier_plan() -> None:
    job = changed()
    plan = verified(job)
    again = plan_job(job, NORMAL, kept_of(plan))
    assert starts(again) == starts(plan)
    assert check(job, again) == ()


def test_a_shared_plumber_comes_on_so_many_days_to_each_house() -> None:
    crew = {who: replace(p, crew="crew.yaml") for who, p in changed().people.items()}
    houses = [replace(changed(), name=name, people=crew) for name in ("A", "B", "C")]
    made = plan_together(houses)
    assert check_together(made.planned) == ()
    for job, plan in made.planned:
        assert check(job, plan) == ()
        assert len(visits(plan)) == 2


# Exact ------------------------------------------------------------------------------------------


def test_a_schedule_that_breaks_it_is_none_and_what_mends_it_is_said() -> None:
    job = changed()
    network = compile_job(job, horizon(job, REACHES[0]))
    floor = earliest(network, network.arcs)
    assert floor is not None
    assert not kept(network, floor)
    assert order_arcs(network, floor) is None
    mending = ways_out(network, floor)
    assert mending is not None
    assert mending.complete()
    assert len(mending.ties) == 3  # of three days on which they come, two are one


def test_the_verifier_sees_a_visit_too_many_and_one_too_short() -> None:
    job = changed()
    plan = verified(job)
    monday = at("2027-01-11 08:00", ZONE)
    moved = replace(plan.task["drain"], start=monday, finish=monday + 3 * HOUR,
                    sessions=((monday, monday + 3 * HOUR),))  # fmt: skip
    tasks = tuple(moved if task.id == "drain" else task for task in plan.tasks)
    assert "at most" in {b.rule for b in check(job, replace(plan, tasks=tasks))}
    short = changed(SHORT)
    assert "visits of" in {b.rule for b in check(short, replace(plan, tasks=tasks))}


@given(jobs(), st.sampled_from((1, 2, 3, 5)), st.sampled_from((0, 2 * HOUR, 5 * HOUR)))
@examples(60)
def test_any_job_keeps_its_visits_or_has_a_conflict(job: Job, most: int, least: int) -> None:
    people = {
        who: replace(person, at_most=most if n % 2 == 0 else None, visits_of=least if n else 0)
        for n, (who, person) in enumerate(job.people.items())
    }
    job = replace(job, people=people)
    try:
        verified(job)
    except NoPlan as stopped:
        for rule in stopped.conflict.rules if stopped.conflict.smallest else ():
            assert rule.kind  # each is one of the file's


@given(jobs(most=7))
@examples(40)
def test_so_many_visits_as_a_plan_has_are_no_limit_to_it(job: Job) -> None:
    """A job has a plan with as few visits of each as there are in one of its plans."""
    try:
        plan = verified(job)
    except NoPlan:
        return
    came = {who: len(days) for who, days in days_on_site(*as_solved(job, plan)).items()}
    people = {who: replace(p, at_most=max(came[who], 1)) for who, p in job.people.items()}
    assert verified(replace(job, people=people)).finish == plan.finish


def as_solved(job: Job, plan: Plan) -> tuple[Network, list[int]]:
    """The job compiled, and the starts of a plan of it."""
    return compile_job(job, horizon(job, REACHES[0])), [task.start for task in plan.tasks]
