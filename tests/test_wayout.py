"""The ways out of a conflict: each makes a plan, is the least that does, and is told in words."""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given

from scheduler.cli import main
from scheduler.clock import DAY
from scheduler.conflict import no_plan, planned
from scheduler.errors import NoPlan
from scheduler.model import Actual, Job, Past
from scheduler.planner import plan_job
from scheduler.rules import on_link, on_task
from scheduler.site import Site
from scheduler.verify import check
from scheduler.wayout import WaysOut, no_plan_json, ways_out, ways_text
from scheduler.wayout.change import Change, changed
from scheduler.wayout.steps import (
    earlier_moment,
    later_moment,
    longer_span,
    shorter_span,
    unit_of,
)
from scheduler.wording import tidy
from tests.support.examples import examples
from tests.support.jobs import household
from tests.support.planned import at, read
from tests.support.tightjobs import tight_jobs
from tests.test_conflict import CASES, COATS, job

ZONE = "America/Toronto"


def out_of(case: Job) -> tuple[Site, WaysOut]:
    """The ways out of a job without a plan, each of which makes one that keeps every rule."""
    stopped = no_plan(case)
    assert stopped.conflict.rules
    out = ways_out(stopped.site, stopped.conflict)
    for way in out.ways:
        able = changed(stopped.site, way.changes).job
        assert check(able, plan_job(able)) == (), [each.text for each in way.changes]
    return stopped.site, out


def texts(case: Job) -> list[list[str]]:
    _, out = out_of(case)
    return [[tidy(change.text) for change in way.changes] for way in out.ways]


@pytest.mark.parametrize("case", [case for case, _ in CASES.values()], ids=CASES.keys())
def test_every_way_out_makes_a_plan_and_every_rule_is_answered(case: Job) -> None:
    site, out = out_of(case)
    rules = no_plan(case).conflict.rules
    assert out.ways
    assert out.all_tried
    told = {way.changes[0].of for way in out.ways} | {each.rule.of for each in out.stuck}
    assert told == {rule.of for rule in rules}
    assert json.loads(json.dumps(no_plan_json(site, no_plan(case).conflict, out)))["plan"] is None


@given(tight_jobs())
@examples(60)
def test_every_way_out_of_any_tight_job_makes_a_plan_and_less_makes_none(case: Job) -> None:
    try:
        plan_job(case)
    except NoPlan as stopped:
        if not stopped.conflict.rules:
            return
        site, out = out_of(stopped.site.job)
        for way in out.ways:
            *others, last = way.changes
            for less in _less(last) if way.least else ():
                assert planned(less(changed(site, others))).able is not True, last.text


def _less(change: Change) -> Iterator[Callable[[Site], Site]]:
    """One step less of a change to a date, a window or a fixed wait."""
    first, second = change.of[0], change.of[-1]
    if change.kind == "must finish by":
        at_ = change.data["at"]
        assert isinstance(at_, int)
        yield lambda site: site.edited(on_task(first, must_finish_by=at_ - 15))
    elif change.kind in {"within", "wait"}:
        was, now = change.data["was_minutes"], change.data["minutes"]
        assert isinstance(was, int)
        assert isinstance(now, int)
        if change.kind == "wait":
            more = on_link(change.of[1], int(second), wait=now + unit_of(was))
            yield lambda site: site.edited(more)
        elif change.wider is None or now % DAY:
            fewer = on_link(change.of[1], int(second), within=now - 2 * unit_of(was))
            yield lambda site: site.edited(fewer)


LEAST = {
    "too late": [
        ["add hours for me on Fri 8 Jan 18:00-19:00"],
        ["let 'Coat 2' finish by Sat 9 Jan 2027 13:15 (now Sat 9 Jan 2027 11:00)"],
    ],
    "longer than any stretch": [
        ["add hours for me on Sat 9 Jan 17:00-18:00"],
        ["do 'Tile' in parts (split: yes)"],
    ],
    "too cold to apply": [["heat shower to 10 C and hold it there (now 4.4 C 50 %)"]],
    "away too long": [
        ["let 'A' finish by Wed 13 Jan 2027 24:00 (now Sun 10 Jan 2027 24:00)"],
        ["have me there on Fri 8 Jan after all"],
    ],
    "two at once": [
        ["let 'A' finish by Mon 11 Jan 2027 14:00 (now Mon 11 Jan 2027 12:00)"],
        ["let 'B' finish by Mon 11 Jan 2027 14:00 (now Mon 11 Jan 2027 12:00)"],
        ["add hours for plumber on Fri 8 Jan 17:00-19:00"],
        ["bring one more beside plumber (count: 2)"],
    ],
}


