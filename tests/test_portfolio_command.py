"""``thenwait plan`` of several job files, as its user types it."""

import json
import shutil
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import recurring_ical_events
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
    assert main(["plan", HALL, "-"]) == 2
    assert "several jobs are read from files" in capsys.readouterr().err
    assert main(["plan", HALL, HALL]) == 2
    assert "two of the jobs are called 'Larch Row hall floor'" in capsys.readouterr().err


def in_json(*arguments: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert main(["plan", *arguments, "--json"]) == 0
    tree: dict[str, Any] = json.loads(capsys.readouterr().out)
    return tree


def test_searching_on_is_told_and_changes_no_rule(capsys: pytest.CaptureFixture[str]) -> None:
    plain = in_json(HALL, BATH, *NOW, capsys=capsys)
    made = in_json(HALL, BATH, "--time", "1 s", "--check", *NOW, capsys=capsys)
    assert made["finishes_gap_minutes"] <= plain["finishes_gap_minutes"]
    assert main(["plan", HALL, BATH, "--time", "soon"]) == 2
    assert "--time must be a time such as 30 s" in capsys.readouterr().err


def test_what_was_told_is_kept_and_what_moves_is_counted_for_each_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = in_json(HALL, BATH, *NOW, capsys=capsys)
    old = tmp_path / "told.json"
    old.write_text(json.dumps(told))
    again = in_json(HALL, BATH, "--keep", str(old), *NOW, capsys=capsys)
    assert [plan.pop("moved") for plan in again["jobs"]] == [[], []]
    assert again == told
    # One house alone is kept to its part of the plan of both, and both to a plan of one.
    assert in_json(BATH, "--keep", str(old), *NOW, capsys=capsys)["moved"]
    old.write_text(json.dumps(told["jobs"][0]))
    half = in_json(HALL, BATH, "--keep", str(old), *NOW, capsys=capsys)
    assert [plan.get("moved") for plan in half["jobs"]] == [[], None]
    assert main(["plan", HALL, BATH, "--keep", str(old), *NOW]) == 0
    top = " ".join(capsys.readouterr().out.split("WHERE")[0].split())
    assert "Kept: 6 tasks still to do, all as in " in top


def test_a_plan_of_other_houses_is_not_kept_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = tmp_path / "old.json"
    for text, told in (
        ('{"version": 1, "jobs": []}', "it must be a plan"),
        ('{"version": 1, "jobs": [{"version": 2, "job": "Hut", "tasks": []}]}', "of version 1"),
        ('{"version": 1, "jobs": [{"version": 1, "job": "Hut", "tasks": []}]}',
         "a plan of 'Hut', not of 'Larch Row hall floor' or 'Guest bath next door'"),
    ):  # fmt: skip
        old.write_text(text)
        assert main(["plan", HALL, BATH, "--keep", str(old)]) == 2
        assert told in capsys.readouterr().err


@pytest.fixture
def houses(tmp_path: Path) -> tuple[str, str]:
    """Both houses with their crew file in a folder of their own, for logs to lie beside."""
    for file in EXAMPLES.iterdir():
        shutil.copy(file, tmp_path)
    return str(tmp_path / "hall-floor.yaml"), str(tmp_path / "guest-bath.yaml")


def log(file: str, *words: str) -> None:
    assert main(["log", file, *words, "--now", words[-1]]) == 0


def test_a_delay_in_one_house_is_told_with_what_it_does_to_the_other(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    log(houses[0], "strip", "started", "--at", "2027-03-08 8:00")
    log(houses[0], "strip", "done", "--at", "2027-03-09 12:00")
    now = ["--now", "2027-03-09 12:05"]
    made = in_json(*houses, *now, capsys=capsys)
    hall, bath = made["slips"]
    assert (hall["job"], bath["job"]) == ("Larch Row hall floor", "Guest bath next door")
    assert hall["finish_minutes"] > 0
    assert {(root["job"], root["task"]) for root in bath["because"]} == {
        ("Larch Row hall floor", "strip")
    }
    assert made["other_days"]["tiler"][0]["first"] != made["other_days"]["tiler"][0]["jobs"]
    assert main(["plan", *houses, "--check", "--width", "45", *now]) == 0
    out, err = capsys.readouterr()
    assert "nothing broken" in err
    assert "planned from now on with nothing done" in " ".join(err.split())
    assert max(map(len, out.splitlines())) <= 45
    titles = [line for line in out.splitlines() if line and not line.startswith(" ")]
    assert titles[:4] == ["2 JOBS TOGETHER", "SINCE THE FIRST PLAN",
                          "OTHER DAYS THAN FIRST PLANNED", "WHERE tiler IS"]  # fmt: skip
    assert (
        "later for 'Clear and scrape the hall' of Larch Row hall floor: done Tue 9 Mar 12:00"
        in (" ".join(out.split()))
    )
    assert "Mon 8 Mar " not in out[out.index("WHERE tiler IS") : out.index("WHAT THE JOBS DO")]


def test_a_house_on_plan_is_said_to_be(
    houses: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    told = in_json(*houses, *NOW, capsys=capsys)
    strip = told["jobs"][0]["tasks"][0]
    assert strip["id"] == "strip"
    log(houses[0], "strip", "started", "--at", strip["start"])
    log(houses[0], "strip", "done", "--at", strip["finish"])
    made = in_json(*houses, "--now", strip["finish"], capsys=capsys)
    assert (made["slips"], made["other_days"]) == ([], {})
    assert [[t["start"] for t in plan["tasks"]] for plan in made["jobs"]] == [
        [t["start"] for t in plan["tasks"]] for plan in told["jobs"]
    ]
    main(["plan", *houses, "--now", strip["finish"]])
    assert "Nothing has moved: every job is as first planned." in capsys.readouterr().out


def table(path: Path, celsius: float) -> str:
    """A table of the air over the first week, by the hour."""
    rows = [f"2027-03-{8 + hour // 24:02} {hour % 24:02}:00,{celsius},85" for hour in range(168)]
    path.write_text("time,temperature (°C),humidity (%)\n" + "\n".join(rows) + "\n")
    return str(path)


def test_a_forecast_is_of_one_house_s_room_or_of_the_air_outside_all(
    houses: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damp = table(tmp_path / "air.csv", 12)
    plain = in_json(*houses, *NOW, capsys=capsys)
    room = in_json(*houses, *NOW, "--forecast", f"hall={damp}", "--check", capsys=capsys)
    assert plain["jobs"][0]["waits"] != room["jobs"][0]["waits"]
    minutes = [[wait["label_minutes"] for wait in t["jobs"][1]["waits"]] for t in (plain, room)]
    assert minutes[0] == minutes[1]
    assert in_json(*houses, *NOW, "--forecast", damp, "--outdoor", capsys=capsys)
    for words, told in (
        ([damp], "say which room it is of, as ROOM="),
        ([f"attic={damp}"], "none of the jobs has a room 'attic'"),
        ([f"bats={damp}"], "did you mean 'bath'?"),
        ([f"hall={damp}", "--outdoor"], "of the air outdoors, so of no room"),
    ):
        assert main(["plan", *houses, *NOW, "--forecast", *words]) == 2
        assert told in capsys.readouterr().err
    text = (
        Path(houses[0])
        .read_text()
        .replace("hall: {}", "bath: {}")
        .replace("room: hall", "room: bath")
    )
    Path(houses[0]).write_text(text)
    assert main(["plan", *houses, *NOW, "--forecast", f"bath={damp}"]) == 2
    assert "have a room 'bath' each" in capsys.readouterr().err


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


def events(path: Path) -> dict[str, Any]:
    """The events of a calendar by their title, read with another library than wrote them."""
    calendar = Calendar.from_ical(path.read_bytes())
    spring = recurring_ical_events.of(calendar).between(date(2027, 3, 1), date(2027, 5, 1))
    found = {str(event["SUMMARY"]): event for event in spring}
    assert len(found) == len(spring) == len(calendar.walk("VEVENT"))
    return found


def test_a_calendar_of_a_person_follows_what_is_planned_again(
    houses: tuple[str, str], tmp_path: Path
) -> None:
    folder = tmp_path / "calendars"
    tiler = folder / "person tiler.ics"
    assert main(["plan", *houses, "--ics", str(folder), *NOW]) == 0
    before = events(tiler)
    strip = "Larch Row hall floor: Clear and scrape the hall"
    assert str(before[strip]["LOCATION"]) == "Larch Row hall floor"
    log(houses[0], "strip", "started", "--at", "2027-03-08 8:00")
    log(houses[0], "strip", "done", "--at", "2027-03-09 12:00")
    assert main(["plan", *houses, "--ics", str(folder), "--now", "2027-03-09 12:05"]) == 0
    after = events(tiler)
    pour = "Larch Row hall floor: Pour the underlay in the hall"
    assert after[pour]["UID"] == before[pour]["UID"]
    assert after[pour]["DTSTART"].dt > before[pour]["DTSTART"].dt
    assert after[pour]["SEQUENCE"] > before[pour]["SEQUENCE"]
    assert {event["UID"] for event in before.values()} <= {event["UID"] for event in after.values()}
    # The hall is planned no more: what was done there stays, what was to come is cancelled.
    bath = Path(houses[1]).read_text()
    other = Path(houses[1]).with_name("other.yaml")
    other.write_text(bath.replace("Guest bath next door", "Another bath"))
    assert main(["plan", houses[1], str(other), "--ics", str(folder),
                 "--now", "2027-03-10 8:00"]) == 0  # fmt: skip
    last = events(tiler)
    assert strip in {title.partition(" (part")[0] for title in last}
    assert f"Cancelled: {pour}" in last
    assert last[f"Cancelled: {pour}"]["STATUS"] == "CANCELLED"
    assert str(last[f"Cancelled: {pour}"]["UID"]) == str(before[pour]["UID"])
    same = tiler.read_bytes()
    assert main(["plan", houses[1], str(other), "--ics", str(folder),
                 "--now", "2027-03-10 8:00"]) == 0  # fmt: skip
    assert tiler.read_bytes() == same


def test_who_has_nothing_to_do_any_more_is_told_so_in_the_calendar(
    houses: tuple[str, str], tmp_path: Path
) -> None:
    folder = tmp_path / "calendars"
    assert main(["plan", *houses, "--ics", str(folder), *NOW]) == 0
    assert len(events(folder / "person plumber.ics")) == 1
    bath = Path(houses[1])
    bath.write_text(bath.read_text().replace("who: plumber", "who: tiler"))
    assert main(["plan", *houses, "--ics", str(folder), *NOW]) == 0
    (event,) = events(folder / "person plumber.ics").values()
    assert event["STATUS"] == "CANCELLED"
