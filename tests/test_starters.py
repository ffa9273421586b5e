"""Starters: answers to job files that parse, plan and keep to the order of the trade."""

from collections.abc import Iterator, Mapping
from functools import cache
from itertools import product

import networkx as nx
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.catalogue import classes
from scheduler.errors import BadFile, BadInput
from scheduler.jobfile import parse
from scheduler.model import Job, Task
from scheduler.planner import plan_job
from scheduler.rates import goods, rates
from scheduler.shopping.needs import taken
from scheduler.solve import Effort
from scheduler.starters import read_answers, starters, write
from scheduler.starters.answers import ANSWERS
from scheduler.starters.draft import PEOPLE
from scheduler.starters.facts import Facts
from scheduler.starters.files import RatedWork, TaskPart, parts, shared
from scheduler.starters.sizes import sizes
from scheduler.starters.yamltext import scalar
from scheduler.verify import check
from scheduler.yamlform.tree import Block

SUPPOSED = {"timezone": "America/Toronto", "start": "2027-01-09 9:00"}  # a Saturday
QUICK = Effort(tries=10, finish=0.3, visits=0.0, early=0.0)
WET = ("tiled-shower", "tub-surround", "whole-bathroom", "steam-shower")
BUILT_PAN = ("tiled-shower", "whole-bathroom", "steam-shower")


def answered(what: str, **answers: str) -> Mapping[str, str]:
    """Those of the answers that the starter asks for."""
    asks = (*starters()[what].asks, *shared().asks, "units")
    return {"what": what} | {key: text for key, text in answers.items() if key in asks}


@cache
def written(*answers: tuple[str, str]) -> str:
    return write(read_answers(None, "", dict(answers), SUPPOSED))


@cache
def parsed(*answers: tuple[str, str]) -> Job:
    return parse(written(*answers).encode(), "job.yaml")


def text_of(what: str, **answers: str) -> str:
    return written(*answered(what, **answers).items())


def job_of(what: str, **answers: str) -> Job:
    return parsed(*answered(what, **answers).items())


def graph_of(job: Job) -> "nx.DiGraph[str]":
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(job.task)
    graph.add_edges_from((link.task, task.id) for task in job.tasks for link in task.after)
    return graph


def waits_for(job: Job, task: str, other: str, stage: str) -> bool:
    return any(link.task == other and link.stage == stage for link in job.task[task].after)


# ------------------------------------------------------------------------- the order of the trade

CHOICES = {
    "pan": ("ready", "liner", "membrane"),
    "membrane": ("liquid", "sheet"),
    "joints": ("rapid-cement", "setting-compound"),
    "floor": ("underlay", "board", "none"),
    "wet_floor": ("yes", "no"),
    "walls": ("new", "paint", "leave"),
    "inspections": ("yes", "no"),
}


def combinations() -> Iterator[tuple[str, dict[str, str]]]:
    """Every combination of the answers that change which tasks there are, by starter."""
    for what, starter in starters().items():
        keys = [key for key in CHOICES if key in starter.asks and key not in starter.allows]
        for words in product(*(CHOICES[key] for key in keys)):
            extras = {"bench": "yes", "niche": "yes", "household": "yes"}
            yield what, {**extras, **dict(zip(keys, words, strict=True))}


ALL_JOBS = list(combinations())