@pytest.mark.parametrize("name", LEAST)
def test_the_least_that_does_by_hand(name: str) -> None:
    case, _ = CASES[name]
    assert texts(case) == LEAST[name]


def test_a_date_is_the_first_quarter_of_an_hour_that_does() -> None:
    """What is 15 min sooner makes no plan; by hand: 1 h, 2 h 25 min in this air, 45 min."""
    late = job(COATS + "    must_finish_by: 2027-01-09 11:00")
    (change,) = _only(late, "must finish by")
    assert change.data["at"] == at("2027-01-09 13:15", ZONE)
    sooner = replace(late.task["coat-2"], must_finish_by=at("2027-01-09 13:00", ZONE))
    with pytest.raises(NoPlan):
        plan_job(replace(late, tasks=(late.tasks[0], sooner)))


def _only(case: Job, kind: str) -> tuple[Change, ...]:
    _, out = out_of(case)
    return next(way.changes for way in out.ways if way.changes[0].kind == kind)


SATURDAYS = COATS + "  tile: {who: me, work: 1 h, after: {coat-2: tile}}\n"


def test_hours_at_other_times_than_somebody_has_are_asked_of_others_too() -> None:
    """Evenings alone, and work that is due before the first: a day off other work."""
    case = job("  a: {who: me, work: 2 h, must_finish_by: 2027-01-11 15:00}", "mon-fri 18:00-21:00")
    case = replace(case, start=at("2027-01-10 22:00", ZONE))
    (change,) = _only(case, "hours")
    assert tidy(change.text) == "add hours for me on Mon 11 Jan 13:00-15:00"
    assert (change.asks.name, change.note) == ("OTHERS", "ask whether that can be had")


@pytest.mark.parametrize(
    ("than", "first", "told"),
    [
        ("2027-01-09 11:00", "2027-01-09 11:08", "2027-01-09 11:15"),
        ("2027-01-09 11:07", "2027-01-09 11:08", "2027-01-09 11:15"),
        ("2027-01-09 11:00", "2027-01-11 00:01", "2027-01-11 00:15"),
        ("2027-01-10 00:00", "2027-01-10 08:00", "2027-01-11 00:00"),
        ("2027-03-13 20:00", "2027-03-14 03:30", "2027-03-14 03:30"),  # the clocks change
        ("2027-03-14 00:00", "2027-03-14 03:30", "2027-03-15 00:00"),
        ("2027-11-06 20:00", "2027-11-07 23:59", "2027-11-08 00:00"),
    ],
)
def test_later_moments_are_those_that_people_name(than: str, first: str, told: str) -> None:
    """The end of a day where it was one, else a quarter of an hour, on the wall clock."""
    does = at(first, ZONE)
    found = later_moment(lambda minute: minute >= does, at(than, ZONE), ZONE, 30)
    assert found == at(told, ZONE)


def test_moments_and_spans_that_never_do_are_none() -> None:
    now = at("2027-01-09 11:00", ZONE)
    assert later_moment(lambda _: False, now, ZONE, 30) is None
    assert earlier_moment(lambda _: False, now, ZONE, now - DAY) is None
    assert longer_span(lambda _: False, 60, DAY) is None
    assert shorter_span(lambda _: False, 60) is None


def test_earlier_moments_and_spans_are_the_nearest_that_do() -> None:
    noon, midnight = at("2027-01-09 12:00", ZONE), at("2027-01-09 00:00", ZONE)
    assert earlier_moment(lambda m: m <= noon - 20, noon, ZONE, noon - DAY) == noon - 30
    assert earlier_moment(lambda m: m < midnight, midnight, ZONE, midnight - 9 * DAY) == (
        midnight - DAY
    )
    assert longer_span(lambda m: m >= 130, 100, DAY) == 135
    assert longer_span(lambda m: m >= 1501, 1440, 9 * DAY) == 1560
    assert shorter_span(lambda m: m <= 100, 130) == 90
    assert shorter_span(lambda m: m == 0, 130) == 0


def test_a_window_of_the_label_is_the_labels_to_give() -> None:
    """Saturdays alone: the second coat a week after the first; the membrane's label decides."""
    case = job(SATURDAYS, "sat 9:00-10:00, sat 12:00-12:30")
    (change,) = _only(case, "within")
    assert change.asks.name == "LABEL"
    assert change.note.startswith("the label of liquid-membrane decides: if it allows that, write")
    _, out = out_of(case)
    assert out.ways[0].changes[0].kind == "hours"  # labels last
    assert out.ways[-1].changes == (change,)
    assert "; the label of liquid-membrane decides" in ways_text(out)


