"""Whether a task can start, by the log: what is not logged has not happened."""

from dataclasses import replace

from scheduler.model import Job, Reading
from scheduler.planner import plan_job
from scheduler.readings import laid_over
from scheduler.ready import Verdict, network_of, ready, verdict_text
from scheduler.verify import check
from scheduler.wording import GLUE
from tests.support.planned import at, read, wall
from tests.support.underway import happened

ZONE = "America/Toronto"
JOB = """
job: Ready
timezone: America/Toronto
start: 2027-01-04 12:00            # a Monday
air: {temperature: 73 F, humidity: 50 %}    # the label's own
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
rooms: {bath: {}}
products:
  membrane: {class: liquid-membrane, label: {recoat: 2 h..24 h, tile: 12 h, at: 73 F 50 %}}
  leveler: {class: self-leveler}
tasks:
  here: {work: 0 min}
  one: {who: me, room: bath, work: 1 h, applies: membrane, after: here}
  two: {who: me, room: bath, work: 45 min, applies: membrane, after: {one: recoat}}
  flood: {room: bath, work: 24 h, hold: yes, after: {two: flood}}
  tile: {who: me, room: bath, work: 3 h, after: flood}
  grout: {who: me, room: bath, work: 1 h, after: tile}
  pour: {who: me, room: bath, work: 30 min, applies: leveler}
"""


def asked(job: Job, task: str, when: str) -> Verdict:
    plan = plan_job(job)
    assert check(job, plan) == ()
    return ready(job, network_of(job, plan), plan, task, at(when, ZONE))


def against(verdict: Verdict) -> list[str]:
    return [finding.text.replace(GLUE, " ") for finding in verdict.findings if not finding.ok]


def test_a_milestone_that_is_not_logged_has_not_happened() -> None:
    # By the plan it is at this very minute, as it takes no time and nobody.
    job = happened(read(JOB), "2027-01-04 18:00", "2027-01-04 13:00 done pour")
    verdict = asked(job, "one", "2027-01-04 18:00")
    assert not verdict.yes
    assert against(verdict) == ["by the plan, 'Here' is done: 18:01, still 1 min to go"]
    logged = happened(read(JOB), "2027-01-04 18:00", "2027-01-04 13:00 done pour",
                      "2027-01-04 17:00 done here")  # fmt: skip
    assert asked(logged, "one", "2027-01-04 18:00").yes


def test_without_a_log_the_plan_is_believed() -> None:
    assert asked(read(JOB), "one", "2027-01-04 18:00").yes


COATED = ("2027-01-04 17:00 done here", "2027-01-04 19:00 done one")


def test_a_wait_and_a_window_count_from_the_real_finish() -> None:
    job = happened(read(JOB), "2027-01-04 19:30", *COATED)
    verdict = asked(job, "two", "2027-01-04 20:30")
    assert against(verdict)[0].startswith("membrane of 'One' is ready to recoat only 21:00, still")
    assert asked(job, "two", "2027-01-05 18:00").yes
    late = asked(job, "two", "2027-01-06 18:00")
    assert against(late)[0].startswith("too late: the window closed Tue 5 Jan 19:00, 24 h after")
    assert late.earliest is None


def test_a_window_that_was_missed_stays_a_no_and_says_what_to_do() -> None:
    job = happened(read(JOB), "2027-01-06 17:00", *COATED)
    verdict = asked(job, "two", "2027-01-06 18:00")
    assert not verdict.yes
    assert "Clean the coat, dull it with an abrasive pad" in against(verdict)[0]
    assert "log 'one undone', then 'one done' with its new time" in against(verdict)[0]
    assert any("log 'one undone', then 'one done'" in said for said in plan_job(job).warnings)
    # With that coat done on Wednesday the window opens anew.
    redone = happened(read(JOB), "2027-01-06 19:00", COATED[0], "2027-01-06 19:00 done one")
    assert not asked(redone, "two", "2027-01-06 20:00").yes
    assert asked(redone, "two", "2027-01-07 18:30").yes


def test_a_window_that_all_else_outlasts_is_a_no_of_its_own() -> None:
    """2 h from 16:30 are over at 18:30, after Saturday's hours; the next are Monday's."""
    job = happened(read(JOB), "2027-01-09 16:40", "2027-01-04 17:00 done here",
                   "2027-01-09 16:30 done one")  # fmt: skip
    verdict = asked(job, "two", "2027-01-09 16:45")
    assert verdict.earliest is None
    (window,) = [finding for finding in verdict.findings if finding.kind == "window"]
    assert not window.ok
    assert window.text.replace(GLUE, " ") == (
        "must start by Sun 10 Jan 16:30, 24 h after 'One' is done: 23 h 45 min to go, "
        "but all else lets it start only Mon 11 Jan 18:00"
    )


def test_what_was_left_out_on_the_way_is_a_no_until_it_is_logged() -> None:
    """The second coat is done and tested, but the first was taken back, or never written down."""
    done = ("2027-01-04 17:00 done here", "2027-01-04 21:45 done two",
            "2027-01-06 9:00 started flood", "2027-01-07 9:00 passed flood")  # fmt: skip
    job = happened(read(JOB), "2027-01-07 17:00", *done)
    assert "'One' is not logged as done, and comes before 'Two', which is done" in against(
        asked(job, "tile", "2027-01-07 18:00")
    )
    whole = happened(read(JOB), "2027-01-07 17:00", "2027-01-04 19:00 done one", *done)
    assert asked(whole, "tile", "2027-01-07 18:00").yes


HELD = (*COATED, "2027-01-04 21:45 done two", "2027-01-06 9:00 started flood")


