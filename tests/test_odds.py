"""How sure a finish is: what is said of many runs, as text and as JSON, and by the command."""

import json
from pathlib import Path

import numpy as np
import pytest

from scheduler import cli
from scheduler.asjson import plan_json
from scheduler.hours import NEVER
from scheduler.model import Job, Plan
from scheduler.network import Network
from scheduler.odds import Outlook, outlook, outlook_json, outlook_text
from scheduler.odds.outlook import quantile
from scheduler.odds.text import percent
from scheduler.oddsfile import CERTAIN
from scheduler.ready import network_of
from scheduler.wording import GLUE, columns, plain
from tests.benchmarks import odds as benchmark
from tests.support.planned import read, verified
from tests.support.underway import happened

EXAMPLE = Path(__file__).parents[1] / "examples" / "larch-row.yaml"
TEXT = """
job: Two coats
timezone: America/Toronto
start: 2027-01-08 17:00
finish_by: 2027-01-12
air: {temperature: 60 F, humidity: 60 %}
people: {me: {hours: [mon-fri 18:00-21:30, sat-sun 9:00-17:00]}}
rooms: {bath: {}}
tasks:
  board: {name: Hang the board, who: me, room: bath, work: 3 h..4 h..9 h}
  coat-1: {who: me, room: bath, work: 1 h, applies: liquid-membrane, after: board}
  coat-2:
    who: me
    room: bath
    work: 1 h
    applies: liquid-membrane
    after: {task: coat-1, stage: recoat, within: 10 h}
  look: {name: Look at it, who: me, room: bath, work: 15 min, hold: yes, fails: 20 %, redo: 1 d, after: coat-2}
"""  # noqa: E501 (a line of a job file)


@pytest.fixture(scope="module")
def job() -> Job:
    return read(TEXT)


@pytest.fixture(scope="module")
def planned(job: Job) -> tuple[Network, Plan]:
    plan = verified(job)
    return network_of(job, plan), plan


@pytest.fixture(scope="module")
def found(planned: tuple[Network, Plan]) -> Outlook:
    return outlook(*planned, n=4000)


def test_the_finish_comes_later_the_surer_it_is_to_be(found: Outlook) -> None:
    dates = [minute for minute in found.finish.values() if minute is not None]
    assert [*found.finish] == [10, 50, 80, 95]
    assert dates == sorted(dates)
    assert found.never == 0


def test_a_quantile_is_a_minute_by_which_so_many_are_there() -> None:
    minutes = np.array([10, 20, 30, 40, NEVER])
    assert [quantile(minutes, chance) for chance in (20, 50, 80, 95)] == [10, 30, 40, None]


def test_what_spreads_the_finish_is_found(found: Outlook) -> None:
    """Failing costs a day and more; the board may take an evening; coats hardly matter."""
    first, second = (each.source for each in found.spread[:2])
    assert {(first.kind, first.of), (second.kind, second.of)} == {
        ("work", "board"),
        ("hold", "look"),
    }
    assert all(0.01 <= each.share <= 1 for each in found.spread)


def test_a_window_that_may_be_missed_is_named_with_its_chance(found: Outlook) -> None:
    (missed,) = found.missed
    assert (missed.task, missed.after, missed.within) == ("coat-2", "coat-1", 600)
    assert 0.01 < missed.share < 0.9


def test_with_nothing_left_to_chance_the_plan_is_kept_for_sure() -> None:
    job = read(TEXT.replace("3 h..4 h..9 h", "4 h").replace("fails: 20 %", "fails: 0 %"))
    plan = verified(job)
    found = outlook(network_of(job, plan), plan, n=200, uncertain=CERTAIN)
    assert set(found.finish.values()) == {plan.finish}
    assert (found.in_plan, found.in_time, found.spread, found.missed) == (1, 1, (), ())
    text = outlook_text(job, found, 80)
    assert "100 % are done by then" in text.replace(GLUE, " ")
    assert "HANGS ON" not in text


def test_work_that_finds_no_hours_any_more_is_said() -> None:
    """Three hours on one Saturday and then none: half of the runs take longer."""
    job = read("""
job: One morning
timezone: Etc/UTC
start: 2027-01-08
people: {me: {hours: 2027-01-09 9:00-12:00}}
tasks: {a: {who: me, work: 2 h..3 h..4 h}}
""")
    plan = verified(job)
    found = outlook(network_of(job, plan), plan, n=2000)
    assert found.never == pytest.approx(0.5, abs=0.05)
    assert found.finish[10] is not None
    assert found.finish[95] is None
    assert json.dumps(outlook_json(job, found)["finish_at"]).count("null") >= 2
    flat = " ".join(outlook_text(job, found, 80).split())
    assert "95 % done by no date: too many runs never end" in flat
    assert "never end: no hours are left" in flat


