"""What a plan is best at: the finish, days without something, visits; each order, and its proof."""

import json
from dataclasses import replace
from pathlib import Path
from textwrap import dedent
from typing import Any

import pytest
from hypothesis import given
from icalendar import Calendar

from scheduler.asjson import plan_json
from scheduler.cli import main
from scheduler.clock import HOUR, instant
from scheduler.goals import LATER
from scheduler.history import with_past
from scheduler.ics import calendar
from scheduler.model import Event, Job, Log, Plan, Prefer
from scheduler.planner import plan_job
from scheduler.solve import Effort
from scheduler.text import plan_text
from scheduler.verify import check
from scheduler.wording import GLUE
from tests.support.bruteforce import ORDERS, BruteForce
from tests.support.examples import examples
from tests.support.jobs import household
from tests.support.planned import at, planned, read, starts, verified, verified_within
from tests.support.tinyjobs import tiny_jobs_closing

ZONE = "America/Toronto"


@given(tiny_jobs_closing())
@examples(150)
def test_no_plan_of_a_tiny_job_is_better_by_the_goals_in_the_order_preferred(job: Job) -> None:
    """Reference: every plan of the first days, hour by hour; later ones are left out on both sides.

    So what comes before the finish is best among the same plans, not among those of four weeks.
    """
    days = 3
    best = BruteForce(job, days).best()
    plan, proven = verified_within(job, days)
    if plan is None:
        # What waits for all else may find no room in these few days; then nothing is claimed.
        assert best is None or not proven
        return
    goals = (plan.finish - job.start) // HOUR, plan.visits, days_of(plan)
    sum_of_starts = sum(task.start - job.start for task in plan.tasks) // HOUR
    assert (*(goals[n] for n in ORDERS[job.prefer]), sum_of_starts) == best
    assert (plan.finish_bound, plan.visits_bound) == (plan.finish, plan.visits)
    assert plan.days_without_bound == days_of(plan)


def days_of(plan: Plan) -> int:
    return sum(each.days for each in plan.days_without)


def preferring(text: str, prefer: Prefer) -> Plan:
    return verified(replace(read(text), prefer=prefer))


# Days without -----------------------------------------------------------------------------------

BATH = """
    job: Bath
    timezone: America/Toronto
    start: 2027-01-09
    people:
      me: {hours: sat-sun 9:00-17:00}
      plumber: {hours: [mon 8:00-16:00, 2027-01-14 8:00-16:00]}
    tasks:
      strip: {who: me, work: 3 h, closes: shower}
      pipes: {who: plumber, work: 4 h, after: strip}
      shower: {who: me, work: 0 min, after: pipes, reopens: shower}
"""


def test_a_day_counts_on_which_it_is_not_to_be_had_at_any_minute() -> None:
    """By hand: the plumber comes on Monday at the earliest, however early the bath is stripped.

    So that costs no finish on Sunday; the week to Saturday morning is then seven days.
    """
    _, plan = planned(BATH)
    (found,) = plan.days_without
    assert (found.start, found.end) == (at("2027-01-10 09:00", ZONE), at("2027-01-16 09:00", ZONE))
    assert (found.of, found.days, plan.days_without_bound) == ("shower", 7, 7)
    because = plan.task["strip"].because
    assert because.kind == "without"
    assert because.text == "an earlier day would be one more without the shower"


def test_what_is_open_again_at_midnight_was_closed_on_the_day_before_and_no_more() -> None:
    _, plan = planned(
        """
        job: Night
        timezone: America/Toronto
        start: 2027-03-13
        tasks:
          off: {work: 36 h, not_before: 2027-03-13 12:00, closes: water}
          on: {work: 11 h, after: off, reopens: water}
        """
    )
    (found,) = plan.days_without
    assert found.end == at("2027-03-15 12:00", ZONE)  # 47 h later: the 14th has 23 h
    assert found.days == 3
    _, plan = planned(
        """
        job: Day
        timezone: America/Toronto
        start: 2027-03-13
        tasks:
          off: {work: 24 h, closes: water, reopens: water}
        """
    )
    assert [each.days for each in plan.days_without] == [1]


