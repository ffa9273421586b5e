"""The figures that levers are made of: ``data/levers.yaml``, read and checked."""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from scheduler import quantities
from scheduler.catalogue import classes
from scheduler.datafile import LIFE, NUMBER, SHARE, Sourced, read
from scheduler.errors import BadFile, Problem, did_you_mean
from scheduler.jobfile.hourstext import HOURS_WORDS, hours
from scheduler.model import Weekly
from scheduler.resources import data
from scheduler.yamlform.amounts import LINE
from scheduler.yamlform.fields import TEXT, Value
from scheduler.yamlform.forms import Entry, Form, Id, Table, key


def _weekly(text: str) -> Weekly:
    """One line of hours that come back every week."""
    lines = hours(text)
    if len(lines) != 1 or not isinstance(lines[0], Weekly):
        raise ValueError(HOURS_WORDS)
    return lines[0]


def _clock(text: str) -> int:
    """A time of day as its minute."""
    return _weekly(f"mon 0:00-{text}").end


_NONE = Weekly(frozenset(), 0, 0)
_HOURS = Value("days with times such as sat 09:00-17:00", _weekly, TEXT)
_TIME = Value("a time such as 21:00", _clock, TEXT)
_TEMPERATURE = Value("a temperature such as 72 F", quantities.temperature, TEXT)


@dataclass(frozen=True)
class Heater(Sourced):
    """Heating a room: to what [°C], how long it takes [min], with what power [W]."""

    temperature: float = key(_TEMPERATURE, "What it holds.", 0.0, required="72 F")
    warm_up: int = key(LIFE, "Until it is reached.", 0, required=LIFE.words)
    power: float = key(NUMBER, "In watts.", 0.0, required=NUMBER.words)


@dataclass(frozen=True)
class Dehumidifier(Sourced):
    """Drying a room's air: to what [0..1], how long it takes [min], from which warmth on [°C]."""

    humidity: float = key(SHARE, "What it holds.", 0.0, required="45 %")
    dries_in: int = key(LIFE, "Until it is reached.", 0, required=LIFE.words)
    works_from: float = key(_TEMPERATURE, "Too cold for it below.", 0.0, required="15 C")
    power: float = key(NUMBER, "In watts.", 0.0, required=NUMBER.words)


@dataclass(frozen=True)
class Rapid(Sourced):
    """The class that does the work of another one sooner, and what to mind about it."""

    class_: str = key(LINE, "The rapid class.", "", required="a class")
    note: str = key(LINE, "What to mind.", "", required="what to mind")


@dataclass(frozen=True)
class Hours(Sourced):
    """Hours that people might add; ``longer`` [min], ``latest`` a minute of the day."""

    weekend: Weekly = key(_HOURS, "A day of the weekend.", _NONE, required=_HOURS.words)
    longer: int = key(LIFE, "A longer day of the weekend.", 0, required=LIFE.words)
    latest: int = key(_TIME, "No longer than this.", 0, required=_TIME.words)
    day_off: Weekly = key(_HOURS, "A day off other work.", _NONE, required=_HOURS.words)
    trade_day: Weekly = key(_HOURS, "A trade's long day.", _NONE, required=_HOURS.words)
    trade_saturday: Weekly = key(_HOURS, "A trade's Saturday.", _NONE, required=_HOURS.words)


@dataclass(frozen=True)
class Unsupported(Sourced):
    """What is not tried, and why."""

    says: str = key(LINE, "Why not.", "", required="why not")


@dataclass(frozen=True)
class Words(Entry):
    """What to mind when a lever is pulled."""

    heat: str = key(LINE, "Heating.", "", required="what to mind")
    moisture: str = key(LINE, "Moisture.", "", required="what to mind")
    electricity: str = key(LINE, "Electricity.", "", required="what to mind")
    rapid: str = key(LINE, "Rapid products.", "", required="what to mind")
    hands: str = key(LINE, "Hours and hands.", "", required="what to mind")


@dataclass(frozen=True)
class Figures(Entry):
    """All that levers are made of."""

    heater: Heater = key(Form(Heater, "temperature, warm_up, power"), "A heater.", Heater(),
                         required="a heater")  # fmt: skip
    dehumidifier: Dehumidifier = key(
        Form(Dehumidifier, "humidity, dries_in, power"), "A dehumidifier.", Dehumidifier(),
        required="a dehumidifier",
    )  # fmt: skip
    rapid: Mapping[str, Rapid] = key(
        Table("class", "classes", Form(Rapid, "class, note"), Rapid(), "A rapid class.",
              Id("class"), least=1),
        "Rapid classes by the normal one.", {}, required="rapid classes",
    )  # fmt: skip
    hours: Hours = key(Form(Hours, "weekend, longer"), "Hours.", Hours(), required="hours")
    fan: Unsupported = key(Form(Unsupported, "says"), "A fan.", Unsupported(), required="says")
    cautions: Words = key(Form(Words, "heat, rapid"), "Cautions.", Words(), required="cautions")


@lru_cache(maxsize=1)
def figures() -> Figures:
    """The figures that come with the program."""
    return read_figures((data() / "levers.yaml").read_text(encoding="utf-8"), "levers.yaml")


def read_figures(text: str, file: str) -> Figures:
    """The figures of a file; ``BadFile`` with everything wrong in it."""
    said = read(text, file, Form(Figures, "heater, dehumidifier, rapid, hours"))
    if problems := [p for normal, rapid in said.rapid.items()
                    for p in _unknown(normal, rapid, file)]:  # fmt: skip
        raise BadFile(problems)
    return said


def _unknown(normal: str, rapid: Rapid, file: str) -> list[Problem]:
    """Words that are no class of the catalogue."""
    return [
        Problem(file, *mark, f"unknown class '{word}'{did_you_mean(word, classes())}")
        for word, mark in ((normal, rapid.where), (rapid.class_, rapid.marks["class"]))
        if word not in classes()
    ]
