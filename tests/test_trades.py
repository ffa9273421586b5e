"""Trades in practice: who wants notice, what is booked.

What a trade wants is the file's own rule, so there is nothing outside this project to check
against: figures are worked out by hand beside each test, and small jobs by looking at every plan.
"""

import json
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar
from icalendar import Event as Entry

from scheduler.asjson import plan_json
from scheduler.clock import DAY, HOUR
from scheduler.errors import NoPlan
from scheduler.history import as_it_stands
from scheduler.ics import calendar
from scheduler.model import Event, Job, Log, Plan
from scheduler.planner import plan_job
from scheduler.ready import network_of, ready
from scheduler.ready.verdict import Verdict
from scheduler.text import plan_text
from scheduler.verify import check
from scheduler.wording import GLUE
from tests.support.bruteforce import BruteForce
from tests.support.examples import examples
from tests.support.planned import at, read, starts, verified, verified_within
from tests.support.randomjobs import jobs
from tests.support.tinyjobs import tiny_jobs_with_a_trade

ZONE = "Europe/Berlin"
BASIN = """
    job: Basin
    timezone: Europe/Berlin
    start: 2027-01-11 08:00
    people:
      me: {hours: mon-fri 17:00-21:00}
      plumber:
        hours: mon-fri 8:00-16:00
        notice: 3 d
        booked: [2027-01-13 8:00-12:00]
    tasks:
      open: {name: Open the wall, who: me, work: 2 h}
      rough: {name: Rough in the pipes, who: plumber, work: 6 h, after: open}
      close: {name: Close the wall, who: me, work: 3 h, after: rough}
      fit: {name: Fit the basin, who: plumber, work: 2 h, after: close}
"""
MONDAY = "2027-01-11 07:00"


def asked(text: str, now: str = MONDAY, *changes: tuple[str, str]) -> Job:
    """The job of a text, asked for at a time, some of its words changed."""
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return replace(read(text), asked=at(now, ZONE))


def calls(job: Job, plan: Plan) -> list[Entry]:
    """The calendar's entries of calls to make."""
    events = Calendar.from_ical(calendar(job, plan, plan.start)).walk("VEVENT")
    return [e for e in events if isinstance(e, Entry) and "Booking" in e.categories]


# Notice ------------------------------------------------------------------------------------------


def test_a_trade_comes_no_sooner_than_notice_allows_but_for_what_is_booked() -> None:
    """By hand: three days from Monday 7:00 is Thursday 7:00; Wednesday morning is agreed."""
    plan = verified(asked(BASIN))
    assert plan.task["rough"].sessions == (
        (at("2027-01-13 08:00", ZONE), at("2027-01-13 12:00", ZONE)),
        (at("2027-01-14 08:00", ZONE), at("2027-01-14 10:00", ZONE)),
    )
    unbooked = ("        booked: [2027-01-13 8:00-12:00]\n", "")
    assert starts(verified(asked(BASIN, MONDAY, unbooked)))["rough"] == "Thu 2027-01-14 08:00"


def test_the_reason_says_who_wants_notice_and_from_when() -> None:
    plan = verified(asked(BASIN, MONDAY, ("        booked: [2027-01-13 8:00-12:00]\n", "")))
    because = plan.task["rough"].because
    assert because.kind == "notice"
    assert because.text == (
        "'Open the wall' is done, Mon 11 Jan 19:00;"
        " plumber wants 3 d of notice: Thu 14 Jan 08:00 at the earliest"
    )
    # From Monday 19:00 to Thursday 8:00 three working days of eight hours went by for that.
    assert plan.where_time_goes.dates == 2 * 8 * HOUR


def test_notice_counts_from_now_and_a_job_far_ahead_knows_nothing_of_it() -> None:
    without = ("notice: 3 d", "notice: 0 min")
    far, free = asked(BASIN, "2026-12-01"), asked(BASIN, "2026-12-01", without)
    assert starts(verified(far)) == starts(verified(free))
    # Three days on it is Friday 15:00, an hour before the plumber goes home: a visit to save.
    late = verified(asked(BASIN, "2027-01-12 15:00"))
    assert late.task["rough"].start == at("2027-01-18 08:00", ZONE)


def test_nobody_wants_notice_where_nobody_says_when_the_plan_is_asked_for() -> None:
    job = read(BASIN)
    assert starts(verified(job))["rough"] == "Tue 2027-01-12 08:00"


