"""How far the air of rooms, their closing, and what is applied there could give."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from math import floor

from scheduler.air import saturation_pressure, vapour_pressure
from scheduler.faster.figures import figures
from scheduler.faster.lever import Lever, is_open
from scheduler.faster.rooms import Machines, with_air
from scheduler.faster.things import rapid_levers
from scheduler.model import Air, Conditions, Job, Task
from scheduler.quantities import Units, show_humidity, show_temperature
from scheduler.rules import Rule, air_in_words, on_task
from scheduler.wayout.change import Able, Asks, Change, Give
from scheduler.wayout.steps import least_step
from scheduler.wording import READY, listed

_WARMEST, _COOLEST, _DRIEST = 30.0, 15.0, 0.40
"""°C, °C, share: no further is a room brought here."""

_DRIER = 0.05  # steps of humidity

_KELVIN, _SHARE = 20.0, 0.5
"""What makes a change of the air a whole one."""


def held_at(to: float, air: Conditions) -> Conditions:
    """Air brought to a temperature [°C] at the same moisture."""
    pressure = vapour_pressure(air.temperature, air.humidity)
    return Conditions(to, float(min(1.0, pressure / saturation_pressure(to))))


def warmed(to: float, air: Conditions) -> Conditions:
    """Air heated to at least a temperature [°C]."""
    return held_at(to, air) if to > air.temperature else air


def cooled(to: float, air: Conditions) -> Conditions:
    """Air cooled to at most a temperature [°C]."""
    return held_at(to, air) if to < air.temperature else air


def dried_to(share: float, air: Conditions) -> Conditions:
    """Air dried to at most a relative humidity [0..1]."""
    return Conditions(air.temperature, min(air.humidity, share))


@dataclass(frozen=True)
class _Airs:
    """What may be done about the air of some rooms; a room None is where tasks without one are."""

    rule: Rule
    job: Job
    rooms: tuple[str | None, ...]

    def least(self, able: Able) -> Iterator[Change]:
        """The least of heating, of cooling and of drying that does."""
        steps: tuple[tuple[Callable[[int], Change], int], ...] = (
            (self._warmer, self._warmest()),
            (self._cooler, self._coolest()),
            (self._drier, self._driest()),
        )
        for step, most in steps:
            if most > 0 and (change := _least(able, step, most)) is not None:
                yield change

    def _warmest(self) -> int:
        return floor(_degrees(_WARMEST, self.job.units)) - self._now()

    def _coolest(self) -> int:
        return self._now() - floor(_degrees(_COOLEST, self.job.units))

    def _driest(self) -> int:
        works = all(air.temperature >= figures().dehumidifier.works_from for air in self._airs())
        return round((self._damp() - _DRIEST) / _DRIER) if works else 0

    def _airs(self) -> list[Air]:
        return [self.job.air_of(room) for room in self.rooms]

    def _now(self) -> int:
        """The temperature of the coldest of the rooms, in whole degrees of the job's units."""
        return floor(_degrees(min(air.temperature for air in self._airs()), self.job.units))

    def _damp(self) -> float:
        return max(air.humidity for air in self._airs())

    def _warmer(self, n: int) -> Change:
        at = _celsius(self._now() + n, self.job.units)
        return self._change("heat", partial(warmed, at), at, n)

    def _cooler(self, n: int) -> Change:
        at = _celsius(self._now() - n, self.job.units)
        return self._change("cool", partial(cooled, at), at, n)

    def _change(
        self, how: str, make: Callable[[Conditions], Conditions], at: float, n: int
    ) -> Change:
        kelvin = abs(_celsius(n, self.job.units) - _celsius(0, self.job.units))
        shown = show_temperature(at, self.job.units)
        text = f"{how} {self._places()} to {shown} and hold it there (now {self._is()})"
        return self._made(text, make, kelvin / _KELVIN, {"temperature": round(float(at), 1)})

    def _drier(self, n: int) -> Change:
        share = _DRIEST + (self._driest() - n) * _DRIER
        text = f"dry {self._places()} to {show_humidity(share)} (now {self._is()})"
        return self._made(text, partial(dried_to, share), n * _DRIER / _SHARE,
                          {"humidity": round(share, 2)})  # fmt: skip

    def _made(
        self, text: str, make: Callable[[Conditions], Conditions], share: float,
        data: dict[str, object],
    ) -> Change:  # fmt: skip
        machines = Machines("heat", make, figures().heater.warm_up, 0.0)
        return Change(
            self.rule.kind, self.rule.of, text,
            partial(_with_air, rooms=self.rooms, machines=machines), self.rule.jobs,
            Asks.OTHERS, share, data={"rooms": [room or "" for room in self.rooms], **data},
        )  # fmt: skip

    def _places(self) -> str:
        return listed(room or "the house" for room in self.rooms)

    def _is(self) -> str:
        return listed(sorted({air_in_words(air, self.job) for air in self._airs()}))


