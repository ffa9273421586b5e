"""Levers on the air of a room: heated, dried, or both.

A heater brings no moisture and takes none away: vapour pressure stays, so warmer air is drier air.
A thermostat holds the temperature, so the daily swing is gone.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from scheduler.air import humidities, saturation_pressure, temperatures, vapour_pressure
from scheduler.faster.figures import figures
from scheduler.faster.lever import Caution, Declined, Kind, Lever
from scheduler.laws import LAWS
from scheduler.model import Air, Conditions, Course, Job, Plan, Product
from scheduler.progress import STEP
from scheduler.quantities import show_humidity, show_temperature
from scheduler.wording import dated

Change = Callable[[Conditions], Conditions]

_HARDLY = 0.5
"""K: a room nearly as warm as the heater would hold it is warm enough."""

_HARDLY_DRIER = 0.02
"""A share of humidity that no hygrometer in a room tells apart."""


def heated(air: Conditions) -> Conditions:
    """Air heated to what a heater holds, at the same moisture; warmer air stays as it is."""
    warm = max(figures().heater.temperature, air.temperature)
    pressure = vapour_pressure(air.temperature, air.humidity)
    return Conditions(warm, float(min(air.humidity, pressure / saturation_pressure(warm))))


def dried(air: Conditions) -> Conditions:
    """Air dried to what a dehumidifier holds, where it is warm enough for one to work."""
    machine = figures().dehumidifier
    if air.temperature < machine.works_from:
        return air
    return Conditions(air.temperature, min(air.humidity, machine.humidity))


def heated_and_dried(air: Conditions) -> Conditions:
    """Both: warm enough then for the dehumidifier to work."""
    return dried(heated(air))


@dataclass(frozen=True)
class Machines:
    """What stands in a room.

    Args:
        kind: heater, dehumidifier or both.
        make: what they make of its air.
        takes: how long that takes where work has begun [min].
        watts: what they draw [W].
    """

    kind: Kind
    make: Change
    takes: int
    watts: float

    @property
    def heats(self) -> bool:
        """Whether there is a heater among them."""
        return self.kind != "dry"

    @property
    def dries(self) -> bool:
        """Whether there is a dehumidifier among them."""
        return self.kind != "heat"


HEATER = Machines("heat", heated, figures().heater.warm_up, figures().heater.power)
DEHUMIDIFIER = Machines("dry", dried, figures().dehumidifier.dries_in, figures().dehumidifier.power)
BOTH = Machines(
    "heat-dry",
    heated_and_dried,
    max(HEATER.takes, DEHUMIDIFIER.takes),
    HEATER.watts + DEHUMIDIFIER.watts,
)


def room_levers(job: Job, plan: Plan) -> Iterator[Lever | Declined]:
    """Levers on each room in which something has yet to set or dry."""
    for room in _waiting(job, plan):
        yield from _of_room(job, plan, room)


def _waiting(job: Job, plan: Plan) -> list[str | None]:
    """The rooms in which something on its way to a stage minds the air, from now on."""
    found = (
        job.task[wait.task].room
        for wait in plan.waits
        if wait.product is not None
        and wait.stage is not None
        and wait.end > job.now
        and LAWS[job.products[wait.product].stage(wait.stage).law].affected_by_air
    )
    return [*dict.fromkeys(found)]


def _of_room(job: Job, plan: Plan, room: str | None) -> Iterator[Lever | Declined]:
    now = _air_to_come(job, room)
    warm, dry, both = (machines.make(now) for machines in (HEATER, DEHUMIDIFIER, BOTH))
    if warm.temperature - now.temperature > _HARDLY:
        yield _lever(job, plan, room, HEATER, warm)
    else:
        is_ = show_temperature(now.temperature, job.units)
        yield Declined(f"{_place(room)}: a heater", f"it is {is_} there as it is")
    if now.humidity - dry.humidity > _HARDLY_DRIER:
        yield _lever(job, plan, room, DEHUMIDIFIER, dry)
    else:
        yield Declined(f"{_place(room)}: a dehumidifier", _why_not_dry(job, now))
    if warm.temperature > now.temperature and warm.humidity - both.humidity > _HARDLY_DRIER:
        yield _lever(job, plan, room, BOTH, both)


def _air_to_come(job: Job, room: str | None) -> Conditions:
    """The air of a room on the mean, where nothing is done."""
    air = job.air_of(room)
    return Conditions(air.temperature, air.humidity)


def _why_not_dry(job: Job, now: Conditions) -> str:
    machine = figures().dehumidifier
    if now.humidity - machine.humidity > _HARDLY_DRIER:
        least = show_temperature(machine.works_from, job.units)
        return f"it does little below {least}: heat first"
    return f"the air is at {show_humidity(now.humidity)} as it is"


def _place(room: str | None) -> str:
    return room or "elsewhere"


def _lever(
    job: Job, plan: Plan, room: str | None, machines: Machines, becomes: Conditions
) -> Lever:
    off = _moisture_wanted(job, plan, room) if machines.dries else None
    cautions: tuple[Caution, ...] = ("heat",) if machines.heats else ()
    return Lever(
        id=f"{machines.kind}:{_place(room)}",
        kind=machines.kind,
        says=f"{_place(room)}: {_says(job, machines, becomes)}",
        edit=partial(with_air, room=room, machines=machines, off=off),
        group=f"air:{room}",
        rooms=frozenset({room}),
        notes=(*_notes(job, machines, becomes, off), *_guess(job, room)),
        unpriced=("electricity",),
        watts=machines.watts,
        cautions=(*cautions, "moisture", "electricity"),
    )


def _says(job: Job, machines: Machines, becomes: Conditions) -> str:
    heater = f"a heater that holds {show_temperature(becomes.temperature, job.units)}"
    share = show_humidity(round(becomes.humidity, 2))
    dehumidifier = f"a dehumidifier that holds {share}"
    return " and ".join([heater] * machines.heats + [dehumidifier] * machines.dries)


def _notes(job: Job, machines: Machines, becomes: Conditions, off: int | None) -> Iterator[str]:
    if not machines.dries:
        share = show_humidity(round(becomes.humidity, 2))
        yield f"At the same moisture the humidity falls to {share} there."
    if off is not None:
        when = dated(off, job.timezone)
        yield f"The dehumidifier is off from {when}: what is applied then cures with moisture."


def _moisture_wanted(job: Job, plan: Plan, room: str | None) -> int | None:
    """When something is first applied in a room that cures with moisture from its air."""
    starts = [
        plan.task[task.id].start
        for task in job.tasks
        if task.room == room and _cures_with_moisture(job.product_of(task))
    ]
    later = [start for start in starts if start > job.now]
    return min(later, default=None)


def _cures_with_moisture(product: Product | None) -> bool:
    return product is not None and any(stage.law == "moisture-cure" for stage in product.stages)


def _guess(job: Job, room: str | None) -> tuple[str, ...]:
    """The air of a room may be nobody's word."""
    guess = job.air_of(room).assumed
    return ("No air is given for it: what this wins is no more than a guess.",) if guess else ()


