"""The shipped example jobs: the order of work in them, as the trade does it."""

from pathlib import Path

import networkx as nx
import pytest

from scheduler.clock import to_local
from scheduler.jobfile import parse
from scheduler.model import Job
from tests.support.planned import verified

FOLDER = Path(__file__).parents[1] / "examples"
EXAMPLES = ("larch-row.yaml", "small-floor.yaml", "basin.yaml")
TWO_HOUSES = ("hall-floor.yaml", "guest-bath.yaml")


def job(name: str) -> Job:
    return parse((FOLDER / name).read_bytes(), name)


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_parses_and_points_editors_at_the_schema(name: str) -> None:
    first = (FOLDER / name).read_text(encoding="utf-8").splitlines()[0]
    assert first == "# yaml-language-server: $schema=./job.schema.json"
    assert job(name).tasks


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_speaks_of_the_dangers(name: str) -> None:
    # 29 CFR 1926.1153 (silica), 40 CFR 61 Subpart M (asbestos), NEC 210.8 (GFCI).
    text = (FOLDER / name).read_text(encoding="utf-8").lower()
    for word in ("label", "code", "licensed", "silica", "asbestos", "gfci"):
        assert word in text


@pytest.mark.parametrize("name", TWO_HOUSES)
def test_an_example_of_several_points_editors_at_the_schema_and_speaks_of_dangers(
    name: str,
) -> None:
    text = (FOLDER / "two-houses" / name).read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=../job.schema.json\n")
    # 29 CFR 1926.1153 (silica), 40 CFR 61 Subpart M (asbestos), NEC 210.8 (GFCI).
    for word in ("label", "code", "licensed", "silica", "asbestos", "gfci"):
        assert word in text.lower()


ORDER = [
    # Common practice, no published source, unless said.
    ("samples", "strip", "nothing is broken out before the asbestos results (40 CFR 61)"),
    ("framing", "rough-plumbing", "pipes run through sound framing"),
    ("rough-plumbing", "rough-inspection", "the inspector sees the pipes"),
    ("rough-electrics", "rough-inspection", "the inspector sees the wires"),
    ("rough-inspection", "board", "nothing is covered before it has passed"),
    ("rough-inspection", "drywall", "nothing is covered before it has passed"),
    ("pan", "board", "board stands over the pan's rim"),
    ("board", "joints", "joints are taped once boards hang"),
    ("joints", "coat-1", "the membrane goes over filled joints"),
    ("coat-1", "coat-2", "two coats"),
    ("coat-2", "flood-fill", "the finished membrane is tested (ASTM D5957)"),
    ("flood-test", "flood-passed", "the level is read after the test"),
    ("flood-passed", "wall-tile", "no tile over an untested pan"),
    ("flood-passed", "pan-tile", "no tile over an untested pan"),
    ("pour", "floor-tile", "tile goes on a flat floor"),
    ("sand", "floor-prime", "no sanding dust on a primer"),
    ("mud-3", "sand", "sanded once, at the end"),
    ("sand", "prime-walls", "primer goes on sanded compound"),
    ("paint-2", "floor-tile", "paint before the floor is tiled"),
    ("wall-tile", "shower-grout", "grout follows tile"),
    ("shower-grout", "sealing", "silicone follows grout"),
    ("floor-grout", "fixtures", "fittings stand on a finished floor"),
    ("final-inspection", "first-shower", "inspected before use"),
]


@pytest.mark.parametrize(("earlier", "later", "why"), ORDER)
def test_larch_row_is_built_in_the_order_of_the_trade(earlier: str, later: str, why: str) -> None:
    graph = nx.DiGraph((link.task, t.id) for t in job("larch-row.yaml").tasks for link in t.after)
    assert nx.has_path(graph, earlier, later), why


def test_larch_row_is_one_owners_job_with_two_trades_and_an_inspector() -> None:
    larch_row = job("larch-row.yaml")
    assert set(larch_row.people) == {"me", "plumber", "electrician", "inspector"}
    assert len(larch_row.tasks) >= 22


def test_larch_row_stops_at_every_inspection_and_test() -> None:
    held = {task.id for task in job("larch-row.yaml").tasks if task.hold}
    assert held == {"samples", "rough-inspection", "flood-passed", "final-inspection"}


def test_water_waits_for_both_grouts_and_the_silicone() -> None:
    first_shower = job("larch-row.yaml").task["first-shower"]
    waits = {(link.task, link.stage) for link in first_shower.after if link.stage}
    assert waits == {("shower-grout", "water"), ("floor-grout", "water"), ("sealing", "water")}


def test_the_flood_test_stands_24_h_and_at_most_48() -> None:
    # ASTM D5957: 24 h at least (from memory); over 48 h is out of its scope (read).
    larch_row = job("larch-row.yaml")
    stands = larch_row.task["flood-test"].work
    (link,) = larch_row.task["flood-passed"].after
    assert stands == 24 * 60
    assert stands + (link.within or 0) <= 48 * 60


def test_the_windows_of_membrane_and_floor_primer_reach_the_tasks_that_must_keep_them() -> None:
    # From memory: data sheets, next coat and pour within 24 h.
    larch_row = job("larch-row.yaml")
    for later, earlier in (("coat-2", "coat-1"), ("pour", "floor-prime")):
        (link,) = larch_row.task[later].after
        assert (link.task, link.stage, link.within) == (earlier, "recoat", 24 * 60)


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_has_a_plan_that_keeps_every_rule_and_its_date_and_is_proven(name: str) -> None:
    example = job(name)
    plan = verified(example)
    assert plan.proven_earliest
    assert example.finish_by is not None
    assert plan.finish <= example.finish_by


def test_the_small_floor_is_one_persons_weekend() -> None:
    floor = job("small-floor.yaml")
    plan = verified(floor)
    assert set(floor.people) == {"me"}
    days = {f"{to_local(m, floor.timezone):%a}" for t in plan.tasks for m, _ in t.sessions}
    assert days == {"Fri", "Sat", "Sun"}
