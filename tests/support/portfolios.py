"""Several jobs for tests: planned together, and every plan verified, by itself and with others."""

import random
from collections.abc import Sequence
from dataclasses import replace
from textwrap import dedent

from scheduler.clock import DAY
from scheduler.jobfile import CrewFile, parse
from scheduler.model import Job
from scheduler.portfolio import Together, plan_together
from scheduler.verify import check, check_together
from tests.support.jobs import household

HEAD = "job: {}\ntimezone: America/Toronto\nstart: 2027-01-09\npeople_from: crew.yaml\n"


def job(name: str, text: str, crew: str) -> Job:
    """A job of a name that starts on Sat 9 Jan 2027, with a crew file of some people."""

    def beside(file: str) -> CrewFile:
        return CrewFile(dedent(crew).encode(), file, f"/{file}")

    return parse((HEAD.format(name) + dedent(text)).encode(), f"{name}.yaml", beside)


def verified_together(jobs: Sequence[Job]) -> Together:
    """Plans of several jobs, which must keep every rule."""
    made = plan_together(jobs)
    breaches = [(own.name, each) for own, plan in made.planned for each in check(own, plan)]
    assert not breaches, breaches
    assert not check_together(made.planned)
    return made


def generated(seed: int, number: int, size: int) -> tuple[Job, ...]:
    """Generated jobs of a firm: its owner and trades go to all of them, with wishes in between."""
    draw = random.Random(f"portfolio {seed} {number} {size}")
    people = {
        who: replace(person, crew="crew.yaml")
        for who, person in household(1000 * seed, size).people.items()
    }
    return tuple(
        _one(draw, replace(household(1000 * seed + k, size), name=f"House {k + 1}", people=people))
        for k in range(number)
    )


def _one(draw: random.Random, made: Job) -> Job:
    start = made.start + draw.randrange(0, 15) * DAY
    wish = start + draw.choice((20, 40, 60)) * DAY
    return replace(made, start=start, finish_by=wish, priority=draw.choice((1.0, 1.0, 2.0, 0.5)))
