"""Several jobs that have no plan together: why, a smallest set across them, and the ways out."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.cli import main
from scheduler.conflict import Conflict, planned
from scheduler.errors import NoPlan
from scheduler.model import Job
from scheduler.portfolio import plan_together
from scheduler.portfolio.sites import Sites
from scheduler.site import Site
from scheduler.wayout import WaysOut, no_plan_json, ways_out, ways_text
from scheduler.wayout.change import changed
from scheduler.wording import tidy
from tests.support.examples import examples
from tests.support.portfolios import job, verified_together
from tests.support.tightjobs import tight_jobs

CREW = "people: {me: {hours: daily 9:00-17:00}}\n"
BY = "tasks: {a: {name: All, who: me, work: 8 h, must_finish_by: 2027-01-09}}\n"


def stopped(jobs: Sequence[Job]) -> NoPlan:
    with pytest.raises(NoPlan) as found:
        plan_together(jobs)
    return found.value


def _kept(site: Site, conflict: Conflict) -> Site:
    """The site with the rules of a conflict alone."""
    for rule in site.rules():
        if rule not in conflict.rules:
            site = site.without(rule)
    return site


def checked_smallest(found: NoPlan) -> None:
    """Without any one of the rules the others can be kept, and with all of them they can't."""
    alone = _kept(found.site, found.conflict)
    assert planned(alone).able is False
    for rule in found.conflict.rules:
        verified_together(alone.without(rule).jobs)


def checked_ways(found: NoPlan) -> WaysOut:
    """The ways out, each of which makes plans that keep every rule."""
    out = ways_out(found.site, found.conflict)
    for way in out.ways:
        verified_together(changed(found.site, way.changes).jobs)
    return out


def test_who_is_needed_in_two_houses_on_one_day_is_told_with_both_houses() -> None:
    found = stopped([job(name, BY, CREW) for name in ("Larch Row", "Elm Court")])
    assert isinstance(found.site, Sites)
    assert str(found) == (
        "no plan is possible: these rules cannot all be kept:\n"
        "  - Larch Row: 'All' must be finished by Sat 9 Jan 2027 24:00\n"
        "  - Elm Court: 'All' must be finished by Sat 9 Jan 2027 24:00\n"
        "  - me has hours daily 09:00-17:00\n"
        "  - me is on at most one task at a time"
    )
    assert found.conflict.smallest
    checked_smallest(found)


def test_the_ways_out_name_the_house_and_reach_all_houses_where_somebody_is_shared() -> None:
    found = stopped([job(name, BY, CREW) for name in ("Larch Row", "Elm Court")])
    out = checked_ways(found)
    assert [tidy(way.changes[0].text) for way in out.ways] == [
        "Larch Row: let 'All' finish by Sun 10 Jan 2027 24:00 (now Sat 9 Jan 2027 24:00)",
        "Elm Court: let 'All' finish by Sun 10 Jan 2027 24:00 (now Sat 9 Jan 2027 24:00)",
        "bring one more beside me (count: 2)",
    ]
    assert out.ways[-1].changes[0].jobs == (0, 1)
    told = no_plan_json(found.site, found.conflict, out)
    assert told["jobs"] == ["Larch Row", "Elm Court"]
    assert json.loads(json.dumps(told))["conflict"]["rules"][2]["jobs"] == told["jobs"]


def test_a_house_without_a_plan_of_its_own_is_named() -> None:
    never = job("Never", "tasks: {a: {who: me, work: 9 h, split: no}}\n", CREW)
    other = job("One", "tasks: {a: {who: me, work: 4 h}}\n", CREW)
    found = stopped([never, other])
    assert str(found).startswith(
        "no plan of 'Never' is possible: these rules cannot all be kept:\n"
    )
    assert ways_text(ways_out(found.site, found.conflict))


def test_a_later_start_of_one_house_is_no_time_before_the_world_settles() -> None:
    """The second house starts months later; what has no plan there has none at any time."""
    text = "tasks: {a: {who: me, work: 5 h, split: no}, b: {who: me, work: 4 h, split: no,"
    text += " after: [{task: a, within: 30 min}]}}\n"
    later = replace(job("Later", text, CREW), start=job("X", BY, CREW).start + 90 * 1440)
    found = stopped([job("Now", "tasks: {a: {who: me, work: 4 h}}\n", CREW), later])
    assert {rule.kind for rule in found.conflict.rules} >= {"within", "hours"}
    checked_smallest(found)
    checked_ways(found)


def none_together(jobs: Sequence[Job]) -> NoPlan | None:
    """Why jobs have no plan; None where they have."""
    try:
        verified_together(jobs)
    except NoPlan as found:
        return found
    return None


@given(st.tuples(tight_jobs(most=4), tight_jobs(most=4)))
@examples(40)
def test_any_two_tight_jobs_have_plans_or_a_smallest_conflict(both: tuple[Job, Job]) -> None:
    one, other = both
    # A person of one crew file is the same in both, and so are the hours.
    people = {**other.people, **one.people}
    jobs = [
        replace(
            each,
            name=name,
            timezone=one.timezone,
            people={key: replace(people[key], crew="crew.yaml") for key in each.people},
        )
        for each, name in ((one, "One"), (other, "Two"))
    ]
    taken = ((n, who) for each in jobs for task in each.tasks for who, n in task.hands.items())
    if any(n > people[who].count for n, who in taken):
        return
    found = none_together(jobs)
    if found is not None and found.conflict.rules and isinstance(found.site, Sites):
        assert found.conflict.smallest
        checked_smallest(found)
        checked_ways(found)


def test_it_is_told_at_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "crew.yaml").write_text(CREW)
    paths = []
    for name in ("Larch Row", "Elm Court"):
        path = tmp_path / f"{name}.yaml"
        path.write_text(f"job: {name}\ntimezone: America/Toronto\nstart: 2027-01-09\n"
                        f"people_from: crew.yaml\n{BY}")  # fmt: skip
        paths.append(str(path))
    monkeypatch.setenv("COLUMNS", "45")
    assert main(["plan", *paths, "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["jobs"] == ["Larch Row", "Elm Court"]
    assert max(map(len, err.splitlines())) <= 45
    assert "- Larch Row: 'All' must be finished by" in " ".join(err.split())
