"""Why a task starts when it does: the chain back, the time along it, and what is told of both."""

import json
from dataclasses import astuple
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler import cli
from scheduler.errors import NoPlan
from scheduler.model import Job, Plan
from scheduler.planner import plan_job
from scheduler.why import Account, account, why_json, why_text
from scheduler.why.first import first
from tests.support.examples import examples
from tests.support.planned import planned, read, verified
from tests.support.randomjobs import jobs
from tests.support.randomlogs import under_way
from tests.support.underway import happened

LARCH_ROW = Path(__file__).parents[1] / "examples" / "larch-row.yaml"

# 4 Jan 2027 is a Monday. At 70 F, 50 % a membrane recoats after 2 h x p_sat(23 C) / p_sat(21.1 C)
# = 2 h 15 min (law of drying, computed). Joint cement sets after 45 min at 23 C and never sooner.
COATS = """
job: Coats
timezone: America/Toronto
start: 2027-01-04 12:00
air: {temperature: 70 F, humidity: 50 %}
units: imperial
people:
  me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}
rooms: {bath: {}}
products:
  membrane: {class: liquid-membrane, label: {recoat: 2 h, tile: 12 h}}
tasks:
  board: {name: Hang board, who: me, room: bath, work: 4 h}
  coat-1: {name: First coat, who: me, room: bath, work: 30 min, applies: membrane, after: board}
  coat-2: {name: Second coat, who: me, room: bath, work: 30 min, applies: membrane,
           after: {coat-1: recoat}}
"""


def holds(job: Job, plan: Plan) -> None:
    """Every task's account is whole: it begins and ends where it should, without a gap."""
    for task in plan.tasks:
        found = account(job, plan, task.id)
        ends = [found.since, *(part.end for part in found.parts)]
        assert [part.start for part in found.parts] == ends[:-1]
        assert ends[-1] == max(found.since, task.start)
        assert sum(astuple(found.split)) == ends[-1] - found.since
        assert found.task == task
        assert (first(found) is None) == (ends[-1] == found.since)
        _goes_back(found)


def _goes_back(found: Account) -> None:
    for later, earlier in pairwise(found.chain):
        assert later.task.state == "open"
        named = later.task.because.task
        assert named in {None, earlier.task.id}  # None where the present holds it as well
    ends = [held for held in found.chain if held.task.state != "open"]
    assert ends in ([], [found.chain[-1]])
    if not ends:
        assert found.since == found.plan.start


@given(jobs(most=7))
@examples(60)
def test_the_time_before_any_task_of_any_job_adds_up(job: Job) -> None:
    try:
        holds(job, verified(job))
    except NoPlan:
        assume(False)


@given(jobs(most=5), st.data())
@examples(60)
def test_it_adds_up_back_to_what_is_logged(job: Job, data: st.DataObject) -> None:
    try:
        stands = data.draw(under_way(job, plan_job(job)))
        holds(stands, verified(stands))
    except NoPlan:
        assume(False)


def test_the_account_of_the_last_task_is_that_of_the_job_but_for_the_task_itself() -> None:
    job = read(LARCH_ROW.read_text("utf-8"))
    plan = verified(job)
    found = account(job, plan, plan.chain[-1])
    assert [held.task.id for held in reversed(found.chain)] == list(plan.chain)
    before, whole = astuple(found.split), astuple(plan.where_time_goes)
    assert all(part <= all_of_it for part, all_of_it in zip(before, whole, strict=True))
    assert sum(whole) - sum(before) == plan.finish - found.task.start


def test_the_way_back_in_words() -> None:
    job, plan = planned(COATS)
    text = " ".join(why_text(account(job, plan, "coat-2"), 80).split())
    # Board: Mon 18:00 to Tue 19:00; first coat from 19:00; 19:30 + 2 h 15 min is past 21:00.
    for told in (
        "starts Wed 6 Jan 2027 18:00",
        "Second coat — 'First coat' is ready to recoat, Tue 5 Jan 21:45; me: next hours Wed 6 Jan"
        " 18:00",
        "A wait of 2 h 15 min at 70 F and 50 % (label 2 h) until membrane is ready to recoat, Tue 5"
        " Jan 21:45. Outside hours of me: 20 h 15 min (1 night).",
        "Tue 5 Jan 19:00 First coat — 'Hang board' is done, Tue 5 Jan 19:00 Work of 30 min, until"
        " Tue 5 Jan 19:30.",
        "Work of 4 h, with 21 h (1 night) outside hours, until Tue 5 Jan 19:00. Outside hours of"
        " me: 6 h.",
        "2 d 6 h from Mon 4 Jan 12:00 to Wed 6 Jan 18:00:",
        "88 % outside hours, 47 h 15 min",
        "The largest part is outside hours, 47 h 15 min: look first at hours of me between Mon 4"
        " Jan 21:00 and Tue 5 Jan 18:00, for 'Hang board' (27 h of it).",
    ):
        assert told in text