ORDER = [
    # Common practice of the trade, no published source, unless said.
    ("samples", "strip", "nothing is broken out before the asbestos results (40 CFR 61)"),
    ("samples", "strip-floor", "nothing is broken out before the asbestos results (40 CFR 61)"),
    ("samples", "scuff", "old glaze may hold lead (40 CFR 745)"),
    ("framing", "rough-plumbing", "pipes run through sound framing"),
    ("bench", "rough-inspection", "the frame of the bench is seen"),
    ("rough-electrics", "rough-inspection", "the inspector sees the wires"),
    ("rough-inspection", "board", "nothing is covered before it has passed"),
    ("rough-check", "board", "nothing is covered before it was looked over"),
    ("rough-inspection", "drywall", "nothing is covered before it has passed"),
    ("pan", "board", "board stands over the pan's flange"),
    ("board", "joints", "joints are filled once boards hang"),
    ("board-ceiling", "joints", "joints of the ceiling, too"),
    ("film", "flange-gap", "nothing sticks to film"),
    ("film", "coat-1", "the plastic off the pan's flange before membrane"),
    ("film", "sheet", "the plastic off the pan's flange before membrane"),
    ("flange-gap", "coat-1", "the gap above the flange is taped and filled"),
    ("flange-gap", "sheet", "the gap above the flange is taped and filled"),
    ("joints", "coat-1", "joints filled before coating"),
    ("joints", "sheet", "joints filled before the sheet"),
    ("skim", "coat-1", "old joints filled before coating"),
    ("coat-1", "coat-2", "two coats"),
    ("pre-slope", "liner", "the liner lies on a slope (IRC P2709)"),
    ("liner", "flood-fill", "the liner is tested (IPC 312.9)"),
    ("flood-test", "flood-passed", "the level is read after the test"),
    ("flood-passed", "wall-tile", "no tile over an untested pan"),
    ("flood-passed", "pan-tile", "no tile over an untested pan"),
    ("flood-passed", "top-bed", "no bed over an untested liner"),
    ("flood-passed", "subfloor", "a leak would mean opening the floor again"),
    ("board", "top-bed", "the bed holds the foot of the boards"),
    ("coat-2", "wall-tile", "tile over the finished membrane"),
    ("sheet", "wall-tile", "tile over the finished membrane"),
    ("coat-2", "ceiling-tile", "tile over the finished membrane"),
    ("floor-prime", "pour", "primer before underlay (ASTM F3191 practice)"),
    ("subfloor", "floor-prime", "the floor is stiff and closed before the primer"),
    ("pour", "floor-tile", "underlay before tile"),
    ("floor-board", "floor-tile", "board before tile"),
    ("pour", "floor-coat-1", "the membrane goes on the flat floor"),
    ("floor-coat-2", "floor-tile", "the floor's membrane before tile"),
    ("floor-sheet", "floor-tile", "the floor's membrane before tile"),
    ("sand", "floor-prime", "no sanding dust on a primer"),
    ("sand", "prime-walls", "primer goes on sanded compound"),
    ("prime-walls", "wall-tile", "only on a backsplash"),
    ("wall-tile", "shower-grout", "grout follows tile"),
    ("niche-tile", "shower-grout", "grout follows tile"),
    ("bench-tile", "shower-grout", "grout follows tile"),
    ("pan-tile", "shower-grout", "grout follows tile"),
    ("shower-grout", "sealing", "changes of plane in sealant, after the grout (TCNA EJ171)"),
    ("floor-grout", "floor-sealing", "changes of plane in sealant, after the grout (TCNA EJ171)"),
    ("grout", "sealing", "changes of plane in sealant, after the grout (TCNA EJ171)"),
    ("final-inspection", "first-shower", "inspected before use"),
    ("sealing", "first-shower", "sealed before use"),
]  # fmt: skip


def test_every_starter_builds_in_the_order_of_the_trade_whatever_is_chosen() -> None:
    seen: set[tuple[str, str]] = set()
    for what, answers in ALL_JOBS:
        graph = graph_of(job_of(what, **answers))
        for earlier, later, why in ORDER:
            if graph.has_node(earlier) and graph.has_node(later):
                if (earlier, later) == ("prime-walls", "wall-tile") and what in WET:
                    continue
                assert nx.has_path(graph, earlier, later), (what, answers, why)
                seen.add((earlier, later))
    assert seen == {(earlier, later) for earlier, later, _ in ORDER}


def test_every_task_leads_to_the_end_and_none_starts_before_the_room_is_cleared() -> None:
    for what, answers in ALL_JOBS:
        job = job_of(what, **answers)
        graph = graph_of(job)
        last = job.tasks[-1].id
        assert set(graph) == nx.ancestors(graph, last) | {last}, (what, answers)
        first = {task.id for task in job.tasks if not task.after}
        assert first == {"samples", "other-bath"} - ({"other-bath"} - set(job.task))


def test_tasks_stand_in_an_order_in_which_they_can_be_done() -> None:
    for what, answers in ALL_JOBS:
        seen: set[str] = set()
        for task in job_of(what, **answers).tasks:
            assert {link.task for link in task.after} <= seen, (what, task.id)
            seen.add(task.id)


def test_what_waits_for_a_product_names_the_stage_that_it_needs() -> None:
    # A plain link from a coat or a pour would let tile follow at once.
    needs = {
        ("wall-tile", "coat-2"): "tile", ("wall-tile", "sheet"): "tile",
        ("coat-2", "coat-1"): "recoat", ("pour", "floor-prime"): "recoat",
        ("pan-tile", "top-bed"): "tile", ("floor-tile", "pour"): "tile",
        ("shower-grout", "wall-tile"): "grout", ("floor-grout", "floor-tile"): "grout",
        ("sealing", "shower-grout"): "set", ("paint-1", "prime-walls"): "recoat",
        ("first-shower", "sealing"): "water", ("first-shower", "shower-grout"): "water",
        ("coat-1", "flange-gap"): "recoat", ("liner", "pre-slope"): "walk",
        ("board", "pan"): "walk",
    }  # fmt: skip
    seen = set()
    for what, answers in ALL_JOBS:
        job = job_of(what, **answers)
        for (task, other), stage in needs.items():
            if {task, other} <= set(job.task) and other in {x.task for x in job.task[task].after}:
                assert waits_for(job, task, other, stage), (what, answers, task, other)
                seen.add((task, other))
    assert seen == set(needs)


