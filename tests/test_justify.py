"""A schedule pushed to the right: never later than its finish, its people never too many."""

from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.firstplan import priority_order, serial
from scheduler.justify import right_justified
from scheduler.model import Job
from scheduler.network import Network, compile_job, horizon
from scheduler.passes import earliest, earliest_start, finish_of, order_arcs, release
from tests.support.examples import examples
from tests.support.randomjobs import jobs


def serial_plan(job: Job, keys: list[int]) -> tuple[Network, list[int]]:
    network = compile_job(job, horizon(job, 150))
    floor = earliest(network, network.arcs)
    assume(floor is not None)
    assert floor is not None
    starts = serial(network, floor, priority_order(network, keys[: len(floor)]))
    assume(starts is not None)
    assert starts is not None
    return network, starts


@given(jobs(most=7), st.lists(st.integers(0, 9), min_size=10, max_size=10))
@examples(100)
def test_what_is_pushed_starts_no_earlier_and_the_whole_ends_no_later(
    job: Job, keys: list[int]
) -> None:
    network, starts = serial_plan(job, keys)
    pushed = right_justified(network, starts)
    assert all(later >= start for later, start in zip(pushed, starts, strict=True))
    assert finish_of(network, pushed) == finish_of(network, starts)
    assert all(
        step.first(start) == start for step, start in zip(network.steps, pushed, strict=True)
    )
    rooms = Network(network.job, network.end, network.hours, network.steps, network.arcs, ())
    assert order_arcs(rooms, pushed) is not None
    for arc in network.arcs:
        if arc.kind != "window":
            step, bound = network.steps[arc.after], release(network, arc, pushed)
            assert earliest_start(step, arc.to, bound) <= pushed[arc.after]
