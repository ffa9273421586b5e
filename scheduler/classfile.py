"""A product class, and the file in ``data/classes/`` that states it. Data, never code.

One file a class; its name is the class's name. Every value is text with its unit, as in a job
file, and every time says what kind of knowledge it is and where it is from.
"""
# ruff: noqa: RUF009 (key() makes a field of a dataclass, as dataclasses.field() does)

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from scheduler.amountfile import AMOUNT, AmountEntry, check_amount
from scheduler.errors import Problem
from scheduler.laws import LAWS, works_at
from scheduler.model import LABORATORY, STAGES, Conditions, Limits, Stage
from scheduler.quantities import show_duration
from scheduler.yamlform.amounts import (
    AIR_STATE,
    DIFFERENCE,
    DURATION,
    HUMIDITY,
    LINE,
    SOME_TIME,
    TEMPERATURE,
    THICKNESS,
)
from scheduler.yamlform.fields import Choice, Place, YesNo, either
from scheduler.yamlform.forms import Entry, Form, Table, key
from scheduler.yamlform.tree import TOP, Mark, Report, Unreadable, tree

THICKNESS_LAWS = ("moisture-cure", "thick-drying")
"""The laws whose time hangs on how thick the product is applied."""

Known = Literal["published", "common practice", "from memory"]

_BASIS = Choice[Known](
    {"published": "published", "common practice": "common practice", "from memory": "from memory"}
)
_LAW = Choice({law: law for law in LAWS})
_STAGE = Choice({stage: stage for stage in STAGES})


@dataclass(frozen=True)
class ClassStage(Entry):
    """A stage as the class states it; times in minutes, temperatures in °C."""

    means: str = key(
        LINE, "What the stage lets happen, for this class.", "", required="what it lets happen"
    )
    check: str = key(
        LINE, "What to look at and feel on site before believing that it is reached.", "",
        required="what to look at and feel on site",
    )  # fmt: skip
    law: str = key(_LAW, "The law of waiting that it follows.", "", required=either(LAWS))
    time: int = key(
        SOME_TIME, "The time in the air `at`, for the class's usual thickness.", 0,
        required=SOME_TIME.words,
    )  # fmt: skip
    at: Conditions = key(
        AIR_STATE, "The air that the time is stated for.", LABORATORY, required=AIR_STATE.words
    )
    basis: Known = key(
        _BASIS, "What kind of knowledge the time is.", "from memory", required=either(_BASIS.words)
    )
    source: str = key(LINE, "Where the time is from.", "", required="where the time is from")
    within: int | None = key(SOME_TIME, "The window; no limit if left out.", None)
    within_source: str = key(LINE, "Basis and source of the window.", "")
    least: int = key(DURATION, "The least time, whatever warm air or a label allow.", 0)
    cold_below: float | None = key(
        TEMPERATURE, "Air under this in the first 24 h makes `cold_least` the least time.", None
    )
    cold_least: int = key(SOME_TIME, "The least time after such a cold day.", 0)
    shorten: bool = key(YesNo(), "Whether warm, dry air may bring it under `time`.", False)

    def named(self, name: str) -> Stage:
        """The stage as the plan knows it."""
        return Stage(
            name=name,
            law=self.law,
            minutes=self.time,
            at=self.at,
            basis=self.basis,
            source=self.source,
            least=self.least,
            cold_below=self.cold_below,
            cold_least=self.cold_least,
            within=self.within,
            shorten=self.shorten,
        )


@dataclass(frozen=True)
class ClassLimits(Entry):
    """The air in which the class may be applied: [°C], [0..1], [K over the dew point]."""

    temperature_min: float | None = key(TEMPERATURE, "The coldest air.", None)
    temperature_max: float | None = key(TEMPERATURE, "The warmest air.", None)
    humidity_max: float | None = key(HUMIDITY, "The dampest air.", None)
    dew_margin: float | None = key(DIFFERENCE, "The least margin over the dew point.", None)
    basis: Known = key(
        _BASIS,
        "What kind of knowledge the limits are.",
        "from memory",
        required=either(_BASIS.words),
    )
    source: str = key(LINE, "Where they are from.", "", required="where the limits are from")

    @property
    def limits(self) -> Limits:
        """The limits as the plan knows them."""
        return Limits(
            self.temperature_min, self.temperature_max, self.humidity_max, self.dew_margin
        )


