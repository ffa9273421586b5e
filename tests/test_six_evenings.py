"""A job through six evenings, by the commands as a user types them.

One evening slips, the air is read too damp, the clocks go forward, the window for the second coat
is missed, a flood test fails, and all is told on the day. Every plan is checked by the verifier.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from scheduler import cli

JOB = """\
job: Larch Row shower
timezone: America/Toronto
start: 2027-03-12 17:00            # a Friday; the clocks go forward on Sunday at 2:00
air: {temperature: 66 F, humidity: 50 %}
people:
  me: {hours: [mon-fri 18:00-21:30, sat-sun 9:00-17:00]}
rooms: {shower: {}}
products:
  joint-cement: {class: rapid-joint-cement}
  membrane: {class: liquid-membrane, label: {recoat: 2 h..24 h, tile: 12 h, at: 73 F 50 %}}
tasks:
  board: {name: Hang board, who: me, room: shower, work: 5 h}
  joints:
    {name: Fill joints, who: me, room: shower, work: 90 min, applies: joint-cement, after: board}
  coat-1:
    {name: First coat, who: me, room: shower, work: 1 h, applies: membrane, after: {joints: set}}
  coat-2:
    {name: Second coat, who: me, room: shower, work: 45 min, applies: membrane,
     after: {coat-1: recoat}}
  flood:
    {name: Flood test, room: shower, work: 24 h, split: no, hold: yes, after: {coat-2: flood}}
  tile: {name: Set wall tile, who: me, room: shower, work: 6 h, after: flood}
"""

Run = Callable[..., str]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """A command on the job, at a moment; the answer is what it printed."""
    monkeypatch.setenv("COLUMNS", "80")
    job = tmp_path / "shower.yaml"
    job.write_text(JOB, "utf-8")

    def run(command: str, *words: str, now: str, code: int = 0) -> str:
        ended = cli.main([command, str(job), *words, "--now", now])
        told = capsys.readouterr()
        assert ended == code, told
        assert command != "plan" or "nothing broken" in told.err
        return told.out

    return run


def told(text: str) -> str:
    """A text without its line breaks."""
    return " ".join(text.split())


def test_six_evenings(run: Run) -> None:
    def log(*words: str, at: str) -> None:
        run("log", *words, "--at", at, now=at)

    def plan(now: str) -> str:
        return told(run("plan", "--check", now=now))

    # Friday: begun half an hour late, and not finished.
    first = plan("2027-03-12 17:00")
    assert "FINISHES Wed 17 Mar 2027 20:14" in first
    log("board", "started", at="2027-03-12 18:30")
    friday = plan("2027-03-12 21:30")
    assert "slipped 'Hang board', by 30 min: under way, done Sat 13 Mar 11:00" in friday
    assert "later the finish, by 16 min: Wed 17 Mar 20:30, not Wed 17 Mar 20:14" in friday

    # Saturday: the board takes longer still; joints and first coat the same day.
    log("board", "done", at="2027-03-13 12:30")
    log("joints", "done", at="2027-03-13 14:30")
    log("coat-1", "done", at="2027-03-13 16:30")
    saturday = plan("2027-03-13 16:45")
    assert "slipped 'Hang board', by 2 h: done Sat 13 Mar 12:30" in saturday
    # From the label's 2 h in this air: 2 h 33 min, to Saturday 19:03; the window is 24 h.
    assert "dries until 19:03: membrane (First coat) ready to recoat" in saturday
    # The clocks go forward in between: 24 h are to 17:30.
    assert "must start by Sun 17:30: Second coat" in saturday

    # The room is read far too damp. Nothing dries at 98 %, and the wait is drawn out.
    log("air", "62 F", "97 %", "--room", "shower", at="2027-03-13 16:45")
    log("air", "61 F", "97 %", "--room", "shower", at="2027-03-13 23:00")
    damp = plan("2027-03-13 23:00")
    assert "dries until 19:03" not in damp
    assert "clocks go forward 1 h: 02:00 becomes 03:00" in damp

    # Sunday passes without the second coat, Monday too: the window is missed.
    tuesday = plan("2027-03-16 18:00")
    assert "! too late for 'Second coat': its window, within 24 h of 'First coat'," in tuesday
    assert "closed Sun 14 Mar 17:30 and cannot be kept. Clean the coat, dull it with" in tuesday
    assert "slipped 'Second coat', by" in tuesday
    no = told(run("ready", "coat-2", "--at", "2027-03-16 18:00", now="2027-03-16 18:00", code=3))
    assert "too late: the window closed Sun 14 Mar 17:30" in no
    log("coat-2", "started", at="2027-03-16 18:30")
    log("coat-2", "done", at="2027-03-16 19:15")
    after = plan("2027-03-16 20:00")
    assert "! 'Second coat' came 2 d 1 h after its window had closed, within 24 h of" in after

    # The flood test runs from Thursday to Friday, and fails.
    log("flood", "started", at="2027-03-18 18:30")
    log("flood", "failed", at="2027-03-19 18:30")
    failed = plan("2027-03-19 18:30")
    assert "! 'Flood test' failed Fri 19 Mar 18:30 and is planned again: find what" in failed
    no = told(run("ready", "tile", "--at", "2027-03-20 9:00", now="2027-03-19 20:00", code=3))
    assert "'Flood test' failed Fri 19 Mar 18:30, and has not passed since" in no

    # Mended and tested again: done is not enough, passed is.
    log("flood", "started", at="2027-03-19 21:00")
    log("flood", "done", at="2027-03-20 21:00")
    no = told(run("ready", "tile", "--at", "2027-03-21 9:00", now="2027-03-21 9:00", code=3))
    assert "until passed 'Flood test' is not logged as passed" in no
    log("flood", "passed", at="2027-03-21 9:00")
    assert "YES: Set wall tile" in run("ready", "tile", "--at", "2027-03-21 9:00",
                                       now="2027-03-21 9:00")  # fmt: skip
    log("tile", "started", at="2027-03-21 9:00")
    log("tile", "done", at="2027-03-21 15:30")
    end = plan("2027-03-21 16:00")
    assert "FINISHED Sun 21 Mar 2027 15:30" in end
    assert "later the finish, by 3 d 19 h 16 min: Sun 21 Mar 15:30, not Wed 17 Mar 20:14" in end
