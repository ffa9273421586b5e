"""Jobs and plans by hand, for tests of what shows and checks them.

Nothing here computes a date, and of the package it imports the nouns alone.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.model import (
    ALWAYS,
    LABORATORY,
    Air,
    Job,
    Link,
    Person,
    Plan,
    PlannedTask,
    Product,
    Reason,
    Room,
    Stage,
    Task,
    TimeSplit,
    Wait,
)

ZONE = "America/Toronto"
HOUR = 60


def at(wall: str, zone: str = ZONE) -> int:
    """The UTC minute of a local wall time such as ``2027-01-09 14:05``; with an offset, of that."""
    moment = datetime.fromisoformat(wall)
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=ZoneInfo(zone))
    return int(moment.timestamp()) // 60


def stage(name: str, minutes: int, law: str = "drying", **more: Any) -> Stage:
    """A stage of so many minutes at laboratory conditions."""
    return Stage(name, law, minutes, LABORATORY, "from memory", "made up for the test", **more)


def product(  # noqa: PLR0913 (as the class has it)
    name: str,
    stages: Mapping[str, int],
    *,
    law: str = "drying",
    title: str = "",
    closes: str | None = None,
    dust_shy: str | None = None,
    missed: str = "",
) -> Product:
    """A product with stages of so many minutes at laboratory conditions."""
    return Product(
        id=name,
        class_name=name,
        title=title,
        stages=tuple(stage(name, minutes, law) for name, minutes in stages.items()),
        closes=closes,
        dust_shy=dust_shy,
        on_missed_window=missed,
    )


def placed(
    task: Task,
    *sessions: tuple[int, int],
    at: int | None = None,
    because: Reason | None = None,
    spare: int = 0,
) -> PlannedTask:
    """A task placed into its sessions, or a milestone ``at`` a minute, with ``spare`` float."""
    start, finish = (sessions[0][0], sessions[-1][1]) if sessions else (at or 0, at or 0)
    return PlannedTask(
        id=task.id,
        name=task.name,
        who=task.who,
        room=task.room,
        start=start,
        finish=finish,
        sessions=sessions,
        latest_start=start + spare,
        latest_finish=finish + spare,
        float_minutes=spare,
        free_float_minutes=spare,
        logic_float_minutes=spare,
        critical=spare == 0,
        because=because or Reason("start", "the job starts then"),
        several=task.several,
    )


def job_of(  # noqa: PLR0913 (likewise)
    tasks: Iterable[Task],
    *,
    name: str = "Test job",
    start: int,
    zone: str = ZONE,
    products: Iterable[Product] = (),
    rooms: Mapping[str, Air] | None = None,
    air: Air = Air(20.0, 0.5),  # noqa: B008 (frozen)
    finish_by: int | None = None,
    imperial: bool = False,
) -> Job:
    """A job; people and rooms that its tasks name are there, with the job's air unless given."""
    tasks = tuple(tasks)
    named = {task.room: air for task in tasks if task.room} | dict(rooms or {})
    return Job(
        name=name,
        timezone=zone,
        start=start,
        air=air,
        people={
            who: Person(who, ALWAYS, count=max(t.hands.get(who, 1) for t in tasks))
            for task in tasks
            for who in task.who
        },
        rooms={key: Room(key, of) for key, of in named.items()},
        products={each.id: each for each in products},
        tasks=tasks,
        finish_by=finish_by,
        units="imperial" if imperial else "metric",
    )


def plan_of(  # noqa: PLR0913 (a plan has that many parts)
    job: Job,
    tasks: Iterable[PlannedTask],
    *,
    waits: Iterable[Wait] = (),
    split: TimeSplit | None = None,
    chain: tuple[str, ...] = (),
    visits: int = 0,
    fewest: int | None = None,
    gap: int = 0,
    warnings: tuple[str, ...] = (),
) -> Plan:
    """A plan of the job; ``gap`` minutes of its finish are not proven needed."""
    tasks = tuple(tasks)
    finish = max((task.finish for task in tasks), default=job.start)
    return Plan(
        job=job.name,
        timezone=job.timezone,
        start=job.start,
        finish=finish,
        proven_earliest=gap == 0,
        finish_bound=finish - gap,
        visits=visits,
        visits_bound=visits if fewest is None else fewest,
        tasks=tasks,
        waits=tuple(waits),
        where_time_goes=split or TimeSplit(work=finish - job.start),
        chain=chain,
        warnings=warnings,
    )


