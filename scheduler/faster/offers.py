"""All levers of a job, and what is not tried, with the reason."""

from collections.abc import Iterator

from scheduler.faster.figures import figures
from scheduler.faster.hands import hand_over_levers, hands_levers
from scheduler.faster.hours import hours_levers
from scheduler.faster.lever import Declined, Lever, is_open
from scheduler.faster.rooms import room_levers
from scheduler.faster.things import date_levers, rapid_levers
from scheduler.faster.who import tasks_of
from scheduler.model import Job, Plan


def offers(job: Job, plan: Plan) -> tuple[tuple[Lever, ...], tuple[Declined, ...]]:
    """What can be tried on a job with this plan, and what can't."""
    found = [*_all(job, plan)]
    levers = tuple(each for each in found if isinstance(each, Lever))
    return levers, tuple(each for each in found if isinstance(each, Declined))


def _all(job: Job, plan: Plan) -> Iterator[Lever | Declined]:
    yield from room_levers(job, plan)
    yield from rapid_levers(job)
    for person in job.people.values():
        if any(is_open(job, task) for task in tasks_of(job, person)):
            yield from hours_levers(job, plan, person)
            yield from hands_levers(job, plan, person)
    yield from hand_over_levers(job, plan)
    yield from date_levers(job, plan)
    fan = figures().fan
    yield Declined("A fan", f"{fan.says} ({fan.source}; {fan.basis})")
