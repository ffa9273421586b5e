"""How surely a task can start, where something is logged: in text, JSON and exit code."""

import json
from collections.abc import Sequence
from math import sqrt
from pathlib import Path

import pytest

from scheduler import cli
from scheduler.asjson import ready_json
from scheduler.model import Job
from scheduler.ready import Verdict, network_of, ready, verdict_text
from scheduler.wording import GLUE, columns
from tests.support.planned import at, read, verified
from tests.support.underway import happened

TEXT = """
job: Two coats
timezone: America/Toronto
start: 2027-02-05 18:00
units: imperial
air: {temperature: 60 F, humidity: 62 %}
people: {me: {hours: [mon-fri 18:00-21:30, sat-sun 9:00-17:00]}}
rooms: {bath: {}}
tasks:
  coat-1: {who: me, room: bath, work: 1 h, applies: liquid-membrane}
  coat-2: {who: me, room: bath, work: 1 h, applies: liquid-membrane, after: {coat-1: recoat}}
  look: {who: me, room: bath, work: 15 min, hold: yes, after: coat-2}
"""
COATED = ("2027-02-06 9:00 started coat-1", "2027-02-06 10:00 done coat-1")


@pytest.fixture(scope="module")
def job() -> Job:
    return happened(read(TEXT), "2027-02-06 10:05", *COATED)


def verdict(job: Job, task: str, when: str, sure: float = 0.95) -> Verdict:
    plan = verified(job)
    minute = at(when, job.timezone)
    return ready(job, network_of(job, plan), plan, task, minute, sure, runs=2000)


def finding(said: Verdict) -> tuple[bool, str]:
    return next((f.ok, f.text.replace(GLUE, " ")) for f in said.findings if f.kind == "chance")


def test_with_nothing_logged_the_plan_alone_answers() -> None:
    said = verdict(read(TEXT), "coat-2", "2027-02-06 14:00")
    assert said.chance is None
    assert all(f.kind != "chance" for f in said.findings)
    assert not {"chance", "earliest_at"} & ready_json(said).keys()


def test_the_chance_grows_with_the_time_and_a_yes_is_sure_enough(job: Job) -> None:
    hours = [f"2027-02-06 {hour}:{minute}" for hour in range(12, 17) for minute in ("00", "30")]
    said = [verdict(job, "coat-2", hour) for hour in hours]
    chances = [each.chance.at_that_time for each in said if each.chance]
    assert chances == sorted(chances)
    assert chances[0] < 0.05
    assert chances[-1] > 0.95
    for each, chance in zip(said, chances, strict=True):
        assert not each.yes or chance >= 0.95
        assert finding(each)[0] == (chance >= 0.95 + 2 * sqrt(0.95 * 0.05 / 2000))
    assert said[-2].yes
    assert not said[-1].yes  # at 16:30 an hour in one go does not fit any more


def test_the_earliest_is_later_the_surer_it_is_to_be_and_in_hours(job: Job) -> None:
    said = verdict(job, "coat-2", "2027-02-06 11:00")
    assert said.chance is not None
    earliest = said.chance.earliest
    assert [*earliest] == [50, 90, 99]
    assert None not in earliest.values()
    times = [minute for minute in earliest.values() if minute is not None]
    assert times == sorted(times)
    assert len(set(times)) == 3
    again = [ready_at(job, minute) for minute in times]
    assert again[0] == pytest.approx(0.5, abs=0.02)
    assert again[1] == pytest.approx(0.9, abs=0.02)
    assert said.earliest is not None
    assert times[1] <= said.earliest <= times[2]


def ready_at(job: Job, minute: int) -> float:
    plan = verified(job)
    said = ready(job, network_of(job, plan), plan, "coat-2", minute, runs=2000)
    assert said.chance is not None
    return said.chance.at_that_time


def test_who_wants_to_be_surer_waits_longer(job: Job) -> None:
    usual, surer = (verdict(job, "coat-2", "2027-02-06 14:00", s).earliest for s in (0.8, 0.999))
    assert usual is not None
    assert surer is not None
    assert surer > usual


def test_a_label_is_a_minimum_however_fast_the_pail(job: Job) -> None:
    """The class's 2 h at least, though most pails are faster in fact."""
    warm = happened(read(TEXT.replace("60 F, humidity: 62 %", "95 F, humidity: 20 %")),
                    "2027-02-06 10:05", *COATED)  # fmt: skip
    said = verdict(warm, "coat-2", "2027-02-06 12:00")
    assert said.chance is not None
    label = warm.products["liquid-membrane"].stage("recoat").minutes
    done = at("2027-02-06 10:00", warm.timezone)
    assert said.chance.earliest[50] == done + label


def test_a_task_that_has_begun_has_no_chance_to_tell(job: Job) -> None:
    assert verdict(job, "coat-1", "2027-02-06 14:00").chance is None


@pytest.mark.parametrize("width", [45, 80])
def test_the_text_tells_how_sure_it_is(job: Job, width: int) -> None:
    said = verdict(job, "coat-2", "2027-02-06 13:30")
    text = verdict_text(job, said, width)
    assert max(map(columns, text.splitlines())) <= width
    flat = " ".join(text.replace(GLUE, " ").split())
    ok, words = finding(said)
    assert not ok
    assert "of 2000 runs; yes wants 95.9 %, a margin for the draw included" in words
    for told in ("how sure", "at that time", "50 %: from Sat 6 Feb 2027", "99 %: from", words):
        assert told in flat


LOG = """\
2027-02-06T09:01:00-05:00 started coat-1 at 2027-02-06T09:00-05:00
2027-02-06T10:01:00-05:00 done coat-1 at 2027-02-06T10:00-05:00
2027-02-06T10:02:00-05:00 air 60 F 62 % at 2027-02-06T10:00-05:00
"""


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = cli.main([*arguments, "--now", "2027-02-06 10:05"])
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.fixture
def files(tmp_path: Path) -> str:
    (tmp_path / "coats.yaml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "coats.log").write_text(LOG, encoding="utf-8")
    return str(tmp_path / "coats.yaml")


def asked(files: str, when: str, *more: str) -> Sequence[str]:
    return ("ready", files, "coat-2", "--at", f"2027-02-06 {when}", *more)


def test_the_command_says_yes_only_where_it_is_sure(
    files: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, *asked(files, "16:00", "--json"))
    said = json.loads(out)
    assert (code, said["verdict"]) == (0, "yes")
    assert said["chance"] >= 0.95
    assert [*said["earliest_at"]] == ["50", "90", "99"]
    assert said["earliest_at"]["90"].startswith("2027-02-06T1")
    edge = said["earliest_at"]["50"][11:16]
    code, out, _ = run(capsys, *asked(files, edge, "--json"))
    assert code == 3
    assert json.loads(out)["chance"] == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize("words", ["often", "20 %", "100 %", "-95 %"])
def test_how_sure_must_be_a_share_over_a_half(
    files: str, capsys: pytest.CaptureFixture[str], words: str
) -> None:
    code, out, err = run(capsys, *asked(files, "16:30", f"--sure={words}"))
    assert (code, out) == (2, "")
    assert f"--sure must be a share from 50 % to 99.9 %, such as 95 % (found '{words}')" in err