def shower() -> tuple[Job, Plan]:
    """A small shower: two days of work, a flood test over the week, tile on the next weekend."""
    products = (
        product("joint-cement", {"set": 20}, law="hydration", title="rapid-setting joint cement"),
        product(
            "membrane",
            {"touch": HOUR, "recoat": 2 * HOUR, "flood": 24 * HOUR, "tile": 12 * HOUR},
            title="liquid-applied membrane, ANSI A118.10",
            dust_shy="touch",
            missed="abrade, clean and start again with a first coat.",
        ),
        product("thinset", {"walk": 24 * HOUR, "grout": 24 * HOUR}, law="hydration", closes="walk"),
    )
    board = Task("board", "Hang backer board", 4 * HOUR, ("me",), "shower", dusty=True)
    joints = Task(
        "joints",
        "Tape and fill the joints",
        90,
        ("me",),
        "shower",
        "joint-cement",
        after=(Link("board"),),
        notes="Embed the tape; a dry joint cracks.",
    )
    coat_1 = Task("coat-1", "First membrane coat", 60, ("me",), "shower", "membrane", split=False)
    coat_2 = Task("coat-2", "Second membrane coat", 45, ("me",), "shower", "membrane", split=False)
    flood = Task("flood", "Flood test", 24 * HOUR, (), "shower", hold=True)
    valve = Task("valve", "Valve delivered", 0, ("plumber",))
    tile = Task("tile", "Set wall and floor tile", 9 * HOUR, ("me",), "shower", "thinset")
    job = job_of(
        (board, joints, coat_1, coat_2, flood, valve, tile),
        name="Larch Row shower",
        start=at("2027-01-08 17:00"),
        products=products,
        air=Air(18.0, 0.6, assumed=True),
        rooms={"shower": Air(17.0, 0.55, swing=2.0)},
        finish_by=at("2027-01-18 00:00"),
        imperial=True,
    )
    sat, sun, next_sat = "2027-01-09", "2027-01-10", "2027-01-16"
    tasks = (
        placed(
            board,
            (at(f"{sat} 09:00"), at(f"{sat} 13:00")),
            because=Reason("hours", "me not in hours before Sat 09:00"),
        ),
        placed(
            joints,
            (at(f"{sat} 13:00"), at(f"{sat} 14:30")),
            because=Reason("link", "follows Hang backer board", "board"),
        ),
        placed(
            coat_1,
            (at(f"{sat} 15:02"), at(f"{sat} 16:02")),
            because=Reason("stage", "joint-cement set at 15:02", "joints", "set"),
        ),
        placed(
            coat_2,
            (at(f"{sun} 09:00"), at(f"{sun} 09:45")),
            because=Reason("hours", "me not in hours before Sun 09:00", "coat-1", "recoat"),
        ),
        placed(
            flood,
            (at("2027-01-11 15:20"), at("2027-01-12 15:20")),
            because=Reason(
                "stage", "membrane ready for the flood test at 15:20", "coat-2", "flood"
            ),
            spare=3 * 24 * HOUR + 100,
        ),
        placed(
            valve,
            at=at("2027-01-14 08:00"),
            because=Reason("date", "not before Thu 14 Jan"),
            spare=8 * 24 * HOUR,
        ),
        placed(
            tile,
            (at(f"{next_sat} 09:00"), at(f"{next_sat} 17:00")),
            (at("2027-01-17 09:00"), at("2027-01-17 10:00")),
            because=Reason("hours", "me not in hours before Sat 09:00", "flood"),
        ),
    )
    sat_end = at(f"{sat} 16:02")
    coat_2_end = at(f"{sun} 09:45")
    waits = (
        Wait("joints", "joint-cement", "set", "coat-1", at(f"{sat} 14:30"), at(f"{sat} 15:02"), 20),
        Wait("coat-1", "membrane", "touch", None, sat_end, at(f"{sat} 17:26"), HOUR),
        Wait(
            "coat-1", "membrane", "recoat", "coat-2", sat_end, at(f"{sat} 18:50"), 2 * HOUR,
            close_by=at(f"{sun} 16:02"),
        ),
        Wait("coat-2", "membrane", "touch", None, coat_2_end, at(f"{sun} 11:09"), HOUR),
        Wait(
            "coat-2", "membrane", "flood", "flood", coat_2_end, at("2027-01-11 15:20"), 24 * HOUR
        ),
        Wait("coat-2", "membrane", "tile", "tile", coat_2_end, at("2027-01-11 01:33"), 12 * HOUR),
        Wait(
            "tile", "thinset", "walk", None, at("2027-01-17 10:00"), at("2027-01-18 16:10"),
            24 * HOUR,
        ),
    )  # fmt: skip
    split = TimeSplit(work=1455, waiting=3246, outside_hours=7479)
    return job, plan_of(
        job,
        tasks,
        waits=waits,
        split=split,
        chain=("board", "joints", "coat-1", "coat-2", "tile"),
        visits=5,
        warnings=("nobody gave the job's air: 18 C and 60 % are assumed",),
    )