WEEKLY = """
    job: Weekly
    timezone: America/Toronto
    start: 2027-01-11
    people:
      me: {hours: [mon 9:00-17:00, fri-sat 9:00-17:00]}
    tasks:
      strip: {who: me, work: 8 h, closes: shower}
      fit: {who: me, work: 8 h, after: strip, reopens: shower}
"""


def test_fewer_days_without_may_be_worth_a_later_finish() -> None:
    """By hand: Monday to Friday are five days, Friday to Saturday two."""
    plan = verified(read(WEEKLY))
    assert (days_of(plan), plan.finish) == (5, at("2027-01-15 17:00", ZONE))
    assert plan.soonest is None
    later = preferring(WEEKLY, "fewest-days-without")
    assert (days_of(later), later.days_without_bound) == (2, 2)
    assert later.finish == later.finish_bound == at("2027-01-16 17:00", ZONE)
    assert later.proven_earliest
    assert later.soonest == plan.finish


def test_at_the_finish_preferred_what_has_time_closes_late() -> None:
    """The tile is what the finish waits for; the bath can be done on any day before."""
    _, plan = planned(
        """
        job: Slack
        timezone: America/Toronto
        start: 2027-01-11
        people:
          plumber: {hours: [mon 8:00-16:00, wed-fri 8:00-16:00]}
        tasks:
          tile: {work: 120 h}
          shut: {who: plumber, work: 8 h, closes: water}
          look: {who: plumber, work: 8 h, after: shut}
          open: {who: plumber, work: 8 h, after: look, reopens: water}
        """
    )
    assert (plan.visits, days_of(plan)) == (3, 3)
    assert starts(plan)["shut"] == "Wed 2027-01-13 08:00"
    assert plan.task["shut"].because.kind == "without"
    assert plan.where_time_goes.dates + plan.where_time_goes.work > 0


def test_several_close_from_the_first_and_several_reopen_with_the_last() -> None:
    _, plan = planned(
        """
        job: Several
        timezone: America/Toronto
        start: 2027-01-11
        people:
          me: {hours: daily 9:00-17:00}
        tasks:
          strip: {who: me, work: 8 h, closes: [shower, toilet]}
          floor: {who: me, work: 8 h, after: strip, closes: [toilet]}
          toilet: {who: me, work: 8 h, after: floor, reopens: toilet}
          basin: {who: me, work: 8 h, after: toilet, reopens: [shower, toilet]}
        """
    )
    assert [(each.of, each.days) for each in plan.days_without] == [("shower", 4), ("toilet", 4)]


def test_what_nothing_reopens_is_closed_to_the_end_of_the_job_and_warned_of() -> None:
    _, plan = planned(
        """
        job: For good
        timezone: America/Toronto
        start: 2027-01-11
        people:
          me: {hours: daily 9:00-17:00}
        tasks:
          strip: {who: me, work: 8 h, closes: bath}
          fit: {who: me, work: 8 h, after: strip}
        """
    )
    (found,) = plan.days_without
    assert (found.end, found.days) == (plan.finish, 2)
    assert "nothing reopens the bath" in " ".join(plan.warnings)
    assert "'reopens: bath'" in " ".join(plan.warnings)


@pytest.mark.parametrize(
    "wrong",
    [{"days": 6}, {"days": 8}, {"start": 0}, {"end": at("2027-01-17 00:00", ZONE)}, {"of": "bath"}],
)
def test_the_verifier_tells_a_wrong_time_without(wrong: dict[str, Any]) -> None:
    job, plan = planned(BATH)
    (found,) = plan.days_without
    told = replace(plan, days_without=(replace(found, **wrong),))
    assert {breach.rule for breach in check(job, told)} == {"without"}
    twice = replace(plan, days_without=(found, found))
    assert {breach.rule for breach in check(job, twice)} == {"without"}
    assert check(job, replace(plan, days_without_bound=8)) != ()


