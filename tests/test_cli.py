"""The command line, in this process: what it prints where, and how it ends."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from freezegun import freeze_time
from icalendar import Calendar

from scheduler import cli, planner, verify
from scheduler.catalogue import classes
from scheduler.jobfile import parse, schema

ROOT = Path(__file__).parents[1]
LARCH_ROW = ROOT / "examples" / "larch-row.yaml"
SMALL_FLOOR = str(ROOT / "examples" / "small-floor.yaml")
COATS = """\
job: Tub wall
timezone: America/Toronto
start: 2027-02-05
people: {me: {hours: sat 9:00-11:30}}
tasks:
  coat-1: {who: me, work: 1 h, applies: liquid-membrane}
  coat-2: {who: me, work: 1 h, applies: liquid-membrane, after: {coat-1: recoat}}
"""


class Ended(SimpleNamespace):
    """How a command ended: its exit code, what it printed, what it said."""

    code: int
    out: str
    err: str


Run = Callable[..., Ended]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command line as a pipe would see it."""
    monkeypatch.delenv("COLUMNS", raising=False)

    def run(*arguments: str | Path) -> Ended:
        code = cli.main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Ended(code=code, out=out, err=err)

    return run


def written(folder: Path, text: str, name: str = "job.yaml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


# ------------------------------------------------------------------------------------ help


@pytest.mark.parametrize("flag", ["-h", "--help"])
@pytest.mark.parametrize(
    "command",
    [
        (),
        ("new",),
        ("plan",),
        ("ready",),
        ("odds",),
        ("log",),
        ("shopping",),
        ("faster",),
        ("products",),
        ("schema",),
    ],
)
def test_help_is_data_without_markup(run: Run, command: tuple[str, ...], flag: str) -> None:
    ended = run(*command, flag)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.startswith(f"Usage: {' '.join(('thenwait', *command))} ")
    assert ended.out.isascii()
    assert not re.search(r"\[/?(bold|dim|red|b)\]|\x1b|[│╭]", ended.out)


def test_the_version_is_the_one_that_is_packaged(run: Run) -> None:
    ended = run("--version")
    assert (ended.code, ended.out, ended.err) == (0, "thenwait 0.1.0\n", "")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Usage: thenwait"),
        (("plan",), "Missing argument 'JOB...'"),
        (("paln", SMALL_FLOOR), "No such command 'paln'"),
        (("plan", SMALL_FLOOR, "--jsn"), "No such option: --jsn"),
        (("plan", SMALL_FLOOR, "--width", "wide"), "Invalid value for '--width'"),
        (("plan", SMALL_FLOOR, "--width", "19"), "Invalid value for '--width'"),
        (("plan", SMALL_FLOOR, "--ics", "-"), "error: --ics needs the name of a file"),
        (("ready", SMALL_FLOOR, "tile"), "Missing option '--at'"),
        (("products", "grout", "--units", "cubits"), "'cubits' is not one of"),
        (("products", "gruot"), "error: no product class 'gruot'; did you mean 'grout'?"),
    ],
)
def test_wrong_usage_ends_with_2_and_says_what_is_wrong(
    run: Run, arguments: tuple[str, ...], told: str
) -> None:
    ended = run(*arguments)
    assert (ended.code, ended.out) == (2, "")
    assert told in ended.err


# ------------------------------------------------------------------------------------ plan


def test_a_plan_is_data_and_nothing_else_is_said(run: Run) -> None:
    ended = run("plan", SMALL_FLOOR)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.startswith("Small bathroom floor\n")
    assert ended.out.endswith(".\n")