def test_a_coat_waits_until_setting_compound_is_dry_and_not_only_set() -> None:
    # ASTM C475 setting types harden by themselves; the water leaves later (trade article, read).
    job = job_of("tiled-shower", joints="setting-compound")
    assert waits_for(job, "coat-1", "joints", "paint")
    assert waits_for(job_of("tiled-shower"), "coat-1", "joints", "recoat")


@pytest.mark.parametrize("what", BUILT_PAN)
@pytest.mark.parametrize("pan", ["liner", "membrane"])
def test_a_built_pan_is_flooded_for_a_day_and_held_until_it_has_passed(what: str, pan: str) -> None:
    # ASTM D5957: 24 h of water at least and no more than 48 h; not in the first 24 h.
    job = job_of(what, pan=pan)
    assert job.task["flood-passed"].hold
    assert job.task["flood-test"].work == 24 * 60
    (read,) = job.task["flood-passed"].after
    assert (read.task, read.within) == ("flood-test", 24 * 60)
    (fill,) = job.task["flood-fill"].after
    assert (fill.task, fill.stage, fill.wait) == (
        ("liner", None, 24 * 60) if pan == "liner" else ("coat-2", "flood", 0)
    )


@pytest.mark.parametrize("what", WET)
def test_a_ready_pan_or_a_tub_has_its_film_peeled_and_its_gap_filled(what: str) -> None:
    job = job_of(what, pan="ready")
    assert {"film", "flange-gap"} <= set(job.task)
    assert "flood-test" not in job.task
    applied = job.product_of(job.task["flange-gap"])
    assert applied is not None
    assert applied.class_name == "rapid-joint-cement"  # never gypsum in the wet


def test_a_steam_shower_is_coated_on_every_wall_and_the_ceiling() -> None:
    # TCNA practice for steam rooms (from memory): all surfaces are waterproofed. 5 x 3 ft, 8 ft
    # high: back and sides 11 x 8 = 88 sq ft; front 5 x 8 less a door of 28 x 78 in, 24.9; ceiling
    # 15; pan 15; bench 36 x (15 + 18.1) in, 8.2.
    sizes_ = {"width": "5 ft", "depth": "3 ft", "ceiling_height": "8 ft"}
    job = job_of("steam-shower", **sizes_, pan="membrane", bench="yes")
    coat = job.task["coat-1"].quantity
    assert coat is not None
    assert coat.size / 0.09290304 == pytest.approx(88 + 24.9 + 15 + 15 + 8.2, abs=1.0)
    assert "every wall and the ceiling" in job.task["coat-1"].name
    assert {"board-ceiling", "ceiling-tile"} <= set(job.task)
    sheet = job_of("steam-shower", **sizes_, membrane="sheet").task["sheet"]
    assert "every wall and the ceiling" in sheet.name


def test_changes_of_plane_are_sealed_and_the_grout_keeps_out_of_them() -> None:
    # TCNA EJ171: sealant at the perimeter and at every change of plane.
    for what in starters():
        job = job_of(what)
        sealed = [t for t in job.tasks if t.applies == "silicone"]
        grouted = [t for t in job.tasks if t.rate == "grout"]
        assert sealed
        assert grouted
        assert all("changes of plane are for sealant" in " ".join(t.notes.split()) for t in grouted)


def test_large_tile_over_a_membrane_waits_two_days_for_its_grout() -> None:
    # TileLetter quoting the TCNA Handbook, read: 8 x 8 in and larger, days rather than 24 h.
    def grout_after(tile: str) -> int:
        job = job_of("tiled-shower", tile=tile)
        return job.products["thinset"].stage("grout").minutes

    assert grout_after("12 in x 24 in") == 48 * 60
    assert grout_after("4 in x 12 in") == 24 * 60


