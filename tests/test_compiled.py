"""Machine code places tasks, and pushes them to the right, minute for minute as Python does."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import machinecode
from scheduler.clock import HOUR
from scheduler.compiled import Placing
from scheduler.errors import NoPlan
from scheduler.firstplan import generated, priority_order
from scheduler.justify import right_justified
from scheduler.limits import gathered
from scheduler.model import Job
from scheduler.network import Network, compile_job, horizon
from scheduler.passes import Starts, ceilings, earliest, finish_of
from scheduler.portfolio.aim import alone
from scheduler.portfolio.crossing import JobsCrossing
from scheduler.portfolio.join import Portfolio, far_enough, member, portfolio
from scheduler.progress import Reals
from scheduler.tables import tables
from scheduler.watch import UNWATCHED
from tests.support.choices import with_choices
from tests.support.examples import examples
from tests.support.planned import verified
from tests.support.portfolios import generated as houses
from tests.support.randomjobs import jobs
from tests.support.randomlogs import under_way
from tests.support.tightjobs import crowded_jobs, tight_jobs
from tests.test_crossing import site

KEYS = st.lists(st.integers(0, 9), min_size=12, max_size=12)


def compiled(job: Job) -> Network:
    network = compile_job(job, horizon(job, 60))
    return network.made([0] * len(network.choices))


def alike(network: Network, floor: Starts, key: Sequence[float] | Reals) -> int:
    """How many schedules there are of an order, which must be the same by both: one or none."""
    placing = Placing(tables(network, floor))
    found = placing.generated(key)
    known = generated(network, floor, priority_order(network, [*map(float, key)]))
    if known is None:
        assert found is None
        return 0
    assert found is not None
    assert found.tolist() == known.starts
    finish = finish_of(*known)
    assert placing.finishes(found).max() == finish
    pushed = placing.pushed(found, [finish] * len(found))
    assert pushed.tolist() == right_justified(*known)
    return 1


@given(st.one_of(jobs(), tight_jobs(), crowded_jobs()), KEYS)
@examples(300)
def test_any_order_of_any_job(job: Job, keys: list[int]) -> None:
    network = compiled(job)
    floor = earliest(network, network.arcs)
    if floor is not None:
        alike(network, floor, keys[: len(floor)])


@given(st.data(), jobs(most=7), KEYS)
@examples(60)
def test_jobs_under_way(data: st.DataObject, job: Job, keys: list[int]) -> None:
    try:
        plan = verified(job)
    except NoPlan:
        return
    network = compiled(data.draw(under_way(job, plan)))
    floor = earliest(network, network.arcs)
    if floor is not None:
        alike(network, floor, keys[: len(floor)])


@given(jobs(most=7), KEYS, KEYS, st.sampled_from((1, 2)), st.sampled_from((0, 2 * HOUR)))
@examples(60)
def test_jobs_of_which_tasks_share_days(
    job: Job, keys: list[int], other: list[int], most: int, least: int
) -> None:
    people = {
        who: replace(person, at_most=most, visits_of=least) for who, person in job.people.items()
    }
    network = compiled(replace(job, people=people))
    floor = earliest(network, network.arcs)
    near = floor and generated(network, floor, priority_order(network, other[: len(floor)]))
    if floor and near:
        alike(gathered(network, near.starts), floor, keys[: len(floor)])


@given(with_choices(jobs(most=7)), KEYS)
@examples(60)
def test_jobs_with_every_choice_made(job: Job, keys: list[int]) -> None:
    network = compiled(job)
    floor = earliest(network, network.arcs)
    if floor is not None:
        alike(network, floor, keys[: len(floor)])


@pytest.mark.parametrize("seed", range(3))
def test_many_people_of_whom_there_are_several(seed: int) -> None:
    network = compiled(site(seed))
    floor = earliest(network, network.arcs)
    assert floor is not None
    chance = np.random.default_rng(seed)
    assert sum(alike(network, floor, chance.random(len(floor))) for _ in range(20)) == 20


def joined(seed: int, number: int, size: int) -> tuple[Portfolio, JobsCrossing]:
    own = houses(seed, number, size)
    members = [member(job, frozenset(), next(far_enough(own))) for job in own]
    together = portfolio(members)
    return together, JobsCrossing(together, [alone(m) for m in members], UNWATCHED)


@pytest.mark.parametrize("seed", range(3))
def test_several_houses_with_windows_and_closed_rooms(seed: int) -> None:
    together, crossing = joined(seed, 6, 24)
    floor = [start for own in crossing.each for start in own.early]
    chance = np.random.default_rng(seed)
    placed = sum(
        alike(together.network, floor, np.array(floor) + chance.normal(0, 2000, len(floor)))
        for _ in range(20)
    )
    assert placed >= 15


@pytest.mark.parametrize("seed", range(2))
def test_each_job_is_pushed_up_to_its_own_finish(seed: int) -> None:
    together, crossing = joined(seed, 4, 20)
    starts = crossing.first(5)
    assert starts is not None
    done = together.finishes(starts)
    by = [done[k] for k, part in enumerate(together.parts) for _ in part]
    placing = Placing(tables(together.network, starts))
    pushed = placing.pushed(starts, by)
    assert pushed.tolist() == right_justified(together.network, starts, by)
    assert pushed.tolist() != starts
    last = ceilings(together.network, max(done))
    assert all(start <= end for start, end in zip(pushed.tolist(), last, strict=True))


def test_a_search_finds_the_same_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    found = []
    for at_hand in (True, False):
        monkeypatch.setattr(machinecode, "at_hand", lambda at_hand=at_hand: at_hand)
        _, crossing = joined(1, 5, 20)
        crossing.reach(400)
        assert (crossing._compiled is not None) == at_hand
        found.append(crossing.best)
    assert found[0] == found[1] is not None


@pytest.fixture
def anew() -> Iterator[None]:
    """Machine code is asked for as if it never had been, and so it is afterwards."""
    machinecode._compiling().wait()  # a process under way is not to be lost
    machinecode._compiling.cache_clear()
    yield
    machinecode._compiling().wait()
    machinecode._compiling.cache_clear()


@pytest.mark.usefixtures("anew")
def test_it_is_compiled_in_a_process_of_its_own() -> None:
    machinecode.at_hand()
    assert machinecode._compiling().wait() == 0
    assert machinecode.at_hand()


@pytest.mark.usefixtures("anew")
def test_where_it_cannot_be_compiled_a_search_goes_on_without(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(machinecode, "_COMPILE", "raise SystemExit(1)")
    assert not machinecode.at_hand()
    assert machinecode._compiling().wait() == 1
    assert not machinecode.at_hand()
    _, crossing = joined(1, 3, 12)
    crossing.reach(300)
    assert crossing.best is not None
    assert crossing._compiled is None
