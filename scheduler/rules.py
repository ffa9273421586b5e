"""The rules of a job that could give, in words, each with how to lift it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import time, timedelta

from scheduler.hours import NEVER
from scheduler.model import ALWAYS, Air, Away, Dated, Job, Limits, Link, Person, Task, Weekly
from scheduler.network import asked_at, horizon
from scheduler.progress import ready
from scheduler.quantities import (
    show_difference,
    show_duration,
    show_humidity,
    show_temperature,
)
from scheduler.ways import may_do
from scheduler.wording import (
    GLUE,
    MONTHS,
    READY,
    WEEKDAYS,
    counted,
    crew,
    day,
    day_run,
    listed,
    moment,
    time_of_day,
)

Lift = Callable[[Job], Job]

_FAR = 800  # days; no wait of this trade is longer
_NAMED = 3  # absences of a person that are named
_ENOUGH = 10_000  # people; more than tasks in any job


@dataclass(frozen=True)
class Rule:
    """One rule of a job that could give.

    ``kind`` and ``of`` name it (ids of tasks, of a person, a product); ``text`` says it in words;
    ``way_out`` says what lifting it means on site. ``jobs`` are the places of the jobs that it
    binds, where several are planned together.
    """

    kind: str
    of: tuple[str, ...]
    text: str
    way_out: str
    lift: Lift = field(compare=False)
    jobs: tuple[int, ...] = (0,)


def rules_of(job: Job) -> Iterator[Rule]:
    """Every rule of a job that could give, those first that are blamed first."""
    for find in FINDERS:
        yield from find(job)


def _dates(job: Job) -> Iterator[Rule]:
    for task in job.tasks:
        if task.must_finish_by is not None:
            at = _moment(task.must_finish_by, job)
            yield Rule(
                "must finish by", (task.id,), f"{task.name!r} must be finished by {at}",
                f"let {task.name!r} finish later than {at}",
                on_task(task.id, must_finish_by=None),
            )  # fmt: skip
    for task in job.tasks:
        if task.not_before is not None:
            at = _moment(task.not_before, job)
            yield Rule(
                "not before", (task.id,), f"{task.name!r} may not start before {at}",
                f"let {task.name!r} start before {at}",
                on_task(task.id, not_before=None),
            )  # fmt: skip


def _windows(job: Job) -> Iterator[Rule]:
    for task, n, link in _links(job):
        if link.within is None:
            continue
        before, within = job.task[link.task], show_duration(link.within)
        ends = "" if (link.of, link.to) == ("finish", "start") else f" ({link.of} to {link.to})"
        yield Rule(
            "within", (link.task, task.id, str(n)),
            f"{task.name!r} within {within} of {before.name!r}{ends}",
            f"allow {task.name!r} more than {within} after {before.name!r}, if the label does",
            on_link(task.id, n, within=None),
        )  # fmt: skip


def _hours(job: Job) -> Iterator[Rule]:
    for person in job.people.values():
        if person.away:
            spans = ", ".join(_away(away) for away in person.away[:_NAMED])
            more = len(person.away) - _NAMED
            spans += f" and {counted(more, 'more time')}" if more > 0 else ""
            yield Rule("away", (person.id,), f"{person.id} is away {spans}".replace(GLUE, " "),
                       f"let {person.id} come on some of those days",
                       on_person(person.id, away=()))  # fmt: skip
    for person in job.people.values():
        if person.hours != ALWAYS:
            yield Rule("hours", (person.id,), f"{person.id} has hours {_in_words(person)}",
                       f"give {person.id} more or longer hours",
                       on_person(person.id, hours=ALWAYS))  # fmt: skip


def _notice(job: Job) -> Iterator[Rule]:
    for person in job.people.values() if asked_at(job) else ():
        if person.notice:
            notice = show_duration(person.notice)
            yield Rule("notice", (person.id,), f"{person.id} wants {notice} of notice",
                       f"ask {person.id} to come sooner, and write what is agreed under 'booked'",
                       on_person(person.id, notice=0))  # fmt: skip


def _visits(job: Job) -> Iterator[Rule]:
    for person in job.people.values():
        if person.at_most is not None:
            most = counted(person.at_most, "day")
            yield Rule("at most", (person.id,), f"{person.id} comes on at most {most}",
                       f"let {person.id} come once more, and change 'at_most'",
                       on_person(person.id, at_most=None))  # fmt: skip
        if person.visits_of:
            least = show_duration(person.visits_of)
            yield Rule("visits of", (person.id,),
                       f"{person.id} comes for {least} of work at least",
                       f"agree with {person.id} on a shorter visit, and change 'visits_of'",
                       on_person(person.id, visits_of=0))  # fmt: skip


def _products(job: Job) -> Iterator[Rule]:
    for product in job.products.values():
        tasks = [task for task in job.tasks if task.applies == product.id]
        if not tasks:
            continue
        if product.limits != Limits():
            yield Rule("limits", (product.id,), _limits_in_words(job, product.id, tasks),
                       f"heat, cool or dry the room before {product.id} is applied",
                       on_product(product.id, limits=Limits()))  # fmt: skip
        if product.closes:
            yield Rule("closed", (product.id,),
                       f"no other work in the room until {product.id} is {READY[product.closes]}",
                       f"another product than {product.id}, or work in another room",
                       on_product(product.id, closes=None))  # fmt: skip
        if product.dust_shy:
            yield Rule("dust", (product.id,),
                       f"no dust in the room until {product.id} is {READY[product.dust_shy]}",
                       f"make no dust while {product.id} is fresh",
                       on_product(product.id, dust_shy=None))  # fmt: skip
    for task in job.tasks:
        if not task.split and task.work:
            yield Rule("one go", (task.id,),
                       f"{task.name!r} ({show_duration(task.work)}) goes on in one go",
                       f"do {task.name!r} in parts, if its product allows that",
                       on_task(task.id, split=True))  # fmt: skip


def _crews(job: Job) -> Iterator[Rule]:
    for person in job.people.values():
        if any(person.id in may_do(task) for task in job.tasks):
            most = "one task" if person.count == 1 else f"{person.count} tasks"
            yield Rule("people", (person.id,), f"{person.id} is on at most {most} at a time",
                       f"bring a further pair of hands beside {person.id}",
                       on_person(person.id, count=_ENOUGH))  # fmt: skip
    for task in job.tasks:
        if not task.ways and sum(task.hands.values()) > 1:
            yield Rule("together", (task.id,),
                       f"{task.name!r} needs {listed(crew(task.hands))} at the same time",
                       f"do {task.name!r} without one of them",
                       on_task(task.id, who=task.who[:1], several=()))  # fmt: skip
    for task in job.tasks:
        if task.ways and task.same_as and task.same_as in job.task:
            same = job.task[task.same_as].name
            yield Rule("same person", (task.id, task.same_as),
                       f"{task.name!r} is done by the same people as {same!r}",
                       f"let others do {task.name!r} than {same!r}",
                       on_task(task.id, same_as=None))  # fmt: skip


def _waits(job: Job) -> Iterator[Rule]:
    for task, n, link in _links(job):
        before = job.task[link.task]
        if link.stage is not None:
            yield Rule(
                "stage", (link.task, task.id, str(n)),
                f"{task.name!r} waits until {before.name!r} is {READY[link.stage]}"
                f" ({_how_long(job, before, link.stage)})",
                f"warm or dry the room, or take a faster product for {before.name!r}",
                on_link(task.id, n, stage=None),
            )  # fmt: skip
        elif link.wait > 0:
            wait = show_duration(link.wait)
            yield Rule(
                "wait", (link.task, task.id, str(n)),
                f"{task.name!r} at least {wait} after {before.name!r}",
                f"let {task.name!r} come sooner after {before.name!r}",
                on_link(task.id, n, wait=0),
            )  # fmt: skip


def _links(job: Job) -> Iterator[tuple[Task, int, Link]]:
    return ((task, n, link) for task in job.tasks for n, link in enumerate(task.after))


FINDERS = (_dates, _windows, _visits, _notice, _hours, _products, _crews, _waits)
"""What finds rules of a kind, those first that are blamed first."""

OF_PEOPLE = frozenset({"notice", "away", "hours", "people"})
"""The kinds of rules of which a person is the same in all jobs that share that person."""


# Lifting -------------------------------------------------------------------------------------


def on_task(task_id: str, **changes: object) -> Lift:
    """A task with other fields."""

    def lift(job: Job) -> Job:
        return replace(
            job,
            tasks=tuple(
                replace(task, **changes) if task.id == task_id else task  # type: ignore[arg-type]
                for task in job.tasks
            ),
        )

    return lift


def on_link(task_id: str, n: int, **changes: object) -> Lift:
    """The ``n``-th link of a task with other fields."""

    def lift(job: Job) -> Job:
        links = list(job.task[task_id].after)
        links[n] = replace(links[n], **changes)  # type: ignore[arg-type]
        return on_task(task_id, after=tuple(links))(job)

    return lift


def on_person(person: str, **changes: object) -> Lift:
    """A person with other fields."""
    return lambda job: replace(
        job,
        people={**job.people, person: replace(job.people[person], **changes)},  # type: ignore[arg-type]
    )


def on_product(product: str, **changes: object) -> Lift:
    """A product with other fields."""
    return lambda job: replace(
        job,
        products={**job.products, product: replace(job.products[product], **changes)},  # type: ignore[arg-type]
    )


# In words ------------------------------------------------------------------------------------


def _moment(minute: int, job: Job) -> str:
    return moment(minute, job.timezone, ends=True).replace(GLUE, " ")


def _away(away: Away) -> str:
    """Whole days as their dates, others with their times."""
    first, end = away.start.date(), away.end.date()
    if away.start.time() == away.end.time() == time():
        return day_run(first, end - timedelta(days=1))
    return f"{day(first)} {away.start:%H:%M} to {day(end)} {away.end:%H:%M}"


def _in_words(person: Person) -> str:
    return ", ".join(f"{_days(line)} {time_of_day(line.start)}-{time_of_day(line.end)}"
                     for line in person.hours)  # fmt: skip


def _days(line: Weekly | Dated) -> str:
    if isinstance(line, Dated):
        return f"{line.day.day} {MONTHS[line.day.month - 1]} {line.day.year}"
    return "daily" if len(line.days) == 7 else " ".join(WEEKDAYS[day] for day in sorted(line.days))


def _limits_in_words(job: Job, product: str, tasks: Sequence[Task]) -> str:
    limits, units = job.products[product].limits, job.units
    parts = []
    if limits.temperature_min is not None:
        parts.append(f"from {show_temperature(limits.temperature_min, units)}")
    if limits.temperature_max is not None:
        parts.append(f"up to {show_temperature(limits.temperature_max, units)}")
    if limits.humidity_max is not None:
        parts.append(f"up to {show_humidity(limits.humidity_max)}")
    if limits.dew_margin is not None:
        parts.append(f"{show_difference(limits.dew_margin, units)} over the dew point")
    airs = {air_in_words(job.air_of(task.room), job) for task in tasks}
    return f"{product} is applied only in air {listed(parts)}; the room has {listed(sorted(airs))}"


def air_in_words(air: Air, job: Job) -> str:
    """The air of a room as it is supposed."""
    swing = f" +/- {show_difference(air.swing, job.units)}" if air.swing else ""
    return f"{show_temperature(air.temperature, job.units)}{swing} {show_humidity(air.humidity)}"


def _how_long(job: Job, task: Task, stage: str) -> str:
    """How long a wait takes if it starts with the job, in the air of its room."""
    product = job.product_of(task)
    assert product is not None  # a stage is always that of a product
    end = horizon(job, _FAR)
    wait = ready(product.stage(stage), job.air_of(task.room), job.timezone, job.start, end)
    reached = wait.after(job.start)
    air = air_in_words(job.air_of(task.room), job)
    if reached >= NEVER:
        return f"never in its air, {air}"
    return f"about {show_duration(reached - job.start)} in its air, {air}"