def test_a_window_that_the_file_alone_asks_for_is_the_owners_to_give() -> None:
    case = job(
        "  a: {who: me, work: 1 h}\n  b: {who: me, work: 1 h, after: [{task: a, within: 20 min,"
        " wait: 10 min}], not_before: 2027-01-10 9:00}\n  c: {who: me, work: 8 h, split: no,"
        " after: [{task: a, within: 30 min}]}"
    )
    (change,) = _only(case, "within")
    assert change.asks.name == "OWNER"
    assert not change.note


def test_what_goes_on_in_one_go_by_its_product_is_not_split() -> None:
    case = job("  coat: {who: me, room: shower, work: 9 h, applies: liquid-membrane}")
    _, out = out_of(case)
    assert [way.changes[0].kind for way in out.ways] == ["hours"]
    told = "That liquid-membrane goes on in one go, its label decides."
    assert [each.why for each in out.stuck] == [told]
    assert told in ways_text(out)


def test_weekly_hours_are_told_where_no_single_time_does() -> None:
    """Three times the same work that fits into no Saturday, each within a week of the other."""
    tasks = "".join(
        f"  t{n}: {{who: me, work: 3 h, split: no{f', after: t{n - 1}' if n else ''}}}\n"
        for n in range(3)
    )
    assert texts(job(tasks, "sat 9:00-11:30"))[0] == [
        "add hours for me on Sat 11:30-12:30 every week"
    ]


TWO_CONFLICTS = """
  a: {who: me, work: 1 h, must_finish_by: 2027-01-08 20:00}
  b: {who: plumber, work: 1 h, must_finish_by: 2027-01-09 10:00}
"""


def test_two_conflicts_are_mended_together() -> None:
    case = job(TWO_CONFLICTS)
    ways = texts(case)
    assert all(len(way) == 2 for way in ways)
    _, out = out_of(case)
    told = ways_text(out)
    assert "\nNo single change was found that would do. These would, together:\n  - " in told
    assert "\n    and " in told


def test_the_conflict_that_is_left_is_told_before_what_mends_both() -> None:
    site, out = out_of(job(TWO_CONFLICTS))
    first = {rule.of for rule in no_plan(job(TWO_CONFLICTS)).conflict.rules}
    assert {rule.of for rule in out.then}.isdisjoint(first)
    assert "Whatever gives of these, there are others" in ways_text(out)
    told = no_plan_json(site, no_plan(job(TWO_CONFLICTS)).conflict, out)["then"]
    assert isinstance(told, list)
    assert len(told) == len(out.then) > 0


def test_where_nothing_does_it_is_told_what_stands_in_the_way() -> None:
    """Cold is mended by heat; a day and a night in one go by nobody's hours."""
    pour = "  pour: {who: plumber, room: shower, work: 30 h, applies: self-leveler}"
    case = job(f"{COATS}{pour}", air="40 F")
    _, out = out_of(case)
    assert not out.ways
    told = ways_text(out)
    assert "Nothing was found that would do." in told
    assert "That self-leveler goes on in one go, its label decides." in told


def test_a_visit_is_booked_in_spite_of_the_notice_as_late_and_as_short_as_does() -> None:
    """Notice until Mon 18 Jan 17:00, 3 h due on Wed 13 Jan: 3 h on that Wednesday are enough."""
    case = job("  pipes: {who: plumber, work: 3 h, must_finish_by: 2027-01-13}", "sat 9:00-10:00")
    people = {**case.people, "plumber": replace(case.people["plumber"], notice=10 * DAY)}
    case = replace(case, people=people, asked=case.start)
    (change,) = _only(case, "notice")
    assert tidy(change.text) == "book plumber for Wed 13 Jan 08:00-11:00 all the same"
    assert change.note == "ask whether that can be had"


def _with_plumber(case: Job, **terms: int) -> Job:
    plumber = replace(case.people["plumber"], **terms)  # type: ignore[arg-type]
    return replace(case, people={**case.people, "plumber": plumber})


