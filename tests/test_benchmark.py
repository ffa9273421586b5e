"""The benchmark still runs, and its figures mean what their labels say. Nothing here is timed."""

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import asdict, replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import pytest

from scheduler import catalogue
from scheduler.clock import to_minute
from scheduler.model import ALWAYS, Air, Job, Link, Person, Room, Task, Weekly
from scheduler.network import compile_job, horizon
from tests.benchmarks.bare import solve_bare
from tests.benchmarks.case import Case, Finish, Visits, working_days
from tests.benchmarks.household import main
from tests.benchmarks.stopwatch import Stopwatch
from tests.benchmarks.table import remarks, table

ROOT = Path(__file__).parents[1]
ZONE = "America/Toronto"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[str], Case]:
    """What the short form prints, and the one case that it keeps."""
    file = tmp_path_factory.mktemp("benchmark") / "figures.json"
    command = [sys.executable, "-m", "tests.benchmarks.household"]
    command += ["--sizes", "12", "--cases", "1", "--json", str(file)]
    printed = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    kept = json.loads(file.read_text(encoding="utf-8"))
    return printed.splitlines(), Case.from_json(json.dumps(kept["cases"][0]))


def cells(lines: list[str]) -> dict[str, str]:
    """The last column of every row, by its label."""
    rows = (re.fullmatch(r"(.*?)  +(\S.*)", line.strip()) for line in lines)
    return {row[1]: row[2] for row in rows if row}


def test_the_short_form_prints_a_table_of_80_columns_that_agrees_with_what_it_keeps(
    run: tuple[list[str], Case],
) -> None:
    lines, case = run
    row = cells(lines)
    assert max(map(len, lines)) <= 80
    assert row["median (worst)"] == "12 tasks"
    assert row["jobs with a plan, of those generated"] == "1 of 1"
    assert row["plan in all, without imports [s]"] == f"{case.total:.2f} ({case.total:.2f})"
    assert row["peak memory [MB]"] == f"{case.memory_mb:.0f}"
    assert lines[-1] == "the verifier finds nothing wrong in 1 plans"


def test_the_stages_of_a_measured_job_add_up_and_its_plan_is_proven_and_kept_to_its_bounds(
    run: tuple[list[str], Case],
) -> None:
    _, case = run
    assert set(case.seconds) - {"rest", "import of CP-SAT"} == {"import", "build", "finish", "tell"}
    assert all(seconds > 0 for seconds in case.seconds.values())
    inside = sum(s for stage, s in case.seconds.items() if not stage.startswith("import"))
    assert inside <= case.total
    assert 30 < case.memory_mb < 1000  # an interpreter with numpy at least; no leak of gigabytes
    assert case.finish is not None
    assert case.visits is not None
    assert case.proven
    assert 7 * 1440 < case.finish.elapsed < 90 * 1440  # a shower in evenings and weekends
    assert 0 < case.visits.bound <= case.visits.after <= case.visits.before
    assert case.breaches == 0
    assert case.bare_proven
    assert case.bare_seconds > 0