def test_a_thick_underlay_takes_a_day_for_each_eighth_of_an_inch_before_tile() -> None:
    # Common practice, no published source; the class's own 24 h are for 1/8 in.
    def tile_after(thickness: str) -> int:
        job = job_of("bathroom-floor", thickness=thickness)
        return job.products["underlay"].stage("tile").minutes

    assert tile_after("1/8 in") == 24 * 60
    assert tile_after("1/4 in") == 48 * 60
    assert tile_after("10 mm") == 76 * 60
    # What is shown of 1/4 in to a metric reader, who gives no thickness, costs no hour more.
    assert tile_after("6.4 mm") == 48 * 60


def test_old_houses_begin_with_samples_and_new_ones_do_not() -> None:
    for year, there in (("unknown", True), ("1962", True), ("1989", True), ("1990", False)):
        assert ("samples" in job_of("tiled-shower", year_built=year).task) is there


def test_holds_are_tasks_to_keep_or_delete_and_say_that_codes_differ() -> None:
    for what, answers in ALL_JOBS:
        for task in job_of(what, **answers).tasks:
            if "inspection" in task.id or task.id in {"flood-passed", "rough-check"}:
                assert task.hold, task.id
                assert "Codes differ by place and year" in " ".join(task.notes.split()), task.id


# ---------------------------------------------------------------------------- plans and units

SIZES = (
    {"width": "30 in", "depth": "30 in", "ceiling_height": "7 ft", "tile_to": "4 ft",
     "floor_length": "4 ft", "floor_width": "3 ft", "splash_length": "4 ft",
     "splash_height": "6 in", "thickness": "1/8 in"},
    {"width": "5 ft", "depth": "3 ft", "ceiling_height": "8 ft", "tile_to": "head",
     "floor_length": "8 ft", "floor_width": "5 ft", "splash_length": "10 ft",
     "splash_height": "18 in", "thickness": "1/4 in"},
    {"width": "8 ft", "depth": "5 ft", "ceiling_height": "10 ft", "tile_to": "ceiling",
     "floor_length": "14 ft", "floor_width": "10 ft", "splash_length": "22 ft",
     "splash_height": "24 in", "thickness": "1/2 in"},
)  # fmt: skip
FOUR = (
    {"substrate": "cement-board", "membrane": "liquid", "pan": "ready", "floor": "underlay"},
    {"substrate": "gypsum-backer", "membrane": "liquid", "pan": "membrane", "floor": "board"},
    {"substrate": "foam-board", "membrane": "sheet", "pan": "liner", "floor": "none"},
    {"substrate": "cement-board", "membrane": "sheet", "pan": "membrane", "floor": "underlay",
     "wet_floor": "yes"},
)  # fmt: skip
IN_METRES = {
    "30 in": "762 mm", "7 ft": "2133.6 mm", "4 ft": "1.2192 m", "3 ft": "914.4 mm",
    "6 in": "152.4 mm",
    "1/8 in": "3.175 mm", "5 ft": "1.524 m", "8 ft": "2.4384 m", "10 ft": "3.048 m",
    "18 in": "457.2 mm", "1/4 in": "6.35 mm", "14 ft": "4.2672 m", "22 ft": "6.7056 m",
    "24 in": "609.6 mm", "1/2 in": "12.7 mm",
}  # fmt: skip


def allowed(what: str, answers: Mapping[str, str]) -> dict[str, str]:
    """The answers, with the first allowed word where a starter doesn't allow theirs."""
    allows = starters()[what].allows
    return {
        key: allows[key].words[0] if key in allows and text not in allows[key].words else text
        for key, text in answers.items()
    }


def metric(answers: Mapping[str, str]) -> dict[str, str]:
    return {key: IN_METRES.get(text, text) for key, text in answers.items()} | {"units": "metric"}


ROUNDING = 45
"""[min] A bead of 1/8 in is 3.2 mm, a label's 70 F 21.11 C; everything else is exact."""


@pytest.mark.parametrize("what", list(starters()))
@pytest.mark.parametrize("size", range(3))
def test_a_starter_plans_and_verifies_in_both_units(what: str, size: int) -> None:
    for choice in FOUR:
        answers = allowed(what, {**SIZES[size], **choice, "temperature": "68 F"})
        job, twin = job_of(what, **answers), job_of(what, **metric(answers))
        assert (job.units, twin.units) == ("imperial", "metric")
        plan, other = plan_job(job, QUICK), plan_job(twin, QUICK)
        assert check(job, plan) == ()
        assert check(twin, other) == ()
        if plan.proven_earliest and other.proven_earliest:
            assert abs(plan.finish - other.finish) <= ROUNDING


