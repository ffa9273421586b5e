"""A solution told as a plan: floats, the reason of each start, the waits, where the time goes."""

from collections.abc import Iterable, Iterator, Sequence

from scheduler.air import coldest
from scheduler.bookings import bookings, called_off
from scheduler.chain import chain_to, last_done, time_split
from scheduler.limits import anchored
from scheduler.model import Job, Link, Plan, PlannedTask, Wait
from scheduler.network import Network
from scheduler.passes import (
    Starts,
    ceilings,
    finish_of,
    latest,
    latest_start,
    order_arcs,
    point,
    release,
)
from scheduler.quantities import show_duration, show_temperature
from scheduler.reasons import Binding, bindings, reason
from scheduler.solve import Solution
from scheduler.steps import Arc, Closure
from scheduler.without import as_it_is, days_without
from scheduler.wording import listed


def make_plan(network: Network, solution: Solution) -> Plan:
    """The plan of a solution."""
    starts = solution.starts
    order = order_arcs(network, starts)
    assert order is not None  # the solver brings no collisions
    finish = finish_of(network, starts)
    site = as_it_is(network, starts)
    without = days_without(network, starts)
    booked = bookings(network, starts)
    bound = bindings(network, site, starts, (*network.arcs, *order))
    chain = chain_to(bound, last_done(network, starts))
    return Plan(
        job=network.job.name,
        timezone=network.job.timezone,
        start=network.job.start,
        finish=finish,
        proven_earliest=finish <= solution.finish_bound,
        finish_bound=min(finish, solution.finish_bound),
        visits=solution.visits,
        visits_bound=min(solution.visits, solution.visits_bound),
        tasks=tuple(_tasks(network, starts, order, finish, bound)),
        waits=tuple(waits(network, starts)),
        where_time_goes=time_split(network, starts, chain, bound),
        chain=tuple(network.steps[j].task.id for j in reversed(chain)),
        warnings=(*_warnings(network.job, finish), *called_off(network.job, booked)),
        days_without=without,
        days_without_bound=min(sum(each.days for each in without), solution.without_bound),
        prefer=network.job.prefer,
        soonest=solution.soonest if network.job.prefer != "finish" else None,
        bookings=booked,
    )


def _tasks(
    network: Network,
    starts: Starts,
    order: Sequence[Arc],
    finish: int,
    bound: Sequence[Binding],
) -> Iterator[PlannedTask]:
    fixed = anchored(network, starts)
    late = latest(fixed, (*network.arcs, *order), finish)
    rooms = tuple(arc for arc in order if arc.kind != "people")
    loose = latest(network.by_itself(), (*network.arcs, *rooms), finish)
    assert late is not None  # the schedule itself keeps its finish
    assert loose is not None
    free = _free_starts(fixed, starts, (*network.arcs, *order), finish)
    for step in network.steps:
        j, task = step.index, step.task
        yield PlannedTask(
            id=task.id,
            name=task.name,
            who=task.who,
            room=task.room,
            start=starts[j],
            finish=step.finish(starts[j]),
            sessions=step.sessions(starts[j]),
            latest_start=late[j],
            latest_finish=step.finish(late[j]),
            float_minutes=late[j] - starts[j],
            free_float_minutes=free[j] - starts[j],
            logic_float_minutes=loose[j] - starts[j],
            critical=late[j] == starts[j],
            because=reason(network, starts, j, bound[j]),
            state=step.state,
            several=task.several,
        )


def _free_starts(network: Network, starts: Starts, arcs: Iterable[Arc], finish: int) -> list[int]:
    """The last start of each step at which every other task still starts as planned."""
    free = ceilings(network, finish)
    for arc in arcs:
        after = point(network.steps[arc.after], arc.to, starts[arc.after])
        start = latest_start(network.steps[arc.before], arc.of, arc.lag.before(after))
        free[arc.before] = min(free[arc.before], start)
    return free