def with_air(job: Job, room: str | None, machines: Machines, off: int | None = None) -> Job:
    """The job with machines at work on the air of a room from now on.

    Args:
        job: the job.
        room: the room; None for where tasks without a room are.
        machines: what they do.
        off: when the dehumidifier is switched off [UTC min]; None for never.
    """
    air = job.air_of(room)
    changed = _changed(job, air, machines)
    if off is not None:
        after = _changed(job, air, HEATER) if machines.heats else air
        changed = replace(after, course=_one_then_other(job, changed, after, off))
    if room is None:
        return replace(job, air=changed)
    return replace(job, rooms={**job.rooms, room: replace(job.rooms[room], air=changed)})


def _changed(job: Job, air: Air, machines: Machines) -> Air:
    mean = machines.make(Conditions(air.temperature, air.humidity))
    held = mean.temperature > air.temperature
    to_come = replace(
        air,
        temperature=mean.temperature,
        humidity=mean.humidity,
        swing=0.0 if held else air.swing,
        course=None if air.course is None else _mapped(air.course, machines.make),
    )
    if job.past is None:
        return to_come  # before work begins there is time
    return replace(to_come, course=_from_now_on(job, air, to_come, machines.takes))


def _mapped(course: Course, change: Change) -> Course:
    nodes = zip(course.temperatures, course.humidities, strict=True)
    return _course(course.minutes, [change(Conditions(t, rh)) for t, rh in nodes])


def _from_now_on(job: Job, air: Air, to_come: Air, takes: int) -> Course:
    """The air as it was up to now, then on its way to what it becomes, then that."""
    there = job.now + takes
    past = _nodes(job, air, job.now)
    later = [there, *_nodes_after(to_come, there)]
    return _course((*past, *later), [*_at(job, air, past), *_at(job, to_come, later)])


def _one_then_other(job: Job, one: Air, other: Air, when: int) -> Course:
    """One air up to a minute, and another from the next minute on."""
    first, later = _nodes(job, one, when), _nodes_after(other, when + 1)
    later = [when + 1, *later] if later else []  # else the other is as it is supposed to be
    return _course((*first, *later), [*_at(job, one, first), *_at(job, other, later)])


def _nodes(job: Job, air: Air, until: int) -> list[int]:
    """Minutes from the start of the job on between which the air is as good as linear."""
    own = () if air.course is None else air.course.minutes
    grid = (*range(job.start, until, STEP), until)
    return sorted({*grid, *(minute for minute in own if job.start <= minute < until)})


def _nodes_after(air: Air, minute: int) -> list[int]:
    return [] if air.course is None else [each for each in air.course.minutes if each > minute]


def _at(job: Job, air: Air, minutes: list[int]) -> list[Conditions]:
    """The air at some UTC minutes."""
    at = np.array(minutes, dtype=np.int64)
    degrees, shares = temperatures(air, at, job.timezone), humidities(air, at)
    return [Conditions(float(t), float(rh)) for t, rh in zip(degrees, shares, strict=True)]


def _course(minutes: Sequence[int], states: Sequence[Conditions]) -> Course:
    return Course(
        tuple(minutes),
        tuple(each.temperature for each in states),
        tuple(each.humidity for each in states),
    )
