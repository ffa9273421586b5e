"""What levers on people ask of them."""

from dataclasses import replace

from scheduler.model import Job, Person, Task
from scheduler.ways import may_do


def tasks_of(job: Job, person: Person) -> tuple[Task, ...]:
    """The tasks for which somebody comes."""
    return tuple(task for task in job.tasks if person.id in may_do(task))


def only_looks(job: Job, person: Person) -> bool:
    """Whether somebody comes for hold points alone, as inspectors do."""
    return all(task.hold for task in tasks_of(job, person))


def no_price(person: Person) -> tuple[str, ...]:
    """Their hours, where nobody gave them a price."""
    given = person.price_per_hour is not None
    return () if given else (f"the hours of {person.id}",)


def with_person(job: Job, person: Person) -> Job:
    """The job with another person in the place of the one of that id."""
    return replace(job, people={**job.people, person.id: person})