def _degrees(celsius: float, units: Units) -> float:
    """A temperature in the degrees that are shown."""
    return celsius * 9 / 5 + 32 if units == "imperial" else celsius


def _celsius(degrees: float, units: Units) -> float:
    return (degrees - 32) * 5 / 9 if units == "imperial" else degrees


def _least(able: Able, step: Callable[[int], Change], most: int) -> Change | None:
    n = least_step(lambda n: able(step(n)), most)
    return None if n is None else step(n)


def _with_air(job: Job, rooms: tuple[str | None, ...], machines: Machines) -> Job:
    for room in rooms:
        job = with_air(job, room, machines)
    return job


def _best(found: Iterator[Change]) -> Change | None:
    return min(found, key=lambda each: (each.asks, each.share), default=None)


def better_air(rule: Rule, job: Job) -> Give:
    """The least change of the air so that a product may be applied."""
    (product,) = rule.of
    rooms = dict.fromkeys(t.room for t in job.tasks if t.applies == product and is_open(job, t))
    airs = _Airs(rule, job, tuple(rooms))
    return Give(
        rule, lambda able: _best(airs.least(able)),
        f"No heating, cooling or drying of the room would be enough for {product}.",
    )  # fmt: skip


def faster_stage(rule: Rule, job: Job) -> Give:
    """Warmer or drier air, or a rapid product, so that a stage is reached sooner."""
    before = job.task[rule.of[0]]
    return Give(
        rule, lambda able: _best(_sooner(rule, job, [before], able)),
        f"No warmer or drier air makes {before.name!r} {READY[_stage(job, rule)]} soon enough, and"
        f" no rapid class of {before.applies} is known that would.",
    )  # fmt: skip


def _stage(job: Job, rule: Rule) -> str:
    stage = job.task[rule.of[1]].after[int(rule.of[2])].stage
    assert stage is not None  # else there would be no such rule
    return stage


def _sooner(rule: Rule, job: Job, tasks: list[Task], able: Able) -> Iterator[Change]:
    rooms = tuple(dict.fromkeys(task.room for task in tasks))
    yield from _Airs(rule, job, rooms).least(able)
    for lever in rapid_levers(job):
        if isinstance(lever, Lever) and any(task.applies in lever.products for task in tasks):
            (normal,) = {task.applies for task in tasks if task.applies}
            fast = figures().rapid[job.products[normal].class_name].class_
            change = Change(
                rule.kind, rule.of, f"take {fast} instead of {normal}", lever.edit,
                rule.jobs, Asks.LABEL, 0.5, "its own label decides",
                {"products": sorted(lever.products)},
            )  # fmt: skip
            if able(change):
                yield change


def open_sooner(rule: Rule, job: Job) -> Give:
    """A task in another room than one that is closed, or a room that opens sooner."""
    (product,) = rule.of
    appliers = [t for t in job.tasks if t.applies == product and is_open(job, t)]
    rooms = {task.room for task in appliers}
    others = [t for t in job.tasks if t.room in rooms and not t.applies and is_open(job, t)]

    def elsewhere(task: Task) -> Change:
        return Change(
            rule.kind, rule.of, f"do {task.name!r} in another room than {task.room}",
            on_task(task.id, room=None), rule.jobs, Asks.OWNER, 0.5, data={"task": task.id},
        )  # fmt: skip

    def each(able: Able) -> Iterator[Change]:
        yield from (change for change in map(elsewhere, others) if able(change))
        yield from _sooner(rule, job, appliers, able)

    return Give(
        rule,
        lambda able: _best(each(able)),
        f"How long {product} closes the room, its label decides.",
    )


def less_dust(rule: Rule, job: Job) -> Give:
    """A task that makes no dust."""
    (product,) = rule.of
    rooms = {task.room for task in job.tasks if task.applies == product}
    dusty = [t for t in job.tasks if t.dusty and t.room in rooms and is_open(job, t)]

    def clean(task: Task) -> Change:
        return Change(
            rule.kind, rule.of, f"make no dust at {task.name!r} (dusty: no)",
            on_task(task.id, dusty=False), rule.jobs, Asks.OWNER, 0.25, data={"task": task.id},
        )  # fmt: skip

    return Give(
        rule, lambda able: next((c for c in map(clean, dusty) if able(c)), None),
        f"No one task without dust would be enough for {product}.",
    )  # fmt: skip