def waits(network: Network, starts: Starts) -> Iterator[Wait]:
    """Every wait of a schedule: by link, then those that open a room or end a dust-shy time."""
    for arc in network.arcs:
        if not arc.backward and arc.link is not None and _is_wait(arc.link):
            yield _wait_of_link(network, starts, arc, arc.link)
    for closure in network.closures:
        yield _wait_of_room(network, starts, closure)


def _is_wait(link: Link) -> bool:
    return link.stage is not None or link.wait > 0 or link.within is not None


def _wait_of_link(network: Network, starts: Starts, arc: Arc, link: Link) -> Wait:
    task = network.steps[arc.before].task
    since = point(network.steps[arc.before], arc.of, starts[arc.before])
    until = max(release(network, arc, starts), since)
    label = until - since if link.stage is None else _label(network, arc.before, link.stage)
    return Wait(
        task=task.id,
        product=task.applies if link.stage else None,
        stage=link.stage,
        for_task=network.steps[arc.after].task.id,
        start=since,
        end=until,
        label_minutes=label,
        close_by=None if link.within is None else _last_start(network, arc, since + link.within),
        to=link.to,
    )


def _last_start(network: Network, arc: Arc, closes: int) -> int:
    """The last moment to start what an arc leads to, where that end of it may be at ``closes``."""
    return closes if arc.to == "start" else latest_start(network.steps[arc.after], "finish", closes)


def _label(network: Network, by: int, stage: str) -> int:
    product = network.job.product_of(network.steps[by].task)
    assert product is not None  # a stage is always that of a product
    return product.stage(stage).minutes


def _wait_of_room(network: Network, starts: Starts, closure: Closure) -> Wait:
    step = network.steps[closure.by]
    since = step.finish(starts[closure.by])
    return Wait(
        task=step.task.id,
        product=step.task.applies,
        stage=closure.stage,
        for_task=None,
        start=since,
        end=closure.lag.after(since),
        label_minutes=_label(network, closure.by, closure.stage),
    )


def _warnings(job: Job, finish: int) -> Iterator[str]:
    if job.finish_by is not None and finish > job.finish_by:
        yield f"finishes {show_duration(finish - job.finish_by)} after the date in finish_by"
    guessed = {
        task.room or "the job"
        for task in job.tasks
        if task.applies and job.air_of(task.room).assumed
    }
    if guessed:
        yield (
            f"no air is given for {listed(sorted(guessed))}: what is missing was supposed, so the"
            " waits there are no more than a guess"
        )
    yield from _closed_for_good(job)
    yield from _cold_nights(job)


def _closed_for_good(job: Job) -> Iterator[str]:
    reopened = {name for task in job.tasks for name in task.reopens}
    for name in dict.fromkeys(name for task in job.tasks for name in task.closes):
        if name not in reopened:
            yield (
                f"nothing reopens the {name}, so it is counted as closed to the end of the job:"
                f" write 'reopens: {name}' at the task that does"
            )


def _cold_nights(job: Job) -> Iterator[str]:
    """Rooms that are warm enough to apply something by day and too cold for it by night.

    What is fresh wants that warmth for days, and no law of waiting knows of frost damage. Source:
    72 h for thin-set (trade page, read); until joint compound is dry (GA-216, read in trade
    articles).
    """
    delicate: dict[str | None, list[str]] = {}
    for task in job.tasks:
        product, air = job.product_of(task), job.air_of(task.room)
        least = None if product is None else product.limits.temperature_min
        if product is not None and least is not None and coldest(air, job.now) < least:
            delicate.setdefault(task.room, []).append(product.id)
    for room, products in delicate.items():
        air = job.air_of(room)
        low = show_temperature(coldest(air, job.now), job.units)
        yield (
            f"in the night the air of {room or 'the job'} is {low}, too cold to apply"
            f" {listed(dict.fromkeys(products))}: keep what is fresh warmer than that, frost"
            " spoils it"
        )
