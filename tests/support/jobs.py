"""Generated renovation jobs: invented, but shaped like real ones, the same for the same seed."""

import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cache

from scheduler import catalogue
from scheduler.clock import to_minute
from scheduler.model import Air, Away, Job, Link, Person, Product, Room, Task, Weekly

ZONE = "America/Toronto"
START = to_minute(datetime(2027, 1, 8, 17, 0), ZONE)  # noqa: DTZ001 (wall time)
MON_TO_FRI, SAT, SUN = frozenset(range(5)), frozenset({5}), frozenset({6})


@dataclass(frozen=True)
class Kind:
    """A task as it comes in a chain: its work [min], who does it, what it applies."""

    name: str
    work: int
    who: str = "me"
    applies: str | None = None
    stage: str | None = None  # what the next in the chain waits for
    split: bool = True
    dusty: bool = False
    hold: bool = False


# Chains of a bathroom as the trade orders them (common practice, no published source).
SHOWER = (
    Kind("strip", 240, dusty=True),
    Kind("frame", 180),
    Kind("rough-in", 240, "plumber"),
    Kind("inspect rough-in", 30, "inspector", hold=True),
    Kind("pan", 150, applies="mortar-bed", stage="tile"),
    Kind("board", 300, dusty=True),
    Kind("joints", 90, applies="rapid-joint-cement", stage="set"),
    Kind("coat-1", 60, applies="liquid-membrane", stage="recoat", split=False),
    Kind("coat-2", 45, applies="liquid-membrane", stage="flood", split=False),
    Kind("flood test", 1440, "", split=False, hold=True),
    Kind("wall tile", 600, applies="thinset", stage="grout"),
    Kind("wall grout", 180, applies="grout", stage="water"),
    Kind("wall sealant", 75, applies="silicone", stage="water"),
    Kind("shower fixtures", 120, "plumber"),
)
FLOOR = (
    Kind("mend subfloor", 180),
    Kind("prime floor", 40, applies="floor-primer", stage="recoat", split=False),
    Kind("level floor", 90, applies="self-leveler", stage="tile", split=False),
    Kind("floor tile", 420, applies="thinset", stage="grout"),
    Kind("floor grout", 120, applies="grout", stage="walk"),
    Kind("base trim", 120),
)
WALLS = (
    Kind("wiring", 240, "electrician"),
    Kind("inspect wiring", 30, "inspector", hold=True),
    Kind("hang wall board", 240, dusty=True),
    Kind("tape", 120, applies="ready-mixed-compound", stage="recoat"),
    Kind("second fill", 90, applies="ready-mixed-compound", stage="recoat"),
    Kind("third fill", 60, applies="ready-mixed-compound", stage="sand"),
    Kind("sand walls", 90, dusty=True),
    Kind("prime walls", 75, applies="wall-primer", stage="recoat", split=False),
    Kind("paint 1", 75, applies="wall-paint", stage="recoat", split=False),
    Kind("paint 2", 60, applies="wall-paint", stage="touch", split=False),
    Kind("lights", 120, "electrician"),
)
FITTINGS = (
    Kind("hang door", 150),
    Kind("set vanity", 180),
    Kind("connect vanity", 90, "plumber"),
    Kind("mirror and rails", 90),
)
CHAINS: Mapping[str, tuple[Kind, ...]] = {
    "shower": SHOWER,
    "floor": FLOOR,
    "walls": WALLS,
    "fittings": FITTINGS,
}
# What a chain waits for in another: the first of it, and a later one.
CROSSINGS = (
    ("floor", "mend subfloor", "shower", "strip"),
    ("walls", "wiring", "shower", "frame"),
    ("floor", "floor tile", "shower", "wall grout"),
    ("walls", "paint 1", "shower", "wall tile"),
    ("fittings", "set vanity", "floor", "floor grout"),
    ("fittings", "hang door", "walls", "paint 2"),
)


@cache
def products() -> Mapping[str, Product]:
    """Every class of the catalogue as it is."""
    return {name: catalogue.product(name, name) for name in catalogue.classes()}


HIRED = {"wall tile": "tiler", "floor tile": "tiler", "tape": "plasterer",
         "second fill": "plasterer", "third fill": "plasterer", "paint 1": "painter",
         "paint 2": "painter", "hang wall board": "plasterer", "set vanity": "helper",
         "hang door": "helper", "base trim": "helper"}  # fmt: skip