def test_a_job_comes_from_a_pipe_as_well(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    with Path(SMALL_FLOOR).open(encoding="utf-8") as pipe:
        monkeypatch.setattr("sys.stdin", pipe)
        ended = run("plan", "-")
    assert ended.out == run("plan", SMALL_FLOOR).out


@pytest.mark.parametrize("width", [45, 80, 120])
def test_a_plan_is_as_wide_as_it_is_asked_to_be(run: Run, width: int) -> None:
    lines = run("plan", SMALL_FLOOR, "--width", str(width)).out.splitlines()
    assert width - 12 < max(map(len, lines)) <= width


def test_a_plan_in_a_pipe_is_80_columns_wide(run: Run) -> None:
    assert run("plan", SMALL_FLOOR).out == run("plan", SMALL_FLOOR, "--width", "80").out


def test_a_plan_follows_the_columns_that_the_environment_names(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "45")
    assert run("plan", SMALL_FLOOR).out == run("plan", SMALL_FLOOR, "--width", "45").out
    monkeypatch.setenv("COLUMNS", "3")
    assert run("plan", SMALL_FLOOR).out == run("plan", SMALL_FLOOR, "--width", "20").out


def test_json_is_all_that_is_printed_and_ascii(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, COATS.replace("Tub wall", "Küche – 20 °C").replace("11:30", "17:00"))
    ended = run("plan", job, "--json")
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.isascii()
    data = json.loads(ended.out)
    assert (data["version"], data["job"]) == (1, "Küche – 20 °C")
    assert [task["id"] for task in data["tasks"]] == ["coat-1", "coat-2"]


def test_a_bad_file_tells_every_problem_and_ends_with_2(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, COATS.replace("1 h", "ninety"))
    ended = run("plan", job)
    assert (ended.code, ended.out) == (2, "")
    wrong = "'work' must be a time such as 45 min or 3 h (found 'ninety')"
    assert ended.err.splitlines() == [
        f"{job}:6:27: {wrong}",
        f"{job}:7:27: {wrong}",
        f"error: 2 problems in {job}",
    ]


def test_a_ring_is_told_where_the_file_has_it(run: Run, tmp_path: Path) -> None:
    ring = COATS.replace("applies: liquid-membrane}", "after: [coat-2]}", 1)
    ended = run("plan", written(tmp_path, ring.replace("{coat-1: recoat}", "[coat-1]")), "--json")
    assert (ended.code, ended.out) == (2, "")
    assert ":6:3: tasks wait for each other in a ring: coat-1 -> coat-2 -> coat-1" in ended.err
    assert ended.err.endswith("job.yaml\n")


def test_a_bad_file_from_a_pipe_is_called_that(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    with (ROOT / "tests" / "data" / "bad" / "tasks-empty.yaml").open(encoding="utf-8") as pipe:
        monkeypatch.setattr("sys.stdin", pipe)
        ended = run("plan", "-")
    assert ended.code == 2
    assert ended.err.splitlines()[-1] == "error: 1 problem in standard input"


@pytest.mark.parametrize("options", [(), ("--json",)])
def test_no_plan_is_an_answer_in_words_and_ends_with_1(
    run: Run, tmp_path: Path, options: tuple[str, ...]
) -> None:
    ended = run("plan", written(tmp_path, COATS), *options, "--ics", tmp_path / "plan.ics")
    assert ended.code == 1
    assert json.loads(ended.out or '{"plan": null}')["plan"] is None
    assert bool(ended.out) == bool(options)
    assert ended.err.startswith("error: no plan is possible: these rules cannot all be kept:\n")
    assert "'Coat 2' within 24 h of 'Coat 1'" in ended.err
    assert "me has hours Sat 09:00-11:30" in ended.err
    assert not (tmp_path / "plan.ics").exists()


def test_no_plan_is_told_in_the_width_of_the_terminal(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, said = written(tmp_path, COATS), set()
    for columns in (300, 80, 45):
        monkeypatch.setenv("COLUMNS", str(columns))
        lines = run("plan", job).err.splitlines()
        assert max(map(len, lines)) <= columns
        assert any(line.startswith("    ") for line in lines) == (columns < 300)  # hanging
        said.add(" ".join(" ".join(lines).split()))
    assert len(said) == 1


@pytest.mark.parametrize(
    ("name", "why"), [("nowhere.yaml", "No such file or directory"), (".", "Is a directory")]
)
def test_a_file_that_cannot_be_read_is_named(run: Run, name: str, why: str) -> None:
    ended = run("plan", name)
    assert (ended.code, ended.out, ended.err) == (1, "", f"error: {name}: {why}\n")


def test_a_file_that_never_ends_is_refused(run: Run) -> None:
    endless = Path("/dev/zero")
    if not endless.exists():
        pytest.skip("no device here that never ends")
    assert run("plan", endless).code == 2


# ----------------------------------------------------------------------------------- check


@pytest.mark.parametrize("options", [(), ("--json",)])
def test_a_checked_plan_says_so(run: Run, options: tuple[str, ...]) -> None:
    ended = run("plan", SMALL_FLOOR, "--check", *options)
    assert (ended.code, ended.err) == (0, "checked against every rule: nothing broken\n")
    assert ended.out == run("plan", SMALL_FLOOR, *options).out


def test_a_plan_that_breaks_a_rule_is_not_printed_nor_written(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = parse(LARCH_ROW.read_bytes(), "job")
    wrong = planner.plan_job(parse(Path(SMALL_FLOOR).read_bytes(), "job"))
    assert verify.check(job, wrong)
    monkeypatch.setattr(planner, "plan_job", lambda *_, **__: wrong)
    ended = run("plan", LARCH_ROW, "--check", "--ics", tmp_path / "plan.ics")
    assert (ended.code, ended.out) == (1, "")
    first, *rest = ended.err.splitlines()
    assert re.match(r"error: the plan breaks \d+ rules, which is a mistake in thenwait:$", first)
    assert rest[:-1] == [f"  - {breach}" for breach in verify.check(job, wrong)]
    assert list(tmp_path.iterdir()) == []


# ----------------------------------------------------------------------------------- ready

PRIMED = "2027-03-05 23:00"  # the small floor is primed 21:20; the primer wants 3 h at least
DRY = "2027-03-06 8:00"


def test_not_yet_ends_with_3_and_yes_with_0(run: Run) -> None:
    early, late = (run("ready", SMALL_FLOOR, "pour", "--at", at) for at in (PRIMED, DRY))
    assert (early.code, early.err) == (3, "")
    assert early.out.startswith("NOT YET: Pour the underlay\n")
    assert (late.code, late.err) == (0, "")
    assert late.out.startswith("YES: Pour the underlay\n")


def test_a_verdict_is_as_wide_as_it_is_asked_to_be(run: Run) -> None:
    lines = run("ready", SMALL_FLOOR, "pour", "--at", DRY, "--width", "45").out.splitlines()
    assert 40 < max(map(len, lines)) <= 45


@pytest.mark.parametrize(("at", "code", "word"), [(PRIMED, 3, "no"), (DRY, 0, "yes")])
def test_a_verdict_as_json_has_the_same_exit_code(run: Run, at: str, code: int, word: str) -> None:
    ended = run("ready", SMALL_FLOOR, "pour", "--at", at, "--json")
    assert (ended.code, ended.err) == (code, "")
    assert ended.out.isascii()
    data = json.loads(ended.out)
    assert (data["version"], data["task"], data["verdict"]) == (1, "pour", word)
    assert data["earliest"] == "2027-03-06T08:00:00-05:00"


def test_a_time_in_words_counts_from_now_in_the_zone_of_the_job(run: Run) -> None:
    # 03:00 UTC on 6 March is still 22:00 on the 5th in Toronto (IANA time zone database).
    ended = run(
        "ready",
        SMALL_FLOOR,
        "pour",
        "--at",
        "tomorrow 8 am",
        "--now",
        "2027-03-06T03:00Z",
        "--json",
    )
    assert json.loads(ended.out)["at"] == "2027-03-06T08:00:00-05:00"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("tlie", "--at", DRY), "error: no task 'tlie'; did you mean 'tile'?\n"),
        (("bath", "--at", DRY), "error: no task 'bath'; the tasks are strip, stop-edges, prime, "),
        (("tile", "--at", "sat"), "error: --at must be a day with a time, such as sat 9:00 (found"),
        (("tile", "--at", "31/12/2027"), "error: --at must be a day and a time such as tomorrow"),
    ],
)
def test_a_question_that_cannot_be_understood_ends_with_2(
    run: Run, arguments: tuple[str, ...], told: str
) -> None:
    ended = run("ready", SMALL_FLOOR, *arguments)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith(told)


def test_where_there_is_no_plan_there_is_no_verdict(run: Run, tmp_path: Path) -> None:
    ended = run("ready", written(tmp_path, COATS), "coat-2", "--at", "2027-02-06 10:00", "--json")
    assert ended.code == 1
    assert json.loads(ended.out)["plan"] is None
    assert ended.err.startswith("error: no plan is possible")


# -------------------------------------------------------------------------------- calendar


def test_a_calendar_is_written_and_told_of(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "floor.ics"
    ended = run("plan", SMALL_FLOOR, "--ics", path)
    assert ended.code == 0
    events = Calendar.from_ical(path.read_bytes()).events
    assert ended.err == f"wrote {path}: {len(events)} events, for a calendar of their own\n"
    assert ended.out == run("plan", SMALL_FLOOR).out
    assert [entry.name for entry in tmp_path.iterdir()] == ["floor.ics"]


def test_a_calendar_of_the_same_plan_is_left_as_it_is(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "floor.ics"
    run("plan", SMALL_FLOOR, "--ics", path)
    before, inode = path.read_bytes(), path.stat().st_ino
    ended = run("plan", SMALL_FLOOR, "--ics", path, "--json")
    assert "holds this plan already" in ended.err
    assert (path.read_bytes(), path.stat().st_ino) == (before, inode)
    assert json.loads(ended.out)["job"] == "Small bathroom floor"


def test_a_calendar_of_a_changed_plan_takes_up_the_one_before(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, COATS.replace("11:30", "17:00"))
    path = tmp_path / "coats.ics"
    run("plan", job, "--ics", path)
    path.chmod(0o640)
    before = {str(event["UID"]): event for event in Calendar.from_ical(path.read_bytes()).events}
    written(tmp_path, COATS.replace("9:00-11:30", "10:00-17:00"))
    assert run("plan", job, "--ics", path).code == 0
    after = Calendar.from_ical(path.read_bytes()).events
    assert {str(event["UID"]) for event in after} == set(before)
    assert all(event.sequence == before[str(event["UID"])].sequence + 1 for event in after)
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_linked_calendar_stays_linked(run: Run, tmp_path: Path) -> None:
    (tmp_path / "synced").mkdir()
    link = tmp_path / "floor.ics"
    link.symlink_to(tmp_path / "synced" / "feed.ics")
    assert run("plan", SMALL_FLOOR, "--ics", link).code == 0
    assert link.is_symlink()
    assert Calendar.from_ical((tmp_path / "synced" / "feed.ics").read_bytes()).events


@pytest.mark.parametrize("content", ["job: a file of another kind\n", "BEGIN:VCALENDAR\n"])
def test_a_file_that_is_no_calendar_of_ours_is_never_replaced(
    run: Run, tmp_path: Path, content: str
) -> None:
    path = written(tmp_path, content)
    ended = run("plan", SMALL_FLOOR, "--ics", path)
    assert (ended.code, ended.out) == (1, "")
    assert "write to another file, or move this one away first" in ended.err
    assert path.read_text(encoding="utf-8") == content
    assert list(tmp_path.iterdir()) == [path]


def test_what_is_no_file_is_never_replaced(run: Run, tmp_path: Path) -> None:
    ended = run("plan", SMALL_FLOOR, "--ics", tmp_path)
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == f"error: {tmp_path}: this is no file, so no calendar can take its place\n"


def test_a_calendar_in_a_folder_that_is_not_there_is_told_by_its_own_name(
    run: Run, tmp_path: Path
) -> None:
    path = tmp_path / "nowhere" / "plan.ics"
    ended = run("plan", SMALL_FLOOR, "--ics", path)
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == f"error: {path}: No such file or directory\n"


def test_a_disk_that_is_full_leaves_the_calendar_that_was_there(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "floor.ics"
    run("plan", SMALL_FLOOR, "--ics", path, "--now", "2027-01-01 9:00")
    path.write_bytes(path.read_bytes().replace(b"Grout and wash", b"Grout, and wash"))
    before = path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    ended = run("plan", SMALL_FLOOR, "--ics", path)
    assert (ended.code, ended.err) == (1, f"error: {path}: No space left on device\n")
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


# --------------------------------------------------------------------------------- the clock


def stamps(path: Path) -> set[str]:
    return set(re.findall(r"DTSTAMP:(\S+)", path.read_text(encoding="utf-8")))


def test_a_calendar_is_stamped_by_the_clock(run: Run, tmp_path: Path) -> None:
    with freeze_time("2027-03-01T12:34:56Z"):
        run("plan", SMALL_FLOOR, "--ics", tmp_path / "floor.ics")
    assert stamps(tmp_path / "floor.ics") == {"20270301T123400Z"}


def test_now_stands_in_for_the_clock_in_the_zone_of_the_job(run: Run, tmp_path: Path) -> None:
    # Toronto is 5 hours behind UTC in winter (IANA time zone database).
    run("plan", SMALL_FLOOR, "--ics", tmp_path / "floor.ics", "--now", "2027-03-01 9:30")
    assert stamps(tmp_path / "floor.ics") == {"20270301T143000Z"}


@pytest.mark.parametrize(
    "command",
    [
        ("plan", SMALL_FLOOR),
        ("ready", SMALL_FLOOR, "tile", "--at", "2027-03-06 16:00"),
        ("odds", SMALL_FLOOR, "--samples", "100"),
        ("log", SMALL_FLOOR),
        ("faster", SMALL_FLOOR),
        ("products",),
        ("schema",),
    ],
)
def test_every_command_takes_now_and_refuses_what_is_no_time(
    run: Run, command: tuple[str, ...]
) -> None:
    assert run(*command, "--now", "2027-03-01 9:30").out == run(*command).out
    ended = run(*command, "--now", "half past")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("error: --now must be ")


# -------------------------------------------------------------------------------- shopping


BUY = """job: Tub wall
timezone: America/Toronto
start: 2027-02-05 18:00
air: {temperature: 20 C, humidity: 50 %}
people: {me: {hours: sat 9:00-17:00}}
products: {glue: {class: thinset, pack: 20 kg, price: 30, lead_time: 3 d}}
tasks: {tile: {who: me, work: 3 h, applies: glue, uses: {glue: 30 kg}}}
"""


def test_the_list_is_printed_for_a_job_and_says_what_is_late(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, BUY)
    early = run("shopping", job, "--now", "2027-01-01 9:00")
    assert (early.code, early.err) == (0, "")
    assert "2 packs of 20 kg" in early.out
    assert "Order by Wed 3 Feb 2027 09:00" in early.out
    assert "is past" not in early.out
    assert "order by Wed 3 Feb 2027 09:00 is past" in run(
        "shopping", job, "--now", "2027-02-03 10:00", "--width", "200"
    ).out  # fmt: skip


def test_the_list_as_json_is_nothing_else(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, BUY)
    ended = run(
        "shopping", job, "--json", "--csv", tmp_path / "list.csv", "--now", "2027-02-04 9:00"
    )
    (glue,) = json.loads(ended.out)["items"]
    assert (glue["packs"], glue["cost"], glue["late"]) == (2, 60.0, True)
    assert ended.err == f"wrote {tmp_path / 'list.csv'}\n"
    assert (tmp_path / "list.csv").read_bytes().count(b"\r\n") == 2


def test_a_table_has_to_be_a_file_that_can_be_written(run: Run, tmp_path: Path) -> None:
    job = written(tmp_path, BUY)
    ended = run("shopping", job, "--csv", "-")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("error: --csv needs the name of a file")
    for path in (tmp_path, tmp_path / "nowhere" / "list.csv"):
        ended = run("shopping", job, "--csv", path)
        assert (ended.code, ended.out) == (1, "")
        assert ended.err.startswith(f"error: {path}")


# ----------------------------------------------------------------- what would bring it forward


def test_what_brings_a_job_forward_is_data_and_a_pipe_hears_of_no_progress(run: Run) -> None:
    ended = run("faster", SMALL_FLOOR, "--width", "45")
    assert (ended.code, ended.err) == (0, "")
    assert ended.out.startswith("Small bathroom floor: what would bring it\n")
    assert all(len(line) <= 45 for line in ended.out.splitlines())


def test_what_brings_a_job_forward_as_json_is_all_that_is_printed(run: Run) -> None:
    ended = run("faster", SMALL_FLOOR, "--json")
    assert (ended.code, ended.err) == (0, "")
    said = json.loads(ended.out)
    assert said["alone"][0]["levers"][0]["id"] == "heat:bathroom"
    assert ended.out.isascii()


def test_a_terminal_hears_how_far_it_is(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    ended = run("faster", written(tmp_path, BUY))
    assert ended.code == 0
    assert re.search(r"\r0 of \d+ tried +\r", ended.err)
    assert re.search(r"\r +\r$", ended.err)  # wiped


def test_where_there_is_no_plan_nothing_can_be_brought_forward(run: Run, tmp_path: Path) -> None:
    ended = run("faster", written(tmp_path, COATS))
    assert (ended.code, ended.out) == (1, "")
    assert ended.err.startswith("error: no plan is possible")


# ---------------------------------------------------------------------- catalogue and schema


def test_products_lists_the_classes(run: Run) -> None:
    ended = run("products")
    assert (ended.code, ended.err) == (0, "")
    assert all(f"\n{name} " in f"\n{ended.out}" for name in classes())


def test_products_tells_all_of_one_class_in_the_units_asked_for(run: Run) -> None:
    assert "10 C or warmer" in run("products", "liquid-membrane").out
    imperial = run("products", "liquid-membrane", "--units", "imperial", "--width", "45").out
    assert "50 F or warmer" in imperial
    assert max(map(len, imperial.splitlines())) <= 45


@pytest.mark.parametrize("arguments", [(), ("grout",)])
def test_products_as_json(run: Run, arguments: tuple[str, ...]) -> None:
    ended = run("products", *arguments, "--json")
    assert (ended.code, ended.err) == (0, "")
    names = [kind["name"] for kind in json.loads(ended.out)["classes"]]
    assert names == list(arguments or classes())


def test_the_schema_is_printed_and_the_examples_have_that_very_one(run: Run) -> None:
    ended = run("schema")
    assert (ended.code, ended.err) == (0, "")
    assert json.loads(ended.out) == schema()
    shipped = ROOT / "examples" / "job.schema.json"
    assert shipped.read_text(encoding="utf-8") == ended.out, (
        "write it anew: thenwait schema > examples/job.schema.json"
    )


# --------------------------------------------------------------------------- broken streams


def test_a_stopped_command_ends_with_130_and_without_a_word(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(planner, "plan_job", stopped)
    ended = run("plan", SMALL_FLOOR)
    assert (ended.code, ended.out, ended.err) == (130, "", "")


def test_a_closed_standard_output_is_an_error(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout", None)
    monkeypatch.setattr(cli, "give_up_stdout", lambda: None)  # the tests' own is still open
    ended = run("schema")
    assert (ended.code, ended.err) == (1, "error: standard output: it is closed\n")


def test_a_closed_standard_input_is_an_error(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", None)
    ended = run("plan", "-")
    assert (ended.code, ended.out) == (1, "")
    assert ended.err == "error: standard input is closed, so there is no job to read\n"


def test_a_closed_standard_error_leaves_the_exit_code(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr", None)
    assert run("plan", "nowhere.yaml").code == 1
    assert run("plan", SMALL_FLOOR, "--check").code == 0
