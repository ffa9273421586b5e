"""The catalogue, seen: its classes as text for a terminal and as plain data for programs."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from math import ceil
from typing import Any

from scheduler.catalogue import classes, product, product_class
from scheduler.classfile import ClassLimits, ClassStage, ProductClass
from scheduler.clock import HOUR
from scheduler.laws import LAWS, rate
from scheduler.layout import NARROW, Entry, Section, laid_out
from scheduler.measures import show_measure
from scheduler.model import Amount, Conditions, Stage
from scheduler.quantities import (
    Units,
    show_difference,
    show_duration,
    show_humidity,
    show_length,
    show_temperature,
)
from scheduler.takeoff import working_minutes
from scheduler.wording import columns, duration, glued, listed, wrapped

AIRS = (Conditions(10.0, 0.50), Conditions(20.0, 0.50), Conditions(20.0, 0.80))
"""A cold, an ordinary and a damp room: steady airs in which waits are shown."""

_MIXING = (10.0, 20.0, 30.0)  # °C
_FOOT = 0.3048  # m
_STAGE, _CELL = 8, 11  # columns of the table of waits: 2 + 8 + 3 x 11 = 43 suits a telephone
_NAME = 22  # columns for a class's name in the list
_ADVICE = (
    "The label on your own product beats these figures: write its times into the job file. The "
    "windows ('start within') are the least documented of them."
)


def products_text(class_name: str | None, width: int, units: Units = "metric") -> str:
    """The list of classes, or all that is known of one.

    Args:
        class_name: the catalogue's name of a class; None for the list.
        width: columns of the terminal.
        units: how temperatures and lengths are shown.

    Raises:
        ValueError: there is no such class; the words name the nearest and all there are.
    """
    if class_name is None:
        return _list_text(width)
    return _class_text(product_class(class_name), width, units)


def _list_text(width: int) -> str:
    lines = [line for kind in classes().values() for line in _in_list(kind, width)]
    ending = wrapped(f"All of one: thenwait products CLASS. {_ADVICE}", width)
    return "\n".join([*lines, "", *ending]) + "\n"


def _in_list(kind: ProductClass, width: int) -> list[str]:
    if width < NARROW:
        return [kind.name, *wrapped(kind.title, width, "  ", "  ")]
    return wrapped(kind.title, width, kind.name.ljust(_NAME), " " * _NAME)


def _class_text(kind: ProductClass, width: int, units: Units) -> str:
    about = wrapped(f"{kind.name}: {kind.title}", width, "", "  ")
    note = wrapped(kind.note, width, "  ", "  ")
    sections = (
        Section("Stages", tuple(_stage(n, s, units) for n, s in kind.stages.items())),
        Section("How the air counts", tuple(_laws(kind))),
        Section("Applying", tuple(_applying(kind, units))),
        Section("Using", tuple(_using(kind, units))),
    )
    parts = (
        "\n".join([*about, *note]),
        laid_out(sections[:2], width).rstrip("\n"),
        "\n".join(_waits_table(kind, width, units)),
        laid_out(sections[2:], width).rstrip("\n"),
        "\n".join(wrapped(_ADVICE, width)),
    )
    return "\n\n".join(parts) + "\n"


def _stage(name: str, stage: ClassStage, units: Units) -> Entry:
    stated = f"{duration(stage.time)} at {glued(_air(stage.at, units))}: {stage.means}"
    return Entry(name, stated, tuple(_stage_details(stage, units)))


def _stage_details(stage: ClassStage, units: Units) -> Iterator[str]:
    yield f"time: {stage.basis}; {stage.source}"
    if stage.within is not None:
        yield f"start within {duration(stage.within)} of finishing: {stage.within_source}"
    if stage.least:
        yield f"never before {duration(stage.least)}, whatever the air or a label allow"
    if stage.cold_below is not None:
        yield (
            f"never before {duration(stage.cold_least)} where the first 24 h go below "
            f"{show_temperature(stage.cold_below, units)}"
        )
    if stage.shorten:
        yield "warm, dry air may bring it under the stated time"


def _laws(kind: ProductClass) -> Iterator[Entry]:
    for law in dict.fromkeys(stage.law for stage in kind.stages.values()):
        stages = listed(name for name, stage in kind.stages.items() if stage.law == law)
        yield Entry(law, f"{stages}: {LAWS[law].says}")


def _waits_table(kind: ProductClass, width: int, units: Units) -> Iterator[str]:
    """What each stage's wait becomes in a cold, an ordinary and a damp room."""
    yield from wrapped("What the waits become in steady air", width)
    yield _row("", (_air(air, units) for air in AIRS))
    for name, stage in kind.stages.items():
        yield _row(name, (_rounded_up(wait_in(stage.named(name), air)) for air in AIRS))


def _row(label: str, cells: Iterable[str]) -> str:
    return f"  {label:<{_STAGE}}" + "".join(" " * (_CELL - columns(c)) + c for c in cells)


def _air(air: Conditions, units: Units) -> str:
    return f"{show_temperature(air.temperature, units)} {show_humidity(air.humidity)}"


