"""What became of the first plan, in three lines; days gone by, today, days to come."""

from scheduler.model import Job, Plan
from scheduler.news import Headline
from scheduler.plancommand import planned as planned_now
from scheduler.text import plan_text
from scheduler.verify import check
from scheduler.wording import GLUE
from tests.support.planned import read
from tests.support.underway import happened

JOB = """
job: News
timezone: America/Toronto
start: 2027-01-04 12:00            # a Monday
air: {temperature: 73 F, humidity: 50 %}
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
rooms: {bath: {}}
products:
  membrane: {class: liquid-membrane, label: {recoat: 2 h..24 h, tile: 12 h, at: 73 F 50 %}}
tasks:
  board: {who: me, room: bath, work: 3 h}
  one: {who: me, room: bath, work: 1 h, applies: membrane, after: board}
  two: {who: me, room: bath, work: 45 min, applies: membrane, after: {one: recoat}}
  flood: {room: bath, work: 24 h, hold: yes, after: {two: flood}}
  tile: {who: me, room: bath, work: 3 h, after: flood}
  side: {who: me, work: 1 h, not_before: 2027-01-08}
"""


def made(now: str, *log: str, job: Job | None = None) -> tuple[Job, Plan, list[str]]:
    job = happened(read(JOB) if job is None else job, now, *log)
    plan, news = planned_now(job)
    assert check(job, plan) == ()
    return job, plan, [plain(line) for line in news]


def plain(line: Headline) -> str:
    return f"{line.label}: {line.text}".replace(GLUE, " ")


def text(job: Job, width: int = 80) -> str:
    plan, news = planned_now(job)
    return plan_text(job, plan, width, news)


def test_a_job_of_which_nothing_is_logged_has_no_news() -> None:
    plan, news = planned_now(read(JOB))
    assert news == ()
    assert "now " not in plan_text(read(JOB), plan, 80)


def test_a_job_on_plan_says_so_in_one_line() -> None:
    _, plan, news = made("2027-01-04 21:00", "2027-01-04 18:00 started board",
                         "2027-01-04 21:00 done board")  # fmt: skip
    stands = "the finish stands, Sat 9 Jan 10:00, and nothing that is still to do moves"
    assert news == [f"on plan: {stands}"]
    assert plan.task["board"].state == "done"


def test_an_evening_that_slips_is_told_with_what_it_moves() -> None:
    _, _, news = made("2027-01-05 22:00", "2027-01-05 18:00 started board",
                      "2027-01-05 21:00 done board")  # fmt: skip
    assert news == [
        "later: the finish, by 2 d 11 h: Mon 11 Jan 21:00, not Sat 9 Jan 10:00",
        "slipped: 'Board', by 24 h: done Tue 5 Jan 21:00, not Mon 4 Jan 21:00",
        "moved: all 5 tasks still to do; next 'One' to Sat 9 Jan 09:00, not Tue 5 Jan 18:00 and"
        " 'Side' to Sat 9 Jan 10:00, not Fri 8 Jan 18:00",
    ]


BOARDED = ("2027-01-04 18:00 started board", "2027-01-04 21:00 done board")


def test_what_nobody_began_is_what_slips() -> None:
    _, _, news = made("2027-01-07 22:00", *BOARDED, "2027-01-05 19:00 done one")
    assert news[1] == "slipped: 'Two', by 2 d: starts Fri 8 Jan 18:00, not Wed 6 Jan 18:00"
    assert news[2].startswith(
        "moved: all 4 tasks still to do; next 'Two' to Fri 8 Jan 18:00, not Wed 6 Jan 18:00 and"
    )


def test_a_failed_test_is_what_slips() -> None:
    log = ("2027-01-05 19:00 done one", "2027-01-05 21:45 done two",
           "2027-01-06 22:00 started flood", "2027-01-07 10:00 failed flood")  # fmt: skip
    _, plan, news = made("2027-01-09 9:00", *BOARDED, *log)
    assert news[1] == (
        "slipped: 'Flood', by 38 h 15 min: failed, starts Sat 9 Jan 09:00, not Thu 7 Jan 18:45"
    )
    assert plan.warnings[0].startswith("'Flood' failed Thu 7 Jan 10:00 and is planned again: find")