def test_a_job_under_way_counts_from_when_it_was_really_closed() -> None:
    job = read(BATH)
    log = Log((Event(at("2027-01-09 12:00", ZONE), "done", "strip"),))
    now = with_past(job, log, at("2027-01-09 13:00", ZONE))
    for prefer in ORDERS:
        plan = verified(replace(now, prefer=prefer))
        (found,) = plan.days_without
        assert (found.start, found.days) == (at("2027-01-09 09:00", ZONE), 8)
        assert plan.days_without_bound == 8


# Visits -----------------------------------------------------------------------------------------

TRIPS = """
    job: Trips
    timezone: America/Toronto
    start: 2027-01-11
    people:
      plumber: {hours: [mon 8:00-10:00, thu 8:00-16:00]}
    tasks:
      rough: {who: plumber, work: 2 h}
      fit: {who: plumber, work: 2 h, after: rough}
      look: {who: plumber, work: 2 h, after: fit}
      done: {who: plumber, work: 2 h, not_before: 2027-01-14, after: look}
"""


def test_fewest_visits_may_be_worth_a_later_finish() -> None:
    """By hand: all of it fits into the Thursday, but two hours on Monday are done sooner."""
    soon, few = verified(read(TRIPS)), preferring(TRIPS, "fewest-visits")
    assert (soon.visits, soon.finish) == (2, at("2027-01-14 14:00", ZONE))
    assert (few.visits, few.visits_bound) == (1, 1)
    assert few.finish == few.finish_bound == at("2027-01-14 16:00", ZONE)


def test_what_the_file_prefers_holds_for_every_command_and_the_option_beats_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "trips.yaml"
    file.write_text(dedent(TRIPS).replace("people:", "prefer: fewest-visits\npeople:", 1))
    code, out, _ = run(capsys, "plan", file, "--json")
    made = json.loads(out)
    assert (code, made["prefer"], made["visits"]) == (0, "fewest-visits", 1)
    rough = made["tasks"][0]["start"]
    why = json.loads(run(capsys, "why", file, "rough", "--json")[1])
    assert why["start"] == rough
    verdict = run(capsys, "ready", file, "rough", "--at", "2027-01-11 8:00")[1]
    assert "the plan has it Thu 14 Jan 08:00" in verdict.replace(GLUE, " ")
    for command in (["odds", "--samples", "100"], ["faster"], ["shopping"]):
        code, out, _ = run(capsys, command[0], file, *command[1:], "--json")
        assert code == 0
    soon = json.loads(run(capsys, "plan", file, "--json", "--prefer", "finish")[1])
    assert ("prefer" in soon, soon["tasks"][0]["start"]) == (False, "2027-01-11T08:00:00-05:00")


EFFORT = Effort(tries=20, finish=0.5, visits=0.3, early=0.2, without=0.3, first=1.0)


# Told -------------------------------------------------------------------------------------------


def test_a_job_that_closes_nothing_is_told_as_ever() -> None:
    job, plan = planned(TRIPS)
    tree = plan_json(plan)
    assert not {"prefer", "visits", "visits_bound", "days_without"} & tree.keys()
    assert "without" not in plan_text(job, plan, 80)
    assert b"CATEGORIES:Closed" not in calendar(job, plan, plan.start)


def test_days_without_stand_on_top_of_the_plan_and_in_its_json() -> None:
    job, plan = planned(BATH)
    text = " ".join(plan_text(job, plan, 80).replace(GLUE, " ").split())
    assert "without 7 days without the shower: Sun 10 Jan 09:00 to Sat 16 Jan 09:00" in text
    assert "The fewest possible at this finish with so few visits." in text
    tree = plan_json(plan)
    assert (tree["prefer"], tree["visits"], tree["visits_bound"]) == ("finish", 3, 3)
    assert tree["days_without"] == [
        {
            "of": "shower",
            "start": "2027-01-10T09:00:00-05:00",
            "end": "2027-01-16T09:00:00-05:00",
            "days": 7,
        }
    ]
    assert tree["days_without_bound"] == 7


