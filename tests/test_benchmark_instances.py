"""The benchmark on public instances: files read, jobs made of them, both answers, all in small.

The instances are made here, in the two formats; the data sets themselves are nobody's to copy.
"""

import random
from itertools import product
from pathlib import Path

import pytest

from scheduler.model import Link
from tests.benchmarks.instances import Instance, best_known, job_of, read
from tests.benchmarks.psplib import Answer, Case, Until, bare, main, planned, sample

SM = """\
************************************************************************
file with basedata            : made.bas
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           5
   4        1          1           5
   5        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------------------------------------------------------------------
  1      1     0       0    0
  2      1     4       2    0
  3      1     3       2    1
  4      1     2       1    1
  5      1     0       0    0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1  R 2
    3    1
************************************************************************
"""
SCH = """\
2\t1\t0\t0
0\t1\t2\t1\t2\t[0]\t[0]
1\t1\t2\t2\t3\t[5]\t[3]
2\t1\t2\t1\t3\t[-{most}]\t[2]
3\t1\t0
0\t1\t0\t0
1\t1\t3\t2
2\t1\t2\t1
3\t1\t0\t0
2
"""


def made(folder: Path, name: str, text: str) -> Instance:
    file = folder / name
    file.write_text(text, encoding="ascii")
    return read(file)


def test_a_file_of_psplib_is_read(tmp_path: Path) -> None:
    assert made(tmp_path, "made.sm", SM) == Instance(
        name="made.sm",
        durations=(0, 4, 3, 2, 0),
        requests=((0, 0), (2, 0), (2, 1), (1, 1), (0, 0)),
        capacities=(3, 1),
        lags=((0, 1, 0), (0, 2, 0), (1, 3, 4), (2, 4, 3), (3, 4, 2)),
    )


def test_several_of_a_resource_are_held_at_once(tmp_path: Path) -> None:
    # 2 and 3 take four of the three there are, 3 and 4 two of one: one after another, 9 in all.
    instance = made(tmp_path, "made.sm", SM)
    ours, breaches = planned(instance, 5)
    assert (ours.makespan, ours.proven, breaches) == (9, True, 0)
    assert bare(instance, 5).makespan == ours.makespan


@pytest.mark.parametrize(("most", "makespan"), [(5, 7), (4, None)])
def test_least_and_greatest_lags_are_waits_and_windows(
    tmp_path: Path, most: int, makespan: int | None
) -> None:
    instance = made(tmp_path, "made.sch", SCH.format(most=most))
    links = job_of(instance).task["a2"].after
    assert {*links} == {Link("a0", wait=0), Link("a1", wait=2, within=most - 3)}
    ours, breaches = planned(instance, 5)
    assert (ours.makespan, ours.proven, breaches) == (makespan, True, 0)
    assert (bare(instance, 5).makespan, bare(instance, 5).proven) == (makespan, True)


def generated(seed: int) -> Instance:
    """Five activities of up to three minutes, two resources, lags forward and now and then back."""
    draw = random.Random(seed)
    inner = range(1, 6)
    durations = (0, *(draw.randint(1, 3) for _ in inner), 0)
    lags = [(0, j, 0) for j in inner] + [(j, 6, durations[j]) for j in inner]
    for i, j in [(i, j) for i, j in product(inner, inner) if i < j]:
        if draw.random() < 0.3:
            lags.append((i, j, draw.randint(0, 4)))
            if draw.random() < 0.4:
                lags.append((j, i, -draw.randint(4, 6)))
    requests = ((0, 0), *((draw.randint(0, 3), draw.randint(0, 2)) for _ in inner), (0, 0))
    return Instance(f"made {seed}", durations, requests, (3, 2), tuple(lags))


@pytest.mark.parametrize("seed", range(12))
def test_both_find_the_least_makespan_of_what_is_made_here(seed: int) -> None:
    instance = generated(seed)
    ours, breaches = planned(instance, 10)
    alone = bare(instance, 10)
    assert (ours.makespan, ours.proven, breaches) == (alone.makespan, True, 0)
    assert alone.proven


def test_gaps_are_to_the_best_known_or_found_of_instances_that_both_have_a_schedule_of() -> None:
    none = Answer(None, True, 1)
    assert Case("one", (90, 100), Answer(105, False, 5), Answer(110, False, 5), 0).gaps == (5, 10)
    assert Case("two", (0, 100), Answer(80, True, 1), Answer(84, False, 5), 0).gaps == (0, 5)
    assert Case("three", (0, 100), Answer(80, True, 1), Answer(None, False, 5), 0).gaps is None
    assert Case("none", None, none, none, 0).gaps is None


def test_a_watch_has_enough_at_its_time_or_once_the_makespan_is_proven() -> None:
    seconds = iter([10, 11, 14, 16])
    watch = Until(5, lambda: next(seconds))
    assert [watch.enough(), watch.enough(), watch.enough()] == [False, False, True]
    watch = Until(5, lambda: 0.0)
    watch.found(20)
    watch.bounded(19)
    assert not watch.enough()
    watch.bounded(20)
    assert watch.enough()


def test_a_sample_is_taken_in_the_order_of_numbers(tmp_path: Path) -> None:
    for name in ("j10_1.sm", "j2_1.sm", "j3_1.sm", "j1_1.sm", "j1_2.sm"):
        (tmp_path / name).write_text("", encoding="ascii")
    assert [path.name for path in sample(tmp_path, "*_1.*", 2)] == ["j1_1.sm", "j3_1.sm"]
    assert [path.name for path in sample(tmp_path, "*", 3)] == ["j1_1.sm", "j3_1.sm"]


def test_the_command_prints_a_row_for_each_set(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "tiny").mkdir()
    (tmp_path / "tiny" / "made.sm").write_text(SM, encoding="ascii")
    (tmp_path / "tiny" / "none.sch").write_text(SCH.format(most=4), encoding="ascii")
    (tmp_path / "best_tiny.csv").write_text("problem,optimum\nmade.sm,..9\nnone.sch,unsat\n")
    assert best_known(tmp_path / "best_tiny.csv") == {"made.sm": (0, 9), "none.sch": None}
    command = [str(tmp_path), "--sets", "tiny", "--every", "1", "--limit", "5"]
    for clock in ("wall", "processor"):
        assert main([*command, "--clock", clock]) == 0
        *_, row, last = capsys.readouterr().out.splitlines()
        cells = row.split()
        assert cells[:8] == ["tiny", "5", "s", "2", "1", "0.00", "2", "1"]
        assert cells[9:12] == ["0.00", "2", "1"]
        assert len(row) <= 80
        assert last == "the verifier finds nothing wrong"