def test_a_job_ahead_of_its_plan_says_so() -> None:
    job = read(JOB.replace("  side: {who: me, work: 1 h, not_before: 2027-01-08}\n", ""))
    late = (
        "2027-01-05 19:00 done one",
        "2027-01-05 21:45 started two",
        "2027-01-05 22:30 done two",
    )
    _, plan, news = made("2027-01-06 9:00", *BOARDED, *late, job=job)
    first = read_first(job)
    assert plan.finish < first.finish
    assert news[0].startswith("earlier: the finish, by ")


def read_first(job: Job) -> Plan:
    plan, _ = planned_now(job)
    return plan


def test_a_job_that_is_done_says_when() -> None:
    names = ("board", "one", "two", "tile", "side")
    log = [f"2027-01-{4 + n:02} 20:00 done {name}" for n, name in enumerate(names)]
    job, plan, news = made("2027-01-20 9:00", *log, "2027-01-08 21:00 passed flood")
    assert news == ["earlier: the finish, by 13 h: Fri 8 Jan 21:00, not Sat 9 Jan 10:00"]
    assert "FINISHED     Fri 8 Jan 2027 21:00" in text(job)
    assert "TODAY" not in text(job)
    assert plan.proven_earliest


def test_a_file_that_alone_has_no_plan_gives_nothing_to_compare_with() -> None:
    too_soon = "  side: {who: me, work: 1 h, must_finish_by: 2027-01-04 13:00}"
    job = read(JOB.replace("  side: {who: me, work: 1 h, not_before: 2027-01-08}", too_soon))
    _, _, news = made("2027-01-05 9:00", "2027-01-04 13:00 done side", job=job)
    assert news == ["no first plan: the job's file alone has no plan to compare this one with"]


# The days ----------------------------------------------------------------------------------------

ON_PLAN = (*BOARDED, "2027-01-05 18:00 started one", "2027-01-05 19:00 done one")


def days(job: Job, width: int = 80) -> str:
    return text(job, width).split("DAY BY DAY\n")[1].split("WHAT DRIVES")[0]


def test_days_gone_by_are_short_and_today_is_marked() -> None:
    told = days(happened(read(JOB), "2027-01-06 9:00", *ON_PLAN))
    gone, today = told.split("Wed 6 Jan, TODAY: me")
    assert gone.split("\n") == [
        "", "Mon 4 Jan: me", "  18:00–21:00  Done: Board — me, in bath",
        "", "Tue 5 Jan: me", "  18:00–19:00  Done: One — me, in bath", "", "",
    ]  # fmt: skip
    assert "18:00–18:45  Two — me, in bath" in today
    assert "must start   by 19:00: Two (planned 18:00)" in today


def test_days_gone_by_on_which_nothing_was_done_are_left_out() -> None:
    told = days(happened(read(JOB), "2027-01-07 9:00", *BOARDED))
    assert "Tue 5 Jan" not in told
    assert "Thu 7 Jan, TODAY: nobody comes" in told


def test_what_is_running_and_holds_that_are_not_passed_are_told() -> None:
    log = (*ON_PLAN, "2027-01-06 18:45 done two", "2027-01-07 18:45 started flood")
    running = text(happened(read(JOB), "2027-01-08 9:00", *log))
    assert "goes on      until 18:45: Running: Flood — needs nobody, in bath" in running
    done = text(happened(read(JOB), "2027-01-08 19:00", *log, "2027-01-08 18:45 done flood"))
    assert "HOLD POINT, not logged as passed: what follows waits for that." in done
    assert "Fri 8 Jan 18:45  Flood — done, but not logged as passed" in done
    passed = text(happened(read(JOB), "2027-01-08 19:00", *log, "2027-01-08 18:45 passed flood"))
    assert "not logged as passed" not in passed
    assert "Fri 8 Jan 18:45  Flood — passed" in passed


def test_no_line_is_wider_than_asked_for() -> None:
    log = (*ON_PLAN, "2027-01-06 18:45 done two", "2027-01-07 18:45 started flood",
           "2027-01-08 9:00 failed flood")  # fmt: skip
    for width in (45, 80):
        told = text(happened(read(JOB), "2027-01-08 9:00", *log), width)
        assert max(map(len, told.split("\n"))) <= width