def test_the_command_fails_when_the_verifier_finds_a_plan_wrong(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = replace(CASE, breaches=2)
    monkeypatch.setattr("tests.benchmarks.household._measured", lambda _options: iter([wrong]))
    assert main([]) == 1
    assert "60 tasks, seed 4: the verifier finds 2 breaches" in capsys.readouterr().out


SECONDS = {"import": 0.25, "import of CP-SAT": 0.5, "build": 0.25, "finish": 0.75, "rest": 0.5,
           "tell": 0.25}  # fmt: skip
CASE = Case(
    seed=4,
    size=60,
    seconds=SECONDS,
    total=1.75,
    memory_mb=150.4,
    finish=Finish(50_000, 0, 0),
    visits=Visits(44, 39, 38),
    bare_seconds=0.25,
    bare_proven=True,
)
OPEN = replace(CASE, seed=5, finish=Finish(50_000, 1500, 1))
SLOW = replace(CASE, seed=6, seconds={**SECONDS, "finish": 1.75})
SKIPPED = {stage: s for stage, s in SECONDS.items() if stage not in {"rest", "import of CP-SAT"}}
EASY = replace(CASE, seed=7, seconds=SKIPPED)
NONE = Case(8, 60, {}, 9.0, 100.0, no_plan="no plan is possible: these rules cannot all be kept")


def test_the_table_takes_medians_over_the_jobs_with_a_plan_alone() -> None:
    row = cells(list(table([CASE, OPEN, SLOW, NONE])))
    assert row["jobs with a plan, of those generated"] == "3 of 4"
    assert row["solve to the earliest finish [s]"] == "0.75 (1.75)"
    assert [row[f"visits, {of}"] for of in ("as early as can be", "in the plan", "bound")] == [
        "44",
        "39",
        "38",
    ]
    assert row["build and solve to finish, ours / bare"] == "4.0"  # (0.25 + 0.75) / 0.25


def test_the_table_counts_what_is_proven_and_in_how_many_seconds_of_solving() -> None:
    row = cells(list(table([CASE, OPEN, SLOW, EASY])))
    assert row["finish proven"] == "3 of 4"
    assert row["in under 1 s of solving for it"] == "2 of 4"
    assert row["in under 2 s of solving for it"] == "3 of 4"
    assert row["in under 1 s, solving the rest too"] == "1 of 4"
    assert row["CP-SAT loaded"] == "3 of 4"


def test_a_size_without_any_plan_has_dashes_for_figures() -> None:
    row = cells(list(table([NONE])))
    assert row["jobs with a plan, of those generated"] == "0 of 1"
    assert row["finish proven"] == "-"


def test_what_is_not_proven_is_told_with_its_gap_and_what_has_no_plan_with_its_reason() -> None:
    told = list(remarks([CASE, OPEN, NONE]))
    assert told == [
        "60 tasks, seed 5: gap 1500 min, 3.0 % of the elapsed time, 1 working days",
        "60 tasks, seed 8: no plan is possible: these rules cannot all be kept",
        "the verifier finds nothing wrong in 2 plans",
    ]


def test_more_than_three_sizes_go_into_further_tables() -> None:
    lines = list(table([replace(CASE, size=size) for size in (10, 20, 30, 40)]))
    assert [line.split()[2] for line in lines if line.startswith("median")] == ["10", "40"]
    assert max(map(len, lines)) <= 80


def test_columns_stay_apart_however_slow_it_was() -> None:
    slow = replace(CASE, total=99.9, visits=Visits(1300, 1200, 1100))
    lines = list(table([replace(slow, size=size) for size in (100, 200, 300)]))
    assert {len(re.split(r"  +", line.strip())) for line in lines if line} == {4}


@pytest.mark.parametrize("case", [CASE, OPEN, NONE])
def test_a_case_comes_back_from_json_as_it_was(case: Case) -> None:
    assert Case.from_json(json.dumps(asdict(case))) == case


def ticks() -> Iterator[float]:
    """A clock that moves on a second each time it is looked at."""
    return map(float, range(1000))


def test_a_stage_inside_another_counts_for_itself_alone() -> None:
    watch = Stopwatch(ticks().__next__)
    with watch.stage("outer"):  # 0 to 5
        with watch.stage("inner"):  # 1 to 2
            pass
        with watch.stage("inner"):  # 3 to 4
            pass
    assert watch.seconds == {"outer": 3, "inner": 2}


def test_a_watched_function_is_counted_as_told_and_still_gives_its_answer() -> None:
    module = ModuleType("module")
    module.__dict__["double"] = lambda number: 2 * number
    watch = Stopwatch(ticks().__next__)
    watch.watch(module, "double", "doubling", when=lambda number: number > 1)
    assert [module.double(number) for number in (1, 2, 3)] == [2, 4, 6]
    assert watch.seconds == {"doubling": 2}
    assert watch.calls == {"doubling": (3,)}


def test_a_stage_that_fails_is_counted_too() -> None:
    watch = Stopwatch(ticks().__next__)
    with pytest.raises(ValueError, match="no"), watch.stage("failing"):
        raise ValueError("no")
    assert watch.seconds == {"failing": 1}


def job(tasks: tuple[Task, ...], count: int = 1, hours: tuple[Weekly, ...] = ALWAYS) -> Job:
    air = Air(23, 0.5)
    membrane = catalogue.product("membrane", "liquid-membrane")
    leveler = catalogue.product("leveler", "self-leveler")
    return Job(
        name="Small",
        timezone=ZONE,
        start=to_minute(datetime(2027, 1, 8), ZONE),  # noqa: DTZ001 (wall time)
        air=air,
        people={"me": Person("me", hours, count=count)},
        rooms={"bath": Room("bath", air)},
        products={"membrane": membrane, "leveler": leveler},
        tasks=tasks,
    )


def task(id_: str, work: int, *after: Link, applies: str | None = None) -> Task:
    return Task(id_, id_, work, ("me",), "bath", applies, after=after)


def test_the_bare_model_gives_one_person_one_task_at_a_time() -> None:
    tasks = (task("a", 60), task("b", 90), task("c", 30))
    assert solve_bare(job(tasks)).finish == 180
    assert solve_bare(job(tasks, count=2)).finish == 90


def test_the_bare_model_waits_by_the_label_and_keeps_to_windows() -> None:
    recoat = catalogue.product("membrane", "liquid-membrane").stage("recoat").minutes
    first = task("first", 60, applies="membrane")
    second = task("second", 45, Link("first", "recoat", within=recoat + 10))
    assert solve_bare(job((first, second))).finish == 60 + recoat + 45
    too_late = task("second", 45, Link("first", "recoat", within=recoat - 1))
    assert solve_bare(job((first, too_late))).finish is None


def test_the_bare_model_keeps_others_out_of_a_closed_room_until_the_label_says() -> None:
    walk = catalogue.product("leveler", "self-leveler").stage("walk").minutes
    pour = task("pour", 60, applies="leveler")
    paint = task("paint", 30, Link("pour"))
    assert solve_bare(job((pour, paint))).finish == 60 + walk + 30


def test_the_gap_in_working_days_counts_only_days_on_which_somebody_has_hours() -> None:
    saturdays = (Weekly(frozenset({5}), 9 * 60, 17 * 60),)
    small = job((task("a", 60),), hours=saturdays)
    network = compile_job(small, horizon(small, 60))
    noons = [to_minute(datetime(2027, 1, day, 12), ZONE) for day in (9, 15, 16, 23)]  # noqa: DTZ001
    # Saturday, Friday, Saturday, Saturday
    assert [working_days(network, a, b) for a, b in pairwise(noons)] == [0, 1, 1]
    assert working_days(network, noons[0], noons[0]) == 0