def _check_stage(stage: ClassStage, report: Report) -> None:
    """Report what in a stage contradicts itself."""
    _together(stage, "within", "within_source", report)
    _together(stage, "cold_below", "cold_least", report)
    if stage.within is not None and stage.within <= stage.time:
        window, time = show_duration(stage.within), show_duration(stage.time)
        words = f"'within' ({window}) must be longer than 'time' ({time}): nobody could keep it"
        report.add(stage.marks["within"], words)
    if not works_at(stage.law, stage.at):
        words = f"'at' must be air in which the stage is ever reached: {LAWS[stage.law].says}"
        report.add(stage.marks["at"], words)


def _together(entry: Entry, one: str, other: str, report: Report) -> None:
    """Report one of two keys without the other."""
    if entry.has(one) != entry.has(other):
        there, missing = (one, other) if entry.has(one) else (other, one)
        report.add(entry.marks[there], f"'{there}' needs '{missing}' beside it")


@dataclass(frozen=True)
class ProductClass(Entry):
    """A class of products by standard, with what is known of its times.

    Args:
        name: the catalogue's name, e.g. ``liquid-membrane``; it is the file's.
        stages: by name, in the order they are passed.
        thickness: the usual one [mm]; None where no time hangs on it.
    """

    title: str = key(LINE, "The class in words.", "", required="the class in words")
    note: str = key(LINE, "What to know before using it.", "", required="what to know before use")
    stages: Mapping[str, ClassStage] = key(
        Table("stage", "stages",
              Form(ClassStage, "{means: it may be walked on, time: 3 h}", agree=_check_stage),
              ClassStage(), "A point in the product's life.", _STAGE, least=1),
        "What it passes, in the order of the times.", {},
        required="a block of stages, each under its name",
    )  # fmt: skip
    limits: ClassLimits = key(
        Form(ClassLimits, "{temperature_min: 50 F}"), "The air in which it may be applied.",
        ClassLimits(), required="the air in which it may be applied, with basis and source",
    )  # fmt: skip
    one_go: bool = key(YesNo(), "Whether applying it must go on without a break.", False)
    closes: str | None = key(
        _STAGE, "The room is closed from the start of the application until this stage.", None
    )
    dust_shy: str | None = key(
        _STAGE, "No dusty work in the room from the start of it until this stage.", None
    )
    on_missed_window: str = key(LINE, "What to do when a window was missed.", "")
    thickness: float | None = key(THICKNESS, "The usual thickness, which the times are for.", None)
    amount: AmountEntry | None = key(AMOUNT, "How much is used, and how it keeps.", None)
    name: str = ""


def _check_class(kind: ProductClass, report: Report) -> None:
    """Report where the stages contradict each other or the class."""
    _check_order(kind, report)
    for until in ("closes", "dust_shy"):
        stage = kind.said()[until]
        if stage is not None and stage not in kind.stages:
            known = either(kind.stages)
            words = f"'{until}' must be a stage of the class, {known} (found '{stage}')"
            report.add(kind.marks[until], words)
    windows = [s.marks["within"] for s in kind.stages.values() if s.has("within")]
    _where_and_only_where(windows, kind, "on_missed_window", "a stage has 'within'", report)
    hanging = [s.marks["law"] for s in kind.stages.values() if s.law in THICKNESS_LAWS]
    law = f"the law of a stage is {' or '.join(THICKNESS_LAWS)}"
    _where_and_only_where(hanging, kind, "thickness", law, report)
    if kind.amount is not None:
        check_amount(kind.amount, kind.stages, kind.thickness, report)


def _check_order(kind: ProductClass, report: Report) -> None:
    for (before, earlier), (name, stage) in pairwise(kind.stages.items()):
        if stage.time < earlier.time:
            words = (
                f"stage '{name}' must be above '{before}': stages stand in the order of their times"
            )
            report.add(stage.where, words)


def _where_and_only_where(
    where: list[Mark], kind: ProductClass, name: str, because: str, report: Report
) -> None:
    """Report a key of the class that is missing though needed, or there for nothing."""
    if where and not kind.has(name):
        report.add(where[0], f"the class needs '{name}', as {because}")
    if kind.has(name) and not where:
        report.add(kind.marks[name], f"'{name}' goes only where {because}")


_CLASS = Form(ProductClass, "title, note, stages and limits", agree=_check_class)


def read_class(content: bytes, file: str) -> ProductClass | tuple[Problem, ...]:
    """The class stated in the bytes of the file ``<name>.yaml``, or all that is wrong with it."""
    report = Report(file, "class")
    try:
        kind = _CLASS.read(tree(content, report), Place("the class", TOP), report)
    except Unreadable:
        return tuple(report.problems)
    return tuple(report.problems) or replace(kind, name=file.removesuffix(".yaml"))