def test_of_a_job_under_way_what_is_begun_goes_on_and_the_rest_wants_notice() -> None:
    begun = Event(at("2027-01-12 08:00", ZONE), "started", "rough")
    opened = Event(at("2027-01-11 19:00", ZONE), "done", "open")
    unbooked = read(BASIN.replace("        booked: [2027-01-13 8:00-12:00]\n", ""))
    plan = verified(as_it_stands(unbooked, Log((opened, begun)), at("2027-01-12 10:00", ZONE)))
    assert plan.task["rough"].finish == at("2027-01-12 14:00", ZONE)
    assert plan.task["fit"].start == at("2027-01-15 10:00", ZONE)
    assert plan.task["fit"].because.kind == "notice"


def test_notice_that_leaves_no_plan_is_a_rule_that_can_give() -> None:
    late = ("work: 2 h, after: close}", "work: 2 h, after: close, must_finish_by: 2027-01-13}")
    job = asked(BASIN, MONDAY, late)
    with pytest.raises(NoPlan) as stopped:
        plan_job(job)
    rules = {rule.kind: rule for rule in stopped.value.conflict.rules}
    assert rules["notice"].text == "plumber wants 3 d of notice"
    assert "write what is agreed under 'booked'" in rules["notice"].way_out
    verified(rules["notice"].lift(job))


def test_ready_says_no_for_a_visit_that_is_not_worth_it_unless_it_is_the_last() -> None:
    """Twenty minutes on a day between two visits; alike on the day of the second, with its work."""
    job = read("""
job: Larch Row basin
timezone: Europe/Berlin
start: 2027-03-08 08:00
people:
  me: {hours: mon-fri 8:00-16:00}
  plumber: {hours: mon-fri 8:00-12:00, visits_of: 2 h at least}
tasks:
  pipes: {who: plumber, work: 2 h}
  valve: {who: plumber, work: 20 min, after: pipes}
  tile: {who: me, work: 12 h, after: pipes}
  basin: {who: plumber, work: 2 h, after: tile}
""")
    plan = verified(job)
    assert plan.task["basin"].start == at("2027-03-10 08:00", ZONE)
    network = network_of(job, plan)

    def answer(moment: str) -> Verdict:
        return ready(job, network, plan, "valve", at(moment, ZONE))

    assert answer("2027-03-08 10:00").yes
    between = answer("2027-03-09 08:00")
    assert [found.kind for found in between.findings if not found.ok] == ["visits"]
    assert between.earliest == at("2027-03-10 10:00", ZONE)
    assert answer("2027-03-10 10:00").yes
    assert answer("2027-03-11 10:00").yes


def test_ready_says_no_before_the_notice_is_over_and_yes_in_what_is_booked() -> None:
    job = asked(BASIN)
    plan = verified(job)
    network = network_of(job, plan)

    def answer(moment: str) -> tuple[bool, str]:
        verdict = ready(job, network, plan, "rough", at(moment, ZONE))
        (said,) = (found for found in verdict.findings if found.kind == "notice")
        assert verdict.earliest is not None
        return verdict.yes, said.text.replace(GLUE, " ")

    no, text = answer("2027-01-12 09:00")
    assert not no
    assert text.startswith("plumber wants 3 d of notice, by what is booked")
    assert answer("2027-01-13 09:00") == (True, "plumber wants 3 d of notice, and that is kept")
    assert answer("2027-01-14 09:00")[0]


# What is booked -----------------------------------------------------------------------------------


def test_a_booking_for_nothing_is_called_out_and_is_a_visit_all_the_same() -> None:
    free = asked(
        BASIN, MONDAY, ("booked: [2027-01-13 8:00-12:00]", "booked: 2027-01-29 9:00-11:00")
    )
    plan = verified(free)
    (warning,) = plan.warnings
    assert warning.replace(GLUE, " ") == (
        "plumber is booked for Fri 29 Jan 09:00–11:00, and the plan has nothing to do then: call it"
        " off, or agree on another day, and change 'booked'"
    )
    assert plan.visits == plan.visits_bound == 5  # me twice, the plumber on the 14th, 15th, 29th


def test_what_is_booked_and_gone_is_no_visit_any_more() -> None:
    text = ("booked: [2027-01-13 8:00-12:00]", "booked: [2027-01-05 8:00-12:00]")
    plan = verified(asked(BASIN, MONDAY, text))
    assert (plan.warnings, plan.visits) == ((), 4)


