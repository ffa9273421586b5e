"""An earlier plan kept to, as it was written in JSON: what is read of it, what moves, what is told.

``test_solve.py`` and ``test_steady.py`` hold the planner to moving nothing without a gain.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from scheduler import cli
from scheduler.asjson import plan_json
from scheduler.earlierplan import kept_line, moved, read_plan
from scheduler.errors import BadInput
from scheduler.model import Job, Plan
from scheduler.planner import plan_job
from scheduler.verify import check
from tests.support.planned import planned, read

# Two tasks of two hours, the evenings three hours long: whichever comes first is as good. The
# order of the file decides, unless an earlier plan has it the other way round.
PAIR = """
job: Pair
timezone: America/Toronto
start: 2027-01-04
people: {me: {hours: mon-fri 18:00-21:00}}
tasks:
  a: {who: me, work: 2 h, split: no}
  b: {who: me, work: 2 h, split: no}
  c: {who: me, work: 1 h, split: no, after: [a, b]}
"""
TURNED = PAIR.replace("  a: {", "  a: {after: b, ")


def as_bytes(plan: Plan, **changes: Any) -> bytes:
    return json.dumps(plan_json(plan) | changes).encode()


def kept(job: Job, content: bytes) -> Plan:
    """The verified plan of a job that keeps to one written earlier."""
    plan = plan_job(job, keep=read_plan(content, "old.json", job).kept)
    assert check(job, plan) == ()
    return plan


def order(plan: Plan) -> str:
    return " ".join(task.id for task in sorted(plan.tasks, key=lambda task: task.start))


def test_what_was_told_stays_where_moving_it_gains_nothing() -> None:
    job, plan = planned(PAIR)
    _, turned = planned(TURNED)
    assert (order(plan), order(turned)) == ("a b c", "b a c")
    assert order(kept(job, as_bytes(turned))) == "b a c"
    earlier = read_plan(as_bytes(turned), "old.json", job)
    assert moved(earlier, kept(job, as_bytes(turned))) == ()
    assert [task.id for task in moved(earlier, plan)] == ["a", "b"]
    assert str(kept_line(earlier, plan)) == (
        "kept: 1 of 3 tasks still to do, as in old.json; 2 moved, next 'A' to Mon 4 Jan 18:00, not"
        " Tue 5 Jan 18:00"
    )


def test_tasks_new_and_tasks_gone_are_fine() -> None:
    more = read(PAIR + "  d: {who: me, work: 1 h}\n")
    _, turned = planned(TURNED)
    plan = kept(more, as_bytes(turned))
    assert order(plan).replace(" d", "").replace("d ", "") == "b a c"
    less = read(PAIR.replace("  c:", "  e:"))
    earlier = read_plan(as_bytes(turned), "old.json", less)
    assert str(kept_line(earlier, kept(less, as_bytes(turned)))) == (
        "kept: 2 tasks still to do, all as in old.json: nothing moves"
    )


TASK = {"id": "a", "start": "2027-01-04T18:00:00-05:00"}
BAD: list[tuple[bytes, str]] = [
    (b"", "old.json:1:1: this is no JSON; it must be a plan as 'thenwait plan JOB --json'"),
    (b"job: Pair\n", "old.json:1:1: this is no JSON"),
    (b'{"version": 1,\n "job" "Pair"}', "old.json:2:8: this is no JSON"),
    (b"\xff\xfe\xff", "old.json: this is no JSON"),
    (b"[" * 100_000, "old.json: this is no JSON"),
    (b"[]", "old.json: it must be a plan as 'thenwait plan JOB --json' prints it"),
    (b'{"version": 1, "verdict": "yes"}', "old.json: it must be a plan"),
    (b'{"version": 2, "job": "Pair", "tasks": []}', "a plan of version 1 can be kept to (found 2)"),
    (b'{"version": true, "job": "Pair", "tasks": []}', "version 1 can be kept to (found true)"),
    (b'{"job": "Pair", "tasks": []}', "version 1 can be kept to (found null)"),
    (b'{"version": 1, "job": "Hut", "tasks": []}', "this is a plan of 'Hut', not of 'Pair'"),
    (b'{"version": 1, "tasks": []}', "this is a plan of no job at all, not of 'Pair'"),
    (b'{"version": 1, "job": "Pair", "tasks": [7]}', "old.json: task 1 has no 'id'"),
    (json.dumps({"version": 1, "job": "Pair", "tasks": [TASK, TASK]}).encode(),
     "old.json: task 2: there is a task 'a' before it already"),
    (json.dumps({"version": 1, "job": "Pair", "tasks": [TASK | {"start": "2027-01-04"}]}).encode(),
     "task 1: 'start' must be a time with its offset, as 2027-01-08T17:00:00-05:00 (found \"2027"),
    (json.dumps({"version": 1, "job": "Pair", "tasks": [TASK | {"start": 5}]}).encode(),
     "'start' must be a time with its offset, as 2027-01-08T17:00:00-05:00 (found 5)"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "told"), BAD)
def test_what_is_no_earlier_plan_is_refused(content: bytes, told: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_plan(content, "old.json", read(PAIR))
    assert told in str(refused.value)


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = cli.main([str(argument) for argument in arguments])
    return (code, *capsys.readouterr())


def test_at_the_command_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file, old = tmp_path / "pair.yaml", tmp_path / "old.json"
    file.write_text(TURNED, "utf-8")
    _, told, _ = run(capsys, "plan", file, "--json")
    old.write_text(told, "utf-8")
    file.write_text(PAIR, "utf-8")
    code, out, _ = run(capsys, "plan", file, "--keep", old, "--check")
    assert code == 0
    assert "kept         3 tasks still to do, all as in" in out
    _, out, _ = run(capsys, "plan", file, "--keep", old, "--json")
    assert json.loads(out)["moved"] == []
    assert json.loads(out)["tasks"][0]["start"] == json.loads(told)["tasks"][0]["start"]
    _, plain, _ = run(capsys, "plan", file, "--json")
    assert "moved" not in json.loads(plain)
    assert run(capsys, "plan", file, "--keep", file)[0] == 2
    assert run(capsys, "plan", file, "--keep", tmp_path / "none.json")[0] == 1


def test_what_is_given_beats_the_first_plan(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file, old = tmp_path / "pair.yaml", tmp_path / "old.json"
    file.write_text(PAIR + "  z: {work: 1 h}\n", "utf-8")
    now = ("--now", "2027-01-04 12:00")
    assert run(capsys, "log", file, "z", "done", "--at", "2027-01-04 10:00", *now)[0] == 0
    first = json.loads(run(capsys, "plan", file, "--json", *now)[1])
    assert "moved" not in first
    a, b, *_ = swapped = json.loads(json.dumps(first["tasks"]))
    a["start"], b["start"] = b["start"], a["start"]
    old.write_text(json.dumps(first | {"tasks": swapped}), "utf-8")
    code, out, _ = run(capsys, "plan", file, "--json", "--keep", old, *now)
    assert code == 0
    tree = json.loads(out)
    assert tree["moved"] == []
    assert [t["start"] for t in tree["tasks"][:2]] == [a["start"], b["start"]]
    assert a["start"] != b["start"]
    assert tree["news"][0].startswith("kept: 3 tasks still to do, all as in")
