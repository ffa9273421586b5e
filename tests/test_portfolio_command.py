"""``thenwait plan`` of several job files, as its user types it."""

import json
from itertools import pairwise
from pathlib import Path

import pytest
from icalendar import Calendar

from scheduler.cli import main

EXAMPLES = Path(__file__).parents[1] / "examples" / "two-houses"
HALL, BATH = (str(EXAMPLES / name) for name in ("hall-floor.yaml", "guest-bath.yaml"))
NOW = ["--now", "2027-03-01 8:00"]


@pytest.mark.parametrize("width", [45, 60, 80])
def test_the_week_comes_first_then_each_job(width: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", HALL, BATH, "--check", "--width", str(width), *NOW]) == 0
    out, err = capsys.readouterr()
    assert err == "2 plans checked, and with each other: nothing broken\n"
    assert max(map(len, out.splitlines())) <= width
    titles = [line for line in out.splitlines() if line and not line.startswith(" ")]
    assert titles[:5] == ["2 JOBS TOGETHER", "WHERE tiler IS", "WHERE helper IS",
                          "WHERE plumber IS", "WHAT THE JOBS DO TO EACH OTHER"]  # fmt: skip
    assert "Larch Row hall floor" in titles
    assert "Guest bath next door" in titles
    assert out.count("DAY BY DAY") == 2


def test_one_person_is_in_one_house_at_a_time(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", HALL, BATH, "--json", *NOW]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["version"] == 1
    assert [plan["job"] for plan in made["jobs"]] == [
        "Larch Row hall floor",
        "Guest bath next door",
    ]
    tiler = next(person for person in made["people"] if person["name"] == "tiler")
    stays = sorted((s["start"], s["end"]) for day in tiler["days"] for s in day["where"])
    assert all(a[1] <= b[0] for a, b in pairwise(stays))
    houses = {stay["job"] for day in tiler["days"] for stay in day["where"]}
    assert houses == {"Larch Row hall floor", "Guest bath next door"}
    held = [t["because"] for plan in made["jobs"] for t in plan["tasks"]
            if t["because"]["kind"] == "elsewhere"]  # fmt: skip
    told = [minutes for delay in made["delays"] for minutes in delay["minutes"]]
    assert sorted(because["minutes"] for because in held) == sorted(told)
    assert told


def test_the_same_files_give_the_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    outs = []
    for _ in range(2):
        main(["plan", BATH, HALL, "--json", *NOW])
        outs.append(capsys.readouterr().out)
    assert outs[0] == outs[1]


def test_all_problems_of_all_files_are_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, start in (("a", "never"), ("b", "soon")):
        text = f"job: {name}\ntimezone: UTC\nstart: {start}\ntasks: {{x: {{work: 1 h}}}}\n"
        (tmp_path / f"{name}.yaml").write_text(text)
    paths = [str(tmp_path / name) for name in ("a.yaml", "b.yaml")]
    assert main(["plan", *paths]) == 2
    err = capsys.readouterr().err
    assert f"{paths[0]}:3:8: 'start' must be" in err
    assert f"{paths[1]}:3:8: 'start' must be" in err


def test_mistakes_in_the_crew_file_are_told_in_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "a.yaml"
    job.write_text("job: A\ntimezone: UTC\nstart: 2027-01-08\npeople_from: crew.yaml\n"
                   "tasks: {x: {who: me, work: 1 h}}\n")  # fmt: skip
    assert main(["plan", str(job)]) == 2
    assert "a.yaml:4:14: the file 'crew.yaml' can't be read" in capsys.readouterr().err
    (tmp_path / "crew.yaml").write_text("people:\n  me: {hours: noon}\n")
    assert main(["plan", str(job)]) == 2
    assert f"{tmp_path}/crew.yaml:2:15: 'hours' must be" in capsys.readouterr().err
    (tmp_path / "crew.yaml").write_text("people:\n  me: {hours: always}\n")
    assert main(["plan", str(job), "--check"]) == 0


def test_what_goes_with_one_job_only_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    for option in (["--keep", "x.json"], ["--forecast", "x.csv"], ["--time", "9 s"]):
        assert main(["plan", HALL, BATH, *option]) == 2
        assert f"{option[0]} goes with one job" in capsys.readouterr().err
    assert main(["plan", HALL, "-"]) == 2
    assert "several jobs are read from files" in capsys.readouterr().err
    assert main(["plan", HALL, HALL]) == 2
    assert "two of the jobs are called 'Larch Row hall floor'" in capsys.readouterr().err


def test_calendars_of_each_job_and_each_person_are_written_and_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "calendars"
    assert main(["plan", HALL, BATH, "--ics", str(folder), *NOW]) == 0
    files = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert sorted(files) == [
        "job Guest bath next door.ics", "job Larch Row hall floor.ics",
        "person helper.ics", "person plumber.ics", "person tiler.ics",
    ]  # fmt: skip
    tiler = Calendar.from_ical(files["person tiler.ics"]).walk("VEVENT")
    summaries = [str(event["SUMMARY"]) for event in tiler]
    assert any(each.startswith("Larch Row hall floor: ") for each in summaries)
    assert any(each.startswith("Guest bath next door: ") for each in summaries)
    uids = [
        event["UID"] for name in files for event in Calendar.from_ical(files[name]).walk("VEVENT")
    ]
    assert len(uids) == len(set(uids))
    spans = sorted((str(event.decoded("DTSTART")), str(event.decoded("DTEND"))) for event in tiler)
    assert all(a[1] <= b[0] for a, b in pairwise(spans))
    capsys.readouterr()
    assert main(["plan", HALL, BATH, "--ics", str(folder), "--now", "2027-03-02 8:00"]) == 0
    assert "person tiler.ics holds this plan already" in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == files