@pytest.mark.parametrize("width", [45, 80])
def test_what_is_preferred_says_what_it_costs_and_among_which_plans_it_is_best(width: int) -> None:
    job = replace(read(WEEKLY), prefer="fewest-days-without")
    told = plan_text(job, verified(job), width)
    assert max(map(len, told.splitlines())) <= width
    text = " ".join(told.replace(GLUE, " ").split())
    assert "Proven: no plan with so few days without finishes earlier." in text
    assert "Made for an early finish, it would be done Fri 15 Jan 2027 17:00, 24 h earlier." in text
    assert "The fewest possible of all plans done by Fri 12 Feb 2027 17:00." in text
    assert "The fewest possible at this finish with so few days without." in text


def test_what_is_not_proven_shows_its_bound() -> None:
    job, plan = planned(BATH)
    loose = replace(plan, days_without_bound=5, visits_bound=1, prefer="fewest-visits", soonest=0)
    text = " ".join(plan_text(job, loose, 80).replace(GLUE, " ").split())
    assert "Of all plans done by Wed 28 Jan 1970 19:00 1 at least." in text
    assert "At this finish with so few visits 5 at least." in text


def test_a_calendar_has_the_time_without_as_a_free_event() -> None:
    whole = Calendar.from_ical(calendar(*planned(BATH), at("2027-01-08 12:00", ZONE)))
    (event,) = [each for each in whole.walk("VEVENT") if each["SUMMARY"] == "No shower"]
    assert event["TRANSP"] == "TRANSPARENT"
    assert event["X-MICROSOFT-CDO-BUSYSTATUS"] == "FREE"
    assert instant(event.decoded("DTSTART")) == at("2027-01-10 09:00", ZONE)
    assert instant(event.decoded("DTEND")) == at("2027-01-16 09:00", ZONE)
    assert "To be had again after: Shower." in str(event["DESCRIPTION"])


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = main([*map(str, arguments)])
    return code, *capsys.readouterr()


def test_the_command_plans_as_preferred(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "weekly.yaml"
    file.write_text(dedent(WEEKLY))
    code, out, talk = run(
        capsys, "plan", file, "--prefer", "fewest-days-without", "--check", "--json"
    )
    assert (code, talk) == (0, "checked against every rule: nothing broken\n")
    assert json.loads(out)["days_without"][0]["days"] == 2
    assert json.loads(run(capsys, "plan", file, "--json")[1])["days_without"][0]["days"] == 5


def test_what_nothing_closes_has_no_fewest_days(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "trips.yaml"
    file.write_text(dedent(TRIPS))
    code, out, talk = run(capsys, "plan", file, "--prefer", "fewest-days-without")
    assert (code, out) == (2, "")
    assert "no task closes anything; write 'closes: shower'" in " ".join(talk.split())


# Any job ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_a_household_gets_what_it_prefers(seed: int) -> None:
    job = closing(household(seed, 12))
    plans = {prefer: plan_job(replace(job, prefer=prefer), EFFORT) for prefer in ORDERS}
    assert not any(check(job, plan) for plan in plans.values())
    soon, short, few = plans.values()
    assert soon.finish <= min(short.finish, few.finish)
    assert max(short.finish, few.finish) <= soon.finish + LATER
    assert days_of(short) <= min(days_of(soon), days_of(few))
    assert few.visits <= min(soon.visits, short.visits)
    for plan in plans.values():
        assert plan.days_without_bound >= 1
        assert plan.finish_bound <= plan.finish
    assert soon.finish_bound <= min(short.finish_bound, few.finish_bound)


def closing(job: Job) -> Job:
    """The job with its first task closing the shower, to the end."""
    first, *others = job.tasks
    return replace(job, tasks=(replace(first, closes=("shower",)), *others))


def test_the_same_job_gets_the_same_plan_by_any_preference() -> None:
    for prefer in ORDERS:
        job = replace(closing(household(1, 12)), prefer=prefer)
        assert plan_job(job, EFFORT) == plan_job(job, EFFORT)
