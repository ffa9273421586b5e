"""One job asked about with the jobs beside it: where these have its people counts."""

import json
from pathlib import Path
from typing import Any

import pytest

from scheduler.cli import main

CREW = "people: {me: {hours: daily 9:00-17:00}, helpers: {hours: daily 9:00-17:00, count: 2}}\n"
HEAD = "job: {}\ntimezone: America/Toronto\nstart: 2027-01-09\npeople_from: crew.yaml\n"
NOW = ["--now", "2027-01-08 12:00"]


@pytest.fixture
def houses(tmp_path: Path) -> tuple[str, str]:
    """A long job and a quick one of one person; the quick one goes first."""
    (tmp_path / "crew.yaml").write_text(CREW)
    for name, work in (("Long", "12 h"), ("Quick", "4 h")):
        tasks = f"tasks:\n  a: {{name: All, who: me, work: {work}}}\n  b: {{work: 1 h, after: a}}\n"
        (tmp_path / f"{name}.yaml").write_text(HEAD.format(name) + tasks)
    return str(tmp_path / "Long.yaml"), str(tmp_path / "Quick.yaml")


def asked(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, Any, str]:
    code = main([*arguments, *NOW, "--json"])
    out, err = capsys.readouterr()
    return code, json.loads(out), err


def test_nobody_starts_here_who_is_at_the_other_house(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    long, quick = houses
    ask = "ready", long, "a", "--at", "2027-01-09 9:00"
    code, alone, told = asked(capsys, *ask)
    assert (code, alone["verdict"]) == (0, "yes")
    assert "where other jobs have me is not looked at; name their files: --with FILE" in (
        " ".join(told.split())
    )
    code, verdict, told = asked(capsys, *ask, "--with", quick)
    assert (code, verdict["verdict"], told) == (3, "no", "")
    assert verdict["earliest"] == "2027-01-09T13:00:00-05:00"
    (people,) = [reason for reason in verdict["reasons"] if reason["kind"] == "people"]
    assert people["text"] == "me is busy with 'All' of Quick until 13:00"
    assert people["until"] == "2027-01-09T13:00:00-05:00"


def test_work_that_would_run_into_the_other_house_s_is_due_there_first(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    long, quick = houses
    Path(quick).write_text(Path(quick).read_text().replace("4 h", "4 h, not_before: 2027-01-10"))
    ask = "ready", long, "a", "--at", "2027-01-09 15:00"
    code, verdict, _ = asked(capsys, *ask, "--with", quick)
    made = asked(capsys, "plan", long, quick)[1]
    assert made["jobs"][0]["tasks"][0]["start"] == "2027-01-09T09:00:00-05:00"
    (people,) = [reason for reason in verdict["reasons"] if reason["kind"] == "people"]
    assert code == 3
    assert people["text"].startswith("me is due at 'All' of Quick Sun 10 Jan 13:00, before")


def test_who_is_at_the_other_house_is_not_told_as_hours_that_are_too_short(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Work in one go that has the day to itself, if the person came: only the person is missing."""
    long, quick = houses
    text = Path(long).read_text()
    tasks = "tasks:\n  a: {who: {any: [me, {me: 1, helpers: 1}]}, work: 3 h, split: no}\n"
    Path(long).write_text(text[: text.index("tasks:")] + tasks)
    Path(quick).write_text(Path(quick).read_text().replace("4 h", "2 h"))
    ask = "ready", long, "a", "--at", "2027-01-09 9:00", "--with", quick
    code, verdict, _ = asked(capsys, *ask)
    assert (code, verdict["earliest"]) == (3, "2027-01-09T11:00:00-05:00")
    kinds = {reason["kind"] for reason in verdict["reasons"] if not reason["ok"]}
    assert kinds == {"people", "who"}


def test_of_several_alike_enough_must_be_left(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    long, quick = houses
    for who, verdict in (("helpers", "yes"), ("{helpers: 2}", "no")):
        for file in houses:
            text = Path(file).read_text()
            here = who if file == quick else "helpers"
            tasks = text[: text.index("tasks:")]
            work = "4 h" if file == quick else "8 h"
            Path(file).write_text(f"{tasks}tasks:\n  a: {{who: {here}, work: {work}}}\n")
        ask = "ready", long, "a", "--at", "2027-01-09 9:00", "--with", quick
        assert asked(capsys, *ask)[1]["verdict"] == verdict


def test_why_and_shopping_and_odds_speak_of_the_plan_of_both(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    long, quick = houses
    made = asked(capsys, "plan", long, quick)[1]["jobs"][0]
    why = asked(capsys, "why", long, "a", "--with", quick)[1]
    assert why["start"] == made["tasks"][0]["start"] == "2027-01-09T13:00:00-05:00"
    assert "me is busy with 'All' of Quick" in json.dumps(why)
    (chain,) = why["chain"]
    assert chain["because"]["job"] == "Quick"
    odds = asked(capsys, "odds", long, "--with", quick, "--samples", "200")
    assert odds[1]["planned_finish"] == made["finish"]
    assert odds[2] == "the other jobs are taken to go as planned\n"
    assert min(odds[1]["finish_at"].values()) > "2027-01-10T12:00"  # it can't go before the other
    assert asked(capsys, "shopping", long, "--with", quick)[0] == 0


def test_a_log_of_the_other_house_counts(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Quick was begun at noon, so that it has its person until four."""
    long, quick = houses
    assert main(["log", quick, "a", "started", "--at", "2027-01-09 12:00",
                 "--now", "2027-01-09 12:00"]) == 0  # fmt: skip
    capsys.readouterr()
    code = main(["ready", long, "a", "--at", "2027-01-09 13:00", "--with", quick, "--json",
                 "--now", "2027-01-09 12:30"])  # fmt: skip
    assert (code, json.loads(capsys.readouterr().out)["earliest"]) == (
        3, "2027-01-09T16:00:00-05:00",
    )  # fmt: skip


def test_bad_input_is_refused(houses: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    long, quick = houses
    for arguments, told in (
        (["ready", long, "c", "--at", "2027-01-09 9:00", "--with", quick], "no task 'c'"),
        (["why", long, "a", "--with", long], "two of the jobs are called 'Long'"),
        (["why", "-", "a", "--with", quick], "and not from a pipe"),
        (["why", long, "a", "--with", str(Path(quick).with_name("none.yaml"))], "none.yaml"),
    ):
        assert main([*arguments, *NOW]) in {1, 2}
        assert told in capsys.readouterr().err


def test_a_plan_of_one_job_says_that_it_knows_nothing_of_the_others(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, told = asked(capsys, "plan", houses[0])
    assert (code, " ".join(told.split())) == (
        0, "where other jobs have me is not looked at; give their files, too",
    )  # fmt: skip
    assert asked(capsys, "plan", *houses)[2] == ""