def test_whom_to_book_by_when_is_told_in_text_in_json_and_in_the_calendar() -> None:
    job = asked(BASIN)
    plan = verified(job)
    text = plan_text(job, plan, 80).replace(GLUE, " ")
    section = text.partition("WHOM TO BOOK\n")[2].partition("\n\n")[0]
    assert section.splitlines()[:3] == [
        "  plumber      wants 3 d of notice",
        "               Wed 13 Jan 08:00–12:00, booked: Rough in the pipes.",
        "               Thu 14 Jan 08:00–10:00, book by Mon 11 Jan 08:00: Rough in the",
    ]
    tree = json.loads(json.dumps(plan_json(plan)))
    assert [(b["tasks"], b["booked"], b["book_by"]) for b in tree["bookings"]] == [
        (["rough"], True, None),
        (["rough"], False, "2027-01-11T08:00:00+01:00"),
        (["fit"], False, "2027-01-12T08:00:00+01:00"),
    ]
    events = calls(job, plan)
    assert [str(event["SUMMARY"]) for event in events] == [
        "Book plumber (for Thu 14 Jan) by Mon 11 Jan",
        "Book plumber (for Fri 15 Jan) by Tue 12 Jan",
    ]
    assert all(len(event.walk("VALARM")) == 2 for event in events)


def test_a_call_to_make_keeps_its_identity_when_its_day_moves() -> None:
    job = asked(BASIN, MONDAY, ("        booked: [2027-01-13 8:00-12:00]\n", ""))
    later = replace(job, asked=at("2027-01-13 07:00", ZONE))
    uids = [{str(event["UID"]) for event in calls(j, verified(j))} for j in (job, later)]
    assert len(uids[0]) == 2
    assert uids[0] == uids[1]


def test_a_job_without_such_keys_says_nothing_of_bookings() -> None:
    text = BASIN.replace("        notice: 3 d\n        booked: [2027-01-13 8:00-12:00]\n", "")
    job = asked(text)
    plan = verified(job)
    assert plan.bookings == ()
    assert "bookings" not in plan_json(plan)
    assert "BOOK" not in plan_text(job, plan, 80)


# The verifier, and every plan of small jobs -------------------------------------------------------


def placed_at(plan: Plan, task: str, start: int) -> Plan:
    """The plan with a task of one session moved."""
    tasks = [
        replace(t, start=start, finish=start + t.finish - t.start,
                sessions=((start, start + t.finish - t.start),)) if t.id == task else t
        for t in plan.tasks
    ]  # fmt: skip
    return replace(plan, tasks=tuple(tasks))


def test_the_verifier_sees_a_trade_that_comes_too_soon() -> None:
    job = asked(BASIN, MONDAY, ("        booked: [2027-01-13 8:00-12:00]\n", ""))
    plan = verified(job)
    sooner = placed_at(plan, "rough", at("2027-01-13 08:00", ZONE))
    assert "notice" in {breach.rule for breach in check(job, sooner)}


def test_the_verifier_sees_bookings_that_are_not_told() -> None:
    job = asked(BASIN)
    plan = verified(job)
    silent = replace(plan, bookings=plan.bookings[1:])
    assert [breach.rule for breach in check(job, silent)] == ["bookings"]
    wrong = replace(plan, bookings=(*plan.bookings[:2], replace(plan.bookings[2], by=plan.start)))
    assert [breach.rule for breach in check(job, wrong)] == ["bookings"]


@given(tiny_jobs_with_a_trade())
@examples(150)
def test_no_plan_of_a_tiny_job_with_a_trade_is_better(job: Job) -> None:
    """Reference: every plan of the first days, hour by hour."""
    days = 4
    best = BruteForce(job, days).best()
    plan, proven = verified_within(job, days)
    if plan is None:
        assert best is None or not proven
        return
    found = (plan.finish - job.start) // HOUR, plan.visits, 0
    assert (*found, sum(task.start - job.start for task in plan.tasks) // HOUR) == best


@given(jobs(), st.sampled_from((0, 700, 3 * DAY, 9 * DAY)), st.integers(-2 * DAY, 9 * DAY))
@examples(60)
def test_any_job_in_which_all_want_notice_keeps_every_rule(job: Job, notice: int, now: int) -> None:
    people = {who: replace(person, notice=notice) for who, person in job.people.items()}
    job = replace(job, people=people, asked=job.start + now)
    try:
        plan = verified(job)
    except NoPlan:
        return
    for one, other in pairwise(plan.bookings):
        assert one.start <= other.start
