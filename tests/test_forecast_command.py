"""``--forecast`` on the command line, on the example house; the forecasts are invented."""

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from scheduler import cli

EXAMPLE = Path(__file__).parents[1] / "examples" / "larch-row.yaml"
COATS = """\
job: Tub wall
timezone: America/Toronto
start: 2027-02-05
air: {temperature: 19 C, humidity: 50 %}
people: {me: {hours: sat 9:00-20:00}}
rooms: {bath: {air: {temperature: 19 C, humidity: 55 %}}, hall: {}}
tasks:
  coat-1: {who: me, room: bath, work: 1 h, applies: liquid-membrane}
  coat-2: {who: me, room: bath, work: 1 h, applies: liquid-membrane, after: {coat-1: recoat}}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own, with the job of two coats in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "coats.yaml").write_text(COATS, encoding="utf-8")
    return tmp_path


def table(folder: Path, name: str, temperature: float, humidity: float) -> str:
    """A week of the same air, a line an hour."""
    first = datetime.fromisoformat("2027-02-05")
    hours = (first + timedelta(hours=h) for h in range(24 * 7))
    lines = [f"{hour:%Y-%m-%d %H:%M},{temperature},{humidity}" for hour in hours]
    text = "\n".join(["time,temperature C,humidity %", *lines])
    (folder / name).write_text(text, encoding="utf-8")
    return name


def planned(capsys: pytest.CaptureFixture[str], *options: str) -> tuple[str, str]:
    """When the second coat starts, and what was said."""
    code = cli.main(["plan", "coats.yaml", "--json", *options])
    out, err = capsys.readouterr()
    assert code == 0, err
    start = next(t["start"] for t in json.loads(out)["tasks"] if t["id"] == "coat-2")
    return start, " ".join(err.split())


def test_a_forecast_of_a_room_moves_its_waits(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    without, _ = planned(capsys)
    damp = table(folder, "damp.csv", 14, 70)
    in_damp, said = planned(capsys, "--forecast", f"bath={damp}", "--check")
    assert in_damp > without
    assert said.startswith("damp.csv: times that name no zone")
    assert "is the air of bath after what was read" in said
    assert "nothing broken" in said


def test_a_forecast_without_a_room_is_of_those_that_have_the_air_of_the_job(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    without, _ = planned(capsys)
    in_hall, said = planned(capsys, "--forecast", table(folder, "damp.csv", 14, 70))
    assert in_hall == without
    assert "is the air of the job after what was read" in said


def test_dry_air_outdoors_moves_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dry = table(folder, "dry.csv", 30, 15)
    without, _ = planned(capsys)
    in_dry, said = planned(capsys, "--forecast", dry, "--outdoor")
    assert in_dry == without
    assert "a guess, which shortens no wait" in said


def test_damp_air_outdoors_may_only_put_off(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damp = table(folder, "wet.csv", 18, 95)
    without, _ = planned(capsys)
    in_damp, _ = planned(capsys, "--forecast", damp, "--outdoor", "--check")
    assert in_damp > without


def test_ready_goes_by_the_forecast(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["ready", "coats.yaml", "coat-2", "--at", "2027-02-06 13:00"]
    assert cli.main(asked) == 0
    capsys.readouterr()
    assert cli.main([*asked, "--forecast", "bath=" + table(folder, "damp.csv", 14, 70)]) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert "at 14 C and 70 % on average, as read and foreseen; catalogue 2 h)" in said
    assert "the air is 14 C and 70 %, within the limits" in said


def test_a_day_that_could_be_a_month_is_asked_for(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "short.csv").write_text("time,temp C,rh %\n05/02/2027 9:00,12,85\n")
    forecast = ["plan", "coats.yaml", "--forecast", "bath=short.csv"]
    assert cli.main(forecast) == 2
    assert "say --day-first yes for 5 Feb" in capsys.readouterr().err
    assert cli.main([*forecast, "--day-first", "yes"]) == 0
    assert "Fri 5 Feb 2027 09:00" in capsys.readouterr().err.replace("\n", " ")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--outdoor"], "--outdoor and --day-first go with --forecast FILE"),
        (["--day-first", "no"], "--outdoor and --day-first go with --forecast FILE"),
        (["--forecast", "bth=sky.json"], "no room 'bth'; did you mean 'bath'?"),
        (["--forecast", "bath=sky.json"], "air outdoors, so of no room: leave out 'bath='"),
        (["--forecast", "coats.yaml"], "no heading in the first 40 lines"),
    ],
)
def test_what_is_said_wrong_of_a_forecast(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    hourly = {"time": ["2027-02-05T00:00"], "temperature_2m": [1], "relative_humidity_2m": [80]}
    (folder / "sky.json").write_text(json.dumps({"timezone": "UTC", "hourly": hourly}))
    assert cli.main(["plan", "coats.yaml", *options]) == 2
    assert words in capsys.readouterr().err


def test_a_file_that_is_not_there(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["plan", "coats.yaml", "--forecast", "bath=nowhere.csv"]) == 1
    assert "nowhere.csv: No such file" in capsys.readouterr().err


def test_a_logger_s_file_ends_up_in_the_plan(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    without, _ = planned(capsys)
    damp = table(folder, "damp.csv", 14, 70)
    log = ["log", "coats.yaml", "air", "--file", damp, "--room", "bath"]
    assert cli.main([*log, "--now", "2027-02-06 8:00"]) == 0
    capsys.readouterr()
    with_log, said = planned(capsys, "--now", "2027-02-06 8:00", "--check")
    assert with_log > without
    assert "bath: air as read 33 times from Fri 5 Feb 00:00 to Sat 6 Feb 08:00" in said
