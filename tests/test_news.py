"""What became of the first plan, in three lines; days gone by, today, days to come."""

from scheduler.errands import planned as planned_now
from scheduler.model import Job, Plan
from scheduler.news import Headline
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
    assert news == ["on plan: the finish stands, Sat 9 Jan 15:30, and nothing that is still to do"
                    " moves"]  # fmt: skip
    assert plan.task["board"].state == "done"


def test_an_evening_that_slips_is_told_with_what_it_moves() -> None:
    _, _, news = made("2027-01-05 22:00", "2027-01-05 18:00 started board",
                      "2027-01-05 21:00 done board")  # fmt: skip
    assert news == [
        "later: the finish, by 2 d 2 h 30 min: Mon 11 Jan 18:00, not Sat 9 Jan 15:30",
        "slipped: 'Board', by 24 h: done Tue 5 Jan 21:00, not Mon 4 Jan 21:00",
        "moved: all 5 tasks still to do",
    ]