@pytest.mark.parametrize("what", list(starters()))
def test_units_change_no_date_by_more_than_the_rounding(what: str) -> None:
    answers = allowed(what, {**SIZES[1], **FOUR[0], "temperature": "68 F", "humidity": "50 %"})
    plan = plan_job(job_of(what, **answers))
    other = plan_job(job_of(what, **metric(answers)))
    for task in plan.tasks:
        assert abs(task.start - other.task[task.id].start) <= ROUNDING, task.id
        assert abs(task.finish - other.task[task.id].finish) <= ROUNDING, task.id


def test_units_change_nothing_else_than_how_things_are_written() -> None:
    for what, (size, choice) in product(starters(), product(SIZES, FOUR)):
        answers = allowed(what, {**size, **choice})
        job, twin = job_of(what, **answers), job_of(what, **metric(answers))
        for task, other in zip(job.tasks, twin.tasks, strict=True):
            assert (task.id, task.work, task.who, task.after, task.split) == (
                other.id, other.work, other.who, other.after, other.split
            )  # fmt: skip
        for id_, product_ in job.products.items():
            for stage in product_.stages:
                same = pytest.approx(stage.minutes, rel=0.02)
                assert twin.products[id_].stage(stage.name).minutes == same


@pytest.mark.parametrize("what", list(starters()))
def test_a_written_file_reads_well(what: str) -> None:
    for answers in (FOUR[0], FOUR[2]):
        for units in ("imperial", "metric"):
            text = text_of(what, **allowed(what, answers), units=units)
            lines = text.splitlines()
            assert max(map(len, lines)) <= 100
            assert lines[0].startswith(f"# {starters()[what].title}: ")
            assert not any(line != line.rstrip() for line in lines)
            assert "|" not in text
            assert text.count("tasks:") == 1
            assert all(task.name[0].isupper() for task in job_of(what).tasks)


def test_a_metric_file_has_no_feet_and_inches_in_it_and_the_other_no_metres() -> None:
    for what in starters():
        metres = text_of(what, units="metric", pan="liner").split("job:", 1)[1]
        feet = text_of(what, units="imperial", pan="liner").split("job:", 1)[1]
        for word in (" ft", " sq ft", " lb", " in deep", " in ", "/4 in", " F "):
            assert word not in metres.replace(" in ", " ", 99), word
        for word in (" m2", " mm", " kg", " cm", " C "):
            assert word not in feet, word


# --------------------------------------------------------------------------------- any answers


def lengths(least: int, most: int) -> st.SearchStrategy[str]:
    """Sizes [mm] in either unit."""
    return st.integers(least, most).flatmap(
        lambda mm: st.sampled_from([f"{mm} mm", f"{mm / 1000} m", f"{mm // 25.4 + 1:.0f} in"])
    )


SIDES = st.integers(10, 1200)
ANY = {
    "units": st.sampled_from(["imperial", "metric"]),
    "width": lengths(650, 3900), "depth": lengths(650, 3900),
    "ceiling_height": lengths(1950, 3900),
    "tile_to": st.sampled_from(["head", "ceiling", "4 ft", "1.5 m"]),
    "bench": st.sampled_from(["yes", "no"]), "niche": st.sampled_from(["yes", "no"]),
    "pan": st.sampled_from(["ready", "liner", "membrane"]),
    "substrate": st.sampled_from(["cement-board", "gypsum-backer", "foam-board"]),
    "joints": st.sampled_from(["rapid-cement", "setting-compound"]),
    "membrane": st.sampled_from(["liquid", "sheet"]),
    "floor_length": lengths(650, 7800), "floor_width": lengths(650, 4000),
    "floor": st.sampled_from(["underlay", "board", "none"]),
    "thickness": st.integers(4, 38).map("{} mm".format),
    "wet_floor": st.sampled_from(["yes", "no"]),
    "tile": st.tuples(SIDES, SIDES).map(lambda s: f"{s[0]} x {s[1]} mm"),
    "floor_tile": st.tuples(SIDES, SIDES).map(lambda s: f"{s[0]} mm x {s[1]} mm"),
    "joint": st.integers(1, 12).map("{} mm".format),
    "walls": st.sampled_from(["new", "paint", "leave"]),
    "splash_length": lengths(320, 15000), "splash_height": lengths(80, 1500),
    "skill": st.sampled_from(["beginner", "handy", "trade"]),
    "hours": st.sampled_from(["mon-fri 18:00-21:30, sat-sun 9:00-17:00", "daily 7:00-19:00",
                              "mon-fri 8:00-17:00", "always", "sat-sun 8:00-20:00"]),
    "trade_hours": st.sampled_from(["mon-fri 8:00-16:00", "weekdays 7:30-17:00"]),
    "household": st.sampled_from(["yes", "no"]), "inspections": st.sampled_from(["yes", "no"]),
    "year_built": st.sampled_from(["unknown", "1900", "1985", "2015"]),
    "temperature": st.sampled_from(["unknown", "62 F", "20 C"]),
    "humidity": st.sampled_from(["unknown", "45 %", "60 %"]),
    "start": st.sampled_from(["2027-01-09", "2027-03-13 18:00", "2027-10-30"]),
    "job": st.text(max_size=30).filter(lambda t: any(c.isprintable() and c != " " for c in t)),
}  # fmt: skip


