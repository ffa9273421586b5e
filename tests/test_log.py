"""`thenwait log`: what is written, what is refused and how, what is shown; and what it changes."""

import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from freezegun import freeze_time
from hypothesis import given
from hypothesis import strategies as st

from scheduler import cli, model
from scheduler.errors import BadInput
from scheduler.history import with_past
from scheduler.jobfile import parse
from scheduler.log.adding import added
from scheduler.log.checks import sound
from scheduler.log.entry import Asked
from scheduler.log.folding import folded
from scheduler.log.reading import read_log
from scheduler.model import Event
from scheduler.planner import plan_job
from tests.support.examples import examples

ROOT = Path(__file__).parents[1]
JOB = """\
job: Larch Row shower
timezone: America/Toronto
start: 2027-01-08 17:00
units: imperial
air: {temperature: 62 F, humidity: 55 %}
people:
  me: {hours: [mon-fri 18:00-21:30, sat-sun 9:00-17:00]}
rooms: {shower: {}, bathroom: {}}
products:
  membrane: {class: liquid-membrane, label: {recoat: 2 h..24 h, at: 73 F 50 %}}
  thinset: {class: thinset}
goods: {board: {name: Backer board}}
tasks:
  goods: {name: Boards and membrane come, work: 0 min, delivers: [board, membrane]}
  pan: {name: Bed the pan, who: me, room: shower, work: 2 h}
  coat-1: {name: First coat, who: me, room: shower, work: 1 h, applies: membrane, after: [pan]}
  coat-2: {name: Second coat, who: me, work: 1 h, applies: membrane, after: {coat-1: recoat}}
  test: {name: Flood test, who: me, work: 15 min, hold: yes, after: {coat-2: flood}}
  tile: {name: Tile, who: me, room: shower, work: 4 h, applies: thinset, after: [test]}
  membrane: {name: Look at the membrane, who: me, work: 5 min, after: [coat-2]}
"""
NOW = "2027-01-16 12:00"  # a Saturday


class Log(SimpleNamespace):
    """The job and its log in a folder of their own."""

    job: Path
    file: Path
    run: Callable[..., SimpleNamespace]

    def __call__(self, *words: str, code: int = 0, now: str = NOW) -> str:
        """Logs something; the answer is all that was said."""
        ended = self.run("log", str(self.job), *words, "--now", now)
        assert (ended.code, ended.out) == (code, ""), ended
        return " ".join(ended.err.split())

    def shown(self, *options: str, code: int = 0) -> str:
        ended = self.run("log", str(self.job), "--now", NOW, *options)
        assert ended.code == code, ended
        return str(ended.out)

    @property
    def lines(self) -> list[str]:
        return self.file.read_text("utf-8").splitlines()


