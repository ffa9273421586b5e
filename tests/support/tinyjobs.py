"""A strategy for jobs so small that every plan of theirs can be looked at (``bruteforce``)."""

from dataclasses import replace
from datetime import date, datetime
from typing import get_args

import networkx as nx
from hypothesis import strategies as st

from scheduler.clock import HOUR, to_minute
from scheduler.graph import task_graph
from scheduler.model import (
    LABORATORY,
    Air,
    Dated,
    End,
    Job,
    Link,
    Person,
    Prefer,
    Product,
    Room,
    Stage,
    Task,
    Weekly,
)

MONDAY = to_minute(datetime(2027, 1, 4), "Etc/UTC")  # noqa: DTZ001 (wall time)
AIR = Air(20.0, 0.5)
ROOMS = {"bath": Room("bath", AIR)}
CREWS = ("me", "mate")


def _product(name: str, hours: int, *, closes: bool) -> Product:
    walk = Stage("walk", "fixed", hours * HOUR, LABORATORY, "from memory", "made up for the test")
    return Product(name, name, name, (walk,), closes="walk" if closes else None)


PRODUCTS = {"slab": _product("slab", 3, closes=True), "pad": _product("pad", 1, closes=False)}
windows_of_a_day = st.sampled_from(((8, 12), (18, 21), (9, 17), (0, 24), (20, 23)))
KINDS: tuple[tuple[End, End], ...] = (
    ("finish", "start"),
    ("finish", "start"),
    ("start", "start"),
    ("finish", "finish"),
    ("start", "finish"),
)
weekdays = st.sampled_from((range(7), (0, 2), (0, 1), (1, 2, 3))).map(frozenset)
lines = st.builds(
    lambda days, window: Weekly(days, HOUR * window[0], HOUR * window[1]),
    weekdays,
    windows_of_a_day,
)


@st.composite
def _links(draw: st.DrawFn, task: Task) -> Link:
    if task.applies and draw(st.booleans()):
        return Link(task.id, "walk", within=draw(st.sampled_from((None, None, 6 * HOUR))))
    wait = HOUR * draw(st.sampled_from((0, 1, 4, -1)))
    within = draw(st.sampled_from((None, None, max(wait, 0) + 2 * HOUR, 24 * HOUR)))
    of, to = draw(st.sampled_from(KINDS))
    return Link(task.id, None, wait, within, of, to)


@st.composite
def tiny_jobs(draw: st.DrawFn) -> Job:
    """Two to four tasks of whole hours, one or two people or up to three of each, one room.

    What is in a window, or may not be done before something, goes on in one go: else the best plan
    may leave a minute of the work to the next morning, and would not lie on whole hours.
    """
    crew = CREWS[: draw(st.integers(1, 2))]
    people = {
        name: Person(name, tuple(draw(st.lists(lines, min_size=1, max_size=2))), count=count)
        for name in crew
        for count in [draw(st.sampled_from((1, 1, 2, 3)))]
    }
    tasks: list[Task] = []
    for n in range(draw(st.integers(2, 4))):
        links = tuple(draw(_links(task)) for task in tasks if draw(st.integers(0, 3)) == 0)
        who = draw(st.sampled_from(((), crew[:1], crew[:1], crew[-1:], crew)))
        hands = [(name, draw(st.integers(1, people[name].count))) for name in who]
        tasks.append(
            Task(
                id=f"t{n}",
                name=f"T{n}",
                work=HOUR * draw(st.integers(0, 6)),
                who=who,
                several=tuple((name, several) for name, several in hands if several > 1),
                room=draw(st.sampled_from((None, "bath", "bath"))),
                applies=draw(st.sampled_from((None, None, *PRODUCTS))),
                split=draw(st.booleans()),
                after=links,
            )
        )
    tied = {link.task for task in tasks for link in task.after if link.within is not None}
    tied |= {
        task.id
        for task in tasks
        if any(link.within is not None or link.to == "finish" for link in task.after)
    }
    tasks = [replace(task, split=task.split and task.id not in tied) for task in tasks]
    return Job("Tiny", "Etc/UTC", MONDAY, AIR, people, ROOMS, PRODUCTS,
               tuple(draw(st.permutations(tasks))))  # fmt: skip


@st.composite
def tiny_jobs_closing(draw: st.DrawFn) -> Job:
    """The same with something closed by one or two of the tasks, and perhaps reopened by another.

    What reopens it comes after all that closes it, as the file must say.
    """
    job = draw(tiny_jobs())
    closers = draw(st.sets(st.sampled_from([*job.task]), min_size=1, max_size=2))
    graph = task_graph(job)
    after = [key for key in job.task if closers <= nx.ancestors(graph, key) | {key}]
    opener = draw(st.sampled_from([*after, None])) if after else None
    tasks = (
        replace(
            task,
            closes=("shower",) if task.id in closers else (),
            reopens=("shower",) if task.id == opener else (),
        )
        for task in job.tasks
    )
    prefer: Prefer = draw(st.sampled_from(get_args(Prefer)))
    return replace(job, tasks=tuple(tasks), prefer=prefer)


booked = st.builds(
    lambda day, window: Dated(date(2027, 1, 4 + day), HOUR * window[0], HOUR * window[1]),
    st.integers(0, 2),
    windows_of_a_day,
)


@st.composite
def tiny_jobs_with_a_trade(draw: st.DrawFn) -> Job:
    """The same with somebody who wants notice, is perhaps booked, or comes on few days only."""
    job = draw(tiny_jobs())
    who = draw(st.sampled_from([*job.people]))
    person = replace(
        job.people[who],
        notice=HOUR * draw(st.sampled_from((0, 5, 20, 40))),
        booked=tuple(draw(st.lists(booked, max_size=2))),
        at_most=draw(st.sampled_from((None, 1, 1, 2, 3))),
        visits_of=HOUR * draw(st.sampled_from((0, 0, 2, 3, 5))),
    )
    asked = job.start + HOUR * draw(st.sampled_from((-30, 0, 4)))
    return replace(job, people={**job.people, who: person}, asked=asked)