def _rounded_up(minutes: int | None) -> str:
    """A wait fit for a cell: up to the next 5 minutes, from 10 h on to the next hour."""
    if minutes is None:
        return "never"
    step = 5 if minutes < 10 * HOUR else HOUR
    return show_duration(ceil(minutes / step) * step)


def wait_in(stage: Stage, air: Conditions) -> int | None:
    """How long a stage takes in air that never changes [min]; None where it is never reached."""
    speed = float(rate(stage.law, air.temperature, air.humidity, stage.at))
    if speed == 0:
        return None
    cold = stage.cold_below is not None and air.temperature < stage.cold_below
    least = stage.cold_least if cold else stage.least
    return max(ceil(round(stage.minutes / speed, 6)), least, 0 if stage.shorten else stage.minutes)


def _applying(kind: ProductClass, units: Units) -> Iterator[Entry]:
    limits = kind.limits
    basis = (f"{limits.basis}; {limits.source}",)
    yield Entry("air", ", ".join(_limits(limits, units)) or "no limit known", basis)
    yield Entry("one go", "yes, without a break" if kind.one_go else "may be left and taken up")
    if kind.closes:
        yield Entry("closes", f"nobody else in the room until '{kind.closes}'")
    if kind.dust_shy:
        yield Entry("dust", f"no dusty work in the room until '{kind.dust_shy}'")
    if kind.thickness is not None:
        yield Entry("thickness", f"{show_length(kind.thickness, units)}, unless the job says else")
    if kind.on_missed_window:
        yield Entry("missed window", kind.on_missed_window)


def _limits(limits: ClassLimits, units: Units) -> Iterator[str]:
    if limits.temperature_min is not None:
        yield f"{glued(show_temperature(limits.temperature_min, units))} or warmer"
    if limits.temperature_max is not None:
        yield f"at most {glued(show_temperature(limits.temperature_max, units))}"
    if limits.humidity_max is not None:
        yield f"humidity at most {glued(show_humidity(limits.humidity_max))}"
    if limits.dew_margin is not None:
        yield f"{glued(show_difference(limits.dew_margin, units))} or more above its dew point"


def _using(kind: ProductClass, units: Units) -> Iterator[Entry]:
    """How much is used, how long a mix is usable, and how it keeps."""
    amount = product(kind.name, kind.name).amount
    if amount is None:
        return
    yield Entry("use", _reach(amount, units), (f"{amount.basis}; {amount.source}",))
    yield Entry("waste", f"{show_humidity(amount.waste)} more, to pail, tools and offcuts")
    if amount.pot_life is not None:
        yield Entry("a mix", _pot(amount, amount.pot_life, units), (amount.pot_source,))
    lives = (("sealed", amount.sealed_life), ("opened", amount.opened_life))
    if kept := listed(f"{how} {show_duration(life)}" for how, life in lives if life is not None):
        yield Entry("keeps", kept, (amount.life_source,))


def _reach(amount: Amount, units: Units) -> str:
    """How far a pack goes at one application; on metric sites also what one metre takes."""
    size = amount.pack / amount.use
    far = f"{size / _FOOT:.0f} ft" if (amount.per, units) == ("m", "imperial") else ""
    pack = show_measure(amount.pack, amount.unit, units)
    goes = f"a pack of {pack} goes {far or show_measure(size, amount.per, units)} at a time"
    if units == "imperial":
        return goes
    return f"{show_measure(amount.use, amount.unit, units)}/{amount.per}; {goes}"


def _pot(amount: Amount, stated: int, units: Units) -> str:
    at = f"{show_duration(stated)} at {glued(_air(amount.pot_at, units))}"
    if not LAWS[amount.pot_law].affected_by_air:
        return f"usable for {at}, whatever the room is like"
    others = (
        f"{show_duration(minutes)} at {glued(show_temperature(warmth, units))}"
        for warmth in _MIXING
        if (minutes := working_minutes(amount, warmth)) is not None
    )
    return f"usable for {at}: {listed(others)}"


def products_json(class_name: str | None = None) -> dict[str, Any]:
    """The catalogue, or one class of it, as JSON-able data; minutes, °C, K, mm, shares of 1.

    Raises:
        ValueError: there is no such class.
    """
    kinds = classes().values() if class_name is None else (product_class(class_name),)
    return {"version": 1, "classes": [_class_json(kind) for kind in kinds]}


def _class_json(kind: ProductClass) -> dict[str, Any]:
    stages = [_stage_json(name, stage) for name, stage in kind.stages.items()]
    amount = product(kind.name, kind.name).amount
    return (
        {"name": kind.name}
        | kind.said()
        | {
            "stages": stages,
            "limits": kind.limits.said(),
            "amount": None if amount is None else asdict(amount),
        }
    )


def _stage_json(name: str, stage: ClassStage) -> dict[str, Any]:
    waits = [{**_conditions_json(air), "minutes": wait_in(stage.named(name), air)} for air in AIRS]
    return {"name": name} | stage.said() | {"at": _conditions_json(stage.at), "waits": waits}


def _conditions_json(air: Conditions) -> dict[str, float]:
    return {"temperature": air.temperature, "humidity": air.humidity}