@pytest.fixture
def log(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Log:
    monkeypatch.setenv("COLUMNS", "80")

    def run(*arguments: str) -> SimpleNamespace:
        code = cli.main(arguments)
        out, err = capsys.readouterr()
        return SimpleNamespace(code=code, out=out, err=err)

    job = tmp_path / "larch-row.yaml"
    job.write_text(JOB, "utf-8")
    return Log(job=job, file=tmp_path / "larch-row.log", run=run)


# -------------------------------------------------------------------------- what is written


@pytest.mark.parametrize(
    ("words", "line", "told"),
    [
        (
            ("pan", "started", "--at", "sat 9:00"),
            "started pan at 2027-01-16T09:00-05:00",
            "'Bed the pan' is under way since Sat 16 Jan 09:00",
        ),
        (
            ("pan", "done", "--at", "yesterday 6:30 pm", "--note", " slopes\t1/4 in # checked\n"),
            "done pan at 2027-01-15T18:30-05:00 # slopes 1/4 in # checked",
            "'Bed the pan' is done since Fri 15 Jan 18:30",
        ),
        (
            ("test", "passed"),
            "passed test at 2027-01-16T12:00-05:00",
            "'Flood test' passed Sat 16 Jan 12:00 "
            "Mind: 'Second coat' comes before it and is not logged as done",
        ),
        (
            ("test", "FAILED", "--at", "20 min ago"),
            "failed test at 2027-01-16T11:40-05:00",
            "'Flood test' failed Sat 16 Jan 11:40: mend what is wrong and repeat it; what follows "
            "is not ready until it is logged as passed",
        ),
        (
            ("test", "done"),
            "done test at 2027-01-16T12:00-05:00",
            "'Flood test' is done since Sat 16 Jan 12:00; what follows is not ready until it is "
            "logged as passed Mind: 'Second coat' comes before it and is not logged as done",
        ),
        (
            ("thinset", "delivered"),
            "delivered thinset at 2027-01-16T12:00-05:00",
            "'thinset' is there since Sat 16 Jan 12:00",
        ),
        (
            ("goods", "delivered", "--at", "9:00"),  # a task that delivers
            "done goods at 2027-01-16T09:00-05:00",
            "'Boards and membrane come' is done since Sat 16 Jan 09:00",
        ),
        (
            ("air", "61.5", "F", "55", "%", "--room", "shower", "--at", "11:00"),
            "air 61.5 F 55 % in shower at 2027-01-16T11:00-05:00",
            "Air of the shower: 61.5 F and 55 %, Sat 16 Jan 11:00; supposed on average: 62 F and "
            "55 %",
        ),
        (
            ("air", "-2.5°C"),
            "air 27.5 F at 2027-01-16T12:00-05:00",
            "Air of the job: 27.5 F, Sat 16 Jan 12:00; supposed on average: 62 F and 55 %",
        ),
        (
            ("air", "-2", "C", "--room", "bathroom"),
            "air 28.4 F in bathroom at 2027-01-16T12:00-05:00",
            "Air of the bathroom: 28.4 F, Sat 16 Jan 12:00; supposed on average: 62 F and 55 %",
        ),
        (
            ("AIR", "48% rh"),
            "air 48 % at 2027-01-16T12:00-05:00",
            "Air of the job: 48 %, Sat 16 Jan 12:00; supposed on average: 62 F and 55 %",
        ),
    ],
)
def test_a_line_is_written_and_what_it_means_is_said(
    log: Log, words: tuple[str, ...], line: str, told: str
) -> None:
    assert log(*words) == told
    assert log.lines == [f"2027-01-16T12:00:00-05:00 {line}"]


def test_of_a_coat_it_says_when_the_next_one_may_go_on(log: Log) -> None:
    log("goods", "done", "--at", "fri 17:00")
    log("pan", "done", "--at", "fri 18:00")
    # The label's 2 h are for 73 F and 50 %. Water's vapour pressure is 2.77 kPa there and 1.90 kPa
    # at 62 F (ASHRAE), so by the drying law 62 F and 55 % take
    # 120 min * (2.77 * 0.50**0.9) / (1.90 * 0.45**0.9) = 193 min. The window never stretches.
    assert log("coat-1", "done", "--at", "9:00") == (
        "'First coat' is done since Sat 16 Jan 09:00 It is ready to recoat not before "
        "Sat 16 Jan 12:13; 'Second coat' must start by Sun 17 Jan 09:00"
    )


def test_what_came_in_another_order_is_logged_and_remarked_on(log: Log) -> None:
    log("goods", "done", "--at", "fri 17:00")
    log("pan", "done", "--at", "11:00")
    assert log("coat-1", "started", "--at", "10:00") == (
        "'First coat' is under way since Sat 16 Jan 10:00 Mind: 'Bed the pan' comes before it and "
        "was over Sat 16 Jan 11:00 only"
    )


def test_a_delivery_task_is_done_by_what_comes(log: Log) -> None:
    assert "So" not in log("board", "delivered", "--at", "9:00")
    assert log("membrane", "delivered", "--at", "10:00") == (
        "'membrane' is there since Sat 16 Jan 10:00 "
        "So 'Boards and membrane come' is done since Sat 16 Jan 10:00"
    )


def test_without_now_the_clock_counts_to_the_second(log: Log) -> None:
    with freeze_time("2027-01-16 17:00:04"):
        assert log.run("log", str(log.job), "pan", "done").code == 0
    assert log.lines == ["2027-01-16T12:00:04-05:00 done pan at 2027-01-16T12:00-05:00"]


def test_the_hour_that_comes_twice_keeps_its_offset(log: Log) -> None:
    # Toronto goes back on 2027-11-07 at 2:00 (IANA tz database).
    log("pan", "done", "--at", "2027-11-07T01:30-05:00", now="2027-11-07 9:00")
    assert log.lines[0].endswith("done pan at 2027-11-07T01:30-05:00")


# ------------------------------------------------------------------------ twice, and undone


@pytest.mark.parametrize(
    ("first", "again", "told"),
    [
        (("pan", "done"), ("pan", "done"), "'Bed the pan' done is logged already, Sat 16 Jan 2027"),
        (("pan", "done", "--at", "9:00"), ("pan", "done"), "is logged already, Sat 16 Jan 2027 09"),
        (("test", "passed"), ("test", "done"), "'Flood test' is logged as passed already, so it"),
        (("test", "failed"), ("test", "failed"), "'Flood test' is logged as failed then already"),
        (("thinset", "delivered"), ("thinset", "delivered"), "thinset delivered is logged already"),
        (("air", "60 F"), ("air", "60 F"), "the air of the job is logged as 60 F already"),
        (("pan", "done"), ("coat-1", "undone"), "nothing is logged of 'coat-1'"),
    ],
)
def test_the_same_twice_is_there_already_and_nothing_is_written(
    log: Log, first: tuple[str, ...], again: tuple[str, ...], told: str
) -> None:
    log(*first)
    before = log.lines
    said = log(*again)
    assert told in said
    assert said.endswith("; nothing was written")
    assert log.lines == before


def test_a_wrong_line_is_undone_by_a_later_one(log: Log) -> None:
    log("pan", "done", "--at", "9:00")
    assert log("pan", "undone") == "'Bed the pan': all that was logged of it is taken back"
    assert log("pan", "done", "--at", "10:00") == "'Bed the pan' is done since Sat 16 Jan 10:00"
    # Each is written a second later, since all three are of one subject and of one minute.
    assert [line[17:30].split("-")[0] for line in log.lines] == ["00", "01", "02"]
    shown = log.shown()
    assert "  10:00        'Bed the pan' done\n" in shown
    assert "TAKEN BACK\n  'Bed the pan' done Sat 16 Jan 09:00; taken back Sat 16 Jan 12:00" in shown


def test_a_task_and_a_product_of_one_name_are_undone_apart(log: Log) -> None:
    log("membrane", "delivered", "--at", "9:00")
    log("membrane", "done", "--at", "10:00")
    log("membrane", "undone")
    assert log.lines[-1].split()[1:3] == ["undone", "membrane"]
    assert "membrane delivered" in log.shown()
    log("membrane", "undelivered")
    assert "membrane delivered is" not in log.shown()
    assert "done 0" not in log.shown()


def test_a_product_alone_of_its_name_is_undone_as_well(log: Log) -> None:
    log("thinset", "delivered")
    assert log("thinset", "undone") == "'thinset' is not there after all"
    assert log.lines[-1].split()[1:3] == ["undelivered", "thinset"]


def test_readings_are_taken_back_one_by_one_or_over_a_span(log: Log) -> None:
    for hour in range(6, 11):
        log("air", f"{50 + hour} F", "--room", "shower", "--at", f"{hour}:00")
    assert log("air", "undone", "--room", "shower", "--at", "6:00") == (
        "Air of the shower: 1 reading taken back"
    )
    assert "is taken back already" in log("air", "undone", "--room", "shower", "--at", "6:00")
    span = ("air", "undone", "--room", "shower", "--at", "8:00", "--until", "9:00")
    assert log(*span) == "Air of the shower: 2 readings taken back"
    assert log.lines[-1].endswith(
        "air undone in shower from 2027-01-16T08:00-05:00 to 2027-01-16T09:00-05:00"
    )
    assert "2 readings, 57 F to 60 F\n" in log.shown()


# --------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("pen", "done"), "no task 'pen'; did you mean 'pan'?"),
        (("zzz", "done"), "no task 'zzz'; there are goods, pan, coat-1, coat-2, test, tile"),
        (("pan",), "after 'pan' must come one of started, done, passed, failed, undone, delivered"),
        (("pan", "doen"), "(found 'doen'); did you mean 'done'"),
        (("pan", "is", "done"), "(found 'is done')"),
        (("pan", "passed"), "'pan' is no hold point, so it can be started and done, not passed"),
        (("pan", "delivered"), "'pan' is a task that delivers nothing, so it is done, not delive"),
        (
            ("thinset", "done"),
            "'thinset' is no task; a product or goods can be delivered, not done",
        ),
        (("thinnset", "delivered"), "no product or goods 'thinnset'; did you mean 'thinset'?"),
        (("pan", "undone", "--at", "9:00"), "'undone' takes no --at"),
        (("pan", "done", "--at", "tomorrow 9:00"), "Sun 17 Jan 2027 09:00 is still to come"),
        (("pan", "done", "--at", "18:00"), "18:00 today is still to come, so say yesterday 18:00"),
        (("pan", "done", "--at", "2026-01-15 9:00"), "is long before the job's start, Fri 8 Jan"),
        (
            ("pan", "done", "--at", "half past"),
            "--at must be a day and a time such as yesterday 18",
        ),
        (("pan", "done", "--room", "shower"), "--room goes with air only"),
        (("pan", "done", "--until", "9:00"), "--until goes with air only"),
        (("pan", "done", "--nota", "x"), "no such option: --nota; did you mean '--note'"),
        (("pan", "done", "-x"), "no such option: -x"),
        (("pan", "done", "--note", "x <cut off>"), "a note can't end with <cut off>"),
        (
            ("pan", "done", "--note", "2027-01-16T12:00:00Z done pan at 2027-01-16T12:00Z"),
            "a note can't hold a line of a log",
        ),
        (("air",), "air must be a state of the air such as 73 F 50 % (found '')"),
        (("air", "warm"), "air must be a state of the air such as 73 F 50 % (found 'warm')"),
        (("air", "200", "F"), "air must be a temperature from -40 C to 80 C"),
        (("air", "68 F 0 %"), "air must be a relative humidity from 1 % to 100 %"),
        (("air", "68 F", "--room", "showr"), "no room 'showr'; did you mean 'shower'?"),
        (("air", "68 F", "--until", "9:00"), "--until goes with 'air undone' only"),
        (("air", "undone"), "'air undone' needs --at"),
        (("air", "undone", "--at", "9:00"), "no air of the job is logged then"),
        (("air", "undone", "--at", "9:00", "--until", "8:00"), "--until must not be before --at"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_would_be_right(
    log: Log, words: tuple[str, ...], told: str
) -> None:
    said = log(*words, code=2)
    assert told in said
    assert said.startswith("error: ")
    assert not log.file.exists()


@pytest.mark.parametrize(
    ("before", "words", "told"),
    [
        (
            [("pan", "started", "--at", "9:00")],
            ("pan", "done", "--at", "8:00"),
            "was started Sat 16 Jan 2027 09:00, so it can't have been done Sat 16 Jan 2027 08:00",
        ),
        (
            [("pan", "done", "--at", "9:00")],
            ("pan", "started", "--at", "10:00"),
            "is done since Sat 16 Jan 2027 09:00, so it can't have been started after that; to do "
            "it again, take that back first: thenwait log JOB pan undone",
        ),
        (
            [("pan", "done", "--at", "9:00")],
            ("pan", "done", "--at", "10:00"),
            "'Bed the pan' done is logged already, Sat 16 Jan 2027 09:00; if that is wrong, take "
            "it back first: thenwait log JOB pan undone",
        ),
        (
            [("air", "60 F", "--room", "shower", "--at", "8:00")],
            ("air", "undone", "--room", "shower", "--at", "9:00"),
            "no air of the shower is logged then; the nearest reading is of Sat 16 Jan 2027 08:00",
        ),
        (
            [("air", "60 F", "--room", "shower", "--at", "8:00")],
            ("air", "undone", "--at", "8:00"),
            "no air of the job is logged then; there is some with --room shower",
        ),
    ],
)
def test_what_the_log_has_otherwise_is_refused(
    log: Log, before: list[tuple[str, ...]], words: tuple[str, ...], told: str
) -> None:
    for each in before:
        log(*each)
    lines = log.lines
    assert told in log(*words, code=2)
    assert log.lines == lines


def test_a_product_that_several_tasks_bring_is_logged_by_task(log: Log) -> None:
    more = "  more: {name: The rest comes, work: 0 min, delivers: [membrane]}\n"
    log.job.write_text(JOB + more, "utf-8")
    assert "goods and more deliver 'membrane': log the one that came" in log(
        "membrane", "delivered", code=2
    )


def test_a_failed_test_may_be_repeated(log: Log) -> None:
    log("test", "started", "--at", "thu 18:00")
    log("test", "failed", "--at", "thu 19:00")
    assert "under way since Sat 16 Jan 09:00" in log("test", "started", "--at", "9:00")
    assert "'Flood test' passed Sat 16 Jan 10:00" in log("test", "passed", "--at", "10:00")


def test_a_task_called_air_can_be_logged(log: Log) -> None:
    log.job.write_text(JOB + "  air: {name: Air the room, who: me, work: 1 h}\n", "utf-8")
    assert "'Air the room' is done" in log("air", "done", "--at", "9:00")
    assert "Air of the job: 60 F" in log("air", "60 F")
    assert "taken back" in log("air", "undone")
    assert [line.split()[1] for line in log.lines] == ["done", "air", "undone"]


def test_a_job_from_a_pipe_has_no_log(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    with log.job.open(encoding="utf-8") as pipe:
        monkeypatch.setattr("sys.stdin", pipe)
        ended = log.run("log", "-", "pan", "done")
    assert (ended.code, ended.err) == (
        2, "error: a job from a pipe has no log; give the name of its file\n",
    )  # fmt: skip


def test_a_job_that_is_called_log_would_be_its_own_log(log: Log) -> None:
    job = log.job.rename(log.job.with_suffix(".log"))
    ended = log.run("log", str(job), "pan", "done")
    assert (ended.code, job.read_text("utf-8")) == (2, JOB)
    assert "a job file needs another ending, such as .yaml" in ended.err


words = st.sampled_from(
    ["air", "pan", "test", "membrane", "goods", "started", "done", "passed", "failed", "undone",
     "delivered", "undelivered", "68 F", "55", "%", "-2 C", "", "#", "at", "\x00", "é" * 200]
)  # fmt: skip
moments = st.none() | st.integers(-3 * 1440, 10)


@given(st.lists(st.tuples(st.lists(words, min_size=1, max_size=4), moments), max_size=8))
@examples(300)
def test_whatever_is_asked_is_logged_there_already_or_refused(
    asked: list[tuple[list[str], int | None]],
) -> None:
    job, content = parse(JOB.encode(), "job.yaml"), b""
    now = job.start + 2 * 1440
    for some, ago in asked:
        try:
            ask = Asked(tuple(some), now, None if ago is None else now + ago)
            content += added(content, "job.log", job, ask, 60 * now).content
        except BadInput:
            continue
    file = read_log(content, "job.log")
    assert (file.problems, file.cut_off) == ((), ())
    # What the command lets through is sound: it never needs mending before a plan is made.
    assert sound(file, job) == folded(file.lines).log


# ------------------------------------------------------------------------ a log that is broken


def test_a_line_that_cannot_be_read_lets_nothing_be_planned_and_can_be_mended(log: Log) -> None:
    log("pan", "done", "--at", "9:00")
    good = log.file.read_bytes()
    log.file.write_bytes(
        good + b"2027-01-16T12:00:04-05:00 doen coat-1 at 2027-01-16T11:00-05:00\n"
    )
    where = f"{log.file}:2:27: must say what happened: "
    for command in ("plan", "shopping"):
        ended = log.run(command, str(log.job))
        assert (ended.code, ended.out) == (2, "")
        assert ended.err.startswith(where)
        assert "did you mean 'done'" in ended.err
        assert ended.err.endswith(f"error: 1 problem in {log.file}\n")
    assert log.run("ready", str(log.job), "coat-1", "--at", "2027-01-17 9:00").code == 2
    # What happens meanwhile is not lost, and the mistake is told with it.
    assert "until this is mended, nothing is planned from this log" in log("test", "failed")
    assert "'Bed the pan' done" in log.shown(code=2)
    assert len(log.lines) == 3


def test_a_name_that_the_job_has_no_more_is_a_problem_until_it_is_taken_back(log: Log) -> None:
    log("pan", "done", "--at", "9:00")
    log.job.write_text(JOB.replace("pan:", "tray:").replace("[pan]", "[tray]"), "utf-8")
    ended = log.run("plan", str(log.job))
    assert (ended.code, ended.err) == (
        2,
        f"{log.file}:1:32: the job has no task 'pan'; if it is gone for good, take this back: "
        f"thenwait log JOB pan undone\nerror: 1 problem in {log.file}\n",
    )
    assert log("pan", "undone") == "'pan': all that was logged of it is taken back"
    assert log.run("plan", str(log.job)).code == 0


def test_a_slip_of_the_year_in_a_line_written_by_hand_is_a_problem(log: Log) -> None:
    log.file.write_text("2027-01-16T12:00Z done pan at 2026-01-16T09:00-05:00\n", "utf-8")
    ended = log.run("plan", str(log.job))
    assert (ended.code, ended.err.splitlines()[0]) == (
        2, f"{log.file}:1:24: Fri 16 Jan 2026 09:00 is long before the job's start",
    )  # fmt: skip


def test_a_log_that_knows_more_than_the_clock_is_taken_from_and_told(log: Log) -> None:
    log("pan", "done", "--at", "11:00")
    ended = log.run("plan", str(log.job), "--now", "2027-01-16 9:00")
    assert ended.code == 0
    assert " ".join(ended.err.split()) == (
        "the log goes on until Sat 16 Jan 2027 11:00, and now is Sat 16 Jan 2027 09:00: taken "
        "from the log"
    )


def test_a_new_job_takes_no_log_that_lies_there_for_its_own(log: Log) -> None:
    log("pan", "done", "--at", "11:00")
    log.job.unlink()
    for more in ((), ("--force",)):
        ended = log.run("new", str(log.job), "--yes", "--what", "tub-surround", *more)
        assert (ended.code, ended.out) == (1, "")
        assert ended.err.startswith(f"error: {log.file}: this log of another job is there already")
    assert not log.job.exists()


def test_a_merge_of_two_logs_that_contradict_each_other_is_a_problem(log: Log) -> None:
    log.file.write_text(
        "2027-01-16T12:00:04-05:00 done pan at 2027-01-16T09:00-05:00\n"
        "2027-01-16T12:00:01-05:00 started pan at 2027-01-16T10:00-05:00\n",
        "utf-8",
    )
    ended = log.run("plan", str(log.job))
    assert ended.code == 2
    assert ended.err.startswith(
        f"{log.file}:1:32: 'pan' can't have been started Sat 16 Jan 2027 10:00, after it was done "
        "Sat 16 Jan 2027 09:00: take both back with 'thenwait log JOB pan undone'"
    )
    log("pan", "undone")
    assert log.run("plan", str(log.job)).code == 0


def test_a_log_that_cannot_be_opened_is_an_error_with_its_name(log: Log) -> None:
    log.file.mkdir()
    for words in (("log", str(log.job), "pan", "done"), ("plan", str(log.job))):
        ended = log.run(*words)
        assert (ended.code, ended.out) == (1, "")
        assert ended.err == f"error: {log.file}: Is a directory\n"


def test_a_log_that_is_a_link_stays_one(log: Log, tmp_path: Path) -> None:
    kept = tmp_path / "kept.txt"
    log.file.symlink_to(kept)
    log("pan", "done", "--at", "9:00")
    assert log.file.is_symlink()
    assert kept.read_text("utf-8") == log.file.read_text("utf-8") != ""


def test_a_line_that_was_cut_off_is_told_by_the_next_command_and_passed_over(log: Log) -> None:
    log("pan", "done", "--at", "9:00")
    log.file.write_bytes(log.file.read_bytes() + b"2027-01-16T12:00:04-05:00 done coat-1 at 2027")
    ended = log.run("plan", str(log.job))
    assert ended.code == 0
    told = f"{log.file}:2: this line was cut off while it was written and counts for nothing"
    assert told in " ".join(ended.err.split())
    assert told in log("coat-1", "done", "--at", "10:00")
    assert log.lines[1].endswith("coat-1 at 2027 <cut off>")
    assert "CUT OFF\n  line 2       was cut off" in log.shown()
    assert told in " ".join(log.run("plan", str(log.job)).err.split())


# ------------------------------------------------------------------------------------- shown


def a_few_days(log: Log) -> None:
    log("goods", "done", "--at", "fri 17:30")
    log("pan", "started", "--at", "fri 18:00")
    log("pan", "done", "--at", "fri 20:15", "--note", "took longer: the drain sat too high")
    log("coat-1", "started", "--at", "10:00")
    log("test", "failed", "--at", "11:30")
    for hour, warm, damp in ((9, 60, 50), (10, 61, 54), (11, 63, 52)):
        log("air", f"{warm} F {damp} %", "--room", "shower", "--at", f"{hour}:00")


def test_the_log_is_shown_by_day(log: Log) -> None:
    a_few_days(log)
    assert log.shown() == (
        "Larch Row shower: what is logged\n"
        "  done         2 of 7 tasks\n"
        "  under way    'First coat', Sat 16 Jan 10:00\n"
        "  failed       'Flood test', Sat 16 Jan 11:30\n"
        "  air          the shower: 3 readings, 60 F to 63 F, 50 % to 54 %\n"
        "\n"
        "Fri 15 Jan 2027\n"
        "  17:30        'Boards and membrane come' done\n"
        "  18:00        'Bed the pan' started\n"
        "  20:15        'Bed the pan' done\n"
        "               took longer: the drain sat too high\n"
        "\n"
        "Sat 16 Jan 2027\n"
        "  10:00        'First coat' started\n"
        "  11:30        'Flood test' failed\n"
        "  air          the shower: 3 readings, 60 F to 63 F, 50 % to 54 %\n"
    )


def test_without_a_line_it_says_how_to_begin(log: Log) -> None:
    assert "Nothing is logged yet" in log.shown()
    assert not log.file.exists()


@pytest.mark.parametrize("width", [45, 80])
def test_a_log_is_as_wide_as_it_is_asked_to_be(log: Log, width: int) -> None:
    a_few_days(log)
    lines = log.shown("--width", str(width)).splitlines()
    assert width - 20 < max(map(len, lines)) <= width


def test_what_is_said_fits_a_narrow_terminal(log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "45")
    ended = log.run("log", str(log.job), "coat-1", "done", "--now", NOW)
    assert max(map(len, ended.err.splitlines())) <= 45
    assert "\N{NO-BREAK SPACE}" not in ended.err


def test_two_lines_of_one_thing_show_which_one_stands(log: Log) -> None:
    log.file.write_text(
        "2027-01-16T12:00:01-05:00 done pan at 2027-01-16T09:00-05:00\n"
        "2027-01-16T12:00:09-05:00 done pan at 2027-01-16T09:30-05:00\n",
        "utf-8",
    )
    shown = log.shown()
    assert "  09:30        'Bed the pan' done\n" in shown
    assert (
        "CORRECTED\n  'Bed the pan' done Sat 16 Jan 09:00; in its place Sat 16 Jan 12:00" in shown
    )


# ------------------------------------------------------------------------- a logger's file

ROWS = "time,temperature (C),humidity (%)\n" + "".join(
    f"2027-01-16 {8 + minute // 60:02}:{minute % 60:02},{18 + minute / 100:.2f},55\n"
    for minute in range(0, 120, 5)
)


def test_a_loggers_file_is_read_in_by_quarters_of_an_hour(log: Log, tmp_path: Path) -> None:
    logger = tmp_path / "logger.csv"
    logger.write_text(ROWS, "utf-8")
    assert "logged 8 readings" in log("air", "--file", str(logger), "--room", "shower")
    # The mean of 18.00, 18.05 and 18.10 degrees Celsius is 64.5 F.
    assert log.lines[0].endswith("air 64.5 F 55 % in shower at 2027-01-16T08:00-05:00")
    assert len(log.lines) == 8
    logger.write_text(ROWS + "2027-01-16 10:00,20,50\n", "utf-8")
    assert "logged 1 reading; 8 there already" in log(
        "air", "--file", str(logger), "--room", "shower"
    )
    assert len(log.lines) == 9


def test_rows_before_the_job_or_still_to_come_are_left_out(log: Log, tmp_path: Path) -> None:
    logger = tmp_path / "logger.csv"
    logger.write_text(ROWS + "2027-02-16 10:00,20,50\n2020-01-16 10:00,20,50\n", "utf-8")
    assert "2 rows left out: before the job or still to come" in log("air", "--file", str(logger))
    logger.write_text(re.sub("2027-01-", "2029-01-", ROWS), "utf-8")
    said = log("air", "--file", str(logger), code=2)
    assert "none of this is of the time of the job: it is of Tue 16 Jan 2029 08:00 to" in said


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("pan", "--file"), "--file goes with air alone"),
        (("air", "--at", "9:00", "--file"), "--file goes with air alone"),
        (("air", "--room", "showr", "--file"), "no room 'showr'; did you mean 'shower'?"),
    ],
)
def test_a_loggers_file_goes_with_air_alone(
    log: Log, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    logger = tmp_path / "logger.csv"
    logger.write_text(ROWS, "utf-8")
    assert told in log(*words, str(logger), code=2)
    assert not log.file.exists()


def test_a_file_that_is_no_loggers_is_refused_with_its_name(log: Log, tmp_path: Path) -> None:
    logger = tmp_path / "notes.txt"
    logger.write_text("milk, eggs\n", "utf-8")
    ended = log.run("log", str(log.job), "air", "--file", str(logger), "--now", NOW)
    assert ended.code == 2
    assert ended.err.startswith(f"{logger}:1:1: ")
    assert not log.file.exists()


# ------------------------------------------------------------------- what it changes elsewhere


@pytest.mark.parametrize("example", ["larch-row", "small-floor"])
def test_finishes_alone_tell_the_starts_that_the_plan_had(example: str) -> None:
    job = parse((ROOT / "examples" / f"{example}.yaml").read_bytes(), example)
    plan = plan_job(job)
    lines = (Event(task.finish, "done", task.id) for task in plan.tasks)
    past = with_past(job, model.Log(tuple(lines)), plan.finish).past
    assert past is not None
    told = {task: (known.started, known.finished) for task, known in past.actual.items()}
    assert told == {task.id: (task.start, task.finish) for task in plan.tasks}


@pytest.mark.parametrize("command", ["plan", "shopping"])
def test_an_empty_log_changes_no_byte(log: Log, command: str) -> None:
    without = log.run(command, str(log.job), "--now", NOW)
    log.file.write_text("# nothing yet\n", "utf-8")
    assert log.run(command, str(log.job), "--now", NOW) == without


def test_cold_air_that_was_read_moves_the_next_coat(log: Log) -> None:
    for task, at in (("goods", "fri 17:00"), ("pan", "fri 18:00")):
        log(task, "done", "--at", at)
    for hour in range(8, 13):
        log("air", "50 F 80 %", "--room", "shower", "--at", f"{hour}:00")
    # By the drying law 62 F and 55 % take 193 min, as above, and 50 F and 80 % take
    # 120 min * (2.77 * 0.50**0.9) / (1.23 * 0.20**0.9) = 616 min. The air was read until noon.
    said = log("coat-1", "done", "--at", "8:00")
    ready = re.search(r"ready to recoat not before Sat 16 Jan (\d\d:\d\d)", said)
    assert ready is not None
    assert "15:00" < ready[1] < "18:16"
    ended = log.run("plan", str(log.job), "--now", NOW)
    assert ended.code == 0
    assert (
        "shower: air as read 5 times from Sat 16 Jan 08:00 to Sat 16 Jan 12:00; for 6 h after it no"
        " better than on the line from there, then as supposed" in (" ".join(ended.err.split()))
    )
