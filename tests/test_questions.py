"""Questions sooner answered than a plan is made: their answers against whole plans."""

from collections.abc import Sequence

import pytest

from scheduler.bound import Bounds
from scheduler.faster.idle import idle, only_adds
from scheduler.faster.lever import Lever
from scheduler.model import Job
from scheduler.network import compile_job, horizon
from scheduler.questions import may_beat, visits_apart
from scheduler.solve import least_starts, sharpened, solve
from tests.support.jobs import household
from tests.support.planned import read

EFFORT = 1.0
HANDS = "people: {me: {hours: sat 09:00-12:00}, you: {hours: mon-fri 18:00-21:00}}"
WINDOW = f"""
job: Window
timezone: America/Toronto
start: 2027-01-04
{HANDS}
tasks:
  a: {{who: me, work: 2 h}}
  b: {{who: you, work: 1 h, after: {{task: a, within: 3 d}}}}
"""
EVENINGS = """
job: Evenings
timezone: America/Toronto
start: 2027-01-04
people: {you: {hours: sat 09:00-12:00}, me: {hours: mon-fri 18:00-21:00}}
tasks:
  a: {who: me, work: 1 h, split: no}
  b: {who: me, work: 1 h, split: no}
  c: {who: me, work: 2 h, split: no}
  d: {who: me, work: 2 h, split: no}
  e: {who: you, work: 1 h}
"""


def lever(key: str, who: str = "me") -> Lever:
    return Lever(key, "hours", key, lambda job: job, key, people=frozenset({who}))


def beats(job: Job, finish: int) -> bool:
    bounds = Bounds(compile_job(job, horizon(job, 150)))
    return may_beat(bounds, sharpened(bounds, least_starts(bounds.network)), finish, EFFORT)


@pytest.mark.parametrize("seed", range(4))
def test_the_earliest_finish_is_beaten_by_none_and_a_minute_later_is(seed: int) -> None:
    job = household(seed, 20)
    network = compile_job(job, horizon(job, 150))
    found = solve(network)
    finish = max(s.finish(at) for s, at in zip(network.steps, found.starts, strict=True))
    assert finish == found.finish_bound  # proven by the days asked one by one
    assert not beats(job, finish)
    assert beats(job, finish + 1)


def test_people_come_on_fewer_days_with_all_else_as_it_was() -> None:
    """Two short tasks on one evening leave three; a long and a short one on each leave two."""
    job = read(EVENINGS)
    network = compile_job(job, horizon(job, 150))
    first, day = network.hours["me"].starts[0], 24 * 60
    keep = [first, first + 60, first + day, first + 2 * day, network.hours["you"].starts[0]]
    bounds, floor = Bounds(network), least_starts(network)
    assert visits_apart(bounds, floor, keep, frozenset({"you"}), EFFORT) == 3 + 1
    assert visits_apart(bounds, floor, keep, frozenset({"me"}), EFFORT) == 2 + 1


def test_many_that_bring_nothing_are_found_by_few_questions() -> None:
    levers = [lever(f"{n}") for n in range(64)]
    asked: list[int] = []

    def helps(some: Sequence[Lever]) -> bool:
        asked.append(len(some))
        return any(each.id in {"5", "40"} for each in some)

    assert {each.id for each in levers} - {each.id for each in idle(levers, helps)} == {"5", "40"}
    assert len(asked) <= 4 * 6 + 1


def test_all_at_once_say_nothing_where_ending_sooner_may_break_a_window() -> None:
    job = read(WINDOW)
    network = compile_job(job, horizon(job, 150))
    assert not only_adds(network, [lever("a")])
    assert only_adds(network, [lever("b", "you")])
    whole = read(WINDOW.replace("work: 2 h", "work: 2 h, split: no"))
    assert only_adds(compile_job(whole, horizon(whole, 150)), [lever("a")])