# What is changed in the job above; the part that is largest before the last task; what is told.
FIRSTS = [
    ("me: {hours: always}", "work", "another pair of hands for 'Hang board'"),
    ("me: {hours: always}|work: 4 h|work: 5 min", "waiting", "warmer or drier air in bath"),
    ("me: {hours: always}|work: 4 h|work: 5 min|70 F|80 F", "waiting",
     "a faster product than membrane, as air does no more"),
    ("me: {hours: always}|work: 4 h}|work: 4 h, not_before: 2027-01-09 9:00}", "dates",
     "the date that 'Hang board' waits for"),
    # 50 F and more for six hours a day, and the board is done in the night.
    ("me: {hours: always}|70 F|47 F, swing: 4 F|work: 4 h|work: 11 h|who: me, |", "air",
     "the air in bath, out of the product's limits"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "kind", "told"), FIRSTS)
def test_what_would_move_it_first(change: str, kind: str, told: str) -> None:
    hours, *others = change.split("|")
    text = COATS.replace("me: {hours: [mon-fri 18:00-21:00, sat 9:00-17:00]}", hours)
    for old, new in zip(others[::2], others[1::2], strict=True):
        assert old in text
        text = text.replace(old, new)
    job, plan = planned(text)
    found = first(account(job, plan, "coat-2"))
    assert found is not None
    assert found.kind == kind
    assert told in found.text


def test_of_a_job_under_way_it_ends_at_what_is_logged() -> None:
    job = happened(read(COATS), "2027-01-05 20:00",
                   "2027-01-04 18:00 started board", "2027-01-05 19:20 done board")  # fmt: skip
    plan = verified(job)
    found = account(job, plan, "coat-2")
    assert [held.task.id for held in found.chain] == ["coat-2", "coat-1", "board"]
    assert found.since == plan.task["board"].finish
    text = " ".join(why_text(found, 80).split())
    assert "now Tue 5 Jan 2027 20:00" in text
    assert "Hang board — done Tue 5 Jan 19:20, as logged" in text
    # From 19:20 to 20:00 nobody began the first coat.
    assert "It could have been begun, and was not: 40 min." in text


def test_a_task_that_has_begun_is_told_as_logged() -> None:
    job = happened(read(COATS), "2027-01-05 20:00", "2027-01-04 18:00 started board")
    found = account(job, verified(job), "board")
    assert (len(found.chain), found.parts) == (1, ())
    assert "begun Mon 4 Jan 18:00, as logged" in why_text(found, 80)


def test_json_says_the_same() -> None:
    job, plan = planned(COATS)
    tree = json.loads(json.dumps(why_json(account(job, plan, "coat-2"))))
    assert (tree["version"], tree["task"], tree["state"]) == (1, "coat-2", "open")
    assert (tree["since"], tree["start"]) == ("2027-01-04T12:00:00-05:00",
                                              "2027-01-06T18:00:00-05:00")  # fmt: skip
    assert sum(tree["where_time_goes"].values()) == tree["minutes"] == 54 * 60
    parts = [p for held in tree["chain"] for p in (*held["before"], *held["within"])]
    assert sum(part["minutes"] for part in parts) == tree["minutes"]
    assert tree["chain"][0]["wait"]["minutes"] == 135
    assert tree["first"]["kind"] == "outside_hours"


def test_at_the_command_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "coats.yaml"
    file.write_text(COATS, encoding="utf-8")
    assert cli.main(["why", str(file), "coat-2", "--width", "45"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 45
    assert lines[0] == "Second coat"
    assert cli.main(["why", str(file), "coat-2", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["task"] == "coat-2"
    assert cli.main(["why", str(file), "coat2"]) == 2
    assert "no task 'coat2'; did you mean 'coat-2' or 'coat-1'?" in capsys.readouterr().err
