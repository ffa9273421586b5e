"""Several jobs for tests: planned together, and every plan verified, by itself and with others."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from textwrap import dedent

from scheduler.clock import DAY
from scheduler.jobfile import CrewFile, parse
from scheduler.model import Away, Job, Person, Task, Weekly
from scheduler.portfolio import Together, plan_together
from scheduler.portfolio.search import NORMAL, Effort
from scheduler.verify import check, check_together
from tests.support.jobs import HIRED, MON_TO_FRI, household

HEAD = "job: {}\ntimezone: America/Toronto\nstart: 2027-01-09\npeople_from: crew.yaml\n"


def job(name: str, text: str, crew: str) -> Job:
    """A job of a name that starts on Sat 9 Jan 2027, with a crew file of some people."""

    def beside(file: str) -> CrewFile:
        return CrewFile(dedent(crew).encode(), file, f"/{file}")

    return parse((HEAD.format(name) + dedent(text)).encode(), f"{name}.yaml", beside)


def verified_together(jobs: Sequence[Job], effort: Effort = NORMAL) -> Together:
    """Plans of several jobs, which must keep every rule."""
    made = plan_together(jobs, effort)
    breaches = [
        (own.name, each) for own, plan in made.planned for each in check(own, plan, made.planned)
    ]
    assert not breaches, breaches
    assert not check_together(made.planned)
    return made


FIRM = ("me", "helper", "tiler", "plasterer", "plumber", "electrician")
"""The six people of a small firm, each of a trade."""

_TRADE = (Weekly(MON_TO_FRI, 8 * 60, 16 * 60 + 30),)
_BY_KIND = HIRED | {"paint 1": "plasterer", "paint 2": "plasterer", "prime walls": "plasterer"}
_FOR_HELPER = ("strip", "mend subfloor", "prime floor", "level floor", "floor grout", "mirror")


def generated(seed: int, number: int, size: int) -> tuple[Job, ...]:
    """Generated jobs of a firm of six, each with its start in three weeks and its wish."""
    draw = random.Random(f"portfolio {seed} {number} {size}")
    first = household(1000 * seed, size)
    firm = {who: Person(who, _TRADE, tuple(_away(draw)), crew="crew.yaml") for who in FIRM}
    people = firm | {"inspector": first.people["inspector"]}
    return tuple(
        _one(draw, replace(household(1000 * seed + k, size), name=f"House {k + 1}", people=people))
        for k in range(number)
    )


def _away(draw: random.Random) -> Iterator[Away]:
    """Some days of sixty that are booked already."""
    for _ in range(4):
        day = datetime(2027, 1, 8) + timedelta(days=draw.randrange(60))  # noqa: DTZ001 (wall)
        yield Away(day, day + timedelta(days=1))


def _one(draw: random.Random, made: Job) -> Job:
    start = made.start + draw.randrange(0, 15) * DAY
    wish = start + draw.choice((20, 40, 60)) * DAY
    tasks = tuple(replace(task, who=_who(task)) for task in made.tasks)
    priority = draw.choice((1.0, 1.0, 2.0, 0.5))
    return replace(made, start=start, finish_by=wish, priority=priority, tasks=tasks)


def _who(task: Task) -> tuple[str, ...]:
    kind = task.name.lower().partition(" in ")[0]
    if not task.who or "inspector" in task.who:
        return task.who
    if kind.startswith(_FOR_HELPER):
        return ("helper",)
    own = task.who if task.who[0] in FIRM else ("plasterer",)
    return (_BY_KIND[kind],) if kind in _BY_KIND else own