def test_a_date_that_may_be_missed_is_told_with_its_chance() -> None:
    job = read("""
job: Before the party
timezone: Etc/UTC
start: 2027-01-08
people: {me: {hours: always}}
tasks: {a: {who: me, work: 2 h..3 h..4 h, must_finish_by: 2027-01-08 3:00}, b: {work: 1 h}}
""")
    plan = verified(job)
    found = outlook(network_of(job, plan), plan, n=2000)
    (late,) = found.late
    assert (late.task, late.by) == ("a", job.start + 180)
    assert late.share == pytest.approx(0.5, abs=0.05)
    assert "'A' finished by Fri 8 Jan 2027 03:00" in outlook_text(job, found, 80)
    assert json.dumps(outlook_json(job, found)["missed_dates"]).count("2027-01-08T03:00:00") == 1


def test_what_is_done_is_on_no_chain_any_more(job: Job) -> None:
    later = happened(job, "2027-01-09 14:00", "2027-01-09 9:00 started board",
                     "2027-01-09 13:30 done board")  # fmt: skip
    plan = verified(later)
    found = outlook(network_of(later, plan), plan, n=200)
    assert {each.task for each in found.critical} == {"coat-1", "coat-2", "look"}
    assert all(each.source.of != "board" for each in found.spread)


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0 %"), (0.004, "under 1 %"), (0.124, "12 %"), (0.996, "over 99 %"), (1.0, "100 %")],
)
def test_a_share_in_words_is_never_sure_where_it_is_not(share: float, words: str) -> None:
    assert percent(share).replace(GLUE, " ") == words


@pytest.mark.parametrize("width", [45, 80])
def test_the_text_fits_and_says_what_it_rests_on(job: Job, found: Outlook, width: int) -> None:
    text = outlook_text(job, found, width)
    assert max(map(columns, text.splitlines())) <= width
    flat = " ".join(text.replace(GLUE, " ").split())
    for words in (
        "Two coats: how sure is the finish", "95 %", "are in time", "is assumed where the file",
        "how long 'Hang the board' takes: 3 h to 9 h, usually 4 h",
        "whether 'Look at it' is passed: 20 % fail and cost 24 h at least",
        "'Coat 2' within 10 h of 'Coat 1'. If missed: ",
    ):  # fmt: skip
        assert words in flat
    assert plain(text, "ascii").isascii()


def test_the_json_has_every_key_and_the_job_s_own_times(job: Job, found: Outlook) -> None:
    said = json.loads(json.dumps(outlook_json(job, found)))
    assert [*said] == [
        "version", "job", "timezone", "samples", "seed", "planned_finish", "chance_of_plan",
        "finish_at", "finish_by", "chance_of_finish_by", "never", "critical", "missed_windows",
        "missed_dates", "spread",
    ]  # fmt: skip
    assert said["planned_finish"] == plan_json(verified(job))["finish"]
    assert said["finish_at"]["95"].endswith("-05:00")
    assert said["critical"][0]["share"] == 1.0
    assert {each["kind"] for each in said["spread"]} >= {"work", "hold"}
    assert [*said["missed_windows"][0]] == ["task", "after", "within_minutes", "share"]


def test_the_command_says_the_same_for_the_same_seed(capsys: pytest.CaptureFixture[str]) -> None:
    said = []
    for seed in ("1", "1", "2"):
        arguments = ["odds", str(EXAMPLE), "--samples", "200", "--seed", seed, "--json"]
        assert cli.main(arguments) == 0
        said.append(capsys.readouterr())
    assert said[0] == said[1] != said[2]
    assert said[0].err == ""
    assert json.loads(said[0].out)["samples"] == 200


def test_the_command_refuses_runs_too_few_to_say_anything(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["odds", str(EXAMPLE), "--samples", "10"]) == 2
    assert "samples" in capsys.readouterr().err


def test_the_benchmark_tells_a_line_for_each_job(capsys: pytest.CaptureFixture[str]) -> None:
    benchmark.main(["--size", "8", "--cases", "2", "--samples", "100", "--clock", "processor"])
    first, second, memory = capsys.readouterr().out.splitlines()
    assert first.startswith("seed 0, 8 tasks, 100 runs: ")
    assert second.startswith("seed 1, 8 tasks, 100 runs: ")
    assert memory.startswith("peak memory: ")