def test_a_trade_comes_once_more_where_its_days_are_too_few() -> None:
    """Two days of work and a dry day between: three days, of which it comes on one at most."""
    tasks = (
        "  rough: {who: plumber, work: 8 h}\n"
        "  dry: {work: 0 min, after: [{task: rough, wait: 1 d}]}\n"
        "  finish: {who: plumber, work: 2 h, after: dry}"
    )
    (change,) = _only(_with_plumber(job(tasks), at_most=1), "at most")
    assert tidy(change.text) == "have plumber come on 2 days and not on 1 (at_most: 2 visits)"


def test_a_trade_comes_for_less_where_no_day_has_so_much() -> None:
    tasks = (
        "  rough: {who: plumber, work: 2 h}\n"
        "  finish: {who: plumber, work: 3 h, after: [{task: rough, wait: 1 d, within: 6 d}]}"
    )
    (change,) = _only(_with_plumber(job(tasks), visits_of=3 * 60), "visits of")
    assert tidy(change.text) == "let plumber come for 2 h of work (now 3 h at least)"


def test_dust_is_kept_from_the_task_that_makes_it() -> None:
    case = job(
        "  coat: {who: me, room: shower, work: 2 h, applies: liquid-membrane}\n"
        "  saw: {room: shower, work: 30 min, dusty: yes, after: [{task: coat, within: 5 min}]}"
    )
    assert ["make no dust at 'Saw' (dusty: no)"] in texts(case)


RAPID = """
  tile: {who: me, room: shower, work: 1 h, applies: thinset}
  grout: {room: shower, work: 1 h, after: {tile: grout}, must_finish_by: 2027-01-09 18:00}
"""


def test_a_rapid_class_is_taken_where_no_air_shortens_a_wait() -> None:
    """The hours begin on Saturday at nine; thin-set wants a day, the rapid one some hours."""
    (change,) = _only(job(RAPID), "stage")
    assert change.text == "take rapid-thinset instead of thinset"
    assert (change.asks.name, change.note) == ("LABEL", "its own label decides")


def test_warmer_air_that_shortens_a_wait_is_asked_in_degrees() -> None:
    """At 8 C the second coat comes hours later than at the label's 23 C."""
    case = job(COATS + "    must_finish_by: 2027-01-09 14:30", air="50 F")
    (change,) = _only(case, "stage")
    assert change.text.startswith("heat shower to ")
    colder = change.data["temperature"]
    assert isinstance(colder, float)
    assert colder == int(colder)
    one_less = replace(case.rooms["shower"].air, temperature=colder - 1.0)
    with pytest.raises(NoPlan):
        plan_job(replace(case, rooms={"shower": replace(case.rooms["shower"], air=one_less)}))


def test_the_words_for_the_label_can_be_written_there() -> None:
    text = FILE.replace("tasks:\n", "products: {m: {class: liquid-membrane, label: "
                        "{recoat: 2 h..24 h, at: 73 F 50 %}}}\ntasks:\n")  # fmt: skip
    text = text.replace("sat-sun 9:00-17:00", "sat 9:00-10:30")
    text += COATS.replace("liquid-membrane", "m")
    (change,) = _only(read(text), "within")
    words = tidy(change.note).partition("write '")[2].partition("'")[0]
    assert words == "recoat: 2 h..6 d 23 h"
    able = read(text.replace("recoat: 2 h..24 h", words))
    assert check(able, plan_job(able)) == ()


def test_a_job_of_sixty_tasks_is_answered_too() -> None:
    home = household(1, 60)
    soon = replace(home.tasks[13], must_finish_by=home.start + 20 * DAY)
    (change,) = _only(replace(home, tasks=(*home.tasks[:13], soon, *home.tasks[14:])),
                      "must finish by")  # fmt: skip
    assert change.of == (soon.id,)


def test_no_window_is_told_that_only_a_week_with_a_clock_change_keeps() -> None:
    """From Saturday 13:00 to the next at 09:00 it is 6 d 20 h, but an hour less in mid-March."""
    case, _ = CASES["window between two Saturdays"]
    (change,) = _only(case, "within")
    assert change.data["minutes"] == 6 * DAY + 20 * 60


def test_what_is_left_of_a_job_under_way_is_told_a_later_date() -> None:
    """Coat 1 took until Saturday noon, so coat 2 can't be done by eleven any more."""
    late = job(COATS + "    must_finish_by: 2027-01-09 13:15")
    plan_job(late)
    done = {"coat-1": Actual(at("2027-01-09 10:00", ZONE), at("2027-01-09 12:00", ZONE))}
    under_way = replace(late, past=Past(at("2027-01-09 12:05", ZONE), done))
    with pytest.raises(NoPlan):
        plan_job(under_way)
    (change,) = _only(under_way, "must finish by")
    assert change.data["at"] == at("2027-01-09 15:15", ZONE)
    for way in out_of(under_way)[1].ways:
        for start, _ in way.changes[0].data.get("spans_at", ()):  # type: ignore[attr-defined]
            assert start >= under_way.now