@st.composite
def answer_sets(draw: st.DrawFn) -> dict[str, str]:
    what = draw(st.sampled_from(list(starters())))
    asks = [key for key in ANY if key in (*starters()[what].asks, *shared().asks, "units")]
    chosen = {key: draw(ANY[key]) for key in asks if draw(st.booleans())}
    return {"what": what} | allowed(what, chosen)


@settings(max_examples=200, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(answer_sets())
def test_any_answers_give_a_valid_job_file(answers: dict[str, str]) -> None:
    job = parse(written(*answers.items()).encode(), "any.yaml")
    assert job.tasks
    assert nx.is_directed_acyclic_graph(graph_of(job))
    assert all(task.rate in rates() for task in job.tasks if task.rate)


@settings(max_examples=12, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(answer_sets())
def test_any_answers_give_a_job_that_plans_and_verifies(answers: dict[str, str]) -> None:
    text = written(*{**answers, "hours": "daily 7:00-21:00", "skill": "handy"}.items())
    job = parse(text.encode(), "any.yaml")
    assert check(job, plan_job(job, QUICK)) == ()


# ------------------------------------------------------------------------------------- nonsense

NONSENSE = [
    ({"width": "0 ft"}, "'width' must be a length from 2 ft to 13 ft"),
    ({"width": "-5 ft"}, "'width' must be a length from 2 ft to 13 ft"),
    ({"depth": "900 ft"}, "'depth' must be a length from 2 ft to 13 ft"),
    ({"depth": "5"}, "'depth' must be a length from 2 ft to 13 ft"),
    ({"ceiling_height": "3 mm"}, "'ceiling_height' must be a length from 6 ft to 13 ft"),
    ({"tile_to": "9 ft"}, "'tile_to' must be at most the height of the walls, 8 ft"),
    ({"tile_to": "the sky"}, "'tile_to' must be a height such as 4 ft or 1.2 m, or head"),
    ({"tile": "12 in"}, "'tile' must be the two sides of a tile"),
    ({"tile": "0 in x 9 in"}, "'tile' must be the two sides of a tile"),
    ({"joint": "2 in"}, "'joint' must be a length from 1/32 in to 1/2 in"),
    ({"pan": "redy"}, "did you mean 'ready'?"),
    ({"niche": "perhaps"}, "'niche' must be yes or no"),
    ({"year_built": "old"}, "'year_built' must be a year such as 1962, or unknown"),
    ({"temperature": "warm"}, "or unknown (found 'warm')"),
    ({"hours": "whenever"}, "'hours' must be days such as mon"),
    ({"start": "tomorrow"}, "'start' must be a date such as 2027-01-08"),
    ({"timezone": "Toronto"}, "did you mean 'America/Toronto'?"),
    ({"walls": "new"}, "'walls' says nothing for tiled shower; it asks for width"),
    ({"widht": "5 ft"}, "unknown answer 'widht'; did you mean 'width'"),
    ({"what": "tiled-showr"}, "did you mean 'tiled-shower'"),
    ({"what": "steam-shower", "joints": "setting-compound"}, "gypsum goes soft in steam"),
    ({"what": "steam-shower", "tile_to": "head"}, "steam reaches every wall and the ceiling"),
    ({"what": "bathroom-floor", "thickness": "1 ft"}, "'thickness' must be a length from 1/8 in"),
    ({"what": "bathroom-floor", "floor_length": "26 ft", "floor_width": "26 ft",
      "hours": "sat 9:00-11:00"}, "must go on in one go, but me has 2 h at most"),
]  # fmt: skip


@pytest.mark.parametrize(("answers", "said"), NONSENSE)
def test_nonsense_gets_a_clear_answer(answers: dict[str, str], said: str) -> None:
    with pytest.raises(BadInput) as told:
        write(read_answers(None, "", {"what": "tiled-shower", **answers}, SUPPOSED))
    assert said in str(told.value)


def test_an_answers_file_is_told_all_its_mistakes_with_line_and_column() -> None:
    content = b"what: tiled-shower\nwidth: 5 foo\npan: redy\nwalls: new\nwidht: 5 ft\n"
    with pytest.raises(BadFile) as told:
        read_answers(content, "answers.yaml", {}, SUPPOSED)
    places = [(problem.line, problem.column) for problem in told.value.problems]
    assert places == [(2, 8), (3, 6), (4, 1), (5, 1)]
    assert "did you mean 'width'" in str(told.value)


@pytest.mark.parametrize(
    "content", [b"", b"- a\n", b"what: [a]\n", b"what:\n", b"\0\0", b"what: &a x\n", b"\xff\xfe"]
)
def test_a_file_without_answers_is_told_so(content: bytes) -> None:
    with pytest.raises(BadFile, match=r"^answers\.yaml:1:"):
        read_answers(content, "answers.yaml", {}, SUPPOSED)


def test_without_a_time_zone_it_is_asked_for() -> None:
    with pytest.raises(BadInput, match="timezone"):
        read_answers(None, "", {"what": "tiled-shower"}, {})


def test_options_beat_the_file_and_the_file_beats_the_starter() -> None:
    content = b"what: tub-surround\nwidth: 6 ft\ndepth: 32 in\n"
    answers = read_answers(content, "a.yaml", {"width": "1500 mm"}, SUPPOSED)
    assert answers.width == 1500
    assert answers.depth == pytest.approx(812.8)
    assert answers.tile_to == "head"  # the starter's own
    assert answers.ceiling_height == pytest.approx(2438.4)  # the shared one


def test_the_answers_are_written_into_the_file_and_make_the_same_file_again() -> None:
    first = text_of("whole-bathroom", pan="liner", units="metric", job="Two: bathrooms, #2")
    lines = first.split("# Written from these answers:\n")[1].split("\n\n")[0].splitlines()
    content = "\n".join(line.removeprefix("#   ") for line in lines).encode()
    assert write(read_answers(content, "again.yaml", {}, {})) == first


def test_a_title_of_any_kind_stays_as_it_was_typed() -> None:
    for title in ("a: b", "# not a comment", "[1, 2]", "it's", '"quoted"', "-", "no", "x - y: z"):
        assert job_of("bathroom-floor", job=title).name == title


@pytest.mark.parametrize("loader", [yaml.BaseLoader, yaml.CBaseLoader])
@settings(max_examples=200, deadline=None)
@given(
    text=st.text(
        alphabet=st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp", "Cn")), min_size=1
    )
    | st.text(alphabet="ab0 :#?-,[]{}'\"|>&*!%@`~=.\\", min_size=1)
)
def test_a_value_is_read_back_as_it_was_written(loader: type[yaml.BaseLoader], text: str) -> None:
    assert yaml.load(f"a: {scalar(text)}", loader) == {"a": text}
    inside = f"a: [{scalar(text, inside=True)}]"
    assert yaml.load(inside, loader) == {"a": [text]}


# ------------------------------------------------------------------------------------ the data


def every_task() -> Iterator[tuple[str, str, TaskPart]]:
    for name, part in parts().items():
        for id_, task in part.tasks.items():
            yield name, id_, task


def test_the_starters_are_those_that_were_promised() -> None:
    assert set(starters()) == {
        "tiled-shower", "tub-surround", "bathroom-floor", "whole-bathroom", "tile-over-tile",
        "kitchen-backsplash", "steam-shower", "laundry-floor",
    }  # fmt: skip
    assert list(starters()) == list(shared().starters)


def test_every_name_in_the_data_means_something() -> None:
    ids = {id_ for _, id_, _ in every_task()}
    answers = read_answers(None, "", {"what": "tiled-shower"}, SUPPOSED)
    facts, measures = Facts(answers), sizes(answers)
    for name, id_, task in every_task():
        where = (name, id_)
        assert {link.task for link in task.after} <= ids, where
        assert task.who in {"", *PEOPLE}, where
        assert task.room in {"", "wet", "dry"}, where
        assert {*task.uses} <= {*shared().products, *goods()}, where
        assert {size for (size,) in task.uses.values()} <= set(measures), where
        assert task.applies in {"", *shared().products}, where
        assert set(task.beside) <= {"who", "room", "work", "applies", "after", "hold", "dusty",
                                    "split", "uses"}, where  # fmt: skip
        if isinstance(task.work, RatedWork):
            assert facts.filled(task.work.rate) in rates(), where
            assert measures[task.work.of].unit == rates()[facts.filled(task.work.rate)].per, where
    for starter in starters().values():
        assert set(starter.parts) <= set(parts())
        assert {*starter.asks, *shared().asks} <= set(ANSWERS.keys)
    assert {part for starter in starters().values() for part in starter.parts} == set(parts())
    for entries in shared().products.values():
        assert {entry.class_ for entry in entries} <= set(classes())


def test_every_condition_in_the_data_can_hold() -> None:
    # A word that no answer has would leave a task out for ever, and nobody would see it.
    words = {**CHOICES, "old": ("yes", "no"), "flood": ("yes", "no"), "flange": ("yes", "no"),
             "household": ("yes", "no"), "bench": ("yes", "no"), "niche": ("yes", "no"),
             "what": tuple(starters()), "thick_underlay": ("yes", "no"),
             "slow_tile": ("yes", "no"), "slow_floor_tile": ("yes", "no"),
             "known_air": ("yes", "no"),
             "substrate": ("cement-board", "gypsum-backer", "foam-board")}  # fmt: skip
    whens = [task.when for _, _, task in every_task()]
    whens += [link.when for _, _, task in every_task() for link in task.after]
    whens += [part.when for part in parts().values()]
    whens += [e.when for entries in shared().products.values() for e in entries]
    whens += [e.when for entries in shared().words.values() for e in entries]
    whens += [e.when for e in shared().preamble]
    for when in whens:
        for name, allowed_words in when.items():
            assert set(allowed_words) <= set(words[name]), when


def test_every_task_of_the_data_is_in_some_job() -> None:
    seen: set[str] = set()
    for what, answers in ALL_JOBS:
        seen |= set(job_of(what, **answers).task)
    assert {id_ for _, id_, _ in every_task()} == seen


def test_each_question_has_a_usual_answer_or_is_asked_of_the_surroundings() -> None:
    assert isinstance(shared().defaults, Block)
    given_ = {word.value for word, _ in shared().defaults.pairs}
    assert set(ANSWERS.keys) - given_ == {"what", "timezone", "start", "job"}


def test_cautions_stand_on_top_of_every_file() -> None:
    # 29 CFR 1926.1153 (silica), 40 CFR 61 Subpart M (asbestos), NEC 210.8 (GFCI).
    for what in starters():
        top = text_of(what).split("\njob:")[0].lower()
        for word in ("label", "code", "licensed", "silica", "asbestos", "gfci"):
            assert word in top, (what, word)


def test_a_liner_goes_three_inches_above_the_threshold_all_round() -> None:
    # IRC P2709.2, from memory: 3 in above the threshold, which is 4.5 in (three 2 x 4 laid flat).
    # 60 x 36 in with 7.5 in up on all sides: 75 x 51 in, 26.6 sq ft.
    job = job_of("tiled-shower", width="5 ft", depth="3 ft", pan="liner")
    quantity = job.task["liner"].quantity
    assert quantity is not None
    assert quantity.size == pytest.approx(75 * 51 / 144 * 0.09290304, rel=0.02)
    # In one piece off a roll of 5 ft: a pack is a foot of it.
    assert goods()["pan-liner"].pack == pytest.approx(5 * 0.09290304)


@pytest.mark.parametrize(
    ("membrane", "task"), [("liquid", "floor-coat-1"), ("sheet", "floor-sheet")]
)
def test_a_wet_floors_membrane_goes_up_the_walls(membrane: str, task: str) -> None:
    # 8 x 5 ft and 4 in (10 cm) up 26 ft of wall: 40 + 26 x 100 / 304.8 = 48.5 sq ft.
    job = job_of("bathroom-floor", floor_length="8 ft", floor_width="5 ft", wet_floor="yes",
                 membrane=membrane)  # fmt: skip
    quantity = job.task[task].quantity
    assert quantity is not None
    assert quantity.size == pytest.approx(48.5 * 0.09290304, rel=0.02)
    assert dict(job.task[task].uses)["corner-band"] == pytest.approx(26 * 0.3048, rel=0.02)


def test_it_is_known_how_much_every_product_of_a_starter_takes() -> None:
    for what, choice in product(starters(), FOUR):
        for joints in ("rapid-cement", "setting-compound"):
            job = job_of(what, **allowed(what, {**choice, "joints": joints}))
            for task in job.tasks:
                assert all(amount is not None for _, amount in taken(job, task)), (what, task.id)


def test_bigger_rooms_and_slower_hands_never_take_less_work() -> None:
    def hours(what: str, size: int, skill: str) -> int:
        tasks: tuple[Task, ...] = job_of(what, **allowed(what, SIZES[size]), skill=skill).tasks
        return sum(task.work for task in tasks if "me" in task.who)

    for what in starters():
        assert hours(what, 0, "handy") < hours(what, 1, "handy") < hours(what, 2, "handy")
        assert hours(what, 1, "trade") < hours(what, 1, "handy") < hours(what, 1, "beginner")