def household(seed: int, size: int) -> Job:
    """One household's job of ``size`` tasks: an owner, now and then a helper, and the trades.

    Some households do nearly all themselves, others hire a tiler, a plasterer or a painter too.
    """
    draw = random.Random(f"{seed} {size}")
    hired = frozenset(
        who for who in ("tiler", "plasterer", "painter", "helper") if draw.random() < 0.5
    )
    air = Air(draw.uniform(16, 23), draw.uniform(0.35, 0.65), draw.choice((0, 1, 2)))
    rooms: dict[str, Room] = {}
    tasks: list[Task] = []
    bath = 0
    while len(tasks) < size:
        bath += 1
        chains = _bathroom(draw, f"bath-{bath}", air, rooms, hired)
        tasks += _closed_under_links(chains, size - len(tasks))
    return Job("Generated", ZONE, START, air, _people(draw), rooms, products(), tuple(tasks))


def _people(draw: random.Random) -> dict[str, Person]:
    evenings = frozenset(draw.sample(range(5), draw.choice((3, 5, 5))))
    owner: tuple[Weekly, ...] = (
        Weekly(evenings, 18 * 60, 21 * 60 + 30),
        Weekly(SAT, 9 * 60, 17 * 60),
    )
    if draw.random() < 0.5:
        owner = (*owner, Weekly(SUN, 10 * 60, 16 * 60))
    trade = (Weekly(MON_TO_FRI, 8 * 60, 16 * 60),)
    people = {"me": Person("me", owner, (_weekend_away(draw),))}
    for name in ("plumber", "electrician", "tiler", "plasterer", "painter"):
        people[name] = Person(name, trade, tuple(_booked(draw)))
    people["helper"] = Person("helper", (Weekly(SAT, 9 * 60, 17 * 60),))
    inspector = (Weekly(frozenset(draw.sample(range(5), 2)), 9 * 60, 12 * 60),)
    return people | {"inspector": Person("inspector", inspector)}


def _weekend_away(draw: random.Random) -> Away:
    saturday = datetime(2027, 1, 16) + timedelta(weeks=draw.randrange(6))  # noqa: DTZ001 (wall)
    return Away(saturday, saturday + timedelta(days=2))


def _booked(draw: random.Random) -> list[Away]:
    """A third to a half of a trade's days of the first ten weeks are booked elsewhere."""
    share = draw.uniform(0.3, 0.5)
    days = (date(2027, 1, 8) + timedelta(days=n) for n in range(70))
    starts = (datetime.combine(day, datetime.min.time()) for day in days)
    return [Away(s, s + timedelta(days=1)) for s in starts if draw.random() < share]


def _bathroom(
    draw: random.Random, bath: str, air: Air, rooms: dict[str, Room], hired: frozenset[str]
) -> list[Task]:
    tasks: dict[tuple[str, str], Task] = {}
    for chain, kinds in CHAINS.items():
        room = f"{bath}-{'floor' if chain == 'floor' else 'room'}"
        cooler = Air(air.temperature - draw.uniform(0, 2), air.humidity, air.swing)
        rooms.setdefault(room, Room(room, cooler))
        for n, kind in enumerate(kinds):
            before = None if n == 0 else kinds[n - 1]
            after = [] if before is None else [_link(bath, before, products())]
            after += [
                Link(_id(bath, earlier))
                for of, later, to, earlier in CROSSINGS
                if (of, later) == (chain, kind.name) and (to, earlier) in tasks
            ]
            who = HIRED.get(kind.name, kind.who)
            kind_ = replace(kind, who=who if who in hired else kind.who)
            tasks[chain, kind.name] = _task(draw, bath, room, kind_, after)
    return list(tasks.values())


def _closed_under_links(tasks: list[Task], most: int) -> list[Task]:
    """The first ``most`` tasks, without links to what is cut off."""
    kept = {task.id for task in tasks[:most]}
    return [task for task in tasks[:most] if all(link.task in kept for link in task.after)]


def _id(bath: str, name: str) -> str:
    return f"{bath}-{name.replace(' ', '-')}"


def _task(draw: random.Random, bath: str, room: str, kind: Kind, after: list[Link]) -> Task:
    return Task(
        id=_id(bath, kind.name),
        name=f"{kind.name.capitalize()} in {bath}",
        work=_as_written(kind.work * draw.uniform(0.6, 1.5)) if kind.who else kind.work,
        who=(kind.who,) if kind.who else (),
        room=room,
        applies=kind.applies,
        split=kind.split,
        after=tuple(after),
        dusty=kind.dusty,
        hold=kind.hold,
    )


def _as_written(minutes: float) -> int:
    """A time as people write it into a file: quarters of an hour, from two hours on halves."""
    step = 15 if minutes < 120 else 30
    return max(15, round(minutes / step) * step)


def _link(bath: str, before: Kind, known: Mapping[str, Product]) -> Link:
    task = _id(bath, before.name)
    if before.applies is None or before.stage is None:
        return Link(task)
    return Link(task, before.stage, within=known[before.applies].stage(before.stage).within)
