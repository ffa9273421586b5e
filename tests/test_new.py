"""``thenwait new``: a job file from questions, options or a file, and never over another."""

import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from scheduler import cli, console
from scheduler.jobfile import parse
from scheduler.starters import ask, menu, options, read_answers, starters, suppose, write
from scheduler.when import when

NOW = "2027-01-05 12:00"  # a Tuesday
HERE = ("--set", "timezone=America/Toronto", "--now", NOW)


class Ended(SimpleNamespace):
    """How a command ended: its exit code, what it printed, what it said."""

    code: int
    out: str
    err: str


Run = Callable[..., Ended]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Runs ``thenwait new`` in a folder of its own, as a pipe would see it."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str) -> Ended:
        code = cli.main(["new", *arguments])
        out, err = capsys.readouterr()
        return Ended(code=code, out=out, err=err)

    return run


@pytest.fixture
def typing(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Somebody at a terminal who types these lines."""

    def typing(lines: str) -> None:
        monkeypatch.setattr(cli, "at_terminal", lambda: True)
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))

    return typing


# ----------------------------------------------------------------------------- a file is written


@pytest.mark.parametrize("what", list(starters()))
def test_a_starter_is_written_and_plans(run: Run, what: str, tmp_path: Path) -> None:
    ended = run("job.yaml", "--what", what, *HERE)
    job = parse((tmp_path / "job.yaml").read_bytes(), "job.yaml")
    assert (ended.code, ended.out) == (0, "")
    assert ended.err == (
        f"wrote job.yaml: {len(job.tasks)} tasks; edit it as you like, then: "
        "thenwait plan job.yaml\n"
    )
    assert cli.main(["plan", "job.yaml", "--check"]) == 0


def test_the_same_answers_write_the_same_bytes(run: Run) -> None:
    first, second = (run("-", "--what", "tiled-shower", *HERE).out for _ in range(2))
    assert first == second
    assert first.startswith("# Tiled shower: ")


def test_it_begins_on_the_next_saturday_unless_told_otherwise(run: Run) -> None:
    # 2027-01-09 is the Saturday after the Tuesday, 2027-01-05.
    assert "\nstart: 2027-01-09 9:00 " in run("-", "--what", "bathroom-floor", *HERE).out
    told = run("-", "--what", "bathroom-floor", *HERE, "--set", "start=2027-02-01").out
    assert "\nstart: 2027-02-01 " in told


def test_answers_come_from_a_file_and_options_beat_it(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(
        "what: tub-surround\nwidth: 6 ft\nhours: [sat 9:00-17:00, sun 10:00-16:00]\n"
        "away: [2027-01-16]\nhousehold: yes\n"
    )
    text = run("-", "--answers", "a.yaml", *HERE, "--set", "household=no").out
    assert "#   width: 6 ft\n" in text
    assert "    hours: [sat 9:00-17:00, sun 10:00-16:00]\n" in text
    assert "    away: [2027-01-16]\n" in text
    assert "other-bath" not in text


def test_the_answers_of_a_written_file_can_be_used_again(run: Run, tmp_path: Path) -> None:
    first = run("-", "--what", "steam-shower", *HERE, "--set", "units=metric").out
    block = first.split("these answers:\n")[1].split("\n\n")[0]
    (tmp_path / "a.yaml").write_text(block.replace("#   ", ""))
    assert run("-", "--answers", "a.yaml", "--now", "2030-01-01 9:00").out == first


# --------------------------------------------------------------------------- nothing rewrites it


def test_a_file_that_is_there_is_never_written_over(run: Run, tmp_path: Path) -> None:
    mine = tmp_path / "job.yaml"
    mine.write_text("mine: edited for weeks\n")
    ended = run("job.yaml", "--what", "tiled-shower", *HERE)
    assert ended.code == 1
    assert ended.err == (
        "error: job.yaml: this file is there already; give another name, or --force to write "
        "over it\n"
    )
    assert mine.read_text() == "mine: edited for weeks\n"


def test_with_force_it_is_written_over(run: Run, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text("old\n")
    assert run("job.yaml", "--what", "tiled-shower", "--force", *HERE).code == 0
    assert parse((tmp_path / "job.yaml").read_bytes(), "job.yaml").name == "Tiled shower"


def test_a_folder_is_never_replaced(run: Run, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").mkdir()
    for force in ((), ("--force",)):
        ended = run("job.yaml", "--what", "tiled-shower", *force, *HERE)
        assert ended.code == 1
        assert ended.err.startswith("error: job.yaml: this file is there already")


def test_bad_answers_write_nothing(run: Run, tmp_path: Path) -> None:
    assert run("job.yaml", "--what", "tiled-shower", "--set", "width=1 mm", *HERE).code == 2
    assert list(tmp_path.iterdir()) == []


def test_edits_survive_everything_that_reads_the_file(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    run("job.yaml", "--what", "tiled-shower", *HERE)
    edited = path.read_text().replace("    rate: wall-tile\n", "    work: 3 h  # my cousin's\n")
    edited = edited.replace("    quantity: 88 sq ft\n    work: 3 h", "    work: 3 h")
    path.write_text(edited)
    assert cli.main(["plan", "job.yaml", "--ics", "job.ics"]) == 0
    assert cli.main(["ready", "job.yaml", "wall-tile", "--at", "2027-03-01 9:00"]) in {0, 3}
    assert path.read_text() == edited
    assert parse(edited.encode(), "job.yaml").task["wall-tile"].work == 180


# ------------------------------------------------------------------------------------- mistakes


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--what", "tiled-showr"), "did you mean 'tiled-shower'"),
        (("--what", "tiled-shower", "--set", "widht=5 ft"), "did you mean 'width'"),
        (("--what", "tiled-shower", "--set", "width"), "--set must be an answer such as"),
        (("--what", "tiled-shower", "--set", "width=5"), "'width' must be a length from 2 ft"),
        (("--what", "tiled-shower", "--set", "walls=new"), "'walls' says nothing for tiled"),
        ((), "the answers need 'what': one of tiled-shower, "),
        (("--what", "tiled-shower", "--now", "tomorrowish"), "--now must be "),
    ],
)
def test_a_mistake_in_the_options_is_told_and_ends_with_2(
    run: Run, arguments: tuple[str, ...], said: str
) -> None:
    ended = run("job.yaml", *arguments, "--set", "timezone=America/Toronto")
    assert ended.code == 2
    assert ended.err.startswith("error: ")
    assert said in ended.err
    assert "Traceback" not in ended.err


def test_mistakes_in_an_answers_file_are_told_with_their_places(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("what: tiled-shower\npan: redy\nwalls: new\n")
    ended = run("job.yaml", "--answers", "a.yaml", *HERE)
    assert ended.code == 2
    assert "a.yaml:2:6: 'pan' must be ready, liner or membrane (found 'redy')" in ended.err
    assert "a.yaml:3:1: 'walls' says nothing for tiled shower" in ended.err
    assert ended.err.endswith("error: 2 problems in a.yaml\n")


def test_an_answers_file_that_is_not_there_is_named(run: Run) -> None:
    ended = run("job.yaml", "--answers", "none.yaml", *HERE)
    assert (ended.code, ended.err) == (1, "error: none.yaml: No such file or directory\n")


# ----------------------------------------------------------------------------------- a terminal


def test_a_terminal_is_asked_and_enter_takes_the_usual_answer(
    run: Run, typing: Callable[[str], None], tmp_path: Path
) -> None:
    typing("laundry-floor\nmetric\n2 m\n" + "\n" * 40)
    ended = run("job.yaml", *HERE)
    assert (ended.code, ended.out) == (0, "")
    assert "What do you want to build? [tiled-shower]: " in ended.err
    assert "And how wide? [1.83 m]: " in ended.err
    text = (tmp_path / "job.yaml").read_text()
    assert "#   floor_length: 2 m\n#   floor_width: 1.83 m\n" in text
    assert parse(text.encode(), "job.yaml").units == "metric"


def test_the_file_is_looked_at_before_anything_is_asked(
    run: Run, typing: Callable[[str], None], tmp_path: Path
) -> None:
    (tmp_path / "job.yaml").write_text("mine\n")
    typing("")
    ended = run("job.yaml")
    assert ended.code == 1
    assert "What do you want" not in ended.err


@pytest.mark.parametrize("quiet", ["--yes", "-y"])
def test_nothing_is_asked_of_somebody_who_says_yes(
    run: Run, typing: Callable[[str], None], quiet: str
) -> None:
    typing("")
    assert run("job.yaml", "--what", "tiled-shower", quiet, *HERE).code == 0


def test_an_end_of_input_writes_nothing(
    run: Run, typing: Callable[[str], None], tmp_path: Path
) -> None:
    typing("tiled-shower\n")
    ended = run("job.yaml", *HERE)
    assert ended.code == 1
    assert ended.err.endswith("the answers ended before the questions did; nothing was written\n")
    assert not (tmp_path / "job.yaml").exists()


def asked_of(lines: list[str], **given: str) -> tuple[dict[str, str], list[str], list[str]]:
    """The answers when these are typed (empty for the usual one), the questions, what was said."""
    questions: list[str] = []
    said: list[str] = []
    typed = iter(lines)

    def prompt(question: str, usual: str) -> str:
        questions.append(question)
        return next(typed, "") or usual

    supposed = {"timezone": "America/Toronto", "start": "2027-01-09 9:00"}
    return ask(given, supposed, prompt, said.append), questions, said


def test_a_wrong_answer_is_told_and_asked_for_again() -> None:
    answers, questions, said = asked_of(["bathroom-flor", "bathroom-floor", "imperial", "8"])
    assert questions[:2] == ["What do you want to build?"] * 2
    assert said[0] == menu(80)
    assert "did you mean 'bathroom-floor'" in said[1]
    assert "'floor_length' must be a length" in said[2]
    assert answers["floor_length"] == "8 ft"


@pytest.mark.parametrize("width", [80, 45])
def test_the_menu_fits_the_terminal_and_cuts_no_word(width: int) -> None:
    lines = menu(width).splitlines()
    assert all(len(line) <= width for line in lines)
    words = [word for name, each in starters().items() for word in (name, *each.says.split())]
    assert " ".join(lines).replace(":", "").split() == words


def test_questions_and_what_is_wrong_fit_the_terminal_and_cut_no_word(
    run: Run, typing: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "45")
    typing("shed\ntiled-shower\n" + "\n" * 30)
    said = run("job.yaml", *HERE).err
    before, _, after = said.partition("[imperial]:")
    # What is typed is not echoed here, so that what follows a question stands on its line.
    assert all(len(line) <= 45 for line in before.replace("]: ", "]:\n").splitlines())
    assert "  'what' must be one of tiled-shower,\n" in before
    assert "Do you measure in feet and inches" in before
    assert "wrote job.yaml" in after


def test_an_answer_that_does_not_go_with_the_others_is_asked_for_again() -> None:
    typed = ["5 ft", "3 ft", "8 ft", "9 ft", "head"]
    answers, _, said = asked_of(typed, what="tiled-shower", units="imperial")
    assert "'tile_to' must be at most the height of the walls, 8 ft" in said[0]
    assert answers["tile_to"] == "head"


@pytest.mark.parametrize("what", list(starters()))
@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_pressing_enter_all_the_way_gives_a_job(what: str, units: str) -> None:
    answers, questions, said = asked_of([], what=what, units=units)
    assert said == []
    assert len(questions) == len(set(questions)) <= 26
    assert parse(write(read_answers(None, "", answers, {})).encode(), "job.yaml").units == units


def test_only_what_matters_is_asked() -> None:
    _, with_underlay, _ = asked_of([], what="bathroom-floor", floor="underlay")
    _, without, _ = asked_of([], what="bathroom-floor", floor="board")
    thick = "How thick is the underlay where it is thickest?"
    assert thick in with_underlay
    assert thick not in without
    _, steam, _ = asked_of([], what="steam-shower")
    assert not any("How high up the walls" in question for question in steam)  # all the way


# ------------------------------------------------------------------------------- surroundings


def test_options_are_keys_with_their_text() -> None:
    assert options(["width=5 ft", "job=a=b"]) == {"width": "5 ft", "job": "a=b"}


@pytest.mark.parametrize(
    ("now", "start"),
    [
        ("2027-01-05 12:00", "2027-01-09 9:00"),
        ("2027-01-08 23:59", "2027-01-09 9:00"),
        ("2027-01-09 00:00", "2027-01-16 9:00"),  # today is too soon
    ],
)
def test_the_usual_start_is_the_next_saturday_by_local_clocks(now: str, start: str) -> None:
    zone = "America/Toronto"
    assert suppose(when(now, 0, zone), zone) == {"start": start, "timezone": zone}


def test_a_zone_that_nobody_knows_is_not_supposed() -> None:
    assert "timezone" not in suppose(0, "")


def test_the_zone_of_the_computer_is_the_usual_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", ":Europe/Berlin")
    assert console.zone_here() == "Europe/Berlin"
    monkeypatch.setenv("TZ", "EST5EDT,M3.2.0,M11.1.0")
    monkeypatch.setattr(os.path, "realpath", lambda _: "/usr/share/zoneinfo/Asia/Kolkata")
    assert console.zone_here() == "Asia/Kolkata"
    monkeypatch.setattr(os.path, "realpath", lambda _: "/etc/localtime")
    assert console.zone_here() == ""


@pytest.mark.skipif(os.name != "posix", reason="needs a POSIX terminal")
def test_questions_go_to_a_real_terminal_and_the_file_to_a_pipe() -> None:
    import pty

    ours, terminal = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "scheduler", "new", "-", "--what", "kitchen-backsplash", *HERE],
        cwd=Path(__file__).parents[1], stdin=terminal, stderr=terminal, stdout=subprocess.PIPE,
    )  # fmt: skip
    os.close(terminal)
    os.write(ours, b"\n" * 20)
    out, _ = process.communicate(timeout=60)
    os.close(ours)
    assert out.startswith(b"# Kitchen backsplash: ")
    assert process.returncode == 0
    assert parse(out, "standard output").name == "Kitchen backsplash"
