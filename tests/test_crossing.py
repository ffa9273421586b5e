"""Schedules crossed: they keep every rule, get no worse, and get better than first plans."""

import random

from hypothesis import given
from hypothesis import strategies as st

from scheduler.crossing import Crossing
from scheduler.firstplan import first_plan
from scheduler.model import ALWAYS, Air, Job, Link, Person, Task
from scheduler.network import Network, compile_job, horizon
from scheduler.passes import earliest, finish_of
from scheduler.plan import make_plan
from scheduler.solve import Effort, Solution, solve
from scheduler.verify import check
from scheduler.visits import days_on_site
from scheduler.watch import UNWATCHED
from tests.support.examples import examples
from tests.support.randomjobs import jobs


class Once:
    """A watch that has enough after so many questions, and keeps what it was told."""

    def __init__(self, questions: int) -> None:
        self.left, self.finishes = questions, list[int]()

    def found(self, finish: int, /) -> None:
        self.finishes.append(finish)

    def bounded(self, finish: int, /) -> None:
        """Nothing is asked of it."""

    def enough(self) -> bool:
        self.left -= 1
        return self.left < 0


def compiled(job: Job) -> Network:
    return compile_job(job, horizon(job, 150))


def site(seed: int, tasks: int = 40) -> Job:
    """Tasks of an hour or so for two kinds of people of whom there are several, round the clock."""
    draw = random.Random(seed)
    people = {who: Person(who, ALWAYS, count=6) for who in ("mason", "mate")}
    made = []
    for j in range(tasks):
        hands = {who: draw.randint(1, 4) for who in people if draw.random() < 0.8}
        after = draw.sample(range(j), k=min(j, draw.randint(0, 2)))
        made.append(
            Task(
                f"t{j}",
                f"t{j}",
                draw.randint(10, 100),
                tuple(hands),
                after=tuple(Link(f"t{i}", wait=0) for i in after if i > j - 12),
                several=tuple((who, n) for who, n in hands.items() if n > 1),
            )
        )
    return Job("site", "Etc/UTC", 0, Air(20.0, 0.5), people, {}, {}, tuple(made))


@given(jobs(most=7), st.integers(1, 60))
@examples(60)
def test_a_crossed_schedule_keeps_every_rule_and_finishes_no_later(job: Job, tries: int) -> None:
    network = compiled(job)
    early = earliest(network, network.arcs)
    if early is None:
        return
    at_hand = first_plan(network, early, 0, 2)
    if at_hand is None:
        return
    at = Crossing(network, early, UNWATCHED).tried(at_hand, tries)
    assert finish_of(*at) <= finish_of(*at_hand)
    least, days = finish_of(network, early), days_on_site(*at)
    solution = Solution(at.network, tuple(at.starts), least, 0, days)
    assert check(job, make_plan(at.network, solution)) == ()


def test_crossing_brings_more_than_as_many_shaken_orders() -> None:
    """About half an hour, of jobs of a day or more."""
    gained = []
    for seed in range(3):
        network = compiled(site(seed, tasks=80))
        early = earliest(network, network.arcs)
        assert early is not None
        first = first_plan(network, early, 0, 4)
        many = first_plan(network, early, 0, 600)  # as many are placed: three for each crossed
        assert first is not None
        assert many is not None
        crossed = Crossing(network, early, UNWATCHED).tried(first, 200)
        gained.append(finish_of(*many) - finish_of(*crossed))
    assert min(gained) > 0, gained


def test_it_ends_once_nothing_can_be_earlier_or_somebody_has_enough() -> None:
    network = compiled(site(1))
    early = earliest(network, network.arcs)
    assert early is not None
    watch = Once(30)
    crossing = Crossing(network, early, watch)
    while not crossing.enough():
        continue
    assert watch.left == -1
    crossing.bounded(min(watch.finishes))  # nothing can be earlier than that
    watch.left = 100
    assert crossing.enough()
    assert watch.left == 100  # nobody had to be asked
    assert watch.finishes == sorted(watch.finishes, reverse=True)


def test_a_search_that_goes_on_takes_what_is_found_beside_it() -> None:
    """The constraint solver has no effort to speak of here."""
    network = compiled(site(2))
    little = Effort(tries=2, finish=1e-4, visits=0, early=0)
    alone = solve(network, little)
    on = solve(network, Effort(tries=2, finish=1e-4, visits=0, early=0, on=True, watch=Once(400)))
    assert max(map(int, on.starts)) < max(map(int, alone.starts))