def test_a_hold_point_must_be_logged_as_passed() -> None:
    done = happened(read(JOB), "2027-01-08 9:00", *HELD, "2027-01-07 9:00 done flood")
    verdict = asked(done, "tile", "2027-01-08 18:00")
    assert not verdict.yes
    assert against(verdict) == ["'Flood' is not logged as passed"]
    assert verdict.earliest == verdict.at
    told = verdict_text(done, verdict, 80)
    assert "earliest     Fri 8 Jan 2027 18:00, if passed by then" in told
    assert "until passed  'Flood' is not logged as passed" in told
    passed = happened(read(JOB), "2027-01-08 9:00", *HELD, "2027-01-07 9:00 passed flood")
    assert asked(passed, "tile", "2027-01-08 18:00").yes


def test_a_hold_point_further_upstream_counts_too() -> None:
    job = happened(read(JOB), "2027-01-09 9:00", *HELD, "2027-01-07 9:00 done flood",
                   "2027-01-08 21:00 done tile")  # fmt: skip
    assert against(asked(job, "grout", "2027-01-09 09:00")) == ["'Flood' is not logged as passed"]


def test_a_test_that_failed_is_a_no_until_it_passes() -> None:
    job = happened(read(JOB), "2027-01-08 9:00", *HELD, "2027-01-07 9:00 failed flood")
    verdict = asked(job, "tile", "2027-01-08 18:00")
    assert "'Flood' failed Thu 7 Jan 09:00, and has not passed since" in against(verdict)


def test_what_is_still_planned_is_told_as_planned() -> None:
    job = happened(read(JOB), "2027-01-06 10:00", *HELD)
    verdict = asked(job, "tile", "2027-01-08 18:00")
    said = [finding.text.replace(GLUE, " ") for finding in verdict.findings if finding.ok]
    assert said[0].startswith("by the plan, 'Flood' is done: Thu 7 Jan 09:00")


def test_what_has_begun_can_not_start() -> None:
    job = happened(read(JOB), "2027-01-06 10:00", *HELD)
    done, running = asked(job, "two", "2027-01-07 18:00"), asked(job, "flood", "2027-01-07 18:00")
    assert against(done) == ["it is done since Mon 4 Jan 21:45, as logged"]
    assert against(running) == ["it is under way since Wed 6 Jan 09:00, as logged"]
    assert not done.yes
    assert not running.yes
    assert "already      it is done since" in verdict_text(job, done, 80)


def test_the_past_is_no_time_to_start() -> None:
    job = happened(read(JOB), "2027-01-05 20:00", "2027-01-04 17:00 done here")
    verdict = asked(job, "one", "2027-01-05 19:00")
    assert "it is 20:00, and this is past" in against(verdict)
    assert verdict.earliest is not None
    assert verdict.earliest >= at("2027-01-05 20:00", ZONE)


def test_a_floor_that_was_poured_keeps_others_out() -> None:
    job = happened(read(JOB), "2027-01-05 18:30", "2027-01-04 17:00 done here",
                   "2027-01-05 18:30 done pour")  # fmt: skip
    verdict = asked(job, "one", "2027-01-05 19:00")
    assert any(text.startswith("the bath is closed until 'Pour'") for text in against(verdict))
    assert verdict.earliest is not None
    assert wall(verdict.earliest, ZONE) == "Wed 2027-01-06 18:00"


def airs(*lines: tuple[str, float, float | None]) -> list[Reading]:
    return [Reading(at(when, ZONE), None, warm, damp) for when, warm, damp in lines]


DAMP_NIGHT = airs(("2027-01-08 16:30", 20.0, 0.93), ("2027-01-09 08:00", 20.0, 0.92))


def read_so(readings: list[Reading], now: str) -> Job:
    job = happened(read(JOB), now, "2027-01-04 17:00 done here", "2027-01-04 18:30 done pour")
    assert job.past is not None
    job = replace(job, past=replace(job.past, readings=tuple(readings)))
    return laid_over(job, readings, job.now)[0]


def test_air_that_was_just_read_as_too_damp_is_no_air_for_a_coat() -> None:
    # The class says 85 % at most; what the readings make likely for 9:00 is about 78 %.
    job = read_so(DAMP_NIGHT, "2027-01-09 08:30")
    verdict = asked(job, "one", "2027-01-09 09:00")
    assert not verdict.yes
    said = next(text for text in against(verdict) if "read it again" in text)
    assert said.startswith("20 C and 92 % was read 08:00, damper than 85 %")
    assert said.endswith(": not for membrane, read it again")
    assert plan_job(job).task["one"].start > at("2027-01-09 09:00", ZONE)


def test_a_reading_out_of_limits_is_a_no_until_one_within_them_or_a_day_later() -> None:
    dry = airs(("2027-01-09 09:30", 22.0, 0.50))
    bad = [f for f in asked(read_so(DAMP_NIGHT, "2027-01-09 08:30"), "one", "2027-01-09 16:00"
                            ).findings if "read it again" in f.text]  # fmt: skip
    assert [finding.until for finding in bad] == [at("2027-01-10 08:00", ZONE)]
    again = asked(read_so(DAMP_NIGHT + dry, "2027-01-09 10:00"), "one", "2027-01-09 16:00")
    assert not any("read it again" in text for text in against(again))
    warm_only = airs(("2027-01-09 09:30", 22.0, None))  # says nothing of the damp
    still = asked(read_so(DAMP_NIGHT + warm_only, "2027-01-09 10:00"), "one", "2027-01-09 16:00")
    assert any("92 % was read 08:00, damper" in text for text in against(still))
    old = asked(read_so(DAMP_NIGHT, "2027-01-09 08:30"), "one", "2027-01-11 18:00")
    assert not any("read it again" in text for text in against(old))
