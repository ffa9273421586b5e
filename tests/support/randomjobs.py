"""Strategies for small random jobs: odd hours, every kind of link, products in any air."""

from dataclasses import replace
from datetime import datetime, timedelta

from hypothesis import strategies as st

from scheduler import catalogue
from scheduler.clock import DAY, to_minute
from scheduler.model import (
    ALWAYS,
    Air,
    Away,
    Dated,
    End,
    Job,
    Limits,
    Link,
    Person,
    Product,
    Room,
    Task,
    Weekly,
)

CLASSES = (
    "liquid-membrane",
    "rapid-joint-cement",
    "floor-primer",
    "self-leveler",
    "ready-mixed-compound",
    "wall-paint",
    "silicone",
)
PRODUCTS = {name: catalogue.product(name, name) for name in CLASSES}
WITHOUT_LIMITS = {name: replace(p, limits=Limits()) for name, p in PRODUCTS.items()}
# Zones with clock changes near these starts, in both directions and by half an hour.
BEGINNINGS = (
    ("America/Toronto", datetime(2027, 3, 12, 17, 0)),  # noqa: DTZ001 (wall time)
    ("Europe/Berlin", datetime(2027, 10, 29)),  # noqa: DTZ001 (wall time)
    ("Australia/Lord_Howe", datetime(2027, 4, 2, 9, 30)),  # noqa: DTZ001 (wall time)
    ("Etc/UTC", datetime(2027, 1, 4, 8, 0)),  # noqa: DTZ001 (wall time)
)
WORK = (0, 20, 45, 60, 90, 150, 240, 480, 1440)

quarters = st.integers(0, 95).map(lambda quarter: 15 * quarter)
days = st.frozensets(st.integers(0, 6), min_size=1)
weekly = st.builds(Weekly, days, quarters, quarters)
ENDS: st.SearchStrategy[End] = st.sampled_from(("start", "finish"))
airs = st.builds(
    Air,
    st.sampled_from((9, 11, 13, 15, 16, 18, 19, 20, 21, 23, 25, 27, 31)).map(float),
    st.sampled_from((0.2, 0.3, 0.4, 0.5, 0.5, 0.6, 0.7, 0.8, 0.9)),
    st.sampled_from((0.0, 0.0, 2.0, 5.0)),
)


def hours(first: datetime) -> st.SearchStrategy[tuple[Weekly | Dated, ...]]:
    """Hours of a person around a first day: always, weekly, dated, or some of each."""
    dated = st.builds(
        lambda day, start, end: Dated((first + timedelta(day)).date(), start, end),
        st.integers(0, 20),
        quarters,
        quarters,
    )
    return st.one_of(
        st.just(ALWAYS),
        st.lists(weekly, min_size=1, max_size=3).map(tuple),
        st.tuples(weekly, dated),
    )


def aways(first: datetime) -> st.SearchStrategy[tuple[Away, ...]]:
    """Up to two absences of some days around a first day."""
    one = st.builds(
        lambda day, length: Away(
            first + timedelta(days=day), first + timedelta(days=day + length, hours=3)
        ),
        st.integers(0, 14),
        st.integers(0, 4),
    )
    return st.lists(one, max_size=2).map(tuple)


@st.composite
def people(draw: st.DrawFn, first: datetime, most: int = 3) -> dict[str, Person]:
    """Up to so many people."""
    names = ("me", "plumber", "helper")[: draw(st.integers(0, most))]
    counts = st.sampled_from((1, 1, 1, 2))
    return {
        name: Person(name, draw(hours(first)), draw(aways(first)), draw(counts)) for name in names
    }


def _who(crew: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    """Mostly the first of them, so that people are contended; now and then nobody, or all."""
    return st.sampled_from(((), crew[:1], crew[:1], crew[:1], crew[1:2], crew))


@st.composite
def links(draw: st.DrawFn, task: Task, products: dict[str, Product]) -> Link:
    """A link from ``task``: to a stage of what it applied, or any of the classical kinds."""
    window = st.sampled_from((None, None, None, None, 480, 1440, 4320))
    if task.applies and draw(st.booleans()):
        stage = draw(st.sampled_from(products[task.applies].stages))
        within = draw(st.sampled_from((None, stage.within)))
        return Link(task.id, stage.name, within=within, to=draw(ENDS))
    wait = draw(st.sampled_from((0, 0, 15, 120, 1500, -60)))
    more = draw(window)
    within = None if more is None else max(wait, 0) + more
    return Link(task.id, None, wait, within, draw(ENDS), draw(ENDS))


@st.composite
def jobs(
    draw: st.DrawFn,
    most: int = 10,
    products: dict[str, Product] | None = None,
    people_most: int = 3,
    rooms_most: int = 2,
) -> Job:
    """A job of up to ``most`` tasks."""
    products = PRODUCTS if products is None else products
    zone, first = draw(st.sampled_from(BEGINNINGS))
    start = to_minute(first, zone)
    crew = draw(people(first, people_most))
    rooms = {
        f"room-{n}": Room(f"room-{n}", draw(airs)) for n in range(draw(st.integers(0, rooms_most)))
    }
    tasks: list[Task] = []
    for n in range(draw(st.integers(min(3, most), most))):
        before = draw(st.lists(st.sampled_from(tasks), max_size=2)) if tasks else []
        applies = draw(st.sampled_from((None, *products)))
        product = products.get(applies or "")
        not_before = draw(st.sampled_from((None, None, None, 0, 700, 2900, 6000)))
        by = draw(st.sampled_from((None,) * 25 + (5 * DAY, 12 * DAY, 30 * DAY)))
        who = draw(_who(tuple(crew)))
        tasks.append(
            Task(
                id=f"t{n}",
                name=f"Task {n}",
                work=draw(st.sampled_from(WORK)),
                who=who,
                room=draw(st.sampled_from((None, *rooms, *rooms))),
                applies=applies,
                split=draw(st.booleans()) and not (product and product.one_go),
                after=tuple(draw(links(task, products)) for task in before),
                not_before=None if not_before is None else start + not_before,
                must_finish_by=None if by is None else start + by,
                dusty=draw(st.booleans()),
                hold=draw(st.booleans()),
                several=tuple((name, 2) for name in who if crew[name].count > 1 and n % 2),
            )
        )
    order = draw(st.permutations(tasks))
    return Job("Random", zone, start, draw(airs), crew, rooms, products, tuple(order))