def test_nothing_is_spent_beyond_what_is_given() -> None:
    stopped = no_plan(CASES["too late"][0])
    out = ways_out(stopped.site, stopped.conflict, most=60)
    assert not out.all_tried
    assert "Only so much was tried" in ways_text(out)
    for way in out.ways:
        able = changed(stopped.site, way.changes).job
        assert check(able, plan_job(able)) == ()


def test_a_search_that_is_stopped_says_so_and_ends_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("scheduler.wayout.ways_out", interrupted)
    path = tmp_path / "coats.yaml"
    path.write_text(FILE + COATS + "    must_finish_by: 2027-01-09 11:00\n")
    assert main(["plan", str(path)]) == 1
    err = capsys.readouterr().err
    assert err.startswith("error: no plan is possible")
    assert err.endswith("Stopped before it was found what would have to give.\n")


# ------------------------------------------------------------------------------ as it is typed

FILE = """job: Coats
timezone: America/Toronto
start: 2027-01-08 17:00
air: {temperature: 68 F, humidity: 50 %}
people: {me: {hours: [sat-sun 9:00-17:00]}}
rooms: {shower: {}}
tasks:
"""


@pytest.mark.parametrize("width", [45, 80])
def test_the_conflict_and_the_ways_out_fit_the_terminal(
    width: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "coats.yaml"
    path.write_text(FILE + COATS + "    must_finish_by: 2027-01-09 11:00\n")
    monkeypatch.setenv("COLUMNS", str(width))
    assert main(["plan", str(path)]) == 1
    out, err = capsys.readouterr()
    assert not out
    assert max(map(len, err.splitlines())) <= width
    said = " ".join(err.split())
    assert "Any one of these would do, the easiest first: - add hours for me on" in said


def test_the_json_of_no_plan_has_the_conflict_and_the_ways_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "coats.yaml"
    path.write_text(FILE + COATS + "    must_finish_by: 2027-01-09 11:00\n")
    for command in (["plan", "--json"], ["ready", "--json", "--at", "2027-01-09 9:00"]):
        task = ["coat-1"] if command[0] == "ready" else []
        assert main([command[0], str(path), *task, *command[1:]]) == 1
        out, err = capsys.readouterr()
        assert err.startswith("error: no plan is possible")
        told = json.loads(out)
        assert (told["version"], told["plan"], told["jobs"]) == (1, None, ["Coats"])
        assert [rule["kind"] for rule in told["conflict"]["rules"]] == [
            "must finish by", "hours", "stage",
        ]  # fmt: skip
        hours, date = (way["changes"][0] for way in told["ways_out"])
        assert hours["spans"] == [["2027-01-08T18:00:00-05:00", "2027-01-08T19:00:00-05:00"]]
        assert hours["asks"] == "owner"
        assert date["at"] == "2027-01-09T13:15:00-05:00"
        assert [each["kind"] for each in told["stuck"]] == ["stage"]
        assert told["all_tried"]


def test_a_later_date_written_into_the_file_makes_a_plan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "coats.yaml"
    path.write_text(FILE + COATS + "    must_finish_by: 2027-01-09 13:15\n")
    assert main(["plan", str(path), "--check"]) == 0
    assert "nothing broken" in capsys.readouterr().err


def test_heat_is_asked_in_whole_degrees_of_the_jobs_units() -> None:
    cold = read("""
        job: Cold
        timezone: America/Toronto
        start: 2027-01-08 17:00
        units: imperial
        air: {temperature: 40 F, humidity: 50 %, swing: 4 F}
        people: {me: {hours: [sat-sun 9:00-17:00]}}
        rooms: {shower: {}}
        tasks: {coat: {who: me, room: shower, work: 1 h, applies: liquid-membrane}}
    """)
    (change,) = _only(cold, "limits")
    assert tidy(change.text) == "heat shower to 50 F and hold it there (now 40 F +/- 4 F 50 %)"
    warmer = changed(Site((cold,)), [change]).job
    assert warmer.rooms["shower"].air.temperature == pytest.approx(10.0)
    assert warmer.rooms["shower"].air.swing == 0
